"""A load stands on a system of its own voltage."""

from __future__ import annotations

from collections.abc import Iterator

from linter.model.systems import NEAR
from linter.rules.finding import Severity
from linter.rules.registry import Wrong, rule
from linter.study.study import Study


@rule(
    "wrong-voltage",
    Severity.FAULT,
    demand="A load stands on a system of its own voltage.",
    reason=("On too high a voltage it burns; on too low a one it draws more, or does not work when it is needed."),
    clause="the maker's manual",
    status="common practice",
    mend="Move it to the right system, or feed it by a converter.",
    measure="Measure the voltage at the load's terminals and read its rating plate.",
    bad="""
from B
cable W1, 50 mm2, 0.15 m
fuse F1, part main, 150 A
cable W2, 50 mm2, 1 m
bus POS, 250 A
from POS
fuse F3, part branch, 5 A
cable W3, 1.5 mm2, 3 m
load LAMP, 24 V, draws 1 A
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
load LAMP, 9 V to 32 V, draws 1 A
""",
)
def RULE(study: Study) -> Iterator[Wrong]:
    for node in study.design.circuit.nodes:
        load, system = node.load, node.system
        if load is None or system is None or not system.voltage_v:
            continue
        nominal = system.voltage_v
        if load.on is not None and load.on is not system:
            message = f"{load.title} is meant for system {load.on.name} and stands on system {system.name}"
            yield Wrong(load, message, f"feed it from {load.on.name}", span=load.where("on"))
        elif load.voltage_range_v is not None:
            least, greatest = load.voltage_range_v
            if not least <= nominal <= greatest:
                message = f"{load.title} takes {least:g} V to {greatest:g} V and stands on a system of {nominal:g} V"
                yield Wrong(load, message, MEND, span=load.where("voltage range"))
        elif load.voltage_v is not None and abs(load.voltage_v - nominal) > NEAR * nominal:
            message = f"{load.title} is made for {load.voltage_v:g} V and stands on a system of {nominal:g} V"
            yield Wrong(load, message, MEND, span=load.where("voltage", "voltage range"))


MEND = "feed it from a system of its own voltage, or by a converter"
