"""The tempting question: which rating is the next, on whose word it stands, what a maker's range leaves open."""

from __future__ import annotations

import datetime
from dataclasses import replace

import pytest

from linter.advice.tripped.make import Answer, why
from linter.advice.tripped.show import as_json, as_markdown, as_text
from linter.model.build import build
from linter.rules.finding import Severity
from linter.source.files import Reader
from tests.advice.circuits import Loop, with_

LAMP = Loop(draws_a=4.0, rated_a=10.0, mm2=16.0)
TODAY = datetime.date(2026, 6, 1)


def _asked(text: str, device: str = "F") -> Answer:
    source = Reader().design_text(text)
    return why(source, build(source), device, "running", (), TODAY)


def _boat(name: str, device: str) -> Answer:
    source = Reader().design(f"boats/{name}.boat")
    return why(source, build(source), device, "", (), TODAY)


def _question(answer: Answer) -> str:
    """What is said under the tempting question, in one line."""
    said = " ".join(" ".join(as_text(answer)).split())
    return said.partition("And the next rating up? ")[2].partition(" Never bypass")[0]


def _loop(asks: str = "", series: str = "", more: str = "", rated_a: float = 10.0) -> str:
    text = with_(LAMP, rated_a=rated_a).text()
    text = text.replace("works from 9 V", "works from 9 V" + (f", asks {asks}" if asks else ""))
    return text.replace("  32 V\n", f"  32 V\n{f'  comes in {series}' if series else ''}\n", 1) + more


OTHER_SHEET = """part e "Larger", breaker
  thermal
  32 V
  breaks 5 kA at 32 V
  comes in 25 A 12 A 40 A
  opens at 135 % in 60 s to 1800 s
  opens at 200 % in 8 s to 60 s
  opens at 400 % in 1 s to 8 s
  opens at 1000 % in 20 ms to 0.3 s
"""


@pytest.mark.parametrize(
    ("series", "more", "next_a", "of"),
    [
        ("5 A 10 A 18 A", "", 18.0, "5 A, 10 A, 18 A by sheet d"),
        ("5 A 10 A 12 A 16 A 18 A", OTHER_SHEET, 12.0, "5 ratings from 5 A to 18 A by sheet d"),
        ("5 A 10 A", OTHER_SHEET, 12.0, "sheet e; sheet d ends at 10 A"),
        # a fuse, or one of another class, is no other sheet of it
        ("5 A 10 A", OTHER_SHEET.replace("  thermal\n", "  hydraulic-magnetic\n"), 15.0, "NEC 240.6(A)"),
        ("5 A 10 A", "", 15.0, "the next standard rating by NEC 240.6(A); sheet d ends at 10 A"),
        ("", "", 15.0, "NEC 240.6(A), as no sheet says in which it is made"),
    ],
)
def test_the_next_rating_is_one_that_is_made(series: str, more: str, next_a: float, of: str) -> None:
    answer = _asked(_loop(series=series, more=more))
    assert answer.larger.next_a == next_a
    assert of in _question(answer) and as_json(answer)["larger"]["series"] in _question(answer)


def test_a_class_of_its_own_has_its_own_series() -> None:
    text = _loop().replace("part d, breaker\n  thermal", "part d, fuse\n  blade").replace("breaker F", "fuse F")
    answer = _asked(text.replace("10 A, in BOX", "5 A, in BOX"))
    # ISO 8820-3 (from memory): 5, 7.5, 10 ...
    assert answer.larger.next_a == 7.5 and "blade fuses by ISO 8820-3" in _question(answer)


def test_past_the_end_of_every_series() -> None:
    answer = _asked(_loop(rated_a=600.0))
    assert answer.larger.next is None and "no series known here has a larger one" in _question(answer)


@pytest.mark.parametrize(
    ("asks", "series", "said"),
    [
        ("breaker 10 A", "10 A 15 A", "the 10 A fitted is the most that is allowed"),
        ("breaker 6 A to 10 A", "10 A 15 A", "the 10 A fitted is the most that is allowed"),
        ("breaker 8 A to 12 A", "10 A 15 A", "up to 12 A; but no series known here has a rating between"),
        ("breaker 8 A to 12 A", "10 A 25 A", "up to 12 A; but no series known here has a rating between"),
        ("breaker 20 A", "10 A 15 A 20 A", "the 10 A fitted is less: fit what is asked for"),
        ("breaker 5 A", "10 A 15 A", "the 10 A fitted is more already: fit what is asked for"),
        ("fuse 10 A", "10 A 15 A", "which a thermal breaker is not, whatever its rating"),
        ("fuse 20 A or breaker 10 A", "10 A 15 A", "the 10 A fitted is the most that is allowed"),
    ],
)
def test_what_a_maker_asks_for_is_respected(asks: str, series: str, said: str) -> None:
    words = asks.replace(" or ", ", asks ")
    answer = _asked(_loop(words, series))
    assert answer.larger.refused and answer.larger.answer == "no"
    assert said in _question(answer) and "or for less" not in _question(answer)


def test_within_a_makers_range_and_series_it_is_allowed_and_no_cure() -> None:
    answer = _asked(_loop("breaker 8 A to 12 A", "10 A 12 A 15 A"))
    assert answer.larger.answer == "raises nothing, and cures nothing" and answer.larger.next_a == 12.0
    assert "within what makers ask for (L: a breaker of 8 A to 12 A)" in _question(answer)
    assert "no cure all the same" in _question(answer)
    nobody = _question(_asked(_loop("", "10 A 12 A")))
    assert "no maker of what is behind it asks for a rating" in nobody and "within what" not in nobody


def test_a_rating_that_another_sheet_makes_within_the_range_is_named() -> None:
    """Its own sheet goes on with 15 A; 12 A of another sheet would be within what the maker asks."""
    answer = _asked(_loop("breaker 8 A to 12 A", "10 A 15 A", OTHER_SHEET))
    assert answer.larger.next_a == 15.0
    assert "up to 12 A: 12 A is made by sheet e; that is another device" in _question(answer)


def test_the_range_of_a_demo_boat() -> None:
    """The bilge pump's maker asks for 6 A to 7.5 A; its cartridge is made in 6 A only, the next sheet's is 10 A."""
    answer = _boat("launch", "F12")
    assert answer.larger.next_a == 10.0 and {f.rule for f in answer.larger.raised} == {"device-not-as-asked"}
    said = _question(answer)
    assert "sheet cartridge-b-6 ends at 6 A" in said and "fuse of 6 A to 7.5 A" in said
    assert "up to 7.5 A; but no series known here has a rating between" in said and "or for less" not in said


def test_what_leans_on_an_acceptance_says_on_whose() -> None:
    """F17 behind F1 on the cutter: both acceptances of `not-coordinated` are what keeps the next rating quiet."""
    answer = _boat("cutter", "F17")
    assert not answer.larger.raised and answer.larger.answer == "leans on an acceptance, and cures nothing"
    said = _question(answer)
    assert said.startswith("Not by itself. 350 A")
    assert "not-coordinated at F17 by J. Penhale, Saltmarsh Yard, until 2028-05-31" in said
    assert "not-coordinated at F1 by" in said and "given with 300 A fitted" in said
    leans = as_json(answer)["larger"]["leans_on"]
    assert {(one["rule"], one["at"]) for one in leans} == {("not-coordinated", "F1"), ("not-coordinated", "F17")}
    assert "Not by itself" in as_markdown(answer)


def test_an_acceptance_that_has_ended_carries_nothing() -> None:
    source = Reader().design("boats/cutter.boat")
    answer = why(source, build(source), "F17", "", (), datetime.date(2029, 1, 1))
    assert not answer.larger.tried.leans_on and answer.larger.answer == "no"


def test_a_device_that_is_too_large_already_is_refused_though_nothing_new_is_said() -> None:
    """1.5 mm² behind 60 A: the same sentence with 70 A in it is no clean answer."""
    answer = _asked(with_(LAMP, rated_a=60.0, mm2=1.5).text())
    rules = {f.rule for f in (*answer.larger.raised, *answer.larger.tried.standing)}
    assert "conductor-unprotected" in rules and answer.larger.answer == "no"
    assert _question(answer).startswith("No. 70 A") and "conductor-unprotected" in _question(answer)


def test_a_missing_figure_leaves_it_unproved() -> None:
    text = with_(LAMP, rated_a=10.0).text().replace("16 mm2, 6 m, in ELSEWHERE", "16 mm2, in ELSEWHERE")
    answer = _asked(text)
    assert answer.larger.answer in {"no", "not proved"}
    assert "raises no finding" not in _question(answer)


def test_a_device_smaller_than_asked_is_told_to_be_that() -> None:
    """20 A is asked for and 15 A fitted: 20 A is what should be there, and not a larger one than allowed."""
    answer = _asked(_loop("breaker 20 A", "15 A 20 A 25 A", rated_a=15.0))
    said = _question(answer)
    assert answer.larger.next_a == 20.0 and not answer.larger.refused
    assert "The 15 A fitted is less than what is asked for (L: a breaker of 20 A)" in said and "no cure" not in said


def test_of_several_devices_asked_for_the_nearest_is_compared() -> None:
    """A fuse or a breaker of 3 A to 5 A is asked for: a breaker of 10 A is too large, and not no fuse."""
    said = _question(_boat("launch", "Q22"))
    assert "Q22 (Navigation lights) is rated 10 A, too large" in said and "is a breaker" not in said
    assert "the makers of SIDELIGHTS and STERN-LIGHT ask for" in said


def test_what_raises_only_a_doubt_is_not_proved() -> None:
    """A figure that nobody gave is no breach, and no leave either."""
    answer = _boat("launch", "Q11")
    assert answer.larger.answer == "no" and _question(answer).startswith("No. 60 A")
    answer.larger.tried.raised = [replace(f, severity=Severity.DOUBT) for f in answer.larger.raised]
    answer.larger.left = []
    assert answer.larger.answer == "not proved" and not answer.larger.refused
    assert _question(answer).startswith("Not proved. 60 A") and "doubt: the maker of TRIM" in _question(answer)


HEAD = """boat "X", 9 m, rulebook iso-13297
system DC12, 12 V, negative earthed
cables, insulation 105 °C, tinned
battery B, AGM, 12 V, 100 Ah, resistance 4 mΩ, on DC12
"""
BREAKER = """breaker Q1, thermal, 16 A, 32 V, breaks 3 kA
cable W2, 0.75 mm2, 10 m
load HEATER, heater, draws 150 W
"""


def test_no_answer_where_nothing_feeds_it() -> None:
    answer = _asked(HEAD + "bus SB, 30 A\nfrom SB\n" + BREAKER, "Q1")
    assert answer.larger.next is None and "nothing feeds it" in answer.larger.why_not
    said = " ".join(" ".join(as_text(answer)).split())
    assert "Nothing feeds it in this design." in said and "stands in a mesh" not in said
    assert "nothing feeds Q1 in this design: name its source" in said
