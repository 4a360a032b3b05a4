"""Which devices stand in series on the way from a source: one search a source and state of the switches."""

from __future__ import annotations

from collections.abc import Collection, Container
from dataclasses import dataclass

from linter.study.net import Block, Net


@dataclass(frozen=True, slots=True)
class Chain:
    """Devices in series between sources and a point: edges, the nearest to the point last.  ``meshed``: on the way
    there are also devices side by side, which share the current.  ``ring``: the first node of the ring it is in."""

    devices: tuple[int, ...] = ()
    meshed: bool = False
    ring: int = -1

    def more(self, edge: int) -> Chain:
        return Chain((*self.devices, edge), self.meshed)


def chains_from(net: Net, piece: Block, source: int, opened: frozenset[int]) -> dict[int, Chain]:
    """By node of a piece of the core: the devices through which every way from one source leads.

    Two-edge-connected parts by one depth-first search; only bridges carry everything.  One-way elements lead forwards
    only, from where current comes to at all.
    """
    reached = _reached(net, piece, source, opened)
    incident: dict[int, list[int]] = {n: [] for n in piece.nodes}
    for edge in piece.edges:
        one_way = net.circuit.edges[edge].one_way
        leads = net.u[edge] in reached and (net.v[edge] in reached or not one_way)
        if edge not in opened and net.u[edge] != net.v[edge] and leads:
            incident[net.u[edge]].append(edge)
            incident[net.v[edge]].append(edge)
    found, low, parent = {source: 0}, {source: 0}, {source: -1}
    order, clock = [source], 1
    stack = [(source, iter(incident[source]))]
    while stack:
        node, rest = stack[-1]
        for edge in rest:
            if edge == parent[node]:
                continue
            other = net.other(edge, node)
            if other not in found:
                found[other] = low[other] = clock
                clock += 1
                parent[other] = edge
                order.append(other)
                stack.append((other, iter(incident[other])))
                break
            low[node] = min(low[node], found[other])
        else:
            stack.pop()
            if stack:
                above = stack[-1][0]
                low[above] = min(low[above], low[node])
    # each ring by the first of its nodes
    ring = {source: source}
    for node in order[1:]:
        above = net.other(parent[node], node)
        ring[node] = node if low[node] > found[above] else ring[above]
    shared = {ring[net.u[e]] for e in piece.edges if net.is_device[e] and _within(net, ring, e, opened)}
    chains = {source: Chain((), False, source)}
    for node in order[1:]:
        edge = parent[node]
        chain = chains[net.other(edge, node)]
        if ring[node] == node:
            devices = (*chain.devices, edge) if net.is_device[edge] else chain.devices
            chains[node] = Chain(devices, chain.meshed, node)
        else:
            # what hangs at the first node of a ring lies before the ring, not behind it
            chains[node] = Chain(chain.devices, chain.meshed or ring[node] in shared, ring[node])
    return chains


def _reached(net: Net, piece: Block, source: int, opened: frozenset[int]) -> set[int]:
    """The nodes of a piece to which current can come from a source, one-way elements only forwards."""
    inside = set(piece.edges) - opened
    seen, waiting = {source}, [source]
    while waiting:
        at = waiting.pop()
        for edge in net.circuit.nodes[at].edges:
            other = net.other(edge, at)
            if edge in inside and other not in seen and (net.u[edge] == at or not net.circuit.edges[edge].one_way):
                seen.add(other)
                waiting.append(other)
    return seen


def _within(net: Net, ring: dict[int, int], edge: int, opened: frozenset[int]) -> bool:
    """Whether an edge is one of a ring's, and no bridge."""
    here = ring.get(net.u[edge])
    return edge not in opened and here is not None and here == ring.get(net.v[edge])


def between_sources(net: Net, core_node: int, edges: Collection[int], sources: Container[int]) -> frozenset[int]:
    """Those of some edges that can lie between a node and a source, whichever way they lead; what leads to none carries
    nothing.  Linear."""
    ways: dict[int, list[int]] = {core_node: []}
    waiting = [core_node]
    for at in waiting:
        for edge in net.circuit.nodes[at].edges:
            if edge in edges:
                ways[at].append(edge)
                other = net.other(edge, at)
                if other not in ways:
                    ways[other] = []
                    waiting.append(other)
    left = {node: len(found) for node, found in ways.items()}
    found = {edge for between in ways.values() for edge in between}
    ends = [node for node, count in left.items() if count == 1]
    while ends:
        node = ends.pop()
        if left[node] != 1 or node == core_node or node in sources:
            continue
        edge = next(e for e in ways[node] if e in found)
        found.discard(edge)
        other = net.other(edge, node)
        left[node] = 0
        left[other] -= 1
        if left[other] == 1:
            ends.append(other)
    return frozenset(found)
