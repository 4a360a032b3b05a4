"""Findings as text: a line that editors and continuous integration can follow, the line of the file, the mend."""

from __future__ import annotations

import textwrap
from collections import Counter
from collections.abc import Callable, Iterable, Iterator

from linter.report.caution import CAUTION, EXAMINED
from linter.report.safe import for_terminal
from linter.rules.engine import Examination
from linter.rules.finding import Finding, Severity
from linter.source.span import Mistake, Span
from linter.study.study import Study, Verdict

Paint = Callable[[str, str], str]

# So many findings the summary names at most.
MOST_NAMED = 6
# A line of the file is shown as far as a terminal is wide; of a longer one the part around the place.
WIDEST = 100

PLURAL = {
    Severity.DANGER: "dangers",
    Severity.FAULT: "faults",
    Severity.DOUBT: "doubts",
    Severity.ADVICE: "pieces of advice",
}


def plain(text: str, kind: str) -> str:
    """No colour at all."""
    del kind
    return text


def examination_text(result: Examination, paint: Paint = plain) -> Iterator[str]:
    """What was found in one design, without the summary."""
    for mistake in result.mistakes:
        yield from mistake_text(mistake, paint)
    waiting = waiting_alike(result.findings)
    for finding in result.findings:
        alike = waiting.get(_waits_for(finding), [finding])
        # one missing figure is asked for once
        if alike[0] is finding:
            yield from _finding(finding, paint)
            if len(alike) > 1:
                others = "; ".join(f"{f.span}: {f.subject} [{f.rule}]" for f in alike[1:])
                yield f"      {for_terminal(finding.missing)} is missing for these too: {for_terminal(others)}"
    for name, problem in result.broken:
        yield for_terminal(f"{result.design.path}: {paint('broken', 'danger')}: rule {name} broke: {problem}")


def _waits_for(finding: Finding) -> tuple[str, Severity] | None:
    return (finding.missing, finding.severity) if finding.missing and not finding.accepted else None


def waiting_alike(findings: Iterable[Finding]) -> dict[tuple[str, Severity] | None, list[Finding]]:
    """The findings that wait for the same missing figure, by that figure and how grave they are."""
    found: dict[tuple[str, Severity] | None, list[Finding]] = {}
    for finding in findings:
        key = _waits_for(finding)
        if key is not None:
            found.setdefault(key, []).append(finding)
    return found


def mistake_text(mistake: Mistake, paint: Paint) -> Iterator[str]:
    kind = "error" if mistake.loses else "remark"
    yield f"{_at(mistake.span)}: {paint(kind, 'error')}: {for_terminal(mistake.message)}"
    yield from _excerpt(mistake.span, paint)
    if mistake.mend:
        yield f"      {paint('mend', 'mend')}: {for_terminal(mistake.mend)}"
    yield from _related(mistake.related)


def _finding(finding: Finding, paint: Paint) -> Iterator[str]:
    word = finding.severity.value
    shown = f"accepted {word}" if finding.accepted else word
    painted = paint(shown, "accepted" if finding.accepted else word)
    yield f"{_at(finding.span)}: {painted}: {for_terminal(finding.message)} [{finding.rule}]"
    yield from _excerpt(finding.span, paint)
    if finding.accepted:
        yield f"      accepted: {for_terminal(finding.accepted)}"
    elif finding.mend:
        yield f"      {paint('mend', 'mend')}: {for_terminal(finding.mend)}"
    if not finding.accepted and finding.clause:
        yield f"      clause: {for_terminal(finding.clause)} ({finding.status})"
    yield from _related(finding.related)


def _at(span: Span) -> str:
    return for_terminal(str(span))


def _related(related: tuple[tuple[Span, str], ...]) -> Iterator[str]:
    for span, what in related:
        yield f"      {_at(span)}: {for_terminal(what)}"


def _excerpt(span: Span, paint: Paint) -> Iterator[str]:
    """The line of the file, and marks under the place."""
    if not span.text.text:
        return
    number, column = span.text.position(span.start)
    # only what is shown is taken out of the text: a line may be a million characters long, and have as many mistakes
    begins, ends = span.text.extent(number)
    shown_from = begins + max(0, column - 1 - WIDEST // 2) if ends - begins > WIDEST else begins
    shown_to = min(shown_from + WIDEST, ends)
    mark_to = min(span.start + max(1, span.end - span.start), shown_to)
    text = span.text.text
    before, marked = for_terminal(text[shown_from : span.start]), for_terminal(text[span.start : mark_to])
    behind = for_terminal(text[mark_to:shown_to])
    lead = "…" if shown_from > begins else ""
    tail = "…" if shown_to < ends else ""
    yield f"{number:5} | {lead}{before}{marked}{behind}{tail}"
    yield f"      | {' ' * (len(lead) + len(before))}{paint('^' * max(1, len(marked)), 'mark')}"


def counts(result: Examination) -> tuple[Counter[Severity], int]:
    """How many findings of each severity nobody has accepted; and how many somebody has."""
    return Counter(f.severity for f in result.findings if not f.accepted), sum(
        bool(f.accepted) for f in result.findings
    )


def open_findings(study: Study, findings: Iterable[Finding]) -> dict[str, list[Finding]]:
    """By conductor: what nobody accepted, of a doubt or graver, on it or on a device of its guard."""
    by_subject: dict[str, list[Finding]] = {}
    for one in findings:
        if not one.accepted and one.severity is not Severity.ADVICE:
            by_subject.setdefault(one.subject, []).append(one)
    if not by_subject:
        return {}
    made = study.conductors.items()
    return {n: [f for subject in (n, *c.guard) for f in by_subject.get(subject, ())] for n, c in made}


def gravest(result: Examination) -> str:
    """Where to begin: the findings of the gravest severity that nobody accepted, in the order of the file; empty where
    there is only one finding, which is seen anyhow, or none."""
    open_ = [f for f in result.findings if not f.accepted]
    worst = result.worst()
    if worst is None or len(open_) < 2:
        return ""
    waiting = waiting_alike(open_)
    first = [f for f in open_ if f.severity is worst and waiting.get(_waits_for(f), [f])[0] is f]
    shown = []
    for one in first[:MOST_NAMED]:
        line, _ = one.span.text.position(one.span.start)
        where = f"line {line}" if one.span.path == result.design.path else f"{one.span.path}:{line}"
        shown.append(f"{one.subject} [{one.rule}] {where}")
    more = f"; and {len(first) - MOST_NAMED} more" if len(first) > MOST_NAMED else ""
    word = worst.value if len(first) == 1 else PLURAL[worst]
    return f"The {word} first: {'; '.join(shown)}{more}."


def summary(result: Examination, paint: Paint = plain) -> Iterator[str]:
    """What it comes to: the last lines of a report, where they are seen."""
    design = result.design
    open_, accepted = counts(result)
    verdicts = Counter(c.verdict.value for c in result.study.conductors.values())
    boat = for_terminal(design.boat or design.path)
    found = [paint(f"{n} {s.value if n == 1 else PLURAL[s]}", s.value) for s in Severity if (n := open_[s])]
    alike = waiting_alike(result.findings)
    if any(len(each) > 1 for each in alike.values()):
        figures, those = len(alike), sum(map(len, alike.values()))
        found.append(f"{those} of them for want of {figures} figure{'s' if figures > 1 else ''}")
    if accepted:
        found.append(f"{accepted} accepted")
    if result.complete:
        yield f"{boat}: " + (", ".join(found) if found else paint("no findings", "clean"))
    else:
        errors = sum(m.loses for m in result.mistakes)
        yield f"{boat}: {paint('incomplete', 'danger')}: " + ", ".join(
            [*([f"{errors} error{'s' if errors != 1 else ''} in the text"] if errors else []),
             *([f"{len(result.broken)} rule{'s' * (len(result.broken) > 1)} broke"] if result.broken else []),
             *found]
        )  # fmt: skip
        if result.quiet:
            yield f"  {len(result.quiet)} rules that need the whole design stayed quiet; mend the errors first."
    first = gravest(result)
    if first:
        yield from (f"  {line}" for line in textwrap.wrap(for_terminal(first), 116, break_on_hyphens=False))
    total = sum(verdicts.values())
    if result.complete and total:
        books = ", ".join(b.name for b in result.study.rulebooks)
        found_on = open_findings(result.study, result.findings)
        doubted = sum(
            bool(found_on.get(name)) for name, c in result.study.conductors.items() if c.verdict is Verdict.PROTECTED
        )
        of_them = {Verdict.PROTECTED.value: f" ({doubted} of them with a finding open)"} if doubted else {}
        said = ", ".join(f"{n} {v}{of_them.get(v, '')}" for v, n in verdicts.most_common())
        yield f"  {total} conductors by {for_terminal(books)}: {said}."
    for remark in [*result.study.remarks, *remembered(result)]:
        yield f"  {for_terminal(remark)}"


def remembered(result: Examination) -> list[str]:
    """The rulebooks whose tables nobody here has read: their user has to compare them with a copy."""
    return [
        f"The capacities of {book.name} are {book.capacity.cite.status}; compare them with your copy."
        for book in result.study.rulebooks
        if book.capacity.cite.status == "from memory"
    ]


def caution() -> Iterator[str]:
    """What every report says once."""
    yield ""
    for words in (EXAMINED, CAUTION):
        yield from textwrap.wrap(words, 118)
    yield ""
