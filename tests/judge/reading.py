"""From the text of a design to the circuit as JSON, by the tool's own reader (the judge begins after it)."""

from __future__ import annotations

from pathlib import Path
from typing import Any

from linter.model.build import build
from linter.model.design import Design
from linter.model.export import circuit_json
from linter.source.files import Reader


def design_of(text: str) -> Design:
    """The design in a text that uses no other file."""
    return build(Reader().design_text(text, "little.boat"))


def design_in(path: Path) -> Design:
    return build(Reader().design(str(path)))


def circuit_of(text: str) -> dict[str, Any]:
    """The circuit of a design that is understood to the last word; anything else is a mistake of the test."""
    design = design_of(text)
    assert not design.mistakes, [m.message for m in design.mistakes]
    return circuit_json(design)
