"""Which parts there are, in their order, and how a document is made of them."""

from __future__ import annotations

import os
from collections.abc import Callable, Collection
from datetime import UTC, datetime
from importlib import import_module

from linter.binder.model import Document, Section
from linter.binder.subject import Choice, Subject

#: By name: the module that makes it.
PARTS = {
    "cover": "cover", "reading": "reading", "diagram": "diagram", "conductors": "conductors", "devices": "devices",
    "panels": "panels", "loads": "loads", "batteries": "batteries", "energy": "energy", "curves": "curves",
    "findings": "findings", "spares": "spares", "parts": "parts_list", "commissioning": "commissioning",
    "labels": "labels", "glossary": "glossary",
}  # fmt: skip


def one_part(subject: Subject, name: str) -> Section:
    """The part of this name, of PARTS."""
    made: Section = import_module(f"linter.binder.parts.{PARTS[name]}").section(subject)
    return made


def document(
    subject: Subject, chosen: Collection[str] = tuple(PARTS), progress: Callable[[str], None] | None = None
) -> Document:
    """The binder with the chosen parts, in the order of PARTS; ``progress`` is told the name of each."""
    from linter.binder.parts.cover import facts, warnings
    from linter.report.caution import CAUTION, EXAMINED

    sections = []
    for name in PARTS:
        if name in chosen and name != "cover":
            if progress is not None:
                progress(name)
            sections.append(one_part(subject, name))
    return Document(
        boat=subject.boat,
        title=f"{subject.boat}: as-built wiring",
        revision=subject.revised,
        paper=subject.choice.paper,
        day=_day(subject),
        cautions=(CAUTION, EXAMINED),
        warnings=warnings(subject),
        facts=facts(subject),
        cover="cover" in chosen,
        sections=sections,
    )


def _day(subject: Subject) -> tuple[int, int, int]:
    """The day in the file's own data, which must not change with the day on which it is made: that of the revision,
    else that of SOURCE_DATE_EPOCH, else the first of a century."""
    if subject.revision is not None:
        year, month, day = (int(n) for n in subject.revision.date.split("-"))
        return year, month, day
    epoch = os.environ.get("SOURCE_DATE_EPOCH", "")
    if epoch.isdecimal() and len(epoch) < 12:
        made = datetime.fromtimestamp(int(epoch), UTC)
        return made.year, made.month, made.day
    return 2000, 1, 1


__all__ = ["PARTS", "Choice", "Subject", "document", "one_part"]
