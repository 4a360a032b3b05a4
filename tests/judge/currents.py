"""The current that flows by intention: what loads draw and chargers give, through every edge.

Where the words leave room (a ring's worst point, what a normally open switch in a ring does while no scene speaks of
it), two figures are kept: the least and the most that they can mean.
"""

from __future__ import annotations

import itertools
import math
from collections import Counter
from collections.abc import Iterable
from dataclasses import dataclass
from typing import Any

import networkx as nx

from .circuit import NONE, SUPPLY, Network


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


def gives(source: dict[str, Any]) -> float:
    """What a source gives by intention, amperes: one that is no battery no more than its rated current."""
    limit = math.inf if source["limit_a"] is None else source["limit_a"]
    if source["kind"] != "battery" and source["rated_a"] is not None:
        return float(min(limit, source["rated_a"]))
    return float(limit)


def charging(sources: Iterable[dict[str, Any]]) -> float:
    return float(sum(s["rated_a"] or 0.0 for s in sources if s["kind"] != "battery"))


@dataclass
class Span:
    """What an edge carries: at least ``least``, and at most ``most``, as the words are read."""

    least: float = 0.0
    most: float = 0.0


@dataclass(frozen=True)
class Way:
    """Through an edge in one direction: to these loads (at most ``limit``), or at least ``charge``; amperes."""

    loads: frozenset[str]
    charge: float
    limit: float

    def current(self, on: dict[str, float], charges: bool = True) -> float:
        return max(self.charge if charges else 0.0, min(self.limit, sum(on[n] for n in self.loads if n in on)))


@dataclass(frozen=True)
class State:
    """What is open, and which nodes' sources are off."""

    opened: frozenset[int]
    off: frozenset[str] = frozenset()


@dataclass
class Case:
    """Loads that are on, in each state that may be meant.  ``scene`` is its number, or None."""

    on: dict[str, float]
    states: list[State]
    scene: int | None = None


class Currents:
    """Load current of every edge, the greatest over all cases."""

    charges = True

    def __init__(self, net: Network) -> None:
        self.net = net
        self.draw = {n: load_current(net, facts) for n, facts in net.nodes.items() if facts["load"]}
        self.giving = [n for n, facts in net.nodes.items() if facts["source"]]
        self.diodes = [net.ends(i) for i, edge in enumerate(net.edges) if edge["one_way"]]
        self._known: dict[tuple[int, State], tuple[list[Way], list[Way]]] = {}
        self._rings: dict[frozenset[int], dict[int, list[int]]] = {}
        self._diodes_in_rings: dict[frozenset[int], bool] = {}
        self._cores: dict[State, tuple[frozenset[int], frozenset[int]]] = {}
        self.everything = {n: a or 0.0 for n, a in self.draw.items()}
        self.always = {n for n in self.draw if net.nodes[n]["load"]["always_on"]}
        self.openable = [i for i, e in enumerate(net.edges) if e["kind"] in {"switch", "relay", "device"}]
        self.positions = {
            s["name"]: [i for i, e in enumerate(net.edges) if e["kind"] == "selector" and e["element"] == s["name"]]
            for s in net.data["selectors"]
        }
        self.resting = frozenset(
            i for i, e in enumerate(net.edges)
            if e["kind"] in {"switch", "relay"} and (e.get("normally_open") or e.get("combining"))
        )  # fmt: skip
        # the cases as the words may be read; a rule that needs certainty asks for all of the readings
        self.readings = [
            self._cases(way, idle)
            for way in (("core", "ring", "now") if self.resting else ("core",))
            for idle in ((False, True) if net.data["scenes"] else (True,))
        ]
        worst = self._worst_by_reading()
        alone = [self._alone(i) for i in range(len(net.edges))]
        self.spans = [
            Span(max(alone[i].least, min(w[i].least for w in worst)), max(alone[i].most, max(w[i].most for w in worst)))
            for i in range(len(net.edges))
        ]

    # ---- cases
    def _cases(self, way: str, idle: bool) -> list[Case]:
        """``idle``: with a case of what stands in no scene even where that is nothing, and chargers merely charge."""
        net, everything = self.net, self.everything
        made: list[Case] = []
        listed: set[str] = set()
        for k, scene in enumerate(net.data["scenes"]):
            named = {n for n in everything if net.nodes[n]["element"] in scene["on"]}
            not_on = {n for n in net.nodes if scene["states"].get(net.nodes[n]["element"]) == "off"}
            listed |= named
            on = {n: everything[n] for n in (named | self.always) - not_on}
            off = frozenset(not_on & set(self.giving))
            made.append(Case(on, self._states(scene["states"], off, way), k))
        # without scenes: all at once; with scenes: all that stand in none, at once
        rest = {n: a for n, a in everything.items() if n not in listed}
        if rest or idle:
            made.append(Case(rest, self._states({}, frozenset(), way)))
        return made

    def _states(self, given: dict[str, str], off: frozenset[str], way: str) -> list[State]:
        """What is open: as the scene says, and every position in turn of the selectors it does not speak of."""
        net = self.net
        opened = {i for i in self.openable if given.get(net.edges[i]["element"]) == "open"}
        unsaid = frozenset(i for i in self.resting if net.edges[i]["element"] not in given)
        choices: list[list[frozenset[int]]] = []
        for selector in net.data["selectors"]:
            mine = self.positions[selector["name"]]
            wanted = given.get(selector["name"])
            options = [wanted] if wanted else selector["positions"]
            choices.append(
                [
                    frozenset(i for i in mine if o != "both" and net.edges[i]["position"] != o)
                    for o in options or ["off"]
                ]
            )
        made = []
        for chosen in itertools.product(*choices):
            gone = frozenset(opened).union(*chosen)
            made.append(State(gone | (unsaid & self._between(State(gone, off), way)), off))
        return made

    def _between(self, state: State, way: str) -> frozenset[int]:
        """The edges that do not merely lead away from the sources.  Read three ways: those in one ring with the sources
        while everything is closed; those in any ring; those in one ring with the sources as the case has it."""
        if not self.resting:
            return NONE
        seen = state if way == "now" else State(NONE)
        if seen not in self._cores:
            graph: nx.Graph[str] = nx.Graph()
            closed = [i for i in range(len(self.net.edges)) if i not in seen.opened]
            graph.add_node(SUPPLY)
            graph.add_nodes_from(self.net.nodes)
            for i in closed:
                # a node in the middle of each edge keeps edges side by side apart
                graph.add_edges_from([(self.net.ends(i)[0], f"\0{i}"), (f"\0{i}", self.net.ends(i)[1])])
            graph.add_edges_from((SUPPLY, n) for n in self.giving if n not in seen.off)
            graph.remove_edges_from(list(nx.bridges(graph)))
            core = nx.node_connected_component(graph, SUPPLY)
            rings = frozenset(i for i in closed if graph.degree(f"\0{i}") == 2)
            self._cores[seen] = frozenset(i for i in rings if f"\0{i}" in core), rings
        return self._cores[seen][way == "ring"]

    def _worst_by_reading(self) -> list[list[Span]]:
        """For each reading the greatest of its cases, by edge."""
        made = []
        for cases in self.readings:
            by_state: dict[State, list[dict[str, float]]] = {}
            for case in cases:
                for state in case.states:
                    by_state.setdefault(state, []).append(case.on)
            made.append([self._worst_of(i, by_state) for i in range(len(self.net.edges))])
        return made

    def _worst_of(self, i: int, by_state: dict[State, list[dict[str, float]]]) -> Span:
        span = Span()
        for state, ons in by_state.items():
            if i in state.opened:
                continue
            key = (i, state)
            if key not in self._known:
                self._known[key] = self._ways_through(i, state)
            ways, most = self._known[key]
            for on in ons:
                least = max((way.current(on, self.charges) for way in ways), default=0.0)
                span.least = max(span.least, least)
                span.most = max([span.most, least, *(way.current(on, self.charges) for way in most)])
        return span

    def _alone(self, i: int) -> Span:
        """Every load by itself, whatever the scenes: through what merely leads away from the sources."""
        span = Span()
        sides = self._sides(i, NONE)
        if sides is None:
            # a ring merely leads away too where no source is in it, but is no bridge: whether one of its edges must bear
            # the largest load beyond it the words do not say
            sources = self._sources(self.whole(self.net.ends(i)[0], NONE), State(NONE))
            limited = sum(math.inf if s["limit_a"] is None else s["limit_a"] for s in sources)
            span.most = max([0.0, *(min(limited, a) for a in self.everything.values())])
            return span
        for (a, b), end in zip((sides, sides[::-1]), self.net.ends(i)[::-1], strict=True):
            sources = self._sources(a, State(NONE))
            if not sources or self._sources(b, State(NONE)):
                continue
            limit = sum(gives(s) for s in sources)
            # whether an alternator that does not limit itself bounds this the words do not say
            limited = sum(math.inf if s["limit_a"] is None else s["limit_a"] for s in sources)
            wrong_way = self.net.edges[i]["one_way"] and end != self.net.edges[i]["to"]
            reached = set() if wrong_way else self._within(b, end, NONE)
            span.least = max([span.least, *(min(limit, a) for n, a in self.everything.items() if n in reached)])
            span.most = max([span.most, *(min(limited, a) for n, a in self.everything.items() if n in b)])
        return span

    # ---- what hangs together
    def whole(self, start: str, gone: frozenset[int]) -> set[str]:
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
        one = self.whole(u, opened | {i})
        return None if v in one else (one, self.whole(v, opened | {i}))

    def _sources(self, side: set[str], state: State) -> list[dict[str, Any]]:
        return [self.net.nodes[n]["source"] for n in self.giving if n in side and n not in state.off]

    def _within(self, side: set[str], start: str, opened: frozenset[int], backwards: bool = False) -> set[str]:
        """What current can come to (or from) without leaving a side; all of it where the side has no diode."""
        if not any(u in side and v in side for u, v in self.diodes):
            return side
        elsewhere = frozenset(k for n in self.net.nodes if n not in side for k in self.net.at[n])
        return self.net.reach(start, elsewhere | opened, backwards, devices=True) & side

    def pieces(self, state: State) -> list[tuple[set[str], list[str]]]:
        """What hangs together in a state and has sources; and these, in the order of the nodes."""
        made: list[tuple[set[str], list[str]]] = []
        seen: set[str] = set()
        for name in self.giving:
            if name not in seen and name not in state.off:
                piece = self.whole(name, state.opened)
                seen |= piece
                made.append((piece, [n for n in self.giving if n in piece and n not in state.off]))
        return made

    def weak(self, state: State) -> list[tuple[str, float, set[str]]]:
        """Of each piece whose sources are no battery and all limited: the first source, what they give, its loads."""
        made = []
        for piece, sources in self.pieces(state):
            facts = [self.net.nodes[n]["source"] for n in sources]
            given = sum(gives(s) for s in facts)
            if math.isfinite(given) and all(s["kind"] != "battery" for s in facts):
                made.append((sources[0], given, piece & self.draw.keys()))
        return made

    # ---- through an edge
    def _one_way(self, start: str, end: str, a: set[str], b: set[str], state: State) -> tuple[Way, Way | None]:
        """From side A to side B of a bridge, whose ends are ``start`` in A and ``end`` in B; diodes turn current back.

        A load in B that a battery in B can feed draws nothing through the bridge; charging current goes to a battery.
        The second way is for where diodes let B's batteries feed some of its loads only: all of them, at most.
        """
        net, opened = self.net, state.opened
        sources = self._sources(self._within(a, start, opened, backwards=True), state)
        if not sources:
            return Way(frozenset(), 0.0, math.inf), None
        reached = self._within(b, end, opened)
        batteries = [
            n for n in self.giving if n in b and n not in state.off and net.nodes[n]["source"]["kind"] == "battery"
        ]
        fed = set().union(*(self._within(b, n, opened) for n in batteries))
        charge = charging(sources) if reached & set(batteries) else 0.0
        limit = sum(gives(s) for s in sources)
        loads = frozenset(reached & set(self.draw))
        left = loads - fed
        # a battery that a diode keeps from being charged this way
        perhaps = charging(sources) if batteries else 0.0
        more = Way(loads if left else left, perhaps, limit)
        return Way(left, charge, limit), more if batteries and (left or perhaps > charge) else None

    def _ways_through(self, i: int, state: State) -> tuple[list[Way], list[Way]]:
        """The ways current takes through an edge at least; and what more it may be, as the words are read."""
        ring = self._ring(i, state.opened)
        if not ring:
            return self._bridge(i, state, self._turned(state.opened))
        # A ring: at least what the edge carries if the ring is opened at some other edge, at most all there is.
        whole = self.whole(self.net.ends(i)[0], state.opened)
        ways: list[Way] = []
        for other in ring:
            if other != i:
                opened = State(state.opened | {other}, state.off)
                ways += self._bridge(i, opened, self._turned(state.opened))[0]
        sources = self._sources(whole, state)
        if not sources:
            return ways, []
        battery = any(s["kind"] == "battery" for s in sources)
        return ways, [Way(frozenset(whole & set(self.draw)), charging(sources) if battery else 0.0, math.inf)]

    def _turned(self, opened: frozenset[int]) -> bool:
        """Whether some ring has a diode: which way it conducts is not looked at there, if one takes the words literally."""
        if opened not in self._diodes_in_rings:
            diodes = [i for i, edge in enumerate(self.net.edges) if edge["one_way"] and i not in opened]
            self._diodes_in_rings[opened] = any(self._ring(i, opened) for i in diodes)
        return self._diodes_in_rings[opened]

    def _bridge(self, i: int, state: State, turned: bool) -> tuple[list[Way], list[Way]]:
        """Both directions through a bridge; none through what is no bridge.  ``turned``: a diode in a ring may be read as
        leading both ways, so that a battery feeds, and a source gives, what it cannot."""
        sides = self._sides(i, state.opened)
        if sides is None:
            return [], []
        u, v = self.net.ends(i)
        made = [self._one_way(u, v, *sides, state)]
        if not self.net.edges[i]["one_way"]:
            made.append(self._one_way(v, u, sides[1], sides[0], state))
        least, most = [way for way, _ in made], [way for _, way in made if way]
        if turned:
            for one, other in (sides, sides[::-1]):
                sources = self._sources(one, state)
                battery = any(s["kind"] == "battery" for s in self._sources(other, state))
                least = [Way(frozenset(), way.charge, way.limit) for way in least] if battery else least
                most.append(
                    Way(
                        frozenset(other & set(self.draw)),
                        charging(sources) if battery else 0.0,
                        sum(map(gives, sources)),
                    )
                )
        return least, most


def over(span: Span, limit: float) -> bool | None:
    """Whether the current is above the limit; None where that hangs on how the words are read."""
    allowed = limit * (1 + 1e-9)
    if span.least > allowed:
        return True
    return None if span.most > allowed else False


class Drawn(Currents):
    """What loads draw, without what charges a battery: that flows to it, and a start comes out of it."""

    charges = False


__all__ = ["Case", "Currents", "Drawn", "Span", "State", "charging", "gives", "load_current", "over"]
