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
    # the one figure that nobody gave and all findings alike wait for, as `the curve of F1`; empty where it is none
    missing: str = ""


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
    # what to measure or look at on board, to know whether it is so
    measure: str = ""


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
    measure: str = "",
) -> Callable[[Check], Rule]:
    """Make a rule of the function that checks it."""

    def made(check: Check) -> Rule:
        return Rule(
            name, severity, demand, reason, clause, status, mend, bad.strip("\n"), good.strip("\n"), check, whole,
            measure,
        )  # fmt: skip

    return made


# In the order in which findings about one element are best read.
MODULES = (
    "conductor_unprotected",
    "return_unprotected",
    "protection_distance",
    "harmed_before_opening",
    "not_opened_in_time",
    "limited_opens_nothing",
    "breaking_capacity",
    "breaking_class",
    "device_bypassed",
    "systems_joined",
    "not_ignition_protected",
    "conductor_overloaded",
    "device_overloaded",
    "source_overloaded",
    "overload_condition",
    "start_opens_device",
    "not_coordinated",
    "device_not_as_asked",
    "cable_less_than_asked",
    "rating_not_made",
    "device_voltage",
    "current_rating",
    "conductor_too_small",
    "cranking_misdeclared",
    "automatic_reset",
    "wrong_voltage",
    "voltage_drop",
    "voltage_too_low",
    "contradicts_part",
    "not_fed",
    "feeds_nothing",
    "load_in_no_scene",
    "scene_not_fed",
    "scene_not_carried",
    "relay_never_closed",
    "figure_missing",
    "source_resistance",
    "contact_resistance",
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

# Part sheets with all that a verdict on faults needs, to which every example may refer.
SHEETS = """\
part main, fuse
  class T, 125 V, breaks 20 kA at 125 V, comes in 30 A 50 A 60 A 100 A 150 A 200 A 300 A
  opens at 135 % in 400 s to 3600 s, opens at 500 % in 0.5 s to 3 s, opens at 1000 % in 60 ms to 0.25 s
  opens at 2000 % in 12 ms to 30 ms, lets through 300 kA2s
part branch, fuse
  cartridge, 125 V, breaks 10 kA at 125 V, comes in 1 A 3 A 5 A 7.5 A 10 A 15 A 20 A 25 A 30 A
  opens at 135 % in 10 s to 3600 s, opens at 200 % in 2 s to 20 s, opens at 1000 % in 8 ms to 50 ms, lets through 3 kA2s
part panel, breaker
  thermal, 32 V, breaks 5 kA at 32 V, comes in 5 A 10 A 15 A 20 A 25 A 30 A 40 A 50 A 100 A 120 A
  opens at 135 % in 60 s to 3600 s, opens at 200 % in 9 s to 60 s, opens at 500 % in 1 s to 4 s
  opens at 1000 % in 20 ms to 0.1 s, opens at 2000 % in 5 ms to 20 ms, lets through 40 kA2s at 5 kA
"""


def example(text: str) -> str:
    """A rule's example as a whole design."""
    return (text if text.startswith("boat ") else PRELUDE + text) + "\n" + SHEETS
