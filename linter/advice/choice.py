"""What `size` answers: what is chosen and why, what contradicts itself, and what is left open."""

from __future__ import annotations

from dataclasses import dataclass, field

from linter.advice.options import Option
from linter.advice.other_sheets import OtherSheet
from linter.rules.engine import Examination
from linter.rules.finding import Finding


@dataclass(frozen=True, slots=True)
class Relaxed:
    """What giving up one demand of a contradiction would cost; no choice where it would not help or, not ``proved``,
    none was found."""

    demand: Finding
    choice: tuple[tuple[str, Option], ...] | None
    copper_kg: float
    proved: bool = True


@dataclass(frozen=True, slots=True)
class Contradiction:
    """Demands that no choice meets all at once; without any one of them there is one.  Not ``proved``: none was found.
    Each is told as it is found where the others are met, if such a choice was found.  ``given_up``: the one that is
    only advice, and that the choice breaks.  ``other_sheets``: with which all is met."""

    elements: tuple[str, ...]
    demands: tuple[Finding, ...]
    relaxed: tuple[Relaxed, ...]
    given_up: Finding | None = None
    proved: bool = True
    other_sheets: tuple[OtherSheet, ...] = ()


@dataclass(frozen=True, slots=True)
class Neighbour:
    """What another option would have broken; no finding where none would be (it only costs more), or it was not tried.
    Not ``exact``: it is known to be broken and was found with other figures."""

    option: Option
    finding: Finding | None
    exact: bool = True


@dataclass(frozen=True, slots=True)
class Chosen:
    """What one element is to be, and its neighbours.  ``raised``: it is larger than any rule asks, so that it is rated
    no less than what stands behind it."""

    name: str
    option: Option
    smaller: Neighbour | None
    larger: Neighbour | None
    conductor: bool = False
    raised: bool = False


@dataclass(slots=True)
class Choice:
    """What is chosen.  ``unmet``: doubts and advice that nothing meets that meets all else, and what is wrong beside
    what can be chosen; ``standing``: findings in which no choice has a say; ``leaning``: findings at what is chosen
    that somebody has accepted; ``asked``: those that ask for a figure only."""

    chosen: list[Chosen] = field(default_factory=list)
    copper_kg: float = 0.0
    contradictions: list[Contradiction] = field(default_factory=list)
    unmet: list[Finding] = field(default_factory=list)
    standing: list[Finding] = field(default_factory=list)
    leaning: list[Finding] = field(default_factory=list)
    asked: list[Finding] = field(default_factory=list)
    tried: int = 0
    # that no choice that meets what this one meets has less copper
    proved: bool = True
    # that nothing meets what is ``unmet`` together with all else; else nothing was found
    settled: bool = True
    examination: Examination | None = None
