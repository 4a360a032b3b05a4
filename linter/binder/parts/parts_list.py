"""The parts list: things by part, cable by size and colour, ends to terminate."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, field

from linter.binder.model import Block, Column, Kind, Mark, Paragraph, Section, Table, figure
from linter.binder.subject import Subject, says
from linter.binder.words import insulation_words, joined, kind_words, quantity, size_words
from linter.drawing.text import clean
from linter.model.elements import Conductor, Converter, Device, Element, Load, Source
from linter.source.units import Quantity

THINGS = (
    Column("part", "Part"),
    Column("kind", "Kind"),
    Column("rating", "Rating"),
    Column("count", "Number", kind=Kind.FIGURE, decimals=0),
    Column("used", "Used as", kind=Kind.NAME),
    Column("manual", "The maker's page"),
)
CABLE = (
    Column("size", "Size"),
    Column("colour", "Colour"),
    Column("insulation", "Insulation"),
    Column("part", "Part"),
    Column("length m", "Length", "m", Kind.FIGURE, 2),
    Column("pieces", "Pieces", kind=Kind.FIGURE, decimals=0),
    Column("ends", "Ends", kind=Kind.FIGURE, decimals=0),
)
DATA = (
    Column("part", "Part"), Column("kind", "Kind"), Column("rating", "Rating or size"), Column("colour", "Colour"),
    Column("insulation", "Insulation"), Column("count", "Number", kind=Kind.FIGURE, decimals=0),
    Column("length m", "Length", "m", Kind.FIGURE, 2), Column("ends", "Ends", kind=Kind.FIGURE, decimals=0),
    Column("used", "Used as", kind=Kind.NAME), Column("manual", "The maker's page"),
)  # fmt: skip
RETURN, NO_COLOUR = "return", "not stated"


@dataclass(slots=True)
class Cable:
    """One kind of cable: the pieces, in m (None: nobody says), and the order of its size."""

    area_mm2: float
    lengths_m: list[float | None] = field(default_factory=list)


def section(subject: Subject) -> Section:
    things, cable, data = Table(THINGS, title="Parts"), Table(CABLE, title="Cable"), Table(DATA)
    for (part, kind, rating), found in _things(subject).items():
        manual = joined(dict.fromkeys(says(e) for e in found))
        used = joined(clean(e.name) for e in found)
        number = figure(float(len(found)))
        things.add(part, kind, rating, number, used, manual)
        data.add(part, kind, rating, "", "", number, figure(None), figure(None), used, manual)
    total_m, ends, untold = 0.0, 0, 0
    for (size, colour, insulation, part), row in sorted(_cables(subject).items(), key=lambda r: (r[1].area_mm2, r[0])):
        known = [m for m in row.lengths_m if m is not None]
        missing = len(row.lengths_m) - len(known)
        length = figure(sum(known) if known else None, *((Mark.ROUGH,) if missing else ()), needed=True)
        pieces, here = figure(float(len(row.lengths_m))), figure(2.0 * len(row.lengths_m))
        cable.add(size, colour, insulation, part, length, pieces, here)
        data.add(part or "cable", "cable", size, colour, insulation, pieces, length, here, "", "")
        total_m, ends = total_m + sum(known), ends + 2 * len(row.lengths_m)
        untold += missing
        if missing:
            cable.notes.append(f"{size}, {colour}: without {missing} whose length nobody states.")
    if cable.rows:
        total = figure(total_m, *((Mark.ROUGH,) if untold else ()))
        cable.add("In all", "", "", "", total, figure(ends / 2), figure(float(ends)), strong=True)
    cable.notes.append(
        f"{RETURN}: the way back, taken to be as long and as large as the conductor unless its line says otherwise; a "
        "common return needs less. Ends: two a piece, each with a lug, ferrule or terminal; the design does not say of "
        "which hole. Lengths are as drawn: nothing is added for waste."
    )
    blocks: list[Block] = [
        Paragraph("What is on board, for ordering and for the stores; things alike stand in one line."), things, cable,
    ]  # fmt: skip
    return Section("parts", "Parts list", blocks, data)


def _things(subject: Subject) -> dict[tuple[str, str, str], list[Element]]:
    found: dict[tuple[str, str, str], list[Element]] = {}
    for element in subject.design.elements.values():
        if isinstance(element, Conductor) or element.kind in ("joint", "terminal"):
            continue
        part = clean(element.part.label or element.part.name) if element.part is not None else "no part named"
        found.setdefault((part, _kind(element), _rating(element)), []).append(element)
    return dict(
        sorted(found.items(), key=lambda i: (i[0][1], i[0][0] == "no part named", i[0][0], _rated(i[1][0]), i[0][2]))
    )


def _rated(element: Element) -> float:
    rated = getattr(element, "rated_a", None)
    return rated if isinstance(rated, float) else 0.0


def _kind(element: Element) -> str:
    return kind_words(element) if isinstance(element, Device) else element.kind


def _rating(element: Element) -> str:
    if isinstance(element, Device):
        return joined([quantity(element.rated_a, "A") or "? A", quantity(element.voltage_v, "V")])
    if isinstance(element, Source):
        if element.is_battery:
            return joined([quantity(element.voltage_v, "V"), quantity(element.charge_ah, "Ah")])
        return joined([quantity(element.voltage_v, "V"), quantity(element.rated_a, "A")])
    if isinstance(element, Converter) and element.output is not None:
        return joined([quantity(element.output.voltage_v, "V"), quantity(element.output.rated_a, "A")])
    if isinstance(element, Load):
        return quantity(element.draws_a, "A") or quantity(element.draws_w, "W")
    return quantity(getattr(element, "rated_a", None), "A")


def _cables(subject: Subject) -> dict[tuple[str, str, str, str], Cable]:
    found: dict[tuple[str, str, str, str], Cable] = {}
    for size, colour, insulation, part, length in _pieces(subject):
        key = size_words(size), colour, insulation, part
        found.setdefault(key, Cable(size.value if size else 0.0)).lengths_m.append(length)
    return found


def _pieces(subject: Subject) -> Iterator[tuple[Quantity | None, str, str, str, float | None]]:
    """Every piece of cable there and back."""
    for wire in subject.design.elements.values():
        if not isinstance(wire, Conductor):
            continue
        insulation = insulation_words(wire)
        part = clean(wire.part.label or wire.part.name) if wire.part is not None else ""
        yield wire.size, wire.colour or NO_COLOUR, insulation, part, wire.length_m
        back_m = wire.return_m if wire.return_m is not None else wire.length_m
        if back_m != 0:
            yield wire.return_size or wire.size, RETURN, insulation, "" if wire.return_size else part, back_m
