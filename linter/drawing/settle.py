"""Rows drawn towards what they hang on: short bars, short jogs, no needless gaps."""

from __future__ import annotations

import math
from bisect import bisect_left
from dataclasses import dataclass

LEAST_BAR = 4.0
ROUNDS = 4
# What a millimetre of a jog costs, one of a bar being 1.
JOG = 1.05
# How much is moved together at most, and how often in one direction.
MOST_PUSHED = 400
STEPS = 12
# In a tangle larger than any boat's it would take long and help little.
MOST_VARIABLES = 6000
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
            length += JOG * sum(abs(y - o) for o in others)
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
    if len(value) <= MOST_VARIABLES:
        _push(bars, mates, value, before, after)
        _tighten(bars, value, sequence, before)


def _push(
    bars: list[Bar], mates: dict[int, list[int]], value: list[float], before: _Differences, after: _Differences
) -> None:
    """Move together what stands in each other's way: whoever is drawn somewhere takes along what it would push.

    Tried for both ends of every jog, and for the first and last of every bar; a move that does not pay is undone.
    """
    on: dict[int, list[int]] = {}
    for number, bar in enumerate(bars):
        for v in bar.members:
            on.setdefault(v, []).append(number)

    def block(v: int, sign: int) -> tuple[set[int], float] | None:
        """All that moves if v does, and how far it can before it meets something else."""
        others = after if sign > 0 else before
        moving, waiting = {v}, [v]
        room = _FAR
        meets: list[tuple[int, float]] = []
        while waiting:
            u = waiting.pop()
            for b, apart in others[u]:
                slack = sign * (value[b] - value[u]) - apart
                if slack > 1e-6:
                    meets.append((b, slack))
                elif b not in moving:
                    moving.add(b)
                    waiting.append(b)
                    if len(moving) > MOST_PUSHED:
                        return None
        for b, slack in meets:
            if b not in moving:
                room = min(room, slack)
        return moving, room

    def cost(touched: set[int], moving: set[int]) -> float:
        length = sum(max(value[v] for v in bars[n].members) - min(value[v] for v in bars[n].members) for n in touched)
        return length + JOG * sum(abs(value[v] - value[m]) for v in moving for m in mates.get(v, ()) if m not in moving)

    def pull(v: int, goal: float) -> None:
        for _ in range(STEPS):
            sign = 1 if goal > value[v] else -1
            found = block(v, sign) if abs(goal - value[v]) > 1e-6 else None
            if found is None:
                return
            moving, room = found
            step = min(room, abs(goal - value[v]))
            touched = {n for u in moving for n in on.get(u, ())}
            least = cost(touched, moving)
            for u in moving:
                value[u] += sign * step
            if cost(touched, moving) > least - 1e-6:
                for u in moving:
                    value[u] -= sign * step
                return

    for _ in range(2):
        for v in sorted(mates):
            for other in mates[v]:
                pull(v, value[other])
        for bar in bars:
            if len(bar.members) > 1:
                first, last = min(bar.members, key=value.__getitem__), max(bar.members, key=value.__getitem__)
                pull(first, value[last])
                pull(last, value[first])


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
