"""What is said of acceptances that are not in order, for `rules` and `explain`; acceptance.py finds them."""

from __future__ import annotations

import datetime
from collections.abc import Iterator

from linter.rules.acceptance import DANGER_YEARS, YEARS
from linter.rules.finding import Severity
from linter.rules.registry import Rule, Wrong, rule
from linter.study.study import Study

#: The day on which the examples are to be read.
EXAMPLE_DAY = datetime.date(2026, 10, 1)

_LAMP = """from B
cable W1, 2.5 mm2, 3 m
load LAMP, draws 3 A
"""
_WHY = "Who looks at the boat next has to see what was let stand, why, who answers for it, and that it ends."
_GOOD = _LAMP + 'accept conductor-unprotected at W1, "on the bench only", by "A. Rigger", until 2027-04-01'


def _found_elsewhere(study: Study) -> Iterator[Wrong]:
    del study
    return iter(())


def _page(name: str, severity: Severity, demand: str, mend: str, bad: str, measure: str) -> Rule:
    return rule(
        name, severity, demand=demand, reason=_WHY, clause="common practice", status="common practice", mend=mend,
        bad=_LAMP + bad, good=_GOOD, measure=measure,
    )(_found_elsewhere)  # fmt: skip


PAGES = (
    _page(
        "acceptance-expired", Severity.FAULT, "What was accepted until a day is mended by that day.",
        "Mend what it excuses, or have it accepted anew.",
        'accept conductor-unprotected at W1, "on the bench only", by "A. Rigger", until 2001-01-01',
        "Look at what was accepted as it is now, before anybody accepts it anew.",
    ),
    _page(
        "acceptance-too-wide", Severity.FAULT,
        f"An acceptance is for one element; a danger is accepted for {DANGER_YEARS} year at most, anything else for "
        f"{YEARS} years.",
        "One line for each element, and a day by which somebody looks at it again.",
        'accept conductor-unprotected at W1, "on the bench only", by "A. Rigger", until 2199-01-01',
        "Look at each element that it covers by itself.",
    ),
    _page(
        "acceptance-unexplained", Severity.FAULT,
        "An acceptance has a reason of a few words that say why it may stay so, a name and an end.",
        "Write all three.", 'accept conductor-unprotected at W1, "ok", by "A. Rigger", until 2027-04-01',
        "Look at what was accepted, and ask who accepted it.",
    ),
    _page(
        "acceptance-unused", Severity.ADVICE, "An acceptance excuses a finding that there is.", "Take the line out.",
        'accept not-fed at LAMP, "on the bench only", by "A. Rigger", until 2027-04-01',
        "See whether what was accepted has been mended on board as well, or only on paper.",
    ),
)  # fmt: skip
