"""What devices and switches may lose at their rated current where nobody states their resistance."""

from __future__ import annotations

import math
from collections.abc import Iterable
from dataclasses import dataclass
from functools import cache

from linter.tables.cite import Cite
from linter.tables.reading import CITE_KEYS, Node, shipped

#: The kinds of element that have contacts or a fusible element, as the language names them.
KINDS = ("fuse", "breaker", "switch", "selector", "relay")


@dataclass(frozen=True, slots=True)
class ContactDrop:
    """The most in V that an element of a kind is taken to lose at its rated current: a bound, never a figure of it.

    The row holds for ratings up to `up_to_a` (None: any), in amperes.
    """

    kind: str
    volts: float
    up_to_a: float | None
    cite: Cite


def contact_drop(row: Node) -> ContactDrop:
    """A row of the table, or of a rulebook.  Raises RulebookError for what is wrong in it."""
    row.only("kind", "volts", "up_to_a", *CITE_KEYS)
    return ContactDrop(row.choice("kind", KINDS), row.number("volts"), row.number_or_none("up_to_a"), row.cite())


@cache
def contact_drops() -> tuple[ContactDrop, ...]:
    return tuple(contact_drop(row) for row in shipped("contacts.toml").rows("contact_drop"))


def drop_of(kind: str, rated_a: float, stated: Iterable[tuple[ContactDrop, ...]]) -> ContactDrop | None:
    """The bound for an element of a kind and rating: the greatest that a rulebook states, else the table's; None for a
    kind that has none.  Of the rows of one table that hold, that of the smallest ratings."""

    def row_of(rows: Iterable[ContactDrop]) -> ContactDrop | None:
        holding = [r for r in rows if r.kind == kind and (r.up_to_a is None or rated_a <= r.up_to_a)]
        return min(holding, key=lambda r: math.inf if r.up_to_a is None else r.up_to_a, default=None)

    own = [row for rows in stated if (row := row_of(rows)) is not None]
    return max(own, key=lambda row: row.volts, default=None) or row_of(contact_drops())
