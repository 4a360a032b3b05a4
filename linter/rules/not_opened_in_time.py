"""The smallest fault on a conductor opens a device in time."""

from __future__ import annotations

import math
from collections.abc import Iterator

from linter.rules.finding import Severity
from linter.rules.registry import Wrong, rule
from linter.rules.words import SAME, apart, curves_missing, guard_spans, kiloamps, leaning, names, not_told, seconds
from linter.source.units import Quantity
from linter.study.choice import sizes_like
from linter.study.impedance import edge_resistance, size_text, working_temperature_c
from linter.study.limited import Lasting, lasting
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
    measure=(
        "Measure the resistance of the loop: with a known load on at its far end, the voltage lost between "
        "the source's terminals and there, divided by the current through a clamp meter. The smallest fault"
        " current is the lowest source voltage by that resistance and the source's own."
    ),
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
        late = [c for c in study.clears(made) if not c.unknown and c.first.seconds > limit.greatest_s * (1 + SAME)]
        if not late:
            continue
        # what a curve tells goes before what it does not reach
        worst = max(late, key=lambda c: (c.first.told, c.first.seconds, -c.smallest_a))
        yield _wrong(study, made, worst, limit)
    # a battery that limits itself, where it is the resistance of the loop and not its limit that keeps the current low
    for found in lasting(study):
        if not found.limited and not study.clears(found.made):
            yield _by_limited(study, found, limit)


def _by_limited(study: Study, found: Lasting, limit: FaultOpening) -> Wrong:
    circuit, conductor = study.design.circuit, found.made.conductor
    battery = circuit.nodes[found.batteries[0]].name
    chain = tuple(circuit.edges[e].element.name for e in found.chain)
    untold = study.openings().moment(found.chain, found.amps).untold
    missing, ask = not_told(study, untold)
    happens = "need never open" if found.seconds == math.inf else f"may take {_late(found.seconds, limit)}"
    message = f"a short at the end of {conductor.title} draws {kiloamps(found.amps)} from {battery}, "
    message += f"less than its limit, at which {names(chain) or 'no device'} {happens}"
    return Wrong(
        conductor,
        message + (f": {missing}" if untold else f"; within {limit.greatest_s:g} s is asked ({limit.cite.status})"),
        ask if untold else f"a larger conductor or a shorter run, or a device that opens at {kiloamps(found.amps)}",
        severity=None if found.single and not untold else Severity.DOUBT,
        cite=limit.cite,
        related=guard_spans(study, chain),
        guard=chain,
        missing=curves_missing(study, untold),
    )


def _wrong(study: Study, made: ConductorStudy, way: Clears, limit: FaultOpening) -> Wrong:
    edges = study.design.circuit.edges
    conductor = made.conductor
    chain = names([edges[e].element.name for e in way.chain]) or "no device"
    what = f"a short at the end of {conductor.title} draws {kiloamps(way.smallest_a)}"
    told, late_s = way.first.told, way.first.seconds
    missing, ask = not_told(study, way.first.untold)
    if not way.chain and told:
        happens = "at which no device on its ways need ever open"
    elif late_s == math.inf:
        happens = f"at which {chain} need never open" if told else f"and nobody says what opens then: {missing}"
    elif told:
        happens = f"at which {chain} may take {_late(late_s, limit)}; within "
        happens += f"{limit.greatest_s:g} s is asked ({limit.cite.status})"
    else:
        happens = (
            f"at which {_first_of(way.chain, chain)} is only known to open within {_late(late_s, limit)}: {missing}"
        )
    return Wrong(
        conductor,
        f"{what}, {happens}{leaning(way.leans_on)}",
        _mend(study, made, way, limit) if told else ask,
        severity=None if told else Severity.DOUBT,
        cite=limit.cite,
        related=guard_spans(study, tuple(edges[e].element.name for e in way.chain)),
        guard=tuple(edges[e].element.name for e in way.chain),
        missing=curves_missing(study, way.first.untold),
    )


def _late(late_s: float, limit: FaultOpening) -> str:
    """How long it takes, beside what is asked."""
    return apart(seconds, late_s, limit.greatest_s)[0]


def _first_of(chain: tuple[int, ...], names_: str) -> str:
    return f"the first of {names_}" if len(chain) > 1 else names_


def _mend(study: Study, made: ConductorStudy, way: Clears, limit: FaultOpening) -> str:
    """The size of this conductor with which the smallest fault would open the device; else a quicker device."""
    if way.followed is not None:
        # each device carries a part, and what the others take over is only known by following it
        return (
            f"devices on its ways that have all opened within {limit.greatest_s:g} s where the fault draws "
            f"{kiloamps(way.smallest_a)} in all, or a larger conductor or a shorter run"
        )
    quicker = f"a device that opens within {limit.greatest_s:g} s at {kiloamps(way.smallest_a)}"
    needed_a = least_current(study.openings(), way.chain, limit.greatest_s)
    conductor = made.conductor
    if needed_a is None or conductor.size is None or conductor.length_m is None:
        return quicker
    # volts behind everything: what the loop may have in all, less what the rest of it has
    volts = way.smallest_a * way.smallest_ohm
    left_ohm = volts / needed_a - (way.smallest_ohm - edge_resistance(made.edge).greatest_ohm)
    hot_c = working_temperature_c(conductor)
    back = conductor.return_size or conductor.size
    back_m = conductor.return_m if conductor.return_m is not None else conductor.length_m
    asked = f"for {kiloamps(needed_a)}; or {quicker}"

    def ohm(size: Quantity, length_m: float) -> float:
        return resistance_ohm_per_m(size_text(size), conductor.tinned, hot_c).ohm_per_m * length_m

    if back.value < conductor.size.value:
        there_ohm = ohm(conductor.size, conductor.length_m)
        for size in sizes_like(back):
            if back.value < size.value <= conductor.size.value and there_ohm + ohm(size, back_m) <= left_ohm:
                return f"a return of at least {size}, {asked}"
    for size in sizes_like(conductor.size):
        if size.value <= conductor.size.value:
            continue
        if ohm(size, conductor.length_m) + ohm(size if size.value > back.value else back, back_m) <= left_ohm:
            return f"a conductor of at least {size}, there and back, {asked}"
    return f"{quicker}, or a shorter run"
