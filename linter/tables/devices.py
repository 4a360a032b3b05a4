"""Protective device classes: the bands of time and current their standards allow.

A maker's own curve, transcribed in a part sheet, takes the place of a class's gates.
"""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass
from functools import cache
from types import MappingProxyType
from typing import Literal, TypeVar, get_args

from linter.tables.cite import Cite
from linter.tables.reading import CITE_KEYS, Node, shipped

DeviceKind = Literal["fuse", "breaker"]
CurrentKind = Literal["dc", "ac"]
_Row = TypeVar("_Row")


@dataclass(frozen=True, slots=True)
class Gate:
    """At `multiple` times its rating a device opens no sooner than `least_s` and no later than `greatest_s`.

    None for `least_s`: nothing is promised; for `greatest_s`: it may never open. The row holds for ratings
    over `over_a` (0: all) up to `up_to_a` (None: no end), in amperes.
    """

    multiple: float
    least_s: float | None
    greatest_s: float | None
    over_a: float
    up_to_a: float | None
    cite: Cite

    def holds_for(self, rating_a: float) -> bool:
        return _holds(rating_a, self.over_a, self.up_to_a)


@dataclass(frozen=True, slots=True)
class Breaking:
    """A class's breaking capacity in amperes; `voltage_v` None where the source gives none."""

    current: CurrentKind
    amps: float
    voltage_v: float | None
    cite: Cite


@dataclass(frozen=True, slots=True)
class Trip:
    """An instantaneous release: not at once below `least_multiple`, at once from `greatest_multiple`.

    "At once" is within `boundary_s`.
    """

    letter: str
    current: CurrentKind
    least_multiple: float
    greatest_multiple: float
    boundary_s: float
    boundary_cite: Cite
    cite: Cite


@dataclass(frozen=True, slots=True)
class LetThroughLimit:
    """The greatest I²t in A²s that a current-limiting device lets through.

    `cite.source` says at what prospective current.
    """

    over_a: float
    up_to_a: float | None
    a2s: float
    cite: Cite


@dataclass(frozen=True, slots=True)
class DeviceClass:
    """A class of protective device. Empty tuples and None: no public standard states it."""

    name: str
    kind: DeviceKind
    title: str
    ratings_a: tuple[float, ...]
    rated_voltage_v: float | None
    breaking: tuple[Breaking, ...]
    gates: tuple[Gate, ...]
    trips: tuple[Trip, ...]
    let_through: tuple[LetThroughLimit, ...]
    cite: Cite

    def gates_for(self, rating_a: float) -> tuple[Gate, ...]:
        """The gates that hold for a device of this rating, by rising multiple; empty when none is known."""
        return tuple(gate for gate in self.gates if gate.holds_for(rating_a))

    def trip(self, letter: str, current: CurrentKind) -> Trip | None:
        return next((row for row in self.trips if (row.letter, row.current) == (letter, current)), None)

    def let_through_a2s(self, rating_a: float) -> LetThroughLimit | None:
        return next((row for row in self.let_through if _holds(rating_a, row.over_a, row.up_to_a)), None)


@dataclass(frozen=True, slots=True)
class StandardRatings:
    """The standard ratings in amperes, rising: of breakers and of fuses (which have some small ones more)."""

    breakers_a: tuple[float, ...]
    fuses_a: tuple[float, ...]
    cite: Cite


@dataclass(frozen=True, slots=True)
class OverloadCondition:
    """A device's conventional operating current is at most `operating_multiple` times the capacity."""

    operating_multiple: float
    cite: Cite


def _holds(rating_a: float, over_a: float, up_to_a: float | None) -> bool:
    return over_a < rating_a and (up_to_a is None or rating_a <= up_to_a)


@cache
def _file() -> Node:
    return shipped("devices.toml")


@cache
def standard_ratings() -> StandardRatings:
    """The standard ampere ratings of NEC 240.6(A), to 600 A."""
    node = _file().table("standard_ratings")
    common = node.rising("amps")
    return StandardRatings(common, tuple(sorted((*node.numbers("fuses_also"), *common))), node.cite())


def next_standard_above(amps: float, kind: DeviceKind | None = None) -> float | None:
    """The least standard rating greater than `amps`, or None past the end of the list.

    Without `kind`, of those that fuses and breakers have in common. Raises ValueError for nan.
    """
    if math.isnan(amps):
        raise ValueError("no standard rating is above nan")
    return next((rating for rating in _ratings(kind) if rating > amps), None)


def is_standard(amps: float, kind: DeviceKind | None = None) -> bool:
    """Whether `amps` is a standard rating."""
    return any(math.isclose(rating, amps) for rating in _ratings(kind))


def _ratings(kind: DeviceKind | None) -> tuple[float, ...]:
    return standard_ratings().fuses_a if kind == "fuse" else standard_ratings().breakers_a


@cache
def overload_condition() -> OverloadCondition:
    """The condition of IEC 60364-4-43, 433.1 on a device's conventional operating current."""
    node = _file().table("overload")
    return OverloadCondition(node.number("operating_multiple"), node.cite())


@cache
def classes() -> Mapping[str, DeviceClass]:
    """Every device class by the name the language gives it."""
    file = _file()
    held = file.table("class")
    held_names = tuple(held.values)
    gates: dict[str, list[Gate]] = {name: [] for name in held_names}
    breaking: dict[str, list[Breaking]] = {name: [] for name in held_names}
    trips: dict[str, list[Trip]] = {name: [] for name in held_names}
    let_through: dict[str, list[LetThroughLimit]] = {name: [] for name in held_names}
    for row in file.rows("gate"):
        _share(row, gates, _gate(row))
    for row in file.rows("breaking"):
        _share(row, breaking, _breaking(row))
    at_once = file.table("instantaneous")
    for row in file.rows("trip"):
        _share(row, trips, _trip(row, at_once))
    for row in file.rows("let_through"):
        _share(row, let_through, _let_through(row))
    found: dict[str, DeviceClass] = {}
    for name, node in held.children():
        node.only("kind", "title", "rated_voltage_v", "ratings_a", "standard_ratings", *CITE_KEYS)
        kind: DeviceKind = node.choice("kind", get_args(DeviceKind))
        found[name] = DeviceClass(
            name,
            kind,
            node.text("title"),
            _series(node, kind),
            node.number_or_none("rated_voltage_v"),
            tuple(breaking[name]),
            tuple(sorted(gates[name], key=lambda gate: (gate.multiple, gate.over_a))),
            tuple(trips[name]),
            tuple(let_through[name]),
            node.cite(),
        )
    return MappingProxyType(found)


def _series(node: Node, kind: DeviceKind) -> tuple[float, ...]:
    if "standard_ratings" in node and node.flag("standard_ratings"):
        return _ratings(kind)
    return node.rising("ratings_a") if "ratings_a" in node else ()


def _share(row: Node, into: dict[str, list[_Row]], made: _Row) -> None:
    for name in row.words("classes"):
        if name not in into:
            raise row.fail(f"no device class is called {name!r}", "classes")
        into[name].append(made)


def _band(row: Node) -> tuple[float, float | None]:
    over_a = row.number("over_a") if "over_a" in row else 0.0
    return over_a, row.number_or_none("up_to_a")


def _gate(row: Node) -> Gate:
    row.only("classes", "multiple", "least_s", "greatest_s", "over_a", "up_to_a", *CITE_KEYS)
    least_s, greatest_s = row.number_or_none("least_s"), row.number_or_none("greatest_s")
    if least_s is not None and greatest_s is not None and least_s >= greatest_s:
        raise row.fail(f"'greatest_s' is {greatest_s:g}, not above 'least_s', {least_s:g}", "greatest_s")
    return Gate(row.number("multiple"), least_s, greatest_s, *_band(row), row.cite())


def _breaking(row: Node) -> Breaking:
    row.only("classes", "current", "amps", "voltage_v", *CITE_KEYS)
    current = row.choice("current", get_args(CurrentKind))
    return Breaking(current, row.number("amps"), row.number_or_none("voltage_v"), row.cite())


def _trip(row: Node, at_once: Node) -> Trip:
    row.only("classes", "letter", "current", "least_multiple", "greatest_multiple", *CITE_KEYS)
    return Trip(
        row.text("letter"),
        row.choice("current", get_args(CurrentKind)),
        row.number("least_multiple"),
        row.number("greatest_multiple"),
        at_once.number("boundary_s"),
        at_once.cite(),
        row.cite(),
    )


def _let_through(row: Node) -> LetThroughLimit:
    row.only("classes", "over_a", "up_to_a", "a2s", *CITE_KEYS)
    return LetThroughLimit(*_band(row), row.number("a2s"), row.cite())
