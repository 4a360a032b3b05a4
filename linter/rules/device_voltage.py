"""Everything that opens a circuit is rated for the greatest voltage of its system."""

from __future__ import annotations

from collections.abc import Iterator

from linter.model.elements import Device
from linter.rules.finding import Severity
from linter.rules.registry import Wrong, rule
from linter.rules.words import apart
from linter.study.study import Study
from linter.study.voltage import greatest_voltage
from linter.tables.devices import classes


@rule(
    "device-voltage",
    Severity.FAULT,
    demand="Everything that opens a circuit is rated for the greatest voltage of its system.",
    reason="A device that opens above its voltage draws an arc that it cannot put out.",
    clause="33 CFR 183.455",
    status="read",
    mend="Fit one of a sufficient voltage.",
    measure=(
        "Read the rated voltage (d.c.) off the device; measure the system's voltage in charging at its "
        "highest, at the charging source and at the device."
    ),
    bad="""
boat "Example", 14 m, rulebook iso-13297
system DC24, 24 V, greatest 29 V
cables, insulation 105 °C
battery B, AGM, 24 V, 100 Ah, resistance 8 mΩ
from B
cable W1, 16 mm2, 0.15 m
breaker Q1, thermal, 50 A, 14 V
cable W2, 16 mm2, 2 m
load HEATER, draws 30 A
""",
    good="""
boat "Example", 14 m, rulebook iso-13297
system DC24, 24 V, greatest 29 V
cables, insulation 105 °C
battery B, AGM, 24 V, 100 Ah, resistance 8 mΩ
from B
cable W1, 16 mm2, 0.15 m
breaker Q1, part panel, 50 A
cable W2, 16 mm2, 2 m
load HEATER, draws 30 A
""",
)
def RULE(study: Study) -> Iterator[Wrong]:
    table = classes()
    greatest = {name: greatest_voltage(study.design, s) for name, s in study.design.systems.items()}
    circuit = study.design.circuit
    seen: set[str] = set()
    for element, system in [(e.element, study.system_of(e)) for e in circuit.edges if e.kind in OPENS] + [
        (n.element, n.system) for n in circuit.nodes if n.kind == "bus" and n.element
    ]:
        if system is None or element.name in seen:
            continue
        seen.add(element.name)
        rated_v = getattr(element, "voltage_v", None)
        whose = "its own rating"
        if rated_v is None and isinstance(element, Device) and element.device_class in table:
            rated_v, whose = table[element.device_class].rated_voltage_v, "the rating of its class"
        known = greatest[system.name]
        if rated_v is None or known is None or rated_v >= known[0] * (1 - 1e-9):
            continue
        volts, who, cite = known
        rated, rises = apart(_volts, rated_v, volts)
        source = f"{who}, {cite.status}" if cite else who
        yield Wrong(
            element,
            f"{element.title} is rated {rated} ({whose}); its system rises to {rises} ({source})",
            f"one rated at least {rises}",
            span=element.where("voltage"),
        )


def _volts(value: float, more: int = 0) -> str:
    return f"{value:.{6 + more}g} V"


OPENS = frozenset({"device", "switch", "relay", "selector", "diode"})
