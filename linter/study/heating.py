"""What a short circuit may do to a conductor before it is harmed: (k·S/I)² = t, IEC 60364-4-43."""

from __future__ import annotations

import math
from dataclasses import dataclass
from functools import lru_cache

from linter.model.elements import Conductor
from linter.study.curve import stated_ambient_c
from linter.study.impedance import working_temperature_c
from linter.tables.cite import Cite
from linter.tables.conductors import short_circuit, short_circuit_limits


@dataclass(frozen=True, slots=True)
class Withstand:
    """The heat a conductor stands: from its working temperature to the most its insulation bears for a moment.

    ``k`` in A·√s/mm²; ``a2s`` is k²·S² in A²s.  Adiabatic, so it holds up to ``greatest_s``.
    """

    initial_c: float
    final_c: float
    k: float
    area_mm2: float
    a2s: float
    greatest_s: float
    cite: Cite

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
    not given."""
    if conductor.area_mm2 is None:
        return None
    hottest = working_temperature_c(conductor)
    initial = hottest if initial_c is None else min(initial_c, hottest)
    final_c, k, cite = _k(hottest, round(initial, 1))
    # the smaller of the conductor and its return: both carry the same
    area = min(conductor.area_mm2, conductor.return_size.value if conductor.return_size else math.inf)
    return Withstand(initial, final_c, k, area, (k * area) ** 2, short_circuit().greatest_s, cite)
