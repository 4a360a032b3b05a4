"""By which ways current from the sources comes to each element, in some position of the switches.

One node S is tied to every source, and every edge of the circuit becomes a point of its own.  What lies on a way from S
to a point that passes nothing twice is then the chain of biconnected pieces between them.  Where one-way elements are
among them, what current from S cannot reach, or what does not lead on to the point, is left out.  A selector that
closes one position at a time is on a way in one of them only: what its positions together would join is no way.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Iterable
from dataclasses import dataclass
from itertools import product

from linter.model.circuit import Circuit, Node

S = -1

# Choices of positions that are looked at for one answer; of more, each selector is turned by itself, the others with
# all closed: that leaves out less, and never what is a way.
GREATEST_CHOICES = 64
CLOSED = frozenset[int]()


class Positions:
    """The selectors of a circuit that close one position at a time."""

    def __init__(self, circuit: Circuit) -> None:
        self.groups = [positions for _, positions in circuit.excluding()]

    def in_some(self, reached: Callable[[frozenset[int]], set[int]], edge_at: int = 0) -> set[int]:
        """What ``reached`` gives in any choice of positions, given the edges that are open in it.

        ``reached`` gives no more where more is open; an edge is ``edge_at`` and its index in what it gives.
        """
        closed = reached(CLOSED)
        turned = [
            positions
            for positions in self.groups
            if sum(any(edge_at + e in closed for e in edges) for edges in positions) > 1
        ]
        if not turned:
            return closed
        if math.prod(map(len, turned)) <= GREATEST_CHOICES:
            return set[int]().union(*(reached(o) for o in _choices(turned)))
        for one in turned:
            closed &= set[int]().union(*(reached(o) for o in _choices([one])))
        return closed


def _choices(groups: list[list[list[int]]]) -> Iterable[frozenset[int]]:
    every = frozenset(e for positions in groups for edges in positions for e in edges)
    for chosen in product(*groups):
        yield every - frozenset(e for edges in chosen for e in edges)


@dataclass(frozen=True, slots=True)
class Ways:
    """Names, sorted: every element on the ways, the one itself included, the sources among them, and the nodes."""

    elements: tuple[str, ...]
    sources: tuple[str, ...]
    nodes: tuple[str, ...]


def owner(node: Node) -> str:
    """The element that a node belongs to; nothing where a cable or device merely ends."""
    if node.kind == "converter output":
        return node.name.removesuffix(".out")
    return node.element.name if node.element is not None and node.kind != "end" else ""


class Regions:
    """What lies on the ways from the sources to a point: a node by its index, an edge by `edge_point`."""

    def __init__(self, circuit: Circuit) -> None:
        self.circuit = circuit
        self.count = len(circuit.nodes)
        self.positions = Positions(circuit)
        # by the edges that are open
        self._made: dict[frozenset[int], _Pieces] = {}

    def edge_point(self, index: int) -> int:
        return self.count + index

    def of(self, target: int) -> set[int]:
        """The points on the ways to ``target``, itself among them; none where no current from a source reaches it."""
        return self.positions.in_some(lambda opened: self._pieces(opened).of(target), self.count)

    def _pieces(self, opened: frozenset[int]) -> _Pieces:
        made = self._made.get(opened)
        if made is None:
            made = self._made[opened] = _Pieces(self.circuit, opened)
        return made


class _Pieces:
    """The biconnected pieces with some edges open."""

    def __init__(self, circuit: Circuit, opened: frozenset[int]) -> None:
        import networkx as nx  # type: ignore[import-untyped, unused-ignore]

        count = len(circuit.nodes)
        self.forward: dict[int, list[int]] = {v: [] for v in range(S, count + len(circuit.edges))}
        self.backward: dict[int, list[int]] = {v: [] for v in self.forward}
        for node in circuit.nodes:
            if node.source is not None:
                self._join(S, node.index)
        for edge in circuit.edges:
            if edge.index in opened:
                continue
            own = count + edge.index
            self._join(edge.u, own)
            self._join(own, edge.v)
            if not edge.one_way:
                self._join(edge.v, own)
                self._join(own, edge.u)
        graph: nx.Graph[int] = nx.Graph()
        graph.add_nodes_from(self.forward)
        graph.add_edges_from((a, b) for a, onward in self.forward.items() for b in onward)
        self.pieces = [frozenset(p) for p in nx.biconnected_components(graph)]
        self.up = _up(self.pieces)
        self.one_way = {count + e.index for e in circuit.edges if e.one_way}

    def _join(self, a: int, b: int) -> None:
        self.forward[a].append(b)
        self.backward[b].append(a)

    def of(self, target: int) -> set[int]:
        region, at = {target}, target
        while at in self.up:
            piece, at = self.up[at]
            region |= self.pieces[piece]
        if at != S:
            return set()
        if region & self.one_way:
            region = _within(self.forward, S, region) & _within(self.backward, target, region)
        return region if target in region else set()


def ways(circuit: Circuit) -> dict[str, Ways]:
    """The ways to each element that current from a source can reach, by its name."""
    regions = Regions(circuit)
    count = regions.count
    found: dict[str, tuple[set[str], set[str], set[str]]] = {}
    for name, target in _targets(circuit):
        region = regions.of(target)
        if not region:
            continue
        elements, sources, nodes = found.setdefault(name, (set(), set(), set()))
        elements.add(name)
        for v in region:
            if 0 <= v < count:
                elements.add(owner(circuit.nodes[v]))
                nodes.add(circuit.nodes[v].name)
                if circuit.nodes[v].source is not None:
                    sources.add(owner(circuit.nodes[v]))
            elif v >= count and circuit.edges[v - count].kind != "link":
                elements.add(circuit.edges[v - count].element.name)
    return {n: Ways(*(tuple(sorted(names - {""})) for names in sets)) for n, sets in found.items()}


def _up(pieces: list[frozenset[int]]) -> dict[int, tuple[int, int]]:
    """By point: the piece that leads towards S, and the point by which that piece hangs."""
    of: dict[int, list[int]] = {}
    for number, piece in enumerate(pieces):
        for v in piece:
            of.setdefault(v, []).append(number)
    up: dict[int, tuple[int, int]] = {}
    seen: set[int] = set()
    waiting = [S]
    for v in waiting:
        for number in of.get(v, ()):
            if number not in seen:
                seen.add(number)
                for w in pieces[number] - {v}:
                    up[w] = number, v
                    waiting.append(w)
    return up


def _targets(circuit: Circuit) -> list[tuple[str, int]]:
    made = [(owner(n), n.index) for n in circuit.nodes if owner(n) and n.kind != "converter output"]
    made += [
        (e.element.name, len(circuit.nodes) + e.index) for e in circuit.edges if e.kind != "link" and not e.position
    ]
    return made


def _within(onward: dict[int, list[int]], start: int, region: set[int]) -> set[int]:
    seen, waiting = {start}, [start]
    for v in waiting:
        for w in onward[v]:
            if w in region and w not in seen:
                seen.add(w)
                waiting.append(w)
    return seen
