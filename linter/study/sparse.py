"""Nodal equations of a resistance network, solved by taking one node out after the other, the least joined first.

Taking a node out leaves between its neighbours what current found through it (star to mesh); that is the LDL'
factorisation of the nodal matrix.  The conductance to earth is carried by itself instead of hiding in the diagonal, so
nothing is ever subtracted and every figure keeps its relative accuracy however far apart the conductances are.

The *selected inverse* (Takahashi, Fagan and Chin 1973) gives the entries of the inverse where the factor has any: the
resistance between each node and earth, and the transfer resistance between the ends of each edge, at the cost of one
factorisation.
"""

from __future__ import annotations

from dataclasses import dataclass
from heapq import heapify, heappop, heappush

# Beyond this many products one factorisation takes some ten seconds; a boat's largest mesh takes a thousand.
GREATEST_WORK = 20_000_000


class TooDense(ValueError):
    """The mesh is joined so closely that solving it would take too long."""


@dataclass(slots=True)
class Selected:
    """Entries of the inverse of the nodal matrix, in ohm."""

    # by node: between it and earth
    own: list[float]
    # by node: to each node that it is joined with, in the network or while it was taken out
    to: list[dict[int, float]]


@dataclass(slots=True)
class Factor:
    """A factored nodal matrix.  Nodes are numbered from 0."""

    order: list[int]
    # by node: all its conductance in S at the time it was taken out
    pivot: list[float]
    # by node: to whom it was joined then, with the share of its current that goes there
    shares: list[list[tuple[int, float]]]

    def solve(self, injected: list[float]) -> list[float]:
        """Voltages in V over earth where these currents in A are put into the nodes."""
        found = list(injected)
        shares, pivot = self.shares, self.pivot
        for k in self.order:
            amps = found[k]
            if amps:
                for j, share in shares[k]:
                    found[j] += share * amps
        for k in reversed(self.order):
            volts = found[k] / pivot[k]
            for j, share in shares[k]:
                volts += share * found[j]
            found[k] = volts
        return found

    def selected(self) -> Selected:
        """The inverse on the pattern of the factor."""
        own = [0.0] * len(self.pivot)
        to: list[dict[int, float]] = [{} for _ in own]
        for k in reversed(self.order):
            shares = self.shares[k]
            whole = 1.0 / self.pivot[k]
            mine = to[k]
            for i, _ in shares:
                there = to[i]
                ohm = 0.0
                for j, share in shares:
                    ohm += share * (own[i] if i == j else there[j])
                mine[i] = ohm
            for i, share in shares:
                whole += share * mine[i]
                to[i][k] = mine[i]
            own[k] = whole
        return Selected(own, to)


def factor(earth: list[float], ties: list[dict[int, float]]) -> Factor:
    """Factor a nodal matrix: ``earth`` the conductance in S of each node to earth, ``ties`` the conductances between
    nodes, given from both ends.  Both lists are used up.

    Raises ValueError if a node is tied to earth over nothing, TooDense if it would take too long.
    """
    count = len(earth)
    order: list[int] = []
    pivot = [0.0] * count
    shares: list[list[tuple[int, float]]] = [[] for _ in earth]
    waiting = [(len(row), k) for k, row in enumerate(ties)]
    heapify(waiting)
    out = bytearray(count)
    work = 0
    while waiting:
        degree, k = heappop(waiting)
        row = ties[k]
        if out[k] or degree != len(row):
            continue
        out[k] = 1
        order.append(k)
        down = earth[k]
        whole = down + sum(row.values())
        if not whole > 0.0:
            raise ValueError("a node of the network is tied to earth over nothing")
        pivot[k] = whole
        work += degree * degree
        if work > GREATEST_WORK:
            raise TooDense(f"more than {GREATEST_WORK} products")
        mine = shares[k] = [(j, siemens / whole) for j, siemens in row.items()]
        for j, share in mine:
            del ties[j][k]
            if down:
                earth[j] += share * down
        for a, (i, share) in enumerate(mine):
            there = ties[i]
            for j, _ in mine[a + 1 :]:
                siemens = share * row[j]
                there[j] = there.get(j, 0.0) + siemens
                ties[j][i] = there[j]
        for j, _ in mine:
            heappush(waiting, (len(ties[j]), j))
    return Factor(order, pivot, shares)
