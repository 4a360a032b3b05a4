"""Load currents by the same words as ``Currents``, with what was reckoned once not reckoned again.

What hangs from the core (see ``quick``) has no source: nothing comes out of it, it takes what its loads draw, and none
of its edges is in a ring.  So an edge of it carries what the loads behind it draw, if a source is before it; and to the
core all that hangs at one of its nodes is so many loads at that node.  In the core everything is looked at as
``Currents`` does, over the core's own few nodes; edges in series, with nothing between them, carry the same.
"""

from __future__ import annotations

import math
from collections.abc import Hashable, Iterable, Set
from typing import Any

from .circuit import NONE
from .currents import Currents, Span, State, Way, charging, gives, load_current
from .quick import QuickNetwork


def _limit(source: dict[str, Any]) -> float:
    return math.inf if source["limit_a"] is None else float(source["limit_a"])


def _raise(spans: list[Span], of: Iterable[int], least: float, most: float) -> None:
    for k in of if most > 0 else ():
        spans[k].least = max(spans[k].least, least)
        spans[k].most = max(spans[k].most, most)


class QuickCurrents(Currents):
    """``Currents`` over a core."""

    net: QuickNetwork

    def __init__(self, net: QuickNetwork) -> None:
        self.core = net.current_core
        # below each node: the nodes that hang from it, the nearest first
        self.below: dict[str, list[tuple[int, str]]] = {n: [] for n in net.nodes}
        for node in reversed(net.peeled):
            if net.hangs[node] >= 0:
                self.below[net.other(net.hangs[node], node)].append((net.hangs[node], node))
        self.branch: dict[str, frozenset[int]] = {}
        for node in net.peeled:
            self._branch_of(node)
        for node in self.core.links:
            self._branch_of(node)
        self._hanging: dict[tuple[str, frozenset[int], bool], frozenset[str]] = {}
        self._known_states: dict[Hashable, list[State]] = {}
        self._weak: dict[State, list[tuple[str, float, set[str]]]] = {}
        self._pieces: dict[State, list[tuple[set[str], list[str]]]] = {}
        self._drawn_by: dict[frozenset[str], dict[str, float]] = {}
        self._core_states: dict[State, frozenset[int]] = {}
        self._draws: dict[tuple[str, frozenset[int], frozenset[str]], float] = {}
        self._in_core: dict[tuple[int, State], tuple[list[Way], list[Way]]] = {}
        self.first = self._series(net)
        self.laden = [n for n in self.core.links if self.below[n] or net.nodes[n]["load"]]
        self.series: dict[int, list[int]] = {}
        for i, first in self.first.items():
            self.series.setdefault(first, []).append(i)
        super().__init__(net)

    def _branch_of(self, node: str) -> None:
        self.branch[node] = frozenset(k for i, to in self.below[node] for k in (i, *self.branch[to]))

    def _series(self, net: QuickNetwork) -> dict[int, int]:
        """By edge of the core, the first edge of its series: between the two is nothing that gives or takes or parts."""
        first = {i: i for i in net.core}

        def find(i: int) -> int:
            while first[i] != i:
                i = first[i]
            return i

        for node, links in self.core.links.items():
            ends = {net.core[k] for k, to in links if to != node}
            bare = not self.below[node] and not net.nodes[node]["load"] and node not in net.supply
            if bare and len(links) == 2 == len(ends) and not any(net.edges[i]["one_way"] for i in ends):
                one, two = ends
                first[find(one)] = find(two)
        return {i: find(i) for i in first}

    # ---- what hangs at a node of the core, or below
    def hanging(self, node: str, opened: frozenset[int], conducting: bool) -> frozenset[str]:
        """The loads at a node and below it; ``conducting``: those that current can come to."""
        key = node, opened & self.branch[node], conducting
        if key not in self._hanging:
            found = {node} if node in self.draw else set()
            for i, to in self.below[node]:
                edge = self.net.edges[i]
                if i not in opened and not (conducting and edge["one_way"] and edge["to"] != to):
                    found |= self.hanging(to, opened, conducting)
            self._hanging[key] = frozenset(found)
        return self._hanging[key]

    def _loads_at(self, nodes: Set[str], opened: frozenset[int], conducting: bool = True) -> frozenset[str]:
        found: set[str] = set()
        for node in self.laden:
            if node in nodes:
                found |= self.hanging(node, opened, conducting)
        return frozenset(found)

    # ---- the worst of the cases
    def _worst_by_reading(self) -> list[list[Span]]:
        # what is on in a state is looked at once, whichever readings have it; loads that are on are known by their names
        readings_of: dict[tuple[State, frozenset[str]], set[int]] = {}
        for k, cases in enumerate(self.readings):
            for case in cases:
                for state in case.states:
                    readings_of.setdefault((state, frozenset(case.on)), set()).add(k)
        by_root: dict[str, dict[tuple[float, frozenset[int], frozenset[str]], set[int]]] = {}
        spans: list[list[Span]] = []
        for i in range(len(self.net.edges)):
            mine = [Span() for _ in self.readings]
            spans.append(mine)
            if i in self.net.in_core:
                if self.first[i] == i:
                    for (state, on), readings in readings_of.items():
                        _raise(mine, readings, *self._core_carries(i, state, on))
            elif self.net.ends(i)[0] == self.net.ends(i)[1]:
                for (state, on), readings in readings_of.items():
                    _raise(mine, readings, *self._loop_carries(i, state, on))
            else:
                inner = self._inner(i)
                root = self.net.root(inner, NONE)
                if root is None:
                    continue
                path = self.net.path[inner]
                if root not in by_root:
                    by_root[root] = self._at_root(root, readings_of)
                for (most, opened, on), of in by_root[root].items():
                    if opened.isdisjoint(path):
                        amps = min(most, self._drawn(inner, opened & self.branch[inner], on))
                        _raise(mine, of, amps, amps)
        # in series all carry the same; where one is open, none carries anything
        return [[spans[self.first.get(i, i)][k] for i in range(len(spans))] for k in range(len(self.readings))]

    def _inner(self, i: int) -> str:
        """The far end of an edge that hangs from the core."""
        u, v = self.net.ends(i)
        return v if self.net.hangs.get(v, -1) == i else u

    def _at_root(
        self, root: str, readings_of: dict[tuple[State, frozenset[str]], set[int]]
    ) -> dict[tuple[float, frozenset[int], frozenset[str]], set[int]]:
        """What all states come to for what hangs from one node of the core: the most that comes there, what is open of
        what hangs there, and the loads that are on."""
        made: dict[tuple[float, frozenset[int], frozenset[str]], set[int]] = {}
        for (state, on), readings in readings_of.items():
            most = self.core.most_into(root, self._numbers(state), state.off)
            if most:
                made.setdefault((most, state.opened & self.branch[root], on), set()).update(readings)
        return made

    def _numbers(self, state: State) -> frozenset[int]:
        if state not in self._core_states:
            self._core_states[state] = self.net.numbers(state.opened)
        return self._core_states[state]

    def _loop_carries(self, i: int, state: State, on: frozenset[str]) -> tuple[float, float]:
        """From a node to itself: neither peels nor leads anywhere, and is looked at plainly."""
        span = self._worst_of(i, {state: [{n: self.everything[n] for n in on}]})
        return span.least, span.most

    def _drawn(self, node: str, opened: frozenset[int], on: frozenset[str]) -> float:
        key = node, opened, on
        if key not in self._draws:
            self._draws[key] = sum(self.everything[n] for n in self.hanging(node, opened, True) if n in on)
        return self._draws[key]

    def _core_carries(self, i: int, state: State, on: frozenset[str]) -> tuple[float, float]:
        if not state.opened.isdisjoint(self.series[i]):
            return 0.0, 0.0
        key = i, state
        if key not in self._in_core:
            ways, more = self._core_ways(i, state)
            self._in_core[key] = [w for w in ways if w.loads or w.charge], [w for w in more if w.loads or w.charge]
        ways, more = self._in_core[key]
        if on not in self._drawn_by:
            self._drawn_by[on] = {n: self.everything[n] for n in on}
        drawn = self._drawn_by[on]
        least = max((way.current(drawn, self.charges) for way in ways), default=0.0)
        return least, max([least, *(way.current(drawn, self.charges) for way in more)]) if more else least

    def _core_ways(self, i: int, state: State) -> tuple[list[Way], list[Way]]:
        net, core = self.net, self._numbers(state)
        ring = self.core.ring(net.in_core[i], core)
        if not ring:
            return self._core_bridge(i, state, core, self._turned_in_core(core))
        whole = self.core.reach(net.ends(i)[0], core, self.core.links)
        ways: list[Way] = []
        mine = self.first[i]
        for other in dict.fromkeys(self.first[net.core[k]] for k in ring):
            # opened in its own series an edge carries nothing
            if other != mine:
                opened = core | {net.in_core[other]}
                ways += self._core_bridge(i, state, opened, self._turned_in_core(core))[0]
        sources = self._sources(whole, state)
        if not sources:
            return ways, []
        battery = any(s["kind"] == "battery" for s in sources)
        loads = self._loads_at(whole, state.opened, conducting=False)
        return list(set(ways)), [Way(loads, charging(sources) if battery else 0.0, math.inf)]

    def _turned_in_core(self, core: frozenset[int]) -> bool:
        if core not in self._diodes_in_rings:
            diodes = [k for k, (_, _, one_way) in enumerate(self.core.edges) if one_way and k not in core]
            self._diodes_in_rings[core] = any(self.core.ring(k, core) for k in diodes)
        return self._diodes_in_rings[core]

    def _core_bridge(self, i: int, state: State, core: frozenset[int], turned: bool) -> tuple[list[Way], list[Way]]:
        least: list[Way] = []
        most: list[Way] = []
        for way in self.core.passages(self.net.in_core[i], core, state.off):
            loads = self._loads_at(way.reached, state.opened)
            left = loads - self._loads_at(way.fed, state.opened)
            least.append(Way(left, way.charge, way.limit))
            if way.battery and (left or way.perhaps > way.charge):
                most.append(Way(loads if left else left, way.perhaps, way.limit))
        u, v = self.net.ends(i)
        gone = core | {self.net.in_core[i]}
        one = self.core.reach(u, gone, self.core.links)
        if turned and v not in one:
            sides = one, self.core.reach(v, gone, self.core.links)
            for here, there in (sides, sides[::-1]):
                sources, loads = self._sources(here, state), self._loads_at(there, state.opened, conducting=False)
                battery = any(s["kind"] == "battery" for s in self._sources(there, state))
                least = [Way(frozenset(), way.charge, way.limit) for way in least] if battery else least
                most.append(Way(loads, charging(sources) if battery else 0.0, sum(map(gives, sources))))
        return least, most

    def _between(self, state: State, way: str) -> frozenset[int]:
        # what hangs from the core is in no ring
        if not self.resting & self.net.in_core.keys():
            return NONE
        seen = state if way == "now" else State(NONE)
        made = self.core.between(self._numbers(seen), seen.off)[way == "ring"]
        return frozenset(self.net.core[k] for k in made)

    # ---- every load by itself
    def _alone(self, i: int) -> Span:
        net = self.net
        if net.ends(i)[0] == net.ends(i)[1]:
            return super()._alone(i)
        if i in net.in_core:
            return self._alone_in_core(i)
        inner = self._inner(i)
        root = net.roots[inner]
        if root in net.hangs:
            return Span()
        sources = self._sources(self.core.reach(root, NONE, self.core.links), State(NONE))
        if not sources:
            return Span()
        limit = sum(gives(s) for s in sources)
        limited = sum(_limit(s) for s in sources)
        wrong_way = net.edges[i]["one_way"] and net.edges[i]["to"] != inner
        reached = frozenset() if wrong_way else self.hanging(inner, NONE, True)
        return Span(
            max([0.0, *(min(limit, self.everything[n]) for n in reached)]),
            max([0.0, *(min(limited, self.everything[n]) for n in self.hanging(inner, NONE, False))]),
        )

    def _alone_in_core(self, i: int) -> Span:
        net, u, v = self.net, *self.net.ends(i)
        only = frozenset({net.in_core[i]})
        one = self.core.reach(u, only, self.core.links)
        span = Span()
        if v in one:
            limited = sum(_limit(s) for s in self._sources(one, State(NONE)))
            span.most = max([0.0, *(min(limited, a) for a in self.everything.values())])
            return span
        other = self.core.reach(v, only, self.core.links)
        for a, b, end in ((one, other, v), (other, one, u)):
            sources = self._sources(a, State(NONE))
            if not sources or self._sources(b, State(NONE)):
                continue
            limit, limited = sum(gives(s) for s in sources), sum(_limit(s) for s in sources)
            wrong_way = net.edges[i]["one_way"] and end != net.edges[i]["to"]
            come_to = set() if wrong_way else self.core.reach(end, only, self.core.forward)
            reached = self._loads_at(come_to, NONE)
            span.least = max([span.least, *(min(limit, self.everything[n]) for n in reached)])
            every = self._loads_at(b, NONE, conducting=False)
            span.most = max([span.most, *(min(limited, self.everything[n]) for n in every)])
        return span

    def pieces(self, state: State) -> list[tuple[set[str], list[str]]]:
        """Of each piece only the loads are looked for, which is all that anybody asks of it."""
        if state not in self._pieces:
            made: list[tuple[set[str], list[str]]] = []
            seen: set[str] = set()
            core = self._numbers(state)
            for name in self.giving:
                if name not in seen and name not in state.off:
                    piece = self.core.reach(name, core, self.core.links)
                    seen |= piece
                    loads = self._loads_at(piece, state.opened, conducting=False)
                    made.append((set(loads), [n for n in self.giving if n in piece and n not in state.off]))
            self._pieces[state] = made
        return self._pieces[state]

    def _states(self, given: dict[str, str], off: frozenset[str], way: str) -> list[State]:
        key = tuple(given.items()), off, way
        if key not in self._known_states:
            self._known_states[key] = super()._states(given, off, way)
        return self._known_states[key]

    def weak(self, state: State) -> list[tuple[str, float, set[str]]]:
        if state not in self._weak:
            self._weak[state] = super().weak(state)
        return self._weak[state]


class QuickDrawn(QuickCurrents):
    """What loads draw, without what charges a battery."""

    charges = False


def quick_currents(net: QuickNetwork, charges: bool = True) -> QuickCurrents:
    """The currents of a network, or of one before it that is the same in all that they are reckoned from: a boat of
    which only a device, a cable or a place is another carries what she carried."""
    key = charges, _all_that_counts(net)
    if key not in _KNOWN:
        if len(_KNOWN) >= 8:
            # the first is the boat as she is, to which most changes come back
            del _KNOWN[list(_KNOWN)[-1]]
        _KNOWN[key] = (QuickCurrents if charges else QuickDrawn)(net)
    return _KNOWN[key]


_KNOWN: dict[Hashable, QuickCurrents] = {}


def _all_that_counts(net: QuickNetwork) -> Hashable:
    """All of a network that ``Currents`` reads."""
    nodes = tuple(
        (
            n, facts["element"], facts["load"] and (load_current(net, facts), facts["load"]["always_on"]),
            facts["source"] and tuple(facts["source"][key] for key in ("kind", "rated_a", "limit_a")),
        )
        for n, facts in net.nodes.items()
    )  # fmt: skip
    edges = tuple(
        (
            *net.ends(i),
            *(e.get(key) for key in ("kind", "element", "one_way", "position", "normally_open", "combining")),
        )
        for i, e in enumerate(net.edges)
    )
    selectors = tuple((s["name"], tuple(s["positions"]), s["one_at_a_time"]) for s in net.data["selectors"])
    scenes = tuple((tuple(s["on"]), tuple(s["states"].items())) for s in net.data["scenes"])
    return nodes, edges, selectors, scenes
