"""Tokens to statements by lark's LALR tables, with recovery that costs one fact or one line."""

from __future__ import annotations

import re
from collections.abc import Callable, Iterator
from functools import cache
from typing import Any

from linter.source.automaton import Automaton, Run, automaton
from linter.source.collector import collector_at_rest
from linter.source.grammar import compile_grammar, words
from linter.source.guess import Guesser
from linter.source.scanner import Token, hidden_in_comments, scan_statements
from linter.source.span import Mistake, Text
from linter.source.statements import Fact, SourceFile, Statement
from linter.source.units import BASE_UNIT, UNITS
from linter.source.words import FITS, FLAGS, TERMINALS, WRITTEN, takes


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
        key = _SETTINGS.get(first.type, first.value)
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


_BEHIND_NUMBER = re.compile(r",(?P<decimal>[0-9]+)|[ \t]?(?P<unit>[^\W\d]\w*)")
_WITH_PLACE = frozenset({"NAME", "PATH"})
_LITTLE_WORDS = frozenset({"TO", "AT", "FOR", "IN", "A_DAY"})
_SETTINGS = {
    "CRANKING": "cranking current", "IN": "place", "CLASS": "stranding", "BUNDLE_OF": "bundle", "FOR": "duration",
    "SHORT_CIRCUIT": "short-circuit", "SIZE": "open size",
}  # fmt: skip


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
    return automaton(compile_grammar(_Build()))


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
                _take_in_pieces(statement, run, source, guess)
        source.statements = run.finish()
    for at, code in hidden_in_comments(text):
        message = f"the hidden character U+{code:04X} stands in a comment; remove it"
        source.mistakes.append(Mistake(source.span(at, at + 1), message, loses=False))
    return source


def _take_in_pieces(statement: list[Token], run: Run, source: SourceFile, guess: Guesser) -> None:
    """Read a statement with a mistake in it; what can be read of it is."""
    tokens = iter(statement)
    while (stuck := run.take(tokens)) is not None:
        source.mistakes.append(_mistake(stuck, run, source, guess))
        if "_SEP" in run.fitting():
            # What stands before is complete and stays.
            in_facts = run.in_fact()
            run.take(iter([Token("_SEP", ",", stuck.start, stuck.start)]))
            if not in_facts and stuck.type in run.fitting():
                # Only the comma behind the name is missing.
                run.take(iter([stuck]))
                continue
        # What could not be read is parked, and reading goes on at the next fact or the next line.
        in_fact = run.unwind()
        token: Token | None = stuck
        while token is not None and token.type != "_NL":
            if token.type == "_SEP" and in_fact and not _within_number(token, source.text.text):
                break
            token = next(tokens, None)
        run.take(iter([Token("PARKED", "", stuck.start, stuck.end), *([token] if token else [])]))


def _within_number(comma: Token, text: str) -> bool:
    """Whether a comma stands where a decimal point was meant, as in 2,5."""
    return text[comma.start - 1].isdecimal() and text[comma.end : comma.end + 1].isdecimal()


def _mistake(token: Token, run: Run, source: SourceFile, guess: Guesser) -> Mistake:
    """What is wrong at ``token``, where the pass is stuck."""
    start, end = token.start, token.end
    before = run.before
    fitting = run.fitting()
    if before is not None and before.type == "INT" and fitting <= {"PARALLEL", "SERIES"}:
        message, mend, end = _no_unit(before, source.text.text, guess)
        start = before.start
    elif token.type == "INT" and not fitting.isdisjoint(BASE_UNIT):
        message, mend, end = _no_unit(token, source.text.text, guess)
    elif before is not None and before.type == "_SEP" and token.type == "_NL":
        message = "the line ends with a comma, but the next does not go on"
        start, mend = before.start, "indent the line that goes on, or take the comma away"
    else:
        message, mend = _explain(token, run, guess)
    end = min(max(end, start + 1), start + 200)
    return Mistake(source.span(start, end), message, mend)


def _explain(token: Token, run: Run, guesser: Guesser) -> tuple[str, str]:
    """What is wrong at ``token`` and what would fit there."""
    if token.type == "BAD":
        return token.value, ""
    first = token is run.first
    kind = str(run.first.value) if run.first is not None else ""
    accepts = run.fitting()
    facts = "TINNED" in accepts
    # The grammar takes any fact anywhere; the table knows which of them belong here.
    fitting = _fitting_words(accepts, kind if facts and kind in FITS else "")
    shown = str(token.value)[:40]
    found = {"_NL": "the line ends", "_SEP": "a comma stands"}.get(token.type, f"{shown!r} stands")
    guess = ""
    if token.type == "LEFT_OPEN":
        guess = "a rating left open is written `? A`, a cable's size `size ?`"
    elif run.before is not None and run.before.type == "CLASS" and str(token.value) == "t":
        guess = "did you mean class T?"
    elif token.type == "STRING" and "NAME" in accepts:
        guess = "the name comes first, then its label in quotes"
    elif token.type == "NAME" or first:
        guess = guesser.nearest(str(token.value), fitting)
    elif "NAME" in accepts and token.type in words().values():
        guess = f"{shown} is a word of the language; a name looks different (capitals: {shown.upper()})"
    if first:
        return f"no statement begins with {shown!r}", guess or "a line begins with " + ", ".join(fitting)
    if facts:
        wanted = f"a fact of a {kind}" if kind else "a fact"
        return f"{found} where {wanted} belongs", guess or takes(kind)
    if accepts >= {"_SEP", "_NL"}:
        return f"{found} where a comma or the end of the line belongs", guess or "facts are separated by commas"
    named = sorted(TERMINALS[t] for t in accepts if t in TERMINALS)
    return f"{found} where {_or([*named, *fitting])} belongs", guess


@cache
def _fitting_words(accepts: frozenset[str], kind: str) -> tuple[str, ...]:
    """The words among the terminals, those that belong to a statement of that kind only (if any is given)."""
    return tuple(sorted(w for w, t in words().items() if t in accepts and (not kind or _belongs(t, kind))))


def _no_unit(number: Token, text: str, guess: Guesser) -> tuple[str, str, int]:
    """A bare number where a quantity belongs, perhaps with a unit that nobody knows; and where it ends."""
    behind = _BEHIND_NUMBER.match(text, number.end)
    if behind is not None and behind["decimal"]:
        message = "a figure's decimals stand behind a point, not a comma"
        return message, f"write {number.value}.{behind['decimal'][:20]}", behind.end()
    if behind is not None and behind["unit"] not in words():
        unit = behind["unit"][:20]
        message = f"{number.value} {unit}: there is no unit {unit}"
        return message, guess.unit(unit) or "units are " + ", ".join(UNITS), behind.end()
    return f"{number.value} has no unit", f"every figure carries its unit, for instance {number.value} A", number.end


def _belongs(terminal: str, kind: str) -> bool:
    """Whether a fact of a statement of this kind may begin with the terminal, a word."""
    if terminal == "PLACE":
        return False  # begins a statement only; the fact is written `in PLACE`
    word = terminal.replace("_", " ").lower()
    keys = {_SETTINGS.get(terminal, word), FLAGS.get(terminal, ("", ""))[0]}
    if terminal in {"RETURN", "ASKS"}:
        keys = {key for key in WRITTEN if key.startswith(word)}
    return not keys.isdisjoint(FITS[kind])


@cache
def fact_words(kind: str) -> tuple[str, ...]:
    """The words with which a fact of a statement of this kind may begin."""
    return _fitting_words(frozenset(words().values()), kind)


def _or(options: list[str]) -> str:
    return options[0] if len(options) == 1 else ", ".join(options[:-1]) + " or " + options[-1] if options else "nothing"
