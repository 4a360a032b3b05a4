"""Figures that a finding compares differ in print wherever they differ."""

from __future__ import annotations

import re
from collections.abc import Callable

import pytest

from linter.model.build import build
from linter.rules.engine import examine
from linter.rules.words import amps, apart, energy, kiloamps, percents, seconds, volts
from linter.source.files import Reader

HEAD = """boat "Example", 9 m, rulebook abyc-e11
system DC12, 12 V, negative earthed
cables, insulation 105 °C, tinned
battery B, AGM, 12 V, 100 Ah, resistance 4 mΩ
"""
FUSE = "fuse F1, blade, {} A, 32 V, breaks 10 kA"


def said(text: str, rule: str, head: str = HEAD) -> str:
    """The one sentence of a rule."""
    design = build(Reader().design_text(head + text))
    assert design.whole, [m.message for m in design.mistakes]
    (finding,) = (f for f in examine(design).findings if f.rule == rule)
    return finding.message


@pytest.mark.parametrize("shown", [amps, kiloamps, seconds, energy, volts, percents])
@pytest.mark.parametrize("one", [0.178, 4.99951, 30.0, 118.0, 999.7, 1000.0, 12_340.0])
@pytest.mark.parametrize("part", [1e-2, 1e-4, 1e-6, 1e-8])
def test_the_larger_is_seen_to_be_larger(shown: Callable[[float, int], str], one: float, part: float) -> None:
    less, more = (_value(text) for text in apart(shown, one, one * (1 + part)))
    assert less < more


@pytest.mark.parametrize("shown", [amps, kiloamps, seconds, energy, volts, percents])
def test_what_is_the_same_is_written_as_always(shown: Callable[[float, int], str]) -> None:
    assert apart(shown, 33.3333333333, 33.3333333334) == (shown(33.3333333333, 0), shown(33.3333333334, 0))
    assert apart(shown, 20.0, 30.0) == (shown(20.0, 0), shown(30.0, 0))


@pytest.mark.parametrize(("value", "text"), [(999.7, "1 kA"), (999.4, "999 A"), (13_039.0, "13 kA")])
def test_kiloamps_without_powers_of_ten(value: float, text: str) -> None:
    assert kiloamps(value) == text


def test_a_large_current_without_powers_of_ten() -> None:
    assert (amps(12_000.0), energy(999.8)) == ("12000 A", "1 kA²s")


def test_an_overloaded_device() -> None:
    message = said(f"from B\n{FUSE.format(30)}\ncable W1, 10 AWG, 1 m\nload L, draws 30.0002 A\n", "device-overloaded")
    assert "is rated 30 A and is to carry 30.0002 A" in message


def test_a_load_for_hours() -> None:
    """80 % of 30 A is 24 A."""
    run = f"from B\n{FUSE.format(30)}\ncable W1, 10 AWG, 1 m\nload L, draws 24.0003 A, continuous\n"
    assert "is to carry 24.0003 A for hours, more than 80 % of it" in said(run, "device-overloaded")


def test_a_drop_beside_its_limit() -> None:
    """ABYC E-11 allows 10 % for what is not vital: the current that loses so much, and a hair more."""

    def run(draws_a: float) -> str:
        return f"from B\n{FUSE.format(30)}, resistance 0 mΩ\ncable W1, 12 AWG, 10 m\nload L, motor, draws {draws_a:.9g} A\n"

    low, high = 5.0, 20.0
    while high - low > 1e-6:
        middle = (low + high) / 2
        found = examine(build(Reader().design_text(HEAD + run(middle)))).findings
        low, high = (low, middle) if any(f.rule == "voltage-drop" for f in found) else (middle, high)
    message = said(run(high + 1e-5), "voltage-drop")
    loses = re.search(r"V, ([\d.]+) %", message)
    assert loses is not None and "allows 10 %" in message
    assert float(loses[1]) > 10


def test_a_holder_and_a_source() -> None:
    run = f"from B\n{FUSE.format('30.0001')}, holder 30 A\ncable W1, 10 AWG, 1 m\nload L, draws 3 A\n"
    assert "is rated 30.0001 A in a holder for 30 A" in said(run, "current-rating")
    charger = "charger C, 14.4 V, 20 A\nfrom C\n" + FUSE.format(30) + "\ncable W1, 10 AWG, 1 m\n"
    alone = HEAD.replace("battery B, AGM, 12 V, 100 Ah, resistance 4 mΩ\n", "")
    message = said(charger + "load L, draws 20.0004 A\n", "source-overloaded", alone)
    assert "gives 20 A; 20.0004 A is asked" in message


def test_a_distance_in_inches_and_in_millimetres() -> None:
    """7 in are allowed from a battery to its device (ABYC E-11; second-hand): 177.8 mm."""
    for length in ("0.17805 m", "7.004 in"):
        run = f"from B\ncable W1, 4 AWG, {length}\n{FUSE.format(30)}\ncable W2, 10 AWG, 1 m\nload L, draws 3 A\n"
        message = said(run, "protection-distance")
        far, allowed = re.search(r"guard for ([\d.]+) (?:mm|in)", message), re.search(r"allows ([\d.]+) ", message)
        assert far is not None and allowed is not None and float(far[1]) > float(allowed[1]), message


def test_a_rating_that_is_nearly_made() -> None:
    run = "from B\nfuse F1, blade, 10.0001 A, 32 V, breaks 10 kA, comes in 5 A 10 A\n"
    message = said(run + "cable W1, 10 AWG, 1 m\nload L, draws 3 A\n", "rating-not-made")
    assert "is given 10.0001 A" in message


def test_a_real_tie_is_no_finding() -> None:
    """What is as large as its limit keeps it."""
    run = f"from B\n{FUSE.format(30)}, holder 30 A\ncable W1, 10 AWG, 1 m\nload L, draws 30 A\n"
    found = {f.rule for f in examine(build(Reader().design_text(HEAD + run))).findings}
    assert not found & {"device-overloaded", "current-rating"}


def _value(text: str) -> float:
    number, unit = text.split()
    return float(number) * {"kA": 1000, "ms": 0.001, "min": 60, "kA²s": 1000, "MA²s": 1e6}.get(unit, 1)
