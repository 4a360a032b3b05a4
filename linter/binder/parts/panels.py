"""Panel schedules, one a bus: cards to stick inside the door."""

from __future__ import annotations

from linter.binder.beyond import Beyond, beyond, chain
from linter.binder.model import Block, Card, Cell, Column, Kind, Paragraph, Section, Table, figure
from linter.binder.subject import Subject, place_of
from linter.binder.words import joined, quantity, short, size_words
from linter.drawing.text import clean
from linter.model.circuit import Edge, Node
from linter.model.elements import Bus, Device

CARD = (
    Column("position", "No.", kind=Kind.FIGURE, decimals=0),
    Column("device", "Id", kind=Kind.NAME),
    Column("called", "Circuit"),
    Column("rated A", "Rated", "A", Kind.FIGURE),
    Column("kind", "Kind"),
    Column("feeds", "Feeds"),
    Column("conductor", "Cable", kind=Kind.NAME),
    Column("size", "Size"),
)
DATA = (Column("panel", "Panel", kind=Kind.NAME), *CARD)


def section(subject: Subject) -> Section:
    blocks: list[Block] = [
        Paragraph(
            "One card for each bus bar, fuse block and panel, in the order of the design, to cut out and stick inside "
            "its door. Positions are counted in the order in which the design names the circuits."
        )
    ]
    data = Table(DATA)
    for node in subject.design.circuit.nodes:
        if isinstance(node.element, Bus) and node.kind == "bus" and len(node.edges) > 1:
            card = _card(subject, node, node.element)
            if card.table.rows:
                blocks.append(card)
                for row in card.table.rows:
                    data.add(node.name, *row.cells)
    if len(blocks) == 1:
        blocks.append(Paragraph("The design has no bus from which circuits go out."))
    return Section("panels", "Panel schedules", blocks, data)


def _card(subject: Subject, node: Node, bus: Bus) -> Card:
    circuit = subject.design.circuit
    table = Table(CARD)
    into: list[str] = []
    for index in node.edges:
        edge = circuit.edges[index]
        if edge.kind == "link" or edge.u == edge.v:
            continue
        if edge.v == node.index:
            into.append(_into(subject, node, edge))
        else:
            found = beyond(circuit, node.index, edge)
            table.add(*_cells(len(table.rows) + 1, edge, found))
    system = node.system
    lines = [
        joined([
            clean(bus.name) if bus.label else "",
            f"{quantity(system.voltage_v, 'V')} {'AC' if system.alternating else 'DC'}" if system else "",
            f"bus rated {quantity(bus.rated_a, 'A')}" if bus.rated_a is not None else "rating of the bus not stated",
            place_of(bus),
        ]),
        f"Joined by: {'; '.join(into)}" if into else "Nothing is joined to it but what is below.",
    ]  # fmt: skip
    return Card(short(bus), tuple(lines), table, f"{subject.boat}, {subject.revised}")


def _into(subject: Subject, node: Node, edge: Edge) -> str:
    way = chain(subject.design.circuit, node.index, edge)
    by = [*(clean(d.name) for d in way.devices), *(clean(c.name) for c in way.conductors)]
    return f"{' '.join(by)} from {clean(way.far)}" if by else clean(way.far)


def _cells(position: int, edge: Edge, found: Beyond) -> list[Cell]:
    element = edge.element
    device = element if isinstance(element, Device) else None
    feeds = [*(short(e) for e in found.loads), *(f"{short(e)} (bus)" for e in found.buses)]
    feeds += [f"{short(e)} ({e.kind})" for e in found.sources]
    first = found.conductors[0] if found.conductors else None
    return [
        figure(float(position)),
        clean(element.name),
        clean(element.label),
        figure(device.rated_a if device else getattr(element, "rated_a", None), needed=device is not None),
        device.kind if device else f"{element.kind}, no device here",
        joined(dict.fromkeys(feeds)) or "nothing",
        clean(first.name) if first else "",
        size_words(first.size) if first else "",
    ]
