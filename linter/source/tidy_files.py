"""Files put in their canonical form: which ones an argument means, what would change, and writing them back."""

from __future__ import annotations

import difflib
import os
import re
from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import Path

from linter.source.files import Unusable, decode, read_text
from linter.source.parser import parse
from linter.source.span import Mistake
from linter.source.tidy import NotTidied, same_reading, tidy


@dataclass(frozen=True, slots=True)
class Tidied:
    """A file before and after; ``after`` is as ``before`` where it could not be read."""

    shown: str
    before: str
    after: str
    mistakes: tuple[Mistake, ...] = ()

    @property
    def changes(self) -> bool:
        return self.before != self.after


def files_under(path: str) -> list[str]:
    """The files that an argument means: itself, or every .boat file below a folder.

    Folders whose name begins with a point are passed over, as is a link that leads out of the folder.  Raises Unusable
    where there is none.
    """
    if not os.path.isdir(path):
        return [path]
    top = Path(path).resolve()
    found = []
    for folder, below, names in os.walk(path):
        below[:] = sorted(d for d in below if not d.startswith("."))
        for name in sorted(names):
            shown = os.path.join(folder, name)
            if name.endswith(".boat") and _resolved(shown).is_relative_to(top):
                found.append(shown)
    if not found:
        raise Unusable(f"{path}: no .boat file below this folder")
    return found


def tidied_text(shown: str, text: str) -> Tidied:
    """A file's text and its canonical form; with the file's mistakes, and unchanged, where it has some."""
    source = parse(shown, text)
    try:
        after = tidy(source)
    except NotTidied:
        return Tidied(shown, text, text, tuple(m for m in source.mistakes if m.loses))
    if not same_reading(source, parse(shown, after)):
        # Never seen; but a file that is rewritten is somebody's work, and reading it once more costs little.
        message = "its canonical form would not say the same: a fault in this program; please report it"
        return Tidied(shown, text, text, (Mistake(source.span(0, 0), message),))
    return Tidied(shown, text, after)


def tidied_bytes(shown: str, data: bytes) -> Tidied:
    """As ``tidied_text``, for what comes through a pipe.  Raises Unusable where it is not UTF-8."""
    ok, text = decode(data)
    if not ok:
        raise Unusable(f"{shown} {text}")
    return tidied_text(shown, text)


def tidied_file(path: str) -> Tidied:
    """As ``tidied_text``, for a file.  Raises Unusable where it cannot be read."""
    ok, text = read_text(_resolved(path))
    if not ok:
        raise Unusable(f"{path}: {text}")
    return tidied_text(path, text)


def difference(tidied: Tidied) -> Iterator[str]:
    """What would change, as lines of a unified diff."""
    before, after = (re.findall(r"[^\n]*\n|[^\n]+", text) for text in (tidied.before, tidied.after))
    for line in difflib.unified_diff(before, after, tidied.shown, f"{tidied.shown} (tidy)"):
        yield line.removesuffix("\n")
        if not line.endswith("\n"):
            yield "\\ No newline at end of file"


def _resolved(path: str) -> Path:
    try:
        return Path(path).resolve()
    except (OSError, RuntimeError, ValueError) as problem:
        raise Unusable(f"{path!r}: is no file's name, or leads to itself") from problem
