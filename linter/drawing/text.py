"""Text as it is drawn: cleaned, measured, shortened, wrapped.

The font is DejaVu Sans Mono, which the typesetter that makes PDF and PNG carries with it.  Every glyph of it is
1233/2048 em wide (the advance width in the font's hmtx table), and the usual stand-ins are no wider (Menlo 0.602,
Liberation Mono 0.600, Consolas 0.550 em), so a text never needs more room than was measured here.
"""

from __future__ import annotations

import unicodedata
from collections.abc import Sequence

FAMILY = "'DejaVu Sans Mono', Menlo, Consolas, 'Liberation Mono', monospace"
ADVANCE_EM = 1233 / 2048
# For what the font has no glyph of, and a stand-in of unknown width draws.
WIDE_EM = 1.25
# Above and below the baseline: capitals with an accent, and descenders (hhea table: 0.928 and 0.236).
ASCENT_EM = 0.80
DESCENT_EM = 0.24
LEADING = 1.22

ELLIPSIS = "…"
# Keeps a figure and its unit together when a line is broken.
NBSP = "\u00a0"
_BIDI = frozenset("\u200e\u200f\u061c\u202a\u202b\u202c\u202d\u202e\u2066\u2067\u2068\u2069")
_LONGEST_FULL = 20_000


def legal(text: str) -> str:
    """``text`` without what an XML document may not contain (XML 1.0, production 2)."""
    if text.isprintable():
        return text
    return "".join(c if _is_legal(ord(c)) else "\ufffd" for c in text[:_LONGEST_FULL])


def _is_legal(point: int) -> bool:
    return (
        point in (9, 10, 13) or 0x20 <= point <= 0xD7FF or 0xE000 <= point <= 0xFFFD or 0x10000 <= point <= 0x10FFFF
    ) and point & 0xFFFE != 0xFFFE


def clean(text: str) -> str:
    """``text`` on one line: no controls, no marks that turn the direction of what follows, no towers of accents."""
    if text.isascii() and text.isprintable():
        return " ".join(text.split(" ")) if "  " not in text else " ".join(text.split())
    kept: list[str] = []
    marks = 0
    for char in text:
        kind = unicodedata.category(char)
        if kind in ("Mn", "Me"):
            marks += 1
            if marks > 2:
                continue
        else:
            marks = 0
        if char in _BIDI or kind == "Cs":
            continue
        if kind in ("Cc", "Cf", "Zl", "Zp", "Cn", "Co"):
            char = " " if char in "\t\n\r\u2028\u2029" else "\ufffd"
        kept.append(char)
    # Not split(): a no-break space is kept.
    return " ".join(part for part in "".join(kept).split(" ") if part)


def is_plain(text: str) -> bool:
    """Whether the font has all of it, so that its width is known for certain."""
    return all(" " <= c <= "~" or "\u00a0" <= c <= "\u017e" or c in "ΩΩµμ…→–—‘’“”≤≥×·" for c in text)


def width_em(text: str) -> float:
    """The width in em that ``text`` needs at most."""
    if text.isascii():
        return len(text) * ADVANCE_EM
    total = 0.0
    for char in text:
        if unicodedata.category(char) in ("Mn", "Me"):
            continue
        # The font has all of Latin, Greek, Cyrillic and Arabic, at its one width.
        plain = ord(char) < 0x700 or is_plain(char)
        total += ADVANCE_EM if plain else WIDE_EM
    return total


def width_mm(text: str, size_mm: float) -> float:
    """The width in mm at a font size in mm."""
    return width_em(text) * size_mm


def shorten(text: str, most: int) -> str:
    """``text`` cleaned and, if wider than ``most`` plain characters, cut with an ellipsis."""
    text = clean(text[: most * 8 + 64])
    limit = most * ADVANCE_EM + 1e-9
    if width_em(text) <= limit:
        return text
    room = limit - ADVANCE_EM
    used, end = 0.0, 0
    for end, char in enumerate(text):  # noqa: B007
        used += width_em(char)
        if used > room:
            break
    return text[:end].rstrip() + ELLIPSIS


def wrap(text: str, most: int, lines: int = 60) -> list[str]:
    """``text`` broken between words into lines of at most ``most`` plain characters; the last allowed is shortened."""
    limit = most * ADVANCE_EM + 1e-9
    made: list[str] = []
    line = ""
    room = most * (lines + 1) * 2
    # Whatever is left out is said to be: what is cleaned away may take up all of the room.
    kept = clean(text[:room]) + (ELLIPSIS if len(text) > room else "")
    for word in kept.split(" "):
        joined = f"{line} {word}" if line else word
        if width_em(joined) <= limit:
            line = joined
            continue
        if line:
            made.append(line)
        while width_em(word) > limit:
            head = shorten(word, most).removesuffix(ELLIPSIS) or word[:1]
            made.append(head)
            word = word[len(head) :]
        line = word
    if line or not made:
        made.append(line)
    if len(made) > lines:
        made[lines - 1 :] = [shorten(" ".join(made[lines - 1 : lines + 1]), most - 1).removesuffix(ELLIPSIS) + ELLIPSIS]
    return made


def balanced(text: str, most: int, lines: int = 60) -> list[str]:
    """`wrap`, with lines about as long as each other: no more lines, but none longer than it need be."""
    made = wrap(text, most, lines)
    whole = not made[-1].endswith(ELLIPSIS)
    while whole and len(made) > 1 and most > 4:
        most -= 1
        tried = wrap(text, most, lines + 1)
        if len(tried) > len(made) or any(word not in " ".join(tried).split(" ") for word in " ".join(made).split(" ")):
            break
        made = tried
    return made


def flow(pieces: Sequence[str], most: int) -> list[str]:
    """Pieces that are not to be broken, joined to lines of at most ``most`` characters where they fit."""
    made: list[str] = []
    for piece in pieces:
        if not piece:
            continue
        if made and width_em(f"{made[-1]} {piece}") <= most * ADVANCE_EM + 1e-9:
            made[-1] += f" {piece}"
        else:
            made.append(piece)
    return made
