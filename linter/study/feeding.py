"""What feeds a fault while some edges are open: the core, and the bridges and rings between it and the fault, each
solved once for all that is asked of it."""

from __future__ import annotations

import math
from collections.abc import Iterable
from dataclasses import dataclass, field, replace

from linter.study.impedance import NIL_OHM
from linter.study.mesh import LEAST_A, Feed, Mesh, State
from linter.study.net import Block, Net
from linter.study.prospective import Faults

# A bolted fault as a branch of a mesh.
SHORT_OHM = 1e-10
Cut = frozenset[int]


@dataclass(slots=True)
class Feeding:
    """A mesh as it feeds one of its nodes: volts behind ohm; by edge the current without a fault, and for each ampere
    into it.  ``held``: by a source that does not limit itself."""

    volts: float
    ohm: float
    flows: dict[int, tuple[float, float]]
    held: bool = True
    # only behind so much resistance, as one-way elements stand then
    bent: bool = False
    # of the devices among them, by what is asked first
    _devices: list[tuple[int, float, float]] | None = None

    def devices(self, net: Net) -> list[tuple[int, float, float]]:
        """(edge, A without a fault, A for each ampere into it) of the devices that carry anything."""
        if self._devices is None:
            self._devices = [(e, *flow) for e, flow in self.flows.items() if net.is_device[e]]
        return self._devices


NOT_FED = Feeding(0.0, math.inf, {}, False)


@dataclass(slots=True)
class Way:
    """From a node to the core: the bridges, and the rings between with the node at which the current leaves them."""

    node: int
    core_node: int
    bridges: list[int] = field(default_factory=list)
    rings: list[tuple[Block, int]] = field(default_factory=list)


@dataclass(slots=True)
class Standing:
    """What lies on the way to a fault while some edges are open: bridges, and rings if they have no one-way elements
    (``whole``).  ``parted``: one of the bridges is open.  ``core``: as it feeds the way, where that does not hang on
    the resistance of the fault."""

    bridges_ohm: list[float] = field(default_factory=list)
    drop_v: float = 0.0
    rings: list[Feeding] = field(default_factory=list)
    rings_ohm: float = 0.0
    core: Feeding | None = None
    parted: bool = False
    whole: bool = False


def way_to(faults: Faults, node: int) -> Way | None:
    """How current comes to a node; None if it does not."""
    if node not in faults.points:
        return None
    net, parts = faults.net, faults.parts
    way = Way(node, node)
    while parts.block_of[node] != 0:
        block = parts.blocks[parts.block_of[node]]
        if node != block.entry:
            way.rings.append((block, node))
            node = block.entry
        bridge = parts.bridge_to[node]
        way.bridges.append(bridge)
        node = net.other(bridge, node)
    way.core_node = node
    return way


def flowing(fault_a: float, meshes: Iterable[Feeding]) -> dict[int, float]:
    """By edge of some meshes: what flows, A."""
    amps: dict[int, float] = {}
    for mesh in meshes:
        for edge, (still, share) in mesh.flows.items():
            flow = abs(still + share * fault_a)
            if flow > LEAST_A:
                amps[edge] = flow
    return amps


def flowing_in(edges: Iterable[int], fault_a: float, meshes: Iterable[Feeding]) -> dict[int, float]:
    """The same of a few edges."""
    amps: dict[int, float] = {}
    for edge in edges:
        for mesh in meshes:
            if edge in mesh.flows:
                still, share = mesh.flows[edge]
                flow = abs(still + share * fault_a)
                if flow > LEAST_A:
                    amps[edge] = flow
    return amps


class Unsettled(Exception):
    """One-way elements found no steady state."""


class Case:
    """The sources and resistances of one question."""

    def __init__(self, faults: Faults, way: Way, sources: tuple[int, ...], largest: bool) -> None:
        self.faults, self.net, self.way, self.largest = faults, faults.net, way, largest
        self.piece = faults.piece_of[way.core_node]
        self._at: dict[Cut, Standing] = {}
        key = ("sources", sources, self.piece.nodes[0])
        known: tuple[int, ...] | None = faults.solved.get(key)
        if known is None:
            given = set(sources)
            known = tuple(n for n in self.piece.nodes if n in given and n in faults.pairs)
            faults.solved[key] = known
        self.sources = known
        self.pairs = {n: faults.pairs[n][0 if largest else 1] for n in known}

    def ohm(self, edge: int) -> float:
        known = self.faults.edges[edge]
        return known.least_ohm if self.largest else known.greatest_ohm

    def unknown(self, opened: Cut) -> bool:
        """Whether a figure is missing without which the current from some source cannot be told."""
        way = self.way
        if any(self.ohm(e) == math.inf for e in (*way.bridges, *(e for ring, _ in way.rings for e in ring.edges))):
            return True
        inside = opened.intersection(self.piece.edges)
        key = ("unknown", way.core_node, self.sources, inside, self.largest)
        known: bool | None = self.faults.solved.get(key)
        if known is None:
            measured = self._reaching(inside)
            known = any(
                self.pairs[n].unknown or n not in measured for n in self._reaching(inside, True) if self._firm(n)
            )
            self.faults.solved[key] = known
        return known

    def _firm(self, node: int) -> bool:
        pair = self.pairs.get(node)
        return pair is not None and pair.limit_a == math.inf

    def _reaching(self, cut: Cut, unmeasured: bool = False) -> set[int]:
        """The nodes of the core from which current can come to where it leaves the core; ``unmeasured``: also over what
        nobody knows the resistance of."""
        key = ("reaching", self.way.core_node, cut, unmeasured, self.largest)
        known: set[int] | None = self.faults.solved.get(key)
        if known is None:
            known = self._upstream(self.way.core_node, self.piece.edges, cut, unmeasured)
            self.faults.solved[key] = known
        return known

    def _upstream(self, node: int, edges: list[int], cut: Cut, unmeasured: bool = True) -> set[int]:
        """The nodes from which current can come to a node over these edges."""
        net, made = self.net, self.net.circuit
        inside = set(edges)
        seen, waiting = {node}, [node]
        while waiting:
            at = waiting.pop()
            for edge in made.nodes[at].edges:
                other = net.other(edge, at)
                if other in seen or edge not in inside or edge in cut:
                    continue
                if made.edges[edge].one_way and net.v[edge] != at:
                    continue
                if unmeasured or self.ohm(edge) < math.inf:
                    seen.add(other)
                    waiting.append(other)
        return seen

    def remains_a(self, cut: Cut) -> float:
        """The most that sources which limit themselves can still give, A."""
        limited = [n for n, p in self.pairs.items() if p.limit_a < math.inf]
        if not limited or not cut.isdisjoint(self.way.bridges):
            return 0.0
        for ring, leaves in self.way.rings:
            if ring.entry not in self._upstream(leaves, ring.edges, cut):
                return 0.0
        reaching = self._reaching(cut, True)
        return sum(self.pairs[n].limit_a for n in limited if n in reaching)

    def step(self, cut: Cut, more_ohm: float) -> tuple[float, tuple[Feeding, ...]] | None:
        """The current into the fault, and the meshes in which it flows; None when no source feeds it but such as limit
        themselves."""
        known = self._at.get(cut)
        if known is None:
            known = self._at[cut] = self._standing_at(cut)
        if known.parted:
            return None
        if known.whole:
            return self._whole(cut, more_ohm)
        ohm = more_ohm
        for each in known.bridges_ohm:
            ohm += each
        ohm += known.rings_ohm
        if ohm == math.inf:
            return None
        drop_v, rings, core = known.drop_v, known.rings, known.core
        if core is None:
            core = self._core(self.way.core_node, cut, ohm, drop_v)
            if not core.bent:
                known.core = core
        if not core.held:
            return None
        fault_a = max(core.volts - drop_v, 0.0) / max(core.ohm + ohm, NIL_OHM)
        if fault_a <= LEAST_A:
            return None
        return fault_a, (core, *rings)

    def _standing_at(self, cut: Cut) -> Standing:
        """What lies on the way while these edges are open."""
        edges, made, way = self.faults.edges, self.net.circuit.edges, self.way
        found = Standing()
        for edge in way.bridges:
            if edge in cut:
                found.parted = True
                return found
            found.bridges_ohm.append(self.ohm(edge))
            found.drop_v += edges[edge].drop_v
        found.whole = any(made[e].one_way for ring, _ in way.rings for e in ring.edges)
        if not found.whole:
            found.rings = [self._ring(ring, leaves, cut) for ring, leaves in way.rings]
            found.rings_ohm = sum(ring.ohm for ring in found.rings)
        return found

    def _ring(self, block: Block, leaves: int, cut: Cut) -> Feeding:
        """A ring without one-way elements, between its entry and a node: ohm, and how the current divides."""
        inside = cut.intersection(block.edges)
        key = ("ring", block.entry, leaves, inside, self.largest)
        known: Feeding | None = self.faults.solved.get(key)
        if known is None:
            ohms = {e: math.inf if e in inside else self.ohm(e) for e in block.edges}
            mesh = Mesh(self.net, block.nodes, block.edges, ohms, {}, [Feed(block.entry, 0.0, NIL_OHM)])
            state, at = mesh.state(), mesh.at[leaves]
            known = NOT_FED
            if state.firm(at):
                known = Feeding(0.0, state.inverse.own[at] - NIL_OHM, state.flows(at))
            self.faults.solved[key] = known
        return known

    def _drops(self, edges: list[int]) -> dict[int, float]:
        made = self.net.circuit.edges
        return {e: self.faults.edges[e].drop_v for e in edges if made[e].one_way}

    def _whole(self, cut: Cut, more_ohm: float) -> tuple[float, tuple[Feeding, ...]] | None:
        """Core, bridges and rings as one mesh: how current divides in a ring with one-way elements depends on it."""
        way = self.way
        if not any(self._firm(n) for n in self._reaching(cut)):
            return None
        nodes, edges = self._live(way.core_node, cut)
        for ring, _ in way.rings:
            nodes += ring.nodes
            edges += [e for e in ring.edges if e not in cut]
        edges += way.bridges
        nodes = list(dict.fromkeys([*nodes, *(n for e in way.bridges for n in (self.net.u[e], self.net.v[e]))]))
        found = self._standing(self._mesh(nodes, edges), way.node, more_ohm, 0.0)
        fault_a = found.volts / max(more_ohm, NIL_OHM)
        if fault_a <= LEAST_A:
            return None
        bridges = set(way.bridges)
        return fault_a, (replace(found, flows={e: f for e, f in found.flows.items() if e not in bridges}),)

    def _mesh(self, nodes: list[int], edges: list[int]) -> Mesh:
        inside = set(nodes)
        feeds = [Feed(n, p.voltage_v, p.resistance_ohm, p.limit_a) for n, p in self.pairs.items() if n in inside]
        return Mesh(self.net, nodes, edges, {e: self.ohm(e) for e in edges}, self._drops(edges), feeds)

    def _core(self, node: int, cut: Cut, ohm: float, drop_v: float) -> Feeding:
        """The core as it feeds a node behind which ``ohm`` and ``drop_v`` lie."""
        inside = cut.intersection(self.piece.edges)
        key = ("core", node, self.sources, inside, self.largest)
        known: Feeding | None = self.faults.solved.get(key)
        if known is not None:
            return known
        pieces = self.faults.solved.get(("bends", node, self.sources, inside, self.largest))
        if pieces is not None and (bent := self._on_piece(node, (inside, ohm, drop_v), pieces)) is not None:
            return bent
        if not any(self._firm(n) for n in self._reaching(inside)):
            known = NOT_FED
        else:
            nodes, edges = self._live(node, inside)
            feeding = [n for n in nodes if n in self.pairs]
            if len(feeding) == 1 and len(edges) == len(nodes) - 1:
                known = self._single(feeding[0], node, edges)
            else:
                mesh = self._mesh(nodes, edges)
                if mesh.one_way:
                    # how they stand depends on what lies before the fault
                    return self._bending(mesh, node, (inside, ohm, drop_v))
                state, at = mesh.state(), mesh.at[node]
                made = state.settled(at)
                known = Feeding(made.volts, made.ohm, state.flows(at))
        self.faults.solved[key] = known
        return known

    def _live(self, node: int, cut: Cut) -> tuple[list[int], list[int]]:
        """What hangs together with a node of the core, and the edges between whose resistance is known."""
        net, made, inside = self.net, self.net.circuit, set(self.piece.edges)
        order, seen, edges = [node], {node}, dict[int, None]()
        for at in order:
            for edge in made.nodes[at].edges:
                if edge not in inside or edge in cut or self.ohm(edge) == math.inf:
                    continue
                edges[edge] = None
                other = net.other(edge, at)
                if other not in seen:
                    seen.add(other)
                    order.append(other)
        return order, list(edges)

    def _single(self, source: int, node: int, edges: list[int]) -> Feeding:
        """One source, one way."""
        pair = self.pairs[source]
        net, made = self.net, self.net.circuit
        inside, came, order = set(edges), {node: -1}, [node]
        for at in order:
            for edge in made.nodes[at].edges:
                other = net.other(edge, at)
                if edge in inside and other not in came:
                    came[other] = edge
                    order.append(other)
        ohm, drop_v, at = pair.resistance_ohm, 0.0, source
        flows: dict[int, tuple[float, float]] = {}
        while at != node:
            edge = came[at]
            ohm += max(self.ohm(edge), NIL_OHM)
            drop_v += self.faults.edges[edge].drop_v
            flows[edge] = (0.0, 1.0)
            at = net.other(edge, at)
        return Feeding(pair.voltage_v - drop_v, ohm, flows)

    def _bending(self, mesh: Mesh, node: int, before: tuple[Cut, float, float]) -> Feeding:
        """A mesh with one-way elements: linear as long as none of them turns, so each such piece is solved once."""
        cut, ohm, drop_v = before
        key = ("bends", node, self.sources, cut, self.largest)
        pieces: list[tuple[float, State, int]] | None = self.faults.solved.get(key)
        if pieces is None:
            at = mesh.at[node]
            pieces = self.faults.solved[key] = [(amps, state, at) for amps, state in mesh.segments(node)]
        return self._on_piece(node, before, pieces) or self._standing(mesh, node, ohm, drop_v)

    def _on_piece(
        self, node: int, before: tuple[Cut, float, float], pieces: list[tuple[float, State, int]]
    ) -> Feeding | None:
        """The linear piece on which a fault behind so much resistance lies; None if none agrees with itself."""
        cut, ohm, drop_v = before
        key = ("bends", node, self.sources, cut, self.largest)
        for number, (most_a, state, at) in enumerate(pieces):
            volts, own_ohm = state.source(at)
            amps = max(volts - drop_v, 0.0) / max(own_ohm + ohm, NIL_OHM)
            last = number + 1 == len(pieces)
            if amps <= most_a * (1 + 1e-9) and (last or amps >= pieces[number + 1][0] * (1 - 1e-9)):
                flows_key = (*key, number)
                known: Feeding | None = self.faults.solved.get(flows_key)
                if known is None:
                    known = self.faults.solved[flows_key] = Feeding(volts, own_ohm, state.flows(at), bent=True)
                return known
        return None

    def _standing(self, mesh: Mesh, node: int, ohm: float, drop_v: float) -> Feeding:
        """A mesh with one-way elements, the fault being one more branch of it."""
        branch = Feed(node, drop_v, max(ohm, SHORT_OHM))
        mesh.feeds.append(branch)
        state = mesh.standing()
        if state is None:
            raise Unsettled
        at = mesh.at[node]
        fault_a = (state.rest_v(at) - drop_v) / branch.ohm
        flows = {e: (still, 0.0) for e, (still, _) in state.flows(at).items()}
        return Feeding(drop_v + fault_a * max(ohm, NIL_OHM), 0.0, flows, bent=True)
