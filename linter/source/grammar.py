"""The grammar file, and the words it contains."""

from __future__ import annotations

from functools import cache
from pathlib import Path


def grammar_text() -> str:
    """The text of boat.lark: inside an installed package, or beside it in a working copy."""
    packaged = Path(__file__).parents[1] / "_grammar" / "boat.lark"
    for path in (packaged, Path(__file__).resolve().parents[2] / "grammar" / "boat.lark"):
        if path.is_file():
            return path.read_text(encoding="utf-8")
    # inside an archive
    from importlib.resources import files

    return files("linter").joinpath("_grammar", "boat.lark").read_text(encoding="utf-8")


@cache
def words() -> dict[str, str]:
    """Each word and phrase of the language and the name of its terminal."""
    found: dict[str, str] = {}
    for line in grammar_text().splitlines():
        name, colon, rest = line.partition(': "')
        if colon and name.isupper() and rest.endswith('"'):
            found[rest[:-1]] = name
    return found
