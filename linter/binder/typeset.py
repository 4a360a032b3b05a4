"""The binder as PDF: typst sets it, in process, with the fonts it carries: the same input gives the same bytes.

It is PDF/A-2a and PDF/UA-1: everything embedded, tagged for readers that speak, nothing fetched.  Nothing of a design
becomes typst markup: all text goes in as data, drawings as images.
"""

from __future__ import annotations

import json
import re
import unicodedata
from collections.abc import Callable
from dataclasses import dataclass, field
from importlib.resources import files
from typing import Any

from linter.binder import shown
from linter.binder.direction import MARK, apart
from linter.binder.grids import PAPERS_MM
from linter.binder.model import (
    MEANING,
    Block,
    Card,
    Column,
    Document,
    Grid,
    Heading,
    Kind,
    Label,
    Labels,
    Paragraph,
    Picture,
    Points,
    Section,
    Table,
)  # fmt: skip
from linter.binder.widths import BOLD, POINT_MM, layout, soft, width_em
from linter.drawing.text import legal, shorten

STANDARDS = ("a-2a", "ua-1")
# Left and right of the text, in mm, on a page upright and on its side.
MARGINS_MM = {False: 24.0 + 15.0, True: 15.0 + 15.0}
COVER_MM = 24.0 + 18.0
CARD_MM = 8.0
GUTTER_MM = 8.0
# Of a label what is left free beside and above its text, how much of a row its type takes, and the sizes it may have.
LABEL_MM, LABEL_TYPE = (3.0, 1.6), 0.8
LEAST_LABEL_PT, GREATEST_LABEL_PT = 4.5, 12.0
# How much of a row its name may take.
NAME_PART = 0.6
# Less than all of the room, so that a row is never broken for a hair's breadth.
SNUG = 0.94
LONGEST_TITLE, LONGEST_LARGE = 60, 40
# Rounds of taking out what the fonts lack; a design has a few such characters, or a script that they do not have.
MOST_ROUNDS = 400
# How often the document is set anew for a character that was not found lacking by itself; and up to where (Cyrillic)
# all characters are surely there.
MOST_TURNS, GREATEST_SURE = 12, 0x45F
_NO_GLYPH = re.compile("could not be displayed|missing codepoints")
_LACKING = re.compile(r'the text `"((?:[^"\\]|\\.)+)"` could not be displayed')


class TypesetError(Exception):
    """The typesetter could not make the document; the words are its own."""


@dataclass(slots=True)
class _Fonts:
    """Characters for which no font has a glyph: in text they become their number in brackets, in drawings a square."""

    lacking: set[str] = field(default_factory=set)

    def text(self, words: str) -> str:
        words = apart(legal(words))
        if not self.lacking or words.isascii():
            return words
        return "".join(f"⟨{ord(c):X}⟩" if c in self.lacking else c for c in words)

    def drawing(self, svg: str) -> str:
        return svg.translate({ord(c): "□" for c in self.lacking}) if self.lacking else svg


def pdf(document: Document, folders: tuple[str, ...] = (), progress: Callable[[str], None] | None = None) -> bytes:
    """The document as PDF/A-2a and PDF/UA-1.  ``folders``: where more fonts are.  Raises TypesetError."""
    if progress is not None:
        progress("typesetting")
    fonts = _Fonts()
    data, drawings = _data(document, fonts)
    shown_ = _characters(data, drawings)
    fonts.lacking |= _not_in_fonts(shown_, folders)
    template = (files("linter.binder") / "binder.typ").read_bytes()
    # A character that a font has may have no glyph beside another.  What is complained of goes; where that does not
    # help, all marks over and under letters; and then all but the alphabets that every font here has.
    marks = {c for c in shown_ if unicodedata.category(c).startswith("M")}
    coarse = [marks, marks | {c for c in shown_ if ord(c) > GREATEST_SURE}]
    for turn in range(MOST_TURNS):
        if fonts.lacking:
            data, drawings = _data(document, fonts)
        content = {"main.typ": template, "binder.json": json.dumps(data).encode(), **drawings}
        made, lacking = _typst(content, folders)
        if made is not None:
            return made
        if not lacking - fonts.lacking or turn >= MOST_TURNS - 3:
            if not coarse:
                break
            lacking = coarse.pop(0)
        fonts.lacking |= lacking
    raise TypesetError("it has no font for what it was given; name a folder of fonts with --fonts")


def _typst(content: dict[str, bytes], folders: tuple[str, ...]) -> tuple[bytes | None, set[str]]:
    """(the document, or None and characters for which no font has a glyph; none of them where only a blank is told that
    stands before such a one)."""
    import typst

    # The type stubs know of paths only; files in memory are documented.
    compile_: Any = typst.compile
    more = {"format": "pdf", "pdf_standards": list(STANDARDS), "timestamp": 0, "ignore_system_fonts": True}
    try:
        return compile_(content, font_paths=list(folders), **more), set()
    except typst.TypstError as problem:
        if not _NO_GLYPH.search(str(problem)):
            raise TypesetError(str(problem)) from None
        return None, {c for text in _LACKING.findall(str(problem)) for c in text if not c.isascii()}


def _characters(data: dict[str, Any], drawings: dict[str, bytes]) -> set[str]:
    """All characters beyond ASCII that are shown."""
    found: set[str] = set()

    def collect(value: Any) -> None:
        if isinstance(value, str):
            if not value.isascii():
                found.update(value)
        elif isinstance(value, dict):
            for v in value.values():
                collect(v)
        elif isinstance(value, list | tuple):
            for v in value:
                collect(v)

    collect(data)
    for svg in drawings.values():
        found.update(svg.decode("utf-8", "replace"))
    return {c for c in found if not c.isascii() and c != MARK}


def _not_in_fonts(characters: set[str], folders: tuple[str, ...]) -> set[str]:
    """Those for which no font has a glyph, found by setting all of them, and leaving out what is complained of."""
    lacking: set[str] = set()
    day = "datetime(year: 2000, month: 1, day: 1, hour: 0, minute: 0, second: 0)"
    # each in a paragraph of its own, so that none is joined to another
    main = f'#set document(title: "x", date: {day})\n#for c in json("c.json") {{ par(c) }}\n'.encode()
    waiting = [sorted(characters)]
    for _ in range(MOST_ROUNDS):
        some = waiting.pop() if waiting else []
        if not some:
            break
        made, found = _typst({"main.typ": main, "c.json": json.dumps(some).encode()}, folders)
        if made is not None:
            continue
        lacking |= found if found or len(some) > 1 else set(some)
        left = [c for c in some if c not in lacking]
        # a script that the fonts lack is taken out by halves, not one by one
        half = len(left) // 2
        waiting += [part for part in ((left[:half], left[half:]) if half > 32 or not found else (left,)) if part]
    return lacking | {c for part in waiting for c in part if ord(c) > GREATEST_SURE}


def _data(document: Document, fonts: _Fonts) -> tuple[dict[str, Any], dict[str, bytes]]:
    drawings: dict[str, bytes] = {}
    wide, high = PAPERS_MM[document.paper]
    t = fonts.text
    signatures = Table(tuple(Column(h, h, kind=Kind.BOX, width=w) for h, w in _SIGNED))
    signatures.add(*("" for _ in _SIGNED))
    signatures.add(*("" for _ in _SIGNED))
    large = 30 if len(document.boat) <= LONGEST_LARGE else 16
    data = {
        "title": t(document.title), "boat": soft(t(document.boat), wide - COVER_MM, large), "large": large,
        "page": [wide, high],
        "boat-short": t(shorten(document.boat, LONGEST_TITLE)), "revision": t(document.revision),
        "day": list(document.day), "cover": document.cover, "warnings": [t(w) for w in document.warnings],
        "cautions": [t(c) for c in document.cautions],
        "short": "incomplete" if any(w.startswith("INCOMPLETE") for w in document.warnings) else "",
        "facts": [[t(a), soft(t(b), wide - MARGINS_MM[False] - 40, 10)] for a, b in document.facts],
        "signatures": _table(signatures, wide - COVER_MM, fonts) | {"pad": 3.2},
        "spelt": _spelt(fonts.lacking),
        "runs": _runs(document, fonts, drawings),
    }  # fmt: skip
    return data, drawings


def _runs(document: Document, fonts: _Fonts, drawings: dict[str, bytes]) -> list[dict[str, Any]]:
    """What is set one after another: text that flows over pages, and pictures and labels with pages of their own.

    A section begins on a new page, but the few words before its pictures follow the section before, where that stands
    the same way: a page of three lines is nothing to leaf through.
    """
    wide, high = PAPERS_MM[document.paper]
    runs: list[dict[str, Any]] = []
    for number, section in enumerate(document.sections, 1):
        room = (high if section.landscape else wide) - MARGINS_MM[section.landscape]
        paged = [isinstance(b, Picture | Labels) for b in section.blocks]
        part: dict[str, Any] = {"title": f"{number}  {fonts.text(section.title)}", "blocks": []}
        follows = any(paged) and runs and runs[-1]["kind"] == "flow" and runs[-1]["landscape"] == section.landscape
        if follows:
            runs[-1]["parts"].append(part)
        else:
            runs.append({"kind": "flow", "landscape": section.landscape, "parts": [part]})
        for block, alone in zip(section.blocks, paged, strict=True):
            made = _block(block, room, section, fonts, drawings)
            if alone:
                runs.append(made)
            else:
                if runs[-1]["kind"] != "flow":
                    part = {"title": "", "blocks": []}
                    runs.append({"kind": "flow", "landscape": section.landscape, "parts": [part]})
                part["blocks"].append(made)
    return runs


_SIGNED = (("Checked by", 60.0), ("Licence or capacity", 45.0), ("Day", 22.0), ("Signature", 40.0))


def _spelt(lacking: set[str]) -> str:
    if not lacking:
        return ""
    return (
        f"The fonts of this document have no glyph for {len(lacking)} of the characters that the design uses: in "
        "tables they are written by their Unicode number in ⟨ ⟩, in drawings as □. The page (HTML) shows them; a "
        "folder of fonts that have them can be named with --fonts."
    )


def _block(
    block: Block, room: float, section: Section, fonts: _Fonts, drawings: dict[str, bytes]
) -> dict[str, Any]:  # fmt: skip
    t = fonts.text
    match block:
        case Table():
            return {"kind": "table", **_table(block, room, fonts)}
        case Paragraph():
            return {"kind": "paragraph", "text": soft(t(block.text), room, 10), "strong": block.strong}
        case Heading():
            return {"kind": "heading", "text": soft(t(block.text), room, 12)}
        case Points():
            return {"kind": "points", "lines": [[t(a), soft(t(b), room, 10)] for a, b in block.lines]}
        case Picture():
            name = f"drawing-{section.key}-{len(drawings) + 1}.svg"
            drawings[name] = fonts.drawing(block.svg).encode("utf-8", "replace")
            return {"kind": "picture", "file": name, "width": block.width_mm, "height": block.height_mm,
                    "title": t(shorten(block.title, 120))}  # fmt: skip
        case Card():
            return {
                "kind": "card", "title": soft(t(block.title), room - CARD_MM, 14),
                "lines": [soft(t(x), room - CARD_MM, 9) for x in block.lines],
                "table": _table(block.table, room - CARD_MM, fonts), "foot": soft(t(block.foot), room - CARD_MM, 7),
            }  # fmt: skip
        case Labels():
            grid = block.grid
            return {
                "kind": "labels",
                "grid": {
                    "page": list(PAPERS_MM[grid.paper]), "columns": grid.columns, "rows": grid.rows,
                    "left": grid.left, "top": grid.top, "width": grid.width, "height": grid.height,
                    "across": grid.across, "down": grid.down,
                },
                "labels": [_label(x, grid, fonts) for x in block.labels],
            }  # fmt: skip


def _label(label: Label, grid: Grid, fonts: _Fonts) -> dict[str, Any]:
    """Rows of a label, each in the size at which it fits.  A name is never shortened; what else is longer than the
    label at the least size is."""
    title = fonts.text(label.title)
    lines = [fonts.text(x) for x in label.lines]
    if label.wraps:
        rows = [(title, lines[0]), (title, lines[1] if len(lines) > 1 else ""), (title, lines[0])]
    else:
        rows = [(title, ""), *(("", x) for x in lines)]
    room = (grid.width - LABEL_MM[0]) / POINT_MM * SNUG
    most = (grid.height - LABEL_MM[1]) / len(rows) / POINT_MM * LABEL_TYPE
    greatest = min(most, GREATEST_LABEL_PT)
    made: list[dict[str, Any]] = []
    for name, line in rows:
        named = width_em(name) * BOLD + (0.5 if name and line else 0.0)
        # a long name leaves its line the least that can be read
        size = min(greatest, room * (NAME_PART if line else 1.0) / max(named, 0.1))
        left = room - named * size if name else room
        while width_em(line) * LEAST_LABEL_PT > left and len(line) > 2:
            line = shorten(line, len(line) - 1)
        small = min(greatest, size if name else greatest, left / max(width_em(line), 0.1))
        made.append({"title": name, "line": line, "size": round(size, 2), "line-size": round(small, 2)})
    return {"rows": made}


def _table(table: Table, room: float, fonts: _Fonts) -> dict[str, Any]:
    t = fonts.text
    if table.beside > 1:
        room = (room - GUTTER_MM * (table.beside - 1)) / table.beside
    rows = [[shown.Shown(t(c.text), c.lead, c.pad) for c in row] for row in shown.rows(table)]
    made = layout(table, rows, room)
    has_box = any(c.kind is Kind.BOX for c in table.columns)
    return {
        "title": t(table.title),
        "empty": table.empty,
        "size": made.size,
        "beside": table.beside,
        "pad": 1.6 if has_box else 0.95,
        "notes": [soft(t(n), room, 8) for n in [*(f"{m.value} {MEANING[m]}." for m in table.marks()), *table.notes]],
        "columns": [
            {
                "head": soft(c.head, w, made.size, bold=True), "unit": c.unit, "width": w,
                "right": c.kind is Kind.FIGURE, "box": c.kind is Kind.BOX,
            }
            for c, w in zip(table.columns, made.widths, strict=True)
        ],
        "rows": [
            {
                "strong": row.bold,
                "cells": [_cell(c, w, made.size, row.bold) for c, w in zip(cells, made.widths, strict=True)],
            }
            for row, cells in zip(table.rows, rows, strict=True)
        ],
    }  # fmt: skip


def _cell(cell: shown.Shown, width: float, size: float, strong: bool) -> Any:
    if cell.lead or cell.pad:
        return {"l": cell.lead, "t": cell.text, "p": cell.pad}
    return soft(cell.text, width, size, strong)
