"""What is said of acceptances that are not in order, for `rules` and `explain`; acceptance.py finds them."""

from __future__ import annotations

from collections.abc import Iterator

from linter.rules.finding import Severity
from linter.rules.registry import Rule, Wrong, rule
from linter.study.study import Study

_LAMP = """from B
cable W1, 2.5 mm2, 3 m
load LAMP, draws 3 A
"""
_WHY = "Who looks at the boat next has to see what was let stand, why, who answers for it, and that it ends."
_GOOD = _LAMP + 'accept conductor-unprotected at W1, "on the bench only", by "A. Rigger", until 2199-01-01'


def _found_elsewhere(study: Study) -> Iterator[Wrong]:
    del study
    return iter(())


def _page(name: str, severity: Severity, demand: str, mend: str, bad: str) -> Rule:
    return rule(
        name, severity, demand=demand, reason=_WHY, clause="common practice", status="common practice", mend=mend,
        bad=_LAMP + bad, good=_GOOD,
    )(_found_elsewhere)  # fmt: skip


PAGES = (
    _page(
        "acceptance-expired", Severity.FAULT, "What was accepted until a day is mended by that day.",
        "Mend what it excuses, or have it accepted anew.",
        'accept conductor-unprotected at W1, "on the bench only", by "A. Rigger", until 2001-01-01',
    ),
    _page(
        "acceptance-unexplained", Severity.FAULT, "An acceptance has a reason, a name and an end.",
        "Write all three.", "accept conductor-unprotected at W1",
    ),
    _page(
        "acceptance-unused", Severity.ADVICE, "An acceptance excuses a finding that there is.", "Take the line out.",
        'accept not-fed at LAMP, "on the bench only", by "A. Rigger", until 2199-01-01',
    ),
)  # fmt: skip
