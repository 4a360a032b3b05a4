"""What is taken from the other side of a comparison is what would have been reckoned."""

from __future__ import annotations

import shutil
from pathlib import Path
from typing import Any

import pytest

from linter.history.compare import alike
from linter.history.figures import NEVER, UNLIMITED, figures
from linter.model.build import build
from linter.model.design import Design
from linter.report.data import study_json
from linter.report.devices import devices_json
from linter.rules.engine import Examination, examine
from linter.source.files import Reader
from linter.study.shared import take_over
from linter.study.study import study_of
from tests.history.test_thirty_changes import BOAT, STEPS
from tests.history.yard import BASE, write_out

ROOT = Path(__file__).resolve().parents[2]


def read(path: Path) -> Design:
    return build(Reader().design(str(path)))


def told(made: Examination) -> list[tuple[str, str, str, str]]:
    return [(f.rule, f.subject, f.severity.value, f.message) for f in made.findings]


def same(design: Path, was: Examination) -> int:
    """The design examined alone, and beside ``was``: the same findings and figures.  How many conductors were taken."""
    alone, beside = examine(read(design)), examine(read(design), before=was.study)
    assert told(alone) == told(beside)
    expected: dict[str, Any] = figures(alone)
    found = figures(beside)
    assert expected.keys() == found.keys()
    for name, row in expected.items():
        assert alike(row, found[name]), name
    # and with every device, source and time as it is reported
    for report, key in ((study_json, "conductors"), (devices_json, "devices")):
        for one, other in zip(report(alone.study)[key], report(beside.study)[key], strict=True):
            assert alike(one, other), one["id"]
    return take_over(was.study, study_of(read(design)))


@pytest.mark.parametrize("back", [False, True], ids=["there", "back"])
def test_any_of_the_thirty_changes(back: bool, tmp_path: Path) -> None:
    folder = tmp_path / "boat"
    for step in STEPS:
        states = [BASE, step.edit(BASE)]
        old, new = reversed(states) if back else states
        write_out(folder, old)
        was = examine(read(folder / BOAT))
        write_out(folder, new)
        same(folder / BOAT, was)


CIRCUIT = (
    "from POS\nfuse F90, part cartridge-b-15, 15 A, in BATTERY-BAY\ncable W90, 6 mm2, 2 m\nload L90, draws 5 A\n\n"
)
STARTS = "# ---- starting bank and engine "
# edits, and whether they touch what feeds all others
EDITS = {
    "longer": ([("cable W8, 4 mm2, 3.2 m", "cable W8, 4 mm2, 4.2 m")], False),
    "renamed": ([("cable W8, 4 mm2", "cable W88, 4 mm2")], False),
    "one more circuit": ([(STARTS, CIRCUIT + STARTS), ('"Preheating", GLOW,', '"Preheating", L90, GLOW,')], False),
    "another main fuse": ([("part class-t-400, 400 A", "part class-t-400, 350 A")], True),
    "another bank": ([("part agm-95,", "part agm-95, resistance 9 mΩ,")], True),
}


@pytest.mark.parametrize("name", EDITS)
def test_an_edit_of_the_cutter(name: str, tmp_path: Path) -> None:
    """A boat with two banks, a ring of sources and selectors."""
    edits, core = EDITS[name]
    shutil.copytree(ROOT / "boats", tmp_path / "boats")
    path = tmp_path / "boats" / "cutter.boat"
    was = examine(read(path))
    text = path.read_text(encoding="utf-8")
    for old, new in edits:
        assert text.count(old) == 1
        text = text.replace(old, new)
    path.write_text(text, encoding="utf-8")
    taken, every = same(path, was), len(was.study.conductors)
    assert taken == 0 if core else every / 2 < taken <= every


def test_what_a_conductor_stands(tmp_path: Path) -> None:
    """A hotter place changes no resistance and no current, only the heat that is left to a conductor in it."""
    hot = BASE[BOAT].replace('cable W3 "Pump feed", 4 mm2, 3 m', 'cable W3 "Pump feed", 4 mm2, 3 m, in LOCKER')
    write_out(tmp_path / "boat", BASE | {BOAT: hot})
    was = examine(read(tmp_path / "boat" / BOAT))
    locker = 'place LOCKER "Battery locker", ambient'
    write_out(tmp_path / "boat", BASE | {BOAT: hot.replace(f"{locker} 30 °C", f"{locker} 70 °C")})
    same(tmp_path / "boat" / BOAT, was)
    now = figures(examine(read(tmp_path / "boat" / BOAT)))["W3"]["heat_percent"]
    assert now > figures(was)["W3"]["heat_percent"]


def test_a_bank_beside_leaves_the_other_alone(tmp_path: Path) -> None:
    """Nothing flows between the two: what is changed in one leaves everything of the other as it was."""
    other = (
        "\nsystem DC24, 24 V, negative earthed, least 21 V, greatest 28.8 V\nbattery FAR, part bank-far, in LOCKER\n"
        "from FAR\nfuse F8, part make-t, 150 A, in LOCKER\ncable W9, 50 mm2, 1 m\nload PRESS, draws 50 A, in HELM\n"
        "part bank-far, battery\n  AGM, 24 V, 100 Ah, resistance 4 mΩ\n"
    )
    files = BASE | {BOAT: BASE[BOAT] + other}
    write_out(tmp_path / "boat", files)
    was = examine(read(tmp_path / "boat" / BOAT))
    assert not was.mistakes
    write_out(
        tmp_path / "boat",
        files | {BOAT: files[BOAT].replace("24 V, 100 Ah, resistance 4", "24 V, 100 Ah, resistance 5")},
    )
    assert same(tmp_path / "boat" / BOAT, was) == 7  # W1 to W7


def test_figures_are_those_of_the_reports() -> None:
    """Taken from the study, not from its report: what is compared is what `study` prints."""
    made = examine(read(ROOT / "boats" / "cutter.boat"))
    found = figures(made)
    rows = study_json(made.study)["conductors"]
    assert len(rows) > 90
    for row in rows:
        mine, ways, fault = found[row["id"]], row["clearing"], row["prospective"]
        for key in ("verdict", "ampacity_a", "allowed_a", "margin_a", "load_current_a", "guard"):
            assert mine[key] == row[key], key
        assert mine["let_through_a"] == (UNLIMITED if row["let_through_unlimited"] else row["let_through_a"])
        assert not fault["unknown"]
        assert mine["largest_a"] == max(fault["largest_from_a"], fault["largest_to_a"])
        assert mine["smallest_a"] == fault["smallest_a"]
        if ways and not any(w["unknown"] for w in ways):
            late = [w["smallest"]["opens_s"] for w in ways]
            assert mine["opens_s"] == (NEVER if None in late else max(late))
            heats = [h for w in ways for h in (w["worst_heat"], w["worst_heat_beyond"]) if h is not None]
            shares = [100.0 * h["let_through_a2s"] / h["withstand_a2s"] for h in heats]
            assert ("heat_percent" in mine) == bool(shares)
            assert not shares or mine["heat_percent"] == pytest.approx(max(shares), rel=1e-5)
        else:
            assert "opens_s" not in mine
