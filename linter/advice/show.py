"""A choice as text and as data."""

from __future__ import annotations

import math
import re
import textwrap
from collections.abc import Iterator, Sequence
from typing import Any

from linter.advice.choice import Choice, Chosen, Contradiction, Neighbour
from linter.advice.clauses import MILD
from linter.advice.options import Option, left_open
from linter.advice.other_sheets import OtherSheet
from linter.model.design import Design
from linter.model.elements import Conductor, Device
from linter.report.safe import for_terminal
from linter.rules.finding import Finding, Severity
from linter.rules.words import amps, class_words

WIDE = 100


def choice_text(choice: Choice, design: Design, paint: Any) -> Iterator[str]:
    """Lines: what is chosen, which rule decided, what contradicts itself, what stands whatever is chosen."""
    parts = [[line for made in choice.chosen for line in _chosen(made, design, paint)]]
    parts += [list(_contradiction(one, paint)) for one in choice.contradictions]
    for title, told in (
        (f"{_UNMET if choice.settled else _NOT_FOUND}; they stay, and `check` says more:", _stays(choice.unmet)),
        ("Nothing that is chosen here has a say in these; they stay, and `check` says more:", _stays(choice.standing)),
        (
            "Figures that nobody gave; nothing is chosen larger because of them:",
            [f"{_said(f)} [{f.rule}]" for f in choice.asked],
        ),
        (
            "It leans on what somebody accepted; see whether that was meant of what is chosen here:",
            [f"{_said(f)} [{f.rule}] ({f.accepted})" for f in choice.leaning],
        ),
    ):
        if told:
            parts.append([title, *(line for one in told for line in _wrapped(one, "  "))])
    for part in parts:
        if part:
            yield from [*part, ""]
    yield _summary(choice, design)


def _stays(findings: Sequence[Finding]) -> list[str]:
    """The gravest first."""
    return [f"{f.severity.value}: {_said(f)} [{f.rule}]" for f in sorted(findings, key=lambda f: f.severity.rank)]


_UNMET = "No choice that satisfies all else mends these"
_NOT_FOUND = "No choice was found that satisfies all else and mends these"


def _said(finding: Finding) -> str:
    """The sentence of a finding, with the element before it where it names it nowhere."""
    named = re.search(rf"(?<![\w-]){re.escape(finding.subject)}(?![\w-])", finding.message)
    return finding.message if named else f"{finding.subject}: {finding.message}"


def _summary(choice: Choice, design: Design) -> str:
    if not choice.chosen:
        return f"{for_terminal(design.boat)}: nothing could be chosen"
    proved = "no choice has less" if choice.proved else "not proved the least"
    copper = f", {choice.copper_kg:.3g} kg of copper, {proved}" if choice.copper_kg else ""
    some = f"{len(choice.chosen)} chosen{copper}"
    left = len({name for c in choice.contradictions if c.given_up is None for name in c.elements})
    others = _left_open(choice, design)
    more = f"; {left} cannot be chosen" if left else ""
    more += f"; {len(others)} more left open, with which the least may be another" if others else ""
    grave = sum(f.severity not in MILD for f in (*choice.unmet, *choice.standing))
    more += f"; {grave} {'danger or fault stays' if grave == 1 else 'dangers or faults stay'}" if grave else ""
    return f"{for_terminal(design.boat)}: {some}{more}"


def _left_open(choice: Choice, design: Design) -> list[str]:
    """What the design leaves open besides."""
    named = {c.name for c in choice.chosen} | {name for c in choice.contradictions for name in c.elements}
    return [name for name in left_open(design) if name not in named]


def _chosen(made: Chosen, design: Design, paint: Any) -> Iterator[str]:
    title = design.elements[made.name].title
    copper = f", {made.option.copper_kg:.3g} kg of copper" if made.option.copper_kg else ""
    now = f"; now {_now(made, design)}" if _now(made, design) else ""
    yield f"{paint(for_terminal(title), 'mark')}: {paint(for_terminal(made.option.written), 'clean')}{copper}{now}"
    if made.option.of:
        yield from _wrapped(made.option.of, "  ")
    yield from _wrapped(_reason(made, design), "  ")
    larger, smaller = made.larger, made.smaller
    if larger is not None and (finding := larger.finding) is not None:
        told = _would_not_do(larger, finding)
        before = smaller.finding if smaller is not None else None
        if before is not None and (before.rule, before.subject) == (finding.rule, finding.subject):
            told = f"nor would {larger.option.written}, by the same demand"
        yield from _wrapped(told, "  ")


def _now(made: Chosen, design: Design) -> str:
    """What the element is now, where it is something else."""
    element = design.elements[made.name]
    if isinstance(element, Conductor) and element.size is not None:
        return "" if math.isclose(element.size.value, made.option.figure) else str(element.size)
    if isinstance(element, Device) and element.rated_a is not None:
        return "" if math.isclose(element.rated_a, made.option.figure) else amps(element.rated_a)
    return ""


def _reason(made: Chosen, design: Design) -> str:
    """Why it is no smaller."""
    smaller = made.smaller
    if made.raised:
        return "larger than any rule asks, so that it is rated no less than what stands behind it"
    if smaller is None:
        if made.conductor:
            return "the least that the rulebooks' tables tell of"
        return _least(made, design) if made.larger is not None else "the only rating known"
    if smaller.finding is not None:
        no_smaller = "" if smaller.option.series == made.option.series else f"{_least(made, design)}; "
        return no_smaller + _would_not_do(smaller, smaller.finding)
    if smaller.exact:
        return f"{smaller.option.written} was tried too and breaks nothing more: the least was not found"
    return f"{smaller.option.written} was not tried: too much is chosen at once to try everything"


def _least(made: Chosen, design: Design) -> str:
    """Of what its rating is the least."""
    element = design.elements[made.name]
    sheet = made.option.series or (element.part.name if element.part is not None else "")
    if sheet:
        return f"the least rating in which part {sheet} is made"
    known = isinstance(element, Device) and element.device_class and not made.option.of
    return f"the least {'rating of its class' if known else 'of these ratings'}"


def _would_not_do(neighbour: Neighbour, finding: Finding) -> str:
    what = _said(finding)
    if not neighbour.exact:
        what = f"with other choices it broke this demand at {finding.subject}"
    elif finding.missing:
        what += "; with that figure it might do"
    return f"{neighbour.option.written} would not do: {what} [{finding.rule}, {finding.severity.value}]"


def _contradiction(one: Contradiction, paint: Any) -> Iterator[str]:
    names, grave = for_terminal(", ".join(one.elements)), "danger" if one.given_up is None else "doubt"
    none = "nothing satisfies" if one.proved else "nothing was found that satisfies"
    several = len(one.demands) > 1
    what = "all of this at once" if several else "this"
    yield f"{paint(names, grave)}: {none} {what}:"
    for at, finding in enumerate(one.demands, 1):
        number = f"{at}. " if several else ""
        yield from _wrapped(f"{number}{finding.severity.value}: {_said(finding)} [{finding.rule}]", "  ")
    which = [_which(one.demands, finding) for finding in one.demands]
    if one.given_up is not None:
        given_up = which[one.demands.index(one.given_up)]
        yield from _wrapped(f"{given_up} is {one.given_up.severity.value} only, and left open", "  ")
    for relaxed in one.relaxed:
        if relaxed.demand.severity is Severity.DANGER:
            # what rests on a danger is no answer, whatever it would cost
            mend = f": {relaxed.demand.mend}" if relaxed.demand.mend and not several else ""
            yield from _wrapped(
                f"{_which(one.demands, relaxed.demand)} is a danger, and not to be given up{mend}", "  "
            )
            continue
        without = f"if {_which(one.demands, relaxed.demand)} is given up"
        if relaxed.choice is None:
            none = "there is no choice either" if relaxed.proved else "no choice was found either"
            yield from _wrapped(f"{without}, {none}", "  ")
            continue
        yield from _wrapped(f"{without}, all else asks for {_options(relaxed.choice, relaxed.copper_kg)}", "  ")
    for other in one.other_sheets:
        yield from _other_sheet(other, several)


def _which(demands: Sequence[Finding], finding: Finding) -> str:
    """A demand as it is referred to: by its number, where there are several."""
    return str(demands.index(finding) + 1) if len(demands) > 1 else "this"


def _options(choice: Sequence[tuple[str, Option]], copper_kg: float) -> str:
    copper = f", {copper_kg:.3g} kg of copper" if copper_kg else ""
    return ", ".join(f"{name} {option.written}" for name, option in choice) + copper


def _other_sheet(other: OtherSheet, several: bool) -> Iterator[str]:
    """A sheet that would do, what else would change with it, and what to see to."""
    rating = next(option.written for name, option in other.choice if name == other.element)
    rest = [(name, option) for name, option in other.choice if name != other.element]
    told = f"with part {other.part}, {rating}"
    if other.instead:
        told += f" in place of part {other.instead}"
    told += f" for {other.element}" + (", all of this is satisfied" if several else ", this is satisfied")
    told += f" ({_options(rest, other.copper_kg)})" if rest else ""
    if other.device_class or other.class_instead:
        now, was = (class_words(c) or "of no class that it names" for c in (other.device_class, other.class_instead))
        told += f"; it is {now}, not {was}: see that it fits, and that the makers of what it feeds allow it"
    yield from _wrapped(told, "  ")
    for finding in other.brings:
        yield from _wrapped(f"{finding.severity.value} then: {_said(finding)} [{finding.rule}]", "    ")


def _wrapped(text: str, indent: str) -> list[str]:
    return textwrap.wrap(
        for_terminal(text), WIDE, initial_indent=indent, subsequent_indent=indent + "  ", break_on_hyphens=False
    )


def choice_data(choice: Choice, design: Design) -> dict[str, Any]:
    """The same for programs.  Copper in kg."""
    return {
        "format": 1,
        "boat": design.boat,
        "chosen": [
            {
                "element": c.name,
                "choice": c.option.written,
                "now": _now(c, design) or None,
                "copper_kg": c.option.copper_kg,
                "reason": _reason(c, design),
                "smaller": _neighbour_data(c.smaller),
                "larger": _neighbour_data(c.larger),
            }
            for c in choice.chosen
        ],
        "copper_kg": choice.copper_kg,
        "proved_least": choice.proved,
        "contradictions": [
            {
                "elements": list(k.elements),
                "demands": [_finding_data(f) for f in k.demands],
                "given_up": _finding_data(k.given_up) if k.given_up is not None else None,
                "proved": k.proved,
                "without": [
                    {
                        **_finding_data(r.demand),
                        # nothing is offered that rests on a danger
                        "choice": None
                        if r.choice is None or r.demand.severity is Severity.DANGER
                        else {name: option.written for name, option in r.choice},
                        "copper_kg": 0.0 if r.demand.severity is Severity.DANGER else r.copper_kg,
                    }
                    for r in k.relaxed
                ],
                "other_sheets": [
                    {
                        "element": o.element,
                        "part": o.part,
                        "in_place_of": o.instead or None,
                        "class": o.device_class or None,
                        "class_in_place_of": o.class_instead or None,
                        "choice": {name: option.written for name, option in o.choice},
                        "copper_kg": o.copper_kg,
                        "brings": [_finding_data(f) for f in o.brings],
                    }
                    for o in k.other_sheets
                ],
            }
            for k in choice.contradictions
        ],
        "settled": choice.settled,
        "unmet": [_finding_data(f) for f in choice.unmet],
        "left_open": _left_open(choice, design),
        "standing": [_finding_data(f) for f in choice.standing],
        "asked": [_finding_data(f) for f in choice.asked],
        "leaning": [{**_finding_data(f), "accepted": f.accepted} for f in choice.leaning],
    }


def _finding_data(finding: Finding) -> dict[str, str]:
    return {
        "rule": finding.rule, "severity": finding.severity.value, "element": finding.subject,
        "message": finding.message,
    }  # fmt: skip


def _neighbour_data(neighbour: Neighbour | None) -> dict[str, Any] | None:
    if neighbour is None:
        return None
    found = _finding_data(neighbour.finding) if neighbour.finding else None
    if found is not None and not neighbour.exact:
        del found["message"]
    return {"choice": neighbour.option.written, "tried": neighbour.exact, "would_break": found}
