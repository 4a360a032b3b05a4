"""Whatever the fault current, a device opens before the conductor is harmed."""

from __future__ import annotations

import math
from collections.abc import Iterator

from linter.rules.finding import Severity
from linter.rules.registry import Wrong, rule
from linter.rules.words import curves_missing, energy, guard_spans, kiloamps, leaning, not_told, seconds
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
    size = next((s for s in sizes_like(conductor.size) if s.value * stands.k >= math.sqrt(heat.a2s)), None) \
        if conductor.size else None  # fmt: skip
    less = f"a device that lets through at most {energy(stands.a2s)} at {kiloamps(moment.amps)}"
    ask += f", or what it lets through at {kiloamps(moment.amps)} (`lets through`); or "
    return Wrong(
        conductor,
        f"{conductor.title}, {conductor.size}, stands {energy(stands.a2s)} ({stands.initial_c:.0f} °C to "
        f"{stands.final_c:.0f} °C, k {stands.k:.0f}); {lets}{leaning(way.leans_on)}",
        ("" if moment.told else ask) + less + (f", or a conductor of at least {size}" if size else ""),
        severity=None if moment.told else Severity.DOUBT,
        cite=stands.cite,
        related=guard_spans(study, (by.name,)),
        guard=tuple(edges[e].element.name for e in way.chain),
        missing=curves_missing(study, moment.untold),
    )
