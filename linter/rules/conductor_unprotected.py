"""Every conductor is guarded by devices that open before more can persist in it than it is allowed."""

from __future__ import annotations

import math
from collections.abc import Iterator

from linter.rules.finding import Severity
from linter.rules.registry import Wrong, rule
from linter.rules.words import amps, apart, guard_mend, guard_spans, holds_back, point
from linter.study.study import Study, Verdict


@rule(
    "conductor-unprotected",
    Severity.DANGER,
    demand=("Every conductor is guarded by devices that open before more can persist in it than it is allowed."),
    reason=(
        "What can flow without anything opening decides whether a chafed conductor blows a fuse or sets fire "
        "to the boat. A conductor whose let-through is larger than its allowance is a heater waiting for a "
        "fault."
    ),
    clause="33 CFR 183.455; ISO 13297, protection of DC conductors; ABYC E-11, overcurrent protection",
    status="second-hand",
    mend=("Fit a device at the supply end, rated no more than the conductor is allowed, or take a larger conductor."),
    measure=(
        "Follow the conductor from the source and find the first device by hand and eye, not by the "
        "drawing; read its rating off the device itself and the size off the conductor's print. Where the "
        "print is worn, measure the copper's diameter with the insulation stripped at a spare end. Never "
        "open a circuit or take a cover off before the source is isolated."
    ),
    bad="""
from B
cable W1, 50 mm2, 0.15 m
fuse F1, part main, 150 A
cable W2, 50 mm2, 1 m
bus POS, 250 A
from POS
cable W3, 2.5 mm2, 3 m
load LAMP, draws 3 A
""",
    good="""
from B
cable W1, 50 mm2, 0.15 m
fuse F1, part main, 150 A
cable W2, 50 mm2, 1 m
bus POS, 250 A
from POS
fuse F3, part branch, 15 A
cable W3, 2.5 mm2, 3 m
load LAMP, draws 3 A
""",
)
def RULE(study: Study) -> Iterator[Wrong]:
    for made in study.conductors.values():
        if made.verdict is not Verdict.UNPROTECTED or made.allowed_a is None or made.stretch is None:
            continue
        conductor, governing = made.conductor, made.governing
        assert governing is not None
        node = point(study, made.stretch.at_node) if made.stretch.at_node >= 0 else ""
        problem = made.stretch.problem.replace("{node}", node)
        if not problem:
            problem = "no rulebook grants it a distance without protection"
        allowed, lets = apart(amps, made.allowed_a, made.let_through_a)
        what = f"{conductor.title}, {conductor.size}, is allowed a guard of {allowed}"
        if made.let_through_a == math.inf:
            flows = "any current can persist in it: nothing opens"
        else:
            flows = f"{lets} can persist in it {holds_back(study, made)}"
        if made.stretch.sum_a:
            sum_a = made.stretch.sum_a
            ratings, _ = apart(amps, sum_a, made.allowed_a)
            problem += " (not all of them have a rating)" if sum_a == math.inf else f" ({ratings})"
        yield Wrong(
            conductor,
            f"{what}, but {flows}; it {problem}",
            guard_mend(study, made),
            cite=governing.limit.cite if governing.limit else governing.cite,
            related=guard_spans(study, made.guard),
            guard=made.guard,
        )
