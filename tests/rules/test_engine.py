"""What the engine does around the rules: switching off, broken rules, unread text, acceptances."""

from __future__ import annotations

import datetime
from collections.abc import Iterator
from dataclasses import replace

import pytest

from linter.model.build import build
from linter.rules.engine import Examination, examine
from linter.rules.finding import Severity
from linter.rules.registry import PRELUDE, Rule, Wrong, rules
from linter.source.files import Reader
from linter.study.study import Study

BAD = """from B
cable W1, 2.5 mm2, 3 m
load LAMP, draws 3 A
"""
DAY = datetime.date(2026, 11, 25)


def examined(text: str, chosen: list[Rule] | None = None, **more: object) -> Examination:
    return examine(build(Reader().design_text(PRELUDE + text)), chosen, DAY, **more)  # type: ignore[arg-type]


def keys(result: Examination) -> set[tuple[str, str]]:
    return {(f.rule, f.subject) for f in result.findings}


def by_name(name: str) -> Rule:
    return next(r for r in rules() if r.name == name)


def test_a_rule_that_is_not_chosen_does_not_run() -> None:
    def explode(study: Study) -> Iterator[Wrong]:
        raise AssertionError("ran")

    trap = replace(by_name("not-fed"), check=explode)
    assert examined(BAD, [by_name("conductor-unprotected")]).broken == []
    assert examined(BAD, [trap]).broken == [("not-fed", "AssertionError: ran")]


def test_a_broken_rule_leaves_the_others_and_the_result_incomplete() -> None:
    def explode(study: Study) -> Iterator[Wrong]:
        raise KeyError("x")

    result = examined(BAD, [replace(by_name("not-fed"), check=explode), by_name("conductor-unprotected")])
    assert not result.complete
    assert ("conductor-unprotected", "W1") in keys(result)


def test_rules_that_need_the_whole_design_stay_quiet_when_a_line_is_lost() -> None:
    result = examined(BAD + "fuse F9, blade, 12 A, nonsense here\ncable W9, 0.5 mm2, 1 m\n")
    assert not result.complete
    assert "conductor-unprotected" in result.quiet
    assert ("conductor-unprotected", "W1") not in keys(result)
    assert ("rating-not-made", "F9") not in keys(result) or "rating-not-made" not in result.quiet


def test_severity_of_a_rule_can_be_changed() -> None:
    result = examined(BAD, severities={"conductor-unprotected": Severity.ADVICE})
    assert {f.severity for f in result.findings if f.rule == "conductor-unprotected"} == {Severity.ADVICE}


ACCEPT = 'accept conductor-unprotected at W1, "on the bench only", by "A. Rigger", until {until}\n'


def test_an_accepted_finding_stays_visible_with_its_reason_and_does_not_count() -> None:
    result = examined(BAD + ACCEPT.format(until="2026-11-25"))
    found = next(f for f in result.findings if f.rule == "conductor-unprotected")
    assert found.accepted == "on the bench only (A. Rigger, until 2026-11-25)"
    assert result.worst() is None


@pytest.mark.parametrize(
    ("line", "rule", "severity"),
    [
        (ACCEPT.format(until="2026-11-24"), "acceptance-expired", Severity.FAULT),
        ('accept conductor-unprotected at W1, by "x", until 2027-01-01\n', "acceptance-unexplained", Severity.FAULT),
        ('accept conductor-unprotected at W1, "y", until 2027-01-01\n', "acceptance-unexplained", Severity.FAULT),
        ('accept conductor-unprotected at W1, "y", by "x"\n', "acceptance-unexplained", Severity.FAULT),
        (
            'accept not-fed at LAMP, "fed from the bench", by "A. Rigger", until 2027-01-01\n',
            "acceptance-unused",
            Severity.ADVICE,
        ),
    ],
)
def test_an_acceptance_that_is_not_in_order_is_a_finding_and_excuses_nothing(
    line: str, rule: str, severity: Severity
) -> None:
    result = examined(BAD + line)
    assert [f.severity for f in result.findings if f.rule == rule] == [severity]
    assert result.worst() is Severity.DANGER


def test_an_acceptance_of_an_unknown_rule_is_an_error_with_a_guess() -> None:
    result = examined(BAD + 'accept conductor-unprotectd at W1, "y", by "x", until 2027-01-01\n')
    assert any("did you mean conductor-unprotected" in m.mend for m in result.mistakes)
    assert not result.complete


def test_an_acceptance_is_not_called_unused_when_its_rule_did_not_run() -> None:
    line = 'accept not-fed at LAMP, "fed from the bench", by "A. Rigger", until 2027-01-01\n'
    result = examined(BAD + line, [by_name("conductor-unprotected")])
    assert "acceptance-unused" not in {f.rule for f in result.findings}
