"""A mesh of resistances with sources, one-way elements conducting only where they are driven forwards.

While every one-way element stays as it is, conducting or not, the mesh is linear: one factorisation tells the fault
current at every node.  Nodes whose fault would turn some of them are solved again together, as they then are.
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from functools import cached_property

from linter.study.impedance import NIL_OHM
from linter.study.net import Net
from linter.study.sparse import Factor, Selected, TooDense, factor

# Less than this is what rounding leaves where nothing flows.
LEAST_A = 1e-3
# A one-way element is turned when it is driven the wrong way by more than this.
LEAST_V = 1e-9
# What hangs free is held somewhere while it is solved; no current flows through this.
HELD_S = 1e3
# The voltage of what is fed by a current and cannot give it anywhere.
FREE_V = 1e30
# Nodes solved in all the states that the one-way elements of one mesh come to: some ten seconds of reckoning, for which
# it takes a hundred of them in one mesh.
GREATEST_SOLVED = 2_000_000
# How often all that stand wrong are turned at once before they are turned one by one, the first first, which
# always comes to an end.
ALL_AT_ONCE = 8


@dataclass(frozen=True, slots=True)
class Feed:
    """A source at a node: volts behind ohm, which is above 0; with a limit in A it is a current where another holds
    the voltage."""

    node: int
    volts: float
    ohm: float
    limit_a: float = math.inf


@dataclass(frozen=True, slots=True)
class OneWay:
    """A one-way element by the numbers of its ends."""

    edge: int
    u: int
    v: int
    siemens: float
    drop_v: float


@dataclass(slots=True)
class Settled:
    """A fault at a node: the current into it in A, and what the mesh is for it while the one-way elements stay as they
    are: volts behind ohm, at most ``limit_a``."""

    amps: float
    volts: float
    ohm: float
    limit_a: float
    state: State
    number: int
    # where a one-way element turns as the fault's own voltage rises: (from this voltage on, volts, ohm)
    bends: tuple[tuple[float, float, float], ...] = ()

    def beside_v(self, number: int) -> float:
        """The voltage of a node that an edge joins with the fault."""
        return self.state.at_v(number, self.number, self.state.inverse.to[self.number][number])

    def beside_ohm(self, number: int) -> float:
        """What a node that an edge joins with the fault is, seen against the fault, ohm.  Its voltage by this is the
        current from it into the fault if the edge had no resistance: then the edge itself would carry none."""
        inverse = self.state.inverse
        transfer = inverse.to[self.number][number]
        return max(inverse.own[number] - transfer * transfer / inverse.own[self.number], NIL_OHM * 1e-3)


class Mesh:
    """Nodes and edges with the resistances of one case, and the sources that feed them.

    ``ohms`` by edge; edges of infinite resistance are left out.  ``drops`` by one-way edge, in V.
    """

    def __init__(
        self,
        net: Net,
        nodes: Iterable[int],
        edges: Iterable[int],
        ohms: Mapping[int, float],
        drops: Mapping[int, float],
        feeds: Iterable[Feed],
    ) -> None:
        self.at = {node: i for i, node in enumerate(nodes)}
        self.joins: list[tuple[int, int, int, float]] = []
        self.one_way: list[OneWay] = []
        self.feeds = list(feeds)
        made = net.circuit.edges
        for edge in edges:
            ohm = ohms[edge]
            if ohm == math.inf:
                continue
            u, v, siemens = self.at[net.u[edge]], self.at[net.v[edge]], 1.0 / max(ohm, NIL_OHM)
            if u == v:
                continue
            if made[edge].one_way:
                self.one_way.append(OneWay(edge, u, v, siemens, drops.get(edge, 0.0)))
            else:
                self.joins.append((edge, u, v, siemens))
        self.ends = sorted({n for w in self.one_way for n in (w.u, w.v)})
        self._states: dict[frozenset[int], State] = {}
        self._solved = 0

    def count(self) -> None:
        """One more solution.  Raises TooDense when there have been too many."""
        self._solved += len(self.at)
        if self._solved > GREATEST_SOLVED:
            raise TooDense(f"more than {GREATEST_SOLVED} nodes solved")

    def state(self, blocked: frozenset[int] = frozenset()) -> State:
        """The mesh while these one-way edges do not conduct."""
        known = self._states.get(blocked)
        if known is None:
            known = self._states[blocked] = State(self, blocked)
        return known

    def faults(self, nodes: Iterable[int]) -> dict[int, Settled]:
        """A fault at each of these nodes by itself.  A node is left out if its one-way elements would not settle."""
        found: dict[int, Settled] = {}
        groups: dict[tuple[frozenset[int], int], list[int]] = {(frozenset(), 0): list(nodes)}
        while groups:
            (blocked, tries), group = groups.popitem()
            state = self.state(blocked)
            for node, wrong in zip(group, state.wrong([self.at[n] for n in group]), strict=True):
                if not wrong:
                    found[node] = made = state.settled(self.at[node])
                    made.bends = self._bends(made)
                elif tries < ALL_AT_ONCE + 10 * len(self.one_way):
                    turned = wrong if tries < ALL_AT_ONCE else wrong[:1]
                    groups.setdefault((blocked.symmetric_difference(turned), tries + 1), []).append(node)
        return found

    def segments(self, node: int) -> list[tuple[float, State]]:
        """How the mesh stands while a fault at a node draws less and less: (at most so many A, its state), the largest
        current first.  Empty where no firm source feeds it, or it would not settle."""
        bolted = self.faults([node]).get(node)
        if bolted is None or not bolted.state.firm(bolted.number):
            return []
        state, amps, fault = bolted.state, bolted.amps, bolted.number
        found = [(amps, state)]
        turned = -1
        for _ in range(4 * len(self.one_way) if amps > LEAST_A else 0):
            crossing = [(a, edge) for edge, a in state.crossings(fault) if LEAST_A < a < amps and edge != turned]
            if not crossing:
                break
            amps, turned = max(crossing)
            state = self.state(state.blocked ^ {turned})
            if not state.firm(fault):
                break
            found.append((amps, state))
        return found

    def _bends(self, bolted: Settled) -> tuple[tuple[float, float, float], ...]:
        """Let the current into a fault fall from that of a bolted one to nothing, and turn what it turns."""
        state, amps, fault = bolted.state, bolted.amps, bolted.number
        found: list[tuple[float, float, float]] = []
        turned = -1
        for _ in range(4 * len(self.one_way) if state.firm(fault) and amps > LEAST_A else 0):
            crossing = [
                (at_a, edge) for edge, at_a in state.crossings(fault) if LEAST_A < at_a < amps and edge != turned
            ]
            if not crossing:
                break
            amps, turned = max(crossing)
            state = self.state(state.blocked ^ {turned})
            if not state.firm(fault):
                break
            volts, ohm = state.source(fault)
            found.append((max(volts - amps * ohm, 0.0), volts, ohm))
        return tuple(found)

    def standing(self) -> State | None:
        """The mesh as it stands with its feeds and no fault but what they are; None if it would not settle."""
        blocked: frozenset[int] = frozenset()
        for tries in range(ALL_AT_ONCE + 10 * len(self.one_way) + 1):
            state = self.state(blocked)
            wrong = [w.edge for w in self.one_way if state.is_wrong(w, state.rest_v(w.u), state.rest_v(w.v))]
            if not wrong:
                return state
            blocked = blocked.symmetric_difference(wrong if tries < ALL_AT_ONCE else wrong[:1])
        return None


class State:
    """A mesh while certain one-way elements do not conduct: linear."""

    def __init__(self, mesh: Mesh, blocked: frozenset[int]) -> None:
        mesh.count()
        self.mesh, self.blocked = mesh, blocked
        count = len(mesh.at)
        self.ties: list[dict[int, float]] = [{} for _ in range(count)]
        injected = [0.0] * count
        for _, u, v, siemens in mesh.joins:
            self._tie(u, v, siemens)
        for way in mesh.one_way:
            if way.edge not in blocked:
                self._tie(way.u, way.v, way.siemens)
                injected[way.u] += way.drop_v * way.siemens
                injected[way.v] -= way.drop_v * way.siemens
        self.part = self._parts()
        self._dropped = list(injected)
        earth = [0.0] * count
        self._firm: set[int] = set()
        # by part that no firm source holds: the sum of what its limited ones give
        self.given: dict[int, float] = {}
        for feed in mesh.feeds:
            i = mesh.at[feed.node]
            if feed.limit_a == math.inf:
                earth[i] += 1.0 / feed.ohm
                injected[i] += feed.volts / feed.ohm
                self._firm.add(self.part[i])
            else:
                injected[i] += feed.limit_a
                self.given[self.part[i]] = self.given.get(self.part[i], 0.0) + feed.limit_a
        for i in set(self.part) - self._firm:
            earth[i] = HELD_S
        self._factor: Factor = factor(earth, [dict(row) for row in self.ties])
        self._volts = self._factor.solve(injected)
        self._of_ends: dict[int, list[float]] = {}
        self._asked = 0

    def _tie(self, u: int, v: int, siemens: float) -> None:
        self.ties[u][v] = self.ties[v][u] = self.ties[u].get(v, 0.0) + siemens

    def _parts(self) -> list[int]:
        """By node: the first node of what hangs together with it."""
        part = [-1] * len(self.ties)
        for start in range(len(part)):
            if part[start] < 0:
                part[start] = start
                waiting = [start]
                while waiting:
                    for other in self.ties[waiting.pop()]:
                        if part[other] < 0:
                            part[other] = start
                            waiting.append(other)
        return part

    @cached_property
    def inverse(self) -> Selected:
        return self._factor.selected()

    def column(self, number: int) -> list[float]:
        """By node: its voltage for 1 A put in at a node, V."""
        self.mesh.count()
        injected = [0.0] * len(self.part)
        injected[number] = 1.0
        return self._factor.solve(injected)

    def firm(self, number: int) -> bool:
        """Whether a source that does not limit itself holds the voltage of a node."""
        return self.part[number] in self._firm

    def amps(self, fault: int) -> float:
        """Into a fault at a node; of what is fed by limited sources only, all that they give."""
        if self.firm(fault):
            return self._volts[fault] / self.inverse.own[fault]
        return self.given.get(self.part[fault], 0.0)

    def rest_v(self, number: int) -> float:
        """The voltage of a node with no fault."""
        if self.firm(number):
            return self._volts[number]
        return FREE_V if self.given.get(self.part[number]) else 0.0

    def at_v(self, number: int, fault: int, transfer_ohm: float) -> float:
        """The voltage of a node with a fault at another; ``transfer_ohm``: the inverse between the two."""
        if self.part[number] != self.part[fault]:
            return self.rest_v(number)
        volts = self._volts[number] - transfer_ohm * self.amps(fault)
        if not self.firm(fault):
            # what is held nowhere else is held by the fault
            volts -= self._volts[fault] - self.inverse.own[fault] * self.amps(fault)
        return volts

    def wrong(self, faults: list[int]) -> list[list[int]]:
        """By fault: the one-way edges that conduct backwards, or do not though they would be driven forwards."""
        ways = self.mesh.one_way
        if not ways:
            return [[] for _ in faults]
        made = []
        for i in faults:
            ohms = self._to_ends(i, len(faults))
            volts = {end: self.at_v(end, i, ohm) for end, ohm in ohms.items()}
            made.append([w.edge for w in ways if self.is_wrong(w, volts[w.u], volts[w.v], i)])
        return made

    def _to_ends(self, fault: int, more: int = 1) -> dict[int, float]:
        """The inverse between a node and the ends of the one-way elements: from the columns of the ends, once as many
        have been asked for, or will be, as there are ends."""
        ends = self.mesh.ends
        self._asked += 1
        if not self._of_ends and max(self._asked, more) >= len(ends):
            self._of_ends = {end: self.column(end) for end in ends}
        if self._of_ends:
            return {end: column[fault] for end, column in self._of_ends.items()}
        column = self.column(fault)
        return {end: column[end] for end in ends}

    def source(self, fault: int) -> tuple[float, float]:
        """What a node is that a firm source feeds: volts behind ohm."""
        return self._volts[fault], self.inverse.own[fault]

    def crossings(self, fault: int) -> list[tuple[int, float]]:
        """(edge, A) for each one-way element that is to be turned when the current into a fault falls below that."""
        ohms = self._to_ends(fault)
        part = self.part[fault]
        found = []
        for way in self.mesh.one_way:
            # ahead of it: volts - ohm × amperes into the fault
            volts, ohm = -way.drop_v, 0.0
            for end, sign in ((way.u, 1.0), (way.v, -1.0)):
                if self.part[end] == part:
                    volts += sign * self._volts[end]
                    ohm += sign * ohms[end]
                else:
                    volts += sign * self.rest_v(end)
            conducts = way.edge not in self.blocked
            if ohm and (ohm < 0) == conducts and (self.part[way.u] == part or self.part[way.v] == part):
                found.append((way.edge, volts / ohm))
        return found

    def is_wrong(self, way: OneWay, from_v: float, to_v: float, fault: int = -1) -> bool:
        one, other = self.part[way.u], self.part[way.v]
        if one == other and one not in self._firm and (fault < 0 or self.part[fault] != one):
            # hangs free, nothing flows
            return False
        ahead_v = from_v - to_v - way.drop_v
        return (way.edge not in self.blocked) != (ahead_v > 0) and abs(ahead_v) > LEAST_V

    def settled(self, fault: int) -> Settled:
        if self.firm(fault):
            return Settled(self.amps(fault), self._volts[fault], self.inverse.own[fault], math.inf, self, fault)
        limit_a = self.given.get(self.part[fault], 0.0)
        if not limit_a:
            return Settled(0.0, 0.0, math.inf, 0.0, self, fault)
        volts, ohms = self._limited
        amps = min(limit_a, max(volts[fault], 0.0) / ohms.own[fault])
        return Settled(amps, volts[fault], ohms.own[fault], limit_a, self, fault)

    @cached_property
    def _limited(self) -> tuple[list[float], Selected]:
        """Volts and ohms of what only limited sources feed, each of them as a voltage.

        All at the highest voltage of them, as none takes current from another; so the fault is never less.
        """
        highest: dict[int, float] = {}
        feeds = [(self.mesh.at[f.node], f) for f in self.mesh.feeds if f.limit_a < math.inf]
        for i, feed in feeds:
            highest[self.part[i]] = max(highest.get(self.part[i], 0.0), feed.volts)
        earth = [0.0] * len(self.part)
        injected = list(self._dropped)
        for i, feed in feeds:
            siemens = 1.0 / feed.ohm
            earth[i] += siemens
            injected[i] += highest[self.part[i]] * siemens
        for i in set(self.part) - set(highest):
            earth[i] = HELD_S
        made = factor(earth, [dict(row) for row in self.ties])
        return made.solve(injected), made.selected()

    def flows(self, fault: int | None = None) -> dict[int, tuple[float, float]]:
        """By edge that hangs together with a node, from u to v: the current with no fault there, A, and what each
        ampere into a fault there adds to it.  With no node given: of every edge, as it stands."""
        ohms = self.column(fault) if fault is not None else [0.0] * len(self.part)
        joins = [(edge, u, v, siemens, 0.0) for edge, u, v, siemens in self.mesh.joins]
        joins += [(w.edge, w.u, w.v, w.siemens, w.drop_v) for w in self.mesh.one_way if w.edge not in self.blocked]
        return {
            edge: ((self._volts[u] - self._volts[v] - drop_v) * siemens, (ohms[v] - ohms[u]) * siemens)
            for edge, u, v, siemens, drop_v in joins
            if fault is None or self.part[u] == self.part[fault]
        }
