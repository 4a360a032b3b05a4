"""What combines banks is closed in some scene."""

from __future__ import annotations

from collections.abc import Iterator

from linter.model.elements import Switch
from linter.rules.finding import Severity
from linter.rules.registry import Wrong, rule
from linter.study.study import Study


@rule(
    "relay-never-closed",
    Severity.ADVICE,
    demand="What combines banks, or ties them in need, is closed in some scene.",
    reason=(
        "Between sources it counts as open unless a scene closes it. Closed in none, the current that charges one bank "
        "over it is never reckoned."
    ),
    clause="common practice",
    status="common practice",
    mend="Write the scene in which it is closed: under way, charging.",
    measure=(
        "With the charging source on, measure across the relay: near nothing when it is closed, the "
        "difference of the banks when it is open."
    ),
    bad="""
battery C, AGM, 12 V, 100 Ah, resistance 4 mΩ
from B
fuse F1, part main, 100 A
cable W1, 50 mm2, 2 m
relay K1, combining, 120 A
cable W2, 50 mm2, 2 m
fuse F2, part main, 100 A
to C
from C
fuse F3, part branch, 15 A
cable W3, 2.5 mm2, 3 m
load LAMP, draws 4 A
""",
    good="""
battery C, AGM, 12 V, 100 Ah, resistance 4 mΩ
from B
fuse F1, part main, 100 A
cable W1, 50 mm2, 2 m
relay K1, combining, 120 A
cable W2, 50 mm2, 2 m
fuse F2, part main, 100 A
to C
from C
fuse F3, part branch, 15 A
cable W3, 2.5 mm2, 3 m
load LAMP, draws 4 A
scene "Under way", LAMP, K1 closed
""",
)
def RULE(study: Study) -> Iterator[Wrong]:
    closed = {n for s in study.design.scenes for n, state in s.states.items() if state == "closed"}
    for edge in study.design.circuit.edges:
        element = edge.element
        if edge.kind == "link" or not isinstance(element, Switch) or element.name in closed:
            continue
        if (element.combining or element.normally_open) and study.parts.leads_to[edge.index] < 0:
            yield Wrong(
                element,
                f"{element.title} stands between sources and is closed in no scene: what flows over it is not reckoned",
                f"write the scene in which it is closed: {element.name} closed",
            )
