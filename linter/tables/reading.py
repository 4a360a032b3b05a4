"""Reading TOML tables with errors that say what is wrong, where, and what to do.

Nothing here knows what the tables mean. Every complaint is a `RulebookError`; no other exception leaves
this module for bad input, whatever the text.
"""

from __future__ import annotations

import math
import re
from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass
from itertools import pairwise
from pathlib import Path
from typing import Final, TypeVar

from linter.tables.cite import STATUSES, Cite

#: A rulebook of some hundred rows takes 10 kB; more than this is not a rulebook.
GREATEST_BYTES: Final = 100_000
GREATEST_DOTS: Final = 2_000
_TOO_LARGE: Final = "a table file is a few hundred lines"
#: No figure in a rulebook (amperes, millimetres, seconds) is anywhere near this.
GREATEST_NUMBER: Final = 1e12

_T = TypeVar("_T", bound=str)
KeyPath = tuple[str | int, ...]


class RulebookError(Exception):
    """A table file that cannot be used.

    `line` and `column` count from 1 and are None where the fault has no place in the text (no such file);
    `key` is the dotted key at fault, or "" when it is the file as a whole.
    """

    def __init__(
        self,
        message: str,
        line: int | None = None,
        key: str = "",
        *,
        column: int | None = None,
        path: str = "",
    ) -> None:
        place = ":".join(str(part) for part in (path, line, column) if part not in (None, ""))
        super().__init__(f"{place}: {message}" if place else message)
        self.message = message
        self.line = line
        self.column = column
        self.key = key
        self.path = path


def nearest(word: str, options: Iterable[str]) -> str:
    """A "; did you mean ...?" for a mistaken word, or "" when nothing is near."""
    import difflib

    choices = list(options)
    found = difflib.get_close_matches(word[:80], choices, n=1) or [
        choice for choice in choices if word and choice.startswith(word)
    ]
    return f"; did you mean {found[0]!r}?" if found else ""


def shown(value: object) -> str:
    """A value as a message may quote it: short, and free of control characters."""
    if isinstance(value, bool):
        return "true" if value else "false"
    if isinstance(value, int | float) and GREATEST_NUMBER < abs(value) < math.inf:
        return "a number too large"  # repr of a very long whole number raises
    if isinstance(value, str):
        quoted = repr(value[:60])
        return quoted if len(value) <= 60 else f"{quoted}..."
    if isinstance(value, Mapping):
        return "a table"
    if isinstance(value, list):
        return "a list"
    return repr(value)


@dataclass(frozen=True, slots=True)
class Document:
    """The text a table was read from, kept to find the line of a fault."""

    path: str
    text: str

    def error(self, message: str, where: KeyPath) -> RulebookError:
        """A `RulebookError` at the place of the nearest key that stands in the text."""
        line, column = locate(self.text, where) or (None, None)
        key = ".".join(str(part)[:60] for part in where)
        return RulebookError(message, line, key, column=column, path=self.path)


#: Keys stand at the start of a line; a pattern need not wade through the rest of a very long one.
_LOCATED: Final = 200
_HEADER: Final = re.compile(r"\s*(\[\[?)([^\[\]]+)\]\]?\s*(?:#.*)?$")
_KEY: Final = re.compile(r"\s*((?:\"[^\"]*\"|'[^']*'|[\w.\-]| (?=[ .=]))+?)\s*=")
_KEY_PART: Final = re.compile(r"\"([^\"]*)\"|'([^']*)'|([\w-]+)")


def locate(text: str, where: KeyPath) -> tuple[int, int] | None:
    """Line and column, from 1, of the longest part of `where` that the TOML text writes out.

    tomllib keeps no positions, so this reads headers and keys at line starts: exact for tables written a
    key a line, and the line of the enclosing key for anything written inline.
    """
    best: tuple[int, int] | None = None
    best_depth = 0
    table: KeyPath = ()
    counts: dict[KeyPath, int] = {}
    for number, full_line in enumerate(text.split("\n"), 1):
        line = full_line[:_LOCATED]
        if header := _HEADER.match(line):
            table = _parts(header[2])
            if header[1] == "[[":
                counts[table] = counts.get(table, -1) + 1
                table = (*table, counts[table])
            here = table
        elif key := _KEY.match(line):
            here = table + _parts(key[1])
        else:
            continue
        if len(here) > best_depth and here == where[: len(here)]:
            best, best_depth = (number, len(line) - len(line.lstrip()) + 1), len(here)
    return best


def _parts(dotted: str) -> KeyPath:
    return tuple(part[1] or part[2] or part[3] for part in _KEY_PART.finditer(dotted))


def parse(text: str, path: str) -> Node:
    """The TOML text as a `Node`. Raises `RulebookError` on text that is too long or not TOML."""
    import tomllib

    if len(text) > GREATEST_BYTES:
        raise RulebookError(f"the file is longer than {GREATEST_BYTES} characters; {_TOO_LARGE}", path=path)
    if text.count(".") > GREATEST_DOTS:  # dotted keys cost tomllib the square of their length
        raise RulebookError(f"the file holds more than {GREATEST_DOTS} full stops; {_TOO_LARGE}", path=path)
    text = text.removeprefix("\ufeff")
    try:
        values = tomllib.loads(text)
    except tomllib.TOMLDecodeError as error:
        said = str(error)
        at = re.search(r"\s*\(at (?:line (\d+), column (\d+)|end of document)\)$", said)
        line, column = (int(at[1]), int(at[2])) if at and at[1] else (text.count("\n") + 1, None)
        what = said[: at.start()] if at else said
        raise RulebookError(f"not TOML: {shown(what)[1:-1]}", line, column=column, path=path) from None
    except RecursionError:
        raise RulebookError("tables or lists nested too deeply to read", path=path) from None
    except ValueError:
        raise RulebookError("a number or date in the file cannot be read", path=path) from None
    return Node(values, (), Document(path, text.replace("\r\n", "\n")))


def read_text(path: Path) -> str:
    """The text of a user's table file. Raises `RulebookError` when it cannot be read as UTF-8 text."""
    name = str(path)
    try:
        if not path.is_file():
            raise RulebookError("no such file, or not a plain file", path=name)
        with path.open("rb") as stream:
            content = stream.read(GREATEST_BYTES + 1)
    except (OSError, ValueError) as error:
        said = getattr(error, "strerror", None) or "its name cannot be used"
        raise RulebookError(f"cannot be read: {said}", path=name) from None
    if len(content) > GREATEST_BYTES:
        raise RulebookError(f"the file is larger than {GREATEST_BYTES} bytes; {_TOO_LARGE}", path=name)
    try:
        return content.decode("utf-8")
    except UnicodeDecodeError as error:
        line = content.count(b"\n", 0, error.start) + 1
        raise RulebookError("not UTF-8 text; save the file as UTF-8", line, path=name) from None


def shipped(*parts: str) -> Node:
    """One of the table files of this package, from a folder or from an installed wheel."""
    try:
        text = Path(__file__).parent.joinpath(*parts).read_text("utf-8")
    except OSError:
        # inside an archive; what reads those takes longer to import than a table to read
        from importlib.resources import files

        text = files("linter.tables").joinpath(*parts).read_text("utf-8")
    return parse(text, "/".join(parts))


CITE_KEYS: Final = ("clause", "status", "source")


@dataclass(frozen=True, slots=True)
class Node:
    """One TOML table: its values, where it stands, and the document it stands in."""

    values: Mapping[str, object]
    where: KeyPath
    document: Document

    def __contains__(self, key: str) -> bool:
        return key in self.values

    def fail(self, message: str, *keys: str | int) -> RulebookError:
        return self.document.error(message, self.where + keys)

    def only(self, *keys: str) -> None:
        """Raise unless every key of the table is one of `keys`."""
        for key in self.values:
            if key not in keys:
                hint = nearest(key, keys) or f"; expected {', '.join(keys)}"
                raise self.fail(f"unknown key {shown(key)}{hint}", key)

    def get(self, key: str) -> object:
        """The value of a key that must be there."""
        if key not in self.values:
            name = ".".join(str(part)[:60] for part in self.where)
            raise self.fail(f"{key!r} is missing{f' in {shown(name)}' if name else ''}", key)
        return self.values[key]

    def text(self, key: str, default: str | None = None) -> str:
        value = self.get(key) if default is None else self.values.get(key, default)
        if not isinstance(value, str) or not (value.strip() or value == default):
            raise self.fail(f"{key!r} must be words in quotation marks, not {shown(value)}", key)
        return value

    def choice(self, key: str, options: tuple[_T, ...], default: _T | None = None) -> _T:
        value = self.get(key) if default is None else self.values.get(key, default)
        for option in options:
            if value == option:
                return option
        hint = nearest(value, options) if isinstance(value, str) else ""
        expected = ", ".join(repr(option) for option in options)
        raise self.fail(f"{key!r} must be one of {expected}, not {shown(value)}{hint}", key)

    def flag(self, key: str) -> bool:
        value = self.get(key)
        if not isinstance(value, bool):
            raise self.fail(f"{key!r} must be true or false, not {shown(value)}", key)
        return value

    def number(self, key: str, *, zero: bool = False) -> float:
        """A finite number above zero, or from zero where `zero` allows it."""
        return self._number(self.get(key), repr(key), zero, (key,))

    def number_or_none(self, key: str, *, zero: bool = False) -> float | None:
        """As `number`, or None where the key is absent or says "none"."""
        return None if self.values.get(key, "none") == "none" else self.number(key, zero=zero)

    def whole(self, key: str) -> int:
        value = self.number(key)
        if value != int(value):
            raise self.fail(f"{key!r} must be a whole number, not {shown(value)}", key)
        return int(value)

    def numbers(self, key: str) -> tuple[float, ...]:
        """A list of one or more finite numbers above zero."""
        value = self.get(key)
        if not isinstance(value, list) or not value:
            raise self.fail(f"{key!r} must be a list of numbers such as [1, 2.5], not {shown(value)}", key)
        return tuple(
            self._number(item, f"number {place} of {shown(key)}", False, (key, place))
            for place, item in enumerate(value, 1)
        )

    def rising(self, key: str) -> tuple[float, ...]:
        """As `numbers`, each larger than the one before."""
        values = self.numbers(key)
        for before, after in pairwise(values):
            if after <= before:
                raise self.fail(f"{key!r} must rise: {after:g} follows {before:g}", key)
        return values

    def words(self, key: str) -> tuple[str, ...]:
        """A list of words, possibly empty, absent meaning empty."""
        value = self.values.get(key, [])
        if not isinstance(value, list):
            raise self.fail(f"{key!r} must be a list of words in quotation marks, not {shown(value)}", key)
        for item in value:
            if not isinstance(item, str) or not item.strip():
                raise self.fail(f"{key!r} must hold words in quotation marks, not {shown(item)}", key)
        return tuple(value)

    def table(self, key: str) -> Node:
        return self._node(self.get(key), key)

    def children(self) -> Iterator[tuple[str, Node]]:
        """Every key of the table with the table it holds."""
        for key, value in self.values.items():
            yield key, self._node(value, key)

    def rows(self, key: str) -> tuple[Node, ...]:
        """The tables under [[key]]; none when the key is absent."""
        value = self.values.get(key, [])
        if not isinstance(value, list):
            raise self.fail(f"{key!r} must be rows headed [[{key}]], not {shown(value)}", key)
        return tuple(self._node(item, key, place) for place, item in enumerate(value))

    def cite(self, outer: Cite | None = None) -> Cite:
        """The clause, status and source of this table; what it leaves out it takes from `outer`.

        A status is never taken over with a clause of its own: a figure from elsewhere is known otherwise.
        """
        if outer is None or "clause" in self or "status" in self:
            clause = self.text("clause") if outer is None else self.text("clause", outer.clause)
            return Cite(clause, self.choice("status", STATUSES), self.text("source", ""))
        return Cite(outer.clause, outer.status, self.text("source", outer.source))

    def _node(self, value: object, *keys: str | int) -> Node:
        if not isinstance(value, dict):
            name = ".".join(str(key) for key in keys)
            raise self.fail(f"{shown(name)} must be a table of keys and values, not {shown(value)}", *keys)
        return Node(value, self.where + keys, self.document)

    def _number(self, value: object, name: str, zero: bool, keys: KeyPath) -> float:
        if isinstance(value, bool) or not isinstance(value, int | float):
            raise self.fail(f"{name} must be a number, not {shown(value)}", *keys)
        if not abs(value) <= GREATEST_NUMBER:  # also catches nan
            raise self.fail(f"{name} must be a finite number of ordinary size, not {shown(value)}", *keys)
        if value < 0 or (value == 0 and not zero):
            least = "zero or more" if zero else "above zero"
            raise self.fail(f"{name} must be {least}, not {shown(value)}", *keys)
        return float(value)
