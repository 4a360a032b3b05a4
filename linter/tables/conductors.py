"""Conductor sizes, areas, resistances and the heat they stand, from published tables.

A size is written with its system, as on a drum: "35 mm2" (or "35 mm²"), "2/0 AWG".
"""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass
from functools import cache
from types import MappingProxyType

from linter.tables.cite import Cite
from linter.tables.reading import Node, nearest, shipped

MM_PER_INCH = 25.4
M_PER_1000_FT = 304.8
#: Conductors larger than this are not run in boats; a larger figure is a slip of the unit.
GREATEST_MM2 = 2000.0


class SizeError(ValueError):
    """A conductor size that is not one; the message says which are."""


@dataclass(frozen=True, slots=True)
class Copper:
    """Annealed copper: resistivity and temperature coefficient at 20 °C, and the point of no resistance."""

    resistivity_ohm_mm2_per_m: float
    alpha_per_k: float
    zero_resistance_c: float
    cite: Cite


@dataclass(frozen=True, slots=True)
class Resistance:
    """A conductor's resistance in ohm/m at `temperature_c`, and which published figure it comes from.

    `note` says what the figure leaves out, "" when nothing.
    """

    ohm_per_m: float
    ohm_per_m_at_20_c: float
    temperature_c: float
    cite: Cite
    note: str


@dataclass(frozen=True, slots=True)
class InsulationLimit:
    """The greatest temperature an insulation stands while a short circuit lasts, with the printed k."""

    name: str
    initial_c: float
    final_c: float
    over_mm2: float | None
    up_to_mm2: float | None
    printed_k: float
    cite: Cite


@dataclass(frozen=True, slots=True)
class ShortCircuitLimit:
    """How hot, in °C, a short circuit may make an insulation rated for at most `up_to_c`."""

    up_to_c: float
    final_c: float
    cite: Cite


@dataclass(frozen=True, slots=True)
class FaultOpening:
    """The time in s in which a fault must be cleared, where no rulebook states one."""

    greatest_s: float
    cite: Cite


@dataclass(frozen=True, slots=True)
class ShortCircuitHeating:
    """(k S / I)² = t, S in mm², I in A, t in s up to `greatest_s`."""

    constant: float
    zero_resistance_c: float
    greatest_s: float
    cite: Cite

    def k(self, initial_c: float, final_c: float) -> float:
        """k in A·√s/mm² of a copper conductor heated from `initial_c` to `final_c`, IEC 60364-4-43.

        Raises ValueError unless the conductor warms from above the point of no resistance.
        """
        if not -self.zero_resistance_c < initial_c <= final_c < math.inf:
            raise ValueError(f"a conductor cannot be heated from {initial_c} to {final_c} °C")
        return self.constant * math.sqrt(math.log1p((final_c - initial_c) / (self.zero_resistance_c + initial_c)))


@cache
def _file() -> Node:
    return shipped("conductors.toml")


@cache
def copper() -> Copper:
    """The constants of annealed copper (NBS Handbook 100; FAA AC 43.13-1B)."""
    node = _file().table("copper")
    return Copper(
        node.number("resistivity_ohm_mm2_per_m"),
        node.number("alpha_per_k"),
        node.number("zero_resistance_c"),
        node.cite(),
    )


@cache
def copper_density_kg_per_dm3() -> float:
    """The density of annealed copper at 20 °C (IEC 60028)."""
    return _file().table("copper_mass").number("density_kg_per_dm3")


@cache
def awg_areas_mm2() -> Mapping[str, float]:
    """Area in mm² of every AWG size known here, smallest first.

    ASTM B258: d = 0.005 in · 92^((36 - n)/39), with n = 0 for 1/0, -1 for 2/0 and so on.
    """
    node = _file().table("awg")
    least_mm = node.number("least_diameter_in") * MM_PER_INCH
    ratio, least_gauge, steps = node.number("ratio"), node.number("least_gauge"), node.number("steps")
    areas: dict[str, float] = {}
    for name in node.words("sizes"):
        aught = name.removesuffix("/0")
        gauge = 1 - int(aught) if aught != name else int(name)
        diameter_mm = least_mm * ratio ** ((least_gauge - gauge) / steps)
        areas[name] = math.pi / 4 * diameter_mm**2
    return MappingProxyType(areas)


def awg_sizes() -> tuple[str, ...]:
    """The AWG sizes known here, smallest first: "22" ... "4/0"."""
    return tuple(awg_areas_mm2())


def mm2_sizes() -> tuple[str, ...]:
    """The metric sizes of IEC 60228 tabulated here, smallest first: "0.5" ... "300"."""
    return tuple(_iec_ohm_per_km())


def area_mm2_of_awg(name: str) -> float:
    """Area in mm² of an AWG size such as "2/0" (ASTM B258). Raises `SizeError` for one not known here."""
    area = awg_areas_mm2().get(name)
    if area is None:
        sizes = awg_sizes()
        hint = nearest(name, sizes) or f"; the sizes are {', '.join(sizes)}"
        raise SizeError(f"{name[:40]!r} is no AWG size known here{hint}")
    return area


def area_mm2(size: str) -> float:
    """Area in mm² of a size with its system, "35 mm2" or "2/0 AWG". Raises `SizeError` for anything else."""
    return _parsed(size)[1]


def _parsed(size: str) -> tuple[str | None, float]:
    """The AWG name (None for a metric size) and the area."""
    number, _, system = size.strip().rpartition(" ")
    number = number.strip()
    if system.upper() == "AWG":
        return number, area_mm2_of_awg(number)
    if system not in ("mm2", "mm²"):
        raise SizeError(f"{size[:40]!r} is no conductor size; write it as '35 mm2' or '2/0 AWG'")
    try:
        area = float(number) if number.isascii() and number.replace(".", "", 1).isdigit() else math.nan
    except ValueError:
        area = math.nan
    if not 0 < area <= GREATEST_MM2:
        raise SizeError(f"{number[:40]!r} is no size in mm2; expected a number from 0 to {GREATEST_MM2:g}")
    return None, area


def resistance_ohm_per_m(size: str, tinned: bool | None, temperature_c: float) -> Resistance:
    """The greatest resistance published for a conductor: for voltage drop and the least fault current.

    Metric sizes: IEC 60228 class 5 and 6. AWG sizes: the larger of annealed copper over the ASTM area and,
    for tinned wire, FAA AC 43.13-1B table 11-9. A metric size between those of IEC 60228 has no published
    figure: annealed copper over its area, and the note says so. `tinned` None (not said) takes the larger.
    R(T) = R20 (234.5 + T)/254.5. Raises `SizeError`, or ValueError for a temperature no conductor has.
    """
    awg, area = _parsed(size)
    at_20_c, cite, note = _awg_at_20_c(awg, area, tinned) if awg else _metric_at_20_c(area, tinned)
    return Resistance(at_20_c * temperature_factor(temperature_c), at_20_c, temperature_c, cite, note)


def least_resistance_ohm_per_m(size: str, temperature_c: float) -> Resistance:
    """The least resistance a conductor can have: annealed copper over its nominal area, no lay of strands.

    For the largest fault current, where the greatest figure of a table would flatter the device. Raises as
    `resistance_ohm_per_m` does.
    """
    at_20_c, cite = _annealed_at_20_c(_parsed(size)[1])
    return Resistance(at_20_c * temperature_factor(temperature_c), at_20_c, temperature_c, cite, "")


def temperature_factor(temperature_c: float) -> float:
    """R(T)/R(20 °C) of copper = (234.5 + T)/254.5. Raises ValueError at or below -234.5 °C."""
    zero_c = copper().zero_resistance_c
    if not -zero_c < temperature_c < math.inf:
        raise ValueError(f"copper has no resistance to compute at {temperature_c} °C")
    return (zero_c + temperature_c) / (zero_c + 20)


def _annealed_at_20_c(area: float) -> tuple[float, Cite]:
    return copper().resistivity_ohm_mm2_per_m / area, copper().cite


def _metric_at_20_c(area: float, tinned: bool | None) -> tuple[float, Cite, str]:
    for name, (plain, coated) in _iec_ohm_per_km().items():
        if math.isclose(float(name), area, rel_tol=1e-6):
            cite = _file().table("iec_60228").cite()
            return (plain if tinned is False else coated) / 1000, cite, ""
    at_20_c, cite = _annealed_at_20_c(area)
    note = "not a size of IEC 60228: from its area alone; stranding and tinning add some per cent"
    return at_20_c, cite, note


def _awg_at_20_c(name: str, area: float, tinned: bool | None) -> tuple[float, Cite, str]:
    at_20_c, cite = _annealed_at_20_c(area)
    printed = _ac_ohm_per_1000_ft().get(name)
    if tinned is not False and printed is not None and printed / M_PER_1000_FT > at_20_c:
        return printed / M_PER_1000_FT, _file().table("ac_43_13").cite(), ""
    left_out = "stranding adds" if tinned is False else "stranding and tinning add"
    return at_20_c, cite, f"solid conductor of the ASTM B258 area: {left_out} some per cent"


@cache
def _iec_ohm_per_km() -> Mapping[str, tuple[float, float]]:
    node = _file().table("iec_60228").table("ohm_per_km")
    pairs = {name: node.numbers(name) for name in node.values}
    return MappingProxyType({name: (plain, tinned) for name, (plain, tinned) in pairs.items()})


@cache
def _ac_ohm_per_1000_ft() -> Mapping[str, float]:
    node = _file().table("ac_43_13").table("ohm_per_1000_ft")
    return MappingProxyType({name: node.number(name) for name in node.values})


@cache
def short_circuit() -> ShortCircuitHeating:
    """The adiabatic rule for copper (IEC 60364-4-43, IEC 60949)."""
    node = _file().table("short_circuit")
    return ShortCircuitHeating(
        node.number("constant"), copper().zero_resistance_c, node.number("greatest_s"), node.cite()
    )


@cache
def fault_opening() -> FaultOpening:
    node = _file().table("fault_opening")
    return FaultOpening(node.number("greatest_s"), node.cite())


@cache
def short_circuit_limits() -> tuple[ShortCircuitLimit, ...]:
    """By rising rating of the insulation."""
    return tuple(
        ShortCircuitLimit(row.number("up_to_c"), row.number("final_c"), row.cite())
        for row in _file().rows("short_circuit_limit")
    )


@cache
def insulation_limits() -> tuple[InsulationLimit, ...]:
    """Insulations whose short-circuit temperature is published (IEC 60364-4-43)."""
    return tuple(
        InsulationLimit(
            row.text("name"),
            row.number("initial_c"),
            row.number("final_c"),
            row.number_or_none("over_mm2"),
            row.number_or_none("up_to_mm2"),
            row.number("printed_k"),
            row.cite(),
        )
        for row in _file().rows("insulation")
    )
