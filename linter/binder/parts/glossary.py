"""The words of the binder."""

from __future__ import annotations

import tomllib
from importlib.resources import files

from linter.binder.model import Column, Kind, Section, Table
from linter.binder.subject import Subject

COLUMNS = (Column("term", "Term", kind=Kind.NAME), Column("meaning", "Meaning"))


def section(subject: Subject) -> Section:
    del subject
    terms = tomllib.loads((files("linter.binder") / "glossary.toml").read_text(encoding="utf-8"))["terms"]
    table = Table(COLUMNS)
    for term, meaning in sorted(terms.items(), key=lambda t: t[0].casefold()):
        table.add(term, meaning)
    return Section("glossary", "Glossary", [table], table)
