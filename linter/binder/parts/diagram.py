"""The single-line diagram on its sheets, and where on them each element is."""

from __future__ import annotations

from linter.binder.model import Block, Column, Kind, Paragraph, Picture, Section, Table, figure
from linter.binder.subject import Subject
from linter.drawing.paper import SIZES_MM, Paper
from linter.drawing.sheets import Settings, sheets
from linter.drawing.svg import svg
from linter.drawing.text import clean

SHEETS = (Column("sheet", "Sheet", kind=Kind.FIGURE, decimals=0), Column("shows", "Shows"))
INDEX = (
    Column("element", "Id", kind=Kind.NAME),
    Column("called", "Called"),
    Column("kind", "Kind"),
    Column("sheet", "Sheet", kind=Kind.FIGURE, decimals=0),
    Column("field", "Field", kind=Kind.NAME),
)

# What fits on one page with the list of sheets.
SHORT = 76


def section(subject: Subject) -> Section:
    design, settings = subject.design, Settings(paper=subject.choice.paper)
    subject.pictures = sheets(design, subject.result.findings, settings, (), subject.study)
    blocks: list[Block] = [
        Paragraph(
            f"The live side on {len(subject.pictures)} sheet{'s' if len(subject.pictures) > 1 else ''}. A line that "
            "goes on elsewhere says on which sheet and in which field. Findings are numbered at their elements. A "
            "list tells where each element is."
        )
    ]
    list_ = Table(SHEETS)
    index = Table(INDEX, title="Where to find it", empty="There is nothing to draw.", beside=2)
    at: dict[str, list[tuple[int, str]]] = {}
    pages: list[Block] = []
    for number, picture in enumerate(subject.pictures, 1):
        wide_mm, high_mm = picture.width * picture.scale, picture.height * picture.scale
        title = clean(picture.title).removeprefix(f"{subject.boat}, ")
        list_.add(figure(float(number)), title.partition(": ")[2])
        pages.append(Picture(svg(picture), wide_mm, high_mm, title[:1].upper() + title[1:]))
        paper = Paper(settings.paper, picture.scale, wide_mm / SIZES_MM[settings.paper][0])
        for drawn in picture.elements:
            if drawn.name and drawn.reference < 0:
                box = drawn.symbol
                middle = (box.x0 + box.x1) / 2, (box.y0 + box.y1) / 2
                at.setdefault(drawn.name, []).append((number, paper.field(middle)))
    for name, element in design.elements.items():
        for sheet, field in at.get(name, ()):
            index.add(clean(name), clean(element.label), element.kind, figure(float(sheet)), field)
    # a short list has room before the sheets; nobody looks for them behind a long one
    rest = [index, *pages] if len(index.rows) <= SHORT else [*pages, index]
    return Section("diagram", "Single-line diagram", [*blocks, list_, *rest], index)
