"""The current that flows by intention: what loads draw and chargers give, through every edge.

Where the words leave room (a ring's worst point, whether a normally open relay is closed when no scene speaks of it),
two figures are kept: the least and the most that they can mean.
"""

from __future__ import annotations

import itertools
import math
from collections import Counter
from dataclasses import dataclass
from typing import Any

import networkx as nx

from .circuit import Network


def load_current(net: Network, node: dict[str, Any]) -> float | None:
    """Amperes that a load draws; None where its figures are missing."""
    load = node["load"]
    system = net.systems.get(node["system"] or "")
    volts = load["voltage_v"] or (system["voltage_v"] if system else None)
    if load["draws_a"] is not None:
        return float(load["draws_a"])
    if load["draws_w"] is not None:
        return load["draws_w"] / volts if volts else None
    output = net.nodes.get(load.get("output") or "")
    if output is not None:
        source, efficiency = output["source"], load["efficiency"]
        if source["rated_a"] is None or source["voltage_v"] is None or not efficiency or not volts:
            return None
        return float(source["rated_a"] * source["voltage_v"] / efficiency / volts)
    return None


@dataclass
class Span:
    """What an edge carries: at least ``least``, and at most ``most``, as the words are read."""

    least: float = 0.0
    most: float = 0.0


@dataclass
class Way:
    """Through an edge in one direction: to these loads (at most ``limit``), or at least ``charge``; amperes."""

    loads: frozenset[str]
    charge: float
    limit: float

    def current(self, on: dict[str, float]) -> float:
        drawn = [on[n] for n in self.loads if n in on]
        wanted = max(drawn, default=0.0) if isinstance(on, Alone) else sum(drawn)
        return max(self.charge, min(self.limit, wanted))


class Alone(dict[str, float]):
    """Loads of which one at a time is on, each in its turn."""


class Currents:
    """Load current of every edge, the greatest over all cases."""

    def __init__(self, net: Network) -> None:
        self.net = net
        self.draw = {n: load_current(net, facts) for n, facts in net.nodes.items() if facts["load"]}
        self.giving = [n for n, facts in net.nodes.items() if facts["source"]]
        self.diodes = [net.ends(i) for i, edge in enumerate(net.edges) if edge["one_way"]]
        self._known: dict[tuple[int, frozenset[int]], tuple[list[Way], list[Way]]] = {}
        self._rings: dict[frozenset[int], dict[int, list[int]]] = {}
        self.spans = [Span() for _ in net.edges]
        scenes = net.data["scenes"]
        readings: list[list[list[float]]] = []
        everything = {n: a or 0.0 for n, a in self.draw.items()}
        if not scenes:
            for open_relays in (False, True):
                readings.append(self._worst([(everything, states) for states in self._states({}, open_relays)]))
        else:
            listed = []
            for scene in scenes:
                on = {n: a for n, a in everything.items() if net.nodes[n]["element"] in scene["on"]}
                listed.append((on, scene["states"]))
            for open_relays in (False, True):
                cases = [(on, closed) for on, given in listed for closed in self._states(given, True)]
                cases += [(Alone(everything), closed) for closed in self._states({}, open_relays)]
                readings.append(self._worst(cases))
            # loads that stand in no scene may all be on at once, for all that the scenes say
            rest = {n: a for n, a in everything.items() if not any(n in on for on, _ in listed)}
            at_once = self._worst([(rest, closed) for closed in self._states({}, False) + self._states({}, True)])
            readings.append([[readings[0][i][0], max(at_once[i])] for i in range(len(net.edges))])
        for i, span in enumerate(self.spans):
            span.least = min(reading[i][0] for reading in readings)
            span.most = max(reading[i][1] for reading in readings)

    def _states(self, given: dict[str, str], open_relays: bool) -> list[frozenset[int]]:
        """The open edges: as the scene says, and every position in turn of the selectors it does not speak of."""
        net = self.net
        opened = set()
        choices: list[list[frozenset[int]]] = []
        for i, edge in enumerate(net.edges):
            state = given.get(edge["element"]) if edge["kind"] != "link" else None
            if edge["kind"] in {"switch", "relay", "device"}:
                resting = edge.get("normally_open") or edge.get("combining")
                if state == "open" or (state is None and resting and open_relays):
                    opened.add(i)
        for selector in net.data["selectors"]:
            mine = [i for i, e in enumerate(net.edges) if e["kind"] == "selector" and e["element"] == selector["name"]]
            wanted = given.get(selector["name"])
            options = [wanted] if wanted else selector["positions"]
            choices.append(
                [frozenset(i for i in mine if o != "both" and net.edges[i]["position"] != o) for o in options or ["off"]]
            )
        return [frozenset(opened).union(*chosen) for chosen in itertools.product(*choices)]

    def _worst(self, cases: list[tuple[dict[str, float], frozenset[int]]]) -> list[list[float]]:
        greatest = [[0.0, 0.0] for _ in self.net.edges]
        by_state: dict[frozenset[int], list[dict[str, float]]] = {}
        for on, opened in cases:
            by_state.setdefault(opened, []).append(on)
        for opened, ons in by_state.items():
            for i in range(len(self.net.edges)):
                if i in opened:
                    continue
                key = (i, opened)
                if key not in self._known:
                    self._known[key] = self._ways_through(i, opened)
                ways, most = self._known[key]
                for on in ons:
                    least = max((way.current(on) for way in ways), default=0.0)
                    greatest[i][0] = max(greatest[i][0], least)
                    greatest[i][1] = max(greatest[i][1], least, *(way.current(on) for way in most))
        return greatest

    def _whole(self, start: str, gone: frozenset[int]) -> set[str]:
        """All that hangs together with ``start``; diodes do not matter to what hangs together."""
        seen, waiting = {start}, [start]
        links = self.net.links
        while waiting:
            for i, to in links[waiting.pop()]:
                if to not in seen and i not in gone:
                    seen.add(to)
                    waiting.append(to)
        return seen

    def _ring(self, i: int, opened: frozenset[int]) -> list[int]:
        """The edges of all rings that hang together with this one (networkx finds what is no ring: the bridges)."""
        if opened not in self._rings:
            graph: nx.Graph[str] = nx.Graph()
            closed = [k for k in range(len(self.net.edges)) if k not in opened]
            count = Counter(frozenset(self.net.ends(k)) for k in closed)
            graph.add_edges_from(self.net.ends(k) for k in closed)
            for u, v in list(nx.bridges(graph)):
                if count[frozenset((u, v))] == 1:
                    graph.remove_edge(u, v)
            ring_of = {n: k for k, nodes in enumerate(nx.connected_components(graph)) for n in nodes}
            rings: dict[int, list[int]] = {}
            for k in closed:
                u, v = self.net.ends(k)
                if graph.has_edge(u, v):
                    rings.setdefault(ring_of[u], []).append(k)
            self._rings[opened] = {k: ring for ring in rings.values() for k in ring}
        return self._rings[opened].get(i, [])

    def _sides(self, i: int, opened: frozenset[int]) -> tuple[set[str], set[str]] | None:
        """The two sides of a bridge; None for an edge of a ring."""
        u, v = self.net.ends(i)
        one = self._whole(u, opened | {i})
        return None if v in one else (one, self._whole(v, opened | {i}))

    def _sources(self, side: set[str]) -> list[dict[str, Any]]:
        return [self.net.nodes[n]["source"] for n in self.giving if n in side]

    def _one_way(self, start: str, end: str, a: set[str], b: set[str]) -> tuple[Way, Way | None]:
        """From side A to side B of a bridge, whose ends are ``start`` in A and ``end`` in B; diodes turn current back.

        A load in B that a battery in B can feed draws nothing through the bridge; charging current goes to a battery.
        The second way is for where diodes let B's batteries feed some of its loads only: all of them, at most.
        """
        net = self.net
        giving = self._sources(self._within(a, start, backwards=True))
        if not giving:
            return Way(frozenset(), 0.0, math.inf), None
        reached = self._within(b, end)
        batteries = [n for n in self.giving if n in b and net.nodes[n]["source"]["kind"] == "battery"]
        fed = set().union(*(self._within(b, n) for n in batteries))
        charge = self._charging(giving) if reached & set(batteries) else 0.0
        limit = sum(math.inf if s["limit_a"] is None else s["limit_a"] for s in giving)
        loads = frozenset(reached & set(self.draw))
        left = loads - fed
        # a battery that a diode keeps from being charged this way
        perhaps = self._charging(giving) if batteries else 0.0
        more = Way(loads if left else left, perhaps, limit)
        return Way(left, charge, limit), more if batteries and (left or perhaps > charge) else None

    def _within(self, side: set[str], start: str, backwards: bool = False) -> set[str]:
        """What current can come to (or from) without leaving a side; all of it where the side has no diode."""
        if not any(u in side and v in side for u, v in self.diodes):
            return side
        elsewhere = frozenset(k for n in self.net.nodes if n not in side for k in self.net.at[n])
        return self.net.reach(start, elsewhere, backwards, devices=True) & side

    def _charging(self, sources: list[dict[str, Any]]) -> float:
        return float(sum(s["rated_a"] or 0.0 for s in sources if s["kind"] != "battery"))

    def _ways_through(self, i: int, opened: frozenset[int]) -> tuple[list[Way], list[Way]]:
        """The ways current takes through an edge at least; and what more it may be, as the words are read."""
        ring = self._ring(i, opened)
        if not ring:
            return self._bridge(i, opened)
        # A ring: at least what the edge carries if the ring is opened at some other edge, at most all there is.
        whole = self._whole(self.net.ends(i)[0], opened)
        ways: list[Way] = []
        for other in ring:
            if other != i:
                ways += self._bridge(i, opened | {other})[0]
        sources = self._sources(whole)
        if not sources:
            return ways, []
        battery = any(s["kind"] == "battery" for s in sources)
        return ways, [Way(frozenset(whole & set(self.draw)), self._charging(sources) if battery else 0.0, math.inf)]

    def _bridge(self, i: int, opened: frozenset[int]) -> tuple[list[Way], list[Way]]:
        """Both directions through a bridge; none through what is no bridge."""
        sides = self._sides(i, opened)
        if sides is None:
            return [], []
        u, v = self.net.ends(i)
        made = [self._one_way(u, v, *sides)]
        if not self.net.edges[i]["one_way"]:
            made.append(self._one_way(v, u, sides[1], sides[0]))
        return [least for least, _ in made], [most for _, most in made if most]


def over(span: Span, limit: float) -> bool | None:
    """Whether the current is above the limit; None where that hangs on how the words are read."""
    allowed = limit * (1 + 1e-9)
    if span.least > allowed:
        return True
    return None if span.most > allowed else False


__all__ = ["Currents", "Span", "over", "load_current"]
