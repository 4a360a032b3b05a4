"""What can flow through a bus, switch, relay or diode: the least of what may come from one side and leave by the other.

What joins without a device is one region.  Current comes into it from its sources and over devices behind which
sources are; it leaves over devices behind which something is, into loads, and into batteries that take a charge.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

from linter.study.current import draws_a
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

    @property
    def into(self) -> float:
        return math.inf if self.into_unlimited else self.into_a

    @property
    def out(self) -> float:
        return math.inf if self.out_unlimited else self.out_a


def through_currents(net: Net, parts: Decomposition) -> tuple[dict[int, float], dict[int, float]]:
    """(by edge, by node): the greatest current in A that can flow through each switch-like edge and each bus.

    Infinite where nothing limits it.  Linear: one walk over each region.
    """
    circuit = net.circuit
    by_edge: dict[int, float] = {}
    by_node: dict[int, float] = {}
    done = bytearray(len(circuit.nodes))
    wanted = {"bus", "selector"}
    for start in range(len(circuit.nodes)):
        if done[start] or parts.block_of[start] < 0:
            continue
        _region(net, parts, start, done, by_edge, by_node, wanted)
    return by_edge, by_node


def _region(
    net: Net, parts: Decomposition, start: int, done: bytearray, by_edge: dict[int, float], by_node: dict[int, float],
    wanted: set[str],
) -> None:  # fmt: skip
    circuit = net.circuit
    order = [start]
    parent = {start: -1}
    done[start] = 1
    tree = True
    for node in order:
        for edge in circuit.nodes[node].edges:
            if net.is_device[edge] or edge == parent[node]:
                continue
            other = net.other(edge, node)
            if other in parent:
                tree = False
                continue
            parent[other] = edge
            done[other] = 1
            order.append(other)
    own = {node: _own_ways(net, parts, node, parent) for node in order}
    below = {node: _Ways() for node in order}
    for node in reversed(order):
        below[node].add(own[node])
        if parent[node] >= 0:
            below[net.other(parent[node], node)].add(below[node])
    total = below[start]
    # where the region has a ring in it, each thing in it is taken to carry what the whole can
    whole = min(total.into, total.out)
    branches: dict[int, list[_Ways]] = {}
    for node in order[1:]:
        inner = below[node]
        outer = _Ways()
        outer.add(total)
        outer.add(inner, -1)
        edge = parent[node]
        if circuit.edges[edge].kind not in {"conductor", "link"}:
            by_edge[edge] = whole if not tree else max(min(inner.into, outer.out), min(outer.into, inner.out))
        branches.setdefault(node, []).append(outer)
        branches.setdefault(net.other(edge, node), []).append(inner)
    if not tree:
        for node in order:
            for edge in circuit.nodes[node].edges:
                if not net.is_device[edge] and circuit.edges[edge].kind not in {"conductor", "link"}:
                    by_edge[edge] = whole
    for node in order:
        if circuit.nodes[node].kind in wanted:
            ways = [*branches.get(node, ()), *_device_ways(net, parts, node, parent)]
            by_node[node] = whole if not tree else _best_split(ways)


def _own_ways(net: Net, parts: Decomposition, node: int, parent: dict[int, int]) -> _Ways:
    ways = _Ways()
    made = net.circuit.nodes[node]
    if made.source is not None:
        ways.add(_Ways.of(made.source.limit_a, math.inf if made.source.is_battery else 0.0))
    if made.load is not None:
        ways.add(_Ways.of(0.0, draws_a(made.load, made) or 0.0))
    for way in _device_ways(net, parts, node, parent):
        ways.add(way)
    return ways


def _device_ways(net: Net, parts: Decomposition, node: int, region: dict[int, int]) -> list[_Ways]:
    """One pair for each device that leads out of the region at ``node``."""
    found = []
    for edge in net.circuit.nodes[node].edges:
        if not net.is_device[edge]:
            continue
        other = net.other(edge, node)
        if other in region:
            continue
        rating = net.forward[edge]
        beyond = net.circuit.nodes[other]
        empty = len(beyond.edges) == 1 and beyond.load is None and beyond.source is None
        outwards = parts.leads_to[edge]
        if outwards == other:
            found.append(_Ways.of(0.0, 0.0 if empty else rating))
        elif outwards == node:
            found.append(_Ways.of(rating, 0.0))
        else:
            found.append(_Ways.of(rating, 0.0 if empty else rating))
    return found


def _best_split(ways: list[_Ways]) -> float:
    """The most that can flow from some branches to the others: each brings or takes, not both."""
    feeds = [w for w in ways if w.into > 0]
    rest = sum(w.out for w in ways if w.into <= 0)
    if not feeds:
        return 0.0
    if len(feeds) > GREATEST_FEEDS:
        return min(sum(w.into for w in feeds), rest + sum(w.out for w in feeds))
    best = 0.0
    for chosen in range(1, 1 << len(feeds)):
        into = sum(w.into for i, w in enumerate(feeds) if chosen >> i & 1)
        out = rest + sum(w.out for i, w in enumerate(feeds) if not chosen >> i & 1)
        best = max(best, min(into, out))
    return best
