"""The table of causes: how likely each is, what makes it likelier, what confirms it.  All of it is common practice."""

from __future__ import annotations

import tomllib
from collections.abc import Mapping
from dataclasses import dataclass, field
from functools import cache
from importlib import resources


@dataclass(frozen=True, slots=True)
class Cause:
    """One cause.  ``when``: its likelihood by when the device opened; ``weighs``: by condition, the factor;
    ``never``: conditions in which it is none.  The texts name figures of the circuit in braces."""

    name: str
    title: str
    when: Mapping[str, float]
    weighs: Mapping[str, float]
    measure: str
    where: str
    expect: str
    trouble: str
    caution: str
    never: tuple[str, ...] = ()
    # by condition, another in whose presence it does not count
    unless: Mapping[str, str] = field(default_factory=dict)


@dataclass(frozen=True, slots=True)
class Verdict:
    """What a reading says, and by what factor each cause becomes likelier; causes not named stay as they are."""

    says: str
    weighs: Mapping[str, float]


@dataclass(frozen=True, slots=True)
class Table:
    status: str
    when: Mapping[str, str]
    meter: Mapping[str, float]
    cannot: Mapping[str, float]
    causes: tuple[Cause, ...]
    conditions: Mapping[str, str]
    verdicts: Mapping[str, Verdict]
    # why two readings cannot both be so
    conflicts: Mapping[str, str]


@cache
def table() -> Table:
    """The shipped table; a test reads it through."""
    found = tomllib.loads(resources.files(__package__).joinpath("causes.toml").read_text(encoding="utf-8"))
    return Table(
        found["status"],
        found["when"],
        found["meter"],
        found["cannot"],
        tuple(Cause(**row) for row in found["cause"]),
        found["condition"],
        {name: Verdict(**row) for name, row in found["reading"].items()},
        found["conflict"],
    )
