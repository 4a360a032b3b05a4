"""Time-current plots read back from the sheet: what is painted where, what is written, and that nothing lies on
anything else.  The axes are taken from the figures at the ticks, as somebody with the print in hand would."""

from __future__ import annotations

import math
import re
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from functools import cache
from itertools import pairwise
from pathlib import Path
from xml.etree import ElementTree

import pytest
from click.testing import CliRunner, Result
from hypothesis import given, settings
from hypothesis import strategies as st

from linter.cli import main
from linter.drawing.curves import PAGES, PageName, draw, sheet
from linter.drawing.curves_axes import Axes, cut
from linter.drawing.curves_svg import Sheet, svg
from linter.drawing.picture import Box
from linter.model.build import build
from linter.source.files import Reader
from linter.study.plot import plot_of
from linter.study.study import Study, study_of
from tests.drawing import png

SVG = "{http://www.w3.org/2000/svg}"
# 7 points
LEAST_MM = 7 * 25.4 / 72
BOATS = ("launch", "cutter", "motor-yacht")
Point = tuple[float, float]


@cache
def boat(name: str) -> Study:
    return study_of(build(Reader().design(f"boats/{name}.boat")))


def studied(text: str) -> Study:
    head = 'boat "Plover", 8 m, rulebook iso-13297\nsystem DC12, 12 V, greatest 15 V\ncables, insulation 105 °C\n'
    return study_of(build(Reader().design_text(head + text)))


def devices(study: Study) -> list[str]:
    return [e.element.name for e in study.design.circuit.edges if e.kind == "device"]


# ---- reading a print back -------------------------------------------------------------------------------------------


@dataclass
class Print:
    root: ElementTree.Element
    amps: Callable[[float], float]
    seconds: Callable[[float], float]

    def group(self, title: str) -> ElementTree.Element:
        (found,) = [
            g
            for g in self.root.iter(f"{SVG}g")
            if g.findtext(f"{SVG}title") == title and "shade" not in g.get("class", "")
        ]
        return found

    def pieces(self, group: ElementTree.Element, sort: str) -> list[list[Point]]:
        """The lines of a sort, each point in A and s."""
        return [
            [(self.amps(x), self.seconds(y)) for x, y in piece]
            for path in group.iter(f"{SVG}path")
            if path.get("class") == sort
            for piece in pieces_of(path.get("d", ""))
        ]


def pieces_of(d: str) -> list[list[Point]]:
    made: list[list[Point]] = []
    for letter, x, y in re.findall(r"([ML])([-\d.]+) ([-\d.]+)", d):
        if letter == "M":
            made.append([])
        made[-1].append((float(x), float(y)))
    return made


def read(data: bytes) -> Print:
    """The scales from what is written at the ticks: currents below the plot, times left of it."""
    root = ElementTree.fromstring(data)
    texts = [
        (t.text or "", float(t.get("x", "")), float(t.get("y", "")), t.get("text-anchor"))
        for t in root.iter(f"{SVG}text")
    ]
    units = {"A": 1.0, "kA": 1000.0}
    currents = [
        (x, float(m[1]) * units[m[2]])
        for s, x, _, a in texts
        if a == "middle" and (m := re.fullmatch(r"([\d.]+) (k?A)", s))
    ]
    times = [
        (y - 0.9, float(s.removesuffix(" s").replace(" ", "")))
        for s, _, y, a in texts
        if a == "end" and re.fullmatch(r"[\d. ]+ s", s)
    ]
    assert len(currents) >= 4 and len(times) == 8

    def scale(ticks: Sequence[Point]) -> Callable[[float], float]:
        (p0, v0), (p1, v1) = min(ticks, key=lambda t: t[1]), max(ticks, key=lambda t: t[1])
        per_mm = math.log(v1 / v0) / (p1 - p0)
        for p, v in ticks:
            assert math.log(v / v0) == pytest.approx((p - p0) * per_mm, abs=0.003)
        return lambda p: v0 * math.exp((p - p0) * per_mm)

    return Print(root, scale(currents), scale(times))


def near(found: Point, wanted: Point) -> bool:
    """As near as two decimals of a millimetre tell."""
    return abs(math.log(found[0] / wanted[0])) < 0.003 and abs(math.log(found[1] / wanted[1])) < 0.006


@pytest.mark.parametrize(("name", "device"), [("launch", "Q11"), ("launch", "F3"), ("cutter", "F1"), ("cutter", "Q19"),
                                              ("cutter", "F54"), ("motor-yacht", "Q32"), ("motor-yacht", "F48")])  # fmt: skip
def test_painted_edges_are_the_curve(name: str, device: str) -> None:
    study = boat(name)
    curve = plot_of(study, [device]).named[0].band.curve
    assert curve is not None
    page = read(draw(study, [device], "svg"))
    group = page.group(f"named: {device}")
    for sort, edge in (("slow", curve.slow), ("fast", curve.fast)):
        painted = [p for piece in page.pieces(group, sort) for p in piece]
        seen = [(a, s) for a, s in edge if 1.01e-3 < s < 0.99e4]
        assert len(seen) > 1
        for corner in seen:
            assert any(near(p, corner) for p in painted), (sort, corner)
    # and every painted line between corners lies on the edge
    for sort, at in (("slow", lambda a: curve.slowest(a).seconds), ("slow beyond", lambda a: curve.slowest(a).seconds),
                     ("fast", curve.fastest), ("fast beyond", curve.holds)):  # fmt: skip
        for piece in page.pieces(group, sort):
            for (a0, s0), (a1, s1) in pairwise(piece):
                if a1 > a0 * 1.02:
                    middle = math.sqrt(a0 * a1)
                    assert math.sqrt(s0 * s1) == pytest.approx(at(middle), rel=0.03), (sort, middle)


@pytest.mark.parametrize(
    ("name", "device"), [("launch", "Q11"), ("cutter", "F1"), ("cutter", "Q19"), ("motor-yacht", "F21")]
)
def test_uprights_stand_at_the_fault_currents(name: str, device: str) -> None:
    study = boat(name)
    page = read(draw(study, [device], "svg"))
    named = plot_of(study, [device]).named[0]
    assert named.smallest is not None and named.largest is not None and named.breaking is not None
    wanted = {
        "smallest": named.smallest.amps,
        "largest": study.faults().through(study.design.circuit.edge_of[device].index).amps,
        "breaks": named.breaking.amps,
    }
    for sort, amps in wanted.items():
        (group,) = [g for g in page.root.iter(f"{SVG}g") if g.get("class") == f"upright {sort}"]
        (line,) = page.pieces(group, sort)
        assert [a for a, _ in line] == pytest.approx([amps, amps], rel=0.003)
        assert sorted(s for _, s in line) == pytest.approx([1e-3, 1e4], rel=0.01)
        # its flag says the same figure and stands beside it
        text = group.findtext(f"{SVG}title")
        (flag,) = [t for t in page.root.iter(f"{SVG}text") if t.text == text]
        assert page.amps(float(flag.get("x", "")) - 1.0) == pytest.approx(amps, rel=0.003)
        assert text is not None
        figure, unit = text.lstrip("~").split(" ")[:2]
        assert float(figure) * (1000 if unit == "kA" else 1) == pytest.approx(amps, rel=0.006)


def test_damage_line_and_start_are_painted_where_they_are() -> None:
    study = boat("cutter")
    page = read(draw(study, ["Q19"], "svg"))
    named = plot_of(study, ["Q19"]).named[0]
    assert named.damage is not None and named.damage.ampacity_a is not None
    group = page.group(f"damage line of {named.damage.conductor.name}")
    (solid,) = page.pieces(group, "adiabatic")
    (dashed,) = page.pieces(group, "beyond")
    for a, s in (*solid, *dashed):
        assert a * a * s == pytest.approx(named.damage.stands.a2s, rel=0.02)
    assert (
        max(s for _, s in solid) == pytest.approx(5.0, rel=0.01) == pytest.approx(min(s for _, s in dashed), rel=0.02)
    )
    assert min(a for a, _ in dashed) == pytest.approx(named.damage.ampacity_a, rel=0.005)
    (upright,) = page.pieces(group, "carries")
    assert {round(a) for a, _ in upright} == {round(upright[0][0])}
    # the windlass draws 78 A and starts with 240 A for 0.5 s (its part sheet)
    (start,) = page.pieces(page.group("start of WINDLASS"), "start")
    for found, wanted in zip(start, [(78.0, 0.5), (240.0, 0.5), (240.0, 1e-3)], strict=True):
        assert near(found, wanted)
    (running,) = page.pieces(page.group("78 A WINDLASS running"), "running")
    assert running[0][0] == pytest.approx(78, rel=0.003) and min(s for _, s in running) == pytest.approx(0.5, rel=0.01)


# ---- nothing on anything else ---------------------------------------------------------------------------------------


def collisions(made: Sheet, axes: Axes) -> list[str]:
    """Text on text, text beyond the border, text smaller than is legible, and lines through flags."""
    wrong = []
    words = [(w, w.box) for w in made.words]
    for i, (one, box) in enumerate(words):
        if one.size < LEAST_MM:
            wrong.append(f"{one.text!r} is too small")
        if box.x0 < 4.5 or box.y0 < 4.5 or box.x1 > made.width - 4.5 or box.y1 > made.height - 4.5:
            wrong.append(f"{one.text!r} leaves the sheet")
        wrong += [f"{one.text!r} lies on {two.text!r}" for two, other in words[:i] if box.overlaps(other)]
    for group in made.groups:
        for path in group.paths:
            if group.sort == "stems" or path.sort == "leader":
                for (x0, y0), (x1, y1) in path.pieces:
                    for one, box in words:
                        if group.sort == "stems" and cut([(x0, y0), (x1, y1)], box):
                            wrong.append(f"a stem runs through {one.text!r}")
            for piece in path.pieces:
                inside = (
                    axes.box
                    if group.sort.startswith(("band", "shade", "damage", "upright", "start"))
                    else Box(0, 0, made.width, made.height)
                )
                if any(
                    not (inside.x0 - 0.01 <= x <= inside.x1 + 0.01 and inside.y0 - 0.01 <= y <= inside.y1 + 0.01)
                    for x, y in piece
                ):
                    wrong.append(f"{group.title}: {path.sort} leaves its place")
    return wrong


@pytest.mark.parametrize("part", range(4))
@pytest.mark.parametrize("name", BOATS)
def test_every_device_of_the_boats_has_a_clean_sheet(name: str, part: int) -> None:
    study = boat(name)
    for at, device in enumerate(devices(study)):
        if at % 4 != part:
            continue
        page: PageName = "letter" if at % 5 == 0 else "a4"
        made, axes = sheet(study, plot_of(study, [device]), page)
        assert collisions(made, axes) == [], device
        assert (made.width, made.height) == PAGES[page], device
        # nothing was left out for want of room
        said = " ".join(w.text for w in made.words)
        for group in made.groups:
            if group.sort.startswith("band"):
                role, names = group.title.split(": ")
                first = names.split(", ")[0]
                assert (first if role == "named" else f"{role}: {first}") in said, (device, group.title)
            if group.sort == "damage":
                assert f"{group.title.removeprefix('damage line of ')} damage line" in said, device


def test_several_devices_on_one_sheet() -> None:
    for name, which in (
        ("cutter", ["F1", "F17", "F18", "Q19"]),
        ("motor-yacht", ["F1", "F21", "Q32", "Q136"]),
        ("launch", ["F20", "Q32"]),
    ):
        study = boat(name)
        made, axes = sheet(study, plot_of(study, which))
        assert collisions(made, axes) == []
        said = {w.text.split(" ")[0] for w in made.words if w.bold}
        assert set(which) <= said


HOSTILE = (
    "<script>&",
    "]]> --> \" '",
    "\u202ereversed",
    "電池スイッチ" * 9,
    "x" * 5000,
    "e" + "\u0301" * 300,
    "#set page()",
    "",
)


@st.composite
def designs(draw_: st.DrawFn) -> str:
    """A feeder and a branch with curves by chance, labels and all."""
    lines = [f"battery B, AGM, 12 V, {draw_(st.integers(20, 900))} Ah, resistance {draw_(st.floats(0.5, 40)):.2f} mΩ\n"]
    for part in ("one", "two"):
        lines.append(f"part {part}, fuse\n  ANL, 32 V, breaks {draw_(st.integers(1, 25))} kA at 32 V")
        greatest = 7200.0
        for m in sorted(draw_(st.lists(st.integers(110, 2500), max_size=6, unique=True))):
            greatest *= draw_(st.floats(0.02, 0.9))
            least = greatest * draw_(st.floats(0.01, 1))
            if greatest > 2e-3:
                lines.append(f", opens at {m} % in {least:.6f} s to {max(greatest, least + 1e-6):.6f} s")
        lines.append(", lets through 20 kA2s at 4 kA\n" if draw_(st.booleans()) else "\n")
    label = draw_(st.sampled_from(HOSTILE)).replace('"', "'")
    rating = draw_(st.sampled_from([5, 16, 40, 125, 350]))
    lines.append(f'from B\nfuse F1 "{label}", part one, {rating * 2} A\ncable W1 "{label}", 70 mm2, 1 m\nbus POS\n')
    starts = ", starts 300 A for 0.4 s" if draw_(st.booleans()) else ""
    lines.append(
        f'from POS\nfuse F2 "{label}", part two, {rating} A\ncable W2, {draw_(st.sampled_from([1, 6, 35]))} mm2, 2 m\n'
    )
    lines.append(f'load L "{label}", draws {draw_(st.floats(0.01, 200)):.2f} A{starts}\n')
    return "".join(lines)


@settings(max_examples=15, deadline=None)
@given(designs())
def test_curves_by_chance_have_a_clean_sheet(text: str) -> None:
    study = studied(text)
    for which in (["F1"], ["F2"], ["F1", "F2"]):
        made, axes = sheet(study, plot_of(study, which))
        assert collisions(made, axes) == []
        root = ElementTree.fromstring(svg(made))
        assert {e.tag.removeprefix(SVG) for e in root.iter()} <= {"svg", "title", "g", "path", "rect", "text"}
        assert not any(
            "href" in k or k.startswith("on") or "url(" in v for e in root.iter() for k, v in e.attrib.items()
        )


# ---- files and command ----------------------------------------------------------------------------------------------

ODD = """\
battery B, AGM, 12 V, 100 Ah
from B
cable W1, 35 mm2, 1 m
fuse F1, ANL, 300 A
cable W2, 35 mm2, 1 m
load L, draws 20 A, starts 60 A for 0.2 s
from B
breaker Q2, thermal
cable W3, 1 m
load M
from B
fuse F3, class T, 100 A
load N, draws 2 A
"""


def said(study: Study, *which: str) -> str:
    made, _ = sheet(study, plot_of(study, which))
    return " ".join(w.text for w in made.words)


def test_what_is_missing_is_said() -> None:
    study = studied(ODD)
    text = said(study, "F1")
    assert "F1: no curve is published for ANL fuses, and its sheet gives none; ask the maker." in text
    assert "F1: nobody says what it breaks at 15 V." in text
    assert "L starts" in text and "for how" not in text
    assert (
        re.search(r"~[\d.]+ kA largest fault through F1", text) and "F1: ~ leans on a rough resistance for AGM" in text
    )
    text = said(study, "Q2")
    assert "no rating is given" in text and "no size is given of W3" in text and "what M draws is not given" in text
    text = said(study, "F3")
    assert "F3: no least time is promised" in text and "beyond 200 A its time is not told" in text
    assert "no conductor lies between it and the next device" in text and "UL 248-15, from memory" in text


def test_a_start_without_a_time_is_an_upright_line() -> None:
    study = studied(ODD)
    (load,) = (n.load for n in study.design.circuit.nodes if n.load is not None and n.load.name == "L")
    load.starts_s = None
    text = said(study, "F1")
    assert "F1: how long L starts is not given." in text and "60 A starts L" in text and "L starts 60" not in text


def test_caution_and_incompleteness_stand_on_the_sheet() -> None:
    assert "not an approval" in said(studied(ODD), "F1") and "INCOMPLETE" not in said(studied(ODD), "F1")
    assert "INCOMPLETE" in said(studied(ODD + "cabel W9\n"), "F1")


def test_a_sheet_grows_rather_than_lose_a_word() -> None:
    text = ODD
    for name in ("fuse F1", "breaker Q2", "fuse F3"):
        text = text.replace(f"{name},", f'{name} "{"a label of many words " * 18}",')
    study = studied(text)
    made, axes = sheet(study, plot_of(study, ["F1", "Q2", "F3"]))
    assert collisions(made, axes) == [] and made.width == 297 and made.height > 210
    assert axes.box.y1 - axes.box.y0 > 80


def test_same_study_same_bytes_in_every_format() -> None:
    again = study_of(build(Reader().design("boats/launch.boat")))
    for output in ("svg", "pdf", "png"):
        assert draw(boat("launch"), ["Q11", "F3"], output) == draw(again, ["Q11", "F3"], output)
    data = draw(again, ["Q11"], "pdf")
    assert data.startswith(b"%PDF") and re.search(rb"/MediaBox ?\[0 0 841\.\d+ 595\.\d+\]", data)
    assert png.size(draw(again, ["Q11"], "png")) == (1684, 1191)


def run(*arguments: str, stdin: str | None = None) -> Result:
    return CliRunner().invoke(main, ["curves", *arguments], input=stdin)


GOOD = """\
boat "Plover", 8 m, rulebook iso-13297
system DC12, 12 V
battery B, AGM, 12 V, 100 Ah
from B
fuse F1, class T, 100 A
cable W1, 35 mm2, 1 m
load L, draws 20 A
"""


def test_command_writes_a_plot(tmp_path: Path) -> None:
    for output in ("a.svg", "a.pdf", "a.png"):
        assert run("-", "F1", "-o", str(tmp_path / output), stdin=GOOD).exit_code == 0
        assert (tmp_path / output).stat().st_size > 1000
    assert run("-", "F1", "-o", str(tmp_path / "l.svg"), "--page", "letter", stdin=GOOD).exit_code == 0
    assert 'width="279.4mm" height="215.9mm"' in (tmp_path / "l.svg").read_text(encoding="utf-8")
    result = run("-", "F1", "-o", str(tmp_path / "b.svg"), stdin=GOOD + "cabel W9\n")
    assert result.exit_code == 3 and (tmp_path / "b.svg").exists()


@pytest.mark.parametrize(
    ("arguments", "message"),
    [
        (("F2", "-o", "a.svg"), "there is no device F2; did you mean F1?"),
        (("W1", "-o", "a.svg"), "W1 is a cable, no fuse or breaker"),
        (("DC12", "-o", "a.svg"), "DC12 is a system, no fuse or breaker"),
        (("-o", "a.svg"), "name the devices to plot; the design has F1"),
        (("F1", "-o", "a.gif"), "a.gif: the name of the plot ends in .svg, .pdf or .png"),
    ],
)
def test_command_says_what_is_wrong_with_a_call(
    arguments: tuple[str, ...], message: str, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.chdir(tmp_path)
    result = run("-", *arguments, stdin=GOOD)
    assert result.exit_code == 2 and message in result.stderr
    assert not list(tmp_path.iterdir())
