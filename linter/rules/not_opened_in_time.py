"""The smallest fault on a conductor opens a device in time."""

from __future__ import annotations

import math
from collections.abc import Iterator

from linter.rules.finding import Severity
from linter.rules.registry import Wrong, rule
from linter.rules.words import guard_spans, kiloamps, leaning, names, seconds
from linter.study.choice import sizes_like
from linter.study.impedance import edge_resistance, size_text, working_temperature_c
from linter.study.opening import Clears, least_current
from linter.study.study import ConductorStudy, Study
from linter.tables.conductors import FaultOpening, fault_opening, resistance_ohm_per_m


@rule(
    "not-opened-in-time",
    Severity.FAULT,
    demand="The smallest fault on a conductor opens a device in time.",
    reason=(
        "A long thin run may carry so little fault current that its device takes minutes, or never opens: a short "
        "circuit at its end then burns on at the point of the fault, though every rating is in order."
    ),
    clause="IEC 60364-4-43, 434; the time: 5 s where no rulebook states one",
    status="common practice",
    mend="A larger conductor, a shorter run, or a device that opens sooner.",
    bad="""
from B
cable W1, 50 mm2, 0.15 m
fuse F1, part main, 150 A
cable W2, 50 mm2, 1 m
bus POS, 250 A
from POS
fuse F3, part branch, 30 A
cable W3, 2.5 mm2, 25 m
load LAMP, draws 3 A, works from 8 V
""",
    good="""
from B
cable W1, 50 mm2, 0.15 m
fuse F1, part main, 150 A
cable W2, 50 mm2, 1 m
bus POS, 250 A
from POS
fuse F3, part branch, 10 A
cable W3, 2.5 mm2, 12 m
load LAMP, draws 3 A
""",
)
def RULE(study: Study) -> Iterator[Wrong]:
    limit = fault_opening()
    for made in study.conductors.values():
        late = [c for c in study.clears(made) if not c.unknown and c.first.seconds > limit.greatest_s]
        if not late:
            continue
        # what a curve tells goes before what it does not reach
        worst = max(late, key=lambda c: (c.first.told, c.first.seconds, -c.smallest_a))
        yield _wrong(study, made, worst, limit)


def _wrong(study: Study, made: ConductorStudy, way: Clears, limit: FaultOpening) -> Wrong:
    edges = study.design.circuit.edges
    conductor = made.conductor
    chain = names([edges[e].element.name for e in way.chain]) or "no device"
    what = f"a short at the end of {conductor.title} draws {kiloamps(way.smallest_a)}"
    told = way.first.told
    if not way.chain and told:
        happens = "at which no device on its ways need ever open"
    elif not way.chain:
        happens = "and nobody says whether the devices on its ways open then"
    elif way.first.seconds == math.inf and told:
        happens = f"at which {chain} need never open"
    elif way.first.seconds == math.inf:
        happens = f"and nobody says whether {chain} opens then"
    elif told:
        happens = f"at which {chain} may take {seconds(way.first.seconds)}; within "
        happens += f"{limit.greatest_s:g} s is asked ({limit.cite.status})"
    else:
        happens = f"at which {_first_of(way.chain, chain)} is only known to open within {seconds(way.first.seconds)}"
    return Wrong(
        conductor,
        f"{what}, {happens}{leaning(way.leans_on)}",
        _mend(study, made, way, limit, told),
        severity=None if told else Severity.DOUBT,
        cite=limit.cite,
        related=guard_spans(study, tuple(edges[e].element.name for e in way.chain)),
        guard=tuple(edges[e].element.name for e in way.chain),
    )


def _first_of(chain: tuple[int, ...], names_: str) -> str:
    return f"the first of {names_}" if len(chain) > 1 else names_


def _mend(study: Study, made: ConductorStudy, way: Clears, limit: FaultOpening, told: bool) -> str:
    """The size of this conductor with which the smallest fault would open the device; else a quicker device."""
    edges = study.design.circuit.edges
    quicker = f"a device that opens within {limit.greatest_s:g} s at {kiloamps(way.smallest_a)}"
    if not told and way.chain:
        return f"ask the maker of {edges[way.chain[-1]].element.name} for its " \
               "time-current curve, and write down its points"  # fmt: skip
    needed_a = least_current(study.openings(), way.chain, limit.greatest_s)
    conductor = made.conductor
    if needed_a is None or conductor.size is None or conductor.length_m is None:
        return quicker
    # volts behind everything: what the loop may have in all, less what the rest of it has
    now_ohm = edge_resistance(made.edge).greatest_ohm
    volts = way.smallest_a * way.smallest_ohm
    left_ohm = volts / needed_a - (way.smallest_ohm - now_ohm)
    hot_c = working_temperature_c(conductor)
    there_and_back_m = 2 * conductor.length_m
    back = conductor.return_size
    if back is not None and back.value < conductor.size.value:
        back_m = conductor.return_m if conductor.return_m is not None else conductor.length_m
        now = resistance_ohm_per_m(size_text(back), conductor.tinned, hot_c).ohm_per_m * back_m
        for size in sizes_like(back):
            ohm = resistance_ohm_per_m(size_text(size), conductor.tinned, hot_c).ohm_per_m * back_m
            if size.value > back.value and ohm <= left_ohm - (now_ohm - now):
                return f"a return of at least {size}, for {kiloamps(needed_a)}; or {quicker}"
    for size in sizes_like(conductor.size):
        if size.value <= conductor.size.value:
            continue
        ohm = resistance_ohm_per_m(size_text(size), conductor.tinned, hot_c).ohm_per_m * there_and_back_m
        if ohm <= left_ohm:
            return f"a conductor of at least {size}, there and back, for {kiloamps(needed_a)}; or {quicker}"
    return f"{quicker}, or a shorter run"
