"""A choice as text and as data."""

from __future__ import annotations

import textwrap
from collections.abc import Iterator
from typing import Any

from linter.advice.choose import Choice, Chosen, Contradiction, Neighbour
from linter.advice.options import left_open
from linter.model.design import Design
from linter.report.safe import for_terminal
from linter.rules.finding import Finding

WIDE = 100


def choice_text(choice: Choice, design: Design, paint: Any) -> Iterator[str]:
    """Lines: what is chosen, which rule decided, what contradicts itself, what stands whatever is chosen."""
    for made in choice.chosen:
        yield from _chosen(made, design, paint)
    for one in choice.contradictions:
        yield ""
        yield from _contradiction(one, paint)
    for title, findings in (
        ("Nothing that satisfies all else settles these", choice.unmet),
        ("No choice has a say in these", choice.standing),
    ):
        if findings:
            yield ""
            yield f"{title}; `check` says more:"
            for f in findings:
                yield from _wrapped(f"{f.severity.value}: {f.subject}: {f.message} [{f.rule}]", "  ")
    if choice.asked:
        yield ""
        yield "Figures that nobody gave; nothing is chosen larger because of them:"
        for f in choice.asked:
            yield from _wrapped(f"{f.subject}: {f.message} [{f.rule}]", "  ")
    if choice.leaning:
        yield ""
        yield "It leans on what somebody accepted; see whether that was meant of what is chosen here:"
        for f in choice.leaning:
            yield from _wrapped(f"{f.subject}: {f.message} [{f.rule}] ({f.accepted})", "  ")
    yield ""
    yield _summary(choice, design)


def _summary(choice: Choice, design: Design) -> str:
    if not choice.chosen:
        return f"{for_terminal(design.boat)}: nothing could be chosen"
    proved = "no choice has less" if choice.proved else "not proved the least"
    copper = f", {choice.copper_kg:.3g} kg of copper, {proved}" if choice.copper_kg else ""
    some = f"{len(choice.chosen)} chosen{copper}"
    left = len({name for c in choice.contradictions if c.given_up is None for name in c.elements})
    others = _left_open(choice, design)
    more = f"; {left} cannot be" if left else ""
    more += f"; {len(others)} more left open, with which the least may be another" if others else ""
    return f"{for_terminal(design.boat)}: {some}{more}"


def _left_open(choice: Choice, design: Design) -> list[str]:
    """What the design leaves open besides."""
    named = {c.name for c in choice.chosen} | {name for c in choice.contradictions for name in c.elements}
    return [name for name in left_open(design) if name not in named]


def _chosen(made: Chosen, design: Design, paint: Any) -> Iterator[str]:
    title = design.elements[made.name].title
    copper = f", {made.option.copper_kg:.3g} kg of copper" if made.option.copper_kg else ""
    yield f"{paint(for_terminal(title), 'mark')}: {paint(for_terminal(made.option.written), 'clean')}{copper}"
    if made.option.of:
        yield from _wrapped(made.option.of, "  ")
    for neighbour in (made.smaller, made.larger):
        if neighbour is not None and neighbour.finding is not None:
            yield from _neighbour(neighbour)
    if made.smaller is None:
        yield "  the only one known" if made.larger is None and not made.conductor else "  the least that is made"


def _neighbour(neighbour: Neighbour) -> Iterator[str]:
    finding = neighbour.finding
    assert finding is not None
    what = finding.message if neighbour.exact else f"{finding.subject}, as with others that were tried"
    if neighbour.exact and finding.missing:
        what += "; with that figure it might do"
    yield from _wrapped(
        f"{neighbour.option.written} would not do: {what} [{finding.rule}, {finding.severity.value}]", "  "
    )


def _contradiction(one: Contradiction, paint: Any) -> Iterator[str]:
    names, grave = for_terminal(", ".join(one.elements)), "danger" if one.given_up is None else "doubt"
    none = "nothing satisfies" if one.proved else "nothing was found that satisfies"
    yield f"{paint(names, grave)}: {none} all of this at once (each as it was found when tried):"
    for finding in one.demands:
        yield from _wrapped(f"{finding.severity.value}: {finding.subject}: {finding.message} [{finding.rule}]", "  ")
    if one.given_up is not None:
        given_up = one.given_up
        which = f"{given_up.rule} at {given_up.subject}"
        yield from _wrapped(f"{which} is advice, and left open", "  ")
    for relaxed in one.relaxed:
        without = f"without {relaxed.demand.rule} at {relaxed.demand.subject}"
        if relaxed.choice is None:
            none = "there is no choice either" if relaxed.proved else "no choice was found either"
            yield from _wrapped(f"{without} {none}", "  ")
            continue
        would = ", ".join(f"{name} {option.written}" for name, option in relaxed.choice)
        copper = f", {relaxed.copper_kg:.3g} kg of copper" if relaxed.copper_kg else ""
        yield from _wrapped(f"{without}: {would}{copper}", "  ")


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
                "copper_kg": c.option.copper_kg,
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
                        "choice": None if r.choice is None else {name: option.written for name, option in r.choice},
                        "copper_kg": r.copper_kg,
                    }
                    for r in k.relaxed
                ],
            }
            for k in choice.contradictions
        ],
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
    return {"choice": neighbour.option.written, "would_break": found}
