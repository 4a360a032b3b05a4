"""Pieces of text of which lists are made: headings, keys to marks, small lines."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, field

from linter.drawing.cells import SMALL
from linter.drawing.frame import HEADING
from linter.drawing.picture import Marker, Shape, Words
from linter.drawing.text import ADVANCE_EM, ASCENT_EM, DESCENT_EM, LEADING, wrap


@dataclass(slots=True)
class Text:
    """A piece of text that is not divided: its shapes from (0, 0), and its height."""

    height: float
    shapes: list[Shape] = field(default_factory=list)
    # whether it must not be parted from what follows it
    heads: bool = False

    def small(self, x: float, lines: Sequence[str], bold: bool = False) -> None:
        """Add lines of small text below what is there."""
        for line in lines:
            self.shapes.append(Words(x, baseline(self.height + LEADING * SMALL / 2, SMALL), line, SMALL, bold))
            self.height += LEADING * SMALL


def baseline(middle: float, size: float) -> float:
    """The baseline of a line of text whose middle is at this height."""
    return middle + (ASCENT_EM - DESCENT_EM) * size / 2


def heading(said: str) -> Text:
    high = LEADING * HEADING
    return Text(high + 1.5, [Words(0, baseline(high / 2, HEADING), said, HEADING, bold=True)], heads=True)


def marks_key(rows: Sequence[tuple[str, bool, str]], width: float) -> Text:
    """What marks mean: rows of (kind, outlined, words)."""
    made = Text(0.0, heads=True)
    for kind, outlined, said in rows:
        made.shapes.append(Marker(0, made.height + LEADING * SMALL / 2, kind, 0, outlined))
        made.small(4.6, wrap(said, int((width - 4.6) / (ADVANCE_EM * SMALL)), 3))
        made.height += 0.6
    made.height += 3.0
    return made
