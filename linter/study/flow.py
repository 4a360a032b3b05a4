"""Greatest flow between two points of a small network, and the least cut nearest to where it ends.

Dinic's method: breadth-first levels, then blocking flows; without recursion.  Capacities may be infinite; an
infinite path ends the search, for then nothing limits the flow.  A flow once found answers for every edge at its sink
what it would be without that edge: only what the edge carries is led around it, if it can be.
"""

from __future__ import annotations

import math
from collections.abc import Hashable
from dataclasses import dataclass

# Sums of ratings are compared with this part of an ampere: far below any rating, far above rounding.
TOLERANCE_A = 1e-9
_NONE: frozenset[int] = frozenset()


@dataclass(frozen=True, slots=True)
class Flow:
    """``value`` in A (infinite where nothing limits it); ``cut`` the labels of the arcs that limit it."""

    value: float
    cut: tuple[Hashable, ...]


UNLIMITED = Flow(math.inf, ())


class FlowNetwork:
    """Arcs with capacities in A; the same network serves many questions, each from the full capacities.

    ``visited``: how many nodes all searches together have come to, the measure of the work done.
    """

    def __init__(self, nodes: int) -> None:
        self._out: list[list[int]] = [[] for _ in range(nodes)]
        self._to: list[int] = []
        self._capacity: list[float] = []
        self._label: list[Hashable] = []
        # source -> by node, the arc by which an infinite path comes to it; -1 where none does
        self._unlimited: dict[int, list[int]] = {}
        self.visited = 0

    def add(self, u: int, v: int, forward: float, backward: float, label: Hashable) -> int:
        """An edge with a capacity each way; returns its number for ``removed``."""
        arc = len(self._to)
        self._out[u].append(arc)
        self._out[v].append(arc + 1)
        self._to += (v, u)
        self._capacity += (forward, backward)
        self._label += (label, label)
        self._unlimited.clear()
        return arc // 2

    def greatest(self, source: int, sink: int, removed: frozenset[int] = _NONE) -> Flow:
        """The greatest flow from ``source`` to ``sink`` with some edges removed."""
        if source == sink or self._is_unlimited(source, sink, removed):
            return UNLIMITED
        left, carried = self._start(removed)
        self._augment(source, sink, left, carried, math.inf)
        return self._limit(self._behind(sink, left), removed)

    def into(self, source: int, sink: int) -> Standing:
        """The same, kept, for questions about the edges at the sink."""
        return Standing(self, source, sink)

    def _start(self, removed: frozenset[int]) -> tuple[list[float], list[float]]:
        """What is left of every arc's capacity, and what each edge carries in the direction of its first arc."""
        left = list(self._capacity)
        for edge in removed:
            left[2 * edge] = left[2 * edge + 1] = 0.0
        return left, [0.0] * (len(left) // 2)

    def _is_unlimited(self, source: int, sink: int, removed: frozenset[int]) -> bool:
        """Whether an infinite path leads from the source to the sink."""
        if self._by_unlimited(source)[sink] < 0:
            return False
        if not removed:
            return True
        seen = {sink}
        waiting = [sink]
        while waiting:
            node = waiting.pop()
            for arc in self._out[node]:
                to = self._to[arc]
                if to not in seen and self._capacity[arc ^ 1] == math.inf and arc // 2 not in removed:
                    if to == source:
                        return True
                    seen.add(to)
                    waiting.append(to)
        self.visited += len(seen)
        return False

    def _by_unlimited(self, source: int) -> list[int]:
        found = self._unlimited.get(source)
        if found is None:
            found = self._unlimited[source] = [-1] * len(self._out)
            waiting = [source]
            for node in waiting:
                for arc in self._out[node]:
                    to = self._to[arc]
                    if found[to] < 0 and to != source and self._capacity[arc] == math.inf:
                        found[to] = arc
                        waiting.append(to)
            self.visited += len(waiting)
        return found

    def _augment(self, source: int, sink: int, left: list[float], carried: list[float], most: float) -> float:
        """Add to a flow all that still fits, but no more than ``most``; how much that is, A."""
        total = 0.0
        while total < most - TOLERANCE_A:
            level = self._levels(source, sink, left)
            if level[source] < 0:
                break
            pushed = self._block(source, sink, left, carried, level, most - total)
            if pushed <= TOLERANCE_A:
                break
            total += pushed
        return total

    def _levels(self, source: int, sink: int, left: list[float]) -> list[int]:
        """How many arcs lie between each node and the sink, as far out as the source; -1 beyond."""
        out, to_ = self._out, self._to
        level = [-1] * len(out)
        level[sink] = 0
        waiting = [sink]
        for node in waiting:
            further = level[node] + 1
            for arc in out[node]:
                if left[arc ^ 1] > TOLERANCE_A:
                    to = to_[arc]
                    if level[to] < 0:
                        level[to] = further
                        waiting.append(to)
            if level[source] >= 0:
                break
        self.visited += len(waiting)
        return level

    def _block(
        self, source: int, sink: int, left: list[float], carried: list[float], level: list[int], most: float
    ) -> float:
        """Push along shortest paths until none is left or ``most`` is pushed; the sum, A."""
        next_arc = [0] * len(self._out)
        total = 0.0
        path: list[int] = []
        node = source
        while True:
            if node == sink:
                least = min(most - total, min(left[a] for a in path))
                total += least
                for arc in path:
                    left[arc] -= least
                    left[arc ^ 1] += least
                    carried[arc // 2] += least if arc % 2 == 0 else -least
                if total >= most - TOLERANCE_A:
                    return total
                path, node = [], source
                continue
            arcs = self._out[node]
            while next_arc[node] < len(arcs):
                arc = arcs[next_arc[node]]
                if left[arc] > TOLERANCE_A and level[self._to[arc]] == level[node] - 1:
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

    def _behind(self, sink: int, left: list[float]) -> list[int]:
        """The nodes from which something could still be pushed to the sink."""
        out, to_ = self._out, self._to
        inside = bytearray(len(out))
        inside[sink] = 1
        waiting = [sink]
        for node in waiting:
            for arc in out[node]:
                # arc leads from node; its twin leads into node
                if left[arc ^ 1] > TOLERANCE_A:
                    to = to_[arc]
                    if not inside[to]:
                        inside[to] = 1
                        waiting.append(to)
        self.visited += len(waiting)
        return waiting

    def _limit(self, behind: list[int], removed: frozenset[int]) -> Flow:
        """The flow that a least cut lets pass: the sum of the arcs that lead into the nodes behind it."""
        inside = set(behind)
        arcs = sorted(
            arc ^ 1
            for node in behind
            for arc in self._out[node]
            if self._to[arc] not in inside and self._capacity[arc ^ 1] > 0 and arc // 2 not in removed
        )
        labels = dict.fromkeys(self._label[arc] for arc in arcs)
        return Flow(math.fsum(self._capacity[arc] for arc in arcs), tuple(labels))


class Standing:
    """The greatest flow from a source to a sink, and what it is without any one of the edges at the sink."""

    def __init__(self, network: FlowNetwork, source: int, sink: int) -> None:
        self._network, self._source, self._sink = network, source, sink
        self._first: dict[int, int] = {}
        self._left: list[float] = []
        self._carried: list[float] = []
        if source == sink or network._is_unlimited(source, sink, _NONE):
            self.flow = UNLIMITED
            return
        self._left, self._carried = network._start(_NONE)
        network._augment(source, sink, self._left, self._carried, math.inf)
        self.flow = network._limit(network._behind(sink, self._left), _NONE)
        for arc in network._out[sink]:
            # by which edge the search back from the sink first comes to each of its neighbours
            if self._left[arc ^ 1] > TOLERANCE_A:
                self._first.setdefault(network._to[arc], arc // 2)

    def without(self, edge: int) -> Flow:
        """The greatest flow with an edge at the sink removed; the very same object where the edge changes nothing."""
        network, sink = self._network, self._sink
        arc = 2 * edge if network._to[2 * edge] == sink else 2 * edge + 1
        other = network._to[arc ^ 1]
        if other == sink or self._source == sink:
            return self.flow
        if self.flow is UNLIMITED:
            if network._by_unlimited(self._source)[sink] != arc:
                return self.flow
            return network.greatest(self._source, sink, frozenset((edge,)))
        carries = abs(self._carried[edge])
        if carries <= TOLERANCE_A and self._first.get(other) != edge:
            return self.flow
        left = list(self._left)
        left[arc] = left[arc ^ 1] = 0.0
        if carries > TOLERANCE_A:
            # What the edge brought is led around it; what cannot be goes back to the source, which touches no node
            # that still leads to the sink, and so neither the value nor the cut.
            network._augment(other, sink, left, list(self._carried), carries)
        return network._limit(network._behind(sink, left), frozenset((edge,)))
