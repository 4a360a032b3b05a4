"""Resistances of the circuit, and sources as a voltage behind a resistance, in the two extreme cases.

Largest fault current: conductors at 20 °C with the least resistance copper can have, sources at their highest voltage
and least resistance.  Smallest: conductors at working temperature with the greatest published resistance, sources at
their lowest voltage and greatest resistance.
"""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass
from functools import lru_cache

from linter.model.circuit import Circuit, Edge
from linter.model.elements import Conductor, Device, Diode, Source, Switch
from linter.source.units import Quantity
from linter.tables.batteries import battery_short_circuit, cranking_test, rough_resistances
from linter.tables.conductors import least_resistance_ohm_per_m, resistance_ohm_per_m

COLD_C = 20.0
# What has no resistance of its own is given so little that no figure shows it, so that it can be solved like the rest.
NIL_OHM = 1e-7


@dataclass(frozen=True, slots=True)
class SourcePair:
    """A source in one case: open voltage in V, resistance in ohm, the most it gives in A (infinite: no limit).

    ``leans_on``: what the figures rest on where the maker did not state the resistance; empty where he did.
    ``unknown``: nothing says what the resistance is in this case, or the voltage.
    """

    voltage_v: float
    resistance_ohm: float
    limit_a: float
    leans_on: str = ""
    unknown: bool = False
    # what it gives until its electronics limit it, A; 0 where that is no more than its limit
    peak_a: float = 0.0


@dataclass(frozen=True, slots=True)
class EdgeResistance:
    """There and back, in ohm, in the two cases; and what is missing for it."""

    least_ohm: float
    greatest_ohm: float
    drop_v: float = 0.0
    missing: str = ""


def nominal_v(source: Source, system_v: float | None) -> float:
    """A source's own voltage, else its system's; 0 where neither is given."""
    return source.voltage_v or system_v or 0.0


def source_pairs(source: Source, system_v: float | None) -> tuple[SourcePair, SourcePair]:
    """(largest case, smallest case).  IEC 61660-1: 1.05 U and 0.9 R for the peak, 0.95 × 1.05 U and R after it.

    Electronics that limit a current take some time to act.  Where the maker also states what the source gives into a
    short circuit, and that is more, it is what a device may have to break; what lasts is the limit.
    """
    factors = battery_short_circuit()
    volts = nominal_v(source, system_v)
    if source.self_limiting:
        # a regulated source: its own resistance hardly matters below its limit
        least = source.resistance_ohm[0] if source.resistance_ohm else NIL_OHM
        most = source.resistance_ohm[1] if source.resistance_ohm else NIL_OHM
        highest = source.greatest_v or volts
        peak_a = source.short_circuit_a or 0.0
        if peak_a <= source.limit_a:
            peak_a = 0.0
        else:
            least = min(least, highest / peak_a)
        return (
            SourcePair(highest, max(least, NIL_OHM), source.limit_a, unknown=not highest, peak_a=peak_a),
            SourcePair(volts, max(most, NIL_OHM), source.limit_a, unknown=not volts),
        )
    little, much, leans_on = _resistance(source, volts)
    highest = max(source.greatest_v or 0.0, factors.voltage_factor * volts)
    lowest = factors.steady_voltage_factor * factors.voltage_factor * volts
    # a cold battery's resistance, where no other is known, is more than its least: its current is a lower bound
    least_ohm = max(factors.peak_resistance_factor * (little or much or 0.0), NIL_OHM)
    if source.short_circuit_a and highest:
        # what its maker says it gives into a short circuit it does give
        least_ohm = min(least_ohm, highest / source.short_circuit_a)
        if much is not None:
            # and it never gives more
            much = max(much, volts / source.short_circuit_a)
    return (
        SourcePair(highest, least_ohm, math.inf, leans_on, little is None or not highest),
        SourcePair(lowest, max(much or 0.0, NIL_OHM), math.inf, leans_on, much is None or not lowest),
    )


def _resistance(source: Source, volts: float) -> tuple[float | None, float | None, str]:
    """(least, greatest, what they lean on) of a source that does not limit itself; None where nothing says it."""
    if source.resistance_ohm is not None:
        return (*source.resistance_ohm, "")
    if source.short_circuit_a and volts:
        ohm = volts / source.short_circuit_a
        return ohm, ohm, ""
    test = cranking_test()
    cold = 0.0
    if source.cranking_a:
        # in series as many tests one behind the other as the bank has blocks of 12 V
        cold = (test.open_v - test.cranking_v) / source.cranking_a * max(1.0, volts / test.nominal_v)
    rough = rough_resistances().get(source.chemistry)
    if rough is None or not source.charge_ah or not volts:
        if cold:
            # a cold battery's resistance is above a warm one's: it serves for the smallest current only
            return None, cold, f"cold-cranking amperes ({test.cite})"
        return None, None, ""
    scale = (volts / 12.0) * (100.0 / source.charge_ah)
    most = max(rough.greatest_ohm * scale, cold)
    return rough.least_ohm * scale, most, f"a rough resistance for {source.chemistry} ({rough.cite.status})"


def edge_resistance(edge: Edge) -> EdgeResistance:
    """What an edge adds to the loop, there and back.

    Devices and switches count with what their sheet or the design states; where nothing is stated they count as nil,
    which makes the largest current larger and the smallest too: `contacts` tries what that may hide.
    """
    element = edge.element
    if edge.kind == "link":
        return NIL
    if isinstance(element, Conductor):
        return _conductor(element)
    if isinstance(element, Device | Switch):
        if element.resistance_ohm is None:
            return NOT_STATED
        return EdgeResistance(*element.resistance_ohm)
    if isinstance(element, Diode):
        return EdgeResistance(0.0, 0.0, element.drops_v or 0.0, "" if element.drops_v else "drop")
    return NIL


NIL = EdgeResistance(0.0, 0.0)
NOT_STATED = EdgeResistance(0.0, 0.0, missing="resistance")


def working_temperature_c(conductor: Conductor) -> float:
    """A loaded conductor may be as hot as its insulation allows; without a figure, as the hottest that is made."""
    return conductor.insulation_c if conductor.insulation_c is not None else 105.0


def size_text(size: Quantity) -> str:
    return f"{size.awg} AWG" if size.awg else f"{size.value:g} mm2"


@lru_cache(maxsize=4096)
def _ohm_per_m(size: str, tinned: bool | None, hot_c: float) -> tuple[float, float]:
    """Least and greatest resistance of one conductor of a size."""
    return least_resistance_ohm_per_m(size, COLD_C).ohm_per_m, resistance_ohm_per_m(size, tinned, hot_c).ohm_per_m


def _conductor(conductor: Conductor) -> EdgeResistance:
    size, length_m = conductor.size, conductor.length_m
    if size is None or length_m is None:
        return EdgeResistance(0.0, math.inf, missing="size or length")
    back = conductor.return_size or size
    back_m = conductor.return_m if conductor.return_m is not None else length_m
    hot_c = working_temperature_c(conductor)
    least_there, greatest_there = _ohm_per_m(size_text(size), conductor.tinned, hot_c)
    least_back, greatest_back = _ohm_per_m(size_text(back), conductor.tinned, hot_c)
    least = least_there * length_m + least_back * back_m
    return EdgeResistance(least, max(greatest_there * length_m + greatest_back * back_m, least))


def resistances(circuit: Circuit, contacts: Mapping[int, float] | None = None) -> list[EdgeResistance]:
    """By edge.  ``contacts``: what some edges whose resistance nobody states are taken to have at most, ohm."""
    found = [edge_resistance(edge) for edge in circuit.edges]
    for edge, ohm in (contacts or {}).items():
        found[edge] = EdgeResistance(0.0, ohm, missing="resistance")
    return found
