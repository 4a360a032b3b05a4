"""Readings that cannot both be so: told as such, and not both counted.

Neither is, until it is known which is wrong; but of a short the reading counts, as to take it for none is dangerous.

What ties two readings together is where they were read: what is in one row carries one current; what hangs from a
conductor takes no more than comes by it; voltage only falls from a source to a load; a short draws its current whatever
else is on.  How far apart two readings must be stands in the table (common practice).
"""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace

from linter.advice.tripped.figures import Circuit
from linter.advice.tripped.measured import Heard, value_words
from linter.advice.tripped.reading import Reading
from linter.advice.tripped.seen import Seen
from linter.advice.tripped.table import Verdict, table
from linter.rules.words import amps

#: What speaks of a short or of damage: to take it for none is dangerous.
GRAVE = frozenset({"resistance-run-short", "resistance-run-leaks", "resistance-short", "current-fault"})


@dataclass(frozen=True, slots=True)
class Conflict:
    """Two readings, by their place among all, that cannot both be so, and why.  ``kept``: the one that counts all the
    same, as it speaks of a short or of damage; -1: none does."""

    one: int
    other: int
    says: str
    kept: int = -1


@dataclass(frozen=True, slots=True)
class At:
    """Where a reading was made.  ``row``: the edges that carry the current read there; ``node``: the point whose
    voltage it is; -1 and empty where it is neither."""

    name: str
    row: frozenset[int] = frozenset()
    node: int = -1


def conflicts(circuit: Circuit, told: Sequence[Heard], when: str) -> list[Conflict]:
    """All pairs of readings that cannot both be so, of those that can be so by themselves."""
    found = []
    places = [_at(circuit.seen, one.reading) for one in told]
    for i, one in enumerate(told):
        for j in range(i + 1, len(told)):
            other = told[j]
            if any(h.verdict.startswith("cannot-be") for h in (one, other)):
                continue
            for first, second in ((i, j), (j, i)):
                says = next(_against(circuit, when, (told[first], places[first]), (told[second], places[second])), "")
                if says:
                    grave = [n for n in (i, j) if told[n].verdict in GRAVE]
                    found.append(Conflict(i, j, says, grave[0] if len(grave) == 1 else -1))
                    break
    return found


def without_conflicts(told: Sequence[Heard], found: Sequence[Conflict]) -> list[Heard]:
    """The readings, with no weight where another contradicts them."""
    doubted = {n for c in found for n in (c.one, c.other) if n != c.kept}
    return [
        replace(h, says=f"{h.says} (not counted: contradicted below)", weighs=Verdict(h.weighs.says, {}))
        if n in doubted and h.counted else h
        for n, h in enumerate(told)
    ]  # fmt: skip


Placed = tuple[Heard, At]


def _against(circuit: Circuit, when: str, one: Placed, other: Placed) -> Iterator[str]:
    """Why the second cannot be so if the first is."""
    kinds = one[0].reading.kind, other[0].reading.kind
    if kinds == ("current", "current"):
        yield from _currents(circuit.seen, when, one, other)
    elif kinds == ("voltage", "voltage"):
        yield from _voltages(circuit.seen, one, other)
    elif kinds == ("temperature", "temperature"):
        yield from _temperatures(circuit.seen, one, other)
    elif kinds == ("resistance", "resistance"):
        yield from _resistances(one, other)
    elif kinds == ("resistance", "current"):
        yield from _short_and_current(circuit.seen, one, other)


def _says(row: str, one: Placed, other: Placed, **more: str) -> str:
    words = {"one": value_words(one[0].reading), "at": one[1].name, "other": value_words(other[0].reading)}
    return table().conflicts[row].format_map(words | {"there": other[1].name} | more)


def _currents(seen: Seen, when: str, one: Placed, other: Placed) -> Iterator[str]:
    """In one row there is one current; what hangs from a row takes no more than comes by it."""
    meter = table().meter
    (a, at), (b, there) = one, other
    first, second = abs(a.reading.value), abs(b.reading.value)
    more = (
        second * (1 - meter["clamp_share"]) - meter["clamp_a"] > first * (1 + meter["clamp_share"]) + meter["clamp_a"]
    )
    if not more or _moments(seen, when, first, b):
        return
    if at.row & there.row:
        yield _says("same-place" if at.name == there.name else "one-row", one, other)
    elif any(_feeds_alone(seen, upper, lower) for upper in at.row for lower in there.row):
        yield _says("more-behind", one, other)


def _moments(seen: Seen, when: str, less: float, more: Heard) -> bool:
    """Whether the two may well be of different moments: one as a load starts or is locked, the other while it runs."""
    share, value = table().meter["clamp_share"], abs(more.reading.value)
    fits = any(abs(value - s.amps) <= share * s.amps for _, s in seen.starts)
    fits = fits or more.verdict.startswith(("current-start", "current-locked"))
    running = seen.steady is not None and less <= seen.steady.steady_a * (1 + share)
    return running and (fits or (when == "starting" and bool(seen.starts)))


def _voltages(seen: Seen, one: Placed, other: Placed) -> Iterator[str]:
    """Voltage falls on its way from the sources.  What is read across a device tells of its state at a moment."""
    (a, at), (b, there) = one, other
    share = table().meter["volts_share"]
    first, second = abs(a.reading.value), abs(b.reading.value)
    if at.node < 0 or there.node < 0 or second * (1 - share) <= first * (1 + share):
        return
    if first < table().meter["none_v"]:
        # it was open then, and closed at another moment
        return
    if at.node == there.node:
        yield _says("same-place", one, other)
    elif at.node in _above(seen, there.node):
        yield _says("volts-rise", one, other)


def _temperatures(seen: Seen, one: Placed, other: Placed) -> Iterator[str]:
    """A device is no colder than the place where it stands; one thing has one temperature."""
    (a, at), (b, there) = one, other
    colder = table().meter["colder_k"]
    if b.reading.value - a.reading.value <= colder:
        return
    if at.name == there.name:
        yield _says("same-place", one, other)
    elif seen.device.place is not None and (at.name, there.name) == (seen.device.name, seen.device.place.name):
        yield _says("colder", one, other)


def _resistances(one: Placed, other: Placed) -> Iterator[str]:
    """With the load connected beside it a run shows no more than without.  What a device itself shows tells of its
    state at a moment."""
    meter = table().meter
    (a, at), (b, there) = one, other
    low, high = a.reading.value, b.reading.value
    if {a.verdict, b.verdict} & {"resistance-closed", "resistance-device-open"}:
        return
    if high * (1 - meter["ohm_share"]) <= low * (1 + meter["ohm_share"]) + meter["leads_ohm"]:
        return
    if at.name == there.name and a.reading.free == b.reading.free:
        yield _says("same-place", one, other)
    elif a.reading.free and not b.reading.free:
        yield _says("run-and-load", one, other)


def _short_and_current(seen: Seen, one: Placed, other: Placed) -> Iterator[str]:
    """A short draws its current whatever else is on."""
    (a, _), (b, there) = one, other
    system = seen.study.design.circuit.nodes[seen.far].system
    if a.verdict not in {"resistance-run-short", "resistance-short"} or system is None or not system.voltage_v:
        return
    if seen.edge.index not in there.row:
        return
    short_a = math.inf if not a.reading.value else system.voltage_v / a.reading.value
    if seen.near_fault is not None and not seen.near_fault.unknown:
        short_a = min(short_a, seen.near_fault.largest_a)
    if abs(b.reading.value) < table().meter["short_share"] * short_a:
        drawn = "thousands of amperes" if short_a == math.inf else amps(short_a)
        yield _says("short-and-current", one, other, short_a=drawn)


# ---- where -----------------------------------------------------------------------------------------------------------


def _at(seen: Seen, reading: Reading) -> At:
    """The conductors and the point that a reading is of."""
    name = reading.name or seen.device.name
    circuit = seen.study.design.circuit
    if name in seen.study.design.places and name not in seen.study.design.elements:
        return At(name)
    node = circuit.by_name.get(name) or circuit.by_name.get(f"{name}.in")
    if node is not None:
        # what flows at a load or a bus is what comes to it
        by = _bridge_to(seen, node.index)
        row = _row(seen, by) if by >= 0 and node.load is not None else frozenset()
        return At(name, row, node.index)
    edge = seen.edge if name == seen.device.name else circuit.edge_of.get(name)
    return At(name, _row(seen, edge.index) if edge is not None else frozenset())


def _row(seen: Seen, edge: int) -> frozenset[int]:
    """The edges in one row with an edge, nothing branching between: they carry one current."""
    nodes, edges = seen.study.design.circuit.nodes, seen.study.design.circuit.edges
    found = {edge}
    for start in (edges[edge].u, edges[edge].v):
        node, came = start, edge
        while len(nodes[node].edges) == 2 and nodes[node].load is None and nodes[node].source is None:
            came = next(i for i in nodes[node].edges if i != came)
            if came in found:
                break
            found.add(came)
            node = edges[came].v if edges[came].u == node else edges[came].u
    return frozenset(found)


def _bridge_to(seen: Seen, node: int) -> int:
    """The one edge by which a node is fed; -1 where there are several, or none."""
    parts = seen.study.parts
    return next((e for e in seen.study.design.circuit.nodes[node].edges if parts.leads_to[e] == node), -1)


def _above(seen: Seen, node: int) -> list[int]:
    """The nodes by which a node is fed, the nearest first, as long as there is one way and no source behind it."""
    nodes, net = seen.study.design.circuit.nodes, seen.study.net
    found: list[int] = []
    while nodes[node].source is None and (edge := _bridge_to(seen, node)) >= 0:
        node = net.other(edge, node)
        if node in found:
            break
        found.append(node)
    return found


def _feeds_alone(seen: Seen, upper: int, lower: int) -> bool:
    """Whether all that flows by one edge comes by another, with no source between or behind."""
    parts = seen.study.parts
    head, tail = parts.leads_to[upper], parts.leads_to[lower]
    return head >= 0 and tail >= 0 and upper != lower and (head in _above(seen, tail))


__all__ = ["Conflict", "conflicts", "without_conflicts"]
