"""The cover: which boat, which revision, by which rulebooks, and what to beware of."""

from __future__ import annotations

from collections import Counter

from linter import __version__
from linter.binder.model import Column, Kind, Section, Table
from linter.binder.subject import Subject
from linter.binder.words import joined, quantity
from linter.drawing.text import clean
from linter.report.text import PLURAL, counts
from linter.rules.finding import Severity

DATA = (Column("what", "What", kind=Kind.NAME), Column("words", "Words"))


def facts(subject: Subject) -> tuple[tuple[str, str], ...]:
    design, study, revision = subject.design, subject.study, subject.revision
    kinds = Counter(e.kind for e in design.circuit.edges)
    systems = [
        f"{clean(s.label or s.name)}: "
        + joined([quantity(s.voltage_v, "V"), "AC" if s.alternating else "DC", s.earthing])
        for s in design.systems.values()
    ]
    found = [
        ("Boat", joined([subject.boat, quantity(design.length_m, "m")])),
        ("Systems", "; ".join(systems) or "none"),
        ("Rulebooks", "; ".join(f"{b.title} ({b.name})" for b in study.rulebooks) or "none"),
        ("Revision", f"{revision.commit} of {revision.date}" if revision else "under no revision control"),
        ("Conductors", str(len(study.conductors))),
        ("Protective devices", str(kinds["device"])),
        ("Loads", str(sum(n.load is not None for n in design.circuit.nodes))),
        ("Findings", _findings(subject)),
        ("Made by", f"wireworthy {__version__}"),
    ]
    return tuple(found)


def _findings(subject: Subject) -> str:
    open_, accepted = counts(subject.result)
    words = [f"{n} {s.value if n == 1 else PLURAL[s]}" for s in Severity if (n := open_[s])]
    return joined([joined(words) or "none open", f"{accepted} accepted" if accepted else "none accepted"])


def warnings(subject: Subject) -> tuple[str, ...]:
    """What makes it less than whole, the gravest first."""
    said = []
    open_, _ = counts(subject.result)
    if not subject.result.complete:
        said.append("INCOMPLETE: part of the design could not be read, or a rule broke. What is missing may protect.")
    if open_[Severity.DANGER]:
        said.append("DANGERS ARE OPEN: mend what is marked danger in the findings before power is put on.")
    if subject.revision is None:
        said.append("The design is under no revision control: nobody can tell from which state this was made.")
    elif subject.revision.changed:
        said.append("Made from uncommitted changes: the revision named here does not have all that is shown.")
    return tuple(said)


def section(subject: Subject) -> Section:
    data = Table(DATA)
    for what, words in facts(subject):
        data.add(what, words)
    for words in warnings(subject):
        data.add("Warning", words)
    return Section("cover", "Cover", [], data)
