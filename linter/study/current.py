"""Load current: what flows through each conductor and device by intention, in the worst of the cases.

Cases are the scenes; without scenes, everything at once.  A bridge carries what lies behind it.  In a ring the
worst is taken: all that the ring feeds, as if it were opened at its worst point.
"""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import dataclass, field
from itertools import product

from linter.model.circuit import Circuit, Node
from linter.model.design import Design
from linter.model.elements import Converter, Load, Scene, Switch
from linter.study.net import GREATEST_CONFIGURATIONS


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
class _Side:
    """What lies on one side of a bridge: loads, what its charging sources give, whether a battery is there."""

    loads: float = 0.0
    continuous: float = 0.0
    charging: float = 0.0
    # the most its sources give together, A
    supply: float = 0.0
    batteries: int = 0
    sources: int = 0

    def add(self, other: _Side, sign: int = 1) -> None:
        self.loads += sign * other.loads
        self.continuous += sign * other.continuous
        self.charging += sign * other.charging
        self.batteries += sign * other.batteries
        self.sources += sign * other.sources
        if other.supply < math.inf:
            self.supply += sign * other.supply

    def into(self, other: _Side, other_unlimited: bool) -> tuple[float, float]:
        """(amperes, continuous amperes) that flow from ``other``, which lies across the bridge, into this side."""
        if not other.sources:
            return 0.0, 0.0
        if self.batteries:
            return other.charging, other.charging
        most = math.inf if other_unlimited else other.supply
        return min(self.loads, most), min(self.continuous, most)


def load_currents(circuit: Circuit, cases: list[Case]) -> dict[int, LoadCurrent]:
    """The greatest load current of every edge through which any flows, by edge index.  Linear for each case."""
    worst: dict[int, LoadCurrent] = {}
    for case in cases:
        _one_case(circuit, case, worst)
    return worst


def _own(node: Node, case: Case) -> _Side | None:
    side = None
    if node.load is not None and (case.on is None or node.index in case.on):
        amps = draws_a(node.load, node)
        if amps:
            side = _Side(loads=amps, continuous=amps if is_continuous(node.load) else 0.0)
    source = node.source
    if source is not None:
        side = side or _Side()
        side.sources = 1
        side.batteries = int(source.is_battery)
        if not source.is_battery:
            side.charging = source.rated_a or 0.0
        # unlimited sources are counted apart, so that sums and differences stay finite
        side.supply = source.limit_a
    return side


def _one_case(circuit: Circuit, case: Case, worst: dict[int, LoadCurrent]) -> None:
    count = len(circuit.nodes)
    nodes, edges, opened = circuit.nodes, circuit.edges, case.opened
    found = [0] * count
    low = [0] * count
    parent = [-1] * count
    clock = 0
    for root in range(count):
        if found[root] or not nodes[root].edges:
            continue
        order: list[int] = []
        clock += 1
        found[root] = low[root] = clock
        stack = [(root, iter(nodes[root].edges))]
        order.append(root)
        while stack:
            node, rest = stack[-1]
            for index in rest:
                if index == parent[node] or index in opened:
                    continue
                edge = edges[index]
                other = edge.v if edge.u == node else edge.u
                if other == node:
                    continue
                if not found[other]:
                    clock += 1
                    found[other] = low[other] = clock
                    parent[other] = index
                    order.append(other)
                    stack.append((other, iter(nodes[other].edges)))
                    break
                low[node] = min(low[node], found[other])
            else:
                stack.pop()
                if stack:
                    above = stack[-1][0]
                    low[above] = min(low[above], low[node])
        _component(circuit, case, order, parent, found, low, worst)


def _component(
    circuit: Circuit, case: Case, order: list[int], parent: list[int], found: list[int], low: list[int],
    worst: dict[int, LoadCurrent],
) -> None:  # fmt: skip
    """Sums over one connected piece, from the leaves inwards; then each bridge by its two sides, each ring as one."""
    nodes, edges = circuit.nodes, circuit.edges
    below: dict[int, _Side] = {}
    unlimited_below: dict[int, int] = {}
    for node in reversed(order):
        own = _own(nodes[node], case)
        side = below.get(node)
        unlimited = unlimited_below.get(node, 0)
        if own is not None:
            side = side or _Side()
            if own.supply == math.inf:
                unlimited += 1
                own.supply = 0.0
            side.add(own)
        if side is None:
            continue
        below[node], unlimited_below[node] = side, unlimited
        if parent[node] >= 0:
            edge = edges[parent[node]]
            above = edge.v if edge.u == node else edge.u
            below.setdefault(above, _Side()).add(side)
            unlimited_below[above] = unlimited_below.get(above, 0) + unlimited
    root = order[0]
    total, unlimited_total = below.get(root), unlimited_below.get(root, 0)
    if total is None or not total.sources:
        return
    empty = _Side()
    ring_of: dict[int, int] = {root: root}
    # what each ring feeds: its own nodes, and every side that has no battery to live on
    fed: dict[int, _Side] = {}
    ring_edges: dict[int, list[int]] = {}
    for node in order[1:]:
        edge = edges[parent[node]]
        above = edge.v if edge.u == node else edge.u
        if low[node] > found[above]:
            ring_of[node] = node
            inner = below.get(node, empty)
            outer = _Side()
            outer.add(total)
            outer.add(inner, -1)
            inside, outside = unlimited_below.get(node, 0), unlimited_total - unlimited_below.get(node, 0)
            amps, continuous = inner.into(outer, outside > 0)
            back, back_continuous = outer.into(inner, inside > 0)
            if back > amps:
                amps, continuous = back, max(back_continuous, 0.0)
            if amps > 1e-12:
                _keep(worst, parent[node], amps, continuous, case.title)
            if not inner.batteries:
                fed.setdefault(ring_of[above], _Side()).add(inner)
            if not outer.batteries:
                fed.setdefault(node, _Side()).add(outer)
        else:
            ring_of[node] = ring_of[above]
    for node in order:
        for index in nodes[node].edges:
            edge = edges[index]
            if edge.u == node and index not in case.opened and ring_of.get(edge.v) == ring_of[node] and edge.v != node:
                ring_edges.setdefault(ring_of[node], []).append(index)
    for ring, around in ring_edges.items():
        feeds = fed.get(ring, empty)
        charging = total.charging if total.batteries else 0.0
        amps, continuous = feeds.loads, feeds.continuous
        for node in {n for e in around for n in (edges[e].u, edges[e].v)}:
            own = _own(nodes[node], case)
            if own is not None:
                amps, continuous = amps + own.loads, continuous + own.continuous
        for index in around:
            _keep(worst, index, max(amps, charging), max(continuous, charging), case.title)


def _keep(worst: dict[int, LoadCurrent], edge: int, amps: float, continuous: float, case: str) -> None:
    before = worst.get(edge)
    equal = before is not None and amps > before.amps - 1e-12 and continuous > before.continuous_a
    if before is None or amps > before.amps + 1e-12 or equal:
        worst[edge] = LoadCurrent(amps, continuous, case)
