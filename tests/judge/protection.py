"""Which conductors are protected, which stretches are short enough, and which are neither."""

from __future__ import annotations

import itertools
import math
from dataclasses import dataclass, field

import networkx as nx

from .allowed import allowed, bounded_only, strictest
from .circuit import Network
from .figures import DISTANCES

# Up to this many edges every simple path is tried; beyond it Dijkstra is trusted.
EXHAUSTIVE_EDGES = 14


@dataclass
class Verdict:
    """``verdict``: protected, within distance, too far, unprotected, unknown or cranking.

    ``others`` are verdicts that the words allow just as well (two ways of the same length, differently covered).
    """

    name: str
    let_through_a: float
    allowed_a: float | None
    verdict: str = "unknown"
    # the longest way to a device at the end of the stretch, from each supply point that may count
    longest_m: set[float] = field(default_factory=set)
    others: set[str] = field(default_factory=set)
    why: str = ""


class Protection:
    """The verdict on every conductor of a network."""

    def __init__(self, net: Network) -> None:
        self.net = net
        self.let: dict[int, float] = {}
        self.flows: dict[int, tuple[float, float]] = {}
        self.allow: dict[int, float | None] = {}
        for c in net.conductors():
            u, v = net.ends(c)
            self.flows[c] = (net.flow(u, {c}), net.flow(v, {c}))
            self.let[c] = max(self.flows[c])
            self.allow[c] = strictest([allowed(net, net.edges[c], book) for book in net.rulebooks])
        # thinner than a table's smallest row: what it allows is an upper bound, which can only condemn
        self.bounded = {c for c in self.let if any(bounded_only(net.edges[c]["size"], b) for b in net.rulebooks)}
        self.verdicts = {net.edges[c]["id"]: self._verdict(c) for c in net.conductors()}

    def exposed(self, c: int) -> bool:
        limit = self.allow[c]
        return limit is not None and self.let[c] > limit * (1 + 1e-9)

    def _verdict(self, c: int) -> Verdict:
        edge, limit = self.net.edges[c], self.allow[c]
        made = Verdict(edge["id"], self.let[c], limit)
        if limit is None:
            made.others = {"cranking"} if edge["cranking"] else set()
            return made
        if not self.exposed(c):
            made.verdict = "unknown" if c in self.bounded else "protected"
            if c in self.bounded and any(
                not bounded_only(edge["size"], book) and allowed(self.net, edge, book) == limit
                for book in self.net.rulebooks
            ):
                # the strictest figure is no bound but another rulebook's own: the words do not say which of the two it is
                made.others = {"protected"}
            return made
        if edge["cranking"]:
            made.verdict = "cranking"
            return made
        over = [flow > limit * (1 + 1e-9) for flow in self.flows[c]]
        if all(over):
            made.verdict, made.why = "unprotected", "fed from both ends"
            return made
        a, b = self.net.ends(c) if over[0] else self.net.ends(c)[::-1]
        self._stretch(c, a, b, made)
        return made

    def _stretch(self, c: int, a: str, b: str, made: Verdict) -> None:
        net, limit = self.net, self.allow[c]
        assert limit is not None
        gone = frozenset({c})
        region = net.reach(b, gone)
        made.verdict = "unprotected"
        for node in region:
            if net.nodes[node]["source"] or net.nodes[node]["load"]:
                made.why = f"{node} stands before any device"
                return
            if net.dead_end(node):
                made.why = f"it ends at {node}, in nothing"
                return
        ends: list[tuple[int, str]] = []
        for d, edge in enumerate(net.edges):
            inside = [n for n in net.ends(d) if n in region]
            if edge["kind"] == "device" and len(inside) == 1 and not net.dead_end(net.other(d, inside[0])):
                ends.append((d, inside[0]))
        if not ends:
            made.why = "no device"
            return
        ratings = [net.edges[d]["rated_a"] for d, _ in ends]
        total = math.inf if None in ratings else sum(ratings)
        if total > limit * (1 + 1e-9):
            made.why = f"the devices at its end let {total} A through"
            return
        self._distance(c, a, b, region, ends, made)

    def _distance(self, c: int, a: str, b: str, region: set[str], ends: list[tuple[int, str]], made: Verdict) -> None:
        net = self.net
        edge = net.edges[c]
        supplies = self._supplies(c, a)
        per_device: list[set[str]] = []
        longest: dict[float, float] = {}
        for _, node in ends:
            outcomes: set[str] = set()
            for tie, up_m, up_covered, up_missing in supplies:
                for down_m, down_covered, down_missing in self._ways(region, b, node, c):
                    limit = self._limit(c, tie, bool(up_covered and down_covered and edge["covering"]))
                    if limit < math.inf and (up_missing or down_missing or edge["length_m"] is None):
                        # which of several supply points is the nearest is then open too
                        outcomes |= {"unknown", "too far", "within distance"} if up_missing else {"unknown"}
                        continue
                    whole = up_m + (edge["length_m"] or 0.0) + down_m
                    longest[up_m] = max(longest.get(up_m, 0.0), whole)
                    outcomes.add("too far" if whole > limit + 1e-9 else "within distance")
            per_device.append(outcomes)
        made.longest_m = set(longest.values())
        possible = set().union(*per_device)
        if {"too far"} in per_device:
            # one device that is too far whichever way one measures settles it
            made.verdict, made.others = "too far", possible & {"unknown"}
            return
        made.verdict = next(v for v in ("unknown", "too far", "within distance") if v in possible)
        made.others = possible - {made.verdict}

    def _limit(self, c: int, tie: str, covered: bool) -> float:
        system = self.net.system_of(self.net.edges[c])
        current = system["current"] if system else "DC"
        limits = []
        for book in self.net.rulebooks:
            rows = [
                metres
                for tied, only_covered, kind, metres in DISTANCES[book]
                if tied in {"any", tie} and kind in {"any", current} and (covered or not only_covered)
            ]
            limits.append(max(rows))
        return min(limits)

    def _supplies(self, c: int, a: str) -> list[tuple[str, float, bool, bool]]:
        """The nearest supply points as (tied to, metres to a, covered all the way, a length is missing)."""
        net, limit = self.net, self.allow[c]
        assert limit is not None
        barred = {
            i
            for i in net.conductors()
            if net.edges[i]["cranking"] or (self.allow[i] is not None and not self.exposed(i))
        }
        up = net.reach(a, frozenset(barred | {c}), backwards=True)
        exposed = {
            i for i in net.conductors() if self.exposed(i) and not net.edges[i]["cranking"] and set(net.ends(i)) <= up
        }
        # of a conductor without a size nothing says whether it is protected: both are tried
        unknown = {i for i in net.conductors() if self.allow[i] is None and not net.edges[i]["cranking"]}
        nearest = []
        for removed in (exposed | {c}, exposed | unknown | {c}):
            flows = {node: net.flow(node, removed) for node in up}
            points = [n for n in up if flows[n] > limit * (1 + 1e-9)] or [n for n in up if flows[n] > 0]
            found = []
            for point in points:
                source = net.nodes[point]["source"]
                tie = "any" if not source else "battery" if source["kind"] == "battery" else "charging"
                for metres, covered, missing in self._ways(up, point, a, c, frozenset(barred)):
                    found.append((tie, metres, covered, missing))
            # one that lacks a length may be the nearest, or farther than the nearest that is known
            least = min((f[1] for f in found if not f[3]), default=math.inf)
            nearest += [f for f in found if f[1] <= least + 1e-9] or [("any", 0.0, True, False)]
            if not unknown:
                break
        return nearest

    def _ways(
        self, inside: set[str], start: str, end: str, c: int, barred: frozenset[int] = frozenset()
    ) -> list[tuple[float, bool, bool]]:
        """The shortest ways as (metres, covered all the way, a length is missing), along edges that are no devices."""
        net = self.net
        graph: nx.MultiDiGraph[str] = nx.MultiDiGraph()
        graph.add_nodes_from([start, end])
        count = 0
        for i, edge in enumerate(net.edges):
            if i == c or i in barred or edge["kind"] == "device" or not {edge["from"], edge["to"]} <= inside:
                continue
            count += 1
            metres = edge.get("length_m") or 0.0
            graph.add_edge(edge["from"], edge["to"], key=i, metres=metres)
            if not edge["one_way"]:
                graph.add_edge(edge["to"], edge["from"], key=i, metres=metres)
        if start == end:
            return [(0.0, True, False)]
        if count <= EXHAUSTIVE_EDGES:
            paths = [[k for _, _, k in path] for path in nx.all_simple_edge_paths(graph, start, end)]
        elif nx.has_path(graph, start, end):
            nodes = nx.dijkstra_path(graph, start, end, weight="metres")
            paths = [[min(graph[u][v], key=lambda k: graph[u][v][k]["metres"]) for u, v in itertools.pairwise(nodes)]]
        else:
            paths = []
        ways = []
        for path in paths:
            conductors = [net.edges[k] for k in path if net.edges[k]["kind"] == "conductor"]
            metres = sum(e["length_m"] or 0.0 for e in conductors)
            ways.append(
                (metres, all(e["covering"] for e in conductors), any(e["length_m"] is None for e in conductors))
            )
        least = min((w[0] for w in ways), default=0.0)
        return sorted({w for w in ways if w[0] <= least + 1e-9})


def declared_rightly(net: Network, c: int, flows: tuple[float, float]) -> bool | None:
    """Whether a conductor that is declared cranking feeds nothing but engines' starters; None where nothing feeds it."""
    fed = [flow > 0 for flow in flows]
    ends = net.ends(c)
    if not any(fed):
        return None
    for far, near_fed in ((ends[1], fed[0]), (ends[0], fed[1])):
        if not near_fed:
            continue
        loads = [net.nodes[n]["load"] for n in net.reach(far, frozenset({c})) if net.nodes[n]["load"]]
        if loads and all(load["cranking"] for load in loads):
            return True
    return False
