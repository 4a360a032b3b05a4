"""What a comparison says: exactly the edit, what it does, and nothing where nothing differs."""

from __future__ import annotations

import json
import random
import re
from collections import Counter
from pathlib import Path
from typing import Any

import pytest

from tests.history.conftest import DESIGN, Git, run

ROOT = Path(__file__).resolve().parents[2]


def compare(old: str, new: str, tmp_path: Path, status: int = 0) -> Any:
    (tmp_path / "old.boat").write_text(old, encoding="utf-8")
    (tmp_path / "new.boat").write_text(new, encoding="utf-8")
    result = run("compare", str(tmp_path / "old.boat"), str(tmp_path / "new.boat"), "--format", "json")
    assert result.exit_code == status, result.output
    return json.loads(result.stdout)


@pytest.mark.parametrize("name", ["launch"])
def test_a_design_beside_itself_is_no_change(name: str) -> None:
    path = str(ROOT / "boats" / f"{name}.boat")
    result = run("compare", path, path, "--format", "json")
    found = json.loads(result.stdout)
    assert result.exit_code == 0 and found["summary"] == "Nothing differs."
    assert not any(found[k] for k in ("effects", "added", "removed", "renamed", "changed", "electrical"))


def test_order_words_and_direction_change_nothing_electrical(tmp_path: Path) -> None:
    lines = DESIGN.replace("from B\n", "").splitlines(keepends=True)
    at = next(i for i, line in enumerate(lines) if line.startswith("cable W1"))
    turned = (
        "".join(lines[:at])
        + "# the same run, written from the load\nfrom HEATER\n"
        + "cable W2, 1 m, 50 mm2\n"
        + "".join(lines[at + 1 : at + 3])
        + "cable W1, 0.15 m, 50 mm2\nto B\n"
        + 'load HEATER "Cabin heater", draws 40 A\n'
    )
    found = compare(DESIGN, turned, tmp_path)
    assert found["summary"] == "Only order or wording of the text differs: nothing electrical changes."
    found = compare(DESIGN, DESIGN.replace("Cabin heater", "Heater of the cabin"), tmp_path)
    assert not found["electrical"]
    assert [(c["element"], c["changes"][0]["what"]) for c in found["changed"]] == [("HEATER", "label")]


def test_a_thinner_cable_is_said_with_what_it_does(tmp_path: Path) -> None:
    found = compare(DESIGN, DESIGN.replace("W2, 50 mm2", "W2, 2.5 mm2"), tmp_path)
    assert [c["element"] for c in found["changed"]] == ["W2"]
    assert found["changed"][0]["changes"] == [
        {"what": "size", "words": "size", "unit": "", "was": "50 mm²", "now": "2.5 mm²"}
    ]
    first = found["effects"][0]
    assert first["element"] == "W2" and first["changes"][0]["what"] == "verdict"
    assert {"allowed_a", "margin_a", "ampacity_a", "smallest_a"} <= {c["what"] for c in first["changes"]}
    assert "conductor-unprotected" in {f["rule"] for f in found["findings"]["new"]}


def test_a_larger_fuse_changes_guard_and_let_through(tmp_path: Path) -> None:
    found = compare(DESIGN, DESIGN.replace("150 A", "125 A"), tmp_path)
    effect = next(e for e in found["effects"] if e["element"] == "W2")
    assert {c["what"]: (c["was"], c["now"]) for c in effect["changes"]}["let_through_a"] == (150.0, 125.0)
    assert [c["element"] for c in found["changed"]] == ["F1"]


def test_added_and_removed(tmp_path: Path) -> None:
    more = DESIGN + "battery SPARE, AGM, 12 V, 50 Ah, resistance 5 mΩ\n"
    found = compare(DESIGN, more, tmp_path)
    assert ([t["name"] for t in found["added"]], found["removed"]) == (["SPARE"], [])
    found = compare(more, DESIGN, tmp_path)
    assert ([t["name"] for t in found["removed"]], found["added"]) == (["SPARE"], [])
    assert [f["rule"] for f in found["findings"]["gone"]]


def test_a_whole_run_renamed(tmp_path: Path) -> None:
    new = re.sub(r"\b(W1|W2|F1|HEATER)\b", r"N-\1", DESIGN)
    found = compare(DESIGN, new, tmp_path)
    assert {r["was"]: r["now"] for r in found["renamed"]} == {n: f"N-{n}" for n in ("W1", "W2", "F1", "HEATER")}
    assert not found["electrical"] and not (found["added"] or found["removed"] or found["changed"])


def test_findings_of_a_renamed_element_are_not_new(tmp_path: Path) -> None:
    bad = DESIGN.replace("W2, 50 mm2", "W2, 2.5 mm2")
    found = compare(bad, bad.replace("W2", "W9"), tmp_path)
    assert not found["findings"]["new"] and not found["findings"]["gone"] and found["findings"]["still"]


def test_an_incomplete_side_is_never_clean(tmp_path: Path) -> None:
    lost = compare(DESIGN + "cabel W9\n", DESIGN, tmp_path, 3)
    assert lost["summary"].startswith("Incomplete") and not lost["complete"]


EDITS = [
    (r"^(cable (W\d+)\b[^\n]*?), ([\d.]+) ft\b", lambda m: f"{m[1]}, {float(m[3]) + 1:g} ft", "length_m"),
    (r"^(cable (W\d+)\b[^\n]*?), (10|12|14|16) AWG", lambda m: f"{m[1]}, {int(m[3]) - 2} AWG", "size"),
    (r"^(fuse (F\d+)\b[^\n]*?), (\d+) A\b", lambda m: f"{m[1]}, {int(m[3]) + 1} A", "rated_a"),
]


@pytest.mark.parametrize("seed", range(6))
def test_exactly_the_injected_edit_is_found(seed: int, tmp_path: Path) -> None:
    """One random edit of the launch: that element changed in that fact, and findings differ as two checks do."""
    text = (ROOT / "boats" / "launch.boat").read_text(encoding="utf-8")
    choice = random.Random(seed)
    spots = [(m, made(m), key) for pattern, made, key in EDITS for m in re.finditer(pattern, text, re.MULTILINE)]
    assert len(spots) > 40
    match, changed, key = choice.choice(spots)
    folder = tmp_path / "boats"
    folder.mkdir()
    (folder / "parts").mkdir()
    for sheet in (ROOT / "boats" / "parts").iterdir():
        (folder / "parts" / sheet.name).write_bytes(sheet.read_bytes())
    old, new = folder / "old.boat", folder / "new.boat"
    old.write_text(text, encoding="utf-8")
    new.write_text(text[: match.start()] + changed + text[match.end() :], encoding="utf-8")
    found = json.loads(run("compare", str(old), str(new), "--format", "json").stdout)
    assert [(c["element"], [x["what"] for x in c["changes"]]) for c in found["changed"]] == [(match[2], [key])]
    assert not found["added"] and not found["removed"] and not found["renamed"]

    def keys(path: Path) -> Counter[tuple[str, str]]:
        one = json.loads(run("check", str(path), "--format", "json").stdout)["designs"][0]
        return Counter((f["rule"], f["element"]) for f in one["findings"])

    before, after = keys(old), keys(new)
    delta = found["findings"]
    assert Counter((f["rule"], f["element"]) for f in delta["new"]) == after - before
    assert Counter((f["rule"], f["element"]) for f in delta["gone"]) == before - after


def test_markdown_takes_a_label_for_words_only(tmp_path: Path, git: Git) -> None:
    evil = "<img src=x> [a](javascript:b) @crew #1 **x** `c`"
    Path("x.boat").write_text(DESIGN.replace("Cabin heater", evil).replace("draws 40", "draws 41"), encoding="utf-8")
    result = run("compare", "x.boat", "--since", "main", "--format", "markdown")
    assert result.exit_code == 0
    assert "<img" not in result.stdout and "[a](" not in result.stdout and "@crew" not in result.stdout
    assert "**x**" not in result.stdout and "&lt;img" in result.stdout


def test_a_terminal_acts_on_nothing(git: Git) -> None:
    Path("x.boat").write_text(DESIGN.replace("Cabin heater", "a‮b").replace("draws 40", "draws 41"), encoding="utf-8")
    result = run("compare", "x.boat", "--since", "main")
    assert "‮" not in result.stdout and "HEATER" in result.stdout
