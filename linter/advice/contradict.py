"""Demands that no choice meets all at once: the fewest of them, and what doing without each would cost."""

from __future__ import annotations

from collections.abc import Collection, Sequence
from dataclasses import dataclass

from linter.advice.choice import Contradiction, Relaxed
from linter.advice.chooser import Chooser
from linter.advice.clauses import MILD, Demand, Ruled
from linter.advice.search import TooTangled, least
from linter.rules.finding import Finding, Severity

# Of so many demands every pair is looked at for the smallest contradiction; of more, demands are only taken away.
PAIRS_OF = 30


@dataclass(slots=True)
class GivenUp:
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

    @property
    def only_told(self) -> bool:
        """Whether nobody has to choose again: a figure that lacks contradicts nothing, nor is there a choice where
        nothing that is open has a say."""
        doubt = self.mild is not None and (len(self.demands) == 1 or self.mild.severity is Severity.DOUBT)
        return doubt or not self.variables


def given_up(chooser: Chooser, core: Sequence[Ruled], proved: bool) -> GivenUp:
    """What is given up of findings that leave no choice: the mildest, so that the rest can be chosen."""
    doubts = sorted({c.demand for c in core if _finding(core, c.demand).severity is Severity.DOUBT})
    # of a group with a doubt in it only the doubt is told: it need not be the smallest
    demands, fewest = (doubts[:1], True) if doubts else smallest(chooser, core)
    found = [_finding(core, d) for d in demands]
    demand = max(zip(demands, found, strict=True), key=lambda d: d[1].severity.rank)[0]
    variables = {v for f in found for v in chooser.responsible(f)}
    if len(demands) > 1 and not variables:
        variables = {v for c in core if c.demand in demands for v in c.variables}
    return GivenUp(demands, found, demand, proved and fewest, variables)


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


def contradiction(chooser: Chooser, group: GivenUp, without: set[Demand], again: bool) -> Contradiction | None:
    """A group as it is told; None where a choice was found that meets all of it after all, unless it is met ``again``.

    Of one with mere advice in it that is what is given up, not what keeps from harm.
    """
    members = sorted(group.variables)
    relaxed: list[Relaxed] = []
    seen: list[Finding] = []
    for demand, finding in zip(group.demands, group.found, strict=True):
        others = set(group.demands) - {demand}
        best = chooser.some({*without - others, demand})
        choice = best.choice
        if choice is None:
            seen.append(finding)
            relaxed.append(Relaxed(finding, None, 0.0, best.proved))
            continue
        # with the figures of the choice at which the others are met
        there = min(
            (f for f in chooser.try_(choice) if (f.rule, f.subject) == demand[:2]),
            key=lambda f: f.severity.rank,
            default=finding if again else None,
        )
        if there is None:
            return None
        picked = tuple((chooser.opens[v].name, chooser.opens[v].options[choice[v]]) for v in members)
        seen.append(there)
        relaxed.append(Relaxed(there, picked, sum(o.copper_kg for _, o in picked)))
    names = tuple(chooser.opens[v].name for v in members)
    if group.mild is not None:
        given_up_ = seen[group.demands.index(group.demand)]
        return Contradiction(names, tuple(seen), (), given_up_, group.proved)
    return Contradiction(names, tuple(seen), tuple(relaxed), None, group.proved)
