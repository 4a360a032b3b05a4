"""What a meter cannot show: more current than the sources drive, more volts than they reach, heat that leaves nothing.

The bounds are the model's; how far beyond them a reading still passes stands in the table (common practice).
"""

from __future__ import annotations

from collections.abc import Iterator

from linter.advice.tripped.seen import Seen
from linter.advice.tripped.table import table
from linter.model.elements import System
from linter.rules.words import kiloamps, names

Words = dict[str, str]


def cannot_be(seen: Seen, kind: str, value: float, name: str, at_device: bool, of_place: bool) -> tuple[str, Words]:
    """(the verdict of the table, its words) for a reading of a ``kind`` in its unit; the verdict is empty where it can
    be.  ``name``: where it was read, nothing for the device; ``at_device``: in its own current."""
    if kind == "current":
        most_a = _most_a(seen, at_device)
        if most_a is not None and abs(value) > most_a * table().cannot["current_share"]:
            return "cannot-be-current", {"most": kiloamps(most_a)}
    if kind == "voltage":
        found = greatest_v(seen, system_of(seen, name))
        if found is not None and abs(value) > found[0] * table().cannot["volts_share"]:
            return "cannot-be-voltage", {"most": f"{found[0]:.4g} V", "whose": found[1]}
    if kind == "temperature":
        most_c = table().cannot["place_c" if of_place else "device_c"]
        if value > most_c:
            return "cannot-be-hot", {"most": f"{most_c:g} °C"}
        if value < table().cannot["coldest_c"]:
            return "cannot-be-cold", {"most": f"{table().cannot['coldest_c']:g} °C"}
    return "", {}


def _most_a(seen: Seen, at_device: bool) -> float | None:
    """The largest prospective current through the device, or anywhere on board; None where it is not told."""
    faults = seen.study.faults()
    if at_device:
        through = faults.through(seen.edge.index)
        return through.amps if through.amps > 0 and not through.unknown else None
    found = [faults.largest(node) for node in faults.points]
    return max((f.amps for f in found), default=None) if not any(f.unknown for f in found) else None


def system_of(seen: Seen, name: str) -> System | None:
    """The system on which an element stands; of none named the device's."""
    circuit = seen.study.design.circuit
    if not name or name == seen.device.name:
        return circuit.nodes[seen.near].system or circuit.nodes[seen.far].system
    # by the name of a converter its input is meant
    node = circuit.by_name.get(name) or circuit.by_name.get(f"{name}.in")
    if node is not None:
        return node.system
    edge = circuit.edge_of.get(name)
    return circuit.nodes[edge.u].system or circuit.nodes[edge.v].system if edge is not None else None


def greatest_v(seen: Seen, system: System | None) -> tuple[float, str] | None:
    """The greatest voltage of a system and whose it is: as it and its sources say, else (common practice) the table's
    share of its nominal voltage."""
    if system is None:
        return None
    said = list(_said(seen, system))
    untold = any(volts is None for volts, _ in said)
    known = [(volts, name) for volts, name in said if volts is not None]
    if system.greatest_v is not None:
        known.append((system.greatest_v, system.name))
        untold = False
    if (untold or not known) and system.voltage_v:
        share = table().cannot["greatest_ac_share" if system.alternating else "greatest_share"]
        whose = f"a {'source' if system.alternating else 'charger'} of {system.voltage_v:g} V ({table().status})"
        known.append((system.voltage_v * share, whose))
    if not known:
        return None
    most_v = max(volts for volts, _ in known)
    return most_v, names([name for volts, name in known if volts == most_v])


def _said(seen: Seen, system: System) -> Iterator[tuple[float | None, str]]:
    for node in seen.study.design.circuit.nodes:
        if node.source is not None and node.system is system and (not node.source.is_battery or node.source.greatest_v):
            yield node.source.greatest_v, node.source.name


__all__ = ["cannot_be", "greatest_v", "system_of"]
