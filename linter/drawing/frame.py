"""What stands around the diagram: title, list of findings, legend, caution."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from linter.drawing import labels, symbols
from linter.drawing.cells import SIZE, SMALL, mark_width
from linter.drawing.language import Language, english, say
from linter.drawing.picture import BAR, FINE, Disc, Marker, Picture, Shape, Stroke, Words, moved, shift
from linter.drawing.text import ADVANCE_EM, ASCENT_EM, LEADING, clean, shorten, width_mm, wrap
from linter.model.design import Design
from linter.rules.finding import Finding, Severity

MARGIN = 9.0
LEAST_WIDTH = 190.0
TITLE = 5.0
HEADING = 3.0
COLUMN = 165.0
GUTTER = 8.0
LEGEND_CELL = 48.0
LEGEND_ROW = 10.5

CAUTION = (
    "Drawn from the design as written, the live side only; it shows what was meant to be fitted, not what is. "
    "An aid for a competent person, not an approval. The law and the code of the place, and the makers' manuals, come "
    "first. To be surveyed by a qualified person before power is put on."
)
NOT_CHECKED = "No findings are marked on this sheet; that alone does not say that the design was checked."
NOT_WHOLE = "INCOMPLETE: part of the design's text was not understood and is not on this diagram."
MEANING = {
    Severity.DANGER: "danger: fire or shock, mend before power is put on",
    Severity.FAULT: "fault: breaks the rulebook or the maker's word",
    Severity.DOUBT: "doubt: a figure is missing or from memory",
    Severity.ADVICE: "advice: good practice",
}


@dataclass(frozen=True, slots=True)
class Numbered:
    number: int
    finding: Finding


def numbered(findings: Sequence[Finding]) -> list[Numbered]:
    """Findings as they are marked: open ones first, the gravest first, otherwise in the order given."""
    order = sorted(findings, key=lambda f: (bool(f.accepted), f.severity.rank))
    return [Numbered(n, f) for n, f in enumerate(order, 1)]


class _Sheet:
    """A cursor that goes down the sheet."""

    def __init__(self, width: float, top: float) -> None:
        self.width, self.y = width, top
        self.shapes: list[Shape] = []

    def line(self, x: float, text: str, size: float, bold: bool = False, colour: str = "") -> None:
        """A line of text whose upper edge is at the cursor, which stays."""
        if text:
            lead = (LEADING - 1) * size / 2
            self.shapes.append(Words(x, self.y + lead + ASCENT_EM * size, text, size, bold, colour=colour))

    def paragraph(self, x: float, text: str, size: float, width: float, bold: bool = False, lines: int = 60) -> None:
        for one in wrap(text, max(int(width / (ADVANCE_EM * size)), 8), lines):
            self.line(x, one, size, bold)
            self.y += LEADING * size

    def rule(self) -> None:
        self.shapes.append(Stroke(((MARGIN, self.y), (MARGIN + self.width, self.y)), FINE))
        self.y += 2.0


def frame(picture: Picture, design: Design, findings: Sequence[Numbered]) -> None:
    """Move the diagram below its title and set everything around it; gives the picture its final size."""
    width = max(picture.width, LEAST_WIDTH)
    sheet = _Sheet(width, MARGIN)
    _title(sheet, design)
    shift(picture, MARGIN, sheet.y)
    sheet.y += picture.height + 7.0
    if findings:
        sheet.rule()
        _findings(sheet, design, findings)
        sheet.y += 3.0
    sheet.rule()
    _legend(sheet, picture, design, findings)
    sheet.rule()
    sheet.paragraph(MARGIN, CAUTION if findings else f"{CAUTION} {NOT_CHECKED}", SMALL, min(width, 300.0))
    picture.width = width + 2 * MARGIN
    picture.height = sheet.y + MARGIN - 2.0
    edge = MARGIN / 2
    right, bottom = picture.width - edge, picture.height - edge
    border = Stroke(((edge, edge), (right, edge), (right, bottom), (edge, bottom)), FINE, closed=True)
    picture.frame = [border, *sheet.shapes]
    picture.title = f"{clean(design.boat) or 'Boat'}: single-line diagram"


def _title(sheet: _Sheet, design: Design) -> None:
    name = design.boat or "Boat without a name"
    sheet.paragraph(MARGIN, name, TITLE, sheet.width, bold=True, lines=2)
    said = ["Single-line diagram, live side"]
    if design.length_m is not None:
        said.append(labels.figure(design.length_m, "m"))
    if design.rulebooks:
        said.append("rulebooks " + ", ".join(shorten(r.name, 30) for r in design.rulebooks))
    if design.systems:
        said.append("systems " + ", ".join(shorten(labels.system_title(s), 40) for s in design.systems.values()))
    sheet.paragraph(MARGIN, " · ".join(said), SIZE, sheet.width, lines=4)
    if not design.whole:
        sheet.y += 1.0
        sheet.paragraph(MARGIN, NOT_WHOLE, SIZE, sheet.width, bold=True)
    sheet.y += 6.0


def _findings(sheet: _Sheet, design: Design, findings: Sequence[Numbered]) -> None:
    sheet.line(MARGIN, "Findings", HEADING, bold=True)
    sheet.y += LEADING * HEADING + 1.0
    count = max(int((sheet.width + GUTTER) // (COLUMN + GUTTER)), 1)
    column = min((sheet.width - (count - 1) * GUTTER) / count, 220.0)
    indent = max(mark_width(n.number) for n in findings) + 1.0
    chars = int((column - indent) / (ADVANCE_EM * SMALL))
    entries = [entry(design, one, chars, english()) for one in findings]
    heights = [LEADING * SIZE + LEADING * SMALL * len(lines) + 1.2 for _, lines in entries]
    share = sum(heights) / count
    top, deepest, done, at = sheet.y, sheet.y, 0.0, 0
    for one, (head, lines), height in zip(findings, entries, heights, strict=True):
        if at + 1 < count and done >= share * (at + 1) - height / 2:
            at += 1
            sheet.y = top
        x = MARGIN + at * (column + GUTTER)
        finding = one.finding
        middle = sheet.y + LEADING * SIZE / 2
        sheet.shapes.append(Marker(x, middle, finding.severity.value, one.number, bool(finding.accepted)))
        sheet.line(x + indent, head[0], SIZE, bold=True)
        sheet.line(x + indent + width_mm(head[0] + " ", SIZE), head[1], SIZE)
        sheet.y += LEADING * SIZE
        for line in lines:
            sheet.line(x + indent, line, SMALL)
            sheet.y += LEADING * SMALL
        sheet.y += 1.2
        done += height
        deepest = max(deepest, sheet.y)
    sheet.y = deepest


def entry(design: Design, one: Numbered, chars: int, words: Language) -> tuple[tuple[str, str], list[str]]:
    """A finding as it is listed: its head in two parts, and its lines of at most so many characters."""
    finding = one.finding
    element = design.elements.get(finding.subject)
    word = words[f"mark-{finding.severity.value}"] + (f", {words['accepted']}" if finding.accepted else "")
    head = shorten(f"{word}: {finding.subject}", 50)
    room = int((chars * SMALL / SIZE) - len(head)) - 2
    label = element.label if element is not None else "" if finding.subject else words["the-boat"]
    lines = wrap(f"{finding.message} [{finding.rule}]", chars, 8)
    if finding.accepted:
        lines += wrap(say(words, "accepted-why", why=finding.accepted), chars, 4)
    return (head, shorten(label, room) if label and room > 8 else ""), lines


# ---- legend


def _legend(sheet: _Sheet, picture: Picture, design: Design, findings: Sequence[Numbered]) -> None:
    used = {d.kind for d in picture.elements}
    kinds = [k for k in symbols.KINDS if k in used]
    per_row = max(int(sheet.width // LEGEND_CELL), 1)
    for start in range(0, len(kinds), per_row):
        for place, kind in enumerate(kinds[start : start + per_row]):
            _legend_cell(sheet, MARGIN + place * LEGEND_CELL, sheet.y + LEGEND_ROW / 2, kind)
        sheet.y += LEGEND_ROW
    if picture.dots:
        x = MARGIN
        middle = sheet.y + 2.0
        sheet.shapes += [
            Stroke(((x, middle), (x + 8, middle))), Stroke(((x + 4, middle - 1.8), (x + 4, middle + 1.8))),
            Disc(x + 4, middle, 0.6),
        ]  # fmt: skip
        sheet.y = middle - LEADING * SMALL / 2
        sheet.line(x + 10.5, "joined; lines that cross without a dot are not", SMALL)
        sheet.y = middle + 2.8
    if len(design.systems) > 1:
        _systems(sheet, design)
    if findings:
        _marks(sheet, findings)
    sheet.y += 1.0


def _legend_cell(sheet: _Sheet, x: float, y: float, kind: str) -> None:
    if kind == "bus":
        sheet.shapes.append(symbols.bar(x + 4, y - 3, y + 3, BAR))
    elif kind == "selector":
        sheet.shapes += symbols.selector(x, x + 9, y - 4, y + 4, [(x, y - 2), (x, y + 2)], [(x + 9, y)])
    else:
        glyph = symbols.glyph(kind)
        # Symbols that stand upon their line are moved so that they are in the middle of the row.
        lift = (glyph.up - glyph.down) / 2
        sheet.shapes += [moved(s, x + 4 - glyph.width / 2, y + lift) for s in glyph.shapes]
    before = sheet.y
    lines = wrap(english()[f"symbol-{kind}"], int((LEGEND_CELL - 11.5) / (ADVANCE_EM * SMALL)), 2)
    sheet.y = y - LEADING * SMALL * len(lines) / 2
    for line in lines:
        sheet.line(x + 10.5, line, SMALL)
        sheet.y += LEADING * SMALL
    sheet.y = before


def _systems(sheet: _Sheet, design: Design) -> None:
    from linter.drawing.svg import SYSTEM_COLOURS, SYSTEM_DASHES

    x = MARGIN
    for index, system in enumerate(design.systems.values()):
        text = shorten(f"{labels.system_title(system)} {system.label}".strip(), 44)
        room = 20.5 + width_mm(text, SMALL) + 6
        if x > MARGIN and x + room > MARGIN + sheet.width:
            x = MARGIN
            sheet.y += 5.0
        dash, colour = SYSTEM_DASHES[index % len(SYSTEM_DASHES)], SYSTEM_COLOURS[index % len(SYSTEM_COLOURS)]
        middle = sheet.y + LEADING * SMALL / 2
        sheet.shapes.append(Stroke(((x, middle), (x + 18, middle)), dash=dash, colour=colour))
        sheet.line(x + 20.5, text, SMALL)
        x += room
    sheet.y += 5.0


def _marks(sheet: _Sheet, findings: Sequence[Numbered]) -> None:
    x = MARGIN
    entries = [(s.value, False, text) for s, text in MEANING.items() if any(n.finding.severity is s for n in findings)]
    if any(n.finding.accepted for n in findings):
        entries.append(("fault", True, "outlined: accepted, with the reason given"))
    for severity, accepted, text in entries:
        room = 10.5 + width_mm(text, SMALL) + 6
        if x > MARGIN and x + room > MARGIN + sheet.width:
            x = MARGIN
            sheet.y += 5.0
        sheet.shapes.append(Marker(x, sheet.y + LEADING * SMALL / 2, severity, 0, accepted))
        sheet.line(x + 10.5, text, SMALL)
        x += room
    sheet.y += 5.0
