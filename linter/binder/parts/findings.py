"""What the rules found, and what somebody accepts: why, who and until when."""

from __future__ import annotations

from linter.binder.model import Block, Column, Kind, Paragraph, Points, Section, Table
from linter.binder.subject import Subject
from linter.binder.words import sentence, tied
from linter.drawing.text import clean
from linter.report.caution import EXAMINED
from linter.report.text import remembered
from linter.rules.finding import Finding, Severity

OPEN = (
    Column("severity", "Severity"),
    Column("element", "Element", kind=Kind.NAME),
    Column("finding", "Finding"),
    Column("mend", "What mends it"),
    Column("clause", "Clause, and how it is known here"),
)
ACCEPTED = (
    Column("severity", "Severity"),
    Column("element", "Element", kind=Kind.NAME),
    Column("finding", "Accepted deviation"),
    Column("reason", "Reason"),
    Column("by", "Accepted by"),
    Column("until", "Until"),
)
DATA = (
    Column("state", "State"), Column("severity", "Severity"), Column("rule", "Rule"),
    Column("element", "Element", kind=Kind.NAME), Column("finding", "Finding"), Column("mend", "Mend"),
    Column("clause", "Clause"), Column("status", "Status"), Column("reason", "Reason"), Column("by", "By"),
    Column("until", "Until"), Column("file", "File"), Column("line", "Line"),
)  # fmt: skip


def section(subject: Subject) -> Section:
    result = subject.result
    data, open_, accepted = Table(DATA), Table(OPEN, title="Open"), Table(ACCEPTED, title="Accepted deviations")
    open_.empty, accepted.empty = "No finding is open.", "No deviation is accepted."
    words = {(a.rule, a.subject): a for a in subject.design.accepted}
    for one in sorted(result.findings, key=lambda f: f.severity.rank):
        line = str(one.span.text.position(one.span.start)[0])
        state = "accepted" if one.accepted else "open"
        known = words.get((one.rule, one.subject)) if one.accepted else None
        why = (clean(known.reason), clean(known.by), known.until) if known else ("", "", "")
        data.add(
            state, one.severity.value, one.rule, clean(one.subject), clean(one.message), clean(one.mend),
            clean(one.clause), one.status, *why, clean(one.span.path), line,
        )  # fmt: skip
        if one.accepted:
            accepted.add(one.severity.value, clean(one.subject), _said(one), *why)
        else:
            open_.add(
                one.severity.value, clean(one.subject), _said(one), clean(one.mend), _clause(one),
                warns=one.severity is Severity.DANGER,
            )  # fmt: skip
    blocks: list[Block] = [Paragraph(EXAMINED)]
    if not result.complete:
        blocks.append(
            Paragraph("INCOMPLETE: part of the design could not be read, or a rule broke; see the cover.", True)
        )
    if subject.choice.day:
        blocks.append(Paragraph(f"Acceptances are judged by the day {subject.choice.day}."))
    blocks += [
        Points((
            ("danger", "fire or shock: to be mended before power is put on"),
            ("fault", "breaks the rulebook or the maker's word"),
            ("doubt", "a figure that the verdict needs is missing or from memory"),
            ("advice", "good practice"),
        )),
        open_, accepted,
    ]  # fmt: skip
    blocks += [Paragraph(sentence(r)) for r in [*subject.study.remarks, *remembered(result)]]
    return Section("findings", "Findings and accepted deviations", blocks, data, landscape=True)


def _said(one: Finding) -> str:
    return f"{tied(clean(one.message))} [{one.rule}]"


def _clause(one: Finding) -> str:
    return f"{clean(one.clause)} ({one.status})" if one.clause else ""
