"""A design does not contradict the part sheet it refers to."""

from __future__ import annotations

from collections.abc import Iterator

from linter.model.facts import quoted, same
from linter.rules.finding import Severity
from linter.rules.registry import Wrong, rule
from linter.study.study import Study


@rule(
    "contradicts-part",
    Severity.FAULT,
    demand="A design does not contradict the part sheet it refers to.",
    reason=(
        "The sheet is what the maker says. Where the design says otherwise, one of the two is wrong, and "
        "nobody will know which."
    ),
    clause="the maker's manual",
    status="common practice",
    mend="Correct the design, or refer to the part that is really fitted.",
    measure="Read maker, type and rating off what is really fitted.",
    bad="""
part lamp-10, load
  draws 1 A
  says "leaflet, page 1"
from B
cable W1, 50 mm2, 0.15 m
fuse F1, part main, 150 A
cable W2, 50 mm2, 1 m
bus POS, 250 A
from POS
fuse F3, part branch, 5 A
cable W3, 1.5 mm2, 3 m
load LAMP, part lamp-10, draws 2 A
""",
    good="""
part lamp-10, load
  draws 1 A
  says "leaflet, page 1"
from B
cable W1, 50 mm2, 0.15 m
fuse F1, part main, 150 A
cable W2, 50 mm2, 1 m
bus POS, 250 A
from POS
fuse F3, part branch, 5 A
cable W3, 1.5 mm2, 3 m
load LAMP, part lamp-10
""",
    whole=False,
)
def RULE(study: Study) -> Iterator[Wrong]:
    for element in study.design.elements.values():
        part = element.part
        if part is None:
            continue
        for key, fact in element.facts.items():
            sheet = part.facts.get(key)
            if sheet is None or key in OWN or same(fact.values, sheet.values):
                continue
            said, by = quoted(fact, element.source)
            sheet_said, sheet_by = quoted(sheet, part.source)
            mend = "take the fact out of the design, or refer to another part"
            if by and not sheet_by:
                mend = f"refer to a part that is so: --with '{element.name} part NAME'; or ask about the sheet: "
                mend += f"--with '{part.name} {said}'"
            yield Wrong(
                element,
                f"{element.title} says {said!r}{_by(by)}; the sheet of {part.title} says {sheet_said!r}{_by(sheet_by)}",
                mend,
                span=element.where(key),
                related=((part.source.span(sheet.start, sheet.end), "the sheet"),),
            )


def _by(where: str) -> str:
    """Where something is said that stands in no file."""
    return f" ({where})" if where else ""


# Facts of the one that is fitted, not of the make.
OWN = frozenset({"place", "on", "says", "part"})
