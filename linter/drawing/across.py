"""How far right each thing stands: as far left as what stands left of it allows.

Things are taken column by column.  For each height of the sheet a skyline says how far right it is taken; a thing goes
as far left as the skyline lets all that must share its x, and raises it.  What is right of what never changes, so no
two things and no line come to lie on each other.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field

from linter.drawing.block import Block
from linter.drawing.cells import Cell, Line
from linter.drawing.lanes import Lane
from linter.drawing.picture import BAR
from linter.drawing.route import channel
from linter.drawing.rows import Heights

TRACK = 1.75  # beside an upright line
PAD = 1.0  # beside a thing in a row
ALONE = 25.0  # a thing held up farther than this stands by itself
SELECTOR = 13.0
_GRID = 0.25


@dataclass(slots=True)
class Across:
    """``hub``: the middle of each hub; ``cell``: from where to where each thing of a chain reaches; ``width``: of all.

    ``tracks[k][chain]``: the upright lines between columns k and k + 1, each (x, the height after it).
    """

    hub: dict[int, float] = field(default_factory=dict)
    cell: dict[int, list[tuple[float, float]]] = field(default_factory=dict)
    tracks: list[dict[int, list[tuple[float, float]]]] = field(default_factory=list)
    width: float = 0.0


class _Skyline:
    def __init__(self, low: float, high: float) -> None:
        self.low = low
        self.taken = [0.0] * (int((high - low) / _GRID) + 8)

    def _range(self, y0: float, y1: float) -> tuple[int, int]:
        start = max(int((y0 - self.low) / _GRID) + 1, 0)
        return start, max(int((y1 - self.low) / _GRID) + 3, start + 1)

    def at(self, y0: float, y1: float) -> float:
        start, end = self._range(y0, y1)
        return max(self.taken[start:end], default=0.0)

    def raise_to(self, x: float, y0: float, y1: float) -> None:
        start, end = self._range(y0, y1)
        end = min(end, len(self.taken))
        self.taken[start:end] = [x] * (end - start)


def hub_reach(kind: str) -> float:
    """How far a hub's symbol reaches to each side of its middle (mm)."""
    return {"bus": BAR / 2, "selector": SELECTOR / 2, "joint": 0.0}.get(kind, 0.0)


class _Placing:
    def __init__(
        self, block: Block, high: Heights, cells: Mapping[int, Sequence[Cell]], lanes: Mapping[int, Lane],
        text: Mapping[int, Sequence[Line]], over: Mapping[int, float], extent: tuple[float, float],
    ) -> None:  # fmt: skip
        self.block, self.high, self.cells, self.lanes, self.text, self.over = block, high, cells, lanes, text, over
        self.sky = _Skyline(extent[0] - 2, extent[1] + 2)
        self.made = Across()
        self.hub = {h.index: h for h in block.hubs}

    def place(self) -> Across:
        for number in range(len(self.block.columns)):
            if number % 2:
                for kind, index in self.block.columns[number]:
                    if kind == "h":
                        self._hub(index)
            else:
                self._rows(number)
            if number + 1 < len(self.block.columns):
                self._channel(number)
        self.made.width = max(self.sky.taken)
        return self.made

    def _hub(self, index: int) -> None:
        top, bottom = self.high.top[index] - 0.8, self.high.bottom[index] + 0.8
        body = hub_reach(self.hub[index].kind)
        text = max((line.width for line in self.text[index]), default=0.0) / 2
        x = self.sky.at(top, bottom) + TRACK + body
        if text:
            x = max(x, self.sky.at(top - self.over[index], top) + PAD + text)
        x = round(x, 2)
        self.made.hub[index] = x
        self.sky.raise_to(x + body + 0.5, top, bottom)
        if text:
            self.sky.raise_to(x + text + PAD, top - self.over[index], top)

    def _rows(self, number: int) -> None:
        groups: dict[int, list[int]] = {}
        for kind, index in self.block.columns[number]:
            if kind == "c" and self.block.row[index] == number:
                groups.setdefault(self.lanes[index].group, []).append(index)
        for chains in groups.values():
            self._group(number, chains)

    def _group(self, number: int, chains: list[int]) -> None:
        """The rows that hang on one hub: their things stand below each other."""
        inside: dict[int, list[tuple[int, Cell]]] = {}
        for index in chains:
            self.made.cell[index] = []
            for one, place in zip(self.cells[index], self.lanes[index].places, strict=True):
                inside.setdefault(place, []).append((index, one))
        for _, members in sorted(inside.items()):
            heights = [self.high.line[i, number] for i, _ in members]
            ranges = [(y - c.reach_up, y + c.reach_down) for y, (_, c) in zip(heights, members, strict=True)]
            free = [self.sky.at(*r) for r in ranges]
            limit = _most(free)
            common = max(x for x in free if x <= limit)
            width = max(c.width for (_, c), x in zip(members, free, strict=True) if x <= limit)
            for (index, one), reach, x in zip(members, ranges, free, strict=True):
                x0 = round(max(x, common) + PAD, 2)
                x1 = x0 + (width if x <= limit else one.width)
                self.made.cell[index].append((x0, x1))
                self.sky.raise_to(x1 + PAD, *reach)

    def _channel(self, number: int) -> None:
        line, span = self.high.line, self.block.span
        lines = {c: (line[c, number], line[c, number + 1]) for c in self.high.jogs[number]}
        found: dict[int, list[tuple[float, float]]] = {}
        self.made.tracks.append(found)
        if not lines:
            return
        taken = [line[c, k] for c, (a, b) in span.items() if a <= number < b for k in (number, number + 1)]
        steps = channel(lines, taken)
        every = sorted((track, c, place) for c, made in steps.items() for place, (track, _) in enumerate(made))
        for _, c, place in every:
            before = steps[c][place - 1][1] if place else lines[c][0]
            after = steps[c][place][1]
            low, high = min(before, after) - 1.0, max(before, after) + 1.0
            x = round(self.sky.at(low, high) + TRACK, 2)
            found.setdefault(c, []).append((x, after))
            self.sky.raise_to(x, low, high)


def _most(free: Sequence[float]) -> float:
    """Up to where things share one x: where few of many are held up far to the right, the others do not wait."""
    ordered = sorted(free)
    kept = ordered[(3 * len(ordered) - 1) // 4]
    return kept if ordered[-1] - kept > ALONE else ordered[-1]


def across(
    block: Block, high: Heights, cells: Mapping[int, Sequence[Cell]], lanes: Mapping[int, Lane],
    text: Mapping[int, Sequence[Line]], over: Mapping[int, float], extent: tuple[float, float],
) -> Across:  # fmt: skip
    """The x of everything in a block; ``over`` is the height of each hub's text, ``extent`` what y reaches."""
    return _Placing(block, high, cells, lanes, text, over, extent).place()
