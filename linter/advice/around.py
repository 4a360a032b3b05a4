"""What lies next to a choice: the next smaller and larger options, and what they would break."""

from __future__ import annotations

from collections.abc import Collection, Sequence

from linter.advice.choice import Neighbour
from linter.advice.chooser import Chooser
from linter.advice.clauses import Demand, demand_of, left_out
from linter.model.elements import Device, Element
from linter.rules.finding import Finding
from linter.study.coordination import nearest_above

# Devices one behind the other, from a bank to a load.
GREATEST_ABOVE = 5


def next_option(chooser: Chooser, choice: Sequence[int], variable: int, step: int) -> int | None:
    """The option of the same series one step smaller (-1) or larger (1); None at the end."""
    one = chooser.opens[variable]
    here = one.options[choice[variable]]
    same = sorted((o.figure, i) for i, o in enumerate(one.options) if o.series == here.series)
    at = same.index((here.figure, choice[variable])) + step
    return same[at][1] if 0 <= at < len(same) else None


def neighbour(
    chooser: Chooser, choice: Sequence[int], variable: int, step: int, without: Collection[Demand], most_work: float
) -> Neighbour | None:
    """The next smaller or larger option, and the gravest of what it would break.  A larger conductor only costs.  Of
    the least that is made of a sheet it is the next smaller of another one."""
    one = chooser.opens[variable]
    option = None if one.conductor and step > 0 else next_option(chooser, choice, variable, step)
    if option is None and step < 0:
        # no smaller one is made of it: then of another make
        here = one.options[choice[variable]].figure
        less = [i for i, o in enumerate(one.options) if o.figure < here * (1 - 1e-9)]
        option = max(less, key=lambda i: (one.options[i].figure, -i), default=None)
    if option is None:
        return None
    other = [*choice]
    other[variable] = option
    before = {demand_of(f) for f in chooser.try_(choice)}

    def new(found: Sequence[Finding]) -> list[Finding]:
        return [f for f in found if demand_of(f) not in before and not left_out(demand_of(f), without)]

    breach, exact = new(chooser.told_of(variable, option)), True
    if not breach and chooser.work > most_work:
        breach, exact = new(chooser.barring(without, other)), False
    elif not breach:
        breach = new(chooser.try_(other))
    return Neighbour(one.options[option], min(breach, key=lambda f: f.severity.rank, default=None), exact)


def lessened(chooser: Chooser, choice: Sequence[int], without: Collection[Demand], most_work: float) -> list[int]:
    """A choice each of whose elements is as small as the others leave it, as far as the work allows to see."""
    made = [*choice]
    for variable in range(len(made)):
        while (option := next_option(chooser, made, variable, -1)) is not None and chooser.work < most_work:
            other = [*made]
            other[variable] = option
            if chooser.barring(without, other) or not chooser.meets(other, without):
                break
            made = other
    return made


def in_order(chooser: Chooser, choice: Sequence[int], without: Collection[Demand]) -> list[int]:
    """A choice in which a device is rated no less than those behind it, where nothing stands against it: no rule asks
    for that of one that is not coordinated anyway, or that serves the other alone, but whoever looks for the cause
    looks at the last device first."""
    made = [*choice]
    of = {one.name: variable for variable, one in enumerate(chooser.opens) if not one.conductor}
    study = chooser.study
    edges, openings = study.design.circuit.edges, study.openings()
    below: dict[str, list[Element]] = {}
    for edge in edges:
        for above in nearest_above(openings, edge.index) if edge.kind == "device" else ():
            below.setdefault(edges[above].element.name, []).append(edge.element)

    def rated_a(element: Element) -> float:
        if element.name in of:
            return chooser.opens[of[element.name]].options[made[of[element.name]]].figure
        return (element.rated_a or 0.0) if isinstance(element, Device) else 0.0

    # what is raised may ask it of what stands above it: as often as there may be one above the other
    for _ in range(GREATEST_ABOVE):
        before = made
        for name, variable in of.items():
            behind_a = max(map(rated_a, below.get(name, ())), default=0.0)
            other = [*made]
            while chooser.opens[variable].options[other[variable]].figure < behind_a:
                option = next_option(chooser, other, variable, 1)
                if option is None:
                    break
                other[variable] = option
            if other != made and chooser.meets(other, without):
                made = other
        if made == before:
            break
    return made
