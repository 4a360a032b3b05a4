"""The commissioning sheet: what to measure, what to expect, and a box to write in what was found."""

from __future__ import annotations

from importlib.resources import files

from linter.binder.model import (
    Block,
    Column,
    Figure,
    Heading,
    Kind,
    Mark,
    Paragraph,
    Points,
    Section,
    Table,
    figure,
)
from linter.binder.parts.loads import limit_marks
from linter.binder.subject import Subject, place_of
from linter.binder.words import end_of, kind_words, memory, size_words
from linter.drawing.text import clean
from linter.model.elements import Bus, Conductor, Device, Load
from linter.study.impedance import edge_resistance, size_text
from linter.tables.conductors import least_resistance_ohm_per_m, resistance_ohm_per_m, temperature_factor
from linter.tables.reading import Node, parse

BOX = Kind.BOX
CONTINUITY = (
    Column("conductor", "Id", kind=Kind.NAME), Column("from", "From", kind=Kind.NAME),
    Column("to", "To", kind=Kind.NAME), Column("size", "Size"), Column("length m", "Length", "m", Kind.FIGURE, 2),
    Column("from mohm", "At least", "mΩ", Kind.FIGURE, 3), Column("up to mohm", "At most", "mΩ", Kind.FIGURE, 3),
    Column("found mohm", "Found", "mΩ", BOX, width=16), Column("marked", "Marked at both ends", "", BOX, width=14),
)  # fmt: skip
DEVICES = (
    Column("device", "Id", kind=Kind.NAME), Column("called", "Called"), Column("class", "Class"),
    Column("rated A", "Rated", "A", Kind.FIGURE), Column("place", "Where"),
    Column("fitted A", "Fitted", "A", BOX, width=16), Column("as stated", "Class as stated", "", BOX, width=14),
)  # fmt: skip
INSULATION = (
    Column("bus", "At", kind=Kind.NAME), Column("called", "Called"), Column("place", "Where"),
    Column("test V", "Test voltage", "V", Kind.FIGURE), Column("least megohm", "At least", "MΩ", Kind.FIGURE),
    Column("found megohm", "Found", "MΩ", BOX, width=18), Column("in order", "In order", "", BOX, width=14),
)  # fmt: skip
LOADS = (
    Column("load", "Id", kind=Kind.NAME), Column("called", "Called"),
    Column("polarity", "Polarity", "", BOX, width=13), Column("at A", "At", "A", Kind.FIGURE, most=2),
    Column("drop from V", "Drop at least", "V", Kind.FIGURE, 2),
    Column("drop up to V", "Drop at most", "V", Kind.FIGURE, 2),
    Column("allowed V", "Drop allowed", "V", Kind.FIGURE, 2), Column("current A", "Current found", "A", BOX, width=15),
    Column("source V", "At the source", "V", BOX, width=15), Column("load V", "At the load", "V", BOX, width=15),
    Column("drop V", "Drop found", "V", BOX, width=15),
)  # fmt: skip
DATA = (
    Column("step", "Step"), Column("element", "Element", kind=Kind.NAME), Column("measure", "Measure"),
    Column("from", "From", "", Kind.FIGURE), Column("up to", "Up to", "", Kind.FIGURE), Column("unit", "Unit"),
    Column("condition", "Condition"), Column("found", "Found", "", BOX, width=18),
)  # fmt: skip
STEPS = (
    ("1", "Batteries and every other source disconnected, switches closed: continuity of each conductor, end to end."),
    ("2", "The same, loads disconnected: insulation between the live side and earth or negative at each bus."),
    ("3", "Each fuse and breaker against the schedule: class and rating as stated."),
    ("4", "Sources connected, one circuit after another: polarity at each load before the load is connected."),
    ("5", "Each load at work: current, voltage at the source's and at the load's terminals, and so the drop."),
)


def section(subject: Subject) -> Section:
    data = Table(DATA)
    settings = parse((files("linter.binder") / "commissioning.toml").read_text(encoding="utf-8"), "commissioning.toml")
    blocks: list[Block] = [
        Paragraph(
            "For a competent person with calibrated instruments. Expected figures are reckoned from the design; where "
            "what is found lies outside them, either the boat or the design is wrong: find out which, and mend it."
        ),
        Points(STEPS), Paragraph("Instruments, with the date of their calibration:"), _blank(),
        Heading("1 Continuity"), _continuity(subject, settings, data),
        Heading("2 Insulation"), _insulation(subject, settings, data),
        Heading("3 Protective devices"), _devices(subject, data),
        Heading("4 and 5 Polarity, voltage under current, drop"), _loads(subject, data),
    ]  # fmt: skip
    return Section("commissioning", "Commissioning sheet", blocks, data)


def _blank() -> Table:
    """Where to write who measured, with what, and when."""
    heads = (("instrument", "Instrument", 62.0), ("calibrated", "Calibrated", 26.0), ("by", "Measured by", 46.0),
             ("day", "Day", 26.0))  # fmt: skip
    made = Table(tuple(Column(k, h, "", BOX, width=w) for k, h, w in heads))
    for _ in range(3):
        made.add("", "", "", "")
    return made


def _continuity(subject: Subject, settings: Node, data: Table) -> Table:
    table = Table(CONTINUITY, empty="There are no conductors.")
    at_c = settings.table("continuity").number("temperature_c")
    circuit = subject.design.circuit
    from_memory = False
    for name, made in subject.study.conductors.items():
        wire = made.conductor
        least, greatest, known = _resistance(wire, at_c)
        from_memory = from_memory or known == (Mark.MEMORY,)
        low, high = figure(least, *known, needed=True), figure(greatest, *known, needed=True)
        ends = end_of(circuit, made.edge, made.edge.u), end_of(circuit, made.edge, made.edge.v)
        table.add(name, *ends, size_words(wire.size), figure(wire.length_m, needed=True), low, high, "", "")
        data.add("1", name, "continuity", low, high, "mΩ", f"{ends[0]} to {ends[1]}", "")
    more = (temperature_factor(at_c + 10) - 1) * 100
    table.notes.append(
        f"Of the conductor alone at {at_c:g} °C, from the least that copper can have to the greatest that is published "
        f"for its size and length; {more:.0f} % more for every 10 °C. Under some 10 mΩ only a four-wire instrument "
        "tells; a poor crimp is found by the drop under current."
    )
    return table


def _resistance(wire: Conductor, at_c: float) -> tuple[float | None, float | None, tuple[Mark, ...]]:
    if wire.size is None or wire.length_m is None:
        return None, None, ()
    size = size_text(wire.size)
    greatest = resistance_ohm_per_m(size, wire.tinned, at_c)
    least = least_resistance_ohm_per_m(size, at_c)
    known = any(memory(r.cite.status) for r in (least, greatest))
    low, high = sorted(r.ohm_per_m * wire.length_m * 1000 for r in (least, greatest))
    return low, high, (Mark.MEMORY,) if known else ()


def _insulation(subject: Subject, settings: Node, data: Table) -> Table:
    table = Table(INSULATION, empty="There is no bus to measure at.")
    node = settings.table("insulation")
    cite = node.cite()
    known = (Mark.MEMORY,) if memory(cite.status) else ()
    for element in subject.design.elements.values():
        if isinstance(element, Bus) and element.kind == "bus":
            volts, least = figure(node.number("test_v"), *known), figure(node.number("least_megohm"), *known)
            table.add(clean(element.name), clean(element.label), place_of(element), volts, least, "", "")
            data.add("2", clean(element.name), "insulation", least, Figure(), "MΩ", f"at {volts.value:g} V", "")
    table.notes.append(
        f"{cite}. Disconnect electronics first: the test voltage destroys what is made for 12 V or 24 V. The code of "
        "the place may ask for more."
    )
    return table


def _devices(subject: Subject, data: Table) -> Table:
    table = Table(DEVICES, empty="There are no devices.")
    for device in subject.design.elements.values():
        if isinstance(device, Device):
            rated = figure(device.rated_a, needed=True)
            table.add(clean(device.name), clean(device.label), kind_words(device), rated, place_of(device), "", "")
            data.add("3", clean(device.name), "rating fitted", rated, rated, "A", kind_words(device), "")
    return table


def _loads(subject: Subject, data: Table) -> Table:
    table = Table(LOADS, empty="There are no loads.")
    scenes = subject.study.scenes()
    for row in subject.loads:
        name, alone = row["id"], row["alone"]
        load = subject.element(name)
        assert isinstance(load, Load)
        node = subject.design.circuit.by_name.get(name) or subject.design.circuit.by_name.get(f"{name}.in")
        found = scenes.alone.get(node.index) if node is not None else None
        least = _least_drop(subject, found) if found is not None else None
        most = alone["drop_v"] if alone else None
        nominal, percent = row["nominal_v"], row["limit_percent"]
        allowed = nominal * percent / 100 if nominal and percent else None
        amps = figure(alone["current_a"] if alone else None, needed=True)
        low, high = figure(least, needed=True), figure(most, needed=True)
        table.add(
            name, clean(row["label"]), "", amps, low, high, figure(allowed, *limit_marks(subject, load)), "", "", "", ""
        )
        data.add("4", name, "polarity", Figure(), Figure(), "", "positive on the positive terminal", "")
        at = f"at {amps.value:g} A" if amps.value is not None else "draws a current that nobody states"
        data.add("5", name, "drop", low, high, "V", at, "")
    table.notes.append(
        "Polarity: tick when the meter shows plus on the positive terminal. The drop is the voltage at the source's "
        "terminals less that at the load's, both measured under the current found; so expect at the load what is at "
        "the source less the drop. It goes with the current: at half of it expect half. At least: cold conductors and "
        "the least resistance of devices and contacts. At most: "
        "conductors at working temperature. Allowed: by the rulebook, where it limits this load."
    )
    return table


def _least_drop(subject: Subject, found: object) -> float | None:
    """The drop with every resistance at its least: what the study loses on the way, edge by edge, in that ratio."""
    from linter.study.scene import AtLoad

    assert isinstance(found, AtLoad)
    total = 0.0
    for edge, volts in subject.study.scenes().losses(found):
        here = edge_resistance(subject.design.circuit.edges[edge])
        total += volts * (here.least_ohm / here.greatest_ohm) if here.greatest_ohm > 0 else volts
    return min(total, found.drop_v)
