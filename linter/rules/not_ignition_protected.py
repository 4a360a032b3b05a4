"""What can spark is ignition protected wherever petrol vapour may gather."""

from __future__ import annotations

from collections.abc import Iterator

from linter.rules.finding import Severity
from linter.rules.registry import Wrong, rule
from linter.rules.words import article
from linter.study.study import Study


@rule(
    "not-ignition-protected",
    Severity.DANGER,
    demand="What can spark is ignition protected wherever petrol vapour may gather.",
    reason="A switch, a fuse, a brush or a relay sparks when it works; in petrol vapour one spark is enough.",
    clause="33 CFR 183.410",
    status="second-hand",
    mend="Fit an ignition-protected one, or move it out of the space.",
    measure=(
        "Read the mark on the device itself (ignition protected, with the standard that it was tested to); "
        "go through the space and note all that opens a circuit, brushes of motors included."
    ),
    bad="""
place engine-box, engine space, petrol vapour
place helm
from B
cable W1, 50 mm2, 0.15 m
fuse F1, part main, 150 A, in helm
cable W2, 50 mm2, 1 m
bus POS, 250 A
from POS
fuse F3, part branch, 15 A, in helm
cable W3, 2.5 mm2, 3 m
load BLOWER, draws 6 A, in engine-box
""",
    good="""
place engine-box, engine space, petrol vapour
place helm
from B
cable W1, 50 mm2, 0.15 m
fuse F1, part main, 150 A, in helm
cable W2, 50 mm2, 1 m
bus POS, 250 A
from POS
fuse F3, part branch, 15 A, in helm
cable W3, 2.5 mm2, 3 m
load BLOWER, draws 6 A, in engine-box, ignition protected
""",
    whole=False,
)
def RULE(study: Study) -> Iterator[Wrong]:
    for element in study.design.elements.values():
        place = element.place
        if place is None or not place.petrol_vapour or element.kind in HARMLESS or element.ignition_protected:
            continue
        yield Wrong(
            element,
            f"{element.title}, {article(element.kind)}, is in {place.name}, where petrol vapour may gather, and is "
            "not said to be ignition protected",
            "fit an ignition-protected one and say so, or move it out of that space",
            span=element.where("place"),
        )


# They do not spark in use. A battery's own rules (vented box, covered terminals) are not ours.
HARMLESS = frozenset({"cable", "bus", "joint", "battery"})
