"""What would do: the conductor sizes and standard ratings from which a mend is chosen."""

from __future__ import annotations

from linter.source.units import AWG_SIZES, Quantity
from linter.study.capacity import Conditions, capacity
from linter.tables.conductors import area_mm2_of_awg, mm2_sizes
from linter.tables.devices import classes, standard_ratings
from linter.tables.rulebook import Rulebook


def sizes_like(size: Quantity) -> list[Quantity]:
    """All sizes of the same system (AWG or mm²), the smallest first."""
    if size.awg:
        return [Quantity("AREA", area_mm2_of_awg(n), f"{n} AWG", n) for n in AWG_SIZES]
    return [Quantity("AREA", float(s.split()[0]), f"{s.split()[0]} mm²") for s in mm2_sizes()]


def least_size(given: Conditions, rulebooks: list[Rulebook], amps: float, guard: bool) -> Quantity | None:
    """The smallest size of the same system that may be guarded by ``amps`` (or, with ``guard`` false, may carry
    them) under every rulebook; None if the tables end before."""
    for size in sizes_like(given.size):
        tried = Conditions(size, given.insulation_c, given.places, given.bundle, given.system)
        found = [capacity(tried, book) for book in rulebooks]
        if all(not c.bound and (c.allowed_a if guard else c.ampacity_a) >= amps for c in found):
            return size
    return None


def ratings_of(device_class: str, comes_in_a: tuple[float, ...] = ()) -> tuple[float, ...]:
    """The ratings a device is made in: its maker's series, else its class's; empty where neither is known."""
    if comes_in_a:
        return tuple(sorted(comes_in_a))
    made = classes().get(device_class)
    return made.ratings_a if made is not None else ()


def greatest_rating(amps: float) -> float | None:
    """The greatest rating not above ``amps`` that some series known here has."""
    series = {r for made in classes().values() for r in made.ratings_a} | set(standard_ratings().breakers_a)
    return max((r for r in series if r <= amps * (1 + 1e-9)), default=None)


def least_rating(amps: float, device_class: str, comes_in_a: tuple[float, ...] = ()) -> float | None:
    """The least rating not below ``amps`` that a device's series has; None where there is none, or no series."""
    return min((r for r in ratings_of(device_class, comes_in_a) if r >= amps * (1 - 1e-9)), default=None)
