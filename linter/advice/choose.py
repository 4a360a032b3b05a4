"""The least choice that satisfies every rule at once, or the demands that contradict each other.

A choice is tried by the same examination that `check` makes; what it finds rules out that choice and all that would be
found wanting in the same way; then the least of what is left is tried.  So the first choice without a finding is the
least there is, and where nothing is left nothing can satisfy all.
"""

from __future__ import annotations

import datetime
import time
from collections.abc import Callable, Collection, Sequence
from dataclasses import dataclass, field

from linter.advice.chooser import ASKS_ONLY, Chooser
from linter.advice.clauses import MILD, Demand, Ruled, breaks, demand_of, left_out
from linter.advice.options import Option
from linter.advice.search import TooTangled, least
from linter.rules.engine import Examination
from linter.rules.finding import Finding, Severity
from linter.source.files import DesignSource

# Of so many demands every pair is looked at for the smallest contradiction; of more, demands are only taken away.
PAIRS_OF = 30
# What the next options would break is tried for so long; of the rest is told what is known.
NEIGHBOURS_S = 30.0


@dataclass(frozen=True, slots=True)
class Relaxed:
    """What giving up one demand of a contradiction would cost; no choice where it would not help or, not ``proved``,
    none was found."""

    demand: Finding
    choice: tuple[tuple[str, Option], ...] | None
    copper_kg: float
    proved: bool = True


@dataclass(frozen=True, slots=True)
class Contradiction:
    """Demands that no choice meets all at once; without any one of them there is one.  Not ``proved``: none was found.
    ``given_up``: the one that is only advice, and that the choice breaks."""

    elements: tuple[str, ...]
    demands: tuple[Finding, ...]
    relaxed: tuple[Relaxed, ...]
    given_up: Finding | None = None
    proved: bool = True


@dataclass(frozen=True, slots=True)
class Neighbour:
    """What another option would have broken; no finding where none would be (it only costs more), or it was not tried.
    Not ``exact``: it is known to be broken and was found with other figures."""

    option: Option
    finding: Finding | None
    exact: bool = True


@dataclass(frozen=True, slots=True)
class Chosen:
    name: str
    option: Option
    smaller: Neighbour | None
    larger: Neighbour | None
    conductor: bool = False


@dataclass(slots=True)
class _GivenUp:
    """Demands that contradict each other, what was found of each, and the one that is given up so that the rest can be
    chosen; ``variables``: the elements that have a say in them."""

    demands: list[Demand]
    found: list[Finding]
    demand: Demand
    proved: bool
    variables: set[int]

    @property
    def finding(self) -> Finding:
        return self.found[self.demands.index(self.demand)]

    @property
    def mild(self) -> Finding | None:
        """What is found without it, if that is only a doubt or advice."""
        return self.finding if self.finding.severity in MILD else None


@dataclass(slots=True)
class Choice:
    """What is chosen.  ``unmet``: doubts and advice that nothing meets that meets all else, and what is wrong beside
    what can be chosen; ``standing``: findings in which no choice has a say; ``leaning``: findings at what is chosen
    that somebody has accepted; ``asked``: those that ask for a figure only."""

    chosen: list[Chosen] = field(default_factory=list)
    copper_kg: float = 0.0
    contradictions: list[Contradiction] = field(default_factory=list)
    unmet: list[Finding] = field(default_factory=list)
    standing: list[Finding] = field(default_factory=list)
    leaning: list[Finding] = field(default_factory=list)
    asked: list[Finding] = field(default_factory=list)
    tried: int = 0
    # that no choice has less copper, and that where there is none there is none
    proved: bool = True
    examination: Examination | None = None


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
    groups: list[_GivenUp] = []
    while True:
        best = chooser.best(without)
        made.proved = made.proved and best.proved
        choice, core = best.choice, best.core
        if choice is not None:
            break
        if not core:
            raise TooTangled
        demands, fewest = smallest(chooser, core)
        found = [_finding(core, d) for d in demands]
        # the mildest is given up, so that the rest can be chosen
        given_up = max(zip(demands, found, strict=True), key=lambda d: d[1].severity.rank)[0]
        without.add(given_up)
        variables = {v for f in found for v in chooser.responsible(f)}
        if len(demands) > 1 and not variables:
            variables = {v for c in core if c.demand in demands for v in c.variables}
        group = _GivenUp(demands, found, given_up, best.proved and fewest, variables)
        # a figure that lacks contradicts nothing: whoever finds it may choose again
        doubt = group.mild is not None and (len(demands) == 1 or group.mild.severity is Severity.DOUBT)
        if doubt or not variables:
            made.unmet.append(group.finding)
        else:
            groups.append(group)
    for group in list(groups) if made.unmet else ():
        # a doubt left open since may have been what stood in the way
        again = chooser.best(without - {group.demand})
        if again.choice is not None:
            groups.remove(group)
            without.discard(group.demand)
            choice, made.proved = again.choice, made.proved and again.proved
    for group in groups:
        made.contradictions.append(_contradiction(chooser, group, without - {group.demand}))
    undecided = {v for group in groups if group.mild is None for v in group.variables}
    chooser.try_(choice)
    # the last word is an examination that shares nothing with the trials
    chooser.examination = None
    made.examination = chooser.examined(choice)
    made.standing = list(chooser.standing.values())
    # with the figures of what is chosen
    seen = made.examination.findings
    made.unmet = [next((g for g in seen if breaks(demand_of(g), demand_of(f))), f) for f in made.unmet]
    made.asked = [f for f in seen if f.rule in ASKS_ONLY and not f.accepted]
    ends = time.monotonic() + NEIGHBOURS_S
    for variable, (one, at) in enumerate(zip(chooser.opens, choice, strict=True)):
        if variable not in undecided:
            made.copper_kg += one.options[at].copper_kg
            smaller, larger = (_neighbour(chooser, choice, variable, step, without, ends) for step in (-1, 1))
            made.chosen.append(Chosen(one.name, one.options[at], smaller, larger, one.conductor))
    names_of = {c.name for c in made.chosen}
    made.leaning = [
        f for f in made.examination.findings if f.accepted and not names_of.isdisjoint((f.subject, *f.guard))
    ]
    made.tried = chooser.tried
    return made


def _finding(core: Sequence[Ruled], demand: Demand) -> Finding:
    """The gravest form in which a demand was found broken."""
    return min((c.finding for c in core if c.demand == demand), key=lambda f: f.severity.rank)


def smallest(chooser: Chooser, core: Sequence[Ruled]) -> tuple[list[Demand], bool]:
    """The fewest demands of a group that cannot be met together, as far as findings tell: one, two, or what is left
    when each that is not needed is taken away.  Without any one of those returned the others can be met: that is tried,
    and told whether it was found.
    """
    demands = sorted({c.demand for c in core}, key=lambda d: (_finding(core, d).severity.rank, d))

    def contradict(some: Collection[Demand]) -> bool:
        return least(chooser.opens, [c for c in core if c.demand in some], chooser.solved)[0] is None

    alone = next((d for d in demands if contradict({d})), None)
    if alone is not None:
        return [alone], True
    left = list(demands)
    if len(demands) <= PAIRS_OF:
        pairs = ([one, two] for i, one in enumerate(demands) for two in demands[i + 1 :])
        left = next((pair for pair in pairs if contradict(pair)), left)
    for demand in reversed(left):
        fewer = [d for d in left if d != demand]
        if contradict(fewer):
            left = fewer
    proved = True
    for demand in list(left):
        fewer = [d for d in left if d != demand]
        try:
            needed = not fewer or chooser.can_be(only=set(fewer))
        except TooTangled:
            needed, proved = True, False
        left = left if needed else fewer
    return left, proved


def _contradiction(chooser: Chooser, group: _GivenUp, without: set[Demand]) -> Contradiction:
    """A group as it is told.  Of one with mere advice in it that is what is given up, not what keeps from harm."""
    members = sorted(group.variables)
    relaxed = []
    for demand, finding in zip(group.demands, group.found, strict=True):
        if group.mild is not None:
            break
        others = set(group.demands) - {demand}
        best = chooser.some({*without - others, demand})
        choice = best.choice
        if choice is None:
            relaxed.append(Relaxed(finding, None, 0.0, best.proved))
            continue
        picked = tuple((chooser.opens[v].name, chooser.opens[v].options[choice[v]]) for v in members)
        relaxed.append(Relaxed(finding, picked, sum(o.copper_kg for _, o in picked)))
    names = tuple(chooser.opens[v].name for v in members)
    return Contradiction(names, tuple(group.found), tuple(relaxed), group.mild, group.proved)


def _neighbour(
    chooser: Chooser, choice: Sequence[int], variable: int, step: int, without: Collection[Demand], ends: float
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
    option = same[at][1]
    other = [*choice]
    other[variable] = option
    before = {demand_of(f) for f in chooser.try_(choice)}

    def new(found: Sequence[Finding]) -> list[Finding]:
        return [f for f in found if demand_of(f) not in before and not left_out(demand_of(f), without)]

    breach, exact = new(chooser.told_of(variable, option)), True
    if not breach and time.monotonic() > ends:
        breach, exact = new(chooser.barring(without, other)), False
    elif not breach:
        breach = new(chooser.try_(other))
    return Neighbour(one.options[option], min(breach, key=lambda f: f.severity.rank, default=None), exact)
