"""What is left of a network when its trees are peeled off: a few nodes, asked many times.

Two boats that differ in their trees only have the same core; what was found of it once is kept.
"""

from __future__ import annotations

import math
from collections import Counter
from dataclasses import dataclass
from functools import lru_cache

import networkx as nx

from .circuit import SUPPLY, networkx_flow

Arc = tuple[str, str, float, bool]
Opened = frozenset[int]
Links = dict[str, list[tuple[int, str]]]


# ---- the most that can persist


@lru_cache(maxsize=4096)
def flow_core(arcs: tuple[Arc, ...], supply: tuple[tuple[str, float], ...]) -> FlowCore:
    return FlowCore(arcs, dict(supply))


class FlowCore:
    """Maximum flows in one core.  What conducts both ways without limit is one point."""

    def __init__(self, arcs: tuple[Arc, ...], supply: dict[str, float]) -> None:
        self.arcs, self.supply = arcs, supply
        self._limiting = [k for k, (_, _, amps, one_way) in enumerate(arcs) if one_way or math.isfinite(amps)]
        self._joining: Links = {n: [] for n in supply}
        for k, (u, v, amps, one_way) in enumerate(arcs):
            self._joining.setdefault(u, [])
            self._joining.setdefault(v, [])
            if not one_way and math.isinf(amps):
                self._joining[u].append((k, v))
                self._joining[v].append((k, u))
        self._known: dict[tuple[str, Opened], float] = {}

    def flow(self, target: str, gone: Opened) -> float:
        key = target, gone
        if key not in self._known:
            self._known[key] = self._flow(target, gone)
        return self._known[key]

    def _flow(self, target: str, gone: Opened) -> float:
        one = self._points(gone)
        arcs: list[Arc] = []
        for k in self._limiting:
            u, v, amps, one_way = self.arcs[k]
            if k not in gone and one[u] != one[v]:
                arcs.append((one[u], one[v], amps, one_way))
        supply: dict[str, float] = {}
        for name, limit in self.supply.items():
            supply[one[name]] = supply.get(one[name], 0.0) + limit
        if math.isinf(supply.get(one[target], 0.0)):
            return math.inf
        arcs = _needed(arcs, supply, one[target])
        return _remembered(tuple(sorted(arcs)), tuple(sorted(supply.items())), one[target])

    def _points(self, gone: Opened) -> dict[str, str]:
        """By node the name of one node of its point."""
        point: dict[str, str] = {}
        for start in self._joining:
            if start in point:
                continue
            point[start] = start
            waiting = [start]
            while waiting:
                for k, to in self._joining[waiting.pop()]:
                    if k not in gone and to not in point:
                        point[to] = start
                        waiting.append(to)
        return point


def _needed(arcs: list[Arc], supply: dict[str, float], target: str) -> list[Arc]:
    """The arcs without those that lead to a point with no other arc, if nothing enters there and nobody asks for it."""
    degree: dict[str, set[int]] = {}
    for k, (u, v, _, _) in enumerate(arcs):
        degree.setdefault(u, set()).add(k)
        degree.setdefault(v, set()).add(k)
    idle = [n for n, ks in degree.items() if len(ks) == 1 and n != target and n not in supply]
    dropped: set[int] = set()
    for node in idle:
        for k in list(degree[node]):
            dropped.add(k)
            for end in arcs[k][:2]:
                degree[end].discard(k)
                if len(degree[end]) == 1 and end != target and end not in supply:
                    idle.append(end)
    return [a for k, a in enumerate(arcs) if k not in dropped]


@lru_cache(maxsize=100_000)
def _remembered(arcs: tuple[Arc, ...], supply: tuple[tuple[str, float], ...], target: str) -> float:
    return networkx_flow(list(arcs), dict(supply), target)


# ---- what flows by intention


@dataclass(frozen=True)
class CoreSource:
    """A source: what it gives by intention, and what of that charges; amperes."""

    node: str
    battery: bool
    gives: float
    charging: float


@dataclass(frozen=True)
class Passage:
    """Through an edge of the core in one direction: the core's nodes it leads to, those of them that batteries on that
    side feed; what may come; and whether a battery there may be charged if diodes are not looked at."""

    reached: frozenset[str]
    fed: frozenset[str]
    charge: float
    perhaps: float
    limit: float
    battery: bool


Edge = tuple[str, str, bool]


@lru_cache(maxsize=1024)
def current_core(edges: tuple[Edge, ...], sources: tuple[CoreSource, ...]) -> CurrentCore:
    return CurrentCore(edges, sources)


class CurrentCore:
    """What can come where in a core, while some of its edges (by number) are open and some sources off."""

    def __init__(self, edges: tuple[Edge, ...], sources: tuple[CoreSource, ...]) -> None:
        self.edges, self.sources = edges, sources
        self.links: Links = {s.node: [] for s in sources}
        self.forward: Links = {s.node: [] for s in sources}
        self.backward: Links = {s.node: [] for s in sources}
        for k, (u, v, one_way) in enumerate(edges):
            for links in (self.links, self.forward, self.backward):
                links.setdefault(u, [])
                links.setdefault(v, [])
            for a, b in ((u, v), (v, u)):
                self.links[a].append((k, b))
                if a == u or not one_way:
                    self.forward[a].append((k, b))
                    self.backward[b].append((k, a))
        self._passages: dict[tuple[int, Opened, frozenset[str]], list[Passage]] = {}
        self._rings: dict[Opened, dict[int, list[int]]] = {}
        self._between: dict[tuple[Opened, frozenset[str]], tuple[Opened, Opened]] = {}
        self._joined: dict[tuple[str, Opened], frozenset[str]] = {}
        self._feeding: dict[tuple[str, Opened], frozenset[str]] = {}

    def reach(self, start: str, gone: Opened, on: Links) -> set[str]:
        seen, waiting = {start}, [start]
        while waiting:
            for k, to in on[waiting.pop()]:
                if to not in seen and k not in gone:
                    seen.add(to)
                    waiting.append(to)
        return seen

    def on_among(self, nodes: set[str], off: frozenset[str]) -> list[CoreSource]:
        return [s for s in self.sources if s.node in nodes and s.node not in off]

    def most_into(self, node: str, opened: Opened, off: frozenset[str]) -> float:
        """What all sources give together from which current can come to a node."""
        before = self.sources_before(node, opened)
        return sum(s.gives for s in self.sources if s.node in before and s.node not in off)

    def sources_before(self, node: str, opened: Opened) -> frozenset[str]:
        """The sources from which current can come to a node."""
        key = node, opened
        if key not in self._feeding:
            reached = self.reach(node, opened, self.backward)
            self._feeding[key] = frozenset(s.node for s in self.sources if s.node in reached)
        return self._feeding[key]

    def sources_joined(self, node: str, opened: Opened) -> frozenset[str]:
        """The sources that hang together with a node, whichever way diodes conduct."""
        key = node, opened
        if key not in self._joined:
            reached = self.reach(node, opened, self.links)
            self._joined[key] = frozenset(s.node for s in self.sources if s.node in reached)
        return self._joined[key]

    def passages(self, k: int, opened: Opened, off: frozenset[str]) -> list[Passage]:
        """Both directions through an edge that parts the core, where a source is before it; none in a ring."""
        key = k, opened, off
        if key not in self._passages:
            u, v, one_way = self.edges[k]
            gone = opened | {k}
            made = []
            if v not in self.reach(u, gone, self.links):
                made = [self._passage(u, v, gone, off)]
                if not one_way:
                    made.append(self._passage(v, u, gone, off))
            self._passages[key] = [way for way in made if way]
        return self._passages[key]

    def _passage(self, start: str, end: str, gone: Opened, off: frozenset[str]) -> Passage | None:
        sources = self.on_among(self.reach(start, gone, self.backward), off)
        if not sources:
            return None
        batteries = {s.node for s in self.on_among(self.reach(end, gone, self.links), off) if s.battery}
        reached = self.reach(end, gone, self.forward)
        fed = frozenset[str]().union(*(self.reach(n, gone, self.forward) for n in batteries))
        charge = sum(s.charging for s in sources)
        return Passage(
            frozenset(reached), fed, charge if reached & batteries else 0.0, charge if batteries else 0.0,
            sum(s.gives for s in sources), bool(batteries),
        )  # fmt: skip

    def ring(self, k: int, opened: Opened) -> list[int]:
        """The edges of all rings that hang together with this one (networkx finds what is no ring: the bridges)."""
        if opened not in self._rings:
            graph: nx.Graph[str] = nx.Graph()
            closed = [e for e in range(len(self.edges)) if e not in opened]
            count = Counter(frozenset(self.edges[e][:2]) for e in closed)
            graph.add_edges_from(self.edges[e][:2] for e in closed)
            for u, v in list(nx.bridges(graph)):
                if count[frozenset((u, v))] == 1:
                    graph.remove_edge(u, v)
            ring_of = {n: r for r, nodes in enumerate(nx.connected_components(graph)) for n in nodes}
            rings: dict[int, list[int]] = {}
            for e in closed:
                if graph.has_edge(*self.edges[e][:2]):
                    rings.setdefault(ring_of[self.edges[e][0]], []).append(e)
            self._rings[opened] = {e: ring for ring in rings.values() for e in ring}
        return self._rings[opened].get(k, [])

    def between(self, opened: Opened, off: frozenset[str]) -> tuple[Opened, Opened]:
        """(edges in one ring with the sources, edges in any ring)"""
        key = opened, off
        if key not in self._between:
            graph: nx.Graph[str] = nx.Graph()
            closed = [k for k in range(len(self.edges)) if k not in opened]
            graph.add_node(SUPPLY)
            for k in closed:
                # a node in the middle of each edge keeps edges side by side apart
                graph.add_edges_from([(self.edges[k][0], f"\0{k}"), (f"\0{k}", self.edges[k][1])])
            graph.add_edges_from((SUPPLY, s.node) for s in self.sources if s.node not in off)
            graph.remove_edges_from(list(nx.bridges(graph)))
            core = nx.node_connected_component(graph, SUPPLY)
            rings = frozenset(k for k in closed if graph.degree(f"\0{k}") == 2)
            self._between[key] = frozenset(k for k in rings if f"\0{k}" in core), rings
        return self._between[key]
