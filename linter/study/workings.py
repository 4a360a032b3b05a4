"""What stands behind the figures of a study, step by step: for a worksheet that a reader can add up.

Nothing is judged here and nothing is reckoned another way: each function takes a result apart into the figures that it
was made of, and says nothing (None, an empty list) where they do not come to the result.
"""

from __future__ import annotations

import math
from dataclasses import dataclass, field

from linter.model.circuit import Edge
from linter.model.elements import Conductor
from linter.study.cases import Case, draws_a
from linter.study.current import CHARGING
from linter.study.curve import Curve
from linter.study.impedance import COLD_C, NIL_OHM, SourcePair, size_text, working_temperature_c
from linter.study.prospective import Faults, Prospective
from linter.study.scene import AtLoad, Scenes
from linter.study.stretch import EndDevice
from linter.study.study import ConductorStudy, Study
from linter.tables.conductors import Resistance, least_resistance_ohm_per_m, resistance_ohm_per_m

# Two reckonings of the same figure differ by no more.
SAME = 1e-6
# What was taken with the least resistance there is, so that it could be solved, differs by so little from nil, ohm.
SAME_OHM = 2e-6


def same(one: float, two: float, slack: float = 0.0) -> bool:
    return math.isclose(one, two, rel_tol=SAME, abs_tol=slack)


# ---- a conductor's resistance


@dataclass(frozen=True, slots=True)
class Leg:
    """A conductor ``there`` or ``back``: metres, and ohm for each of them from a published table."""

    which: str
    size: str
    metres: float
    resistance: Resistance

    @property
    def ohm(self) -> float:
        return self.metres * self.resistance.ohm_per_m


def legs(conductor: Conductor, largest: bool) -> list[Leg]:
    """There and back, at 20 °C for the largest fault current, at its working temperature for the smallest.  Empty
    where size or length is not given."""
    if conductor.size is None or conductor.length_m is None:
        return []
    back_m = conductor.length_m if conductor.return_m is None else conductor.return_m
    found = []
    for which, size, metres in (
        ("there", conductor.size, conductor.length_m),
        ("back", conductor.return_size or conductor.size, back_m),
    ):
        text = size_text(size)
        if largest:
            made = least_resistance_ohm_per_m(text, COLD_C)
        else:
            made = resistance_ohm_per_m(text, conductor.tinned, working_temperature_c(conductor))
        found.append(Leg(which, text, metres, made))
    return found


# ---- the loop of a fault


@dataclass(frozen=True, slots=True)
class Item:
    """What a fault's loop leads through: an edge, or (edge -1) ways side by side, which act as ``ohm``."""

    edge: int
    ohm: float
    drop_v: float = 0.0
    words: str = ""


@dataclass(slots=True)
class Loop:
    """A prospective current taken apart: ``volts`` over ``ohm`` there and back, or no more than ``limit_a``.

    ``source``: the node of the one source whose loop ``items`` lists, the source's own resistance left out; -1 where
    several sources act together as ``volts`` behind ``joint_ohm``, and ``items`` leads on from ``joint``.  ``raised``:
    by node of a source that limits itself, its A, and the ohm of the loop that carries them too: they raise the volts.
    ``shares``: by edge (-1 - node for a source at the place itself) what it brings, A, where that sums up to ``amps``.
    """

    amps: float
    volts: float
    ohm: float
    limit_a: float
    sources: tuple[int, ...]
    pairs: dict[int, SourcePair]
    items: list[Item] = field(default_factory=list)
    source: int = -1
    joint: int = -1
    joint_ohm: float = 0.0
    raised: list[tuple[int, float, float]] = field(default_factory=list)
    limited: list[tuple[int, float]] = field(default_factory=list)
    drop_v: float = 0.0

    @property
    def joint_a(self) -> float:
        """The current of a short at ``joint``, A."""
        return (self.volts + self.drop_v) / max(self.joint_ohm, NIL_OHM)


def loop_of(faults: Faults, node: int, found: Prospective, largest: bool) -> Loop | None:
    """The loop of a bolted fault at a node; None where there is no current, or nothing says how much."""
    drive, point = found.drive, faults.points.get(node)
    if drive is None or point is None or found.unknown or drive.unknown or not found.amps > 0:
        return None
    more_ohm = point.least_ohm if largest else point.greatest_ohm
    volts, ohm = drive.acting(more_ohm, point.drop_v)
    case = 0 if largest else 1
    sources = tuple(n for n in drive.sources if _way(faults, n, point.core_node, drive.opened, largest) is not None)
    pairs = {n: faults.pairs[n][case] for n in sources}
    made = Loop(found.amps, volts - point.drop_v, ohm + more_ohm, drive.limit_a, sources, pairs)
    made.drop_v = point.drop_v
    made.joint, made.joint_ohm = point.core_node, ohm
    tree = _tree(faults, node, largest)
    made.items = tree
    firm = [n for n in sources if pairs[n].limit_a == math.inf]
    if found.amps >= drive.limit_a * (1 - SAME) or not firm:
        reaching = [(n, pairs[n].limit_a) for n in sources if pairs[n].limit_a < math.inf and pairs[n].limit_a > 0]
        if same(sum(a for _, a in reaching), found.amps):
            made.limited = reaching
        return made
    if len(firm) != 1:
        return made
    way = _way(faults, firm[0], point.core_node, drive.opened, largest)
    if way is None:
        return made
    pair = pairs[firm[0]]
    items = [_item(faults, e, largest) for e in way]
    in_core = pair.resistance_ohm + sum(i.ohm for i in items)
    if not same(in_core, ohm, SAME_OHM):
        items = [Item(-1, ohm - pair.resistance_ohm, 0.0, "the ways to it, side by side")]
        if items[0].ohm < 0:
            return made
    drop_v = sum(i.drop_v for i in items)
    raised = _raised(faults, firm[0], way, pairs, largest) if largest else []
    if not same(pair.voltage_v - drop_v + sum(a * r for _, a, r in raised), volts, 1e-5):
        return made
    made.source, made.raised, made.joint_ohm = firm[0], raised, 0.0
    made.items = [*items, *tree]
    return made


def _item(faults: Faults, edge: int, largest: bool) -> Item:
    known = faults.edges[edge]
    return Item(edge, known.least_ohm if largest else known.greatest_ohm, known.drop_v)


def _tree(faults: Faults, node: int, largest: bool) -> list[Item]:
    """From the core outwards: the bridges, and rings as one."""
    net, parts = faults.net, faults.parts
    found: list[Item] = []
    while parts.block_of[node] > 0:
        block = parts.blocks[parts.block_of[node]]
        if node != block.entry:
            here, there = faults.points[node], faults.points[block.entry]
            ohm = here.least_ohm - there.least_ohm if largest else here.greatest_ohm - there.greatest_ohm
            words = f"the ring from {net.circuit.nodes[block.entry].name} on, both ways round"
            found.append(Item(-1, ohm, here.drop_v - there.drop_v, words))
            node = block.entry
        bridge = parts.bridge_to[node]
        found.append(_item(faults, bridge, largest))
        node = net.other(bridge, node)
    return found[::-1]


def _way(faults: Faults, start: int, end: int, opened: frozenset[int], largest: bool) -> list[int] | None:
    """The edges of the shortest way inside a piece of the core."""
    net, piece = faults.net, faults.piece_of[start]
    inside = set(piece.edges) - opened
    came: dict[int, int] = {start: -1}
    waiting = [start]
    for node in waiting:
        if node == end:
            break
        for index in net.circuit.nodes[node].edges:
            other, edge = net.other(index, node), net.circuit.edges[index]
            ohm = _item(faults, index, largest).ohm
            if index in inside and other not in came and not (edge.one_way and edge.v == node) and ohm < math.inf:
                came[other] = index
                waiting.append(other)
    if end not in came:
        return None
    way = []
    node = end
    while came[node] >= 0:
        way.append(came[node])
        node = net.other(came[node], node)
    return way[::-1]


def _raised(
    faults: Faults, source: int, way: list[int], pairs: dict[int, SourcePair], largest: bool
) -> list[tuple[int, float, float]]:
    """(node, A, ohm) of sources that limit themselves: their current flows through that much of the loop as well."""
    net = faults.net
    behind = {source: pairs[source].resistance_ohm}
    node, ohm = source, pairs[source].resistance_ohm
    for edge in way:
        node, ohm = net.other(edge, node), ohm + max(_item(faults, edge, largest).ohm, NIL_OHM)
        behind[node] = ohm
    found = []
    for other, pair in pairs.items():
        if not 0 < pair.limit_a < math.inf:
            continue
        joins: list[tuple[int, int]] = []
        for at in behind:
            found_way = _way(faults, other, at, frozenset(), largest)
            if found_way is not None:
                joins.append((len(found_way), at))
        if joins:
            found.append((other, pair.limit_a, behind[min(joins)[1]]))
    return found


def shares_of(faults: Faults, loop: Loop) -> list[tuple[int, float]]:
    """By edge of the core (-1 - node for a source at the place itself) what it brings to where a fault leaves the core,
    A; empty where that does not sum up to the current."""
    from linter.study.clearing import clearing

    net, place = faults.net, loop.joint
    made = clearing(faults, place, loop.sources, frozenset(), lambda edge, amps: math.inf, largest=True)
    if not made.steps:
        return []
    step = made.steps[0]
    found = [(e, step.amps[e]) for e in net.circuit.nodes[place].edges if step.amps.get(e, 0.0) > 0]
    own = loop.pairs.get(place)
    if own is not None:
        amps = own.voltage_v / own.resistance_ohm if own.limit_a == math.inf else own.limit_a
        found.append((-1 - place, amps))
    return found if same(sum(a for _, a in found), loop.joint_a, 1e-2) else []


def branch_of(faults: Faults, loop: Loop, edge: int) -> tuple[int, list[Item], float] | None:
    """(source, items from it on, ohm in all) of what an edge brings to a place that is shorted, where that is one
    source alone: nothing can come past a short.  None where it is not so simple."""
    place = loop.joint
    for source, pair in loop.pairs.items():
        if pair.limit_a < math.inf:
            continue
        way = _way(faults, source, place, frozenset(), True)
        if not way or way[-1] != edge:
            continue
        items = [_item(faults, e, True) for e in way]
        return source, items, pair.resistance_ohm + sum(i.ohm for i in items)
    return None


def before_of(faults: Faults, edge: int, amps: float) -> tuple[int, int, list[Item], float] | None:
    """(node, source, items, ohm) of a device in the midst of sources through which, shorted right behind it, one source
    alone drives ``amps`` from a node on its one side.  None where it is not so simple."""
    net = faults.net
    for near in (net.u[edge], net.v[edge]):
        for source, (pair, _) in faults.pairs.items():
            if pair.limit_a < math.inf or faults.piece_of.get(source) is not faults.piece_of.get(near):
                continue
            way = _way(faults, source, near, frozenset({edge}), True)
            if way is None:
                continue
            items = [_item(faults, e, True) for e in way]
            ohm = pair.resistance_ohm + sum(i.ohm for i in items)
            if math.isclose((pair.voltage_v - sum(i.drop_v for i in items)) / ohm, amps, rel_tol=1e-4):
                return near, source, items, ohm
    return None


# ---- a load current


def load_parts(study: Study, edge: Edge) -> list[tuple[str, float]]:
    """(load or source, A) that make up the worst load current of an edge; empty where they do not simply add up: in a
    ring the worst is taken, and a source gives no more than it can."""
    load = study.loads.get(edge.index)
    if load is None:
        return []
    circuit = study.design.circuit
    if load.case.endswith(" by itself"):
        return [(load.case.removesuffix(" by itself"), load.amps)]
    for case in study.cases:
        if load.case not in (case.title, CHARGING):
            continue
        for side in (_side(study, edge, edge.v, case), _side(study, edge, edge.u, case)):
            found = []
            for node in side:
                made = circuit.nodes[node]
                if load.case == CHARGING:
                    if made.source is not None and not made.source.is_battery and node not in case.off:
                        found.append((made.source.name, made.source.rated_a or 0.0))
                elif made.load is not None and case.has_on(node):
                    found.append((made.load.name, draws_a(made.load, made) or 0.0))
            found = [(name, amps) for name, amps in found if amps]
            if found and same(sum(a for _, a in found), load.amps):
                return found
    return []


def _side(study: Study, without: Edge, start: int, case: Case) -> list[int]:
    circuit = study.design.circuit
    seen, waiting = {start}, [start]
    for node in waiting:
        for index in circuit.nodes[node].edges:
            other = circuit.other(circuit.edges[index], node)
            if index != without.index and index not in case.opened and other not in seen:
                seen.add(other)
                waiting.append(other)
    return waiting


# ---- a voltage lost on the way to a load


def lost_ways(scenes: Scenes, found: AtLoad) -> list[tuple[int, float, float]]:
    """(edge, V, A through it) on the way to a load, from the source on; the current is nan where it is not known."""
    edges = {e: math.nan for e, _ in scenes.losses(found)}
    if found.case < 0:
        from linter.study.scene_alone import alone_losses

        only = alone_losses(scenes, found)[1]
        edges.update((e, found.amps) for e in edges if e in only)
    else:
        piece = next((p for p in scenes.states[found.case].pieces if found.node in p.loads), None)
        if piece is not None:
            piece = piece.judged(found.node) if found.judged else piece
            for place, number in enumerate(piece.links):
                for edge, _ in scenes.net.links[number].edges:
                    if edge in edges:
                        edges[edge] = abs(piece.balance.ways_a[place])
    return [(e, volts, edges[e]) for e, volts in reversed(scenes.losses(found))]


# ---- the stretch before a device


def stretch_way(study: Study, made: ConductorStudy, end: EndDevice) -> list[int]:
    """The edges from the supply point over the conductor to a device at the end of its stretch; empty where no way is
    just so long."""
    stretch, net, circuit = made.stretch, study.net, study.design.circuit
    if stretch is None or stretch.supply_node < 0 or end.distance_m is None:
        return []
    ends = {net.u[end.edge], net.v[end.edge]}
    stack: list[tuple[int, tuple[int, ...], float]] = [(stretch.supply_node, (), 0.0)]
    looked = 0
    while stack and looked < 10_000:
        node, way, metres = stack.pop()
        looked += 1
        if node in ends and made.edge.index in way and math.isclose(metres, end.distance_m, abs_tol=1e-9):
            return list(way)
        passed = {stretch.supply_node, *(n for e in way for n in (net.u[e], net.v[e]))}
        for edge in circuit.nodes[node].edges:
            other, element = net.other(edge, node), circuit.edges[edge].element
            if net.is_device[edge] or other in passed:
                continue
            more = (
                element.length_m if isinstance(element, Conductor) and circuit.edges[edge].kind == "conductor" else 0.0
            )
            if more is not None and metres + more <= end.distance_m + 1e-9:
                stack.append((other, (*way, edge), metres + more))
    return []


# ---- a device's opening time


@dataclass(frozen=True, slots=True)
class Between:
    """Where on the slow edge a current lies: on the straight between two points (A, s), in logarithms; at a point; or
    beyond the last, where the ``energy`` (A²s, up to A) tells, or the last point's time holds."""

    left: tuple[float, float] | None = None
    right: tuple[float, float] | None = None
    energy: tuple[float, float] | None = None


def where_on(curve: Curve, amps: float) -> Between | None:
    """None where the device need not open at all."""
    seconds = curve.slowest(amps).seconds
    if seconds == math.inf or not curve.slow:
        return None
    if amps > curve.slow[-1][0]:
        for a2s, to_a in curve.energies:
            if same(a2s / min(amps, to_a) ** 2, seconds):
                return Between(energy=(a2s, to_a))
        return Between(left=curve.slow[-1])
    for left, right in zip(curve.slow, curve.slow[1:], strict=False):
        if left[0] < amps < right[0] and left[1] != right[1] and min(left[1], right[1]) > 0:
            return Between(left, right)
    at = min(curve.slow, key=lambda p: (abs(p[1] - seconds), abs(p[0] - amps)))
    return Between(left=at)
