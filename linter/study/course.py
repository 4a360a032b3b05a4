"""The course of events after a fault: which device opens first, what flows then, which opens next.

Devices alike need not be asked one by one: the larger the current, the sooner each opens, so of those that are alike
the first is the one that carries most.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Hashable, Mapping
from dataclasses import dataclass, field
from typing import Protocol

from linter.study.curve import Curve

# Devices whose times differ by no more than rounding open together.
ALIKE = 1e-9


@dataclass(frozen=True, slots=True)
class Step:
    """A state that lasts ``seconds``: A into the fault, and A by edge inside meshes, whichever way it flows.  What lies
    on bridges between the core and the fault carries ``fault_a``; what is not named carries nothing.

    ``beyond``: the devices that carry more than their curves tell, or that have none.
    """

    seconds: float
    fault_a: float
    amps: dict[int, float]
    beyond: tuple[int, ...] = ()


class Kinds(dict[int, tuple[Hashable, float]]):
    """By device, worked out when first asked for: its kind, and the largest current in A of which is told when it
    opens.  Those of one kind open at the same currents in the same time, and no later at larger ones."""

    def __init__(self, of: Callable[[int], tuple[Hashable, float]]) -> None:
        super().__init__()
        self._of = of

    def __missing__(self, edge: int) -> tuple[Hashable, float]:
        made = self[edge] = self._of(edge)
        return made


class Devices(Protocol):
    """When devices open."""

    kinds: Kinds

    def seconds(self, kind: Hashable, amps: float) -> float:
        """The greatest time in s after which one of a kind has opened; infinite: it may never."""


class ByCurve:
    """Devices that open by their curves; thousands share a few."""

    def __init__(self, curve: Callable[[int], Curve | None]) -> None:
        self._curves: dict[Hashable, Curve | None] = {}

        def of(edge: int) -> tuple[int, float]:
            found = curve(edge)
            # kept, so that no other comes to have the same number
            self._curves[id(found)] = found
            return id(found), -1.0 if found is None else found.told_at_most_a

        self.kinds = Kinds(of)

    def seconds(self, kind: Hashable, amps: float) -> float:
        curve = self._curves[kind]
        return math.inf if curve is None else curve.slowest(amps).seconds


class OneByOne:
    """Devices of which each is a kind of its own."""

    def __init__(self, slowest: Callable[[int, float], float]) -> None:
        self._slowest = slowest
        self.kinds = Kinds(lambda edge: (edge, math.inf))

    def seconds(self, kind: Hashable, amps: float) -> float:
        return self._slowest(kind, amps)  # type: ignore[arg-type]


@dataclass(slots=True)
class Carried:
    """What devices carry, from step to step."""

    devices: Devices
    # by device: since when it carries, and the least current since then
    _since: dict[int, tuple[float, float]] = field(default_factory=dict)
    _known: dict[tuple[Hashable, float], float] = field(default_factory=dict)

    def next(self, now: Mapping[int, float], seconds: float) -> tuple[float, list[int], tuple[int, ...]]:
        """Of a state that begins after ``seconds``, in which devices carry ``now``, A: (s until the first of them open,
        those devices, those that carry more than is told of them).

        Counted from when each began to carry, at the least current since; no longer than it takes at what it carries
        now.
        """
        before, since_of, kinds = self._since, dict[int, tuple[float, float]](), self.devices.kinds
        # by kind, and by since when and kind: the most of what they carry, and of the least that they carried
        most: dict[Hashable, float] = {}
        longest: dict[tuple[float, Hashable], float] = {}
        beyond: list[int] = []
        for edge, amps in now.items():
            was = before.get(edge)
            if was is None:
                was = seconds, amps
            elif amps < was[1]:
                was = was[0], amps
            since_of[edge] = was
            kind, reach_a = kinds[edge]
            if amps > reach_a:
                beyond.append(edge)
            if amps > most.get(kind, -1.0):
                most[kind] = amps
            group = was[0], kind
            if was[1] > longest.get(group, -1.0):
                longest[group] = was[1]
        self._since = since_of
        least = math.inf
        for kind, amps in most.items():
            least = min(least, self._seconds(kind, amps))
        for (since, kind), amps in longest.items():
            least = min(least, self._left(since, kind, amps, seconds))
        if least == math.inf:
            return least, [], tuple(beyond)
        return least, self._opening(now, most, longest, least * (1 + ALIKE), seconds), tuple(beyond)

    def _opening(
        self, now: Mapping[int, float], most: Mapping[Hashable, float],
        longest: Mapping[tuple[float, Hashable], float], limit_s: float, seconds: float,
    ) -> list[int]:  # fmt: skip
        """The devices that open within ``limit_s``, in order of their edges."""
        # of kinds, and of those alike that began together, of which any does: the least current known to be enough,
        # and the largest known not to be
        enough: dict[Hashable, float] = {k: a for k, a in most.items() if self._seconds(k, a) <= limit_s}
        for group, amps in longest.items():
            if self._left(group[0], group[1], amps, seconds) <= limit_s:
                enough[group] = amps
        short: dict[Hashable, float] = dict.fromkeys(enough, -1.0)
        found: list[int] = []
        kinds, since_of = self.devices.kinds, self._since
        for edge, amps in now.items():
            kind, (since, least_a) = kinds[edge][0], since_of[edge]
            if kind in enough:
                if amps < enough[kind] and amps > short[kind]:
                    (enough if self._seconds(kind, amps) <= limit_s else short)[kind] = amps
                if amps >= enough[kind]:
                    found.append(edge)
                    continue
            group = since, kind
            if group in enough:
                if least_a < enough[group] and least_a > short[group]:
                    soon = self._left(since, kind, least_a, seconds) <= limit_s
                    (enough if soon else short)[group] = least_a
                if least_a >= enough[group]:
                    found.append(edge)
        return sorted(found)

    def _left(self, since: float, kind: Hashable, amps: float, seconds: float) -> float:
        return max(since + self._seconds(kind, amps) - seconds, 0.0)

    def _seconds(self, kind: Hashable, amps: float) -> float:
        key = kind, amps
        known = self._known.get(key)
        if known is None:
            known = self._known[key] = self.devices.seconds(kind, amps)
        return known
