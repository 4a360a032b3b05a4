"""Runs the rules over a study; a rule that breaks makes the result incomplete, never clean."""

from __future__ import annotations

import datetime
from collections.abc import Callable, Collection, Iterable
from dataclasses import dataclass, field, replace

from linter.model.design import Design
from linter.rules.acceptance import apply_acceptances
from linter.rules.finding import Finding, Severity
from linter.rules.registry import Rule, Wrong, rules
from linter.source.span import Mistake
from linter.study.study import Study, study_of


@dataclass(slots=True)
class Examination:
    """What was found, and what kept us from finding more."""

    design: Design
    study: Study
    findings: list[Finding] = field(default_factory=list)
    mistakes: list[Mistake] = field(default_factory=list)
    # rules that stayed quiet because part of the design could not be read
    quiet: list[str] = field(default_factory=list)
    # rules that broke, with what happened
    broken: list[tuple[str, str]] = field(default_factory=list)

    @property
    def complete(self) -> bool:
        return not self.broken and not self.quiet and not any(m.loses for m in self.mistakes)

    def worst(self) -> Severity | None:
        """The gravest finding that nobody has accepted."""
        return min((f.severity for f in self.findings if not f.accepted), key=lambda s: s.rank, default=None)


def examine(
    design: Design,
    chosen: Iterable[Rule] | None = None,
    today: datetime.date | None = None,
    progress: Callable[[str], None] | None = None,
    severities: dict[str, Severity] | None = None,
    before: Study | None = None,
) -> Examination:
    """Study a design and run the rules over it.  ``today`` decides which acceptances have ended.  ``before``: the
    finished study of another state of the design, from which is taken what is the same."""
    if progress:
        progress("study")
    study = study_of(design)
    if before is not None:
        from linter.study.shared import take_over

        take_over(before, study)
    result = Examination(design, study, mistakes=[*design.mistakes, *study.mistakes])
    whole = not any(m.loses for m in result.mistakes)
    every = rules()
    picked = list(every if chosen is None else chosen)
    for one in picked:
        if progress:
            progress(one.name)
        if one.whole and not whole:
            result.quiet.append(one.name)
            continue
        try:
            result.findings.extend(_finding(one, wrong) for wrong in one.check(study))
        except Exception as problem:  # a rule that breaks must not take the others, or the verdict, with it
            result.broken.append((one.name, f"{type(problem).__name__}: {problem}"))
    if severities:
        result.findings = [
            replace(f, severity=severities[f.rule]) if f.rule in severities else f for f in result.findings
        ]
    apply_acceptances(result.findings, design, {r.name for r in every}, _names(picked, result), today, result.mistakes)
    result.findings.sort(key=lambda f: (f.span.path != design.path, f.span.path, f.span.start, f.severity.rank, f.rule))
    return result


def _names(picked: list[Rule], result: Examination) -> Collection[str]:
    """The rules that really ran."""
    silent = set(result.quiet) | {name for name, _ in result.broken}
    return {r.name for r in picked} - silent


def _finding(one: Rule, wrong: Wrong) -> Finding:
    return Finding(
        rule=one.name,
        severity=wrong.severity or one.severity,
        subject=wrong.element.name,
        span=wrong.span or wrong.element.span,
        message=wrong.message,
        mend=wrong.mend,
        clause=wrong.cite.clause if wrong.cite else one.clause,
        status=wrong.cite.status if wrong.cite else one.status,
        related=wrong.related,
        guard=wrong.guard,
        missing=wrong.missing,
    )
