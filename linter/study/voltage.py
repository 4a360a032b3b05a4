"""The greatest voltage of a system, against which the rated voltage of what is on it is judged."""

from __future__ import annotations

from linter.model.design import Design
from linter.model.elements import System
from linter.tables.cite import Cite
from linter.tables.systems import nominal_system


def greatest_voltage(design: Design, system: System) -> tuple[float, str, Cite | None] | None:
    """(volts, whose word it is, its source where it is a table's).  The system's own figure, or the greatest that a
    source on it gives; where nobody says, what is usual for its nominal voltage."""
    found: list[tuple[float, str, Cite | None]] = []
    if system.greatest_v is not None:
        found.append((system.greatest_v, f"system {system.name}", None))
    for node in design.circuit.nodes:
        source = node.source
        if source is not None and node.system is system and source.greatest_v is not None:
            found.append((source.greatest_v, source.name, None))
    if found:
        return max(found, key=lambda f: f[0])
    usual = nominal_system(system.voltage_v) if system.voltage_v else None
    if usual is not None:
        return usual.greatest_charging_v, f"usual for a {system.voltage_v:g} V system in charging", usual.cite
    return (system.voltage_v, f"system {system.name}'s nominal voltage", None) if system.voltage_v else None
