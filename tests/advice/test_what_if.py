"""`check --with`: a change of facts, read as the language, compared as `compare` does, nothing written."""

from __future__ import annotations

import json
from pathlib import Path

import pytest
from click.testing import CliRunner

from linter.advice.what_if import BadChange, changed, what_if
from linter.cli import main
from linter.model.build import build
from linter.model.elements import Conductor, Device
from linter.source.files import Reader

SMALL = """boat "Small", 8 m, rulebook iso-13297
system DC12, DC, 12 V, negative earthed, least 10.5 V
place LOCKER, ambient 30 °C
cables, insulation 105 °C, class 5, tinned
part lamp "Lamp", load
  draws 4 A
battery B, AGM, 12 V, 100 Ah, resistance 4 mohm
from B
fuse F1, class T, 60 A, 125 V
cable W1, 16 mm2, 3 m
bus POS, 100 A
from POS
fuse F2, blade, 10 A
cable W2, 2.5 mm2, 5 m, in LOCKER
load L, part lamp
"""


@pytest.fixture
def boat(tmp_path: Path) -> Path:
    path = tmp_path / "small.boat"
    path.write_text(SMALL, encoding="utf-8")
    return path


@pytest.mark.parametrize(
    "written",
    [
        "fuse F2 rating 15 A", "F2 15 A", "F2, 15 A", "fuse F2, 15 A", "  F2   rated   15 A", "F2 rating 15000 mA",
        "fuse F2 blade, rating 15 A", 'F2 15 A, says "rating 15 A"',
    ],
)  # fmt: skip
def test_a_rating_however_it_is_said(boat: Path, written: str) -> None:
    device = build(changed(Reader().design(str(boat)), [written])).elements["F2"]
    assert isinstance(device, Device)
    assert device.rated_a == 15.0
    assert device.device_class == "blade"


def test_size_and_length_of_a_cable(boat: Path) -> None:
    made = build(changed(Reader().design(str(boat)), ["cable W2 size 4 mm2, length 2 m", "W2 in LOCKER"]))
    cable = made.elements["W2"]
    assert isinstance(cable, Conductor)
    assert (cable.area_mm2, cable.length_m) == (4.0, 2.0)
    other = made.elements["W1"]
    assert isinstance(other, Conductor) and other.area_mm2 == 16.0


def test_places_systems_and_part_sheets(boat: Path) -> None:
    source = Reader().design(str(boat))
    made = build(changed(source, ["LOCKER ambient 55 °C", "system DC12 least 9 V", "part lamp, load, draws 7 A"]))
    assert made.places["LOCKER"].ambient_c == 55.0
    assert made.systems["DC12"].least_v == 9.0
    assert made.elements["L"].draws_a == 7.0  # type: ignore[attr-defined]
    again = build(changed(source, ["lamp draws 9 A"]))
    assert again.elements["L"].draws_a == 9.0  # type: ignore[attr-defined]


def test_a_later_change_of_the_same_fact_counts(boat: Path) -> None:
    device = build(changed(Reader().design(str(boat)), ["F2 15 A", "F2 20 A"])).elements["F2"]
    assert isinstance(device, Device) and device.rated_a == 20.0


@pytest.mark.parametrize(
    ("written", "column", "says"),
    [
        ("F9 15 A", 1, "there is no element, place, system or part F9"),
        ("fuse F9 15 A", 6, "there is no fuse F9"),
        ("breaker F2 15 A", 1, "F2 is a fuse, no breaker"),
        ("F2 15", 4, "15 has no unit"),
        ("F2 red", 4, "a fuse does not take a colour"),
        ("F2 colour", 4, "'colour' is no fact of a fuse"),
        ("F2 15 A, 20 A", 10, "says such a thing already"),
        ("F2 0 A", 4, "a rating of nothing is none"),
        ("W2 in NOWHERE", 1, "there is no place NOWHERE"),
        ("F2", 1, "nothing is said of F2"),
        ("", 1, "a change begins with the name"),
        ("15 A", 1, "a change begins with the name"),
        ("F2 15 A\nuse other.boat", 1, "a change is one line"),
        ('F2 "label", 15 A', 1, "no change of facts"),
    ],
)
def test_what_cannot_be_read_is_said_with_its_place(boat: Path, written: str, column: int, says: str) -> None:
    with pytest.raises(BadChange) as caught:
        changed(Reader().design(str(boat)), [written])
    first = caught.value.mistakes[0]
    assert says in first.message
    assert (first.span.path, first.span.line, first.span.column) == ("--with", 1, column)


def test_it_tells_what_compare_tells_of_the_same_change_in_a_file(boat: Path) -> None:
    other = boat.with_name("other.boat")
    other.write_text(SMALL.replace("blade, 10 A", "blade, 40 A"), encoding="utf-8")
    run = CliRunner().invoke(main, ["check", str(boat), "--with", "fuse F2 rating 40 A", "--format", "json"])
    told = json.loads(run.output)
    compared = json.loads(CliRunner().invoke(main, ["compare", str(boat), str(other), "--format", "json"]).output)
    for key in ("effects", "added", "removed", "summary", "changed"):
        assert told[key] == compared[key], key
    rules = [[f["rule"] for f in side["findings"]["new"]] for side in (told, compared)]
    assert rules[0] == rules[1] and "conductor-unprotected" in rules[0]
    assert boat.read_text(encoding="utf-8") == SMALL


def test_the_status_is_that_of_check_of_the_changed_design(boat: Path) -> None:
    other = boat.with_name("other.boat")
    for rating in ("10 A", "40 A"):
        other.write_text(SMALL.replace("blade, 10 A", f"blade, {rating}"), encoding="utf-8")
        for more in ([], ["--fail-on", "danger"], ["--fail-on", "never"], ["--only", "voltage-drop"]):
            plain = CliRunner().invoke(main, ["check", str(other), *more]).exit_code
            assert CliRunner().invoke(main, ["check", str(boat), "--with", f"F2 {rating}", *more]).exit_code == plain


def test_only_runs_only_the_rules_named(boat: Path) -> None:
    source = Reader().design(str(boat))
    from linter.rules.registry import rules

    chosen = [r for r in rules() if r.name == "device-overloaded"]
    found = what_if(source, ["F2 1 A"], None, chosen).made.now.findings
    assert {f.rule for f in found} == {"device-overloaded"}


@pytest.mark.parametrize(
    "more",
    [["--format", "sarif"], ["--since", "HEAD"], ["--record", "x"], ["--against", "x"], ["--with", "F9 3 A"]],
)
def test_what_does_not_go_together_ends_with_2(boat: Path, more: list[str]) -> None:
    run = CliRunner().invoke(main, ["check", str(boat), "--with", "F2 15 A", *more])
    assert run.exit_code == 2 and "Traceback" not in run.output


def test_standard_input_and_hostile_words() -> None:
    run = CliRunner().invoke(main, ["check", "-", "--with", "F2 15 A"], input=SMALL)
    assert "rated 10 A → 15 A" in run.output
    for hostile in ("F2\x1b[31m 15 A", "F2 15 A # \u202e", "F2 " + "x" * 5000, "F2 15 A, " * 500, "\u202eF2 1 A"):
        run = CliRunner().invoke(main, ["check", "-", "--with", hostile], input=SMALL)
        assert run.exit_code == 2, hostile[:20]
        assert run.exception is None or isinstance(run.exception, SystemExit)
        assert "\x1b" not in run.output and "\u202e" not in run.output
