"""A breaker is reset by hand, and cannot be held closed on a fault."""

from __future__ import annotations

from collections.abc import Iterator

from linter.rules.finding import Severity
from linter.rules.registry import Wrong, rule
from linter.study.study import Study


@rule(
    "automatic-reset",
    Severity.FAULT,
    demand="A breaker is reset by hand, and cannot be held closed on a fault.",
    reason="One that closes by itself closes onto the fault again and again, until something burns.",
    clause="33 CFR 183.455",
    status="read",
    mend="Fit a breaker with manual reset, trip-free.",
    measure=(
        "Read the type off the breaker; opened by its own push, it must stay open. Whether it can be held "
        "closed is in its sheet, and is not tried out on a fault."
    ),
    bad="""
from B
cable W1, 50 mm2, 0.15 m
fuse F1, part main, 150 A
cable W2, 50 mm2, 1 m
bus POS, 250 A
from POS
breaker Q3, part panel, 30 A, automatic reset
cable W3, 6 mm2, 3 m
load PUMP, draws 12 A
""",
    good="""
from B
cable W1, 50 mm2, 0.15 m
fuse F1, part main, 150 A
cable W2, 50 mm2, 1 m
bus POS, 250 A
from POS
breaker Q3, part panel, 30 A
cable W3, 6 mm2, 3 m
load PUMP, draws 12 A
""",
    whole=False,
)
def RULE(study: Study) -> Iterator[Wrong]:
    for edge in study.design.circuit.edges:
        if edge.kind == "device" and edge.device.automatic_reset:
            yield Wrong(
                edge.device,
                f"{edge.device.title} resets itself",
                "a breaker that is reset by hand and trip-free",
                span=edge.device.where("automatic reset"),
            )
