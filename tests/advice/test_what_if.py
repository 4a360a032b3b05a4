"""`check --with`: a change of facts, read as the language, compared as `compare` does, nothing written."""

from __future__ import annotations

import json
import random
import re
from pathlib import Path

import pytest
from click.testing import CliRunner

from linter.advice.ask import EXAMPLES
from linter.advice.change import readings
from linter.advice.what_if import BadChange, changed, what_if
from linter.cli import main
from linter.model.build import build
from linter.model.elements import Conductor, Device
from linter.source.files import Reader
from linter.source.words import CLASSES, FITS, takes
from linter.tables.devices import classes

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
        "F2 = 15 A", "F2: 15 A", "F2 to 15 A", "set F2 rating to 15 A", "F2 rating = 15 A", "change fuse F2 to 15 A",
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


def test_two_changes_of_the_same_fact_agree_or_are_refused(boat: Path) -> None:
    source = Reader().design(str(boat))
    device = build(changed(source, ["F2 15 A", "F2 rating 15000 mA"])).elements["F2"]
    assert isinstance(device, Device) and device.rated_a == 15.0
    with pytest.raises(BadChange, match="F2: 15 A by --with 1 and 20 A by --with 2") as caught:
        changed(source, ["F2 15 A", "F2 20 A"])
    (mistake,) = caught.value.mistakes
    assert (mistake.span.path, mistake.span.line, mistake.span.column) == ("--with 2", 1, 1)
    assert "keep one" in mistake.mend


def test_what_may_be_said_several_times_is_taken_together(boat: Path) -> None:
    made = build(changed(Reader().design(str(boat)), ["W2 1 m in LOCKER", "W2 0.5 m in LOCKER"]))
    cable = made.elements["W2"]
    assert isinstance(cable, Conductor)
    assert [length for length, _ in cable.route] == [1.0, 0.5]


def test_every_mistake_of_every_change_is_told(boat: Path) -> None:
    with pytest.raises(BadChange) as caught:
        changed(Reader().design(str(boat)), ["F2 15", "F9 15 A", "W2 red", "L -4 A"])
    assert [str(m.span) for m in caught.value.mistakes] == ["--with 1:1:4", "--with 2:1:1", "--with 4:1:3"]


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
        ("F2 rating", 1, "nothing is said of F2 behind 'rating'"),
        ("F2 -5 A", 4, "a figure has no sign"),
        ("F2 1e99 A", 4, "written out, without a power of ten"),
        ("F2 7,5 A", 4, "decimals stand behind a point"),
        ("F2 rating 15 mm2", 11, "rating is said of '15 mm2'; behind it stands a current"),
        ("W2 size 5 m", 9, "size is said of '5 m'; behind it stands a size"),
        ("W2 length 4 mm2", 11, "length is said of '4 mm2'; behind it stands a length"),
        ("L size 4 m", 8, "a load has no size"),
        ("L 5 A", 3, "a load does not take a current"),
        ("F2 ? A", 4, "F2 would be left open"),
        ("W2 size ?", 4, "W2 would be left open"),
        ("F2 comes in 10 A, 20 A", 17, "a comma stands within a fact"),
        ("W2 in LOCKER in LOCKER", 14, "a comma is missing"),
        ("cables insulation 60 °C", 1, "what has a name, not 'cables'"),
        ('scene "x" L', 1, "what has a name, not 'scene'"),
        ("boat 20 m", 1, "what has a name, not 'boat'"),
        ("locker ambient 30 °C", 1, "there is no element, place, system or part locker"),
        ("F2 " + "9" * 30 + " A", 4, "no figure from a boat"),
    ],
)
def test_what_cannot_be_read_is_said_with_its_place(boat: Path, written: str, column: int, says: str) -> None:
    with pytest.raises(BadChange) as caught:
        changed(Reader().design(str(boat)), [written])
    first = caught.value.mistakes[0]
    assert says in first.message
    assert first.mend
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


# ---- which name was meant, and examples that work


@pytest.mark.parametrize(
    ("written", "mend"),
    [
        ("f2 15 A", "did you mean F2?"), ("F9 15 A", "did you mean F2 or F1?"), ("fuse Q2 15 A", "did you mean F"),
        ("locker 5 A", "did you mean LOCKER?"), ("Lampp draws 3 A", "did you mean lamp (Lamp)?"),
        ("15 A", "write for instance --with 'F1 rating 15 A' or --with 'W1 size 35 mm2'"),
        ("W2 length 4 mm2", "write for instance --with 'W2 length 9.5 m'"),
        ("W2 size 5 m", "write for instance --with 'W2 size 35 mm2'"),
        ("L", "write for instance --with 'L draws 5 A'"), ("lamp 5 A", "write `draws 5 A`"),
        ("F2 red", "write for instance --with 'F2 rating 15 A'; a fuse takes: "),
        ("W2 in NOWHERE", "the design has LOCKER"), ("W2 in LOKER", "did you mean LOCKER?"),
        ("L on DC24", "did you mean DC12?"), ("W2 part x", "the design has lamp"),
        ("F2 ? A", "`wireworthy size DESIGN F2` chooses one"), ("cables tinned", "wireworthy compare DESIGN COPY"),
    ],
)  # fmt: skip
def test_what_to_write_instead(boat: Path, written: str, mend: str) -> None:
    with pytest.raises(BadChange) as caught:
        changed(Reader().design(str(boat)), [written])
    assert mend in caught.value.mistakes[0].mend


def test_every_example_can_be_read() -> None:
    kinds = {k for k in FITS if k not in {"boat", "cables", "rulebook", "scene", "accept"}}
    assert set(EXAMPLES) == kinds
    for kind, fact in EXAMPLES.items():
        source = Reader().design_text(f"{SMALL}{kind} X1{', 24 V' if kind == 'system' else ''}\n")
        assert readings(source, [f"X1 {fact}"])[0].facts, kind


# ---- who says what


PARTED = (
    SMALL.replace("cable W2, 2.5 mm2, 5 m", "cable W2, part wire, 5 m")
    + """
part wire "Wire", cable
  2.5 mm2
  says "p. 1"
"""
)


def test_a_contradiction_quotes_what_is_asked() -> None:
    source = Reader().design_text(PARTED)

    def said(*written: str) -> list[str]:
        found = what_if(source, list(written)).made.now.findings
        return [f.message for f in found if f.rule == "contradicts-part"]

    assert said("W2 4 mm2") == ["W2 (Wire) says '4 mm2' (--with); the sheet of wire (Wire) says '2.5 mm2'"]
    assert said("F2 15 A", "W2  size  4 mm²") == [
        "W2 (Wire) says '4 mm²' (--with 2); the sheet of wire (Wire) says '2.5 mm2'"
    ]
    assert said("wire 4 mm2", "W2 6 mm2") == [
        "W2 (Wire) says '6 mm2' (--with 2); the sheet of wire (Wire) says '4 mm2' (--with 1)"
    ]
    assert said("wire 4 mm2") == said("W2 2.5 mm2") == []


def test_the_mend_of_a_contradiction_asks_what_was_meant() -> None:
    source = Reader().design_text(PARTED)
    (finding,) = (f for f in what_if(source, ["W2 4 mm2"]).made.now.findings if f.rule == "contradicts-part")
    asked = re.findall("--with '([^']*)'", finding.mend)
    assert asked == ["W2 part NAME", "wire 4 mm2"]
    assert what_if(source, [asked[1]]).made.changed


def test_a_drop_is_mended_by_the_cable_that_is_asked_about(boat: Path) -> None:
    """The mend names that cable and no other; with it, and not with the size below, the drop is within its limit."""
    source = Reader().design(str(boat))

    def drop(*written: str) -> list[str]:
        return [f.mend for f in what_if(source, list(written)).made.now.findings if f.rule == "voltage-drop"]

    asked = ["W1 10 m", "L draws 9 A"]
    assert drop(*asked, "W2 1.5 mm2") == ["at least 2.5 mm² for W2"]
    assert drop(*asked, "W1 size 2.5 mm2") == ["at least 10 mm² for W1"]
    assert drop(*asked, "W1 size 6 mm2") == ["at least 10 mm² for W1"]
    assert drop(*asked, "W1 size 10 mm2") == []


# ---- what is told


def told(boat: Path, *written: str) -> str:
    words = [w for one in written for w in ("--with", one)]
    return CliRunner().invoke(main, ["check", str(boat), "--today", "2026-06-01", *words]).output


def test_that_nothing_changes_is_said(boat: Path) -> None:
    assert "Nothing changes: the design says so already." in told(boat, "F2 10 A")
    assert "Nothing changes: the design says so already." in told(boat, "W2 size 2.50 mm2", "W2 5 m")
    assert "Nothing changes: the design says so already." in told(boat, "lamp draws 4 A", "L draws 4000 mA")
    assert "Nothing changes but the fact itself: no finding and no figure." in told(boat, "W2 red")
    assert "Nothing changes but the fact itself: no finding and no figure." in told(boat, 'POS says "p. 9"')
    boat.write_text(SMALL + "part spare, bus\n  50 A\n", encoding="utf-8")
    assert "Nothing changes: nothing in this design refers to part spare." in told(boat, "spare 60 A")
    assert "Nothing changes: the design says so already." in told(boat, "spare 50 A")
    for written in ("F2 10 A", "W2 red"):
        assert "Figures" not in told(boat, written) and "New" not in told(boat, written)


def test_new_findings_and_those_gone(boat: Path) -> None:
    there = told(boat, "F2 40 A")
    assert "Small, if F2 40 A\n  F2: rated 10 A → 40 A\n" in there
    assert re.search(r"^New: \d findings?$", there, re.MULTILINE)
    boat.write_text(SMALL.replace("blade, 10 A", "blade, 40 A"), encoding="utf-8")
    back = told(boat, "F2 10 A")
    assert re.search(r"^Gone: \d findings?$", back, re.MULTILINE) and "Findings: " in back
    assert sorted(re.findall(r"\[([\w-]+)\]", there)) == sorted(re.findall(r"\[([\w-]+)\]", back))
    assert all(len(line) <= 100 for line in [*there.splitlines(), *back.splitlines()])
    assert there.endswith("Nothing is written.\n")


def test_a_finding_that_stays_gets_worse_or_better(boat: Path) -> None:
    boat.write_text(SMALL.replace("2.5 mm2, 5 m", "2.5 mm2, 40 m").replace("draws 4 A", "draws 9 A"), encoding="utf-8")
    worse, better = told(boat, "W2 45 m"), told(boat, "W2 38 m")
    assert "Worse: " in worse and "Better" not in worse and "was: fault: L (Lamp) loses" in worse
    assert "Better: " in better and "Worse" not in better and "1 worse" not in better
    run = CliRunner().invoke(main, ["check", str(boat), "--with", "W2 45 m", "--format", "json"])
    made = json.loads(run.output)
    assert {(o["now"]["rule"], o["way"]) for o in made["findings"]["otherwise"]} >= {("voltage-drop", "worse")}
    assert made["with"] == ["W2 45 m"] and made["answer"].startswith("Findings: ") and made["status"] == run.exit_code


def test_mistakes_of_the_design_are_told_once_and_nothing_is_proved(boat: Path) -> None:
    boat.write_text(SMALL.replace("blade, 10 A", "blade 10 A").replace("100 A\n", "100 A, tined\n"), encoding="utf-8")
    run = CliRunner().invoke(main, ["check", str(boat), "--with", "F2 15 A"])
    assert run.exit_code == 3
    assert run.output.count("a comma is missing before '10 A'") == run.output.count("'tined' is no fact of a bus") == 1
    assert "Incomplete: part of the design could not be read, so nothing is proved" in run.output


def test_figures_that_hardly_move_are_counted(boat: Path) -> None:
    text = told(boat, "W1 length 3.01 m")
    assert re.search(r"by less than 1 %: ", text)
    assert "capacity" not in text


def test_a_figure_and_its_unit_stay_on_a_line(boat: Path) -> None:
    for size in ("1 mm2", "4 mm2", "10 mm2", "35 mm2"):
        lines = told(boat, f"W2 size {size}", f"W1 size {size}").splitlines()
        assert not any(re.match(r"\s*(?:A|V|%|mm²|ms|s)(?:\W|$)", line) for line in lines)


# ---- whatever is written, a sentence comes back

VALID = [
    "fuse F2 rating 15 A", "W2 size 4 mm2, length 2 m", "LOCKER ambient 55 °C", "system DC12 least 9 V",
    "part lamp, load, draws 7 A", "F2 blade, opens at 200 % in 1 s to 15 s", "W1 2/0 AWG, return 3 m, in LOCKER, tinned",
    "B resistance 4 mΩ to 6 mΩ, short-circuit 5 kA", "L starts 9 A for 0.2 s, vital", 'F1 says "p. 4", breaks 5 kA at 32 V',
    "POS 200 A", "W2 1 m in LOCKER, bundle of 4, red",
]  # fmt: skip
PIECES = [
    *" ,.-;:=?/#\"'()@°Ωµ²–“\u00a0\u202e\t\x00\x1b", "0", "9" * 12, "1e99", "A", "mm2", "in", "to", "at", "F2", "W1", "part",
    "fuse", "rating", "size", "?", "comes in", "opens", "\n", "\r", "B", "SELECTOR", "off", '"', "positions", "2027-01-01",
]  # fmt: skip


def test_any_text_gets_an_answer_or_a_message_with_a_mend() -> None:
    rng = random.Random(7)
    source = Reader().design_text(SMALL)
    refused = taken = 0
    for _ in range(1500):
        parts = list(rng.choice(VALID))
        for _ in range(rng.randrange(3)):
            at = rng.randrange(len(parts) + 1)
            parts[at : at + rng.randrange(4)] = rng.choice(PIECES) if rng.random() < 0.8 else ""
        written = ["".join(parts), *([rng.choice(VALID)] if rng.random() < 0.3 else [])]
        try:
            made = changed(source, written)
        except BadChange as problem:
            refused += 1
            assert problem.mistakes
            for mistake in problem.mistakes:
                assert mistake.message and mistake.mend, (written, mistake.message)
                assert 0 <= mistake.span.start <= mistake.span.end <= len(mistake.span.text.text)
        else:
            taken += 1
            build(made)
    assert refused > 300 and taken > 100


# ---- words of the language, and what was not written


def test_what_a_maker_asks_for_is_told_in_the_words_of_the_language(boat: Path) -> None:
    assert "L (Lamp): asks none → thermal breaker 80 A\n" in told(boat, "L asks thermal breaker 80 A")
    fast = told(boat, "L asks fast miniature blade fuse 3 A to 5 A, asks cable at least 35 mm2")
    assert "L (Lamp): asks none → fast miniature blade fuse 3 A to 5 A, cable at least 35 mm²" in fast


def test_a_return_that_was_not_given_was_that_of_the_cable(boat: Path) -> None:
    assert "W2: return as long as the cable (5 m) → 2 m\n" in told(boat, "W2 return 2 m")
    assert "W2: return size as the cable (2.5 mm²) → 16 mm²\n" in told(boat, "W2 return 16 mm2")
    both = told(boat, "W2 length 4 m, return 2 m")
    assert "length 5 m → 4 m; return as long as the cable (5 m) → 2 m" in both
    run = CliRunner().invoke(main, ["check", str(boat), "--with", "W2 return 2 m", "--format", "json"])
    (change,) = json.loads(run.output)["changed"][0]["changes"]
    assert (change["what"], change["was"], change["now"]) == ("return_m", None, 2)


def test_behind_a_size_left_open_figures_are_not_known(boat: Path) -> None:
    boat.write_text(SMALL.replace("W2, 2.5 mm2", "W2, size ?"), encoding="utf-8")
    there = told(boat, "W2 size 2.5 mm2")
    assert re.search(r"voltage drop at its worst\s+not\s+known → [0-9.]+ %", there)
    assert re.search(r"voltage at its lowest\s+not\s+known → [0-9.]+ V", there)
    assert re.search(r"smallest fault\s+not\s+known → [0-9.]+ A", there)
    # of two left open, one is not enough
    boat.write_text(SMALL.replace("W2, 2.5 mm2", "W2, size ?").replace("W1, 16 mm2", "W1, size ?"), encoding="utf-8")
    assert "voltage drop" not in told(boat, "W2 size 2.5 mm2")


@pytest.mark.parametrize(
    ("written", "column", "says", "mend"),
    [
        ("F2 class ANL", 4, "told by its name alone", "write `F2 ANL`"),
        ("F2 15 A, class anl", 10, "told by its name alone", "write `F2 ANL`"),
        ("F2 class bolt-down strip", 4, "told by its name alone", "write `F2 bolt-down strip`"),
        ("F2 class thermal", 4, "no class 'thermal' of a fuse", "write `F2 blade` or "),
        ("W2 rating 5 A", 11, "a cable has no rating", "write for instance --with 'W2 size 35 mm2'"),
        ("W2 5 A", 4, "a cable does not take a current", "write for instance --with 'W2 size 35 mm2'"),
    ],
)
def test_what_was_meant_by_a_class_and_a_rating(boat: Path, written: str, column: int, says: str, mend: str) -> None:
    with pytest.raises(BadChange) as caught:
        changed(Reader().design(str(boat)), [written])
    first = caught.value.mistakes[0]
    assert says in first.message and mend in first.mend and first.span.column == column
    # no figure that nobody wrote
    assert not re.search("100 A", first.message)


def test_what_is_written_instead_of_a_class_can_be_read(boat: Path) -> None:
    source = Reader().design_text(SMALL + "breaker Q1\n")
    for kind, name in (("fuse", "F2"), ("breaker", "Q1")):
        for one in CLASSES[kind]:
            assert readings(source, [f"{name} {one}"])[0].facts["class"]
    assert readings(source, ["F2 class T"])[0].facts["class"]


def test_a_breaker_takes_no_class_of_a_fuse() -> None:
    listed = {kind: {c for c, spec in classes().items() if spec.kind == kind} for kind in CLASSES}
    assert {k: {c.casefold().replace(" ", "-") for c in v} for k, v in CLASSES.items()} == listed
    assert "a class (thermal, hydraulic-magnetic, thermal-magnetic);" in takes("breaker")
    assert "thermal" not in takes("fuse") and "class T" in takes("fuse")


@pytest.mark.parametrize(
    ("written", "quoted", "message", "mend"),
    [
        ("W2 length nan m", "nan m", "'nan' is no number", "--with 'W2 length 9.5 m'"),
        ("W2, size nan mm2", "nan mm2", "'nan' is no number", "--with 'W2, size 35 mm2'"),
        ("W2 length Infinity", "Infinity", "'Infinity' is no number", "--with 'W2 length 9.5 m'"),
        ("F2 rating inf A", "inf A", "'inf' is no number", "--with 'F2 rating 15 A'"),
        ("F2 ∞ A", "∞ A", "'∞' is no number", "--with 'F2 15 A'"),
        ("place LOCKER ambient nan °C", "nan °C", "'nan' is no number", "--with 'place LOCKER ambient 40 °C'"),
        ("B resistance nan mohm", "nan mohm", "'nan' is no number", "--with 'B resistance 4 mohm'"),
        ("W2 length 1e999 m", "1e999 m", "without a power of ten", "--with 'W2 length 9.5 m'"),
        ("W2 length 1e-2 m", "1e-2 m", "without a power of ten", "--with 'W2 length 0.01 m'"),
        ("W2 length -3 m", "-3 m", "-3 m: a figure has no sign", "--with 'W2 length 3 m'"),
        ("W2 length − 3 m", "−", "no sign", "--with 'W2 length 3 m'"),
        ("W2 length +2 m", "+2 m", "not by how much more", "--with 'W2 length 2 m'"),
        ("F2 rating -5 A", "-5 A", "-5 A: a figure has no sign", "--with 'F2 rating 5 A'"),
        ("place LOCKER ambient -5 °C", "-5 °C", "no temperature below nought", "write 0 °C"),
        ("W2 length 0 m", "0 m", "a cable has a length", "--with 'W2 length 0.2 m'"),
        ("W2 0.0 m", "0.0 m", "a cable has a length", "--with 'W2 length 0.2 m'"),
        ("F2 rating to sixty A", "sixty", "'sixty' is no figure", "--with 'F2 rating 15 A'"),
        ("W2 length many m", "many", "'many' is no figure", "--with 'W2 length 9.5 m'"),
        ("W2 length 200%", "200%", "'200%' stands where", "--with 'W2 length 9.5 m'"),
        ("remove F2", "remove", "does not remove things", "wireworthy compare"),
        ("add fuse F9", "add", "does not add things", "wireworthy compare"),
        ("F2 rating 0 A", "0 A", "a rating of nothing is none", "--with 'F2 rating 15 A'"),
    ],
)  # fmt: skip
def test_a_figure_that_is_none_is_blamed_and_not_the_word_before_it(
    boat: Path, written: str, quoted: str, message: str, mend: str
) -> None:
    source = Reader().design(str(boat))
    with pytest.raises(BadChange) as caught:
        changed(source, [written])
    (mistake,) = caught.value.mistakes
    assert message in mistake.message
    assert mend in mistake.mend
    assert written[mistake.span.start : mistake.span.end] == quoted
    offered = re.search(r"--with '([^']*)'", mistake.mend)
    if offered is not None and offered[1].startswith(("W2", "F2", "B ", "place")):
        # what is offered can be read
        assert readings(source, [offered[1]])


@pytest.mark.parametrize("written", ["W2 return 0 m", 'W2 says "nan m, -3 m, 1e999 m"', "W2 0 m in LOCKER"])
def test_what_looks_like_a_wrong_figure_and_is_none(boat: Path, written: str) -> None:
    assert changed(Reader().design(str(boat)), [written])


def test_a_place_may_be_called_nan(tmp_path: Path) -> None:
    path = tmp_path / "nan.boat"
    path.write_text(SMALL.replace("LOCKER", "nan"), encoding="utf-8")
    assert readings(Reader().design(str(path)), ["W1 in nan"])[0].facts.keys() == {"place"}
