"""A design with other facts, its files untouched: what `size` tries, and what `--with` asks."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import replace

from linter.model.build import ELEMENTS
from linter.source.files import DesignSource
from linter.source.scanner import Token
from linter.source.span import Span, Text
from linter.source.statements import Fact, Restated, SourceFile, Statement, restated
from linter.source.units import Quantity

# (sort of name: element, place, system or part; name) -> key -> the facts in place of all that have this key
Changes = Mapping[tuple[str, str], Mapping[str, tuple[Fact, ...]]]


def sort_of(statement: Statement) -> str:
    """What sort of name a statement declares; nothing where it declares none."""
    kind = statement.kind
    return "element" if kind in ELEMENTS else kind if kind in {"place", "system", "part"} else ""


def declaring(source: DesignSource) -> dict[tuple[str, str], tuple[Statement, SourceFile]]:
    """The statement, and its file, that declares each name; the first where there are several."""
    found: dict[tuple[str, str], tuple[Statement, SourceFile]] = {}
    for file in source.files:
        for statement in file.statements:
            sort = sort_of(statement)
            if sort and statement.name is not None:
                found.setdefault((sort, str(statement.name.value)), (statement, file))
    return found


def trying(key: str, value: Quantity | Token, written: str = "") -> Restated:
    """A fact that is tried, with how it is written: findings quote that, and not what stands where it is put."""
    words = written or (value.text if isinstance(value, Quantity) else str(value.value))
    return restated(Fact(key, (value,), 0, 0), 0, 0, Span(Text("", words), 0, len(words)))


def overlaid(source: DesignSource, changes: Changes) -> DesignSource:
    """The same design with other facts.  Linear in the number of statements; nothing of ``source`` is changed.

    A new fact stands where the first of those was whose place it takes, else at the statement's name, so that what is
    said of it points into the file as it is.
    """
    first = {id(statement): key for key, (statement, _) in declaring(source).items() if key in changes}
    files = []
    for file in source.files:
        statements = [
            replace(s, facts=_facts(s, changes[first[id(s)]])) if id(s) in first else s for s in file.statements
        ]
        files.append(replace(file, statements=statements) if any(id(s) in first for s in file.statements) else file)
    return replace(source, files=files)


# A figure and the word that leaves it open are about the same thing: one takes the place of the other.
_SAME = {"area": ("area", "open size"), "current": ("current", "open current"),
         "open size": ("area", "open size"), "open current": ("current", "open current")}  # fmt: skip


def _facts(statement: Statement, new: Mapping[str, tuple[Fact, ...]]) -> tuple[Fact, ...]:
    token = statement.name
    at = (token.start, token.end) if token is not None else (statement.start, statement.end)
    replaced = {old for key in new for old in _SAME.get(key, (key,))}
    kept = [fact for fact in statement.facts if fact.key not in replaced]
    for key, facts in new.items():
        where = next(((f.start, f.end) for f in statement.facts if f.key in _SAME.get(key, (key,))), at)
        for fact in facts:
            said = fact.said if isinstance(fact, Restated) else None
            kept.append(Fact(fact.key, fact.values, *where) if said is None else restated(fact, *where, said))
    return tuple(kept)
