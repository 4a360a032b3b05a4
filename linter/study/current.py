"""Load current: what flows through each conductor and device by intention, in the worst of the cases.

Cases are the scenes; without scenes, everything at once.  A bridge carries what lies behind it.  In a ring the
worst is taken: all that the ring feeds, as if it were opened at its worst point.
"""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import dataclass, field
from itertools import product

from linter.model.circuit import Circuit, Edge, Node
from linter.model.design import Design
from linter.model.elements import Converter, Load, Scene, Switch
from linter.study.net import GREATEST_CONFIGURATIONS, Decomposition, Net


@dataclass(frozen=True, slots=True)
class LoadCurrent:
    """Amperes by intention, of them the part that flows for hours, and the case in which it is so."""

    amps: float
    continuous_a: float
    case: str


@dataclass(slots=True)
class Case:
    title: str
    # None: every load
    on: frozenset[int] | None
    opened: frozenset[int] = field(default_factory=frozenset)


def draws_a(load: Load, node: Node) -> float | None:
    """What a load draws, in A: as stated, or from its power and its own or its system's nominal voltage, or, for a
    converter, from its rated output.  None where no figure says so."""
    if load.draws_a is not None:
        return load.draws_a
    voltage_v = load.voltage_v or (node.system.voltage_v if node.system else None)
    if load.draws_w is not None and voltage_v:
        return load.draws_w / voltage_v
    if isinstance(load, Converter) and load.kind == "converter" and load.output is not None and voltage_v:
        out = load.output
        if out.rated_a is not None and out.voltage_v is not None and load.efficiency:
            return out.rated_a * out.voltage_v / load.efficiency / voltage_v
    return None


# A load that runs three hours or more is continuous (NEC article 100, from memory).
CONTINUOUS_S = 3 * 3600


def is_continuous(load: Load) -> bool:
    return load.continuous or (load.runs_s_a_day is not None and load.runs_s_a_day >= CONTINUOUS_S)


def cases_of(design: Design) -> list[Case]:
    """The cases to reckon with: each scene in each position that it leaves open; else all loads at once."""
    scenes: list[Scene | None] = list(design.scenes) or [None]
    cases = [case for scene in scenes for case in _cases(design, scene)]
    if design.scenes:
        shown = {e.name for s in design.scenes for e in s.on}
        rest = frozenset(n.index for n in design.circuit.nodes if n.load is not None and n.load.name not in shown)
        if rest:
            cases += [Case("what stands in no scene, at once", rest, c.opened) for c in _cases(design, None)]
    return cases


def _cases(design: Design, scene: Scene | None) -> Iterator[Case]:
    circuit = design.circuit
    states = scene.states if scene else {}
    opened: set[int] = set()
    choices: list[list[tuple[str, frozenset[int]]]] = []
    by_selector: dict[str, dict[str, set[int]]] = {}
    for edge in circuit.edges:
        element = edge.element
        if edge.kind == "selector":
            by_selector.setdefault(element.name, {}).setdefault(edge.position, set()).add(edge.index)
            continue
        state = states.get(element.name) if edge.kind != "link" else None
        usually_open = isinstance(element, Switch) and (element.combining or element.normally_open)
        if state == "open" or (usually_open and state != "closed" and edge.kind != "link"):
            opened.add(edge.index)
    for name, terminals in by_selector.items():
        element = design.elements[name]
        assert isinstance(element, Switch)
        every = frozenset(e for edges in terminals.values() for e in edges)
        said = states.get(name)
        positions = [said] if said else list(element.positions)
        if not positions:
            continue
        choices.append(
            [(p, every - every if p == "both" else every - frozenset(terminals.get(p, ()))) for p in positions]
        )
    if math.prod(len(c) for c in choices) > GREATEST_CONFIGURATIONS:
        # each selector in each position, the others with everything closed
        chosen: list[tuple[tuple[str, frozenset[int]], ...]] = [(one,) for group in choices for one in group]
    else:
        chosen = list(product(*choices))
    on = None
    if scene is not None:
        names = {e.name for e in scene.on}
        on = frozenset(n.index for n in circuit.nodes if n.load is not None and n.load.name in names)
    title = scene.title if scene else "everything at once"
    for choice in chosen:
        yield Case(title, on, frozenset(opened).union(*(edges for _, edges in choice)))


@dataclass(slots=True)
class _Taken:
    """What a side can take by one of its points: load current, of it the continuous part, and batteries to charge.

    Loads that a battery on their own side can feed are not among them.
    """

    loads: float = 0.0
    continuous: float = 0.0
    batteries: int = 0

    def add(self, other: _Taken, sign: int = 1) -> None:
        self.loads += sign * other.loads
        self.continuous += sign * other.continuous
        self.batteries += sign * other.batteries


@dataclass(slots=True)
class _Given:
    """What a side can give by one of its points.  Unlimited sources are counted, not added up, so that a side can be
    taken away from a sum again."""

    limits: float = 0.0
    charging: float = 0.0
    unlimited: int = 0
    batteries: int = 0
    sources: int = 0

    def add(self, other: _Given, sign: int = 1) -> None:
        self.limits += sign * other.limits
        self.charging += sign * other.charging
        self.unlimited += sign * other.unlimited
        self.batteries += sign * other.batteries
        self.sources += sign * other.sources


_NOTHING_TAKEN = _Taken()
_NOTHING_GIVEN = _Given()


def _flow(taken: _Taken, given: _Given) -> tuple[float, float]:
    """(amperes, continuous amperes) that flow into a side which takes ``taken`` from a side that gives ``given``."""
    if not given.sources:
        return 0.0, 0.0
    most = math.inf if given.unlimited else given.limits
    amps, continuous = min(taken.loads, most), min(taken.continuous, most)
    if taken.batteries:
        amps, continuous = max(amps, given.charging), max(continuous, given.charging)
    return amps, continuous


def _seen(taken: _Taken, own: _Given) -> _Taken:
    """What a side takes from outside, if ``own`` is what it can itself give at the same point: with a battery of its
    own it feeds its loads itself."""
    if own.batteries and taken.loads:
        return _Taken(0.0, 0.0, taken.batteries)
    return taken


def load_currents(circuit: Circuit, cases: list[Case]) -> dict[int, LoadCurrent]:
    """The greatest load current of every edge through which any flows, by edge index.  Linear for each case."""
    worst: dict[int, LoadCurrent] = {}
    for case in cases:
        for piece in _pieces(circuit, case):
            _one_piece(circuit, case, piece, worst)
    return worst


@dataclass(slots=True)
class _Piece:
    """What hangs together while some edges are open: nodes from a root outwards; the rings in it, each known by the
    first of its nodes; and for that node the bridge by which the ring hangs (-1 for the root's)."""

    order: list[int]
    ring: dict[int, int]
    bridge: dict[int, int]
    # rings in the order of `order`, and the ring each hangs from
    rings: list[int]
    above: dict[int, int]


def _pieces(circuit: Circuit, case: Case) -> Iterator[_Piece]:
    """Two-edge-connected rings and the bridges between them, by one depth-first search without recursion."""
    nodes, edges, opened = circuit.nodes, circuit.edges, case.opened
    found = [0] * len(nodes)
    low = [0] * len(nodes)
    parent = [-1] * len(nodes)
    clock = 0
    for root in range(len(nodes)):
        if found[root] or not nodes[root].edges:
            continue
        clock += 1
        found[root] = low[root] = clock
        order = [root]
        stack = [(root, iter(nodes[root].edges))]
        while stack:
            node, rest = stack[-1]
            for index in rest:
                if index == parent[node] or index in opened:
                    continue
                edge = edges[index]
                other = edge.v if edge.u == node else edge.u
                if not found[other]:
                    clock += 1
                    found[other] = low[other] = clock
                    parent[other] = index
                    order.append(other)
                    stack.append((other, iter(nodes[other].edges)))
                    break
                if found[other] < low[node]:
                    low[node] = found[other]
            else:
                stack.pop()
                if stack and low[node] < low[stack[-1][0]]:
                    low[stack[-1][0]] = low[node]
        piece = _Piece(order, {root: root}, {root: -1}, [root], {})
        for node in order[1:]:
            edge = edges[parent[node]]
            before = edge.v if edge.u == node else edge.u
            if low[node] > found[before]:
                piece.ring[node] = node
                piece.bridge[node] = parent[node]
                piece.rings.append(node)
                piece.above[node] = piece.ring[before]
            else:
                piece.ring[node] = piece.ring[before]
        yield piece


def _own(node: Node, case: Case) -> tuple[_Taken | None, _Given | None]:
    taken = given = None
    if node.load is not None and (case.on is None or node.index in case.on):
        amps = draws_a(node.load, node)
        if amps:
            taken = _Taken(amps, amps if is_continuous(node.load) else 0.0)
    source = node.source
    if source is not None:
        given = _Given(sources=1)
        if source.limit_a == math.inf:
            given.unlimited = 1
        else:
            given.limits = source.limit_a
        if source.is_battery:
            given.batteries = 1
            taken = taken or _Taken()
            taken.batteries = 1
        else:
            given.charging = source.rated_a or 0.0
    return taken, given


def _one_piece(circuit: Circuit, case: Case, piece: _Piece, worst: dict[int, LoadCurrent]) -> None:
    """Sums from the leaves inwards, then outwards again; each bridge by its two sides, each ring as one.

    A one-way bridge passes what is taken and given in its own direction only; inside a ring direction is not looked at,
    which can only make the figures larger.
    """
    edges = circuit.edges
    own_taken: dict[int, _Taken] = {}
    own_given: dict[int, _Given] = {}
    for node in piece.order:
        taken, given = _own(circuit.nodes[node], case)
        ring = piece.ring[node]
        if taken is not None:
            own_taken.setdefault(ring, _Taken()).add(taken)
        if given is not None:
            own_given.setdefault(ring, _Given()).add(given)
    if not own_given:
        return
    # what a ring and all beyond it take from, and give to, the bridge it hangs from; loads fed from within still in
    takes: dict[int, _Taken] = {}
    gives: dict[int, _Given] = {}
    for ring, taken in own_taken.items():
        takes.setdefault(ring, _Taken()).add(taken)
    for ring, given in own_given.items():
        gives.setdefault(ring, _Given()).add(given)
    for ring in reversed(piece.rings[1:]):
        inwards, outwards = _ways(edges[piece.bridge[ring]], ring)
        above = piece.above[ring]
        if ring in takes and outwards:
            takes.setdefault(above, _Taken()).add(_seen(takes[ring], gives.get(ring, _NOTHING_GIVEN)))
        if ring in gives and inwards:
            gives.setdefault(above, _Given()).add(gives[ring])
    # the same of everything, as it stands at each ring; from the root outwards
    root = piece.rings[0]
    all_takes = {root: takes.get(root, _NOTHING_TAKEN)}
    all_gives = {root: gives.get(root, _NOTHING_GIVEN)}
    for ring in piece.rings[1:]:
        bridge, above = piece.bridge[ring], piece.above[ring]
        inwards, outwards = _ways(edges[bridge], ring)
        inner_gives = gives.get(ring, _NOTHING_GIVEN)
        inner_takes = _seen(takes.get(ring, _NOTHING_TAKEN), inner_gives)
        outer_takes, outer_gives = all_takes[above], all_gives[above]
        if ring in takes and outwards:
            outer_takes = _less(outer_takes, inner_takes)
        if ring in gives and inwards:
            outer_gives = _given_less(outer_gives, inner_gives)
        outer_takes = _seen(outer_takes, outer_gives)
        down = _flow(inner_takes, outer_gives) if outwards else (0.0, 0.0)
        up = _flow(outer_takes, inner_gives) if inwards else (0.0, 0.0)
        amps, continuous = max(down, up)
        if amps > 1e-12:
            _keep(worst, bridge, amps, max(continuous, 0.0), case.title)
        inside = takes.get(ring, _NOTHING_TAKEN)
        all_takes[ring] = _more(inside, outer_takes) if inwards else inside
        all_gives[ring] = _given_more(inner_gives, outer_gives) if outwards else inner_gives
    _rings(circuit, case, piece, all_takes, all_gives, worst)


def _ways(edge: Edge, outer_node: int) -> tuple[bool, bool]:
    """Whether current can pass a bridge inwards (away from ``outer_node``), and outwards to it."""
    return not edge.one_way or edge.u == outer_node, not edge.one_way or edge.v == outer_node


def _less(all_: _Taken, part: _Taken) -> _Taken:
    made = _Taken(all_.loads, all_.continuous, all_.batteries)
    made.add(part, -1)
    return made


def _more(one: _Taken, other: _Taken) -> _Taken:
    if other is _NOTHING_TAKEN:
        return one
    made = _Taken(one.loads, one.continuous, one.batteries)
    made.add(other)
    return made


def _given_less(all_: _Given, part: _Given) -> _Given:
    made = _Given()
    made.add(all_)
    made.add(part, -1)
    return made


def _given_more(one: _Given, other: _Given) -> _Given:
    if one.sources == 0:
        return other
    made = _Given()
    made.add(one)
    made.add(other)
    return made


def _rings(
    circuit: Circuit,
    case: Case,
    piece: _Piece,
    all_takes: dict[int, _Taken],
    all_gives: dict[int, _Given],
    worst: dict[int, LoadCurrent],
) -> None:
    """A ring carries, at worst, all that it and what hangs from it takes, or all that charges a battery there."""
    around: dict[int, list[int]] = {}
    for node in piece.order:
        ring = piece.ring[node]
        for index in circuit.nodes[node].edges:
            edge = circuit.edges[index]
            if edge.u == node != edge.v and index not in case.opened and piece.ring.get(edge.v) == ring:
                around.setdefault(ring, []).append(index)
    for ring, edges in around.items():
        given, taken = all_gives[ring], all_takes[ring]
        if not given.sources:
            continue
        charging = given.charging if given.batteries or taken.batteries else 0.0
        for index in edges:
            amps, continuous = max(taken.loads, charging), max(taken.continuous, charging)
            if amps > 1e-12:
                _keep(worst, index, amps, continuous, case.title)


def single_loads(net: Net, parts: Decomposition, worst: dict[int, LoadCurrent]) -> None:
    """Every load by itself: each bridge away from the sources carries at least the largest load beyond it, whatever
    the scenes open or leave out; but no more than all sources can give that anything joins it to."""
    circuit = net.circuit
    piece = circuit.pieces()
    limits: dict[int, float] = {}
    for node, limit_a in net.limit.items():
        limits[piece[node]] = limits.get(piece[node], 0.0) + limit_a
    largest: dict[int, tuple[float, bool, str]] = {}
    for node in reversed(parts.order):
        made = circuit.nodes[node]
        best = largest.get(node)
        if made.load is not None:
            amps = min(draws_a(made.load, made) or 0.0, limits.get(piece[node], 0.0))
            if amps and (best is None or amps > best[0]):
                best = largest[node] = amps, is_continuous(made.load), made.load.name
        bridge = parts.bridge_to[node]
        if best is None or bridge < 0:
            continue
        edge = circuit.edges[bridge]
        above = edge.v if edge.u == node else edge.u
        if edge.one_way and edge.v != node:
            continue
        _keep(worst, bridge, best[0], best[0] if best[1] else 0.0, f"{best[2]} by itself")
        if above not in largest or best[0] > largest[above][0]:
            largest[above] = best


def _keep(worst: dict[int, LoadCurrent], edge: int, amps: float, continuous: float, case: str) -> None:
    before = worst.get(edge)
    equal = before is not None and amps > before.amps - 1e-12 and continuous > before.continuous_a
    if before is None or amps > before.amps + 1e-12 or equal:
        worst[edge] = LoadCurrent(amps, continuous, case)
