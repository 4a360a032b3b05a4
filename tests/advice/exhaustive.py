"""Every choice of a small boat, each examined as `check` would: what `size` has to agree with."""

from __future__ import annotations

import itertools
from collections.abc import Collection, Iterable, Iterator
from dataclasses import dataclass

from linter.advice.choice import Choice
from linter.advice.clauses import Demand
from linter.advice.options import Open
from linter.advice.overlay import overlaid
from linter.advice.search import Cost, cost_in_all
from linter.model.build import build
from linter.rules.engine import examine
from linter.rules.finding import Finding, Severity
from linter.source.files import DesignSource

Combination = tuple[int, ...]


@dataclass
class Every:
    """What is found at each combination of options."""

    opens: list[Open]
    found: dict[Combination, frozenset[Demand]]

    def always(self) -> frozenset[Demand]:
        """What is found whatever is chosen."""
        return frozenset.intersection(*self.found.values())

    def can_meet(self, demands: Collection[Demand]) -> bool:
        """Whether some combination breaks none of these."""
        return any(found.isdisjoint(demands) for found in self.found.values())

    def least(self, ignoring: Collection[Demand]) -> tuple[Cost, Combination] | None:
        """The combination of least cost at which nothing else is found."""
        fit = (c for c, found in self.found.items() if found <= frozenset(ignoring))
        return min(((cost_in_all(self.opens, c), c) for c in fit), default=None)


def keys(findings: Iterable[Finding]) -> frozenset[Demand]:
    """What findings break: what is wrong breaks the demand that there be no advice, too."""
    plain = frozenset(Demand(f.rule, f.subject, f.severity in {Severity.DOUBT, Severity.ADVICE}) for f in findings)
    return plain | {d._replace(mild=True) for d in plain}


def every(source: DesignSource, opens: list[Open]) -> Every:
    found: dict[Combination, frozenset[Demand]] = {}
    for combination in itertools.product(*(range(len(o.options)) for o in opens)):
        changes = {
            ("element", one.name): {f.key: (f,) for f in one.options[at].facts}
            for one, at in zip(opens, combination, strict=True)
        }
        seen = examine(build(overlaid(source, changes)))
        assert not seen.broken, seen.broken
        # where only a figure is missing, the figure is asked for and no larger device
        asks = {f for f in seen.findings if f.rule == "contact-resistance"}
        doubts = [f for f in seen.findings if f.severity is Severity.DOUBT]
        asks |= {f for f in doubts if f.rule in {"start-opens-device", "source-resistance"}}
        wrong = [f for f in seen.findings if not f.accepted and f not in asks]
        found[combination] = keys(wrong)
    # what cannot be fed has no voltage either, though nobody says so of it besides
    dim = {d for demands in found.values() for d in demands if d.rule in {"voltage-drop", "voltage-too-low"}}
    for combination, demands in found.items():
        if any(d.rule == "scene-not-carried" for d in demands):
            found[combination] = demands | dim
    return Every(opens, found)


def differences(made: Choice, all_: Every) -> Iterator[str]:
    """Where a choice differs from what trying everything says; nothing where they agree."""
    told = set(keys((*made.unmet, *made.standing)))
    # a doubt may be left open because all else cannot be satisfied with it
    doubts = set(keys(f for f in made.unmet if f.severity is Severity.DOUBT))
    if not told - doubts <= all_.always():
        yield f"said of every choice, and not so: {sorted(told - doubts - all_.always())}"
    for doubt in doubts - all_.always():
        others = keys(f for c in made.contradictions for f in c.demands)
        if not others and all_.least(told - {doubt}) is not None:
            yield f"left open, and need not be: {doubt}"
    best = all_.least(told)
    if made.contradictions and best is not None:
        yield f"contradictions told, and {best} would do"
    # advice that contradicts other demands is left open
    left_open = keys(f for c in made.contradictions if (f := c.given_up) is not None)
    told |= left_open
    best = all_.least(told)
    if all(c.given_up is not None for c in made.contradictions):
        if best is None:
            yield "a choice told, and none would do"
            return
        written = {c.name: c.option.written for c in made.chosen}
        taken = tuple([x.written for x in o.options].index(written[o.name]) for o in all_.opens)
        if not all_.found[taken] <= told:
            yield f"the choice breaks {sorted(all_.found[taken] - told)}"
        cost = cost_in_all(all_.opens, taken)
        # a device may be rated as what stands behind it, though no rule asks it
        more = cost[1] > best[0][1] and any(c.raised for c in made.chosen)
        if made.proved and (cost[0] != best[0][0] or (cost[1] != best[0][1] and not more)):
            yield f"proved least {cost} at {taken}, but {best}"
        if not made.proved:
            yield "not proved"
    for one in made.contradictions:
        # what is a fault with one rating may be a doubt with a smaller one, of which less is known: in any form
        demands = {Demand(f.rule, f.subject, True) for f in one.demands}
        if all_.can_meet(demands):
            yield f"can be met together: {sorted(demands)}"
        for demand in demands:
            if len(demands) > 1 and not all_.can_meet(demands - {demand}):
                yield f"not smallest: without {demand} of {sorted(demands)} there is none either"
        for fewer in range(1, len(demands)):
            for some in itertools.combinations(sorted(demands), fewer):
                if not all_.can_meet(some):
                    yield f"fewer contradict: {some}"
