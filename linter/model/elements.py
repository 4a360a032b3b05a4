"""What is on board.  Every element keeps the statement it came from, so that everything said of it has a place.

Units are in the names: _a ampere, _v volt, _w watt, _ohm, _m metre, _c degree Celsius, _s second, _ah ampere-hour.
A figure that nobody gave is None; it is never replaced by a guess here.
"""

from __future__ import annotations

import math
from dataclasses import dataclass, field
from typing import Any

from linter.source.span import Span
from linter.source.statements import Fact, SourceFile, Statement
from linter.source.units import Quantity

UNLIMITED = math.inf


@dataclass(slots=True, eq=False)
class Named:
    """Anything with a name, a place in a text, and facts."""

    name: str
    label: str
    statement: Statement
    source: SourceFile
    facts: dict[str, Fact]

    @property
    def span(self) -> Span:
        """From the name to the end of the statement's first line would be too much: the name itself."""
        token = self.statement.name or self.statement.extra
        if token is not None:
            return Span(self.source.text, token.start, token.end)
        return Span(self.source.text, self.statement.start, self.statement.start + len(self.statement.kind))

    @property
    def title(self) -> str:
        """Name and label, as one speaks of it."""
        return f"{self.name} ({self.label})" if self.label else self.name


@dataclass(slots=True, eq=False)
class System(Named):
    """A system of one nominal voltage and kind of current."""

    voltage_v: float | None = None
    alternating: bool = False
    greatest_v: float | None = None
    least_v: float | None = None
    earthing: str = ""


@dataclass(slots=True, eq=False)
class Place(Named):
    ambient_c: float | None = None
    engine_space: bool = False
    petrol_vapour: bool = False


@dataclass(slots=True, eq=False)
class Part(Named):
    """A part sheet: what a maker says of a thing of the kind ``part_of``."""

    part_of: str = ""


@dataclass(slots=True, eq=False)
class Element(Named):
    kind: str = ""
    place: Place | None = None
    part: Part | None = None
    # the system named by `on`; where none is named the circuit tells
    on: System | None = None
    ignition_protected: bool = False

    def where(self, *keys: str) -> Span:
        """Where the element's own statement says the first of these, else its name: there one mends it."""
        for key in keys:
            fact = self.facts.get(key)
            if fact is not None:
                return Span(self.source.text, fact.start, fact.end)
        return self.span

    def stated(self, *keys: str) -> Span:
        """Where the first of these is said at all: on the element, else in its part sheet, else its name."""
        if self.part is not None and not any(k in self.facts for k in keys):
            for key in keys:
                fact = self.part.facts.get(key)
                if fact is not None:
                    return Span(self.part.source.text, fact.start, fact.end)
        return self.where(*keys)

    def says(self) -> str:
        """Where the maker says it: the page of the manual, from the part sheet or the element."""
        for owner in (self, self.part):
            if owner is not None and "says" in owner.facts:
                return str(owner.facts["says"].values[0])
        return ""


@dataclass(slots=True, eq=False)
class Source(Element):
    """A battery, alternator, charger, solar array, or the output of a converter or inverter-charger."""

    voltage_v: float | None = None
    greatest_v: float | None = None
    rated_a: float | None = None
    # the most it can give into a fault; UNLIMITED unless its maker says it limits itself
    limit_a: float = UNLIMITED
    resistance_ohm: tuple[float, float] | None = None
    short_circuit_a: float | None = None
    cranking_a: float | None = None
    charge_ah: float | None = None
    chemistry: str = ""
    series: int = 1
    parallel: int = 1

    @property
    def is_battery(self) -> bool:
        return self.kind == "battery"

    @property
    def self_limiting(self) -> bool:
        return self.limit_a < UNLIMITED


@dataclass(slots=True, eq=False)
class Asks:
    """What a maker asks for: a device (kind, class, speed, rating from-to) or a least cable size."""

    fact: Fact
    owner: Named
    device_kind: str = ""
    device_class: str = ""
    speed: str = ""
    rating_a: tuple[float, float] | None = None
    cable: Quantity | None = None


@dataclass(slots=True, eq=False)
class Load(Element):
    """Anything that uses current, a converter's and inverter's input side included."""

    draws_a: float | None = None
    draws_w: float | None = None
    voltage_v: float | None = None
    voltage_range_v: tuple[float, float] | None = None
    starts_a: float | None = None
    starts_s: float | None = None
    works_from_v: float | None = None
    continuous: bool = False
    vital: bool = False
    always_on: bool = False
    cranking: bool = False
    runs_s_a_day: float | None = None
    sort: str = ""
    asks: list[Asks] = field(default_factory=list)


@dataclass(slots=True, eq=False)
class Converter(Load):
    """Its input is a load on one system, its output (``output``) a source on another."""

    output: Source | None = None
    efficiency: float | None = None


@dataclass(slots=True, eq=False)
class Bus(Element):
    """A bus bar, or a joint (a stud, splice or terminal), which has no rating."""

    rated_a: float | None = None
    voltage_v: float | None = None


@dataclass(frozen=True, slots=True)
class Backed:
    """What a device breaks, in A at V, where a device of this kind, class and at most this rating stands before it."""

    current_a: float
    voltage_v: float
    device_kind: str
    device_class: str
    speed: str
    rating_a: float


@dataclass(slots=True, eq=False)
class Device(Element):
    """A fuse or breaker."""

    device_class: str = ""
    speed: str = ""
    rated_a: float | None = None
    voltage_v: float | None = None
    # (breaking capacity in A, at V or None)
    breaks: list[tuple[float, float | None]] = field(default_factory=list)
    holder_a: float | None = None
    comes_in_a: tuple[float, ...] = ()
    curve: str = ""
    # maker's own points: (multiple of the rating, least s, greatest s)
    opens: list[tuple[float, float, float]] = field(default_factory=list)
    automatic_reset: bool = False
    resistance_ohm: tuple[float, float] | None = None
    backed: list[Backed] = field(default_factory=list)
    # the most that it lets through while it opens: (A²s, prospective current in A up to which, or None)
    lets_through: list[tuple[float, float | None]] = field(default_factory=list)
    # maker's rerating: (surrounding temperature in °C, share of the rated current that it carries there)
    carries: list[tuple[float, float]] = field(default_factory=list)


@dataclass(slots=True, eq=False)
class Conductor(Element):
    size: Quantity | None = None
    length_m: float | None = None
    insulation_c: float | None = None
    stranding: int | None = None
    tinned: bool | None = None
    covering: tuple[str, ...] = ()
    # (metres or None for all of it, place)
    route: list[tuple[float | None, Place]] = field(default_factory=list)
    bundle: int = 1
    colour: str = ""
    return_m: float | None = None
    return_size: Quantity | None = None
    cranking: bool = False

    @property
    def area_mm2(self) -> float | None:
        return self.size.value if self.size is not None else None

    @property
    def covered(self) -> bool:
        return bool(self.covering)


@dataclass(slots=True, eq=False)
class Switch(Element):
    """A switch, a relay or a selector."""

    rated_a: float | None = None
    voltage_v: float | None = None
    normally_open: bool = False
    combining: bool = False
    # a selector's positions but `off`; each lets current through the terminals it names
    positions: tuple[str, ...] = ()
    resistance_ohm: tuple[float, float] | None = None


@dataclass(slots=True, eq=False)
class Diode(Element):
    rated_a: float | None = None
    voltage_v: float | None = None
    drops_v: float | None = None


@dataclass(slots=True, eq=False)
class Scene:
    """What is on, open, closed or in which position at one time."""

    title: str
    span: Span
    on: list[Element] = field(default_factory=list)
    # element -> "off", "open", "closed", or a selector's position
    states: dict[str, str] = field(default_factory=dict)
    duration_s: float | None = None


@dataclass(slots=True, eq=False)
class Accepted:
    """A finding somebody accepts: which rule at which element, why, who, until when."""

    rule: str
    subject: str
    reason: str
    by: str
    until: str
    span: Span


def values_of(fact: Fact | None) -> tuple[Any, ...]:
    return fact.values if fact is not None else ()
