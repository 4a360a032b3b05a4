"""What makes a finding the same: tried on the words of every rule's own example."""

from __future__ import annotations

import re

import pytest

from linter.model.build import build
from linter.report.identity import fingerprint, identities, what_of
from linter.rules.acceptance_pages import EXAMPLE_DAY
from linter.rules.engine import Examination, examine
from linter.rules.registry import Rule, example, rules
from linter.source.files import Reader
from tests.report.conftest import BAD


def examined(text: str) -> Examination:
    return examine(build(Reader().design_text(text)), today=EXAMPLE_DAY)


@pytest.mark.parametrize("rule", rules(), ids=lambda r: r.name)
def test_no_figure_is_left_and_every_name_is(rule: Rule) -> None:
    result = examined(example(rule.bad))
    names = set(result.design.elements) | set(result.design.systems) | {b.name for b in result.study.rulebooks}
    for finding in result.findings:
        what = what_of(finding, result.design.elements)
        words = [w.strip(".,;:()'\"") for w in what.split()]
        kept = {w for w in words if re.search(r"\d", w)}
        assert kept <= names | set(result.design.parts), what
        said = {w.strip(".,;:()'\"") for w in finding.message.split()}
        assert {n for n in names if n in said} <= set(words), what


def test_labels_are_left_out_wherever_they_stand() -> None:
    text = BAD.replace("cable W2,", 'cable W2 "Feed (port)",').replace("fuse F1,", 'fuse F1 "Main",')
    for one, other in zip(identities(examined(BAD)), identities(examined(text)), strict=True):
        assert one == other


def test_alike_ones_are_numbered_in_turn() -> None:
    result = examined(BAD)
    first, second = identities(result)
    result.findings += result.findings[:1] * 2
    assert identities(result) == [first, second, (*first[:3], 1), (*first[:3], 2)]


def test_fingerprints_tell_parts_apart_and_stay() -> None:
    assert fingerprint("a", "bc", 0) != fingerprint("ab", "c", 0) != fingerprint("ab", "c", 1)
    assert fingerprint("\ud800", "é") == fingerprint("\ud800", "é")
    # written down once: another value would make every finding of every yard's record new
    assert fingerprint("conductor-unprotected", "W2", "what", 0) == "d6b7abfdd361e71ea888754a1a725845"
