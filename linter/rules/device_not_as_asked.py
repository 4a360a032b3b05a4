"""An appliance has the device its maker asks for: that kind, that class, exactly that rating."""

from __future__ import annotations

from collections.abc import Iterator

from linter.model.elements import Asks, Device, Load
from linter.rules.finding import Severity
from linter.rules.registry import Wrong, rule
from linter.rules.words import amps, apart, article, class_words, upstream, wording
from linter.study.study import Study


@rule(
    "device-not-as-asked",
    Severity.FAULT,
    demand="An appliance has the device its maker asks for: that kind, that class, exactly that rating.",
    reason=(
        "The maker chose the device for the appliance's own wiring, its starting current and its faults. A "
        "larger one leaves it without protection; a smaller one opens in use and invites a larger one."
    ),
    clause="the maker's manual",
    status="common practice",
    mend="Fit what the manual says; if it does not suit the conductor, change the conductor.",
    measure=(
        "Read kind, class and rating off the device that is really fitted, and hold them against the "
        "appliance's manual: holders take larger ones than they should have."
    ),
    bad="""
from B
cable W1, 50 mm2, 0.15 m
fuse F1, part main, 150 A
cable W2, 50 mm2, 1 m
bus POS, 250 A
from POS
breaker Q3, part panel, 60 A
cable W3, 16 mm2, 3 m
load WINCH, draws 40 A, asks thermal breaker 50 A
""",
    good="""
from B
cable W1, 50 mm2, 0.15 m
fuse F1, part main, 150 A
cable W2, 50 mm2, 1 m
bus POS, 250 A
from POS
breaker Q3, part panel, 50 A
cable W3, 16 mm2, 3 m
load WINCH, draws 40 A, asks thermal breaker 50 A
""",
)
def RULE(study: Study) -> Iterator[Wrong]:
    for node in study.design.circuit.nodes:
        load = node.load
        if load is None or not load.asks:
            continue
        asked = [a for a in load.asks if a.cable is None]
        if not asked:
            continue
        before = upstream(study, node.index)
        circuit = study.design.circuit
        if not before.devices and study.fed(node.index):
            sources = " and ".join(circuit.nodes[n].name for n in before.bare)
            message = f"{_want(load, asked)}; there is no device on the way from {sources}"
            yield Wrong(load, message, f"fit {wording(asked[0])} where its run begins")
        wrong = []
        for edge in before.devices:
            device = circuit.edges[edge].device
            problems = [_differs(device, ask) for ask in asked]
            if all(problems):
                # the nearest of what is asked for: of a breaker too large nobody wants to read that it is no fuse
                near = next((n for n, a in enumerate(asked) if a.device_kind in ("", device.kind)), 0)
                wrong.append((device, problems[near]))
        if wrong:
            device, _ = wrong[0]
            yield Wrong(
                load,
                f"{_want(load, asked)}; " + ", ".join(f"{d.title} {problem}" for d, problem in wrong),
                f"fit {wording(asked[0])}",
                span=device.where("current", "class", "part"),
                related=((load.stated("asks device"), "what is asked"),),
                guard=tuple(d.name for d, _ in wrong),
            )


def _want(load: Load, asked: list[Asks]) -> str:
    """What the maker asks for and where; put into words only where something is wrong."""
    said = f" ({load.says()})" if load.says() else ""
    return f"the maker of {load.title} asks for {' or '.join(wording(a) for a in asked)}{said}"


def _differs(device: Device, ask: Asks) -> str:
    """How a device differs from what is asked for; empty where it does not."""
    if ask.device_kind and device.kind != ask.device_kind:
        return f"is {article(device.kind)}"
    if ask.device_class and device.device_class != ask.device_class:
        return f"is {class_words(device.device_class)}" if device.device_class else "does not say its class"
    if ask.speed and device.speed != ask.speed:
        return f"is {device.speed}" if device.speed else "does not say whether it is fast or slow"
    if ask.rating_a is not None and device.rated_a is not None:
        least, greatest = ask.rating_a
        if device.rated_a < least * (1 - 1e-9):
            return f"is rated {apart(amps, device.rated_a, least)[0]}, too small"
        if device.rated_a > greatest * (1 + 1e-9):
            return f"is rated {apart(amps, device.rated_a, greatest)[0]}, too large"
    return ""
