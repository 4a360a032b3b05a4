"""When a device opens, by the judge's own copy of the gates of the standards or by its maker's points."""

from __future__ import annotations

import itertools
import math
from functools import cached_property
from typing import Any

import numpy as np
from numpy.typing import NDArray

from .fault_figures import FIVE_S

Floats = NDArray[np.float64]
Flags = NDArray[np.bool_]
H, MIN, INF = 3600.0, 60.0, math.inf

# multiple of the rating: (no sooner than, has opened by) in s; None: nothing is promised, it may never open.
# ISO 8820-3 C and F: 160 and 200 % second-hand, the rest from memory; E (SAE J1888) and ISO 8820-5 from memory.
BLADE = {
    1.10: (100 * H, None), 1.35: (0.75, 600.0), 1.60: (0.25, 50.0), 2.00: (0.15, 5.0), 3.50: (0.04, 0.5), 6.00: (None, 0.1),
}  # fmt: skip
LARGE_BLADE = {1.35: (60.0, 1800.0), 2.0: (2.0, 60.0), 3.5: (0.2, 7.0), 6.0: (0.04, 1.0)}
STRIP = {1.35: (120.0, 1800.0), 2.0: (1.0, 15.0), 3.5: (0.3, 5.0), 6.0: (0.1, 1.0)}

# (up to this rating in A, has opened by in s); beyond the last nothing is known.
T_135, T_200 = (
    ((60, H), (600, 2 * H)),
    ((30, 2), (60, 4), (100, 6), (200, 8), (400, 10), (600, 12)),
)  # UL 248-15, memory
CARTRIDGE_135, CARTRIDGE_200 = ((60, H),), ((30, 2), (60, 4))  # UL 248-14, second-hand
THERMAL_135, THERMAL_200 = ((225, H),), ((30, 2), (50, 4), (100, 6), (150, 8), (225, 10))  # UL 489, from memory
GG = ((63, H), (160, 2 * H), (400, 3 * H), (INF, 4 * H))  # IEC 60269-1, from memory
# IEC 60898-2, direct current (from memory): no instantaneous trip below, always from there on; at once is 0.1 s.
LETTERS = {"B": (4.0, 7.0), "C": (7.0, 15.0)}
AT_ONCE = 0.1


def gates(of: str, rated: float) -> tuple[list[tuple[float, float]], list[tuple[float, float]]]:
    """(slow edge, fast edge) of a class as points of (multiple, s)."""
    table = {"blade": BLADE, "miniature-blade": BLADE, "large-blade": LARGE_BLADE, "bolt-down-strip": STRIP}.get(of)
    if table is not None:
        slow = [(m, last) for m, (_, last) in table.items() if last is not None]
        return slow, [(m, first) for m, (first, _) in table.items() if first is not None]
    if of in {"class-t", "cartridge", "thermal"}:
        at_135, at_200 = {
            "class-t": (T_135, T_200), "cartridge": (CARTRIDGE_135, CARTRIDGE_200), "thermal": (THERMAL_135, THERMAL_200),
        }[of]  # fmt: skip
        return _row(1.35, at_135, rated) + _row(2.0, at_200, rated, MIN), []
    if of == "gg":
        return _row(1.6, GG, rated), _row(1.25, GG, rated)
    if of in {"hydraulic-magnetic", "thermal-magnetic"}:
        conventional = H if rated <= 63 else 2 * H
        return [(1.45, conventional), (2.55, 60.0 if rated <= 32 else 120.0)], [(1.13, conventional), (2.55, 1.0)]
    return [], []


def _row(
    multiple: float, rows: tuple[tuple[float, float], ...], rated: float, unit: float = 1.0
) -> list[tuple[float, float]]:
    """The gate at a multiple for a rating; none where the rows end below it."""
    return [(multiple, value * unit) for up_to, value in rows if rated <= up_to][:1]


class Band:
    """A device's band, in A and s."""

    def __init__(self, edge: dict[str, Any], places: dict[str, dict[str, Any]]) -> None:
        self.rated = edge["rated_a"]
        share = _share(edge["carries"], _ambient(places.get(edge["place"] or "")))
        most = max([1.0, *(c["share"] for c in edge["carries"])])
        slow: list[tuple[float, float]]
        fast: list[tuple[float, float]]
        step: list[tuple[float, float]] = []
        reach = 0.0
        if edge["opens"]:
            rows = sorted((o["multiple"], o["least_s"], o["greatest_s"]) for o in edge["opens"])
            slow, fast = [(m, b) for m, _, b in rows], [(m, a) for m, a, _ in rows]
        else:
            slow, fast = gates(edge["class"], self.rated) if self.rated else ([], [])
            letters = (
                LETTERS.get(edge["curve"]) if edge["class"] in {"hydraulic-magnetic", "thermal-magnetic"} else None
            )
            if letters:
                never, reach = letters
                step = [(never, AT_ONCE)]
        self.unknown = self.rated is None
        if self.unknown:
            # multiples of what nobody states
            slow, fast, step, reach = [], [], [], 0.0
        rated = self.rated or 0.0
        self.carries = rated * share
        self.slow = [(m * rated * most, s) for m, s in _falling(slow)]
        self.fast = [(m * rated * share, s) for m, s in _falling(fast)]
        self.trip_from = reach * rated * most
        self.no_trip_to = step[0][0] * rated * share if step else 0.0
        self.energies = [(t["a2s"], INF if t["at_a"] is None else t["at_a"]) for t in edge["lets_through"]]

    def slowest(self, amps: Floats) -> tuple[Floats, Flags]:
        """(the time by which it has opened, whether its curve says so itself)"""
        if not self.slow:
            # it carries its rating for ever; beyond that nobody says anything
            return np.full(amps.shape, INF), amps <= self.carries * (1 + 1e-9)
        amperes, seconds = np.array([a for a, _ in self.slow]), np.array([max(s, 1e-9) for _, s in self.slow])
        safe = np.maximum(amps, 1e-9)
        times = np.exp(np.interp(np.log(safe), np.log(amperes), np.log(seconds)))
        last_a, last_s = self.slow[-1]
        told = amps <= last_a * (1 + 1e-6)
        if self.trip_from:
            # a bimetal takes the same I²t at every larger current, until the magnet acts
            times = np.where(amps > last_a, last_s * (last_a / safe) ** 2, times)
            times = np.where(amps >= self.trip_from * (1 - 1e-9), AT_ONCE, times)
            told = told | (amps <= self.trip_from * (1 + 1e-6))
        beyond = amps > max(last_a, self.trip_from) * (1 + 1e-6)
        times = np.where(beyond, np.minimum(times, AT_ONCE if self.trip_from else last_s), times)
        for energy, at in self.energies:
            # what it lets through at `at` bounds the time at every larger current
            times = np.where(beyond, np.minimum(times, energy / np.minimum(safe, at) ** 2), times)
            told = told | (beyond & (amps <= at))
        never = amps < amperes[0] * (1 - 1e-9)
        return np.where(never, INF, times), told | never

    def fastest(self, amps: float) -> tuple[float, bool]:
        """(the time before which it does not open, whether anybody says so)"""
        if amps <= self.carries * (1 + 1e-9):
            return INF, True
        if not self.fast:
            return 0.0, False
        reach = max(self.fast[-1][0], self.no_trip_to)
        if amps > reach * (1 + 1e-9):
            return 0.0, False
        if amps > self.fast[-1][0]:
            return AT_ONCE, True
        amperes, seconds = [a for a, _ in self.fast], [s for _, s in self.fast]
        return float(np.exp(np.interp(math.log(amps), np.log(amperes), np.log(seconds)))), True

    @cached_property
    def corners(self) -> list[float]:
        """Currents at which the slow edge bends, and where it passes five seconds."""
        # a curve of one point tells a single current, below which it need never open: no fault lies just there
        found = [a for a, _ in self.slow] if len(self.slow) > 1 else []
        low, high = (self.slow[0][0], 1e5) if self.slow else (1.0, 1.0)
        if self.slow and self.slowest(np.array([low]))[0][0] > FIVE_S > self.slowest(np.array([high]))[0][0]:
            for _ in range(60):
                middle = math.sqrt(low * high)
                low, high = (middle, high) if self.slowest(np.array([middle]))[0][0] > FIVE_S else (low, middle)
            found.append(high)
        if self.trip_from:
            found.append(self.trip_from)
        return found + [at for _, at in self.energies if at < INF]


def _falling(points: list[tuple[float, float]]) -> list[tuple[float, float]]:
    """What takes so long at a current takes no longer at a larger one."""
    made: list[tuple[float, float]] = []
    for multiple, seconds in points:
        made.append((multiple, min([seconds, *(s for _, s in made)])))
    return made


def _ambient(place: dict[str, Any] | None) -> float | None:
    if place is None:
        return None
    if place["ambient_c"] is not None:
        return float(place["ambient_c"])
    return 50.0 if place["engine_space"] else None


def _share(carries: list[dict[str, Any]], ambient: float | None) -> float:
    """What a device carries of its rating where it stands, at most 1: straight between its maker's figures and on beyond
    the hottest; full at 20 °C where he names no temperature at which it is (common practice)."""
    points = sorted((c["ambient_c"], c["share"]) for c in carries)
    if not points or ambient is None:
        return 1.0
    if all(s < 1 for _, s in points) and points[0][0] > 20:
        points = [(20.0, 1.0), *points]
    if ambient <= points[0][0] or len(points) == 1:
        return float(min(points[0][1], 1.0))
    (a, b), (c, d) = next((pair for pair in itertools.pairwise(points) if ambient <= pair[1][0]), points[-2:])
    return float(min(max(b + (d - b) * (ambient - a) / (c - a), 0.0), 1.0))
