"""Which devices stand before what, and when the first of them opens.

On each way by which a source feeds a conductor, the devices that stand in series carry the whole fault current, and the
first of them to open ends it.  Over every current from the smallest fault, at the conductor's far end, to the largest,
at its near end, the heat until then must be less than the conductor stands.
"""

from __future__ import annotations

import itertools
import math
from bisect import bisect_left, bisect_right
from collections.abc import Iterable
from dataclasses import dataclass, field, replace
from typing import TYPE_CHECKING

from linter.study.beyond import Beyond, beyond_of
from linter.study.chain import Chain, between_sources, chains_from
from linter.study.corners import BESIDE, crossings, curve_corners, slower_within
from linter.study.course import ByCurve
from linter.study.curve import Curve, Opening, curve_of, stated_ambient_c
from linter.study.heating import Withstand
from linter.study.letthrough import core_pieces
from linter.study.net import Decomposition, Net

if TYPE_CHECKING:
    from linter.study.prospective import Faults
    from linter.study.stepwise import Courses

# How much more than its share of a bolted fault a device may carry of another one, sources being of different voltage.
SHARE_MARGIN = 1.25
Ranges = tuple[tuple[float, float], ...]


@dataclass(frozen=True, slots=True)
class Moment:
    """At ``amps`` the first device to open, the edge ``by`` (-1: none is on the way), has opened after ``seconds``.

    ``untold``: the devices that carry the current and whose curve does not reach so far, or that have none: each may
    open sooner, so the time is a bound.
    """

    amps: float
    seconds: float
    by: int
    untold: tuple[int, ...] = ()

    @property
    def told(self) -> bool:
        """Whether nobody can know better: it takes so long whatever the figures are that nobody gave."""
        return not self.untold


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
    # the worst heat as far as the curves of all devices reach, and the worst beyond, a bound
    heat: Heat | None
    beyond: Heat | None = None
    leans_on: tuple[str, ...] = ()
    unknown: bool = False
    # where devices share the current or sources come together: (nodes of the ends, what is open), as it was followed
    followed: tuple[tuple[int, ...], frozenset[int]] | None = None


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
    # by core node and what is open: the current of each edge into a fault there; None where it was not to be solved
    _carried: dict[tuple[int, frozenset[int]], dict[int, float] | None] = field(default_factory=dict)
    slower: dict[tuple[int, int], Ranges] = field(default_factory=dict)
    # by curve: its corners, and what it does there
    _bends: dict[int, tuple[list[float], list[tuple[float, Opening]]]] = field(default_factory=dict)
    # by core node, or by devices in series, and by the curve of the device nearest: see `core_may_precede` and
    # `_before_last`
    _core_before: dict[tuple[int, int], Ranges] = field(default_factory=dict)
    _chain_before: dict[tuple[tuple[int, ...], int], tuple[Ranges, float]] = field(default_factory=dict)
    _shared_curves: dict[tuple[int, float], Curve] = field(default_factory=dict)
    bounds: dict[tuple[int, float], float] = field(default_factory=dict)
    # by source, what is open, and core node: the largest current in A of that source alone
    alone_a: dict[tuple[int, frozenset[int], int], float] = field(default_factory=dict)
    # what happens after faults at a node, by node, sources and what is open (kept for `stepwise`)
    courses: dict[tuple[int, tuple[int, ...], frozenset[int]], Courses] = field(default_factory=dict)
    _curves: dict[int, Curve | None] = field(default_factory=dict)
    _same: dict[tuple[object, ...], Curve | None] = field(default_factory=dict)
    # by two curves (which `_same` keeps) and the most that can flow through both, A: where they are not coordinated
    overlaps: dict[tuple[int, int, float], tuple[float, float] | None] = field(default_factory=dict)
    # by node of the core and what is open: see `around`
    _around: dict[tuple[int, frozenset[int]], frozenset[int]] = field(default_factory=dict)
    _devices: ByCurve | None = None
    _beyond: Beyond | None = None

    def beyond(self) -> Beyond:
        """How small faults are that conductors carry to points behind them."""
        if self._beyond is None:
            self._beyond = beyond_of(self.net, self.parts, self.faults)
        return self._beyond

    def devices(self) -> ByCurve:
        """When devices open by their curves."""
        if self._devices is None:
            self._devices = ByCurve(self.curve)
        return self._devices

    def again(self, faults: Faults) -> Openings:
        """The same devices with other fault currents: all that is known of them by themselves is shared."""
        return replace(
            self, faults=faults, _sharing={}, _core_before={}, _carried={}, alone_a={}, courses={}, _beyond=None
        )  # fmt: skip

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

    def around(self, nodes: Iterable[int], opened: frozenset[int]) -> tuple[frozenset[int], ...]:
        """By the points of the core from which the current of some nodes comes: all edges of the core that can lie
        between it and a source while some are open.  What leads to no source carries nothing."""
        found = []
        for core_node in dict.fromkeys(self.faults.points[n].core_node for n in nodes):
            key = core_node, opened
            if key not in self._around:
                edges = set(self.faults.piece_of[core_node].edges) - opened
                self._around[key] = between_sources(self.net, core_node, edges, self.faults.pairs)
            found.append(self._around[key])
        return tuple(found)

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

    def above(self, node: int) -> tuple[int, ...]:
        """The devices nearest to a node that stand, in some state of the switches, on every way from every source."""
        tree = self.tree.get(node, Chain()).devices
        point = self.faults.points.get(node)
        if tree or point is None:
            return tree[-1:]
        by_state: dict[frozenset[int], list[tuple[int, ...]]] = {}
        for (_, opened), reached in self.core.items():
            if point.core_node in reached:
                by_state.setdefault(opened, []).append(reached[point.core_node].devices)
        found = []
        for chains in by_state.values():
            common = [e for e in chains[0] if all(e in c for c in chains)]
            found += common[-1:]
        return tuple(dict.fromkeys(found))

    def carried(self, core_node: int, device: int) -> list[dict[int, float]]:
        """By edge, what flows in A into a fault at a node of the core from all sources together at most, in each state
        of the switches in which a device stands on every way from every source; empty where one cannot be solved."""
        from linter.study.clearing import clearing

        faults, found = self.faults, list[dict[int, float]]()
        every = faults.known_sources(core_node)
        by_state: dict[frozenset[int], list[bool]] = {}
        for (_, opened), reached in self.core.items():
            if core_node in reached:
                by_state.setdefault(opened, []).append(device in reached[core_node].devices)
        for opened, stands in by_state.items():
            key = core_node, opened
            if not all(stands):
                continue
            if key not in self._carried:
                made = clearing(faults, core_node, every, opened, None, largest=True)
                self._carried[key] = made.steps[0].amps if made.steps else None
            amps = self._carried[key]
            if amps is None:
                return []
            found.append(amps)
        return found

    def sharing(self, core_node: int) -> tuple[Curve, ...]:
        """The curves of the devices of the core that carry current into a fault at one of its nodes, from each source
        alone or from all together, in any state of the switches, each over the whole current; devices alike once."""
        known = self._sharing.get(core_node)
        if known is None:
            from linter.study.clearing import clearing

            faults = self.faults
            firm = {s: dict.fromkeys(o for n, o in self.core if n == s) for s, _ in self.core}
            closed = dict.fromkeys(c.intersection(faults.piece_of[core_node].edges) for c in self.net.configurations)
            questions: list[tuple[tuple[int, ...], frozenset[int]]] = [
                ((s,), o) for s, kept in firm.items() for o in kept
            ]
            every = faults.known_sources(core_node)
            questions += [(every, o) for o in {**{o: None for _, o in questions}, **closed}]
            shares: dict[int, float] = {}
            for sources, opened in questions:
                made = clearing(faults, core_node, sources, opened, None)
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
        seconds, by, untold = math.inf, -1, []
        for edge in chain:
            curve = self.curve(edge)
            if curve is None:
                untold.append(edge)
                continue
            opening = curve.slowest(amps)
            if not opening.told:
                untold.append(edge)
            if opening.seconds < seconds or by < 0:
                seconds, by = opening.seconds, edge
        return Moment(amps, seconds, by, tuple(untold))

    def worst(
        self, chain: tuple[int, ...], least_a: float, greatest_a: float, stands: Withstand
    ) -> tuple[Heat | None, Heat | None]:
        """The worst heat over a range of current, of the moments within the adiabatic time: as far as the curves of all
        devices reach, and beyond.  None where there is none."""
        told: Heat | None = None
        beyond: Heat | None = None
        if not greatest_a > 0:
            return None, None
        least_a = min(least_a, greatest_a)
        nearest = self.curve(chain[-1]) if chain else None
        if nearest is not None:
            ranges, reach_a = self._before_last(chain, nearest)
            if not any(low < greatest_a and least_a < high for low, high in ranges):
                return self._by_one(chain, nearest, (least_a, greatest_a, reach_a), stands)
        for amps in self.corners(chain, least_a, greatest_a, stands.greatest_s):
            moment = self.moment(chain, amps)
            if moment.seconds > stands.greatest_s * (1 + 1e-6):
                continue
            heat = Heat(moment, amps * amps * moment.seconds, stands)
            if moment.told:
                told = worse(told, heat)
            else:
                beyond = worse(beyond, heat)
        return told, beyond

    def _slower(self, other: Curve, one: Curve) -> Ranges:
        """The ranges of current in A within which a device of the one curve may have opened before that of ``one``."""
        key = (id(one), id(other))
        if key not in self.slower:
            self.slower[key] = slower_within(one, other)
        return self.slower[key]

    def core_may_precede(self, core_node: int, one: Curve, least_a: float, most_a: float) -> bool:
        """Whether at some current of a range one of the devices of the core that carry faults at one of its nodes may
        have opened before a device of curve ``one``."""
        key = core_node, id(one)
        ranges = self._core_before.get(key)
        if ranges is None:
            found = dict.fromkeys(r for other in self.sharing(core_node) for r in self._slower(other, one))
            ranges = self._core_before[key] = tuple(found)
        return any(low < most_a and least_a < high for low, high in ranges)

    def _before_last(self, chain: tuple[int, ...], last: Curve) -> tuple[Ranges, float]:
        """Of devices in series: where one of them may have opened before the last, A; and how far the curves of all but
        the last reach, A."""
        key = chain[:-1], id(last)
        known = self._chain_before.get(key)
        if known is None:
            curves = [self.curve(e) for e in key[0]]
            ranges = dict.fromkeys(r for c in curves if c is not None for r in self._slower(c, last))
            reach_a = min((c.reach_a if c is not None else 0.0 for c in curves), default=math.inf)
            known = self._chain_before[key] = tuple(ranges), reach_a
        return known

    def _by_one(
        self, chain: tuple[int, ...], curve: Curve, between: tuple[float, float, float], stands: Withstand
    ) -> tuple[Heat | None, Heat | None]:
        """As `worst`, where the last of the devices opens first whatever the current: between the least and the
        greatest in A, and as far as the curves of the others reach.  Its corners are kept: thousands are alike."""
        least_a, greatest_a, reach_a = between
        limit_s = stands.greatest_s * (1 + 1e-6)
        corners = self._bends.get(id(curve))
        if corners is None:
            at = sorted({a * (1 + s) for a in curve_corners(curve, stands.greatest_s) for s in (-BESIDE, 0.0, BESIDE)})
            corners = self._bends[id(curve)] = at, [(a, curve.slowest(a)) for a in at]
        told: tuple[float, float, float] | None = None
        beyond: tuple[float, float, float] | None = None
        ends = [(a, curve.slowest(a)) for a in dict.fromkeys(between) if least_a <= a <= greatest_a]
        inside = corners[1][bisect_right(corners[0], least_a) : bisect_left(corners[0], greatest_a)]
        for amps, opening in (*ends, *inside):
            if opening.seconds <= limit_s:
                found = (amps * amps * opening.seconds, amps, opening.seconds)
                if opening.told and amps <= reach_a:
                    told = found if told is None or found > told else told
                else:
                    beyond = found if beyond is None or found > beyond else beyond
        return (
            Heat(Moment(told[1], told[2], chain[-1]), told[0], stands) if told else None,
            Heat(self.moment(chain, beyond[1]), beyond[0], stands) if beyond else None,
        )

    def corners(self, chain: tuple[int, ...], least_a: float, greatest_a: float, limit_s: float) -> list[float]:
        """Every current at which the heat can be greatest: ends, corners of curves, crossings of two of them."""
        curves = [c for e in chain if (c := self.curve(e)) is not None]
        inside = {least_a, greatest_a}
        for curve in curves:
            for amps in (*curve_corners(curve, limit_s), curve.reach_a):
                for at in (amps * (1 - BESIDE), amps, amps * (1 + BESIDE)):
                    if least_a < at < greatest_a:
                        inside.add(at)
        ordered = sorted(inside)
        if len(curves) < 2:
            return ordered
        for left, right in itertools.pairwise(ordered):
            for at in crossings(curves, left, right):
                inside.add(at)
        return sorted(inside)


def worse(one: Heat | None, other: Heat | None) -> Heat | None:
    """The greater heat of two, where there are two."""
    if one is None or other is None:
        return other if one is None else one
    return other if other.a2s > one.a2s else one


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
