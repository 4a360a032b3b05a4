"""Text and files' names for forms that other programs read: safe to show, of bounded length, as relative URIs."""

from __future__ import annotations

import os
import unicodedata
from pathlib import Path
from urllib.parse import quote

#: No sentence of ours is longer; a label may be, and forges refuse or cut what is.
LONGEST = 2000


def shown(text: str, longest: int = LONGEST) -> str:
    """``text`` with what cannot be seen written as its number, at most about ``longest`` characters of it.

    That is controls, marks that turn the direction of writing, what has no width, no meaning yet or no place in XML 1.0
    or UTF-8.
    """
    if len(text) > longest:
        text = text[: longest - 1] + "…"
    return text if text.isprintable() else "".join(map(_seen, text))


def _seen(char: str) -> str:
    if char.isprintable():
        return char
    # other spaces, and the tabulator
    return " " if char == "\t" or unicodedata.category(char) == "Zs" else f"[U+{ord(char):04X}]"


def relative(path: str) -> str | None:
    """``path`` from the current folder, parted by /; None where it lies outside it, or on another drive."""
    try:
        found = os.path.relpath(os.path.abspath(path), os.getcwd())
    except ValueError:
        return None
    if found == os.pardir or found.startswith(os.pardir + os.sep):
        return None
    return found.replace(os.sep, "/")


def below(path: str, folder: Path) -> str:
    """``path`` from ``folder``, parted by /, with .. where it lies outside; absolute where there is no such way."""
    try:
        return os.path.relpath(os.path.abspath(path), folder).replace(os.sep, "/")
    except ValueError:
        return Path(os.path.abspath(path)).as_posix()


def uri(path: str) -> tuple[str, bool]:
    """``path`` as a URI (RFC 3986), and whether it is relative to the current folder."""
    found = relative(path)
    if found is not None:
        return quote(os.fsencode(found), safe="/"), True
    absolute = Path(os.path.abspath(path)).as_posix()
    return "file://" + ("" if absolute.startswith("/") else "/") + quote(os.fsencode(absolute), safe="/:"), False
