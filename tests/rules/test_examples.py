"""Every rule's own examples: the wrong one is found, the right one is clean of everything."""

from __future__ import annotations

import pytest

from linter.model.build import build
from linter.rules.acceptance_pages import EXAMPLE_DAY
from linter.rules.engine import Examination, examine
from linter.rules.finding import Severity
from linter.rules.registry import MODULES, Rule, example, pages, rules
from linter.source.files import Reader


def examined(text: str) -> Examination:
    return examine(build(Reader().design_text(text)), today=EXAMPLE_DAY)


@pytest.mark.parametrize("rule", pages(), ids=lambda r: r.name)
def test_the_wrong_example_is_found_and_explained(rule: Rule) -> None:
    result = examined(example(rule.bad))
    found = [f for f in result.findings if f.rule == rule.name]
    assert result.complete
    assert found
    for finding in found:
        assert finding.subject in finding.message
        assert finding.mend or rule.name == "alternating-not-studied"
        assert finding.clause and finding.status
        line, column = finding.span.text.position(finding.span.start)
        assert (line, column) != (1, 1)
        assert finding.span.end > finding.span.start


@pytest.mark.parametrize("rule", pages(), ids=lambda r: r.name)
def test_the_right_example_has_no_finding_at_all(rule: Rule) -> None:
    result = examined(example(rule.good))
    assert result.complete
    assert [(f.rule, f.subject) for f in result.findings if not f.accepted] == []


def test_every_rule_says_what_it_must() -> None:
    assert len(rules()) == len(MODULES) == len({r.name for r in rules()})
    for rule in rules():
        for words in (rule.demand, rule.reason, rule.clause, rule.status, rule.mend):
            assert words.strip()
        assert rule.status in {"read", "second-hand", "from memory", "common practice"}
        assert isinstance(rule.severity, Severity)
