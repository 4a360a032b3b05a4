"""What `check --against` says in words: first what fails, then what is known, a known danger always in full."""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from linter.report.record import KNOWN_IS_NOT_SAFE
from linter.report.safe import for_terminal
from linter.report.standing import Standing, State
from linter.report.text import Paint, caution, examination_text, plain, summary
from linter.rules.finding import Finding, Severity


def standings_text(
    standings: Sequence[Standing], path: str, again: str, vanished: Sequence[str] = (), paint: Paint = plain
) -> Iterator[str]:
    """The whole report.  ``path``: the record's file; ``again``: the command that would write it anew; ``vanished``:
    designs of the record whose files are not there any more."""
    for standing in standings:
        yield from examination_text(standing.failing(), paint)
        yield from _before(standing)
        yield from _known(standing, paint)
    yield from caution()
    for standing in standings:
        yield from _summary(standing, path, paint)
    if any(s is State.KNOWN for standing in standings for _, s in standing.pairs()):
        yield KNOWN_IS_NOT_SAFE
    yield from (f"{for_terminal(name)} is in the record, and there is no such file" for name in vanished)
    if vanished or any(standing.gone for standing in standings):
        yield f"To take what is gone out of the record: {for_terminal(again)}"


def _summary(standing: Standing, path: str, paint: Paint) -> Iterator[str]:
    """What it comes to; a design whose dangers are all known must not be called free of findings."""
    boat = for_terminal(standing.result.design.boat or standing.result.design.path)
    states = [s for _, s in standing.pairs()]
    new, graver, known = (states.count(s) for s in (State.NEW, State.GRAVER, State.KNOWN))
    lines = list(summary(standing.failing(), paint))
    if standing.result.complete and known and not new + graver:
        open_ = [f for f in standing.result.findings if not f.accepted]
        dangers = sum(f.severity is Severity.DANGER for f in open_)
        danger = paint(f"{dangers} known danger{'s' * (dangers > 1)}, ", "danger") if dangers else ""
        lines[0] = f"{boat}: nothing new; {danger}{known} known in all"
    yield from lines
    counted = f"{new} new, {graver} graver, {known} known, {len(standing.gone)} gone"
    yield f"  {boat} against {for_terminal(path)}: {counted}."
    yield from (f"  gone: {for_terminal(line)}" for line in standing.gone)


def _before(standing: Standing) -> Iterator[str]:
    """What was known of those that fail, where it was something else."""
    for number, (finding, state) in enumerate(standing.pairs()):
        if state is not State.KNOWN and number in standing.was:
            yield f"      {for_terminal(f'{finding.rule} at {finding.subject} was recorded as {standing.was[number]}')}"


def _known(standing: Standing, paint: Paint) -> Iterator[str]:
    for number, (finding, state) in enumerate(standing.pairs()):
        if state is State.KNOWN:
            yield from _known_finding(finding, standing.was.get(number, ""), paint)


def _known_finding(finding: Finding, was: str, paint: Paint) -> Iterator[str]:
    word = finding.severity.value
    words = paint(f"known {'accepted ' if finding.accepted else ''}{word}", "accepted" if finding.accepted else word)
    yield f"{for_terminal(str(finding.span))}: {words}: {for_terminal(finding.message)} [{finding.rule}]"
    if finding.accepted:
        yield f"      accepted: {for_terminal(finding.accepted)}"
    elif finding.severity is Severity.DANGER:
        if finding.mend:
            yield f"      {paint('mend', 'mend')}: {for_terminal(finding.mend)}"
        if finding.clause:
            yield f"      clause: {for_terminal(finding.clause)} ({finding.status})"
    if was:
        yield f"      when recorded: {for_terminal(was)}"
