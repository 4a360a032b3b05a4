"""The highlighting grammar, applied as an editor applies it: at each point of a line the first pattern that matches
earliest.  Only what Python's expressions and an editor's have in common is used in it."""

from __future__ import annotations

import json
import re
from typing import Any

import pytest

from linter.source.grammar import words
from linter.source.parser import parse
from linter.source.scanner import Token, scan
from linter.source.units import UNITS
from linter.source.words import FITS

from .reference import DESIGNS, FRAGMENTS, GRAMMAR, Block

FILE: dict[str, Any] = json.loads((GRAMMAR / "boat.tmLanguage.json").read_text(encoding="utf-8"))
RULES: list[dict[str, Any]] = [FILE["repository"][p["include"].removeprefix("#")] for p in FILE["patterns"]]
COMPILED = [(re.compile(rule["match"]), rule) for rule in RULES]


def scopes(line: str) -> list[tuple[str, str]]:
    """(text, scope) from left to right."""
    found, at = [], 0
    while at < len(line):
        matches = [
            (m.start(), i, m, rule) for i, (pattern, rule) in enumerate(COMPILED) if (m := pattern.search(line, at))
        ]
        if not matches:
            break
        _, _, match, rule = min(matches, key=lambda x: x[:2])
        assert match.end() > at, "a pattern that matches nothing would hang an editor"
        if "captures" in rule:
            for group, what in rule["captures"].items():
                if match[int(group)]:
                    found.append((match[int(group)], what["name"]))
        else:
            found.append((match[0], rule["name"]))
        at = match.end()
    return found


def test_it_names_itself_and_uses_every_pattern() -> None:
    assert FILE["scopeName"] == "source.boat" and FILE["fileTypes"] == ["boat"]
    assert {p["include"] for p in FILE["patterns"]} == {f"#{name}" for name in FILE["repository"]}


@pytest.mark.parametrize("word", sorted(words()))
def test_every_word_of_the_language_is_coloured(word: str) -> None:
    line = f"{word} X" if word in {*FITS, "use", "part", "from", "to"} else f"  x, {word}"
    scope = dict(scopes(line))[word]
    assert not scope.startswith(("variable", "entity"))


@pytest.mark.parametrize("unit", sorted(UNITS))
def test_every_unit_is_coloured(unit: str) -> None:
    assert scopes(f"  2 {unit}") == [("2", "constant.numeric.boat"), (unit, "keyword.other.unit.boat")]


def kind_of(token: Token) -> str:
    if token.type in {"NAME", "STRING", "PATH", "DATE", "INT", "_SEP"}:
        return token.type
    if token.type.startswith("LEFT_OPEN"):
        return "QUANTITY"
    return "QUANTITY" if hasattr(token.value, "kind") else "WORD"


SCOPE_OF = {
    "NAME": ("variable.other.boat", "entity.name.boat"),
    "STRING": ("string.quoted.double.boat",),
    "PATH": ("string.unquoted.boat",),
    "DATE": ("constant.other.date.boat",),
    "INT": ("constant.numeric.boat",),
    "_SEP": ("punctuation.separator.boat",),
    "QUANTITY": ("constant.numeric.boat",),
    "WORD": ("keyword.control.boat", "keyword.other.boat", "support.constant.boat", "constant.language.boat"),
}


@pytest.mark.parametrize("block", [*DESIGNS, *FRAGMENTS], ids=str)
def test_it_colours_the_examples_as_the_scanner_reads_them(block: Block) -> None:
    assert parse("x", block.text).mistakes == []
    for line in block.text.splitlines():
        coloured = [
            (t, s) for t, s in scopes(line) if s not in {"comment.line.number-sign.boat", "keyword.other.unit.boat"}
        ]
        # The continuation of a statement is read behind a beginning of its own, as an editor sees single lines.
        lead = "bus X" if line[:1].isspace() else ""
        read = [t for t in scan(f"{lead}\n{line}") if t.type != "_NL"][3 if lead else 0 :]
        assert len(coloured) == len(read), line
        for (_, scope), token in zip(coloured, read, strict=True):
            assert scope in SCOPE_OF[kind_of(token)], (line, token.value)
