"""The words on a sheet: one table, which a yard may put into its own language."""

from __future__ import annotations

import re
import tomllib
from collections.abc import Mapping
from functools import cache
from pathlib import Path
from types import MappingProxyType

Language = Mapping[str, str]
_GAP = re.compile(r"\{[a-z]*\}")


@cache
def english() -> Language:
    """The words as they come with the program."""
    text = (Path(__file__).parent / "words.toml").read_text(encoding="utf-8")
    return MappingProxyType(dict(tomllib.loads(text)["words"]))


def gaps(text: str) -> list[str]:
    """What is to be filled in, sorted."""
    return sorted(_GAP.findall(text))


def say(words: Language, key: str, **values: str) -> str:
    """The words of ``key``, their gaps filled."""
    return _GAP.sub(lambda m: values[m[0][1:-1]], words[key])
