"""How much more resistance the loop of a fault bears before the verdict on a conductor's guard would turn.

More resistance means less current: the device opens later, and the conductor is heated longer.  What is looked for is
the least current at which the device still opens in time and lets through no more than the conductor stands, and no
larger current does worse.
"""

from __future__ import annotations

import math

from linter.study.clearing import clearing
from linter.study.heating import Withstand
from linter.study.opening import Clears, Openings
from linter.study.study import ConductorStudy, Study
from linter.tables.conductors import fault_opening

# Currents are found to this part of themselves, resistances to this of what the loop has.
NEAR = 1e-6
# No more than this many times the resistance that a loop has is looked for: beyond it a figure says nothing.
GREATEST_SHARE = 1000.0
HALVINGS = 24


def wrong(way: Clears) -> bool:
    """Whether a way is cleared too late or too hot, or nobody says that it is not."""
    hot = any(h is not None and h.share > 1 + 1e-9 for h in (way.heat, way.beyond))
    return hot or way.first.seconds > fault_opening().greatest_s


def bears_ohm(study: Study, made: ConductorStudy) -> float | None:
    """The least over all ways by which a conductor is fed, ohm.  None where no way is judged, a figure is missing, or
    the verdict does not hold as it is."""
    stands, ways = study.stands(made), study.clears(made)
    if stands is None or not ways or any(way.unknown or wrong(way) for way in ways):
        return None
    openings = study.openings()
    found = []
    for way in ways:
        if way.followed is None:
            found.append(_in_series(openings, way, stands))
        elif way.first.seconds > 0:
            found.append(_followed(openings, way, made.edge.index, stands))
    return min(found, default=None)


def least_a(openings: Openings, chain: tuple[int, ...], from_a: float, stands: Withstand) -> float:
    """The least current in A, not above ``from_a``, down to which devices in series that carry all of it open in time
    and spare the conductor."""
    limit_s = min(fault_opening().greatest_s, stands.greatest_s)

    def holds(amps: float) -> bool:
        seconds = openings.moment(chain, amps).seconds
        return seconds <= limit_s * (1 + 1e-6) and amps * amps * seconds <= stands.a2s * (1 + 1e-9)

    good = from_a
    for amps in reversed(openings.corners(chain, from_a / GREATEST_SHARE, from_a, limit_s)):
        if holds(amps):
            good = amps
            continue
        # between two corners the heat rises or falls throughout, so it passes the limit once
        bad = amps
        while good - bad > NEAR * good:
            between = math.sqrt(good * bad)
            good, bad = (between, bad) if holds(between) else (good, between)
        return good
    return good


def _in_series(openings: Openings, way: Clears, stands: Withstand) -> float:
    needed_a = least_a(openings, way.chain, way.smallest_a, stands)
    return way.smallest_ohm * (way.smallest_a / needed_a - 1.0)


def _followed(openings: Openings, way: Clears, edge: int, stands: Withstand) -> float:
    """Where devices share the current, or sources come together: the fault is followed behind more and more."""
    assert way.followed is not None
    ends, opened = way.followed
    limit_s = min(fault_opening().greatest_s, stands.greatest_s)

    def slowest(device: int, amps: float) -> float:
        curve = openings.curve(device)
        return math.inf if curve is None else curve.slowest(amps).seconds

    def holds(more_ohm: float) -> bool:
        for node in dict.fromkeys(ends):
            made = clearing(openings.faults, node, way.sources, opened, slowest, more_ohm=more_ohm)
            if made.unknown or made.seconds > limit_s * (1 + 1e-6):
                return False
            along = sum(s.amps.get(edge, s.fault_a) ** 2 * s.seconds for s in made.steps)
            if along > stands.a2s * (1 + 1e-9):
                return False
        return True

    good, bad = 0.0, max(way.smallest_ohm, 1e-4) / 16
    while holds(bad):
        good, bad = bad, 2 * bad
        if bad > GREATEST_SHARE * way.smallest_ohm:
            return good
    for _ in range(HALVINGS):
        between = (good + bad) / 2
        good, bad = (between, bad) if holds(between) else (good, between)
    return good
