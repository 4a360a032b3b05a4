"""What a selector never closes together is joined in no picture, and an unwired position is no fault."""

from __future__ import annotations

from pathlib import Path

import pytest
from click.testing import CliRunner

from linter.cli import main
from linter.drawing.only import part_around
from linter.drawing.page_ways import ways
from linter.drawing.sheets import sheets
from linter.model.build import build
from linter.model.design import Design
from linter.rules.engine import Examination, examine
from linter.rules.words import upstream
from linter.source.files import Reader
from tests.drawing.test_sheets import boat_of, check

HEAD = """boat "C", 9 m, rulebook iso-13297
system MAIN, 12 V, negative earthed
cables, insulation 105 °C, plain
battery B1, AGM, 12 V, 100 Ah, resistance 3 mΩ
battery B2, AGM, 12 V, 100 Ah, resistance 3 mΩ
"""
TWO = """selector S, 300 A, positions off 1 2
from B1
fuse F1, class T, 60 A, 125 V, breaks 20 kA at 125 V
bus P, 100 A
from P
cable W1, 16 mm2, 3 m
to S 1
from B2
fuse F2, class T, 60 A, 125 V, breaks 20 kA at 125 V
cable W2, 16 mm2, 3 m
to S 2
from S
cable W3, 16 mm2, 3 m
load L, draws 3 A
from P
cable W4, 16 mm2, 3 m
load L4, draws 3 A, asks fuse 60 A
"""


def design_at(folder: Path, text: str) -> Design:
    (folder / "x.boat").write_text(text, encoding="utf-8")
    return build(Reader(None).design(str(folder / "x.boat")))


def judged(folder: Path, text: str) -> Examination:
    return examine(design_at(folder, text))


def devices(made: Examination, load: str) -> set[str]:
    study = made.study
    assert study is not None
    circuit = study.design.circuit
    return {circuit.edges[e].element.name for e in upstream(study, circuit.by_name[load].index).devices}


@pytest.mark.parametrize("both", [False, True])
def test_only_what_some_position_joins_feeds_a_load(tmp_path: Path, both: bool) -> None:
    text = HEAD + (TWO.replace("off 1 2", "off 1 2 both") if both else TWO)
    design = design_at(tmp_path, text)
    found, part = ways(design.circuit), part_around(design, "L4")
    alone = {"B1", "F1", "P", "W4", "L4"}
    other = {"B2", "F2", "W2", "S", "W1"}
    assert found["L"].sources == ("B1", "B2")
    assert set(found["L4"].elements) == (alone | other if both else alone)
    assert set(part.elements) == (alone | other if both else alone)
    # the device through which the other battery could feed it guards it only where it can
    assert devices(examine(design), "L4") == ({"F1", "F2"} if both else {"F1"})
    assert devices(examine(design), "L") == {"F1", "F2"}
    check(part, sheets(design, only="L4"))


def test_what_a_battery_feeds_leads_through_no_other_position(tmp_path: Path) -> None:
    design = design_at(tmp_path, HEAD + TWO)
    assert set(part_around(design, "B1").elements) == {"B1", "F1", "P", "W1", "S", "W3", "L", "W4", "L4"}
    assert set(part_around(design, "B2").elements) == {"B2", "F2", "W2", "S", "W3", "L"}


def test_a_worksheet_names_the_one_device_on_the_way(tmp_path: Path) -> None:
    (tmp_path / "x.boat").write_text(HEAD + TWO, encoding="utf-8")
    said = CliRunner().invoke(main, ["explain", str(tmp_path / "x.boat"), "L4"]).output
    way = said.split("The way from its nearest device")[1].split("\n5. ")[0]
    assert "F1" in way and "W4" in way and not any(n in way for n in ("F2", "W1", "W2"))


def test_a_maker_is_not_answered_by_a_device_of_another_position(tmp_path: Path) -> None:
    # F2 of 100 A never feeds L4, whose maker asks for 60 A: F1 is that
    text = HEAD + TWO.replace("fuse F2, class T, 60 A", "fuse F2, class T, 100 A")
    rules = {(f.rule, f.subject) for f in judged(tmp_path, text).findings}
    assert ("device-not-as-asked", "L4") not in rules
    joined = judged(tmp_path, text.replace("off 1 2", "off 1 2 both"))
    assert ("device-not-as-asked", "L4") in {(f.rule, f.subject) for f in joined.findings}


def test_the_legend_lists_no_system_of_which_nothing_is_drawn() -> None:
    design = boat_of("motor-yacht")
    part = sheets(design, only="RADAR")[0]
    listed = [w.text for w in part.frame_words if w.text.endswith("Ship's 24 V")]
    assert listed == [] and any("Electronics" in w.text for w in part.frame_words)


# ---- a position that is not wired

ONE = """selector T, 300 A, positions off 1 2
from B1
fuse F1, class T, 60 A, 125 V, breaks 20 kA at 125 V
cable W1, 16 mm2, 3 m
to T 1
from T
cable W3, 16 mm2, 3 m
load L, draws 3 A
"""


def not_fed(made: Examination) -> list[tuple[str, str]]:
    return [(f.subject, f.message) for f in made.findings if f.rule == "not-fed"]


def test_a_selector_fed_at_one_position_is_fed(tmp_path: Path) -> None:
    assert not_fed(judged(tmp_path, HEAD + ONE)) == []


def test_what_is_wired_to_a_position_and_never_fed_is_told(tmp_path: Path) -> None:
    loose = not_fed(judged(tmp_path, HEAD + ONE + "from T 2\ncable W9, 16 mm2, 1 m\n"))
    assert loose == [("T", "no source feeds terminal 2 of T, though something is wired to it")]
    loaded = not_fed(judged(tmp_path, HEAD + ONE + "from T 2\ncable W9, 16 mm2, 1 m\nload L9, draws 1 A\n"))
    assert [name for name, _ in loaded] == ["T", "L9"]


def test_a_selector_that_nothing_feeds_is_told_once(tmp_path: Path) -> None:
    text = HEAD + ONE.replace("from B1\nfuse", "bus P\nfrom P\nfuse")
    found = not_fed(judged(tmp_path, text))
    assert [m for name, m in found if name == "T"] == ["no source feeds T"]


def test_a_stretch_ends_at_no_position_that_is_not_wired(tmp_path: Path) -> None:
    bare = HEAD + ONE.replace("fuse F1, class T, 60 A, 125 V, breaks 20 kA at 125 V\n", "")
    said = [f.message for f in judged(tmp_path, bare).findings if f.rule == "conductor-unprotected"]
    assert len(said) == 2 and all("leads to L with no device" in m and "nothing is" not in m for m in said)
