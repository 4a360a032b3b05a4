"""The conductor schedule: every conductor with its way, its capacity step by step, and its guard."""

from __future__ import annotations

import math
from collections import Counter

from linter.binder.model import Cell, Column, Figure, Kind, Mark, Paragraph, Section, Table, figure
from linter.binder.subject import Subject
from linter.binder.words import (
    end_of,
    insulation_words,
    joined,
    memory,
    own_label,
    rated_words,
    route_words,
    size_words,
    strands_words,
)  # fmt: skip
from linter.study.study import ConductorStudy, Verdict

COLUMNS = (
    Column("conductor", "Id", kind=Kind.NAME),
    Column("called", "Called"),
    Column("from", "From", kind=Kind.NAME),
    Column("to", "To", kind=Kind.NAME),
    Column("size", "Size"),
    Column("length m", "Length", "m", Kind.FIGURE, 2),
    Column("colour", "Colour"),
    Column("insulation", "Insulation"),
    Column("route", "Route"),
    Column("table A", "Table", "A", Kind.FIGURE),
    Column("factors", "Factors"),
    Column("capacity A", "Capacity", "A", Kind.FIGURE, most=1),
    Column("allowed A", "Allowed guard", "A", Kind.FIGURE, most=1),
    Column("guard", "Guard", kind=Kind.NAME),
    Column("lets through A", "Lets through", "A", Kind.FIGURE, most=1),
    Column("load A", "Load", "A", Kind.FIGURE, most=2),
    Column("verdict", "Verdict"),
)
INSULATION = [c.key for c in COLUMNS].index("insulation")
# What one must not overlook in the list.
OPEN = (Verdict.TOO_FAR, Verdict.UNPROTECTED, Verdict.UNKNOWN)


def section(subject: Subject) -> Section:
    table, data = Table(COLUMNS, empty="The design has no conductors."), Table(COLUMNS)
    usual = _usual(subject)
    for name, made in subject.study.conductors.items():
        cells = _cells(subject, name)
        data.add(*cells)
        strands = strands_words(made.conductor)
        if usual and strands == usual:
            cells[INSULATION] = rated_words(made.conductor)
        table.add(*cells, warns=made.verdict in OPEN)
    if any(row.warns for row in table.rows):
        table.notes.append("Bold: not protected as the rulebook asks, or not known to be; see the findings.")
    blank = [n for n, s in subject.study.conductors.items() if not s.conductor.colour]
    if blank:
        table.notes.append(f"Where no colour stands the design states none ({len(blank)} of {len(table.rows)}).")
    if usual:
        table.notes.append(f"Where the column Insulation does not say otherwise, the conductor is {usual}.")
    table.notes += [
        "Capacity = table × factors, by the rulebook that allows the smallest guard; Allowed guard is the greatest "
        "rating that may guard it. Lets through: the most that can persist with nothing opening. Load: the most that "
        "flows in any scene. Where nothing is said of a return, it is as long and as large as the conductor.",
    ]
    missing = list(dict.fromkeys(m for s in subject.study.conductors.values() for c in s.capacities for m in c.missing))
    table.notes += [f"~ stands for: {m}" for m in missing]
    text = Paragraph(
        "Every conductor of the live side, as the design names it and as its ends are to be labelled. Lengths are in "
        "metres, whatever unit the design is written in."
    )
    return Section("conductors", "Conductor schedule", [text, table], data, landscape=True)


def _usual(subject: Subject) -> str:
    """How most conductors are stranded and whether tinned, where most are alike: said once, below the table."""
    found = Counter(strands_words(made.conductor) for made in subject.study.conductors.values())
    words, count = found.most_common(1)[0] if found else ("", 0)
    return words if count * 2 > found.total() else ""


def _cells(subject: Subject, name: str) -> list[Cell]:
    made, circuit = subject.study.conductors[name], subject.design.circuit
    wire = made.conductor
    governing = made.governing
    marks: tuple[Mark, ...] = ()
    if governing is not None:
        marks += (Mark.MEMORY,) if memory(governing.status) else ()
        marks += (Mark.ROUGH,) if governing.missing else ()
        marks += (Mark.BOUND,) if governing.bound else ()
    factors = " × ".join(f"{f.value:.3g}" for f in governing.factors if f.value != 1.0) if governing else ""
    return [
        name,
        own_label(wire),
        end_of(circuit, made.edge, made.edge.u),
        end_of(circuit, made.edge, made.edge.v),
        size_words(wire.size),
        figure(wire.length_m, needed=True),
        wire.colour,
        insulation_words(wire),
        route_words(wire),
        figure(governing.table_a if governing else None, *_only_memory(governing), needed=True),
        factors,
        figure(governing.ampacity_a if governing else None, *marks, needed=True),
        figure(made.allowed_a, *marks, needed=True),
        joined(made.guard) or "none",
        amps(made.let_through_a),
        figure(made.load.amps if made.load else 0.0),
        _verdict(made),
    ]


def _only_memory(governing: object) -> tuple[Mark, ...]:
    cite = getattr(governing, "cite", None)
    return (Mark.MEMORY,) if cite is not None and memory(cite.status) else ()


def _verdict(made: ConductorStudy) -> str:
    return made.verdict.value + (f" ({made.distance_m:.2f} m)" if made.distance_m is not None else "")


def amps(value: float) -> Figure:
    return Figure(None, words="unlimited") if math.isinf(value) else Figure(value)
