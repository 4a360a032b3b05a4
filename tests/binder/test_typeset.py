"""The PDF: its text against the model, and what PDF/A asks of a file, by pypdf.

No checker of PDF/A is to be had as a Python package; what is asserted are the demands of ISO 19005-2 that can be read
from the file's structure: identification, output intent, fonts embedded, tags, nothing that runs, nothing outside.
"""

from __future__ import annotations

import json
import random
import re
import subprocess
import sys
import unicodedata
from collections import Counter
from collections.abc import Iterator
from typing import Any

import pypdf
import pytest
from pypdf.generic import ArrayObject, DictionaryObject, IndirectObject, StreamObject

from linter.binder import shown
from linter.binder.contents import PARTS, document, one_part
from linter.binder.direction import apart
from linter.binder.grids import grid_of
from linter.binder.model import Card, Label, Picture, Table
from linter.binder.subject import Subject
from linter.binder.typeset import _data, _Fonts, _label, pdf
from linter.binder.widths import SIZES, ZERO, layout, soft
from tests.binder.making import (
    AT,
    HOSTILE,
    LONG,
    SMALL,
    hostile_pdf,
    launch,
    launch_pdf,
    pages_of,
    plain,
    read,
    section_text,
    small,
    small_pdf,
    subject_of,
)  # fmt: skip

BOATS = pytest.mark.parametrize(
    ("subject", "made"), [(small, small_pdf), (launch, launch_pdf)], ids=["small", "launch"]
)


def tight(text: str) -> str:
    return plain(text).replace(" ", "")


@BOATS
def test_every_row_of_every_table_is_on_paper_once(subject: Any, made: Any) -> None:
    """A row is set cell by cell, so that its text stands in one piece, however its cells are broken into lines."""
    of: Subject = subject()
    for section in document(of).sections:
        text = tight(section_text(made(), section.title))
        rows: Counter[str] = Counter()
        for block in section.blocks:
            table = block if isinstance(block, Table) else block.table if isinstance(block, Card) else None
            if table is not None:
                rows.update(tight("".join(c.lead + c.text for c in row)) for row in shown.rows(table))
                assert all(tight(note) in text for note in table.notes)
        for row, count in rows.items():
            assert text.count(row) >= count, (section.key, row)


@BOATS
def test_every_label_is_printed(subject: Any, made: Any) -> None:
    of: Subject = subject()
    text = section_text(made(), "Labels")
    for name in of.study.conductors:
        # three lines a label, two ends a cable
        assert len(re.findall(rf"(?<![\w-]){re.escape(name)} ", text)) >= 6, name
    for row in one_part(of, "labels").data.rows:
        assert plain(str(row.cells[1])) in text


@BOATS
def test_each_page_has_its_number_and_the_revision(subject: Any, made: Any) -> None:
    del subject
    pages = pages_of(made())
    for number, text in enumerate(pages, 1):
        assert f"page {number} of {len(pages)}" in text
        assert "revision 0123abcd of 2026-05-17" in text


@BOATS
def test_no_page_has_a_few_lines_only(subject: Any, made: Any) -> None:
    """Notes stand with their tables, and the words before drawings and labels behind the section before."""
    del subject
    marks = [d for d in read(made()).outline if not isinstance(d, list)]
    begins = {read(made()).get_destination_page_number(d) for d in marks}
    # the last sheet of labels has those that are left
    last = max(begins) - 1
    for number, text in enumerate(pages_of(made())):
        if number not in begins and "Contents" not in text and number < last:
            # what goes on has at the least some rows, with the head of their table, or is a drawing
            assert len(text) > 250, text
    titles = [plain(str(d.title)).lstrip("0123456789 ") for d in marks]
    at = dict(zip(titles, (read(made()).get_destination_page_number(d) for d in marks), strict=True))
    assert at["Single-line diagram"] == at["How to read it"]
    assert len(pages_of(made())[at["Labels"]]) > 800


def test_no_word_of_a_head_is_broken() -> None:
    for room in range(60, 260, 7):
        for section in document(small(), ["conductors", "devices", "loads", "batteries"]).sections:
            for table in (b for b in section.blocks if isinstance(b, Table)):
                placed = layout(table, shown.rows(table), float(room))
                if placed.size <= SIZES[-1]:
                    continue
                for column, width in zip(table.columns, placed.widths, strict=True):
                    assert ZERO not in soft(column.head, width, placed.size, bold=True), (column.head, room)


def test_the_name_on_a_label_keeps_its_size_beside_a_long_line() -> None:
    grid = grid_of("", "a4")
    sizes = []
    for line in ("to Q1", "to A-VERY-LONG-NAME-OF-A-LOAD", "to " + "X" * 200):
        rows = _label(Label("W101", (line, "6 mm²"), wraps=True), grid, _Fonts())["rows"]
        assert [r["title"] for r in rows] == ["W101"] * 3
        assert all(4.4 <= r["line-size"] <= r["size"] for r in rows)
        sizes.append({r["size"] for r in rows})
    assert sizes[0] == sizes[1] == sizes[2] and len(sizes[0]) == 1


@BOATS
def test_bookmarks_lead_to_the_sections_and_sheets(subject: Any, made: Any) -> None:
    of: Subject = subject()
    reader = read(made())
    marks = [plain(str(d.title)) for d in reader.outline if not isinstance(d, list)]
    sections = document(of).sections
    assert marks[-len(sections) :] == [f"{n} {plain(s.title)}" for n, s in enumerate(sections, 1)]
    contents = pages_of(made())[1]
    for section in sections:
        assert plain(section.title) in contents
        for block in section.blocks:
            if isinstance(block, Picture):
                assert plain(block.title)[:20] in contents
    assert [d for d in reader.outline if isinstance(d, list)], "sheets and tables have bookmarks of their own"


def dictionaries(reader: pypdf.PdfReader) -> Iterator[DictionaryObject]:
    for number in range(1, len(reader.xref_objStm) + sum(len(x) for x in reader.xref.values()) + 1):
        try:
            found = reader.get_object(IndirectObject(number, 0, reader))
        except Exception:  # not every number is in use
            continue
        waiting: list[Any] = [found]
        while waiting:
            one = waiting.pop()
            if isinstance(one, DictionaryObject):
                yield one
                waiting += list(one.values())
            elif isinstance(one, ArrayObject):
                waiting += list(one)


@pytest.mark.parametrize("made", [small_pdf, launch_pdf, hostile_pdf])
def test_what_pdf_a_asks_of_the_structure(made: Any) -> None:
    reader = read(made())
    root = reader.trailer["/Root"]
    assert not reader.is_encrypted and "/ID" in reader.trailer
    metadata = root["/Metadata"].get_data().decode()
    assert re.search(r"pdfaid:part\W+2\b", metadata) and re.search(r"pdfaid:conformance\W+A\b", metadata)
    assert re.search(r"pdfuaid:part\W+1\b", metadata)
    (intent,) = root["/OutputIntents"]
    assert intent["/S"] == "/GTS_PDFA1" and len(intent["/DestOutputProfile"].get_data()) > 100
    # level A: tagged, its language told, and it shows its title
    assert root["/MarkInfo"]["/Marked"] and "/StructTreeRoot" in root
    assert str(root["/Lang"]).startswith("en")
    assert reader.metadata is not None and reader.metadata.title
    fonts = files = 0
    for one in dictionaries(reader):
        kind = one.get("/Type")
        if kind == "/Font":
            fonts += 1
        if kind == "/FontDescriptor":
            files += 1
            assert {"/FontFile", "/FontFile2", "/FontFile3"} & set(one), one.get("/FontName")
        assert one.get("/S") not in (
            "/JavaScript",
            "/URI",
            "/Launch",
            "/SubmitForm",
            "/GoToR",
            "/ImportData",
            "/Rendition",
        )
        assert not {"/JS", "/AA", "/OpenAction", "/EmbeddedFiles", "/XFA"} & set(one)
        if isinstance(one, StreamObject):
            assert "/F" not in one and one.get("/Filter") != "/LZWDecode"
    assert fonts >= 2 and files >= 1


@pytest.mark.parametrize(("paper", "points"), [("a4", (595.3, 841.9)), ("letter", (612.0, 792.0))])
def test_pages_are_of_the_paper(paper: str, points: tuple[float, float]) -> None:
    for page in read(small_pdf(paper)).pages:
        size = sorted((float(page.mediabox.width), float(page.mediabox.height)))
        assert size == [pytest.approx(p, abs=0.5) for p in points]


@pytest.mark.parametrize("made", [hostile_pdf, lambda: small_pdf("letter")], ids=["hostile", "letter"])
def test_nothing_stands_outside_its_page(made: Any) -> None:
    """Where each piece of text begins, and for words that cannot be broken where they end at least."""
    for page in read(made()).pages:
        wide, high = float(page.mediabox.width), float(page.mediabox.height)
        at: list[tuple[float, float, str]] = []

        def visit(text: str, cm: Any, tm: Any, font: Any, size: Any, at: list[tuple[float, float, str]] = at) -> None:
            del font, size
            if text.strip():
                x = cm[0] * tm[4] + cm[2] * tm[5] + cm[4]
                y = cm[1] * tm[4] + cm[3] * tm[5] + cm[5]
                at.append((x, y, text))

        page.extract_text(visitor_text=visit)
        assert at
        assert all(-1 <= x <= wide - 5 and 3 <= y <= high - 3 for x, y, _ in at)


def test_the_same_design_gives_the_same_bytes() -> None:
    assert pdf(document(subject_of(SMALL))) == small_pdf()
    program = (
        "import sys, hashlib; from tests.binder.making import small_pdf;"
        "sys.stdout.write(hashlib.sha256(small_pdf()).hexdigest())"
    )
    told = subprocess.run(
        [sys.executable, "-c", program], capture_output=True, text=True, check=True,
        env={"PYTHONPATH": ".", "PYTHONHASHSEED": "77", "TZ": "Asia/Tokyo", "PATH": ""},
    )  # fmt: skip
    import hashlib

    assert told.stdout == hashlib.sha256(small_pdf()).hexdigest()


def test_markup_in_a_design_is_text_and_what_no_font_has_is_spelt() -> None:
    text = " ".join(pages_of(hostile_pdf()))
    assert "#set page(fill: red) <script>alert(1)</script>" in text
    assert "#panic() $x$ *b* _i_ @ref" in section_text(hostile_pdf(), "Protective devices")
    assert "]] #read(/etc) [[" in section_text(hostile_pdf(), "Load schedule")
    # Cyrillic is in the fonts; Chinese is not, and its characters are written by number, so that names stay apart
    assert "Ж Шина & <b>bus</b>" in section_text(hostile_pdf(), "Panel schedules")
    loads = section_text(hostile_pdf(), "Load schedule")
    assert "".join(f"⟨{ord(c):X}⟩" for c in "航行灯") in loads.replace(" ", "")
    assert "have no glyph for" in text
    # nothing of a long name is lost
    assert LONG in section_text(hostile_pdf(), "Protective devices").replace(" ", "")
    assert "L" * 120 in loads.replace(" ", "")
    assert "under no revision control" in text


STRANGE = "क्षि กำ ᄒᆞᆫ 👩🔧🏽 ✈️ 𝄞 ﷽ Z̸̧a̷l̶g̵o̴ ﬃ ℵ₀ ⚓️ ɐ̃ x͇ ₿ ☠ ᚠ 𓀀 a\u0361b ⸮ 〱 ｶﾞ ½ ① Ǆ ẞ İ ı ſ ⟨ ⟩ □ † ‡ ≤"


def test_no_script_stops_the_binder() -> None:
    """Whatever is in a label: shaped, joined, without a glyph, or no character at all."""
    text = SMALL.replace('"Chart plotter"', f'"{STRANGE}"').replace('"Port locker"', f'"{STRANGE[::-1]}"')
    subject = subject_of(text)
    assert subject.design.whole
    made = pdf(document(subject, ["diagram", "loads", "devices", "panels", "labels"]))
    loads = section_text(made, "Load schedule")
    assert "PLOTTER" in loads and f"⟨{ord('𓀀'):X}⟩" in loads.replace(" ", "")


def some_text(seed: int) -> str:
    """Letters, marks and signs of anywhere, as a label may have them."""
    chance = random.Random(seed)
    blocks = ((0x20, 0x2FF), (0x300, 0x370), (0x590, 0x1FFF), (0x2000, 0x2FFF), (0x3000, 0xD7FF), (0x1F000, 0x1FAFF))
    made = [chr(chance.randint(*chance.choice(blocks))) for _ in range(60)]
    return "".join(c for c in made if c != '"' and unicodedata.category(c)[0] != "C" and c not in "\u2028\u2029")


@pytest.mark.parametrize("seed", range(6))
def test_no_text_stops_the_binder(seed: int) -> None:
    text = SMALL.replace('"Chart plotter"', f'"{some_text(seed)}"').replace('"Dunlin"', f'"{some_text(seed + 100)}"')
    subject = subject_of(text)
    assert subject.design.whole
    assert pdf(document(subject, ["cover", "diagram", "loads"])).startswith(b"%PDF")


def test_parts_left_out_are_not_there() -> None:
    made = pdf(document(subject_of(SMALL), ["conductors", "glossary"]))
    marks = [plain(str(d.title)) for d in read(made).outline if not isinstance(d, list)]
    assert marks[-2:] == ["1 Conductor schedule", "2 Glossary"] and len(marks) <= 3
    assert "As-built".upper() not in pages_of(made)[0]
    # the cautions are in it all the same
    assert "aid for a competent person" in " ".join(pages_of(made))


def test_every_part_can_stand_alone() -> None:
    for part in PARTS:
        assert pdf(document(subject_of(SMALL), [part])).startswith(b"%PDF")


def test_a_design_with_nothing_in_it_makes_a_binder() -> None:
    made = pdf(document(subject_of('boat "Empty"\nsystem DC12, 12 V\n', AT)))
    text = " ".join(pages_of(made))
    assert "The design has no conductors." in text and "The design has no battery." in text


def test_a_name_from_right_to_left_leaves_figures_where_they_are() -> None:
    """By UAX #9 (W2, N1, I1) a figure behind letters from right to left goes to their left, unless a mark is between."""
    assert apart("Wيد 6 mm²") == "Wيد\u200e 6 mm²"
    assert apart("W1 6 mm²") == "W1 6 mm²"
    assert apart("نور 1, شمس") == "نور\u200e 1, شمس\u200e"
    assert apart("W\u05d0\u05b8 1") == "W\u05d0\u05b8\u200e 1"
    data = json.dumps(_data(document(subject_of(HOSTILE, None)), _Fonts())[0], ensure_ascii=False)
    assert data.count("يد\u200e") == data.count("يد") > 6
    assert data.count("نور\u200e") == data.count("نور") > 2
