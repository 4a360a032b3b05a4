"""Findings beside what was known before, by a record or by a revision."""

from __future__ import annotations

from dataclasses import dataclass, field, replace
from enum import Enum

from linter.rules.engine import Examination
from linter.rules.finding import Finding, Severity


class State(Enum):
    """How a finding stands to what was known; NEW and GRAVER fail."""

    NEW = "new"
    GRAVER = "graver"
    KNOWN = "known"


@dataclass(slots=True)
class Standing:
    """One design's findings, each with its state; NEW for all where nothing was known."""

    result: Examination
    # one for each of result.findings; empty where nothing was asked to be compared
    states: list[State] = field(default_factory=list)
    # what was found before and is not any more, one sentence each
    gone: list[str] = field(default_factory=list)
    # what was said of a finding before, where it is other now: by its place in result.findings
    was: dict[int, str] = field(default_factory=dict)

    def pairs(self) -> list[tuple[Finding, State]]:
        """Each finding with its state."""
        findings = self.result.findings
        return list(zip(findings, self.states or [State.NEW] * len(findings), strict=True))

    def failing(self) -> Examination:
        """The examination with only those findings that count."""
        return replace(self.result, findings=[f for f, state in self.pairs() if state is not State.KNOWN])


def fails(finding: Finding, state: State, threshold: str) -> bool:
    """Whether a finding makes `check` fail at ``threshold``, a severity's word or never."""
    if threshold == "never" or finding.accepted or state is State.KNOWN:
        return False
    return finding.severity.rank <= Severity(threshold).rank
