"""How to read the binder."""

from __future__ import annotations

from linter.binder.model import MEANING, Block, Column, Heading, Kind, Paragraph, Points, Section, Table
from linter.binder.subject import Subject

MARKS = (Column("mark", "Mark", kind=Kind.NAME), Column("meaning", "Meaning"))
STATUSES = (
    ("read", "read in the source"),
    ("second-hand", "read where others quote the source"),
    ("common practice", "the trade does it so; no document is known that states it"),
    ("from memory", "written down without the source at hand: compare it with your copy before you rely on it"),
)


def section(subject: Subject) -> Section:
    marks = Table(MARKS)
    for mark, meaning in MEANING.items():
        marks.add(mark.value, meaning)
    blocks: list[Block] = [
        Paragraph(
            f"This binder describes the wiring of {subject.boat} as it is written down in her design files, "
            f"{subject.revised}. Every figure is taken from those files or reckoned from them; nothing was added by "
            "hand. When the boat is changed, the design is changed first and the binder is made anew: the revision "
            "stands on every page, so that pages of two revisions can be told apart."
        ),
        Heading("Names"),
        Paragraph(
            "Each thing has one name (id), the same in the design, on the diagram, in every table and on its label; "
            "names of cables stand at both their ends. Beside it stands what people call it."
        ),
        Heading("Marks before a figure"),
        marks,
        Heading("How well a rule is known"),
        Points(STATUSES),
        Heading("Which side"),
        Paragraph(
            "Tables and diagram show the live side, from the sources outwards: From is nearer the source. The return "
            "of each conductor is as long and as large unless its line says otherwise. Alternating current is drawn "
            "and not judged."
        ),
    ]  # fmt: skip
    return Section("reading", "How to read it", blocks, marks)
