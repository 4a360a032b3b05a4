"""The judge's own tests of the rules that do not speak of protection: little circuits, worked out by hand."""

from __future__ import annotations

from .test_judge import ISO, judged, plain, rules_of


def test_a_sound_little_boat_has_nothing_wrong() -> None:
    assert rules_of(plain()) == set()
    assert judged(plain()).open == set()


def test_too_much_load() -> None:
    # 20 A fuse, 35 A cable
    assert rules_of(plain(load="draws 21 A")) == {("device-overloaded", "F1")}
    assert rules_of(plain(load="draws 36 A")) == {("device-overloaded", "F1"), ("conductor-overloaded", "W2")}
    assert rules_of(plain(load="draws 252 W")) == {("device-overloaded", "F1")}


def test_what_the_maker_asks_for() -> None:
    asks = "draws 5 A, asks fuse slow 15 A to 20 A, asks cable at least 2.5 mm2"
    assert rules_of(plain(f1="20 A, slow", load=asks)) == set()
    assert rules_of(plain(f1="25 A, slow", load=asks)) == {("device-not-as-asked", "L")}
    assert rules_of(plain(f1="20 A, fast", load=asks)) == {("device-not-as-asked", "L")}
    assert rules_of(plain(f1="20 A, slow", load=asks).replace("fuse", "breaker", 1)) == {("device-not-as-asked", "L")}
    assert ("device-not-as-asked", "L") in judged(plain(load=asks)).open
    assert rules_of(plain(f1="15 A, slow", w2="1.5 mm2, 3 m", load=asks)) == {("cable-less-than-asked", "W2")}


def test_what_is_made_and_what_is_not() -> None:
    assert rules_of(plain(f1="blade, 17 A")) == {("rating-not-made", "F1")}
    assert rules_of(plain(f1="blade, 7.5 A")) == set()
    assert rules_of(plain(f1="17 A, comes in 17 A 19 A")) == set()
    assert rules_of(plain(f1="20 A, 10 V")) == {("device-voltage", "F1")}


def test_sizes_places_and_voltages() -> None:
    head = ISO + "place BILGE, petrol vapour\n"
    assert rules_of(plain(w2="0.75 mm2, 3 m", f1="5 A, blade")) == {("conductor-too-small", "W2")}
    assert rules_of(plain(w2="0.75 mm2, 3 m, in sheath", f1="5 A, blade")) == set()
    assert rules_of(plain(f1="20 A, in BILGE"), head) == {("not-ignition-protected", "F1")}
    assert rules_of(plain(f1="20 A, in BILGE, ignition protected"), head) == set()
    assert rules_of(plain(load="draws 5 A, 24 V")) == {("wrong-voltage", "L")}
    assert rules_of(plain(load="draws 5 A, 18 V to 32 V")) == {("wrong-voltage", "L")}
    assert rules_of(plain(load="draws 5 A, 9 V to 32 V")) == set()


def test_bridged_joined_and_not_fed() -> None:
    assert ("device-bypassed", "F1") in rules_of(plain() + "from B\ncable W9, 10 mm2, 1 m\nto L\n")
    assert ("not-fed", "M") in rules_of(
        plain() + "joint J\nfrom J\nfuse F9, 5 A\ncable W9, 4 mm2, 1 m\nload M, draws 1 A\n"
    )
    two = ISO + "system DC24, 24 V, negative earthed\nbattery C, 24 V\nfrom C\nfuse F9, 5 A\nto X\njoint X\n"
    assert any(rule == "systems-joined" for rule, _ in rules_of(plain() + "from X\ncable W9, 10 mm2, 1 m\nto L\n", two))


def test_ratings_of_switch_and_bus() -> None:
    text = """
battery B, 12 V
from B
fuse F0, 100 A
switch S, {} A
bus POS, {} A
from POS
fuse F1, {} A
cable W1, 35 mm2, 1 m
load L, draws 5 A
from POS
fuse F2, 30 A
cable W2, 35 mm2, 1 m
load M, draws 5 A
"""
    # 100 A can come; 40 + 30 = 70 A can leave
    assert rules_of(text.format(70, 70, 40)) == set()
    assert rules_of(text.format(69, 69, 40)) == {("current-rating", "S"), ("current-rating", "POS")}
    # 80 + 30 = 110 A could leave, but no more than 100 A can come
    assert rules_of(text.format(100, 99, 80)) == {("current-rating", "POS")}


def test_what_heat_leaves_of_a_device() -> None:
    head = ISO + "place ER, ambient 50 °C, engine space\nplace HOT, ambient 60 °C\nplace COLD, ambient 10 °C\n"

    def overloaded(amps: float, place: str) -> bool | None:
        text = plain(f1=f"20 A, carries 100 % at 30 °C, carries 80 % at 50 °C, in {place}", load=f"draws {amps:g} A")
        made = judged(text, head)
        key = ("device-overloaded", "F1")
        return True if key in made.wrong else None if key in made.open else False

    # 80 % of 20 A at 50 °C; no more where it is hotter; nobody says how much less; 30 °C and below: all of it
    assert [overloaded(amps, "ER") for amps in (16, 16.1)] == [False, True]
    assert [overloaded(amps, "HOT") for amps in (1, 16.1)] == [None, True]
    assert [overloaded(amps, "COLD") for amps in (20, 20.1)] == [False, True]
    # halfway between the two figures
    head += "place WARM, ambient 40 °C\n"
    assert [overloaded(amps, "WARM") for amps in (18, 18.1)] == [False, True]
