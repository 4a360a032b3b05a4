"""What a way out of a bus leads to, and where a way into it comes from."""

from __future__ import annotations

from dataclasses import dataclass, field

from linter.model.circuit import Circuit, Edge
from linter.model.elements import Conductor, Device, Element


@dataclass(slots=True)
class Beyond:
    """Elements in the order in which they are met; the walk ends at loads, buses and sources."""

    devices: list[Element] = field(default_factory=list)
    conductors: list[Conductor] = field(default_factory=list)
    loads: list[Element] = field(default_factory=list)
    buses: list[Element] = field(default_factory=list)
    sources: list[Element] = field(default_factory=list)
    far: str = ""


def beyond(circuit: Circuit, start: int, edge: Edge) -> Beyond:
    """What can be reached from the bus ``start`` through ``edge`` without crossing a bus or a source."""
    made = Beyond()
    seen_nodes, seen_edges = {start}, {edge.index}
    _through(made, edge)
    waiting = [circuit.other(edge, start)]
    for node in waiting:
        if node in seen_nodes:
            continue
        seen_nodes.add(node)
        here = circuit.nodes[node]
        if here.load is not None:
            made.loads.append(here.load)
        elif here.kind == "bus" and here.element is not None:
            made.buses.append(here.element)
            continue
        if here.source is not None:
            if here.load is None:
                made.sources.append(here.source)
            continue
        for index in here.edges:
            if index not in seen_edges:
                seen_edges.add(index)
                _through(made, circuit.edges[index])
                waiting.append(circuit.other(circuit.edges[index], node))
    return made


def chain(circuit: Circuit, start: int, edge: Edge) -> Beyond:
    """The elements in a row from the bus ``start`` through ``edge`` to the next terminal, whose name is ``far``."""
    made = Beyond()
    seen = {edge.index}
    node = start
    while True:
        _through(made, edge)
        node = circuit.other(edge, node)
        here = circuit.nodes[node]
        onward = [i for i in here.edges if i not in seen]
        if here.kind != "end" or len(onward) != 1:
            made.far = here.name
            return made
        seen.add(onward[0])
        edge = circuit.edges[onward[0]]


def _through(made: Beyond, edge: Edge) -> None:
    element = edge.element
    if isinstance(element, Device):
        made.devices.append(element)
    elif isinstance(element, Conductor):
        made.conductors.append(element)
