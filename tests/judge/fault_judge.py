"""The judge's word on faults, from the JSON of a circuit alone: what is harmed, what is not opened in time, what a device
may have to break, and what a start opens.

Every source alone, in every state of the switches, and all of them together; a fault at either end of a conductor, bolted
or behind a resistance; device after device opens, each at the last moment that its curve allows, counted afresh.
"""

from __future__ import annotations

import itertools
import json
import math
from dataclasses import dataclass, field
from functools import cached_property
from typing import Any

import numpy as np

from .allowed import ampacity, bounded_only
from .circuit import Network
from .currents import Currents, Drawn, load_current
from .fault_bands import Flags, Floats
from .fault_course import Course, Courses, Heated
from .fault_currents import LARGEST, SMALLEST, Question, series_devices
from .fault_figures import BREAKS, CHARGED, FIVE_S
from .fault_heat import final_c, hottest_c, service_c
from .protection import Protection
from .quick import QuickNetwork
from .quick_currents import quick_currents

FAULT_RULES = frozenset({"harmed-before-opening", "not-opened-in-time", "breaking-capacity", "start-opens-device"})
SEVERITY = {
    "harmed-before-opening": "danger", "not-opened-in-time": "fault", "breaking-capacity": "danger",
    "start-opens-device": "fault",
}  # fmt: skip
# Nearer to a limit than this the judge does not decide: shares of heat, of time, of current.
NEAR_HEAT, NEAR_AMPS = 0.03, 0.004
HEAT_RANK = ["", "doubt", "danger"]


@dataclass
class FaultWord:
    """By (rule, element): the severities that the figures allow; more than one only where they are near a limit or the
    words do not say.  What is not named is in order."""

    said: dict[tuple[str, str], set[str]] = field(default_factory=dict)
    # how many conductors were judged, and how many of them by more than one step
    judged: int = 0
    stepped: int = 0

    def say(self, rule: str, element: str, severities: set[str]) -> None:
        if severities != {""}:
            self.said[rule, element] = severities


@dataclass
class _Seen:
    """Of all courses as they may be read in one way: what was too late, and the greatest share of heat, untold and told."""

    late: set[str] = field(default_factory=set)
    untold: float = 0.0
    told: float = 0.0

    def add(self, made: Course, real: Flags, late: bool) -> None:
        self.untold = max([self.untold, *made.shares[real & ~made.told].tolist()])
        self.told = max([self.told, *made.told_shares[real].tolist()])
        for seconds, so in zip(made.seconds[real], made.told[real], strict=True) if late else ():
            near = abs(seconds - FIVE_S) < 1e-3
            if near or seconds > FIVE_S:
                self.late.add(("near " if near else "") + ("told" if so else "untold"))

    def late_severities(self) -> set[str]:
        if "told" in self.late:
            return {"fault"}
        near = {"fault"} if "near told" in self.late else set()
        near |= {"doubt"} if "near untold" in self.late else set()
        return near | {"doubt" if "untold" in self.late else ""}

    def hot_severities(self) -> set[str]:
        if self.told > 1 + NEAR_HEAT:
            return {"danger"}
        made = {"danger"} if self.told > 1 - NEAR_HEAT else set()
        if self.untold > 1 - NEAR_HEAT:
            made.add("doubt")
        if self.untold <= 1 + NEAR_HEAT:
            made.add("")
        return made


class _Tally:
    """What may be read in several ways, each by itself: devices count afresh or from the fault; faults that draw less than
    the smallest of these sources are looked at or not."""

    def __init__(self) -> None:
        self.seen = {(afresh, wide): _Seen() for afresh in (0, 1) for wide in (0, 1)}
        self.many = False

    def add(self, made: Course, tighter: Course, least_a: float, late: bool) -> None:
        self.many |= made.many
        for (afresh, wide), seen in self.seen.items():
            course = made if afresh else tighter
            seen.add(course, course.amps > (0.0 if wide else least_a * (1 - 1e-6)), late)

    def late(self) -> set[str]:
        return set().union(*(seen.late_severities() for seen in self.seen.values()))

    def hot(self) -> set[str]:
        return set().union(*(seen.hot_severities() for seen in self.seen.values()))


# What was said of conductors, by all that it hangs on: see `FaultJudge._all_that_matters`.
Memory = dict[str, tuple[set[str], set[str], bool]]


class FaultJudge:
    """``memory``: what was said of the same conductor in the same surroundings need not be found again."""

    def __init__(self, data: dict[str, Any], plain: bool = False, memory: Memory | None = None) -> None:
        self.memory: Memory = {} if memory is None else memory
        self._common = json.dumps([data["places"], data["systems"], data["boat"]], sort_keys=True)
        self._dumped: dict[int, str] = {}
        self._pieces: dict[tuple[str, frozenset[int]], frozenset[str]] = {}
        self.net: Network = Network(data) if plain else QuickNetwork(data)
        self.currents = Currents(self.net) if not isinstance(self.net, QuickNetwork) else quick_currents(self.net)
        self.courses = Courses(self.net)
        self.flow, self.bands = self.courses.flow, self.courses.bands
        readings = self.currents.readings[: 2 if data["scenes"] else 1]
        self.states = self._turned([frozenset(s.opened) for r in readings for c in r for s in c.states])
        self.exclusive = any(s["one_at_a_time"] and len(s["positions"]) > 1 for s in data["selectors"])
        self.word = FaultWord()

    def _turned(self, states: list[frozenset[int]]) -> list[frozenset[int]]:
        """These states, and each with every selector in every position it has: a hand may turn it at any time."""
        found = dict.fromkeys(states)
        terminals: dict[str, dict[int, str]] = {}
        for i, edge in enumerate(self.net.edges):
            if edge["kind"] == "selector":
                terminals.setdefault(edge["element"], {})[i] = edge["position"]
        positions = [
            [
                frozenset(i for i, at in terminals.get(s["name"], {}).items() if p not in ("both", at))
                for p in s["positions"]
            ]
            for s in self.net.data["selectors"]
            if s["positions"]
        ]
        mine = frozenset(i for at in terminals.values() for i in at)
        for state in states if positions else []:
            for chosen in itertools.product(*positions):
                found[(state - mine).union(*chosen)] = None
        return list(found) or [frozenset[int]()]

    @cached_property
    def drawn(self) -> Currents:
        """What loads draw, without what charges a battery."""
        return quick_currents(self.net, False) if isinstance(self.net, QuickNetwork) else Drawn(self.net)

    def judge(self) -> FaultWord:
        protection = Protection(self.net)
        for c in self.net.conductors():
            name = self.net.edges[c]["id"]
            verdict = protection.verdicts[name]
            if verdict.verdict == "protected" and not verdict.others:
                self._conductor(c, verdict.let_through_a)
        for d in self.bands:
            self._breaking(d)
        for name, node in self.net.nodes.items():
            if node["load"] and node["load"]["starts_a"] and node["load"]["starts_s"] is not None:
                self._start(name, node["load"])
        return self.word

    # ---- conductors
    def _conductor(self, c: int, let_through_a: float) -> None:
        net, flow, edge = self.net, self.flow, self.net.edges[c]
        if edge["length_m"] is None or edge["size"] is None:
            return
        amps = [a for book in net.rulebooks if (a := ampacity(net, edge, book)) is not None]
        before_c = service_c(net, edge, let_through_a, min(amps))
        end_c = final_c(edge, before_c)
        near, far = self._places(c)
        ends = list(dict.fromkeys(near + far))
        joined = flow.hangs_together(edge["from"])
        firm = sorted(s for s in joined if s in flow.firm)
        if not firm:
            return
        self.word.judged += 1
        blind = [s for s in firm if None in flow.firm[s]]
        firm = [s for s in firm if s not in blind]
        if flow.missing or not firm or any(flow.firm[s] != (None, None) for s in blind):
            # what hangs on a figure nobody gave is another's to say
            for rule in ("harmed-before-opening", "not-opened-in-time"):
                self.word.said[rule, edge["id"]] = {"", "doubt", SEVERITY[rule]}
            return
        # what differs only where no current of this fault can flow is one state
        by_node = {node: frozenset(flow.live(node).edges.tolist()) for node in ends}
        live = frozenset[int]().union(*by_node.values())
        states = list(dict.fromkeys(state & live for state in self.states))
        pieces = [Heated(c, edge["size"]["mm2"], before_c, end_c), *self._return(c, let_through_a)]
        late, hot = {""}, {""}
        behind = self._behind(c, far, firm)
        for heated in pieces:
            key = self._all_that_matters(c, [near, far], (live, states), (heated.before_c, heated.end_c))
            key += f"\n{heated.area_mm2}\n{sorted((sorted(s), a) for s, a in behind.items())}"
            if key not in self.memory:
                self.memory[key] = self._fresh(heated, by_node, (firm, states), behind)
            late, its_hot, many = self.memory[key]
            hot = {max(a, b, key=HEAT_RANK.index) for a in hot for b in its_hot}
            self.word.stepped += many and heated is pieces[0]
        self.word.say("not-opened-in-time", edge["id"], late)
        self.word.say("harmed-before-opening", edge["id"], hot)

    def _behind(self, c: int, far: list[str], firm: list[str]) -> dict[frozenset[str], float]:
        """By source alone, the smallest fault at any point behind a conductor from which no device parts it: the conductor
        carries that as well, and the same devices clear it."""
        found: dict[frozenset[str], float] = {}
        for node in sorted(set().union(*(self.net.joined(end, c) for end in far)) - set(far)):
            for source, state in itertools.product(firm, self.states):
                q = Question(frozenset({source}), state, SMALLEST)
                if self.courses.fed(node, q) and (amps := float(self.flow.fault(q, node, np.zeros(1))[0][0])) > 1e-3:
                    found[q.sources] = min(found.get(q.sources, math.inf), amps)
        return found

    def _return(self, c: int, let_through_a: float) -> list[Heated]:
        """The return as a conductor of its own, where it is thinner: it carries the same fault, and what persists heats it
        the more."""
        net, edge = self.net, self.net.edges[c]
        back = edge["return_size"]
        if back is None or back["mm2"] >= edge["size"]["mm2"] * (1 - 1e-9):
            return []
        own = {**edge, "size": back}
        amps = [a for book in net.rulebooks if (a := ampacity(net, own, book)) is not None]
        nobody_knows = any(bounded_only(back, book) for book in net.rulebooks)
        before_c = hottest_c(edge) if nobody_knows else service_c(net, own, let_through_a, min(amps))
        return [Heated(c, back["mm2"], before_c, final_c(edge, before_c))]

    def _all_that_matters(
        self,
        c: int,
        ends: list[list[str]],
        live: tuple[frozenset[int], list[frozenset[int]]],
        heat: tuple[float, float],
    ) -> str:
        """As text: the conductor, every edge that can carry current to it, every source, and the states of the switches."""
        net = self.net
        edges = sorted(live[0] | {c})
        for i in edges:
            if i not in self._dumped:
                self._dumped[i] = json.dumps(net.edges[i], sort_keys=True)
        states = [sorted(net.edges[i]["id"] for i in state) for state in live[1]]
        sources = [(n, net.nodes[n]["source"], net.nodes[n]["system"]) for n in sorted(net.supply)]
        rest = json.dumps([net.edges[c]["id"], ends, sources, states, self.exclusive, heat], sort_keys=True)
        return "\n".join([rest, self._common, *(self._dumped[i] for i in edges)])

    def _fresh(
        self, heated: Heated, by_node: dict[str, frozenset[int]],
        may: tuple[list[str], list[frozenset[int]]], behind: dict[frozenset[str], float],
    ) -> tuple[set[str], set[str], bool]:  # fmt: skip
        """(late, hot, whether more than one device had to open) of a conductor with faults at these nodes, by the
        sources and states there may be."""
        flow, (firm, states) = self.flow, may
        ends = list(by_node)
        tally = _Tally()
        own_a: dict[frozenset[str], float] = {}
        alone = [(frozenset({s}), state) for s in firm for state in states]
        # tired batteries share a current otherwise than fresh ones, so the near end is looked at as well
        for sources, state in alone:
            for node in ends:
                made = self._follow(heated, node, Question(sources, state, SMALLEST), np.zeros(1), tally, 0.0, True)
                if made is not None:
                    own_a[sources] = min(own_a.get(sources, math.inf), float(made.amps[0]))
        if not min(own_a.values(), default=0.0):
            return {""}, {""}, tally.many
        own_a = {s: min(own_a.get(s, math.inf), behind.get(s, math.inf)) for s in own_a.keys() | behind.keys()}
        least_a = min(own_a.values())
        groups = dict.fromkeys(g for n in ends for g in flow.together(n))
        # everything closed at once, where that can be
        largest = [] if self.exclusive else [frozenset[int]()]
        asked = [*alone, *((g, state) for g in groups for state in dict.fromkeys([*states, *largest]))]
        # what cannot join in from where it is, or is open where no current flows, makes no other question
        questions: dict[tuple[str, frozenset[str], frozenset[int]], bool] = {}
        for sources, state in asked:
            for node in ends:
                these = sources & self._joined(node, state) if len(sources) > 1 else sources
                which = node, these, state & by_node[node]
                smallest = len(sources) > 1 and state in states
                questions[which] = questions.get(which, False) or smallest
        for (node, sources, state), smallest in questions.items():
            if smallest:
                self._follow(heated, node, Question(sources, state, SMALLEST), np.zeros(1), tally, 0.0, True)
            q = Question(sources, state, LARGEST)
            own = own_a.get(sources, least_a)
            ohms = self.courses.resistances(q, node, least_a, own)
            if ohms is not None:
                self._follow(heated, node, q, ohms, tally, own)
        return tally.late(), tally.hot(), tally.many

    def _joined(self, node: str, state: frozenset[int]) -> frozenset[str]:
        if (node, state) not in self._pieces:
            self._pieces[node, state] = self.net.sources_joined(node, state)
        return self._pieces[node, state]

    def _follow(
        self, heated: Heated, node: str, q: Question, ohms: Floats, tally: _Tally, least_a: float, late: bool = False
    ) -> Course | None:
        made = self.courses.follow(heated, node, q, ohms)
        if made is None:
            return None
        tighter = self.courses.follow(heated, node, q, ohms, afresh=False) if made.many else made
        assert tighter is not None
        tally.add(made, tighter, least_a, late)
        return made

    def _places(self, c: int) -> tuple[list[str], list[str]]:
        """(ends nearest to the sources, ends furthest from them): both are both where current may come from either."""
        net = self.net
        u, v = net.ends(c)
        if net.in_ring(c, devices=True):
            return [u, v], [u, v]
        sides = [bool(net.joined(end, c, devices=True) & net.supply.keys()) for end in (u, v)]
        if all(sides):
            return [u, v], [u, v]
        return ([u], [v]) if sides[0] else ([v], [u])

    # ---- devices
    def _breaking(self, d: int) -> None:
        net, flow, edge = self.net, self.flow, self.net.edges[d]
        system = net.system_of(edge)
        if system is None or edge["from"] == edge["to"]:
            return
        most = 0.0
        for node in net.ends(d):
            joined = flow.hangs_together(node)
            told = {s for s in joined & flow.firm.keys() if flow.firm[s][LARGEST] is not None}
            if flow.missing or (joined & flow.firm.keys() and not told):
                self.word.say("breaking-capacity", edge["id"], {"", "doubt", "danger"})
                return
            for sources in flow.together(node):
                if flow.before(node, frozenset()) & sources & flow.firm.keys():
                    _, through = flow.fault(Question(sources, frozenset(), LARGEST, bare=d), node, np.zeros(1))
                    most = max(most, abs(float(through[d][0])) if d in through else 0.0)
            if not joined & flow.firm.keys():
                self.word.say(
                    "breaking-capacity", edge["id"], self._breaks(edge, system, flow.limited_only(node)) | {""}
                )
                return
        if most > 1e-2:
            self.word.say("breaking-capacity", edge["id"], self._breaks(edge, system, most))

    def _breaks(self, edge: dict[str, Any], system: dict[str, Any], amps: float) -> set[str]:
        volts = self._greatest_v(system)
        if edge["backed"]:
            return {"", "doubt", "danger"}
        if edge["breaks"]:
            rated = edge["voltage_v"] or BREAKS.get(edge["class"], (0, None))[1]
            rows = [(b["at_v"] or rated or math.inf, -b["current_a"]) for b in edge["breaks"]]
            fitting = sorted(row for row in rows if row[0] >= volts * (1 - 1e-9))
            if not fitting:
                return {"doubt"}
            capacity = -fitting[0][1]
        else:
            capacity, at_v = BREAKS.get(edge["class"], (0.0, None))
            if not capacity or (at_v is not None and at_v < volts * (1 - 1e-9)):
                return {"doubt"}
        if abs(amps - capacity) <= NEAR_AMPS * capacity:
            return {"", "danger"}
        return {"danger"} if amps > capacity else {""}

    def _greatest_v(self, system: dict[str, Any]) -> float:
        nominal = system["voltage_v"] or 0.0
        found = [system["greatest_v"] or CHARGED.get(nominal, nominal)]
        for node in self.net.nodes.values():
            if node["source"] and node["system"] == system["name"]:
                found += [v for v in (node["source"]["greatest_v"], node["source"]["voltage_v"]) if v]
        return max(found)

    # ---- starting
    def _start(self, name: str, load: dict[str, Any]) -> None:
        net = self.net
        running = load_current(net, net.nodes[name]) or 0.0
        for d, parts in self._carrying(name).items():
            band, edge = self.bands[d], net.edges[d]
            if band.unknown:
                continue
            words = set()
            # what charges a bank flows into it, or comes from elsewhere: it runs beside no start
            span = self.drawn.spans[d]
            for beside in (span.least, span.most):
                for near in parts:
                    amps = load["starts_a"] * near + max(beside - running, 0.0)
                    held, told = band.fastest(amps)
                    # of a larger current than is told: it opens no later than it does, or may, at a smaller one
                    sooner = [float(band.slowest(np.array([amps]))[0][0]), *(s for _, s in band.fast[-1:])]
                    told = told or min(sooner) <= load["starts_s"] * (1 + 1e-9)
                    words.add("" if held > load["starts_s"] * (1 + 1e-9) else "fault" if told else "doubt")
            known = self.word.said.get(("start-opens-device", edge["id"]))
            # more than one load may start through a device
            self.word.said["start-opens-device", edge["id"]] = _either(known, words) if known else words
            if self.word.said["start-opens-device", edge["id"]] == {""}:
                del self.word.said["start-opens-device", edge["id"]]

    def _carrying(self, name: str) -> dict[int, tuple[float, float]]:
        """By device: between which parts its greatest part of a load's start lies, over all states in which the load is on.

        Batteries start a load, all that are then connected together; where there are none, whatever else there is.
        """
        flow, nodes = self.flow, self.net.nodes
        joined = flow.hangs_together(name)
        givers = frozenset(n for n in joined if nodes[n]["source"]["kind"] == "battery") or joined
        greatest: dict[int, float] = {}
        states = dict.fromkeys(s for case in self.currents.readings[0] if name in case.on for s in case.states)
        for state in states:
            opened = frozenset(state.opened)
            these = (flow.before(name, opened) & givers) - state.off
            if not these:
                continue
            found = dict.fromkeys(series_devices(flow, name, these, opened), 1.0)
            firm = all(s in flow.firm and flow.firm[s][SMALLEST] is not None for s in these)
            if firm and not flow.missing:
                amps, through = flow.fault(Question(these, opened, SMALLEST), name, np.zeros(1))
                for d, carried in through.items():
                    part = abs(float(carried[0])) / float(amps[0]) if amps[0] > 0 else 0.0
                    if self.net.is_device(d) and part > 0.01 and d not in found:
                        found[d] = min(part, 1.0)
            for d, part in found.items():
                greatest[d] = max(greatest.get(d, 0.0), part)
        return {d: (p * (1 - 1e-6), p * (1 + 1e-6)) if p >= 1 else (p * 0.999, p * 1.001) for d, p in greatest.items()}


def _either(one: set[str], two: set[str]) -> set[str]:
    rank = ["", "doubt", "fault"]
    return {max(a, b, key=rank.index) for a in one for b in two}
