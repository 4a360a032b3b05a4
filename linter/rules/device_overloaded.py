"""A device carries no more than its rating, and no more than 80 % of it for hours."""

from __future__ import annotations

from collections.abc import Iterator

from linter.model.elements import Device
from linter.rules.finding import Severity
from linter.rules.registry import Wrong, rule
from linter.rules.words import amps, apart, article
from linter.study.choice import least_rating, ratings_of
from linter.study.curve import shares
from linter.study.study import Study
from linter.tables.cite import Cite


@rule(
    "device-overloaded",
    Severity.FAULT,
    demand="A device carries no more than its rating, and no more than 80 % of it for hours.",
    reason=(
        "Loaded above its rating it opens in use; loaded near it for hours it ages, runs hot, and opens one "
        "day without a fault, which teaches people to fit larger ones."
    ),
    clause="IEC 60364-4-43, 433.1; 80 % for continuous loads: common practice",
    status="from memory",
    mend="Divide the load, or choose conductor and device for what it draws.",
    measure=(
        "With the loads of that time on, measure the current through the device with a clamp meter, and the"
        " temperature beside it; a device or holder too hot to touch is a finding whatever the current."
    ),
    bad="""
from B
cable W1, 50 mm2, 0.15 m
fuse F1, part main, 150 A
cable W2, 50 mm2, 1 m
bus POS, 250 A
from POS
fuse F3, part branch, 10 A
cable W3, 2.5 mm2, 3 m
load HEATER, draws 12 A
""",
    good="""
from B
cable W1, 50 mm2, 0.15 m
fuse F1, part main, 150 A
cable W2, 50 mm2, 1 m
bus POS, 250 A
from POS
fuse F3, part branch, 20 A
cable W3, 2.5 mm2, 3 m
load HEATER, draws 12 A, continuous
""",
)
def RULE(study: Study) -> Iterator[Wrong]:
    for edge in study.design.circuit.edges:
        load = study.loads.get(edge.index)
        if edge.kind != "device" or load is None or edge.device.rated_a is None:
            continue
        device, rated_a = edge.device, edge.device.rated_a
        rated = f"is rated {amps(rated_a)}"
        least, _ = shares(device)
        rated_a *= min(least, 1.0)
        bears, carries = apart(amps, rated_a, load.amps)
        if least < 1:
            rated += f", carries {bears} in {device.place.name if device.place else ''}"
        else:
            rated = f"is rated {bears}"
        if load.amps > rated_a * (1 + 1e-9):
            yield Wrong(
                device,
                f"{device.title} {rated} and is to carry {carries} ({load.case})",
                _mend(device, load.amps / max(least, LEAST_SHARE)),
                span=device.where("current"),
            )
        elif load.continuous_a > CONTINUOUS_SHARE * rated_a * (1 + 1e-9):
            hours, _ = apart(amps, load.continuous_a, CONTINUOUS_SHARE * rated_a)
            yield Wrong(
                device,
                f"{device.title} {rated} and is to carry {hours} for hours, more than "
                f"{100 * CONTINUOUS_SHARE:g} % of it ({load.case})",
                _mend(device, load.continuous_a / CONTINUOUS_SHARE / max(least, LEAST_SHARE)),
                span=device.where("current"),
                severity=Severity.ADVICE,
                cite=Cite("80 % of the rating for continuous loads", "common practice"),
            )


CONTINUOUS_SHARE = 0.8
# A device that carries less of its rating than this where it stands is no device for that place.
LEAST_SHARE = 0.05


def _mend(device: Device, amps_: float) -> str:
    series = ratings_of(device.device_class, device.comes_in_a)
    rating = least_rating(amps_, device.device_class, device.comes_in_a)
    if series and rating is None:
        return "divide the load between circuits: no such rating is made"
    larger = f"{article(device.kind)} of at least {amps(rating or amps_)} with a conductor that it guards"
    return f"divide the load between circuits, or {larger}, if the makers' manuals allow it"
