"""What a short circuit may do to a conductor before it is harmed: (k·S/I)² = t, IEC 60364-4-43."""

from __future__ import annotations

import math
from collections.abc import Iterable
from dataclasses import dataclass, replace
from functools import lru_cache

from linter.model.elements import Conductor, System
from linter.study.capacity import capacity, thinner_return
from linter.study.curve import stated_ambient_c
from linter.study.impedance import working_temperature_c
from linter.tables.cite import Cite
from linter.tables.conductors import short_circuit, short_circuit_limits
from linter.tables.rulebook import Rulebook


@dataclass(frozen=True, slots=True)
class Withstand:
    """The heat a conductor stands: from its working temperature to the most its insulation bears for a moment.

    ``of_return``: it is the thinner return that stands no more, with its own ampacity in A where that is known.
    ``k`` in A·√s/mm²; ``a2s`` is k²·S² in A²s.  Adiabatic, so it holds up to ``greatest_s``.
    """

    initial_c: float
    final_c: float
    k: float
    area_mm2: float
    a2s: float
    greatest_s: float
    cite: Cite
    of_return: bool = False
    return_ampacity_a: float | None = None

    def seconds(self, amps: float) -> float:
        """How long it stands a current in A."""
        return self.a2s / amps**2 if amps > 0 else math.inf


# Where no place says how hot it is.
USUAL_AMBIENT_C = 30.0


def ambient_c(conductor: Conductor) -> float:
    """The surroundings of the hottest place a conductor lies in, °C: an engine space without a figure counts as 50."""
    places = [p for p in (conductor.place, *(p for _, p in conductor.route)) if p is not None]
    known = [stated_ambient_c(p) for p in places]
    return max((USUAL_AMBIENT_C if c is None else c for c in known), default=USUAL_AMBIENT_C)


def service_temperature_c(conductor: Conductor, persisting_a: float, ampacity_a: float) -> float:
    """How hot a conductor can be before a fault, °C: what can persist in it heats it over its surroundings as the
    square of the current, and its ampacity heats it to what its insulation is rated for (common practice; the steady
    state of IEC 60287).  Never above that."""
    hottest = working_temperature_c(conductor)
    coolest = min(ambient_c(conductor), hottest)
    share = min(persisting_a / ampacity_a, 1.0) if ampacity_a > 0 else 1.0
    return coolest + (hottest - coolest) * share**2


@lru_cache(maxsize=4096)
def _k(insulation_c: float, initial_c: float) -> tuple[float, float, Cite]:
    """(final temperature in °C, k, whose figure) of an insulation of a rating that is at ``initial_c``."""
    limits = short_circuit_limits()
    row = next((r for r in limits if insulation_c <= r.up_to_c), limits[-1])
    final_c = max(row.final_c, initial_c)
    return final_c, short_circuit().k(initial_c, final_c), row.cite


def withstand_of(conductor: Conductor, initial_c: float | None = None) -> Withstand | None:
    """What a conductor stands that is at ``initial_c`` (None: as hot as its insulation allows); None where its size is
    not given.  Its return is not looked at: see `loop_withstand`."""
    return _withstand(conductor, conductor.area_mm2, initial_c) if conductor.area_mm2 is not None else None


def loop_withstand(
    conductor: Conductor, persisting_a: float, ampacity_a: float | None, return_ampacity_a: float | None
) -> Withstand | None:
    """What a conductor and its return stand, the lesser of the two: both carry the same fault, and what can persist
    heats each of them by its own ampacity in A before (None: as hot as its insulation allows)."""

    def before_c(ampacity: float | None) -> float | None:
        return service_temperature_c(conductor, persisting_a, ampacity) if ampacity is not None else None

    live = withstand_of(conductor, before_c(ampacity_a))
    back = conductor.return_size
    if live is None or back is None or back.value >= live.area_mm2 * (1 - 1e-9):
        return live
    made = _withstand(conductor, back.value, before_c(return_ampacity_a))
    return replace(made, of_return=True, return_ampacity_a=return_ampacity_a)


def return_ampacity(conductor: Conductor, system: System | None, rulebooks: Iterable[Rulebook]) -> float | None:
    """The ampacity in A of a return thinner than its live conductor by the strictest rulebook; None where it is not
    thinner, or smaller than any conductor of a table."""
    own = thinner_return(conductor, system)
    found = [capacity(own, book) for book in rulebooks] if own is not None else []
    return min((c.ampacity_a for c in found), default=None) if not any(c.bound for c in found) else None


def _withstand(conductor: Conductor, area_mm2: float, initial_c: float | None) -> Withstand:
    hottest = working_temperature_c(conductor)
    return _withstand_from(hottest, area_mm2, hottest if initial_c is None else min(initial_c, hottest))


@lru_cache(maxsize=4096)
def _withstand_from(hottest_c: float, area_mm2: float, initial_c: float) -> Withstand:
    """Of an insulation rated for ``hottest_c``; thousands of conductors are alike."""
    final_c, k, cite = _k(hottest_c, round(initial_c, 1))
    return Withstand(initial_c, final_c, k, area_mm2, (k * area_mm2) ** 2, short_circuit().greatest_s, cite)
