"""What has been ruled out so far, by the demand that rules it out."""

from __future__ import annotations

from collections.abc import Collection, Sequence

from linter.advice.clauses import Demand, Ruled, breaks, left_out

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
            if not left_out(demand, without) and (only is None or among(demand, only))
            for clause in clauses
        ]


def among(demand: Demand, only: Collection[Demand]) -> bool:
    """Whether a demand is one of these.  What cannot be fed at all has no voltage either, though nobody says so of it
    besides: so who asks for a voltage asks that the scene can be carried."""
    if any(breaks(demand, one) for one in only):
        return True
    return demand.rule == "scene-not-carried" and any(one.rule in VOLTAGES for one in only)


def _covers(one: Ruled, two: Ruled) -> bool:
    """Whether all that the second rules out, the first does."""
    if one.parts and (one.parts != two.parts or one.most > two.most):
        return False
    second = dict(two.within)
    return all(variable in second and second[variable] <= options for variable, options in one.within)
