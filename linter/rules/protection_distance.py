"""A device stands close to the source: the conductor before it has no guard of its own."""

from __future__ import annotations

import math
from collections.abc import Iterator

from linter.rules.finding import Severity
from linter.rules.registry import Wrong, rule
from linter.rules.words import metres, point
from linter.study.study import Study, Verdict


@rule(
    "protection-distance",
    Severity.FAULT,
    demand="A device stands close to the source: the conductor before it has no guard of its own.",
    reason=(
        "Between the supply and the first device a fault is broken by nothing. The rulebooks therefore allow "
        "only a short stretch there, longer where a sheath or enclosure keeps it from chafing."
    ),
    clause="33 CFR 183.455; ISO 13297, protection of DC conductors; ABYC E-11, overcurrent protection",
    status="second-hand",
    mend=(
        "Move the device towards the source, or put the stretch into a sheath or enclosure where the rulebook "
        "lets that count."
    ),
    bad="""
from B
cable W1, 50 mm2, 0.9 m
fuse F1, class T, 150 A, 125 V
cable W2, 50 mm2, 1 m
load HEATER, draws 40 A
""",
    good="""
from B
cable W1, 50 mm2, 0.18 m
fuse F1, class T, 150 A, 125 V
cable W2, 50 mm2, 1 m
load HEATER, draws 40 A
""",
)
def RULE(study: Study) -> Iterator[Wrong]:
    circuit = study.design.circuit
    for made in study.conductors.values():
        if made.verdict is not Verdict.TOO_FAR or made.stretch is None:
            continue
        far = max((d for d in made.stretch.devices if d.too_far), key=lambda d: d.distance_m or 0.0)
        assert far.limit is not None and far.limit.limit_mm is not None and far.rulebook is not None
        supply = point(study, made.stretch.supply_node)
        device = circuit.edges[far.edge].element
        limit_m = far.limit.limit_mm / 1000
        american = far.rulebook.capacity.size_system == "AWG"
        covered = far.rulebook.distance(made.stretch.tied, True)
        mend = f"bring {device.name} to within {metres(limit_m, american)} of {supply}"
        if not far.covered and covered is not None and (covered.limit_mm or math.inf) > far.limit.limit_mm:
            reach = "any length" if covered.limit_mm is None else metres(covered.limit_mm / 1000, american)
            if covered.limit_mm is None or (far.distance_m or 0.0) <= covered.limit_mm / 1000:
                mend += f"; or put all of it in a sheath, conduit or enclosure ({reach} is then allowed)"
        yield Wrong(
            made.conductor,
            f"{made.conductor.title} is without a guard for {metres(far.distance_m or 0.0, american)} from {supply} to "
            f"{device.title}; {far.rulebook.name} allows {metres(limit_m, american)}",
            mend,
            span=made.conductor.where("length"),
            cite=far.limit.cite,
            related=((device.span, "the device"),),
        )
