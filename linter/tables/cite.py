"""Where a figure comes from and how well it is known."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final, Literal, get_args

Status = Literal["read", "second-hand", "common practice", "from memory"]

#: From the best known to the least.
STATUSES: Final[tuple[Status, ...]] = get_args(Status)


@dataclass(frozen=True, slots=True)
class Cite:
    """The clause that states a figure, how it is known here, and a note on the source."""

    clause: str
    status: Status
    source: str = ""

    def __str__(self) -> str:
        return f"{self.clause} ({self.status})"


def weaker(one: Status, other: Status) -> Status:
    """The less certain of two statuses: what a figure that leans on both deserves."""
    return max(one, other, key=STATUSES.index)
