"""Devices in odd places: between two banks, before a selector, in a row with others, on alternating current, dead ends."""

from __future__ import annotations

import pytest

from linter.advice.tripped.make import Answer, NotADevice, why
from linter.advice.tripped.show import as_json, as_text
from linter.model.build import build
from linter.model.elements import Conductor
from linter.source.files import Reader
from tests.advice.circuits import Loop, with_

ODD = """boat "Odd", 10 m, rulebook iso-13297
system DC12, DC, 12 V, negative earthed, least 10.5 V, greatest 14.8 V
system AC230, AC, 230 V
place BOX, ambient 40 °C
cables, insulation 105 °C
battery A, AGM, 12 V, 100 Ah, resistance 4 mohm to 6 mohm, on DC12
battery B, AGM, 12 V, 100 Ah, resistance 4 mohm to 6 mohm, on DC12
selector SEL, 300 A, positions off 1 2 both
bus POS, 200 A
from A
fuse FA, class T, 100 A
cable WA, 25 mm2, 0.5 m
to SEL 1
from B
fuse FB, class T, 100 A
cable WB, 25 mm2, 0.5 m
to SEL 2
from SEL
breaker QM "Main", thermal, 60 A, carries 100 % at 30 °C, carries 80 % at 70 °C, in BOX
to POS
from POS
fuse F3, blade, 10 A
cable W3, 4 mm2, 2 m
breaker Q3, thermal, 5 A
cable W3B, 4 mm2, 2 m
load M, motor, draws 4 A, starts 12 A for 1 s
from POS
fuse F4, blade, 10 A
cable W4, 2.5 mm2, 1 m
joint DEAD
from POS
fuse F5, blade, 10 A
cable W5, 2.5 mm2, 1 m
load NEVER, draws 3 A
from POS
fuse F6, class T, 250 A
cable W6, 70 mm2, 1 m
inverter INV, draws 2000 W, gives 70 A, self-limiting 75 A, on DC12
alternator GEN, 230 V, 16 A, on AC230
from GEN
breaker QA, thermal-magnetic, curve C, 16 A
cable W7, 2.5 mm2, 4 m
load KETTLE, heater, draws 2000 W
scene "One", M, SEL at 1
scene "Two", M, SEL at 2
scene "Both", M, SEL at both
"""


def _asked(device: str, *measured: str, text: str = ODD) -> Answer:
    source = Reader().design_text(text)
    return why(source, build(source), device, "running", measured)


def _said(answer: Answer) -> str:
    return " ".join(" ".join(as_text(answer, every=True)).split())


def test_an_inverter_that_charges_is_the_load_at_the_end_of_its_row() -> None:
    answer = _asked("F6")
    assert answer.circuit.seen.meshed and [n.name for n in answer.circuit.seen.loads] == ["INV"]
    assert "INV stands at its end" in _said(answer) and "terminals of INV" in _said(answer)


def test_the_clamp_goes_around_a_conductor_that_carries_the_same() -> None:
    """W3B and W3 are in one row with Q3; a breaker between a selector and a bar has all that leaves the bar."""
    assert _asked("F3").circuit.words["clamp"] == "W3" and _asked("Q3").circuit.words["clamp"] == "W3B"
    assert _asked("FA").circuit.words["clamp"] == "WA"
    assert _asked("QM").circuit.words["clamp"] == "each way that leaves POS in turn, the readings added"
    # twice 4 A of one motor, whichever conductor of the row is read
    assert _asked("F3", "4 A at W3B").heard[0].verdict == "current-expected"
    assert _asked("Q3", "4 A at W3").heard[0].verdict == "current-expected"
    assert _asked("Q3", "4 A at WA").heard[0].verdict == "not-used"


@pytest.mark.parametrize("boat", ["launch", "cutter"])
def test_no_bar_is_clamped_on_board(boat: str) -> None:
    source = Reader().design(f"boats/{boat}.boat")
    design = build(source)
    for name in ("F1", "F3", "F10", "F17", "Q11", "F20", "Q32"):
        if name in design.elements:
            clamp = why(source, design, name).circuit.words["clamp"]
            assert clamp.startswith("each ") or isinstance(design.elements[clamp], Conductor), (name, clamp)


def test_more_than_it_carries_at_any_temperature() -> None:
    """2000 W at 12 V are some 180 A; by its maker 60 A at 30 °C and less above: hot or cold it carries so much nowhere."""
    answer = _asked("QM")
    assert as_json(answer)["circuit"]["carries_it_up_to_c"] is None
    assert "by its maker's figures it carries the" in _said(answer) and "nowhere" in _said(answer)


def test_how_soon_it_opens_is_not_promised() -> None:
    """A breaker's class alone promises no least time at 2.4 times its rating."""
    said = _said(_asked("Q3"))
    assert "when Q3 opens at that is not told" in said and "after not told" not in said and "after ever" not in said


def test_what_is_in_no_scene_carries_nothing_by_intention() -> None:
    answer = _asked("F4")
    assert not answer.circuit.seen.scenes and "no current flows through it in any scene" in _said(answer)
    text = ODD + 'scene "Asleep", NEVER off\n'
    asleep = ODD.replace("load NEVER", "switch S5, 20 A, normally open\nload NEVER") + 'scene "Day", NEVER, F5 open\n'
    assert "no-current" in _asked("F5", text=asleep).circuit.holds
    assert _asked("F5", text=asleep).suspects[0].cause.name != "undersized"
    assert "no-current" not in _asked("F3", text=text).circuit.holds


def test_alternating_current_is_declined_with_why_and_what_to_do() -> None:
    with pytest.raises(NotADevice) as problem:
        _asked("QA", "9 A")
    said = str(problem.value)
    assert said.startswith("QA stands on AC230, alternating current of 230 V")
    for words in ("no currents and no faults of it are reckoned", "no cause is told", "can kill", "pull the shore plug",
                  "qualified"):  # fmt: skip
        assert words in said
    # a reading on it says nothing of a device on direct current
    (heard,) = _asked("F3", "300 V at KETTLE").heard
    assert heard.verdict == "cannot-be-voltage" and not heard.counted


def test_a_conductor_without_length_hides_the_smallest_fault() -> None:
    text = with_(Loop(), draws_a=4.0).text().replace("6 mm2, 6 m, in", "6 mm2, in")
    answer = _asked("F", text=text)
    assert "W has no length: no fault beyond it is told" in _said(answer)
    assert "at the far end" not in _said(answer) and "fault-opens-at-once" not in answer.circuit.holds


def test_several_motors_are_told_in_the_plural() -> None:
    source = Reader().design("boats/cutter.boat")
    answer = why(source, build(source), "F17")
    assert "THRUSTER and WINDLASS stall or drag" in _said(answer)


def test_resistances_are_written_as_a_meter_shows_them() -> None:
    """12 V over the 10 mA of a receiver's memory are 1.2 kΩ."""
    source = Reader().design("boats/launch.boat")
    answer = why(source, build(source), "F14", "", ["2.2 MΩ without load", "2 mohm"])
    assert "1.2 kΩ or more" in _said(answer) and "e+0" not in _said(answer)
    assert answer.heard[0].says.startswith("2.2 MΩ") and answer.heard[1].says.startswith("2 mΩ")


def test_the_far_end_is_where_the_next_device_takes_over() -> None:
    """Behind F3 stands Q3: a short beyond Q3 is for Q3 to clear, and a longer run there changes nothing of F3."""
    far = _asked("F3").circuit.seen.far_fault
    longer = ODD.replace("cable W3B, 4 mm2, 2 m", "cable W3B, 4 mm2, 20 m")
    assert far is not None and longer != ODD
    also = _asked("F3", text=longer).circuit.seen.far_fault
    assert also is not None and also.smallest_a == pytest.approx(far.smallest_a)
    assert "at the far end of what no other device guards" in _said(_asked("F3"))
    own = _asked("Q3", text=longer).circuit.seen.far_fault
    assert own is not None and own.smallest_a is not None and far.smallest_a is not None
    assert own.smallest_a < far.smallest_a / 2
    assert "at the far end, M:" in _said(_asked("Q3"))
