"""What is not examined is said."""

from __future__ import annotations

from collections.abc import Iterator

from linter.rules.finding import Severity
from linter.rules.registry import Wrong, rule
from linter.study.study import Study


@rule(
    "alternating-not-studied",
    Severity.DOUBT,
    demand="What is not examined is said.",
    reason=(
        "This version proves direct-current systems. An alternating-current system is read and drawn, but not judged."
    ),
    clause="common practice",
    status="common practice",
    mend="Have the alternating-current side examined by a qualified person by other means.",
    measure=(
        "Leave alternating current to a qualified person: polarity, earth continuity, insulation and the "
        "residual-current device's opening time are measured with instruments made for it."
    ),
    bad="""
system AC230, AC, 230 V, 50 Hz
from B
cable W1, 50 mm2, 0.15 m
fuse F1, part main, 150 A
cable W2, 50 mm2, 1 m
bus POS, 250 A
from POS
fuse F3, part branch, 5 A
cable W3, 1.5 mm2, 3 m
load LAMP, draws 1 A
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
""",
    whole=False,
)
def RULE(study: Study) -> Iterator[Wrong]:
    for system in study.design.systems.values():
        if system.alternating:
            yield Wrong(system, f"system {system.title} is alternating current, which is not examined", "")
