"""Whatever the fault current, a device opens before the conductor is harmed."""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import replace

from linter.rules.finding import Severity
from linter.rules.registry import Wrong, rule
from linter.rules.words import (
    amps,
    apart,
    curves_missing,
    energy,
    energy_at_most,
    guard_spans,
    kiloamps,
    leaning,
    names,
    not_told,
    seconds,
)
from linter.study.choice import sizes_like
from linter.study.heating import service_temperature_c, withstand_of
from linter.study.limited import heated
from linter.study.opening import Heat
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
    harmed: set[str] = set()
    for made in study.conductors.values():
        ways = [c for c in study.clears(made) if not c.unknown]
        # what a curve tells goes before what it does not reach
        for pairs in ([(c, c.heat) for c in ways], [(c, c.beyond) for c in ways]):
            hot = [(c, h) for c, h in pairs if h is not None and h.share > 1 + 1e-9]
            if hot:
                way, heat = max(hot, key=lambda pair: pair[1].share)
                harmed.add(made.conductor.name)
                yield _wrong(study, made, heat, way.chain, leaning(way.leans_on))
                break
    for name, (made, heat, sources, limit_a) in heated(study).items():
        if name not in harmed:
            # how long they keep up their limit is for the maker of their electronics to say
            by = names([n for s in sources if (n := study.design.circuit.nodes[s].name)])
            wrong = _wrong(study, made, heat, (), f", as {by} may give up to {amps(limit_a)}")
            sooner = f"ask the maker of {by} whether the electronics switch off sooner; or "
            yield replace(wrong, severity=Severity.DOUBT, mend=sooner + wrong.mend)


def _wrong(study: Study, made: ConductorStudy, heat: Heat, chain: tuple[int, ...], why: str) -> Wrong:
    edges, conductor, stands = study.design.circuit.edges, made.conductor, heat.withstand
    by = edges[heat.moment.by].element
    moment = heat.moment
    missing, ask = not_told(study, moment.untold)
    stood, let = apart(energy, stands.a2s, heat.a2s)
    lets = f"{by.name} may let through {let} at {kiloamps(moment.amps)}, opening in {seconds(moment.seconds)}"
    if not moment.told:
        lets = f"at {kiloamps(moment.amps)} {by.name} is only known to let through less than {let} "
        lets += f"({seconds(moment.seconds)}): {missing}"
    less = f"a device that lets through at most {energy_at_most(stands.a2s)} at {kiloamps(moment.amps)}"
    ask += f", or what it lets through at {kiloamps(moment.amps)} (`lets through`); or "
    what = f"{conductor.title}, {conductor.size},"
    if stands.of_return:
        what = f"the return of {conductor.title}, {conductor.return_size},"
    larger = _larger(made, heat)
    return Wrong(
        conductor,
        f"{what} stands {stood} ({stands.initial_c:.0f} °C to {stands.final_c:.0f} °C, k {stands.k:.0f}); {lets}{why}",
        ("" if moment.told else ask) + less + (f", or {larger}" if larger else ""),
        span=conductor.where("return size") if stands.of_return else None,
        severity=None if moment.told else Severity.DOUBT,
        cite=stands.cite,
        related=guard_spans(study, (by.name,)),
        guard=tuple(edges[e].element.name for e in chain),
        missing=curves_missing(study, moment.untold),
    )


def _larger(made: ConductorStudy, heat: Heat) -> str:
    """The sizes of the conductor, of its return, or of both, that would stand this heat (as hot before the fault
    as now, or cooler, being larger); empty where no table has one."""
    conductor = made.conductor
    size, back = conductor.size, conductor.return_size
    if size is None:
        return ""
    k = back_k = heat.withstand.k
    if heat.withstand.of_return and made.ampacity_a is not None:
        live = withstand_of(conductor, service_temperature_c(conductor, made.let_through_a, made.ampacity_a))
        k = live.k if live is not None else k
    grown: list[str] = []
    for what, now, its_k in (("a conductor", size, k), ("a return", back, back_k)):
        if now is None or now.value * its_k >= math.sqrt(heat.a2s):
            continue
        enough = next((s for s in sizes_like(now) if s.value * its_k >= math.sqrt(heat.a2s)), None)
        if enough is None:
            return ""
        grown.append(f"{what} of at least {enough}")
    return " with ".join(grown)
