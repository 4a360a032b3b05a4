"""The least choice that satisfies every rule at once, or the demands that contradict each other.

A choice is tried by the same examination that `check` makes; what it finds rules out that choice and all that would be
found wanting in the same way; then the least of what is left is tried.  So the first choice without a finding is the
least there is, and where nothing is left nothing can satisfy all.
"""

from __future__ import annotations

import datetime
from collections.abc import Callable, Collection, Sequence
from dataclasses import dataclass, field, replace

from linter.advice.clauses import Demand, Ruled, grows_with_voltage, lessons
from linter.advice.drops import wider
from linter.advice.known import Known, among
from linter.advice.options import Open, Option, open_element
from linter.advice.overlay import overlaid
from linter.advice.relation import Relation
from linter.advice.search import Solved, TooTangled, cost_in_all, least
from linter.model.build import build
from linter.rules.engine import Examination, examine
from linter.rules.finding import Finding, Severity
from linter.source.files import DesignSource
from linter.study.capacity import conditions_of
from linter.study.choice import least_size
from linter.study.study import Study, study_of

# A demand whose breach is only a doubt or advice does not stand in the way if nothing that can be chosen meets it.
_MILD = frozenset({Severity.DOUBT, Severity.ADVICE})
# Of so many demands every pair is looked at for the smallest contradiction; of more, demands are only taken away.
PAIRS_OF = 30


@dataclass(frozen=True, slots=True)
class Relaxed:
    """What giving up one demand of a contradiction would cost; no choice where it would not help."""

    demand: Finding
    choice: tuple[tuple[str, Option], ...] | None
    copper_kg: float


@dataclass(frozen=True, slots=True)
class Contradiction:
    """Demands that no choice meets all at once; without any one of them there is one."""

    elements: tuple[str, ...]
    demands: tuple[Finding, ...]
    relaxed: tuple[Relaxed, ...]


@dataclass(frozen=True, slots=True)
class Neighbour:
    """What another option would have broken; no finding where none would be (it only costs more)."""

    option: Option
    finding: Finding | None


@dataclass(frozen=True, slots=True)
class Chosen:
    name: str
    option: Option
    smaller: Neighbour | None
    larger: Neighbour | None


@dataclass(slots=True)
class Choice:
    """What is chosen.  ``unmet``: doubts and advice that nothing to be chosen meets; ``standing``: findings in which no
    choice has a say."""

    chosen: list[Chosen] = field(default_factory=list)
    copper_kg: float = 0.0
    contradictions: list[Contradiction] = field(default_factory=list)
    unmet: list[Finding] = field(default_factory=list)
    standing: list[Finding] = field(default_factory=list)
    tried: int = 0
    # that no choice has less copper, and that where there is none there is none
    proved: bool = True
    examination: Examination | None = None


# So many trials are spent on the proof that nothing costs less, times the edges of the circuit: what a trial takes
# After so many trials without a choice that breaks nothing the search is given up: too much hangs together.
GREATEST_TRIED = 300
# grows with those.
GREATEST_PROOF = 6000


@dataclass(frozen=True, slots=True)
class Best:
    """A choice, or none and the findings that leave none; and whether that is proved."""

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
        design = build(source)
        self.opens = [open_element(design, name) for name in names]
        study = study_of(design)
        self._edges = max(1, len(design.circuit.edges))
        self.relation = Relation(study)
        # what findings have taught, by what it says: on the way only, and what holds for sure
        self._near, self._sound = Known(), Known()
        # demands for which what stands on the way has proved not to be all
        self._widened: set[Demand] = set()
        self.standing: dict[Demand, Finding] = {}
        self.solved: Solved = {}
        self._held: dict[tuple[object, ...], bool] = {}
        self._found: dict[tuple[int, ...], list[Finding]] = {}
        self._progress = progress
        self.examination: Examination | None = None
        self.try_(self._first(study))

    @property
    def tried(self) -> int:
        return len(self._found)

    def try_(self, choice: Sequence[int]) -> list[Finding]:
        """What is found at a choice; learns what that rules out."""
        key = tuple(choice)
        known = self._found.get(key)
        if known is not None:
            return known
        if self._progress is not None:
            self._progress(len(self._found))
        self.examination = self.examined(choice)
        found = [f for f in self.examination.findings if not f.accepted and not f.rule.startswith("acceptance-")]
        self._found[key] = found
        for finding in found:
            taught = lessons(finding, choice, self.opens, self.relation)
            if not taught:
                self.standing[finding.rule, finding.subject] = finding
            for lesson in taught:
                self._near.add(lesson.near)
                if finding.rule == "voltage-drop":
                    for likely in wider(lesson.near, choice, self.opens, self.examination.study):
                        self._near.add(likely)
                self._sound.add(lesson.sound)
        return found

    def examined(self, choice: Sequence[int]) -> Examination:
        """What `check` finds; what is the same as in the trial before is not reckoned again."""
        before = self.examination.study if self.examination is not None else None
        return examine(build(self.source_of(choice)), None, self.today, before=before)

    def source_of(self, choice: Sequence[int]) -> DesignSource:
        """The design with this choice in it."""
        changes = {
            ("element", one.name): {f.key: (f,) for f in one.options[chosen].facts}
            for one, chosen in zip(self.opens, choice, strict=True)
        }
        return overlaid(self.source, changes)

    def best(self, without: Collection[Demand] = (), only: Collection[Demand] | None = None) -> Best:
        """The least choice that breaks no demand (of ``only``, where given), but for those ``without``; or none, and
        findings that leave none."""
        found = self._soon(without, only)
        if found.proved:
            return found
        try:
            return self._proved(found, without, only)
        except TooTangled:
            return found

    def barring(self, without: Collection[Demand]) -> list[Ruled]:
        """What is ruled out for sure, but for these demands."""
        return self._sound.of(without)

    def ruled(self, only: Collection[Demand]) -> list[Ruled]:
        """What these demands rule out, by what stands on the way."""
        return self._near.of((), only)

    def can_be(self, only: Collection[Demand]) -> bool:
        """Whether there is a choice that breaks none of these demands.  Raises TooTangled."""
        found = self._soon((), only)
        if found.choice is None and not found.proved:
            raise TooTangled
        return found.choice is not None

    def _soon(self, without: Collection[Demand], only: Collection[Demand] | None) -> Best:
        """A choice that breaks nothing, by what stands on the way of each finding: good, and soon found."""
        while self.tried < GREATEST_TRIED:
            ruled = [
                c
                for known, wide in ((self._near, False), (self._sound, True))
                for c in known.of(without, only)
                if (c.demand in self._widened) is wide
            ]
            try:
                choice, core = least(self.opens, ruled, self.solved)
            except TooTangled:
                return Best(None, [], False)
            if choice is not None:
                if self._clean(choice, without, only):
                    return Best(choice, [], False)
            elif not (wider := {c.demand for c in core} - self._widened):
                return Best(None, core, True)
            else:
                self._widened |= wider
        return Best(None, [], False)

    def _proved(self, found: Best, without: Collection[Demand], only: Collection[Demand] | None) -> Best:
        """The least there is, or that there is none, by what is ruled out for sure.  Raises TooTangled."""
        limit = self.tried + max(20, GREATEST_PROOF // self._edges)
        while True:
            choice, core = least(self.opens, self._sound.of(without, only), self.solved)
            if choice is None:
                return Best(None, core, True)
            if found.choice is not None and cost_in_all(self.opens, choice) >= cost_in_all(self.opens, found.choice):
                return Best(found.choice, [], True)
            if self.tried > limit:
                raise TooTangled
            doubtful = next((c for c in self._near.of(without, only) if c.bars(choice)), None)
            if doubtful is not None and grows_with_voltage(doubtful) and self._holds(doubtful):
                self._sound.add(doubtful)
            elif self._clean(choice, without, only):
                found = Best(choice, [], False)

    def _clean(self, choice: Sequence[int], without: Collection[Demand], only: Collection[Demand] | None) -> bool:
        demands = {(f.rule, f.subject) for f in self.try_(choice)} - set(without) - self.standing.keys()
        return not (demands if only is None else [d for d in demands if among(d, only)])

    def _holds(self, clause: Ruled) -> bool:
        """Whether the finding stays with everything that the clause does not name at its largest."""
        key = clause.demand, clause.within
        if key not in self._held:
            largest = [max(range(len(o.options)), key=lambda i, o=o: o.options[i].figure) for o in self.opens]  # type: ignore[misc]
            for variable, options in clause.within:
                one = self.opens[variable]
                largest[variable] = max(options, key=lambda i, one=one: one.options[i].figure)  # type: ignore[misc]
            self._held[key] = clause.demand in {(f.rule, f.subject) for f in self.try_(largest)}
        return self._held[key]

    def _first(self, study: Study) -> list[int]:
        """A choice to begin with: as near below what load currents and makers ask as is known without trying."""
        choice = []
        for one in self.opens:
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


def choose(
    source: DesignSource,
    names: Sequence[str],
    today: datetime.date | None = None,
    progress: Callable[[int], None] | None = None,
) -> Choice:
    """The least choice for the named elements.  Raises NothingToChoose; TooTangled where no choice was found at all."""
    chooser = Chooser(source, names, today, progress)
    made = Choice()
    without: set[Demand] = set()
    undecided: set[int] = set()
    found: list[tuple[list[Demand], list[Finding], Demand]] = []
    while True:
        best = chooser.best(without)
        made.proved = made.proved and best.proved
        choice, core = best.choice, best.core
        if choice is not None:
            break
        if not core:
            raise TooTangled
        demands = smallest(chooser, core)
        worst = [_finding(core, d) for d in demands]
        if len(demands) == 1 and worst[0].severity in _MILD:
            made.unmet.append(worst[0])
            without.add(demands[0])
            continue
        # the mildest is given up, so that the rest can be chosen
        given_up = max(zip(demands, worst, strict=True), key=lambda d: d[1].severity.rank)[0]
        without.add(given_up)
        found.append((demands, worst, given_up))
        undecided |= {v for c in core if c.demand in demands for v, _ in c.within}
    for demands, worst, given_up in found:
        made.contradictions.append(_contradiction(chooser, demands, worst, without - {given_up}))
    chooser.try_(choice)
    # the last word is an examination that shares nothing with the trials
    chooser.examination = None
    made.examination = chooser.examined(choice)
    made.standing = list(chooser.standing.values())
    for variable, (one, at) in enumerate(zip(chooser.opens, choice, strict=True)):
        if variable not in undecided:
            made.copper_kg += one.options[at].copper_kg
            smaller, larger = (_neighbour(chooser, choice, variable, step, without) for step in (-1, 1))
            made.chosen.append(Chosen(one.name, one.options[at], smaller, larger))
    made.tried = chooser.tried
    return made


def _finding(core: Sequence[Ruled], demand: Demand) -> Finding:
    """The gravest form in which a demand was found broken."""
    return min((c.finding for c in core if c.demand == demand), key=lambda f: f.severity.rank)


def smallest(chooser: Chooser, core: Sequence[Ruled]) -> list[Demand]:
    """The fewest demands of a group that cannot be met together, as far as findings tell: one, two, or what is left
    when each that is not needed is taken away.  Without any one of those returned the others can be met: that is tried.
    """
    demands = sorted({c.demand for c in core}, key=lambda d: (_finding(core, d).severity.rank, d))

    def contradict(some: Collection[Demand]) -> bool:
        return least(chooser.opens, [c for c in core if c.demand in some], chooser.solved)[0] is None

    alone = next((d for d in demands if contradict({d})), None)
    if alone is not None:
        return [alone]
    left = list(demands)
    if len(demands) <= PAIRS_OF:
        pairs = ([one, two] for i, one in enumerate(demands) for two in demands[i + 1 :])
        left = next((pair for pair in pairs if contradict(pair)), left)
    for demand in reversed(left):
        fewer = [d for d in left if d != demand]
        if contradict(fewer):
            left = fewer
    for demand in list(left):
        fewer = [d for d in left if d != demand]
        if fewer and not chooser.can_be(only=set(fewer)):
            left = fewer
    return left


def _contradiction(
    chooser: Chooser, demands: list[Demand], found: list[Finding], without: set[Demand]
) -> Contradiction:
    members = sorted({v for c in chooser.ruled(set(demands)) for v, _ in c.within})
    relaxed = []
    for demand, finding in zip(demands, found, strict=True):
        others = set(demands) - {demand}
        choice = chooser.best({*without - others, demand}).choice
        if choice is None and others:
            # another contradiction stands in the way: of this one alone then
            choice = chooser.best((), others).choice
        if choice is None:
            relaxed.append(Relaxed(finding, None, 0.0))
            continue
        picked = tuple((chooser.opens[v].name, chooser.opens[v].options[choice[v]]) for v in members)
        relaxed.append(Relaxed(finding, picked, sum(o.copper_kg for _, o in picked)))
    return Contradiction(tuple(chooser.opens[v].name for v in members), tuple(found), tuple(relaxed))


def _neighbour(
    chooser: Chooser, choice: Sequence[int], variable: int, step: int, without: Collection[Demand]
) -> Neighbour | None:
    """The next smaller or larger option, and the gravest of what it would break.  A larger conductor only costs."""
    one = chooser.opens[variable]
    if one.conductor and step > 0:
        return None
    here = one.options[choice[variable]]
    same = sorted((o.figure, i) for i, o in enumerate(one.options) if o.series == here.series)
    at = same.index((here.figure, choice[variable])) + step
    if not 0 <= at < len(same):
        return None
    other = [*choice]
    other[variable] = same[at][1]
    before = {(f.rule, f.subject) for f in chooser.try_(choice)}
    barring = [c.finding for c in chooser.barring(without) if c.bars(other)]
    barring = barring or [
        f for f in chooser.try_(other) if (f.rule, f.subject) not in before and (f.rule, f.subject) not in without
    ]
    return Neighbour(one.options[same[at][1]], min(barring, key=lambda f: f.severity.rank, default=None))
