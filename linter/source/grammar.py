"""The grammar file, compiled by lark, and the words it contains."""

from __future__ import annotations

from functools import cache
from importlib.resources import files
from pathlib import Path
from typing import TYPE_CHECKING, Any

if TYPE_CHECKING:
    from lark import Lark


def grammar_text() -> str:
    """The text of boat.lark: inside an installed package, or beside it in a working copy."""
    packaged = files("linter").joinpath("_grammar", "boat.lark")
    if packaged.is_file():
        return packaged.read_text(encoding="utf-8")
    return (Path(__file__).resolve().parents[2] / "grammar" / "boat.lark").read_text(encoding="utf-8")


def compile_grammar(transformer: Any) -> Lark:
    """A LALR parser whose reductions call ``transformer`` at once; tokens are fed by our own scanner."""
    from lark import Lark
    from lark.lexer import Lexer

    class FedByHand(Lexer):
        def __init__(self, conf: Any) -> None:
            del conf

        def lex(self, lexer_state: Any, parser_state: Any) -> Any:
            del lexer_state, parser_state
            return iter(())

    return Lark(grammar_text(), parser="lalr", lexer=FedByHand, transformer=transformer, maybe_placeholders=True)


@cache
def words() -> dict[str, str]:
    """Each word and phrase of the language and the name of its terminal."""
    found: dict[str, str] = {}
    for line in grammar_text().splitlines():
        name, colon, rest = line.partition(': "')
        if colon and name.isupper() and rest.endswith('"'):
            found[rest[:-1]] = name
    return found
