"""Which device a person means: what is named must be a fuse or breaker that stands in the circuit."""

from __future__ import annotations

import difflib
from collections.abc import Iterable

from linter.model.circuit import Edge
from linter.model.design import Design
from linter.model.elements import Conductor, Device
from linter.rules.words import article, upstream
from linter.study.study import Study, study_of

#: So many names are offered; of a boat's hundred devices nobody reads all.
MOST_OFFERED = 8
MOST_NEAR = 3
LONGEST = 60


class NotADevice(ValueError):
    """What was named is no fuse or breaker that stands in a circuit, or it stands on alternating current; the message
    says what to do."""


def device_of(design: Design, name: str) -> tuple[Device, Edge]:
    """The device and where it stands.  Raises NotADevice."""
    asked = name.strip()
    element = design.elements.get(asked)
    edge = design.circuit.edge_of.get(asked)
    if isinstance(element, Device) and edge is not None:
        _direct(design, element, edge)
        return element, edge
    devices = [e for e in design.elements.values() if isinstance(e, Device)]
    if not devices:
        raise NotADevice(f"{design.boat or design.path} has no fuse and no breaker, so none has opened")
    wanted = "what opens is a fuse or a breaker"
    if not asked:
        raise NotADevice(f"no device is named; {wanted}: {_some(devices)}")
    if element is not None:
        what = f"{asked} is {article(element.kind)}"
        guards = _before(study_of(design), asked, isinstance(element, Conductor))
        near = [d for d in devices if d.name in guards]
        offer = f"before it {'stands' if len(near) == 1 else 'stand'} {_some(near)}" if near else _some(devices)
        raise NotADevice(f"{what}, and {wanted}{';' if near else ':'} {offer}")
    sorts = (("a place", design.places), ("a part sheet", design.parts), ("a system", design.systems))
    sort = next((word for word, known in sorts if asked in known), "")
    shown = asked if len(asked) <= LONGEST else f"{asked[:LONGEST]}…"
    what = f"{shown} is {sort}" if sort else f"there is no {shown} on {design.boat or 'board'}"
    near = _near(asked, devices)
    if near and not sort:
        meant = " or ".join(d.title for d in near)
        raise NotADevice(f"{what}; did you mean {meant}? Name a fuse or breaker of the design")
    raise NotADevice(f"{what}; {wanted}: {_some(devices)}")


def _direct(design: Design, device: Device, edge: Edge) -> None:
    """Of alternating current nothing is reckoned, and what would have to be measured is not for a meter in any hand.
    Raises NotADevice."""
    nodes = design.circuit.nodes
    system = nodes[edge.v].system or nodes[edge.u].system
    if system is None or not system.alternating:
        return
    volts = f" of {system.voltage_v:g} V" if system.voltage_v else ""
    raise NotADevice(
        f"{device.name} stands on {system.name}, alternating current{volts}; no currents and no faults of it are "
        "reckoned here, and residual-current devices, neutrals and motors on it open for reasons of their own, so no "
        "cause is told. It can kill: leave it open, pull the shore plug, stop the generator and switch the inverter "
        "off; write down which device opened, when, what ran, and whether it rained or was hosed; and have an "
        "electrician who is qualified for it find the cause"
    )


def _some(devices: list[Device]) -> str:
    shown = ", ".join(d.name for d in devices[:MOST_OFFERED])
    return shown + (f" and {len(devices) - MOST_OFFERED} more" if len(devices) > MOST_OFFERED else "")


def _near(asked: str, devices: list[Device]) -> list[Device]:
    """Devices whose name, or whose label, is like what was asked, the likest first."""
    word = asked[:LONGEST].casefold()
    by_label = [d for d in devices if d.label and word in d.label.casefold()]
    names = {d.name.casefold(): d for d in devices}
    likest = [names[n] for n in _alike(word, names)]
    labels = {d.label.casefold(): d for d in devices if d.label}
    alike = [labels[n] for n in _alike(word, labels)]
    exact = [names[word]] if word in names else []
    found = exact or list(dict.fromkeys([*by_label, *likest, *alike]))
    return found[:MOST_NEAR]


def _alike(word: str, pool: Iterable[str]) -> list[str]:
    return difflib.get_close_matches(word, list(pool), n=MOST_NEAR, cutoff=0.6)


def _before(study: Study, name: str, conductor: bool) -> set[str]:
    """The devices that stand before an element, towards the sources."""
    if conductor:
        made = study.conductors.get(name)
        return set(made.guard) if made is not None else set()
    circuit = study.design.circuit
    node = circuit.by_name.get(name)
    if node is None:
        edge = circuit.edge_of.get(name)
        if edge is None:
            return set()
        ends = (edge.u, edge.v)
    else:
        ends = (node.index, node.index)
    return {circuit.edges[e].device.name for n in ends for e in upstream(study, n).devices}


__all__ = ["NotADevice", "device_of"]
