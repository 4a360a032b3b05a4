"""Whatever the fault current, a device opens before the conductor is harmed."""

from __future__ import annotations

import math
from collections.abc import Iterator

from linter.rules.finding import Severity
from linter.rules.registry import Wrong, rule
from linter.rules.words import curves_missing, energy, energy_at_most, guard_spans, kiloamps, leaning, not_told, seconds
from linter.study.choice import sizes_like
from linter.study.opening import Clears, Heat
from linter.study.study import ConductorStudy, Study


@rule(
    "harmed-before-opening",
    Severity.DANGER,
    demand="Whatever the fault current, a device opens before the conductor is harmed.",
    reason=(
        "Until the device opens, the fault heats the conductor. A slow device on a thin conductor near a strong bank "
        "lets through more than the insulation bears: it burns, though the rating is below the ampacity."
    ),
    clause="IEC 60364-4-43, 434: t = (k·S/I)²",
    status="second-hand",
    mend="A device that lets through less, or a larger conductor.",
    measure=(
        "Read class, rating and maker off the device and the insulation's temperature off the conductor. "
        "The fault current itself is not tried out on board: it is reckoned from the battery's internal "
        "resistance and the lengths, so measure those."
    ),
    bad="""
from B
cable W1, 50 mm2, 0.15 m
fuse F1, part main, 150 A
cable W2, 50 mm2, 1 m
bus POS, 250 A
from POS
breaker Q3, thermal, 15 A, 32 V, breaks 5 kA at 32 V, opens at 135 % in 60 s to 1800 s, opens at 1000 % in 0.3 s to 2 s
cable W3, 2.5 mm2, 3 m
load LAMP, draws 3 A
""",
    good="""
from B
cable W1, 50 mm2, 0.15 m
fuse F1, part main, 150 A
cable W2, 50 mm2, 1 m
bus POS, 250 A
from POS
fuse F3, part branch, 15 A
cable W3, 2.5 mm2, 3 m
load LAMP, draws 3 A
""",
)
def RULE(study: Study) -> Iterator[Wrong]:
    for made in study.conductors.values():
        ways = [c for c in study.clears(made) if not c.unknown]
        # what a curve tells goes before what it does not reach
        for pairs in ([(c, c.heat) for c in ways], [(c, c.beyond) for c in ways]):
            hot = [(c, h) for c, h in pairs if h is not None and h.share > 1 + 1e-9]
            if hot:
                yield _wrong(study, made, *max(hot, key=lambda pair: pair[1].share))
                break


def _wrong(study: Study, made: ConductorStudy, way: Clears, heat: Heat) -> Wrong:
    edges, conductor, stands = study.design.circuit.edges, made.conductor, heat.withstand
    by = edges[heat.moment.by].element
    moment = heat.moment
    missing, ask = not_told(study, moment.untold)
    lets = (
        f"{by.name} may let through {energy(heat.a2s)} at {kiloamps(moment.amps)}, opening in {seconds(moment.seconds)}"
    )
    if not moment.told:
        lets = f"at {kiloamps(moment.amps)} {by.name} is only known to let through less than {energy(heat.a2s)} "
        lets += f"({seconds(moment.seconds)}): {missing}"
    less = f"a device that lets through at most {energy_at_most(stands.a2s)} at {kiloamps(moment.amps)}"
    ask += f", or what it lets through at {kiloamps(moment.amps)} (`lets through`); or "
    what = f"{conductor.title}, {conductor.size},"
    if stands.of_return:
        what = f"the return of {conductor.title}, {conductor.return_size},"
    larger = _larger(study, made, heat)
    return Wrong(
        conductor,
        f"{what} stands {energy(stands.a2s)} ({stands.initial_c:.0f} °C to "
        f"{stands.final_c:.0f} °C, k {stands.k:.0f}); {lets}{leaning(way.leans_on)}",
        ("" if moment.told else ask) + less + (f", or {larger}" if larger else ""),
        span=conductor.where("return size") if stands.of_return else None,
        severity=None if moment.told else Severity.DOUBT,
        cite=stands.cite,
        related=guard_spans(study, (by.name,)),
        guard=tuple(edges[e].element.name for e in way.chain),
        missing=curves_missing(study, moment.untold),
    )


def _larger(study: Study, made: ConductorStudy, heat: Heat) -> str:
    """The sizes of the conductor and of its return that would stand this heat; empty where no table has one."""
    conductor = made.conductor
    size, back = conductor.size, conductor.return_size
    if size is None:
        return ""

    def least(now: Quantity) -> Quantity | None:
        # as hot before the fault as now, or cooler: it is larger
        return next((s for s in sizes_like(now) if s.value * k >= math.sqrt(heat.a2s)), None)

    k = heat.withstand.k
    there = least(size)
    if back is None:
        return f"a conductor of at least {there}" if there is not None else ""
    k = _k_of(study, made)
    if there is not None and there.value <= size.value * (1 + 1e-9):
        there = size
    k = heat.withstand.k
    return_ = least(back)
    if there is None or return_ is None:
        return ""
    if there is size:
        return f"a return of at least {return_}"
    if return_.value <= back.value * (1 + 1e-9):
        return f"a conductor of at least {there}"
    return f"a conductor of at least {there} with a return of at least {return_}"
