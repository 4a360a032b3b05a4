"""The facts of one statement: checked against what the statement takes, and looked up with the part sheet behind."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

from linter.model.elements import Part
from linter.source.guess import Guesser as Guesser
from linter.source.messages import meant
from linter.source.scanner import Token
from linter.source.span import Mistake, Span
from linter.source.statements import Fact, Restated, SourceFile, Statement
from linter.source.words import FITS, REPEATABLE, WRITTEN, takes

Report = Callable[[Mistake], None]

# Figures outside these limits have no meaning, and would be divided by: key -> least, greatest, why.
_LIMITS: dict[str, tuple[float, float, str]] = {
    "parallel": (1, 1000, "there is at least one, and no bank has a thousand"),
    "series": (1, 1000, "there is at least one, and no bank has a thousand"),
    "bundle": (1, 1000, "the cable itself counts, and no bundle has a thousand"),
    "stranding": (1, 6, "conductors are of class 1, 2, 5 or 6"),
    "efficiency": (0.01, 1, "it lies between 1 % and 100 %"),
    "current": (1e-6, 1e9, "a rating of nothing is none"),
    "self-limiting": (1e-6, 1e9, "a source that gives nothing is none"),
    "lets through": (1e-3, 1e12, "what opens lets something through"),
    "carries": (0.05, 1.5, "makers state some 50 % to 120 %"),
    "opens": (1.0, 1e4, "up to its rating no device opens"),
    "insulation": (40, 1000, "insulation is made for 60 °C to some 250 °C"),
}

# A figure that is left open (for `size` to choose) -> the fact that would give it.
OPEN = {"open size": "area", "open current": "current"}

_TAKES = {kind: frozenset(keys) for kind, keys in FITS.items()}


def _rest(fact: Fact) -> list[Any]:
    """The quantities of a fact behind its first."""
    return [v for v in fact.values[1:] if v is not None]


def same(a: Any, b: Any) -> bool:
    """Whether two values of a fact say the same thing, however they were written."""
    if isinstance(a, tuple) and isinstance(b, tuple):
        return len(a) == len(b) and all(same(x, y) for x, y in zip(a, b, strict=True))
    if isinstance(a, Token) and isinstance(b, Token):
        return bool(a.value == b.value)
    if hasattr(a, "kind") and hasattr(b, "kind"):
        return bool(a.kind == b.kind and a.value == b.value)
    return bool(a == b)


def checked(statement: Statement, kind: str, source: SourceFile, report: Report, guess: Guesser) -> dict[str, Fact]:
    """The facts by key; the first of a repeatable one.  Reports what does not belong, or stands twice."""
    belonging = _TAKES[kind]
    facts: dict[str, Fact] = {}
    for at, fact in enumerate(statement.facts):
        key = fact.key
        if key not in belonging:
            span = source.span(fact.start, fact.end)
            if key == "on item":
                word = str(fact.values[0].value)
                report(Mistake(span, f"{word!r} is no fact of a {kind}", meant(word, kind, guess)))
            else:
                mend = _behind_a_word(statement, at, kind, source) or takes(kind)
                report(Mistake(span, f"a {kind} does not take {WRITTEN.get(key, key)}", mend))
        elif key in facts:
            if key not in REPEATABLE:
                first = facts[key]
                report(
                    Mistake(
                        source.span(fact.start, fact.end),
                        f"{source.text.text[fact.start : fact.end]}: the {kind} says such a thing already",
                        _twice(statement, at, kind, source),
                        ((source.span(first.start, first.end), "the first"),),
                    )
                )
        else:
            facts[key] = fact
        if key in _LIMITS and key in belonging and (key in REPEATABLE or facts.get(key) is fact):
            least, greatest, sense = _LIMITS[key]
            value = fact.values[0]
            figure = getattr(value, "value", value)
            problem = "" if figure == "yes" or least <= float(figure) <= greatest else sense
            if key == "opens" and not problem and max(v.value for v in _rest(fact)) <= 0:
                problem = "nothing opens in no time at all"
            if key == "lets through" and not problem and any(v.kind == "CURRENT" and v.value <= 0 for v in _rest(fact)):
                problem = "a prospective current of nothing lets nothing through"
            if problem:
                span = source.span(fact.start, fact.end)
                report(Mistake(span, f"{source.text.text[fact.start : fact.end]}: {problem}", "correct the figure"))
    for key, given in OPEN.items():
        if key in facts and given in facts:
            left = facts.pop(key)
            span = source.span(left.start, left.end)
            message = f"{source.text.text[left.start : left.end]} leaves open what this {kind} also gives"
            report(Mistake(span, message, "keep one of the two"))
    return facts


# A bare figure that is none of a statement's facts -> the words it may stand behind there, the likeliest first.
_BEHIND = {
    "current": ("draws", "cranking current", "short-circuit", "breaks"), "power": ("draws",),
    "temperature": ("ambient", "insulation"), "voltage": ("least", "greatest"), "date": ("until",),
    "text": ("says", "by"),
}  # fmt: skip
_WORDS = {"cranking current": "cranking"}


def _behind_a_word(statement: Statement, at: int, kind: str, source: SourceFile) -> str:
    """What to write for the bare figure at that place, which this statement takes behind a word only."""
    fact, before = statement.facts[at], statement.facts[at - 1] if at else None
    shown = source.text.text[fact.start : fact.end]
    if fact.key == "current" and before is not None and before.key == "asks device":
        return f"a range is written `{source.text.text[before.start : before.end]} to {shown}`, without a comma"
    fitting = [_WORDS.get(key, key) for key in _BEHIND.get(fact.key, ()) if key in _TAKES[kind]]
    return " or ".join(f"`{word} {shown}`" for word in fitting[:2]).join(("write ", "")) if fitting else ""


def _twice(statement: Statement, at: int, kind: str, source: SourceFile) -> str:
    """What to do about the fact at that place, which the statement has already."""
    fact, before = statement.facts[at], statement.facts[at - 1] if at else None
    shown = source.text.text[fact.start : fact.end]
    mend = "keep one of the two"
    if fact.key == "voltage" and "voltage range" in _TAKES[kind] and before is not None and before.key == "voltage":
        first = source.text.text[before.start : before.end]
        return f"{mend}; a range is written `{first} to {shown}`, without a comma"
    if (kind, fact.key) == ("cable", "length"):
        after = statement.facts[at + 1] if at + 1 < len(statement.facts) else None
        if after is not None and after.key == "place":
            stretch = f"{shown} {source.text.text[after.start : after.end]}"
            return f"{mend}; a size is written 35 mm2, a stretch `{stretch}`, without a comma"
        return f"{mend}; a size is written 35 mm2, a stretch `{shown} in PLACE`"
    return mend


def quoted(fact: Fact, source: SourceFile) -> tuple[str, str]:
    """The words of a fact as they were written, and where that was if in no file: `--with`; else nothing."""
    if isinstance(fact, Restated):
        said = fact.said
        return said.text.text[said.start : said.end], said.text.name
    return source.text.text[fact.start : fact.end], ""


class Facts:
    """Looks a fact up: on the statement, else in its part sheet, else in what `cables` says of every cable."""

    __slots__ = ("_all", "fact", "has", "own")

    def __init__(self, own: dict[str, Fact], part: Part | None, usual: dict[str, Fact] | None = None) -> None:
        self.own = own
        self._all = {**(usual or {}), **part.facts, **own} if part is not None else {**usual, **own} if usual else own
        for key, given in OPEN.items():
            if key in own and given in self._all:
                # what is left open is open, whatever a sheet says
                self._all = {k: f for k, f in self._all.items() if k != given}
        self.fact: Callable[[str], Fact | None] = self._all.get
        self.has: Callable[[str], bool] = self._all.__contains__

    def value(self, key: str) -> float | None:
        """The figure of a fact, in the base unit of its kind."""
        found = self._all.get(key)
        return found.values[0].value if found is not None else None

    def word(self, key: str) -> str:
        found = self._all.get(key)
        return str(found.values[0]) if found is not None else ""

    def count(self, key: str) -> int | None:
        found = self.fact(key)
        return int(found.values[0]) if found is not None else None

    def pair(self, key: str) -> tuple[float, float] | None:
        """A figure or a range of it, as (least, greatest)."""
        found = self.fact(key)
        if found is None:
            return None
        figures = sorted(v.value for v in found.values if v is not None and hasattr(v, "value"))
        return figures[0], figures[-1]


def all_of(statement: Statement, part: Part | None, key: str) -> list[tuple[Fact, bool]]:
    """Every fact of a repeatable key: the statement's own, else the part sheet's; and whether it is its own."""
    own = [(f, True) for f in statement.facts if f.key == key]
    if own or part is None:
        return own
    return [(f, False) for f in part.statement.facts if f.key == key]


def span_of(token: Token, source: SourceFile) -> Span:
    return source.span(token.start, token.end)
