"""Heights: every chain's row, every port and every hub, so that as many lines as can be are straight.

Each chain has one height in each column it goes through.  Between two columns the largest set of lines that do not
cross (a longest increasing subsequence) is kept straight: their heights on both sides are one variable.  What is left
are differences, "b stands at least so far below a", without a ring; the heights are the least that satisfy them, after
which each row is drawn towards the hubs it hangs on.
"""

from __future__ import annotations

import math
from bisect import bisect_left
from collections.abc import Callable
from dataclasses import dataclass, field
from itertools import pairwise

from linter.drawing.block import Block
from linter.drawing.lanes import LINE_GAP
from linter.drawing.schematic import Chain, End, Hub
from linter.drawing.settle import LEAST_BAR, Bar, settle

# Distances in mm.
PLAIN = 1.25  # above and below a plain line
PORT_GAP = 2.5
SELECTOR_GAP = 4.0
OVERHANG = 2.0
HUB_GAP = 3.0
GRID = 0.5


@dataclass(slots=True)
class Heights:
    """``line[chain, column]``; ``top`` and ``bottom`` of each hub's bar; ``port``: selectors' ports without a chain."""

    line: dict[tuple[int, int], float] = field(default_factory=dict)
    top: dict[int, float] = field(default_factory=dict)
    bottom: dict[int, float] = field(default_factory=dict)
    port: dict[tuple[int, str], float] = field(default_factory=dict)
    # jogs[k]: the chains that are not straight between columns k and k + 1
    jogs: list[list[int]] = field(default_factory=list)


@dataclass(frozen=True, slots=True)
class Room:
    """How far things reach: above and below their line for rows, above the bar for hubs (text), the bar's overhang."""

    above: Callable[[int], float]
    below: Callable[[int], float]
    over_hub: Callable[[int], float]
    overhang: Callable[[int], float]
    # between the lines of two rows, the upper and the lower
    apart: Callable[[int, int], float]


def _up(value: float) -> float:
    return math.ceil(value / GRID - 1e-6) * GRID


class _Solver:
    def __init__(self, block: Block, room: Room, straighten: bool) -> None:
        self.block, self.room = block, room
        self.root: list[int] = []
        self.var: dict[object, int] = {}
        self.edges: list[tuple[int, int, float]] = []
        # hub -> the variables of the chains at its left and right, from top to bottom
        self.left: dict[int, list[int]] = {}
        self.right: dict[int, list[int]] = {}
        self.kind = {h.index: h.kind for h in block.hubs}
        # a port of a selector -> how far it is below the one that is joined by a straight line
        self.offset: dict[object, float] = {}
        # selector -> the variable of that port, and how far the others reach above and below it
        self.anchor: dict[int, tuple[int, float, float]] = {}
        # selector -> the chain that comes straight to it
        self.feeds: dict[int, int] = {}
        for chain in block.chains:
            if chain.right is not None and self.kind[chain.right.hub] == "selector":
                self.feeds.setdefault(chain.right.hub, chain.index)
            first, last = block.span[chain.index]
            for column in range(first, last + 1):
                self._variable((chain.index, column))
        self._straight(straighten)
        self._ports()
        for number in range(len(block.columns)):
            self._column(number)

    def _variable(self, key: object) -> int:
        if key not in self.var:
            self.var[key] = len(self.root)
            self.root.append(len(self.root))
        return self.var[key]

    def find(self, key: object) -> int:
        number = self.var[key]
        while self.root[number] != number:
            self.root[number] = self.root[self.root[number]]
            number = self.root[number]
        return number

    def _straight(self, straighten: bool) -> None:
        if not straighten:
            return
        crossing: list[list[tuple[tuple[int, int], tuple[int, int], int]]] = [[] for _ in self.block.columns]
        for chain in self.block.chains:
            first, last = self.block.span[chain.index]
            for k in range(first, last):
                if (k == first and self._jogs(chain, chain.left)) or (k + 1 == last and self._jogs(chain, chain.right)):
                    continue
                ends = self.block.key(chain, k, k + 1), self.block.key(chain, k + 1, k)
                crossing[k].append((*ends, chain.index))
        for k, lines in enumerate(crossing):
            lines.sort()
            for chosen in _increasing([right for _, right, _ in lines]):
                index = lines[chosen][2]
                self.root[self.find((index, k + 1))] = self.find((index, k))

    def _jogs(self, chain: Chain, end: End | None) -> bool:
        """Whether a chain may not come straight to a selector: one does, the others come to it."""
        if end is None or self.kind[end.hub] != "selector":
            return False
        return self.feeds.setdefault(end.hub, chain.index) != chain.index

    def _ports(self) -> None:
        for chain in self.block.chains:
            if chain.left is not None:
                self.right.setdefault(chain.left.hub, []).append(chain.index)
            if chain.right is not None:
                self.left.setdefault(chain.right.hub, []).append(chain.index)
        keys: dict[tuple[int, int], list[object]] = {}
        for sides, shift in ((self.left, -1), (self.right, 1)):
            for hub, chains in sides.items():
                columns = {c: self.block.span[c][1 if shift < 0 else 0] for c in chains}
                chains.sort(key=lambda c, col=columns, s=shift: self.block.place[col[c] + s, ("c", c)])  # type: ignore[misc]
                keys[hub, shift] = [(c, columns[c]) for c in chains]
        for selector in self.block.hubs:
            if selector.kind == "selector":
                at = selector.index
                self._rigid(selector, keys.get((at, -1), []), keys.get((at, 1), []))
        for sides, shift in ((self.left, -1), (self.right, 1)):
            for index in sides:
                sides[index] = list(dict.fromkeys(self.find(k) for k in keys[index, shift]))

    def _rigid(self, hub: Hub, left: list[object], right: list[object]) -> None:
        """A selector's ports stand at fixed distances: it is not stretched over half the sheet as a bar may be."""
        taken = {e.port for c in self.block.chains for e in (c.left, c.right) if e and e.hub == hub.index}
        for port in hub.ports:
            if port not in taken:
                self._variable(("port", hub.index, port))
                (left if hub.side(port) == "left" else right).append(("port", hub.index, port))
        straight = self.feeds.get(hub.index)
        anchor = next((k for k in (*left, *right) if isinstance(k, tuple) and k[0] == straight), (*left, *right)[0])
        own, other = (left, right) if anchor in left else (right, left)
        shift = own.index(anchor)
        for side, first in ((own, -shift), (other, 0 if len(other) == 1 else -shift)):
            for place, key in enumerate(side):
                self.offset[key] = (first + place) * SELECTOR_GAP
                if key != anchor:
                    self.root[self.find(key)] = self.find(anchor)
        offsets = [self.offset[k] for k in (*left, *right)]
        self.anchor[hub.index] = self.find(anchor), -min(offsets), max(offsets)

    def need(self, a: int, b: int, apart: float) -> None:
        self.edges.append((a, b, _up(apart)))

    def _column(self, number: int) -> None:
        before: tuple[int, float] | None = None
        row_before: int | None = None
        for kind, index in self.block.columns[number]:
            if kind == "h":
                top, bottom = self._variable(("top", index)), self._variable(("bottom", index))
                hang = self.room.overhang(index)
                if index in self.anchor:
                    at, above, below = self.anchor[index]
                    self.need(top, at, above + hang)
                    self.need(at, bottom, below + hang)
                for side in (self.left.get(index, []), self.right.get(index, [])):
                    if index in self.anchor:
                        break
                    for a, b in pairwise(side):
                        self.need(a, b, PORT_GAP)
                    for port in side:
                        self.need(top, port, hang)
                        self.need(port, bottom, hang)
                if index not in self.anchor and self.left.get(index) and self.right.get(index):
                    # What feeds a hub comes in at its head.
                    self.need(self.left[index][0], self.right[index][0], 0)
                self.need(top, bottom, LEAST_BAR if hang else 0)
                above, below, gap = self.room.over_hub(index), 0.0, HUB_GAP
                first, last = top, bottom
            else:
                first = last = self.find((index, number))
                row = self.block.row[index] == number
                above, below = (self.room.above(index), self.room.below(index)) if row else (PLAIN, PLAIN)
                gap = LINE_GAP if row else 0.0
            row_here = index if kind == "c" and self.block.row[index] == number else None
            if before is not None and row_before is not None and row_here is not None:
                self.need(before[0], first, self.room.apart(row_before, row_here))
            elif before is not None:
                self.need(before[0], first, before[1] + above + gap)
            before, row_before = (last, below), row_here

    def solve(self) -> list[float] | None:
        """The least heights that satisfy all differences, then settled; None if the differences run in a ring."""
        count = len(self.root)
        after: list[list[tuple[int, float]]] = [[] for _ in range(count)]
        before: list[list[tuple[int, float]]] = [[] for _ in range(count)]
        for a, b, apart in self.edges:
            if a != b:
                after[a].append((b, apart))
                before[b].append((a, apart))
        waiting = [len(b) for b in before]
        ready = [v for v in range(count) if not waiting[v]]
        value = [0.0] * count
        sequence: list[int] = []
        while ready:
            v = ready.pop()
            sequence.append(v)
            for b, apart in after[v]:
                value[b] = max(value[b], value[v] + apart)
                waiting[b] -= 1
                if not waiting[b]:
                    ready.append(b)
        if len(sequence) < count:
            return None
        settle(self._bars(), self._mates(), value, sequence, before, after)
        return value

    def _bars(self) -> list[Bar]:
        made: list[Bar] = []
        for hub in self.block.hubs:
            index, hang = hub.index, self.room.overhang(hub.index)
            at, above, below = self.anchor.get(index, (-1, 0.0, 0.0))
            members = {at} if at >= 0 else {*self.left.get(index, []), *self.right.get(index, [])}
            top, bottom = self.var["top", index], self.var["bottom", index]
            made.append(Bar(top, bottom, above + hang, below + hang, sorted(members)))
        return made

    def _mates(self) -> dict[int, list[int]]:
        """Variables of one chain on the two sides of a jog: the nearer the better."""
        mates: dict[int, list[int]] = {}
        for chain in self.block.chains:
            first, last = self.block.span[chain.index]
            for k in range(first, last):
                a, b = self.find((chain.index, k)), self.find((chain.index, k + 1))
                if a != b:
                    mates.setdefault(a, []).append(b)
                    mates.setdefault(b, []).append(a)
        return mates

    def _at(self, value: list[float], key: object) -> float:
        return value[self.find(key)] + self.offset.get(key, 0.0)

    def heights(self, value: list[float]) -> Heights:
        made = Heights(jogs=[[] for _ in self.block.columns])
        for chain in self.block.chains:
            first, last = self.block.span[chain.index]
            for k in range(first, last + 1):
                made.line[chain.index, k] = self._at(value, (chain.index, k))
                if k > first and made.line[chain.index, k] != made.line[chain.index, k - 1]:
                    made.jogs[k - 1].append(chain.index)
        for hub in self.block.hubs:
            made.top[hub.index] = value[self.var["top", hub.index]]
            made.bottom[hub.index] = value[self.var["bottom", hub.index]]
            for port in hub.ports:
                if ("port", hub.index, port) in self.var:
                    made.port[hub.index, port] = self._at(value, ("port", hub.index, port))
        return made


def heights(block: Block, room: Room) -> Heights:
    """The heights of all things of a block, in mm, downwards."""
    for straighten in (True, False):
        solver = _Solver(block, room, straighten)
        value = solver.solve()
        if value is not None:
            return solver.heights(value)
    # Without straight lines each column is ordered by itself, and there can be no ring.
    raise AssertionError("a column cannot be above itself")


def _increasing(keys: list[tuple[int, int]]) -> list[int]:
    """Indices of a longest strictly increasing subsequence."""
    tails: list[tuple[int, int]] = []
    at: list[int] = []
    previous: list[int] = []
    for index, key in enumerate(keys):
        slot = bisect_left(tails, key)
        previous.append(at[slot - 1] if slot else -1)
        if slot == len(tails):
            tails.append(key)
            at.append(index)
        else:
            tails[slot], at[slot] = key, index
    chosen: list[int] = []
    index = at[-1] if at else -1
    while index >= 0:
        chosen.append(index)
        index = previous[index]
    return chosen[::-1]
