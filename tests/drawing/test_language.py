"""The words of a sheet in a second language: every word is there, is used, and finds its room."""

from __future__ import annotations

import re
import tomllib
from pathlib import Path

import pytest

import linter.drawing
from linter.drawing.language import english
from linter.drawing.picture import Picture
from linter.drawing.sheets import Settings, sheets
from linter.drawing.style import settings_of
from linter.tables.devices import classes
from tests.drawing.sheets_readback import sheet_collisions
from tests.drawing.test_changes import changes_for
from tests.drawing.test_layout import findings_for
from tests.drawing.test_sheets import BOATS, check, studied

GERMAN = tomllib.loads((Path(__file__).parent / "german.toml").read_text(encoding="utf-8"))
SOURCE = "\n".join(p.read_text(encoding="utf-8") for p in sorted(Path(linter.drawing.__path__[0]).glob("*.py")))
# What begins like these is looked up by a kind, class or severity.
MADE = ("symbol-", "class-", "mark-", "change-")
BY_NAME = {"findings-continued", "changes-short-continued", "symbols-continued", "from-here", "to-here"}


def german(paper: str) -> Settings:
    return settings_of(GERMAN | {"paper": paper}, "german.toml")


def texts(made: list[Picture]) -> set[str]:
    """Every line of text on the sheets."""
    return {
        w.text.replace("\u00a0", " ") for p in made for w in (*p.frame_words, *(t for d in p.elements for t in d.texts))
    }


def test_every_word_is_put_into_the_language() -> None:
    assert GERMAN["words"].keys() == english().keys()


def test_every_word_is_used_and_every_word_used_is_there() -> None:
    literal = set(re.findall(r'(?:words|language|english\(\))\["([a-z-]+)"\]', SOURCE))
    literal |= set(re.findall(r'say\([^()"]+, "([a-z-]+)"', SOURCE))
    assert literal <= english().keys()
    quoted = set(re.findall(r"""["']([a-z][a-z-]*)["']""", SOURCE))
    unused = {k for k in english() if k not in quoted and not k.startswith(MADE) and k not in BY_NAME}
    assert not unused
    assert {f"class-{c}" for c in classes()} == {k for k in english() if k.startswith("class-")}


@pytest.mark.parametrize(("name", "paper"), [(n, p) for n in BOATS for p in ("a3", "a4")])
def test_a_boat_in_german(name: str, paper: str) -> None:
    made = studied(name)
    layers = ("ratings", "study", "findings")
    drawn = sheets(made.design, findings_for(made.design), german(paper), layers, made, "", changes_for(made.design))
    # what references say is read back in English only
    assert sheet_collisions(drawn) == []
    said = texts(drawn)
    assert any(t.startswith("Blatt 1 von ") for t in said) and "Befunde" in said
    left = {v for k, v in english().items() if v != GERMAN["words"][k] and "{" not in v and len(v) > 2}
    assert not {t for t in said if t in left - {"red"}}


def test_references_lead_there_in_any_language() -> None:
    words = english()
    design = studied("launch").design
    here = sheets(design, settings=settings_of({"words": dict(words), "paper": "a4"}, "x"))
    check(design, here)
    there = sheets(design, settings=german("a4"))

    def tags(made: list[Picture]) -> list[list[str]]:
        return [re.findall(r"\d+|[A-F]\d", d.texts[0].text) for p in made for d in p.elements if d.reference >= 0]

    assert all(1 <= len(t) <= 2 for t in tags(there)) and tags(there)
