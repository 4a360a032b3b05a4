"""No conductor carries more load current than its capacity."""

from __future__ import annotations

from collections.abc import Iterator

from linter.rules.finding import Severity
from linter.rules.registry import Wrong, rule
from linter.rules.words import amps
from linter.study.capacity import conditions_of
from linter.study.choice import least_size
from linter.study.study import Study


@rule(
    "conductor-overloaded",
    Severity.DANGER,
    demand="No conductor carries more load current than its capacity.",
    reason=(
        "The device opens on a fault; nothing opens on a load that is merely too large for the conductor "
        "until its insulation has aged away."
    ),
    clause="IEC 60364-4-43, 433.1; the rulebook's table of capacity",
    status="from memory",
    mend="Take a larger conductor, or feed part of the load by another.",
    bad="""
from B
cable W1, 50 mm2, 0.15 m
fuse F1, part main, 150 A
cable W2, 50 mm2, 1 m
bus POS, 250 A
from POS
breaker Q3, part panel, 30 A
cable W3, 2.5 mm2, 3 m
load HEATER, draws 38 A
""",
    good="""
from B
cable W1, 50 mm2, 0.15 m
fuse F1, part main, 150 A
cable W2, 50 mm2, 1 m
bus POS, 250 A
from POS
breaker Q3, part panel, 40 A
cable W3, 6 mm2, 3 m
load HEATER, draws 30 A
""",
)
def RULE(study: Study) -> Iterator[Wrong]:
    for made in study.conductors.values():
        capacity = made.least_capacity
        if made.load is None or capacity is None or made.load.amps <= capacity.ampacity_a * (1 + 1e-9):
            continue
        given = conditions_of(made.conductor, made.system)
        size = least_size(given, study.rulebooks, made.load.amps, guard=False) if given else None
        yield Wrong(
            made.conductor,
            f"{made.conductor.title}, {made.conductor.size}, has a capacity of {amps(capacity.ampacity_a)} "
            f"({capacity.rulebook.name}) and carries {amps(made.load.amps)} ({made.load.case})",
            f"at least {size}" if size else "divide the load: no conductor of the tables carries it",
            span=made.conductor.where("area"),
            cite=capacity.cite,
        )
