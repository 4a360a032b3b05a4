"""Readings that cannot be, that say nothing of the device, or that are no readings: none of them is counted."""

from __future__ import annotations

import re

import pytest
from click.testing import CliRunner

from linter.advice.tripped.make import Answer, why
from linter.advice.tripped.reading import BadReading, examples_of, read
from linter.advice.tripped.show import as_json, as_text
from linter.cli import main
from linter.model.build import build
from linter.source.files import Reader
from tests.advice.circuits import Loop, with_

LAMP = Loop(draws_a=20.0, rated_a=25.0, mm2=16.0)

TWO = """boat "Two", 8 m, rulebook iso-13297
system DC12, DC, 12 V, negative earthed, least 10.5 V
place BOX, ambient 40 °C
place BILGE, ambient 30 °C
cables, insulation 105 °C
battery A, AGM, 12 V, 100 Ah, resistance 4 mohm
battery B, AGM, 12 V, 100 Ah, resistance 4 mohm
from A
fuse FA, class T, 100 A
cable WA, 25 mm2, 0.5 m
bus POS, 200 A
from B
fuse FB, class T, 100 A
cable WB, 25 mm2, 0.5 m
to POS
from POS
breaker Q1, thermal, 20 A, carries 100 % at 30 °C, carries 80 % at 70 °C, in BOX
cable W1, 4 mm2, 3 m
bus PANEL, 50 A
from PANEL
cable W2, 4 mm2, 2 m
load L, draws 5 A
from PANEL
cable W3, 4 mm2, 2 m
load M, motor, draws 6 A
from POS
fuse F2, blade, 10 A
cable W4, 2.5 mm2, 2 m
load OTHER, draws 4 A
"""


def _asked(text: str, device: str, *measured: str, when: str = "running") -> Answer:
    source = Reader().design_text(text)
    return why(source, build(source), device, when, measured)


def _scores(answer: Answer) -> dict[str, float]:
    return {s.cause.name: s.score for s in answer.suspects}


@pytest.mark.parametrize(
    ("reading", "verdict", "bound"),
    [
        ("400 V at L", "cannot-be-voltage", "16.2 V"),  # 1.35 × 12 V, where nobody says what it rises to
        ("17.2 V at L", "cannot-be-voltage", "16.2 V"),
        ("24 V across F", "cannot-be-voltage", "16.2 V"),
        ("900 °C at F", "cannot-be-hot", "300 °C"),
        ("900 degC at F", "cannot-be-hot", "300 °C"),
        ("1652 degF at F", "cannot-be-hot", "300 °C"),
        ("150 °C at BOX", "cannot-be-hot", "120 °C"),
        ("-40 °C at F", "cannot-be-cold", "-30 °C"),
        ("-300 °C", "cannot-be-cold", "-30 °C"),
        ("1000000 A", "cannot-be-current", "kA"),
        ("1e6 A", "cannot-be-current", "kA"),
        ("1e6 A at W", "cannot-be-current", "kA"),
    ],
)
def test_what_cannot_be_is_said_and_not_counted(reading: str, verdict: str, bound: str) -> None:
    plain, answer = _asked(LAMP.text(), "F"), _asked(LAMP.text(), "F", reading)
    heard = answer.heard[0]
    assert heard.verdict == verdict and not heard.counted
    assert heard.says.startswith("cannot be: ") and "check the meter, its range" in heard.says and "zero" in heard.says
    assert bound in heard.says
    assert _scores(answer) == _scores(plain)
    assert as_json(answer)["readings"][0]["counted"] is False
    assert "cannot be: " in " ".join(as_text(answer))


@pytest.mark.parametrize("reading", ["16.9 V at L", "290 °C at F", "110 °C at BOX", "-25 °C at BOX", "3000 A"])
def test_what_can_be_is_taken(reading: str) -> None:
    assert not _asked(LAMP.text(), "F", reading).heard[0].verdict.startswith("cannot")


def test_the_bounds_are_the_models() -> None:
    """A short right at the battery: at most 1.1 or so times 12 V over its 4 mohm, by hand 3.3 kA; 1.5 times that is no
    reading.  And the voltage that the system, or its charger, is said to reach."""
    assert _asked(LAMP.text(), "F", "4000 A").heard[0].verdict == "current-fault"
    assert _asked(LAMP.text(), "F", "6000 A").heard[0].verdict == "cannot-be-current"
    stiff = with_(LAMP, battery_ohm=0.001).text()
    assert _asked(stiff, "F", "6000 A").heard[0].verdict == "current-fault"
    greatest = LAMP.text().replace("least 10.5 V", "least 10.5 V, greatest 14.6 V")
    found = _asked(greatest, "F", "15.6 V at L").heard[0]
    assert found.verdict == "cannot-be-voltage" and "14.6 V, the most that is said of DC12" in found.says
    assert _asked(greatest, "F", "15.2 V at L").heard[0].verdict == "voltage-expected"
    charged = greatest.replace("from B", "charger C, 12 V, 30 A, self-limiting, greatest 15.4 V\nfrom B", 1)
    charged += "from C\ncable WC, 10 mm2, 1 m\nto B\n"
    assert _asked(charged, "F", "15.6 V at L").heard[0].verdict == "voltage-expected"
    assert "15.4 V, the most that is said of C;" in _asked(charged, "F", "17 V at L").heard[0].says


@pytest.mark.parametrize(
    ("reading", "said"),
    [
        ("-5 A", "current flows one way here"), ("−5 A", "current flows one way here"), ("-5 A through F", "one way"),
        ("-12 V at L", "the wrong way round"), ("-0.3 V across F", "the wrong way round"), ("-1 ohm", "live"),
        ("nan A", "no figure"), ("inf A", "no figure"), ("-inf V at L", "no figure"), ("NaN °C", "no figure"),
        ("41,5 A", "write a point"), ("41 A across F", "read at or in or through"), ("20 °C across F", "at or in"),
        ("1 ohm through F", "at or across"), ("11 V through F", "at or across"), ("1e400 A", "no figure"),
    ],
)  # fmt: skip
def test_what_cannot_be_read_is_refused_with_what_is_expected(reading: str, said: str) -> None:
    with pytest.raises(BadReading, match="--measured") as problem:
        _asked(LAMP.text(), "F", reading)
    assert said in str(problem.value)
    run = CliRunner().invoke(main, ["tripped", "-", "F", "--measured", reading], input=LAMP.text())
    assert run.exit_code == 2 and "Traceback" not in run.output and run.output.count("\n") == 1


def test_a_sign_where_current_flows_both_ways_is_none_of_these() -> None:
    """Between two banks current goes to and fro."""
    heard = _asked(TWO, "FA", "-3 A").heard[0]
    assert heard.verdict not in {"not-used"} and "-3 A" in heard.says


@pytest.mark.parametrize(
    ("device", "reading", "said"),
    [
        ("Q1", "70 °C at BILGE", "Q1 stands in BOX"),
        ("F2", "70 °C at BILGE", "nobody says where F2 stands"),
        ("Q1", "70 °C at F2", "Q1 stands in BOX"),
        ("Q1", "40 A at W2", "W2 does not carry what Q1 carries"),
        ("Q1", "40 A at OTHER", "OTHER does not carry what Q1 carries"),
        ("Q1", "40 A at BILGE", "BILGE does not carry"),
        ("Q1", "10 V at OTHER", "Q1 does not feed OTHER"),
        ("Q1", "10 V at A", "A is no load"),
        ("Q1", "10 V at Q1", "read it across Q1"),
        ("Q1", "10 V at BILGE", "BILGE is a place"),
        ("Q1", "2 V across W1", "only the voltage across Q1"),
        ("Q1", "0.01 ohm at OTHER", "OTHER is not behind Q1"),
        ("Q1", "0.01 ohm at BILGE", "BILGE is not behind Q1"),
    ],
)
def test_a_reading_elsewhere_is_not_used_and_why(device: str, reading: str, said: str) -> None:
    answer = _asked(TWO, device, reading)
    heard = answer.heard[0]
    assert heard.verdict == "not-used" and not heard.counted
    assert "not used" in heard.says and said in heard.says
    assert _scores(answer) == _scores(_asked(TWO, device))


@pytest.mark.parametrize(
    ("device", "reading", "verdict"),
    [
        ("Q1", "70 °C at BOX", "place-cool"), ("Q1", "30 A at W1", "current-above"), ("F2", "9 A at OTHER", "current-above-carried"),
        ("F2", "9 A in W4", "current-above-carried"), ("Q1", "0.01 ohm at L", "resistance-short"),
        ("Q1", "0.01 ohm at PANEL", "resistance-short"), ("Q1", "9 V at M", "voltage-low"),
        ("Q1", "9 V across M", "voltage-low"), ("Q1", "0.002 ohm across Q1", "resistance-closed"),
        ("Q1", "2 kohm across Q1", "resistance-device-open"), ("Q1", "open circuit", "resistance-open"),
    ],
)  # fmt: skip
def test_a_reading_in_its_own_circuit_is_used(device: str, reading: str, verdict: str) -> None:
    assert _asked(TWO, device, reading).heard[0].verdict == verdict


def test_the_same_said_twice_is_counted_once() -> None:
    once, twice = _asked(LAMP.text(), "F", "24 A"), _asked(LAMP.text(), "F", "24 A", "24.1 A")
    assert once.heard[0].counted and _scores(once) == _scores(twice)
    assert not twice.heard[1].counted and "counted once" in twice.heard[1].says


SCENES = """scene "Day, sunny", L, M
scene "Night", L, M
scene "Empty", OTHER
scene "Fog", M
"""


def test_scenes_with_the_same_figures_are_one_line() -> None:
    lines = as_text(_asked(TWO + SCENES, "Q1"))
    said = " ".join(" ".join(lines).split())
    assert 'in scenes "Day, sunny" and "Night": 11 A' in said and "Fog: 6 A" in said
    assert said.count("11 A; ") == 1 and "Empty" not in said
    assert [s["title"] for s in as_json(_asked(TWO + SCENES, "Q1"))["scenes"]] == ["Day, sunny", "Night", "Fog"]


@pytest.mark.parametrize(
    ("name", "said"),
    [
        ("", "no device is named; what opens is a fuse or a breaker: FA, FB, Q1, F2"),
        ("  ", "no device is named"),
        ("q1", "there is no q1 on Two; did you mean Q1?"),
        ("F22", "did you mean F2?"),
        ("W1", "W1 is a cable, and what opens is a fuse or a breaker; before it stands Q1"),
        ("OTHER", "OTHER is a load, and what opens is a fuse or a breaker; before it stands F2"),
        ("PANEL", "before it stands Q1"),
        ("POS", "before it stand FA, FB"),
        ("BILGE", "BILGE is a place"),
        ("DC12", "DC12 is a system"),
    ],
)
def test_what_is_no_device_is_told_with_what_is_meant(name: str, said: str) -> None:
    run = CliRunner().invoke(main, ["tripped", "-", name], input=TWO)
    assert run.exit_code == 2 and said in run.output and run.output.count("\n") == 1


def test_a_label_names_its_device_and_a_boat_without_devices_says_so() -> None:
    named = TWO.replace("fuse F2,", 'fuse F2 "Wash pump",')
    run = CliRunner().invoke(main, ["tripped", "-", "wash"], input=named)
    assert run.exit_code == 2 and "did you mean F2 (Wash pump)?" in run.output
    bare = 'boat "Bare", 8 m, rulebook iso-13297\nsystem D, DC, 12 V\nbattery B, AGM, 12 V, 100 Ah\n'
    run = CliRunner().invoke(main, ["tripped", "-", "F1"], input=bare)
    assert run.exit_code == 2 and "Bare has no fuse and no breaker" in run.output


@pytest.mark.parametrize(("ohm", "verdict"), [("5 ", "leaks"), ("900 ", "leaks"), ("2.2 M", "open")])
def test_only_sound_insulation_clears_a_run(ohm: str, verdict: str) -> None:
    """Common practice: with the loads off nothing is read; less than some kilo-ohms is damage, whatever it lets flow."""
    source = Reader().design("boats/launch.boat")
    answer = why(source, build(source), "Q11", "", [f"{ohm}ohm without load"])
    (one,) = answer.heard
    assert one.verdict == f"resistance-run-{verdict}"
    names = [s.cause.name for s in answer.suspects]
    assert ({"short-in-run", "chafed-earth"} == set(names[:2])) is (verdict == "leaks")


def test_more_than_a_locked_motor_takes_is_no_stall() -> None:
    """The launch's Q11: its motor takes 110 A locked; 250 A have another way."""
    source = Reader().design("boats/launch.boat")
    answer = why(source, build(source), "Q11", "at-once", ["250 A"])
    assert {s.cause.name for s in answer.suspects[:2]} <= {"short-in-run", "short-at-load", "chafed-earth"}


@pytest.mark.parametrize(
    ("boat", "device"),
    [
        ("boats/launch.boat", "Q11"), ("boats/cutter.boat", "Q7"), ("boats/motor-yacht.boat", "Q43"),
        ("boats/motor-yacht.boat", "F47"), ("boats/cutter.boat", "F1"),
    ],
)  # fmt: skip
def test_what_is_shown_for_a_reading_can_be_typed(boat: str, device: str) -> None:
    """The examples are of the design at hand: its device, its cable, its load; each of them can be read."""
    source = Reader().design(boat)
    design = build(source)
    names = {*design.elements, *design.places}
    edge = design.circuit.edge_of[device]
    for wrong in ("a lot", "nan A"):
        with pytest.raises(BadReading) as problem:
            why(source, design, device, "", [wrong])
        shown = re.findall(r"'([^']+)'", str(problem.value).partition("; ")[2])
        assert len(shown) >= 5 and f"0.3 V across {device}" in shown
        for one in shown:
            found = read(one, names)
            assert not found.name or found.name in names
    assert examples_of(design, edge).device == device
    with pytest.raises(BadReading, match=f"12.1 V across {device}"):
        why(source, design, device, "", ["12.1 V"])


@pytest.mark.parametrize(
    ("written", "kind", "value", "name"),
    [
        ("F 24 A", "current", 24.0, "F"), ("F: 24 A", "current", 24.0, "F"), ("L 11.2 V", "voltage", 11.2, "L"),
        ("24 amps", "current", 24.0, ""), ("24 A on W", "current", 24.0, "W"), ("24 A around the W", "current", 24.0, "W"),
        ("11 volts at L", "voltage", 11.0, "L"), ("0.4 ohms", "resistance", 0.4, ""), ("62 degC at F", "temperature", 62.0, "F"),
    ],
)  # fmt: skip
def test_readings_as_they_are_jotted_down(written: str, kind: str, value: float, name: str) -> None:
    found = read(written, {"F", "W", "L"})
    assert (found.kind, found.value, found.name) == (kind, pytest.approx(value), name)


def test_a_slip_is_shown_mended() -> None:
    for written, mended in (("41,5 A", "41.5 A"), ("41 A across F", "41 A at F"), ("9 V through F", "9 V at F")):
        with pytest.raises(BadReading, match=f"write '{mended}'"):
            read(written, {"F"})
