"""What is used of batteries in reckoning fault currents."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from functools import cache
from types import MappingProxyType

from linter.tables.cite import Cite
from linter.tables.reading import CITE_KEYS, Node, shipped


@dataclass(frozen=True, slots=True)
class BatteryShortCircuit:
    """Factors of IEC 61660-1 on the nominal voltage and the internal resistance of a battery."""

    voltage_factor: float
    peak_resistance_factor: float
    steady_voltage_factor: float
    cite: Cite


@dataclass(frozen=True, slots=True)
class CrankingTest:
    """Voltages before and in the cold-cranking test, from which a cold internal resistance follows."""

    open_v: float
    cranking_v: float
    nominal_v: float
    cite: Cite


@dataclass(frozen=True, slots=True)
class RoughResistance:
    """Internal resistance in ohm of a battery of 12 V and 100 Ah."""

    least_ohm: float
    greatest_ohm: float
    cite: Cite


@cache
def _file() -> Node:
    return shipped("batteries.toml")


@cache
def battery_short_circuit() -> BatteryShortCircuit:
    node = _file().table("short_circuit")
    return BatteryShortCircuit(
        node.number("voltage_factor"),
        node.number("peak_resistance_factor"),
        node.number("steady_voltage_factor"),
        node.cite(),
    )


@cache
def cranking_test() -> CrankingTest:
    node = _file().table("cranking")
    return CrankingTest(node.number("open_v"), node.number("cranking_v"), node.number("nominal_v"), node.cite())


@cache
def rough_resistances() -> Mapping[str, RoughResistance]:
    """By chemistry."""
    found = {}
    for row in _file().rows("rough_resistance"):
        row.only("chemistry", "least_ohm", "greatest_ohm", *CITE_KEYS)
        found[row.text("chemistry")] = RoughResistance(row.number("least_ohm"), row.number("greatest_ohm"), row.cite())
    return MappingProxyType(found)
