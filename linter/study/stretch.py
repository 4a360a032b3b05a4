"""The unprotected stretch: a conductor with too large a let-through, from its supply point to the device that guards
what follows.

It is allowed if every way on from its far end comes to a device, if those devices together are rated no more than the
conductor is allowed, and if along the conductor each of them is near enough to the supply point.
"""

from __future__ import annotations

import heapq
import math
from collections.abc import Callable, Iterator
from dataclasses import dataclass, field

from linter.study.letthrough import LetThrough
from linter.study.net import Net
from linter.tables.rulebook import DistanceRow, Rulebook, Tied

# Metres along the conductor (None where a length is not given), and whether all of the way is covered.
Way = tuple[float | None, bool]

NO_DEVICE = "comes to no device that guards it"
# No boat is so long: stands for a length that nobody gave.
VERY_LONG_M = 1e6

# Lengths that differ by less are equal: a nanometre.
TOLERANCE_M = 1e-9


@dataclass(frozen=True, slots=True)
class EndDevice:
    """A device at the end of a stretch: how far along the conductor it is from the supply point, and the limit."""

    edge: int
    # None: a length on the way is not given
    distance_m: float | None
    covered: bool
    limit: DistanceRow | None
    rulebook: Rulebook | None

    @property
    def too_far(self) -> bool:
        if self.limit is None or self.limit.limit_mm is None or self.distance_m is None:
            return False
        return self.distance_m > self.limit.limit_mm / 1000 + TOLERANCE_M


@dataclass(frozen=True, slots=True)
class Stretch:
    """An exposed conductor's stretch.  ``problem`` says why no device at its end guards it; then there are none.

    ``supply_node``: where the stretch begins, -1 where too much can come from both ends.
    """

    problem: str
    # a node or edge that the problem is about, -1 for none
    at_node: int = -1
    supply_node: int = -1
    tied: Tied = "any"
    devices: tuple[EndDevice, ...] = ()
    # sum of the ratings at the end, A
    sum_a: float = 0.0


@dataclass(frozen=True, slots=True)
class _Ahead:
    """What the ways on come to: a problem, or the devices that decide, and the sum of all ratings there, A."""

    problem: str = ""
    at_node: int = -1
    sum_a: float = 0.0
    ends: tuple[tuple[int, Way], ...] = ()


@dataclass(frozen=True, slots=True)
class _Back:
    """Nodes that might be the supply point: the way from each, and what it would supply by itself, A."""

    candidates: list[tuple[int, Way, float]] = field(default_factory=list)

    def nearest(self, limit_a: float, otherwise: int) -> tuple[int, Way]:
        """The nearest that supplies too much; if none does by itself, the nearest that supplies anything."""
        chosen = [c for c in self.candidates if c[2] > limit_a] or [c for c in self.candidates if c[2] > 0]
        if not chosen:
            return otherwise, (0.0, True)
        node, way, _ = min(chosen, key=lambda c: (math.inf if c[1][0] is None else c[1][0], c[0]))
        return node, way


class Stretches:
    """Examines exposed conductors one by one.

    Ways through the trees are remembered, so that a long row of exposed conductors costs no more than its length;
    ways through a block are searched for each conductor of the block.
    """

    def __init__(
        self,
        net: Net,
        flows: LetThrough,
        rulebooks: list[Rulebook],
        exposed: set[int],
        passable: Callable[[int], bool],
    ) -> None:
        """``exposed``: conductors with too large a let-through and not declared cranking; ``passable``: edges that
        the way back to the supply point may follow: anything but devices and conductors that are in order."""
        self._net, self._flows, self._rulebooks = net, flows, rulebooks
        self._exposed, self._passable = exposed, passable
        self._beyond: dict[int, _Ahead] = {}
        self._above: dict[int, _Back] = {}

    def of(self, edge: int, allowed_a: float) -> Stretch:
        net, flows = self._net, self._flows
        limit_a = allowed_a * (1 + 1e-9)
        from_u, from_v = flows.into_u[edge].amps > limit_a, flows.into_v[edge].amps > limit_a
        if from_u and from_v:
            return Stretch("is fed more than that from both of its ends")
        near, far = (net.u[edge], net.v[edge]) if from_u else (net.v[edge], net.u[edge])
        outwards = flows.parts.leads_to[edge] == far
        ahead = self._tree_ahead(far) if outwards else self._search_ahead(edge, far)
        back = self._tree_back(near) if outwards else self._search_back(edge, near)
        node, (up_m, up_covered) = back.nearest(limit_a, near)
        if ahead.problem:
            return Stretch(ahead.problem, ahead.at_node, node)
        if ahead.sum_a > limit_a:
            problem = "ends in devices that together are too large for it"
            return Stretch(problem, far, node, sum_a=ahead.sum_a)
        tied = self._tied(node)
        devices = []
        for device, (down_m, down_covered) in ahead.ends:
            covered = up_covered and self._covered(edge) and down_covered
            total = _add(_add(up_m, self._length(edge)), down_m)
            row, book = self._limit(tied, covered)
            devices.append(EndDevice(device, total, covered, row, book))
        return Stretch("", supply_node=node, tied=tied, devices=tuple(devices), sum_a=ahead.sum_a)

    def _tied(self, node: int) -> Tied:
        source = self._net.circuit.nodes[node].source
        if source is None:
            return "any"
        return "battery" if source.is_battery else "charging"

    def _limit(self, tied: Tied, covered: bool) -> tuple[DistanceRow | None, Rulebook | None]:
        """The strictest rulebook's most generous row for such a stretch."""
        strictest: tuple[float, DistanceRow | None, Rulebook | None] = (math.inf, None, None)
        for book in self._rulebooks:
            row = book.distance(tied, covered)
            if row is not None:
                limit_mm = math.inf if row.limit_mm is None else row.limit_mm
                if strictest[1] is None or limit_mm < strictest[0]:
                    strictest = (limit_mm, row, book)
        return strictest[1], strictest[2]

    # ---- ahead: the devices at which the ways on from the far end stop --------------------------------------------

    def _tree_ahead(self, start: int) -> _Ahead:
        """What lies beyond a node that hangs from a bridge, that bridge left out; from the outermost inwards."""
        parts, net = self._flows.parts, self._net
        waiting = [start]
        while waiting:
            node = waiting[-1]
            if node in self._beyond:
                waiting.pop()
                continue
            if len(parts.blocks[parts.block_of[node]].nodes) > 1:
                self._beyond[node] = self._search_ahead(parts.bridge_to[node], node)
                waiting.pop()
                continue
            onward = [e for e in net.circuit.nodes[node].edges if e != parts.bridge_to[node] and self._leaves(e, node)]
            missing = [
                net.other(e, node)
                for e in onward
                if not net.is_device[e] and net.other(e, node) not in self._beyond and net.other(e, node) != node
            ]
            problem = self._ends_badly(node)
            if problem or not missing:
                self._beyond[node] = problem or self._joined(node, onward)
                waiting.pop()
            else:
                waiting += missing
        return self._beyond[start]

    def _joined(self, node: int, onward: list[int]) -> _Ahead:
        net = self._net
        ends: dict[int, Way] = {}
        sum_a = 0.0
        for edge in onward:
            other = net.other(edge, node)
            if net.is_device[edge]:
                if self._empty(other):
                    continue
                ends[edge] = (0.0, True)
                sum_a += net.forward[edge]
            elif other != node:
                beyond = self._beyond[other]
                if beyond.problem and beyond.problem != NO_DEVICE:
                    return beyond
                sum_a += beyond.sum_a
                for device, (metres, covered) in beyond.ends:
                    ends[device] = (_add(metres, self._length(edge)), covered and self._covered(edge))
        if not ends:
            return _Ahead(NO_DEVICE, node)
        return _Ahead(sum_a=sum_a, ends=_farthest(ends))

    def _search_ahead(self, edge: int, far: int) -> _Ahead:
        """As `_tree_ahead`, by a search that leaves out ``edge`` only."""
        net = self._net
        ends: dict[int, Way] = {}
        crossing: dict[int, int] = {}
        for node, way in self._walk(edge, far, lambda e, at: self._leaves(e, at) and not net.is_device[e]):
            problem = self._ends_badly(node)
            if problem:
                return problem
            for device in net.circuit.nodes[node].edges:
                if not net.is_device[device]:
                    continue
                if device in crossing:
                    # both of its ends are in the stretch: it is bridged, and guards nothing
                    ends.pop(device, None)
                else:
                    crossing[device] = node
                    ends[device] = way
        for device in list(ends):
            if self._empty(net.other(device, crossing[device])):
                del ends[device]
        if not ends:
            return _Ahead(NO_DEVICE, far)
        return _Ahead(sum_a=sum(net.forward[d] for d in ends), ends=_farthest(ends))

    def _ends_badly(self, node: int) -> _Ahead | None:
        made = self._net.circuit.nodes[node]
        if made.load is not None or made.source is not None:
            return _Ahead("leads to {node} with no device on the way", node)
        if len(made.edges) == 1:
            return _Ahead("ends at {node}, where nothing is", node)
        return None

    def _empty(self, node: int) -> bool:
        """Whether nothing is at a node but the one edge that leads there: a spare way."""
        made = self._net.circuit.nodes[node]
        return len(made.edges) == 1 and made.load is None and made.source is None

    # ---- back: the nodes that might be the supply point -----------------------------------------------------------

    def _tree_back(self, start: int) -> _Back:
        """In a tree, current comes by the one bridge a node hangs from: the stretch begins where that is a device or a
        conductor in order, or at a source."""
        parts, net = self._flows.parts, self._net
        path: list[int] = []
        node = start
        while node not in self._above:
            bridge = parts.bridge_to[node]
            block = parts.block_of[node]
            if block == 0 or len(parts.blocks[block].nodes) > 1:
                self._above[node] = self._search_back(-1, node)
            elif net.is_device[bridge] or not self._passable(bridge):
                self._above[node] = _Back([(node, (0.0, True), math.inf)])
            else:
                path.append(node)
                node = net.other(bridge, node)
        for node in reversed(path):
            bridge = parts.bridge_to[node]
            above = self._above[net.other(bridge, node)]
            metres, covered = self._length(bridge), self._covered(bridge)
            self._above[node] = _Back(
                [(n, (_add(way[0], metres), way[1] and covered), amps) for n, way, amps in above.candidates]
            )
        return self._above[start]

    def _search_back(self, edge: int, near: int) -> _Back:
        """The nodes back along what is exposed, with the way from each and what each would still supply, A, if the
        exposed conductors on the way were not there."""
        net = self._net
        ways = dict(self._walk(edge, near, self._brings))
        between = {edge} if edge >= 0 else set()
        for node in ways:
            for e in net.circuit.nodes[node].edges:
                if e in self._exposed and net.u[e] in ways and net.v[e] in ways:
                    between.add(e)
        removed = frozenset(between)
        return _Back([(node, way, self._flows.supply(node, removed)) for node, way in ways.items()])

    def _brings(self, edge: int, node: int) -> bool:
        """Whether the way back from a node may follow an edge: current can come by it, and nothing on it opens."""
        if self._net.is_device[edge] or not self._arrives(edge, node) or not self._passable(edge):
            return False
        # a bridge that leads away from the sources brings nothing
        return self._flows.parts.leads_to[edge] in (-1, node)

    def _leaves(self, edge: int, node: int) -> bool:
        """Whether current can leave a node by an edge."""
        return (self._net.forward if self._net.u[edge] == node else self._net.backward)[edge] > 0

    def _arrives(self, edge: int, node: int) -> bool:
        """Whether current can come to a node by an edge."""
        return (self._net.backward if self._net.u[edge] == node else self._net.forward)[edge] > 0

    def _length(self, edge: int) -> float | None:
        made = self._net.circuit.edges[edge]
        return made.conductor.length_m if made.kind == "conductor" else 0.0

    def _covered(self, edge: int) -> bool:
        made = self._net.circuit.edges[edge]
        return made.kind != "conductor" or made.conductor.covered

    def _walk(self, without: int, start: int, follows: Callable[[int, int], bool]) -> Iterator[tuple[int, Way]]:
        """Nodes in order of distance from ``start``, each with the way to it.

        A way whose length is not known counts as very long while a known one is looked for.
        """
        net = self._net
        done: set[int] = set()
        waiting: list[tuple[float, int, bool, bool]] = [(0.0, start, True, True)]
        while waiting:
            length, node, covered, known = heapq.heappop(waiting)
            if node in done:
                continue
            done.add(node)
            yield node, (length if known else None, covered)
            for edge in net.circuit.nodes[node].edges:
                if edge == without or not follows(edge, node):
                    continue
                other = net.other(edge, node)
                if other not in done:
                    metres = self._length(edge)
                    far = length + (VERY_LONG_M if metres is None else metres)
                    heapq.heappush(waiting, (far, other, covered and self._covered(edge), known and metres is not None))


def _farthest(ends: dict[int, Way]) -> tuple[tuple[int, Way], ...]:
    """Of many devices those that decide: the farthest by a way that is covered, the farthest by one that is not, and
    one whose way is not known."""
    if len(ends) <= 3:
        return tuple(sorted(ends.items()))
    known = [(d, w) for d, w in ends.items() if w[0] is not None]
    unknown = [(d, w) for d, w in ends.items() if w[0] is None]
    kept = [*unknown[:1]]
    for covered in (True, False):
        alike = [(d, w) for d, w in known if w[1] is covered]
        if alike:
            kept.append(max(alike, key=lambda e: (e[1][0] or 0.0, -e[0])))
    return tuple(sorted(kept))


def _add(one: float | None, two: float | None) -> float | None:
    return None if one is None or two is None else one + two
