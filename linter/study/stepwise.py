"""Clearing of a fault where no single device carries all of it: parallel ways, and several sources.

There the course of events is followed: which device opens first, what flows then, which opens next; and the heat in the
conductor is added up over all of it.
"""

from __future__ import annotations

import itertools
import math
from collections.abc import Callable
from dataclasses import dataclass

from linter.study.clearing import Clearing, Question
from linter.study.corners import curve_corners
from linter.study.heating import Withstand
from linter.study.opening import Clears, Heat, Moment, Openings, worse
from linter.tables.conductors import short_circuit

# Besides corners of curves, so many faults a decade of current between the largest and the smallest are looked at, at
# equal steps in logarithms; and never more than so many in all.
BETWEEN, GREATEST_BETWEEN = 8, 96
# A device that carries less of the current than this has no corner worth a look.
LEAST_SHARE = 1e-3
# How far beside a corner is looked, so that both ends of a step are seen.
BESIDE = 1e-4


@dataclass(frozen=True, slots=True)
class Asked:
    """A conductor (edge, its ends), the sources that feed a fault on it, and what is open meanwhile.

    ``heat_only``: a state in which the smallest fault is not looked for.
    """

    edge: int
    ends: tuple[int, int]
    sources: tuple[int, ...]
    opened: frozenset[int]
    heat_only: bool = False


def stepwise(openings: Openings, asked: Asked, stands: Withstand) -> list[Clears]:
    """The smallest fault, and the worst of the larger ones; empty where these sources feed none."""
    first: tuple[float, Clearing, tuple[int, ...]] | None = None
    worst: Heat | None = None
    beyond: Heat | None = None
    largest_a, rank = 0.0, (False, 0.0)
    least_a = openings.beyond().least_a(asked.ends, openings.parts.leads_to[asked.edge])
    for node in dict.fromkeys(asked.ends):
        for largest, made, untold, told in _courses(openings, asked, node, least_a):
            if made.unknown:
                return [_unknown(asked)]
            if not made.steps:
                continue
            fault_a = made.steps[0].fault_a
            if largest and fault_a < least_a * (1 - BESIDE):
                # kept for another conductor that ends here
                continue
            largest_a = max(largest_a, fault_a)
            # what is told to be late goes before what might be later
            this = (not untold and made.seconds > stands.greatest_s, made.seconds)
            if not largest and (first is None or this > rank):
                first, rank = (fault_a, made, untold), this
            for carried in (_along, _beside):
                heat = _heat(made, asked.edge, carried, stands, untold)
                if not untold:
                    worst = worse(worst, heat)
                    continue
                beyond = worse(beyond, heat)
                # what has harmed it before a device carries more than is told of it
                before = _heat(told, asked.edge, carried, stands, ())
                if before is not None and before.share > 1:
                    worst = worse(worst, before)
    if first is None:
        return []
    if asked.heat_only:
        first = (first[0], Clearing(0.0, first[1].opened), ())
    fault_a, made, untold = first
    by = made.opened[-1] if made.opened else -1
    leans = [openings.faults.pairs[s][1].leans_on for s in asked.sources]
    moment = Moment(fault_a, made.seconds, by, untold)
    ohm = sum(openings.faults.pairs[s][1].voltage_v for s in asked.sources[:1]) / fault_a
    return [
        Clears(
            asked.sources, made.opened, fault_a, ohm, max(largest_a, fault_a), moment, worst, beyond,
            tuple(dict.fromkeys(text for text in leans if text)), False, (asked.ends, asked.opened),
        )
    ]  # fmt: skip


def _unknown(asked: Asked) -> Clears:
    nothing = Moment(0.0, math.inf, -1)
    return Clears(
        asked.sources, (), 0.0, math.inf, 0.0, nothing, None, None, (), True, (asked.ends, asked.opened)
    )  # fmt: skip


# (largest case, the course, the devices whose curves did not reach so far, the course as far as they did)
Course = tuple[bool, Clearing, tuple[int, ...], Clearing]


@dataclass(slots=True)
class Courses:
    """What happens after faults at a node: (largest case, the course, the devices whose curves did not reach so far);
    of the larger ones down to ``least_a``.  The same for every conductor that ends there, so it is kept."""

    found: list[Course]
    bolted: Clearing
    least_a: float


def _courses(openings: Openings, asked: Asked, node: int, least_a: float) -> list[Course]:
    """The courses at a node, of faults down to ``least_a``, A."""
    sources, opened = asked.sources, asked.opened
    key = (node, sources, opened)
    known = openings.courses.get(key)

    smallest, largest = (Question(openings.faults, node, sources, opened, large) for large in (False, True))
    devices = openings.devices()

    def follow(question: Question, more_ohm: float) -> Course:
        # of what flows only the conductors that end here are asked about: all of it would be most of the memory
        made = question.clear(devices, more_ohm, kept)
        untold = _untold(made)
        return question is largest, made, untold, _told_part(made) if untold else made

    net = openings.net
    kept = [e for e in net.circuit.nodes[node].edges if not net.is_device[e]]
    if known is None:
        found = [follow(smallest, 0.0), follow(largest, 0.0)]
        bolted = largest.clear(None, 0.0)
        known = openings.courses[key] = Courses(found, bolted, bolted.steps[0].fault_a if bolted.steps else 0.0)
    if known.bolted.steps and not known.bolted.unknown and 0 < least_a < known.least_a * (1 - 1e-6):
        bolted_a = known.bolted.steps[0].fault_a

        def drawing(amps: float) -> Course:
            return follow(largest, _behind(openings, largest, sources, bolted_a, amps))

        between = _between(openings, key, largest, known.bolted, (least_a, known.least_a))
        made = [(amps, drawing(amps)) for amps in between]
        # the last found drew the least before
        made.append((known.least_a, known.found[-1]))
        more = [course for _, course in _turns(made, drawing)]
        known.found += [*more, *(course for _, course in made[-2::-1])]
        known.least_a = least_a
    return known.found


def _turns(
    made: list[tuple[float, Course]], drawing: Callable[[float], Course]
) -> list[tuple[float, Course]]:  # fmt: skip
    """The courses on both sides of each current at which devices open in another order or another of its steps lasts
    beyond the adiabatic time: what later steps last no corner of a curve tells."""
    limit_s = short_circuit().greatest_s

    def sort(course: Course) -> tuple[int, tuple[int, ...], bool]:
        ends = itertools.accumulate(step.seconds for step in course[1].steps)
        return sum(end <= limit_s for end in ends), course[1].opened, course[1].unknown

    found: list[tuple[float, Course]] = []
    waiting = [pair for pair in itertools.pairwise(made) if sort(pair[0][1]) != sort(pair[1][1])]
    while waiting and len(found) < GREATEST_BETWEEN:
        low, high = waiting.pop()
        if high[0] <= low[0] * (1 + BESIDE):
            continue
        amps = math.sqrt(low[0] * high[0])
        middle = (amps, drawing(amps))
        found.append(middle)
        waiting += [pair for pair in ((low, middle), (middle, high)) if sort(pair[0][1]) != sort(pair[1][1])]
    return found


def _untold(made: Clearing) -> tuple[int, ...]:
    """The devices that carried more than is told of them, as long as it matters: what has gone on for longer than a
    fault may is late whatever happens then."""
    found: dict[int, None] = {}
    seconds = 0.0
    for step in made.steps:
        if seconds > short_circuit().greatest_s:
            break
        seconds += step.seconds
        found.update(dict.fromkeys(step.beyond))
    return tuple(found)


def _told_part(made: Clearing) -> Clearing:
    """The first steps of a course, as far as the curves of all devices that carry current tell what happens."""
    steps = tuple(itertools.takewhile(lambda step: not step.beyond, made.steps))
    return Clearing(sum(s.seconds for s in steps), made.opened[:1], steps)


def _between(
    openings: Openings,
    asked: tuple[int, tuple[int, ...], frozenset[int]],
    largest: Question,
    bolted: Clearing,
    between: tuple[float, float],
) -> list[float]:
    """Currents in A of faults within a range: those at which a device that carries a part of the current is at a corner
    of its curve, or passes the adiabatic time; and some at equal steps."""
    node, sources, _ = asked
    faults, (least, most) = openings.faults, between
    steps = max(2, math.ceil(BETWEEN * math.log10(most / least)))
    wanted = {least * (most / least) ** (step / steps) for step in range(steps)}
    bolted_a, carried = bolted.steps[0].fault_a, bolted.steps[0].amps
    # what a device carries is a + b I: of a limited source beside, all that it gives flows whatever I is
    half_ohm = max((faults.pairs[s][0].voltage_v for s in sources), default=0.0) / bolted_a
    other = largest.clear(None, half_ohm)
    parts: dict[int, tuple[float, float]] = dict.fromkeys(openings.tree[node].devices, (0.0, 1.0))
    if other.steps and other.steps[0].fault_a < bolted_a * (1 - 1e-6):
        other_a, less = other.steps[0].fault_a, other.steps[0].amps
        for edge, amps in carried.items():
            if faults.net.is_device[edge]:
                share = (amps - less.get(edge, 0.0)) / (bolted_a - other_a)
                parts[edge] = (amps - share * bolted_a, share)
    for edge, (still_a, share) in parts.items():
        curve = openings.curve(edge)
        if curve is None or abs(share) < LEAST_SHARE:
            continue
        for corner in curve_corners(curve, short_circuit().greatest_s):
            sides = ((corner * (1 + side) - still_a) / share for side in (-BESIDE, BESIDE))
            wanted |= {a for a in sides if least < a < most}
    return sorted(wanted)[:GREATEST_BETWEEN]


def _behind(openings: Openings, largest: Question, sources: tuple[int, ...], most_a: float, amps: float) -> float:
    """The further ohm behind which a fault draws ``amps``.  While no one-way element turns, current and resistance are
    those of a voltage behind a resistance, so two looks find it, and a third where one has turned."""
    volts = max((openings.faults.pairs[s][0].voltage_v for s in sources), default=0.0)
    ohm = max(volts / amps - volts / most_a, 0.0)
    before_ohm, before_a = 0.0, most_a
    for _ in range(3):
        now_a = largest.first_a(ohm)
        if now_a <= 0 or abs(now_a / amps - 1) < BESIDE / 10 or now_a >= before_a:
            break
        # I = V / (R + r): from two of them V and R
        inner_ohm = (ohm * now_a - before_ohm * before_a) / (before_a - now_a)
        inner_v = before_a * (inner_ohm + before_ohm)
        if now_a > amps:
            before_ohm, before_a = ohm, now_a
        ohm = max(inner_v / amps - inner_ohm, 0.0)
    return ohm


def _along(fault_a: float, through_a: float) -> float:
    """What the conductor carries towards a fault at its other end."""
    del fault_a
    return through_a


def _beside(fault_a: float, through_a: float) -> float:
    """What its first piece carries when the fault is there: all that does not come through it from its other end."""
    return fault_a - through_a


def _heat(
    made: Clearing, edge: int, carried: Callable[[float, float], float], stands: Withstand, untold: tuple[int, ...]
) -> Heat | None:
    """The heat of a course of events in a conductor, as far as it is over within the adiabatic time."""
    a2s = seconds = greatest_a = 0.0
    for step in made.steps:
        amps = carried(step.fault_a, step.amps.get(edge, 0.0))
        if amps <= 0:
            continue
        greatest_a = max(greatest_a, amps)
        seconds += step.seconds
        if seconds > stands.greatest_s * (1 + 1e-6):
            break
        a2s += amps * amps * step.seconds
    if seconds > stands.greatest_s * (1 + 1e-6) and a2s <= stands.a2s:
        # what goes on for longer is judged as an overload is, by the time and not by the heat
        return None
    by = made.opened[-1] if made.opened else -1
    return Heat(Moment(greatest_a, seconds, by, untold), a2s, stands) if greatest_a > 0 else None
