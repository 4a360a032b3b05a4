"""What a short circuit may do to a conductor before it is harmed: (k·S/I)² = t, IEC 60364-4-43."""

from __future__ import annotations

import math
from dataclasses import dataclass
from functools import lru_cache

from linter.model.elements import Conductor
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


@lru_cache(maxsize=256)
def _k(initial_c: float) -> tuple[float, float, Cite]:
    """(final temperature in °C, k, whose figure) of an insulation rated for and working at ``initial_c``."""
    limits = short_circuit_limits()
    row = next((r for r in limits if initial_c <= r.up_to_c), limits[-1])
    final_c = max(row.final_c, initial_c)
    return final_c, short_circuit().k(initial_c, final_c), row.cite


def withstand_of(conductor: Conductor) -> Withstand | None:
    """What a conductor stands; None where its size is not given."""
    if conductor.area_mm2 is None:
        return None
    initial_c = working_temperature_c(conductor)
    final_c, k, cite = _k(initial_c)
    area = conductor.area_mm2
    return Withstand(initial_c, final_c, k, area, (k * area) ** 2, short_circuit().greatest_s, cite)
