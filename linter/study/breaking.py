"""What a device can break, at the voltage of its system, against what it may have to."""

from __future__ import annotations

import math
from dataclasses import dataclass

from linter.model.elements import Backed, Device
from linter.tables.cite import Cite
from linter.tables.devices import classes

MAKER = Cite("the maker's figure", "read", "as the design or part sheet gives it")


@dataclass(frozen=True, slots=True)
class BreakingCapacity:
    """A breaking capacity in A at ``voltage_v`` (None: at a voltage nobody states), and whose word it is."""

    amps: float
    voltage_v: float | None
    cite: Cite
    whose: str


def breaking_capacity(device: Device, system_v: float) -> BreakingCapacity | None:
    """What a device breaks at ``system_v``: its maker's figure at that voltage or the next above, else its class's.

    A figure at a lower voltage says nothing: an arc at the higher one may not go out.  A figure without a voltage is at
    the rated voltage.  None: nobody says.
    """
    if device.breaks:
        stated = [(a, v if v is not None else device.voltage_v or _class_v(device)) for a, v in device.breaks]
        fitting = [(a, v) for a, v in stated if v is None or v >= system_v * (1 - 1e-9)]
        if not fitting:
            return None
        amps, volts = min(fitting, key=lambda pair: (pair[1] if pair[1] is not None else math.inf, -pair[0]))
        return BreakingCapacity(amps, volts, MAKER, "its maker's figure")
    known = classes().get(device.device_class)
    for row in known.breaking if known is not None else ():
        if row.current == "dc" and (row.voltage_v is None or row.voltage_v >= system_v * (1 - 1e-9)):
            return BreakingCapacity(row.amps, row.voltage_v, row.cite, "the figure of its class")
    return None


def _class_v(device: Device) -> float | None:
    known = classes().get(device.device_class)
    return known.rated_voltage_v if known is not None else None


def backs(backed: Backed, before: Device, system_v: float) -> bool:
    """Whether ``before`` is the device behind which the maker states the higher capacity."""
    if backed.voltage_v < system_v * (1 - 1e-9) or before.rated_a is None or before.rated_a > backed.rating_a:
        return False
    return all(
        not asked or asked == found
        for asked, found in (
            (backed.device_kind, before.kind), (backed.device_class, before.device_class),
            (backed.speed, before.speed),
        )
    )  # fmt: skip
