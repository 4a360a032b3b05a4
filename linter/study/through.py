"""What can flow through a bus, switch, relay, selector or diode: the least of what may come from one side and leave by
the other.

What may come is a maximum flow over all sources, with the element taken out.  What may leave one side is the sum of
the ratings of the devices by which one comes to a load or a source, and of the loads that no device stands before; but
where a battery is on that side without a device between, only what charges it (and what that battery cannot feed).

An element that is a bridge has two sides.  One in a ring has the two sides that it gets when the ring is opened: every
way to open it is looked at, the worst counts.  So it is with selectors: the worst of the positions they allow.
"""

from __future__ import annotations

import math
from dataclasses import dataclass, field

from linter.model.elements import Element
from linter.study.leaving import Leaving, Out
from linter.study.letthrough import LetThrough
from linter.study.net import Decomposition, Net
from linter.study.ring import Mesh, Split, TooMuch, rings_of

# Choices of which branches of a bus feed it and which take, beyond which the sums of all are taken.
GREATEST_CHOICES = 4096
# Nodes and branches that may be come to in rings, and beside selectors and diodes, before only bounds are taken: some
# five seconds of reckoning, for which it takes large meshes in which much has too small a rating.
GREATEST_WORK = 3_000_000
_NONE: frozenset[int] = frozenset()
_KINDS = {"switch", "relay", "selector", "diode"}


def through_currents(net: Net, parts: Decomposition, flows: LetThrough) -> tuple[dict[int, float], dict[int, float]]:
    """(by edge, by node): the greatest current in A that can flow through each switch-like edge and each bus; infinite
    where nothing limits it.

    Linear along trees.  In a ring a figure within the rating may be more than can flow; beside selectors and diodes
    there are figures only for what has a rating.  Where a mesh or a bus can be looked at in too many ways its figure
    is at most too large, and the element is named in ``flows.bounded``.
    """
    study = _Through(net, parts, flows)
    circuit = net.circuit
    seen = bytearray(len(circuit.nodes))
    for start in range(len(circuit.nodes)):
        if seen[start] or parts.block_of[start] < 0:
            continue
        region = [start]
        seen[start] = 1
        for node in region:
            for edge in circuit.nodes[node].edges:
                other = net.other(edge, node)
                if not net.is_device[edge] and not seen[other]:
                    seen[other] = 1
                    region.append(other)
        study.region(region)
    return study.by_edge, study.by_node


@dataclass(slots=True)
class _Region:
    """What joins without a device, while some of its selectors' edges are open."""

    opened: frozenset[int]
    # the edges of selectors that close one position at a time, those in rings with it too
    among: frozenset[int]
    # whether something in it leads one way only
    one_way: bool
    # by bridge: what goes out on its u's and on its v's side, as if everything led both ways
    sides: dict[int, tuple[Out, Out]]
    meshes: dict[int, Mesh] = field(default_factory=dict)


class _Through:
    def __init__(self, net: Net, parts: Decomposition, flows: LetThrough) -> None:
        self.net, self.parts, self.flows = net, parts, flows
        self.by_edge: dict[int, float] = {}
        self.by_node: dict[int, float] = {}
        self.rings = rings_of(net)
        self.leaving = Leaving(net, self.rings, GREATEST_WORK)
        # the edges of selectors that close one position at a time, and those that are open while one of them is closed
        self.others: dict[int, frozenset[int]] = {}
        for _, positions in net.circuit.excluding():
            every = frozenset(e for edges in positions for e in edges)
            self.others |= {e: every - frozenset(edges) for edges in positions for e in edges}
        # by ring: such edges in it
        self.turning: dict[int, set[int]] = {}
        for edge in self.others:
            if not self.rings.is_bridge[edge]:
                self.turning.setdefault(self.rings.piece_of[net.u[edge]], set()).add(edge)

    # ---- regions

    def region(self, nodes: list[int]) -> None:
        """All that has a rating in what joins without a device."""
        net, circuit = self.net, self.net.circuit
        edges = [e for n in nodes for e in circuit.nodes[n].edges if net.u[e] == n and not net.is_device[e]]
        pieces = {self.rings.piece_of[n] for n in nodes} if self.turning else ()
        selecting = frozenset(e for e in edges if e in self.others).union(*(self.turning.get(p, ()) for p in pieces))
        one_way = any(circuit.edges[e].one_way for e in edges)
        counted = [e for e in edges if circuit.edges[e].kind in _KINDS and net.u[e] != net.v[e]]
        buses = [n for n in nodes if circuit.nodes[n].kind in {"bus", "selector"}]
        if selecting or one_way:
            # where it is much work, only what has a rating
            counted = [e for e in counted if _rated_a(circuit.edges[e].element) < math.inf]
            buses = [n for n in buses if _rated_a(circuit.nodes[n].element) < math.inf]
        if not counted and not buses:
            return
        most = self.leaving.most(nodes)
        among = _NONE if net.joined_configurations else selecting
        choices = list(dict.fromkeys(c & among for c in net.configurations))
        if len(choices) > 1 and len(choices) * len(nodes) > GREATEST_WORK // 4:
            self.flows.joined, among, choices = True, _NONE, [_NONE]
        for opened in choices:
            region = _Region(opened, among, one_way, self.leaving.sides(nodes, opened))
            for edge in counted:
                if edge not in opened:
                    _keep(self.by_edge, edge, self._edge(region, edge, most))
            for bus in buses:
                if not any(e in self.others for e in circuit.nodes[bus].edges):
                    _keep(self.by_node, bus, self._bus(region, bus, most))
        for bus in buses:
            # the common terminal of a selector carries what one position does
            mine = [self.by_edge.get(e, 0.0) for e in circuit.nodes[bus].edges if e in self.others]
            if mine:
                self.by_node[bus] = max(self.by_node.get(bus, 0.0), *mine)

    # ---- one element

    def _edge(self, region: _Region, edge: int, most: float) -> float:
        """Through one switch, relay, selector or diode: the worse of its two directions, a diode's only one."""
        element = self.net.circuit.edges[edge].element
        known = region.sides.get(edge)
        if known is not None and not region.one_way:
            most = min(most, max(side.most for side in known))
        bound = min(max(self.flows.into_u[edge].amps, self.flows.into_v[edge].amps), most)
        plain = known is not None and not (region.one_way or region.opened or self.others.get(edge))
        if bound <= _rated_a(element) and not plain:
            return bound
        try:
            return self._through(region, edge)
        except TooMuch as problem:
            self.leaving.left -= problem.work
            self.flows.bounded.add(element.name)
            return bound

    def _through(self, region: _Region, edge: int) -> float:
        net = self.net
        u, v = net.u[edge], net.v[edge]
        ends = [(u, v)] if net.circuit.edges[edge].one_way else [(u, v), (v, u)]
        # with too many selectors to choose their positions, at least this one has no other closed
        opened = region.opened
        if edge in self.others and not region.among:
            opened |= self.others[edge]
        if self.rings.is_bridge[edge]:
            return max(self._passes(region, edge, a, b, opened) for a, b in ends)
        found = 0.0
        mesh = self._mesh(region, edge, opened)
        for way in mesh.openings(edge):
            self.leaving.spend(len(mesh.chains))
            if (way.a, way.b) in ends:
                takes = self.leaving.takes([way.b], opened | way.cut | {edge})
                if takes > found:
                    found = max(found, min(takes, self._supply(region, way.a, way.cut | {edge} | opened)))
        return found

    def _supply(self, region: _Region, node: int, removed: frozenset[int]) -> float:
        before = self.flows.visited
        found = self.flows.supply(node, removed, region.opened, region.among)
        self.leaving.spend(self.flows.visited - before)
        return found

    def _mesh(self, region: _Region, edge: int, opened: frozenset[int]) -> Mesh:
        piece = self.rings.piece_of[self.net.u[edge]]
        if opened is not region.opened:
            self.leaving.spend(len(self.rings.members[piece]))
            return Mesh(self.net, self.rings, piece, opened)
        if piece not in region.meshes:
            region.meshes[piece] = Mesh(self.net, self.rings, piece, opened)
        return region.meshes[piece]

    def _passes(self, region: _Region, edge: int, a: int, b: int, opened: frozenset[int]) -> float:
        """Through a bridge from ``a`` to ``b``."""
        known = region.sides.get(edge) if opened is region.opened and not region.one_way else None
        takes = known[self.net.v[edge] == b].out if known is not None else self.leaving.takes([b], opened | {edge})
        return min(takes, self._comes(region, edge, a, opened)) if takes else 0.0

    def _comes(self, region: _Region, bridge: int, end: int, opened: frozenset[int]) -> float:
        """What comes to the end of a bridge without it."""
        flows = self.flows
        known = (flows.into_u[bridge] if self.net.u[bridge] == end else flows.into_v[bridge]).amps
        if not known or not (opened or region.among):
            return known
        return self._supply(region, end, opened | {bridge})

    # ---- buses

    def _bus(self, region: _Region, bus: int, most: float) -> float:
        """Through a bus: the most that some of its branches bring and the others take."""
        net, rings, element = self.net, self.rings, self.net.circuit.nodes[bus].element
        assert element is not None
        mine = [e for e in net.circuit.nodes[bus].edges if e not in region.opened and net.u[e] != net.v[e]]
        branches = [e for e in mine if rings.is_bridge[e]]
        bound = math.inf
        if len(branches) < len(mine) or region.one_way or region.opened:
            bound = min(self.flows.supply(bus, _NONE), most)
            if bound <= _rated_a(element):
                return bound
        try:
            choices = [[(self._brings(region, e, bus), 0.0), (0.0, self._taken(region, e, bus))] for e in branches]
            if len(branches) < len(mine):
                self.leaving.spend(0)
                mesh = self._mesh(region, next(e for e in mine if not rings.is_bridge[e]), region.opened)
                for splits in mesh.splits(bus):
                    choices.append([self._split(region, bus, mine, split) for split in splits])
        except TooMuch as problem:
            self.leaving.left -= problem.work
            self.flows.bounded.add(element.name)
            return bound
        found = _best(choices)
        if found is None:
            self.flows.bounded.add(element.name)
            brought, taken = (sum(max(c[side] for c in choice) for choice in choices) for side in (0, 1))
            found = min(bound, brought, taken)
        return found

    def _brings(self, region: _Region, branch: int, bus: int) -> float:
        net = self.net
        toward = net.forward[branch] if net.v[branch] == bus else net.backward[branch]
        return min(toward, self._comes(region, branch, net.other(branch, bus), region.opened)) if toward else 0.0

    def _taken(self, region: _Region, branch: int, bus: int) -> float:
        net, other = self.net, self.net.other(branch, bus)
        away = net.forward[branch] if net.u[branch] == bus else net.backward[branch]
        if net.is_device[branch]:
            return away if self.leaving.leads_on(branch, other, (bus,), region.opened) else 0.0
        if not away:
            return 0.0
        known = None if region.one_way else region.sides.get(branch)
        return known[net.v[branch] == other].out if known else self.leaving.takes([other], region.opened | {branch})

    def _split(self, region: _Region, bus: int, mine: list[int], split: Split) -> tuple[float, float]:
        """What part of a ring brings by some of its edges at a bus, and takes by others."""
        net = self.net
        opened = region.opened | split.cut | frozenset(mine)
        away = [e for e in split.taking if (net.forward[e] if net.u[e] == bus else net.backward[e])]
        starts = [net.other(e, bus) for e in away if not net.is_device[e]]
        takes = self.leaving.takes(starts, opened)
        beside = self.leaving.reached(starts, opened) | {bus}
        for edge in away:
            other = net.other(edge, bus)
            if net.is_device[edge] and other not in beside and self.leaving.leads_on(edge, other, beside, opened):
                takes += net.forward[edge]
        if not split.feeding:
            return 0.0, takes
        removed = split.cut | (frozenset(mine) - split.feeding)
        return self._supply(region, bus, removed | region.opened), takes


def _rated_a(element: Element | None) -> float:
    """What an element is rated for, A; infinite where nobody said."""
    rated: float | None = getattr(element, "rated_a", None)
    return math.inf if rated is None else rated


def _keep(kept: dict[int, float], key: int, amps: float) -> None:
    kept[key] = max(amps, kept.get(key, 0.0))


def _best(choices: list[list[tuple[float, float]]]) -> float | None:
    """The most that can flow from some branches to the others, one choice of what it brings and takes for each; None
    where there are too many to choose from."""
    sums = [(0.0, 0.0)]
    for choice in choices:
        tried = sorted({(i + more, o + out) for i, o in sums for more, out in choice}, reverse=True)
        # only what brings less and takes more than all before it is of use
        sums, takes = [], -1.0
        for brings, out in tried:
            if out > takes:
                sums.append((brings, out))
                takes = out
        if len(sums) > GREATEST_CHOICES:
            return None
    return max(min(i, o) for i, o in sums)
