"""Whether a fault on a conductor is cleared in time: which devices are on the way, when they open, what it heats.

On each way by which a source feeds a conductor, the devices that stand in series carry the whole fault current, and the
first of them to open ends it.  Over every current from the smallest fault, at the conductor's far end, to the largest,
at its near end, the heat until then must be less than the conductor stands.  As both are straight in logarithms between
the corners of the devices' curves, corners, crossings and ends are all there is to look at.
"""

from __future__ import annotations

import itertools
import math
from collections.abc import Iterable
from dataclasses import dataclass, field, replace
from typing import TYPE_CHECKING

from linter.study.curve import Curve, curve_of, stated_ambient_c
from linter.study.heating import Withstand
from linter.study.letthrough import core_pieces
from linter.study.net import Block, Decomposition, Net

if TYPE_CHECKING:
    from linter.study.clearing import Clearing
    from linter.study.fault import Drive, Faults

# How much more than its share of a bolted fault a device may carry of another one, sources being of different voltage.
SHARE_MARGIN = 1.25
# Beside a corner, so that both ends of a step are looked at.
BESIDE = 1e-9


@dataclass(frozen=True, slots=True)
class Chain:
    """Devices in series between sources and a point: edges, the nearest to the point last.  ``meshed``: on the way
    there are also devices side by side, which share the current.  ``ring``: the first node of the ring it is in."""

    devices: tuple[int, ...] = ()
    meshed: bool = False
    ring: int = -1

    def more(self, edge: int) -> Chain:
        return Chain((*self.devices, edge), self.meshed)


@dataclass(frozen=True, slots=True)
class Moment:
    """At ``amps`` the first device to open, the edge ``by`` (-1: none is on the way), has opened after ``seconds``.
    ``told``: the curve of the nearest device, whose task it is, reaches so far, so that nobody knows better."""

    amps: float
    seconds: float
    by: int
    told: bool


@dataclass(frozen=True, slots=True)
class Heat:
    """The worst moment for a conductor: the heat in A²s until the fault is cleared, and what it stands."""

    moment: Moment
    a2s: float
    withstand: Withstand

    @property
    def share(self) -> float:
        """Of what it stands; above 1 it is harmed."""
        return self.a2s / self.withstand.a2s


@dataclass(frozen=True, slots=True)
class Clears:
    """One way by which a conductor is fed: the range of fault current in A, the devices in series on it, the moment of
    the smallest fault, and the worst heat within the time for which heating is adiabatic."""

    sources: tuple[int, ...]
    chain: tuple[int, ...]
    smallest_a: float
    # all the resistance in the loop of the smallest fault, ohm
    smallest_ohm: float
    largest_a: float
    first: Moment
    # the worst heat as far as the curve of the nearest device reaches, and the worst beyond it, a bound
    heat: Heat | None
    beyond: Heat | None = None
    leans_on: tuple[str, ...] = ()
    unknown: bool = False


@dataclass(slots=True)
class Openings:
    """Which devices stand before what, and how faults are cleared."""

    net: Net
    parts: Decomposition
    faults: Faults
    # by node: the devices on bridges between the core and it
    tree: dict[int, Chain]
    # by source node and what of the core is open, by core node: the devices through which all its current must pass
    core: dict[tuple[int, frozenset[int]], dict[int, Chain]]
    # by core node: the curves of the devices that carry its faults; by two curves: see `slower_within`; by curve and
    # current: see `energy_bound`
    _sharing: dict[int, tuple[Curve, ...]] = field(default_factory=dict)
    slower: dict[tuple[int, int], tuple[tuple[float, float], ...]] = field(default_factory=dict)
    _shared_curves: dict[tuple[int, float], Curve] = field(default_factory=dict)
    bounds: dict[tuple[int, float], float] = field(default_factory=dict)
    # by source, what is open, and core node: the largest current in A of that source alone
    alone_a: dict[tuple[int, frozenset[int], int], float] = field(default_factory=dict)
    # what happens after faults at a node, by node, sources and what is open (kept for `stepwise`)
    courses: dict[tuple[int, tuple[int, ...], frozenset[int]], list[tuple[bool, Clearing, frozenset[int]]]] = field(
        default_factory=dict
    )
    _curves: dict[int, Curve | None] = field(default_factory=dict)
    _same: dict[tuple[object, ...], Curve | None] = field(default_factory=dict)
    # by two curves (which `_same` keeps) and the most that can flow through both, A: where they are not coordinated
    overlaps: dict[tuple[int, int, float], tuple[float, float] | None] = field(default_factory=dict)

    def curve(self, edge: int) -> Curve | None:
        """The band of a device; None where it has no rating."""
        if edge not in self._curves:
            device = self.net.circuit.edges[edge].device
            place = stated_ambient_c(device.place) if device.place is not None else None
            key = (
                device.kind, device.device_class, device.rated_a, device.curve, place, tuple(device.opens),
                tuple(device.lets_through), tuple(device.carries),
            )  # fmt: skip
            if key not in self._same:
                self._same[key] = curve_of(device)
            self._curves[edge] = self._same[key]
        return self._curves[edge]

    def before(self, node: int) -> tuple[int, ...]:
        """The devices, as edges, that stand on every way from every source to a node, the nearest last."""
        chain = self.tree.get(node, Chain()).devices
        point = self.faults.points.get(node)
        if point is None:
            return chain
        common: list[int] | None = None
        for reached in self.core.values():
            found = reached.get(point.core_node)
            if found is not None:
                common = list(found.devices) if common is None else [e for e in common if e in found.devices]
        return (*(common or ()), *chain)

    def sharing(self, core_node: int) -> tuple[Curve, ...]:
        """The curves of the devices of the core that carry current into a fault at one of its nodes, from each source
        alone or from all together, in any state of the switches, each over the whole current; devices alike once."""
        known = self._sharing.get(core_node)
        if known is None:
            from linter.study.clearing import clearing

            def never(edge: int, amps: float) -> float:
                return math.inf

            faults = self.faults
            firm = {s: dict.fromkeys(o for n, o in self.core if n == s) for s, _ in self.core}
            closed = dict.fromkeys(c.intersection(faults.piece_of[core_node].edges) for c in self.net.configurations)
            questions: list[tuple[tuple[int, ...], frozenset[int]]] = [
                ((s,), o) for s, kept in firm.items() for o in kept
            ]
            every = tuple(n for n in faults.piece_of[core_node].nodes if n in faults.pairs)
            questions += [(every, o) for o in {**{o: None for _, o in questions}, **closed}]
            shares: dict[int, float] = {}
            for sources, opened in questions:
                made = clearing(faults, core_node, sources, opened, never)
                for edge, amps in made.steps[0].amps.items() if made.steps else ():
                    if self.net.is_device[edge]:
                        shares[edge] = max(shares.get(edge, 0.0), amps / made.steps[0].fault_a)
            curves: dict[tuple[int, float], Curve] = {}
            for edge, share in shares.items():
                curve = self.curve(edge)
                if curve is not None and share > 0:
                    # rounded up to half a power of two, so that few are different
                    rounded = min(1.0, 2.0 ** (math.ceil(math.log2(share * SHARE_MARGIN) * 2) / 2))
                    curves[id(curve), rounded] = self._scaled(curve, rounded)
            known = self._sharing[core_node] = tuple(curves.values())
        return known

    def _scaled(self, curve: Curve, share: float) -> Curve:
        """The curve of a device that carries a share of a current, over the whole of it."""
        if share >= 1.0:
            return curve
        key = (id(curve), share)
        if key not in self._shared_curves:
            slow = tuple((a / share, s) for a, s in curve.slow)
            energies = tuple((e / share**2, a / share) for e, a in curve.energies)
            self._shared_curves[key] = replace(curve, slow=slow, energies=energies)
        return self._shared_curves[key]

    def moment(self, chain: Iterable[int], amps: float) -> Moment:
        """The first of the devices to have opened at a current that all of them carry."""
        best, told = Moment(amps, math.inf, -1, True), True
        for edge in chain:
            curve = self.curve(edge)
            if curve is None:
                continue
            opening = curve.slowest(amps)
            told = opening.told
            if opening.seconds < best.seconds or best.by < 0:
                best = Moment(amps, opening.seconds, edge, True)
        return best if told else Moment(amps, best.seconds, best.by, False)

    def worst(
        self, chain: tuple[int, ...], least_a: float, greatest_a: float, stands: Withstand
    ) -> tuple[Heat | None, Heat | None]:
        """The worst heat over a range of current, of the moments within the adiabatic time: as far as the curve of the
        nearest device reaches, and beyond.  None where there is none."""
        told: Heat | None = None
        beyond: Heat | None = None
        if not greatest_a > 0:
            return None, None
        least_a = min(least_a, greatest_a)
        for amps in self._corners(chain, least_a, greatest_a, stands.greatest_s):
            moment = self.moment(chain, amps)
            if moment.seconds > stands.greatest_s * (1 + 1e-6):
                continue
            heat = Heat(moment, amps * amps * moment.seconds, stands)
            if moment.told:
                told = worse(told, heat)
            else:
                beyond = worse(beyond, heat)
        return told, beyond

    def _corners(self, chain: tuple[int, ...], least_a: float, greatest_a: float, limit_s: float) -> list[float]:
        """Every current at which the heat can be greatest: ends, corners of curves, crossings of two of them."""
        curves = [c for e in chain if (c := self.curve(e)) is not None]
        inside = {least_a, greatest_a}
        for curve in curves:
            for amps in curve_corners(curve, limit_s):
                for at in (amps * (1 - BESIDE), amps, amps * (1 + BESIDE)):
                    if least_a < at < greatest_a:
                        inside.add(at)
        ordered = sorted(inside)
        if len(curves) < 2:
            return ordered
        for left, right in itertools.pairwise(ordered):
            for at in _crossings(curves, left, right):
                inside.add(at)
        return sorted(inside)


def worse(one: Heat | None, other: Heat | None) -> Heat | None:
    """The greater heat of two, where there are two."""
    if one is None or other is None:
        return other if one is None else one
    return other if other.a2s > one.a2s else one


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


def _crossings(curves: list[Curve], left: float, right: float) -> list[float]:
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


# ---- which devices stand on the way ---------------------------------------------------------------------------------


def openings_of(net: Net, parts: Decomposition, faults: Faults, states: Iterable[frozenset[int]]) -> Openings:
    """Devices in series before every node.  Linear in the trees; in the core one search a source and state.

    ``states``: the edges that are open in each state of the switches in which a fault must be cleared.
    """
    tree: dict[int, Chain] = {}
    nothing = Chain()
    for index, block in enumerate(parts.blocks):
        chain = nothing
        if index:
            bridge = parts.bridge_to[block.entry]
            chain = tree.get(net.other(bridge, block.entry), nothing)
            if net.is_device[bridge]:
                chain = chain.more(bridge)
        # what hangs at a ring's entry lies before the ring, not behind it
        behind = Chain(chain.devices, chain.meshed or any(net.is_device[e] for e in block.edges)) if index else chain
        for node in block.nodes:
            tree[node] = chain if node == block.entry else behind
    core: dict[tuple[int, frozenset[int]], dict[int, Chain]] = {}
    opened = list(dict.fromkeys(states)) or [frozenset[int]()]
    for piece in core_pieces(net, parts.blocks[0]):
        inside = frozenset(piece.edges)
        sources = [n for n in piece.nodes if n in net.limit and net.limit[n] == math.inf]
        for source in sources:
            for state in dict.fromkeys(s & inside for s in opened):
                core[source, state] = chains_from(net, piece, source, state)
    return Openings(net, parts, faults, tree, core)


def chains_from(net: Net, piece: Block, source: int, opened: frozenset[int]) -> dict[int, Chain]:
    """By node of a piece of the core: the devices through which every way from one source leads.

    Two-edge-connected parts by one depth-first search; only bridges carry everything.  One-way elements lead forwards
    only, from where current comes to at all.
    """
    reached = _reached(net, piece, source, opened)
    incident: dict[int, list[int]] = {n: [] for n in piece.nodes}
    for edge in piece.edges:
        one_way = net.circuit.edges[edge].one_way
        leads = net.u[edge] in reached and (net.v[edge] in reached or not one_way)
        if edge not in opened and net.u[edge] != net.v[edge] and leads:
            incident[net.u[edge]].append(edge)
            incident[net.v[edge]].append(edge)
    found, low, parent = {source: 0}, {source: 0}, {source: -1}
    order, clock = [source], 1
    stack = [(source, iter(incident[source]))]
    while stack:
        node, rest = stack[-1]
        for edge in rest:
            if edge == parent[node]:
                continue
            other = net.other(edge, node)
            if other not in found:
                found[other] = low[other] = clock
                clock += 1
                parent[other] = edge
                order.append(other)
                stack.append((other, iter(incident[other])))
                break
            low[node] = min(low[node], found[other])
        else:
            stack.pop()
            if stack:
                above = stack[-1][0]
                low[above] = min(low[above], low[node])
    # each ring by the first of its nodes
    ring = {source: source}
    for node in order[1:]:
        above = net.other(parent[node], node)
        ring[node] = node if low[node] > found[above] else ring[above]
    shared = {ring[net.u[e]] for e in piece.edges if net.is_device[e] and _within(net, ring, e, opened)}
    chains = {source: Chain((), False, source)}
    for node in order[1:]:
        edge = parent[node]
        chain = chains[net.other(edge, node)]
        if ring[node] == node:
            devices = (*chain.devices, edge) if net.is_device[edge] else chain.devices
            chains[node] = Chain(devices, chain.meshed, node)
        else:
            # what hangs at the first node of a ring lies before the ring, not behind it
            chains[node] = Chain(chain.devices, chain.meshed or ring[node] in shared, ring[node])
    return chains


def _reached(net: Net, piece: Block, source: int, opened: frozenset[int]) -> set[int]:
    """The nodes of a piece to which current can come from a source, one-way elements only forwards."""
    inside = set(piece.edges) - opened
    seen, waiting = {source}, [source]
    while waiting:
        at = waiting.pop()
        for edge in net.circuit.nodes[at].edges:
            other = net.other(edge, at)
            if edge in inside and other not in seen and (net.u[edge] == at or not net.circuit.edges[edge].one_way):
                seen.add(other)
                waiting.append(other)
    return seen


def _within(net: Net, ring: dict[int, int], edge: int, opened: frozenset[int]) -> bool:
    """Whether an edge is one of a ring's, and no bridge."""
    here = ring.get(net.u[edge])
    return edge not in opened and here is not None and here == ring.get(net.v[edge])


# ---- conductors ----------------------------------------------------------------------------------------------------


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
    worst = min(drives, key=lambda d: d.amps)
    if tree and not meshed and far >= 0 and _sure(openings, tree[-1], near[0], worst, stands):
        every = tuple(dict.fromkeys(d.drive.sources[0] for d in drives))
        unknown = any(d.drive.unknown for d in drives)
        return [_in_series(openings, every, tree, worst, faults.largest(near[0]).amps, stands, unknown)]
    from linter.study.stepwise import Asked, stepwise

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
                found += stepwise(openings, Asked(edge, ends, (source,), opened, chain[-1:]), stands)
            continue
        most_a = max(alone_largest(openings, source, opened, n) for n in near)
        known = by_way.get((source, chain))
        if known is not None:
            most_a = max(most_a, known[1])
            driven = min(known[0], driven, key=lambda d: d.amps)
        by_way[source, chain] = (driven, most_a)
    for (source, chain), (driven, most_a) in by_way.items():
        found.append(_in_series(openings, (source,), chain, driven, most_a, stands, driven.drive.unknown))
    return found + _together(openings, edge, ends, drives, stands)


def _together(
    openings: Openings, edge: int, ends: tuple[int, int], drives: list[_Driven], stands: Withstand
) -> list[Clears]:
    """All sources together: more current, of which the devices before the branch carry a part only.

    The smallest fault is looked at in the states of the cases, the heat of larger ones with everything closed as well.
    """
    from linter.study.stepwise import Asked, stepwise

    faults, far = openings.faults, openings.parts.leads_to[edge]
    before = openings.tree[ends[0]]
    near = (ends[0],) if far >= 0 else ends
    drive = faults.together.get(faults.points[near[0]].core_node)
    if drive is None or len(drive.sources) < 2 or any(d.drive.unknown for d in drives):
        return []
    found: list[Clears] = []
    cases = dict.fromkeys(d.drive.opened for d in drives)
    inside = frozenset(faults.piece_of[faults.points[near[0]].core_node].edges)
    closed = dict.fromkeys(c & inside for c in openings.net.configurations)
    for opened in (*cases, *(c for c in closed if c not in cases)):
        asked = Asked(edge, ends, drive.sources, opened, before.devices[-1:], opened not in cases)
        found += stepwise(openings, asked, stands)
    return found


def _sure(openings: Openings, device: int, node: int, smallest: _Driven, stands: Withstand) -> bool:
    """Whether the device nearest a conductor, which carries its whole current, decides alone, whatever stands in the
    core: over all its fault currents it has opened before any device of the core that may share them; or it is enough
    even if the current falls, as others open, just so that it opens as late as it may."""
    curve = openings.curve(device)
    if curve is None:
        return False
    largest_a = openings.faults.largest(node).amps
    others = openings.sharing(openings.faults.points[node].core_node)
    if not any(_reaches(openings, curve, other, smallest.amps, largest_a) for other in others):
        return True
    first_s = curve.slowest(smallest.amps).seconds
    if first_s > stands.greatest_s or any(c.slowest(smallest.amps).seconds < first_s for c in others):
        return False
    key = (id(curve), largest_a)
    if key not in openings.bounds:
        openings.bounds[key] = energy_bound(curve, largest_a, stands.greatest_s)
    return openings.bounds[key] <= stands.a2s


def _reaches(openings: Openings, one: Curve, other: Curve, least_a: float, most_a: float) -> bool:
    """Whether ``other`` may open before ``one`` at some current of a range."""
    key = (id(one), id(other))
    if key not in openings.slower:
        openings.slower[key] = slower_within(one, other)
    return any(low < most_a and least_a < high for low, high in openings.slower[key])


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
    crossing = _crossings([one, other], low, high)
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
        made = clearing(faults, point.core_node, (source,), opened, lambda edge, amps: math.inf, largest=True)
        openings.alone_a[key] = made.steps[0].fault_a if made.steps else 0.0
    amps = openings.alone_a[key]
    volts = faults.pairs[source][0].voltage_v
    if amps <= 0 or volts <= 0:
        return faults.largest(node).amps
    # drops before the core node are counted as resistance, which makes it no smaller
    return max(volts - point.drop_v, 0.0) / (volts / amps + point.least_ohm)


@dataclass(frozen=True, slots=True)
class _Driven:
    """A smallest fault at an end of a conductor: A, what drives it, and all resistance in its loop in ohm."""

    amps: float
    drive: Drive
    ohm: float


def _driven(faults: Faults, node: int) -> list[_Driven]:
    point = faults.points[node]
    more = point.greatest_ohm
    alone = faults.alone.get(point.core_node, ())
    return [_Driven(d.current_a(more, point.drop_v), d, d.ohm + more) for d in alone]


def _in_series(
    openings: Openings, sources: tuple[int, ...], chain: tuple[int, ...], smallest: _Driven, largest_a: float,
    stands: Withstand, unknown: bool,
) -> Clears:  # fmt: skip
    """Devices in series carry the whole fault current."""
    least_a, greatest_a = smallest.amps, max(largest_a, smallest.amps)
    heat, beyond = openings.worst(chain, least_a, greatest_a, stands)
    return Clears(
        sources, chain, least_a, smallest.ohm, greatest_a, openings.moment(chain, least_a), heat, beyond,
        smallest.drive.leans_on, unknown,
    )  # fmt: skip


def least_current(openings: Openings, chain: tuple[int, ...], limit_s: float) -> float | None:
    """The least current in A at which the first of these devices has surely opened within ``limit_s``."""
    found: list[float] = []
    for edge in chain:
        curve = openings.curve(edge)
        if curve is None:
            continue
        for amps in sorted(curve_corners(curve, limit_s)):
            if any(curve.slowest(a).seconds <= limit_s * (1 + 1e-6) for a in (amps, amps * (1 + BESIDE))):
                found.append(amps)
                break
    return min(found, default=None)
