"""The least choice that satisfies every rule at once, or the demands that contradict each other.

A choice is tried by the same examination that `check` makes; what it finds rules out that choice and all that would be
found wanting in the same way; then the least of what is left is tried.  So the first choice without a finding is the
least there is, and where nothing is left nothing can satisfy all.
"""

from __future__ import annotations

import datetime
from collections.abc import Callable, Sequence
from dataclasses import replace

from linter.advice.around import in_order, lessened, neighbour
from linter.advice.begin import asks_only
from linter.advice.choice import Choice, Chosen, Contradiction
from linter.advice.chooser import Chooser
from linter.advice.clauses import Demand, breaks, demand_of
from linter.advice.contradict import GivenUp, contradiction, given_up
from linter.advice.other_sheets import other_sheets
from linter.advice.search import TooTangled
from linter.source.files import DesignSource

# What the next options would break is tried with so much work; of the rest is told what is known.
NEIGHBOURS_WORK = 12_000.0


def choose(
    source: DesignSource,
    names: Sequence[str],
    today: datetime.date | None = None,
    progress: Callable[[int], None] | None = None,
) -> Choice:
    """The least choice for the named elements.  Raises NothingToChoose; TooTangled where no choice was found at all."""
    chooser = Chooser(source, names, today, progress)
    made = Choice()
    found = _Found(chooser)
    found.all_else()
    told = found.contradictions()
    choice, made.proved = found.proved()
    if not made.proved:
        choice = lessened(chooser, choice, found.without, chooser.work + NEIGHBOURS_WORK)
    ordered = in_order(chooser, choice, found.without)
    raised = {v for v, (one, two) in enumerate(zip(choice, ordered, strict=True)) if one != two}
    choice = ordered
    for _, one in told:
        others = other_sheets(chooser, choice, one, [c for _, c in told], found.without)
        made.contradictions.append(replace(one, other_sheets=others))
    undecided = {v for group, _ in told if group.mild is None for v in group.variables}
    chooser.try_(choice)
    # the last word is an examination that shares nothing with the trials
    chooser.examination = None
    made.examination = chooser.examined(choice)
    made.standing = list(chooser.standing.values())
    # with the figures of what is chosen
    seen = made.examination.findings
    for group in found.groups:
        if group.only_told:
            there = next((f for f in seen if breaks(demand_of(f), group.demand)), None)
            made.unmet += [there or group.finding] if there or undecided else []
            made.settled = made.settled and (group.proved or there is None)
    made.asked = [f for f in seen if asks_only(f) and not f.accepted]
    most_work = chooser.work + NEIGHBOURS_WORK
    for variable, (one_, at) in enumerate(zip(chooser.opens, choice, strict=True)):
        if variable not in undecided:
            made.copper_kg += one_.options[at].copper_kg
            smaller, larger = (neighbour(chooser, choice, variable, step, found.without, most_work) for step in (-1, 1))
            made.chosen.append(Chosen(one_.name, one_.options[at], smaller, larger, one_.conductor, variable in raised))
    names_of = {c.name for c in made.chosen}
    made.leaning = [
        f for f in made.examination.findings if f.accepted and not names_of.isdisjoint((f.subject, *f.guard))
    ]
    made.tried = chooser.tried
    return made


class _Found:
    """What is found on the way: a choice, and what was given up for it."""

    def __init__(self, chooser: Chooser) -> None:
        self._chooser = chooser
        self.groups: list[GivenUp] = []
        self._choice: list[int] = []
        # what came back after it was taken for met is not doubted again
        self._taken_back: set[Demand] = set()

    @property
    def without(self) -> set[Demand]:
        return {group.demand for group in self.groups}

    def all_else(self) -> None:
        """A choice that meets all that can be met; what cannot is given up, as little as can be seen."""
        self._descend()
        for group in [g for g in self.groups if not g.proved or not g.only_told]:
            # what was given up since may have been what stood in the way
            if len(self.groups) > 1:
                self._again(group)

    def _descend(self) -> None:
        while True:
            best = self._chooser.soon(self.without)
            if best.choice is not None:
                self._choice = best.choice
                return
            if not best.core:
                raise TooTangled
            self.groups.append(given_up(self._chooser, best.core, best.proved))

    def _again(self, group: GivenUp) -> None:
        """Looks whether what was given up can be met."""
        best = self._chooser.some(self.without - {group.demand})
        if best.choice is not None:
            self.groups.remove(group)
            self._choice = best.choice
        elif best.core and not self.without.isdisjoint({*group.demands} - {group.demand}):
            # what it contradicted is given up itself; something else stands in its way
            now = given_up(self._chooser, best.core, best.proved)
            if now.demand == group.demand:
                self.groups[self.groups.index(group)] = now

    def contradictions(self) -> list[tuple[GivenUp, Contradiction]]:
        """Each group of demands that contradict each other, as it is told."""
        while True:
            told = []
            for group in [g for g in self.groups if not g.only_told]:
                again = group.demand in self._taken_back
                made = contradiction(self._chooser, group, self.without - {group.demand}, again)
                if made is None:
                    self._taken_back.add(group.demand)
                    self.groups.remove(group)
                    break
                told.append((group, made))
            else:
                return told
            self._descend()

    def proved(self) -> tuple[list[int], bool]:
        """The choice; or a lesser one, if there is one; and whether it is the least for sure."""
        best = self._chooser.proved(self._choice, self.without)
        assert best.choice is not None
        return best.choice, best.proved
