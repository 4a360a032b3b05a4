"""A bus, switch, relay, diode or holder is rated for what can flow through it."""

from __future__ import annotations

import math
from collections.abc import Iterator

from linter.model.elements import Element
from linter.rules.finding import Severity
from linter.rules.registry import Wrong, rule
from linter.rules.words import amps, apart, article
from linter.study.study import Study


@rule(
    "current-rating",
    Severity.FAULT,
    demand="A bus, switch, relay, diode or holder is rated for what can flow through it.",
    reason=("Its rating must cover what the devices before and behind it let through, not only what flows today."),
    clause="common practice",
    status="common practice",
    mend="Fit one of a sufficient rating, or a smaller device before it, if the loads allow it.",
    measure=(
        "Read the rating off the bus, switch or holder, and the ratings of all devices that feed it; under "
        "load compare its temperature with what is beside it."
    ),
    bad="""
from B
cable W1, 50 mm2, 0.15 m
fuse F1, part main, 150 A
cable W2, 50 mm2, 1 m
switch S1, 100 A
cable W3, 50 mm2, 1 m
breaker Q3, part panel, 120 A
cable W4, 50 mm2, 1 m
load HEATER, draws 90 A
""",
    good="""
from B
cable W1, 50 mm2, 0.15 m
fuse F1, part main, 150 A
cable W2, 50 mm2, 1 m
switch S1, 150 A
cable W3, 50 mm2, 1 m
breaker Q3, part panel, 120 A
cable W4, 50 mm2, 1 m
load HEATER, draws 90 A
""",
)
def RULE(study: Study) -> Iterator[Wrong]:
    circuit = study.design.circuit
    worst: dict[str, tuple[Element, float]] = {}
    for edge_index, amps_ in study.through_edge.items():
        element = circuit.edges[edge_index].element
        worst[element.name] = (element, max(amps_, worst.get(element.name, (element, 0.0))[1]))
    for node_index, amps_ in study.through_node.items():
        node_element = circuit.nodes[node_index].element
        if node_element is not None:
            worst[node_element.name] = (node_element, max(amps_, worst.get(node_element.name, (node_element, 0.0))[1]))
    for element, amps_ in worst.values():
        rated_a = getattr(element, "rated_a", None)
        if rated_a is None or amps_ <= rated_a * (1 + 1e-9):
            continue
        rated, through = apart(amps, rated_a, amps_)
        if amps_ == math.inf:
            # a device without a rating, or a source that nothing limits, stands on both sides
            flows, mend = "nothing limits what can flow through it", "devices with a rating on one of its sides"
        else:
            most = "as much as " if element.name in study.flows.bounded else ""
            flows = f"{most}{through} can flow through it before anything opens"
            mend = f"one rated at least {through}"
        message = f"{element.title}, {article(element.kind)}, is rated {rated}; {flows}"
        yield Wrong(element, message, mend, span=element.where("current"))
    for edge in circuit.edges:
        if edge.kind != "device":
            continue
        device = edge.device
        if device.holder_a is not None and device.rated_a is not None and device.rated_a > device.holder_a * (1 + 1e-9):
            rated, holder = apart(amps, device.rated_a, device.holder_a)
            yield Wrong(
                device,
                f"{device.title} is rated {rated} in a holder for {holder}",
                f"a holder for at least {rated}, or the right rating for this holder",
                span=device.where("holder"),
            )
