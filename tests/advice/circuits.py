"""One circuit behind one device, and a solver of its own for what a person would see on board.

The solver knows nothing of the linter: Ohm's law around one loop, with the greatest resistance of plain flexible
conductors (IEC 60228 class 5, ohm/km at 20 °C; second-hand) and copper's 0.00393 per kelvin (from memory).
"""

from __future__ import annotations

import itertools
import math
from dataclasses import dataclass, replace

# mm² -> ohm/km at 20 °C (IEC 60228 class 5, plain; second-hand).
FLEXIBLE = {1.5: 13.3, 2.5: 7.98, 4.0: 4.95, 6.0: 3.30, 10.0: 1.91, 16.0: 1.21}
PER_K = 0.00393


@dataclass(frozen=True, slots=True)
class Loop:
    """A battery, a device, a run there and back, a load.  Volts, ohm, mm², m; ``draws_a`` or ``draws_w``."""

    volts: float = 12.0
    battery_ohm: float = 0.004
    mm2: float = 6.0
    metres: float = 6.0
    draws_a: float = 0.0
    draws_w: float = 0.0
    rated_a: float = 30.0
    kind: str = "breaker"
    device: str = "thermal"
    starts: tuple[float, float] | None = None
    motor: bool = False
    place_c: float = 30.0
    carries: tuple[tuple[float, float], ...] = ((100, 30), (80, 70))

    def run_at(self, celsius: float) -> float:
        """There and back, ohm."""
        return FLEXIBLE[self.mm2] / 1000 * 2 * self.metres * (1 + PER_K * (celsius - 20))

    @property
    def run_ohm(self) -> float:
        """There and back, warm with its current: at 40 °C."""
        return self.run_at(40.0)

    def current(self, volts: float | None = None) -> float:
        """What the load takes, A: of constant power the root of V I - R I² = P that is stable."""
        if not self.draws_w:
            return self.draws_a
        open_v, ohm = volts or self.volts, self.battery_ohm + self.run_ohm
        return (open_v - math.sqrt(open_v**2 - 4 * ohm * self.draws_w)) / (2 * ohm)

    def at_load(self, volts: float | None = None) -> float:
        return (volts or self.volts) - self.current(volts) * (self.battery_ohm + self.run_ohm)

    def short_a(self) -> float:
        """Into a dead short at the load."""
        return self.volts / (self.battery_ohm + self.run_ohm)

    def text(self) -> str:
        """The circuit in the language."""
        draws = f"draws {self.draws_w:g} W" if self.draws_w else f"draws {self.draws_a:g} A"
        starts = f", starts {self.starts[0]:g} A for {self.starts[1]:g} s" if self.starts else ""
        sort = "motor, " if self.motor else ""
        opens = ["opens at 135 % in 60 s to 1800 s", "opens at 200 % in 8 s to 60 s", "opens at 400 % in 1 s to 8 s",
                 "opens at 1000 % in 20 ms to 0.3 s"]  # fmt: skip
        carries = [f"carries {share:g} % at {at:g} °C" for share, at in self.carries]
        return "\n".join([
            'boat "Loop", 8 m, rulebook iso-13297',
            f"system DC12, DC, {self.volts:g} V, negative earthed, least 10.5 V",
            f"place BOX, ambient {self.place_c:g} °C", "place ELSEWHERE, ambient 30 °C",
            "cables, insulation 105 °C, class 5, plain",
            f"part d, {self.kind}", *[f"  {line}" for line in (self.device, "32 V", "breaks 5 kA at 32 V", *opens, *carries)],
            f"battery B, AGM, {self.volts:g} V, 200 Ah, resistance {self.battery_ohm * 1000:g} mohm, in ELSEWHERE",
            "from B", f"{self.kind} F, part d, {self.rated_a:g} A, in BOX",
            f"cable W, {self.mm2:g} mm2, {self.metres:g} m, in ELSEWHERE",
            f"load L, {sort}{draws}{starts}, works from 9 V, in ELSEWHERE", "",
        ])  # fmt: skip


def with_(loop: Loop, **changes: object) -> Loop:
    return replace(loop, **changes)  # type: ignore[arg-type]


def thermal_opens(times_rating: float) -> tuple[float, float]:
    """(least, most) s at a multiple of the rating, read off the points of `Loop.text` by hand: log-log between."""
    points = [(1.35, 60, 1800), (2.0, 8, 60), (4.0, 1, 8), (10.0, 0.02, 0.3)]
    for (a, a_least, a_most), (b, b_least, b_most) in itertools.pairwise(points):
        if a <= times_rating <= b:
            share = math.log(times_rating / a) / math.log(b / a)
            return a_least * (b_least / a_least) ** share, a_most * (b_most / a_most) ** share
    raise ValueError(times_rating)
