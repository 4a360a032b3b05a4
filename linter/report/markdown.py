"""Words from a design in Markdown: they are shown as what they are, and mean nothing to whoever renders them."""

from __future__ import annotations

import re

from linter.report.safe import for_terminal

_ENTITIES = {"&": "&amp;", "<": "&lt;", ">": "&gt;", "@": "&#64;", "#": "&#35;"}
# What is markup wherever it stands; a colon before an address, a point inside a host's name.
_MARKUP = re.compile(r"[\\`*_{}\[\]|~$!&<>@#]")
_COLON = re.compile(r":(?=\S)")
_HOST = re.compile(r"(?<=[^\W\d_])\.(?=[^\W\d_])")
# What begins a list, a rule, a heading or a quotation where a line begins with it.
_BEGINS = re.compile(r"(\s*)([-+=]|\d+[.)](?=\s|$))")


def inline(words: str) -> str:
    """A single line of words without markup, links or calls to anybody."""
    safe = " ".join(for_terminal(words).split())
    safe = _MARKUP.sub(lambda m: _ENTITIES.get(m[0], f"\\{m[0]}"), safe)
    safe = _HOST.sub("&#46;", _COLON.sub("&#58;", safe))
    begins = _BEGINS.match(safe)
    if begins is None:
        return safe
    mark = begins[2]
    return f"{mark[:-1]}\\{mark[-1]}{safe[begins.end() :]}"


def fenced(text: str, language: str = "") -> list[str]:
    """Lines of a block that is shown as it stands; its fence is longer than any in the text."""
    longest = max((len(m) for m in re.findall(r"`+", text)), default=0)
    fence = "`" * max(3, longest + 1)
    return [fence + language, *(for_terminal(line) for line in text.splitlines()), fence]
