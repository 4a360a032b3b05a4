"""Let-through: the current that can persist in a conductor without anything opening, and its guard.

    let_through(c) = max( maxflow(S, u in G - c), maxflow(S, v in G - c) )

with a device's capacity its rating, a self-limiting source's the most it can give, everything else unlimited; over
all sources together and the worst choice of selector positions.  The least cut is the conductor's guard.
Along bridges that is a minimum carried outwards; inside a block it is a real maximum flow.
"""

from __future__ import annotations

import math
from dataclasses import dataclass, field
from functools import cached_property

from linter.study.flow import Flow, FlowNetwork, Standing
from linter.study.net import Block, Decomposition, Net

# A guard's members: an edge's index for a device, -1 - node for a source that limits itself.
Guard = tuple[int, ...]
_ENTRY = "entry"
_NONE: frozenset[int] = frozenset()
# Nodes that the searches of one block may come to before its selectors are no longer looked at position by position:
# some ten seconds of reckoning, for which it takes hundreds of loops and many selectors.
GREATEST_VISITED = 20_000_000


@dataclass(frozen=True, slots=True)
class Reach:
    """The current in A that can persist into a point, and what limits it; no guard where nothing does."""

    amps: float
    guard: Guard


NOTHING = Reach(0.0, ())


@dataclass(slots=True)
class LetThrough:
    """What can persist into each end of each edge with that edge itself taken out (both ends: amperes and guard)."""

    net: Net
    parts: Decomposition
    into_u: list[Reach]
    into_v: list[Reach]
    # what can persist into a node over everything; only for nodes from which a bridge leads outwards
    into_node: dict[int, Reach]
    # the same for every node inside a block at which chains of edges meet
    at_node: dict[int, Reach] = field(default_factory=dict)
    # whether somewhere there was too much to look at, so that all positions count as closed together
    joined: bool = False
    # elements whose current (what can flow through them) is at most too large: too many ways to look at
    bounded: set[str] = field(default_factory=set)
    # the work of all supplies asked for, in nodes visited
    visited: int = 0
    # by node: the piece of its block as a flow network
    _wholes: dict[int, _Whole] = field(default_factory=dict)

    def of(self, edge: int) -> Reach:
        """The let-through of an edge: the worse of its two sides."""
        one, two = self.into_u[edge], self.into_v[edge]
        return one if one.amps >= two.amps else two

    def supply(
        self, node: int, removed: frozenset[int], opened: frozenset[int] = _NONE, among: frozenset[int] = _NONE
    ) -> float:
        """maxflow(S, node) in A with some edges taken out, worst choice of positions; S's own ties stay.  With
        ``among`` only the choices in which of these edges just ``opened`` are open."""
        best = math.inf
        parts, net = self.parts, self.net
        if not removed and not among and node in self.at_node:
            return self.at_node[node].amps
        while True:
            index = parts.block_of[node]
            if index < 0:
                return 0.0
            block = parts.blocks[index]
            if index == 0 or len(block.nodes) > 1:
                whole = self._whole(node, block)
                before = whole.visited
                best = min(best, whole.supply(node, removed, opened, among))
                self.visited += whole.visited - before
                self.joined |= whole.joined
                if index == 0 or best <= 0:
                    return best
                node = block.entry
            bridge = parts.bridge_to[node]
            if bridge in removed:
                return 0.0
            outward = net.forward[bridge] if net.v[bridge] == node else net.backward[bridge]
            best = min(best, outward)
            node = net.other(bridge, node)

    def _whole(self, node: int, block: Block) -> _Whole:
        if node not in self._wholes:
            for piece in core_pieces(self.net, block):
                self._wholes |= dict.fromkeys(piece.nodes, _Whole(self.net, piece))
        return self._wholes[node]


class _Whole:
    """One block as a flow network, unreduced, for questions about single nodes.  Its entry counts as unlimited."""

    def __init__(self, net: Net, block: Block) -> None:
        self._net, self._block = net, block
        self._number = {n: i + 1 for i, n in enumerate(block.nodes)}
        self._network = FlowNetwork(len(block.nodes) + 1)
        self._edge = {
            e: self._network.add(self._number[net.u[e]], self._number[net.v[e]], net.forward[e], net.backward[e], e)
            for e in block.edges
        }
        for node, limit in _supplies(net, block, math.inf):
            self._network.add(0, self._number[node], limit, 0.0, node)

    @cached_property
    def _open(self) -> list[frozenset[int]]:
        return _openings(self._net, self._block)

    def supply(self, node: int, removed: frozenset[int], opened: frozenset[int], among: frozenset[int]) -> float:
        here = opened & self._edge.keys()
        # no choice of positions gives more than everything closed
        most = self._value(node, removed | here)
        if self._open == [_NONE] or self.joined:
            return most
        best = 0.0
        for choice in self._open:
            if choice & among != here:
                continue
            best = max(best, self._value(node, removed | choice))
            if best >= most:
                break
        return best

    @property
    def joined(self) -> bool:
        """Whether positions were no longer looked at one by one."""
        return len(self._open) > 1 and self._network.visited > GREATEST_VISITED

    @property
    def visited(self) -> int:
        return self._network.visited

    def _value(self, node: int, removed: frozenset[int]) -> float:
        out = frozenset(self._edge[e] for e in removed if e in self._edge)
        return self._network.greatest(0, self._number[node], out).value


def _supplies(net: Net, block: Block, entry_a: float) -> list[tuple[int, float]]:
    if block.entry >= 0:
        return [(block.entry, entry_a)]
    return [(n, net.limit[n]) for n in block.nodes if n in net.limit]


def _openings(net: Net, block: Block) -> list[frozenset[int]]:
    """The choices of positions as far as they touch this block, each once."""
    edges = frozenset(block.edges)
    return list(dict.fromkeys(c & edges for c in net.configurations))


def let_through(net: Net, parts: Decomposition) -> LetThrough:
    """Let-through and guard of every edge.  Linear in the trees; in a block a flow for each node where chains meet."""
    count = len(net.u)
    into_u: list[Reach] = [NOTHING] * count
    into_v: list[Reach] = [NOTHING] * count
    result = LetThrough(net, parts, into_u, into_v, {})
    children: dict[int, list[int]] = {}
    for edge, node in enumerate(parts.leads_to):
        if node >= 0:
            children.setdefault(net.other(edge, node), []).append(edge)
    for index, block in enumerate(parts.blocks):
        entry = NOTHING
        if index:
            entry = _over_bridge(result, parts.bridge_to[block.entry], block.entry)
        if index and len(block.nodes) == 1:
            node = block.nodes[0]
            result.into_node[node] = entry
            for edge in net.circuit.nodes[node].edges:
                if net.u[edge] == net.v[edge]:
                    into_u[edge] = into_v[edge] = entry
        else:
            for piece in core_pieces(net, block):
                _Reduced(net, piece, entry, children).solve(result)
    for node, edges in children.items():
        reach = result.into_node.get(node, NOTHING)
        for edge in edges:
            if net.u[edge] == node:
                into_u[edge] = reach
            else:
                into_v[edge] = reach
    return result


def _over_bridge(result: LetThrough, bridge: int, node: int) -> Reach:
    """What comes over a bridge: the least of what stands before it and what it lets persist, the nearer guard
    where the two are equal."""
    net = result.net
    before = result.into_node.get(net.other(bridge, node), NOTHING)
    outward = net.forward[bridge] if net.v[bridge] == node else net.backward[bridge]
    if outward == 0.0:
        return NOTHING
    if outward <= before.amps and outward < math.inf:
        return Reach(outward, (bridge,))
    return before


def core_pieces(net: Net, block: Block) -> list[Block]:
    """The core falls apart into pieces that meet in S only; nothing flows from one to another."""
    if block.entry >= 0:
        return [block]
    piece_of: dict[int, int] = {}
    inside: dict[int, list[int]] = {n: [] for n in block.nodes}
    for edge in block.edges:
        inside[net.u[edge]].append(edge)
        inside[net.v[edge]].append(edge)
    pieces: list[Block] = []
    for start in block.nodes:
        if start in piece_of:
            continue
        piece = Block()
        pieces.append(piece)
        piece_of[start] = len(pieces)
        waiting = [start]
        while waiting:
            node = waiting.pop()
            piece.nodes.append(node)
            for edge in inside[node]:
                if net.u[edge] == node:
                    piece.edges.append(edge)
                other = net.other(edge, node)
                if other not in piece_of:
                    piece_of[other] = len(pieces)
                    waiting.append(other)
    return pieces


@dataclass(slots=True)
class _Chain:
    """Edges in a row between two branching nodes, nothing hanging from the nodes between."""

    start: int
    end: int
    edges: list[int]
    # whether each edge is walked from its u to its v
    along: list[bool]


class _Reduced:
    """A block with its chains drawn together: one flow for each end of a chain answers for all edges in it."""

    def __init__(self, net: Net, block: Block, entry: Reach, children: dict[int, list[int]]) -> None:
        self.net, self.block, self.entry, self.children = net, block, entry, children
        self._inside: dict[int, list[int]] = {n: [] for n in block.nodes}
        for edge in block.edges:
            self._inside[net.u[edge]].append(edge)
            self._inside[net.v[edge]].append(edge)
        self._supplies = _supplies(net, block, entry.amps)
        fed = {n for n, _ in self._supplies}
        self._branching = {n for n in block.nodes if n in fed or n in children or len(self._inside[n]) != 2}

    @cached_property
    def chains(self) -> list[_Chain]:
        net, seen, found = self.net, set[int](), list[_Chain]()
        for node in self.block.nodes:
            if node not in self._branching:
                continue
            for first in self._inside[node]:
                if first in seen:
                    continue
                chain = _Chain(node, node, [], [])
                at, edge = node, first
                while True:
                    seen.add(edge)
                    chain.edges.append(edge)
                    chain.along.append(net.u[edge] == at)
                    at = net.other(edge, at)
                    if at in self._branching:
                        break
                    one, two = self._inside[at]
                    edge = two if one == edge else one
                chain.end = at
                found.append(chain)
        return found

    @cached_property
    def _positions(self) -> frozenset[int]:
        """The edges of selectors that close one position at a time."""
        return frozenset[int]().union(*_openings(self.net, self.block))

    @cached_property
    def _ends(self) -> dict[int, list[int]]:
        """By branching node: the chains that end there, by their indices."""
        ends: dict[int, list[int]] = {n: [] for n in self._branching}
        for index, chain in enumerate(self.chains):
            for node in {chain.start, chain.end}:
                ends[node].append(index)
        return ends

    def solve(self, result: LetThrough) -> None:
        """The worst of all positions.  With everything closed nothing can be less: what has come to that in one
        position is not looked at in the next; and where there is too much to look at, that is what is taken."""
        openings = _openings(self.net, self.block)
        if len(openings) == 1:
            self._solve(result, openings[0], None)
            return
        count = len(self.net.u)
        closed = LetThrough(self.net, result.parts, [NOTHING] * count, [NOTHING] * count, {})
        visited = self._solve(closed, frozenset(), None)
        for opened in openings:
            visited += self._solve(result, opened, closed)
            if visited > GREATEST_VISITED:
                result.joined = True
                self._take_over(result, closed)
                return

    def _solve(self, result: LetThrough, opened: frozenset[int], closed: LetThrough | None) -> int:
        """One choice of positions; ``closed``: what no choice can exceed.  Gives the work done, in nodes visited."""
        number = {n: i + 1 for i, n in enumerate(sorted(self._branching))}
        network = FlowNetwork(len(number) + 1)
        caps: list[tuple[list[float], list[float]]] = []
        for index, chain in enumerate(self.chains):
            ahead, back = self._capacities(chain, opened)
            caps.append((ahead, back))
            network.add(number[chain.start], number[chain.end], min(ahead), min(back), index)
        for node, amps in self._supplies:
            label = _ENTRY if self.block.entry >= 0 else -1 - node
            network.add(0, number[node], amps, 0.0, label)
        for node, at in number.items():
            ends = self._ends[node]
            if closed is not None:
                ends = [i for i in ends if not self._settled(result, closed, node, i)]
                known = result.at_node.get(node)
                if not ends and known is not None and known.amps >= closed.at_node[node].amps:
                    continue
            self._around(result, node, ends, network.into(0, at), caps)
        return network.visited

    def _settled(self, result: LetThrough, closed: LetThrough, node: int, index: int) -> bool:
        """Whether what comes to the chain's end at a node is already all that can."""
        chain = self.chains[index]
        if chain.start == chain.end or not self._positions.isdisjoint(chain.edges):
            return False
        first = chain.edges[0 if chain.start == node else -1]
        side = 0 if self.net.u[first] == node else 1
        return (result.into_u, result.into_v)[side][first].amps >= (closed.into_u, closed.into_v)[side][first].amps

    def _take_over(self, result: LetThrough, closed: LetThrough) -> None:
        for edge in self.block.edges:
            for into, most in ((result.into_u, closed.into_u), (result.into_v, closed.into_v)):
                if most[edge].amps > into[edge].amps:
                    into[edge] = most[edge]
        for kept, greatest in ((result.at_node, closed.at_node), (result.into_node, closed.into_node)):
            for node, reach in greatest.items():
                _keep_greater(kept, node, reach)

    def _around(
        self,
        result: LetThrough,
        node: int,
        ends: list[int],
        standing: Standing,
        caps: list[tuple[list[float], list[float]]],
    ) -> None:
        """What one flow says: of its node, and of the chains that end there."""
        whole = self._reach(standing.flow, caps)
        _keep_greater(result.at_node, node, whole)
        if node in self.children:
            _keep_greater(result.into_node, node, whole)
        for index in ends:
            chain, (ahead, back) = self.chains[index], caps[index]
            flow = standing.without(index)
            reach = whole if flow is standing.flow else self._reach(flow, caps)
            if chain.start == node:
                self._along(result, chain, ahead, reach, True)
            if chain.end == node:
                self._along(result, chain, back, reach, False)

    def _capacities(self, chain: _Chain, opened: frozenset[int]) -> tuple[list[float], list[float]]:
        ahead, back = [], []
        for edge, along in zip(chain.edges, chain.along, strict=True):
            forward, backward = self.net.forward[edge], self.net.backward[edge]
            if edge in opened:
                forward = backward = 0.0
            ahead.append(forward if along else backward)
            back.append(backward if along else forward)
        return ahead, back

    def _reach(self, flow: Flow, caps: list[tuple[list[float], list[float]]]) -> Reach:
        if flow.value == math.inf or flow.value <= 0:
            return Reach(flow.value, ())
        guard: dict[int, None] = {}
        for label in flow.cut:
            if label == _ENTRY:
                guard.update(dict.fromkeys(self.entry.guard))
            elif isinstance(label, int) and label < 0:
                guard[label] = None
            elif isinstance(label, int):
                # The chain's own least device; where it is a device both ways have the same rating.
                ahead, back = caps[label]
                either = [max(a, b) for a, b in zip(ahead, back, strict=True)]
                least = min(range(len(either)), key=either.__getitem__)
                guard[self.chains[label].edges[least]] = None
        return Reach(flow.value, tuple(guard))

    def _along(self, result: LetThrough, chain: _Chain, caps: list[float], reach: Reach, ahead: bool) -> None:
        """Carry what reaches one end of a chain along it, into each edge in turn."""
        indices = range(len(chain.edges))
        for i in indices if ahead else reversed(indices):
            edge = chain.edges[i]
            # walking with the edge's own direction we come to its u first
            into = result.into_u if chain.along[i] == ahead else result.into_v
            if reach.amps > into[edge].amps:
                into[edge] = reach
            capacity = caps[i]
            if capacity == 0.0:
                reach = NOTHING
            elif capacity <= reach.amps and capacity < math.inf:
                reach = Reach(capacity, (edge,))


def _keep_greater(kept: dict[int, Reach], node: int, reach: Reach) -> None:
    before = kept.get(node)
    if before is None or reach.amps > before.amps:
        kept[node] = reach
