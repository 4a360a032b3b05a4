"""Where time-current curves bend, cross and pass each other; pure functions of `Curve`.

Slow edges are straight in logarithms between their corners, so corners and crossings are all there is to look at.
"""

from __future__ import annotations

import itertools
import math

from linter.study.curve import Curve

# Beside a corner, so that both ends of a step are looked at.
BESIDE = 1e-9


def curve_corners(curve: Curve, limit_s: float) -> list[float]:
    """Currents at which the slow edge of a curve bends, steps, or passes ``limit_s``."""
    found = [amps for amps, _ in curve.slow]
    for (left_a, left_s), (right_a, right_s) in zip(curve.slow, curve.slow[1:], strict=False):
        if left_s > limit_s > right_s > 0 and right_a > left_a:
            share = math.log(limit_s / left_s) / math.log(right_s / left_s)
            found.append(left_a * (right_a / left_a) ** share)
    if curve.slow:
        found += energy_corners(curve)
    return found


def energy_corners(curve: Curve) -> list[float]:
    """Currents beyond the last point at which what a device lets through begins to count, ends, or gives way."""
    last_s = curve.slow[-1][1]
    found = []
    for a2s, to_a in curve.energies:
        found.append(math.sqrt(a2s / last_s))
        if to_a < math.inf:
            found.append(to_a)
            found += [to_a * math.sqrt(other / a2s) for other, _ in curve.energies if other != a2s]
    return found


def crossings(curves: list[Curve], left: float, right: float) -> list[float]:
    """Where two slow edges cross between two neighbouring corners, within which both are straight in logarithms."""
    if right <= left * (1 + 4 * BESIDE):
        return []
    at = (left * (1 + BESIDE), right * (1 - BESIDE))
    times = [[c.slowest(a).seconds for a in at] for c in curves]
    found = []
    for i, (one_l, one_r) in enumerate(times):
        for other_l, other_r in times[:i]:
            if not all(0 < t < math.inf for t in (one_l, one_r, other_l, other_r)):
                continue
            before, after = math.log(one_l / other_l), math.log(one_r / other_r)
            if before * after < 0:
                share = before / (before - after)
                found.append(at[0] * (at[1] / at[0]) ** share)
    return found


def slower_within(one: Curve, other: Curve) -> tuple[tuple[float, float], ...]:
    """The ranges of current in A within which ``other`` has opened before ``one``, both as late as they may."""
    if not other.slow:
        return ()
    if not one.slow:
        return ((0.0, math.inf),)
    corners = [a for c in (one, other) for a in (*(a for a, _ in c.slow), *energy_corners(c))]
    at = sorted({a * (1 + side) for a in corners for side in (-BESIDE, BESIDE)})
    at = [at[0] * 0.5, *at, at[-1] * 1e6]
    later = [one.slowest(a).seconds > other.slowest(a).seconds * (1 + 1e-9) for a in at]
    found: list[tuple[float, float]] = []
    for k, is_later in enumerate(later):
        if not is_later:
            continue
        low = at[k] if k and later[k - 1] else _meeting(one, other, at[k - 1], at[k]) if k else 0.0
        high = math.inf if k + 1 == len(at) else at[k + 1] if later[k + 1] else _meeting(one, other, at[k], at[k + 1])
        if found and found[-1][1] >= low:
            found[-1] = (found[-1][0], high)
        else:
            found.append((low, high))
    return tuple(found)


def _meeting(one: Curve, other: Curve, low: float, high: float) -> float:
    """Where two slow edges cross between two neighbouring corners; the middle of a step."""
    crossing = crossings([one, other], low, high)
    return crossing[0] if crossing else math.sqrt(low * high)


def energy_bound(curve: Curve, largest_a: float, limit_s: float) -> float:
    """The most A²s that a device lets through in ``limit_s`` while a current of at most ``largest_a`` falls in any way.

    At any time the current is below that at which it would have opened by then: the area under the square of its slow
    edge, taken along time.  Infinite where it may not open in time at all.
    """
    corners = {a for a in curve_corners(curve, limit_s) if a < largest_a} | {largest_a}
    sides = sorted({a * (1 + side) for a in corners for side in (-BESIDE, BESIDE)}, reverse=True)
    at = [(min(a, largest_a), curve.slowest(min(a, largest_a)).seconds) for a in sides]
    if not at or at[0][1] > limit_s * (1 + 1e-6):
        return math.inf
    found = at[0][0] ** 2 * at[0][1]
    for (more_a, soon_s), (less_a, late_s) in itertools.pairwise(at):
        late_s = min(late_s, limit_s)
        if late_s > soon_s > 0:
            # between corners straight in logarithms: I² = I1² (t/t1)^power
            power = 2 * math.log(less_a / more_a) / math.log(late_s / soon_s) if less_a < more_a else 0.0
            if abs(power + 1) < 1e-9:
                found += more_a**2 * soon_s * math.log(late_s / soon_s)
            else:
                found += more_a**2 * soon_s * ((late_s / soon_s) ** (power + 1) - 1) / (power + 1)
        elif late_s > soon_s:
            found += more_a**2 * (late_s - soon_s)
        if late_s >= limit_s:
            break
    return found
