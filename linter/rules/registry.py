"""How a rule is written down, and the list of all of them."""

from __future__ import annotations

import importlib
from collections.abc import Callable, Iterator
from dataclasses import dataclass
from functools import cache
from typing import TYPE_CHECKING

from linter.rules.finding import Severity
from linter.source.span import Span

if TYPE_CHECKING:
    from linter.model.elements import Named
    from linter.study.study import Study
    from linter.tables.cite import Cite


@dataclass(frozen=True, slots=True)
class Wrong:
    """What a rule yields: the element, where, one sentence with the figures, and what would mend it.

    Severity, clause and status are the rule's own unless the case has its own.
    """

    element: Named
    message: str
    mend: str = ""
    span: Span | None = None
    severity: Severity | None = None
    cite: Cite | None = None
    related: tuple[tuple[Span, str], ...] = ()
    guard: tuple[str, ...] = ()


Check = Callable[["Study"], Iterator[Wrong]]


@dataclass(frozen=True, slots=True)
class Rule:
    """One demand, why it is made and by whom, what mends a breach, and an example of each kind."""

    name: str
    severity: Severity
    demand: str
    reason: str
    clause: str
    status: str
    mend: str
    bad: str
    good: str
    check: Check
    # it needs to know the whole design: a line that could not be read may be the one that protects
    whole: bool = True


def rule(
    name: str,
    severity: Severity,
    *,
    demand: str,
    reason: str,
    clause: str,
    status: str,
    mend: str,
    bad: str,
    good: str,
    whole: bool = True,
) -> Callable[[Check], Rule]:
    """Make a rule of the function that checks it."""

    def made(check: Check) -> Rule:
        return Rule(
            name, severity, demand, reason, clause, status, mend, bad.strip("\n"), good.strip("\n"), check, whole
        )

    return made


# In the order in which findings about one element are best read.
MODULES = (
    "conductor_unprotected",
    "protection_distance",
    "device_bypassed",
    "systems_joined",
    "not_ignition_protected",
    "conductor_overloaded",
    "device_overloaded",
    "source_overloaded",
    "device_not_as_asked",
    "cable_less_than_asked",
    "rating_not_made",
    "device_voltage",
    "current_rating",
    "conductor_too_small",
    "cranking_misdeclared",
    "automatic_reset",
    "wrong_voltage",
    "contradicts_part",
    "not_fed",
    "feeds_nothing",
    "load_in_no_scene",
    "scene_not_fed",
    "relay_never_closed",
    "figure_missing",
    "alternating_not_studied",
)


@cache
def rules() -> tuple[Rule, ...]:
    """Every rule.  A module's rule is called ``RULE``."""
    return tuple(importlib.import_module(f"linter.rules.{name}").RULE for name in MODULES)


@cache
def pages() -> tuple[Rule, ...]:
    """Every rule, and what acceptances have to keep, which no option switches off: all that can be explained."""
    from linter.rules.acceptance_pages import PAGES

    return (*rules(), *PAGES)


# What every example stands on, unless it has a `boat` of its own.
PRELUDE = """\
boat "Example", 9 m, rulebook iso-13297
system DC12, 12 V, negative earthed
cables, insulation 105 °C, tinned
battery B, AGM, 12 V, 100 Ah, resistance 4 mΩ
"""


def example(text: str) -> str:
    """A rule's example as a whole design."""
    return text + "\n" if text.startswith("boat ") else PRELUDE + text + "\n"
