"""What a time-current plot of some devices shows: their bands, the devices above and below, what they guard, and the
currents that matter.  Data only; nothing here knows of paper.
"""

from __future__ import annotations

import math
from collections import defaultdict
from collections.abc import Iterable
from dataclasses import dataclass
from enum import Enum

from linter.model.circuit import Edge, Node
from linter.model.elements import Conductor, Device, Load
from linter.study.breaking import BreakingCapacity, breaking_capacity
from linter.study.cases import draws_a
from linter.study.current import LoadCurrent
from linter.study.curve import Curve, curve_of
from linter.study.heating import Withstand, loop_withstand, return_ampacity
from linter.study.prospective import Prospective
from linter.study.study import Study, Verdict
from linter.study.voltage import greatest_voltage
from linter.tables.cite import Cite
from linter.tables.devices import classes

# The time that a plot covers, s.
LEAST_S, GREATEST_S = 1e-3, 1e4
# More neighbours than this hide what they stand beside; beside two devices one each, beside more none.
GREATEST_ABOVE, GREATEST_BELOW = 2, 2
# A plot covers two and a half decades of current at least, and begins at most so far below the smallest rating.
LEAST_SPAN, FARTHEST_BELOW = 10**2.5, 12.0
# What is behind and smaller than a device by this factor never opens in doubt with it, and is not shown.
SMALLER_BY = 12.0


_BY_DISTANCE = (Verdict.WITHIN_DISTANCE, Verdict.TOO_FAR, Verdict.CRANKING)


class Role(Enum):
    NAMED = "named"
    ABOVE = "above"
    BELOW = "below"


@dataclass(frozen=True, slots=True)
class Band:
    """One band: the devices that have it, by name, and the first of them.  No curve: it has no rating."""

    role: Role
    names: tuple[str, ...]
    device: Device
    curve: Curve | None


@dataclass(frozen=True, slots=True)
class Damage:
    """What the weakest conductor that a device guards stands, and carries in A by the rulebook ``by``."""

    conductor: Conductor
    stands: Withstand
    ampacity_a: float | None
    by: str


@dataclass(frozen=True, slots=True)
class Fault:
    """A prospective current in A.  ``at``: the conductor at whose end it is, "" at the device.  ``part``: there are
    other ways, and only a part of it goes through the device.  ``unknown``: a figure is missing: no use."""

    amps: float
    at: str
    leans_on: tuple[str, ...]
    unknown: bool
    part: bool = False


@dataclass(frozen=True, slots=True)
class DirectLoad:
    """A load with no other device before it; what nobody gave is None."""

    load: Load
    draws_a: float | None

    @property
    def starts(self) -> bool:
        return self.load.starts_a is not None


@dataclass(frozen=True, slots=True)
class Named:
    """One of the devices asked for, and all that a plot says of it alone."""

    band: Band
    # the conductors between it and the next devices whose guard it is, or part of it; those that another device guards
    # and cranking feeds are apart; and those whose size nobody gave
    guards: tuple[str, ...]
    stretches: tuple[str, ...]
    unsized: tuple[str, ...]
    damage: Damage | None
    # None: no source without a limit of its own drives a fault there
    smallest: Fault | None
    largest: Fault | None
    # at the greatest voltage of its system (None: unknown)
    breaking: BreakingCapacity | None
    voltage_v: float | None
    running: LoadCurrent | None
    loads: tuple[DirectLoad, ...]
    alternating: bool
    # whose word its magnetic release on DC is; None: it has none, or nobody tells
    release: Cite | None
    # a way around it has no device
    bypassed: bool

    @property
    def device(self) -> Device:
        return self.band.device

    @property
    def start(self) -> DirectLoad | None:
        """Of its loads the one with the largest starting current."""
        return max((x for x in self.loads if x.starts), key=lambda x: x.load.starts_a or 0.0, default=None)


@dataclass(frozen=True, slots=True)
class Plot:
    named: tuple[Named, ...]
    # the nearest devices towards the sources, and the next ones behind, the largest first
    above: tuple[Band, ...]
    below: tuple[Band, ...]
    # how many devices above and below are not shown
    more_above: int
    more_below: int

    @property
    def bands(self) -> tuple[Band, ...]:
        return (*(n.band for n in self.named), *self.above, *self.below)


def plot_of(study: Study, devices: Iterable[str]) -> Plot:
    """The plot of these devices, given by name, in this order.  Raises KeyError for what is no device of the design."""
    edges = [study.design.circuit.edge_of[name] for name in dict.fromkeys(devices)]
    if any(edge.kind != "device" for edge in edges):
        raise KeyError(next(e.element.name for e in edges if e.kind != "device"))
    zones = [_Zone(study, edge) for edge in edges]
    own = {edge.index for edge in edges}
    above = dict.fromkeys(e for z in zones for e in z.above() if e not in own)
    below = dict.fromkeys(e for z in zones for e in z.below if e not in own and e not in above)
    least_a = min((e.device.rated_a for e in edges if e.device.rated_a), default=0.0) / SMALLER_BY
    most = (GREATEST_ABOVE, GREATEST_BELOW) if len(edges) == 1 else (1, 1) if len(edges) == 2 else (0, 0)
    # what has a named device's own curve would lie on it
    alike = {_sort(e.device) for e in edges}
    behind = [e for e in below if _sort(study.design.circuit.edges[e].device) not in alike]
    shown_above, more_above = _grouped(study, Role.ABOVE, above, most[0], 0.0)
    shown_below, more_below = _grouped(study, Role.BELOW, behind, most[1], least_a)
    more_below += len(below) - len(behind)
    return Plot(tuple(_named(study, z) for z in zones), shown_above, shown_below, more_above, more_below)


def _sort(device: Device) -> tuple[object, ...]:
    """What two devices have in common that are alike on a plot."""
    part = device.part.name if device.part is not None else ""
    return device.device_class, part, device.rated_a, curve_of(device)


def _grouped(study: Study, role: Role, edges: Iterable[int], most: int, least_a: float) -> tuple[tuple[Band, ...], int]:
    """Bands of these devices, the largest first; those alike share one.  And how many devices are left out, those
    rated below ``least_a`` among them."""
    groups: dict[tuple[object, ...], list[Device]] = defaultdict(list)
    for index in edges:
        device = study.design.circuit.edges[index].device
        groups[_sort(device)].append(device)
    bands = [Band(role, tuple(d.name for d in g), g[0], curve_of(g[0])) for g in groups.values()]
    bands.sort(key=lambda b: -(b.device.rated_a or 0.0))
    shown = [b for b in bands if (b.device.rated_a or 0.0) >= least_a][:most]
    return tuple(shown), sum(len(b.names) for b in bands) - sum(len(b.names) for b in shown)


class _Zone:
    """What lies between a device and the next ones behind it, and on which of its sides that is."""

    def __init__(self, study: Study, edge: Edge) -> None:
        self.study, self.edge = study, edge
        index, parts, flows = edge.index, study.parts, study.flows
        far = parts.leads_to[index]
        if far >= 0:
            behind = [far]
        else:
            # inside a block: behind is where less comes from elsewhere
            at_u, at_v = flows.into_u[index].amps, flows.into_v[index].amps
            behind = [edge.v] if at_u > at_v else [edge.u] if at_v > at_u else [edge.v, edge.u]
        self.behind = behind
        self.before = [n for n in (edge.u, edge.v) if n not in behind]
        self.bypassed = False
        self.below: list[int] = []
        self.conductors: list[tuple[int, int]] = []
        self.nodes = list(behind)
        self._walk()
        self.guarded = [pair for pair in self.conductors if self._guards(pair[0])]

    def _guards(self, index: int) -> bool:
        """Whether a conductor of the zone hangs on this device, as the study says: by its rating, not by its distance
        from the next one."""
        made = self.study.conductors[self.study.design.circuit.edges[index].element.name]
        unrated = self.edge.device.rated_a is None
        hangs = unrated or not made.guard or self.edge.element.name in made.guard
        return hangs and made.verdict not in _BY_DISTANCE

    def _walk(self) -> None:
        net, circuit = self.study.net, self.study.design.circuit
        seen, used = set(self.nodes), {self.edge.index}
        for node in self.nodes:
            for index in circuit.nodes[node].edges:
                made = circuit.edges[index]
                if index in used or (made.one_way and made.v == node):
                    continue
                used.add(index)
                other = net.other(index, node)
                if made.kind == "device":
                    self.below.append(index)
                    continue
                if made.kind == "conductor":
                    self.conductors.append((index, other))
                if other in self.before:
                    self.bypassed = True
                elif other not in seen:
                    seen.add(other)
                    self.nodes.append(other)

    def above(self) -> list[int]:
        """The nearest devices on the ways by which current comes: those behind which more can come than they carry,
        else all.  None where a source without a limit is nearer: no device stands between."""
        net, circuit, parts, flows = self.study.net, self.study.design.circuit, self.study.parts, self.study.flows
        found: dict[int, bool] = {}
        nodes, seen = list(self.before), set(self.before)
        for node in nodes:
            source = circuit.nodes[node].source
            if source is not None and not source.self_limiting:
                return []
            for index in circuit.nodes[node].edges:
                made = circuit.edges[index]
                if index == self.edge.index or parts.leads_to[index] not in (-1, node):
                    continue
                if made.one_way and made.u == node:
                    continue
                other = net.other(index, node)
                if made.kind != "device":
                    if other not in seen and other not in self.behind:
                        seen.add(other)
                        nodes.append(other)
                    continue
                comes = (flows.into_u if other == made.u else flows.into_v)[index].amps
                if comes > 0:
                    found[index] = comes > (made.device.rated_a or 0.0) * (1 + 1e-9)
        return [e for e, full in found.items() if full] or list(found)

    def only_by_it(self) -> frozenset[int]:
        """Inside a block: the sources whose current reaches what lies behind only through the device."""
        net, circuit = self.study.net, self.study.design.circuit
        nodes, seen = list(self.behind), set(self.behind)
        for node in nodes:
            for index in circuit.nodes[node].edges:
                made = circuit.edges[index]
                other = net.other(index, node)
                if index != self.edge.index and other not in seen and not (made.one_way and made.u == node):
                    seen.add(other)
                    nodes.append(other)
        return frozenset(n for n in net.limit if n not in seen)


def _named(study: Study, zone: _Zone) -> Named:
    edge, circuit = zone.edge, study.design.circuit
    device, system = edge.device, study.system_of(edge)
    known_v = greatest_voltage(study.design, system) if system is not None else None
    volts = known_v[0] if known_v is not None else system.voltage_v if system is not None else None
    guards = [circuit.edges[index].conductor for index, _ in zone.guarded]
    apart = [circuit.edges[i].element.name for i, _ in zone.conductors if i not in {g for g, _ in zone.guarded}]
    alternating = system is not None and system.alternating
    return Named(
        Band(Role.NAMED, (device.name,), device, curve_of(device)),
        tuple(c.name for c in guards),
        tuple(apart),
        tuple(c.name for c in guards if c.area_mm2 is None),
        _damage(study, guards),
        None if alternating else _smallest(study, zone),
        None if alternating else _fault(study.faults().through(edge.index), ""),
        breaking_capacity(device, volts) if volts and not alternating else None,
        volts,
        study.loads.get(edge.index),
        tuple(_direct(circuit.nodes[n]) for n in zone.nodes if circuit.nodes[n].load is not None),
        alternating,
        _release(device),
        zone.bypassed,
    )


def _release(device: Device) -> Cite | None:
    known = classes().get(device.device_class) if device.curve and not device.opens else None
    trip = known.trip(device.curve, "dc") if known is not None else None
    return trip.cite if trip is not None else None


def _direct(node: Node) -> DirectLoad:
    assert node.load is not None
    return DirectLoad(node.load, draws_a(node.load, node))


def _fault(found: Prospective, at: str, part: bool = False) -> Fault | None:
    drive = found.drive
    if drive is None or (found.amps <= 0 and not found.unknown):
        return None
    return Fault(found.amps, at, drive.leans_on, found.unknown or drive.unknown, part)


def _damage(study: Study, guards: Iterable[Conductor]) -> Damage | None:
    """The conductor that stands least, as hot as what can persist in it makes it."""
    found: list[Damage] = []
    for conductor in guards:
        made = study.conductors[conductor.name]
        capacity = made.least_capacity
        live_a = capacity.ampacity_a if capacity is not None else None
        back_a = return_ampacity(conductor, made.system, study.rulebooks)
        stands = loop_withstand(conductor, made.let_through_a, live_a, back_a)
        if stands is not None:
            ampacity_a = capacity.ampacity_a if capacity is not None else None
            found.append(Damage(conductor, stands, ampacity_a, capacity.rulebook.name if capacity is not None else ""))
    return min(found, key=lambda d: d.stands.a2s, default=None)


def _smallest(study: Study, zone: _Zone) -> Fault | None:
    """The smallest current of a fault anywhere between the device and the next ones: at the far end of a conductor, or
    right behind the device where there is none."""
    faults = study.faults()
    core = study.parts.leads_to[zone.edge.index] < 0
    only = zone.only_by_it() if core else frozenset()
    ends = [(n, "") for n in zone.behind] if not zone.guarded else []
    for index, other in zone.guarded:
        ends.append((other, study.design.circuit.edges[index].element.name))
    found: list[Fault] = []
    for node, at in ends:
        each = faults.each_alone(node)
        through = [p for p in each if p.drive is not None and only.issuperset(p.drive.sources)] if core else each
        for one in through or each:
            made = _fault(one, at, part=not through)
            if made is not None:
                found.append(made)
    known = [f for f in found if not f.unknown]
    return min(known or found, key=lambda f: f.amps, default=None)


# ---- the currents that a plot covers --------------------------------------------------------------------------------

_STEPS = (1.0, 2.0, 5.0)


def step_below(amps: float) -> float:
    """The next of 1, 2, 5, 10 … at or below a current."""
    decade = 10.0 ** math.floor(math.log10(amps) + 1e-12)
    return max((s for s in _STEPS if s * decade <= amps * (1 + 1e-9)), default=1.0) * decade


def step_above(amps: float) -> float:
    """The next of 1, 2, 5, 10 … at or above a current."""
    decade = 10.0 ** math.floor(math.log10(amps) + 1e-12)
    return min((s for s in (*_STEPS, 10.0) if s * decade >= amps * (1 - 1e-9)), default=10.0) * decade


def range_a(plot: Plot) -> tuple[float, float]:
    """(least, greatest) current in A of a plot: from below what loads draw and the smallest rating to beyond the
    largest current that anything may have to break, on steps of 1, 2, 5."""
    low, high = [], []
    for band in plot.bands:
        rated_a = band.device.rated_a
        if rated_a:
            low.append(rated_a * 0.6)
            high.append(rated_a * (12.0 if band.role is Role.NAMED else 3.0))
        if band.curve is not None and band.role is Role.NAMED:
            high.append(band.curve.told_to_a * 1.2)
    floor = min(low, default=1.0) / FARTHEST_BELOW
    for named in plot.named:
        currents = [f.amps for f in (named.smallest, named.largest) if f is not None and not f.unknown]
        currents += [named.breaking.amps] if named.breaking is not None else []
        currents += [x.load.starts_a or 0.0 for x in named.loads]
        high += [c * 1.3 for c in currents if c < math.inf]
        if named.damage is not None and named.damage.ampacity_a:
            currents.append(named.damage.ampacity_a)
        drawn = [x.draws_a for x in named.loads if x.draws_a] + ([named.running.amps] if named.running else [])
        low += [c * 0.8 for c in (*currents, *drawn) if c and c * 0.8 >= floor]
    low = [x for x in low if 0 < x < math.inf] or [1.0]
    high = [x for x in high if 0 < x < math.inf] or [1000.0]
    least_a = step_below(min(low))
    return least_a, step_above(max(*high, least_a * LEAST_SPAN))
