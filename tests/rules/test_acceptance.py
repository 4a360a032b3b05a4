"""Acceptances: what they excuse, for how long, and that nothing dangerous goes unseen behind one."""

from __future__ import annotations

import datetime

import pytest

from linter.model.build import build
from linter.report.text import examination_text, summary
from linter.rules.acceptance import DANGER_YEARS, NAMES, YEARS
from linter.rules.acceptance_pages import PAGES
from linter.rules.engine import Examination, examine
from linter.rules.finding import Severity
from linter.rules.registry import PRELUDE
from linter.source.files import Reader

TODAY = datetime.date(2026, 11, 25)
DANGER = PRELUDE + "from B\ncable W1, 2.5 mm2, 3 m\nload LAMP, draws 3 A\n"
# of 12 V there is no such load: a fault and no danger
FAULT = DANGER.replace("load LAMP, draws 3 A", "load LAMP, draws 3 A, 24 V")


def examined(text: str, today: datetime.date = TODAY) -> Examination:
    return examine(build(Reader().design_text(text)), today=today)


def accept(
    rule: str = "conductor-unprotected", at: str = "W1", why: str = "on the bench only", by: str = "A. Rigger",
    until: str = "2027-04-01",
) -> str:  # fmt: skip
    return f'accept {rule} at {at}, "{why}", by "{by}", until {until}\n'


def flaws(line: str, text: str = DANGER) -> list[tuple[str, Severity]]:
    result = examined(text + line)
    assert not [m for m in result.mistakes if m.loses], result.mistakes
    found = [(f.rule, f.severity) for f in result.findings if f.rule in NAMES]
    # what is not in order excuses nothing
    excused = line.split()[1]
    assert bool(found) == (excused in {f.rule for f in result.findings if not f.accepted})
    return found


def test_one_that_is_in_order_says_so() -> None:
    assert flaws(accept()) == []


@pytest.mark.parametrize(
    "why",
    [
        "x", "ok", "OK!", "n/a", "accepted", "see above", "see survey", "...", "12345 67890 2026", "a b c d",
        # says only what is accepted
        "conductor unprotected", "W1 is conductor-unprotected", "no no no no no no no",
    ],
)  # fmt: skip
def test_a_reason_that_explains_nothing(why: str) -> None:
    assert flaws(accept(why=why)) == [("acceptance-unexplained", Severity.FAULT)]


@pytest.mark.parametrize(
    "why",
    ["lug is potted; re-lead booked", "Sicherung bestellt, Boot an Land", "待修中，保险丝已订购", "на берегу до весны"],
)
def test_a_reason_of_a_few_words_in_any_language_is_one(why: str) -> None:
    assert flaws(accept(why=why)) == []


@pytest.mark.parametrize("by", ["x", "?", "-", "7"])
def test_a_name_that_names_nobody(by: str) -> None:
    assert flaws(accept(by=by)) == [("acceptance-unexplained", Severity.FAULT)]


@pytest.mark.parametrize("until", ["2027-11-26", "2199-01-01", "9999-12-31"])
def test_a_danger_is_accepted_for_a_year_at_most(until: str) -> None:
    assert flaws(accept(until=until)) == [("acceptance-too-wide", Severity.FAULT)]
    assert DANGER_YEARS == 1 and flaws(accept(until="2027-11-25")) == []


def test_anything_else_for_five_years() -> None:
    rule = "wrong-voltage"
    assert [f.severity for f in examined(FAULT).findings if f.rule == rule] == [Severity.FAULT]
    assert flaws(accept(rule, "LAMP", until="2031-11-25"), FAULT) == []
    assert flaws(accept(rule, "LAMP", until="2031-11-26"), FAULT) == [("acceptance-too-wide", Severity.FAULT)]
    assert YEARS == 5


def test_a_rule_taken_as_danger_is_held_to_the_year_of_a_danger() -> None:
    line = accept("wrong-voltage", "LAMP", until="2028-01-01")
    graver = examine(
        build(Reader().design_text(FAULT + line)), today=TODAY, severities={"wrong-voltage": Severity.DANGER}
    )
    assert "acceptance-too-wide" in {f.rule for f in graver.findings}


def test_the_last_day_of_february_has_a_day_a_year_later() -> None:
    leap = datetime.date(2028, 2, 29)
    result = examined(DANGER + accept(until="2029-03-01"), leap)
    assert [f.rule for f in result.findings if f.rule in NAMES] == []
    result = examined(DANGER + accept(until="2029-03-02"), leap)
    assert [f.rule for f in result.findings if f.rule in NAMES] == ["acceptance-too-wide"]


def test_the_last_years_of_the_calendar_are_days_too() -> None:
    result = examined(DANGER + accept(until="9999-12-31"), datetime.date(9999, 1, 1))
    assert [f.rule for f in result.findings if f.rule in NAMES] == []


@pytest.mark.parametrize("at", ['"all"', '"*"', '"every cable"'])
def test_one_that_names_no_single_element(at: str) -> None:
    assert flaws(accept(at=at)) == [("acceptance-too-wide", Severity.FAULT)]


def test_the_second_of_two_for_the_same_is_in_the_way() -> None:
    result = examined(DANGER + accept() + accept(by="B. Sailor"))
    (found,) = [f for f in result.findings if f.rule in NAMES]
    assert (found.rule, found.span.line) == ("acceptance-unused", 9)
    assert "accepted already, by A. Rigger" in found.message
    assert {f.accepted for f in result.findings if f.rule == "conductor-unprotected"} == {
        "on the bench only (A. Rigger, until 2027-04-01)"
    }


def test_an_expired_line_beside_a_new_one_is_only_expired() -> None:
    result = examined(DANGER + accept(until="2026-11-24") + accept())
    assert [f.rule for f in result.findings if f.rule in NAMES] == ["acceptance-expired"]
    assert [f.accepted != "" for f in result.findings if f.rule == "conductor-unprotected"] == [True]


def test_an_accepted_danger_is_always_in_the_text_with_its_reason_and_name() -> None:
    result = examined(DANGER + accept())
    text = "\n".join([*examination_text(result), *summary(result)])
    assert "accepted danger: W1" in text
    assert "accepted: on the bench only (A. Rigger, until 2027-04-01)" in text
    assert "1 accepted" in text


def test_every_flaw_has_a_page() -> None:
    assert tuple(page.name for page in PAGES) == NAMES
