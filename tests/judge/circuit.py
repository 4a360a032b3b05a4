"""The JSON of a circuit as something one can ask: what can reach a point, and along which paths."""

from __future__ import annotations

import itertools
import math
from collections.abc import Iterable, Iterator
from typing import Any

import networkx as nx

NONE: frozenset[int] = frozenset()
# Flows are computed in whole microamperes, so that networkx's answer is exact.
MICRO = 1_000_000


class Network:
    """Nodes by name and edges by number; numbers because two links may carry the same id."""

    def __init__(self, data: dict[str, Any]) -> None:
        self.data = data
        self.nodes: dict[str, dict[str, Any]] = {n["id"]: n for n in data["nodes"]}
        self.edges: list[dict[str, Any]] = data["edges"]
        self.systems = {s["name"]: s for s in data["systems"]}
        self.places = {p["name"]: p for p in data["places"]}
        self.rulebooks: list[str] = data["boat"]["rulebooks"]
        self.at: dict[str, list[int]] = {name: [] for name in self.nodes}
        for i, edge in enumerate(self.edges):
            self.at[edge["from"]].append(i)
            if edge["to"] != edge["from"]:
                self.at[edge["to"]].append(i)
        self.number = {e["id"]: i for i, e in enumerate(self.edges)}
        self.links = {n: [(i, self.other(i, n)) for i in edges] for n, edges in self.at.items()}
        # what limits current or its direction; everything else joins its ends to one point
        self._limiting = {
            i for i, e in enumerate(self.edges) if e["one_way"] or (e["kind"] == "device" and e["rated_a"] is not None)
        }
        self._whole: dict[str, str] | None = None
        self.configurations = list(self._configurations())

    def _configurations(self) -> Iterator[frozenset[int]]:
        """The edges that are open, for each choice of positions of selectors that close one at a time."""
        choices: list[list[frozenset[int]]] = []
        for selector in self.data["selectors"]:
            if not selector["one_at_a_time"]:
                continue
            mine = [i for i, e in enumerate(self.edges) if e["kind"] == "selector" and e["element"] == selector["name"]]
            positions = sorted({self.edges[i]["position"] for i in mine})
            if len(positions) > 1:
                choices.append([frozenset(i for i in mine if self.edges[i]["position"] != p) for p in positions])
        for chosen in itertools.product(*choices):
            yield frozenset().union(*chosen)

    def ends(self, i: int) -> tuple[str, str]:
        return self.edges[i]["from"], self.edges[i]["to"]

    def other(self, i: int, node: str) -> str:
        u, v = self.ends(i)
        return v if node == u else u

    def is_device(self, i: int) -> bool:
        return bool(self.edges[i]["kind"] == "device")

    def conductors(self) -> list[int]:
        return [i for i, e in enumerate(self.edges) if e["kind"] == "conductor"]

    def system(self, node: str) -> dict[str, Any] | None:
        return self.systems.get(self.nodes[node]["system"] or "")

    def system_of(self, edge: dict[str, Any]) -> dict[str, Any] | None:
        return self.system(edge["from"]) or self.system(edge["to"])

    # ---- flow
    def flow(self, target: str, without: Iterable[int] = NONE) -> float:
        """The most that can reach ``target`` with nothing opening, over all positions of the selectors; amperes."""
        gone = frozenset(without)
        return max(self.flow_in(target, gone | opened) for opened in self.configurations)

    def flow_in(self, target: str, gone: frozenset[int]) -> float:
        """The same with exactly these edges gone.  What conducts both ways without limit is one point; points at
        which nothing enters and which lead nowhere carry nothing: neither changes the flow."""
        one = self._points(gone)
        arcs: list[tuple[str, str, float, bool]] = []
        for i in self._limiting:
            if i in gone:
                continue
            edge = self.edges[i]
            u, v = one[edge["from"]], one[edge["to"]]
            if u != v:
                limit = edge["rated_a"] if self.is_device(i) else None
                arcs.append((u, v, math.inf if limit is None else limit, bool(edge["one_way"])))
        supply: dict[str, float] = {}
        for name, node in self.nodes.items():
            if not node["source"]:
                continue
            limit = node["source"]["limit_a"]
            supply[one[name]] = supply.get(one[name], 0.0) + (math.inf if limit is None else limit)
        return _maximum(arcs, supply, one[target])

    def _points(self, gone: frozenset[int]) -> dict[str, str]:
        """Each node's point, by the name of one node of it; only points that an edge is gone from are made anew."""
        if self._whole is None:
            self._whole = self._grown(self.nodes, NONE)
        hurt = {self._whole[self.edges[i]["from"]] for i in gone if i not in self._limiting}
        if not hurt:
            return self._whole
        return self._whole | self._grown([n for n, p in self._whole.items() if p in hurt], gone)

    def _grown(self, nodes: Iterable[str], gone: frozenset[int]) -> dict[str, str]:
        point: dict[str, str] = {}
        for start in nodes:
            if start in point:
                continue
            point[start] = start
            waiting = [start]
            while waiting:
                node = waiting.pop()
                for i in self.at[node]:
                    to = self.other(i, node)
                    if i not in self._limiting and i not in gone and to not in point:
                        point[to] = start
                        waiting.append(to)
        return point

    def plain_flow_in(self, target: str, gone: frozenset[int]) -> float:
        """As ``flow_in``, edge by edge without any shortening: to check the shortening with."""
        arcs = []
        for i, edge in enumerate(self.edges):
            if i not in gone:
                limit = edge["rated_a"] if self.is_device(i) else None
                arcs.append((edge["from"], edge["to"], math.inf if limit is None else limit, bool(edge["one_way"])))
        supply = {
            name: math.inf if n["source"]["limit_a"] is None else n["source"]["limit_a"]
            for name, n in self.nodes.items()
            if n["source"]
        }
        return networkx_flow(arcs, supply, target)

    # ---- walking
    def steps(self, node: str, gone: frozenset[int], backwards: bool = False) -> Iterator[tuple[int, str]]:
        """Edges that lead on from ``node`` (or to it), and where they lead."""
        for i, to in self.links[node]:
            if i in gone:
                continue
            edge = self.edges[i]
            if edge["one_way"] and (edge["to"] if backwards else edge["from"]) != node:
                continue
            yield i, to

    def reach(self, start: str, gone: frozenset[int], backwards: bool = False, devices: bool = False) -> set[str]:
        """Every node that can be come to from ``start`` (from which it can be come to, backwards)."""
        seen = {start}
        waiting = [start]
        while waiting:
            for i, to in self.steps(waiting.pop(), gone, backwards):
                if to not in seen and (devices or not self.is_device(i)):
                    seen.add(to)
                    waiting.append(to)
        return seen

    def joined(self, start: str, without: int, devices: bool = False) -> set[str]:
        """What hangs together with ``start`` by anything but one edge (and but devices), whichever way it conducts."""
        seen, waiting = {start}, [start]
        while waiting:
            node = waiting.pop()
            for i in self.at[node]:
                to = self.other(i, node)
                if i != without and (devices or not self.is_device(i)) and to not in seen:
                    seen.add(to)
                    waiting.append(to)
        return seen

    def dead_end(self, node: str) -> bool:
        """One single edge, and nothing that uses or gives current."""
        facts = self.nodes[node]
        return len(self.at[node]) == 1 and not facts["load"] and not facts["source"]


def _maximum(arcs: list[tuple[str, str, float, bool]], supply: dict[str, float], target: str) -> float:
    degree: dict[str, set[int]] = {}
    for k, (u, v, _, _) in enumerate(arcs):
        degree.setdefault(u, set()).add(k)
        degree.setdefault(v, set()).add(k)
    idle = [n for n, ks in degree.items() if len(ks) == 1 and n != target and n not in supply]
    dropped: set[int] = set()
    while idle:
        node = idle.pop()
        for k in list(degree[node]):
            dropped.add(k)
            for end in arcs[k][:2]:
                degree[end].discard(k)
                if len(degree[end]) == 1 and end != target and end not in supply:
                    idle.append(end)
    return networkx_flow([a for k, a in enumerate(arcs) if k not in dropped], supply, target)


def networkx_flow(arcs: list[tuple[str, str, float, bool]], supply: dict[str, float], target: str) -> float:
    """Maximum flow from all sources together; parallel edges add up, an edge without limit has no capacity given."""
    graph: nx.DiGraph[str] = nx.DiGraph()
    graph.add_node(target)
    ends = [(u, v, a) for u, v, a, _ in arcs] + [(v, u, a) for u, v, a, one_way in arcs if not one_way]
    ends += [("\0S", node, a) for node, a in supply.items()]
    capacity: dict[tuple[str, str], float] = {}
    for u, v, amps in ends:
        capacity[u, v] = capacity.get((u, v), 0.0) + amps
    for (u, v), amps in capacity.items():
        if math.isinf(amps):
            graph.add_edge(u, v)
        else:
            graph.add_edge(u, v, capacity=round(amps * MICRO))
    if "\0S" not in graph or not nx.has_path(graph, "\0S", target):
        return 0.0
    try:
        value, _ = nx.maximum_flow(graph, "\0S", target)
    except nx.NetworkXUnbounded:
        return math.inf
    return float(value / MICRO)
