"""Tokens to statements by lark's LALR tables, with recovery that costs one fact or one line."""

from __future__ import annotations

import difflib
import gc
from functools import cache
from typing import Any

from lark.exceptions import UnexpectedToken

from linter.source.grammar import compile_grammar, words
from linter.source.scanner import Token, scan
from linter.source.span import Mistake, Text
from linter.source.units import UNITS
from linter.source.statements import Fact, SourceFile, Statement
from linter.source.words import FITS, FLAGS, TERMINALS


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

    def facts(self, parts: list[Fact]) -> list[Fact]:
        return parts

    # -- facts ------------------------------------------------------------------------------------
    def unread(self, parts: list[Token]) -> Fact:
        return Fact("unread", (), parts[0].start, parts[0].end)

    def quantity(self, parts: list[Token]) -> Fact:
        token = parts[0]
        return Fact(token.type.lower(), (token.value,), token.start, token.end)

    def range(self, parts: list[Token]) -> Fact:
        return Fact("voltage range", (parts[0].value, parts[2].value), parts[0].start, parts[2].end)

    def stretch(self, parts: list[Token]) -> Fact:
        return Fact("route", (parts[0].value, parts[2]), parts[0].start, parts[2].end)

    def word(self, parts: list[Token]) -> Fact:
        token = parts[0]
        key, value = FLAGS[token.type]
        return Fact(key, (value,), token.start, token.end)

    def setting(self, parts: list[Any]) -> Fact:
        first = parts[0]
        key = _SETTINGS.get(first.type, first.value)
        if first.type == "RETURN":
            key = "return length" if parts[1].type == "LENGTH" else "return size"
        values = tuple(_value(p) for p in parts[1:] if p is None or p.type not in _LITTLE_WORDS)
        return Fact(key, values, first.start, max(p.end for p in parts if p is not None))

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

    def asks_cable(self, parts: list[Token]) -> Fact:
        return Fact("asks cable", (parts[3].value,), parts[0].start, parts[3].end)

    def on(self, parts: list[Token]) -> Fact:
        return Fact("on item", (parts[0],), parts[0].start, parts[0].end)

    def at(self, parts: list[Token]) -> Fact:
        return Fact("at item", (parts[0], parts[2].value), parts[0].start, parts[2].end)

    def state(self, parts: list[Token]) -> Fact:
        return Fact("state item", (parts[0], parts[1].value), parts[0].start, parts[1].end)


_LITTLE_WORDS = frozenset({"TO", "AT", "FOR", "IN", "A_DAY"})
_SETTINGS = {
    "CRANKING": "cranking current", "IN": "place", "CLASS": "stranding", "BUNDLE_OF": "bundle", "FOR": "duration",
    "SHORT_CIRCUIT": "short-circuit",
}  # fmt: skip


def _value(token: Token | None) -> Any:
    """What a fact keeps of a token: a name with its place, anything else by value."""
    if token is None or token.type in {"NAME", "PATH"}:
        return token
    return token.value


def _statement(word: Token, name: Token | None, label: str | None, facts: list[Fact]) -> Statement:
    end = facts[-1].end if facts else (name or word).end
    damaged = False
    if facts:
        read = tuple(f for f in facts if f.key != "unread")
        damaged = len(read) != len(facts)
        return Statement(word.value, word.start, end, name, label, read, damaged=damaged)
    return Statement(word.value, word.start, end, name, label)


@cache
def _lark() -> Any:
    return compile_grammar(_Build())


def parse(name: str, text: str) -> SourceFile:
    """The statements of ``text``; ``name`` is how the file is called to the user.

    Never raises on any text: what cannot be read becomes a Mistake, and costs the fact or the line it is in.
    """
    text = text.removeprefix("\ufeff").replace("\r\n", "\n")
    source = SourceFile(Text(name, text))
    interactive = _lark().parse_interactive()
    state = interactive.parser_state
    feed = state.feed_token
    tokens = scan(text)
    # Building hundreds of thousands of small objects that all stay: the collector would only look in vain.
    collecting = gc.isenabled()
    gc.disable()
    try:
        kind = ""
        first: Token | None = None
        before: Token | None = None
        for token in tokens:
            if first is None:
                first, kind = token, str(token.value)
            try:
                if token.type == "BAD":
                    raise UnexpectedToken(token, set())  # the scanner says what is wrong
                feed(token)
                if token.type == "_NL":
                    first = None
                before = token
            except UnexpectedToken:
                message, mend = _explain(token, interactive, kind, token is first)
                if before is not None and before.type == "INT" and interactive.accepts() <= {"PARALLEL", "SERIES"}:
                    message, mend = _no_unit(before, token)
                    token.start = before.start
                end = min(max(token.end, token.start + 1), token.start + 200)
                source.mistakes.append(Mistake(source.span(token.start, end), message, mend))
                in_fact = _unwind(state)
                feed(Token("BAD", "", token.start, token.end))
                while token.type != "_NL" and not (in_fact and token.type == "_SEP"):
                    token = next(tokens)
                feed(token)
                if token.type == "_NL":
                    first = None
        source.statements = feed(Token("$END", "", len(text), len(text)), True)
    finally:
        if collecting:
            gc.enable()
    return source


def _unwind(state: Any) -> bool:
    """Drop what was begun until the parser would take a BAD; whether that is a fact (else it is a whole line)."""
    states = state.parse_conf.states
    while "BAD" not in states[state.state_stack[-1]]:
        state.state_stack.pop()
        if state.value_stack:
            state.value_stack.pop()
    # Where a statement may begin, so may the word "boat"; where a fact may, it may not.
    return "BOAT" not in states[state.state_stack[-1]]


def _explain(token: Token, interactive: Any, kind: str, first: bool) -> tuple[str, str]:
    """What is wrong at ``token`` and what would fit there."""
    if token.type == "BAD":
        return token.value, ""
    accepts: set[str] = interactive.accepts()
    fitting = {w for w, t in words().items() if t in accepts}
    facts = "TINNED" in accepts
    if facts and kind in FITS:
        # The grammar takes any fact anywhere; the table knows which of them belong here.
        fitting = {w for w in fitting if _belongs(words()[w], kind)}
    found = {"_NL": "the line ends", "_SEP": "a comma stands"}.get(token.type, f"{str(token.value)[:40]!r} stands")
    if token.type == "NAME" or first:
        near = difflib.get_close_matches(str(token.value), fitting, n=1, cutoff=0.6)
        guess = f"did you mean {near[0]}?" if near else ""
    elif "NAME" in accepts and token.type in words().values():
        guess = f"{token.value} is a word of the language; a name looks different (capitals: {str(token.value).upper()})"
    else:
        guess = ""
    if first:
        return f"no statement begins with {str(token.value)[:40]!r}", guess or _listing(fitting)
    if facts:
        wanted = f"a fact of a {kind}" if kind else "a fact"
        return f"{found} where {wanted} belongs", guess or takes(kind)
    named = sorted(TERMINALS[t] for t in accepts if t in TERMINALS) + sorted(fitting)
    if accepts >= {"_SEP", "_NL"}:
        return f"{found} where a comma or the end of the line belongs", guess or "facts are separated by commas"
    return f"{found} where {_or(named)} belongs", guess


def _no_unit(number: Token, after: Token) -> tuple[str, str]:
    """A bare number where a quantity belongs, perhaps with a unit that nobody knows behind it."""
    if after.type == "NAME" and after.start - number.end <= 1:
        near = difflib.get_close_matches(after.value, UNITS, n=1, cutoff=0.3)
        message = f"{number.value} {after.value[:20]}: there is no unit {after.value[:20]}"
        return message, f"did you mean {near[0]}?" if near else "units are " + ", ".join(UNITS)
    return f"{number.value} has no unit", f"every figure carries its unit, for instance {number.value} A"


def _belongs(terminal: str, kind: str) -> bool:
    key = FLAGS.get(terminal, ("", ""))[0]
    if key:
        return key in FITS[kind]
    word = terminal.replace("_", " ").lower()
    return any(key.split()[0] == word.split()[0] for key in FITS[kind]) or word == "in"


def takes(kind: str) -> str:
    """The facts a statement takes, in words."""
    from linter.source.words import WRITTEN

    return f"a {kind} takes: " + "; ".join(WRITTEN[k] for k in FITS[kind]) if kind in FITS else ""


def _listing(fitting: set[str]) -> str:
    return "a line begins with " + ", ".join(sorted(fitting))


def _or(options: list[str]) -> str:
    return options[0] if len(options) == 1 else ", ".join(options[:-1]) + " or " + options[-1] if options else "nothing"
