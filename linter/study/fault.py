"""Fault currents: the largest that a device may have to break, the smallest that must still open it.

Every source is a voltage behind a resistance, or, where it limits itself, its greatest current; a conductor counts
there and back.  A block is solved by its nodal matrix, inverted once for each case; along bridges resistance adds up.

Largest: all sources together, everything closed.  Smallest: each source that does not limit itself alone, at its
lowest, in each position of the switches.  One-way elements inside a block conduct or not as the solution demands; it is
sought until it agrees with itself.
"""

from __future__ import annotations

import math
from collections.abc import Iterable
from dataclasses import dataclass, field
from itertools import product
from typing import TYPE_CHECKING

from linter.study.impedance import NIL_OHM, EdgeResistance, SourcePair, resistances, source_pairs
from linter.study.letthrough import core_pieces
from linter.study.mesh import LEAST_A, Mesh, Settled, from_entry, laplacian, reached_from, settled
from linter.study.net import Block, Decomposition, Net

if TYPE_CHECKING:
    import numpy as np
    from numpy.typing import NDArray

    Matrix = NDArray[np.float64]

# A block of more nodes than this is no boat; its matrix would not fit a computer's memory.
GREATEST_BLOCK = 4000


@dataclass(frozen=True, slots=True)
class Drive:
    """What drives a fault at some point of the core: volts behind ohm, at most ``limit_a``.

    ``sources``: the nodes of its sources.  ``leans_on``: what stands in for a resistance that nobody stated.
    ``unknown``: nothing stands in for it, and the current is worth nothing.
    """

    volts: float
    ohm: float
    limit_a: float
    sources: tuple[int, ...]
    leans_on: tuple[str, ...] = ()
    unknown: bool = False

    def current_a(self, more_ohm: float = 0.0, drop_v: float = 0.0) -> float:
        """Into a fault behind ``more_ohm`` and a drop of ``drop_v``."""
        return min(self.limit_a, max(self.volts - drop_v, 0.0) / max(self.ohm + more_ohm, NIL_OHM))


@dataclass(frozen=True, slots=True)
class Point:
    """A node: where in the core its current comes from, and what lies between, there and back."""

    core_node: int
    least_ohm: float = 0.0
    greatest_ohm: float = 0.0
    drop_v: float = 0.0


@dataclass(frozen=True, slots=True)
class Prospective:
    """A current in A and what drives it."""

    amps: float
    drive: Drive | None = None

    @property
    def doubtful(self) -> bool:
        return self.drive is not None and (self.drive.unknown or bool(self.drive.leans_on))


@dataclass(slots=True)
class Faults:
    """Prospective currents of a design.  Nodes that no current reaches have no point."""

    net: Net
    edges: list[EdgeResistance]
    points: dict[int, Point] = field(default_factory=dict)
    # by core node: all sources together; and each source that does not limit itself alone
    together: dict[int, Drive] = field(default_factory=dict)
    alone: dict[int, tuple[Drive, ...]] = field(default_factory=dict)
    # by device edge inside a block: the most through it on a fault at one of its ends
    inside: dict[int, Prospective] = field(default_factory=dict)
    remarks: list[str] = field(default_factory=list)

    def largest(self, node: int) -> Prospective:
        """The largest prospective current at a node."""
        point = self.points.get(node)
        drive = self.together.get(point.core_node) if point else None
        if point is None or drive is None:
            return Prospective(0.0)
        return Prospective(drive.current_a(point.least_ohm, point.drop_v), drive)

    def smallest(self, node: int) -> Prospective | None:
        """The smallest prospective current at a node; None where only sources that limit themselves reach it."""
        point = self.points.get(node)
        drives = self.alone.get(point.core_node, ()) if point else ()
        if point is None or not drives:
            return None
        found = [Prospective(d.current_a(point.greatest_ohm, point.drop_v), d) for d in drives]
        return min(found, key=lambda p: p.amps)

    def through(self, edge: int) -> Prospective:
        """The largest current that can flow through a device on a fault right behind it, whichever side that is."""
        known = self.inside.get(edge)
        if known is not None:
            return known
        u, v = self.points.get(self.net.u[edge]), self.points.get(self.net.v[edge])
        if u is None or v is None:
            return Prospective(0.0)
        return self.largest(self.net.v[edge] if v.least_ohm >= u.least_ohm else self.net.u[edge])


def faults_of(net: Net, parts: Decomposition, positions: Iterable[frozenset[int]] = ()) -> Faults:
    """Prospective currents of every node and device.  Linear in the trees; one inverse a block and case.

    ``positions``: the edges that are open in each state of the switches in which a fault must still be cleared; none
    given, everything is closed.
    """
    states = list(dict.fromkeys(positions)) or [frozenset[int]()]
    result = Faults(net, resistances(net.circuit))
    pairs: dict[int, tuple[SourcePair, SourcePair]] = {}
    for node in net.circuit.nodes:
        if node.source is not None:
            pairs[node.index] = source_pairs(node.source, node.system.voltage_v if node.system else None)
    for piece in core_pieces(net, parts.blocks[0]):
        if len(piece.nodes) > GREATEST_BLOCK:
            result.remarks.append(f"a mesh of {len(piece.nodes)} points is too large to be solved for fault currents")
        else:
            inside = frozenset(piece.edges)
            _Core(net, piece, pairs, result, list(dict.fromkeys(s & inside for s in states))).solve()
    for index, block in enumerate(parts.blocks):
        if index == 0:
            continue
        bridge = parts.bridge_to[block.entry]
        before = result.points.get(net.other(bridge, block.entry))
        blocked = net.circuit.edges[bridge].one_way and net.u[bridge] == block.entry
        if before is None or blocked:
            continue
        added = result.edges[bridge]
        entry = Point(
            before.core_node,
            before.least_ohm + added.least_ohm,
            before.greatest_ohm + added.greatest_ohm,
            before.drop_v + added.drop_v,
        )
        result.points[block.entry] = entry
        if len(block.nodes) > GREATEST_BLOCK:
            result.remarks.append(f"a mesh of {len(block.nodes)} points is too large to be solved for fault currents")
        elif len(block.nodes) > 1:
            _hanging(net, block, entry, result)
    return result


class _Core:
    """A piece of the core: its sources together, and each alone."""

    def __init__(
        self,
        net: Net,
        piece: Block,
        pairs: dict[int, tuple[SourcePair, SourcePair]],
        result: Faults,
        states: list[frozenset[int]],
    ) -> None:
        self.states = states
        self.net, self.piece, self.pairs, self.result = net, piece, pairs, result
        self.number = {n: i for i, n in enumerate(piece.nodes)}
        self.sources = [n for n in piece.nodes if n in pairs]
        self.firm = [n for n in self.sources if pairs[n][0].limit_a == math.inf]
        self.one_way = [e for e in piece.edges if net.circuit.edges[e].one_way]

    def solve(self) -> None:
        for node in self.piece.nodes:
            self.result.points[node] = Point(node)
        if not self.sources:
            return
        if self.one_way:
            self._searched()
        else:
            self._direct()

    def _described(self, sources: list[int], case: int) -> tuple[tuple[int, ...], tuple[str, ...], bool]:
        pairs = [self.pairs[n][case] for n in sources]
        leans = tuple(dict.fromkeys(p.leans_on for p in pairs if p.leans_on))
        return tuple(sources), leans, any(p.unknown for p in pairs)

    def _limit(self) -> float:
        """Only sources that limit themselves: together they give the sum of their limits and no more."""
        return math.inf if self.firm else sum(self.pairs[n][0].limit_a for n in self.sources)

    def _with_sources(self, matrix: Matrix) -> tuple[Matrix, Matrix]:
        """The nodal matrix and the injected currents of all sources together.

        Beside a source without a limit, one that has one gives its limit: in a fault its voltage is far below its own.
        Where there is no other, it is a voltage.
        """
        import numpy as np

        injected: Matrix = np.zeros(len(self.number))
        for node in self.sources:
            pair = self.pairs[node][0]
            at = self.number[node]
            if pair.limit_a < math.inf and self.firm:
                injected[at] += pair.limit_a
            else:
                siemens = 1.0 / max(pair.resistance_ohm, NIL_OHM)
                matrix[at, at] += siemens
                injected[at] += pair.voltage_v * siemens
        return matrix, injected

    def _direct(self) -> None:
        import numpy as np

        net, number, result = self.net, self.number, self.result
        size = len(number)
        least = {e: result.edges[e].least_ohm for e in self.piece.edges}
        matrix, injected = self._with_sources(laplacian(net, self.piece.edges, number, least, size))
        inverse = np.linalg.inv(matrix)
        open_v = inverse @ injected
        described, limit_a = self._described(self.sources, 0), self._limit()
        for node, i in number.items():
            result.together[node] = Drive(float(open_v[i]), float(inverse[i, i]), limit_a, *described)
        for edge in self.piece.edges:
            if not net.is_device[edge]:
                continue
            u, v = number[net.u[edge]], number[net.v[edge]]
            siemens = 1.0 / max(least[edge], NIL_OHM)
            best = 0.0
            for near, far in ((u, v), (v, u)):
                fault_a = open_v[far] / inverse[far, far]
                near_v = open_v[near] - inverse[near, far] * fault_a
                best = max(best, float(near_v) * siemens)
            best = min(best, limit_a)
            result.inside[edge] = Prospective(best, result.together[net.u[edge]])
        self._alone()

    def _alone(self) -> None:
        """Each source that does not limit itself, by itself: the resistance between it and every node."""
        import numpy as np

        result, number = self.result, self.number
        size = len(number)
        for node, opened in product(self.firm, self.states):
            greatest = self._greatest(opened)
            at = number[node]
            matrix = laplacian(self.net, self.piece.edges, number, greatest, size)
            matrix[at, at] += 1.0 / NIL_OHM
            reached = reached_from(self.net, self.piece, node, greatest)
            for n, i in number.items():
                if n not in reached:
                    matrix[i, i] += 1.0
            inverse = np.linalg.inv(matrix)
            pair = self.pairs[node][1]
            described = self._described([node], 1)
            for n in reached:
                i = number[n]
                ohm = pair.resistance_ohm + max(float(inverse[i, i]) - NIL_OHM, 0.0)
                result.alone[n] = (*result.alone.get(n, ()), Drive(pair.voltage_v, ohm, math.inf, *described))

    def _greatest(self, opened: frozenset[int]) -> dict[int, float]:
        """Resistances of the smallest case; what is open lets nothing pass."""
        edges = self.result.edges
        return {e: math.inf if e in opened else edges[e].greatest_ohm for e in self.piece.edges}

    # ---- with one-way elements ------------------------------------------------------------------------------------

    def _searched(self) -> None:
        """As `_direct` where one-way elements stand in the block: a solution for every fault by itself."""
        result, net = self.result, self.net
        least = {e: result.edges[e].least_ohm for e in self.piece.edges}
        described, limit_a = self._described(self.sources, 0), self._limit()
        for node in self.piece.nodes:
            made = self._fault(node, least, self.sources, 0)
            if made.amps > LEAST_A:
                result.together[node] = Drive(made.volts, made.ohm, limit_a, *described)
        for edge in self.piece.edges:
            if net.is_device[edge]:
                best = 0.0
                for near, far in ((net.u[edge], net.v[edge]), (net.v[edge], net.u[edge])):
                    near_v = float(self._fault(far, least, self.sources, 0).at_v[self.number[near]])
                    best = max(best, near_v / max(least[edge], NIL_OHM))
                result.inside[edge] = Prospective(min(best, limit_a), result.together.get(net.u[edge]))
        for source, opened in product(self.firm, self.states):
            greatest = self._greatest(opened)
            told = self._described([source], 1)
            for node in self.piece.nodes:
                made = self._fault(node, greatest, [source], 1)
                if made.amps > LEAST_A:
                    drive = Drive(made.volts, made.ohm, math.inf, *told)
                    result.alone[node] = (*result.alone.get(node, ()), drive)

    def _fault(self, at: int, ohms: dict[int, float], sources: list[int], case: int) -> Settled:
        """A fault at a node, one-way elements as they then are."""
        firm = any(self.pairs[n][case].limit_a == math.inf for n in sources)
        volts, amps = [], []
        for node in sources:
            pair = self.pairs[node][case]
            if pair.limit_a < math.inf and firm:
                amps.append((self.number[node], pair.limit_a))
            else:
                volts.append((self.number[node], pair.voltage_v, pair.resistance_ohm))
        return settled(Mesh(self.net, self.piece, self.number, ohms, self.result.edges), volts, amps, self.number[at])


def _hanging(net: Net, block: Block, entry: Point, result: Faults) -> None:
    """A ring that hangs from the rest: the resistance from its entry to each of its nodes, in both cases."""
    least = from_entry(net, block, {e: result.edges[e].least_ohm for e in block.edges}, result.edges)
    greatest = from_entry(net, block, {e: result.edges[e].greatest_ohm for e in block.edges}, result.edges)
    for node in block.nodes:
        if node != block.entry and least[node] < math.inf:
            result.points[node] = Point(
                entry.core_node, entry.least_ohm + least[node], entry.greatest_ohm + greatest[node], entry.drop_v
            )
    drive = result.together.get(entry.core_node)
    if drive is None:
        return
    number = {n: i for i, n in enumerate(block.nodes)}
    ohms = {e: result.edges[e].least_ohm for e in block.edges}
    mesh = Mesh(net, block, number, ohms, result.edges)
    source = (number[block.entry], max(drive.volts - entry.drop_v, 0.0), drive.ohm + entry.least_ohm)
    for edge in block.edges:
        if net.is_device[edge]:
            best = 0.0
            for near, far in ((net.u[edge], net.v[edge]), (net.v[edge], net.u[edge])):
                near_v = float(settled(mesh, [source], [], number[far]).at_v[number[near]])
                best = max(best, near_v / max(ohms[edge], NIL_OHM))
            result.inside[edge] = Prospective(min(best, drive.limit_a), drive)
