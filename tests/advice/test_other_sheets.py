"""Where the sheets that a design names contradict its demands, another sheet on board that would do is told."""

from __future__ import annotations

import json
import random
from pathlib import Path

import pytest
from click.testing import CliRunner

from linter.advice.choose import choose
from linter.advice.clauses import demand_of
from linter.advice.options import left_open
from linter.advice.other_sheets import OtherSheet
from linter.advice.overlay import overlaid, trying
from linter.cli import main
from linter.model.build import build
from linter.rules.engine import examine
from linter.source.files import Reader
from linter.source.scanner import Token
from tests.advice.small_boats import boat

HEAD = """boat "Example", 9 m, rulebook abyc-e11
system DC12, 12 V, negative earthed
cables, insulation 105 °C, tinned
battery B, AGM, 12 V, 100 Ah, resistance 4 mΩ
"""
RUN = """from B
fuse F1, {fuse}
cable W1, size ?, 2 m
load LAMP, {load}
"""
CURVE = """  opens at 135 % in 10 s to 3600 s, opens at 200 % in 2 s to 20 s, opens at 1000 % in 8 ms to 50 ms
  lets through 3 kA2s, resistance 2 mΩ to 8 mΩ
"""
SMALL = "part small, fuse\n  cartridge, 125 V, breaks 10 kA at 125 V, comes in 5 A 10 A 20 A 30 A\n" + CURVE
BIG = "part big, fuse\n  cartridge, 125 V, breaks 10 kA at 125 V, comes in 40 A 60 A\n" + CURVE
MAIN = "part main, fuse\n  class T, 125 V, breaks 20 kA at 125 V, comes in 60 A 100 A\n" + CURVE
LAMP = "draws 35 A, light"


def told(folder: Path, fuse: str, *sheets: str, load: str = LAMP) -> tuple[OtherSheet, ...]:
    path = folder / "lamp.boat"
    path.write_text(HEAD + RUN.format(fuse=fuse, load=load) + "".join(sheets), encoding="utf-8")
    source = Reader().design(str(path))
    design = build(source)
    assert design.whole, [m.message for m in design.mistakes]
    made = choose(source, left_open(design))
    return tuple(other for one in made.contradictions for other in one.other_sheets)


def found(text: str) -> set[tuple[str, str]]:
    result = examine(build(Reader().design_text(text)))
    assert result.mistakes == []
    return {(f.rule, f.subject) for f in result.findings}


def test_a_larger_series_on_board(tmp_path: Path) -> None:
    (other,) = told(tmp_path, "part small, ? A", SMALL, BIG)
    assert (other.element, other.part, other.instead) == ("F1", "big", "small")
    assert (other.device_class, other.class_instead, other.brings) == ("", "", ())
    assert [(name, o.written) for name, o in other.choice] == [("F1", "40 A")]
    # 30 A carry no 35 A; what is told does, with nothing found of the circuit
    size = next(
        c.option.written
        for c in choose(Reader().design(str(tmp_path / "lamp.boat")), ["F1", "W1"]).chosen
        if c.name == "W1"
    )
    run = RUN.replace("size ?", size)
    sheets = SMALL + BIG
    assert ("device-overloaded", "F1") in found(HEAD + run.format(fuse="part small, 30 A", load=LAMP) + sheets)
    assert not found(HEAD + run.format(fuse="part big, 40 A", load=LAMP) + sheets)


def test_the_same_class_goes_before_another(tmp_path: Path) -> None:
    first, second = told(tmp_path, "part small, ? A", SMALL, MAIN, BIG)
    assert (first.part, first.device_class) == ("big", "")
    assert (second.part, second.device_class, second.class_instead) == ("main", "class-t", "cartridge")
    # a larger fuse takes a larger cable with it
    assert {name for name, _ in second.choice} == {"F1", "W1"}
    area_mm2 = dict(second.choice)["W1"].figure
    run = RUN.replace("size ?", f"{area_mm2:g} mm2")
    assert not found(HEAD + run.format(fuse="part main, 60 A", load=LAMP) + MAIN)


def test_a_class_that_stands_in_the_way_is_said(tmp_path: Path) -> None:
    """The statement itself names its class, without a sheet, or besides one.  The blade fuse is too small, and breaks too
    little besides: a sheet that cures only one of these is no answer."""
    for fuse in ("cartridge, part small, ? A", "blade, 32 V, ? A"):
        others = told(tmp_path, fuse, SMALL, MAIN, load="draws 55 A, light")
        assert others
        for other in others:
            assert (other.part, other.device_class) == ("main", "class-t")
            assert other.class_instead == fuse.split(",")[0]


def test_what_the_maker_asks_for_decides(tmp_path: Path) -> None:
    """A sheet that the maker of the load does not allow would not do."""
    load = "draws 35 A, light, asks cartridge fuse 30 A to 60 A"
    assert [o.part for o in told(tmp_path, "part small, ? A", SMALL, MAIN, load=load)] == []
    assert [o.part for o in told(tmp_path, "part small, ? A", SMALL, MAIN, BIG, load=load)] == ["big"]


def test_what_a_sheet_does_not_say_is_told_with_it(tmp_path: Path) -> None:
    vague = BIG.replace("125 V, breaks 10 kA at 125 V, ", "125 V, ")
    (other,) = told(tmp_path, "part small, ? A", SMALL, vague)
    assert {demand_of(f)[:2] for f in other.brings} == {("breaking-capacity", "F1")}


def test_a_sheet_that_is_as_bad_is_not_told(tmp_path: Path) -> None:
    assert told(tmp_path, "part small, ? A", SMALL, BIG.replace("40 A 60 A", "25 A")) == ()
    assert told(tmp_path, "part small, ? A", SMALL, BIG.replace("breaks 10 kA at 125 V", "breaks 1 kA at 125 V")) == ()
    assert told(tmp_path, "part small, ? A", SMALL) == ()
    assert (
        told(tmp_path, "part small, ? A", SMALL, BIG.replace("fuse", "breaker", 1).replace("cartridge", "thermal"))
        == ()
    )


def test_petrol_vapour_bars_a_sheet(tmp_path: Path) -> None:
    """No size or rating has a say in it, but the sheet has."""
    head = HEAD + "place BILGE, petrol vapour\n"
    run = RUN.format(fuse="part small, ? A, in BILGE", load=LAMP + ", in BILGE").replace("2 m", "2 m, in BILGE")
    small = SMALL.replace("125 V,", "125 V, ignition protected,", 1)
    for big, names in ((BIG, []), (BIG.replace("125 V,", "125 V, ignition protected,", 1), ["big"])):
        path = tmp_path / "vapour.boat"
        path.write_text(head + run + small + big, encoding="utf-8")
        made = choose(Reader().design(str(path)), ["F1", "W1"])
        assert [o.part for c in made.contradictions for o in c.other_sheets] == names


def test_none_is_larger_than_the_device_before_it(tmp_path: Path) -> None:
    """A device of 60 A behind one of 50 A would open nothing before that one does."""
    run = (
        "from B\nfuse F0, part first, {} A\ncable W0, 6 AWG, 1 m\nbus POS, 100 A\nfrom POS\nfuse F1, part small, ? A\n"
    )
    run += "cable W1, size ?, 2 m\nload LAMP, draws 35 A, light\nfrom POS\nfuse F2, part small, 5 A\n"
    run += "cable W2, 6 AWG, 2 m\nload FAN, draws 2 A\n"
    first = "part first, fuse\n  class T, 125 V, breaks 20 kA at 125 V, comes in 50 A 100 A\n" + CURVE
    for before, names in ((50, []), (100, ["large"])):
        path = tmp_path / "first.boat"
        large = BIG.replace("part big", "part large").replace("40 A 60 A", "60 A")
        path.write_text(HEAD + run.format(before).replace("6 AWG, 1 m", "1 AWG, 1 m") + first + SMALL + large, "utf-8")
        made = choose(Reader().design(str(path)), ["F1", "W1"])
        sheets = [o.part for c in made.contradictions for o in c.other_sheets if o.part == "large"]
        assert sheets == names, before


def test_a_cable_of_another_sheet(tmp_path: Path) -> None:
    """The sheet of one size only: the drop asks for more."""
    text = (
        HEAD
        + "from B\nfuse F1, part big, 40 A\ncable W1, part thin, size ?, 6 m\nload LAMP, draws 20 A, light, vital\n"
    )
    text += "part thin, cable\n  6 mm2\npart thick, cable\n  {}\n"
    for sheet, names in (("35 mm2", ["thick"]), ("10 mm2", [])):
        path = tmp_path / "cable.boat"
        path.write_text(text.format(sheet) + BIG, encoding="utf-8")
        made = choose(Reader().design(str(path)), ["W1"])
        (one,) = made.contradictions
        assert [o.part for o in one.other_sheets] == names
        assert all(dict(o.choice)["W1"].figure == 35 for o in one.other_sheets)


@pytest.mark.parametrize("more", [(), ("--write",)])
def test_it_is_told_and_never_written(tmp_path: Path, more: tuple[str, ...]) -> None:
    path = tmp_path / "lamp.boat"
    path.write_text(HEAD + RUN.format(fuse="part small, ? A", load=LAMP) + SMALL + BIG, encoding="utf-8")
    before = path.read_bytes()
    shown = CliRunner().invoke(main, ["size", str(path), *more])
    assert shown.exit_code == 1
    assert "with part big, 40 A in place of part small for F1, this is satisfied" in " ".join(shown.output.split())
    assert path.read_bytes() == before
    data = json.loads(CliRunner().invoke(main, ["size", str(path), "--format", "json"]).output)
    ((other,),) = (c["other_sheets"] for c in data["contradictions"])
    assert (other["element"], other["part"], other["in_place_of"]) == ("F1", "big", "small")
    assert other["choice"] == {"F1": "40 A"}


@pytest.mark.parametrize("number", [14, 27, 52, 57])
def test_what_is_told_of_random_boats_holds(number: int, tmp_path: Path) -> None:
    """Put into the design, it breaks none of the demands that contradicted each other."""
    path = tmp_path / "random.boat"
    path.write_text(boat(random.Random(number), 200), encoding="utf-8")
    source = Reader().design(str(path))
    design = build(source)
    made = choose(source, left_open(design))
    others = [(one, other) for one in made.contradictions for other in one.other_sheets]
    assert others
    for one, other in others:
        taken = {c.name: c.option for c in made.chosen} | dict(other.choice)
        facts = {("element", name): {f.key: (f,) for f in option.facts} for name, option in taken.items()}
        part = {"part": (trying("part", Token("NAME", other.part, 0, 0)),)}
        facts["element", other.element] = part | facts["element", other.element]
        left = {demand_of(f) for f in examine(build(overlaid(source, facts))).findings}
        asked = {demand_of(f)[:2] for f in one.demands}
        assert not [d for d in left if d[:2] in asked and not d.mild]
