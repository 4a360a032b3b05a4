"""The greatest voltage of a system, against which the rated voltage of what is on it is judged."""

from __future__ import annotations

from linter.model.design import Design
from linter.model.elements import System
from linter.tables.cite import Cite
from linter.tables.systems import nominal_system


def greatest_voltage(design: Design, system: System) -> tuple[float, str, Cite | None] | None:
    """(volts, whose word it is, its source where it is a table's).  The greatest of the system's own figure (where it
    has none, what is usual for its nominal voltage) and of what every source on it gives."""
    found: list[tuple[float, str, Cite | None]] = []
    usual = nominal_system(system.voltage_v) if system.voltage_v else None
    if system.greatest_v is not None:
        found.append((system.greatest_v, f"system {system.name}", None))
    elif usual is not None:
        found.append((usual.greatest_charging_v, f"usual for {system.voltage_v:g} V in charging", usual.cite))
    elif system.voltage_v:
        found.append((system.voltage_v, f"system {system.name}'s nominal voltage", None))
    for node in design.circuit.nodes:
        source = node.source
        if source is not None and node.system is system:
            found += [(v, source.name, None) for v in (source.greatest_v, source.voltage_v) if v is not None]
    return max(found, key=lambda f: f[0], default=None)
