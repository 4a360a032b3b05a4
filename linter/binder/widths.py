"""How wide text is in the binder's type, and how wide the columns of a table are, so that nothing is cut.

Advance widths are those of Libertinus Serif, which the typesetter carries with it (hmtx table, 1000 to the em): of the
regular font for U+0020 to U+007E; the bold is at most an eighth wider.
"""

from __future__ import annotations

import re
import unicodedata
from collections.abc import Sequence
from dataclasses import dataclass
from functools import lru_cache

from linter.binder.columns import INSET_MM, lowest
from linter.binder.model import Column, Kind, Table
from linter.binder.shown import Shown

ADVANCE = (
    250, 288, 336, 465, 465, 637, 705, 190, 298, 298, 369, 550, 220, 338, 220, 323, 465, 465, 465, 465, 465, 465, 465,
    465, 465, 465, 236, 236, 550, 550, 550, 435, 895, 695, 588, 646, 701, 557, 485, 685, 730, 297, 322, 637, 528, 839,
    699, 702, 541, 702, 587, 485, 597, 661, 652, 951, 660, 575, 604, 356, 287, 356, 518, 486, 392, 457, 493, 428, 506,
    447, 310, 500, 538, 271, 272, 512, 264, 790, 542, 504, 519, 503, 372, 390, 316, 531, 497, 747, 490, 515, 424, 277,
    205, 277, 449,
)  # fmt: skip
OTHER, CAPITAL, WIDE = 660, 950, 1250
# The bold against the regular; and what widths that were rounded may differ by.
BOLD, ROUNDED = 1.13, 1.02
POINT_MM = 25.4 / 72
# The sizes tried in turn, in points.
SIZES = (9.0, 8.5, 8.0, 7.5, 7.0, 6.5, 6.0)
# A word longer than this may be broken.
LONGEST_WORD_MM = {Kind.NAME: 30.0, Kind.TEXT: 30.0, Kind.FIGURE: 30.0, Kind.BOX: 30.0}
# Smaller type makes a table shorter and is harder to read: what a point less must save, and the least that one likes.
SMALLER, SMALL = 0.32, 7.5
WIDEST_HEAD_EM = 6.0
# How many rows are tried, and lines of a cell told apart; beyond those its length counts.
MOST_ROWS, MOST_LINES = 60, 8
ZERO = "\u200b"
# A name with hyphens that is longer is broken at them before it makes a column wide.
LONGEST_WHOLE = 12
_HYPHEN = re.compile(r"(?<=-)(?=.)")


def width_em(text: str) -> float:
    """The width in em that a text needs at most."""
    total = 0
    for char in text:
        point = ord(char)
        if 0x20 <= point <= 0x7E:
            total += ADVANCE[point - 0x20]
        elif char == "\u00a0":
            total += ADVANCE[0]
        elif unicodedata.east_asian_width(char) in "WF" or point > 0xFFFF:
            total += WIDE
        elif (kind := unicodedata.category(char)) not in ("Mn", "Me", "Cf"):
            total += CAPITAL if kind == "Lu" else OTHER
    return total / 1000


def words_of(text: str) -> list[str]:
    """What a line is never broken within, unless it must be: words, and the parts of long words with hyphens."""
    return [part for word in re.split(r"[ \n]", text) for part in parts_of(word)]


def parts_of(word: str) -> list[str]:
    return _HYPHEN.split(word) if len(word) > LONGEST_WHOLE else [word]


@dataclass(frozen=True, slots=True)
class Layout:
    """The size of the type in points, and the width of each column in mm."""

    size: float
    widths: tuple[float, ...]


def layout(table: Table, rows: Sequence[Sequence[Shown]], room_mm: float) -> Layout:
    """The type and the columns by which a table is short and yet easy to read."""
    least: list[float] = []
    most: list[float] = []
    weights = [BOLD if row.bold else ROUNDED for row in table.rows]
    for place, column in enumerate(table.columns):
        cells = [(_whole(row[place]), weight) for row, weight in zip(rows, weights, strict=True)]
        head = _head_em(column)
        least.append(max([head, *(width_em(w) * k for t, k in cells for w in words_of(t))]))
        most.append(max([head, *(width_em(t) * k for t, k in cells)]))
    sample = _sample(rows, weights)
    best: Layout | None = None
    cost = float("inf")
    for size in SIZES:
        em = size * POINT_MM
        low = [_least(c, w * em) for c, w in zip(table.columns, least, strict=True)]
        if sum(low) > room_mm or (size < SMALL and best is not None):
            continue
        whole = [max(w * em + 2 * INSET_MM, a) for w, a in zip(most, low, strict=True)]
        if sum(whole) <= room_mm:
            made, lines = Layout(size, _stretched(table.columns, whole, room_mm)), 1.0
        else:
            found, lines = lowest(sample, em, low, room_mm)
            made = Layout(size, found)
        here = lines * size * (1 + SMALLER * (SIZES[0] - size))
        if here < cost:
            best, cost = made, here
        if lines == 1.0:
            break
    if best is not None:
        return best
    shrink = room_mm / sum(low)
    return Layout(SIZES[-1], tuple(a * shrink for a in low))


def _head_em(column: Column) -> float:
    """What the head of a column needs, on two lines at the most where that is not wide."""
    words = column.head.split(" ")
    whole = (
        [" ".join(words[:n]) for n in range(1, len(words) + 1)],
        [" ".join(words[n:]) for n in range(1, len(words) + 1)],
    )
    two = min(max(width_em(a), width_em(b)) for a, b in zip(*whole, strict=True))
    longest = max(width_em(w) for w in words)
    return max(two if two < WIDEST_HEAD_EM else longest, width_em(column.unit)) * BOLD


def _sample(rows: Sequence[Sequence[Shown]], weights: Sequence[float]) -> list[list[tuple[float, ...]]]:
    """How wide each cell must be for one line, two and so on, in em, of some rows all over the table."""
    step = max(len(rows) // MOST_ROWS, 1)
    return [
        [tuple(w * k for w in wraps(_whole(c))) for c in row]
        for row, k in list(zip(rows, weights, strict=True))[::step]
    ]


@lru_cache(maxsize=20_000)
def wraps(text: str) -> tuple[float, ...]:
    """The width in em that ``text`` needs to stand on one line, on two, and so on to MOST_LINES."""
    pieces: list[tuple[float, float]] = []
    for word in re.split(r"[ \n]", text):
        for n, part in enumerate(parts_of(word)):
            pieces.append((width_em(part), ADVANCE[0] / 1000 if n == 0 else 0.0))
    whole = sum(w + blank for w, blank in pieces) - pieces[0][1]
    made = [whole]
    longest = max(w for w, _ in pieces)
    for lines in range(2, MOST_LINES + 1):
        if made[-1] <= longest:
            break
        under, over = max(longest, whole / lines * 0.9), made[-1]
        while over - under > 0.2:
            middle = (under + over) / 2
            under, over = (under, middle) if _lines(pieces, middle) <= lines else (middle, over)
        made.append(over)
    return tuple(made + [made[-1]] * (MOST_LINES - len(made)))


def _lines(pieces: Sequence[tuple[float, float]], width: float) -> int:
    count, line = 1, -1.0
    for wide, blank in pieces:
        if line >= 0 and line + blank + wide > width:
            count, line = count + 1, wide
        else:
            line = wide if line < 0 else line + blank + wide
    return count


def _whole(shown: Shown) -> str:
    return shown.lead + shown.text + shown.pad


def _least(column: Column, word_mm: float) -> float:
    return max(min(word_mm, LONGEST_WORD_MM[column.kind]) + 2 * INSET_MM, column.width)


def _stretched(columns: Sequence[Column], widths: Sequence[float], room_mm: float) -> tuple[float, ...]:
    """As wide as the page: what is left goes to columns of words, by their width."""
    words = [w if c.kind in (Kind.TEXT, Kind.NAME) else 0.0 for c, w in zip(columns, widths, strict=True)]
    if not sum(words):
        return tuple(widths)
    left = room_mm - sum(widths)
    return tuple(w + left * share / sum(words) for w, share in zip(widths, words, strict=True))


def soft(text: str, width_mm: float, size: float, bold: bool = False) -> str:
    """``text`` with marks where a word that is wider than its column may be broken."""
    # a column is often exactly as wide as its longest word: rounding must not break that
    room = (width_mm - 2 * INSET_MM) / (size * POINT_MM * (BOLD if bold else 1.0)) + 1e-6
    return " ".join(
        "".join(_broken(part, room) if width_em(part) > room else part for part in parts_of(word))
        for word in text.split(" ")
    )


def _broken(word: str, room: float) -> str:
    made: list[str] = []
    line = 0.0
    for char in word:
        wide = width_em(char)
        if made and wide and line + wide > room:
            made.append(ZERO)
            line = 0.0
        made.append(char)
        line += wide
    return "".join(made)
