"""What verdicts hang on the resistance of devices and switches that nobody states.

Such an element counts as nil, which is the safe side for what a device must break, and the unsafe one for whether a
fault opens a device in time, what heats a conductor until then, and the voltage at a load.  So each of those verdicts
that holds is tried again with a bound in place of nil: what an element of its kind may lose at its rated current.  What
turns then hangs on a figure that nobody gave.

The trial is in two steps.  First with all that could lie on the way together, which is never too little and costs one
look a conductor; what that might turn is solved again with the bounds in the circuit.
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Iterator
from dataclasses import dataclass, field

from linter.model.elements import Device, Switch
from linter.study.bears import bears_ohm, wrong
from linter.study.clearing import clearing
from linter.study.letthrough import core_pieces
from linter.study.opening import Clears
from linter.study.scene_limit import DropLimit, drop_limit
from linter.study.study import ConductorStudy, Study
from linter.tables.contacts import ContactDrop, drop_of

# A load of constant power draws more as its voltage falls: the first look at voltages takes so much more than the
# currents of the study.
MORE_CURRENT = 1.5
# Below this part of a volt nobody's figure is meant.
LEAST_V = 1e-6


@dataclass(frozen=True, slots=True)
class Bound:
    """What an edge whose resistance nobody states may have at most, ohm: so many volts at so many amperes."""

    ohm: float
    drop: ContactDrop
    rated_a: float


@dataclass(frozen=True, slots=True)
class Turned:
    """A conductor whose guard is proved with nil and no longer with the bounds.

    ``bears_ohm``: how much more its loop bears; ``added_ohm``: what the bounds add to it; ``late``: it is the time that
    is missed, else the heat; ``shares``: by edge what it adds, ohm, the greatest first.
    """

    made: ConductorStudy
    bears_ohm: float
    added_ohm: float
    late: bool
    shares: dict[int, float]


@dataclass(frozen=True, slots=True)
class Dim:
    """A load that no longer has its voltage.  ``works``: it is that from which it works, else a rulebook's drop limit.

    ``spare_v``: what may still be lost; ``lost_v``: what the bounds lose; ``shares``: by edge what it loses, V.
    """

    node: int
    title: str
    works: bool
    spare_v: float
    lost_v: float
    amps: float
    shares: dict[int, float]


@dataclass(slots=True)
class Hangs:
    """All that hangs on one edge more than on any other."""

    edge: int
    turned: list[Turned] = field(default_factory=list)
    dim: list[Dim] = field(default_factory=list)


def bounds_of(study: Study) -> dict[int, Bound]:
    """By edge, of devices and switches whose resistance nobody states.  Without a rated current there is no bound."""
    stated = [book.contact_drops for book in study.rulebooks]
    drops: dict[tuple[str, float], ContactDrop | None] = {}
    found: dict[int, Bound] = {}
    for edge in study.design.circuit.edges:
        element = edge.element
        if not isinstance(element, Device | Switch) or element.resistance_ohm is not None or not element.rated_a:
            continue
        key = element.kind, element.rated_a
        if key not in drops:
            drops[key] = drop_of(*key, stated)
        drop = drops[key]
        if drop is not None:
            found[edge.index] = Bound(drop.volts / element.rated_a, drop, element.rated_a)
    return found


def hanging(study: Study, bounds: dict[int, Bound]) -> list[Hangs]:
    """What turns with these bounds, by the edge that adds most to it, in the order of the design.  Linear, and nothing
    where everything states its resistance."""
    if not bounds:
        return []
    tried = study.with_contacts({edge: bound.ohm for edge, bound in bounds.items()})
    by_edge: dict[int, Hangs] = {}

    def of(shares: dict[int, float]) -> Hangs | None:
        edge = next(iter(shares), None)
        return by_edge.setdefault(edge, Hangs(edge)) if edge is not None else None

    for turned in _guards(study, tried, bounds):
        found = of(turned.shares)
        if found is not None:
            found.turned.append(turned)
    for dim in _voltages(study, tried, bounds):
        found = of(dim.shares)
        if found is not None:
            found.dim.append(dim)
    return [by_edge[edge] for edge in sorted(by_edge)]


def _sums(study: Study, each: dict[int, float]) -> list[float]:
    """By node: the sum over all edges that can lie on its way from the sources: its own bridges, and everything of the
    rings and of the piece of the core between."""
    parts, net = study.parts, study.net
    found = [0.0] * len(study.design.circuit.nodes)
    for piece in core_pieces(net, parts.blocks[0]):
        added = sum(each.get(e, 0.0) for e in piece.edges)
        for node in piece.nodes:
            found[node] = added
    for index, block in enumerate(parts.blocks):
        if index:
            bridge = parts.bridge_to[block.entry]
            at_entry = found[net.other(bridge, block.entry)] + each.get(bridge, 0.0)
            if block.edges:
                inside = at_entry + sum(each.get(e, 0.0) for e in block.edges)
                for node in block.nodes:
                    found[node] = inside
            found[block.entry] = at_entry
    return found


def _guards(study: Study, tried: Study, bounds: dict[int, Bound]) -> Iterator[Turned]:
    most = _sums(study, {edge: bound.ohm for edge, bound in bounds.items()})
    openings = study.openings()
    for made in study.conductors.values():
        added = max(most[made.edge.u], most[made.edge.v])
        stands = study.stands(made)
        if not added or stands is None:
            continue
        ways = study.clears(made)
        if any(way.unknown or wrong(way) for way in ways):
            continue
        doubtful = False
        for way in ways:
            if way.followed is not None:
                doubtful = True
                continue
            amps = way.smallest_a * way.smallest_ohm / (way.smallest_ohm + added)
            moment = openings.moment(way.chain, amps)
            if moment.seconds > stands.greatest_s:
                doubtful = True
            elif way.smallest_a**2 * moment.seconds > stands.a2s:
                # more current than the most for longer than the longest might be too much: look closer
                heats = openings.worst(way.chain, amps, way.smallest_a, stands)
                doubtful = doubtful or any(h is not None and h.share > 1 + 1e-9 for h in heats)
        if not doubtful:
            continue
        now = [way for way in tried.clears(made) if not way.unknown and wrong(way)]
        if now:
            worst = max(now, key=lambda way: way.first.seconds)
            shares = _adding(tried, bounds, made, worst)
            bears = bears_ohm(study, made)
            late = any(way.first.seconds > stands.greatest_s for way in now)
            yield Turned(made, bears if bears is not None else 0.0, sum(shares.values()), late, shares)


def _adding(tried: Study, bounds: dict[int, Bound], made: ConductorStudy, way: Clears) -> dict[int, float]:
    """What each edge adds to the loop of a fault at the end of a conductor, ohm: its bound times the square of the part
    of the current that it carries; the greatest first."""
    faults, parts, net = tried.faults(), tried.parts, tried.net
    far = parts.leads_to[made.edge.index]
    node = far if far >= 0 else made.edge.v
    found: dict[int, float] = {}
    opened = way.followed[1] if way.followed is not None else None
    point = faults.points.get(node)
    if point is None:
        return found
    if opened is None:
        drives = [d for d in faults.alone.get(point.core_node, ()) if d.sources[0] in way.sources]
        opened = min(drives, key=lambda d: d.current_a()).opened if drives else frozenset()

    def never(edge: int, amps: float) -> float:
        return math.inf

    course = clearing(faults, node, way.sources[:1], opened, never)
    step = course.steps[0] if course.steps else None
    if step is not None and step.fault_a > 0:
        for edge, amps in step.amps.items():
            if edge in bounds:
                found[edge] = bounds[edge].ohm * (amps / step.fault_a) ** 2
    at = node
    while parts.block_of[at] > 0:
        entry = parts.blocks[parts.block_of[at]].entry
        bridge = parts.bridge_to[entry]
        if bridge in bounds:
            found[bridge] = bounds[bridge].ohm
        at = net.other(bridge, entry)
    return _greatest_first(found.items())


def _greatest_first(found: Iterable[tuple[int, float]]) -> dict[int, float]:
    return dict(sorted(((e, x) for e, x in found if x > 0), key=lambda pair: (-pair[1], pair[0])))


def _voltages(study: Study, tried: Study, bounds: dict[int, Bound]) -> Iterator[Dim]:
    scenes = study.scenes()
    limits: dict[tuple[bool, str], DropLimit | None] = {}
    amps = {edge: drawn.amps for edge in bounds if (drawn := study.loads.get(edge)) is not None}
    most = _sums(study, {edge: bound.ohm * amps.get(edge, 0.0) * MORE_CURRENT for edge, bound in bounds.items()})
    for node in study.design.circuit.nodes:
        load = node.load
        if load is None or not most[node.index]:
            continue
        index = node.index
        sort = load.vital, load.sort
        if sort not in limits:
            limits[sort] = drop_limit(load, study.rulebooks)
        limit, nominal_v = limits[sort], scenes.nominal_v(index)
        range_v = load.voltage_range_v
        least = max((v for v in (load.works_from_v, range_v[0] if range_v else None) if v is not None), default=None)
        lowest = scenes.lowest.get(index)
        if lowest is not None and least is not None:
            spare_v = lowest.volts - least
            if -LEAST_V <= spare_v < most[index]:
                now = tried.scenes().lowest.get(index)
                if now is not None and now.volts < least - LEAST_V:
                    lost = {e: v for e, v in tried.scenes().losses(now) if e in bounds}
                    shares = _greatest_first(lost.items())
                    yield Dim(index, now.title, True, spare_v, lowest.volts - now.volts, now.amps, shares)
                    continue
        if limit is None or not nominal_v:
            continue
        allowed_v = limit.percent * nominal_v / 100.0
        before = [at for at in (scenes.worst.get(index), scenes.alone.get(index)) if at is not None]
        drop_v = max((at.drop_v for at in before), default=math.inf)
        if not allowed_v - most[index] < drop_v <= allowed_v * (1 + 1e-9):
            continue
        after = [at for w in (tried.scenes().worst, tried.scenes().alone) if (at := w.get(index)) is not None]
        worst = max(after, key=lambda at: at.drop_v, default=None)
        if worst is not None and worst.drop_v > allowed_v * (1 + 1e-9):
            lost = {e: v for e, v in tried.scenes().losses(worst) if e in bounds}
            shares = _greatest_first(lost.items())
            spare_v = allowed_v - drop_v
            yield Dim(index, worst.title, False, spare_v, worst.drop_v - drop_v, worst.amps, shares)
