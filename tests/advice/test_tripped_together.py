"""Readings that cannot both be so are told, and not both weighed; those that can are left alone."""

from __future__ import annotations

import json

import pytest

from linter.advice.tripped.make import Answer, why
from linter.advice.tripped.show import as_json, as_markdown, as_text
from linter.advice.tripped.table import table
from linter.model.build import build
from linter.source.files import Reader

# F1 feeds SUB, and from there PUMP and LAMP; HORN stands beside it, F0 before both
BOAT = """boat "Branch", 9 m, rulebook iso-13297
system DC12, DC, 12 V, negative earthed, least 10.5 V
place BOX, ambient 30 °C
cables, insulation 105 °C, class 5, tinned
battery B, AGM, 12 V, 200 Ah, resistance 4 mohm
from B
fuse F0, class T, 100 A, 125 V
cable W0, 35 mm2, 2 m
bus POS, 200 A
from POS
breaker F1, thermal, 30 A, 32 V, breaks 5 kA, opens at 135 % in 60 s to 1800 s, opens at 200 % in 8 s to 60 s,
  opens at 1000 % in 20 ms to 0.3 s, in BOX
cable W1, 6 mm2, 4 m
bus SUB, 50 A
from SUB
cable W2, 4 mm2, 2 m
load PUMP, motor, draws 12 A, starts 40 A for 0.3 s
from SUB
cable W3, 4 mm2, 2 m
load LAMP, light, draws 8 A
from POS
fuse F2, blade, 10 A, 32 V
cable W4, 2.5 mm2, 3 m
load HORN, draws 5 A
"""


def asked(*measured: str, when: str = "") -> Answer:
    source = Reader().design_text(BOAT)
    return why(source, build(source), "F1", when, measured)


@pytest.mark.parametrize(
    ("readings", "says"),
    [
        # in one row: the device, its cable
        (("24 A at F1", "3 A at W1"), "in one row"),
        (("24 A", "3 A in W1"), "in one row"),
        (("24 A", "3 A"), "only one of them"),
        (("30 A at W2", "6 A at PUMP"), "in one row"),
        # behind a branch no more than comes by
        (("12 A", "20 A at W2"), "cannot be more"),
        (("20 A", "30 A at PUMP"), "cannot be more"),
        (("20 A", "10 A at W0"), "cannot be more"),
        (("5 A at F0", "19 A"), "cannot be more"),
        # voltage only falls
        (("12.4 V at POS", "13.6 V at LAMP"), "voltage only falls"),
        (("11.2 V at SUB", "12.4 V at LAMP"), "voltage only falls"),
        (("12.0 V at B", "13.0 V at PUMP"), "voltage only falls"),
        (("12 V at LAMP", "10 V at LAMP"), "only one of them"),
        # it stands in its place
        (("20 °C at F1", "60 °C at BOX"), "colder"),
        (("40 °C at BOX", "75 °C at BOX"), "only one of them"),
    ],
)  # fmt: skip
def test_two_that_cannot_both_be_so_are_told_and_neither_is_counted(readings: tuple[str, str], says: str) -> None:
    for order in (readings, readings[::-1]):
        answer, bare = asked(*order, when="running"), asked(when="running")
        assert len(answer.conflicts) == 1
        (found,) = answer.conflicts
        assert says in found.says and found.kept < 0
        assert not any(h.counted for h in answer.heard)
        # nothing is weighed: the order is that of no reading at all
        assert [s.score for s in answer.suspects] == [s.score for s in bare.suspects]
        text = " ".join(" ".join(as_text(answer)).split())
        assert "These two cannot both be so" in text and "Neither is counted" in text and "same moment" in text
        assert "These two cannot both be so" in as_markdown(answer)
        (told,) = json.loads(json.dumps(as_json(answer)))["conflicts"]
        assert sorted(told["readings"]) == sorted(readings) and told["counted"] is None


@pytest.mark.parametrize(
    ("short", "other"),
    [
        ("0.2 ohm without load", "20 A"), ("0.02 ohm", "19 A"), ("0.02 ohm without load", "2 ohm"),
        ("600 A", "19 A"), ("20 mohm without load", "19 A at W1"),
    ],
)  # fmt: skip
def test_of_a_short_the_reading_counts_all_the_same(short: str, other: str) -> None:
    """To take it for none, and to put power on again to measure, is dangerous."""
    answer = asked(other, short, when="running")
    assert len(answer.conflicts) == 1 and answer.conflicts[0].kept == 1
    assert [h.counted for h in answer.heard] == [False, True]
    assert answer.suspects[0].cause.name.startswith(("short-", "chafed"))
    text = " ".join(" ".join(as_text(answer)).split())
    assert "leave the circuit dead" in text and "without power first" in text
    assert "at the same moment, with the same loads on" not in text


@pytest.mark.parametrize(
    "readings",
    [
        # within what clamps and meters err
        ("20 A", "22 A at W1"), ("20 A", "16.5 A at W1"), ("12.4 V at POS", "12.5 V at LAMP"), ("32 °C at F1", "38 °C at BOX"),
        # of another branch, or only a part of it
        ("20 A", "8 A at LAMP"), ("20 A", "12 A at W2", "8 A at W3"), ("20 A", "5 A at HORN", "26 A at W0"),
        ("5 A at HORN", "20 A"), ("12.4 V at HORN", "11.9 V at LAMP"), ("11.9 V at HORN", "12.4 V at LAMP"),
        # of other moments: as it starts, and after it has opened
        ("20 A", "48 A"), ("12.3 V across F1", "19 A"), ("0 V at LAMP", "20 A"), ("12.3 V across F1", "0.01 V across F1"),
        # insulation that is sound, and what is connected
        ("open circuit without load", "0.6 ohm"), ("2.2 MΩ without load", "19 A"), ("0.5 ohm", "20 A"),
        # what drops, and what is warm beside its place
        ("12.4 V at POS", "10.2 V at LAMP"), ("70 °C at F1", "35 °C at BOX"),
    ],
)  # fmt: skip
def test_those_that_can_are_left_alone(readings: tuple[str, ...]) -> None:
    assert not asked(*readings).conflicts
    assert not asked(*readings[::-1]).conflicts


def test_a_locked_motor_and_a_running_one_are_of_two_moments() -> None:
    """8 A of the lamp and 40 A of a locked pump, and 20 A while all runs; a clamp within a fifth of it is that too."""
    answer = asked("42 A", "20 A", when="running")
    assert answer.heard[0].verdict == "current-locked" and not answer.conflicts


def test_as_a_load_starts_what_lies_between_is_no_contradiction() -> None:
    assert not asked("20 A", "31 A", when="starting").conflicts
    assert asked("19 A", "31 A", when="running").conflicts


def test_what_cannot_be_by_itself_contradicts_nothing() -> None:
    answer = asked("90000 A", "19 A")
    assert answer.heard[0].verdict == "cannot-be-current" and not answer.conflicts
    assert answer.heard[1].counted


def test_in_a_ring_only_what_is_in_one_row_is_compared() -> None:
    ring = BOAT + "from POS\nfuse F3, blade, 15 A, 32 V\ncable W5, 4 mm2, 3 m\nto SUB\n"
    source = Reader().design_text(ring)
    built = build(source)
    assert not why(source, built, "F1", "", ["5 A", "20 A at W0"]).conflicts
    assert not why(source, built, "F1", "", ["5 A", "12 A at PUMP"]).conflicts
    assert why(source, built, "F1", "", ["5 A", "20 A at W1"]).conflicts


def test_each_row_of_the_table_is_used() -> None:
    said = {
        name
        for readings in (
            ("24 A at F1", "3 A at W1"), ("24 A", "3 A"), ("12 A", "20 A at W2"), ("12.4 V at POS", "13.6 V at LAMP"),
            ("20 °C at F1", "60 °C at BOX"), ("0.02 ohm without load", "2 ohm"), ("0.2 ohm without load", "20 A"),
        )
        for conflict in asked(*readings).conflicts
        for name, words in table().conflicts.items()
        if words.rpartition("}")[2] and words.rpartition("}")[2] in conflict.says
    }  # fmt: skip
    assert said == set(table().conflicts)
