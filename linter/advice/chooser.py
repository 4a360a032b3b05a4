"""Choices tried, what that taught, and the least that is left."""

from __future__ import annotations

import datetime
import math
from collections import Counter
from collections.abc import Callable, Collection, Iterable, Sequence
from dataclasses import dataclass

from linter.advice.begin import ASKS_ONLY, first_choice, known_sizes, no_demand
from linter.advice.clauses import (
    OWN,
    Demand,
    Lesson,
    Ruled,
    breaks,
    demand_of,
    grows_with_voltage,
    left_out,
    lessons,
    series,
    up_to,
)
from linter.advice.known import VOLTAGES, Known, among
from linter.advice.likely import PULLS, best_place, likely
from linter.advice.options import Open, open_element
from linter.advice.overlay import overlaid
from linter.advice.relation import Relation
from linter.advice.search import Solved, TooTangled, cost_in_all, least
from linter.advice.sums import boxed
from linter.model.build import build
from linter.rules.engine import Examination, examine
from linter.rules.finding import Finding
from linter.rules.registry import rules
from linter.source.files import DesignSource
from linter.study.study import Study, study_of

# After so many trials, or so much work (about ms of one processor: see `Solved`), a search is given up: too much hangs
# together.  Work, not time, so that the answer is the same however busy the machine is.
GREATEST_TRIED = 400
GREATEST_WORK = 20_000.0
# All searches together have so much; each after that only so much more, so that something is told.
ALL_WORK = 30_000.0
LEAST_WORK = 1_500.0
# What is asked besides, which demands contradict each other and what it would cost to do without one, has less.
BESIDES_TRIED = 80
BESIDES_WORK = 3_000.0
# The proof that nothing costs less takes no more than this besides, nor so many trials times the edges of the circuit.
GREATEST_PROOF = 6000
PROOF_WORK = 10_000.0
# Where nothing is left by what is likely, so many trials more are made to find a choice all the same: most are in vain.
# Doubt and advice in the way of all choices mostly mean that a figure lacks, which no choice settles.
DOUBTED_TRIED = {True: 12, False: 25}
# In a small circuit, where a trial costs little, so much work instead.
DOUBTED_WORK = {True: 500.0, False: 1_500.0}
# What is broken so often in one search is looked at where it is most likely met.
OFTEN = 12
# Elements of fewer combinations than this are searched to the end.
FEW = 500
# How sure a lesson is of which a demand is taken to rule out what it says: see `Lesson` and `likely`.
LIKELY, NEAR, SOUND = range(3)


@dataclass(frozen=True, slots=True)
class Best:
    """A choice, or none and the findings that leave none; and whether that is proved.  Without either the search was
    given up."""

    choice: list[int] | None
    core: list[Ruled]
    proved: bool


class Chooser:
    """Holds what has been tried and found.  ``progress`` is told the number of choices tried."""

    def __init__(
        self,
        source: DesignSource,
        names: Sequence[str],
        today: datetime.date | None = None,
        progress: Callable[[int], None] | None = None,
    ) -> None:
        self.source = source
        self.today = today
        self.design = build(source)
        study = study_of(self.design)
        self.opens = [known_sizes(open_element(self.design, name), study) for name in names]
        self._edges = max(1, len(self.design.circuit.edges))
        # as measured: what hangs together grows with the boat
        self._trial_work = 4.0 + 0.5 * self._edges + 0.003 * self._edges**2
        self.relation = Relation(study)
        # what findings have taught, by how sure it is
        self._known = Known(), Known(), Known()
        self._most_tried, self._most_work, self._trials_work = 0, 0.0, 0.0
        self._last: list[int] = []
        self._taught: dict[tuple[Demand, str], tuple[tuple[int, ...], Lesson]] = {}
        self.standing: dict[Demand, Finding] = {}
        self.solved = Solved()
        self._held: dict[tuple[object, ...], bool] = {}
        self._found: dict[tuple[int, ...], list[Finding]] = {}
        self._progress = progress
        self.examination: Examination | None = None
        self.try_(first_choice(self.opens, study))

    @property
    def study(self) -> Study:
        """The study of the last trial."""
        assert self.examination is not None
        return self.examination.study

    @property
    def tried(self) -> int:
        return len(self._found)

    def try_(self, choice: Sequence[int]) -> list[Finding]:
        """What is found at a choice; learns what that rules out."""
        key = tuple(choice)
        self._last = [*choice]
        known = self._found.get(key)
        if known is not None:
            return known
        if self._progress is not None:
            self._progress(len(self._found))
        self._trials_work += self._trial_work
        self.examination = self.examined(choice, whole=False)
        found = [f for f in self.examination.findings if not f.accepted and not no_demand(f)]
        self._found[key] = found
        for finding in found:
            taught = lessons(finding, choice, self.opens, self.relation)
            if not taught:
                self.standing[demand_of(finding)] = finding
            for lesson in taught:
                self._taught[lesson.near.demand, lesson.subject] = key, lesson
                if not self._known[LIKELY].bars(lesson.near.demand, choice):
                    for ruled in likely(lesson, choice, self.opens, self.examination.study):
                        self._known[LIKELY].add(ruled)
                self._known[NEAR].add(lesson.near)
                self._known[SOUND].add(lesson.sound)
        return found

    def examined(self, choice: Sequence[int], whole: bool = True) -> Examination:
        """What `check` finds; what is the same as in the trial before is not reckoned again.  Not ``whole``: without
        what only asks for a figure."""
        before = self.examination.study if self.examination is not None else None
        asked = None if whole else [r for r in rules() if r.name not in ASKS_ONLY]
        return examine(build(self.source_of(choice)), asked, self.today, before=before)

    def source_of(self, choice: Sequence[int]) -> DesignSource:
        """The design with this choice in it."""
        changes = {
            ("element", one.name): {f.key: (f,) for f in one.options[chosen].facts}
            for one, chosen in zip(self.opens, choice, strict=True)
        }
        return overlaid(self.source, changes)

    def soon(self, without: Collection[Demand] = (), only: Collection[Demand] | None = None) -> Best:
        """A choice that breaks no demand (of ``only``, where given), but for those ``without``; or none, and findings
        that leave none, if only as far as is likely."""
        self._allow(GREATEST_TRIED, GREATEST_WORK)
        found = self._soon(without, only)
        if found.choice is None and not found.proved and found.core and self._few(found.core):
            return self._proved(found, without, only)
        return found

    def proved(self, choice: list[int], without: Collection[Demand] = ()) -> Best:
        """The least choice, beginning with one that does; proved so, if that does not take too long."""
        return self._proved(Best(choice, [], False), without, None)

    def some(self, without: Collection[Demand], only: Collection[Demand] | None = None) -> Best:
        """A choice as `best` gives, soon found and not proved the least."""
        self._allow(BESIDES_TRIED, BESIDES_WORK)
        return self._soon(without, only)

    def barring(self, without: Collection[Demand], choice: Sequence[int]) -> list[Finding]:
        """What rules a choice out for sure, but for these demands; with the figures of other choices."""
        return [c.finding for c in self._known[SOUND].of(without) if c.bars(choice)]

    def told_of(self, variable: int, option: int) -> list[Finding]:
        """What was found of an element with this option wherever it was tried, and hangs on itself alone."""
        name = self.opens[variable].name
        for choice, found in self._found.items():
            if choice[variable] == option:
                own = [f for f in found if f.rule in OWN and name in (f.subject, *f.guard)]
                if own:
                    return own
        return []

    def responsible(self, finding: Finding) -> list[int]:
        """The open elements that could be the cure of what is found: itself, its guards, and what stands on its way
        where larger is better.  A conductor that would be so thin that nothing can happen is no cure."""
        pulls = PULLS.get(finding.rule)
        found = []
        for variable, one in enumerate(self.opens):
            own = one.name == finding.subject or one.name in finding.guard
            larger = pulls is None or pulls.conductor is up_to
            if own or (larger and self.relation.has_say(one.name, finding.subject, "nothing", rings=False)):
                found.append(variable)
        return found

    def can_be(self, only: Collection[Demand]) -> bool:
        """Whether there is a choice that breaks none of these demands.  Raises TooTangled."""
        self._allow(BESIDES_TRIED, BESIDES_WORK)
        found = self._soon((), only)
        if found.choice is None and not found.proved:
            raise TooTangled
        return found.choice is not None

    @property
    def work(self) -> float:
        """What all of this took, about ms of one processor."""
        return self._trials_work + self.solved.work

    def _allow(self, tried: int, work: float) -> None:
        left = max(LEAST_WORK, ALL_WORK - self.work)
        self._most_tried, self._most_work = self.tried + tried, self.work + min(work, left)

    def _spent(self) -> bool:
        return self.tried >= self._most_tried or self.work >= self._most_work

    def _soon(self, without: Collection[Demand], only: Collection[Demand] | None) -> Best:
        """A choice that breaks nothing, by what is likely where that leaves one: good, and soon found."""
        core: list[Ruled] = []
        # by demand: how sure a lesson has to be; nothing was left with what is less so
        levels: dict[Demand, int] = {}
        most_tried = self._most_tried
        broken: Counter[Demand] = Counter()
        while self.tried < most_tried and not self._spent():
            ruled = [
                c
                for level, known in enumerate(self._known)
                for c in known.of(without, only)
                if levels.get(c.demand, LIKELY) == level
            ]
            try:
                choice, group = least(self.opens, ruled, self.solved)
                if choice is not None:
                    if self.meets(choice, without, only):
                        return Best(choice, [], False)
                    broken.update({demand_of(f) for f in self.try_(choice)})
                    self._look_where_best(d for d, times in broken.items() if times % OFTEN == 0)
                    continue
                core = self._needed(group)
            except TooTangled:
                return Best(None, core, False)
            unsure = {c.demand for c in core if levels.get(c.demand, LIKELY) < SOUND}
            if not unsure:
                return Best(None, core, True)
            # what adds up is told well; the others first
            doubted = {d for d in unsure if d[0] not in VOLTAGES} or unsure
            self._probe([c for c in core if c.demand in doubted and levels.get(c.demand, LIKELY) == LIKELY])
            for demand in doubted:
                levels[demand] = levels.get(demand, LIKELY) + 1
            if not self._few(core):
                mild = any(d.mild for d in {c.demand for c in core})
                more = max(DOUBTED_TRIED[mild], round(DOUBTED_WORK[mild] / self._trial_work))
                most_tried = min(most_tried, self.tried + more)
        return Best(None, core, False)

    def _look_where_best(self, demands: Iterable[Demand]) -> None:
        """Look at demands that are broken again and again where most likely they are met: what is not met even there
        is met nowhere, in all likelihood."""
        for demand in demands:
            for (taught, subject), (choice, lesson) in list(self._taught.items()):
                found = best_place(lesson, choice, self.opens) if taught == demand else None
                if found is None or self._spent():
                    continue
                at, ruled = found
                still = (f for f in self.try_(at) if demand_of(f) == demand)
                if any(one.subject == subject for f in still for one in lessons(f, at, self.opens, self.relation)):
                    self._known[LIKELY].add(ruled)

    def _few(self, core: Sequence[Ruled]) -> bool:
        """Whether the elements that have a say in these demands have few combinations."""
        sound = self._known[SOUND].of(only={c.demand for c in core})
        return math.prod(len(self.opens[v].options) for v in {v for c in sound for v in c.variables}) <= FEW

    def _probe(self, doubted: Sequence[Ruled]) -> None:
        """Look whether what most likely is ruled out is so at its edge: where it is, much is ruled out for sure."""
        for clause in doubted:
            if not self._spent():
                voltage = grows_with_voltage(clause)
                self.try_(self._largest() if voltage else edge_of(clause, self._last, self.opens))

    def _largest(self) -> list[int]:
        """Everything at its largest."""
        return [max(range(len(o.options)), key=lambda i, o=o: o.options[i].figure) for o in self.opens]  # type: ignore[misc]

    def _needed(self, core: list[Ruled]) -> list[Ruled]:
        """Of findings that leave no choice, those of demands that do so already, none of which can be missed.

        By halves (U. Junker, QUICKXPLAIN, AAAI 2004; from memory): few questions where few of many are needed.
        """

        def contradict(some: Collection[Demand]) -> bool:
            return least(self.opens, [c for c in core if c.demand in some], self.solved)[0] is None

        def needed(given: list[Demand], grown: bool, others: list[Demand]) -> list[Demand]:
            if grown and contradict(given):
                return []
            if len(others) == 1:
                return others
            first, second = others[: len(others) // 2], others[len(others) // 2 :]
            of_second = needed([*given, *first], True, second)
            return [*needed([*given, *of_second], bool(of_second), first), *of_second]

        demands = sorted({c.demand for c in core})
        left = set(needed([], False, demands)) if len(demands) > 1 else set(demands)
        return [c for c in core if c.demand in left]

    def _proved(self, found: Best, without: Collection[Demand], only: Collection[Demand] | None) -> Best:
        """The least there is, or that there is none, by what is ruled out for sure."""
        limit = self.tried + max(20, GREATEST_PROOF // self._edges)
        most_work = self.work + PROOF_WORK
        while True:
            try:
                choice, core = least(self.opens, self._known[SOUND].of(without, only), self.solved)
            except TooTangled:
                return found
            if choice is None:
                return Best(None, core, True) if found.choice is None else found
            if found.choice is not None and cost_in_all(self.opens, choice) >= cost_in_all(self.opens, found.choice):
                return Best(found.choice, [], True)
            if self.tried > limit or self.work > most_work:
                return found
            if not self._surely_barred(choice, without, only) and self.meets(choice, without, only):
                found = Best(choice, [], False)

    def _surely_barred(
        self, choice: Sequence[int], without: Collection[Demand], only: Collection[Demand] | None
    ) -> bool:
        """Whether what most likely rules out a choice does so for sure, with as much besides as one trial can tell."""
        sound = self._known[SOUND]
        for level in (LIKELY, NEAR):
            for clause in self._known[level].of(without, only):
                if not clause.bars(choice):
                    continue
                if grows_with_voltage(clause):
                    box = boxed(clause, choice, self.opens)
                    if self._holds(box):
                        sound.add(box)
                        return True
                    continue
                self.try_(edge_of(boxed(clause, choice, self.opens), choice, self.opens))
                if any(c.bars(choice) for c in sound.of(without, only)):
                    return True
        return False

    def meets(self, choice: Sequence[int], without: Collection[Demand], only: Collection[Demand] | None = None) -> bool:
        """Whether a choice breaks no demand (of ``only``, where given), but for those ``without``."""
        demands = {demand_of(f) for f in self.try_(choice)} - self.standing.keys()
        demands = {d for d in demands if not left_out(d, without)}
        return not (demands if only is None else [d for d in demands if among(d, only)])

    def _holds(self, clause: Ruled) -> bool:
        """Whether the finding stays with everything that the clause does not name at its largest."""
        key = clause.demand, clause.within
        if key not in self._held:
            largest = self._largest()
            for variable, options in clause.within:
                one = self.opens[variable]
                largest[variable] = max(options, key=lambda i, one=one: one.options[i].figure)  # type: ignore[misc]
            self._held[key] = any(breaks(demand_of(f), clause.demand) for f in self.try_(largest))
        return self._held[key]


def edge_of(clause: Ruled, choice: Sequence[int], opens: Sequence[Open]) -> list[int]:
    """The choice at the edge of what a finding most likely rules out, seen from a choice inside: what is found there
    rules out the most."""
    at = [*choice]
    for variable, figures in clause.parts:
        at[variable] = min(range(len(figures)), key=lambda i, f=figures: f[i])  # type: ignore[misc]
    for variable, options in clause.within:
        one = opens[variable]
        start = at[variable] if at[variable] in options else min(options)
        alike = sorted(series(one, start), key=lambda i, o=one: o.options[i].figure)  # type: ignore[misc]
        inside = [i for i in alike if i in options]
        if len(inside) < len(alike):
            at[variable] = inside[-1] if inside[0] == alike[0] else inside[0]
        else:
            at[variable] = start
    return at
