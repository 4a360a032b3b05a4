"""No path leads around a protective device."""

from __future__ import annotations

from collections.abc import Iterator

from linter.rules.finding import Severity
from linter.rules.registry import Wrong, rule
from linter.rules.words import point
from linter.study.study import Study


@rule(
    "device-bypassed",
    Severity.DANGER,
    demand="No path leads around a protective device.",
    reason="A conductor from one side of a device to the other carries what the device should have broken.",
    clause="common practice",
    status="common practice",
    mend="Take the path out, or put a device of its own into it.",
    measure=(
        "With all sources isolated and the device taken out or opened, measure the resistance between its "
        "two terminals: anything but an open circuit (loads disconnected) is a path around it."
    ),
    bad="""
from B
cable W1, 50 mm2, 0.15 m
fuse F1, part main, 150 A
cable W2, 50 mm2, 1 m
bus POS, 250 A
from W1
cable W4, 10 mm2, 0.2 m
to POS
""",
    good="""
from B
cable W1, 50 mm2, 0.15 m
fuse F1, part main, 150 A
cable W2, 50 mm2, 1 m
bus POS, 250 A
from POS
fuse F4, part branch, 30 A
cable W4, 10 mm2, 0.2 m
load HEATER, draws 20 A
""",
)
def RULE(study: Study) -> Iterator[Wrong]:
    circuit = study.design.circuit
    region = circuit.pieces(devices=False)
    for edge in circuit.edges:
        if edge.kind == "device" and region[edge.u] == region[edge.v]:
            yield Wrong(
                edge.element,
                f"{edge.element.title} is bridged: {point(study, edge.u)} and {point(study, edge.v)} "
                "are joined by a way without any device",
                "take that way out, or put a device into it",
            )
