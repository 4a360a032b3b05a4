"""Which class of voltage drop a load's circuit is in, by each rulebook, as far as the language tells."""

from __future__ import annotations

from dataclasses import dataclass

from linter.model.elements import Load
from linter.tables.rulebook import DropClass, Rulebook

# What a rulebook calls the circuits of which the language says: a failure of this one endangers.
VITAL = frozenset({"navigation-lights", "bilge-blower", "bilge-pump", "safety-equipment"})
SORTS = {"electronics": "electronics", "light": "lighting"}


@dataclass(frozen=True, slots=True)
class DropLimit:
    """The greatest drop in per cent, who says so, and what put the load into that class."""

    percent: float
    rulebook: Rulebook
    row: DropClass
    why: str


def drop_limit(load: Load, rulebooks: list[Rulebook]) -> DropLimit | None:
    """The strictest rulebook's; None where none of them limits the drop.

    The rulebooks name navigation lights, blowers, bilge pumps and safety equipment; the language says ``vital`` of such
    a circuit, and means by it the stricter class whichever of them it is.  ``electronics`` and ``light`` are classes
    where a rulebook names them.  A panel's feeder is no class by itself: the language does not tell a panel from any
    other bus, and the feeder counts in the drop of every load behind it.
    """
    found = [limit for book in rulebooks if (limit := _by(load, book)) is not None]
    return min(found, key=lambda limit: limit.percent, default=None)


def _by(load: Load, book: Rulebook) -> DropLimit | None:
    named: list[tuple[DropClass, str]] = []
    for row in book.drops:
        if load.vital and VITAL.intersection(row.circuits):
            named.append((row, "vital"))
        elif load.sort in SORTS and SORTS[load.sort] in row.circuits:
            named.append((row, load.sort))
    if not named:
        named = [(row, "") for row in book.drops if row.others]
    found = min(named, key=lambda n: n[0].percent, default=None)
    return DropLimit(found[0].percent, book, found[0], found[1]) if found is not None else None
