"""Whether another part sheet on board would do where nothing satisfies all with those that the design names.

One element at a time is exchanged; what hangs together with it is chosen anew, all else stays as it was chosen.
"""

from __future__ import annotations

from collections.abc import Collection, Iterator, Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING

from linter.advice.chooser import Best, Chooser
from linter.advice.clauses import MILD, Demand, demand_of, left_out
from linter.advice.options import Option, series_of
from linter.advice.overlay import Changes, overlaid, trying
from linter.model.design import Design
from linter.model.elements import Conductor, Device, Element, Part
from linter.model.facts import same
from linter.rules.contradicts_part import OWN
from linter.rules.finding import Finding
from linter.source.scanner import Token
from linter.source.statements import Fact
from linter.study.coordination import nearest_above

if TYPE_CHECKING:
    from linter.advice.choice import Contradiction

# So many sheets are tried for one contradiction, and so many that would do are told.
MOST_SHEETS = 8
MOST_TOLD = 2
# What is tried for one sheet, and for all those of a design (as of `Chooser`).
SHEET_TRIED = 30
SHEET_WORK = 1_500.0
ALL_WORK = 12_000.0
# A sheet that brings more doubts than come to light in so many searches is no answer.
MOST_BROUGHT = 3


@dataclass(frozen=True, slots=True)
class OtherSheet:
    """A sheet on board with which all that contradicts itself would be satisfied.  ``instead``: the sheet that it would
    replace, if any.  ``device_class`` and ``class_instead`` where they differ; the latter is empty where none is named.
    ``choice``: what the elements concerned would be.  ``brings``: doubts and advice that there would be besides."""

    element: str
    part: str
    instead: str
    device_class: str
    class_instead: str
    choice: tuple[tuple[str, Option], ...]
    copper_kg: float
    brings: tuple[Finding, ...] = ()


class _Few(Chooser):
    """A search for anything that does, soon given up."""

    def found(self, without: Collection[Demand]) -> Best:
        self._allow(SHEET_TRIED, SHEET_WORK)
        return self._soon(without, None)


def other_sheets(
    chooser: Chooser,
    choice: Sequence[int],
    told: Contradiction,
    every: Sequence[Contradiction],
    without: Collection[Demand],
) -> tuple[OtherSheet, ...]:
    """Sheets on board with which what contradicts itself, one of ``every``, can be met together with all else but the
    demands ``without``; one element exchanged at a time, and all that it contradicts met.  ``choice`` is what stays for
    all that does not hang together with it."""
    found: list[OtherSheet] = []
    work = 0.0
    for element, part in _exchanges(chooser.design, told.elements):
        if len(found) == MOST_TOLD or work > ALL_WORK / len(every):
            break
        asked = {demand_of(f)[:2] for c in every if element.name in c.elements for f in c.demands}
        others = {d for d in without if d[:2] not in asked}
        made, spent = _exchanged(chooser, choice, told, asked, others, element, part)
        work += spent
        found += [made] if made is not None else []
    return tuple(found)


def _exchanges(design: Design, elements: Sequence[str]) -> list[tuple[Element, Part]]:
    """What may be tried: first the sheets of the same class, which need no other holder or place."""
    alike: list[tuple[Element, Part]] = []
    other: list[tuple[Element, Part]] = []
    for name in elements:
        element = design.elements[name]
        named = element.part is not None or (isinstance(element, Device) and element.device_class)
        if not named or not isinstance(element, Device | Conductor):
            continue
        for part in design.parts.values():
            if part.part_of != element.kind or part is element.part:
                continue
            if isinstance(element, Conductor):
                alike.append((element, part))
            elif not series_of(part):
                continue
            elif _class(part) == element.device_class:
                # of a class alone its sheets were all tried
                alike += [(element, part)] if element.part is not None else []
            else:
                other.append((element, part))
    return [*alike, *other][:MOST_SHEETS]


def _exchanged(
    chooser: Chooser,
    choice: Sequence[int],
    told: Contradiction,
    asked: Collection[tuple[str, str]],
    without: Collection[Demand],
    element: Element,
    part: Part,
) -> tuple[OtherSheet | None, float]:
    """The choice with another sheet for one element, if there is one; and what it took to look."""
    names = [
        one.name
        for one in chooser.opens
        if one.name in told.elements or chooser.relation.has_say(one.name, element.name, "to devices", rings=False)
    ]
    changes: Changes = {("element", element.name): dict(_facts(element, part))}
    few = _Few(overlaid(chooser.source_of(choice), changes), names, chooser.today)
    # what stands whatever is chosen stands with another sheet too; what the sheet brings does not
    brought = {d: f for d, f in few.standing.items() if d not in chooser.standing and not left_out(d, without)}
    if any(f.severity not in MILD for f in brought.values()):
        return None, few.work
    given_up = set(without)
    best = few.found(given_up)
    for _ in range(MOST_BROUGHT):
        # a sheet may lack a figure: that is told, and does not rule it out
        mild = {d for c in best.core if (d := c.demand).mild and d[:2] not in asked} - given_up
        if best.choice is not None or not mild:
            break
        given_up |= mild
        best = few.found(given_up)
    if best.choice is None or _above_its_feeder(few, best.choice, element):
        return None, few.work
    brings = [*brought.values(), *(f for f in few.try_(best.choice) if demand_of(f) in given_up - set(without))]
    picked = [(one, one.options[at]) for one, at in zip(few.opens, best.choice, strict=True)]
    before = {one.name: one.options[at].figure for one, at in zip(chooser.opens, choice, strict=True)}
    made = tuple((one.name, o) for one, o in picked if one.name in told.elements or o.figure != before[one.name])
    now, so_far = _class(part), element.device_class if isinstance(element, Device) else ""
    return OtherSheet(
        element.name,
        part.name,
        element.part.name if element.part is not None else "",
        now if now != so_far else "",
        so_far if now != so_far else "",
        made,
        sum(o.copper_kg for _, o in made),
        tuple(brings),
    ), few.work


def _above_its_feeder(few: Chooser, choice: Sequence[int], element: Element) -> bool:
    """Whether a device would be rated more than each of those before it, which then open in its stead."""
    study = few.examined(choice).study
    edge = study.design.circuit.edge_of.get(element.name)
    if edge is None or edge.kind != "device":
        return False
    before = [study.design.circuit.edges[e].device.rated_a for e in nearest_above(study.openings(), edge.index)]
    return bool(before) and all(a is not None and a < (edge.device.rated_a or 0.0) for a in before)


def _facts(element: Element, part: Part) -> Iterator[tuple[str, tuple[Fact, ...]]]:
    """The statement's facts that give way to another sheet: what is said of the one that it replaces."""
    yield "part", (trying("part", Token("NAME", part.name, 0, 0), f"part {part.name}"),)
    if isinstance(element, Device):
        yield "current", ()
    for key, own in element.facts.items():
        sheet = part.facts.get(key)
        of_class = sheet is None and key in ("class", "speed")
        if of_class or (sheet is not None and key not in OWN and not same(own.values, sheet.values)):
            yield key, ()


def _class(part: Part) -> str:
    fact = part.facts.get("class")
    return str(fact.values[0]) if fact is not None else ""
