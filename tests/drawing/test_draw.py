"""The files: SVG that is well formed whatever the labels, PDF with text, PNG of the right size, DOT that is DOT."""

from __future__ import annotations

import itertools
import re
import subprocess
import sys
import zlib
from xml.etree import ElementTree

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from linter.drawing import graph
from linter.drawing.draw import Output, draw, picture
from linter.drawing.export import MOST_PIXELS, page_mm, png_pixels, typeset
from linter.drawing.picture import Picture
from linter.rules.finding import Finding, Severity
from tests.drawing import png
from tests.drawing.designs import CORNERS, HEAD, SMALL, TWO_SYSTEMS, by_chance, design_of
from tests.drawing.readback import collisions, disagreements

SVG = "{http://www.w3.org/2000/svg}"
HOSTILE = (
    "<script>alert(1)</script>", "a & b && <c>", "'quoted' & &amp;", "]]> --> <!--", "\u202ereversed\u202c \u2066x",
    "שלום עולם", "مرحبا بالعالم 12 V", "電池スイッチ" * 6, "e" + "\u0301" * 500, "x" * 10_000, "ab " * 4_000,
    "#set page(width: 1pt) #eval(\"1\")", "$x$ `raw` *b* _i_ @ref #sys.inputs", "\\N \\G \\L {a|b} <br/>", "\U0001f6a4" * 40,
    "%n%s${}{{}}", "\u200b\u00ad\ufeff", "\U000e0001",
)  # fmt: skip


def hostile_design(labels: tuple[str, ...] = HOSTILE) -> str:
    lines = ['boat "<b>&\'Boat\'", 7 m\nsystem DC12 "<s>&", 12 V\nbus POS "<bus> & co", 100 A\n']
    for n, label in enumerate(labels):
        safe = label.replace('"', "'").replace("\n", " ")
        lines.append(
            f'from POS\nfuse F{n} "{safe}", blade, 5 A\ncable W{n} "{safe}", 2.5 mm2, 1 m\nload L{n} "{safe}", draws 1 A\n'
        )
    return "".join(lines)


def test_svg_has_every_element_once_with_title_and_description() -> None:
    design = design_of(SMALL)
    root = ElementTree.fromstring(draw(design, "svg"))
    made = picture(design)
    assert (
        root.get("viewBox")
        == f"0 0 {float(root.get('width', '').removesuffix('mm')):g} {float(root.get('height', '').removesuffix('mm')):g}"
    )
    assert float(root.get("width", "").removesuffix("mm")) == pytest.approx(made.width, abs=0.01)
    groups = {g.get("id"): g for g in root.iter(f"{SVG}g") if (g.get("id") or "").startswith("el-")}
    assert set(groups) == {f"el-{name}" for name in design.elements}
    assert groups["el-W3"].findtext(f"{SVG}title") == "W3"
    assert groups["el-W3"].findtext(f"{SVG}desc") == "cable W3, 35 mm², 9.5 m"
    assert "".join(groups["el-W3"].itertext()).endswith("W335\u00a0mm² 9.5\u00a0m")


def test_svg_paints_the_lines_that_were_measured() -> None:
    design = design_of(TWO_SYSTEMS)
    made = picture(design)
    root = ElementTree.fromstring(draw(design, "svg"))
    painted = [p.get("d", "") for p in root.iter(f"{SVG}path") if p.get("class") == "wire"]
    assert len(painted) == len(made.wires)
    for d, wire in zip(painted, made.wires, strict=True):
        assert points_of(d) == [(round(x, 2), round(y, 2)) for x, y in wire.points]


def points_of(d: str) -> list[tuple[float, float]]:
    at, made = (0.0, 0.0), []
    for letter, args in re.findall(r"([MLHV])([-\d. ]+)", d):
        figures = [float(a) for a in args.split()]
        at = (
            (figures[0], at[1]) if letter == "H" else (at[0], figures[0]) if letter == "V" else (figures[0], figures[1])
        )
        made.append(at)
    return made


def test_hostile_labels_stay_text() -> None:
    design = design_of(hostile_design())
    findings = [
        Finding("<rule>&", Severity.DANGER, f"L{n}", design.elements["L0"].span, label, accepted=label if n % 2 else "")
        for n, label in enumerate(HOSTILE)
    ]
    data = draw(design, "svg", findings)
    root = ElementTree.fromstring(data)
    tags = {e.tag.removeprefix(SVG) for e in root.iter()}
    assert tags <= {"svg", "title", "desc", "g", "path", "rect", "circle", "text"}
    for element in root.iter():
        for name, value in element.attrib.items():
            assert not name.startswith("on") and "href" not in name and "url(" not in value
    ids = [e.get("id") for e in root.iter() if e.get("id")]
    assert len(ids) == len(set(ids))
    # What is shown is short; what was written stands in the description.
    assert max(len(t.text or "") for t in root.iter(f"{SVG}text")) < 200
    assert any("x" * 10_000 in (t.text or "") for t in root.iter(f"{SVG}title"))
    assert all(ord(c) >= 32 or c in "\n" for c in data.decode())
    made = picture(design, findings)
    assert collisions(made) == [] and disagreements(made, design.circuit) == []


def test_hostile_labels_do_not_reach_the_typesetter_as_markup() -> None:
    design = design_of(hostile_design())
    assert draw(design, "pdf").startswith(b"%PDF")
    assert draw(design, "png").startswith(b"\x89PNG")
    assert draw(design, "dot")


@settings(max_examples=40, deadline=None)
@given(st.lists(st.text(max_size=60), min_size=1, max_size=3))
def test_any_label_gives_well_formed_svg_without_collisions(labels: list[str]) -> None:
    design = design_of(hostile_design(tuple(labels)))
    ElementTree.fromstring(draw(design, "svg"))
    assert collisions(picture(design)) == []


def test_names_that_differ_only_in_what_an_id_cannot_hold_get_ids_of_their_own() -> None:
    design = design_of(
        HEAD
        + "bus POS\nfrom POS\ncable Wä, 1 mm2, 1 m\nload Lé, draws 1 A\nfrom POS\ncable Wö, 1 mm2, 1 m\nload Lè, draws 1 A\n"
    )
    ids = re.findall(rb' id="(el-[^"]+)"', draw(design, "svg"))
    assert len(ids) == len(set(ids)) == len(design.elements)


@pytest.mark.parametrize("output", ["svg", "pdf", "png", "dot"])
def test_the_same_design_gives_the_same_bytes(output: Output) -> None:
    text = by_chance(11, 9, 14)
    assert draw(design_of(text), output) == draw(design_of(text), output)


def test_the_same_bytes_in_another_process() -> None:
    text = by_chance(12, 9, 14)
    program = (
        "import sys, hashlib\nfrom linter.drawing.draw import draw\nfrom linter.model.build import build\n"
        "from linter.source.files import Reader\ndesign = build(Reader().design_text(sys.stdin.read()))\n"
        "print(*(hashlib.sha256(draw(design, o)).hexdigest() for o in ('svg', 'pdf')))"
    )
    hashes = {
        subprocess.run(
            [sys.executable, "-c", program], input=text, capture_output=True, text=True, check=True,
            env={"PYTHONHASHSEED": seed, "PYTHONPATH": ":".join(sys.path)},
        ).stdout
        for seed in ("1", "2")
    }  # fmt: skip
    assert len(hashes) == 1


def test_pdf_has_vectors_and_text() -> None:
    design = design_of(SMALL)
    data = draw(design, "pdf")
    assert data.startswith(b"%PDF") and data.rstrip().endswith(b"%%EOF")
    width, height = (mm * 72 / 25.4 for mm in page_mm(picture(design)))
    box = re.search(rb"/MediaBox\s*\[\s*0 0 ([\d.]+) ([\d.]+)\s*\]", data)
    assert box and float(box[1]) == pytest.approx(width, abs=0.1) and float(box[2]) == pytest.approx(height, abs=0.1)
    streams = b"".join(_inflated(data))
    # Text is shown with a font that maps back to characters; lines are drawn; nothing is a picture of pixels.
    assert (streams.count(b" Tf") > 20 and b"beginbfchar" in streams) or b"beginbfrange" in streams
    assert streams.count(b" l\n") > 20
    assert b"/Subtype/Image" not in data.replace(b" ", b"")
    # /ToUnicode: "W" and "³" or the like; the letters of WINDLASS are all there.
    shown = {chr(int(m[1], 16)) for m in re.finditer(rb"<[0-9a-fA-F]{4}> <([0-9a-fA-F]{4})>", streams)}
    assert set("WINDLASS75A") <= shown


def _inflated(data: bytes) -> list[bytes]:
    made = []
    for found in re.finditer(rb"stream\r?\n", data):
        try:
            made.append(zlib.decompressobj().decompress(data[found.end() :]))
        except zlib.error:
            continue
    return made


def test_png_is_144_pixels_an_inch() -> None:
    design = design_of(SMALL)
    made = picture(design)
    width, height = png.size(draw(design, "png"))
    assert width == round(made.width * 144 / 25.4) and height == round(made.height * 144 / 25.4)


@pytest.mark.parametrize("size", [(97.3, 60.4), (45.39, 88.16), (62.0, 61.87)])
def test_no_row_or_column_of_pixels_is_lost_or_doubled(size: tuple[float, float]) -> None:
    # Below a diagonal the ink grows by one pixel from row to row, and from column to column.
    width, height = size
    least = min(size)
    drawing = (
        f'<svg xmlns="http://www.w3.org/2000/svg" width="{width}mm" height="{height}mm" viewBox="0 0 {width} {height}">'
        f'<rect width="{width}" height="{height}" fill="#fff"/><path d="M0 0L{least} {least}L0 {least}Z"/></svg>'
    )
    pixels = png.rows(typeset(drawing, Picture(width, height), "png"))
    count = min(len(pixels), len(pixels[0])) - 3
    across = [sum(255 - v for v in row) / 255 for row in pixels[:count]]
    down = [sum(255 - row[x] for row in pixels) / 255 for x in range(count)]
    for ink in (across, down):
        assert all(abs(abs(b - a) - 1) < 0.3 for a, b in itertools.pairwise(ink[2:]))


@pytest.mark.parametrize("size", [(200.0, 150.0), (400.0, 16_000.0), (30_000.0, 90.0), (5_000.0, 5_000.0)])
def test_a_very_large_picture_is_drawn_at_fewer_pixels(size: tuple[float, float]) -> None:
    made = Picture(*size)
    width, height = png_pixels(made)
    assert width * height <= MOST_PIXELS * 1.01 and max(width, height) <= 16_000
    # A pixel's rounding is much on a short side.
    assert width / height == pytest.approx(size[0] / size[1], rel=0.03)


def test_findings_are_marked_and_listed() -> None:
    design = design_of(SMALL)
    span = design.elements["W3"].span
    findings = [
        Finding("drop", Severity.ADVICE, "W3", span, "the lamp is dim"),
        Finding("ampacity", Severity.DANGER, "W3", span, "100 A may flow where 90 A is allowed"),
        Finding("distance", Severity.FAULT, "W1", span, "0.4 m unprotected", accepted="in sheath; by yard"),
        Finding("whole-boat", Severity.DOUBT, "", span, "no ambient temperature is given"),
    ]
    made = picture(design, findings)
    marks = {d.name: [(m.severity, m.number, m.accepted) for m, _ in d.markers] for d in made.elements if d.markers}
    assert marks == {"W3": [("danger", 1, False), ("advice", 3, False)], "W1": [("fault", 4, True)]}
    text = " ".join(w.text for w in made.frame_words)
    assert "danger: W3" in text and "100 A may flow where 90 A is allowed [ampacity]" in text
    assert "fault, accepted: W1" in text and "Accepted: in sheath; by yard" in text
    assert "no ambient temperature is given [whole-boat]" in text and "the boat" in text
    shapes = ElementTree.fromstring(draw(design, "svg", findings))
    marked = [g for g in shapes.iter(f"{SVG}g") if (g.get("class") or "").startswith("mark ")]
    first = {(g.get("class") or "").split()[1]: g[0].tag.removeprefix(SVG) for g in marked}
    assert first == {"danger": "path", "fault": "path", "doubt": "circle", "advice": "rect"}
    accepted = [g for g in marked if g[0].get("fill") == "#fff"]
    assert accepted and all("fault" in (g.get("class") or "") for g in accepted)


def test_every_sheet_carries_the_caution() -> None:
    for text, findings in itertools.product((SMALL, HEAD), ((), (1,))):
        design = design_of(text)
        given_ = [Finding("r", Severity.DOUBT, "x", design.boat_span, "m") for _ in findings if design.boat_span]
        said = " ".join(w.text for w in picture(design, given_).frame_words)
        assert "not an approval" in said and "surveyed by a qualified person" in said
        assert ("No findings are marked" in said) is (not findings)


def test_a_design_that_was_not_understood_says_so() -> None:
    whole, torn = design_of(SMALL), design_of(SMALL + "from POS\nfuze F9, 5 A\n")
    assert not any("INCOMPLETE" in w.text for w in picture(whole).frame_words)
    assert any("INCOMPLETE" in w.text for w in picture(torn).frame_words)


def test_systems_differ_by_more_than_colour() -> None:
    made = draw(design_of(TWO_SYSTEMS), "svg").decode()
    root = ElementTree.fromstring(made)
    styles = {(p.get("stroke"), p.get("stroke-dasharray")) for p in root.iter(f"{SVG}path") if p.get("class") == "wire"}
    assert len(styles) == 2 and len({dash for _, dash in styles}) == 2
    assert "DC24\u00a024\u00a0V\u00a0DC" in made


def test_dot_is_read_by_graphviz_and_holds_every_element() -> None:
    for text in (SMALL, TWO_SYSTEMS, hostile_design(), HEAD + CORNERS["things that hang on nothing"]):
        design = design_of(text)
        made = draw(design, "dot").decode()
        assert len(re.findall(r"^  e\d+ \[label=", made, re.MULTILINE)) == len(design.elements)
        # Graphviz takes it, and leaves the nodes it was told of; what it writes back has them all.
        found = graph.positions(made)
        assert sum(name.startswith("e") for name in found) == len(design.elements)


def test_without_graphviz_the_diagram_is_as_right(monkeypatch: pytest.MonkeyPatch) -> None:
    def fails(dot: str) -> str:
        raise RuntimeError("out of stack")

    monkeypatch.setattr(graph, "_in_process", fails)
    monkeypatch.setattr(graph.shutil, "which", lambda _: None)
    for text in (SMALL, TWO_SYSTEMS, by_chance(3, 12, 18), by_chance(4, 20, 30, True)):
        design = design_of(text)
        made = picture(design)
        assert disagreements(made, design.circuit) == [] and collisions(made) == []


def test_an_installed_program_takes_over(monkeypatch: pytest.MonkeyPatch) -> None:
    in_process = graph._in_process
    calls: list[list[str]] = []

    def fails(dot: str) -> str:
        raise RuntimeError("no sandbox")

    def run(command: list[str], *, input: bytes, **_: object) -> subprocess.CompletedProcess[bytes]:
        calls.append(command)
        return subprocess.CompletedProcess(command, 0, in_process(input.decode()).encode(), b"")

    expected = draw(design_of(SMALL), "svg")
    monkeypatch.setattr(graph, "_in_process", fails)
    monkeypatch.setattr(graph.shutil, "which", lambda _: "/usr/bin/dot")
    monkeypatch.setattr(graph.subprocess, "run", run)
    assert draw(design_of(SMALL), "svg") == expected
    assert calls and all(c == ["/usr/bin/dot", "-Tplain"] for c in calls)
