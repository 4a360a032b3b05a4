"""Where in a text something stands, and what is to be said about it."""

from __future__ import annotations

from bisect import bisect_right
from dataclasses import dataclass, field
from functools import cached_property


class Text:
    """One file's text with its name as shown to the user; lines are found when first asked for."""

    def __init__(self, name: str, text: str) -> None:
        self.name = name
        self.text = text

    @cached_property
    def line_starts(self) -> list[int]:
        """Offset of each line's first character, in code points."""
        starts = [0]
        find, at = self.text.find, 0
        while (at := find("\n", at)) >= 0:
            at += 1
            starts.append(at)
        return starts

    def position(self, offset: int) -> tuple[int, int]:
        """Line and column, both counted from 1, columns in code points."""
        line = bisect_right(self.line_starts, offset)
        return line, offset - self.line_starts[line - 1] + 1

    def line(self, number: int) -> str:
        """The text of a line (from 1), without its end."""
        return self.text[slice(*self.extent(number))]

    def extent(self, number: int) -> tuple[int, int]:
        """Where a line (from 1) begins, and where it ends, its end left out."""
        starts = self.line_starts
        return starts[number - 1], starts[number] - 1 if number < len(starts) else len(self.text)


@dataclass(frozen=True, slots=True)
class Span:
    """A stretch of a text, from ``start`` up to but not including ``end`` (offsets in code points)."""

    text: Text
    start: int
    end: int

    @property
    def path(self) -> str:
        return self.text.name

    @property
    def line(self) -> int:
        return self.text.position(self.start)[0]

    @property
    def column(self) -> int:
        return self.text.position(self.start)[1]

    def __str__(self) -> str:
        line, column = self.text.position(self.start)
        return f"{self.text.name}:{line}:{column}"


@dataclass(frozen=True, slots=True)
class Mistake:
    """Something in the input that cannot be read or has no meaning: what, where, and what to do."""

    span: Span
    message: str
    mend: str = ""
    related: tuple[tuple[Span, str], ...] = ()
    # A mistake after which the design is known only in part; every one but a mere remark.
    loses: bool = field(default=True)
