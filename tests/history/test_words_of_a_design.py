"""Words of a design are words in every form of a comparison: nothing acts, calls, links or hides.

The Markdown is rendered by markdown-it-py (CommonMark and tables, with raw HTML as forges allow it) and read back with
the standard library's HTML parser; the SVG is read by an XML parser.
"""

from __future__ import annotations

import json
import re
import unicodedata
from html.parser import HTMLParser
from pathlib import Path
from xml.etree import ElementTree

import pytest

from tests.history.conftest import DESIGN, Git, run

HOSTILE = {
    "escape": "a\x1b[31mred\x1b]8;;http://x\x07link",
    "controls": "bell\x07 back\x08space c1\x9b31m del\x7f",
    "right-to-left": "abc\u202egnp.exe \u2066x\u2069 שלום عربى",
    "zero width": "in\u200bvi\u200dsi\ufeffble",
    "html": "<script>alert(1)</script><img src=x onerror=y> &amp; &lt;b&gt; <!-- x --> ]]>",
    "details": "</details></summary><details open>",
    "table": "a | b || c \\| d |",
    "code": "`rm -rf` ``x`` ~~~ ```",
    "emphasis": "**bold** _it_ __x__ ~~gone~~ $E=mc^2$",
    "links": "[a](javascript:b) ![i](http://evil.example/x.png) [r]: http://x <http://y.example> https://z.example www.w.example",
    "calls": "@crew @org/team #12 !34 GH-56 crew/boat#7 a@b.example :tada: user~1",
    "block": "# head",
    "list": "1. one",
    "dash": "- one",
    "quote": "> said",
    "rule": "---",
    "long": "Deckhand " * 3000,
    "wide": "漢字" * 60,
    "template": "{{7*7}} ${x} %s {0} \\x41 \\",
}
NOT_SHOWN = re.compile(r"[\x00-\x09\x0b-\x1f\x7f-\x9f\u200b-\u200f\u2028-\u202e\u2060-\u2069\ufeff\ud800-\udfff]")


def design(label: str, size: str, draws: int) -> str:
    return (
        DESIGN.replace('boat "Example"', f'boat "{label}"')
        .replace("cable W2, 50 mm2", f'cable W2 "{label}", {size}')
        .replace('"Cabin heater", draws 40 A', f'"{label}", draws {draws} A')
        + f'scene "{label}", HEATER\naccept conductor-too-small at W2, "{label} and more words", by "{label}", '
        "until 2027-01-01\n"
    )


@pytest.fixture(params=HOSTILE.values(), ids=list(HOSTILE))
def label(request: pytest.FixtureRequest, git: Git) -> str:
    words = str(request.param)
    Path("x.boat").write_text(design(words, "50 mm2", 40), encoding="utf-8")
    git("commit", "-q", "-a", "-m", "labelled")
    bad = design(words + " B", "2.5 mm2", 41).replace("cable W2", "# moved\ncable W2")
    Path("x.boat").write_text(bad + f'place NEW "{words}"\n', encoding="utf-8")
    return words


def visible(words: str) -> str:
    """Without blanks and what parts signs."""
    return re.sub(r"[\s\u200b]", "", words)


def test_text(label: str) -> None:
    result = run("compare", "x.boat", "--since", "main")
    assert result.exit_code in {0, 3}, result.output
    assert not NOT_SHOWN.search(result.stdout) and "HEATER" in result.stdout
    assert all(len(line) < 700 for line in result.stdout.splitlines())
    check = run("check", "x.boat", "--since", "main")
    assert check.exit_code in {1, 3} and not NOT_SHOWN.search(check.stdout)


def test_json(label: str) -> None:
    result = run("compare", "x.boat", "--since", "main", "--format", "json")
    found = json.loads(result.stdout)
    if not found["complete"]:
        # the language itself refuses such a label; what could be read is told
        assert NOT_SHOWN.search(label) and found["new"]["errors"] and result.exit_code == 3
        return
    heater = next(c for c in found["changed"] if c["element"] == "HEATER")
    labels = next(x for x in heater["changes"] if x["what"] == "label")
    assert (labels["was"], labels["now"]) == (label, label + " B")


class Rendered(HTMLParser):
    """What a browser would make of it: tags, text, and tables as rows of cells."""

    def __init__(self, html: str) -> None:
        super().__init__()
        self.tags: list[str] = []
        self.open: list[str] = []
        self.text = ""
        self.tables: list[list[list[str]]] = []
        self.feed(html)
        self.close()

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        assert not [a for a in attrs if a[0] != "style"], (tag, attrs)
        self.tags.append(tag)
        if tag == "br":
            return
        self.open.append(tag)
        if tag == "table":
            self.tables.append([])
        elif tag == "tr":
            self.tables[-1].append([])
        elif tag in {"td", "th"}:
            self.tables[-1][-1].append("")

    def handle_endtag(self, tag: str) -> None:
        assert tag == "br" or (self.open and self.open.pop() == tag), tag

    def handle_data(self, data: str) -> None:
        self.text += data
        if self.open and self.open[-1] in {"td", "th"}:
            self.tables[-1][-1][-1] += data

    def handle_comment(self, data: str) -> None:
        raise AssertionError(data)

    handle_decl = handle_pi = unknown_decl = handle_comment


OURS = {
    "h3", "p", "strong", "em", "table", "thead", "tbody", "tr", "th", "td", "details", "summary", "ul", "li", "br",
}  # fmt: skip


def rendered(words: str) -> Rendered:
    from markdown_it import MarkdownIt

    made = Rendered(MarkdownIt("commonmark", {"html": True}).enable(["table", "strikethrough"]).render(words))
    assert not made.open and set(made.tags) <= OURS, set(made.tags) - OURS
    return made


def test_markdown(label: str) -> None:
    result = run("compare", "x.boat", "--since", "main", "--format", "markdown")
    assert not NOT_SHOWN.search(result.stdout)
    made = rendered(result.stdout)
    # our own emphasis only: the sentence, the headings of the tables, and the caution
    assert made.tags.count("em") == 1 and made.tags.count("h3") == 1
    # a list is of errors
    assert ("li" in made.tags) == (result.exit_code == 3)
    for table in made.tables:
        assert len(table) > 1 and {len(row) for row in table} == {len(table[0])}
    if result.exit_code == 0:
        assert made.tables[0][0] == ["", "finding", "mend", "at"] and made.tables[0][1][0] == "danger"
        assert made.tables[1][0] == ["element", "fact", "was", "is"]
        assert made.tables[-1][0] == ["element", "figure", "was", "is"]
        # what it says is there, and in sight
        assert visible(label)[:150] in visible(made.text)
    # a forge looks for these in the text that it has rendered
    assert not re.search(r"(?<!\w)[@#!]\w|GH-\d|https?://|www\.\w|:[a-z]\w*:|:100:", made.text)


def test_svg(label: str, tmp_path: Path) -> None:
    result = run("compare", "x.boat", "--since", "main", "-o", str(tmp_path / "x.svg"))
    assert result.exit_code in {0, 3}, result.output
    for path in tmp_path.glob("x*.svg"):
        root = ElementTree.fromstring(path.read_bytes())
        assert not {e.tag.rpartition("}")[2] for e in root.iter()} & {"script", "a", "image", "foreignObject"}
        said = "".join(root.itertext())
        assert all(c == "\n" or unicodedata.category(c) not in {"Cc", "Cf", "Cs"} for c in said)
        assert "W2" in said
    assert list(tmp_path.glob("x*.svg"))


def test_a_name_that_comes_first_in_a_cell() -> None:
    from linter.history.markdown import escaped

    for words in ("- x", "+ x", "1. x", "1) x", "# x", "=", "> x", "* x", "-", "    code", "12.5 A", "-2.8 A"):
        made = rendered(f"{escaped(words)}\n")
        assert set(made.tags) == {"p"} and made.text.strip() == words.strip()


def test_signs_that_the_language_would_refuse(git: Git, tmp_path: Path) -> None:
    """A label that came into a model in any other way acts on nothing either."""
    from linter.history.compare import compared, examined
    from linter.history.markdown import markdown
    from linter.history.show import text
    from linter.history.sides import Sides, two_sides

    every = "\x00\t\n\r\x1b\x7f\x9b\u200b\u200f\u2028\u202e\u2066\ufeff\ud800"
    Path("new.boat").write_text(DESIGN.replace("draws 40", "draws 41"), encoding="utf-8")
    with Sides() as sides:
        old, new = two_sides(sides, "main:x.boat", "new.boat", None)
        new.design.elements["HEATER"].label = f"a{every}z"
        new.design.boat = f"a{every}z"
        made = compared(old, new, *examined(old, new))
    for words in ("\n".join(text(made)), markdown(made)):
        assert not NOT_SHOWN.search(words) and "\\u{202e}" in words.replace("\\\\", "\\")
    assert rendered(markdown(made)).tables
