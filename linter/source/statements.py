"""What a file says, statement by statement, before it is known what any name refers to."""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import Any, NamedTuple

from linter.source.scanner import Token
from linter.source.span import Mistake, Span, Text


class Fact(NamedTuple):
    """One fact of a statement: ``key`` as in words.WRITTEN, its values, and where it stands."""

    key: str
    values: tuple[Any, ...]
    start: int
    end: int


class Restated(Fact):
    """A fact that stands in no file: a change that somebody asks about says it, in place of what the file says.

    Its place in the file is that of what it takes the place of; ``said`` is where it was written.
    """

    said: Span


def restated(fact: Fact, start: int, end: int, said: Span) -> Restated:
    """The fact, said at ``said``, in place of what stands from ``start`` to ``end``."""
    made = Restated(fact.key, fact.values, start, end)
    made.said = said
    return made


@dataclass(slots=True)
class Statement:
    """One statement. ``kind`` is its first word; a part also has the kind of thing it is a sheet of."""

    kind: str
    start: int
    end: int
    name: Token | None = None
    label: str | None = None
    facts: tuple[Fact, ...] = ()
    part_of: str = ""
    extra: Token | None = None
    # a fact could not be read: what depends on the whole of it must stay quiet
    damaged: bool = False


@dataclass(slots=True)
class SourceFile:
    """A file as read: its text, its statements, and the mistakes in its wording."""

    text: Text
    statements: list[Statement] = field(default_factory=list)
    mistakes: list[Mistake] = field(default_factory=list)

    def span(self, start: int, end: int) -> Span:
        return Span(self.text, start, end)
