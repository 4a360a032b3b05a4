"""Rows drawn towards what they hang on: short bars, short jogs, no needless gaps."""

from __future__ import annotations

import math
from bisect import bisect_left
from dataclasses import dataclass

LEAST_BAR = 4.0
ROUNDS = 4
_FAR = 1e9
_Differences = list[list[tuple[int, float]]]


@dataclass(slots=True)
class Bar:
    """A hub: the variables of its two ends and of what hangs on it, and how far it reaches beyond
    those (mm)."""

    top: int
    bottom: int
    above: float
    below: float
    members: list[int]


class _Extremes:
    """Least and greatest of a changing bag of numbers, with one of them left out."""

    def __init__(self, values: list[float]) -> None:
        self.values = sorted(values)

    def without(self, value: float) -> tuple[float, float] | None:
        values = self.values
        if len(values) < 2:
            return None
        return values[values[0] == value], values[-2 if values[-1] == value else -1]

    def change(self, old: float, new: float) -> None:
        del self.values[bisect_left(self.values, old)]
        self.values.insert(bisect_left(self.values, new), new)


def settle(
    bars: list[Bar], mates: dict[int, list[int]], value: list[float], sequence: list[int],
    before: _Differences, after: _Differences,
) -> None:  # fmt: skip
    """Change ``value`` for the better, keeping every difference.

    ``sequence`` has the variables in an order in which all differences point forwards; ``before[v]`` and ``after[v]``
    are the differences that bound v from above and below.  Downwards from the lowest, then upwards from the highest,
    each variable moves to where its bars and jogs are shortest.
    """
    tops, bottoms = {b.top for b in bars}, {b.bottom for b in bars}
    on: dict[int, list[int]] = {}
    for number, bar in enumerate(bars):
        for v in bar.members:
            on.setdefault(v, []).append(number)
    reach = [_Extremes([value[v] for v in bar.members]) for bar in bars]

    def move(v: int, low: float, high: float, downwards: bool) -> None:
        near = [n for n in (reach[h].without(value[v]) for h in on.get(v, ())) if n is not None]
        others = [value[m] for m in mates.get(v, ())]
        if not near and not others:
            return

        def cost(y: float) -> tuple[float, float]:
            length = sum(max(y, n[1]) - min(y, n[0]) for n in near)
            # A jog a little more than a bar: a hub far from what feeds it follows its feed, row by row.
            length += 1.05 * sum(abs(y - o) for o in others)
            return round(length, 6), y - value[v] if downwards else y

        wanted = {value[v], *others, *(x for n in near for x in n), low, high}
        best = min((min(max(y, low), high) for y in wanted if math.isfinite(y)), key=cost)
        if best != value[v]:
            for h in on.get(v, ()):
                reach[h].change(value[v], best)
            value[v] = best

    for _ in range(ROUNDS):
        for v in reversed(sequence):
            high = min((value[b] - apart for b, apart in after[v]), default=_FAR)
            if v in tops or v in bottoms:
                value[v] = high
            else:
                move(v, value[v], max(high, value[v]), True)
        for v in sequence:
            low = max((value[a] + apart for a, apart in before[v]), default=-_FAR)
            if v in tops or v in bottoms:
                value[v] = low
            else:
                move(v, min(low, value[v]), value[v], False)
    _tighten(bars, value, sequence, before)


def _tighten(bars: list[Bar], value: list[float], sequence: list[int], before: _Differences) -> None:
    """Each bar as long as what hangs on it; one with nothing on it under what stands above it."""
    order = {v: n for n, v in enumerate(sequence)}
    for bar in sorted(bars, key=lambda b: order[b.top]):
        if bar.members:
            value[bar.top] = min(value[v] for v in bar.members) - bar.above
            value[bar.bottom] = max(value[v] for v in bar.members) + bar.below
        else:
            value[bar.top] = max((value[a] + apart for a, apart in before[bar.top]), default=0.0)
            value[bar.bottom] = value[bar.top] + LEAST_BAR
