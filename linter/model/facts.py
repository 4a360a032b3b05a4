"""The facts of one statement: checked against what the statement takes, and looked up with the part sheet behind."""

from __future__ import annotations

import difflib
from collections.abc import Callable, Iterable
from typing import Any

from linter.model.elements import Part
from linter.source.scanner import Token
from linter.source.span import Mistake, Span
from linter.source.statements import Fact, SourceFile, Statement
from linter.source.words import FITS, REPEATABLE, WRITTEN

Report = Callable[[Mistake], None]

# Comparing a wrong name with every right one is quadratic where ten thousand are wrong; a person needs a few.
GREATEST_GUESSES = 200
GREATEST_POOL = 5000


class Guesser:
    """Names that were probably meant, for as long as the errors are few enough for a person to read."""

    def __init__(self) -> None:
        self.left = GREATEST_GUESSES

    def nearest(self, word: str, pool: Iterable[str]) -> str:
        """" did you mean X?" or nothing."""
        if self.left <= 0:
            return ""
        self.left -= 1
        names = [n for _, n in zip(range(GREATEST_POOL), pool, strict=False)]
        near = difflib.get_close_matches(word, names, n=1, cutoff=0.6)
        if not near:
            folded = {n.casefold(): n for n in names}
            near = [folded[word.casefold()]] if word.casefold() in folded else []
        return f"did you mean {near[0]}?" if near else ""


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
    takes = FITS[kind]
    facts: dict[str, Fact] = {}
    for fact in statement.facts:
        key = fact.key
        if key not in takes:
            span = source.span(fact.start, fact.end)
            if key == "on item":
                word = str(fact.values[0].value)
                words = sorted({w for k in takes for w in _first_words(k)})
                mend = guess.nearest(word, words) or takes_text(kind)
                report(Mistake(span, f"{word!r} is no fact of a {kind}", mend))
            else:
                report(Mistake(span, f"a {kind} does not take {WRITTEN.get(key, key)}", takes_text(kind)))
        elif key in facts:
            if key not in REPEATABLE:
                first = facts[key]
                report(
                    Mistake(
                        source.span(fact.start, fact.end),
                        f"{WRITTEN[key]} stands twice on this {kind}",
                        "keep one of the two",
                        ((source.span(first.start, first.end), "the first"),),
                    )
                )
        else:
            facts[key] = fact
    return facts


def takes_text(kind: str) -> str:
    return f"a {kind} takes: " + "; ".join(WRITTEN[k] for k in FITS[kind])


def _first_words(key: str) -> list[str]:
    """The words with which a fact may begin, as far as they are words and not figures."""
    from linter.source.words import FLAGS

    from_flags = [t for t, (k, _) in FLAGS.items() if k == key]
    return [t.replace("_", " ").lower() for t in from_flags] or [key.split()[0]]


class Facts:
    """Looks a fact up: on the statement, else in its part sheet, else in what `cables` says of every cable."""

    __slots__ = ("own", "part", "usual")

    def __init__(self, own: dict[str, Fact], part: Part | None, usual: dict[str, Fact] | None = None) -> None:
        self.own = own
        self.part = part.facts if part is not None else None
        self.usual = usual

    def fact(self, key: str) -> Fact | None:
        found = self.own.get(key)
        if found is None and self.part is not None:
            found = self.part.get(key)
        if found is None and self.usual is not None:
            found = self.usual.get(key)
        return found

    def value(self, key: str) -> float | None:
        """The figure of a fact, in the base unit of its kind."""
        found = self.fact(key)
        return found.values[0].value if found is not None else None

    def word(self, key: str) -> str:
        found = self.fact(key)
        return str(found.values[0]) if found is not None else ""

    def has(self, key: str) -> bool:
        return self.fact(key) is not None

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
