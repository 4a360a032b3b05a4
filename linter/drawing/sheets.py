"""The diagram on sheets of A3 or A4: divided, laid out, packed, referenced, framed."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field, replace
from typing import TYPE_CHECKING

from linter.drawing import annotate, labels
from linter.drawing.border import Title, border, foot, title_block
from linter.drawing.cells import SMALL, Note, Told
from linter.drawing.cut import Cut
from linter.drawing.findings_list import MOST_BESIDE, Text, columns, heading, listed
from linter.drawing.frame import Numbered, numbered
from linter.drawing.language import Language, english, say
from linter.drawing.layout import laid
from linter.drawing.legend import Key, height, key_of, legend, together
from linter.drawing.pack import Packed, packed
from linter.drawing.paper import LEAST_TEXT_PT, POINT_MM, SIZES_MM, Paper
from linter.drawing.partition import Group, partition
from linter.drawing.picture import Box, Drawn, Picture, Words, moved, shift
from linter.drawing.references import fill_in
from linter.drawing.revision import revision_of
from linter.drawing.schematic import schematic
from linter.drawing.symbols import Glyph
from linter.drawing.text import ADVANCE_EM, clean, shorten
from linter.model.design import Design
from linter.model.elements import Element
from linter.rules.finding import Finding

if TYPE_CHECKING:
    from linter.study.study import Study

# What makes one sheet of what would nearly fit one: the smallest text at its least size.
SMALLEST = LEAST_TEXT_PT * POINT_MM / SMALL + 1e-4
NARROW = 118.0


@dataclass(frozen=True, slots=True)
class Settings:
    """What a yard sets.  ``fields`` are more (label, value) pairs of the title block, ``symbols`` by name of part."""

    paper: str = "a3"
    scale: float = 1.0
    language: Language = field(default_factory=english)
    fields: tuple[tuple[str, str], ...] = ()
    symbols: Mapping[str, Glyph] = field(default_factory=dict)


@dataclass(slots=True)
class _Drawing:
    """What all sheets share."""

    design: Design
    settings: Settings
    layers: tuple[str, ...]
    told: Told
    paper: Paper
    only: str
    marked: list[Numbered]


def sheets(
    design: Design, findings: Sequence[Finding] = (), settings: Settings | None = None,
    layers: Sequence[str] = (), study: Study | None = None, only: str = "",
) -> list[Picture]:  # fmt: skip
    """The sheets of a design; the same design gives the same.

    ``layers`` are of `annotate.LAYERS`, none meaning the usual; ``study`` is needed for the layer of that name.
    """
    chosen = annotate.with_default(layers)
    set_ = settings or Settings()
    shown = list(findings) if "findings" in chosen else []
    if only:
        from linter.drawing.only import of_part, part_around

        design = part_around(design, only)
        shown = of_part(design, shown)
    marked = numbered(shown)
    told = _told(design, marked, set_, chosen, study)
    made = _Drawing(design, set_, chosen, told, Paper(set_.paper, set_.scale), only, marked)
    groups, packs = _divided(made)
    if len(packs) == 2 and set_.scale > SMALLEST:
        small = replace(made, paper=Paper(set_.paper, SMALLEST))
        fewer, one = _divided(small)
        if len(one) == 1:
            made, groups, packs = small, fewer, one
    return _painted(made, groups, packs)


def _told(
    design: Design, marked: Sequence[Numbered], settings: Settings, layers: Sequence[str], study: Study | None
) -> Told:
    notes: dict[str, list[Note]] = {}
    for one in marked:
        note = (one.finding.severity.value, one.number, bool(one.finding.accepted))
        notes.setdefault(one.finding.subject, []).append(note)
    figures = annotate.breaking(design) if "ratings" in layers else {}
    lines = annotate.figures(study, settings.language) if "study" in layers and study is not None else {}
    return Told(notes, figures, lines, settings.symbols, settings.language)


def _divided(made: _Drawing) -> tuple[list[Group], list[Packed]]:
    design = made.design
    cut = Cut.of(schematic(design.circuit, design.elements.values()), design.circuit)
    groups = partition(cut, lambda part: laid(design, part, made.told), made.paper.room)
    groups = [g for g in groups if g.picture.elements or len(groups) == 1]
    return groups, packed(groups, made.paper.room)


@dataclass(slots=True)
class _Page:
    picture: Picture
    paper: Paper
    shows: str
    pack: Packed | None = None


def _painted(made: _Drawing, groups: list[Group], packs: list[Packed]) -> list[Picture]:
    pages = [_page(made, groups, pack) for pack in packs]
    fill_in([(p.picture, p.paper) for p in pages], made.settings.language)
    keys = [
        key_of(p.picture, made.design, made.settings.language, made.settings.symbols, made.layers) for p in pages
    ]  # fmt: skip
    own = made.settings.symbols
    fits = [height(k, _wide(p.paper.legend)) <= _high(p.paper.legend) for k, p in zip(keys, pages, strict=True)]
    pages += _listings(made, pages, None if all(fits) else together(keys, own))
    for number, page in enumerate(pages, 1):
        key = keys[number - 1] if number <= len(keys) else Key([], [])
        if number <= len(keys) and not fits[number - 1]:
            key = Key([], [(say(made.settings.language, "symbols-elsewhere", n=str(len(pages))), [])])
        _framed(made, page, key, number, len(pages))
    return [p.picture for p in pages]


def _wide(box: Box) -> float:
    return box.x1 - box.x0


def _high(box: Box) -> float:
    return box.y1 - box.y0


# ---- the diagram


def _page(made: _Drawing, groups: list[Group], pack: Packed) -> _Page:
    """The groups of one sheet in their places; a larger sheet where one cannot be divided so that it fits."""
    paper = made.paper
    room = paper.room
    while pack.room[0] > room[0] + 1e-6 or pack.room[1] > room[1] + 1e-6:
        paper = replace(paper, enlarged=paper.enlarged * 2**0.5)
        room = paper.room
    whole = Picture()
    right = max(x + groups[n].picture.width for n, (x, _) in pack.places.items())
    bottom = max(y + groups[n].picture.height for n, (_, y) in pack.places.items())
    dx, dy = paper.area.x0 + (room[0] - right) / 2, paper.area.y0 + (room[1] - bottom) / 3
    for number, (x, y) in sorted(pack.places.items(), key=lambda p: (p[1][1], p[1][0])):
        part = groups[number].picture
        shift(part, round(dx + x, 2), round(dy + y, 2))
        whole.elements += part.elements
        whole.wires += part.wires
        whole.dots += part.dots
        whole.frame += part.frame
    whole.width, whole.height, whole.scale = paper.width, paper.height, paper.scale
    return _Page(whole, paper, _shows(made, whole), pack)


def _shows(made: _Drawing, picture: Picture) -> str:
    """What the sheet shows: its buses, or else whatever it has, by label, the most branches first."""
    words = made.settings.language
    named = [d for d in picture.elements if d.name]
    order: list[Drawn] = []
    for kinds in (("battery",), ("bus",), ("alternator", "charger", "solar"), ("joint", "selector"), ()):
        some = [d for d in named if d.kind in kinds or not kinds]
        if some and (not order or kinds == ("bus",)):
            order += sorted(some, key=lambda d: -len(d.terminals) if d.kind in ("bus", "joint") else 0)
    said = [_title(made.design.elements.get(d.name), d, words) for d in order]
    return ", ".join(dict.fromkeys(said)) or words["diagram"]


def _title(element: Element | None, drawn: Drawn, words: Language) -> str:
    name = clean(element.label or element.name if element is not None else drawn.name)
    return f"{name} ({words['continued']})" if drawn.continued else name


# ---- key and findings


def _listings(made: _Drawing, pages: list[_Page], key: Key | None) -> list[_Page]:
    """Sheets after the diagram: the key where it found no room, and the findings."""
    words, paper = made.settings.language, made.paper
    room = paper.room
    count = max(int((room[0] + 8.0) / (NARROW + 8.0)), 1)
    width = (room[0] - 8.0 * (count - 1)) / count
    texts = listed(made.design, made.marked, words, width)
    if texts and key is None and len(made.marked) <= MOST_BESIDE:
        total = sum(t.height for t in texts)
        for page in reversed(pages):
            if page.pack is not None and page.paper.enlarged == 1.0 and _beside(page, texts, width, total):
                return []
    more: list[_Page] = []
    if key is not None:
        more.append(_key_page(made, key))
    for start, column in enumerate(columns(texts, room[1])):
        place = start % count
        if place == 0:
            shows = words["findings"] if start == 0 else words["findings-continued"]
            picture = Picture(paper.width, paper.height, scale=paper.scale)
            more.append(_Page(picture, paper, shows))
        _set(more[-1].picture, column, paper.area.x0 + place * (width + 8.0), paper.area.y0)
    # The key stands last, where one looks for it.
    return [*more[1:], more[0]] if key is not None else more


def _beside(page: _Page, texts: Sequence[Text], width: float, total: float) -> bool:
    """Put the list where the diagram leaves room: right of it or below it."""
    area, boxes = page.paper.area, [box_of_drawn(d) for d in page.picture.elements]
    right, bottom = max(b.x1 for b in boxes), max(b.y1 for b in boxes)
    for x, y in ((area.x0, bottom + 8.0), (right + 10.0, area.y0)):
        if x + width <= area.x1 + 1e-6 and y + total <= area.y1 + 1e-6:
            _set(page.picture, texts, x, y)
            return True
    return False


def box_of_drawn(drawn: Drawn) -> Box:
    box = drawn.symbol
    for text in drawn.texts:
        box = box.joined(text.box)
    return box


def _set(picture: Picture, texts: Sequence[Text], x: float, y: float) -> None:
    for text in texts:
        picture.frame += [moved(s, x, y) for s in text.shapes]
        y += text.height


def _key_page(made: _Drawing, key: Key) -> _Page:
    words, paper = made.settings.language, made.paper
    picture = Picture(paper.width, paper.height, scale=paper.scale)
    title = heading(words["symbols"])
    _set(picture, [title], paper.area.x0 + 2.0, paper.area.y0)
    room = replace(paper.area, y0=paper.area.y0 + title.height)
    picture.frame += legend(key, room, made.design, words, made.settings.symbols)
    return _Page(picture, paper, words["symbols"])


# ---- around the diagram


def _framed(made: _Drawing, page: _Page, key: Key, number: int, count: int) -> None:
    design, words, paper, picture = made.design, made.settings.language, page.paper, page.picture
    picture.frame = [*border(paper, words), *foot(paper), *picture.frame]
    picture.frame += legend(key, paper.legend, design, words, made.settings.symbols)
    boat = clean(design.boat) or words["no-name"]
    sheet = say(words, "sheet", n=str(number), m=str(count))
    shows = page.shows
    if made.only:
        shows = f"{say(words, 'part', name=made.only)}: {shows}"
    caution = words["caution"] if made.marked else f"{words['caution']} {words['not-checked']}"
    picture.frame += title_block(
        paper, Title(boat, shows, sheet, _first_fields(made, page), _second_fields(made), caution)
    )
    if not design.whole:
        most = int((paper.room[0] - 2.0) / (ADVANCE_EM * SMALL))
        at = paper.frame.x0 + 3.0, paper.frame.y0 + 3.2
        picture.frame.append(Words(*at, shorten(words["not-whole"], most), SMALL, bold=True))
    picture.title = f"{boat}, {sheet[:1].lower()}{sheet[1:]}: {shows}"


def _first_fields(made: _Drawing, page: _Page) -> list[tuple[str, str]]:
    words, design = made.settings.language, made.design
    boat = [labels.figure(design.length_m, "m")] if design.length_m is not None else []
    fields = [
        (words["rulebooks"], ", ".join(clean(r.name) for r in design.rulebooks) or "–"),
        (words["systems"], ", ".join(labels.system_title(s) for s in design.systems.values()) or "–"),
    ]
    if boat:
        fields.insert(0, (words["boat"], boat[0]))
    size = page.paper.name.upper()
    if page.paper.enlarged > 1:
        size = " × ".join(f"{s * page.paper.enlarged:.0f}" for s in SIZES_MM[page.paper.name]) + " mm"
    return [*fields, (words["paper"], size)]


def _second_fields(made: _Drawing) -> list[tuple[str, str]]:
    words = made.settings.language
    fields: list[tuple[str, str]] = []
    revision = revision_of(made.design)
    if revision is not None:
        said = f"{revision.commit}, {revision.date}"
        fields.append((words["revision"], said + (f", {words['uncommitted']}" if revision.changed else "")))
    return [*fields, *made.settings.fields]


__all__ = ["Settings", "sheets"]
