"""The diagram on sheets of A3 or A4: divided, laid out, packed, referenced, framed."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field, replace
from typing import TYPE_CHECKING

from linter.drawing import annotate, labels
from linter.drawing.border import Title, border, foot, title_block
from linter.drawing.cells import SMALL, Note, Told
from linter.drawing.changes import Changes, Counted, counted, lay_bands, listed_changes, notes_of
from linter.drawing.cut import Cut
from linter.drawing.findings_list import listed
from linter.drawing.frame import Numbered, numbered
from linter.drawing.language import Language, english, say
from linter.drawing.layout import laid
from linter.drawing.legend import Key, height, key_block, key_of, legend, together
from linter.drawing.listings import Block, list_sheets, set_beside
from linter.drawing.pack import Packed, packed
from linter.drawing.paper import LEAST_TEXT_PT, POINT_MM, SIZES_MM, Paper
from linter.drawing.partition import Group, partition
from linter.drawing.picture import Drawn, Picture, Words, shift
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

# What makes fewer sheets of what would nearly fit them: the smallest text at its least size.
SMALLEST = LEAST_TEXT_PT * POINT_MM / SMALL + 1e-4
MOST_TRIED_SMALLER = 24


@dataclass(frozen=True, slots=True)
class Settings:
    """What a yard sets.  ``fields`` are more (label, value) pairs of the title block, ``symbols`` by name of part.

    ``scale`` is how large text is beside its ordinary size, and then it is so on every sheet; None where nobody set it:
    ordinary, or the least size where that makes fewer sheets.
    """

    paper: str = "a3"
    scale: float | None = None
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
    changes: Counted | None = None


def sheets(
    design: Design, findings: Sequence[Finding] = (), settings: Settings | None = None,
    layers: Sequence[str] = (), study: Study | None = None, only: str = "", changes: Changes | None = None,
) -> list[Picture]:  # fmt: skip
    """The sheets of a design; the same design gives the same.

    ``layers`` are of `annotate.LAYERS`, none meaning the usual; ``study`` is needed for the layer of that name, and
    ``changes`` are what the layer of changes shows: it is drawn where they are given.
    """
    chosen = annotate.with_default(layers)
    set_ = settings or Settings()
    shown = list(findings) if "findings" in chosen else []
    if only:
        from linter.drawing.only import of_part, part_around

        design = part_around(design, only)
        shown = of_part(design, shown)
    marked = numbered(shown)
    differs = counted(changes, design.elements, not only) if changes is not None else None
    told = _told(design, marked, set_, chosen, study, differs)
    made = _Drawing(design, set_, chosen, told, Paper(set_.paper, set_.scale or 1.0), only, marked, differs)
    groups, packs = _divided(made)
    if set_.scale is None and 2 <= len(packs) <= MOST_TRIED_SMALLER:
        small = replace(made, paper=Paper(set_.paper, SMALLEST))
        of_small, fewer = _divided(small)
        if len(fewer) < len(packs):
            made, groups, packs = small, of_small, fewer
    return _painted(made, groups, packs)


def _told(
    design: Design, marked: Sequence[Numbered], settings: Settings, layers: Sequence[str], study: Study | None,
    changes: Counted | None,
) -> Told:  # fmt: skip
    notes: dict[str, list[Note]] = notes_of(changes) if changes is not None else {}
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
    words, own = made.settings.language, made.settings.symbols
    fill_in([(p.picture, p.paper) for p in pages], words)
    diagram = list(pages)

    def keys(listed: str) -> list[Key]:
        return [key_of(p.picture, made.design, words, own, made.layers, listed) for p in diagram]

    some = keys("000")
    fits = [
        p.paper.legend.x1 > p.paper.legend.x0
        and height(k, p.paper.legend, made.design, words) <= p.paper.legend.y1 - p.paper.legend.y0
        for k, p in zip(some, diagram, strict=True)
    ]
    whole = None if all(fits) else together(keys(""), own)
    more, listed, at = _listings(made, pages, whole)
    pages += more
    of_page = keys(listed)
    for number, page in enumerate(pages, 1):
        key = of_page[number - 1] if number <= len(diagram) else Key([], [])
        elsewhere = ""
        if number <= len(diagram) and not fits[number - 1]:
            key = Key([], [(say(words, "symbols-elsewhere", n=str(at)), [])])
            if page.paper.legend.x1 <= page.paper.legend.x0:
                key, elsewhere = Key([], []), say(words, "sheet", n=str(at), m=str(len(pages)))
        _framed(made, page, key, number, len(pages), elsewhere)
    return [p.picture for p in pages]


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
    if made.changes is not None:
        lay_bands(whole.elements, made.changes.bands)
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
    name = clean(element.statement.label or element.name if element is not None else drawn.name)
    return f"{name} ({words['continued']})" if drawn.continued else name


# ---- key and lists


def _listings(made: _Drawing, pages: Sequence[_Page], key: Key | None) -> tuple[list[_Page], str, int]:
    """Changes, findings, and the key where it found no room: beside the diagram, or on sheets after it; and which
    sheets list what is marked, and which has the key."""
    words, paper, own = made.settings.language, made.paper, made.settings.symbols
    blocks: list[Block] = []
    if made.changes is not None:
        changes = made.changes
        blocks.append(Block("changes-short", len(changes.rows), lambda wide: listed_changes(changes, words, wide)))
    if made.marked:
        many = len(made.marked)
        blocks.append(Block("findings", many, lambda wide: listed(made.design, made.marked, words, wide)))
    if key is not None:
        blocks.append(Block("symbols", 0, lambda wide: key_block(key, wide, made.design, words, own)))
    at: dict[str, int] = {}
    for block in blocks:
        for number, page in reversed(list(enumerate(pages, 1))):
            if page.paper.enlarged == 1.0 and set_beside(page.picture, page.paper, block):
                at[block.name] = number
                break
    more: list[_Page] = []
    for picture, names in list_sheets(paper, [b for b in blocks if b.name not in at]):
        said = [words[n] if n not in at else words[f"{n}-continued"] for n in names]
        at |= {n: len(pages) + len(more) + 1 for n in names if n not in at}
        more.append(_Page(picture, paper, ", ".join(said)))
    numbers = dict.fromkeys(str(n) for name, n in at.items() if name != "symbols")
    return more, ", ".join(numbers), at.get("symbols", 0)


# ---- around the diagram


def _framed(made: _Drawing, page: _Page, key: Key, number: int, count: int, elsewhere: str) -> None:
    """``elsewhere``: the sheet that has the symbols, where that must be said in the title block."""
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
        paper, Title(boat, shows, sheet, _first_fields(made, page), _second_fields(made, elsewhere), caution)
    )
    if not design.whole:
        most = int((paper.room[0] - 2.0) / (ADVANCE_EM * SMALL))
        at = paper.frame.x0 + 3.0, paper.frame.y0 + 3.2
        picture.frame.append(Words(*at, shorten(words["not-whole"], most), SMALL, bold=True))
    if words["sheet"] == english()["sheet"]:
        # within a line an English noun is small; of a yard's own words nothing is known
        sheet = f"{sheet[:1].lower()}{sheet[1:]}"
    picture.title = f"{boat}, {sheet}: {shows}"


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


def _second_fields(made: _Drawing, elsewhere: str) -> list[tuple[str, str]]:
    words = made.settings.language
    fields: list[tuple[str, str]] = [(words["symbols"], elsewhere)] if elsewhere else []
    revision = revision_of(made.design)
    if revision is not None:
        said = f"{revision.commit}, {revision.date}"
        fields.append((words["revision"], said + (f", {words['uncommitted']}" if revision.changed else "")))
    if made.changes is not None:
        fields.append((words["compared"], clean(made.changes.since)))
    return [*fields, *made.settings.fields]


__all__ = ["Settings", "sheets"]
