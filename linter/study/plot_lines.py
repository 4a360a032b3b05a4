"""The edges of a device's band and a conductor's damage line as lines to be plotted: points of (A, s), straight in
logarithms between them, so that a line with all corners is exact.

What lies beyond the points that a standard or maker gives is kept apart (``told`` is false).
"""

from __future__ import annotations

import math
from dataclasses import dataclass

from linter.study.corners import energy_corners
from linter.study.curve import Curve, Points
from linter.study.heating import Withstand

# Beyond any plot: where a line has no end in time, it is drawn to here.
FOREVER_S, AT_ONCE_S = 1e7, 1e-7


@dataclass(frozen=True, slots=True)
class Line:
    """Points in A and s.  ``told``: somebody promises it; otherwise it is drawn out from the last point told."""

    points: Points
    told: bool = True


def told_to_a(curve: Curve) -> float:
    """The current in A up to which the slow edge is told, by its points or by the energy that it lets through."""
    return max([curve.told_to_a, *(to_a for _, to_a in curve.energies)])


def slow_edge(curve: Curve, to_a: float) -> tuple[Line, ...]:
    """By when it has opened, up to a current of ``to_a``: from the current at which it is promised to open at last.

    `Curve.slowest` at every current at which it can bend.
    """
    if not curve.slow:
        return ()
    (first_a, first_s), (last_a, last_s) = curve.slow[0], curve.slow[-1]
    told = [(first_a, max(FOREVER_S, first_s)), *curve.slow]
    if to_a <= last_a:
        return (Line(tuple(told)),)
    beside = last_a * (1 + 1e-9)
    if curve.slowest(beside).seconds < last_s * (1 - 1e-6):
        told.append((last_a, curve.slowest(beside).seconds))
    limit_a = min(max(told_to_a(curve), last_a), to_a)
    bends = [a for a in energy_corners(curve) if last_a < a < to_a] if last_s > 0 else []
    told += [(a, curve.slowest(a).seconds) for a in sorted({*bends, limit_a}) if last_a < a <= limit_a]
    beyond = [told[-1], *((a, curve.slowest(a).seconds) for a in sorted({*bends, to_a}) if a > limit_a)]
    return (Line(tuple(told)), *([Line(tuple(beyond), told=False)] if len(beyond) > 1 else []))


def fast_edge(curve: Curve) -> Points:
    """Before when it does not open: down at its rating, and along the points told.  Beyond the last nothing is
    promised: there it drops, unless it can be drawn out."""
    from_a = curve.rated_a
    points = [(from_a, FOREVER_S)]
    inside = [(a, s) for a, s in curve.fast if a > from_a * (1 + 1e-9)]
    if inside:
        points.append((from_a, curve.fastest(from_a * (1 + 1e-8))))
        points += inside
    if not fast_beyond(curve, math.inf):
        points.append((points[-1][0], AT_ONCE_S))
    return tuple((a, max(s, AT_ONCE_S)) for a, s in points)


def fast_beyond(curve: Curve, to_a: float) -> Points:
    """The fast edge drawn out beyond its last point, as `Curve.holds` has it; nothing where it cannot be."""
    start_a = curve.fast[-1][0] if curve.fast else math.inf
    if not curve.melts or not curve.rated_a < start_a < to_a or curve.fast[-1][1] <= AT_ONCE_S:
        return ()
    # straight in logarithms: two points are all of it, the second at the edge of any plot
    end_a = min(to_a, start_a * math.sqrt(curve.fast[-1][1] / AT_ONCE_S))
    return (curve.fast[-1], (end_a, curve.holds(end_a)))


def promised_to_a(curve: Curve) -> float:
    """The current in A up to which a least time is promised: its rating at least."""
    return max(curve.rated_a, curve.fast[-1][0] if curve.fast else 0.0)


def promised_area(curve: Curve) -> Points:
    """The band proper, closed: where it may or may not have opened, as far as both edges are told; else nothing."""
    end_a = promised_to_a(curve)
    if not curve.slow or not curve.fast or end_a <= curve.rated_a:
        return ()
    if end_a <= curve.slow[0][0]:
        above: list[tuple[float, float]] = [(end_a, FOREVER_S)]
    else:
        above = [p for line in reversed(slow_edge(curve, end_a)) for p in reversed(line.points) if p[0] <= end_a]
        above.insert(0, (end_a, curve.slowest(end_a).seconds))
    return (*(p for p in fast_edge(curve) if p[1] > AT_ONCE_S), *above)


def unpromised_area(curve: Curve, to_a: float) -> Points:
    """Below the slow edge where no least time is promised, closed: there it may open at any time; where the fast edge
    can be drawn out, down to that."""
    start_a = promised_to_a(curve)
    if not curve.slow or to_a <= start_a:
        return ()
    upper: list[tuple[float, float]] = []
    if start_a < curve.slow[0][0]:
        upper.append((start_a, FOREVER_S))
    else:
        upper.append((start_a, curve.slowest(start_a).seconds))
    upper += [p for line in slow_edge(curve, to_a) for p in line.points if start_a <= p[0] <= to_a]
    lower = fast_beyond(curve, to_a) or ((start_a, AT_ONCE_S), (upper[-1][0], AT_ONCE_S))
    if lower[-1][0] < upper[-1][0]:
        lower = (*lower, (upper[-1][0], AT_ONCE_S))
    return (lower[0], *upper, *reversed(lower[1:]))


@dataclass(frozen=True, slots=True)
class DamageLines:
    """A conductor's line: ``adiabatic`` up to the time for which that holds, ``beyond`` it drawn out until its
    ampacity, and ``carries`` upright there: below it nothing harms it, however long."""

    adiabatic: Points
    beyond: Points
    carries: Points


def damage_lines(stands: Withstand, ampacity_a: float | None) -> DamageLines:
    """(k S / I)² = t; the current for a time is its inverse."""

    def amps(seconds: float) -> float:
        return math.sqrt(stands.a2s / seconds)

    corner = (amps(stands.greatest_s), stands.greatest_s)
    adiabatic = (corner, (amps(AT_ONCE_S), AT_ONCE_S))
    if ampacity_a is None or not ampacity_a > 0:
        return DamageLines(adiabatic, ((amps(FOREVER_S), FOREVER_S), corner), ())
    # where what it carries for ever is more than the line's current, the line ends at the limit of its reach
    meets = (ampacity_a, max(stands.seconds(ampacity_a), stands.greatest_s))
    return DamageLines(adiabatic, (meets, corner), ((ampacity_a, FOREVER_S), meets))
