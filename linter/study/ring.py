"""Rings: which edges lie in one, and every way to open a ring so that what one asks about becomes a bridge.

Unlike the blocks of `net`, nothing ties the sources together here: a ring is a closed way in the circuit itself.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from dataclasses import dataclass, field

from linter.study.net import Net

# Ways to open a ring that are looked at for one element.  A ring with twenty branches has twenty; meshes have more.
GREATEST_OPENINGS = 400


class TooMuch(Exception):
    """There is more to look at than is looked at; ``work``: the nodes come to in vain."""

    def __init__(self, work: int = 0) -> None:
        super().__init__()
        self.work = work


@dataclass(slots=True)
class Rings:
    """Bridges of the circuit, and the pieces between them; a piece of more than one node is a ring or several."""

    is_bridge: bytearray
    piece_of: list[int]
    # by piece, only where it has more than one node
    members: dict[int, list[int]]
    # of a bridge: whether a load or a source is on the side of its u (bit 1) and of its v (bit 2)
    _used: bytearray

    def in_use(self, net: Net, bridge: int, node: int) -> bool:
        """Whether a load or a source is on that side of a bridge on which ``node``, one of its ends, is."""
        return bool(self._used[bridge] & (1 if net.u[bridge] == node else 2))


def rings_of(net: Net) -> Rings:
    """Linear: one depth-first search, without recursion.  One-way edges count as if they led both ways."""
    nodes = net.circuit.nodes
    count = len(nodes)
    found, low, parent = [0] * count, [0] * count, [-1] * count
    used = [int(n.load is not None or n.source is not None) for n in nodes]
    is_bridge, side = bytearray(len(net.u)), bytearray(len(net.u))
    piece_of, members = [-1] * count, dict[int, list[int]]()
    clock = 0
    for start in range(count):
        if found[start]:
            continue
        clock += 1
        found[start] = low[start] = clock
        order, stack = [start], [(start, 0)]
        while stack:
            node, at = stack.pop()
            edges = nodes[node].edges
            while at < len(edges):
                edge = edges[at]
                at += 1
                other = net.other(edge, node)
                if edge == parent[node] or other == node:
                    continue
                if not found[other]:
                    clock += 1
                    found[other] = low[other] = clock
                    parent[other] = edge
                    order.append(other)
                    stack += ((node, at), (other, 0))
                    break
                low[node] = min(low[node], found[other])
            else:
                if parent[node] >= 0:
                    above = net.other(parent[node], node)
                    low[above] = min(low[above], low[node])
                    used[above] += used[node]
                    is_bridge[parent[node]] = low[node] > found[above]
        for node in order:
            edge = parent[node]
            if edge >= 0 and not is_bridge[edge]:
                piece = piece_of[node] = piece_of[net.other(edge, node)]
                members.setdefault(piece, [piece]).append(node)
                continue
            piece_of[node] = node
            if edge >= 0:
                inner, outer = used[node] > 0, used[start] > used[node]
                side[edge] = (1 if inner else 0) | (2 if outer else 0)
                if net.v[edge] == node:
                    side[edge] = (2 if inner else 0) | (1 if outer else 0)
    return Rings(is_bridge, piece_of, members, side)


@dataclass(slots=True)
class _Chain:
    """Edges in a row between two nodes where something branches off; ``along``: whether walked from its u to its v."""

    start: int
    end: int
    edges: list[int] = field(default_factory=list)
    along: list[bool] = field(default_factory=list)

    def at(self, inside: set[int]) -> int:
        """The edge by which a chain with one end in a set leaves it."""
        return self.edges[0 if self.start in inside else -1]


@dataclass(frozen=True, slots=True)
class Opening:
    """How the rest of a ring may be open while current passes one edge from ``a`` to ``b``."""

    a: int
    b: int
    cut: frozenset[int]


@dataclass(frozen=True, slots=True)
class Split:
    """How part of the rings at a node may feed it by some edges and take from it by others."""

    feeding: frozenset[int]
    taking: frozenset[int]
    cut: frozenset[int]


class Mesh:
    """One piece with its chains drawn together, while some edges are open."""

    def __init__(self, net: Net, rings: Rings, piece: int, opened: frozenset[int]) -> None:
        self._net = net
        inside: dict[int, list[int]] = {}
        fixed: set[int] = set()
        for node in rings.members[piece]:
            made = net.circuit.nodes[node]
            mine = [e for e in made.edges if not rings.is_bridge[e] and e not in opened and net.u[e] != net.v[e]]
            inside[node] = mine
            hangs = any(rings.is_bridge[e] for e in made.edges)
            if hangs or made.load or made.source or made.kind in {"bus", "selector"} or len(mine) != 2:
                fixed.add(node)
        self.nodes = fixed
        self.chains: list[_Chain] = []
        self.chain_of: dict[int, _Chain] = {}
        for node in fixed:
            for first in inside[node]:
                if first not in self.chain_of:
                    self._walk(node, first, inside)

    def _walk(self, node: int, edge: int, inside: dict[int, list[int]]) -> None:
        net, at = self._net, node
        chain = _Chain(node, node)
        while True:
            chain.edges.append(edge)
            chain.along.append(net.u[edge] == at)
            self.chain_of[edge] = chain
            at = net.other(edge, at)
            if at in self.nodes:
                break
            one, two = inside[at]
            edge = two if one == edge else one
        chain.end = at
        self.chains.append(chain)

    def openings(self, edge: int) -> Iterator[Opening]:
        """Every way to open the rings an edge lies in until it is the only way between two parts that hang together
        each, for both directions.  Raises TooMuch."""
        mine = self.chain_of.get(edge)
        if mine is None or mine.start == mine.end:
            return
        others = [c for c in self.chains if c is not mine]
        adjacent = _adjacent((c.start, c.end) for c in others)
        forward = mine.along[mine.edges.index(edge)]
        first, last = self._net.u[edge], self._net.v[edge]
        if not forward:
            first, last = last, first
        for outer, inner in _bonds(adjacent, mine.start, mine.end):
            crossing = [c for c in others if {c.start, c.end} & inner and {c.start, c.end} & outer]
            # what stands in a row between the parts belongs to the part that takes
            yield Opening(first, last, frozenset(c.at(outer) for c in crossing))
            yield Opening(last, first, frozenset(c.at(inner) for c in crossing))

    def splits(self, node: int) -> Iterator[list[Split]]:
        """For each part of the rings that only a node holds together: all the ways it may feed and take there.
        Raises TooMuch."""
        rest = [c for c in self.chains if node not in {c.start, c.end}]
        own = [c for c in self.chains if (c.start == node) != (c.end == node)]
        adjacent = _adjacent((c.start, c.end) for c in rest)
        left = {c.end if c.start == node else c.start for c in own}
        while left:
            part = _reach(adjacent, left.pop(), set())
            left -= part
            mine = [c for c in own if c.start in part or c.end in part]
            inner = [c for c in rest if c.start in part]
            # The node stands twice: as -1, which is fed, and as -2, from which is taken.  A way without any device may
            # also be open; all such ways to the same node are one.
            gates: dict[int, int] = {}
            alike: dict[int, int] = {}
            pairs = [(c.start, c.end) for c in inner]
            for number, chain in enumerate(mine):
                far = gate = chain.end if chain.start == node else chain.start
                if not any(self._net.is_device[e] for e in chain.edges):
                    gate = alike.setdefault(far, -3 - number)
                    pairs.append((gate, far))
                gates[id(chain)] = gate
                pairs += [(-1, gate), (-2, gate)]
            found = []
            for feeds, takes in _bonds(_adjacent(pairs), -1, -2):
                feeding, taking = (
                    frozenset(c.at({node}) for c in mine if gates[id(c)] in side and (c.start in side or c.end in side))
                    for side in (feeds, takes)
                )
                cut = frozenset(c.at(feeds) for c in inner if {c.start, c.end} & feeds and {c.start, c.end} & takes)
                found.append(Split(feeding, taking, cut))
            yield found


def _adjacent(pairs: Iterable[tuple[int, int]]) -> dict[int, set[int]]:
    adjacent: dict[int, set[int]] = {}
    for one, two in pairs:
        adjacent.setdefault(one, set()).add(two)
        adjacent.setdefault(two, set()).add(one)
    return adjacent


def _reach(adjacent: dict[int, set[int]], start: int, without: set[int]) -> set[int]:
    seen, waiting = {start}, [start]
    while waiting:
        for other in adjacent.get(waiting.pop(), ()):
            if other not in seen and other not in without:
                seen.add(other)
                waiting.append(other)
    return seen


def _bonds(adjacent: dict[int, set[int]], x: int, y: int) -> Iterator[tuple[set[int], set[int]]]:
    """Every way to part what hangs together with x or y into a part with x and one with y, each hanging together.

    Grown from y: with a node goes all that it cuts off from x; each neighbour once within and, for all that follow,
    once without.  Raises TooMuch.
    """
    everything = _reach(adjacent, x, set()) | _reach(adjacent, y, set())
    waiting = [({y}, frozenset[int]())]
    count = 0
    while waiting:
        inner, without = waiting.pop()
        outer = _reach(adjacent, x, inner)
        inner = everything - outer
        if inner & without:
            continue
        count += 1
        if count > GREATEST_OPENINGS:
            raise TooMuch(4 * count * len(everything))
        yield outer, inner
        for node in sorted({n for i in inner for n in adjacent.get(i, ())} - inner - without - {x}):
            waiting.append((inner | {node}, without))
            without |= {node}
