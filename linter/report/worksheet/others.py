"""The worksheets of buses, joints, switches, relays, selectors, diodes and sources."""

from __future__ import annotations

from linter.model.circuit import Edge, Node
from linter.model.elements import Bus, Diode, Element, Source, Switch
from linter.report.worksheet.conductor import add_load_current
from linter.report.worksheet.currents import prospective_lines, source_lines
from linter.report.worksheet.sheet import Judgement, Section, qty
from linter.rules.words import class_words
from linter.study.study import Study
from linter.study.voltage import greatest_voltage

RATING = frozenset({"current-rating", "device-voltage"})
FACTS = frozenset({"contradicts-part", "figure-missing", "not-fed", "not-ignition-protected", "feeds-nothing"})


def _begun(element: Element, title: str, *rules: str) -> Section:
    found = Section(title, rules=FACTS | set(rules))
    found.fact("part", element.part.name if element.part else "", element.says())
    found.fact("lies in", element.place.name if element.place else "")
    if element.ignition_protected:
        found.fact("ignition protected", "yes")
    return found


def _rated(study: Study, element: Bus | Switch | Diode, through_a: float | None, system_node: Node) -> Section:
    found = Section("Rating", rules=RATING)
    if element.rated_a is None:
        if element.kind != "joint":
            found.missing("its rated current is not given")
    elif through_a is None:
        found.note("no current of a source can flow through it")
    else:
        found.add(
            Judgement("what can flow through it before anything opens", through_a, "≤", element.rated_a, "A", "rated")
        )
    known = greatest_voltage(study.design, system_node.system) if system_node.system is not None else None
    if element.voltage_v is not None and known is not None:
        cite = str(known[2]) if known[2] else known[1]
        found.add(
            Judgement("rated voltage", element.voltage_v, "≥", known[0], "V", "to which its system rises", cite=cite)
        )
    return found


def bus_sections(study: Study, node: Node) -> list[Section]:
    element, circuit = node.element, study.design.circuit
    assert isinstance(element, Bus)
    found = _begun(element, f"The {element.kind}", "systems-joined")
    found.fact("system", node.system.name if node.system else "")
    for index in node.edges:
        edge = circuit.edges[index]
        if edge.kind != "link":
            found.fact(edge.element.name, _described(edge))
    return [found, _rated(study, element, study.through_node.get(node.index), node), *_faults(study, node.index)]


def _described(edge: Edge) -> str:
    if edge.kind == "device":
        words = [class_words(edge.device.device_class), edge.kind if not edge.device.kind else edge.device.kind]
        rated = f", {edge.device.rated_a:g} A" if edge.device.rated_a else ""
        return " ".join(w for w in words if w) + rated
    if edge.kind == "conductor":
        size = edge.conductor.size
        return f"conductor, {size.text}" if size else "conductor"
    return edge.kind


def _faults(study: Study, node: int) -> list[Section]:
    faults = study.faults()
    return [
        Section("Largest fault current", prospective_lines(study, "largest", node, faults.largest(node), True)),
        Section("Smallest fault current", prospective_lines(study, "smallest", node, faults.smallest(node), False)),
    ]


def switch_sections(study: Study, element: Switch | Diode, edges: list[Edge]) -> list[Section]:
    circuit = study.design.circuit
    found = _begun(element, f"The {element.kind}", "relay-never-closed", "systems-joined")
    for edge in edges:
        position = f" in position {edge.position}" if edge.position else ""
        found.fact("between", f"{circuit.nodes[edge.u].name} and {circuit.nodes[edge.v].name}{position}")
    if isinstance(element, Diode):
        if element.drops_v is None:
            found.missing("what voltage it drops is not given: nil is taken")
        else:
            found.fact("it drops", qty(element.drops_v, "V"), element.says())
    elif element.resistance_ohm is None:
        found.missing("its resistance is not given: it counts as nil")
    else:
        found.fact("resistance", " to ".join(qty(r, "Ω") for r in dict.fromkeys(element.resistance_ohm)))
    through = [a for e in edges if (a := study.through_edge.get(e.index)) is not None]
    inside = circuit.by_name.get(element.name)
    if inside is not None and inside.index in study.through_node:
        through.append(study.through_node[inside.index])
    sections = [found, _rated(study, element, max(through, default=None), circuit.nodes[edges[0].u])]
    for edge in edges:
        title = f"Load current in position {edge.position}" if edge.position else "Load current"
        load = Section(title, rules=frozenset({"current-rating"}))
        add_load_current(study, edge, load)
        worst = study.loads.get(edge.index)
        if worst is not None and element.rated_a is not None:
            load.add(Judgement("load current", worst.amps, "≤", element.rated_a, "A", "rated"))
        sections.append(load)
    return [*sections, *_faults(study, edges[0].v)]


def source_sections(study: Study, node: Node) -> list[Section]:
    source = node.source
    assert source is not None
    found = _begun(source, f"The {source.kind}", "source-overloaded", "scene-not-carried")
    found.fact("system", node.system.name if node.system else "")
    found.fact("chemistry", source.chemistry)
    if source.voltage_v is not None:
        found.fact("nominal voltage", qty(source.voltage_v, "V"))
    for what, value, unit in (
        ("greatest voltage", source.greatest_v, "V"), ("charge", source.charge_ah, "Ah"),
        ("rated current", source.rated_a, "A"), ("short-circuit current", source.short_circuit_a, "A"),
        ("cranking current", source.cranking_a, "A"),
    ):  # fmt: skip
        if value is not None:
            found.fact(what, qty(value, unit), source.says())
    if source.series * source.parallel > 1:
        found.fact("made of", f"{source.series} in series, {source.parallel} in parallel")
    return [found, *_drives(study, node), *_given(study, node), *_faults(study, node.index)]


def _drives(study: Study, node: Node) -> list[Section]:
    pairs = study.faults().pairs.get(node.index)
    if pairs is None:
        return []
    largest = Section("What it drives into a fault, at most", rules=frozenset({"source-resistance"}))
    least = Section("What it drives into a fault, at least")
    for section, pair, case in ((largest, pairs[0], True), (least, pairs[1], False)):
        if pair.unknown:
            section.missing("not known: its voltage or internal resistance is not given")
            continue
        section.add(*source_lines(study, node.index, pair, case))
        if pair.leans_on:
            section.missing(f"leans on {pair.leans_on}")
    return [largest] if pairs[0].limit_a < float("inf") else [largest, least]


def _given(study: Study, node: Node) -> list[Section]:
    """What it gives in each scene."""
    found = Section("What it gives in each scene", rules=frozenset({"scene-not-carried"}))
    seen: dict[str, tuple[float, float]] = {}
    for state in study.scenes().states:
        for piece in state.pieces:
            if node.index in piece.feeds:
                amps = piece.feeds[node.index]
                low, high = seen.get(state.case.title, (amps, amps))
                seen[state.case.title] = min(low, amps), max(high, amps)
    for title, (low, high) in seen.items():
        shown = (
            qty(high, "A") if high - low < 5e-4 else f"{qty(low, 'A')} to {qty(high, 'A')}, by position of the switches"
        )
        found.fact(title, shown + (" (less than nothing: it is charged)" if low < 0 else ""))
    if not seen:
        found.note("it is on in no scene")
    return [found]


__all__ = ["Source", "bus_sections", "source_sections", "switch_sections"]
