"""What a fault does to a conductor: its temperature followed in time, until the fault is cleared.

    dθ/dt = (I/S)² (234.5 + θ) / 226²

which is what IEC 60364-4-43 says before it is solved for k (copper that keeps all its heat; second-hand).
"""

from __future__ import annotations

import math
from typing import Any

import numpy as np

from .circuit import Network
from .fault_bands import Floats
from .fault_figures import FINAL, HEAT_226, ZERO_C

# Steps of a Runge-Kutta integration of a stretch of time in which the current stays the same.
STEPS = 12
# (I/S)² t / 226² beyond which any conductor is far hotter than anything stands: ln of the rise of 234.5 + θ.
MOLTEN = 3.0


def rise(theta: Floats, amps: Floats, seconds: Floats, area_mm2: float) -> Floats:
    """The temperature after a time at a current, °C; infinite where it has long melted."""
    rate = (amps / area_mm2 / HEAT_226) ** 2
    with np.errstate(invalid="ignore"):
        melted = (rate * seconds > MOLTEN) | np.isinf(theta)
    at = np.where(melted, 0.0, theta)
    step = np.where(melted, 0.0, seconds / STEPS)
    for _ in range(STEPS):
        a = rate * (ZERO_C + at)
        b = rate * (ZERO_C + at + step / 2 * a)
        c = rate * (ZERO_C + at + step / 2 * b)
        d = rate * (ZERO_C + at + step * c)
        at = at + step / 6 * (a + 2 * b + 2 * c + d)
    return np.where(melted, math.inf, at)


def hottest_c(edge: dict[str, Any]) -> float:
    """What its insulation is rated for; without a figure as hot as any boat cable is."""
    return 105.0 if edge["insulation_c"] is None else float(edge["insulation_c"])


def service_c(net: Network, edge: dict[str, Any], persisting_a: float, ampacity_a: float) -> float:
    """The temperature before the fault: its surroundings', and the rise in proportion to the square of what can persist;
    its ampacity takes it to what the insulation is rated for (common practice)."""
    hottest = hottest_c(edge)
    places = [net.places[p] for p in [edge["place"], *(r["place"] for r in edge["route"])] if p]
    around = [
        p["ambient_c"] if p["ambient_c"] is not None else 50.0 if p["engine_space"] else 30.0 for p in places
    ] or [30.0]  # fmt: skip
    coolest = min(max(around), hottest)
    share = min(persisting_a / ampacity_a, 1.0) if ampacity_a > 0 else 1.0
    return coolest + (hottest - coolest) * share**2


def final_c(edge: dict[str, Any], before_c: float) -> float:
    """What its insulation stands for a moment."""
    rated = hottest_c(edge)
    return max(next(final for up_to, final in FINAL if rated <= up_to), before_c)


def share_of(theta: Floats, before_c: float, end_c: float) -> Floats:
    """Of the heat that it stands: 1 where it just comes to the final temperature."""
    if end_c <= before_c:
        return np.where(theta > before_c, math.inf, 0.0)
    whole = math.log((ZERO_C + end_c) / (ZERO_C + before_c))
    with np.errstate(divide="ignore"):
        return np.asarray(np.log((ZERO_C + theta) / (ZERO_C + before_c)) / whole)
