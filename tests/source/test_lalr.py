"""The kept tables against lark: that they are of the grammar as it is, and give what lark's own parser gives."""

from __future__ import annotations

import json
from pathlib import Path
from typing import Any

import pytest
from lark import Lark
from lark.lexer import Lexer

from linter.source import lalr
from linter.source.automaton import Run, automaton
from linter.source.grammar import grammar_text
from linter.source.parser import _Build
from linter.source.scanner import Token, scan

BOATS = Path(__file__).resolve().parents[2] / "boats"


class Nothing(Lexer):
    def __init__(self, conf: Any) -> None:
        del conf

    def lex(self, lexer_state: Any, parser_state: Any) -> Any:
        return iter(())


def test_the_file_is_of_the_grammar_as_it_is() -> None:
    kept = json.loads(lalr.FILE.read_bytes())
    assert kept == lalr.worked_out(grammar_text()), "after a change of the grammar: python -m linter.source.lalr"


def test_another_grammar_is_worked_out_anew() -> None:
    grammar = grammar_text() + 'extra: "never"\n'
    made = lalr.tables(grammar)
    assert made["grammar"] == lalr.signature(grammar) != lalr.tables(grammar_text())["grammar"]


def test_no_file_is_no_hindrance(monkeypatch: pytest.MonkeyPatch, tmp_path: Path) -> None:
    kept = lalr.tables(grammar_text())
    monkeypatch.setattr(lalr, "FILE", tmp_path / "none.json")
    assert lalr.tables(grammar_text()) == kept


@pytest.mark.parametrize("path", sorted(BOATS.rglob("*.boat")), ids=lambda p: p.stem)
def test_statements_are_what_larks_own_parser_makes(path: Path) -> None:
    text = path.read_text(encoding="utf-8")
    tokens = list(scan(text))
    lark = Lark(grammar_text(), parser="lalr", lexer=Nothing, transformer=_Build(), maybe_placeholders=True)
    theirs = lark.parse_interactive()
    for token in tokens:
        theirs.feed_token(token)  # type: ignore[arg-type]
    run = Run(automaton(lalr.tables(grammar_text()), _Build()), [0])
    assert run.take(iter(tokens)) is None
    made, expected = run.finish(), theirs.feed_token(Token("$END", "", len(text), len(text)))  # type: ignore[arg-type]
    assert repr(made) == repr(expected)
    assert len(made) > 5
