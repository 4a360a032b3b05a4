"""Voltages, currents that flow the other way, and mends: designs that once were judged wrongly, and what they must say.

The figures are reckoned beside each check."""

from __future__ import annotations

import re

import pytest

from tests.rules.test_faults_found_by_attack_2 import FROM_B, examined, findings, found, one

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
    assert "13.04 kA can flow" in one(text, "breaking-capacity", "F1").message


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
