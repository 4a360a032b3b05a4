"""Every source that does not limit itself states what it can drive into a short circuit."""

from __future__ import annotations

from collections.abc import Iterator

from linter.rules.finding import Severity
from linter.rules.registry import Wrong, rule
from linter.study.impedance import source_pairs
from linter.study.study import Study


@rule(
    "source-resistance",
    Severity.DOUBT,
    demand="Every source that does not limit itself states its internal resistance, or its short-circuit current.",
    reason=(
        "What a device may have to break, and whether a fault opens it in time, both follow from what the source can "
        "drive. Without its maker's figure these verdicts lean on a rough one, or cannot be given."
    ),
    clause="IEC 61660-1",
    status="from memory",
    mend="Ask the maker for the internal resistance or the short-circuit current, or measure ΔV/ΔI in a discharge.",
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
        if source is None or source.self_limiting or source.resistance_ohm is not None or source.short_circuit_a:
            continue
        largest, smallest = source_pairs(source, node.system.voltage_v if node.system else None)
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
