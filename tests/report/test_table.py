"""The study at a terminal: what has room, what is left out and said so, and how a verdict is marked."""

from __future__ import annotations

import csv
import io
import json
from pathlib import Path

import pytest
from click.testing import CliRunner

from linter.cli import main
from linter.report.rows import LONGEST, Rows, as_csv, as_table

BOATS = Path(__file__).resolve().parents[2] / "boats"
SMALL = """boat "T", 9 m, rulebook iso-13297
system DC12, 12 V
cables, insulation 105 °C, tinned
battery B, 12 V, 100 Ah, resistance 5 mΩ
from B
fuse F1, class T, {rating}, 125 V, breaks 20 kA at 125 V, resistance 0.2 mΩ
  opens at 135 % in 100 s to 3000 s, opens at 1000 % in 5 ms to 20 ms, lets through 20 kA2s
cable W1, 25 mm2, 2 m
load INV, draws 60 A
"""


def run(text: str, *arguments: str, columns: int = 100) -> str:
    result = CliRunner(env={"COLUMNS": str(columns)}).invoke(main, ["study", "-", *arguments], input=text)
    assert result.exit_code == 0, result.output
    return result.output


@pytest.mark.parametrize("of", ["conductors", "devices", "loads", "scenes", "energy"])
@pytest.mark.parametrize("columns", [40, 130])
def test_it_fits_and_says_what_is_left_out(of: str, columns: int) -> None:
    boat = str(BOATS / "launch.boat")
    output = CliRunner(env={"COLUMNS": str(columns)}).invoke(main, ["study", boat, "--of", of]).output
    table, _, below = output.partition("\n\n")
    assert max(map(len, table.splitlines())) <= max(columns, 100)
    csv_ = CliRunner().invoke(main, ["study", boat, "--of", of, "--format", "csv"]).output
    rows = list(csv.DictReader(io.StringIO(csv_)))
    # every column that says anything is shown or named below
    said = [name for name in rows[0] if any(row[name] for row in rows)]
    line = next((x for x in below.splitlines() if x.startswith("Not shown: ")), "Not shown: (")
    left_out = line.removeprefix("Not shown: ").rpartition(" (")[0].split(", ")
    heads = {name for name in said if name not in left_out}
    assert 4 <= len(heads) < len(said) or not left_out[0]
    height = next(i for i, text in enumerate(table.splitlines()) if rows[0][next(iter(rows[0]))][:10] in text)
    shown = " ".join(table.splitlines()[:height])
    assert all(word in shown for name in heads for word in name.replace("-", " ").split())
    assert "--wide" in line or not left_out[0]


def test_wide_shows_everything() -> None:
    output = run(SMALL.format(rating="100 A"), "--wide")
    assert all(name in output for name in ("let-through A", "largest fault A", "bears mΩ", "factors", "open findings"))
    assert "Not shown" not in output


def test_the_first_columns_go_first_and_what_is_long_is_cut() -> None:
    long = "x" * 50
    rows = Rows(("name", "long", "some A", "other A"), frozenset({"some A", "other A"}), [["a", long, "1", "22"]],
                ("name", "other A"))  # fmt: skip
    assert as_table(rows, 24) == (
        "      some  other\nname     A      A\na        1     22\n\nNot shown: long (--wide, or --format csv or json).\n"
    )
    assert f"{'x' * (LONGEST - 1)}…" in as_table(rows, 60) and long in as_table(rows) and long in as_csv(rows)


def test_a_column_of_nothing_takes_no_room() -> None:
    rows = Rows(("name", "empty", "full"), frozenset(), [["a", "", "b"]])
    assert "empty" not in as_table(rows, 100) and "empty" in as_table(rows)


GOOD = SMALL.format(rating="100 A")


@pytest.mark.parametrize(
    ("text", "verdict"),
    [
        (GOOD, "protected"),
        # nobody says what the battery drives into a short
        (GOOD.replace(", resistance 5 mΩ", ""), "protected?"),
        (GOOD.replace(", 12 V, 100 Ah, resistance 5 mΩ", ", AGM, 12 V, 100 Ah"), "protected?"),
        # nobody says when the device opens
        (GOOD.replace("class T", "ANL").replace(GOOD.splitlines()[6], "  fast"), "protected?"),
        # the device may let through 2 MA²s: the rating is in order, the conductor burns
        (GOOD.replace("5 ms to 20 ms", "1 s to 4 s").replace("20 kA2s", "20000 kA2s"), "protected!"),
    ],
)  # fmt: skip
def test_a_verdict_is_no_more_than_what_is_open_on_it(text: str, verdict: str) -> None:
    (row,) = csv.DictReader(io.StringIO(run(text, "--format", "csv")))
    assert row["verdict"] == verdict
    table = run(text)
    assert verdict in table and ("by its ratings" in table) == (verdict != "protected")
    (made,) = json.loads(run(text, "--format", "json"))["conductors"]
    assert made["verdict"] == "protected"


def test_what_bears_is_in_all_three_forms() -> None:
    text = SMALL.format(rating="100 A")
    (row,) = csv.DictReader(io.StringIO(run(text, "--format", "csv")))
    (made,) = json.loads(run(text, "--format", "json"))["conductors"]
    assert float(row["bears mΩ"]) == pytest.approx(made["bears_ohm"] * 1000, rel=5e-3)
    assert row["bears mΩ"] in run(text, "--wide")
