"""What a comparison tells of protection, on one screen; and odd calls."""

from __future__ import annotations

import json
import os
import re
import subprocess
import sys
from pathlib import Path
from typing import Any

import pytest

from tests.history.conftest import DESIGN, Git, run
from tests.history.yard import BASE, Files, make_repository, replaced, write_out

BOAT = "dunlin.boat"
FEED = "6 mm2, 2.5 m"


@pytest.fixture
def yard(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    folder = tmp_path / "yard"
    make_repository(folder, [("as launched", BASE)])
    write_out(folder, BASE)
    monkeypatch.chdir(folder)
    return folder


def edited(yard: Path, old: str, new: str, name: str = BOAT) -> None:
    write_out(yard, replaced(BASE, name, old, new))


def effects(*call: str) -> dict[tuple[str, str], tuple[Any, Any]]:
    found = json.loads(run("compare", *call, "--format", "json").stdout)
    return {(e["element"], x["what"]): (x["was"], x["now"]) for e in found["effects"] for x in e["changes"]}


def test_the_six_figures_of_protection(yard: Path) -> None:
    """Guard, let-through, margin, fault current, opening time, voltage: each with what it was and what it is."""
    edited(yard, 'fuse F2 "Pump", part make-c, 15 A', 'breaker Q2 "Pump", part make-q, 30 A')
    sheet = "part make-q, breaker\n  thermal, 32 V, breaks 3 kA at 32 V, resistance 20 mΩ, comes in 30 A\n" \
        "  opens at 135 % in 60 s to 1800 s, opens at 300 % in 4 s to 20 s, opens at 1000 % in 0.25 s to 1.5 s\n" \
        "  lets through 100 kA2s\n"  # fmt: skip
    with Path("parts/makes.boat").open("a", encoding="utf-8") as file:
        file.write(sheet)
    found = effects(BOAT, "--since", "main")
    assert found["W3", "guard"] == (["F2"], ["Q2"])
    assert found["W3", "let_through_a"] == (15.0, 30.0)
    assert found["W3", "margin_a"] == (30.0, 15.0)
    for what in ("largest_a", "smallest_a"):
        was, now = found["W3", what]
        # 15 mΩ more in the loop: V/I rises by so much, at a voltage within the system's
        assert now < was and 10.5 <= 0.015 / (1 / now - 1 / was) <= 14.4
    was, now = found["W3", "opens_s"]
    assert now > was
    was, now = found["PUMP", "volts_v"]
    # 6 A over 15 mΩ
    assert was - now == pytest.approx(6 * 0.015, abs=2e-3)
    text = run("compare", BOAT, "--since", "main").stdout
    table = run("compare", BOAT, "--since", "main", "--format", "markdown").stdout
    for words in (
        "guard",
        "let-through",
        "margin",
        "largest fault",
        "smallest fault",
        "opens in",
        "voltage at its lowest",
    ):
        assert f"{words} " in text and f"| {words} |" in table, words
    assert "guard F2 → Q2" in text and "| guard | F2 | Q2 |" in table


@pytest.mark.parametrize(
    ("old", "new", "worst"),
    [
        (FEED, "0.75 mm2, 2.5 m", "danger"),
        ("make-t, 150 A", "make-t, 300 A", "danger"),
        ('fuse F2 "Pump", part make-c, 15 A, in HELM\n', "", "danger"),
        (FEED, "6 mm2, 25 m", "fault"),
    ],
)
def test_a_bad_change_explains_itself_on_one_screen(old: str, new: str, worst: str, yard: Path) -> None:
    """The element, what was done to it, why that is bad, and what would mend it."""
    edited(yard, old, new)
    check = run("check", ".", "--since", "main")
    text = run("compare", BOAT, "--since", "main")
    table = run("compare", BOAT, "--since", "main", "--format", "markdown")
    assert (check.exit_code, text.exit_code, table.exit_code) == (1, 0, 0)
    for shown, most in ((check.stdout, 40), (text.stdout, 40), (table.stdout, 42)):
        assert len(shown.splitlines()) <= most
        assert worst in shown and "not an approval" in shown
    for shown in (check.stdout, text.stdout):
        assert "mend: " in shown and re.search(rf"\d {worst}", shown)
    what = "removed fuse F2" if not new else " → "
    assert what in check.stdout
    assert "wireworthy compare" in check.stdout and "--since main" in check.stdout


def test_a_change_of_everything_is_told_on_a_screen_too(yard: Path) -> None:
    """A long comparison keeps its weightiest part open and says how much more there is."""
    more = "".join(
        f"from POS\nfuse F{n}, part make-c, 20 A, in HELM\ncable W{n}, 6 mm2, 2 m\nload L{n}, draws 10 A, in HELM\n"
        for n in range(100, 140)
    )
    files: Files = BASE | {BOAT: BASE[BOAT] + more}
    make_repository(yard.parent / "large", [("many", files)])
    os.chdir(yard.parent / "large")
    write_out(Path(), files | {BOAT: files[BOAT].replace("6 mm2, 2 m", "0.75 mm2, 4 m")})
    check = run("check", BOAT, "--since", "main")
    text = run("compare", BOAT, "--since", "main").stdout
    assert check.exit_code == 1
    assert "more of less weight" in text and len(text.splitlines()) <= 60
    table = run("compare", BOAT, "--since", "main", "--format", "markdown").stdout
    unfolded = table.split("<details>")[0]
    assert "<details><summary>" in table and len(unfolded.splitlines()) <= 40
    # the same edit in forty places is told once
    assert text.count("size 6 mm² → 0.75 mm²") == 1 and "and 28 more" in text


def test_nothing_in_common(tmp_path: Path, yard: Path) -> None:
    other = tmp_path / "other.boat"
    other.write_text(
        'boat "Other", 5 m, rulebook iso-13297\nsystem X, 12 V, negative earthed\nbattery Y, AGM, 12 V, 50 Ah\n',
        "utf-8",
    )
    result = run("compare", BOAT, str(other))
    assert result.exit_code == 0 and "no element in common" in result.stdout
    found = json.loads(run("compare", BOAT, str(other), "--format", "json").stdout)
    assert {t["name"] for t in found["added"]} >= {"Y"} and {t["name"] for t in found["removed"]} >= {"BANK", "W1"}
    assert not found["effects"] and "no element in common" in found["remarks"][0]
    assert "no element in common" not in run("compare", BOAT, BOAT).stdout


def test_a_folder_is_its_one_design(yard: Path) -> None:
    edited(yard, FEED, "10 mm2, 2.5 m")
    assert "1 changed (W5)" in run("compare", ".", "--since", "main").stdout
    assert "1 changed (W5)" in run("compare", "main:dunlin.boat", ".").stdout
    Path("second.boat").write_text(DESIGN, encoding="utf-8")
    result = run("compare", ".", "--since", "main")
    assert result.exit_code == 2 and "2 designs" in result.stderr and "second.boat" in result.stderr
    # each by itself: the second is new, so all its findings are
    both = run("check", ".", "--since", "main", "--format", "json")
    designs = json.loads(both.stdout)["since"]["designs"]
    assert [len(d["worse"]) for d in designs] == [0, len(designs[1]["worse"])]
    assert any("is not in main" in r for r in json.loads(both.stdout)["since"]["remarks"])
    empty = Path("empty")
    empty.mkdir()
    assert "no design below" in run("compare", "empty", "--since", "main").stderr


def test_both_sides_are_judged_on_the_same_day(yard: Path) -> None:
    """An acceptance that ends by itself is no fault of the change; one that is cut short is."""
    edited(yard, FEED, "10 mm2, 2.5 m")
    from click.testing import CliRunner

    from linter.cli import main

    for day in ("2027-06-29", "2027-07-01", "2030-01-01"):
        done = CliRunner().invoke(main, ["check", BOAT, "--since", "main", "--today", day])
        assert done.exit_code == 0, done.output
    edited(yard, "until 2027-06-30", "until 2027-01-31")
    call = ["check", BOAT, "--since", "main", "--today"]
    assert [CliRunner().invoke(main, [*call, d]).exit_code for d in ("2027-01-31", "2027-02-01")] == [0, 1]
    assert CliRunner().invoke(main, [*call, "31.1.2027"]).exit_code == 2


def test_the_clock_of_the_machine_changes_nothing_that_is_given(yard: Path) -> None:
    """Dates of commits and the time zone play no part once the day is given."""
    edited(yard, "until 2027-06-30", "until 2027-02-01")
    said = set()
    for zone in ("Pacific/Kiritimati", "Pacific/Pago_Pago", "UTC"):
        done = subprocess.run(
            [sys.executable, "-m", "linter.cli", "compare", BOAT, "--since", "main", "--today", "2027-02-01"],
            env=os.environ | {"TZ": zone, "PYTHONPATH": str(Path(__file__).parents[2])}, capture_output=True, check=True,
        )  # fmt: skip
        said.add(done.stdout)
    assert len(said) == 1


def test_expressions_for_revisions(git: Git) -> None:
    for number in range(4):
        Path("x.boat").write_text(DESIGN.replace("draws 40", f"draws {41 + number}"), encoding="utf-8")
        git("commit", "-q", "-a", "-m", f"draws {41 + number}")
    git("tag", "light", "HEAD~3")
    git("tag", "-a", "noted", "-m", "noted", "HEAD~3")
    ident = git("rev-parse", "HEAD~3").strip()
    for revision in ("HEAD~3", "main~3", "@~3", "HEAD^^^", "light", "noted", "noted^{}", ident, ident[:7], ":/draws 41",
                     "main@{3}", "refs/heads/main~3", "HEAD^{/draws 41}"):  # fmt: skip
        found = json.loads(run("compare", "x.boat", "--since", revision, "--format", "json").stdout)
        assert [x["was"] for c in found["changed"] for x in c["changes"] if c["element"] == "HEATER"] == [41], revision


def test_drawn_with_what_changed_marked(yard: Path) -> None:
    edited(yard, FEED, "0.75 mm2, 2.5 m")
    for ending, begins in (("svg", b"<"), ("pdf", b"%PDF-"), ("png", b"\x89PNG"), ("html", b"<!")):
        result = run("compare", BOAT, "--since", "main", "-o", f"made.{ending}")
        assert result.exit_code == 0 and "1 changed (W5)" in result.stdout, result.output
        assert Path(f"made.{ending}").read_bytes().lstrip().startswith(begins)
    svg = Path("made.svg").read_text(encoding="utf-8")
    for words in ("W5", "6 mm² → 0.75 mm²", "conductor-unprotected"):
        assert words in svg
    assert run("compare", BOAT, "--since", "main", "-o", "made.svg", "--format", "json").exit_code == 2
    assert run("compare", BOAT, "--since", "main", "-o", "made.txt").exit_code == 0
    assert "1 changed (W5)" in Path("made.txt").read_text(encoding="utf-8")
    assert run("compare", BOAT, "--since", "main", "-o", "no/where.svg").exit_code == 2


def test_nothing_to_draw(yard: Path) -> None:
    result = run("compare", BOAT, "--since", "main", "-o", "made.svg")
    assert result.exit_code == 0 and "Nothing differs." in result.stdout and Path("made.svg").stat().st_size > 1000


FUSED = """\
boat "C", 9 m, rulebook iso-13297
system MAIN, 12 V, negative earthed
cables, insulation 105 °C, plain
battery B, AGM, 12 V, 100 Ah, resistance 3 mΩ
from B
fuse F3, class T, {rating} A, 125 V, breaks 20 kA at 125 V
cable W3, 2.5 mm2, 3 m
load L, draws 3 A
"""


@pytest.mark.parametrize(
    ("now", "new", "graver"),
    [
        (FUSED.format(rating=60), 0, 0),
        # less than before, though still too much
        (FUSED.format(rating=50), 0, 0),
        # the same sentence, and worse
        (FUSED.format(rating=125), 0, 1),
        # nothing opens at all any more: another sentence, though the same rule at the same cable
        ("\n".join(x for x in FUSED.splitlines() if not x.startswith("fuse")) + "\n", 1, 0),
    ],
)
def test_what_was_wrong_already_may_be_worse(now: str, new: int, graver: int) -> None:
    from linter.history.compare import BothSides, delta
    from linter.model.build import build
    from linter.rules.engine import examine
    from linter.source.files import Reader

    was, is_ = (examine(build(Reader().design_text(text))) for text in (FUSED.format(rating=60), now))
    only = [[f for f in side.findings if f.rule == "conductor-unprotected"] for side in (was, is_)]
    made = delta(*only, None, BothSides(was, is_))
    assert [len(side) for side in only] == [1, 1]
    assert (len(made.new), len(made.graver)) == (new, graver)


@pytest.mark.parametrize(
    ("was", "now", "written"),
    [
        (20000.0, 2000.0, "breaks 20000 A → 2000 A"),
        (4345.2, 11450.4, "breaks 4345 A → 11450 A"),
        (11.836598, 11.842598, "breaks 11.837 A → 11.843 A"),
        (100.0, 100.0000004, "breaks 100 A → 100 A"),
    ],
)
def test_figures_are_written_as_one_reads_them(was: float, now: float, written: str) -> None:
    from linter.history.compare import Change
    from linter.history.wording import change_words

    assert change_words(Change("breaks_a", was, now)) == written
