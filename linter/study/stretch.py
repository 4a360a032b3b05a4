"""The unprotected stretch: a conductor with too large a let-through, from its supply point to the device that guards
what follows.

It is allowed if every way on from its far end comes to a device, if those devices together are rated no more than the
conductor is allowed, and if along the conductor each of them is near enough to the supply point.
"""

from __future__ import annotations

import heapq
import math
from collections.abc import Callable, Iterator
from dataclasses import dataclass, replace

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
    """The node to which the way back leads through a tree, and that way.  There it ``ends``, or a search through a
    block goes on, which leaves out the edge ``without`` (-1: none)."""

    node: int
    way: Way = (0.0, True)
    without: int = -1
    ends: bool = False


# An edge as a search meets it: its index, the node beyond, metres, covered, whether its length is known.
_Step = tuple[int, int, float, bool, bool]


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
        self._passable = passable
        self._beyond: dict[int, _Ahead] = {}
        self._above: dict[int, _Back] = {}
        # by node, the steps back from it (True) and ahead from it (False)
        self._steps: dict[bool, dict[int, list[_Step]]] = {True: {}, False: {}}
        # by the exposed conductors taken out and by node, what still comes there, A
        self._supplied: dict[frozenset[int], dict[int, float]] = {}
        self._between: dict[int, frozenset[int]] = {}
        self._exposed_at: dict[int, list[int]] = {}
        for edge in sorted(exposed):
            for node in (net.u[edge], net.v[edge]):
                self._exposed_at.setdefault(node, []).append(edge)

    def of(self, edge: int, allowed_a: float) -> Stretch:
        net, flows = self._net, self._flows
        limit_a = allowed_a * (1 + 1e-9)
        from_u, from_v = flows.into_u[edge].amps > limit_a, flows.into_v[edge].amps > limit_a
        if from_u and from_v:
            return Stretch("is fed more than that from both of its ends")
        near, far = (net.u[edge], net.v[edge]) if from_u else (net.v[edge], net.u[edge])
        outwards = flows.parts.leads_to[edge] == far
        ahead = self._tree_ahead(far) if outwards else self._search_ahead(edge, far)
        back = self._tree_back(near) if outwards else _Back(near, without=edge)
        node, (up_m, up_covered) = self._nearest(back, limit_a, near)
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
        for node, way in self._walk(edge, far, back=False):
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
        # a selector's terminal that is not wired is a spare way: nothing ends there
        if len(made.edges) == 1 and made.kind != "selector terminal":
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
                self._above[node] = _Back(node)
            elif net.is_device[bridge] or not self._passable(bridge):
                self._above[node] = _Back(node, ends=True)
            else:
                path.append(node)
                node = net.other(bridge, node)
        for node in reversed(path):
            bridge = parts.bridge_to[node]
            above = self._above[net.other(bridge, node)]
            self._above[node] = replace(above, way=self._after(above.way, bridge))
        return self._above[start]

    def _after(self, way: Way, edge: int) -> Way:
        return _add(way[0], self._length(edge)), way[1] and self._covered(edge)

    def _nearest(self, back: _Back, limit_a: float, otherwise: int) -> tuple[int, Way]:
        """The supply point: of the nodes back along what is exposed the nearest that would supply too much if the
        exposed conductors between were not there; if none does by itself, the nearest that supplies anything.

        Nodes come in order of distance, and only as many are asked as the answer needs.
        """
        if back.ends:
            return back.node, back.way
        removed = self._exposed_back(back)
        supplied = self._supplied.setdefault(removed, {})
        enough: tuple[tuple[float, int], Way] | None = None
        some: tuple[tuple[float, int], Way] | None = None
        for node, (metres, covered) in self._walk(back.without, back.node, back=True):
            way = _add(back.way[0], metres), back.way[1] and covered
            key = (math.inf if way[0] is None else way[0], node)
            if enough is not None and key >= enough[0]:
                if key[0] > enough[0][0]:
                    break
                continue
            if node not in supplied:
                supplied[node] = self._flows.supply(node, removed)
            if supplied[node] > limit_a:
                enough = key, way
            elif supplied[node] > 0 and (some is None or key < some[0]):
                some = key, way
        chosen = enough or some
        return (otherwise, (0.0, True)) if chosen is None else (chosen[0][1], chosen[1])

    def _exposed_back(self, back: _Back) -> frozenset[int]:
        """The exposed conductors between the nodes that the way back from a node may reach."""
        if back.without < 0 and back.node in self._between:
            return self._between[back.node]
        seen = {back.node}
        waiting = [back.node]
        for node in waiting:
            for edge, other, _, _, _ in self._steps_from(node, back=True):
                if other not in seen and edge != back.without:
                    seen.add(other)
                    waiting.append(other)
        u, v = self._net.u, self._net.v
        found = {e for node in seen for e in self._exposed_at.get(node, ()) if u[e] in seen and v[e] in seen}
        if back.without >= 0:
            return frozenset(found | {back.without})
        return self._between.setdefault(back.node, frozenset(found))

    def _brings(self, edge: int, node: int) -> bool:
        """Whether the way back from a node may follow an edge: current can come by it, and nothing on it opens."""
        if self._net.is_device[edge] or not self._arrives(edge, node) or not self._passable(edge):
            return False
        # a bridge that leads away from the sources brings nothing
        return self._flows.parts.leads_to[edge] in (-1, node)

    def _goes_on(self, edge: int, node: int) -> bool:
        """Whether the stretch goes on from a node by an edge: current can leave by it, and nothing on it opens."""
        return self._leaves(edge, node) and not self._net.is_device[edge]

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

    def _walk(self, without: int, start: int, back: bool) -> Iterator[tuple[int, Way]]:
        """Nodes in order of distance from ``start``, each with the way to it, ahead or back.

        A way whose length is not known counts as very long while a known one is looked for.
        """
        done: set[int] = set()
        waiting: list[tuple[float, int, bool, bool]] = [(0.0, start, True, True)]
        while waiting:
            length, node, covered, known = heapq.heappop(waiting)
            if node in done:
                continue
            done.add(node)
            yield node, (length if known else None, covered)
            for edge, other, metres, step_covered, step_known in self._steps_from(node, back):
                if other not in done and edge != without:
                    step = (length + metres, other, covered and step_covered, known and step_known)
                    heapq.heappush(waiting, step)

    def _steps_from(self, node: int, back: bool) -> list[_Step]:
        """The steps that a search may take from a node, ahead or back; worked out once."""
        steps = self._steps[back].get(node)
        if steps is None:
            steps = self._steps[back][node] = []
            follows = self._brings if back else self._goes_on
            for edge in self._net.circuit.nodes[node].edges:
                if follows(edge, node):
                    metres = self._length(edge)
                    far = VERY_LONG_M if metres is None else metres
                    steps.append((edge, self._net.other(edge, node), far, self._covered(edge), metres is not None))
        return steps


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
