"""A return conductor smaller than its live one is guarded too."""

from __future__ import annotations

import math
from collections.abc import Iterator

from linter.rules.finding import Severity
from linter.rules.registry import Wrong, rule
from linter.rules.words import amps, apart, guard_spans, holds_back
from linter.study.capacity import capacity, thinner_return
from linter.study.choice import least_size
from linter.study.study import Study, Verdict


@rule(
    "return-unprotected",
    Severity.DANGER,
    demand="A return conductor smaller than its live one is guarded too.",
    reason=(
        "What flows out flows back. A guard chosen for the live conductor lets a thinner return burn, though nothing "
        "is wrong on the live side."
    ),
    clause="33 CFR 183.455; ISO 13297, protection of DC conductors; ABYC E-11, overcurrent protection",
    status="second-hand",
    mend="A return as large as the live conductor, or a guard that the return may have.",
    measure=(
        "Read the size of the return conductor at the load and at the negative bus, and measure its copper "
        "where the print is worn: it is often thinner than the live one."
    ),
    bad="""
from B
cable W1, 50 mm2, 0.15 m
fuse F1, part main, 150 A
cable W2, 50 mm2, 1 m
bus POS, 250 A
from POS
fuse F3, part branch, 30 A
cable W3, 6 mm2, 3 m, return 1 mm2
load HEATER, draws 10 A
""",
    good="""
from B
cable W1, 50 mm2, 0.15 m
fuse F1, part main, 150 A
cable W2, 50 mm2, 1 m
bus POS, 250 A
from POS
fuse F3, part branch, 15 A
cable W3, 6 mm2, 3 m, return 4 mm2
load HEATER, draws 10 A
""",
)
def RULE(study: Study) -> Iterator[Wrong]:
    for made in study.conductors.values():
        conductor = made.conductor
        own = thinner_return(conductor, made.system)
        if own is None or conductor.cranking or made.verdict is Verdict.NOT_FED:
            continue
        allowed = [capacity(own, book) for book in study.rulebooks]
        least = min(allowed, key=lambda c: c.allowed_a, default=None)
        # where the live side itself is exposed, that is said of it already
        if least is None or made.let_through_a <= least.allowed_a * (1 + 1e-9) or made.verdict is Verdict.UNPROTECTED:
            continue
        flows = "any current can persist in it: nothing opens"
        most, lets = apart(amps, least.allowed_a, made.let_through_a)
        if made.let_through_a < math.inf:
            flows = f"{lets} can persist in it {holds_back(study, made)}"
        enough = least_size(own, study.rulebooks, made.let_through_a, guard=True) if flows[0] != "a" else None
        # smaller than any row of the table: less than the figure is allowed, nobody says how much
        less = "less than " if least.bound else ""
        mend = "" if least.bound else f"a guard of at most {most}"
        larger = f"a return of at least {enough}" if enough is not None else "a larger return"
        allows = f"is allowed a guard of {less}{most}"
        yield Wrong(
            conductor,
            f"the return of {conductor.title}, {own.size}, {allows}, but {flows}",
            mend + (f", or {larger}" if enough is not None else "") if mend else larger,
            span=conductor.where("return size"),
            cite=least.limit.cite if least.limit else least.cite,
            related=guard_spans(study, made.guard),
            guard=made.guard,
        )
