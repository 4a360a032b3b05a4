"""Time-current plots of the main circuits."""

from __future__ import annotations

from linter.binder.model import Block, Column, Kind, Paragraph, Picture, Section, Table, figure
from linter.binder.subject import Subject
from linter.binder.words import joined
from linter.drawing.text import clean
from linter.model.elements import Device
from linter.study.coordination import nearest_above

INDEX = (
    Column("device", "Id", kind=Kind.NAME),
    Column("called", "Called"),
    Column("rated A", "Rated", "A", Kind.FIGURE),
    Column("below it", "Below it", kind=Kind.FIGURE, decimals=0),
    Column("above it", "Above it", kind=Kind.NAME),
)
# What one wants to look at on paper; the command `curves` plots any of the others.
GREATEST = 12


def section(subject: Subject) -> Section:
    from linter.drawing.curves import PageName, sheet
    from linter.drawing.curves_svg import svg
    from linter.study.plot import plot_of

    below = main_devices(subject)
    index = Table(INDEX, empty="No device stands above another: there is nothing to compare.")
    pages: list[Block] = []
    openings = subject.study.openings()
    edges = subject.design.circuit.edges
    page: PageName = "letter" if subject.choice.paper == "letter" else "a4"
    for name in sorted(below, key=lambda n: (-len(below[n]), list(below).index(n)))[:GREATEST]:
        device = subject.element(name)
        assert isinstance(device, Device)
        made, _ = sheet(subject.study, plot_of(subject.study, [name]), page)
        title = clean(made.title).removeprefix(f"{subject.boat}: ")
        pages.append(Picture(svg(made), made.width, made.height, title[:1].upper() + title[1:]))
        above = [
            clean(edges[e].element.name) for e in nearest_above(openings, subject.design.circuit.edge_of[name].index)
        ]
        index.add(
            clean(name), clean(device.label), figure(device.rated_a, needed=True), figure(float(len(below[name]))),
            joined(above),
        )  # fmt: skip
    left_out = len(below) - len(pages)
    text = (
        "Time against current of the devices that stand above others, with their nearest neighbours and what the "
        "conductors they guard stand."
    )
    if left_out > 0:
        text += f" The {len(pages)} with the most below them; {left_out} more can be plotted with the command curves."
    return Section("curves", "Curves of the main circuits", [Paragraph(text), index, *pages], index)


def main_devices(subject: Subject) -> dict[str, list[str]]:
    """Devices with others directly below them, by name, in the order of the design."""
    edges = subject.design.circuit.edges
    openings = subject.study.openings()
    found: dict[str, list[str]] = {}
    for edge in edges:
        if edge.kind == "device":
            for above in nearest_above(openings, edge.index):
                found.setdefault(edges[above].element.name, []).append(edge.element.name)
    return {e.element.name: found[e.element.name] for e in edges if e.element.name in found and e.kind == "device"}
