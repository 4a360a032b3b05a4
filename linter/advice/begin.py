"""What a search begins with: options of which anything is known, a first choice, findings that no choice answers."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

from linter.advice.options import Open
from linter.rules.finding import Finding, Severity
from linter.study.capacity import capacity, conditions_of
from linter.study.choice import least_size
from linter.study.study import Study

# Rules that are of no use to a choice: see `asks_only`.
ASKS_ONLY = frozenset({"contact-resistance"})


def asks_only(finding: Finding) -> bool:
    """Whether it is found where a figure is missing, whose cure is the figure: a larger rating or conductor because of
    it would be wrong.  So it is with a start of which only is not known how long a device carries it, and with what a
    source that nobody measured can drive."""
    return finding.rule in ASKS_ONLY or (
        finding.rule in {"start-opens-device", "source-resistance"} and finding.severity is Severity.DOUBT
    )


def no_demand(finding: Finding) -> bool:
    return asks_only(finding) or finding.rule.startswith("acceptance-")


def first_choice(opens: Sequence[Open], study: Study) -> list[int]:
    """A choice to begin with: as near below what load currents and makers ask as is known without trying."""
    choice = []
    for one in opens:
        made = study.conductors.get(one.name)
        at = 0
        edge = study.design.circuit.edge_of.get(one.name)
        load = study.loads.get(edge.index) if edge is not None else None
        amps = load.amps if load is not None else 0.0
        if made is not None and amps > 0:
            at = _below(one, study, amps)
        elif not one.conductor:
            at = next((i for i, o in enumerate(one.options) if o.figure >= amps), len(one.options) - 1)
        choice.append(at)
    return choice


def known_sizes(one: Open, study: Study) -> Open:
    """Without the sizes that are smaller than the rulebooks' tables tell of: nobody knows what they carry."""
    made = study.conductors.get(one.name)
    if made is None or not one.conductor:
        return one
    known = []
    for option in one.options:
        given = conditions_of(replace(made.conductor, size=option.facts[0].values[0]), made.system)
        if given is None or not any(capacity(given, book).bound for book in study.rulebooks):
            known.append(option)
    return replace(one, options=tuple(known)) if known else one


def _below(one: Open, study: Study, amps: float) -> int:
    """The largest size that does not carry the current, by the rulebooks' tables; 0 where all do."""
    made = study.conductors[one.name]
    size = one.options[0].facts[0].values[0]
    given = conditions_of(replace(made.conductor, size=size), made.system)
    if given is None:
        return 0
    enough = least_size(given, study.rulebooks, amps, guard=False)
    at = one.at(enough.value) if enough is not None else len(one.options)
    return max(0, (at or 0) - 1)
