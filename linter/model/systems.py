"""Which system each point of the circuit belongs to: told by its sources, carried along everything that conducts."""

from __future__ import annotations

from linter.model.circuit import Node
from linter.model.design import Design
from linter.model.elements import Element, Load, Source, System
from linter.model.facts import Report
from linter.source.span import Mistake

# A source belongs to the system whose nominal voltage its own is near: 12.8 V or 14.4 V to 12 V.
NEAR = 0.25


def system_for(voltage_v: float, systems: dict[str, System]) -> System | None:
    """The one system whose nominal voltage is near; None if none or several are."""
    near = [s for s in systems.values() if s.voltage_v and abs(voltage_v - s.voltage_v) <= NEAR * s.voltage_v]
    return near[0] if len(near) == 1 else None


def assign_systems(design: Design, report: Report) -> None:
    """Give each node its system, and note the edges where two systems meet."""
    systems = design.systems
    if not systems:
        if design.boat_span is not None:
            mend = "for instance: system DC12, 12 V, negative earthed"
            report(Mistake(design.boat_span, "the boat has no system", mend))
        return
    circuit = design.circuit
    only = next(iter(systems.values())) if len(systems) == 1 else None
    waiting: list[Node] = []
    # With one system everything is on it, unless a source's own voltage says otherwise.
    alone = only is not None and all(_told(node, systems) is not None for node in circuit.nodes if _feeds(node))
    for node in circuit.nodes:
        if alone:
            node.system = only
            continue
        told = only if only is not None and node.source is not None and not _feeds(node) else _told(node, systems)
        if told is not None:
            node.system = told
            waiting.append(node)
        elif (source := node.source) is not None:
            mend = "say `on SYSTEM`, or a voltage near one of " + ", ".join(systems)
            report(Mistake(source.span, f"it is not clear on which system {source.name} is", mend))
    while waiting:
        node = waiting.pop()
        for index in node.edges:
            edge = circuit.edges[index]
            other = circuit.nodes[circuit.other(edge, node.index)]
            if other.system is None:
                other.system = node.system
                waiting.append(other)
    for edge in circuit.edges:
        one, two = circuit.nodes[edge.u].system, circuit.nodes[edge.v].system
        if one is not None and two is not None and one is not two:
            design.joined.append((edge, one, two))


def _feeds(node: Node) -> bool:
    """Whether the node's source has a voltage; one that says none is on the only system there is."""
    return node.source is not None and (node.source.voltage_v is not None or node.source.on is not None)


def _told(node: Node, systems: dict[str, System]) -> System | None:
    """What the node's own element says of its system; a load's own word is checked by a rule, not followed here."""
    element: Element | None = node.source or node.element
    if element is None or (isinstance(element, Load) and node.source is None):
        return None
    if element.on is not None:
        return element.on
    if isinstance(element, Source) and element.voltage_v is not None:
        return system_for(element.voltage_v, systems)
    return None
