"""No conductor carries more load current than its capacity."""

from __future__ import annotations

from collections.abc import Iterator

from linter.rules.finding import Severity
from linter.rules.registry import Wrong, rule
from linter.rules.words import amps, apart
from linter.study.capacity import conditions_of
from linter.study.choice import least_size
from linter.study.cranking import besides_cranking
from linter.study.current import LoadCurrent
from linter.study.study import Study


@rule(
    "conductor-overloaded",
    Severity.DANGER,
    demand="No conductor carries more load current than its capacity.",
    reason=(
        "The device opens on a fault; nothing opens on a load that is merely too large for the conductor "
        "until its insulation has aged away. Of a cranking feed the starter's current does not count: it lasts for "
        "seconds, and the tables of capacity are not made for it (33 CFR 183.425); all else that it feeds does."
    ),
    clause="IEC 60364-4-43, 433.1; the rulebook's table of capacity",
    status="from memory",
    mend="Take a larger conductor, or feed part of the load by another.",
    measure=(
        "With the loads of that time switched on, put a direct-current clamp meter around the conductor; "
        "after half an hour feel for warmth at terminals and covering, or use a thermometer."
    ),
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
    others: dict[int, LoadCurrent] | None = None
    for made in study.conductors.values():
        capacity = made.least_capacity
        if made.load is None or capacity is None or made.load.amps <= capacity.ampacity_a * (1 + 1e-9):
            continue
        load_a, case = made.load.amps, made.load.case
        if made.conductor.cranking:
            others = besides_cranking(study) if others is None else others
            other = others.get(made.edge.index)
            if other is None or other.amps <= capacity.ampacity_a * (1 + 1e-9):
                continue
            load_a, case = other.amps, f"{other.case}, cranking not counted"
        given = conditions_of(made.conductor, made.system)
        size = least_size(given, study.rulebooks, load_a, guard=False) if given else None
        bears, carries = apart(amps, capacity.ampacity_a, load_a)
        yield Wrong(
            made.conductor,
            f"{made.conductor.title}, {made.conductor.size}, has a capacity of {bears} ({capacity.rulebook.name}) and "
            f"carries {carries} ({case})",
            f"at least {size}" if size else "divide the load: no conductor of the tables carries it",
            span=made.conductor.where("area"),
            cite=capacity.cite,
        )
