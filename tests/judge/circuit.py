"""The JSON of a circuit as something one can ask: what can reach a point, and along which paths."""

from __future__ import annotations

import itertools
import math
from collections.abc import Iterable, Iterator
from functools import cached_property
from typing import Any

import networkx as nx

NONE: frozenset[int] = frozenset()
# Flows are computed in whole microamperes, so that networkx's answer is exact.
MICRO = 1_000_000
# The node behind all sources.
SUPPLY = "\0S"


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
        # what each source can give, amperes
        self.supply: dict[str, float] = {
            name: math.inf if n["source"]["limit_a"] is None else float(n["source"]["limit_a"])
            for name, n in self.nodes.items()
            if n["source"]
        }
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
        """The same with exactly these edges gone: all others, one by one, as they are."""
        arcs = []
        for i, edge in enumerate(self.edges):
            if i not in gone:
                arcs.append((edge["from"], edge["to"], self.capacity(i), bool(edge["one_way"])))
        return networkx_flow(arcs, self.supply, target)

    def capacity(self, i: int) -> float:
        """Amperes that an edge lets persist: a device its rating, if it has one."""
        limit = self.edges[i]["rated_a"] if self.is_device(i) else None
        return math.inf if limit is None else float(limit)

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

    def sources_before(self, node: str, gone: frozenset[int]) -> frozenset[str]:
        """The sources from which current can come to a node."""
        return frozenset(self.reach(node, gone, backwards=True, devices=True) & self.supply.keys())

    def sources_joined(self, node: str, gone: frozenset[int]) -> frozenset[str]:
        """The sources that hang together with a node, whichever way diodes conduct."""
        seen, waiting = {node}, [node]
        while waiting:
            for i, to in self.links[waiting.pop()]:
                if to not in seen and i not in gone:
                    seen.add(to)
                    waiting.append(to)
        return frozenset(seen & self.supply.keys())

    @cached_property
    def rings(self) -> list[int]:
        """The edges whose ends hang together without them too."""
        return [i for i in range(len(self.edges)) if self.in_ring(i, devices=True)]

    def hang_together(self, one: str, two: str, gone: frozenset[int]) -> bool:
        """Whether two nodes hang together by anything but some edges, whichever way it conducts."""
        seen, waiting = {one}, [one]
        while waiting:
            for i, to in self.links[waiting.pop()]:
                if to not in seen and i not in gone:
                    seen.add(to)
                    waiting.append(to)
        return two in seen

    def uses(self, start: str, gone: frozenset[int]) -> bool:
        """Whether current can come from ``start`` to a load or a battery."""
        seen, waiting = {start}, [start]
        while waiting:
            node = waiting.pop()
            facts = self.nodes[node]
            if facts["load"] or (facts["source"] and facts["source"]["kind"] == "battery"):
                return True
            for _, to in self.steps(node, gone):
                if to not in seen:
                    seen.add(to)
                    waiting.append(to)
        return False

    def in_ring(self, i: int, devices: bool = False) -> bool:
        """Whether the ends of an edge hang together without it too."""
        u, v = self.ends(i)
        return v in self.joined(u, i, devices)

    def dead_end(self, node: str) -> bool:
        """One single edge, and nothing that uses or gives current; not a position of a selector left free."""
        facts = self.nodes[node]
        spare = facts["kind"] == "selector terminal"
        return len(self.at[node]) == 1 and not facts["load"] and not facts["source"] and not spare


def networkx_flow(arcs: list[tuple[str, str, float, bool]], supply: dict[str, float], target: str) -> float:
    """Maximum flow from all sources together; parallel edges add up, an edge without limit has no capacity given."""
    graph: nx.DiGraph[str] = nx.DiGraph()
    graph.add_node(target)
    ends = [(u, v, a) for u, v, a, _ in arcs] + [(v, u, a) for u, v, a, one_way in arcs if not one_way]
    ends += [(SUPPLY, node, a) for node, a in supply.items()]
    capacity: dict[tuple[str, str], float] = {}
    for u, v, amps in ends:
        capacity[u, v] = capacity.get((u, v), 0.0) + amps
    for (u, v), amps in capacity.items():
        if math.isinf(amps):
            graph.add_edge(u, v)
        else:
            graph.add_edge(u, v, capacity=round(amps * MICRO))
    if SUPPLY not in graph or not nx.has_path(graph, SUPPLY, target):
        return 0.0
    try:
        value, _ = nx.maximum_flow(graph, SUPPLY, target)
    except nx.NetworkXUnbounded:
        return math.inf
    return float(value / MICRO)
