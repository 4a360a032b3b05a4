"""The star-mesh transformation: nodes of a network of conductances eliminated one by one, and walked back.

Conductances between nodes are only added and multiplied, never subtracted, so that a fuse of 0.1 µΩ beside a cable of
1 Ω costs no figures.  Leaves first, then the node with the fewest neighbours: linear on trees.
"""

from __future__ import annotations

import heapq
from dataclasses import dataclass


@dataclass(frozen=True, slots=True)
class Way:
    """A link between two nodes; a diode's lets current pass from ``u`` to ``v`` only, at the cost of ``drop_v``."""

    u: int
    v: int
    ohm: float
    drop_v: float = 0.0
    one_way: bool = False


class Elimination:
    """The order in which nodes are eliminated; found once, used for every step.  ``last``: a node that is not to be
    eliminated as a leaf."""

    def __init__(self, count: int, ways: list[Way], last: int = -1) -> None:
        self.ways = ways
        between: list[dict[int, list[int]]] = [{} for _ in range(count)]
        for index, way in enumerate(ways):
            between[way.u].setdefault(way.v, []).append(index)
            between[way.v].setdefault(way.u, []).append(index)
        # (node, its only neighbour, the ways between them)
        self.leaves: list[tuple[int, int, list[int]]] = []
        degree = [len(b) for b in between]
        left = bytearray(b"\1") * count
        waiting = [n for n in range(count) if degree[n] == 1]
        while waiting:
            node = waiting.pop()
            if degree[node] != 1 or not left[node] or node == last:
                continue
            left[node] = 0
            other = next(n for n in between[node] if left[n])
            self.leaves.append((node, other, between[node][other]))
            degree[other] -= 1
            degree[node] = 0
            if degree[other] == 1:
                waiting.append(other)
        self.rest = [n for n in range(count) if left[n]]
        self.rest_ways = [(n, m, indices) for n in self.rest for m, indices in between[n].items() if n < m and left[m]]
        self._leaf_g: list[float] = []
        self._rest_g: dict[int, dict[int, float]] = {}
        self._order: list[int] = []
        self._done: list[tuple[int, dict[int, float], float]] = []
        self._leaf_done: list[tuple[float, float]] = []

    def conductances(self, siemens: list[float]) -> None:
        """Take the conductance of every way, in S."""
        self._leaf_g = [sum([siemens[i] for i in indices]) for _, _, indices in self.leaves]
        self._rest_g = {n: {} for n in self.rest}
        for n, m, indices in self.rest_ways:
            total = sum([siemens[i] for i in indices])
            self._rest_g[n][m] = self._rest_g[m][n] = total

    def solve(self, to_reference: list[float], given: list[float]) -> list[float] | None:
        """Volts by node, from conductances to the reference in S and currents given to the nodes in A; None where the
        matrix is not positive definite.  Both lists are used up."""
        d, b = to_reference, given
        weights = self._leaf_done = []
        for (node, other, _), g in zip(self.leaves, self._leaf_g, strict=True):
            own = d[node]
            pivot = g + own
            if pivot <= 0.0:
                return None
            w = g / pivot
            weights.append((w, pivot))
            d[other] += w * own
            b[other] += w * b[node]
        if not self._star_mesh(d, b):
            return None
        volts = [0.0] * len(d)
        for node, near, pivot in reversed(self._done):
            volts[node] = (b[node] + sum([g * volts[m] for m, g in near.items()])) / pivot
        for (node, other, _), (w, pivot) in zip(reversed(self.leaves), reversed(weights), strict=True):
            volts[node] = w * volts[other] + b[node] / pivot
        return volts

    def _star_mesh(self, d: list[float], b: list[float]) -> bool:
        near = {n: dict(m) for n, m in self._rest_g.items()}
        done = self._done = []
        if self._order:
            return all(self._eliminate(node, near, d, b, done) for node in self._order)
        heap = [(len(m), n) for n, m in near.items()]
        heapq.heapify(heap)
        order: list[int] = []
        while heap:
            degree, node = heapq.heappop(heap)
            if node not in near or len(near[node]) != degree:
                continue
            touched = list(near[node])
            if not self._eliminate(node, near, d, b, done):
                return False
            order.append(node)
            for other in touched:
                heapq.heappush(heap, (len(near[other]), other))
        self._order = order
        return True

    @staticmethod
    def _eliminate(
        node: int, near: dict[int, dict[int, float]], d: list[float], b: list[float],
        done: list[tuple[int, dict[int, float], float]],
    ) -> bool:  # fmt: skip
        star = near.pop(node)
        pivot = d[node] + sum(star.values())
        if pivot <= 0.0:
            return False
        own, into = d[node], b[node]
        items = list(star.items())
        for place, (other, g) in enumerate(items):
            share = g / pivot
            d[other] += share * own
            b[other] += share * into
            row = near[other]
            del row[node]
            for third, h in items[:place]:
                row[third] = near[third][other] = row.get(third, 0.0) + share * h
        done.append((node, star, pivot))
        return True

    def own_resistances(self) -> list[float]:
        """By node, the resistance in ohm between it and the reference, all else as in the last `solve`: the diagonal of
        the inverse, walked back along the elimination (Takahashi, Fagan, Chin 1973; from memory)."""
        size = max([n for n, _, _ in self._done] + [n for n, _, _ in self.leaves], default=-1) + 1
        own = [0.0] * size
        inverse: dict[int, dict[int, float]] = {}
        for node, star, pivot in reversed(self._done):
            row = {}
            for other in star:
                row[other] = sum(g * (own[t] if t == other else inverse[other][t]) for t, g in star.items()) / pivot
            for other, value in row.items():
                inverse[other][node] = value
            inverse[node] = row
            own[node] = (1.0 + sum(g * row[m] for m, g in star.items())) / pivot
        for (node, other, _), (w, pivot) in zip(reversed(self.leaves), reversed(self._leaf_done), strict=True):
            own[node] = 1.0 / pivot + w * w * own[other]
        return own
