"""The unprotected stretch: a conductor with too large a let-through, from its supply point to the device that guards
what follows.

It is allowed if every way on from its far end comes to a device, if those devices together are rated no more than the
conductor is allowed, and if along the conductor each of them is near enough to the supply point.
"""

from __future__ import annotations

import heapq
import math
from collections.abc import Callable
from dataclasses import dataclass

from linter.study.letthrough import LetThrough
from linter.study.net import Net
from linter.tables.rulebook import DistanceRow, Rulebook, Tied

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
    """An exposed conductor's stretch.  ``problem`` says why no device at its end guards it; then there are none."""

    problem: str
    # a node or edge that the problem is about, -1 for none
    at_node: int = -1
    supply_node: int = -1
    tied: Tied = "any"
    devices: tuple[EndDevice, ...] = ()
    # sum of the ratings at the end, A
    sum_a: float = 0.0


class Stretches:
    """Examines exposed conductors one by one."""

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

    def of(self, edge: int, allowed_a: float) -> Stretch:
        net, flows = self._net, self._flows
        limit_a = allowed_a * (1 + 1e-9)
        from_u, from_v = flows.into_u[edge].amps > limit_a, flows.into_v[edge].amps > limit_a
        if from_u and from_v:
            return Stretch("too much can come from both of its ends")
        near, far = (net.u[edge], net.v[edge]) if from_u else (net.v[edge], net.u[edge])
        ends = self._ahead(edge, far, limit_a)
        if isinstance(ends, Stretch):
            return ends
        sum_a = sum(net.forward[d] for d in ends)
        back = self._back(edge, near, limit_a)
        node, (up_m, up_covered), tied = back
        own_m, own_covered = self._length(edge), self._covered(edge)
        devices = []
        for device, (down_m, down_covered) in sorted(ends.items()):
            covered = up_covered and own_covered and down_covered
            total = _add(_add(up_m, own_m), down_m)
            row, book = self._limit(tied, covered)
            devices.append(EndDevice(device, total, covered, row, book))
        return Stretch("", supply_node=node, tied=tied, devices=tuple(devices), sum_a=sum_a)

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

    def _length(self, edge: int) -> float | None:
        if self._net.circuit.edges[edge].kind != "conductor":
            return 0.0
        return self._net.circuit.edges[edge].conductor.length_m

    def _covered(self, edge: int) -> bool:
        made = self._net.circuit.edges[edge]
        return made.kind != "conductor" or made.conductor.covered

    def _ahead(self, edge: int, far: int, limit_a: float) -> Stretch | dict[int, tuple[float | None, bool]]:
        """The devices at which the ways on from the far end stop, with the shortest way to each; or why it is no
        stretch: a way that ends elsewhere, or devices that together are too large."""
        net = self._net
        nodes = net.circuit.nodes
        ends: dict[int, tuple[float | None, bool]] = {}
        crossing: dict[int, int] = {}
        for node, way in self._walk(edge, far, lambda e, at: self._leaves(e, at) and not net.is_device[e]):
            element = nodes[node]
            if element.load is not None or element.source is not None:
                return Stretch("leads to {node} with no device on the way", at_node=node)
            if len(element.edges) == 1:
                return Stretch("ends at {node}, where nothing is", at_node=node)
            for device in element.edges:
                if net.is_device[device]:
                    if device in crossing:
                        # both of its ends are in the stretch: it is bridged, and guards nothing
                        ends.pop(device, None)
                    else:
                        crossing[device] = node
                        ends[device] = way
        for device in list(ends):
            beyond = nodes[net.other(device, crossing[device])]
            if len(beyond.edges) == 1 and beyond.load is None and beyond.source is None:
                del ends[device]
        if not ends:
            return Stretch("comes to no device that guards it", at_node=far)
        sum_a = sum(net.forward[d] for d in ends)
        if sum_a > limit_a:
            return Stretch("ends in devices that together are too large for it", at_node=far, sum_a=sum_a)
        return ends

    def _leaves(self, edge: int, node: int) -> bool:
        """Whether current can leave a node by an edge."""
        return (self._net.forward if self._net.u[edge] == node else self._net.backward)[edge] > 0

    def _arrives(self, edge: int, node: int) -> bool:
        """Whether current can come to a node by an edge."""
        return (self._net.backward if self._net.u[edge] == node else self._net.forward)[edge] > 0

    def _back(self, edge: int, near: int, limit_a: float) -> tuple[int, tuple[float | None, bool], Tied]:
        """The supply point: the nearest node, back along what is exposed, that would still supply too much if the
        exposed conductors on the way were not there."""
        ways = dict(
            self._walk(
                edge,
                near,
                lambda e, at: self._arrives(e, at) and not self._net.is_device[e] and self._passable(e),
            )
        )
        net = self._net
        between = {edge}
        for node in ways:
            for e in net.circuit.nodes[node].edges:
                if e in self._exposed and net.u[e] in ways and net.v[e] in ways:
                    between.add(e)
        removed = frozenset(between)
        supplies = {node: self._flows.supply(node, removed) for node in ways}
        chosen = [n for n, amps in supplies.items() if amps > limit_a] or [n for n, a in supplies.items() if a > 0]
        node = min(chosen or [near], key=lambda n: (math.inf if ways[n][0] is None else ways[n][0], n))
        source = net.circuit.nodes[node].source
        tied: Tied = "any"
        if source is not None:
            tied = "battery" if source.is_battery else "charging"
        return node, ways[node], tied

    def _walk(self, without: int, start: int, follows: Callable[[int, int], bool]):  # type: ignore[no-untyped-def]
        """Nodes in order of distance from ``start``, each with (metres or None, whether all of the way is covered).

        A way whose length is not known counts as infinitely long while a known one is looked for.
        """
        net = self._net
        best: dict[int, float] = {}
        waiting: list[tuple[float, int, bool, bool]] = [(0.0, start, True, True)]
        while waiting:
            length, node, covered, known = heapq.heappop(waiting)
            if node in best:
                continue
            best[node] = length
            yield node, (length if known else None, covered)
            for edge in net.circuit.nodes[node].edges:
                if edge == without or not follows(edge, node):
                    continue
                other = net.other(edge, node)
                if other not in best:
                    metres = self._length(edge)
                    far = length + (1e6 if metres is None else metres)
                    heapq.heappush(waiting, (far, other, covered and self._covered(edge), known and metres is not None))


def _add(one: float | None, two: float | None) -> float | None:
    return None if one is None or two is None else one + two
