"""How a fault on a conductor is cleared, by each way it is fed: by devices in series where that decides, else followed
step by step (`stepwise`)."""

from __future__ import annotations

import math
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

from linter.study.chain import Chain
from linter.study.corners import energy_bound
from linter.study.heating import Withstand
from linter.study.opening import Clears, Moment, Openings
from linter.study.stepwise import Asked, stepwise

if TYPE_CHECKING:
    from linter.study.prospective import Drive, Faults


def clears(openings: Openings, edge: int, stands: Withstand) -> list[Clears]:
    """How a fault on a conductor is cleared, by each way it is fed; empty where only sources feed it that limit
    themselves."""
    net, parts, faults = openings.net, openings.parts, openings.faults
    far = parts.leads_to[edge]
    ends = (net.other(edge, far), far) if far >= 0 else (net.u[edge], net.v[edge])
    if ends[0] not in faults.points or ends[1] not in faults.points:
        return []
    before = openings.tree[ends[0]]
    tree = before.devices
    # in a ring a conductor carries a part, from both sides
    meshed = before.meshed or (far < 0 and bool(tree or openings.tree[ends[1]].meshed))
    near = (ends[0],) if far >= 0 else ends
    drives = [found for n in ((far,) if far >= 0 else ends) for found in _driven(faults, n)]
    if not drives:
        return []
    # what is not known of one source says nothing against what the others do by themselves
    blind = list(dict.fromkeys(d.drive.sources for d in drives if d.unknown))
    drives = [d for d in drives if not d.unknown]
    unknown = [_unknown(sources) for sources in blind]
    if not drives:
        return unknown
    worst = min(drives, key=lambda d: d.amps)
    least_a = openings.beyond().least_a((far,) if far >= 0 else ends, far)
    if tree and not meshed and far >= 0:
        largest_a = heating_largest(openings, near[0])
        if _sure(openings, tree[-1], near[0], (min(worst.amps, least_a), largest_a), stands):
            every = tuple(dict.fromkeys(d.drive.sources[0] for d in drives))
            alone = _in_series(openings, every, tree, worst, (least_a, largest_a), stands)
            if not _surely_wrong(alone, stands):
                return [alone, *unknown]
    found: list[Clears] = []
    by_way: dict[tuple[int, tuple[int, ...]], tuple[_Driven, float]] = {}
    asked: set[tuple[int, frozenset[int]]] = set()
    for driven in drives:
        source, opened = driven.drive.sources[0], driven.drive.opened
        core = _before_both(openings, (source, opened), ends)
        chain = (*core.devices, *tree)
        if not chain or core.meshed or meshed:
            if (source, opened) not in asked:
                asked.add((source, opened))
                found += stepwise(openings, Asked(edge, ends, (source,), opened), stands)
            continue
        most_a = max(alone_largest(openings, source, opened, n) for n in near)
        known = by_way.get((source, chain))
        if known is not None:
            most_a = max(most_a, known[1])
            driven = min(known[0], driven, key=lambda d: d.amps)
        by_way[source, chain] = (driven, most_a)
    for (source, chain), (driven, most_a) in by_way.items():
        least_a = openings.beyond().least_a((far,) if far >= 0 else ends, far, (source,))
        found.append(_in_series(openings, (source,), chain, driven, (least_a, most_a), stands))
    return found + _together(openings, edge, ends, drives, stands) + unknown


def _unknown(sources: tuple[int, ...]) -> Clears:
    """A way of which a figure is missing, and without it no current can be told."""
    return Clears(sources, (), 0.0, math.inf, 0.0, Moment(0.0, math.inf, -1), None, unknown=True)


def _together(
    openings: Openings, edge: int, ends: tuple[int, int], drives: list[_Driven], stands: Withstand
) -> list[Clears]:
    """All sources together, and those of higher voltage without those of lower, whose devices then carry nothing: more
    current, of which the devices before the branch carry a part only.

    The smallest fault is looked at in the states of the cases, the heat of larger ones with everything closed as well.
    """
    faults, far = openings.faults, openings.parts.leads_to[edge]
    near = (ends[0],) if far >= 0 else ends
    core_node = faults.points[near[0]].core_node
    drive = faults.together.get(core_node)
    if drive is None:
        return []
    every = faults.told.get(core_node, ()) if drive.unknown else (drive, *faults.higher.get(core_node, ()))
    groups = [d.sources for d in every if len(d.sources) > 1]
    found: list[Clears] = []
    cases = dict.fromkeys(d.drive.opened for d in drives)
    # a source by itself may drive as much in a position that lets another one join in: there is no drive for that state
    firm = {s for sources in groups for s in sources}
    stated = {o for s, o in openings.core if s in firm}
    inside = frozenset(faults.piece_of[core_node].edges)
    closed = dict.fromkeys(c & inside for c in openings.net.configurations)
    known: dict[tuple[object, ...], list[Clears]] = {}
    for sources in dict.fromkeys(groups):
        for opened in (*cases, *(c for c in closed if c not in cases)):
            asked = Asked(edge, ends, sources, opened, opened not in cases and opened not in stated)
            # what differs only where no current flows is the same course of events
            same = (sources, asked.heat_only, openings.around(ends, opened))
            if same not in known:
                known[same] = stepwise(openings, asked, stands)
            found += [replace(way, followed=(ends, opened)) for way in known[same]]
    return found


def _sure(openings: Openings, device: int, node: int, between: tuple[float, float], stands: Withstand) -> bool:
    """Whether the device nearest a conductor, which carries its whole current, decides alone, whatever stands in the
    core: over all its fault currents, A, it has opened before any device of the core that may share them; or it is
    enough even if the current falls, as others open, just so that it opens as late as it may."""
    curve = openings.curve(device)
    if curve is None:
        return False
    least_a, largest_a = between
    core_node = openings.faults.points[node].core_node
    if not openings.core_may_precede(core_node, curve, least_a, largest_a):
        return True
    if any(core_node in reached and reached[core_node].meshed for reached in openings.core.values()):
        # of devices side by side one may open and leave a current smaller than of any fault, at which this never opens
        return False
    first_s = curve.slowest(least_a).seconds
    if first_s > stands.greatest_s or any(c.slowest(least_a).seconds < first_s for c in openings.sharing(core_node)):
        return False
    key = (id(curve), largest_a)
    if key not in openings.bounds:
        openings.bounds[key] = energy_bound(curve, largest_a, stands.greatest_s)
    return openings.bounds[key] <= stands.a2s


def _surely_wrong(way: Clears, stands: Withstand) -> bool:
    """Whether this is too late or too hot by curves that tell it: then it matters what is told of all the others."""
    late = way.first.told and way.first.seconds > stands.greatest_s
    return late or (way.heat is not None and way.heat.share > 1)


def _before_both(openings: Openings, way: tuple[int, frozenset[int]], ends: tuple[int, int]) -> Chain:
    """The devices of the core before both ends of a conductor: its own device may be its neighbour on either side.
    Meshed too where both ends are in one ring of conductors, of which it then carries a part."""
    reached = openings.core.get(way, {})
    points = openings.faults.points
    chains = [reached[p] for n in ends if (p := points[n].core_node) in reached]
    if not chains:
        return Chain()
    common = tuple(e for e in chains[0].devices if all(e in c.devices for c in chains))
    inside = len(chains) == 2 and points[ends[0]].core_node != points[ends[1]].core_node
    beside = inside and chains[0].ring == chains[1].ring
    return Chain(common, beside or any(c.meshed for c in chains))


def alone_largest(openings: Openings, source: int, opened: frozenset[int], node: int) -> float:
    """The largest fault current at a node from one source alone, A."""
    from linter.study.clearing import clearing

    faults = openings.faults
    point = faults.points[node]
    key = (source, opened, point.core_node)
    if key not in openings.alone_a:
        made = clearing(faults, point.core_node, (source,), opened, None, largest=True)
        openings.alone_a[key] = made.steps[0].fault_a if made.steps else 0.0
    amps = openings.alone_a[key]
    volts = faults.pairs[source][0].voltage_v
    if faults.pairs[source][0].unknown:
        # how much more than in the smallest case nobody knows
        return 0.0
    if amps <= 0 or volts <= 0:
        return faults.largest(node).amps
    # drops before the core node are counted as resistance, which makes it no smaller
    return max(volts - point.drop_v, 0.0) / (volts / amps + point.least_ohm)


def heating_largest(openings: Openings, node: int) -> float:
    """The largest fault current that can last at a node, A: of positions that exclude each other one is closed at a
    time.  (A device may have to break more, while a selector passes from one to the next.)"""
    from linter.study.clearing import clearing

    faults = openings.faults
    largest_a = faults.largest_told(node).amps
    point = faults.points[node]
    drive = next(iter(faults.told.get(point.core_node, ())), faults.together.get(point.core_node))
    inside = frozenset(faults.piece_of[point.core_node].edges)
    positions = dict.fromkeys(c & inside for c in openings.net.configurations)
    if drive is None or len(positions) < 2:
        return largest_a
    key = (-1, frozenset[int](), point.core_node)
    if key not in openings.alone_a:
        courses = [clearing(faults, point.core_node, drive.sources, opened, None, largest=True) for opened in positions]
        openings.alone_a[key] = max((c.steps[0].fault_a for c in courses if c.steps), default=0.0)
    amps = openings.alone_a[key]
    volts = max(drive.volts, *(faults.pairs[s][0].voltage_v for s in drive.sources))
    return min(largest_a, volts / (volts / amps + point.least_ohm)) if amps > 0 and volts > 0 else largest_a


@dataclass(frozen=True, slots=True)
class _Driven:
    """A smallest fault at an end of a conductor: A, what drives it, and all resistance in its loop in ohm.
    ``unknown``: a figure is missing of its source, or of a conductor that it cannot get round."""

    amps: float
    drive: Drive
    ohm: float
    unknown: bool


def _driven(faults: Faults, node: int) -> list[_Driven]:
    point = faults.points[node]
    more = point.greatest_ohm
    alone = faults.alone.get(point.core_node, ())
    return [_Driven(d.current_a(more, point.drop_v), d, d.ohm + more, d.unknown or more == math.inf) for d in alone]


def _in_series(
    openings: Openings, sources: tuple[int, ...], chain: tuple[int, ...], smallest: _Driven,
    between: tuple[float, float], stands: Withstand,
) -> Clears:  # fmt: skip
    """Devices in series carry the whole fault current; ``between``: the smallest that goes on to points behind, and the
    largest."""
    least_a, greatest_a = smallest.amps, max(between[1], smallest.amps)
    heat, beyond = openings.worst(chain, min(least_a, between[0] or least_a), greatest_a, stands)
    return Clears(
        sources, chain, least_a, smallest.ohm, greatest_a, openings.moment(chain, least_a), heat, beyond,
        smallest.drive.leans_on,
    )  # fmt: skip
