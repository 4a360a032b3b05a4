"""Batteries that limit themselves: when the limit opens nothing, and when that harms nobody."""

from __future__ import annotations

import pytest

from linter.model.build import build
from linter.rules.engine import examine
from linter.rules.finding import Finding, Severity
from linter.source.files import Reader
from linter.study.limited import lasting
from linter.study.study import study_of

# 33 CFR 183 (read): up to 1.5 times the table's amperes; 105 °C: 6 AWG 120 A, 2 AWG 210 A, 4 AWG 160 A
BOAT = """boat "L", 9 m, rulebook cfr-183
system DC12, 12 V, negative earthed
cables, insulation 105 °C, tinned
{source} B, {what}
from B
fuse F1, part main, {fuse}, resistance 0.1 mΩ
cable W1, {size}, 2 m
load HEATER, draws 60 A
part main, fuse
  class T, 125 V, breaks 20 kA at 125 V, opens at 135 % in 400 s to 3600 s, opens at 500 % in 0.5 s to 3 s
  opens at 1000 % in 60 ms to 0.25 s, opens at 2000 % in 12 ms to 30 ms, lets through 300 kA2s
"""
LITHIUM = "lithium, 12.8 V, 100 Ah, resistance 3 mΩ to 4 mΩ"


def found(limit: str, fuse: str = "150 A", size: str = "6 AWG", source: str = "battery") -> list[Finding]:
    what = f"{LITHIUM}{limit}" if source == "battery" else f"14.2 V, 150 A{limit}"
    text = BOAT.format(source=source, what=what, fuse=fuse, size=size)
    result = examine(build(Reader().design_text(text)))
    assert result.complete, result.mistakes
    return [f for f in result.findings if f.rule == "limited-opens-nothing"]


def test_a_limit_below_what_opens_the_fuse_and_above_what_the_conductor_carries() -> None:
    (one,) = found(", self-limiting 150 A")
    assert one.severity is Severity.DOUBT and one.subject == "B" and one.guard == ("F1",)
    assert all(words in one.message for words in ("150 A", "W1", "120 A", "F1 need never open"))
    assert "what the electronics do" in one.mend


@pytest.mark.parametrize(
    ("limit", "fuse", "size"),
    [
        (", self-limiting 150 A", "150 A", "2 AWG"),  # the conductor carries it for ever
        (", self-limiting 115 A", "150 A", "6 AWG"),
        (", self-limiting 1500 A", "150 A", "6 AWG"),  # ten times the rating: 0.25 s
        ("", "150 A", "6 AWG"),  # no limit: judged as every source
    ],
)
def test_nothing_is_asked_where_nobody_is_harmed(limit: str, fuse: str, size: str) -> None:
    assert found(limit, fuse, size) == []


def test_late_is_not_never_and_what_the_conductor_stands_meanwhile_counts() -> None:
    """500 A, 333 % of F1, may take between 3600 s at 135 % and 3 s at 500 %: tens of s, in which 6 AWG is harmed."""
    (one,) = found(", self-limiting 500 A")
    assert "may take" in one.message
    # 49 s would be needed by 2 AWG at 500 A: it stands (k S)² (IEC 60364-4-43) and F1 of 60 A has opened long before
    assert found(", self-limiting 500 A", "60 A", "6 AWG") == []


def test_chargers_are_not_asked() -> None:
    assert found(", self-limiting", source="charger") == []


def test_two_limits_together() -> None:
    """100 A each, which 6 AWG carries; together 200 A, at which 150 A of class T need never open (135 %)."""
    text = BOAT.format(source="battery", what=f"{LITHIUM}, self-limiting 100 A", fuse="150 A", size="6 AWG")
    two = text.replace(
        "from B\n",
        f"battery C, {LITHIUM}, self-limiting 100 A\nfrom B\ncable WB, 2 AWG, 0.2 m\nbus P, 300 A\n"
        "from C\ncable WC, 2 AWG, 0.2 m\nto P\nfrom P\n",
        1,
    )
    assert lasting(study_of(build(Reader().design_text(text)))) == []
    study = study_of(build(Reader().design_text(two)))
    names = {
        (tuple(study.design.circuit.nodes[n].name for n in x.batteries), x.made.conductor.name) for x in lasting(study)
    }
    assert (("B", "C"), "W1") in names
    assert all(len(group) == 2 for group, _ in names)


def test_a_thin_run_may_keep_it_below_the_limit() -> None:
    """Then it is the resistance that keeps the device from opening, not the electronics."""
    text = BOAT.format(source="battery", what=f"{LITHIUM}, self-limiting 400 A", fuse="60 A", size="14 AWG")
    study = study_of(build(Reader().design_text(text.replace("W1, 14 AWG, 2 m", "W1, 6 AWG, 30 m"))))
    (one,) = lasting(study)
    # AWG 6, 0.44 Ω/1000 ft (AC 43.13-1B, read), there and back, at 105 °C
    ohm = 2 * 30 * 0.44 / 304.8 * (234.5 + 105) / 254.5 + 0.1e-3 + 4e-3
    assert not one.limited and one.amps == pytest.approx(0.95 * 1.05 * 12.8 / ohm, rel=0.1)


def test_what_resistance_keeps_from_opening_is_a_fault_as_with_any_battery() -> None:
    text = BOAT.format(source="battery", what=f"{LITHIUM}, self-limiting 400 A", fuse="60 A", size="14 AWG")
    text = text.replace("W1, 14 AWG, 2 m", "W1, 6 AWG, 30 m")
    limited = {f.rule: f for f in examine(build(Reader().design_text(text))).findings if f.subject == "W1"}
    firm = {
        f.rule: f
        for f in examine(build(Reader().design_text(text.replace(", self-limiting 400 A", "")))).findings
        if f.subject == "W1"
    }
    assert limited["not-opened-in-time"].severity is firm["not-opened-in-time"].severity is Severity.FAULT
    short = text.replace("W1, 6 AWG, 30 m", "W1, 6 AWG, 3 m")
    assert "not-opened-in-time" not in {f.rule for f in examine(build(Reader().design_text(short))).findings}
