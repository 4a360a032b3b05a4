"""The commands as a user meets them: what they print, what they write, how they end."""

from __future__ import annotations

import csv
import io
import json
import os
import subprocess
import sys
from pathlib import Path

import pytest
from click.testing import CliRunner, Result

from linter.cli import main
from linter.rules.registry import PRELUDE, rules

ROOT = Path(__file__).resolve().parents[1]

GOOD = (
    PRELUDE
    + """from B
cable W1, 50 mm2, 0.15 m
fuse F1, class T, 150 A, 125 V, lets through 60 kA2s at 20 kA
  opens at 135 % in 200 s to 3600 s, opens at 500 % in 40 ms to 0.2 s, opens at 1000 % in 5 ms to 12 ms
cable W2, 50 mm2, 1 m
load HEATER "Cabin heater", draws 40 A
"""
)
BAD = GOOD.replace("50 mm2, 1 m", "2.5 mm2, 1 m")
ADVICE = GOOD + "battery SPARE, AGM, 12 V, 50 Ah, resistance 5 mΩ\n"
DOUBT = GOOD.replace(", draws 40 A", "")
LOST = GOOD + "cabel W9\n"


@pytest.fixture(autouse=True)
def _elsewhere(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """Every test works in a folder of its own."""
    monkeypatch.chdir(tmp_path)


def run(*arguments: str, stdin: str | bytes | None = None) -> Result:
    return CliRunner().invoke(main, arguments, input=stdin)


def status(text: str, *more: str) -> int:
    return run("check", "-", "--today", "2026-11-25", *more, stdin=text).exit_code


@pytest.mark.parametrize(
    ("text", "options", "expected"),
    [
        (GOOD, (), 0),
        (BAD, (), 1),
        (BAD, ("--fail-on", "never"), 0),
        (BAD, ("--without", "conductor-unprotected", "--without", "conductor-overloaded"), 0),
        (BAD, ("--only", "not-fed"), 0),
        (BAD, ("--only", "conductor-unprotected"), 1),
        (DOUBT, (), 1),
        (DOUBT, ("--fail-on", "fault"), 0),
        (ADVICE, (), 0),
        (ADVICE, ("--fail-on", "advice"), 1),
        (ADVICE, ("--severity", "feeds-nothing=danger", "--fail-on", "danger"), 1),
        (LOST, (), 3),
        (LOST, ("--fail-on", "never"), 3),
        (LOST, ("--only", "rating-not-made"), 3),
        ("", (), 3),
        ("\0" * 100, (), 3),
        (GOOD, ("--only", "no-such-rule"), 2),
        (GOOD, ("--severity", "not-fed=terrible"), 2),
        (GOOD, ("--today", "yesterday"), 2),
        (GOOD, ("--fail-on", "sometimes"), 2),
    ],
)
def test_exit_status_of_check(text: str, options: tuple[str, ...], expected: int) -> None:
    assert status(text, *options) == expected


def test_incomplete_never_says_that_there_is_nothing() -> None:
    result = run("check", "-", stdin=LOST)
    assert "incomplete" in result.output
    assert "no findings" not in result.output
    assert "did you mean cable?" in result.output


@pytest.mark.parametrize(
    "arguments", [("check", "no/such/file.boat"), ("check", "."), ("draw", "x.boat", "-o", "y.txt")]
)
def test_what_cannot_be_used_ends_with_2_and_one_line(arguments: tuple[str, ...]) -> None:
    result = run(*arguments)
    assert result.exit_code == 2
    assert len(result.output.strip().splitlines()) == 1
    assert result.output.startswith("wireworthy: ")


def test_standard_input_that_is_no_text() -> None:
    result = run("check", "-", stdin=b"boat \xff\xfe")
    assert result.exit_code == 2
    assert "UTF-8" in result.output


def test_a_finding_is_one_line_that_can_be_followed_then_the_line_the_mend_and_the_clause() -> None:
    lines = run("check", "-", stdin=BAD).output.splitlines()
    number = BAD.splitlines().index("cable W2, 2.5 mm2, 1 m") + 1
    first = next(i for i, line in enumerate(lines) if "[conductor-unprotected]" in line)
    assert lines[first].startswith(
        f"-:{number}:7: danger: W2, 2.5 mm², is allowed a guard of 35 A, but 150 A can persist"
    )
    assert lines[first + 1] == f"{number:5} | cable W2, 2.5 mm2, 1 m"
    assert lines[first + 2] == "      |       ^^"
    assert "mend: at most 35 A for F1; or" in lines[first + 3]
    assert "at least 25 mm²" in lines[first + 3]  # at 105 °C 16 mm² is allowed 130 A, 25 mm² 170 A
    assert lines[first + 4].strip().startswith("clause: ISO 13297")


def test_the_caution_stands_once() -> None:
    output = run("check", "-", stdin=BAD).output
    assert output.count("not an approval") == 1
    assert output.count("Not examined") == 1


def test_colour_only_on_a_terminal() -> None:
    assert "\x1b" not in run("check", "-", stdin=BAD).output


def test_json_of_check_can_be_followed_to_the_place() -> None:
    data = json.loads(run("check", "-", "--format", "json", stdin=BAD).output)
    assert (data["format"], data["version"]) == ("wireworthy findings", 1)
    (design,) = data["designs"]
    found = {f["rule"]: f for f in design["findings"]}["conductor-unprotected"]
    at = found["at"]
    assert BAD.splitlines()[at["line"] - 1][at["column"] - 1 : at["end_column"] - 1] == "W2" == found["element"]
    assert design["counts"]["danger"] == sum(f["severity"] == "danger" for f in design["findings"]) > 0
    assert "not an approval" in data["caution"]


def test_study_table_csv_and_json_say_the_same() -> None:
    Path("x.boat").write_text(BAD, encoding="utf-8")
    table = run("study", "x.boat", "--wide")
    rows = list(csv.DictReader(io.StringIO(run("study", "x.boat", "--format", "csv").output)))
    data = json.loads(run("study", "x.boat", "--format", "json").output)
    assert table.exit_code == 0
    by_id = {c["id"]: c for c in data["conductors"]}
    assert [r["conductor"] for r in rows] == list(by_id) == ["W1", "W2"]
    for row in rows:
        made = by_id[row["conductor"]]
        assert float(row["allowed A"]) == made["allowed_a"]
        assert row["guard"] in {" + ".join(made["guard"]), "none"}
        for cell in row.values():
            assert cell in table.output
    assert by_id["W1"]["let_through_unlimited"] and by_id["W1"]["let_through_a"] is None
    assert by_id["W2"]["let_through_a"] == 150
    assert by_id["W2"]["margin_a"] == 35 - 150
    assert by_id["W2"]["reckoning"][0]["table_a"] == 35


@pytest.mark.parametrize("form", ["json", "graphml", "dot"])
def test_graph_in_each_form(form: str) -> None:
    Path("x.boat").write_text(GOOD, encoding="utf-8")
    result = run("graph", "x.boat", "--format", form)
    written = run("graph", "x.boat", "--format", form, "-o", "out")
    assert (result.exit_code, written.exit_code) == (0, 0)
    assert Path("out").read_text(encoding="utf-8") == result.output
    assert os.listdir() and not [n for n in os.listdir() if n.startswith(".")]
    assert "HEATER" in result.output and "W2" in result.output


def test_rules_and_explain() -> None:
    listing = run("rules").output
    for rule in rules():
        assert rule.name in listing
        page = " ".join(run("explain", rule.name).output.split())
        for words in (rule.demand, rule.reason, rule.clause, rule.status, rule.mend, rule.measure):
            assert words in page
    wrong = run("explain", "conductor-unprotectd")
    assert wrong.exit_code == 2
    assert "did you mean conductor-unprotected?" in wrong.output


@pytest.mark.parametrize("suffix", ["svg", "pdf", "png", "dot"])
def test_draw_writes_each_kind(suffix: str) -> None:
    begins = {"svg": b"<", "pdf": b"%PDF-", "png": b"\x89PNG\r\n", "dot": b"graph "}
    Path("x.boat").write_text(BAD, encoding="utf-8")
    result = run("draw", "x.boat", "-o", f"x.{suffix}")
    assert result.exit_code == 0, result.output
    data = Path(f"x.{suffix}").read_bytes()
    assert data.startswith(begins[suffix])
    assert suffix in {"pdf", "png"} or b"HEATER" in data


def test_draw_to_where_nothing_can_be_written() -> None:
    Path("x.boat").write_text(GOOD, encoding="utf-8")
    result = run("draw", "x.boat", "-o", "no/such/folder/x.svg")
    assert result.exit_code == 2
    assert "cannot be written" in result.output


def test_a_folder_means_every_design_below_it() -> None:
    os.makedirs("fleet/one")
    Path("fleet/one/a.boat").write_text(GOOD, encoding="utf-8")
    Path("fleet/b.boat").write_text(GOOD.replace("Example", "Other"), encoding="utf-8")
    Path("fleet/parts.boat").write_text('part lamp-1 "Lamp", load\n  draws 1 A\n', encoding="utf-8")
    result = run("check", "fleet")
    several = run("draw", "fleet", "-o", "x.svg")
    assert result.exit_code == 0
    assert "Example: no findings" in result.output and "Other: no findings" in result.output
    assert several.exit_code == 2 and "name one" in several.output


HOSTILE = GOOD.replace("Cabin heater", "<script>alert(1)</script> & {{=cmd|' /C calc'!A0}} \\N %s")


def test_hostile_labels_reach_no_output_unescaped() -> None:
    Path("x.boat").write_text(HOSTILE, encoding="utf-8")
    assert run("draw", "x.boat", "-o", "x.svg").exit_code == 0
    assert b"<script" not in Path("x.svg").read_bytes()
    assert run("draw", "x.boat", "-o", "x.dot").exit_code == 0
    name = "=1+1"
    text = GOOD.replace('load HEATER "Cabin heater"', f'load HEATER "{name}"').replace("cable W2,", 'cable W2 "=1+1",')
    Path("x.boat").write_text(text, encoding="utf-8")
    for row in csv.reader(io.StringIO(run("study", "x.boat", "--format", "csv").output)):
        assert not any(cell.startswith(("=", "+", "@")) for cell in row)


def test_a_path_with_escapes_does_not_reach_the_terminal(tmp_path: Path) -> None:
    bad = tmp_path / "a\x1b[31mb.boat"
    bad.write_text(BAD, encoding="utf-8")
    output = run("check", str(bad)).output
    assert "\x1b" not in output


HEAVY = ("networkx", "numpy", "graphviz", "typst", "wasmtime", "rich")


@pytest.mark.parametrize(
    ("arguments", "unwanted"),
    [
        (["--version"], (*HEAVY, "lark")),
        (["explain", "not-fed"], (*HEAVY, "lark")),
        (["check", "-"], HEAVY),
    ],
)
def test_heavy_packages_are_imported_only_where_they_are_used(arguments: list[str], unwanted: tuple[str, ...]) -> None:
    code = (
        "import sys\nfrom linter.cli import main\n"
        f"try: main({arguments!r})\nexcept SystemExit: pass\n"
        "print('LOADED', *sorted(m for m in sys.modules if '.' not in m), file=sys.stderr)"
    )
    made = subprocess.run(
        [sys.executable, "-c", code], input=GOOD, capture_output=True, text=True, encoding="utf-8", check=True, cwd=ROOT
    )
    loaded = set(made.stderr.splitlines()[-1].split()[1:])
    assert "click" in loaded
    assert not loaded & set(unwanted)


@pytest.mark.parametrize("command", ["study", "graph", "explain"])
def test_no_output_is_written_over_a_design(command: str, tmp_path: Path) -> None:
    design = tmp_path / "own.boat"
    design.write_text((ROOT / "boats/launch.boat").read_text(encoding="utf-8"), encoding="utf-8")
    before = design.read_bytes()
    more = ["W1"] if command == "explain" else []
    result = CliRunner().invoke(main, [command, str(ROOT / "boats/launch.boat"), *more, "-o", str(design)])
    assert result.exit_code == 2 and "give the output another" in result.output
    assert design.read_bytes() == before
