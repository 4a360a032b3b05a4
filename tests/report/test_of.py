"""`study --of`: tables, CSV and JSON of loads, scenes and energy say the same, and what they say is what was solved."""

from __future__ import annotations

import csv
import io
import json
from pathlib import Path
from typing import Any

import pytest
from click.testing import CliRunner

from linter.cli import main
from linter.model.build import build
from linter.source.files import Reader
from linter.study.study import study_of

BOATS = Path(__file__).resolve().parents[2] / "boats"
SMALL = """boat "O", 9 m, rulebook iso-13297
system DC12, 12 V
cables, insulation 105 °C, tinned
battery B, 12 V, 100 Ah, resistance 5 mΩ
from B
fuse F1 "=main", class T, 100 A
cable W1, 25 mm2, 2 m
bus P, 100 A
from P
fuse F2, blade, 10 A
cable W2, 2.5 mm2, 4 m
load LAMP "=Lamp", light, draws 24 W, runs 2 h a day
from P
fuse F3, class T, 80 A
switch S, 100 A
cable W3, 16 mm2, 3 m
inverter INV, 12 V, draws 60 A, works from 10.5 V
scene "evening", LAMP, INV, for 3 h
scene "dark", LAMP, INV, S open, for 1 h
"""


def run(text: str, of: str, form: str = "table") -> str:
    result = CliRunner().invoke(main, ["study", "-", "--of", of, "--format", form, "--wide"], input=text)
    assert result.exit_code == 0, result.output
    return result.output


def rows(text: str, of: str) -> list[dict[str, str]]:
    return list(csv.DictReader(io.StringIO(run(text, of, "csv"))))


def data(text: str, of: str) -> dict[str, Any]:
    made: dict[str, Any] = json.loads(run(text, of, "json"))
    assert (made["format"], made["version"], made["boat"]) == (f"wireworthy {of}", 1, "O")
    assert "not an approval" in made["caution"] and made["complete"] is True
    return made


def test_conductors_are_the_default() -> None:
    plain = CliRunner().invoke(main, ["study", "-", "--wide"], input=SMALL).output
    assert plain == run(SMALL, "conductors")
    assert "margin A" in plain and "through A" in plain


def test_loads_in_all_three_forms() -> None:
    study = study_of(build(Reader().design_text(SMALL)))
    scenes = study.scenes()
    found = {load["id"]: load for load in data(SMALL, "loads")["loads"]}
    table = run(SMALL, "loads")
    assert set(found) == {"LAMP", "INV"}
    for row in rows(SMALL, "loads"):
        load = found[row["load"]]
        worst = scenes.worst[study.design.circuit.by_name[row["load"]].index]
        assert load["worst"]["volts_v"] == pytest.approx(worst.volts, abs=1e-6)
        assert load["worst"]["drop_percent"] == pytest.approx(100 * worst.drop_v / 12, abs=1e-5)
        assert float(row["volts then V"]) == pytest.approx(worst.volts, abs=0.006)
        assert float(row["drop then V"]) == pytest.approx(worst.drop_v, abs=0.0006)
        assert float(row["drop alone %"]) == pytest.approx(load["alone"]["drop_percent"], abs=0.006)
        assert row["limit %"] == "10" and row["rulebook"] == load["limit_rulebook"] == "iso-13297"
        assert [row["guard"]] == load["guard"]
        assert sum(x["volts_v"] for x in load["worst"]["lost"]) == pytest.approx(load["worst"]["drop_v"], abs=1e-4)
        for cell in row.values():
            assert cell.lstrip("'") in table
    assert found["LAMP"]["guard"] == ["F2"] and found["INV"]["guard"] == ["F3"]
    assert found["INV"]["works_from_v"] == 10.5


def test_scenes_in_all_three_forms() -> None:
    evening, dark = data(SMALL, "scenes")["states"]
    assert (evening["title"], dark["title"]) == ("evening", "dark")
    assert dark["open"] == ["S"] and dark["not_fed"] == ["INV"] and evening["not_fed"] == []
    amps = {c["id"]: c["current_a"] for c in evening["currents"]}
    drawn = {x["id"]: x["current_a"] for x in evening["loads"]}
    assert amps["F1"] == amps["W1"] == pytest.approx(drawn["LAMP"] + drawn["INV"], abs=1e-5)
    assert amps["S"] == amps["W3"] == pytest.approx(drawn["INV"], abs=1e-5)
    assert {c["id"] for c in dark["currents"]} == {"F1", "W1", "F2", "W2"}
    assert evening["sources"][0]["current_a"] == pytest.approx(amps["W1"], abs=1e-5)
    # 60 A at 12 V are 720 W, drawn at whatever voltage there is
    volts = {x["id"]: x["volts_v"] for x in evening["loads"]}
    assert drawn["INV"] * volts["INV"] == pytest.approx(720, rel=1e-5)
    table, listed = run(SMALL, "scenes"), rows(SMALL, "scenes")
    assert [(r["scene"], r["load"], r["remark"]) for r in listed] == [
        ("evening", "LAMP", ""),
        ("evening", "INV", ""),
        ("dark", "LAMP", ""),
        ("dark", "INV", "not fed"),
    ]
    assert float(listed[0]["volts V"]) == pytest.approx(volts["LAMP"], abs=0.006)
    assert "not fed" in table


def test_a_scene_that_cannot_be_carried_is_shown_as_such() -> None:
    text = SMALL.replace("25 mm2, 2 m", "2.5 mm2, 9 m")
    state = data(text, "scenes")["states"][0]
    assert [f["load"] for f in state["not_carried"]] == ["INV"]
    assert 0.1 < state["not_carried"][0]["share"] < 1
    assert "cannot be carried" in run(text, "scenes")
    assert rows(text, "scenes")[0]["remark"] == "cannot be carried"


def test_energy_in_all_three_forms() -> None:
    made = data(SMALL, "energy")
    (bank,) = made["banks"]
    # the lamp 48 Wh; the inverter runs in scenes of 3 h and 1 h: 4 × 720 Wh
    assert bank["a_day_wh"] == pytest.approx(48 + 4 * 720)
    assert bank["part_of_charge"] == pytest.approx((48 + 4 * 720) / 12 / 100)
    assert bank["unknown"] == []
    (total,) = made["load_totals"]
    assert total["total_a"] == pytest.approx(60) and total["status"] == "from memory"
    listed = {r["load"]: r for r in rows(SMALL, "energy")}
    assert float(listed["in all"]["Wh a day"]) == pytest.approx(2928)
    assert listed["in all"]["remark"] == "244 % of 100 Ah"
    table = run(SMALL, "energy")
    assert "Load total of DC12" in table and "2928" in table
    unknown = SMALL.replace(", runs 2 h a day", "").replace(", for 3 h", "").replace(", for 1 h", "")
    (bank,) = data(unknown, "energy")["banks"]
    assert bank["unknown"] == ["LAMP", "INV"] and bank["a_day_wh"] == 0


@pytest.mark.parametrize("of", ["loads", "scenes", "energy"])
def test_cells_that_a_spreadsheet_would_execute_are_guarded(of: str) -> None:
    text = SMALL.replace('scene "evening"', 'scene "=evening"')
    for line in csv.reader(io.StringIO(run(text, of, "csv"))):
        assert not any(cell.startswith("=") for cell in line)


@pytest.mark.parametrize("of", ["loads", "scenes", "energy"])
@pytest.mark.parametrize("name", ["launch", "cutter", "motor-yacht"])
def test_the_boats_are_listed_whole(name: str, of: str) -> None:
    result = CliRunner().invoke(main, ["study", str(BOATS / f"{name}.boat"), "--of", of, "--format", "json"])
    assert result.exit_code == 0
    made = json.loads(result.output)
    study = study_of(build(Reader().design(BOATS / f"{name}.boat")))
    if of == "loads":
        assert len(made["loads"]) == sum(n.load is not None for n in study.design.circuit.nodes)
        assert all(x["worst"] and x["alone"] and x["guard"] is not None for x in made["loads"])
    if of == "scenes":
        assert {s["title"] for s in made["states"]} >= {s.title for s in study.design.scenes}


def test_what_was_lost_makes_the_study_incomplete() -> None:
    result = CliRunner().invoke(main, ["study", "-", "--of", "loads", "--format", "json"], input=SMALL + "cabel W9\n")
    assert result.exit_code == 3
    assert json.loads(result.stdout)["complete"] is False
