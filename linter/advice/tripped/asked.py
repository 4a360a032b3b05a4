"""What the makers of the loads behind a device ask of it."""

from __future__ import annotations

from dataclasses import dataclass

from linter.model.elements import Asks, Device, Load
from linter.rules.words import upstream, wording
from linter.study.study import Study


@dataclass(frozen=True, slots=True)
class Asked:
    """A load whose nearest device this is, and the ratings in A that its maker asks for, least to greatest, of devices
    of this kind and class: empty where every one asked for is of another kind, or none has a rating."""

    load: Load
    words: str
    ranges: tuple[tuple[float, float], ...]

    @property
    def greatest_a(self) -> float | None:
        return max((high for _, high in self.ranges), default=None)

    @property
    def least_a(self) -> float | None:
        return min((low for low, _ in self.ranges), default=None)

    def allows(self, rating_a: float) -> bool:
        return any(low / (1 + 1e-9) <= rating_a <= high * (1 + 1e-9) for low, high in self.ranges)


def asked_of(study: Study, device: Device) -> list[Asked]:
    """Linear in the loads that ask for a device."""
    circuit = study.design.circuit
    found = []
    for node in circuit.nodes:
        load = node.load
        asks = [a for a in load.asks if a.cable is None] if load is not None else []
        if load is None or not asks:
            continue
        if any(circuit.edges[e].device is device for e in upstream(study, node.index).devices):
            ranges = tuple(a.rating_a for a in asks if a.rating_a is not None and _fits(device, a))
            found.append(Asked(load, " or ".join(wording(a) for a in asks), ranges))
    return found


def _fits(device: Device, ask: Asks) -> bool:
    return (
        ask.device_kind in ("", device.kind)
        and ask.device_class in ("", device.device_class)
        and ask.speed in ("", device.speed)
    )
