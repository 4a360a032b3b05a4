"""The finished study of a design: every figure that the rules read, reckoned once."""

from __future__ import annotations

import math
from dataclasses import dataclass, field, replace
from enum import Enum
from typing import TYPE_CHECKING

from linter.model.circuit import Edge
from linter.model.design import Design
from linter.model.elements import Conductor, System
from linter.source.span import Mistake
from linter.study.capacity import Capacity, Conditions, capacity, conditions_of
from linter.study.cases import Case, cases_of, fault_states_of, fed_nodes
from linter.study.current import LoadCurrent, Shortfall, load_currents, never_fed, single_loads
from linter.study.letthrough import LetThrough, let_through
from linter.study.net import Decomposition, Net, decompose, net_of
from linter.study.stretch import Stretch, Stretches
from linter.study.through import through_currents
from linter.tables.reading import RulebookError
from linter.tables.rulebook import Rulebook, load, load_file

if TYPE_CHECKING:
    from linter.study.charging import Highest
    from linter.study.heating import Withstand
    from linter.study.opening import Clears, Openings
    from linter.study.prospective import Faults
    from linter.study.scene import Scenes


class Verdict(Enum):
    PROTECTED = "protected"
    WITHIN_DISTANCE = "within distance"
    TOO_FAR = "too far"
    UNPROTECTED = "unprotected"
    CRANKING = "cranking"
    UNKNOWN = "unknown"
    NOT_FED = "not fed"


@dataclass(slots=True)
class ConductorStudy:
    """One conductor.  Currents in A; infinite let-through means that nothing would open."""

    edge: Edge
    conductor: Conductor
    system: System | None
    let_through_a: float
    guard: tuple[str, ...]
    # by rulebook, in the boat's order; empty where the conductor's size is not given
    capacities: tuple[Capacity, ...]
    verdict: Verdict
    stretch: Stretch | None = None
    load: LoadCurrent | None = None

    @property
    def governing(self) -> Capacity | None:
        """The rulebook that allows the least rating."""
        return min(self.capacities, key=lambda c: c.allowed_a, default=None)

    @property
    def allowed_a(self) -> float | None:
        return self.governing.allowed_a if self.governing else None

    @property
    def least_capacity(self) -> Capacity | None:
        """The rulebook that grants the least current."""
        return min(self.capacities, key=lambda c: c.ampacity_a, default=None)

    @property
    def ampacity_a(self) -> float | None:
        return self.least_capacity.ampacity_a if self.least_capacity else None

    @property
    def margin_a(self) -> float | None:
        """How much larger the guard might be, A; negative where it is too large."""
        return None if self.allowed_a is None else self.allowed_a - self.let_through_a

    @property
    def distance_m(self) -> float | None:
        """The longest way along the conductor from its supply point to a device at the end of its stretch."""
        if self.stretch is None or not self.stretch.devices:
            return None
        lengths = [d.distance_m for d in self.stretch.devices]
        return None if None in lengths else max(x for x in lengths if x is not None)


@dataclass(slots=True)
class Study:
    design: Design
    rulebooks: list[Rulebook]
    net: Net
    parts: Decomposition
    flows: LetThrough
    conductors: dict[str, ConductorStudy]
    loads: dict[int, LoadCurrent]
    # what can flow through, A: by edge (switch, relay, selector, diode) and by node (bus, selector)
    through_edge: dict[int, float]
    through_node: dict[int, float]
    mistakes: list[Mistake] = field(default_factory=list)
    # where sources cannot give what a case asks of them
    short: list[Shortfall] = field(default_factory=list)
    # (scene, node of a load that is on in it and fed in none of its positions)
    never_fed: list[tuple[str, int]] = field(default_factory=list)
    # remarks on how the study had to simplify
    remarks: list[str] = field(default_factory=list)
    cases: list[Case] = field(default_factory=list)
    # what is open in each state of the switches in which a fault must be cleared: of the cases, and every position
    fault_states: list[frozenset[int]] = field(default_factory=list)
    # what edges whose resistance nobody states are taken to have, ohm; empty: nil, as everything is first reckoned
    contacts: dict[int, float] = field(default_factory=dict)
    _faults: Faults | None = None
    _scenes: Scenes | None = None
    _charged: dict[int, Highest] | None = None
    _openings: Openings | None = None
    _stands: dict[str, Withstand | None] = field(default_factory=dict)
    _clears: dict[str, list[Clears]] = field(default_factory=dict)
    _capacities: dict[tuple[Conditions, str], Capacity] = field(default_factory=dict)

    # by node: whether current from any source can reach it (one-way elements only forwards)
    reached: bytearray = field(default_factory=bytearray)

    def faults(self) -> Faults:
        """Prospective currents; reckoned when first asked for, as solving needs a numerical library."""
        if self._faults is None:
            from linter.study.fault import faults_of

            self._faults = faults_of(self.net, self.parts, self.fault_states, self.contacts)
        return self._faults

    def scenes(self) -> Scenes:
        """Voltages and currents in every state of every scene; reckoned when first asked for."""
        if self._scenes is None:
            from linter.study.scene import scenes_of

            self._scenes = scenes_of(self)
        return self._scenes

    def charged(self) -> dict[int, Highest]:
        """By node of a load: the voltage to which charging brings it, where that is more than it takes."""
        if self._charged is None:
            from linter.study.charging import highest_voltages

            self._charged = highest_voltages(self)
        return self._charged

    def openings(self) -> Openings:
        """Which devices stand before what, and when they open; reckoned when first asked for."""
        if self._openings is None:
            from linter.study.opening import openings_of

            self._openings = openings_of(self.net, self.parts, self.faults(), self.fault_states)
        return self._openings

    def clears(self, made: ConductorStudy) -> list[Clears]:
        """How a fault on a conductor is cleared, by each way it is fed.  Empty where it is not judged: it is fed by
        sources that limit themselves only, is no more than a stretch before its guard, or lacks a figure."""
        name = made.conductor.name
        if name not in self._clears:
            from linter.study.clears import clears

            stands = self.stands(made)
            judged = stands is not None and made.conductor.length_m is not None
            self._clears[name] = clears(self.openings(), made.edge.index, stands) if judged and stands else []
        return self._clears[name]

    def stands(self, made: ConductorStudy) -> Withstand | None:
        """The heat that a protected conductor stands, as hot as what can persist in it makes it; None where it has
        another verdict or lacks a figure."""
        if made.verdict is not Verdict.PROTECTED:
            return None
        name = made.conductor.name
        if name not in self._stands:
            from linter.study.heating import loop_withstand, return_ampacity

            stands, ampacity_a = None, made.ampacity_a
            if ampacity_a is not None:
                back_a = return_ampacity(made.conductor, made.system, self.rulebooks)
                stands = loop_withstand(made.conductor, made.let_through_a, ampacity_a, back_a)
            self._stands[name] = stands
        return self._stands[name]

    def with_contacts(self, contacts: dict[int, float]) -> Study:
        """The same design, its fault currents, opening times and voltages reckoned with these resistances in ohm where
        nobody states one."""
        made = replace(self, contacts=contacts, _faults=None, _scenes=None, _openings=None, _clears={})
        if self._openings is not None:
            made._openings = self._openings.again(made.faults())
        return made

    def fed(self, node: int) -> bool:
        return bool(self.reached[node])

    def guard_names(self, guard: tuple[int, ...]) -> tuple[str, ...]:
        """The elements of a guard by name."""
        circuit = self.design.circuit
        names = []
        for member in guard:
            if member >= 0:
                names.append(circuit.edges[member].element.name)
            else:
                element = circuit.nodes[-1 - member].element
                names.append(element.name if element else "")
        return tuple(sorted(names))

    def system_of(self, edge: Edge) -> System | None:
        nodes = self.design.circuit.nodes
        return nodes[edge.u].system or nodes[edge.v].system


def rulebooks_of(design: Design) -> tuple[list[Rulebook], list[Mistake]]:
    """The rulebooks the boat names, and what is wrong with them."""
    books: list[Rulebook] = []
    mistakes: list[Mistake] = []
    for choice in design.rulebooks:
        try:
            books.append(load_file(choice.file) if choice.file is not None else load(choice.name))
        except RulebookError as problem:
            mistakes.append(Mistake(choice.span, str(problem), ""))
    if not design.rulebooks and design.boat_span is not None:
        from linter.tables.rulebook import names

        mend = "add to the boat statement: rulebook " + " or rulebook ".join(names())
        mistakes.append(Mistake(design.boat_span, "the boat names no rulebook, so nothing can be judged", mend))
    return books, mistakes


def study_of(design: Design) -> Study:
    """Study a design.  Raises nothing on a design that `build` made, whole or not."""
    books, mistakes = rulebooks_of(design)
    circuit = design.circuit
    net = net_of(circuit)
    parts = decompose(net)
    flows = let_through(net, parts)
    remarks: list[str] = []
    cases = cases_of(design, parts.leads_to, remarks)
    loads, short = load_currents(circuit, cases)
    single_loads(net, parts, loads)
    by_edge, by_node = through_currents(net, parts, flows)
    study = Study(design, books, net, parts, flows, {}, loads, by_edge, by_node, mistakes, short)
    study.reached = fed_nodes(net)
    study.cases = cases
    study.fault_states = fault_states_of(design, parts.leads_to, cases, remarks)
    study.never_fed = never_fed(cases, short)
    study.remarks += remarks
    _conductors(study)
    if net.joined_configurations or flows.joined:
        study.remarks.append("too many combinations of selector positions: all positions are taken as closed at once")
    return study


def _conductors(study: Study) -> None:
    circuit, flows = study.design.circuit, study.flows
    exposed: dict[int, float] = {}
    in_order: set[int] = set()
    for edge in circuit.edges:
        if edge.kind != "conductor":
            continue
        conductor = edge.conductor
        system = study.system_of(edge)
        capacities = _capacities(study, conductor, system)
        reach = flows.of(edge.index)
        made = ConductorStudy(
            edge, conductor, system, reach.amps, study.guard_names(reach.guard), capacities, Verdict.PROTECTED,
            load=study.loads.get(edge.index),
        )  # fmt: skip
        study.conductors[conductor.name] = made
        if not study.fed(edge.u) and not study.fed(edge.v):
            made.verdict = Verdict.NOT_FED
            continue
        allowed_a = made.allowed_a
        if allowed_a is None:
            made.verdict = Verdict.CRANKING if conductor.cranking else Verdict.UNKNOWN
        elif reach.amps <= allowed_a * (1 + 1e-9):
            in_order.add(edge.index)
            if any(c.bound for c in capacities):
                # smaller than any conductor of the table: less than the figure is allowed, nobody says how much
                made.verdict = Verdict.UNKNOWN
        elif conductor.cranking:
            made.verdict = Verdict.CRANKING
        else:
            exposed[edge.index] = allowed_a
        if conductor.cranking:
            in_order.add(edge.index)
    if not exposed:
        return
    stretches = Stretches(study.net, flows, study.rulebooks, set(exposed), lambda edge: edge not in in_order)
    for index, allowed_a in exposed.items():
        made = study.conductors[circuit.edges[index].element.name]
        made.stretch = stretch = stretches.of(index, allowed_a)
        if stretch.problem:
            made.verdict = Verdict.UNPROTECTED
        elif any(d.too_far for d in stretch.devices):
            made.verdict = Verdict.TOO_FAR
        elif any(d.distance_m is None and _limited(d.limit) for d in stretch.devices):
            made.verdict = Verdict.UNKNOWN
        elif any(d.limit is None for d in stretch.devices):
            made.verdict = Verdict.UNPROTECTED
        else:
            made.verdict = Verdict.WITHIN_DISTANCE


def _limited(row: object) -> bool:
    return getattr(row, "limit_mm", math.inf) is not None


def _capacities(study: Study, conductor: Conductor, system: System | None) -> tuple[Capacity, ...]:
    given = conditions_of(conductor, system)
    if given is None:
        return ()
    found = []
    for book in study.rulebooks:
        key = (given, book.name)
        known = study._capacities.get(key)
        if known is None:
            known = study._capacities[key] = capacity(given, book)
        found.append(known)
    return tuple(found)
