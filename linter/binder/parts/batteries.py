"""Batteries and what charges them."""

from __future__ import annotations

from linter.binder.beyond import beyond
from linter.binder.model import Block, Cell, Column, Figure, Heading, Kind, Mark, Paragraph, Section, Table, figure
from linter.binder.subject import Subject, place_of, says
from linter.binder.words import faults_by, joined, sentence
from linter.drawing.text import clean
from linter.model.circuit import Node
from linter.model.elements import Source

BATTERIES = (
    Column("battery", "Id", kind=Kind.NAME),
    Column("called", "Called"),
    Column("chemistry", "Chemistry"),
    Column("volts V", "Nominal", "V", Kind.FIGURE),
    Column("charge Ah", "Charge", "Ah", Kind.FIGURE),
    Column("made of", "Made of"),
    Column("greatest V", "Charged to", "V", Kind.FIGURE),
    Column("least mohm", "Least resistance", "mΩ", Kind.FIGURE),
    Column("greatest mohm", "Greatest resistance", "mΩ", Kind.FIGURE),
    Column("short circuit A", "Short circuit", "A", Kind.FIGURE, 0),
    Column("guard", "First device", kind=Kind.NAME),
    Column("place", "Where"),
    Column("manual", "The maker says it in"),
)
CHARGING = (
    Column("source", "Id", kind=Kind.NAME),
    Column("called", "Called"),
    Column("kind", "Kind"),
    Column("volts V", "Gives", "V", Kind.FIGURE),
    Column("rated A", "Rated output", "A", Kind.FIGURE),
    Column("limit", "Into a fault"),
    Column("device", "Device", kind=Kind.NAME),
    Column("to", "Leads to", kind=Kind.NAME),
    Column("system", "System", kind=Kind.NAME),
    Column("place", "Where"),
    Column("manual", "The maker says it in"),
)
DATA = (
    Column("source", "Id", kind=Kind.NAME), Column("called", "Called"), Column("kind", "Kind"),
    Column("system", "System", kind=Kind.NAME), Column("volts V", "Volts", "V", Kind.FIGURE),
    Column("greatest V", "Greatest", "V", Kind.FIGURE), Column("charge Ah", "Charge", "Ah", Kind.FIGURE),
    Column("rated A", "Rated", "A", Kind.FIGURE), Column("limit", "Into a fault"),
    Column("least mohm", "Least resistance", "mΩ", Kind.FIGURE),
    Column("greatest mohm", "Greatest resistance", "mΩ", Kind.FIGURE),
    Column("prospective A", "Prospective", "A", Kind.FIGURE, 0), Column("device", "Device", kind=Kind.NAME),
    Column("place", "Where"), Column("manual", "The maker says it in"),
)  # fmt: skip


def section(subject: Subject) -> Section:
    batteries = Table(BATTERIES, title="Batteries", empty="The design has no battery.")
    charging = Table(CHARGING, title="What charges and converts", empty="Nothing charges.")
    data = Table(DATA)
    for node in subject.design.circuit.nodes:
        source = node.source
        if source is None or (node.system is not None and node.system.alternating):
            continue
        if source.is_battery:
            batteries.add(*_battery(subject, node, source))
        else:
            charging.add(*_charging(subject, node, source))
        data.add(*_data(subject, node, source))
    batteries.notes.append(
        "Short circuit: the greatest prospective current at its terminals, everything that feeds it included. "
        "Charge: of the whole bank."
    )
    batteries.notes.append(faults_by())
    charging.notes.append("Into a fault: what it gives into a short circuit, by its maker's word.")
    blocks: list[Block] = [
        Paragraph("What stores energy on board, and what puts it there."), batteries, charging,
        Heading("What a day takes, charging not counted"),
        *(Paragraph(line) for line in _balance(subject)),
    ]  # fmt: skip
    return Section("batteries", "Batteries and charging", blocks, data, landscape=True)


def _balance(subject: Subject) -> list[str]:
    said = []
    for bank in subject.energy.banks:
        name = clean(" + ".join(bank.batteries))
        line = f"{name}: its loads take {bank.ah:.1f} Ah in a day, at {bank.volts:g} V ({bank.wh:.0f} Wh)"
        if bank.charge_ah:
            line += f", {100 * bank.ah / bank.charge_ah:.0f} % of its {bank.charge_ah:g} Ah"
            if bank.ah > bank.charge_ah:
                line += ": more than it holds, so that it lasts a day only while something charges it"
        else:
            line += "; how much it holds is not stated"
        if bank.unknown:
            line += f"; without {len(bank.unknown)} of which nothing says how long they run or what they draw"
        said.append(line + ".")
    said += [sentence(r) for r in subject.energy.remarks]
    return said or ["There is no battery to balance."]


def _device(subject: Subject, node: Node) -> tuple[str, str]:
    """The nearest devices on the ways from a source, and where these lead."""
    circuit = subject.design.circuit
    devices: list[str] = []
    leads: list[str] = []
    for index in node.edges:
        found = beyond(circuit, node.index, circuit.edges[index])
        devices += [clean(d.name) for d in found.devices[:1]]
        leads += [clean(b.name) for b in (*found.buses, *found.sources)]
    return joined(dict.fromkeys(devices)) or "none", joined(dict.fromkeys(leads))


def _resistance(source: Source) -> tuple[Figure, Figure]:
    if source.resistance_ohm is None:
        needed = not source.self_limiting and source.short_circuit_a is None
        return figure(None, needed=needed), figure(None, needed=needed)
    least, greatest = source.resistance_ohm
    return figure(least * 1000), figure(greatest * 1000)


def _short_circuit(subject: Subject, node: Node) -> Figure:
    found = subject.study.faults().largest(node.index)
    drive = found.drive
    if drive is None or drive.unknown:
        return figure(None, needed=True)
    return figure(found.amps, *((Mark.ROUGH,) if drive.leans_on else ()))


def _battery(subject: Subject, node: Node, source: Source) -> list[Cell]:
    made_of = joined([
        f"{source.series} in series" if source.series > 1 else "",
        f"{source.parallel} in parallel" if source.parallel > 1 else "",
        clean(source.part.label or source.part.name) if source.part else "",
    ])  # fmt: skip
    return [
        clean(source.name),
        clean(source.label),
        source.chemistry or "?",
        figure(source.voltage_v, needed=True),
        figure(source.charge_ah, needed=True),
        made_of,
        figure(source.greatest_v),
        *_resistance(source),
        _short_circuit(subject, node),
        _device(subject, node)[0],
        place_of(source),
        says(source),
    ]


def _limit(source: Source) -> str:
    return f"at most {source.limit_a:g} A" if source.self_limiting else "not limited by itself"


def _charging(subject: Subject, node: Node, source: Source) -> list[Cell]:
    device, leads = _device(subject, node)
    return [
        clean(source.name),
        clean(source.label),
        source.kind,
        figure(source.greatest_v or source.voltage_v, needed=True),
        figure(source.rated_a, needed=True),
        _limit(source),
        device,
        leads,
        node.system.name if node.system else "",
        place_of(source),
        says(source),
    ]


def _data(subject: Subject, node: Node, source: Source) -> list[Cell]:
    return [
        clean(source.name), clean(source.label), source.kind, node.system.name if node.system else "",
        figure(source.voltage_v), figure(source.greatest_v), figure(source.charge_ah), figure(source.rated_a),
        _limit(source), *_resistance(source), _short_circuit(subject, node), _device(subject, node)[0],
        place_of(source), says(source),
    ]  # fmt: skip
