"""What `rules` lists and `explain RULE` says."""

from __future__ import annotations

from collections.abc import Callable, Iterator

from linter.rules.registry import Rule
from linter.tables.rulebook import Rulebook

_INDENT = "    "


def rule_line(rule: Rule, width: int) -> str:
    return f"{rule.name:<{width}}  {rule.severity.value:<7}  {rule.demand}"


def _distances(book: Rulebook) -> Iterator[str]:
    tied = {"any": "from any supply point", "battery": "from a battery", "charging": "from a charging source"}
    for row in book.distances:
        if row.current != "ac":
            covered = ", covered all the way" if row.covered else ""
            yield f"{tied[row.tied]}{covered}: {row.words} [{row.cite}]"


def _least_sizes(book: Rulebook) -> Iterator[str]:
    for row in book.least_sizes:
        run = "inside a sheath" if row.run == "sheathed" else "run singly"
        longer = f", where longer than {row.longer_than_mm:g} mm" if row.longer_than_mm is not None else ""
        yield f"{run}{longer}: {row.size}{', ' + row.words if row.words else ''} [{row.cite}]"


def _device_limits(book: Rulebook) -> Iterator[str]:
    for row in book.device_limits:
        if row.current == "ac":
            continue
        volts = f"from {row.from_v:g} V" if row.from_v else "at any voltage"
        if row.below_v is not None:
            volts = f"below {row.below_v:g} V"
        more = (
            f", or the next standard rating up to {row.next_standard_up_to:.0%}"
            if row.next_standard_up_to is not None
            else ""
        )
        yield f"{volts}: a guard of at most {row.multiple:.0%} of the capacity{more} [{row.cite}]"


_FIGURES: dict[str, Callable[[Rulebook], Iterator[str]]] = {
    "protection-distance": _distances,
    "conductor-too-small": _least_sizes,
    "conductor-unprotected": _device_limits,
}


def rule_page(rule: Rule) -> Iterator[str]:
    """A rule in full: demand, reason, clause and status, mend, and the two examples."""
    yield f"{rule.name} ({rule.severity.value})"
    yield ""
    yield rule.demand
    yield ""
    yield rule.reason
    yield ""
    yield f"Clause: {rule.clause}. How it is known here: {rule.status}."
    yield f"Mend: {rule.mend}"
    yield ""
    figures = _FIGURES.get(rule.name)
    if figures is not None:
        from linter.tables.rulebook import load, names

        yield "Figures of the rulebooks that come with wireworthy:"
        yield from (f"{_INDENT}{name}: {line}" for name in names() for line in figures(load(name)))
        yield ""
    yield "Wrong:"
    yield from (_INDENT + line for line in rule.bad.splitlines())
    yield ""
    yield "Right:"
    yield from (_INDENT + line for line in rule.good.splitlines())
