"""Every source that does not limit itself states what it can drive into a short circuit."""

from __future__ import annotations

from collections.abc import Iterator

from linter.model.elements import Source
from linter.rules.finding import Severity
from linter.rules.registry import Wrong, rule
from linter.rules.words import apart, kiloamps
from linter.study.impedance import nominal_v, source_pairs
from linter.study.study import Study


@rule(
    "source-resistance",
    Severity.DOUBT,
    demand=(
        "Every source that does not limit itself states its internal resistance, or its short-circuit current; and "
        "what a source states of these agrees."
    ),
    reason=(
        "What a device may have to break, and whether a fault opens it in time, both follow from what the source can "
        "drive. Without its maker's figure these verdicts lean on a rough one, or cannot be given."
    ),
    clause="IEC 61660-1",
    status="from memory",
    mend="Ask the maker for the internal resistance or the short-circuit current, or measure ΔV/ΔI in a discharge.",
    measure=(
        "On a charged battery at rest measure its voltage at its own posts, then again with a steady load "
        "of known current; the difference by the current is the internal resistance. An alternating-current"
        " meter reads less than that."
    ),
    bad="""
boat "Example", 9 m, rulebook iso-13297
system DC12, 12 V, negative earthed
cables, insulation 105 °C, tinned
battery B, AGM, 12 V, 100 Ah
from B
cable W1, 50 mm2, 0.15 m
fuse F1, part main, 150 A
cable W2, 50 mm2, 1 m
load HEATER, draws 60 A
""",
    good="""
boat "Example", 9 m, rulebook iso-13297
system DC12, 12 V, negative earthed
cables, insulation 105 °C, tinned
battery B, AGM, 12 V, 100 Ah, resistance 3 mΩ to 4 mΩ
from B
cable W1, 50 mm2, 0.15 m
fuse F1, part main, 150 A
cable W2, 50 mm2, 1 m
load HEATER, draws 60 A
""",
    whole=False,
)
def RULE(study: Study) -> Iterator[Wrong]:
    for node in study.design.circuit.nodes:
        source = node.source
        if source is None:
            continue
        system_v = node.system.voltage_v if node.system else None
        if source.short_circuit_a and (apart := _apart(source, nominal_v(source, system_v))):
            yield Wrong(
                source,
                f"{source.title} {apart}: the larger current counts for what a device may have to break, the smaller "
                "for what must open it",
                "ask its maker which of the two holds, and leave out or correct the other",
                span=source.where("short-circuit"),
            )
        if source.self_limiting or source.resistance_ohm is not None or source.short_circuit_a:
            continue
        largest, smallest = source_pairs(source, system_v)
        if largest.unknown:
            held = "no fault current behind it can be reckoned"
            if smallest.leans_on:
                held = f"its largest fault current is not known; the smallest leans on {smallest.leans_on}"
        else:
            held = f"its fault currents lean on {largest.leans_on}"
        kinds = "`resistance`, `short-circuit`"
        if not source.is_battery:
            kinds += ", or `self-limiting` where its maker says so"
        yield Wrong(
            source,
            f"{source.title} states neither internal resistance nor short-circuit current: {held}",
            f"ask its maker for one of them, and write it down: {kinds}",
            span=source.where("chemistry", "voltage"),
        )


# How many times one of two figures of a maker may be the other: a short-circuit current is tested, and stated, in more
# ways than one (common practice).
AGREES = 2.0


def _apart(source: Source, volts: float) -> str:
    """How far a stated short-circuit current is from what else the source states; empty where the two agree."""
    short_a = source.short_circuit_a or 0.0
    if source.self_limiting:
        if short_a >= source.limit_a * (1 - 1e-9):
            return ""
        limit, short = apart(kiloamps, source.limit_a, short_a)
        return f"limits itself to {limit}, and gives {short} into a short circuit"
    if source.resistance_ohm is None or not volts:
        return ""
    least_a, most_a = (volts / max(ohm, 1e-9) for ohm in reversed(source.resistance_ohm))
    if least_a / AGREES <= short_a <= most_a * AGREES:
        return ""
    meant = kiloamps(least_a if short_a < least_a else most_a)
    return f"gives {kiloamps(short_a)} into a short circuit by one figure, and {meant} by its resistance at {volts:g} V"
