"""Two systems of different voltage meet nowhere but in a converter."""

from __future__ import annotations

from collections.abc import Iterator

from linter.rules.finding import Severity
from linter.rules.registry import Wrong, rule
from linter.study.study import Study


@rule(
    "systems-joined",
    Severity.DANGER,
    demand="Two systems of different voltage meet nowhere but in a converter.",
    reason=(
        "A conductor between a 24 V and a 12 V system drives one through the other, with nothing but "
        "resistance to limit the current."
    ),
    clause="common practice",
    status="common practice",
    mend="Separate the two, or put a converter between them.",
    measure=(
        "With the sources isolated, measure between the live sides of the two systems: there should be no "
        "continuity. With power on, measure the voltage of each to the common return."
    ),
    bad="""
boat "Example", 14 m, rulebook iso-13297
system DC12, 12 V
system DC24, 24 V
cables, insulation 105 °C
battery A, AGM, 12 V, 100 Ah, resistance 4 mΩ
battery B, AGM, 24 V, 100 Ah, resistance 8 mΩ
from A
fuse F1, part main, 100 A
cable W1, 35 mm2, 2 m
fuse F2, part main, 100 A
to B
""",
    good="""
boat "Example", 14 m, rulebook iso-13297
system DC12, 12 V
system DC24, 24 V
cables, insulation 105 °C
battery A, AGM, 12 V, 100 Ah, resistance 4 mΩ
battery B, AGM, 24 V, 100 Ah, resistance 8 mΩ
from A
fuse F1, part main, 60 A
cable W1, 35 mm2, 2 m
converter T1, 12 V to 24 V, 20 A, self-limiting, efficiency 90 %
from T1
cable W2, 16 mm2, 2 m
fuse F2, part main, 60 A
to B
from B
fuse F3, part main, 30 A
cable W3, 6 mm2, 2 m
load HEATER, draws 20 A
""",
)
def RULE(study: Study) -> Iterator[Wrong]:
    for edge, one, two in study.design.joined:
        yield Wrong(
            edge.element,
            f"{edge.element.title} joins system {one.name} and system {two.name}",
            "take it out, or put a converter between the two",
        )
