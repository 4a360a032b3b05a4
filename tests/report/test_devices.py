"""`study --of devices`: the three forms say the same, and the figures are those of the study and of the sheet."""

from __future__ import annotations

import csv
import io
import json
import math
from typing import Any

import pytest
from click.testing import CliRunner

from linter.cli import main

BOAT = """boat "O", 9 m, rulebook iso-13297
system DC12, 12 V, greatest 15 V
cables, insulation 105 °C, tinned
battery B, 12 V, 100 Ah, resistance 5 mΩ
from B
fuse F1 "=main", class T, 100 A, breaks 20 kA at 125 V, opens at 135 % in 100 s to 3000 s, opens at 1000 % in 5 ms to 20 ms
cable W1, 25 mm2, 2 m
bus P, 100 A
from P
fuse F2, blade, 10 A
cable W2, 2.5 mm2, 4 m
load LAMP, draws 2 A
"""


def run(text: str, form: str) -> str:
    result = CliRunner().invoke(main, ["study", "-", "--of", "devices", "--format", form], input=text)
    assert result.exit_code == 0, result.output
    return result.output


def test_json() -> None:
    made: dict[str, Any] = json.loads(run(BOAT, "json"))
    assert made["format"] == "wireworthy devices" and "not an approval" in made["caution"]
    main_fuse, branch = made["devices"]
    # IEC 61660-1: 1.05 × 12 V behind 0.9 × 5 mΩ, but no more than the battery's own voltage times 1.05 gives
    assert main_fuse["prospective_a"] == pytest.approx(1.05 * 12 / (0.9 * 5e-3))
    assert (main_fuse["breaks_a"], main_fuse["breaks_at_v"], main_fuse["operating_a"]) == (20e3, 125.0, 135.0)
    # ISO 8820-3 by class: 1 kA at 32 V (from memory)
    assert (branch["breaks_a"], branch["breaks_at_v"], branch["above"]) == (1e3, 32.0, ["F1"])
    assert branch["guards"] == ["W2"] and main_fuse["guards"] == ["W1"]
    # the smallest fault at the end of W2: hot conductors there and back, IEC 60228 tinned at 20 °C
    ohm = 2 * (2 * 0.795e-3 + 4 * 8.21e-3) * (234.5 + 105) / 254.5
    assert branch["smallest_a"] == pytest.approx(0.95 * 1.05 * 12 / (5e-3 + ohm), rel=1e-4)
    # on the class's slow edge between 350 % in 0.5 s and 600 % in 0.1 s, beyond it 0.1 s
    assert branch["opens_s"] == pytest.approx(0.1) and branch["smallest_a"] > 60


def test_table_and_csv_say_the_same() -> None:
    rows = list(csv.DictReader(io.StringIO(run(BOAT, "csv"))))
    assert [r["device"] for r in rows] == ["F1", "F2"]
    assert math.isclose(float(rows[0]["breaks A"]), 20e3) and rows[1]["guards"] == "W2"
    assert rows[0]["label"] == "'=main"  # a spreadsheet must not execute it
    table = run(BOAT, "table")
    assert all(name in table for name in ("F1", "F2", "class T", "2800"))


def test_a_source_without_figures_gives_no_current() -> None:
    text = BOAT.replace(", resistance 5 mΩ", "")
    assert json.loads(run(text, "json"))["devices"][0]["prospective_a"] is None
    assert "?" in run(text, "table")
