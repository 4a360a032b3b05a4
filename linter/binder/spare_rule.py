"""How many spare fuses to carry: a rule in a table, which a yard may replace.  It is common practice, no standard's."""

from __future__ import annotations

import math
from dataclasses import dataclass
from functools import cache
from importlib.resources import files
from pathlib import Path

from linter.tables.cite import STATUSES
from linter.tables.devices import classes
from linter.tables.reading import Node, RulebookError, parse, read_text

VOYAGES = ("harbour", "coastal", "ocean")


@dataclass(frozen=True, slots=True)
class Amount:
    """Of one class and rating: a share of those fitted, rounded up, at least and at most so many.  A set that is fitted
    nowhere is not carried."""

    share: float
    least: int
    most: int

    def of(self, fitted: int) -> int:
        # a share such as 0.1 x 30 must not be rounded up for a bit in the last place
        return min(max(math.ceil(self.share * fitted - 1e-9), self.least), self.most) if fitted else 0


@dataclass(frozen=True, slots=True)
class SpareRule:
    """``amounts``: by voyage and class; the class "" is for those that are not named."""

    title: str
    clause: str
    status: str
    amounts: dict[str, dict[str, Amount]]

    def amount(self, voyage: str, device_class: str) -> Amount:
        by_class = self.amounts[voyage]
        return by_class.get(device_class, by_class[""])


@cache
def shipped_rule() -> SpareRule:
    text = (files("linter.binder") / "spares.toml").read_text(encoding="utf-8")
    return _rule(parse(text, "spares.toml"))


def rule_of(path: str) -> SpareRule:
    """A rule from a file of the same form.  Raises RulebookError, with the line, where it is not in order."""
    return _rule(parse(read_text(Path(path)), path))


def _rule(top: Node) -> SpareRule:
    top.only("title", "clause", "status", "voyage")
    voyages = dict(top.table("voyage").children())
    if set(voyages) != set(VOYAGES):
        raise top.fail(f"the voyages are {', '.join(VOYAGES)}", "voyage")
    amounts: dict[str, dict[str, Amount]] = {}
    for name, node in voyages.items():
        node.only("share", "least", "most", "class")
        here = {"": _amount(node)}
        for device_class, row in node.table("class").children() if "class" in node else ():
            if device_class not in classes():
                raise row.fail(f"no device class is called {device_class!r}")
            row.only("share", "least", "most")
            here[device_class] = _amount(row)
        amounts[name] = here
    return SpareRule(top.text("title"), top.text("clause"), top.choice("status", STATUSES), amounts)


def _amount(node: Node) -> Amount:
    share, least, most = node.number("share", zero=True), _count(node, "least"), _count(node, "most")
    if least > most:
        raise node.fail(f"least is {least} and most {most}", "least")
    if share > 100:
        raise node.fail("a share is of 1: 0.5 for half of those fitted", "share")
    return Amount(share, least, most)


def _count(node: Node, key: str) -> int:
    value = node.number(key, zero=True)
    if value != int(value) or value > 1_000:
        raise node.fail(f"{key} is a number of fuses", key)
    return int(value)


__all__ = ["VOYAGES", "Amount", "RulebookError", "SpareRule", "rule_of", "shipped_rule"]
