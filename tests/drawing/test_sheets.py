"""The diagram on sheets: all of it is there, once; references lead both ways; nothing lies on anything."""

from __future__ import annotations

import os
import re
from collections import Counter
from dataclasses import replace
from datetime import date
from functools import cache
from pathlib import Path

import pytest

from linter.drawing.draw import file_names, left_over, write
from linter.drawing.only import part_around
from linter.drawing.picture import Drawn, Marker, Picture, Words
from linter.drawing.sheets import Settings, sheets
from linter.model.build import build
from linter.model.design import Design
from linter.rules.engine import examine
from linter.rules.finding import Severity
from linter.source.files import Reader
from linter.study.study import Study, study_of
from tests.bench.generate import boat
from tests.drawing.designs import CORNERS, HEAD, SMALL, TWO_SYSTEMS, by_chance, design_of
from tests.drawing.sheets_readback import sheet_collisions, sheet_disagreements, wrongly_often
from tests.drawing.test_layout import findings_for

ROOT = Path(__file__).parents[2]
BOATS = ("launch", "cutter", "motor-yacht")
CAMPAIGN = bool(os.environ.get("WIREWORTHY_CAMPAIGN"))
CHANCES = 500 if CAMPAIGN else 40
PANEL = HEAD + "battery B, 12 V\nfrom B\ncable W0, 50 mm2, 1 m\nbus P, 300 A\n" + "".join(
    f'from P\nbreaker Q{i} "Circuit {i}", thermal, 10 A\ncable W{i}, 2.5 mm2, 3 m\nload L{i}, draws 5 A\n'
    for i in range(1, 61)
)  # fmt: skip


def boat_of(name: str) -> Design:
    return build(Reader().design(str(ROOT / "boats" / f"{name}.boat")))


def check(design: Design, made: list[Picture]) -> None:
    assert wrongly_often(made, design) == []
    assert sheet_disagreements(made, design) == []
    assert sheet_collisions(made) == []


@pytest.mark.parametrize("paper", ["a3", "a4"])
@pytest.mark.parametrize("name", BOATS)
def test_a_whole_boat(name: str, paper: str) -> None:
    design = boat_of(name)
    made = sheets(design, findings_for(design), Settings(paper))
    assert len(made) > 1
    check(design, made)
    width = {"a3": 420, "a4": 297}[paper]
    assert all(p.width * p.scale == pytest.approx(width) for p in made), "nothing needed a larger sheet"


LAYERS = (("plain",), ("ratings",), ("study",), ("findings",), ("ratings", "study", "findings"))


@cache
def studied(name: str) -> Study:
    return study_of(boat_of(name))


@pytest.mark.parametrize("layers", LAYERS, ids="+".join)
@pytest.mark.parametrize("paper", ["a3", "a4"])
@pytest.mark.parametrize("name", BOATS)
def test_every_layer_of_a_boat(name: str, paper: str, layers: tuple[str, ...]) -> None:
    made = studied(name)
    check(made.design, sheets(made.design, findings_for(made.design), Settings(paper), layers, made))


@pytest.mark.parametrize("name", CORNERS)
def test_a_corner_case(name: str) -> None:
    design = design_of(HEAD + CORNERS[name])
    check(design, sheets(design, findings_for(design, 1), Settings("a4")))


@pytest.mark.parametrize("seed", range(CHANCES))
def test_a_boat_made_by_chance(seed: int) -> None:
    nodes, runs = 4 + seed % 30, 6 + seed * 7 % 60
    design = design_of(by_chance(seed, nodes, runs, tree=seed % 2 == 0))
    check(design, sheets(design, findings_for(design, 4), Settings("a4" if seed % 3 else "a3")))


def test_two_thousand_conductors() -> None:
    design = design_of(boat(2_000 if CAMPAIGN else 400))
    made = sheets(design)
    check(design, made)
    assert all(p.width * p.scale == pytest.approx(420) for p in made)


def test_a_small_boat_is_one_sheet() -> None:
    for text in (SMALL, TWO_SYSTEMS):
        design = design_of(text)
        made = sheets(design)
        assert len(made) == 1
        check(design, made)
        assert not any(d.reference >= 0 for d in made[0].elements)


def test_a_bus_with_more_branches_than_fit_is_continued() -> None:
    design = design_of(PANEL)
    made = sheets(design, settings=Settings("a4"))
    check(design, made)
    bars = [d for p in made for d in p.elements if d.name == "P"]
    assert len(bars) > 4
    assert [d.continued for d in bars].count(False) == 1
    counts = Counter(breaker_bar(p, d) for p in made for d in p.elements if d.kind == "breaker")
    assert len(counts) == len(bars) and max(counts.values()) - min(counts.values()) <= 1, "evenly"


def test_a_continued_bus_has_its_whole_name() -> None:
    name = "PANEL-WITH-A-VERY-LONG-NAME-INDEED-1234567890"
    made = sheets(design_of(PANEL.replace("bus P,", f"bus {name},").replace("from P\n", f"from {name}\n")))
    bars = [d for p in made for d in p.elements if d.name == name]
    assert sum(d.continued for d in bars) > 0
    for bar in bars:
        assert "".join(t.text for t in bar.texts if t.bold) == name


def test_the_pieces_of_a_long_chain_stand_one_below_the_other_as_they_follow() -> None:
    text = (
        HEAD + "battery B, 12 V\nfrom B\n" + "".join(f"cable W{n}, 6 mm2, 1 m\nswitch S{n}, 20 A\n" for n in range(40))
    )
    design = design_of(text + "cable WL, 6 mm2, 1 m\nload L, draws 1 A\n")
    made = sheets(design, settings=Settings("a4"))
    check(design, made)
    switches = [d for d in made[0].elements if d.kind == "switch"]
    in_rows = sorted(switches, key=lambda d: (round(d.terminals[0][1][1], 1), d.symbol.x0))
    assert [d.name for d in in_rows] == [f"S{n}" for n in range(40)]


def breaker_bar(picture: Picture, breaker: Drawn) -> tuple[str, float]:
    """The bar at whose height a breaker stands."""
    y = breaker.terminals[0][1][1]
    x = breaker.terminals[0][1][0]
    bars = [d for d in picture.elements if d.kind == "bus" and d.symbol.y0 <= y <= d.symbol.y1 and d.symbol.x1 < x]
    bar = max(bars, key=lambda d: d.symbol.x1)
    return f"{picture.title} {bar.symbol.x0}", bar.symbol.y0


def test_the_sheet_with_the_battery_comes_first() -> None:
    for name in BOATS:
        made = sheets(boat_of(name))
        assert any(d.kind == "battery" for d in made[0].elements)


def test_a_reference_gone_wrong_is_noticed() -> None:
    design = design_of(PANEL)
    made = sheets(design, settings=Settings("a4"))
    tag = next(d for p in made for d in p.elements if d.reference >= 0)
    said = tag.texts[0].text
    tag.texts[0] = replace(tag.texts[0], text=re.sub(r"[A-F]\d$", "F8" if not said.endswith("F8") else "A1", said))
    assert any("leads to nothing" in w for w in sheet_disagreements(made, design))


def test_a_missing_branch_and_a_text_on_the_frame_are_noticed() -> None:
    design = design_of(PANEL)
    made = sheets(design, settings=Settings("a4"))
    first = made[0].elements.pop()
    assert f"{first.name} is drawn 0 times" in wrongly_often(made, design)
    x, y = 20.0, 60.0
    made[1].frame.append(Words(x - 1, y, "moved", 2.5))
    assert any("on a line of the frame" in w for w in sheet_collisions(made))


def words_on(picture: Picture) -> str:
    return " ".join(w.text for w in picture.frame_words).replace("\u00a0", " ")


def test_every_sheet_says_what_it_is() -> None:
    design = boat_of("cutter")
    made = sheets(design, findings_for(design))
    for number, picture in enumerate(made, 1):
        said = words_on(picture)
        assert f"Sheet {number} of {len(made)}" in said and "Whimbrel" in said
        assert "iso-13297" in said and "not an approval" in said
        assert picture.title.startswith(f"Whimbrel, sheet {number} of {len(made)}: ")
        for letter in "ABCDEF12345678":
            assert sum(w.text == letter for w in picture.frame_words) == 2
    assert not any("No findings are marked" in words_on(p) for p in made)
    assert all("No findings are marked" in words_on(p) for p in sheets(design))


def test_every_finding_is_listed_once() -> None:
    design = boat_of("cutter")
    findings = findings_for(design)
    made = sheets(design, findings)
    numbers = [s.number for p in made for s in p.frame if isinstance(s, Marker) and s.number]
    assert sorted(numbers) == [*range(1, len(findings) + 1)]
    few = sheets(design_of(SMALL), findings_for(design_of(SMALL), 6))
    assert len(few) == 1 and "Findings" in words_on(few[0])


def test_text_torn_says_so() -> None:
    design = design_of(SMALL + "from POS\nfuze F9, 5 A\n")
    made = sheets(design)
    assert all("INCOMPLETE" in words_on(p) for p in made)
    check(design, made)


def texts(made: list[Picture], name: str) -> str:
    (drawn,) = [d for p in made for d in p.elements if d.name == name and not d.continued]
    return " ".join(t.text for t in drawn.texts).replace("\u00a0", " ")


RATED = (
    HEAD
    + """\
battery B, AGM, 12.7 V, 200 Ah, resistance 3 mΩ
from B
fuse F1 "Main", class T, 200 A, 32 V, breaks 20 kA at 32 V
cable W1, 50 mm2, 1 m, red
load L, draws 100 A
"""
)


def test_layers() -> None:
    design = design_of(RATED.replace("7 m", "7 m, rulebook iso-13297"))
    made = study_of(design)
    assert texts(sheets(design), "F1") == "F1 200 A / 20 kA class T Main"
    assert texts(sheets(design, layers=("plain",)), "F1") == "F1 class T 200 A Main"
    studied = sheets(design, layers=("study",), study=made)
    assert texts(studied, "W1").startswith("W1 50 mm² 1 m red lets 200 A ")
    percent = made.scenes().percent(made.scenes().worst[design.circuit.by_name["L"].index])
    assert percent is not None
    assert texts(studied, "L") == f"L 100 A drop {percent:.2g} %"
    silent = design_of(RATED.replace(", breaks 20 kA at 32 V", "").replace("class T, ", "blade, "))
    assert "kA" in texts(sheets(silent), "F1")


def test_the_colour_of_a_conductor_is_a_word() -> None:
    assert texts(sheets(design_of(RATED)), "W1") == "W1 50 mm² 1 m red"


ACCEPTED = """\
battery B, AGM, 12.7 V, 200 Ah, resistance 3 mΩ
from B
cable W1, 2.5 mm2, 4 m
load L, draws 10 A
accept conductor-unprotected at W1, "to be re-led at haul-out", by "J. Holm", until 2027-04-01
"""


@pytest.mark.parametrize("paper", ["a3", "a4"])
def test_an_accepted_danger_shows_its_reason(paper: str) -> None:
    design = design_of(HEAD.replace("7 m", "7 m, rulebook iso-13297") + ACCEPTED)
    found = examine(design, None, date(2026, 11, 25)).findings
    danger = [f for f in found if f.severity is Severity.DANGER and f.accepted and f.subject == "W1"]
    assert danger
    made = sheets(design, found, Settings(paper))
    check(design, made)
    said = words_on(made[-1])
    assert "danger, accepted: W1" in said and "Accepted: to be re-led at haul-out (J. Holm, until 2027-04-01)" in said
    marks = [m for p in made for d in p.elements if d.name == "W1" for m, _ in d.markers if m.severity == "danger"]
    assert [m.accepted for m in marks] == [True]


# ---- the part around an element


def test_part_around_a_load_is_its_way_from_the_sources() -> None:
    design = design_of(SMALL)
    part = part_around(design, "WINDLASS")
    assert set(part.elements) == {"HOUSE", "W1", "F1", "S1", "POS", "ALT", "W2", "Q1", "W3", "WINDLASS"}
    check(part, sheets(design, only="WINDLASS"))


def test_part_around_a_joint_has_what_is_fed_through_it() -> None:
    part = part_around(design_of(SMALL), "LAMPS")
    assert {"W5", "BOW-LIGHT", "W6", "STERN-LIGHT", "F2", "HOUSE"} <= set(part.elements)
    assert "WINDLASS" not in part.elements


def test_part_around_a_device_and_a_source() -> None:
    design = design_of(SMALL)
    assert {"F2", "W4", "LAMPS", "BOW-LIGHT"} <= set(part_around(design, "F2").elements)
    assert "WINDLASS" not in part_around(design, "F2").elements
    assert {"WINDLASS", "BOW-LIGHT"} <= set(part_around(design, "HOUSE").elements)


def test_part_around_an_element_in_a_mesh_has_every_way_to_it() -> None:
    ring = "battery B, 12 V\nbus P\nbus Q\nfrom B\ncable W1, 35 mm2, 1 m\nto P\n" + "".join(
        f"from P\ncable R{n}, 16 mm2, 1 m\nto Q\n" for n in (1, 2)
    )  # fmt: skip
    design = design_of(
        HEAD
        + ring
        + "from Q\ncable W2, 6 mm2, 1 m\nload L, draws 1 A\nfrom P\ncable W3, 6 mm2, 1 m\nload M, draws 1 A\n"
    )
    assert set(part_around(design, "L").elements) == {"B", "W1", "P", "R1", "R2", "Q", "W2", "L"}
    assert set(part_around(design, "Q").elements) == {"B", "W1", "P", "R1", "R2", "Q", "W2", "L"}
    assert {"W3", "M", "R1", "R2", "L"} <= set(part_around(design, "P").elements)
    check(part_around(design, "Q"), sheets(design, only="Q"))


@pytest.mark.parametrize("name", BOATS)
def test_part_around_every_tenth_element_can_be_drawn(name: str) -> None:
    design = boat_of(name)
    for one in list(design.elements)[:: 20 if name == "launch" else 60]:
        part = part_around(design, one)
        assert one in part.elements
        check(part, sheets(design, only=one))


def test_part_around_things_in_boats_made_by_chance() -> None:
    for seed in range(6):
        design = design_of(by_chance(seed, 10, 14))
        for one in list(design.elements)[::7]:
            check(part_around(design, one), sheets(design, only=one))


# ---- files


def test_files_of_several_sheets() -> None:
    assert file_names("a/x.svg", 1) == ["a/x.svg"]
    assert file_names("a/x.svg", 2) == ["a/x-1.svg", "a/x-2.svg"]
    made = sheets(design_of(PANEL), settings=Settings("a4"))
    assert len(write(made, "svg")) == len(made)
    (pdf,) = write(made, "pdf")
    assert re.search(rb"/Type\s*/Pages\s*/Count (\d+)", pdf)[1] == str(len(made)).encode()  # type: ignore[index]
    assert b"/Outlines" in pdf
    assert write(made[:1], "png")[0].startswith(b"\x89PNG")


def test_sheets_that_a_drawing_no_longer_has_are_named_and_left(tmp_path: Path) -> None:
    for name in ("x-1.svg", "x-2.svg", "x-10.svg", "x.svg", "x-a.svg", "y-3.svg", "x-1.png", "x-01.svg"):
        (tmp_path / name).write_text("old")
    out = str(tmp_path / "x.svg")
    left = left_over(out, file_names(out, 2))
    assert [Path(p).name for p in left] == ["x.svg", "x-10.svg"]
    assert [Path(p).name for p in left_over(out, [out])] == ["x-1.svg", "x-2.svg", "x-10.svg"]
    assert left_over("nowhere/x.svg", ["nowhere/x.svg"]) == []


def test_an_id_stays_when_something_unrelated_is_added() -> None:
    pattern = rb' id="((?:el|ref)-[^"]+)"'
    before = b"".join(write(sheets(design_of(PANEL), settings=Settings("a4")), "svg"))
    more = PANEL + "bus Z\nfrom Z\ncable W99, 6 mm2, 1 m\nload L99, draws 1 A\n"
    after = b"".join(write(sheets(design_of(more), settings=Settings("a4")), "svg"))
    assert set(re.findall(pattern, before)) <= set(re.findall(pattern, after))


def test_the_same_design_gives_the_same_bytes() -> None:
    for output in ("svg", "pdf"):
        one, two = (write(sheets(design_of(PANEL), settings=Settings("a4")), output) for _ in "ab")  # type: ignore[arg-type]
        assert one == two
