"""Greatest flow between two points of a small network, and the least cut nearest to where it ends.

Dinic's method: breadth-first levels, then blocking flows; without recursion.  Capacities may be infinite; an
infinite path ends the search, for then nothing limits the flow.
"""

from __future__ import annotations

import math
from collections import deque
from collections.abc import Hashable
from dataclasses import dataclass

# Sums of ratings are compared with this part of an ampere: far below any rating, far above rounding.
TOLERANCE_A = 1e-9


@dataclass(frozen=True, slots=True)
class Flow:
    """``value`` in A (infinite where nothing limits it); ``cut`` the labels of the arcs that limit it."""

    value: float
    cut: tuple[Hashable, ...]


class FlowNetwork:
    """Arcs with capacities; the same network serves many questions, each from the full capacities."""

    def __init__(self, nodes: int) -> None:
        self._out: list[list[int]] = [[] for _ in range(nodes)]
        self._to: list[int] = []
        self._capacity: list[float] = []
        self._label: list[Hashable] = []

    def add(self, u: int, v: int, forward: float, backward: float, label: Hashable) -> int:
        """An edge with a capacity each way; returns its number for ``removed``."""
        arc = len(self._to)
        self._out[u].append(arc)
        self._out[v].append(arc + 1)
        self._to += (v, u)
        self._capacity += (forward, backward)
        self._label += (label, label)
        return arc // 2

    def greatest(self, source: int, sink: int, removed: frozenset[int] = frozenset()) -> Flow:
        """The greatest flow from ``source`` to ``sink`` with some edges removed."""
        if source == sink:
            return Flow(math.inf, ())
        left = list(self._capacity)
        for edge in removed:
            left[2 * edge] = left[2 * edge + 1] = 0.0
        total = 0.0
        while True:
            level = self._levels(source, left)
            if level[sink] < 0:
                break
            pushed = self._block(source, sink, left, level)
            if pushed == math.inf:
                return Flow(math.inf, ())
            if pushed <= TOLERANCE_A:
                break
            total += pushed
        return Flow(total, self._cut(sink, left, removed))

    def _levels(self, source: int, left: list[float]) -> list[int]:
        level = [-1] * len(self._out)
        level[source] = 0
        waiting = deque([source])
        while waiting:
            node = waiting.popleft()
            for arc in self._out[node]:
                to = self._to[arc]
                if level[to] < 0 and left[arc] > TOLERANCE_A:
                    level[to] = level[node] + 1
                    waiting.append(to)
        return level

    def _block(self, source: int, sink: int, left: list[float], level: list[int]) -> float:
        """Push along shortest paths until none is left; the sum pushed, infinite if one path is."""
        next_arc = [0] * len(self._out)
        total = 0.0
        path: list[int] = []
        node = source
        while True:
            if node == sink:
                least = min(left[a] for a in path)
                if least == math.inf:
                    return math.inf
                total += least
                for arc in path:
                    left[arc] -= least
                    left[arc ^ 1] += least
                path, node = [], source
                continue
            arcs = self._out[node]
            while next_arc[node] < len(arcs):
                arc = arcs[next_arc[node]]
                if left[arc] > TOLERANCE_A and level[self._to[arc]] == level[node] + 1:
                    break
                next_arc[node] += 1
            else:
                if not path:
                    return total
                back = path.pop()
                node = self._to[back ^ 1]
                next_arc[node] += 1
                continue
            path.append(arc)
            node = self._to[arc]

    def _cut(self, sink: int, left: list[float], removed: frozenset[int]) -> tuple[Hashable, ...]:
        """The labels of the arcs that lead into the set of nodes from which the sink can still be reached."""
        inside = [False] * len(self._out)
        inside[sink] = True
        waiting = [sink]
        while waiting:
            node = waiting.pop()
            for arc in self._out[node]:
                # arc leads from node; its twin leads into node
                if left[arc ^ 1] > TOLERANCE_A and not inside[self._to[arc]]:
                    inside[self._to[arc]] = True
                    waiting.append(self._to[arc])
        labels: dict[Hashable, None] = {}
        for arc, to in enumerate(self._to):
            if inside[to] and not inside[self._to[arc ^ 1]] and self._capacity[arc] > 0 and arc // 2 not in removed:
                labels[self._label[arc]] = None
        return tuple(labels)
