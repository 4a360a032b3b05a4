"""Puts a choice into the files: those statements only, in their canonical form."""

from __future__ import annotations

import re
from collections.abc import Mapping

from linter.advice.options import Option
from linter.advice.overlay import declaring
from linter.source.files import DesignSource
from linter.source.parser import parse
from linter.source.statements import Fact, SourceFile, Statement
from linter.source.tidy import tidy

# What a choice gives, and the words that leave it open.
_OPEN = {"area": "open size", "current": "open current"}


class NotWritten(ValueError):
    """A file cannot take the choice; the message says why."""


def rewritten(source: DesignSource, chosen: Mapping[str, Option], texts: Mapping[str, str]) -> dict[str, str]:
    """The new text of each file that changes, by its name; ``texts`` are the files as they are on the disk.

    Only the lines of the statements concerned change; line ends stay as they are.  Raises NotWritten.
    """
    by_file: dict[str, list[tuple[int, int, str]]] = {}
    files: dict[str, SourceFile] = {}
    at = declaring(source)
    for name, option in chosen.items():
        statement, file = at["element", name]
        text = file.text.text
        start = text.rfind("\n", 0, statement.start) + 1
        end = text.find("\n", statement.end)
        end = len(text) if end < 0 else end
        new = _statement(statement, option, text, start, end)
        if new != text[start:end]:
            by_file.setdefault(file.text.name, []).append((start, end, new))
            files[file.text.name] = file
    made = {}
    for path, edits in by_file.items():
        before = texts[path]
        body = before.removeprefix("\ufeff")
        if body.replace("\r\n", "\n") != files[path].text.text:
            raise NotWritten(f"{path} has changed since it was read; nothing is written")
        made[path] = before[: len(before) - len(body)] + _edited(body, edits, files[path].text.text)
        if any(m.loses for m in parse(path, made[path]).mistakes):
            raise NotWritten(f"{path}: the choice would not read; a fault in this program, please report it")
    return made


def _edited(body: str, edits: list[tuple[int, int, str]], text: str) -> str:
    """``body`` with the edits, which are in places of ``text``: the same but for its line ends."""
    lines = re.findall(r"[^\n]*\n|[^\n]+", body)
    for start, end, new in sorted(edits, reverse=True):
        first, last = text.count("\n", 0, start), text.count("\n", 0, end)
        ending = "\r\n" if lines[first].endswith("\r\n") else "\n"
        closing = re.search(r"\r?\n?$", lines[last])
        assert closing is not None
        lines[first : last + 1] = [new.replace("\n", ending) + closing[0]]
    return "".join(lines)


def _statement(statement: Statement, option: Option, text: str, start: int, end: int) -> str:
    """The statement's lines with the choice in them, in canonical form."""
    edits: list[tuple[int, int, str]] = []
    part = next((f for f in option.facts if f.key == "part"), None)
    for fact in option.facts:
        if fact.key == "part":
            continue
        written = str(fact.values[0]).replace("mm²", "mm2")
        if part is not None and not any(f.key == "part" for f in statement.facts):
            written = f"part {part.values[0].value}, {written}"
        old = _stated(statement, fact.key)
        if old is not None:
            edits.append((old.start, old.end, written))
        else:
            # a sheet gives the figure so far: the statement's own goes behind its last fact
            at = statement.facts[-1].end if statement.facts else statement.end
            edits.append((at, at, f", {written}"))
    for at, to, written in sorted(edits, reverse=True):
        text, end = text[:at] + written + text[to:], end + len(written) - (to - at)
    alone = parse("", text[start:end] + "\n")
    return text[start:end] if alone.mistakes else tidy(alone).removesuffix("\n")


def _stated(statement: Statement, key: str) -> Fact | None:
    return next((f for f in statement.facts if f.key in (key, _OPEN.get(key))), None)
