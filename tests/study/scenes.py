"""What the tests of scenes share: a design from a few lines, and its study."""

from __future__ import annotations

from pathlib import Path

from linter.model.build import build
from linter.source.files import Reader
from linter.study.study import Study, study_of

BOATS = Path(__file__).resolve().parents[2] / "boats"
HEAD = """boat "S", 9 m, rulebook {books}
system DC12, 12 V
cables, insulation 105 °C, tinned
"""


def studied(text: str, books: str = "iso-13297") -> Study:
    design = build(Reader().design_text(HEAD.format(books=books) + text))
    assert [m.message for m in design.mistakes] == []
    return study_of(design)


def at(study: Study, name: str) -> int:
    return study.design.circuit.by_name[name].index
