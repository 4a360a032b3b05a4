"""Nominal DC systems, and the colours of conductors."""

from __future__ import annotations

from dataclasses import dataclass
from functools import cache
from typing import Literal, get_args

from linter.tables.cite import Cite
from linter.tables.reading import CITE_KEYS, Node, shipped

Practice = Literal["american", "iso"]
ConductorUse = Literal[
    "dc-positive", "dc-negative", "bonding", "ac-phase", "ac-second-phase", "ac-neutral", "ac-protective"
]


@dataclass(frozen=True, slots=True)
class NominalSystem:
    """A nominal DC voltage and the greatest voltage in charging used when a design does not say."""

    nominal_v: float
    greatest_charging_v: float
    cite: Cite


@dataclass(frozen=True, slots=True)
class ColourRow:
    """The colours a conductor may have: one of `colours`, or any that is not in `any_but`."""

    practice: Practice
    conductor: ConductorUse
    colours: tuple[str, ...]
    any_but: tuple[str, ...]
    cite: Cite

    def allows(self, colour: str) -> bool:
        """Whether the colour, in lower case as in "green/yellow", is allowed."""
        return colour in self.colours if self.colours else colour not in self.any_but


@cache
def _file() -> Node:
    return shipped("systems.toml")


@cache
def nominal_systems() -> tuple[NominalSystem, ...]:
    """The nominal DC systems, by rising voltage."""
    rows = []
    for row in _file().rows("system"):
        row.only("nominal_v", "greatest_charging_v", *CITE_KEYS)
        rows.append(NominalSystem(row.number("nominal_v"), row.number("greatest_charging_v"), row.cite()))
    return tuple(sorted(rows, key=lambda row: row.nominal_v))


def nominal_system(voltage_v: float) -> NominalSystem | None:
    """The nominal system of exactly this voltage, or None."""
    return next((row for row in nominal_systems() if row.nominal_v == voltage_v), None)


@cache
def colour_rows() -> tuple[ColourRow, ...]:
    """Every row of the colour table."""
    rows = []
    for row in _file().rows("colour"):
        row.only("practice", "conductor", "colours", "any_but", *CITE_KEYS)
        if ("colours" in row) == ("any_but" in row):
            raise row.fail("a colour row gives either 'colours' or 'any_but'", "colours")
        rows.append(
            ColourRow(
                row.choice("practice", get_args(Practice)),
                row.choice("conductor", get_args(ConductorUse)),
                row.words("colours"),
                row.words("any_but"),
                row.cite(),
            )
        )
    return tuple(rows)


def colours(practice: Practice, conductor: ConductorUse) -> ColourRow | None:
    """The colours of one conductor in one practice, or None when none is stated."""
    for row in colour_rows():
        if (row.practice, row.conductor) == (practice, conductor):
            return row
    return None
