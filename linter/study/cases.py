"""The cases in which load currents are reckoned, and what a load draws."""

from __future__ import annotations

import math
from collections.abc import Iterable, Iterator
from dataclasses import dataclass, field
from enum import IntEnum
from itertools import product

from linter.model.circuit import Node
from linter.model.design import Design
from linter.model.elements import Converter, Load, Scene, Switch
from linter.study.net import GREATEST_CONFIGURATIONS, Net


@dataclass(slots=True)
class Case:
    title: str
    # None: every load
    on: frozenset[int] | None
    opened: frozenset[int] = field(default_factory=frozenset)
    # sources that are off in it, by node
    off: frozenset[int] = field(default_factory=frozenset)

    def has_on(self, node: int) -> bool:
        """Whether a load's node is on in it."""
        return self.on is None or node in self.on


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


# Cases times edges beyond which selectors are not tried in every combination: some twenty seconds of reckoning.
GREATEST_WORK = 6_000_000
# position and the edges that are open in it
_Choice = tuple[str, frozenset[int]]


class _Detail(IntEnum):
    """How closely the positions are looked at that a scene leaves open."""

    # every combination; where one scene has too many of them, as below
    COMBINED = 0
    # each selector in each position, the others with everything closed
    IN_TURN = 1
    # everything closed
    CLOSED = 2


_HOW = {
    _Detail.IN_TURN: "with each selector in turn, the others with all positions closed at once",
    _Detail.CLOSED: "with all positions of every selector closed at once that a scene leaves open",
}


@dataclass(slots=True)
class _Setting:
    """A scene before its selectors stand in one position each: one case, and the choices that it leaves open."""

    case: Case
    choices: list[list[_Choice]]

    def cases(self, detail: _Detail) -> Iterator[Case]:
        made = self.case
        for choice in self._chosen(detail):
            yield Case(made.title, made.on, made.opened.union(*(edges for _, edges in choice)), made.off)

    def count(self, detail: _Detail) -> int:
        return sum(1 for _ in self._chosen(detail))

    def _chosen(self, detail: _Detail) -> Iterable[tuple[_Choice, ...]]:
        combinations = math.prod(len(c) for c in self.choices)
        in_turn = sum(len(c) for c in self.choices if len(c) > 1)
        if combinations == 1 or (detail is _Detail.COMBINED and combinations <= GREATEST_CONFIGURATIONS):
            return product(*self.choices)
        # what the scene says itself holds in any case
        said = tuple(c[0] for c in self.choices if len(c) == 1)
        if detail is _Detail.CLOSED:
            return [said]
        if combinations <= in_turn:
            return product(*self.choices)
        return [(*said, one) for group in self.choices if len(group) > 1 for one in group]


def cases_of(design: Design, leads_to: list[int], remarks: list[str] | None = None) -> list[Case]:
    """The cases to reckon with: each scene in each position that it leaves open; else all loads at once.

    ``leads_to``: by edge, the node to which it leads as a bridge away from sources, else -1.  What is normally open,
    or combines banks, is open unless a scene closes it, if it stands between sources; one that only leads to loads, a
    float switch or a contactor, is closed when its load is on.  ``remarks`` is told where there were too many cases.
    """
    scenes: list[Scene | None] = list(design.scenes) or [None]
    settings = [_setting(design, scene, leads_to) for scene in scenes]
    if design.scenes:
        shown = {e.name for s in design.scenes for e in s.on}
        rest = frozenset(n.index for n in design.circuit.nodes if n.load is not None and n.load.name not in shown)
        if rest:
            made = _setting(design, None, leads_to)
            made.case = Case("what stands in no scene, at once", rest, made.case.opened)
            settings.append(made)
    edges = len(design.circuit.edges)
    for detail in _Detail:
        if sum(s.count(detail) for s in settings) * edges <= GREATEST_WORK:
            break
    if remarks is not None and any(s.count(detail) < s.count(_Detail.COMBINED) for s in settings):
        remarks.append(f"too many scenes and selector positions: load current is reckoned {_HOW[detail]}")
    return [case for setting in settings for case in setting.cases(detail)]


def fault_states_of(
    design: Design, leads_to: list[int], cases: Iterable[Case], remarks: list[str] | None = None
) -> list[frozenset[int]]:
    """The edges that are open in each state of the switches in which a fault must be cleared: those of the cases, and
    every position that a selector has.  A scene says which loads are on; nobody is kept by it from turning a selector.
    """
    scenes = list({frozenset(s.states.items()): s for s in design.scenes}.values())
    settings = [_setting(design, scene, leads_to, turned=True) for scene in (None, *scenes)] if design.scenes else []
    edges = len(design.circuit.edges)
    for detail in _Detail:
        if sum(s.count(detail) for s in settings) * edges <= GREATEST_WORK:
            break
    if remarks is not None and any(s.count(detail) < s.count(_Detail.COMBINED) for s in settings):
        remarks.append(f"too many scenes and selector positions: the smallest faults are looked at {_HOW[detail]}")
    every = [c.opened for c in cases] + [c.opened for s in settings for c in s.cases(detail)]
    return list(dict.fromkeys(every))


def _setting(design: Design, scene: Scene | None, leads_to: list[int], turned: bool = False) -> _Setting:
    """``turned``: every selector may be in any of its positions, whatever the scene says."""
    circuit = design.circuit
    states = scene.states if scene else {}
    opened: set[int] = set()
    choices: list[list[_Choice]] = []
    by_selector: dict[str, dict[str, set[int]]] = {}
    for edge in circuit.edges:
        element = edge.element
        if edge.kind == "selector":
            by_selector.setdefault(element.name, {}).setdefault(edge.position, set()).add(edge.index)
            continue
        state = states.get(element.name) if edge.kind != "link" else None
        usually_open = isinstance(element, Switch) and (element.combining or element.normally_open)
        between = usually_open and edge.kind != "link" and leads_to[edge.index] < 0
        if state == "open" or (between and state != "closed"):
            opened.add(edge.index)
    for name, terminals in by_selector.items():
        element = design.elements[name]
        assert isinstance(element, Switch)
        every = frozenset(e for edges in terminals.values() for e in edges)
        said = states.get(name) if not turned else None
        positions = [said] if said else list(element.positions)
        if not positions:
            continue
        choices.append(
            [(p, every - every if p == "both" else every - frozenset(terminals.get(p, ()))) for p in positions]
        )
    on = None
    if scene is not None:
        names = {e.name for e in scene.on}
        on = frozenset(
            n.index for n in circuit.nodes if n.load is not None and (n.load.always_on or n.load.name in names)
        )
    off = frozenset(
        n.index for n in circuit.nodes if n.source is not None and n.element and states.get(n.element.name) == "off"
    )
    title = scene.title if scene else "everything at once"
    return _Setting(Case(title, on, frozenset(opened), off), choices)


def fed_nodes(net: Net) -> bytearray:
    """By node, whether current from any source can come to it in some choice of selector positions; one-way elements
    let it pass forwards only.

    Linear but for what is fed over selectors alone, which is walked for one choice after the other until nothing is
    left that could be fed.
    """
    most = _walked(net, bytearray(len(net.circuit.nodes)), list(net.limit), frozenset())
    if net.configurations == [frozenset()]:
        return most
    selectors = frozenset[int]().union(*net.configurations)
    always = _walked(net, bytearray(len(net.circuit.nodes)), list(net.limit), selectors)
    doors = [n for e in selectors for n in (net.u[e], net.v[e]) if always[n]]
    found = bytearray(always)
    left = sum(most) - sum(found)
    for opened in net.configurations:
        if not left:
            break
        here = _walked(net, bytearray(always), list(doors), opened)
        for node, fed in enumerate(here):
            if fed and not found[node]:
                found[node] = 1
                left -= 1
    return found


def reached_from(net: Net, starts: Iterable[int], opened: frozenset[int] = frozenset()) -> bytearray:
    """By node, whether current from any of some nodes can come to it while some edges are open."""
    return _walked(net, bytearray(len(net.circuit.nodes)), list(starts), opened)


def _walked(net: Net, reached: bytearray, starts: list[int], opened: frozenset[int]) -> bytearray:
    """``reached`` with all that is come to from some nodes while some edges are open."""
    nodes, edges = net.circuit.nodes, net.circuit.edges
    for node in starts:
        reached[node] = 1
    while starts:
        node = starts.pop()
        for index in nodes[node].edges:
            edge = edges[index]
            other = edge.v if edge.u == node else edge.u
            if not reached[other] and index not in opened and not (edge.one_way and edge.v == node):
                reached[other] = 1
                starts.append(other)
    return reached
