"""What can flow through a bus, switch, relay or diode: the least of what may come from one side and leave by the other.

What may come is the let-through of that side, a maximum flow over all sources.  What may leave is the sum of the
ratings of the devices behind which something is, of the loads that no device stands before, and, where a battery is,
of what charges it.  What joins without a device is one region, looked at as a whole.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

from linter.study.cases import draws_a
from linter.study.letthrough import LetThrough
from linter.study.net import Decomposition, Net

# More feeds on one bus than this are not tried in every combination; the sum of all is taken.
GREATEST_FEEDS = 12


@dataclass(slots=True)
class _Ways:
    """Current in A that can come in and go out over some branches.  Unlimited ones are counted, not added up, so
    that a branch can be taken away again."""

    into_a: float = 0.0
    out_a: float = 0.0
    into_unlimited: int = 0
    out_unlimited: int = 0
    # batteries that no device stands before, and what charges them
    batteries: int = 0
    charge_a: float = 0.0

    @classmethod
    def of(cls, into: float, out: float) -> _Ways:
        made = cls()
        if into == math.inf:
            made.into_unlimited = 1
        else:
            made.into_a = into
        if out == math.inf:
            made.out_unlimited = 1
        else:
            made.out_a = out
        return made

    def add(self, other: _Ways, sign: int = 1) -> None:
        self.into_a += sign * other.into_a
        self.out_a += sign * other.out_a
        self.into_unlimited += sign * other.into_unlimited
        self.out_unlimited += sign * other.out_unlimited
        self.batteries += sign * other.batteries
        self.charge_a = max(self.charge_a, other.charge_a)

    @property
    def into(self) -> float:
        return math.inf if self.into_unlimited else self.into_a

    @property
    def out_around(self) -> float:
        """What leaves, loads that a battery here feeds included: between the two it may go around."""
        return math.inf if self.out_unlimited else self.out_a + (self.charge_a if self.batteries else 0.0)

    @property
    def out(self) -> float:
        """What leaves: where a battery is, it feeds what is there itself, and only a charge comes from outside."""
        if self.batteries:
            return self.charge_a
        return math.inf if self.out_unlimited else self.out_a


def through_currents(net: Net, parts: Decomposition, flows: LetThrough) -> tuple[dict[int, float], dict[int, float]]:
    """(by edge, by node): the greatest current in A that can flow through each switch-like edge and each bus.

    Infinite where nothing limits it.  Linear: one walk over each region.
    """
    regions = _Regions(net, parts, flows)
    for start in range(len(net.circuit.nodes)):
        if not regions.done[start] and parts.block_of[start] >= 0:
            regions.walk(start)
    return regions.by_edge, regions.by_node


class _Regions:
    def __init__(self, net: Net, parts: Decomposition, flows: LetThrough) -> None:
        self.net, self.parts, self.flows = net, parts, flows
        self.by_edge: dict[int, float] = {}
        self.by_node: dict[int, float] = {}
        self.done = bytearray(len(net.circuit.nodes))
        # what a battery can take: all that the charging sources give that anything joins it to
        self.piece = net.circuit.pieces()
        self.charging_a: dict[int, float] = {}
        for node in net.circuit.nodes:
            if node.source is not None and not node.source.is_battery:
                piece = self.piece[node.index]
                self.charging_a[piece] = self.charging_a.get(piece, 0.0) + (node.source.rated_a or 0.0)
        # the edges of selectors that close one position at a time: none carries current to another
        self.one_at_a_time = {e for _, positions in net.circuit.excluding() for edges in positions for e in edges}

    def walk(self, start: int) -> None:
        """One region: sums of its branches from the leaves inwards, then each edge by its two sides; what lies in a
        ring is taken to carry what the whole region can."""
        net, circuit = self.net, self.net.circuit
        order, parent, ring = self._spanned(start)
        below: dict[int, _Ways] = {}
        for node in reversed(order):
            ways = below.setdefault(node, _Ways())
            for own in self._own(node, parent):
                ways.add(own)
            if parent[node] >= 0:
                below.setdefault(net.other(parent[node], node), _Ways()).add(ways)
        total = below[start]
        whole = min(total.into, total.out_around)
        branches: dict[int, list[tuple[int, _Ways]]] = {}
        for node in order[1:]:
            edge, inner, outer = parent[node], below[node], _Ways()
            outer.add(total)
            outer.add(inner, -1)
            if edge not in ring:
                self._edge(edge, node, inner, outer)
            branches.setdefault(node, []).append((edge, outer))
            branches.setdefault(net.other(edge, node), []).append((edge, inner))
        for edge in ring:
            if self._counts(edge):
                self.by_edge[edge] = whole
        for node in order:
            if circuit.nodes[node].kind not in {"bus", "selector"}:
                continue
            here, devices = branches.get(node, []), self._devices(node, parent)
            in_ring = any(e in ring for e in circuit.nodes[node].edges)
            if not in_ring and any(e in self.one_at_a_time for e, _ in here):
                self._selector(node, here, devices)
                continue
            split = whole if in_ring else _best_split([w for _, w in here] + devices)
            self.by_node[node] = min(split, self._supply(node)) if split else 0.0

    def _supply(self, node: int) -> float:
        """What can come to a node at all, A; along the trees it is known already."""
        known = self.flows.into_node.get(node)
        return known.amps if known is not None else self.flows.supply(node, frozenset())

    def _spanned(self, start: int) -> tuple[list[int], dict[int, int], set[int]]:
        """A region's nodes from ``start`` outwards, the edge by which each was reached, and the edges that lie in
        rings: those not in the tree, and for each of them the two ways in the tree to where they meet."""
        net = self.net
        order, parent, depth = [start], {start: -1}, {start: 0}
        self.done[start] = 1
        beside: list[int] = []
        for node in order:
            for edge in net.circuit.nodes[node].edges:
                if net.is_device[edge] or edge == parent[node]:
                    continue
                other = net.other(edge, node)
                if other in parent:
                    beside.append(edge)
                    continue
                parent[other], depth[other] = edge, depth[node] + 1
                self.done[other] = 1
                order.append(other)
        ring: set[int] = set()
        # a node leads to the highest one that rings known so far join it to, so that no way is walked twice
        joined: dict[int, int] = {}

        def top(node: int) -> int:
            path = []
            while node in joined:
                path.append(node)
                node = joined[node]
            for passed in path:
                joined[passed] = node
            return node

        for edge in beside:
            if net.u[edge] == net.v[edge]:
                continue
            ring.add(edge)
            a, b = top(net.u[edge]), top(net.v[edge])
            while a != b:
                if depth[a] < depth[b]:
                    a, b = b, a
                ring.add(parent[a])
                above = net.other(parent[a], a)
                joined[a] = above
                a = top(above)
        return order, parent, ring

    def _selector(self, node: int, branches: list[tuple[int, _Ways]], devices: list[_Ways]) -> None:
        """The common terminal of a selector: each position by itself, against all that is on the common side."""
        common = _Ways()
        for ways in (*(w for e, w in branches if e not in self.one_at_a_time), *devices):
            common.add(ways)
        found = 0.0
        for edge, ways in branches:
            if edge in self.one_at_a_time:
                reach = self.flows.into_u[edge] if self.net.v[edge] == node else self.flows.into_v[edge]
                here = max(min(reach.amps, common.out), min(common.into, ways.out))
                self.by_edge[edge] = here
                found = max(found, here)
        self.by_node[node] = found

    def _counts(self, edge: int) -> bool:
        return not self.net.is_device[edge] and self.net.circuit.edges[edge].kind not in {"conductor", "link"}

    def _edge(self, edge: int, inner_node: int, inner: _Ways, outer: _Ways) -> None:
        """Through one switch, relay, selector or diode: the worse of its two directions, a diode's only one."""
        if not self._counts(edge):
            return
        inwards = self.net.v[edge] == inner_node
        at_outer, at_inner = self.flows.into_u[edge], self.flows.into_v[edge]
        if not inwards:
            at_outer, at_inner = at_inner, at_outer
        found = 0.0
        if not self.net.circuit.edges[edge].one_way or inwards:
            found = min(at_outer.amps, inner.out)
        if not self.net.circuit.edges[edge].one_way or not inwards:
            found = max(found, min(at_inner.amps, outer.out))
        self.by_edge[edge] = found

    def _own(self, node: int, region: dict[int, int]) -> list[_Ways]:
        made = self.net.circuit.nodes[node]
        found = self._devices(node, region)
        if made.source is not None:
            ways = _Ways.of(made.source.limit_a, 0.0)
            if made.source.is_battery:
                ways.batteries, ways.charge_a = 1, self.charging_a.get(self.piece[node], 0.0)
            found.append(ways)
        if made.load is not None:
            found.append(_Ways.of(0.0, draws_a(made.load, made) or 0.0))
        return found

    def _devices(self, node: int, region: dict[int, int]) -> list[_Ways]:
        """One pair for each device that leads out of the region at ``node``."""
        net, found = self.net, []
        for edge in net.circuit.nodes[node].edges:
            if not net.is_device[edge]:
                continue
            other = net.other(edge, node)
            if other in region:
                continue
            rating = net.forward[edge]
            beyond = net.circuit.nodes[other]
            empty = len(beyond.edges) == 1 and beyond.load is None and beyond.source is None
            out = 0.0 if empty else rating
            leads_to = self.parts.leads_to[edge]
            if leads_to == other:
                found.append(_Ways.of(0.0, out))
                continue
            far = self.flows.into_u[edge] if net.u[edge] == other else self.flows.into_v[edge]
            found.append(_Ways.of(min(rating, far.amps), 0.0 if leads_to == node else out))
        return found


def _best_split(ways: list[_Ways]) -> float:
    """The most that can flow from some branches to the others: each brings or takes, not both."""
    feeds = [w for w in ways if w.into > 0]
    rest = sum(w.out for w in ways if w.into <= 0)
    if not feeds:
        return 0.0
    if len(feeds) > GREATEST_FEEDS:
        return min(sum(w.into for w in feeds), rest + sum(w.out for w in feeds))
    # what comes in and goes out, for each choice of feeds that bring
    sums = [(0.0, rest)]
    for feed in feeds:
        into, out = feed.into, feed.out
        sums = [*((i, o + out) for i, o in sums), *((i + into, o) for i, o in sums)]
    return max(min(i, o) for i, o in sums)
