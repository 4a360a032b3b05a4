"""What drives a fault at each point and through each edge of a boat: the figures that `fault.py` has solved."""

from __future__ import annotations

import math
from dataclasses import dataclass, field
from typing import Any

from linter.study.impedance import NIL_OHM, EdgeResistance, SourcePair
from linter.study.net import Block, Decomposition, Net

CLOSED: frozenset[int] = frozenset()
Bends = tuple[tuple[float, float, float], ...]


@dataclass(frozen=True, slots=True)
class Drive:
    """What drives a fault at some point of the core: volts behind ohm, at most ``limit_a``.

    ``sources``: the nodes of its sources.  ``leans_on``: what stands in for a resistance that nobody stated.
    ``unknown``: nothing stands in for it, or a conductor on every way is of unknown size or length: the current is
    worth nothing.  ``opened``: edges of the core that are open in a state in which it is so.
    ``bends``: as one-way elements turn when the voltage of the point rises, from this many volts on it is others behind
    another ohm.
    """

    volts: float
    ohm: float
    limit_a: float
    sources: tuple[int, ...]
    leans_on: tuple[str, ...] = ()
    unknown: bool = False
    opened: frozenset[int] = CLOSED
    bends: Bends = ()

    def current_a(self, more_ohm: float = 0.0, drop_v: float = 0.0) -> float:
        """Into a fault behind ``more_ohm`` and a drop of ``drop_v``."""
        volts, ohm = self.acting(more_ohm, drop_v)
        return min(self.limit_a, max(volts - drop_v, 0.0) / max(ohm + more_ohm, NIL_OHM))

    def acting(self, more_ohm: float = 0.0, drop_v: float = 0.0) -> tuple[float, float]:
        """(volts, ohm) that drive a fault behind ``more_ohm`` and ``drop_v``, as the one-way elements are then."""
        acting = self.volts, self.ohm
        for from_v, volts, ohm in self.bends:
            amps = max(acting[0] - drop_v, 0.0) / max(acting[1] + more_ohm, NIL_OHM)
            if drop_v + amps * more_ohm <= from_v:
                break
            acting = volts, ohm
        return acting


@dataclass(frozen=True, slots=True)
class Point:
    """A node: where in the core its current comes from, and what lies between, there and back.

    ``greatest_ohm`` is in the worst state of the switches of the rings between.  One-way elements in such a ring are as
    a bolted fault at its own node sets them, so behind more resistance a drop in it is some per cent too much.
    """

    core_node: int
    least_ohm: float = 0.0
    greatest_ohm: float = 0.0
    drop_v: float = 0.0


@dataclass(frozen=True, slots=True)
class Prospective:
    """A current in A and what drives it.  ``unknown``: a figure is missing, and without it this is worth nothing."""

    amps: float
    drive: Drive | None = None
    unknown: bool = False

    @property
    def doubtful(self) -> bool:
        return self.unknown or (self.drive is not None and (self.drive.unknown or bool(self.drive.leans_on)))


@dataclass(slots=True)
class Faults:
    """Prospective currents of a design.  Nodes that no current reaches have no point."""

    net: Net
    parts: Decomposition
    edges: list[EdgeResistance]
    # by node of a source: in the largest and in the smallest case
    pairs: dict[int, tuple[SourcePair, SourcePair]]
    points: dict[int, Point] = field(default_factory=dict)
    # by core node: all sources together; where voltages differ, those of higher voltage without those of lower; and
    # each source that does not limit itself alone
    together: dict[int, Drive] = field(default_factory=dict)
    higher: dict[int, tuple[Drive, ...]] = field(default_factory=dict)
    alone: dict[int, tuple[Drive, ...]] = field(default_factory=dict)
    # by device edge inside a block: the most through it on a fault at one of its ends
    inside: dict[int, Prospective] = field(default_factory=dict)
    # the same with the device replaced by a conductor of negligible resistance
    bare: dict[int, Prospective] = field(default_factory=dict)
    # by core node and by device of the core, where some source gives more until its electronics limit it: all together
    peak: dict[int, Drive] = field(default_factory=dict)
    bare_peak: dict[int, Prospective] = field(default_factory=dict)
    # by core node and by device of the core, where the resistance of some source is unknown: those alone of which it is
    # known, which is what flows at least
    told: dict[int, tuple[Drive, ...]] = field(default_factory=dict)
    told_bare: dict[int, Prospective] = field(default_factory=dict)
    remarks: list[str] = field(default_factory=list)
    # by core node: the piece of the core that it is in
    piece_of: dict[int, Block] = field(default_factory=dict)
    # what the clearing of faults has solved already, by what it was asked
    solved: dict[tuple[object, ...], Any] = field(default_factory=dict)

    def largest(self, node: int) -> Prospective:
        """The largest prospective current at a node."""
        point = self.points.get(node)
        drive = self.together.get(point.core_node) if point else None
        if point is None or drive is None:
            return Prospective(0.0)
        best = Prospective(drive.current_a(point.least_ohm, point.drop_v), drive, drive.unknown)
        for other in self.higher.get(point.core_node, ()):
            amps = other.current_a(point.least_ohm, point.drop_v)
            if amps > best.amps:
                best = Prospective(amps, other, drive.unknown)
        return best

    def smallest(self, node: int) -> Prospective | None:
        """The smallest prospective current at a node; None where only sources that limit themselves reach it.

        It is ``unknown`` where the figures of any of its sources are missing, as that one may give less.
        """
        found = self.each_alone(node)
        if not found:
            return None
        least = found[0]
        return Prospective(least.amps, least.drive, any(p.unknown for p in found))

    def each_alone(self, node: int) -> list[Prospective]:
        """The smallest prospective current at a node from each source that does not limit itself, in the worst state of
        the switches for it; the smallest first."""
        point = self.points.get(node)
        if point is None:
            return []
        worst: dict[tuple[int, ...], Prospective] = {}
        for drive in self.alone.get(point.core_node, ()):
            amps = drive.current_a(point.greatest_ohm, point.drop_v)
            before = worst.get(drive.sources)
            if before is None or amps < before.amps:
                unknown = drive.unknown or point.greatest_ohm == math.inf
                worst[drive.sources] = Prospective(amps, drive, unknown)
        return sorted(worst.values(), key=lambda p: p.amps)

    def through(self, edge: int) -> Prospective:
        """The largest current that can flow through a device on a fault right behind it, whichever side that is."""
        known = self.inside.get(edge)
        if known is not None:
            return known
        u, v = self.points.get(self.net.u[edge]), self.points.get(self.net.v[edge])
        if u is None or v is None:
            return Prospective(0.0)
        return self.largest(self.net.v[edge] if v.least_ohm >= u.least_ohm else self.net.u[edge])

    def to_break(self, edge: int) -> Prospective:
        """The prospective current that a device may have to break: as `through`, with the device replaced by a
        conductor of negligible impedance (IEC 60050-441-17-01), and before any electronics have limited a source."""
        lasting, peak = self.bare.get(edge), self.bare_peak.get(edge)
        far = self.parts.leads_to[edge]
        if lasting is None:
            node = self.net.other(edge, far) if far >= 0 else -1
            lasting = self.largest(node) if far >= 0 else self.through(edge)
            point = self.points.get(node)
            drive = self.peak.get(point.core_node) if point is not None else None
            if point is not None and drive is not None:
                peak = Prospective(drive.current_a(point.least_ohm, point.drop_v), drive, drive.unknown)
        return peak if peak is not None and peak.amps > lasting.amps else lasting

    def to_break_at_least(self, edge: int) -> Prospective:
        """As `to_break`, where that is not known: what the sources of known resistance give without the others."""
        known = self.told_bare.get(edge)
        if known is not None:
            return known
        far = self.parts.leads_to[edge]
        return self.largest_told(self.net.other(edge, far)) if far >= 0 else Prospective(0.0)

    def largest_told(self, node: int) -> Prospective:
        """As `largest`, of the sources alone whose resistance is known."""
        found = self.largest(node)
        if not found.unknown:
            return found
        point, best = self.points[node], Prospective(0.0)
        for drive in self.told.get(point.core_node, ()):
            amps = drive.current_a(point.least_ohm, point.drop_v)
            best = Prospective(amps, drive) if amps > best.amps else best
        return best

    def known_sources(self, core_node: int) -> tuple[int, ...]:
        """The sources (nodes) of its piece of the core whose figures are known in the largest case."""
        nodes = self.piece_of[core_node].nodes
        return tuple(n for n in nodes if n in self.pairs and not self.pairs[n][0].unknown)
