"""A device stands close to the source: the conductor before it has no guard of its own."""

from __future__ import annotations

import math
from collections.abc import Iterator

from linter.model.elements import Conductor
from linter.rules.finding import Severity
from linter.rules.registry import Wrong, rule
from linter.rules.words import apart, metres, point
from linter.study.capacity import conditions_of
from linter.study.choice import least_size
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
    measure=(
        "With the source isolated, lay a tape or a string along the conductor, bends included, from the "
        "terminal of the source to the terminal of the device; see whether the covering reaches all the "
        "way."
    ),
    bad="""
from B
cable W1, 50 mm2, 0.9 m
fuse F1, part main, 150 A
cable W2, 50 mm2, 1 m
load HEATER, draws 40 A
""",
    good="""
from B
cable W1, 50 mm2, 0.18 m
fuse F1, part main, 150 A
cable W2, 50 mm2, 1 m
load HEATER, draws 40 A
""",
)
def RULE(study: Study) -> Iterator[Wrong]:
    circuit = study.design.circuit
    for made in study.conductors.values():
        stretch = made.stretch
        if made.verdict is not Verdict.TOO_FAR or stretch is None:
            continue
        far = max((d for d in stretch.devices if d.too_far), key=lambda d: d.distance_m or 0.0)
        assert far.limit is not None and far.limit.limit_mm is not None and far.rulebook is not None
        supply, device = point(study, stretch.supply_node), circuit.edges[far.edge].element
        distance_m, limit_m, inches = far.distance_m or 0.0, far.limit.limit_mm / 1000, _in_inches(made.conductor)
        far_off, allowed = apart(_inches if inches else _metric, distance_m, limit_m)
        mends = [f"{device.name}, or another device that guards it, within {allowed} of {supply}"]
        covered = [book.distance(stretch.tied, True) for book in study.rulebooks]
        reach = [math.inf if row.limit_mm is None else row.limit_mm / 1000 for row in covered if row is not None]
        if not far.covered and reach and distance_m <= min(reach) + 1e-9:
            upto = "any length" if min(reach) == math.inf else metres(min(reach), inches)
            mends.append(f"all of it in a sheath, conduit or enclosure ({upto} is then allowed)")
        given = conditions_of(made.conductor, made.system)
        if made.let_through_a < math.inf and given is not None:
            size = least_size(given, study.rulebooks, made.let_through_a, guard=True)
            mends += [f"a conductor of at least {size}, which what stands before it guards"] if size else []
        # beyond every distance that the rulebook knows it is no stretch any more
        longest = max((r.limit_mm or 0.0 for r in far.rulebook.distances if r.current != "ac"), default=0.0) / 1000
        yield Wrong(
            made.conductor,
            f"{made.conductor.title} is without a guard for {far_off} from {supply} to {device.title}; "
            f"{far.rulebook.name} allows {allowed}",
            "; or ".join(mends),
            span=made.conductor.where("length"),
            severity=Severity.DANGER if distance_m > longest else None,
            cite=far.limit.cite,
            related=((device.span, "the device"),),
        )


def _in_inches(conductor: Conductor) -> bool:
    """Whether the conductor's length is written in feet or inches."""
    fact = conductor.facts.get("length")
    return fact is not None and fact.values[0].text.endswith(("in", "ft"))


def _inches(value: float, more: int) -> str:
    return metres(value, True, more)


def _metric(value: float, more: int) -> str:
    return metres(value, False, more)
