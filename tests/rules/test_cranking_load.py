"""A cranking feed is not overloaded by cranking (33 CFR 183.425 does not cover it, read), but by what else it feeds."""

from __future__ import annotations

import pytest

from linter.model.build import build
from linter.rules.engine import examine
from linter.source.files import Reader

# 16 mm², 105 °C: 130 A (ISO 13297, from memory)
BOAT = """boat "C", 9 m, rulebook iso-13297
system DC12, 12 V, negative earthed
cables, insulation 105 °C, tinned
battery B, AGM, 12 V, 100 Ah, resistance 4 mΩ
from B
cable W1, 16 mm2, 1 m{cranking}
bus STUD, 300 A
from STUD
cable W2, 16 mm2, 0.5 m, cranking
load STARTER, draws 180 A, cranking
from STUD
fuse F, class T, 150 A, 125 V
cable W3, 50 mm2, 1 m
load OTHER, draws {other} A
"""


@pytest.mark.parametrize(
    ("cranking", "other", "overloaded"),
    [(", cranking", 20, set()), (", cranking", 140, {"W1"}), ("", 20, {"W1"}), ("", 140, {"W1"})],
)
def test_of_a_cranking_feed_the_starter_does_not_count(cranking: str, other: float, overloaded: set[str]) -> None:
    result = examine(build(Reader().design_text(BOAT.format(cranking=cranking, other=other))))
    assert result.complete
    found = {f.subject: f.message for f in result.findings if f.rule == "conductor-overloaded"}
    assert set(found) == overloaded
    if cranking and overloaded:
        assert "carries 140 A" in found["W1"] and "cranking not counted" in found["W1"]


def test_what_charges_a_bank_through_it_counts() -> None:
    text = BOAT.format(cranking=", cranking", other=20)
    charged = (
        text
        + "alternator ALT, 14.4 V, 150 A, self-limiting\nfrom ALT\nfuse FA, class T, 200 A, 125 V\ncable WA, 50 mm2, 1 m\nto STUD\n"
    )
    found = {
        f.subject: f.message
        for f in examine(build(Reader().design_text(charged))).findings
        if f.rule == "conductor-overloaded"
    }
    assert set(found) == {"W1"} and "150 A (charging a bank" in found["W1"]
