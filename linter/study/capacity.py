"""What a conductor may carry, and the greatest rating that may guard it, by each rulebook, step by step."""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import NamedTuple

from linter.model.elements import Conductor, Place, System
from linter.source.units import Quantity
from linter.tables.cite import Cite, Status, weaker
from linter.tables.rulebook import DeviceLimit, Rulebook

# The factor for surroundings other than the table's basis is that of equal conductor temperature:
# I/I0 = sqrt((T - Ta) / (T - T0)), as the US national code (310.15) and IEC 60364-5-52 state it.
_AMBIENT = Cite("NEC 310.15(B), IEC 60364-5-52", "from memory", "equal conductor temperature")


@dataclass(frozen=True, slots=True)
class Factor:
    """``formula``: how it was reckoned from figures, where it stands in no table."""

    value: float
    why: str
    cite: Cite
    formula: str = ""


@dataclass(frozen=True, slots=True)
class Capacity:
    """One rulebook's word on one conductor.  Currents in A.

    ``bound``: the conductor is smaller than any in the table, so that its capacity is less than the figure here.
    ``missing``: figures that nobody gave, for which the worst was taken.
    """

    rulebook: Rulebook
    row: str
    column_c: float
    table_a: float
    factors: tuple[Factor, ...]
    ampacity_a: float
    allowed_a: float
    limit: DeviceLimit | None
    cite: Cite
    bound: bool
    missing: tuple[str, ...]

    @property
    def status(self) -> Status:
        """How well the least well known of its figures is known."""
        status = self.cite.status
        for factor in self.factors:
            if factor.value != 1.0:
                status = weaker(status, factor.cite.status)
        return weaker(status, self.limit.cite.status) if self.limit is not None else status

    def steps(self) -> list[str]:
        """The reckoning as a person would write it down."""
        less = "less than " if self.bound else ""
        row = f"{self.row}, {self.column_c:g} °C column"
        lines = [f"{self.rulebook.name}: {row}: {less}{self.table_a:g} A [{self.cite}]"]
        lines += [f"× {f.value:.3g} {f.why} [{f.cite}]" for f in self.factors]
        lines.append(f"= capacity {self.ampacity_a:.4g} A")
        if self.limit is not None:
            lines.append(f"greatest rating that may guard it {self.allowed_a:.4g} A [{self.limit.cite}]")
        lines += [f"missing: {m}" for m in self.missing]
        return lines


class Conditions(NamedTuple):
    """All that a capacity depends on; conductors alike share one reckoning."""

    size: Quantity
    insulation_c: float | None
    places: tuple[Place, ...]
    bundle: int
    system: System | None


def conditions_of(conductor: Conductor, system: System | None) -> Conditions | None:
    """None where the conductor's size is not given: then nothing can be said of it."""
    if conductor.size is None:
        return None
    places: tuple[Place, ...] = (conductor.place,) if conductor.place else ()
    if conductor.route:
        places = tuple(dict.fromkeys([*places, *(p for _, p in conductor.route)]))
    return Conditions(conductor.size, conductor.insulation_c, places, conductor.bundle, system)


def thinner_return(conductor: Conductor, system: System | None) -> Conditions | None:
    """What the capacity of a return depends on that is thinner than its live conductor; None where it is not."""
    back = conductor.return_size
    given = conditions_of(conductor, system) if back is not None else None
    if given is None or back is None or back.value >= given.size.value * (1 - 1e-9):
        return None
    return given._replace(size=back)


def capacity(given: Conditions, rulebook: Rulebook) -> Capacity:
    """The capacity of a conductor under one rulebook, and the greatest rating that may guard it."""
    table = rulebook.capacity
    missing: list[str] = []
    coolest = min(table.insulation_c)
    insulation_c = given.insulation_c
    if insulation_c is None:
        missing.append(f"the insulation's temperature; {coolest:g} °C, the lowest column, is taken")
        insulation_c = coolest
    elif table.column(insulation_c) is None:
        missing.append(f"{rulebook.name} has no column for {insulation_c:g} °C insulation; its lowest is taken")
        insulation_c = coolest
    cell = table.cell(given.size.value * _ROUNDED, insulation_c)
    bound = cell is None
    if cell is None:
        cell = table.cell(table.areas_mm2[0], insulation_c)
        assert cell is not None
    factors = [_surroundings(given.places, rulebook, cell.insulation_c)]
    voltage_v = given.system.voltage_v if given.system and given.system.voltage_v else 0.0
    row = rulebook.bundle(given.bundle, voltage_v) if given.bundle > 1 else None
    if row is not None:
        factors.append(Factor(row.factor, f"for {given.bundle} conductors in a bundle", row.cite))
    ampacity_a = cell.amps * math.prod(f.value for f in factors)
    limit = rulebook.device_limit(voltage_v, "ac" if given.system and given.system.alternating else "dc")
    # Of the small ratings some are standard for fuses only: what is allowed is allowed for either kind of device.
    allowed_a = ampacity_a if limit is None else min(limit.greatest_a(ampacity_a, k) for k in ("fuse", "breaker"))
    return Capacity(
        rulebook, cell.size, cell.insulation_c, cell.amps, tuple(factors), ampacity_a, allowed_a, limit, cell.cite,
        bound, tuple(missing),
    )  # fmt: skip


# A conductor half a per cent under a row's area still counts as that row: so far do rounded areas differ.
_ROUNDED = 1.005


def _surroundings(places: tuple[Place, ...], rulebook: Rulebook, column_c: float) -> Factor:
    """The least factor of all the places a conductor lies in: its hottest stretch governs the whole of it."""
    basis_c = rulebook.capacity.basis_ambient_c
    worst = Factor(1.0, f"at up to {basis_c:g} °C", rulebook.capacity.cite)
    for place in places:
        for factor in _of_place(place, rulebook, column_c, basis_c):
            if factor.value < worst.value:
                worst = factor
    return worst


def _of_place(place: Place, rulebook: Rulebook, column_c: float, basis_c: float) -> list[Factor]:
    found: list[Factor] = []
    covered_c = basis_c
    if place.engine_space:
        row = rulebook.engine_space_factor(column_c)
        if row is None:
            why = f"in {place.name}, an engine space: the table gives no current there for {column_c:g} °C insulation"
            return [Factor(0.0, why, rulebook.capacity.cite)]
        covered_c = row.ambient_c if row.ambient_c is not None else 50.0
        found.append(Factor(row.factor, f"in {place.name}, an engine space", row.cite))
    if place.ambient_c is not None and place.ambient_c > covered_c:
        span_c = column_c - basis_c
        left_c = column_c - place.ambient_c
        value = math.sqrt(left_c / span_c) if left_c > 0 and span_c > 0 else 0.0
        formula = f"√(({column_c:g} − {place.ambient_c:g}) ÷ ({column_c:g} − {basis_c:g}))" if value else ""
        found.append(Factor(value, f"in {place.name} at {place.ambient_c:g} °C", _AMBIENT, formula))
    return found
