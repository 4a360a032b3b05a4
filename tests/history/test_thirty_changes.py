"""Thirty changes to a boat, half of them harmless, each with its verdict written down by hand before it was looked at:
what a comparison must say, and whether `check --since` fails.  After each harmful one stands its mend in the history,
which must be told as the exact reverse.

Capacities by ISO 10133 / ISO 13297 at 105 °C, mm²: A: 0.75: 16, 4: 45, 6: 60, 10: 90, 50: 270; at 60 °C 50: 105 (from
memory).  Resistance of copper at 20 °C: 17.241 mΩ mm²/m (IEC 60028).
"""

from __future__ import annotations

import json
import re
from collections.abc import Callable
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any

import pytest

from tests.history.conftest import run
from tests.history.yard import BASE, Files, make_repository, replaced, write_out

BOAT, LIGHTS, MAKES = "dunlin.boat", "lights.boat", "parts/makes.boat"
#: A figure: element, what it is (of the JSON form), what it was, what it is.
Figure = tuple[str, str, Any, Any]
ANY = object()


@dataclass(frozen=True)
class Step:
    title: str
    edit: Callable[[Files], Files]
    # element (or other thing) -> the facts that are otherwise
    changed: dict[str, set[str]] = field(default_factory=dict)
    added: set[str] = field(default_factory=set)
    removed: set[str] = field(default_factory=set)
    renamed: dict[str, str] = field(default_factory=dict)
    # (rule, element)
    new: set[tuple[str, str]] = field(default_factory=set)
    graver: set[tuple[str, str]] = field(default_factory=set)
    # some of the figures that are others, and elements none of whose figures is
    figures: tuple[Figure, ...] = ()
    untouched: set[str] = field(default_factory=set)
    electrical: bool = True
    fails: bool = False
    # what a reader sees first
    says: str = ""


def at(name: str, old: str, new: str) -> Callable[[Files], Files]:
    return lambda files: replaced(files, name, old, new)


def reordered(files: Files) -> Files:
    head, pump, tail = files[BOAT].partition("from POS\nfuse F2")
    pump_run, rest = tail.split("from POS\nfuse F3", 1)
    sounder, rest = rest.split("from POS\nfuse F4", 1)
    heater, rest = rest.split("scene", 1)
    text = f"{head}from POS\nfuse F4{heater}from POS\nfuse F3{sounder}{pump}{pump_run}scene{rest}"
    assert sorted(text) == sorted(files[BOAT])
    return files | {BOAT: text}


def moved(files: Files) -> Files:
    head, tail = files[BOAT].split("from POS\nfuse F3", 1)
    sounder, rest = tail.split("from POS\nfuse F4", 1)
    head = head.replace("use lights.boat\n", "use lights.boat\nuse below/sounder.boat\n")
    return files | {
        BOAT: f"{head}from POS\nfuse F4{rest}", "below/sounder.boat": f"from POS\nfuse F3{sounder}"
    }  # fmt: skip


def turned(files: Files) -> Files:
    lines = files[LIGHTS].splitlines()
    load = lines[5]
    return files | {LIGHTS: "\n".join(["from LAMP", *lines[4:0:-1], "to POS", "", load, ""])}


def tidied(files: Files) -> Files:
    import tempfile

    with tempfile.TemporaryDirectory() as folder:
        write_out(Path(folder), files)
        assert run_tidy(Path(folder) / LIGHTS) == 0
        text = (Path(folder) / LIGHTS).read_text(encoding="utf-8")
    assert text != files[LIGHTS]
    return files | {LIGHTS: text}


def run_tidy(path: Path) -> int:
    from click.testing import CliRunner

    from linter.cli import main

    return CliRunner().invoke(main, ["tidy", str(path)]).exit_code


def lamp_run_renamed(files: Files) -> Files:
    text = files[LIGHTS].replace("W6", "W60").replace("W7", "W70").replace("S1", "S10").replace("F5", "F50")
    return files | {LIGHTS: text}


ACCEPTED = ("device-not-as-asked", "SOUNDER")
SILENT: dict[str, Any] = {"electrical": False}
ORDER = "Only order or wording of the text differs: nothing electrical changes."

HARMLESS = [
    Step("comments", at(BOAT, "place LOCKER", "# Dry.\n\nplace LOCKER"), **SILENT, says=ORDER),
    Step("runs in another order", reordered, **SILENT, says=ORDER),
    Step("a run written from its other end", turned, **SILENT, says=ORDER),
    Step("a circuit moved to a file of its own", moved, **SILENT, says=ORDER),
    Step("tidied", tidied, **SILENT, says=ORDER),
    Step("a length in other units", at(BOAT, "50 mm2, 0.15 m", "50 mm2, 150 mm"), **SILENT, says=ORDER),
    Step("a label", at(BOAT, '"Bilge pump"', '"Bilge pump, forward"'), changed={"PUMP": {"label"}}, **SILENT,
         says="1 changed (PUMP). Nothing electrical changes."),
    Step("a colour", at(BOAT, "4 mm2, 3 m", "4 mm2, 3 m, red"), changed={"W3": {"colour"}}, **SILENT,
         says="1 changed (W3). Nothing electrical changes."),
    Step("a cable renamed", at(BOAT, "cable W3", "cable W33"), renamed={"W3": "W33"}, **SILENT,
         says="1 renamed (W3). Nothing electrical changes."),
    Step("a run renamed", lamp_run_renamed, renamed={"W6": "W60", "W7": "W70", "S1": "S10", "F5": "F50"}, **SILENT,
         says="4 renamed. Nothing electrical changes."),
    Step("an acceptance prolonged", at(BOAT, "until 2027-06-30", "until 2027-09-30"),
         changed={"device-not-as-asked at SOUNDER": {"until"}}, **SILENT),
    # 4 mm² may be guarded by 45 A: 30 A were left, 35 A are
    Step("a smaller fuse, still enough", at(BOAT, "make-c, 15 A", "make-c, 10 A"), changed={"F2": {"rated_a"}},
         figures=(("W3", "let_through_a", 15.0, 10.0), ("W3", "margin_a", 30.0, 35.0)),
         untouched={"W4", "W5", "HEATER"}),
    Step("a thicker cable", at(BOAT, "6 mm2, 2.5 m", "10 mm2, 2.5 m"), changed={"W5": {"size"}},
         figures=(("W5", "ampacity_a", 60.0, 90.0), ("W5", "margin_a", 40.0, 70.0)), untouched={"W2", "W3", "W4"}),
    Step("one more circuit, well made",
         at(BOAT, "scene \"Under way\"",
            "from POS\nfuse F6, part make-c, 5 A, in HELM\ncable W8, 2.5 mm2, 1 m\n"
            "load RADIO, draws 2 A, works from 10 V, in HELM\n\nscene \"Under way\", RADIO"),
         added={"F6", "W8", "RADIO"}, changed={"Under way": {"on"}},
         # 22 A were drawn through the main feed: 6 + 2 + 12 + 2
         figures=(("W2", "load_current_a", 22.0, 24.0),)),
]  # fmt: skip

MAKE_C = """\
opens at 200 % in 1 s to 30 s, opens at 500 % in 20 ms to 0.2 s
  opens at 1000 % in 4 ms to 20 ms, opens at 2000 % in 1 ms to 5 ms, lets through 3 kA2s
"""
SLOWER = """\
opens at 200 % in 20 s to 300 s, opens at 500 % in 10 s to 90 s
  opens at 1000 % in 8 s to 40 s, opens at 2000 % in 6 s to 20 s, lets through 900 kA2s
"""
BRANCHES = ("F2", "F3", "F4", "F5")
HARMFUL = [
    # its appliance's maker asks for 20 A
    Step("a bigger fuse", at(BOAT, "make-c, 20 A", "make-c, 30 A"), changed={"F4": {"rated_a"}},
         new={("device-not-as-asked", "HEATER")},
         figures=(("W5", "let_through_a", 20.0, 30.0), ("W5", "margin_a", 40.0, 30.0))),
    # 270 A is all that 50 mm² may be guarded by, and no other device stands near enough; the bus bears it, as the fuses
    # of its branches let through 45 A
    Step("a main fuse bigger than its feed bears", at(BOAT, "make-t, 150 A", "make-t, 300 A"),
         changed={"F1": {"rated_a"}}, new={("conductor-unprotected", "W1"), ("protection-distance", "W2")},
         figures=(("W2", "verdict", "protected", "too far"), ("W2", "let_through_a", 150.0, 300.0),
                  ("W2", "margin_a", 120.0, -30.0))),
    # 12 A through 5 m of 0.75 mm² lose 1.4 V and more: beyond a tenth of 12 V, and of 10.5 V less than 10 V is left;
    # ISO 13297 asks for 1 mm²
    Step("a thinner wire", at(BOAT, "6 mm2, 2.5 m", "0.75 mm2, 2.5 m"), changed={"W5": {"size"}},
         new={("conductor-unprotected", "W5"), ("conductor-too-small", "W5"), ("voltage-drop", "HEATER"),
              ("voltage-too-low", "HEATER")},
         figures=(("W5", "ampacity_a", 60.0, 16.0), ("W5", "margin_a", 40.0, -4.0),
                  ("W5", "smallest_a", ANY, ANY), ("HEATER", "volts_v", ANY, ANY)),
         untouched={"W3", "W4", "PUMP"}),
    # 12 A through 50 m of 6 mm² lose 1.7 V and more; a short at its end draws some 60 A, three times the fuse's rating,
    # at which it may take more than 5 s
    Step("a longer run", at(BOAT, "6 mm2, 2.5 m", "6 mm2, 25 m"), changed={"W5": {"length_m"}},
         new={("voltage-drop", "HEATER"), ("voltage-too-low", "HEATER"), ("not-opened-in-time", "W5")},
         figures=(("W5", "smallest_a", ANY, ANY), ("W5", "opens_s", ANY, ANY), ("HEATER", "drop_percent", ANY, ANY))),
    Step("a device taken out", at(BOAT, 'fuse F2 "Pump", part make-c, 15 A, in HELM\n', ""), removed={"F2"},
         changed={"W3": {"between"}}, new={("conductor-unprotected", "W3")},
         figures=(("W3", "guard", ["F2"], ["F1"]), ("W3", "let_through_a", 15.0, 150.0),
                  ("W3", "margin_a", 30.0, -105.0))),
    # 14.4 V over 4 mΩ and the feed stayed below 3 kA; over 2 mΩ it does not
    Step("the bank doubled", at(MAKES, "100 Ah, resistance 4 mΩ", "200 Ah, resistance 2 mΩ"),
         changed={"BANK": {"charge_ah", "resistance_ohm"}},
         new={("breaking-capacity", d) for d in BRANCHES},
         figures=(("W2", "largest_a", ANY, ANY), ("F2", "prospective_a", ANY, ANY))),
    Step("a make of lower breaking capacity", at(MAKES, "breaks 3 kA", "breaks 1 kA"),
         changed={d: {"breaks"} for d in BRANCHES}, new={("breaking-capacity", d) for d in BRANCHES},
         figures=tuple((d, "breaks_a", 3000.0, 1000.0) for d in BRANCHES)),
    # 6 A and 12 A in 15 A, for a heater whose maker asks for 20 A; its own circuit is gone
    Step("a load moved to another circuit",
         at(BOAT, 'from POS\nfuse F4 "Heater", part make-c, 20 A, in HELM\ncable W5 "Heater feed", 6 mm2, 2.5 m\n',
            "from SUMP\n"),
         changed={"HEATER": {"between"}},
         removed={"F4", "W5"}, new={("device-overloaded", "F2"), ("device-not-as-asked", "HEATER")},
         figures=(("W3", "load_current_a", 6.0, 18.0),)),
    # a short draws 15 to 44 times their rating: ten seconds and more, where 5 s are allowed
    Step("a slower make", at(MAKES, MAKE_C, SLOWER),
         changed={d: {"opens", "lets_through"} for d in BRANCHES},
         # and before that what is shorted near the bus has taken more than it stands, or the main fuse has opened
         new={*(("not-opened-in-time", w) for w in ("W3", "W4", "W5", "W6", "W7")), ("not-coordinated", "F1"),
              *(("harmed-before-opening", w) for w in ("W3", "W4", "W5", "W6"))},
         figures=(("W6", "opens_s", ANY, ANY),)),
    Step("an acceptance dropped", lambda files: files | {BOAT: files[BOAT][: files[BOAT].index("accept ")]},
         removed={"device-not-as-asked at SOUNDER"}, graver={ACCEPTED}, electrical=False),
    Step("an acceptance that has ended", at(BOAT, "until 2027-06-30", "until 2026-10-31"),
         changed={"device-not-as-asked at SOUNDER": {"until"}}, graver={ACCEPTED},
         new={("acceptance-expired", "SOUNDER")}, electrical=False),
    # 50 mm² at 60 °C: 105 A, before and behind 150 A
    Step("cables of lesser insulation", at(BOAT, "insulation 105 °C", "insulation 60 °C"),
         changed={f"W{n}": {"insulation_c"} for n in range(1, 8)}, new={("conductor-unprotected", "W1"), ("protection-distance", "W2")},
         figures=(("W2", "ampacity_a", 270.0, 105.0), ("W2", "margin_a", 120.0, -45.0))),
    Step("the main fuse far from the bank", at(BOAT, "50 mm2, 0.15 m", "50 mm2, 2.5 m"),
         changed={"W1": {"length_m"}}, new={("protection-distance", "W1")},
         figures=(("W1", "verdict", "within distance", "too far"),)),
    # without it nothing bounds the current that a device has to break
    Step("a figure struck out", at(MAKES, ", resistance 4 mΩ", ""), changed={"BANK": {"resistance_ohm"}},
         new={("source-resistance", "BANK"), *(("breaking-capacity", d) for d in BRANCHES)}),
    Step("a fuse smaller than its load", at(BOAT, "make-c, 15 A", "make-c, 5 A"), changed={"F2": {"rated_a"}},
         new={("device-overloaded", "F2")}, figures=(("W3", "let_through_a", 15.0, 5.0),)),
    Step("a switch that bears too little", at(LIGHTS, '10 A,  in', '1 A,  in'), changed={"S1": {"rated_a"}},
         new={("current-rating", "S1")}),
]  # fmt: skip
STEPS = [*HARMLESS, *HARMFUL]


def test_there_are_thirty() -> None:
    assert len(STEPS) == 30 and len({s.title for s in STEPS}) == 30


def history() -> list[tuple[str, Files]]:
    """The base, then each change and, so that the next begins at the base, its reverse."""
    states = [("as launched", BASE)]
    for step in STEPS:
        states += [(step.title, step.edit(BASE)), (f"back from: {step.title}", BASE)]
    return states


@pytest.fixture(scope="module")
def yard(tmp_path_factory: pytest.TempPathFactory) -> Path:
    folder = tmp_path_factory.mktemp("thirty") / "yard"
    make_repository(folder, history())
    return folder


def keys(findings: list[Any]) -> set[tuple[str, str]]:
    return {(f["rule"], f["element"]) for f in findings}


@pytest.mark.parametrize("step", STEPS, ids=lambda s: s.title.replace(" ", "-"))
def test_a_change_is_told(step: Step, yard: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.chdir(yard)
    number = 1 + 2 * STEPS.index(step)
    last = 2 * len(STEPS)
    old, new, back = (f"main~{last - number + n}" for n in (1, 0, -1))
    done = run("compare", f"{old}:{BOAT}", f"{new}:{BOAT}", "--format", "json")
    assert done.exit_code == 0, done.output
    found = json.loads(done.stdout)
    findings = found["findings"]
    assert keys(findings["new"]) == step.new - step.graver
    assert keys([g["now"] for g in findings["graver"]]) == step.graver
    told = {c["element"]: {x["what"] for x in c["changes"]} for c in found["changed"]}
    assert told == step.changed
    assert {t["name"] for t in found["added"]} == step.added
    assert {t["name"] for t in found["removed"]} == step.removed
    assert {r["was"]: r["now"] for r in found["renamed"]} == step.renamed
    assert found["electrical"] is step.electrical and found["text_differs"]
    effects = {(e["element"], x["what"]): (x["was"], x["now"]) for e in found["effects"] for x in e["changes"]}
    assert bool(effects) <= step.electrical
    for element, what, was, now in step.figures:
        told_was, told_now = effects[element, what]
        if was is ANY:
            assert told_was != told_now and None not in (told_was, told_now)
        else:
            assert (told_was, told_now) == (was, now), (element, what)
    assert not {e for e, _ in effects} & step.untouched
    if step.says:
        assert found["summary"] == step.says

    # one screen each, but for what is folded
    text, table = (run("compare", f"{old}:{BOAT}", f"{new}:{BOAT}", "--format", f).stdout for f in ("text", "markdown"))
    assert len(text.splitlines()) <= 40
    assert len(re.sub(r"(?s)</summary>.*?</details>", "", table).splitlines()) <= 42

    # and its reverse is the reverse
    reverse = json.loads(run("compare", f"{new}:{BOAT}", f"{back}:{BOAT}", "--format", "json").stdout)
    assert keys(reverse["findings"]["gone"]) == keys(findings["new"])
    assert keys(reverse["findings"]["new"]) == keys(findings["gone"])
    assert {r["now"]: r["was"] for r in reverse["renamed"]} == step.renamed
    turned_back = {
        (e["element"], x["what"]): (x["now"], x["was"]) for e in reverse["effects"] for x in e["changes"]
    }  # fmt: skip
    assert turned_back == effects


@pytest.mark.parametrize("step", STEPS, ids=lambda s: s.title.replace(" ", "-"))
def test_check_fails_on_the_harmful_ones_only(step: Step, yard: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.chdir(yard)
    write_out(yard, step.edit(BASE))
    harmful = step in HARMFUL
    done = run("check", BOAT, "--since", "main")
    assert done.exit_code == int(harmful), done.output
    whole = run("check", ".", "--since", "main", "--format", "json")
    assert whole.exit_code == int(harmful)
    assert keys(json.loads(whole.stdout)["since"]["designs"][0]["worse"]) == step.new | step.graver
    # one screen, in which the cause stands
    assert len(done.stdout.splitlines()) <= 40
    for element in (*step.changed, *step.removed) if harmful else ():
        assert element in done.stdout


def test_the_history_is_the_same_wherever_it_is_made(yard: Path, tmp_path: Path) -> None:
    from tests.history.conftest import git_in

    make_repository(tmp_path / "again", history())
    assert git_in(tmp_path / "again")("rev-parse", "main") == git_in(yard)("rev-parse", "main")
