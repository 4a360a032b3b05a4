"""Findings that somebody accepts: with a reason, a name and a date, and for exactly one element."""

from __future__ import annotations

import datetime
import difflib
from collections.abc import Collection
from dataclasses import replace

from linter.model.design import Design
from linter.rules.finding import Finding, Severity
from linter.source.span import Mistake

# Not switched off by `--without`: an acceptance that is not in order is never silent.
NAMES = ("acceptance-expired", "acceptance-unexplained", "acceptance-unused")


def apply_acceptances(
    findings: list[Finding],
    design: Design,
    known: Collection[str],
    ran: Collection[str],
    today: datetime.date | None,
    mistakes: list[Mistake],
) -> None:
    """Mark the findings that are accepted; add findings for acceptances that are not in order."""
    day = today or datetime.date.today()
    for accepted in design.accepted:
        if accepted.rule not in known:
            near = difflib.get_close_matches(accepted.rule, list(known), n=1)
            mend = f"did you mean {near[0]}?" if near else "`wireworthy rules` lists them"
            mistakes.append(Mistake(accepted.span, f"there is no rule {accepted.rule}", mend))
            continue
        key = (accepted.rule, accepted.subject)
        matching = [i for i, f in enumerate(findings) if (f.rule, f.subject) == key]
        lacking = [
            what
            for what, given in (("a reason", accepted.reason), ("a name", accepted.by), ("an end", accepted.until))
            if not given.strip()
        ]

        def add(rule: str, severity: Severity, message: str, mend: str, at=accepted) -> None:  # type: ignore[no-untyped-def]
            findings.append(
                Finding(rule, severity, at.subject, at.span, message, mend, "accepted findings", "common practice")
            )

        if lacking:
            message = f"{accepted.rule} at {accepted.subject} is accepted without {' and '.join(lacking)}"
            add(NAMES[1], Severity.FAULT, message, 'for instance: "why", by "name", until 2027-04-01')
            continue
        if datetime.date.fromisoformat(accepted.until) < day:
            message = f"{accepted.rule} at {accepted.subject} was accepted until {accepted.until}"
            add(NAMES[0], Severity.FAULT, message, "mend what it excuses, or have it accepted anew")
            continue
        if not matching:
            if accepted.rule in ran:
                message = f"{accepted.rule} at {accepted.subject} is accepted but there is no such finding"
                add(NAMES[2], Severity.ADVICE, message, "take the line out")
            continue
        words = f"{accepted.reason} ({accepted.by}, until {accepted.until})"
        for index in matching:
            findings[index] = replace(findings[index], accepted=words)
