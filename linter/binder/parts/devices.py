"""The protective-device schedule: what each is, what it guards, and whether it breaks what may flow."""

from __future__ import annotations

from typing import Any

from linter.binder.model import Cell, Column, Kind, Mark, Paragraph, Section, Table, figure
from linter.binder.subject import Subject, place_of
from linter.binder.words import faults_by, joined, kind_words, memory, tied
from linter.drawing.text import clean
from linter.model.elements import Device
from linter.study.breaking import breaking_capacity

COLUMNS = (
    Column("device", "Id", kind=Kind.NAME),
    Column("called", "Called"),
    Column("guards", "Guards", kind=Kind.NAME),
    Column("class", "Class"),
    Column("rated A", "Rated", "A", Kind.FIGURE),
    Column("carries there A", "Carries there", "A", Kind.FIGURE, most=1),
    Column("breaks A", "Breaks", "A", Kind.FIGURE, 0),
    Column("at V", "at", "V", Kind.FIGURE),
    Column("largest fault A", "Largest fault", "A", Kind.FIGURE, 0),
    Column("smallest fault A", "Smallest fault", "A", Kind.FIGURE, 0),
    Column("opens in s", "Opens in", "s", Kind.FIGURE, most=4),
    Column("above it", "Above it", kind=Kind.NAME),
    Column("place", "Where"),
    Column("part", "Part"),
)


def section(subject: Subject) -> Section:
    table = Table(COLUMNS, empty="The design has no protective devices.")
    for row in subject.devices:
        table.add(*_cells(subject, row))
    table.notes.append(
        "Breaks: the breaking capacity at the next voltage not below the greatest of the system; it must be at least "
        "the largest fault, the greatest prospective current through the device. Opens in: the time by which it has "
        "opened at the smallest fault on what it guards. Carries there: its rating at the temperature where it stands. "
        "Above it: the next devices towards the sources."
    )
    table.notes.append(faults_by())
    table.notes += [f"~ stands for: {w}" for w in dict.fromkeys(w for r in subject.devices for w in r["leans_on"])]
    text = Paragraph("Every fuse and circuit-breaker on board. A replacement has the same class, rating and voltage.")
    return Section("devices", "Protective devices", [text, table], table, landscape=True)


def _cells(subject: Subject, row: dict[str, Any]) -> list[Cell]:
    device = subject.element(row["id"])
    assert isinstance(device, Device)
    volts = row["system_greatest_v"]
    breaks = breaking_capacity(device, volts) if volts is not None else None
    known = (Mark.MEMORY,) if breaks is not None and memory(breaks.cite.status) else ()
    rough = (Mark.ROUGH,) if row["leans_on"] else ()
    most = (Mark.ROUGH,) if row["prospective_at_most"] else rough
    never = row["smallest_a"] is not None and row["opens_s"] is None
    from_memory = (Mark.MEMORY,) if row["curve"] and "from memory" in row["curve"] else ()
    return [
        row["id"],
        clean(row["label"]),
        joined(row["guards"]),
        kind_words(device),
        figure(row["rated_a"], needed=True),
        figure(row["carries_a"]),
        figure(row["breaks_a"], *known, needed=True),
        figure(row["breaks_at_v"]),
        figure(row["prospective_a"], *most, needed=True),
        figure(row["smallest_a"], *rough, needed=row["smallest_unknown"]),
        figure(row["opens_s"], *from_memory, words="not told" if never else ""),
        joined(row["above"]),
        place_of(device),
        part_words(device),
    ]


def part_words(device: Device) -> str:
    return tied(clean(device.part.label or device.part.name)) if device.part is not None else "no part named"
