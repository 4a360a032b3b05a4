"""What flows into a fault and through each edge: the nodal equations of the whole network, solved with numpy.

A source is a voltage behind a resistance; one that limits itself is a current beside others that hold the voltage.  Of
diodes every state is tried, and the one that agrees with itself is taken.
"""

from __future__ import annotations

import itertools
import math
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from .circuit import Network
from .fault_bands import Floats
from .fault_figures import cable_ohm, limit, source_cases

# Stands in for no resistance at all; and what holds a node that hangs free.
NIL = 1e-7
FREE_S = 1e-6
LARGEST, SMALLEST = 0, 1


@dataclass(frozen=True)
class Question:
    """Which sources feed (nodes), what is open (edges), and in which case.  ``bare``: a device that is replaced by a
    conductor of no impedance, as the prospective current is defined (IEC 60050-441-17-01, from memory)."""

    sources: frozenset[str]
    opened: frozenset[int]
    case: int
    bare: int = -1


@dataclass(frozen=True)
class Live:
    """The part of a network through which a fault at a node can set current: nodes with their places, edges with the
    places of their ends, ohm by case and volts of drop; and its number."""

    at: dict[str, int]
    edges: NDArray[np.int64]
    u: NDArray[np.int64]
    v: NDArray[np.int64]
    ohm: Floats
    drops: Floats
    number: int


@dataclass(frozen=True)
class Linear:
    """A part of a network as long as no diode turns: voltages without a fault, the inverse of the nodal matrix, and the
    edges that carry something; for each of them the nodes at its ends (places in the matrix), siemens, volts of drop."""

    rest: Floats
    inverse: Floats
    edges: list[int]
    u: NDArray[np.int64]
    v: NDArray[np.int64]
    siemens: Floats
    drops: Floats


class FaultNetwork:
    """Resistances and sources of a network in both cases."""

    def __init__(self, net: Network) -> None:
        self.net = net
        self.ohm: list[tuple[float, float]] = []
        self.missing: set[int] = set()
        for i, edge in enumerate(net.edges):
            if edge["kind"] == "conductor":
                pair = cable_ohm(edge)
                if pair is None:
                    self.missing.add(i)
                    pair = (math.inf, math.inf)
            else:
                stated = edge.get("resistance_ohm")
                pair = (stated[0], stated[1]) if stated else (0.0, 0.0)
            self.ohm.append((max(pair[0], NIL), max(pair[1], NIL)))
        self.firm: dict[str, tuple[tuple[float, float] | None, ...]] = {}
        # what it gives until its electronics act, which a device may have to break; and what lasts, and heats
        self.limited: dict[str, tuple[float, float]] = {}
        for name, node in net.nodes.items():
            source = node["source"]
            if source and source["limit_a"] is not None:
                self.limited[name] = limit(source, True), limit(source, False)
            elif source:
                system = net.system(name)
                self.firm[name] = source_cases(source, system["voltage_v"] if system else None)
        self.diodes = [i for i, e in enumerate(net.edges) if e["one_way"]]
        self._solved: dict[tuple[int, Question, frozenset[int]], Linear] = {}
        self._lives: dict[str, Live] = {}
        self._alike: dict[tuple[str, ...], Live] = {}
        self._reach: dict[tuple[str, frozenset[int]], frozenset[str]] = {}

    def before(self, node: str, opened: frozenset[int]) -> frozenset[str]:
        """The sources from which current can come to a node."""
        key = node, opened
        if key not in self._reach:
            self._reach[key] = self.net.sources_before(node, opened)
        return self._reach[key]

    def hangs_together(self, node: str) -> frozenset[str]:
        return self.net.sources_joined(node, frozenset())

    def drop(self, i: int) -> float:
        return self.net.edges[i].get("drops_v") or 0.0

    def live(self, node: str) -> Live:
        """Nodes and edges that a fault at a node can set current through: not what hangs by one edge without a source."""
        if node not in self._lives:
            left = {n: {i for i in edges if self.net.other(i, n) != n} for n, edges in self.net.at.items()}
            idle = [n for n in left if len(left[n]) <= 1 and n != node and n not in self.net.supply]
            while idle:
                n = idle.pop()
                for i in left.pop(n, ()):
                    other = self.net.other(i, n)
                    left[other].discard(i)
                    if len(left[other]) <= 1 and other != node and other not in self.net.supply:
                        idle.append(other)
            names = tuple(left)
            if names not in self._alike:
                at = {n: k for k, n in enumerate(names)}
                edges = sorted(set().union(*left.values()))
                ends = np.array([[at[n] for n in self.net.ends(i)] for i in edges], dtype=np.int64).reshape(-1, 2)
                drops = np.array([self.drop(i) if self.net.edges[i]["one_way"] else 0.0 for i in edges])
                ohm = np.array([self.ohm[i] for i in edges]).reshape(-1, 2)
                self._alike[names] = Live(at, np.array(edges, np.int64), *ends.T, ohm, drops, len(self._alike))
            self._lives[node] = self._alike[names]
        return self._lives[node]

    def _linear(self, live: Live, q: Question, blocked: frozenset[int]) -> Linear:
        key = live.number, q, blocked
        if key in self._solved:
            return self._solved[key]
        size, at = len(live.at), live.at
        matrix, into = np.zeros((size, size)), np.zeros(size)
        matrix[np.diag_indices(size)] += FREE_S
        ohm = np.where(live.edges == q.bare, NIL, live.ohm[:, q.case])
        out = np.isin(live.edges, [*q.opened, *blocked]) | np.isinf(ohm)
        u, v, siemens, drops = live.u[~out], live.v[~out], 1 / ohm[~out], live.drops[~out]
        for one, other in ((u, v), (v, u)):
            np.add.at(matrix, (one, one), siemens)
            np.add.at(matrix, (one, other), -siemens)
        np.add.at(into, u, drops * siemens)
        np.add.at(into, v, -drops * siemens)
        for name in q.sources:
            k = at[name]
            if name in self.limited:
                into[k] += self.limited[name][0 if q.bare >= 0 else 1]
            else:
                pair = self.firm[name][q.case]
                assert pair is not None
                matrix[k, k] += 1 / max(pair[1], NIL)
                into[k] += pair[0] / max(pair[1], NIL)
        inverse = np.linalg.inv(matrix)
        made = Linear(inverse @ into, inverse, live.edges[~out].tolist(), u, v, siemens, drops)
        self._solved[key] = made
        return made

    def fault(self, q: Question, node: str, more_ohm: Floats) -> tuple[Floats, dict[int, Floats]]:
        """(A into a fault at a node behind each of these resistances, A by edge that carries some)."""
        live = self.live(node)
        at, x = live.at, live.at[node]
        ways = [i for i in self.diodes if i not in q.opened and i in live.edges]
        fault_a = np.full(more_ohm.shape, np.nan)
        through: dict[int, Floats] = {}
        for count in range(len(ways) + 1):
            for blocked in itertools.combinations(ways, count):
                now = self._linear(live, q, frozenset(blocked))
                column = now.inverse[:, x]
                amps = np.maximum(now.rest[x], 0.0) / (column[x] + more_ohm)
                agrees = np.isnan(fault_a)
                for i in ways:
                    u, v = (at[n] for n in self.net.ends(i))
                    ahead = now.rest[u] - now.rest[v] - (column[u] - column[v]) * amps - self.drop(i)
                    agrees &= ahead <= 1e-6 if i in blocked else ahead >= -1e-6
                if not agrees.any():
                    continue
                fault_a = np.where(agrees, amps, fault_a)
                still = (now.rest[now.u] - now.rest[now.v] - now.drops) * now.siemens
                share = (column[now.u] - column[now.v]) * now.siemens
                everywhere = bool(agrees.all())
                for i, flows in zip(now.edges, still[:, None] - share[:, None] * amps, strict=True):
                    known = through.get(i)
                    through[i] = flows if everywhere else np.where(agrees, flows, 0.0 if known is None else known)
                if not np.isnan(fault_a).any():
                    return fault_a, through
        return fault_a, through

    def known(self, sources: frozenset[str], case: int) -> bool:
        return all(self.firm[s][case] is not None for s in sources if s in self.firm)

    def together(self, node: str) -> list[frozenset[str]]:
        """All sources that hang together with a node; and, where voltages differ, the higher without the lower."""
        joined = self.hangs_together(node)
        firm = {s: pair[LARGEST] for s in joined if (pair := self.firm.get(s)) is not None}
        limited = joined & self.limited.keys()
        # who gives an unknown current besides takes nothing from what the others give
        firm = {s: pair for s, pair in firm.items() if pair is not None}
        if not firm:
            return []
        levels = sorted({pair[0] for pair in firm.values() if pair is not None})
        return [
            frozenset(limited | {s for s, pair in firm.items() if pair is not None and pair[0] >= level})
            for level in levels
        ]  # fmt: skip

    def limited_only(self, node: str) -> float:
        """The most that sources which all limit themselves can give a node together."""
        return sum(self.limited[s][LARGEST] for s in self.before(node, frozenset()) if s in self.limited)


def device_edges(net: Network) -> list[int]:
    return [i for i, e in enumerate(net.edges) if e["kind"] == "device"]


def series_devices(flow: FaultNetwork, node: str, sources: frozenset[str], opened: frozenset[int]) -> list[int]:
    """The devices without which no current comes from any of these sources to a node, the nearest to it last."""
    net, edges = flow.net, [i for i in flow.live(node).edges.tolist() if i not in opened]
    into: dict[str, list[tuple[int, str]]] = {}
    for i in edges:
        u, v = net.ends(i)
        into.setdefault(v, []).append((i, u))
        if not net.edges[i]["one_way"]:
            into.setdefault(u, []).append((i, v))

    def before(without: int) -> set[str]:
        seen, waiting = {node}, [node]
        while waiting:
            for i, other in into.get(waiting.pop(), ()):
                if i != without and other not in seen:
                    seen.add(other)
                    waiting.append(other)
        return seen

    reached = before(-1) & sources
    found = [(len(left), d) for d in edges if net.is_device(d) and not (left := before(d)) & reached] if reached else []
    # what is cut off with fewer nodes is nearer
    return [d for _, d in sorted(found, reverse=True)]
