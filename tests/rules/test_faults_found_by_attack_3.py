"""Fault currents, heat and opening times: designs that once were judged wrongly, each with what it must say, and why.

Currents by hand: a battery of 12 V and r drives at most 1.05 · 12 V ÷ (0.9 · r), at least 0.95 · 1.05 · 12 V ÷ r
(IEC 61660-1, from memory); what a conductor stands is (k · S)² (IEC 60364-4-43, second-hand).
"""

from __future__ import annotations

import re

import pytest

from tests.rules.test_faults_found_by_attack_2 import FROM_B, examined, findings, found, one

ALTERNATOR = "alternator ALT, 14.4 V, 90 A{}\n"


# ---- one source of unknown resistance, and the known ones beside it


def test_what_the_known_sources_give_is_the_least_that_a_device_may_have_to_break() -> None:
    """12.6 V ÷ 0.9 mΩ and two metres of 50 mm² give some 8 kA without any alternator; F3 breaks 1 kA."""
    text = (
        "battery B, AGM, 12 V, 100 Ah, resistance 1 mΩ\n" + ALTERNATOR + "bus P, 300 A\nfrom B\n"
        "fuse F1, part QUICK, 150 A\ncable W1, 50 mm2, 1 m\nto P\nfrom ALT\nfuse F2, part QUICK, 125 A\n"
        "cable W2, 50 mm2, 1 m\nto P\nfrom P\nfuse F3, blade, 15 A, 32 V, breaks {} at 32 V, lets through 2 kA2s\n"
        "cable W3, 2.5 mm2, 3 m\nload L, draws 3 A\n"
    )
    made = one(text.format("", "1 kA"), "breaking-capacity", "F3")
    assert made.severity.value == "danger" and "at least 7.93 kA can flow" in made.message
    said = found(text.format("", "1 kA"))
    assert said["source-resistance ALT"] == "doubt"
    # what the unknown one adds may be too much, or not: that is asked of its maker
    assert "breaking-capacity F3" not in found(text.format("", "20 kA"))


SLOW = "breaker Q3, thermal, 15 A, 32 V, breaks 10 kA at 32 V, opens at 135 % in 60 s to 1800 s, {}\n"
BESIDE = (
    "battery B, AGM, 12 V, 100 Ah, resistance {ohm}\n" + ALTERNATOR.format("") + "bus P, 300 A\nfrom B\nto P\n"
    "from ALT\nto P\nfrom P\n{device}cable W3, 2.5 mm2, 3 m\nload L, draws 3 A\n"
)


def test_what_one_source_alone_does_is_said_whatever_another_adds() -> None:
    # 4.67 kA for two seconds are 44 MA²s and more; 2.5 mm² stands 0.1
    slow = SLOW.format("opens at 300 % in 1 s to 4.5 s, opens at 100000 % in 1 s to 2 s")
    assert one(BESIDE.format(ohm="3 mΩ", device=slow), "harmed-before-opening", "W3").severity.value == "danger"
    # 11.97 V over 30 mΩ and the run give 128 A, 8.5 times its rating: minutes
    slow = SLOW.format("opens at 10000 % in 1 s to 4.5 s")
    made = one(BESIDE.format(ohm="30 mΩ", device=slow), "not-opened-in-time", "W3")
    assert made.severity.value == "fault" and "128 A" in made.message and "min" in made.message


def test_without_length_no_current_is_told() -> None:
    """A conductor on the way lacks its length: it is asked for, and nothing is said of a current of 0 A."""
    text = FROM_B.replace("from B\n", "bus P, 300 A\nfrom B\n") + (
        "fuse F1, part QUICK, 100 A\ncable W1, 35 mm2{}\nto P\nfrom P\nfuse Q3, part QUICK, 15 A\n"
        "cable W3, 2.5 mm2, {} m\nload L, draws 3 A\n"
    )
    assert found(text.format("", 3)) == {"figure-missing W1": "doubt"}
    assert found(text.format(", 1 m", 3)) == {}
    # and with the length the verdict comes back: 60 m of 2.5 mm² let some 11 A through, less than 15 A
    assert found(text.format(", 1 m", 60))["not-opened-in-time W3"] == "fault"


# ---- what a start opens


WINDLASS = "cable W9, 50 mm2, 1 m\nload WINDLASS, motor, draws 50 A, starts {start} A for 2 s\n"


def test_each_bank_of_a_selector_must_start_the_load() -> None:
    """300 A are five times 60 A: F1 and F2 open within 20 ms to 0.1 s; the start lasts 2 s."""
    banks = "".join(f"battery B{k}, AGM, 12 V, 100 Ah, resistance 3 mΩ\n" for k in (1, 2))
    ways = "".join(f"from B{k}\nfuse F{k}, part QUICK, 60 A\ncable W{k}, 50 mm2, 1 m\nto S {k}\n" for k in (1, 2))
    text = banks + "selector S, 300 A, positions off 1 2\n" + ways + "from S\n" + WINDLASS
    assert found(text.format(start=300)) == {"start-opens-device F1": "fault", "start-opens-device F2": "fault"}
    assert found(text.format(start=60)) == {}
    # a scene in which the windlass runs from one bank is how it is started
    scene = text.format(start=300) + 'scene "Anchoring", WINDLASS, S at 1\n'
    assert {k for k in found(scene) if k.startswith("start")} == {"start-opens-device F1"}


@pytest.mark.parametrize(("start", "opens"), [(600, True), (150, False)])
def test_fuses_side_by_side_share_a_start(start: int, opens: bool) -> None:
    """Of 600 A each carries 300 A, which opens it; of 150 A 75 A, at which it holds for longer than 2 s."""
    text = FROM_B.replace("from B\n", "bus P, 900 A\nbus R, 900 A\nfrom B\nfuse F0, part QUICK, 300 A\nto P\n") + (
        "from P\nfuse F1, part QUICK, 60 A\nto R\nfrom P\nfuse F2, part QUICK, 60 A\nto R\nfrom R\n" + WINDLASS
    )
    said = found(text.format(start=start))
    assert {k for k in said if k.startswith("start")} == (
        {"start-opens-device F1", "start-opens-device F2"} if opens else set()
    )
    if opens:
        made = one(text.format(start=start), "start-opens-device", "F1")
        assert "20 ms at 300 A" in made.message and "600 A" in made.message


@pytest.mark.parametrize("facts", ["", ", self-limiting", ", resistance 20 mΩ"])
def test_an_alternator_starts_no_windlass(facts: str) -> None:
    text = FROM_B.replace("from B\n", ALTERNATOR.format(facts) + "bus P, 300 A\nfrom B\n") + (
        "fuse F1, part QUICK, 60 A\nto P\nfrom ALT\nto P\nfrom P\n" + WINDLASS
    )
    assert found(text.format(start=300))["start-opens-device F1"] == "fault"


# ---- a thinner return


RETURN = (
    "breaker Q3, thermal, 15 A, 32 V, breaks 10 kA at 32 V, opens at 135 % in 60 s to 1800 s, "
    "opens at 1000 % in 0.5 s to 1 s, lets through {} kA2s at 10 kA\ncable W3, {}\nload L, draws 3 A\n"
)


def test_a_thinner_return_is_as_hot_before_as_its_own_ampacity_makes_it() -> None:
    """2.5 mm² stands 111 kA²s behind 15 A (44 °C, k 133), whether it is the live side or the return."""
    alone = one(FROM_B + RETURN.format(118, "2.5 mm2, 1 m"), "harmed-before-opening", "W3")
    back = one(FROM_B + RETURN.format(118, "16 mm2, 1 m, return 2.5 mm2"), "harmed-before-opening", "W3")
    assert alone.severity.value == back.severity.value == "danger"
    assert "stands 111 kA²s (44 °C" in alone.message and "stands 111 kA²s (44 °C" in back.message
    assert back.message.startswith("the return of W3, 2.5 mm²") and back.mend.endswith("or a return of at least 4 mm²")
    assert found(FROM_B + RETURN.format(118, "16 mm2, 1 m, return 4 mm2")) == {}


def test_the_mend_names_what_must_grow() -> None:
    # √3000000 ÷ 142 = 12.2 mm²: both sides are less
    both = one(FROM_B + RETURN.format(3000, "2.5 mm2, 1 m, return 10 mm2"), "harmed-before-opening", "W3")
    assert both.mend.endswith("a conductor of at least 16 mm² with a return of at least 16 mm²")
    assert "harmed-before-opening W3" not in found(FROM_B + RETURN.format(3000, "16 mm2, 1 m, return 16 mm2"))
    live = one(FROM_B + RETURN.format(200, "2.5 mm2, 1 m, return 10 mm2"), "harmed-before-opening", "W3")
    assert live.mend.endswith("or a conductor of at least 4 mm²")


def test_at_most_is_rounded_down() -> None:
    """1.5 mm² behind 25 A stands 17.25 kA²s: a device that lets through what the mend says must do."""
    text = FROM_B + (
        "fuse F1, class T, 25 A, 125 V, breaks 20 kA at 125 V, opens at 135 % in 10 s to 1000 s, "
        "opens at 500 % in 20 ms to 0.1 s, lets through {} kA2s at 20 kA\ncable W1, 1.5 mm2, 1 m\nload L, draws 3 A\n"
    )
    made = one(text.format(30), "harmed-before-opening", "W1")
    said = re.search(r"at most ([\d.]+) kA²s at 4", made.mend)
    assert said is not None
    assert "harmed-before-opening W1" not in found(text.format(said[1]))


# ---- mends of what opens too late


def test_a_long_return_counts_in_the_mend() -> None:
    """40 m of return: with the size named the device opens in time."""
    text = FROM_B + (
        "breaker F1, thermal, 15 A, 32 V, breaks 5 kA at 32 V, opens at 135 % in 60 s to 1800 s, "
        "opens at 1000 % in 0.3 s to 2 s\ncable W1, {} mm2, 3 m, return 40 m\nload L, draws 1 A\n"
    )
    made = one(text.format(2.5), "not-opened-in-time", "W1")
    assert "a conductor of at least 16 mm², there and back" in made.mend
    assert "not-opened-in-time W1" not in found(text.format(16))
    assert "not-opened-in-time W1" in found(text.format(10))


def test_where_devices_share_the_current_no_size_is_guessed() -> None:
    text = "bus P, 300 A\n" + "".join(f"battery B{k}, AGM, 12 V, 100 Ah, resistance 8 mΩ\n" for k in (1, 2))
    for k in (1, 2):
        text += f"from B{k}\nfuse F{k}, class T, 100 A, 32 V, breaks 5 kA at 32 V, opens at 135 % in 60 s to 1800 s, "
        text += "opens at 1000 % in 1 s to 4 s, opens at 2000 % in 10 ms to 20 ms\nto P\n"
    made = one(text + "from P\ncable W1, 70 mm2, 4 m\nload L, draws 10 A\n", "not-opened-in-time", "W1")
    assert "1.73 kA in all" in made.mend and "mm²" not in made.mend


# ---- what limits itself, and what a scene leaves out


def test_heat_at_the_limit_of_what_limits_itself() -> None:
    """200 A are 1333 % of 15 A: up to 4.17 s by the curve, 167 kA²s; 2.5 mm² stands 111, 4 mm² more than that."""
    text = "battery B, lithium, 12 V, 100 Ah, self-limiting {} A\nfrom B\n" + SLOW.format(
        "opens at 600 % in 1 s to 4.5 s, opens at 2000 % in 1 s to 4 s"
    )
    text += "cable W3, {} mm2, 3 m\nload L, draws 3 A\n"
    made = one(text.format(200, 2.5), "harmed-before-opening", "W3")
    assert made.severity.value == "doubt" and "at 200 A" in made.message and "ask the maker of B" in made.mend
    assert found(text.format(200, 4)) == {}
    # 100 A for 4.5 s are 45 kA²s
    assert "harmed-before-opening W3" not in found(text.format(100, 2.5))


def test_a_scene_hides_no_position_of_a_selector() -> None:
    """B2 drives 94 A to the end of W3, 1.6 times F3's rating: minutes, whichever scene is written down."""
    text = """battery B1, AGM, 12 V, 100 Ah, resistance 3 mΩ
battery B2, AGM, 12 V, 10 Ah, resistance 100 mΩ
selector S, 300 A, positions off 1 2
bus P, 300 A
from B1
fuse F1, part QUICK, 100 A
cable W1, 35 mm2, 1 m
to S 1
from B2
fuse F2, part QUICK, 100 A
cable W2, 35 mm2, 1 m
to S 2
from S
to P
from P
fuse F3, part QUICK, 60 A
cable W3, 10 mm2, 5 m
load L, draws 3 A
"""
    scene = 'scene "Day", L, S at 1\n'
    late = {k: v for k, v in found(text).items() if k.startswith("not-opened")}
    assert late == {"not-opened-in-time W2": "fault", "not-opened-in-time W3": "fault"}
    assert {k: v for k, v in found(text + scene).items() if k.startswith("not-opened")} == late
    made = one(text + scene, "not-opened-in-time", "W3")
    assert "94.3 A" in made.message and "5.73 min" in made.message


def test_beside_a_told_device_one_without_a_curve_is_asked_about() -> None:
    text = FROM_B.replace("3 mΩ", "40 mΩ").replace("from B\n", "bus P, 300 A\nbus J, 300 A\nfrom B\n") + (
        "fuse F1, part QUICK, 300 A\nto P\nfrom P\nfuse F2, part QUICK, 60 A\nto J\nfrom P\n"
        "fuse F3, ANL, 15 A, 32 V, breaks 5 kA at 32 V\nto J\nfrom J\ncable W7, 50 mm2, 1 m\nload L, draws 5 A\n"
    )
    made = one(text, "not-opened-in-time", "W7")
    assert made.severity.value == "doubt" and "F3" in made.message and "ask the maker of F3" in made.mend
    assert not [f for f in findings(text) if f.severity.value == "fault"]


def test_states_of_the_switches_are_kept_apart_from_the_cases_of_loads() -> None:
    text = FROM_B.replace("from B\n", "selector S, 300 A, positions off 1 2\nfrom B\n") + (
        'fuse F1, part QUICK, 60 A\nto S 1\nfrom S\ncable W1, 10 mm2, 1 m\nload L, draws 3 A\nscene "x", L, S at 1\n'
    )
    study = examined(text).study
    assert len({c.opened for c in study.cases}) == 1 < len(study.fault_states)
