"""What a rule says of an element."""

from __future__ import annotations

from dataclasses import dataclass
from enum import Enum

from linter.source.span import Span


class Severity(Enum):
    """What to do about it."""

    DANGER = "danger"  # fire or shock: mend before power is put on
    FAULT = "fault"  # breaks the chosen rulebook or the maker's word
    DOUBT = "doubt"  # a figure the verdict needs is missing or from memory
    ADVICE = "advice"  # good practice

    @property
    def rank(self) -> int:
        """0 is the gravest."""
        return list(Severity).index(self)


@dataclass(frozen=True, slots=True)
class Finding:
    """One thing that is wrong, at one element; ``rule`` and ``subject`` together are its key."""

    rule: str
    severity: Severity
    subject: str
    span: Span
    message: str
    mend: str = ""
    clause: str = ""
    # read, second-hand, from memory, common practice: how we know the clause
    status: str = ""
    related: tuple[tuple[Span, str], ...] = ()
    # the devices that guard, or fail to
    guard: tuple[str, ...] = ()
    # the one figure that nobody gave, for which others may wait too; empty where it is none
    missing: str = ""
    # why, by whom and until when somebody accepts it; empty where nobody does
    accepted: str = ""
