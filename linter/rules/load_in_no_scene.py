"""Where scenes are given, every load stands in one."""

from __future__ import annotations

from collections.abc import Iterator

from linter.rules.finding import Severity
from linter.rules.registry import Wrong, rule
from linter.study.study import Study


@rule(
    "load-in-no-scene",
    Severity.ADVICE,
    demand="Where scenes are given, every load stands in one.",
    reason=(
        "Shared conductors and main devices are judged by the scenes. A load in none of them is only reckoned "
        "together with the others that were forgotten."
    ),
    clause="common practice",
    status="common practice",
    mend="Name it in the scene in which it runs.",
    measure="Ask those who use the boat when it runs, and together with what.",
    bad="""
from B
cable W1, 50 mm2, 0.15 m
fuse F1, part main, 150 A
cable W2, 50 mm2, 1 m
bus POS, 250 A
from POS
fuse F3, part branch, 5 A
cable W3, 1.5 mm2, 3 m
load LAMP, draws 1 A
from POS
fuse F4, part branch, 5 A
cable W4, 1.5 mm2, 3 m
load RADIO, draws 1 A
scene "At anchor", LAMP
""",
    good="""
from B
cable W1, 50 mm2, 0.15 m
fuse F1, part main, 150 A
cable W2, 50 mm2, 1 m
bus POS, 250 A
from POS
fuse F3, part branch, 5 A
cable W3, 1.5 mm2, 3 m
load LAMP, draws 1 A
from POS
fuse F4, part branch, 5 A
cable W4, 1.5 mm2, 3 m
load RADIO, draws 1 A
scene "At anchor", LAMP, RADIO
""",
)
def RULE(study: Study) -> Iterator[Wrong]:
    if not study.design.scenes:
        return
    shown = {e.name for s in study.design.scenes for e in s.on}
    for node in study.design.circuit.nodes:
        if node.load is not None and node.load.name not in shown and not node.load.always_on:
            yield Wrong(node.load, f"{node.load.title} stands in no scene", "name it in the scene in which it runs")
