"""Tokens to statements by lark's LALR tables; what does not fit costs one fact or one line (recovery.py)."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from functools import cache
from typing import Any

from linter.source.automaton import Automaton, Run, automaton
from linter.source.collector import collector_at_rest
from linter.source.grammar import grammar_text
from linter.source.guess import Guesser
from linter.source.lalr import tables
from linter.source.recovery import LOOKED_AT, looked_at, take_in_pieces
from linter.source.scanner import Token, hidden_in_comments, scan_statements
from linter.source.span import Mistake, Text
from linter.source.statements import Fact, SourceFile, Statement
from linter.source.words import FLAGS, SETTINGS


class _Build:
    """lark calls one method a reduction; each takes the list of what the rule's parts gave."""

    def start(self, parts: list[Statement]) -> list[Statement]:
        return parts

    def line(self, parts: list[Any]) -> Statement:
        statement: Statement = parts[0]
        return statement

    def lost(self, parts: list[Token]) -> Statement:
        """A line nobody can read keeps its place: the run it stood in is no longer known."""
        return Statement("unread", parts[0].start, parts[0].end, damaged=True)

    # -- statements -------------------------------------------------------------------------------
    def named(self, parts: list[Any]) -> Statement:
        word, name = parts[0], parts[1]
        facts = parts[-1]
        label = parts[2] if len(parts) == 4 else None
        return _statement(word, name, label, facts)

    def titled(self, parts: list[Any]) -> Statement:
        word, title, facts = parts
        made = _statement(word, None, title.value, facts)
        made.extra = title
        return made

    def bare(self, parts: list[Any]) -> Statement:
        return _statement(parts[0], None, None, parts[1])

    def use(self, parts: list[Any]) -> Statement:
        word, path = parts
        return Statement("use", word.start, path.end, path)

    def from_(self, parts: list[Any]) -> Statement:
        word, (name, position) = parts
        return Statement("from", word.start, (position or name).end, name, extra=position)

    def to(self, parts: list[Any]) -> Statement:
        word, (name, position) = parts
        return Statement("to", word.start, (position or name).end, name, extra=position)

    def part(self, parts: list[Any]) -> Statement:
        word, name, label, kind, facts = parts
        made = _statement(word, name, label, facts)
        made.part_of = kind.value
        made.end = max(made.end, kind.end)
        return made

    def accept(self, parts: list[Any]) -> Statement:
        word, rule, _at, subject, facts = parts
        made = _statement(word, rule, None, facts)
        made.extra = subject
        return made

    def end(self, parts: list[Any]) -> tuple[Token, Token | None]:
        return parts[0], parts[1]

    def label(self, parts: list[Token]) -> str | None:
        return parts[0].value if parts else None

    def no_facts(self, parts: list[Any]) -> list[Fact]:
        return []

    def more_facts(self, parts: list[Any]) -> list[Fact]:
        facts: list[Fact] = parts[0]
        facts.append(parts[2])
        return facts

    # -- facts ------------------------------------------------------------------------------------
    def unread(self, parts: list[Token]) -> Fact:
        return Fact("unread", (), parts[0].start, parts[0].end)

    def quantity(self, parts: list[Token]) -> Fact:
        token = parts[0]
        return Fact(token.type.lower(), (token.value,), token.start, token.end)

    def open(self, parts: list[Token]) -> Fact:
        last = parts[-1]
        key = "open current" if last.type == "LEFT_OPEN_CURRENT" else "open size"
        return Fact(key, (last.value,), parts[0].start, last.end)

    def range(self, parts: list[Token]) -> Fact:
        return Fact("voltage range", (parts[0].value, parts[2].value), parts[0].start, parts[2].end)

    def stretch(self, parts: list[Token]) -> Fact:
        return Fact("route", (parts[0].value, parts[2]), parts[0].start, parts[2].end)

    def word(self, parts: list[Token]) -> Fact:
        token = parts[0]
        key, value = FLAGS[token.type]
        return Fact(key, (value,), token.start, token.end)

    def setting(self, parts: list[Any]) -> Fact:
        first = last = parts[0]
        values: list[Any] = []
        for part in parts[1:]:
            if part is None:
                values.append(None)
            else:
                last = part
                if part.type not in _LITTLE_WORDS:
                    # a name is kept with its place, anything else by its value
                    values.append(part if part.type in _WITH_PLACE else part.value)
        key = SETTINGS.get(first.type, first.value)
        if first.type == "RETURN":
            key = "return length" if last.type == "LENGTH" else "return size"
        return Fact(key, tuple(values), first.start, last.end)

    def covered(self, parts: list[Token]) -> Fact:
        return Fact("covering", (parts[1].value,), parts[0].start, parts[1].end)

    def counted(self, parts: list[Token]) -> Fact:
        return Fact(parts[1].value, (parts[0].value,), parts[0].start, parts[1].end)

    def text(self, parts: list[Token]) -> Fact:
        return Fact("text", (parts[0].value,), parts[0].start, parts[0].end)

    def asks_device(self, parts: list[Any]) -> Fact:
        kept = [p for p in parts[1:] if p is not None and p.type != "TO"]
        words_ = tuple(p for p in kept if p.type != "CURRENT")
        currents = [p.value for p in kept if p.type == "CURRENT"]
        return Fact("asks device", (words_, currents[0], currents[-1]), parts[0].start, kept[-1].end)

    def backed(self, parts: list[Token]) -> Fact:
        words_ = tuple(parts[5:-1])
        values = (words_, parts[1].value, parts[3].value, parts[-1].value)
        return Fact("backed", values, parts[0].start, parts[-1].end)

    def asks_cable(self, parts: list[Token]) -> Fact:
        return Fact("asks cable", (parts[3].value,), parts[0].start, parts[3].end)

    def on(self, parts: list[Token]) -> Fact:
        return Fact("on item", (parts[0],), parts[0].start, parts[0].end)

    def at(self, parts: list[Token]) -> Fact:
        return Fact("at item", (parts[0], parts[2].value), parts[0].start, parts[2].end)

    def state(self, parts: list[Token]) -> Fact:
        return Fact("state item", (parts[0], parts[1].value), parts[0].start, parts[1].end)


_WITH_PLACE = frozenset({"NAME", "PATH"})
_LITTLE_WORDS = frozenset({"TO", "AT", "FOR", "IN", "A_DAY"})


def _statement(word: Token, name: Token | None, label: str | None, facts: list[Fact]) -> Statement:
    made = Statement(word.value, word.start, (name or word).end, name, label)
    if facts:
        made.end = facts[-1].end
        for fact in facts:
            if fact.key == "unread":
                made.damaged = True
                facts = [f for f in facts if f.key != "unread"]
                break
        made.facts = tuple(facts)
    return made


@cache
def _automaton() -> Automaton:
    return automaton(tables(grammar_text()), _Build())


STATEMENTS_A_REPORT = 5_000


def _watched(statements: Iterator[list[Token]], size: int, progress: Callable[[float], None]) -> Iterator[list[Token]]:
    """The same statements, with a word on how far they have come."""
    for number, statement in enumerate(statements):
        if number % STATEMENTS_A_REPORT == 0:
            progress(statement[0].start / max(size, 1))
        yield statement


def parse(name: str, text: str, progress: Callable[[float], None] | None = None) -> SourceFile:
    """The statements of ``text``; ``name`` is how the file is called to the user.

    Never raises on any text: what cannot be read becomes a Mistake, and costs the fact or the line it is in.
    ``progress`` is told now and then which share of the text has been read.
    """
    text = text.removeprefix("\ufeff").replace("\r\n", "\n")
    source = SourceFile(Text(name, text))
    tables = _automaton()
    run = Run(tables, [tables.start])
    guess = Guesser()
    statements = scan_statements(text)
    with collector_at_rest():
        for statement in statements if progress is None else _watched(statements, len(text), progress):
            if not run.take_whole(statement):
                take_in_pieces(statement, run, source, guess)
        source.statements = run.finish()
    for index, made in enumerate(source.statements):
        if made.kind in LOOKED_AT:
            source.statements[index] = looked_at(made, source)
    for at, code in hidden_in_comments(text):
        message = f"the hidden character U+{code:04X} stands in a comment; remove it"
        source.mistakes.append(Mistake(source.span(at, at + 1), message, loses=False))
    return source
