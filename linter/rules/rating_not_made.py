"""A device has a rating that its series is made in."""

from __future__ import annotations

from collections.abc import Iterator

from linter.rules.finding import Severity
from linter.rules.registry import Wrong, rule
from linter.rules.words import amps, apart, class_words
from linter.study.study import Study
from linter.tables.devices import classes


@rule(
    "rating-not-made",
    Severity.FAULT,
    demand="A device has a rating that its series is made in.",
    reason=(
        "A rating nobody makes is a slip of the pen, and on board it will be replaced by whatever lies in the box."
    ),
    clause="ISO 8820-3 and the makers' series; NEC 240.6(A)",
    status="from memory",
    mend="Choose a rating of the series.",
    measure="Read the rating off the device itself.",
    bad="""
from B
cable W1, 50 mm2, 0.15 m
fuse F1, part main, 150 A
cable W2, 50 mm2, 1 m
bus POS, 250 A
from POS
fuse F3, part branch, 12 A
cable W3, 2.5 mm2, 3 m
load LAMP, draws 3 A
""",
    good="""
from B
cable W1, 50 mm2, 0.15 m
fuse F1, part main, 150 A
cable W2, 50 mm2, 1 m
bus POS, 250 A
from POS
fuse F3, part branch, 15 A
cable W3, 2.5 mm2, 3 m
load LAMP, draws 3 A
""",
    whole=False,
)
def RULE(study: Study) -> Iterator[Wrong]:
    table = classes()
    for edge in study.design.circuit.edges:
        if edge.kind != "device" or edge.device.rated_a is None:
            continue
        device, rated_a = edge.device, edge.device.rated_a
        made = table.get(device.device_class)
        series = device.comes_in_a or (made.ratings_a if made else ())
        if not series or any(abs(r - rated_a) <= 1e-9 * r for r in series):
            continue
        below = max((r for r in series if r < rated_a), default=None)
        above = min((r for r in series if r > rated_a), default=None)
        whose = device.part.title if device.comes_in_a and device.part else class_words(device.device_class)
        near = " or ".join(apart(amps, r, rated_a)[0] for r in (below, above) if r is not None)
        nearest = min(series, key=lambda r: abs(r - rated_a))
        mend = f"{near} is made; the appliance's maker and the conductor decide which"
        if above is None:
            mend = f"another make or class: {near} is the largest of this one"
        yield Wrong(
            device,
            f"{device.title} is given {apart(amps, rated_a, nearest)[0]}; {whose} is not made in that rating",
            mend,
            span=device.where("current"),
            cite=made.cite if made and not device.comes_in_a else None,
        )
