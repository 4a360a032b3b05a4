"""Behind a conductor of unknown size or length no figure is guessed: it is missing, or a bound, and said to be."""

from __future__ import annotations

import csv
import io
import json
from typing import Any

import pytest
from click.testing import CliRunner

from linter.cli import main

BOAT = """boat "Open", 8 m, rulebook iso-13297
system DC12, DC, 12 V, negative earthed, least 10.5 V
cables, insulation 105 °C, class 5, tinned
battery B, AGM, 12 V, 100 Ah, resistance 4 mohm
from B
fuse F1, class T, 60 A, 125 V
cable W1, 16 mm2, 3 m
bus POS, 100 A
from POS
fuse F2, blade, 10 A, 32 V
cable W2, 2.5 mm2, 5 m
bus SUB, 50 A
from SUB
fuse F3, blade, 5 A, 32 V
cable W3, 2.5 mm2, 4 m
load L, draws 4 A
from POS
fuse F4, blade, 10 A, 32 V
cable W4, 2.5 mm2, 4 m
load M, draws 4 A
"""
OPEN = ("W2, 2.5 mm2, 5 m", "W2, size ?, 5 m")
NO_LENGTH = ("W2, 2.5 mm2, 5 m", "W2, 2.5 mm2")
NO_SOURCE = ("battery B, AGM, 12 V, 100 Ah, resistance 4 mohm", "battery B, 12 V")
SIZES = pytest.mark.parametrize("change", [OPEN, NO_LENGTH], ids=["no size", "no length"])


def run(of: str, change: tuple[str, str], form: str = "json") -> Any:
    done = CliRunner().invoke(main, ["study", "-", "--of", of, "--format", form], input=BOAT.replace(*change))
    assert done.exit_code in {0, 1}, done.output
    return json.loads(done.stdout) if form == "json" else list(csv.DictReader(io.StringIO(done.stdout)))


def by_name(rows: list[dict[str, Any]]) -> dict[str, dict[str, Any]]:
    return {row["id"]: row for row in rows}


@SIZES
def test_the_smallest_fault_behind_it_is_missing_and_the_largest_a_bound(change: tuple[str, str]) -> None:
    rows = by_name(run("conductors", change)["conductors"])
    whole = by_name(run("conductors", ("", ""))["conductors"])
    for name in ("W2", "W3"):
        found = rows[name]["prospective"]
        assert found["smallest_a"] is None and found["smallest_unknown"] and found["unknown"]
        assert found["largest_at_most"]
        assert found["largest_to_a"] > whole[name]["prospective"]["largest_to_a"]
        assert rows[name]["bears_ohm"] is None
        for way in rows[name]["clearing"]:
            assert way["unknown"]
            assert way["smallest"]["current_a"] is None and way["smallest"]["opens_s"] is None
            assert way["largest_a"] is None and way["worst_heat"] is None and way["worst_heat_beyond"] is None
    assert rows["W4"] == whole["W4"]
    assert not rows["W4"]["prospective"]["unknown"] and not rows["W4"]["prospective"]["largest_at_most"]


@SIZES
def test_a_device_that_guards_it_has_no_smallest_fault(change: tuple[str, str]) -> None:
    rows, whole = (by_name(run("devices", c)["devices"]) for c in (change, ("", "")))
    for name in ("F2", "F3"):
        assert rows[name]["smallest_a"] is None and rows[name]["smallest_unknown"] and rows[name]["opens_s"] is None
    assert rows["F3"]["prospective_at_most"] and rows["F3"]["prospective_a"] > whole["F3"]["prospective_a"]
    assert not rows["F2"]["prospective_at_most"] and rows["F2"]["prospective_a"] == whole["F2"]["prospective_a"]
    assert not whole["F3"]["smallest_unknown"] and whole["F3"]["smallest_a"] > 0
    assert rows["F4"] == whole["F4"]


@SIZES
def test_tables_mark_what_is_missing_and_what_is_a_bound(change: tuple[str, str]) -> None:
    rows = {row["conductor"]: row for row in run("conductors", change, "csv")}
    assert rows["W3"]["smallest fault A"] == "?" and rows["W3"]["largest fault A"].startswith("≤")
    assert rows["W4"]["smallest fault A"] == "117.9" and rows["W4"]["largest fault A"] == "1252"
    devices = {row["device"]: row for row in run("devices", change, "csv")}
    assert (devices["F3"]["smallest fault A"], devices["F3"]["opens in s"]) == ("?", "?")
    assert devices["F3"]["largest fault A"].startswith("≤") and devices["F2"]["largest fault A"] == "1252"


@SIZES
def test_voltages_behind_it_are_bounds_and_nothing_is_said_of_what_it_bears(change: tuple[str, str]) -> None:
    rows = by_name(run("loads", change)["loads"])
    assert rows["L"]["lowest"]["untold"] == ["W2"] and rows["L"]["bears_ohm"] is None
    assert rows["M"]["lowest"]["untold"] == [] and rows["M"]["bears_ohm"] > 0
    (state,) = run("scenes", change)["states"]
    assert {at["id"]: at["untold"] for at in state["loads"]} == {"L": ["W2"], "M": []}
    shown = {row["load"]: row for row in run("loads", change, "csv")}
    assert shown["L"]["drop then %"].startswith("≥") and shown["L"]["lowest volts V"].startswith("≤")
    assert shown["M"]["drop then %"] == "2.80"
    scenes = {row["load"]: row for row in run("scenes", change, "csv")}
    assert scenes["L"]["volts V"].startswith("≤") and scenes["L"]["drop V"].startswith("≥")
    assert scenes["M"]["volts V"] == "11.63"


def test_without_figures_of_the_source_nothing_is_told_of_any_fault() -> None:
    for row in run("conductors", NO_SOURCE)["conductors"]:
        found = row["prospective"]
        assert found["largest_from_a"] is None and found["largest_to_a"] is None and found["smallest_a"] is None
        assert found["unknown"] and found["smallest_unknown"] and not found["largest_at_most"]
        assert all(way["largest_a"] is None for way in row["clearing"])
    for row in run("devices", NO_SOURCE)["devices"]:
        assert row["prospective_a"] is None and row["smallest_a"] is None and row["smallest_unknown"]


@pytest.mark.parametrize("form", ["text", "markdown"])
def test_the_worksheet_says_so_too(form: str) -> None:
    def sheet(name: str) -> str:
        done = CliRunner().invoke(main, ["explain", "-", name, "--format", form], input=BOAT.replace(*OPEN))
        assert done.exit_code in {0, 1}, done.output
        return " ".join(done.stdout.split())

    wire, device = sheet("W3"), sheet("F3")
    assert "no current of a source that does not limit itself comes here" not in wire
    assert "through no device" not in wire
    assert "smallest, at L: not known" in wire
    assert "the smallest fault on W3 is not known" in device
    for text in (wire, device):
        assert "W2: its size or length is not given, counts as nil" in text
        assert "what is of unknown size or length counts as nil: it is no more than this" in text
