"""The circuit as plain arrays, and its decomposition: two-edge-connected blocks, and the bridges between them.

A boat is nearly a tree.  Add one node S tied to every source; the block that S is in is the core, everything else
hangs from it by bridges.  Blocks are solved exactly, bridges are walked once, so the cost grows with the boat.
"""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import dataclass, field
from itertools import chain, product

from linter.model.circuit import Circuit

# More combinations of selectors that close one position at a time than any boat has; beyond it all are taken as
# closed, which can only make a verdict stricter.
GREATEST_CONFIGURATIONS = 256


@dataclass(slots=True)
class Net:
    """Edges as arrays. ``forward[e]`` and ``backward[e]``: the current in A that can persist from u to v and back."""

    circuit: Circuit
    u: list[int]
    v: list[int]
    forward: list[float]
    backward: list[float]
    is_device: list[bool]
    # source limit in A by node
    limit: dict[int, float]
    # each: the edges that are open while one choice of positions is made
    configurations: list[frozenset[int]]
    # whether there were too many configurations, so that all positions count as closed together
    joined_configurations: bool = False

    def other(self, edge: int, node: int) -> int:
        return self.v[edge] if self.u[edge] == node else self.u[edge]


def net_of(circuit: Circuit) -> Net:
    """Arrays for a circuit.  A device lets its rated current persist (unlimited where nobody gave it); a diode lets
    current pass one way; everything else lets any current persist."""
    u, v, forward, backward, is_device = [], [], [], [], []
    for edge in circuit.edges:
        u.append(edge.u)
        v.append(edge.v)
        capacity = math.inf
        if edge.kind == "device":
            rated = edge.device.rated_a
            capacity = math.inf if rated is None else rated
        is_device.append(edge.kind == "device")
        forward.append(capacity)
        backward.append(0.0 if edge.one_way else capacity)
    limit: dict[int, float] = {}
    for node in circuit.nodes:
        if node.source is not None:
            limit[node.index] = node.source.limit_a
    groups = [positions for _, positions in circuit.excluding()]
    count = math.prod(len(g) for g in groups)
    configurations = [frozenset[int]()]
    if groups and count <= GREATEST_CONFIGURATIONS:
        every = frozenset(e for g in groups for p in g for e in p)
        configurations = [every - frozenset(e for chosen in choice for e in chosen) for choice in product(*groups)]
    return Net(circuit, u, v, forward, backward, is_device, limit, configurations, count > GREATEST_CONFIGURATIONS)


@dataclass(slots=True)
class Block:
    """A two-edge-connected piece.  ``entry`` is the node by which it hangs from what feeds it; -1 for the core."""

    nodes: list[int] = field(default_factory=list)
    edges: list[int] = field(default_factory=list)
    entry: int = -1


@dataclass(slots=True)
class Decomposition:
    """The blocks in the order in which current reaches them, and for each node the bridge it hangs from."""

    blocks: list[Block]
    # node -> its block; -1: no source reaches it
    block_of: list[int]
    # node -> the bridge by which its block hangs (only for entry nodes), else -1
    bridge_to: list[int]
    # edge -> it is a bridge, and leads away from the sources to this node; -1 for edges inside blocks
    leads_to: list[int]
    # nodes from the sources outwards
    order: list[int]


def decompose(net: Net) -> Decomposition:
    """Blocks and bridges of the net with S.  Linear: one depth-first search, without recursion.

    One-way edges count as if they led both ways, which makes a block at most larger than it need be.
    """
    nodes = net.circuit.nodes
    count = len(nodes)
    root = count
    incident: list[list[int]] = [node.edges for node in nodes]
    sources = list(net.limit)
    # the edge S - source is numbered behind the real ones
    real = len(net.u)
    source_at = {real + i: n for i, n in enumerate(sources)}
    tie_of = {n: real + i for i, n in enumerate(sources)}

    # Which position of a selector is closed must be chosen once for all of its edges: they stay in one block.
    kept_together = {e for _, positions in net.circuit.excluding() for edges in positions for e in edges}
    found = [-1] * (count + 1)
    low = [0] * (count + 1)
    parent_edge = [-1] * (count + 1)
    order: list[int] = []
    is_bridge = bytearray(real + len(sources))
    found[root] = 0
    clock = 1
    stack: list[tuple[int, Iterator[int]]] = [(root, iter(source_at))]
    u, v = net.u, net.v
    while stack:
        node, rest = stack[-1]
        entered_by = parent_edge[node]
        for edge in rest:
            if edge == entered_by:
                continue
            if edge >= real:
                other = source_at[edge] if node == root else root
            else:
                other = v[edge] if u[edge] == node else u[edge]
            if found[other] < 0:
                found[other] = low[other] = clock
                clock += 1
                parent_edge[other] = edge
                order.append(other)
                ahead = iter(incident[other]) if other not in tie_of else chain(incident[other], (tie_of[other],))
                stack.append((other, ahead))
                break
            if found[other] < low[node]:
                low[node] = found[other]
        else:
            stack.pop()
            if not stack:
                break
            above = stack[-1][0]
            if low[node] > found[above] and entered_by not in kept_together:
                is_bridge[entered_by] = 1
            if low[node] < low[above]:
                low[above] = low[node]
    return _collect(net, found, parent_edge, order, is_bridge, real)


def _collect(
    net: Net, found: list[int], parent_edge: list[int], order: list[int], is_bridge: bytearray, real: int
) -> Decomposition:
    """Blocks from the bridges.  What hangs at S by one tie alone, a single source, is its own core."""
    count = len(net.circuit.nodes)
    block_of = [-1] * count
    bridge_to = [-1] * count
    leads_to = [-1] * real
    blocks: list[Block] = []
    core = Block()
    blocks.append(core)
    for node in order:
        edge = parent_edge[node]
        if edge >= real:
            block_of[node] = 0
            core.nodes.append(node)
            continue
        above = net.other(edge, node)
        if is_bridge[edge]:
            block_of[node] = len(blocks)
            blocks.append(Block([node], [], node))
            bridge_to[node] = edge
            leads_to[edge] = node
        else:
            block_of[node] = block_of[above]
            blocks[block_of[node]].nodes.append(node)
    for edge in range(real):
        here = block_of[net.u[edge]]
        if here >= 0 and here == block_of[net.v[edge]] and leads_to[edge] < 0 and net.u[edge] != net.v[edge]:
            blocks[here].edges.append(edge)
    return Decomposition(blocks, block_of, bridge_to, leads_to, order)
