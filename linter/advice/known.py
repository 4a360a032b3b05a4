"""What has been ruled out so far, by the demand that rules it out."""

from __future__ import annotations

from collections.abc import Collection, Sequence

from linter.advice.clauses import Demand, Ruled

# What is said of a load's voltage.
VOLTAGES = frozenset({"voltage-drop", "voltage-too-low"})


class Known:
    """What has been ruled out; what another finding of the same demand rules out as well is not kept."""

    def __init__(self) -> None:
        self._by_demand: dict[Demand, list[Ruled]] = {}

    def add(self, new: Ruled) -> None:
        known = self._by_demand.setdefault(new.demand, [])
        if not any(_covers(old, new) for old in known):
            known[:] = [*(old for old in known if not _covers(new, old)), new]

    def bars(self, demand: Demand, choice: Sequence[int]) -> bool:
        """Whether a demand is known to rule out a choice."""
        return any(clause.bars(choice) for clause in self._by_demand.get(demand, ()))

    def of(self, without: Collection[Demand] = (), only: Collection[Demand] | None = None) -> list[Ruled]:
        """What the demands rule out that are asked for."""
        return [
            clause
            for demand, clauses in self._by_demand.items()
            if demand not in without and (only is None or among(demand, only))
            for clause in clauses
        ]


def among(demand: Demand, only: Collection[Demand]) -> bool:
    """Whether a demand is one of these.  What cannot be fed at all has no voltage either, though nobody says so of it
    besides: so who asks for a voltage asks that the scene can be carried."""
    return demand in only or (demand[0] == "scene-not-carried" and any(rule in VOLTAGES for rule, _ in only))


def _covers(one: Ruled, two: Ruled) -> bool:
    """Whether all that the second rules out, the first does."""
    if one.parts and (one.parts != two.parts or one.most > two.most):
        return False
    second = dict(two.within)
    return all(variable in second and second[variable] <= options for variable, options in one.within)
