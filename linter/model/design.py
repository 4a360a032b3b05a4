"""A design as a whole: the boat, what is on it, how it hangs together, and what could not be understood."""

from __future__ import annotations

from dataclasses import dataclass, field
from pathlib import Path

from linter.model.circuit import Circuit, Edge
from linter.model.elements import Accepted, Element, Named, Part, Place, Scene, System
from linter.source.span import Mistake, Span


@dataclass(slots=True, eq=False)
class RulebookChoice:
    """A rulebook the boat is held to: a shipped one by name, or one from a file of the design's own."""

    name: str
    span: Span
    file: Path | None = None
    shown: str = ""


@dataclass(slots=True, eq=False)
class Design:
    path: str
    boat: str = ""
    boat_span: Span | None = None
    length_m: float | None = None
    rulebooks: list[RulebookChoice] = field(default_factory=list)
    systems: dict[str, System] = field(default_factory=dict)
    places: dict[str, Place] = field(default_factory=dict)
    parts: dict[str, Part] = field(default_factory=dict)
    elements: dict[str, Element] = field(default_factory=dict)
    scenes: list[Scene] = field(default_factory=list)
    accepted: list[Accepted] = field(default_factory=list)
    circuit: Circuit = field(default_factory=Circuit)
    # where two systems meet in one conductor: (edge, one system, the other)
    joined: list[tuple[Edge, System, System]] = field(default_factory=list)
    mistakes: list[Mistake] = field(default_factory=list)

    @property
    def whole(self) -> bool:
        """Whether all of the text was understood; if not, what is missing may be what protects."""
        return not any(m.loses for m in self.mistakes)


__all__ = ["Design", "Named", "RulebookChoice"]
