"""When a protective device opens: the band of its time-current curve, at its rating and in its surroundings.

A band has two edges.  By the slow one the device must have opened; before the fast one it does not.  Between the points
that a standard or a maker gives, both edges are straight in logarithms of time and current.

A maker's own points take the place of the class's gates altogether.  Where neither says anything, nothing is promised:
the slow edge is infinite, the fast edge nil.
"""

from __future__ import annotations

import itertools
import math
from bisect import bisect_right
from dataclasses import dataclass

from linter.model.elements import Device, Place
from linter.tables.cite import Cite
from linter.tables.devices import DeviceClass, classes

# Where a maker's rerating names no temperature at which the device carries its full rating, this one is taken: the
# lower it is, the less the device is taken to carry in between.
FULL_RATING_C = 20.0
# Of a device that names no class nothing is known.
UNNAMED = Cite("no class is named", "common practice")
MAKER = Cite("the maker's points", "read", "as the part sheet gives them")

# The last point of a curve is reached, its maker states it; and by so much rounding may put a current beyond it.
REACHED = 1e-10

Points = tuple[tuple[float, float], ...]


@dataclass(frozen=True, slots=True)
class Opening:
    """A time in s at one current.  ``told``: the curve's own points reach so far, or the rating, which it carries for
    ever; otherwise it is drawn out from the last of them, or nothing is known and the time is infinite."""

    seconds: float
    told: bool


@dataclass(frozen=True, slots=True)
class Curve:
    """A device's band.  Points are (current in A, time in s), currents rising, times not; steps have two points."""

    rated_a: float
    slow: Points
    fast: Points
    cite: Cite
    # what it lets through at most while it clears more than the last point's current: (A²s, up to which prospective
    # current in A), by rising current
    energies: Points = ()
    # a fuse
    melts: bool = False

    @property
    def operating_a(self) -> float:
        """The conventional operating current, A: from here on it is promised to open at last; infinite: never."""
        return self.slow[0][0] if self.slow else math.inf

    @property
    def told_to_a(self) -> float:
        """The largest current, A, for which the slow edge is told."""
        return self.slow[-1][0] if self.slow else 0.0

    @property
    def reach_a(self) -> float:
        """The largest current, A, of which `slowest` is told."""
        if not self.slow:
            return self.rated_a
        return max(self.slow[-1][0], *(to_a for _, to_a in self.energies), 0.0)

    @property
    def told_at_most_a(self) -> float:
        """The largest current, A, for which `slowest` says that it is told."""
        return self.reach_a * (1 + REACHED) if self.slow else self.rated_a

    def slowest(self, amps: float) -> Opening:
        """The time by which it has opened at ``amps``.

        Below the first point it need never open.  Beyond the last it opens in that point's time, or sooner where the
        energy that it lets through says so.
        """
        if not self.slow or amps < self.slow[0][0] * (1 - 1e-9):
            # with points, it is told that it need not open; without any, only that it carries its rating
            return Opening(math.inf, bool(self.slow) or amps <= self.rated_a)
        if amps <= self.slow[-1][0] * (1 + REACHED):
            return Opening(_on(self.slow, amps), True)
        seconds, told = self.slow[-1][1], False
        for a2s, to_a in self.energies:
            # beyond its reach the time that it gives there still is a bound: none is longer at a larger current
            seconds = min(seconds, a2s / min(amps, to_a) ** 2)
            told = told or amps <= to_a * (1 + REACHED)
        return Opening(seconds, told)

    def fastest(self, amps: float) -> float:
        """The time in s before which it does not open at ``amps``: infinite up to its rating, nil where nothing is
        promised."""
        if amps <= self.rated_a * (1 + 1e-9):
            return math.inf
        if not self.fast or amps > self.fast[-1][0] * (1 + 1e-9):
            return 0.0
        return self.fast[0][1] if amps <= self.fast[0][0] else _on(self.fast, amps)

    def holds(self, amps: float) -> float:
        """As `fastest`, for comparing devices in series: an element that melts, and has no time to cool, takes the same
        I²t at every larger current, so a fuse's fast edge goes on so beyond its last point (common practice)."""
        if self.melts and self.fast and amps > self.fast[-1][0] * (1 + 1e-9):
            last_a, last_s = self.fast[-1]
            return last_s * (last_a / amps) ** 2
        return self.fastest(amps)


def _on(points: Points, amps: float) -> float:
    """The time at a current between the first and the last point, straight in logarithms.  On a step: its lower end."""
    at = max(bisect_right(points, (amps, math.inf)), 1)
    (left_a, left_s), (right_a, right_s) = points[at - 1], points[min(at, len(points) - 1)]
    if left_s == right_s or amps <= left_a or right_a <= left_a:
        return left_s
    if right_s <= 0.0 or left_s <= 0.0:
        return right_s
    share = math.log(amps / left_a) / math.log(right_a / left_a)
    return math.exp(math.log(left_s) + share * math.log(right_s / left_s))


# What an engine space counts as whose temperature nobody states.
ENGINE_SPACE_C = 50.0


def stated_ambient_c(place: Place) -> float | None:
    """The surroundings in a place, °C; of an engine space without a figure the usual one; else None."""
    if place.ambient_c is not None:
        return place.ambient_c
    return ENGINE_SPACE_C if place.engine_space else None


def share_at(device: Device, ambient_c: float) -> float:
    """The share of its rating that a device carries in surroundings of ``ambient_c``, as its maker says; 1 where he
    says nothing.  Straight between his figures, and drawn on beyond the outermost two."""
    points = sorted(device.carries)
    if not points:
        return 1.0
    if all(share < 1.0 for _, share in points) and points[0][0] > FULL_RATING_C:
        points.insert(0, (FULL_RATING_C, 1.0))
    if len(points) == 1:
        return points[0][1]
    for (cold_c, cold), (hot_c, hot) in itertools.pairwise(points):
        if ambient_c <= hot_c or (hot_c, hot) == points[-1]:
            if ambient_c < points[0][0]:
                return points[0][1]
            return max(cold + (hot - cold) * (ambient_c - cold_c) / (hot_c - cold_c), 0.0) if hot_c > cold_c else hot
    return points[-1][1]


def shares(device: Device, ambient_c: float | None = None) -> tuple[float, float]:
    """(least, greatest) share of its rating that a device may carry over the year: the least in the heat of its place,
    the greatest in the cold, of which no more is known than the sheet's coldest figure; never less than 1."""
    if ambient_c is None and device.place is not None:
        ambient_c = stated_ambient_c(device.place)
    hot = 1.0 if ambient_c is None else min(share_at(device, ambient_c), 1.0)
    return hot, max(1.0, *(share for _, share in device.carries), 1.0)


def curve_of(device: Device, ambient_c: float | None = None) -> Curve | None:
    """A device's band in A and s, in surroundings of ``ambient_c`` (None: its place's); None without a rating."""
    if device.rated_a is None:
        return None
    hot, cold = shares(device, ambient_c)
    slow_a, fast_a = device.rated_a * cold, device.rated_a * hot
    if device.opens:
        points = sorted(device.opens)
        slow = _falling_slow([(m, greatest) for m, _, greatest in points])
        fast = _falling([(m, least) for m, least, _ in points])
        cite = MAKER
    else:
        known = classes().get(device.device_class)
        slow, fast = ((), ()) if known is None else _class_band(known, device)
        cite = known.cite if known is not None else UNNAMED
        if known is not None and slow:
            gates = known.gates_for(device.rated_a)
            cite = gates[-1].cite if gates else known.cite
    # without a current it holds up to what the device breaks, beyond which breaking capacity is what is wrong
    energies = sorted(
        ((a2s, math.inf if to_a is None else to_a) for a2s, to_a in device.lets_through if a2s > 0),
        key=lambda pair: pair[1],
    )
    return Curve(
        fast_a,
        tuple((m * slow_a, s) for m, s in slow),
        tuple((m * fast_a, s) for m, s in fast),
        cite,
        tuple(energies),
        device.kind == "fuse",
    )


def _falling_slow(points: list[tuple[float, float]]) -> Points:
    """The slow edge: a time at a larger current is never longer, so what a sheet says of the larger holds for the
    smaller at least."""
    made: list[tuple[float, float]] = []
    for multiple, seconds in reversed(points):
        made.append((multiple, max(seconds, made[-1][1]) if made else seconds))
    return tuple(reversed(made))


def _falling(points: list[tuple[float, float]]) -> Points:
    """The fast edge: what a sheet says of a smaller current is no less than what it says of a larger; the least is
    taken."""
    made: list[tuple[float, float]] = []
    for multiple, seconds in points:
        made.append((multiple, min(seconds, made[-1][1]) if made else seconds))
    return tuple(made)


def _class_band(known: DeviceClass, device: Device) -> tuple[Points, Points]:
    """Both edges by the gates of a class, as multiples of the rating."""
    assert device.rated_a is not None
    gates = known.gates_for(device.rated_a)
    slow = _falling_slow([(g.multiple, g.greatest_s) for g in gates if g.greatest_s is not None])
    fast = _falling([(g.multiple, g.least_s) for g in gates if g.least_s is not None])
    trip = known.trip(device.curve, "dc") if device.curve else None
    if trip is not None and slow:
        # A bimetal needs no more I²t for a larger current, so up to the magnet's reach that of the last gate holds.
        multiple, seconds = slow[-1]
        reach = trip.greatest_multiple
        if reach > multiple:
            slow = (*slow, (reach, seconds * (multiple / reach) ** 2), (reach, trip.boundary_s))
        if fast and trip.least_multiple > fast[-1][0] and fast[-1][1] > trip.boundary_s:
            fast = (*fast, (fast[-1][0], trip.boundary_s), (trip.least_multiple, trip.boundary_s))
    return slow, fast
