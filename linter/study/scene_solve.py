"""One piece of direct-current network solved: node voltages where constant-current and constant-power loads, batteries,
regulated sources with a limit, and diodes are all in balance.

**Constant power.** A load that takes P draws P / V; the current rises as the voltage falls.  With fixed states of
diodes and sources the equations F(V) = G V - b + P / V = 0 are convex and their off-diagonal terms are not positive;
Newton's method from above (every node at the highest source voltage) then falls monotonously to the upper solution if
there is one, and if there is none some iterate has a matrix that is not positive definite, which the elimination sees
as a pivot that is not positive.  So "no solution" is a proof and not a failure to converge.  (Monotone Newton theorem;
Ortega and Rheinboldt, Iterative Solution of Nonlinear Equations, 13.3; from memory.)

**Sources and diodes** change state: a regulated source gives nothing, holds its voltage, or gives its limit.  States
are corrected after every step.  Where that does not settle, or a step fails, the slow and sure way is taken: currents
of loads fixed at the last voltages, states settled for these, new currents, and so on; voltages can only fall.
"""

from __future__ import annotations

import itertools
import math
from dataclasses import dataclass, field

from linter.study.impedance import NIL_OHM
from linter.study.scene_elimination import Elimination, Way

OFF, HOLDING, LIMITED = 0, 1, 2
# What keeps a node that nothing ties to any voltage from having none: it carries some ten nanoamperes.
LEAK_S = 1e-9
EXACT = 1e-10
# More than this left over at a node is no balance.
LEAST_A = 1e-3
STEPS = 80
SURE_STEPS = 3000


@dataclass(frozen=True, slots=True)
class Feed:
    """A source at a node: ``volts`` behind ``ohm``; gives at most ``limit_a``; ``takes``: a battery, which also lets
    itself be charged."""

    node: int
    volts: float
    ohm: float
    limit_a: float = math.inf
    takes: bool = True

    @property
    def plain(self) -> bool:
        return self.takes and self.limit_a == math.inf


@dataclass(slots=True)
class Problem:
    """Nodes are numbered from 0; loads by node: constant current in A and constant power in W."""

    count: int
    ways: list[Way]
    feeds: list[Feed]
    amps: dict[int, float] = field(default_factory=dict)
    watts: dict[int, float] = field(default_factory=dict)


@dataclass(slots=True)
class Balance:
    """Volts by node, amperes by way (from u to v) and by feed (given), and by how much the currents at the worst node
    fail to cancel, in A."""

    volts: list[float]
    ways_a: list[float]
    feeds_a: list[float]
    residual_a: float
    steps: int


class Solver:
    """A problem with its states."""

    def __init__(self, problem: Problem) -> None:
        self.problem = problem
        self.elimination = Elimination(problem.count, problem.ways)
        self.siemens = [1.0 / max(w.ohm, NIL_OHM) for w in problem.ways]
        self.feed_s = [1.0 / max(f.ohm, NIL_OHM) for f in problem.feeds]
        self.diodes = [i for i, w in enumerate(problem.ways) if w.one_way]
        self.moving = [i for i, f in enumerate(problem.feeds) if not f.plain]
        self.blocked: set[int] = set()
        self.states = [HOLDING] * len(problem.feeds)
        self.steps = 0
        self._new_conductances = True

    def solve(self) -> Balance | None:
        """None: there is no solution, the loads cannot be carried."""
        problem = self.problem
        high_v = max((f.volts for f in problem.feeds), default=0.0)
        volts = [high_v] * problem.count
        plain = not self.diodes and not self.moving
        for _ in range(STEPS):
            found = self._linear(self._companion(volts))
            if found is None or any(found[n] <= 0.0 for n in problem.watts):
                return None if plain else self._surely()
            moved = max([abs(a - b) for a, b in zip(volts, found, strict=True)], default=0.0)
            volts = found
            if not plain and self._settle(volts):
                continue
            if moved <= EXACT * high_v or (plain and not problem.watts):
                made = self._checked(volts)
                return made if plain or (made is not None and made.residual_a <= LEAST_A) else self._surely()
        # at the very limit Newton's method only halves its distance; what is left is nothing anybody could measure
        return self._checked(volts) if plain else self._surely()

    def _companion(self, volts: list[float]) -> tuple[list[float], list[float]]:
        """Conductances to the reference and currents given, loads of constant power as their tangent at ``volts``."""
        d, b = self._base()
        for node, watts in self.problem.watts.items():
            v = volts[node]
            d[node] -= watts / (v * v)
            b[node] -= 2.0 * watts / v
        return d, b

    def _base(self) -> tuple[list[float], list[float]]:
        problem = self.problem
        d = [LEAK_S if self.diodes or self.moving else 0.0] * problem.count
        b = [0.0] * problem.count
        for feed, siemens, state in zip(problem.feeds, self.feed_s, self.states, strict=True):
            if state == HOLDING:
                d[feed.node] += siemens
                b[feed.node] += siemens * feed.volts
            elif state == LIMITED:
                b[feed.node] += feed.limit_a
        for node, amps in problem.amps.items():
            b[node] -= amps
        for index in self.diodes:
            way = problem.ways[index]
            if index not in self.blocked and way.drop_v:
                b[way.u] += way.drop_v * self.siemens[index]
                b[way.v] -= way.drop_v * self.siemens[index]
        return d, b

    def _linear(self, system: tuple[list[float], list[float]]) -> list[float] | None:
        if self._new_conductances:
            now = list(self.siemens)
            for index in self.blocked:
                now[index] = 0.0
            self.elimination.conductances(now)
            self._new_conductances = False
        self.steps += 1
        return self.elimination.solve(*system)

    def _fitting(self, volts: list[float]) -> tuple[set[int], list[int]]:
        """The diodes that block and the states of the sources at these voltages."""
        ways, feeds = self.problem.ways, self.problem.feeds
        blocked = {i for i in self.diodes if volts[ways[i].u] - volts[ways[i].v] - ways[i].drop_v < -1e-9}
        states = [HOLDING] * len(feeds)
        for index in self.moving:
            feed = feeds[index]
            amps = (feed.volts - volts[feed.node]) * self.feed_s[index]
            if amps > feed.limit_a * (1 + 1e-9):
                states[index] = LIMITED
            elif amps < -1e-9 and not feed.takes:
                states[index] = OFF
        return blocked, states

    def _settle(self, volts: list[float]) -> bool:
        """Take the states that fit; whether they are others than before."""
        blocked, states = self._fitting(volts)
        if (blocked, states) == (self.blocked, self.states):
            return False
        if blocked != self.blocked:
            self._new_conductances = True
        self.blocked, self.states = blocked, states
        return True

    def _surely(self) -> Balance | None:
        """Loads' currents fixed in turn, states settled in between: voltages fall from step to step, to the solution
        or without end."""
        problem = self.problem
        drawn = dict.fromkeys(problem.watts, 0.0)
        high_v = max((f.volts for f in problem.feeds), default=0.0)
        before = [high_v] * problem.count
        for step in range(SURE_STEPS):
            volts = self._settled(drawn, before)
            if volts is None or any(volts[n] <= 0.0 for n in problem.watts):
                return None
            moved = max([abs(a - b) for a, b in zip(before, volts, strict=True)], default=0.0)
            if moved <= EXACT * high_v and step:
                return self._checked(volts)
            before = volts
            drawn = {n: w / volts[n] for n, w in problem.watts.items()}
        return None

    def _settled(self, drawn: dict[int, float], volts: list[float]) -> list[float] | None:
        """Voltages with the loads' currents as they are.

        They are the least point of the co-content (Millar 1951; from memory), which is convex and, piece by piece,
        quadratic: each step goes to the least point of the piece it is in, but no further than to the least point on
        the way there.
        """
        self._settle(volts)
        for _ in range(200):
            d, b = self._base()
            for node, amps in drawn.items():
                b[node] -= amps
            aim = self._linear((d, b))
            if aim is None:
                return None
            states = self.blocked, self.states
            self._settle(aim)
            if states == (self.blocked, self.states):
                return aim
            part = self._part(drawn, volts, aim)
            volts = [v + part * (a - v) for v, a in zip(volts, aim, strict=True)]
            self._settle(volts)
        return None

    def _part(self, drawn: dict[int, float], volts: list[float], aim: list[float]) -> float:
        """How much of the way to ``aim`` the co-content falls."""
        step = [a - v for v, a in zip(volts, aim, strict=True)]
        turns = []
        for index in self.diodes:
            way = self.problem.ways[index]
            turns.append((volts[way.u] - volts[way.v] - way.drop_v, step[way.v] - step[way.u]))
        for index in self.moving:
            feed = self.problem.feeds[index]
            ahead_v = feed.volts - volts[feed.node]
            turns.append((ahead_v, step[feed.node]))
            if feed.limit_a < math.inf:
                turns.append((ahead_v - feed.limit_a / self.feed_s[index], step[feed.node]))
        at = sorted({0.0, 1.0} | {r for over, by in turns if by and 0.0 < (r := over / by) < 1.0})
        before = self._slope(drawn, volts, step, at[0])
        for low, high in itertools.pairwise(at):
            after = self._slope(drawn, volts, step, high)
            if after >= 0.0:
                return low + (high - low) * (before / (before - after)) if before < 0.0 else high
            before = after
        return 1.0

    def _slope(self, drawn: dict[int, float], volts: list[float], step: list[float], part: float) -> float:
        """By how much the co-content changes for the next small part of the step."""
        problem = self.problem
        slope = 0.0
        for index, way in enumerate(problem.ways):
            by = step[way.u] - step[way.v]
            amps = (volts[way.u] - volts[way.v] + part * by - way.drop_v) * self.siemens[index]
            slope += by * (max(0.0, amps) if way.one_way else amps)
        for feed, siemens in zip(problem.feeds, self.feed_s, strict=True):
            amps = min((feed.volts - volts[feed.node] - part * step[feed.node]) * siemens, feed.limit_a)
            slope -= step[feed.node] * (amps if feed.takes else max(0.0, amps))
        for loads in (problem.amps, drawn):
            slope += sum(amps * step[node] for node, amps in loads.items())
        return slope + LEAK_S * sum((v + part * s) * s for v, s in zip(volts, step, strict=True))

    def _checked(self, volts: list[float]) -> Balance | None:
        """Currents from the voltages, and how far they are from cancelling at every node."""
        problem = self.problem
        if any(volts[n] < 0.0 for n, a in problem.amps.items() if a > 0.0):
            return None
        left = [0.0] * problem.count
        ways_a = []
        for index, way in enumerate(problem.ways):
            amps = 0.0 if index in self.blocked else (volts[way.u] - volts[way.v] - way.drop_v) * self.siemens[index]
            ways_a.append(amps)
            left[way.u] -= amps
            left[way.v] += amps
        feeds_a = []
        for feed, siemens, state in zip(problem.feeds, self.feed_s, self.states, strict=True):
            amps = (feed.volts - volts[feed.node]) * siemens if state == HOLDING else 0.0
            amps = feed.limit_a if state == LIMITED else amps
            feeds_a.append(amps)
            left[feed.node] += amps
        for node, amps in problem.amps.items():
            left[node] -= amps
        for node, watts in problem.watts.items():
            left[node] -= watts / volts[node]
        return Balance(volts, ways_a, feeds_a, max([abs(x) for x in left], default=0.0), self.steps)


def solve(problem: Problem) -> Balance | None:
    """The voltages and currents of a piece that hangs together; None where its loads cannot be carried."""
    return Solver(problem).solve()


def greatest_share(problem: Problem) -> tuple[float, Balance | None]:
    """Of loads that cannot be carried: the share of them all that can, and the balance there, at its very limit."""
    low, high, best = 0.0, 1.0, None
    for _ in range(30):
        middle = (low + high) / 2
        tried = Problem(
            problem.count, problem.ways, problem.feeds,
            {n: a * middle for n, a in problem.amps.items()}, {n: w * middle for n, w in problem.watts.items()},
        )  # fmt: skip
        found = solve(tried)
        if found is None:
            high = middle
        else:
            low, best = middle, found
    return low, best
