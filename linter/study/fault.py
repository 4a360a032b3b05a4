"""Fault currents: the largest that a device may have to break, the smallest that must still open it.

Every source is a voltage behind a resistance, or, where it limits itself, its greatest current; a conductor counts
there and back.  A block is solved by its nodal matrix, factored once for each case; along bridges resistance adds up.

Largest: all sources together, everything closed.  Where sources of different voltage stand in one mesh, the higher
without the lower as well: a far fault may leave so much voltage that the lower would take current instead of giving it.
A limited source beside others counts with all its limit allows, which is never too little.

Smallest: each source that does not limit itself alone, at its lowest, in each position of the switches.  One-way
elements inside a block conduct or not as a bolted fault demands.
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Mapping
from dataclasses import replace

from linter.study.impedance import NIL_OHM, SourcePair, resistances, source_pairs
from linter.study.letthrough import core_pieces
from linter.study.mesh import LEAST_A, Feed, Mesh, Settled
from linter.study.net import Block, Decomposition, Net
from linter.study.prospective import CLOSED, Bends, Drive, Faults, Point, Prospective
from linter.study.sparse import TooDense

# Nodes that the sources of one mesh may reach, each alone, in all states of the switches: some ten seconds of work,
# for which it takes a hundred points and thousands of states.
GREATEST_REACHED = 300_000


def faults_of(
    net: Net,
    parts: Decomposition,
    positions: Iterable[frozenset[int]] = (),
    contacts: Mapping[int, float] | None = None,
) -> Faults:
    """Prospective currents of every node and device.  Linear in the trees, and in meshes as boats have them;
    each source alone and each state of the switches adds one pass over its piece of the core.

    ``positions``: the edges that are open in each state of the switches in which a fault must still be cleared; none
    given, everything is closed.  ``contacts``: see `resistances`.
    """
    states = list(dict.fromkeys(positions)) or [CLOSED]
    result = Faults(net, parts, resistances(net.circuit, contacts), {})
    for node in net.circuit.nodes:
        if node.source is not None:
            result.pairs[node.index] = source_pairs(node.source, node.system.voltage_v if node.system else None)
    for piece in core_pieces(net, parts.blocks[0]):
        try:
            _Core(net, piece, result, states).solve()
        except TooDense:
            _too_dense(piece, result)
    by_edge = net.circuit.edges
    for index, block in enumerate(parts.blocks):
        if index == 0:
            continue
        bridge = parts.bridge_to[block.entry]
        before = result.points.get(net.other(bridge, block.entry))
        blocked = by_edge[bridge].one_way and net.u[bridge] == block.entry
        if before is None or blocked:
            continue
        added = result.edges[bridge]
        entry = result.points[block.entry] = Point(
            before.core_node,
            before.least_ohm + added.least_ohm,
            before.greatest_ohm + added.greatest_ohm,
            before.drop_v + added.drop_v,
        )
        if len(block.nodes) > 1:
            try:
                _hanging(net, block, entry, result, states)
            except TooDense:
                _too_dense(block, result)
    return result


def _too_dense(block: Block, result: Faults) -> None:
    result.remarks.append(f"a mesh of {len(block.nodes)} points is too large to be solved for fault currents")


def _unsettled(result: Faults, count: int) -> None:
    if count:
        result.remarks.append(f"fault currents at {count} points are left out: diodes in a mesh found no steady state")


def _within(states: list[frozenset[int]], edges: list[int]) -> list[frozenset[int]]:
    """The states as far as they touch these edges, each once."""
    inside = frozenset(edges)
    return list(dict.fromkeys(s & inside for s in states))


def _drops(result: Faults, edges: list[int]) -> dict[int, float]:
    """The drop of each one-way edge, V."""
    made = result.net.circuit.edges
    return {e: result.edges[e].drop_v for e in edges if made[e].one_way}


def _beside(net: Net, mesh: Mesh, settled: dict[int, Settled], edge: int, ohm: float) -> tuple[float, float]:
    """The most through an edge on a fault at one of its ends, A; and the same if the edge had no resistance."""
    best = bare = 0.0
    for near, far in ((net.u[edge], net.v[edge]), (net.v[edge], net.u[edge])):
        fault = settled.get(far)
        if fault is not None and fault.amps > LEAST_A and near != far:
            volts = fault.beside_v(mesh.at[near])
            best = max(best, volts / max(ohm, NIL_OHM))
            bare = max(bare, volts / fault.beside_ohm(mesh.at[near]))
    return best, max(best, bare)


class _Core:
    """A piece of the core: its sources together, and each alone."""

    def __init__(self, net: Net, piece: Block, result: Faults, states: list[frozenset[int]]) -> None:
        self.net, self.piece, self.result = net, piece, result
        self.states = _within(states, piece.edges)
        self.pairs = result.pairs
        self.sources = [n for n in piece.nodes if n in self.pairs]
        self.firm = [n for n in self.sources if self.pairs[n][0].limit_a == math.inf]
        self.drops = _drops(result, piece.edges)
        self.ways: dict[int, list[int]] = {n: [] for n in piece.nodes}
        for edge in piece.edges:
            self.ways[net.u[edge]].append(edge)
            self.ways[net.v[edge]].append(edge)

    def solve(self) -> None:
        result, pairs = self.result, self.pairs
        for node in self.piece.nodes:
            result.points[node] = Point(node)
            result.piece_of[node] = self.piece
        if not self.sources:
            return
        levels = sorted({pairs[n][0].voltage_v for n in self.firm}) or [0.0]
        for level in levels:
            self._together([n for n in self.sources if n not in self.firm or pairs[n][0].voltage_v >= level])
        if any(pairs[n][0].peak_a for n in self.sources):
            self._peak()
        told = [n for n in self.sources if not pairs[n][0].unknown]
        if told and len(told) < len(self.sources):
            levels = sorted({pairs[n][0].voltage_v for n in told if n in self.firm}) or [0.0]
            for level in levels:
                self._told([n for n in told if n not in self.firm or pairs[n][0].voltage_v >= level])
        for source in self.firm:
            self._alone(source)

    def _described(self, sources: list[int], case: int) -> tuple[tuple[int, ...], tuple[str, ...], bool]:
        pairs = [self.pairs[n][case] for n in sources]
        leans = tuple(dict.fromkeys(p.leans_on for p in pairs if p.leans_on))
        return tuple(sources), leans, any(p.unknown for p in pairs)

    def _together(self, sources: list[int]) -> None:
        """These sources together, everything closed."""
        net, result = self.net, self.result
        first = not any(n in result.together for n in self.piece.nodes)
        least = {e: result.edges[e].least_ohm for e in self.piece.edges}
        feeds = [feed(n, self.pairs[n][0]) for n in sources]
        mesh = Mesh(net, self.piece.nodes, self.piece.edges, least, self.drops, feeds)
        settled = mesh.faults(self.piece.nodes)
        _unsettled(result, len(self.piece.nodes) - len(settled))
        described = self._described(sources, 0)
        for node, made in settled.items():
            if made.amps > LEAST_A:
                drive = Drive(made.volts, made.ohm, made.limit_a, *described, bends=made.bends)
                if first:
                    result.together[node] = drive
                else:
                    result.higher[node] = (*result.higher.get(node, ()), drive)
        for edge in self.piece.edges:
            if net.is_device[edge]:
                by = result.together.get(net.u[edge]) or result.together.get(net.v[edge])
                both = _beside(net, mesh, settled, edge, least[edge])
                for amps, kept in zip(both, (result.inside, result.bare), strict=True):
                    before = kept.get(edge)
                    if before is None or amps > before.amps:
                        kept[edge] = Prospective(amps, by, by is not None and by.unknown)

    def _peak(self) -> None:
        """All sources together, everything closed, before any electronics have limited a source."""
        net, result, sources = self.net, self.result, self.sources
        least = {e: result.edges[e].least_ohm for e in self.piece.edges}
        pairs = {n: self.pairs[n][0] for n in sources}
        feeds = [feed(n, replace(p, limit_a=p.peak_a) if p.peak_a else p) for n, p in pairs.items()]
        mesh = Mesh(net, self.piece.nodes, self.piece.edges, least, self.drops, feeds)
        settled, described = mesh.faults(self.piece.nodes), self._described(sources, 0)
        for node, made in settled.items():
            if made.amps > LEAST_A:
                result.peak[node] = Drive(made.volts, made.ohm, made.limit_a, *described, bends=made.bends)
        for edge in self.piece.edges:
            by = result.peak.get(net.u[edge]) or result.peak.get(net.v[edge])
            if net.is_device[edge] and by is not None:
                amps = _beside(net, mesh, settled, edge, least[edge])[1]
                result.bare_peak[edge] = Prospective(amps, by, by.unknown)

    def _told(self, sources: list[int]) -> None:
        """These sources together, everything closed; there are others, of which nobody knows the resistance."""
        net, result = self.net, self.result
        least = {e: result.edges[e].least_ohm for e in self.piece.edges}
        feeds = [feed(n, self.pairs[n][0]) for n in sources]
        mesh = Mesh(net, self.piece.nodes, self.piece.edges, least, self.drops, feeds)
        settled, described = mesh.faults(self.piece.nodes), self._described(sources, 0)
        for node, made in settled.items():
            if made.amps > LEAST_A:
                drive = Drive(made.volts, made.ohm, made.limit_a, *described, bends=made.bends)
                result.told[node] = (*result.told.get(node, ()), drive)
        for edge in self.piece.edges:
            if net.is_device[edge]:
                by = next(iter(result.told.get(net.u[edge]) or result.told.get(net.v[edge]) or ()), None)
                amps = _beside(net, mesh, settled, edge, least[edge])[1]
                before = result.told_bare.get(edge)
                if by is not None and (before is None or amps > before.amps):
                    result.told_bare[edge] = Prospective(amps, by)

    def _alone(self, source: int) -> None:
        """A source by itself in each state of the switches.  What differs only where it does not reach is one state."""
        result = self.result
        pair = self.pairs[source][1]
        described = self._described([source], 1)
        known: set[tuple[frozenset[int], frozenset[int]]] = set()
        found: set[tuple[int, float, float, Bends]] = set()
        left = GREATEST_REACHED / len(self.firm)
        for opened in self.states:
            nodes, edges, unmeasured = self._reached(source, opened)
            key = frozenset(edges), frozenset(unmeasured)
            if key in known:
                continue
            if known and left < len(nodes):
                name = self.net.circuit.nodes[source].name
                result.remarks.append(
                    f"smallest fault currents from {name} alone: not every one of {len(self.states)} states of the "
                    f"switches is looked at, as there are too many in a mesh of {len(self.piece.nodes)} points"
                )
                break
            known.add(key)
            left -= len(nodes)
            drives = self._behind(source, pair, nodes, edges)
            drives += [(node, (pair.voltage_v, math.inf, ())) for node in unmeasured]
            for node, (volts, ohm, bends) in drives:
                if (node, volts, ohm, bends) not in found:
                    found.add((node, volts, ohm, bends))
                    known_all = described if ohm < math.inf else (*described[:2], True)
                    drive = Drive(volts, ohm, math.inf, *known_all, opened, bends)
                    result.alone[node] = (*result.alone.get(node, ()), drive)

    def _reached(self, source: int, opened: frozenset[int]) -> tuple[list[int], list[int], list[int]]:
        """What current from a source can reach, one-way elements forwards only: nodes, the edges between them, and the
        nodes to which every way has a conductor whose resistance nobody knows."""
        nodes = self._walk(source, opened, math.inf)
        inside = set(nodes)
        edges = self.result.edges
        between = [
            e
            for n in nodes
            for e in self.ways[n]
            if self.net.u[e] == n and self.net.v[e] in inside and e not in opened and edges[e].greatest_ohm < math.inf
        ]
        if all(edges[e].greatest_ohm < math.inf for e in self.piece.edges):
            return nodes, between, []
        return nodes, between, [n for n in self._walk(source, opened, None) if n not in inside]

    def _walk(self, source: int, opened: frozenset[int], below_ohm: float | None) -> list[int]:
        net, edges, made = self.net, self.result.edges, self.net.circuit.edges
        order, seen = [source], {source}
        for node in order:
            for edge in self.ways[node]:
                if edge in opened or (made[edge].one_way and net.u[edge] != node):
                    continue
                if below_ohm is not None and not edges[edge].greatest_ohm < below_ohm:
                    continue
                other = net.other(edge, node)
                if other not in seen:
                    seen.add(other)
                    order.append(other)
        return order

    def _behind(
        self, source: int, pair: SourcePair, nodes: list[int], edges: list[int]
    ) -> list[tuple[int, tuple[float, float, Bends]]]:
        """Volts, ohm and bends at each node that a source alone reaches."""
        net, known = self.net, self.result.edges
        if len(edges) == len(nodes) - 1:
            # a tree, in the order in which it was walked
            at = {source: (pair.voltage_v, pair.resistance_ohm)}
            inside = set(edges)
            for node in nodes:
                volts, ohm = at[node]
                for edge in self.ways[node]:
                    other = net.other(edge, node)
                    if edge in inside and other not in at:
                        more = known[edge]
                        at[other] = volts - more.drop_v, ohm + max(more.greatest_ohm, NIL_OHM)
            return [(node, (volts, ohm, ())) for node, (volts, ohm) in at.items() if volts > 0]
        greatest = {e: known[e].greatest_ohm for e in edges}
        settled = Mesh(net, nodes, edges, greatest, self.drops, [feed(source, pair)]).faults(nodes)
        _unsettled(self.result, len(nodes) - len(settled))
        return [(node, (made.volts, made.ohm, made.bends)) for node, made in settled.items() if made.amps > LEAST_A]


def feed(node: int, pair: SourcePair) -> Feed:
    return Feed(node, pair.voltage_v, pair.resistance_ohm, pair.limit_a)


def _hanging(net: Net, block: Block, entry: Point, result: Faults, states: list[frozenset[int]]) -> None:
    """A ring that hangs from the rest: the resistance from its entry to each of its nodes, in both cases, and what its
    devices may have to break."""
    drive = result.together.get(entry.core_node)
    volts, ohm, limit_a = 1.0, NIL_OHM, math.inf
    if drive is not None and drive.volts > entry.drop_v:
        volts, ohm, limit_a = drive.volts - entry.drop_v, drive.ohm + entry.least_ohm, drive.limit_a
    drops = _drops(result, block.edges)
    least = {e: result.edges[e].least_ohm for e in block.edges}
    mesh = Mesh(net, block.nodes, block.edges, least, drops, [Feed(block.entry, volts, ohm)])
    settled = mesh.faults(block.nodes)
    _unsettled(result, len(block.nodes) - len(settled))
    greatest: dict[int, float] = {}
    before_ohm = max(ohm, entry.greatest_ohm) if entry.greatest_ohm < math.inf else ohm
    for opened in _within(states, block.edges):
        ohms = {e: math.inf if e in opened else result.edges[e].greatest_ohm for e in block.edges}
        made = Mesh(net, block.nodes, block.edges, ohms, drops, [Feed(block.entry, volts, before_ohm)])
        for node, fault in made.faults(block.nodes).items():
            if fault.amps > LEAST_A:
                greatest[node] = max(greatest.get(node, 0.0), fault.ohm - before_ohm)
    for node, fault in settled.items():
        if node != block.entry and fault.amps > LEAST_A:
            result.points[node] = Point(
                entry.core_node,
                entry.least_ohm + fault.ohm - ohm,
                entry.greatest_ohm + greatest.get(node, math.inf),
                entry.drop_v + volts - fault.volts,
            )
    if drive is None:
        return
    for edge in block.edges:
        if net.is_device[edge]:
            both = _beside(net, mesh, settled, edge, least[edge])
            for amps, kept in zip(both, (result.inside, result.bare), strict=True):
                kept[edge] = Prospective(min(amps, limit_a), drive, drive.unknown)
    for known in result.told.get(entry.core_node, ()):
        # what is behind a ring's devices is known: only what feeds it is not
        feeds = [Feed(block.entry, max(known.volts - entry.drop_v, 0.0), known.ohm + entry.least_ohm)]
        mesh = Mesh(net, block.nodes, block.edges, least, drops, feeds)
        settled = mesh.faults(block.nodes)
        for edge in block.edges:
            if net.is_device[edge]:
                amps = min(_beside(net, mesh, settled, edge, least[edge])[1], known.limit_a)
                before = result.told_bare.get(edge)
                if before is None or amps > before.amps:
                    result.told_bare[edge] = Prospective(amps, known)
