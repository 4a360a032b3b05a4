"""What a worksheet is made of: sections of lines, each a fact, a step, a sum, a judgement, a note or a finding.

Every expression is arithmetic over the figures as they are printed, so that a reader comes to the printed result.
Signs: + − × ÷ ² ^ √( ln( max( min(, brackets, and quantities with their units.
"""

from __future__ import annotations

import math
from collections.abc import Iterable
from dataclasses import dataclass, field

from linter.rules.finding import Finding

DIGITS = 5


def num(value: float, digits: int = DIGITS) -> str:
    """A figure of five significant digits, never with an exponent."""
    if math.isinf(value):
        return "unlimited" if value > 0 else "none"
    rounded = float(f"{value:.{digits}g}")
    if rounded == 0:
        return "0"
    places = max(0, digits - 1 - math.floor(math.log10(abs(rounded))))
    text = f"{rounded:.{places}f}"
    return text.rstrip("0").rstrip(".") if "." in text else text


# How a quantity is printed: (from which size on, unit, factor).
_SCALES: dict[str, tuple[tuple[float, str, float], ...]] = {
    "Ω": ((0.0, "mΩ", 1e3),),
    "Ω/m": ((0.0, "mΩ/m", 1e3),),
    "s": ((1.0, "s", 1.0), (0.0, "ms", 1e3)),
    "A²s": ((1e6, "MA²s", 1e-6), (1e3, "kA²s", 1e-3), (0.0, "A²s", 1.0)),
}


def qty(value: float, unit: str) -> str:
    """A figure with its unit, as it is printed."""
    if math.isinf(value):
        return "unlimited" if unit == "A" else "never" if unit == "s" else "unknown"
    for least, shown, factor in _SCALES.get(unit, ()):
        if abs(value) >= least:
            return f"{num(value * factor)} {shown}"
    return f"{num(value)} {unit}"


def duration(seconds: float) -> str:
    """A time for reading, of a curve's points."""
    if seconds < 120 or math.isinf(seconds):
        return qty(seconds, "s")
    return f"{num(seconds / 60)} min" if seconds < 7200 else f"{num(seconds / 3600)} h"


@dataclass(frozen=True, slots=True)
class Fact:
    """Something said in the design, a part sheet or a table."""

    what: str
    value: str
    cite: str = ""


@dataclass(frozen=True, slots=True)
class Step:
    """``expression`` comes to ``value``."""

    what: str
    expression: str
    value: float
    unit: str
    cite: str = ""


@dataclass(frozen=True, slots=True)
class Row:
    """One of the figures that are added up; ``expression``, where there is one, comes to it."""

    value: float
    what: str
    expression: str = ""
    cite: str = ""


@dataclass(frozen=True, slots=True)
class Sum:
    """Rows that add up to ``value``."""

    what: str
    rows: tuple[Row, ...]
    value: float
    unit: str


@dataclass(frozen=True, slots=True)
class Judgement:
    """A figure against its limit; ``sign``: ≤ or ≥.  ``otherwise``: what follows where it does not hold; ``untold``:
    why nobody knows that it holds where it seems to, as the figure may be worse by what nobody tells."""

    what: str
    value: float
    sign: str
    limit: float
    unit: str
    limit_what: str
    otherwise: str = ""
    cite: str = ""
    untold: str = ""

    @property
    def known(self) -> bool:
        """Whether the figures decide."""
        return not self.untold or not self.holds

    @property
    def holds(self) -> bool:
        slack = 1e-9 * max(1.0, abs(self.limit) if math.isfinite(self.limit) else 1.0)
        return self.value <= self.limit + slack if self.sign == "≤" else self.value >= self.limit - slack


@dataclass(frozen=True, slots=True)
class Note:
    """A sentence; ``missing``: it says of a figure that nobody gave."""

    text: str
    missing: bool = False


@dataclass(frozen=True, slots=True)
class Found:
    finding: Finding


Line = Fact | Step | Sum | Judgement | Note | Found


@dataclass(slots=True)
class Section:
    """A heading, the lines below it, and the rules whose findings stand here."""

    title: str
    lines: list[Line] = field(default_factory=list)
    rules: frozenset[str] = frozenset()

    def add(self, *lines: Line | None) -> Section:
        self.lines += [line for line in lines if line is not None]
        return self

    def fact(self, what: str, value: object, cite: object = "") -> None:
        if value not in (None, ""):
            self.lines.append(Fact(what, str(value), str(cite)))

    def note(self, text: str) -> None:
        self.lines.append(Note(text))

    def missing(self, text: str) -> None:
        self.lines.append(Note(text, True))


@dataclass(slots=True)
class Sheet:
    """The worksheet of one element."""

    name: str
    title: str
    kind: str
    boat: str
    path: str
    rulebooks: list[str]
    complete: bool
    sections: list[Section] = field(default_factory=list)


def product(figures: Iterable[float], unit: str = "") -> str:
    """Figures multiplied, the first with its unit."""
    first, *others = figures
    return " × ".join([qty(first, unit) if unit else num(first), *(num(f) for f in others)])
