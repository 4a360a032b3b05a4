"""What would change if a fact were another: `check --with 'fuse F7 rating 15 A'`.  Nothing is written.

The change is read by `change.py`, laid over the statements by `overlay.py`, examined by all rules and compared as
`compare` does; `what_if_show.py` tells it.
"""

from __future__ import annotations

import datetime
import re
from collections.abc import Collection, Iterable, Sequence
from dataclasses import dataclass, replace

from linter.advice.change import BadChange as BadChange
from linter.advice.change import Reading, merged, readings
from linter.advice.overlay import declaring, overlaid
from linter.history.compare import Comparison, compared
from linter.history.sides import Side, Sides
from linter.model.build import build
from linter.model.design import Design
from linter.model.facts import same
from linter.rules.engine import Examination, examine
from linter.rules.finding import Finding, Severity
from linter.rules.registry import Rule
from linter.rules.voltage_drop import mend_by
from linter.source.files import DesignSource
from linter.source.guess import Guesser
from linter.source.span import Mistake
from linter.source.statements import Fact

_MISSING = re.compile(r"there is no (?P<sort>place|system|part) (?P<name>[\w-]+)")
#: So many names are told at most.
MOST_DECLARED = 8


@dataclass(slots=True)
class WhatIf:
    """The design as it is beside the design as it would be."""

    written: tuple[str, ...]
    made: Comparison
    # names of what the changes are of, as they were asked
    asked: tuple[str, ...] = ()
    # whether each fact is as the design has it, and the part sheets asked about that nothing refers to
    already: bool = False
    unused: tuple[str, ...] = ()


def changed(source: DesignSource, written: Iterable[str]) -> DesignSource:
    """The design's statements with the facts that are written in place of those of the same key.

    Of what may be said several times all that is written counts.  Raises BadChange, also where two changes say another
    thing of the same fact.
    """
    return _changed(source, readings(source, list(written)))


def _changed(source: DesignSource, asked: Sequence[Reading]) -> DesignSource:
    made = overlaid(source, merged(asked))
    _not_taken(source, made, asked)
    return made


def what_if(
    source: DesignSource, written: Sequence[str], today: datetime.date | None = None,
    chosen: list[Rule] | None = None, severities: dict[str, Severity] | None = None,
) -> WhatIf:  # fmt: skip
    """Both designs examined by the same rules on the same day, and compared.  Raises BadChange."""
    asked = readings(source, written)
    other = _changed(source, asked)
    day = today or datetime.date.today()
    before, after = build(source), build(other)
    now = examine(after, chosen, day, None, severities)
    was = examine(before, chosen, day, None, severities, now.study)
    cables = _cables(after, asked)
    now = replace(now, findings=[_mended(f, now, cables) for f in now.findings])
    with Sides() as sides:
        old = replace(sides.of(before), shown="as it is")
        new: Side = replace(sides.of(after), shown=f"with {'; '.join(written)}")
        made = compared(old, new, was, now)
    names = tuple(dict.fromkeys(r.name for r in asked))
    return WhatIf(tuple(written), made, names, _already(source, asked), _unused(after, asked))


def _already(source: DesignSource, asked: Sequence[Reading]) -> bool:
    """Whether the design says all that is asked, itself or by a part sheet."""
    declared = declaring(source)

    def says(reading: Reading, key: str, facts: tuple[Fact, ...]) -> bool:
        statement, _ = declared[reading.sort, reading.name]
        present = [f for f in statement.facts if f.key == key]
        part = next((f for f in statement.facts if f.key == "part"), None)
        if not present and part is not None and ("part", str(part.values[0].value)) in declared:
            sheet, _ = declared["part", str(part.values[0].value)]
            present = [f for f in sheet.facts if f.key == key]
        return len(present) == len(facts) and all(same(a.values, b.values) for a, b in zip(present, facts, strict=True))

    return all(says(r, key, facts) for r in asked for key, facts in r.facts.items())


def _unused(design: Design, asked: Sequence[Reading]) -> tuple[str, ...]:
    used = {e.part.name for e in design.elements.values() if e.part is not None}
    return tuple(dict.fromkeys(r.name for r in asked if r.sort == "part" and r.name not in used))


def _cables(design: Design, asked: Sequence[Reading]) -> frozenset[str]:
    """The cables of which something is asked, themselves or by their part sheet."""
    own = {r.name for r in asked if r.sort == "element"}
    sheets = {r.name for r in asked if r.sort == "part"}
    return frozenset(
        e.name for e in design.elements.values()
        if e.kind == "cable" and (e.name in own or (e.part is not None and e.part.name in sheets))
    )  # fmt: skip


def _mended(finding: Finding, now: Examination, cables: Collection[str]) -> Finding:
    """The same finding; of a voltage drop, where a cable asked about can mend it alone, with that as its mend.

    Asked about one cable, one wants to know how large it has to be, not which others could make up for it.
    """
    if finding.rule != "voltage-drop" or not cables:
        return finding
    mend = mend_by(now.study, finding.subject, cables)
    return replace(finding, mend=mend) if mend else finding


def _not_taken(source: DesignSource, made: DesignSource, asked: Sequence[Reading]) -> None:
    """What the changed design cannot be built with points to the change, as nothing of the file is wrong."""
    if not asked:
        return
    before = {m.message for m in build(source).mistakes}
    new = [m for m in build(made).mistakes if m.message not in before]
    if not new:
        return
    found = []
    for mistake in new:
        named = [r for r in asked if _about(r, mistake, made)]
        span = (named[-1] if named else asked[-1]).span()
        mend = _declared(mistake.message, made) or mistake.mend
        found.append(Mistake(span, mistake.message, mend, loses=mistake.loses))
    if any(m.loses for m in found):
        raise BadChange(found)


def _declared(message: str, made: DesignSource) -> str:
    """Of a place, system or part that is not there: those that are."""
    missing = _MISSING.match(message)
    if missing is None:
        return ""
    names = [name for sort, name in declaring(made) if sort == missing["sort"]]
    near = Guesser().nearest(missing["name"], names)
    shown = ", ".join(names[:MOST_DECLARED]) + (" …" if len(names) > MOST_DECLARED else "")
    return near or (f"the design has {shown}" if names else f"the design declares no {missing['sort']}")


def _about(reading: Reading, mistake: Mistake, made: DesignSource) -> bool:
    statement, file = declaring(made)[reading.sort, reading.name]
    return mistake.span.text is file.text and statement.start <= mistake.span.start <= statement.end


def design_of(source: DesignSource, written: Sequence[str]) -> Design:
    """The design with the changes, built.  Raises BadChange."""
    return build(changed(source, written))
