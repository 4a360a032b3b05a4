"""Logarithmic axes: where a current and a time stand on the sheet, lines and areas cut to the plot, hatching."""

from __future__ import annotations

import math
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from itertools import pairwise

from linter.drawing.picture import Box, Point

# What stands for nil and for ever, in decades beyond which no axis goes.
_FAR = 12.0


@dataclass(frozen=True, slots=True)
class Axes:
    """A plot's rectangle on the sheet in mm, and what its edges are: A from left to right, s from bottom to top."""

    box: Box
    least_a: float
    greatest_a: float
    least_s: float
    greatest_s: float

    @property
    def decade_x(self) -> float:
        """A decade of current in mm."""
        return (self.box.x1 - self.box.x0) / math.log10(self.greatest_a / self.least_a)

    @property
    def decade_y(self) -> float:
        """A decade of time in mm."""
        return (self.box.y1 - self.box.y0) / math.log10(self.greatest_s / self.least_s)

    def x(self, amps: float) -> float:
        return self.box.x0 + self.decade_x * _log(amps / self.least_a)

    def y(self, seconds: float) -> float:
        return self.box.y1 - self.decade_y * _log(seconds / self.least_s)

    def amps(self, x: float) -> float:
        return self.least_a * 10 ** ((x - self.box.x0) / self.decade_x)

    def seconds(self, y: float) -> float:
        return self.least_s * 10 ** ((self.box.y1 - y) / self.decade_y)

    def line(self, points: Iterable[tuple[float, float]]) -> list[tuple[Point, ...]]:
        """A line through points of (A, s), cut to the plot: the pieces that are in it."""
        return cut([(self.x(a), self.y(s)) for a, s in points], self.box)

    def area(self, points: Iterable[tuple[float, float]]) -> tuple[Point, ...]:
        """A closed line through points of (A, s), cut to the plot; nothing where all of it is outside."""
        return cut_area([(self.x(a), self.y(s)) for a, s in points], self.box)


def _log(ratio: float) -> float:
    if not ratio > 0:
        return -_FAR
    return max(-_FAR, min(math.log10(ratio), _FAR)) if ratio < math.inf else _FAR


def cut(points: Sequence[Point], box: Box) -> list[tuple[Point, ...]]:
    """The pieces of a line that are inside a box (Liang and Barsky, segment by segment)."""
    pieces: list[list[Point]] = []
    for start, end in pairwise(points):
        inside = part(start, end, box)
        if inside is None:
            continue
        if pieces and pieces[-1][-1] == inside[0]:
            pieces[-1].append(inside[1])
        else:
            pieces.append([inside[0], inside[1]])
    return [tuple(p) for p in pieces if any(q != p[0] for q in p)]


def part(start: Point, end: Point, box: Box) -> tuple[Point, Point] | None:
    """The part of a segment that is inside a box; None where it is all outside."""
    (x0, y0), (x1, y1) = start, end
    dx, dy = x1 - x0, y1 - y0
    first, last = 0.0, 1.0
    for step, room in ((-dx, x0 - box.x0), (dx, box.x1 - x0), (-dy, y0 - box.y0), (dy, box.y1 - y0)):
        if step == 0:
            if room < 0:
                return None
        elif step < 0:
            first = max(first, room / step)
        else:
            last = min(last, room / step)
    if first > last:
        return None
    a = start if first == 0.0 else (x0 + first * dx, y0 + first * dy)
    b = end if last == 1.0 else (x0 + last * dx, y0 + last * dy)
    return a, b


def cut_area(points: Sequence[Point], box: Box) -> tuple[Point, ...]:
    """A polygon cut to a box, edge of the box by edge (Sutherland and Hodgman)."""
    left = list(points)
    for axis, limit, keep in ((0, box.x0, 1), (0, box.x1, -1), (1, box.y0, 1), (1, box.y1, -1)):
        made: list[Point] = []
        for before, after in zip([*left[-1:], *left[:-1]], left, strict=True):
            inside, was = keep * (after[axis] - limit) >= 0, keep * (before[axis] - limit) >= 0
            if inside != was:
                share = (limit - before[axis]) / (after[axis] - before[axis])
                other = before[1 - axis] + share * (after[1 - axis] - before[1 - axis])
                made.append((limit, other) if axis == 0 else (other, limit))
            if inside:
                made.append(after)
        left = made
        if not left:
            return ()
    return tuple(p for i, p in enumerate(left) if p != left[i - 1])


def hatch(area: Sequence[Point], slope: float | None, step: float) -> list[tuple[Point, Point]]:
    """Lines across a polygon, ``step`` mm apart along x: of a slope (mm down per mm right), or upright (None)."""
    if len(area) < 3:
        return []

    def across(point: Point) -> float:
        return point[0] if slope is None else point[0] - point[1] / slope

    sides = list(zip(area, [*area[1:], area[0]], strict=True))
    keys = [across(p) for p in area]
    made: list[tuple[Point, Point]] = []
    # from a multiple of the step, so that neighbouring areas have their lines in common; just beside, as corners are
    # often at a multiple
    at = math.ceil(min(keys) / step) * step + 1e-6
    while at < max(keys):
        crossings: list[Point] = []
        for start, end in sides:
            k0, k1 = across(start), across(end)
            if (k0 < at) != (k1 < at):
                share = (at - k0) / (k1 - k0)
                crossings.append((start[0] + share * (end[0] - start[0]), start[1] + share * (end[1] - start[1])))
        crossings.sort(key=lambda p: (p[1], p[0]))
        made += [(a, b) for a, b in zip(crossings[::2], crossings[1::2], strict=False) if a != b]
        at += step
    return made


# ---- ticks ----------------------------------------------------------------------------------------------------------


@dataclass(frozen=True, slots=True)
class Tick:
    """A line of the grid: its value, what is written at it ("" for nothing), and whether it is a decade."""

    value: float
    text: str
    decade: bool


def current_ticks(least_a: float, greatest_a: float) -> list[Tick]:
    """1 to 9 in each decade; 1, 2 and 5 have their figure."""
    made = []
    for power in range(math.floor(math.log10(least_a) + 1e-9), math.ceil(math.log10(greatest_a) - 1e-9) + 1):
        for digit in range(1, 10):
            amps = digit * 10.0**power
            if least_a * (1 - 1e-9) <= amps <= greatest_a * (1 + 1e-9):
                made.append(Tick(amps, current_text(amps) if digit in (1, 2, 5) else "", digit == 1))
    return made


def time_ticks(least_s: float, greatest_s: float) -> list[Tick]:
    """1 to 9 in each decade; decades have their figure in seconds."""
    made = []
    for power in range(math.floor(math.log10(least_s) + 1e-9), math.ceil(math.log10(greatest_s) - 1e-9) + 1):
        for digit in range(1, 10):
            seconds = digit * 10.0**power
            if least_s * (1 - 1e-9) <= seconds <= greatest_s * (1 + 1e-9):
                text = (f"{seconds:g}" if seconds < 10_000 else f"{seconds:,.0f}".replace(",", " ")) + " s"
                made.append(Tick(seconds, text if digit == 1 else "", digit == 1))
    return made


# Times as one speaks of them, for the second axis.
SPOKEN = ((0.01, "10 ms"), (0.1, "100 ms"), (1.0, "1 s"), (5.0, "5 s"), (60.0, "1 min"), (600.0, "10 min"),
          (3600.0, "1 h"))  # fmt: skip


def current_text(amps: float) -> str:
    """A round current: 50 A, 2 kA."""
    return f"{amps / 1000:g} kA" if amps >= 1000 * (1 - 1e-9) else f"{amps:.3g} A"
