"""Whether the device nearest a fault opens before the one above it, over all currents that both may see."""

from __future__ import annotations

import math
from dataclasses import dataclass

from linter.study.corners import BESIDE, energy_corners
from linter.study.curve import Curve
from linter.study.opening import Openings


@dataclass(frozen=True, slots=True)
class Overlap:
    """From ``least_a`` to ``greatest_a`` the device ``upper`` (an edge) may open with ``lower``, or before it."""

    upper: int
    lower: int
    least_a: float
    greatest_a: float


def nearest_above(openings: Openings, edge: int) -> tuple[int, ...]:
    """The devices next above a device, each in some state of the switches on the way from every source that feeds then;
    none where each source comes by a device of its own: then one that opens leaves the others feeding."""
    net, parts = openings.net, openings.parts
    far = parts.leads_to[edge]
    if far < 0:
        return ()
    return openings.above(net.other(edge, far))


def serves_it_alone(openings: Openings, upper: int, lower: int) -> bool:
    """Whether nothing hangs between two devices in series: then it does not matter which of them opens."""
    net, parts = openings.net, openings.parts
    nodes = net.circuit.nodes
    node = net.other(lower, parts.leads_to[lower])
    edge = lower
    while edge != upper:
        if len(nodes[node].edges) != 2 or nodes[node].load is not None or nodes[node].source is not None:
            return False
        first, second = nodes[node].edges
        edge = second if first == edge else first
        node = net.other(edge, node)
    return True


def overlap(openings: Openings, upper: int, lower: int) -> Overlap | None:
    """Where the two are not coordinated: from the least current at which the upper's fast edge lies below the lower's
    slow edge, to the greatest, at most what can flow through both.  None where they are, or where nothing is known.
    Devices alike share one reckoning.
    """
    above, below = openings.curve(upper), openings.curve(lower)
    if above is None or below is None or not below.slow or not above.fast:
        return None
    most_a = min(openings.faults.through(upper).amps, openings.faults.through(lower).amps)
    found = _known_range(openings, above, below, most_a)
    if found is not None and openings.parts.leads_to[upper] < 0:
        # between sources it may carry more the other way than ever to the lower one
        towards_a = _towards(openings, upper, lower)
        if towards_a is not None and towards_a < most_a:
            found = _known_range(openings, above, below, towards_a)
    return Overlap(upper, lower, *found) if found is not None else None


def _known_range(openings: Openings, above: Curve, below: Curve, most_a: float) -> tuple[float, float] | None:
    key = (id(above), id(below), most_a)
    if key not in openings.overlaps:
        openings.overlaps[key] = _range(above, below, most_a)
    return openings.overlaps[key]


def _towards(openings: Openings, upper: int, lower: int) -> float | None:
    """The largest current, A, that a device of the core carries into faults where a device hangs that it stands before,
    in the states of the switches in which it does; None where it cannot be solved."""
    node = openings.net.other(lower, openings.parts.leads_to[lower])
    point = openings.faults.points.get(node)
    if point is None:
        return None
    carried = [amps.get(upper, 0.0) for amps in openings.carried(point.core_node, upper)]
    return max(carried) if carried else None


def _range(above: Curve, below: Curve, most_a: float) -> tuple[float, float] | None:
    """From where to where, A, two curves are not coordinated.

    Both edges are straight in logarithms between their corners, so corners, ends and crossings decide.
    """
    least_a = max(above.rated_a, below.slow[0][0]) * (1 + BESIDE)
    if most_a <= least_a:
        return None
    at = {least_a, most_a}
    corners = [a for a, _ in (*above.fast, *below.slow)]
    corners += energy_corners(below)
    for amps in corners:
        at |= {a for a in (amps * (1 - BESIDE), amps * (1 + BESIDE)) if least_a < a < most_a}
    ordered = sorted(at)
    wrong = [_overlaps(above, below, a) for a in ordered]
    if not any(wrong):
        return None
    first, last = wrong.index(True), len(wrong) - 1 - wrong[::-1].index(True)
    from_a = ordered[first] if first == 0 else _crossing(above, below, ordered[first - 1], ordered[first])
    to_a = ordered[last] if last == len(ordered) - 1 else _crossing(above, below, ordered[last + 1], ordered[last])
    return from_a, to_a


def _overlaps(above: Curve, below: Curve, amps: float) -> bool:
    return below.slowest(amps).seconds >= above.holds(amps) * (1 - 1e-9)


def _crossing(above: Curve, below: Curve, fine: float, wrong: float) -> float:
    """The current between two neighbouring corners at which coordination is lost, by bisection in logarithms."""
    for _ in range(60):
        middle = math.sqrt(fine * wrong)
        if _overlaps(above, below, middle):
            wrong = middle
        else:
            fine = middle
    return wrong
