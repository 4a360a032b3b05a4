"""The judge's own tests: little circuits whose answer is worked out by hand beside them."""

from __future__ import annotations

import math

import pytest

from .protection import Verdict
from .reading import circuit_of
from .wrongs import Judgement, judge

ISO = 'boat "Little", 9 m, rulebook iso-13297\nsystem DC12, 12 V, negative earthed\ncables, insulation 70 °C\n'
CFR = ISO.replace("iso-13297", "cfr-183").replace("70 °C", "75 °C")
ABYC = CFR.replace("cfr-183", "abyc-e11")


def judged(text: str, head: str = ISO) -> Judgement:
    return judge(circuit_of(head + text))


def conductor(text: str, name: str, head: str = ISO) -> Verdict:
    return judged(text, head).conductors[name]


def rules_of(text: str, head: str = ISO) -> set[tuple[str, str]]:
    return judged(text, head).wrong


PLAIN = """
battery B, 12 V
from B
cable W1, {w1}
fuse F1, {f1}
cable W2, {w2}
load L, {load}
"""


def plain(w1: str = "10 mm2, 0.1 m", f1: str = "20 A", w2: str = "4 mm2, 3 m", load: str = "draws 5 A") -> str:
    return PLAIN.format(w1=w1, f1=f1, w2=w2, load=load)


# ---- let-through and protection


def test_a_fuse_guards_what_follows_it() -> None:
    # 4 mm² at 70 °C may carry 35 A (ISO annex, from memory); the 20 A fuse is all that reaches it
    made = conductor(plain(), "W2")
    assert (made.let_through_a, made.allowed_a, made.verdict) == (20, 35, "protected")


def test_before_the_fuse_the_battery_is_unlimited_and_the_length_counts() -> None:
    near = conductor(plain(w1="10 mm2, 0.2 m"), "W1")
    assert (near.let_through_a, near.verdict) == (math.inf, "within distance")
    far = conductor(plain(w1="10 mm2, 0.201 m"), "W1")
    assert far.verdict == "too far" and sorted(far.longest_m) == pytest.approx([0.201])
    assert conductor(plain(w1="10 mm2, 5 m, in conduit"), "W1").verdict == "within distance"


def test_a_fuse_larger_than_the_conductor_is_no_protection() -> None:
    made = judged(plain(f1="40 A"))
    assert made.conductors["W2"].verdict == "unprotected"
    assert ("conductor-unprotected", "W2") in made.wrong


def test_a_fuse_too_large_at_the_end_of_the_stretch() -> None:
    # 65 A is the table's value of 10 mm²; an 80 A fuse at its end guards it no more
    assert conductor(plain(f1="65 A", w2="10 mm2, 1 m"), "W1").verdict == "within distance"
    assert conductor(plain(f1="80 A", w2="16 mm2, 1 m"), "W1").verdict == "unprotected"


def test_the_american_law_allows_half_as_much_again() -> None:
    # 10 AWG at 75 °C: 40 A, so 60 A in a circuit of 12 V (33 CFR 183.455)
    made = conductor(plain(f1="60 A", w2="10 AWG, 3 m", w1="6 AWG, 0.1 m"), "W2", CFR)
    assert (made.allowed_a, made.verdict) == (60, "protected")


def test_the_voluntary_standard_takes_the_next_standard_rating() -> None:
    # 8 AWG at 75 °C: 65 A is no standard rating, the next is 70; 10 AWG: 40 A is one
    assert conductor(plain(w2="8 AWG, 1 m"), "W2", ABYC).allowed_a == 70
    assert conductor(plain(w2="10 AWG, 1 m"), "W2", ABYC).allowed_a == 40


def test_seven_inches_forty_and_seventy_two() -> None:
    for head, limits in ((CFR, (1.8288, 1.8288)), (ABYC, (0.1778, 1.8288))):
        for covering, limit in zip(("", ", in sheath"), limits, strict=True):
            for metres, verdict in ((limit, "within distance"), (limit + 0.0001, "too far")):
                made = conductor(plain(w1=f"10 AWG, {metres:.4f} m{covering}", w2="10 AWG, 1 m"), "W1", head)
                assert made.verdict == verdict, (head, covering, metres)


def test_forty_inches_from_a_bus() -> None:
    text = """
battery B, 12 V
from B
fuse F0, 200 A
bus POS
from POS
cable W1, 10 AWG, {}
fuse F1, 30 A
cable W2, 10 AWG, 1 m
load L, draws 5 A
"""
    for way, verdict in (
        ("0.1778 m", "within distance"), ("0.1779 m", "too far"), ("1.016 m, in sheath", "within distance"),
        ("1.017 m, in sheath", "too far"),
    ):  # fmt: skip
        assert conductor(text.format(way), "W1", CFR).verdict == verdict


def test_no_device_at_all() -> None:
    assert (
        conductor("battery B, 12 V\nfrom B\ncable W1, 10 mm2, 0.1 m\nload L, draws 5 A\n", "W1").verdict
        == "unprotected"
    )


def test_a_stretch_that_ends_in_nothing() -> None:
    made = conductor("battery B, 12 V\nfrom B\ncable W1, 10 mm2, 0.1 m\nfuse F1, 20 A\n", "W1")
    assert made.verdict == "unprotected"


def test_several_devices_share_a_conductor() -> None:
    text = """
battery B, 12 V
from B
cable W1, 10 mm2, 0.1 m
bus POS
from POS
fuse F1, {} A
cable W2, 16 mm2, 1 m
load L, draws 5 A
from POS
cable W4, 16 mm2, {} m
fuse F2, 30 A
cable W3, 10 mm2, 1 m
load M, draws 5 A
"""
    # 65 A is allowed: 30 + 30 = 60 is less, 40 + 30 = 70 is more
    assert conductor(text.format(30, 0.1), "W1").verdict == "within distance"
    assert conductor(text.format(40, 0.1), "W1").verdict == "unprotected"
    # the branch counts: 0.1 m to POS and 0.15 m on to F2
    assert conductor(text.format(30, 0.15), "W1").verdict == "too far"


def test_two_batteries_add_up() -> None:
    text = """
battery B1, 12 V
battery B2, 12 V
from B1
fuse F1, 100 A
to POS
from B2
fuse F2, 80 A
to POS
bus POS
from POS
cable W1, {} mm2, 5 m
load L, draws 50 A
"""
    made = conductor(text.format(35), "W1")
    assert (made.let_through_a, made.allowed_a, made.verdict) == (180, 160, "unprotected")
    assert conductor(text.format(50), "W1").verdict == "protected"


def test_a_source_at_the_far_end() -> None:
    text = """
battery B, 12 V
charger C, 12 V, 30 A{}
from B
fuse F1, 50 A
cable W1, 6 mm2, 4 m
to POS
bus POS
from C
to POS
"""
    # W1 is 45 A: 50 A through the fuse from the one end; the charger, unlimited, from the other
    made = judged(text.format(""))
    assert made.conductors["W1"].let_through_a == math.inf
    assert made.conductors["W1"].verdict == "unprotected"
    # a charger that limits itself to 30 A: the worse end is the battery's, 50 A
    assert judged(text.format(", self-limiting")).conductors["W1"].let_through_a == 50


def test_a_self_limiting_source_guards() -> None:
    text = "charger C, 12 V, 30 A, {}\nfrom C\ncable W1, 4 mm2, 9 m\nload L, draws 5 A\n"
    assert conductor(text.format("self-limiting"), "W1").let_through_a == 30
    assert conductor(text.format("self-limiting 34 A"), "W1").let_through_a == 34
    assert conductor(text.format("self-limiting 36 A"), "W1").verdict == "unprotected"


def test_a_ring_is_fed_from_both_ends() -> None:
    text = """
battery B, 12 V
from B
fuse F0, 100 A
bus POS
from POS
fuse F1, 30 A
cable W1, 6 mm2, 2 m
joint J1
cable W2, 6 mm2, 2 m
fuse F2, 30 A
to POS
from J1
cable W3, 6 mm2, 2 m
load L, draws 5 A
"""
    made = judged(text).conductors
    # the tap is fed by both: 60 A in 45 A cable; W1 without itself gets 30 A at either end
    assert (made["W3"].let_through_a, made["W3"].verdict) == (60, "unprotected")
    assert (made["W1"].let_through_a, made["W1"].verdict) == (30, "protected")


SELECTOR = """
battery B1, 12 V
battery B2, 12 V
selector S, positions off 1 2{}
from B1
fuse F1, 40 A
to S 1
from B2
fuse F2, 50 A
to S 2
from S
cable W1, 16 mm2, 5 m
load L, draws 10 A
"""


def test_a_selector_excludes_unless_it_has_both() -> None:
    assert conductor(SELECTOR.format(""), "W1").let_through_a == 50
    assert conductor(SELECTOR.format(" both"), "W1").let_through_a == 90


def test_a_diode_lets_nothing_back() -> None:
    text = """
battery B, 12 V
charger C, 12 V, 30 A, self-limiting
from C
cable W1, 4 mm2, 3 m
diode D
fuse F1, 60 A
to B
"""
    assert conductor(text, "W1").let_through_a == 30
    assert conductor(text.replace("diode D\n", ""), "W1").let_through_a == 60


def test_cranking_is_exempt_and_must_be_true() -> None:
    text = """
battery B, 12 V
from B
cable W1, 70 mm2, 3 m, cranking
{}
load STARTER, draws 250 A, cranking
"""
    made = judged(text.format("switch S1, 400 A"))
    assert made.conductors["W1"].verdict == "cranking"
    assert not made.wrong
    made = judged(text.format("joint J") + "from J\ncable W2, 4 mm2, 1 m\nload PUMP, draws 5 A\n")
    assert ("cranking-misdeclared", "W1") in made.wrong
    assert ("conductor-unprotected", "W2") in made.wrong


def test_an_engine_space_takes_its_share() -> None:
    head = ISO + "place ER, ambient 60 °C, engine space\nplace HOT, ambient 50 °C\n"
    assert conductor(plain(w2="4 mm2, 3 m, 1 m in HOT"), "W2", head).allowed_a == pytest.approx(35 * math.sqrt(20 / 40))
    made = conductor(plain(w2="4 mm2, 3 m, in ER"), "W2", head)
    assert made.allowed_a == pytest.approx(35 * math.sqrt(10 / 40))
    # no figure for 60 °C insulation in an engine space: it may carry nothing there
    assert conductor(plain(w2="4 mm2, 3 m, in ER, insulation 60 °C"), "W2", head).allowed_a == 0


def test_a_longer_way_up_counts_from_where_the_supply_is() -> None:
    text = """
battery B, 12 V
from B
cable W1, 50 mm2, {} m
joint J
cable W2, 10 mm2, 0.1 m
fuse F1, 30 A
cable W3, 10 mm2, 4 m
load L, draws 5 A
from J
fuse F2, 100 A
cable W4, 50 mm2, 4 m
load M, draws 5 A
"""
    # nothing is protected before F1: the way is counted from the battery
    assert conductor(text.format(0.1), "W2").verdict == "within distance"
    assert conductor(text.format(0.11), "W2").verdict == "too far"
