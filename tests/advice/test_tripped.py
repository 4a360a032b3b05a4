"""`tripped`: causes are injected, and what a person would then see is worked out by a solver of the tests' own."""

from __future__ import annotations

import itertools
import json
import math
import re
from pathlib import Path

import pytest
from click.testing import CliRunner

from linter.advice.tripped.make import Answer, NotADevice, why
from linter.advice.tripped.reading import BadReading
from linter.advice.tripped.show import as_json, as_markdown, as_text
from linter.advice.tripped.table import table
from linter.cli import main
from linter.model.build import build
from linter.source.files import DesignSource, Reader
from tests.advice.circuits import Loop, thermal_opens, with_

MOTOR = Loop(draws_a=22.0, starts=(90.0, 0.4), motor=True, mm2=10)
POWER = Loop(draws_w=264.0, rated_a=25.0)
LAMP = Loop(draws_a=20.0, rated_a=25.0)
BOATS = (("boats/launch.boat", "Q11"), ("boats/cutter.boat", "Q7"), ("boats/motor-yacht.boat", "Q43"))


def _asked(text: str | DesignSource, device: str = "F", when: str = "", *measured: str) -> Answer:
    source = Reader().design_text(text) if isinstance(text, str) else text
    return why(source, build(source), device, when, measured)


def _names(answer: Answer) -> list[str]:
    return [s.cause.name for s in answer.suspects]


# ---- figures against hand reckoning ----------------------------------------------------------------------------------


def test_steady_and_starting_current_and_times_by_hand() -> None:
    seen = _asked(MOTOR.text()).circuit.seen
    steady = seen.steady
    assert steady is not None and steady.steady_a == pytest.approx(22.0, rel=1e-6)
    start = seen.start
    assert start is not None and start[1].amps == pytest.approx(90.0, rel=1e-6)
    # 90 A is three times the rating: the points of the sheet at 2 and 4 times, straight in logarithms
    least, most = seen.band(90.0)
    assert (least, most) == pytest.approx(thermal_opens(3.0), rel=1e-6)
    # at 22 A, below its 30 A, it holds for ever
    assert seen.band(22.0)[0] == math.inf


def test_rating_at_the_temperature_of_its_place_by_hand() -> None:
    # 100 % at 30 °C and 80 % at 70 °C: 90 % at 50 °C, so 27 A of 30 A
    seen = _asked(with_(MOTOR, place_c=50.0).text()).circuit.seen
    assert seen.carries_a == pytest.approx(27.0)
    # it carries 22 A of 30 A, 73.3 %, at 30 + (1 - 22/30) / 0.005 °C
    assert seen.limit_c == pytest.approx(30 + (1 - 22 / 30) / 0.005, abs=0.01)


def test_low_voltage_on_constant_power_against_the_quadratic() -> None:
    seen = _asked(POWER.text()).circuit.seen
    assert seen.steady is not None and seen.low is not None and seen.low.low_a is not None
    assert seen.steady.steady_a == pytest.approx(POWER.current(), rel=0.003)
    assert seen.low.low_a == pytest.approx(POWER.current(10.5), rel=0.005)
    assert seen.low.low_a > seen.steady.steady_a * 1.1


def test_fault_currents_by_hand() -> None:
    far = _asked(LAMP.text()).circuit.seen.far_fault
    assert far is not None and far.smallest_a is not None
    # the smallest: 0.95 × 1.05 × 12 V (IEC 61660-1, from memory) over battery and run at 105 °C
    assert far.smallest_a == pytest.approx(0.95 * 1.05 * 12 / (0.004 + LAMP.run_at(105.0)), rel=0.005)
    assert far.largest_a > far.smallest_a
    least, most = thermal_opens(far.smallest_a / 25)
    assert far.most_s == pytest.approx(most, rel=0.02)
    assert far.least_s is not None and far.least_s <= least


# ---- injected causes: the true one within the first two --------------------------------------------------------------


@pytest.mark.parametrize(("loop", "share"), list(itertools.product((MOTOR, POWER, LAMP), (0.0, 0.3, 1.0))))
def test_a_shorted_run(loop: Loop, share: float) -> None:
    """A short at a share of the run: it opens at once, and between the conductors there is the copper up to there."""
    ohm = loop.run_ohm * share + 0.002
    assert loop.volts / (loop.battery_ohm + ohm) > 2 * loop.rated_a
    text = loop.text()
    assert "short-in-run" in _names(_asked(text, "F", "at-once"))[:2]
    assert "short-in-run" in _names(_asked(text, "F", "at-once", f"{ohm:.4f} ohm"))[:2]
    alone = _asked(text, "F", "at-once", f"{ohm:.4f} ohm without load")
    assert _names(alone)[0] == "short-in-run"
    # a short that comes while all runs is told by the meter all the same
    assert "short-in-run" in _names(_asked(text, "F", "running", f"{ohm:.4f} ohm without load"))[:2]


@pytest.mark.parametrize("when", ["starting", "running", ""])
@pytest.mark.parametrize("error", [0.93, 1.0, 1.07])
def test_a_stalled_motor(when: str, error: float) -> None:
    """A locked rotor takes the starting current for as long as the breaker lets it."""
    least, most = thermal_opens(90.0 / 30.0)
    assert 0.4 < least < most  # it starts without opening, and opens when locked
    answer = _asked(MOTOR.text(), "F", when, f"{90.0 * error:.1f} A")
    assert "stalled-motor" in _names(answer)[:2]
    if when != "starting":
        # as it starts the same current is by design, and only how long it lasts tells
        assert answer.suspects[0].cause.name == "stalled-motor"
        assert answer.suspects[0].score > 3 * answer.suspects[1].score
    assert "stalled-motor" in _names(_asked(MOTOR.text(), "F", when or "running"))[:2]


@pytest.mark.parametrize("rated", [10.0, 15.0])
@pytest.mark.parametrize("loop", [MOTOR, LAMP])
def test_an_undersized_device(loop: Loop, rated: float) -> None:
    text = with_(loop, rated_a=rated, mm2=10).text()
    assert loop.draws_a > rated
    before = _asked(text, "F", "running")
    assert _names(before)[0] == "undersized"
    assert f"{loop.draws_a:g} A" in before.circuit.holds["steady-over"] and f"{rated:g} A" in " ".join(as_text(before))
    assert _names(_asked(text, "F", "running", f"{loop.draws_a:.1f} A"))[0] == "undersized"


@pytest.mark.parametrize("when", ["starting", "running"])
@pytest.mark.parametrize("rated", [10.0, 15.0, 19.0])
def test_too_small_for_its_current_comes_first_whether_it_opens_at_the_start_or_later(when: str, rated: float) -> None:
    for loop in (MOTOR, LAMP, POWER):
        answer = _asked(with_(loop, rated_a=rated, mm2=10).text(), "F", when)
        assert _names(answer)[0] == "undersized"
        # and what else may be is not drowned by it
        assert answer.suspects[0].score < 10 * answer.suspects[1].score


@pytest.mark.parametrize("when", ["starting", "running"])
@pytest.mark.parametrize("measured", [[], ["91 A"]])
def test_too_small_for_the_start_as_designed_comes_first(when: str, measured: list[str]) -> None:
    """90 A is three times the rating, at which it may open after 2.8 s by hand; the sheet says that it starts for 5 s."""
    least, _ = thermal_opens(90.0 / 30.0)
    assert 2.0 < least < 5.0 and MOTOR.draws_a < 30.0
    text = with_(MOTOR, starts=(90.0, 5.0)).text()
    if when == "running":
        assert _names(_asked(text, "F", when))[0] == "undersized"
        return
    answer = _asked(text, "F", when, *measured)
    assert _names(answer)[:2] == ["undersized", "start-too-long"]
    first = answer.suspects[0]
    assert "as it starts" in first.measure and "90 A as L starts" in first.trouble
    assert "90 A" in first.expect and "22 A" in first.expect
    if measured:
        assert answer.heard[0].verdict == "current-start-opens" and "too small or too quick" in answer.heard[0].says
    # a start that it bears long enough is none of its faults
    assert "undersized" not in _names(_asked(MOTOR.text(), "F", when, *measured))[:2]


def test_what_is_just_as_asked_is_not_called_too_small_first() -> None:
    asked = with_(LAMP, draws_a=21.0).text().replace("works from 9 V", "works from 9 V, asks breaker 25 A")
    bare = with_(LAMP, draws_a=21.0).text()
    answer = _asked(asked, "F", "running")
    assert "as-asked" in answer.circuit.holds and "steady-near" in answer.circuit.holds
    scores = [{s.cause.name: s.score for s in _asked(t, "F", "running").suspects}["undersized"] for t in (asked, bare)]
    assert scores[0] < scores[1]
    wrong = next(s for s in answer.suspects if s.cause.name == "wrong-device")
    assert "what is asked for: L: a breaker of 25 A" in wrong.expect


def test_where_no_rating_is_told_it_is_read_first() -> None:
    answer = _asked(MOTOR.text().replace(", 30 A, in BOX", ", in BOX"), "F", "starting")
    assert "rating-untold" in answer.circuit.holds and _names(answer)[0] == "wrong-device"
    assert "undersized" in _names(_asked(MOTOR.text().replace(", 30 A, in BOX", ", in BOX"), "F", "running"))[:1]


@pytest.mark.parametrize("when", ["at-random", "running"])
@pytest.mark.parametrize("celsius", [75.0, 85.0])
def test_too_small_where_it_is_so_hot(when: str, celsius: float) -> None:
    """25 A at 30 °C, and less than the 20 A of its load where it is so hot: by the design, or by the thermometer."""
    by_design = _asked(with_(LAMP, place_c=celsius).text(), "F", when)
    assert by_design.circuit.seen.carries_a == pytest.approx(25.0 * (1 - (celsius - 30) * 0.005))
    assert _names(by_design)[0] == "undersized"
    measured = _asked(LAMP.text(), "F", when, f"{celsius:g} °C at BOX")
    assert _names(measured)[0] == "hot-place"


@pytest.mark.parametrize("celsius", [75.0, 85.0])
def test_a_hot_place(celsius: float) -> None:
    """The design says 30 °C; in truth it is so hot that 22 A are too many."""
    share = 1 - (celsius - 30) * 0.005
    assert 25.0 * share < 20.0  # it would open
    answer = _asked(LAMP.text(), "F", "running", f"{celsius:g} °C at F", f"{LAMP.current():.1f} A")
    assert "hot-place" in _names(answer)[:2]
    beside = _asked(LAMP.text(), "F", "running", f"{celsius:g} °C at BOX", f"{LAMP.current():.1f} A")
    assert _names(beside)[0] == "hot-place"
    # and where it is cool it is not the place
    cool = _asked(LAMP.text(), "F", "running", "32 °C at F", "33 °C at BOX")
    assert "hot-place" not in _names(cool)[:4]


@pytest.mark.parametrize("when", ["running", "starting", ""])
@pytest.mark.parametrize("open_v", [10.2, 10.5])
def test_low_voltage_with_constant_power(when: str, open_v: float) -> None:
    loop = with_(POWER, rated_a=25.0)
    assert loop.current() < 25.0 < loop.current(open_v)
    readings = [f"{loop.current(open_v):.1f} A", f"{loop.at_load(open_v):.2f} V at L"]
    assert _names(_asked(loop.text(), "F", when, *readings))[0] == "low-voltage"
    assert "low-voltage" in _names(_asked(loop.text(), "F", when, readings[1]))[:2]
    assert "low-voltage" in _names(_asked(loop.text(), "F", when or "running"))[:2]


def test_a_loose_terminal() -> None:
    """20 A through 30 mohm of corrosion: 0.6 V, 12 W."""
    across = LAMP.current() * 0.03
    assert _names(_asked(LAMP.text(), "F", "at-random", f"{across:.2g} V across F"))[0] == "loose-terminal"
    sound = _asked(LAMP.text(), "F", "at-random", "0.02 V across F")
    assert "loose-terminal" not in _names(sound)[:3]


@pytest.mark.parametrize(
    ("boat", "device", "when", "measured", "cause"),
    [
        # a locked trim pump: the starting 110 A of its sheet goes on; a shorted run; the same in the other boats
        ("boats/launch.boat", "Q11", "running", ["108 A"], "stalled-motor"),
        ("boats/launch.boat", "Q11", "at-once", ["0.006 ohm"], "short-in-run"),
        ("boats/launch.boat", "Q27", "at-once", ["0.02 ohm without load"], "short-in-run"),
        ("boats/launch.boat", "Q27", "starting", ["19.2 A"], "stalled-motor"),
        ("boats/cutter.boat", "Q7", "at-once", ["0.01 ohm without load"], "short-in-run"),
    ],
)
def test_causes_in_the_three_boats(boat: str, device: str, when: str, measured: list[str], cause: str) -> None:
    assert cause in _names(_asked(Reader().design(boat), device, when, *measured))[:2]


def test_undersized_devices_in_the_three_boats() -> None:
    """Any device that has a current, made too small for it: it is the device, and the meter says so."""
    tried = 0
    for boat, device in (("boats/launch.boat", "Q27"), ("boats/launch.boat", "Q11"), ("boats/cutter.boat", "Q7")):
        from linter.advice.what_if import changed

        source = Reader().design(boat)
        steady = _asked(source, device).circuit.seen.steady
        assert steady is not None
        small = changed(source, [f"{device} rating {steady.steady_a / 1.3:.4g} A"])
        for when in ("running", "starting"):
            assert _names(_asked(small, device, when))[0] == "undersized", (device, when)
            tried += 1
        assert "undersized" in _names(_asked(small, device, "running", f"{steady.steady_a:.3g} A"))[:2]
        assert "undersized" in _names(_asked(small, device, "at-random"))[:2]
    assert tried == 6


# ---- readings that exclude -------------------------------------------------------------------------------------------


def test_a_reading_moves_causes_both_ways_and_says_why() -> None:
    before = {s.cause.name: s.score for s in _asked(MOTOR.text(), "F", "running").suspects}
    answer = _asked(MOTOR.text(), "F", "running", "22 A")
    after = {s.cause.name: s.score for s in answer.suspects}
    assert after["stalled-motor"] < before["stalled-motor"] and after["hot-place"] > before["hot-place"]
    for suspect in answer.suspects:
        assert suspect.score == pytest.approx(math.prod(w.by for w in suspect.weights))
        assert all(w.why for w in suspect.weights)
    stalled = next(s for s in answer.suspects if s.cause.name == "stalled-motor")
    assert any(w.measured and "22 A" in w.why for w in stalled.weights)


@pytest.mark.parametrize(
    ("reading", "verdict"),
    [
        ("12.4 V across F", "across-open"), ("0.3 V across W", "not-used"), ("0.3 V across F", "across-high"),
        ("0.0 V at L", "voltage-none"), ("11.9 V at L", "voltage-expected"), ("11.0 V at L", "voltage-low"),
        ("11.0 V at B", "not-used"), ("40 A through F", "current-above"), ("4 A at B", "current-below"),
        ("20 A", "current-expected"), ("500 mA", "current-below"), ("300 A", "current-fault"),
        ("90 °F at F", "device-cool"), ("95 °C at ELSEWHERE", "not-used"), ("95 °C at BOX", "place-hot"), ("95 °C at L", "not-used"),
        ("0 ohm", "resistance-short"), ("0.6 Ω", "resistance-open"), ("open circuit", "resistance-open"),
        ("open circuit without load", "resistance-run-open"), ("10 mohm without load", "resistance-run-short"),
        ("2.2 MΩ without load", "resistance-run-open"), ("212 °F at F", "device-hot"),
    ],
)  # fmt: skip
def test_each_reading_is_understood(reading: str, verdict: str) -> None:
    """20 A lamp on 12 V through 30 °C; it should have 20 A × 47 mohm less than 12 V: 11.0 V and more."""
    assert _asked(with_(LAMP, mm2=16.0).text(), "F", "running", reading).heard[0].verdict == verdict


def test_more_than_it_should_but_no_more_than_it_carries_opens_nothing() -> None:
    answer = _asked(with_(LAMP, draws_a=10.0).text(), "F", "running", "14 A")
    assert answer.heard[0].verdict == "current-above-carried"
    assert "undersized" not in _names(answer)[:4]


@pytest.mark.parametrize("text", ["41", "41 apples", "11 V", "11 V at MARS", "3 m", "x", "", "11 V at L without load",
                                  "4 A\n5 A", "9" * 400 + " A", "\x1b[31m4 A"])  # fmt: skip
def test_what_is_no_reading_is_refused(text: str) -> None:
    with pytest.raises(BadReading, match="--measured"):
        _asked(LAMP.text(), "F", "", text)


# ---- the tempting question -------------------------------------------------------------------------------------------


def test_the_next_rating_is_refused_with_the_findings_of_check(tmp_path: Path) -> None:
    """30 A on 2.5 mm² that is allowed less: the same findings that `check` gives when the file says so."""
    loop = with_(LAMP, mm2=1.5, metres=1.0, rated_a=25.0)
    answer = _asked(loop.text())
    found = answer.larger
    assert found.next_a == 30.0 and found.refused
    path = tmp_path / "larger.boat"
    path.write_text(with_(loop, rated_a=30.0).text(), encoding="utf-8")
    made = json.loads(CliRunner().invoke(main, ["check", str(path), "--format", "json"]).output)
    rules = {f["rule"] for d in made["designs"] for f in d["findings"]}
    assert {f.rule for f in found.raised} <= rules and "conductor-unprotected" in {f.rule for f in found.raised}
    # and with the conductor that it names there is none of them any more
    assert found.conductors
    name, size = found.conductors[0]
    assert name == "W"
    path.write_text(with_(loop, rated_a=30.0, mm2=float(size.split()[0])).text(), encoding="utf-8")
    again = json.loads(CliRunner().invoke(main, ["check", str(path), "--format", "json"]).output)
    left = {f["rule"] for d in again["designs"] for f in d["findings"]}
    assert not left & {f.rule for f in found.raised}


def test_a_conductor_with_a_sheet_may_become_another() -> None:
    """Its sheet says 1.5 mm²; a larger one has another sheet, which is no reason against it."""
    text = with_(LAMP, mm2=1.5, metres=1.0).text().replace("cable W, 1.5 mm2", "cable W, part wire")
    found = _asked(text.replace("battery B", "part wire, cable\n  1.5 mm2\nbattery B")).larger
    assert found.refused and [name for name, _ in found.conductors] == ["W"] and not found.left


def test_what_the_maker_asks_for_no_conductor_changes() -> None:
    answer = _asked(LAMP.text().replace("works from 9 V", "works from 9 V, asks thermal breaker 25 A"))
    assert {f.rule for f in answer.larger.raised} == {"device-not-as-asked"} and not answer.larger.conductors
    said = " ".join(as_text(answer))
    assert "No. 30 A" in said and "No conductor changes that" in said
    assert "the 25 A fitted is the most that is allowed" in " ".join(said.split())


def test_a_larger_one_is_never_the_cure() -> None:
    answer = _asked(with_(LAMP, mm2=16.0).text())
    assert not answer.larger.raised
    said = " ".join(" ".join(as_text(answer)).split())
    assert "no cure all the same" in said and "Never bypass a device" in said
    assert not any("larger" in s.measure or "larger" in s.trouble for s in answer.suspects)


# ---- what is missing, and forms --------------------------------------------------------------------------------------

BARE = """boat "Bare", 8 m, rulebook iso-13297
system DC12, DC, 12 V, negative earthed
cables, insulation 105 °C
battery B "[x](http://e) <b>", AGM, 12 V, 100 Ah, resistance 4 mohm
from B
fuse F1 "a | b **c** <script>", class T, 50 A
cable W1, 16 mm2, 0.3 m
bus POS, 100 A
from POS
fuse F2, blade, 10 A
cable W2, 2.5 mm2, 5 m
bus R, 50 A
from POS
fuse F3, blade, 10 A
cable W3, 2.5 mm2, 5 m
to R
from R
cable W4, 2.5 mm2, 1 m
load L "Lamp", light, draws 80 W
from POS
fuse F5, 10 A
cable W5, 2.5 mm2, 3 m
load P "Pump", draws 5 A
from POS
fuse F6, blade, 5 A
cable W6, 2.5 mm2, 3 m
joint J
from POS
breaker Q7, thermal
cable W7, 2.5 mm2, 3 m
load Z, motor, draws 5 A
"""


def test_without_a_curve_nothing_is_guessed() -> None:
    answer = _asked(BARE, "F5", "running", "7 A")
    data = as_json(answer)
    assert data["scenes"][0]["opens_s"] == [None, None]
    assert data["faults"]["far"]["opens_s"] == [None, None]
    assert any("no time-current curve" in m for m in data["missing"])
    assert any("least voltage" in m for m in data["missing"])
    assert data["scenes"][0]["low_a"] is None


def test_without_a_rating() -> None:
    data = as_json(_asked(BARE, "Q7"))
    assert any("Q7 has no rating" in m for m in data["missing"])
    assert data["circuit"]["carries_a"] is None and data["larger"]["answer"] == "not asked"


def test_a_fuse_in_a_ring_shares_the_current() -> None:
    seen = _asked(BARE, "F2").circuit.seen
    assert seen.meshed and seen.far_fault is None and seen.steady is not None
    # two ways alike: half of the 80 W lamp's current, which is more than 80/12 A because of the drop
    assert 80 / 12 / 2 < seen.steady.steady_a < 80 / 11 / 2
    assert any("ring" in m for m in seen.missing)


def test_no_load_behind() -> None:
    answer = _asked(BARE, "F6", "at-once", "7 A")
    assert answer.circuit.seen.loads == [] and answer.heard[0].verdict == "not-comparable"
    assert "short-at-load" not in _names(answer)[:3] and _names(answer)[0] == "short-in-run"


@pytest.mark.parametrize("name", ["L", "W1", "POS", "NOPE", ""])
def test_what_is_no_device(name: str) -> None:
    with pytest.raises(NotADevice):
        _asked(BARE, name)
    run = CliRunner().invoke(main, ["tripped", "-", name or "''"], input=BARE)
    assert run.exit_code == 2 and "Traceback" not in run.output


@pytest.mark.parametrize("device", ["F1", "F2", "F5", "F6", "Q7"])
def test_forms(device: str) -> None:
    answer = _asked(BARE, device, "at-random", "0.4 ohm", "9 V at L")
    for every in (False, True):
        lines = as_text(answer, every=every)
        assert max(map(len, lines)) <= 100
        assert not any(re.search(r"[{}]", line) for line in lines)
    told = json.loads(json.dumps(as_json(answer), allow_nan=False))
    assert [c["name"] for c in told["causes"]] == _names(answer)
    page = as_markdown(answer)
    assert "<script" not in page and "<b>" not in page and "](http" not in page


@pytest.mark.parametrize(("boat", "device"), BOATS)
def test_the_command_on_the_three_boats(boat: str, device: str) -> None:
    run = CliRunner().invoke(main, ["tripped", boat, device, "--when", "starting"])
    assert run.exit_code == 0, run.output
    assert "Likely causes" in run.output and "And the next rating up?" in run.output
    assert max(map(len, run.output.splitlines())) <= 100


@pytest.mark.parametrize(
    ("word", "when"), [("start", "a load starts"), ("random", "at random"), ("run", "while all runs")]
)
def test_when_is_understood_from_the_word_that_tells_it(word: str, when: str) -> None:
    run = CliRunner().invoke(main, ["tripped", "-", "F1", "--when", word], input=BARE)
    assert run.exit_code == 0 and when in run.output
    # "at" may be two of them
    assert CliRunner().invoke(main, ["tripped", "-", "F1", "--when", "at"], input=BARE).exit_code == 2


@pytest.mark.parametrize("when", ["at once", "at-once"])
def test_when_is_written_either_way(when: str) -> None:
    run = CliRunner().invoke(main, ["tripped", "-", "F1", "--when", when], input=BARE)
    assert run.exit_code == 0 and "at once, as soon as power is put on" in run.output
    assert CliRunner().invoke(main, ["tripped", "-", "F1", "--when", "never"], input=BARE).exit_code == 2


def test_half_a_design_is_refused_and_hostile_words_do_no_harm() -> None:
    run = CliRunner().invoke(main, ["tripped", "-", "F1"], input=BARE + "cable W9, 3 parrots\n")
    assert run.exit_code == 3 and "Traceback" not in run.output
    hostile = BARE.replace("<script>", "\u202e{device}")
    run = CliRunner().invoke(main, ["tripped", "-", "F1", "--measured", "\u202e4 A"], input=hostile)
    assert run.exit_code in (2, 3) and "\u202e" not in run.output
    braces = CliRunner().invoke(main, ["tripped", "-", "F1"], input=BARE.replace("<script>", "{device} {x!r}"))
    assert braces.exit_code == 0 and "{device} {x!r}" in braces.output


def test_the_table_is_whole() -> None:
    known = table()
    causes = {c.name for c in known.causes}
    assert len(causes) == len(known.causes) >= 11
    for cause in known.causes:
        assert set(cause.when) == set(known.when) and min(cause.when.values()) > 0
        assert set(cause.weighs) <= set(known.conditions), cause.name
        assert all(w > 0 for w in cause.weighs.values())
        assert cause.measure and cause.where and cause.expect and cause.trouble and cause.caution
    for name, verdict in known.verdicts.items():
        assert set(verdict.weighs) <= causes, name
    used = {c for cause in known.causes for c in (*cause.weighs, *cause.never)}
    assert used == set(known.conditions)
