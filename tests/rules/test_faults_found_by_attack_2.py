"""More designs that once were judged wrongly, or broke a rule; each with what it must say, and why.

The figures are reckoned beside each check: a battery of 12 V and 3 mΩ drives at most 1.05 · 12 V ÷ (0.9 · 3 mΩ), as
IEC 61660-1 has it (from memory); capacities are those of the ISO annex (from memory).
"""

from __future__ import annotations

import re
from collections.abc import Iterator
from dataclasses import replace
from pathlib import Path

import pytest
from click.testing import CliRunner

from linter.cli import main
from linter.model.build import build
from linter.rules import engine, registry
from linter.rules.engine import Examination, examine
from linter.rules.finding import Finding
from linter.rules.registry import Wrong
from linter.source.files import Reader

HEAD = """boat "C", 9 m, rulebook {book}
system MAIN, 12 V, negative earthed{system}
cables, insulation 105 °C, plain
part QUICK, fuse
  class T, 125 V, breaks 20 kA at 125 V, lets through 20 kA2s at 20 kA
  opens at 135 % in 100 s to 1000 s, opens at 500 % in 20 ms to 0.1 s, opens at 1000 % in 4 ms to 10 ms
"""
FROM_B = "battery B, AGM, 12 V, 100 Ah, resistance 3 mΩ\nfrom B\n"


def text_of(text: str, book: str = "iso-13297", system: str = "") -> str:
    return HEAD.format(book=book, system=system) + text


def examined(text: str, book: str = "iso-13297", system: str = "") -> Examination:
    return examine(build(Reader().design_text(text_of(text, book, system))))


def findings(text: str, book: str = "iso-13297", system: str = "") -> list[Finding]:
    result = examined(text, book, system)
    assert result.complete, [m.message for m in result.mistakes] + result.broken
    return result.findings


def found(text: str, book: str = "iso-13297", system: str = "") -> dict[str, str]:
    return {f"{f.rule} {f.subject}": f.severity.value for f in findings(text, book, system)}


def one(text: str, rule: str, subject: str, book: str = "iso-13297", system: str = "") -> Finding:
    (made,) = [f for f in findings(text, book, system) if (f.rule, f.subject) == (rule, subject)]
    return made


# ---- figures that are none


def test_energy_let_through_at_no_current_is_refused_at_its_place() -> None:
    fuse = (
        "fuse F1, class T, 15 A, 125 V, breaks 20 kA at 125 V, opens at 135 % in 10 s to 1000 s, lets through 15 kA2s"
    )
    result = examined(f"{FROM_B}{fuse} at 0 A\ncable W1, 2.5 mm2, 1 m\nload L, draws 3 A\n")
    (mistake,) = result.mistakes
    # it would be divided by; and a fuse lets nothing through where nothing flows
    assert "at 0 A" in mistake.message and "lets nothing through" in mistake.message
    assert mistake.span.line == 9 and not result.broken and not result.complete


@pytest.mark.parametrize("size", ["2001 mm2", "0.00001 mm2", "0.009 mm2"])
@pytest.mark.parametrize("where", ["{}, 1 m", "1 mm2, 1 m, return {}"])
def test_a_size_that_no_conductor_has_is_a_mistake_and_breaks_nothing(size: str, where: str) -> None:
    result = examined(f"{FROM_B}fuse F1, part QUICK, 15 A\ncable W1, {where.format(size)}\nload L, draws 3 A\n")
    assert result.broken == []
    (mistake,) = result.mistakes
    assert size in mistake.message and "0.01 to 2000 mm²" in mistake.message and mistake.span.line == 10


@pytest.mark.parametrize("size", ["2000 mm2", "0.01 mm2", "0.05 mm2"])
def test_a_size_at_the_limit_is_judged(size: str) -> None:
    result = examined(f"{FROM_B}fuse F1, part QUICK, 15 A\ncable W1, {size}, 1 m\nload L, draws 3 A\n")
    assert result.mistakes == [] and result.broken == []


def test_drawing_says_which_rule_broke(monkeypatch: pytest.MonkeyPatch, tmp_path: Path) -> None:
    """Nothing of the design was unreadable: to look for it there would lead astray."""
    design = tmp_path / "c.boat"
    design.write_text(text_of(f"{FROM_B}fuse F1, part QUICK, 15 A\ncable W1, 2.5 mm2, 1 m\nload L, draws 3 A\n"))

    def breaks(study: object) -> Iterator[Wrong]:
        raise RuntimeError("for the test")

    every = registry.rules()
    monkeypatch.setattr(engine, "rules", lambda: [replace(every[0], check=breaks), *every[1:]])
    result = CliRunner().invoke(main, ["draw", str(design), "-o", "-", "--one-sheet"])
    assert result.exit_code == 3
    assert f"rule {every[0].name} broke: RuntimeError: for the test" in result.stderr
    assert "could not be read" not in result.stderr


# ---- figures that are asked for


def test_a_diode_is_asked_what_it_drops_where_a_verdict_hangs_on_it() -> None:
    text = FROM_B + "fuse F1, part QUICK, 15 A\ndiode D1, 70 A{}\ncable W1, 2.5 mm2, 1 m\n"
    text += "load L, draws 10 A, works from 11.6 V\n"
    assert found(text.format(""))["figure-missing D1"] == "doubt"
    # 12 V − 10 A · (3 + 16) mΩ is 11.8 V, and 11.1 V behind a silicon diode of 0.7 V
    assert found(text.format(", drops 0.7 V")) == {"voltage-too-low L": "fault"}


SPLIT = """alternator A, 14.4 V, 50 A{limits}
{battery}bus P, 300 A
from A
diode D1, 70 A
to P
from P
fuse F1, part QUICK, 60 A
cable W1, 16 mm2, 1 m
{end}
"""
BANK = "battery B, AGM, 12 V, 100 Ah, resistance 3 mΩ\n"


@pytest.mark.parametrize(
    ("limits", "battery", "end", "asked"),
    [
        # it only charges: loads are judged with the battery alone, and what limits itself opens nothing
        (", self-limiting", BANK, "to B", False),
        # what does not limit itself drives a smallest fault current, less by the drop
        (", resistance 20 mΩ", BANK, "to B", True),
        # nothing else feeds the load behind it
        (", self-limiting", "", "load L, draws 10 A", True),
        # in a scene in which it is on, it holds the voltage
        (", self-limiting", BANK, 'to B\nfrom B\nfuse F2, part QUICK, 15 A\nload L, draws 1 A\nscene "x", L, A', True),
        (", self-limiting", BANK, 'to B\nfrom B\nfuse F2, part QUICK, 15 A\nload L, draws 1 A\nscene "x", L', False),
    ],
)
def test_of_a_diode_that_only_charges_nobody_asks(limits: str, battery: str, end: str, asked: bool) -> None:
    assert ("figure-missing D1" in found(SPLIT.format(limits=limits, battery=battery, end=end))) == asked


@pytest.mark.parametrize(
    ("place", "asked"),
    [
        # an engine space counts as 50 °C for conductors, and so it does for what heat opens
        ("engine space", True),
        ("engine space, ambient 50 °C", True),
        ("ambient 25 °C", False),
        ("engine space, ambient 35 °C", False),
    ],
)
def test_a_thermal_breaker_in_an_engine_space_is_asked_what_it_carries_there(place: str, asked: bool) -> None:
    text = f"place ENG, {place}\n{FROM_B}breaker Q1, thermal, 15 A, 32 V, breaks 5 kA at 32 V, in ENG{{}}\n"
    text += "  opens at 135 % in 60 s to 1800 s, opens at 1000 % in 0.3 s to 1 s, lets through 20 kA2s\n"
    text += "cable W1, 2.5 mm2, 1 m\nload L, draws 3 A\n"
    assert ("figure-missing Q1" in found(text.format(""))) == asked
    assert "figure-missing Q1" not in found(text.format(", carries 90 % at 50 °C"))


THIN = (
    FROM_B
    + """fuse F1, class T, {rated} A, 125 V, breaks 20 kA at 125 V, lets through 0.0005 kA2s at 20 kA
  opens at 135 % in 100 s to 1000 s, opens at 500 % in 0.00002 s to 0.0001 s
cable W1, 6 mm2, 1 m, return {back}
load L, draws 3 A
"""
)


@pytest.mark.parametrize("back", ["22 AWG", "0.2 mm2"])
def test_of_a_return_thinner_than_any_row_nobody_knows_what_it_carries(back: str) -> None:
    """As of a live conductor: the row of 0.75 mm², 16 A at 105 °C, is more than it bears, by how much nobody says."""
    said = found(THIN.format(rated=15, back=back))
    assert said == {"figure-missing W1": "doubt", "conductor-too-small W1": "fault"}
    known = one(THIN.format(rated=15, back=back), "figure-missing", "W1")
    assert "return" in known.message and known.mend == "a return of at least 0.75 mm²"
    # above the figure of the smallest row there is nothing to doubt
    assert found(THIN.format(rated=20, back=back))["return-unprotected W1"] == "danger"
    assert "less than 16 A" in one(THIN.format(rated=20, back=back), "return-unprotected", "W1").message


def test_a_return_of_the_smallest_row_is_judged_by_it() -> None:
    # 0.75 mm² is allowed inside a sheath only; 1 mm² run singly (ISO 13297, second-hand)
    assert found(THIN.format(rated=15, back="0.75 mm2")) == {"conductor-too-small W1": "fault"}
    assert found(THIN.format(rated=15, back="0.75 mm2, in sheath")) == {}
    assert found(THIN.format(rated=15, back="1 mm2")) == {}


CRANKED = """battery B, 12 V, cranking 700 A{more}
from B
fuse F1, ANL, 150 A, 32 V, {breaks}opens at 135 % in 1 s to 100 s, opens at 500 % in 20 ms to 0.1 s
cable W1, 2 AWG, 1 m
load L, draws 3 A
"""


def test_the_table_by_cranking_amperes_asks_what_a_device_breaks() -> None:
    """651 A to 1100 A: 3 kA of the main device (ABYC E-11, second-hand).  It is for batteries of which nothing else is
    known, so that it must not be silent just there."""
    unknown = one(CRANKED.format(more="", breaks=""), "breaking-class", "F1", "abyc-e11")
    assert unknown.severity.value == "doubt" and "3 kA" in unknown.message and "3 kA" in unknown.mend
    weak = one(CRANKED.format(more="", breaks="breaks 2 kA at 32 V, "), "breaking-class", "F1", "abyc-e11")
    assert weak.severity.value == "fault"
    assert "breaking-class F1" not in found(CRANKED.format(more="", breaks="breaks 3 kA at 32 V, "), "abyc-e11")
    # with a resistance the largest current is known, and that is asked for, once
    stated = found(CRANKED.format(more=", resistance 4 mΩ", breaks=""), "abyc-e11")
    assert stated["breaking-capacity F1"] == "doubt" and "breaking-class F1" not in stated


def test_a_battery_of_cranking_amperes_alone_drives_no_megaamperes() -> None:
    """(12.6 V − 7.2 V) ÷ 700 A is 7.7 mΩ cold: 1.8 kA is a lower bound of what it drives, and no figure is above it."""
    for made in findings(CRANKED.format(more="", breaks=""), "abyc-e11"):
        for number, unit in re.findall(r"([\d.e+]+) (kA|MA)\b", made.message + made.mend):
            assert unit == "kA" and float(number) <= 20, made.message


# ---- two figures of one source


LIMITED = """battery B, lithium, 12 V, 100 Ah, self-limiting 200 A{short}
from B
fuse F1, blade, 30 A, 32 V, breaks 1 kA at 32 V, lets through 5 kA2s
cable W1, 4 mm2, 5 m
load L, draws 3 A
"""


def test_until_its_electronics_act_a_source_gives_what_its_maker_says() -> None:
    """ABYC E-11 takes a lithium battery's own short-circuit figure (second-hand): the device meets it before any
    electronics have acted.  What lasts is the limit, so that the smallest fault is no more than that."""
    assert found(LIMITED.format(short="")) == {}
    danger = one(LIMITED.format(short=", short-circuit 5 kA"), "breaking-capacity", "F1")
    assert danger.severity.value == "danger" and "5 kA" in danger.message
    assert "breaking-capacity F1" not in found(LIMITED.format(short=", short-circuit 900 A"))
    study = examined(LIMITED.format(short=", short-circuit 5 kA")).study
    (pair,) = study.faults().pairs.values()
    assert (pair[0].peak_a, pair[0].limit_a, pair[1].limit_a) == (5000, 200, 200)


def test_what_a_source_gives_for_milliseconds_heats_nothing_for_minutes() -> None:
    """Behind a thermal breaker that takes seconds a charger's 4 kA are long over: what lasts is its 20 A."""
    text = """battery B, AGM, 12 V, 100 Ah, resistance 25 mΩ
charger C, 14.4 V, 20 A, self-limiting{}
bus P, 300 A
from B
fuse F1, class T, 100 A, 125 V, breaks 10 kA at 125 V, opens at 135 % in 10 s to 1000 s, opens at 300 % in 1 s to 3 s
to P
from C
fuse F2, part QUICK, 30 A
to P
from P
breaker Q3, thermal, 15 A, 32 V, breaks 3 kA at 32 V, opens at 135 % in 10 s to 60 s, opens at 1000 % in 0.1 s to 0.4 s
cable W3, 6 mm2, 1 m
load L, draws 3 A
"""
    said, peaks = found(text.format("")), found(text.format(", short-circuit 4 kA"))
    assert not [key for key in said if key.startswith(("harmed", "breaking"))]
    # 12.6 V ÷ 22.5 mΩ and 4 kA together are more than the 3 kA that Q3 breaks
    assert {k: v for k, v in peaks.items() if k not in said} == {"breaking-capacity Q3": "danger"}


def test_a_limit_above_the_short_circuit_current_is_a_contradiction() -> None:
    said = one(LIMITED.format(short=", short-circuit 100 A"), "source-resistance", "B")
    assert said.severity.value == "doubt" and "200 A" in said.message and "100 A" in said.message


STATED = """battery B, AGM, 12 V, 100 Ah, resistance {ohm}, short-circuit {short}
from B
fuse F1, part QUICK, 100 A
cable W1, 35 mm2, 1 m
load L, draws 3 A
"""


@pytest.mark.parametrize(
    ("ohm", "short", "agrees"),
    [
        # 12 V ÷ 1 mΩ is 12 kA
        ("1 mΩ", "100 A", False),
        ("3 mΩ", "40 kA", False),
        ("3 mΩ", "3.5 kA", True),
        ("2.6 mΩ to 4 mΩ", "5.6 kA", True),
        ("3 mΩ to 30 mΩ", "500 A", True),
    ],
)
def test_resistance_and_short_circuit_current_agree(ohm: str, short: str, agrees: bool) -> None:
    assert ("source-resistance B" not in found(STATED.format(ohm=ohm, short=short))) == agrees


def test_a_source_gives_no_more_than_its_maker_says_at_least() -> None:
    """Of 100 A at most nothing opens a fuse of 100 A, whatever the resistance promises; and what it must break is the
    larger of the two."""
    text = STATED.format(ohm="1 mΩ", short="100 A")
    late = one(text, "not-opened-in-time", "W1")
    assert "need never open" in late.message
    amps = re.search(r"draws ([\d.]+) A", late.message)
    assert amps is not None and float(amps[1]) < 100
    weak = text.replace("part QUICK, 100 A", "blade, 30 A, 32 V, breaks 1 kA at 32 V, lets through 5 kA2s")
    assert found(weak)["breaking-capacity F1"] == "danger"


# ---- voltages


CHARGED = """battery B, AGM, 12 V, 100 Ah, resistance 3 mΩ
charger C, 14.4 V, 60 A, self-limiting{greatest}
from C
fuse F0, part QUICK, 80 A
cable W0, 16 mm2, 0.1 m
to B
from B
fuse F1, part QUICK, 15 A
cable W1, 2.5 mm2, 1 m
load L, electronics, draws 3 A, 10 V to {stands} V
"""


@pytest.mark.parametrize("scene", ["", 'scene "x", L\n', 'scene "x", L, C\n'])
def test_a_full_battery_follows_what_charges_it(scene: str) -> None:
    text = CHARGED + scene
    high = one(text.format(greatest=", greatest 15.5 V", stands=15), "voltage-too-low", "L")
    assert high.severity.value == "fault" and "C" in high.message and "15.5 V" in high.message
    assert one(text.format(greatest="", stands=14), "voltage-too-low", "L").message.count("14.4 V") == 1
    assert "voltage-too-low L" not in found(text.format(greatest=", greatest 15.5 V", stands="15.5"))
    assert "voltage-too-low L" not in found(text.format(greatest="", stands="14.4"))


def test_what_a_system_is_said_to_rise_to_counts_for_its_loads() -> None:
    text = CHARGED.format(greatest="", stands=15)
    assert "voltage-too-low L" not in found(text)
    said = one(text, "voltage-too-low", "L", system=", greatest 15.5 V")
    assert "MAIN" in said.message and "15.5 V" in said.message and "at most 15 V" in said.message


APART = """battery B1, AGM, 12 V, 100 Ah, resistance 3 mΩ
battery B2, AGM, 12 V, 100 Ah, resistance 3 mΩ
charger C, 15.5 V, 60 A, self-limiting, on MAIN
selector S, 300 A, positions {positions}
from C
fuse F0, part QUICK, 80 A
cable W0, 16 mm2, 1 m
to B1
from B1
fuse F1, part QUICK, 80 A
to S 1
from B2
fuse F2, part QUICK, 80 A
to S 2
from B2
{between}fuse F3, part QUICK, 15 A
cable W3, 2.5 mm2, 1 m
load L, electronics, draws 3 A, 10 V to 15 V
"""


@pytest.mark.parametrize(
    ("positions", "between", "reached"),
    [
        # one position at a time never joins the banks; with `both` it does
        ("off 1 2", "", False),
        ("off 1 2 both", "", True),
        # nothing of the charger comes through a converter
        ("off 1 2 both", "converter K, 12 V to 12.5 V, 10 A, self-limiting, efficiency 90 %\nfrom K\n", False),
    ],
)
def test_too_much_voltage_comes_only_where_current_can(positions: str, between: str, reached: bool) -> None:
    text = APART.format(positions=positions, between=between)
    assert ("voltage-too-low L" in found(text)) == reached


@pytest.mark.parametrize("draws", ["10 A", "120 W"])
def test_a_load_that_cannot_be_fed_has_no_drop(draws: str) -> None:
    """100 m of 1.5 mm² out and back are 2.9 Ω warm: 10 A would lose 28.9 V of the 12 V there are."""
    text = f"{FROM_B}fuse F1, part QUICK, 15 A\ncable W1, 1.5 mm2, 100 m\nload L, draws {draws}\n"
    said = found(text)
    assert said["scene-not-carried L"] == "fault" and "voltage-drop L" not in said
    study = examined(text).study
    assert study.scenes().alone == {}
    for made in findings(text):
        percents = [float(p) for p in re.findall(r"([\d.]+) %", made.message)]
        assert all(p <= 100 for p in percents), made.message
    mend = one(text, "scene-not-carried", "L").mend
    assert mend.startswith("at least 50 mm² for W1")
    then = found(text.replace("1.5 mm2", "50 mm2"))
    assert not [key for key in then if key.startswith(("scene-not-carried", "voltage-drop"))]


def test_what_cannot_be_fed_in_one_position_only_is_said() -> None:
    text = """battery B1, AGM, 12 V, 100 Ah, resistance 3 mΩ
battery B2, AGM, 12 V, 100 Ah, resistance 3 mΩ
selector S, 300 A, positions off 1 2
from B1
fuse F1, part QUICK, 15 A
to S 1
from B2
fuse F2, part QUICK, 15 A
cable W2, 1.5 mm2, 100 m
to S 2
from S
cable W3, 2.5 mm2, 1 m
load L, draws 10 A
load M, draws 1 A
from S
to M
scene "a", L, S at 1
scene "b", M, S at 2
"""
    text = text.replace("load M, draws 1 A\nfrom S\nto M\n", "from S\ncable W4, 2.5 mm2, 1 m\nload M, draws 1 A\n")
    said = one(text, "scene-not-carried", "L")
    assert "when on by itself" in said.message
    share = re.search(r"at ([\d.]+) % of it", said.message)
    # 12 V ÷ 2.8 Ω, with W2 as warm as its 10 A make it, are 4.3 A
    assert share is not None and 41 < float(share[1]) < 45


# ---- currents that flow the other way


CHARGER = """battery B, AGM, 12 V, 100 Ah, resistance 3 mΩ
charger C, 14.4 V, {charges} A, self-limiting
bus P, 300 A
from B
fuse F1, part QUICK, 100 A
to P
from C
fuse F2, part QUICK, 125 A
to P
from P
fuse F3, part QUICK, 50 A
cable W2, 16 mm2, 1 m
load HEATER, draws {heater} A
from P
cable W1, 50 mm2, 1 m
load WINDLASS, motor, draws 10 A, starts 130 A for 20 s
"""


def test_what_charges_a_bank_runs_beside_no_start() -> None:
    """The start comes out of the battery through F1, which the charger's current enters by the same way: there is
    nothing to add.  130 A are carried for 100 s and more."""
    assert "start-opens-device F1" not in found(CHARGER.format(charges=90, heater="0.5"))
    # what a load draws beside does flow with it: 130 A + 80 A, for which F1 holds some 6 s only
    late = one(CHARGER.format(charges=9, heater=80), "start-opens-device", "F1")
    assert "210 A" in late.message and "80 A of other loads" in late.message
    # and a charger that feeds that load may be off
    assert one(CHARGER.format(charges=90, heater=80), "start-opens-device", "F1").message == late.message


TWO_BANKS = """battery B1, AGM, 12 V, 100 Ah, resistance 3 mΩ
battery B2, AGM, 12 V, 10 Ah, resistance {ohm}
selector S, 300 A, positions off 1 2
bus P, 300 A
from B1
fuse F1, part QUICK, 300 A
to S 1
from B2
fuse F2, part QUICK, 60 A
to S 2
from S
to P
from P
fuse F4, part QUICK, 50 A
cable W4, 10 mm2, 1 m
load L4, draws 1 A
from P
fuse F5, part QUICK, 50 A
cable W5, 10 mm2, 1 m
load L5, draws 1 A
"""


def test_devices_are_compared_over_currents_that_flow_to_the_lower_one() -> None:
    """B2 gives 12.6 V ÷ (0.9 · 300 mΩ) = 47 A at most, less than F2's rating, so that F2 opens on no fault behind F4.
    That B1 would drive 4.7 kA back through F2 while the selector passes from one to the other is no fault behind F4."""
    assert "not-coordinated F2" not in found(TWO_BANKS.format(ohm="300 mΩ"))
    strong = one(TWO_BANKS.format(ohm="30 mΩ"), "not-coordinated", "F2")
    # 12.6 V ÷ 27 mΩ, at the device
    assert re.search(r"to 4[67]\d A", strong.message), strong.message


# ---- mends that mend


@pytest.mark.parametrize("milliohms", ["1", "1.0729", "1.5", "2.13", "3.333", "9.87"])
def test_a_breaking_capacity_that_is_named_is_enough(milliohms: str) -> None:
    text = f"battery B, AGM, 12 V, 100 Ah, resistance {milliohms} mΩ\nfrom B\n"
    text += "fuse F1, class T, 15 A, 32 V, breaks {} at 32 V, opens at 135 % in 100 s to 1000 s, "
    text += "opens at 500 % in 20 ms to 0.1 s, lets through 2 kA2s\ncable W1, 2.5 mm2, 1 m\nload L, draws 3 A\n"
    mend = one(text.format("1 kA"), "breaking-capacity", "F1").mend
    named = re.search(r"at least ([\d.]+ kA) at", mend)
    assert named is not None and "breaking-capacity F1" not in found(text.format(named[1]))
    # and not by more than the last of its three figures
    assert float(named[1].split()[0]) <= 12.6 / (0.9 * float(milliohms)) * 1.01


def test_figures_that_differ_are_shown_to_differ() -> None:
    text = "battery B, AGM, 12 V, 100 Ah, resistance 1.0737 mΩ\nfrom B\nfuse F1, class T, 15 A, 32 V, breaks 13 kA, "
    text += "opens at 135 % in 100 s to 1000 s, opens at 500 % in 20 ms to 0.1 s, lets through 2 kA2s\n"
    text += "cable W1, 2.5 mm2, 1 m\nload L, draws 3 A\n"
    # 12.6 V ÷ (0.9 · 1.0737 mΩ) = 13 039 A
    assert "13.039 kA can flow" in one(text, "breaking-capacity", "F1").message


RETURN = FROM_B + "fuse F1, part QUICK, 15 A\ncable W1, {live} mm2, 16 m, return {back} mm2\nload L, draws 10 A\n"


@pytest.mark.parametrize(
    ("live", "back", "mend", "then"),
    [
        # both ways are too thin together: the live conductor's 4 mm² for both would lose 1.67 V of the 1.2 V allowed
        ("4", "2.5", "at least 6 mm² for W1, there and back", ("6", "6")),
        # the return alone loses too much, and no live conductor mends that
        ("120", "2.5", "at least 4 mm² for the return of W1", ("120", "4")),
        ("4", "4", "at least 6 mm² for W1, there and back", ("6", "6")),
    ],
)
def test_the_mend_of_a_drop_names_the_return(live: str, back: str, mend: str, then: tuple[str, str]) -> None:
    assert one(RETURN.format(live=live, back=back), "voltage-drop", "L").mend == mend
    assert "voltage-drop L" not in found(RETURN.format(live=then[0], back=then[1]))


TOGETHER = """battery B, AGM, 12 V, 100 Ah, resistance 3 mΩ
bus P, 300 A
from B
fuse F1, part QUICK, 100 A
cable W1, {} mm2, 20 m
to P
from P
load L1, draws 240 W
from P
load L2, draws 360 W
"""


def test_the_mend_of_a_drop_holds_with_all_on_that_cannot_be_fed_as_it_is() -> None:
    before = found(TOGETHER.format(4))
    assert before["scene-not-carried L2"] == "fault"
    mends = [f.mend for f in findings(TOGETHER.format(4)) if f.rule == "voltage-drop"]
    sizes = [float(m[1]) for mend in mends if (m := re.fullmatch(r"at least ([\d.]+) mm² for W1", mend))]
    assert len(sizes) == len(mends) == 2
    after = found(TOGETHER.format(f"{max(sizes):g}"))
    assert not [key for key in after if key.startswith(("voltage-drop", "scene-not-carried"))]
    # the next smaller one would not do
    assert "voltage-drop L1" in found(TOGETHER.format(35)) and max(sizes) == 50
