"""Where the labels of a plot stand: flags above it, each beside its upright line, and blocks of text inside it, where
they cover least and are near to what they name.  No two ever overlap.
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from itertools import pairwise
from typing import TYPE_CHECKING

from linter.drawing.curves_axes import hatch, part
from linter.drawing.picture import Box, Point, Words
from linter.drawing.text import ASCENT_EM, LEADING, width_mm, wrap

if TYPE_CHECKING:
    import numpy as np
    from numpy.typing import NDArray

    Figures = NDArray[np.float64]

# The room is looked at in squares of a millimetre; labels are tried at every so many of them, across and down.
CELL, TRIED = 1.0, (1.0, 2.0)
# Between two texts, mm.
APART = 1.2
# About a text that nothing should come near to, mm.
RIM = 0.7
# What a millimetre of leader costs, and what it crosses, against a square of a line that is covered.
PER_MM, CROSSING = 0.6, 0.5
# What a leader costs that runs through a text; half of it where it crosses another.
THROUGH = 30.0
# How often every label is placed anew when all have a place, at most.
ANEW = 3
# A label looks for the nearest of so many points of what it names.
MOST_TARGETS = 14
# A label may be broken into narrower lines, of at most so many characters; each line more costs a little.
NARROWER, PER_LINE = (30, 21, 16), 1.5
_LOOKED_AT = 80


@dataclass(frozen=True, slots=True)
class Flag:
    """An upright line's text; ``x`` in mm."""

    x: float
    text: str
    size: float
    colour: str = ""


def flag_rows(flags: Sequence[Flag]) -> list[int]:
    """For each flag its row, 0 the lowest: its text stands to the right of its line, and no other flag's line, which
    rises to that one's own row, runs through it."""
    rows = [0] * len(flags)
    order = sorted(range(len(flags)), key=lambda i: (-flags[i].x, i))
    for place, i in enumerate(order):
        end = flags[i].x + 2 * APART + width_mm(flags[i].text, flags[i].size)
        rows[i] = max((rows[j] + 1 for j in order[:place] if flags[j].x <= end), default=0)
    return rows


@dataclass(frozen=True, slots=True)
class Label:
    """Lines of text, each with its size and weight, and the points on the sheet to one of which they belong."""

    lines: tuple[tuple[str, float, bool], ...]
    targets: tuple[Point, ...]
    colour: str = ""

    @property
    def width(self) -> float:
        return max(width_mm(text, size) for text, size, _ in self.lines)

    @property
    def height(self) -> float:
        return sum(LEADING * size for _, size, _ in self.lines)

    def variants(self) -> tuple[Label, ...]:
        """The label as it is, and broken between words into narrower lines where that makes a difference."""
        made = [self]
        longest = max(len(word) for text, _, _ in self.lines for word in text.split(" "))
        for most in (m for m in NARROWER if m >= longest):
            lines = tuple((piece, size, bold) for text, size, bold in self.lines for piece in wrap(text, most))
            if lines != made[-1].lines:
                made.append(Label(lines, self.targets, self.colour))
        return tuple(made)


@dataclass(frozen=True, slots=True)
class Placed:
    """A label on the sheet: its room, its text, and the line to what it names (from the text to there), if any."""

    box: Box
    words: tuple[Words, ...]
    leader: tuple[Point, Point] | None
    colour: str


class Room:
    """How dear it is to cover each square of the plot."""

    def __init__(self, box: Box) -> None:
        import numpy as np

        self.box = box
        columns, rows = (max(math.ceil(side / CELL), 1) for side in (box.x1 - box.x0, box.y1 - box.y0))
        self.weight: Figures = np.zeros((rows, columns))

    def line(self, points: Sequence[Point], weight: float) -> None:
        for row, column in {at for start, end in pairwise(points) for at in self._along(start, end)}:
            self.weight[row, column] += weight

    def area(self, points: Sequence[Point], weight: float) -> None:
        for row, column in {at for start, end in hatch(points, None, CELL) for at in self._along(start, end)}:
            self.weight[row, column] += weight

    def _along(self, start: Point, end: Point) -> Iterable[tuple[int, int]]:
        rows, columns = self.weight.shape
        steps = max(math.ceil(2 * math.dist(start, end) / CELL), 1)
        for i in range(steps + 1):
            column = int((start[0] + (end[0] - start[0]) * i / steps - self.box.x0) / CELL)
            row = int((start[1] + (end[1] - start[1]) * i / steps - self.box.y0) / CELL)
            if 0 <= column < columns and 0 <= row < rows:
                yield row, column

    def crossed(self, start: Point, end: Point) -> float:
        """What a line would cross."""
        return float(sum(self.weight[at] for at in set(self._along(start, end))))

    def sums(self) -> Figures:
        """By row and column: the weight of all squares above and left of there."""
        import numpy as np

        return np.pad(self.weight.cumsum(0).cumsum(1), ((1, 0), (1, 0)))


def place(labels: Sequence[Label], room: Room) -> list[Placed | None]:
    """A place for each label, the first first, and then each anew beside all others; None where there is none left,
    even for its first line alone."""
    found: list[Placed | None] = [None] * len(labels)
    sums = room.sums()
    for _ in range(1 + ANEW):
        before = list(found)
        for i, label in enumerate(labels):
            others = [p for j, p in enumerate(found) if p is not None and j != i]
            made = _place(label, room, sums, others)
            if made is None and found[i] is None:
                made = _place(Label(label.lines[:1], label.targets, label.colour), room, sums, others)
            found[i] = made or found[i]
        if found == before:
            break
    return found


def _place(label: Label, room: Room, sums: Figures, others: Sequence[Placed]) -> Placed | None:
    """The cheapest place of the cheapest variant."""
    found: list[tuple[float, int, Label, Box, tuple[Point, Point] | None]] = []
    for one in label.variants():
        if found and min(f[0] for f in found) <= PER_LINE * len(one.lines):
            break  # narrower ones have more lines, and cannot be cheaper
        best = _best(one, room, sums, others)
        if best is not None:
            found.append((best[0] + PER_LINE * len(one.lines), len(found), one, best[1], best[2]))
    if not found:
        return None
    _, _, label, box, leader = min(found, key=lambda f: f[:2])
    words, at = [], box.y0
    for text, size, bold in label.lines:
        lead = (LEADING - 1) * size / 2
        words.append(Words(box.x0, at + lead + ASCENT_EM * size, text, size, bold, colour=label.colour))
        at += LEADING * size
    return Placed(box, tuple(words), leader, label.colour)


def _best(
    label: Label, room: Room, sums: Figures, others: Sequence[Placed]
) -> tuple[float, Box, tuple[Point, Point] | None] | None:
    """Cost, place and leader; None where there is no place."""
    width, height, inside = label.width, label.height, room.box
    least_x, most_x = inside.x0 + APART, inside.x1 - APART - width
    least_y, most_y = inside.y0 + APART, inside.y1 - APART - height
    if not label.targets or most_x < least_x or most_y < least_y:
        return None
    boxes = [p.box for p in others]
    leaders = [p.leader for p in others if p.leader is not None]
    tried = _tried(label, sums, boxes, (least_x, most_x, least_y, most_y), inside)
    best: tuple[float, Box, tuple[Point, Point] | None] | None = None
    for least, x, y, target in tried:
        if best is not None and least >= best[0]:
            break  # what follows is dearer before its leader is counted
        box = Box(x, y, x + width, y + height)
        leader = _leader(box, target)
        least += THROUGH * sum(_meets(other, box) for other in leaders)
        if leader is not None:
            least += THROUGH * sum(_meets(leader, other) for other in boxes)
            least += THROUGH / 2 * sum(_cross(leader, other) for other in leaders)
            least += CROSSING * room.crossed(*_short(leader))
        if best is None or least < best[0]:
            best = least, box, leader
    return best


def _tried(
    label: Label, sums: Figures, boxes: Sequence[Box], span: tuple[float, float, float, float], inside: Box
) -> list[tuple[float, float, float, Point]]:
    """The cheapest places by what they cover and how far they are: cost, upper left corner, the point it is nearest
    to.  None overlaps a box."""
    import numpy as np

    least_x, most_x, least_y, most_y = span
    x, y = np.arange(least_x, most_x + 1e-9, TRIED[0])[None, :], np.arange(least_y, most_y + 1e-9, TRIED[1])[:, None]
    right, bottom = x + label.width, y + label.height
    rows, columns = sums.shape[0] - 1, sums.shape[1] - 1
    first, last = ((x - RIM - inside.x0) / CELL).astype(int), np.ceil((right + RIM - inside.x0) / CELL).astype(int)
    top, end = ((y - RIM - inside.y0) / CELL).astype(int), np.ceil((bottom + RIM - inside.y0) / CELL).astype(int)
    first, last = first.clip(0, columns), last.clip(0, columns)
    top, end = top.clip(0, rows), end.clip(0, rows)
    cost: Figures = sums[end, last] - sums[top, last] - sums[end, first] + sums[top, first]
    targets = np.array(label.targets[:: max(len(label.targets) // MOST_TARGETS, 1)])
    dx = np.maximum(np.maximum(x[..., None] - targets[:, 0], targets[:, 0] - right[..., None]), 0.0)
    dy = np.maximum(np.maximum(y[..., None] - targets[:, 1], targets[:, 1] - bottom[..., None]), 0.0)
    far = np.hypot(dx, dy)
    cost = cost + PER_MM * far.min(axis=2)
    for o in boxes:
        over = (x < o.x1 + APART) & (right > o.x0 - APART) & (y < o.y1 + APART) & (bottom > o.y0 - APART)
        cost = np.where(over, np.inf, cost)
    nearest = far.argmin(axis=2)
    order = np.argsort(cost, axis=None, kind="stable")[:_LOOKED_AT]
    made = []
    for flat in order:
        row, column = divmod(int(flat), cost.shape[1])
        if cost[row, column] < math.inf:
            at = targets[nearest[row, column]]
            made.append((float(cost[row, column]), float(x[0, column]), float(y[row, 0]), (float(at[0]), float(at[1]))))
    return made


def _nearest(box: Box, point: Point) -> Point:
    return min(max(point[0], box.x0), box.x1), min(max(point[1], box.y0), box.y1)


def _gap(box: Box, point: Point) -> float:
    return math.dist(_nearest(box, point), point)


def _leader(box: Box, target: Point) -> tuple[Point, Point] | None:
    """From the text to what it names; none is needed where they all but touch."""
    start = _nearest(box, target)
    return (start, target) if math.dist(start, target) > 2.2 else None


def _short(leader: tuple[Point, Point]) -> tuple[Point, Point]:
    """A leader without its end, which is on the line that it leads to."""
    (x0, y0), (x1, y1) = leader
    keep = max(1 - 2.0 / max(math.dist(*leader), 1e-9), 0.0)
    return (x0, y0), (x0 + keep * (x1 - x0), y0 + keep * (y1 - y0))


def _cross(one: tuple[Point, Point], two: tuple[Point, Point]) -> bool:
    def side(line: tuple[Point, Point], p: Point) -> float:
        (ax, ay), (bx, by) = line
        return (bx - ax) * (p[1] - ay) - (by - ay) * (p[0] - ax)

    return side(one, two[0]) * side(one, two[1]) < 0 and side(two, one[0]) * side(two, one[1]) < 0


def _meets(leader: tuple[Point, Point], box: Box) -> bool:
    near = Box(box.x0 - 0.4, box.y0 - 0.4, box.x1 + 0.4, box.y1 + 0.4)
    return part(*leader, near) is not None
