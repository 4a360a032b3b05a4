"""What warmth does to a device, by its maker's rerating."""

from __future__ import annotations

from linter.model.elements import Device
from linter.study.curve import share_at
from linter.tables.devices import classes

#: Above this nothing on board stands; where a sheet's line is drawn on so far, the place is not what opens it.
HOTTEST_C = 120.0


def at_c(device: Device, celsius: float) -> float | None:
    """What a device carries at a temperature, A; None where its maker does not say."""
    if device.rated_a is None or not device.carries:
        return None
    return share_at(device, celsius) * device.rated_a


def limit_c(device: Device, amps: float) -> float | None:
    """The temperature in °C at which a device carries just ``amps``, by its maker's rerating."""
    if not device.carries or device.rated_a is None:
        return None
    low, high = min(t for t, _ in device.carries), HOTTEST_C
    if share_at(device, low) * device.rated_a < amps:
        return low
    if share_at(device, high) * device.rated_a >= amps:
        return None
    for _ in range(60):
        middle = (low + high) / 2
        if share_at(device, middle) * device.rated_a >= amps:
            low = middle
        else:
            high = middle
    return high


def opens_by_magnetism(device: Device) -> bool:
    """Whether warmth hardly moves its rating: no sheet says that it does, and its class opens by a magnet alone."""
    return not device.carries and device.device_class == "hydraulic-magnetic" and device.device_class in classes()
