"""Labels to print: for both ends of every cable, to wrap around it, and for what stands on panels."""

from __future__ import annotations

from linter.binder.grids import grid_of
from linter.binder.model import Block, Column, Kind, Label, Labels, Paragraph, Section, Table
from linter.binder.subject import Subject
from linter.binder.words import end_of, joined, quantity, size_words
from linter.drawing.text import clean
from linter.model.elements import Bus, Conductor, Device, Element, Source, Switch

DATA = (
    Column("of", "Of"), Column("label", "Label", kind=Kind.NAME), Column("end", "At", kind=Kind.NAME),
    Column("line 1", "Line 1"), Column("line 2", "Line 2"),
)  # fmt: skip


def section(subject: Subject) -> Section:
    grid = grid_of(subject.choice.labels, subject.choice.paper)
    data = Table(DATA)
    cables = [label for name in subject.study.conductors for label in _ends(subject, name, data)]
    panels = [
        _panel(e, data) for e in subject.design.elements.values()
        if isinstance(e, Device | Switch | Bus | Source) and e.kind not in ("joint", "terminal")
    ]  # fmt: skip
    blocks: list[Block] = [
        Paragraph(
            f"For sheets of {grid.title}. Print at full size, not fitted to the page, first on plain paper, and hold "
            "it against a sheet of labels."
        ),
        Paragraph(
            f"{len(cables)} labels for the ends of {len(cables) // 2} cables: each is wrapped around its end, its text "
            "repeated so that it is read from every side. They say where the other end is. "
            f"{len(panels)} labels for fuses, breakers, switches, buses and sources follow."
        ),
    ]
    if cables:
        blocks.append(Labels(grid, tuple(cables)))
    if panels:
        blocks.append(Labels(grid, tuple(panels)))
    return Section("labels", "Labels", blocks, data)


def _ends(subject: Subject, name: str, data: Table) -> list[Label]:
    circuit = subject.design.circuit
    made = subject.study.conductors[name]
    wire: Conductor = made.conductor
    ends = [end_of(circuit, made.edge, made.edge.u), end_of(circuit, made.edge, made.edge.v)]
    size = joined([size_words(wire.size), wire.colour])
    labels = []
    for here, there in (ends, ends[::-1]):
        line = f"to {there}"
        labels.append(Label(clean(name), (line, size), wraps=True))
        data.add("cable", clean(name), here, line, size)
    return labels


def _panel(element: Element, data: Table) -> Label:
    rated = getattr(element, "rated_a", None)
    line = joined([element.kind if isinstance(element, Device) else "", quantity(rated, "A")])
    lines = tuple(w for w in (clean(element.label), line) if w)
    data.add(element.kind, clean(element.name), "", clean(element.label), line)
    return Label(clean(element.name), lines)
