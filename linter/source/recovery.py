"""A statement with a mistake in it: what is said of it, and what is read all the same.

Where only commas are wrong it is plain what was meant, and it is read so, the mistake said.  Anything else costs the
fact it is in, or the line.
"""

from __future__ import annotations

import re
from collections.abc import Iterator
from dataclasses import replace
from typing import TYPE_CHECKING

from linter.source.automaton import Run
from linter.source.guess import Guesser
from linter.source.mending import Mend, Scene, mend, written
from linter.source.messages import kind_of, mistake_at, unknown_fact
from linter.source.scanner import Token
from linter.source.span import Mistake
from linter.source.statements import Fact, SourceFile, Statement

if TYPE_CHECKING:
    from linter.source.slips import Slip

_BLANKS = re.compile(r"[ \t]*")


class _Pieces(Iterator[Token]):
    """The tokens of a statement, and how many of them are read."""

    def __init__(self, statement: list[Token]) -> None:
        self.statement = statement
        self.read = 0

    def __next__(self) -> Token:
        if self.read >= len(self.statement):
            raise StopIteration
        self.read += 1
        return self.statement[self.read - 1]


#: What may read without a mistake and yet say something else than was meant.
LOOKED_AT = frozenset({"fuse", "breaker", "part", "cable"})
_SIZED = frozenset({"area", "part", "open size"})
_BEFORE_HASH = re.compile(r"[ \t]*,?[ \t]*(?=#)")


def looked_at(statement: Statement, source: SourceFile) -> Statement:
    """A statement that reads, as it was meant; a mistake where that is not what it says."""
    if statement.kind != "cable":
        return _ratings_joined(statement, source)
    if not statement.damaged and not any(fact.key in _SIZED for fact in statement.facts):
        # `cable W1 #10`: a cable without a size, and a comment
        text = source.text.text
        before = _BEFORE_HASH.match(text, statement.end)
        if before is None:
            return statement
        from linter.source.slips import slip_at

        slip = slip_at(text, before.end())
        if slip is not None:
            source.mistakes.append(Mistake(source.span(slip.start, slip.end), slip.message, slip.mend))
            return replace(statement, damaged=True)
    return statement


def _ratings_joined(statement: Statement, source: SourceFile) -> Statement:
    """`comes in 25 A, 40 A`: read word for word the second rating would be that of the thing itself.

    One rating alone is no choice, and a list rises; what goes on so behind a comma is meant as part of the list.  It is
    said, and read so.
    """
    facts = statement.facts
    at = next((n for n, fact in enumerate(facts) if fact.key == "comes in"), len(facts))
    if at + 1 >= len(facts) or facts[at + 1].key != "current":
        return statement
    text = source.text.text
    listed = facts[at]
    values, last = list(listed.values), at
    first_comma = text.find(",", listed.end, facts[at + 1].start)
    for n in range(at + 1, len(facts)):
        fact = facts[n]
        rises = fact.key == "current" and fact.values[0].value > values[-1].value
        if not rises or not text[facts[last].end : fact.start].lstrip().startswith(","):
            break
        values.append(fact.values[0])
        last = n
    if last == at:
        return statement
    shown = " ".join(str(v) for v in values)
    source.mistakes.append(
        Mistake(
            source.span(first_comma, first_comma + 1),
            "a comma stands within a fact: what follows it would be the rating",
            f"write `comes in {shown[:100]}`, without commas; a rating stands before `comes in`",
        )
    )
    made = Fact("comes in", tuple(values), listed.start, facts[last].end)
    return replace(statement, facts=(*facts[:at], made, *facts[last + 1 :]))


def take_in_pieces(statement: list[Token], run: Run, source: SourceFile, guess: Guesser) -> None:
    """Read a statement with a mistake in it; what can be read of it is."""
    tokens = _Pieces(statement)
    text = source.text.text
    mended_to = -1
    kind = kind_of(statement)
    while (stuck := run.take(tokens)) is not None:
        at = tokens.read - 1
        begins = at
        while begins > 0 and statement[begins - 1].type != "_SEP":
            begins -= 1
        slip = _slip(stuck, run, statement[0], text)
        if slip is not None:
            source.mistakes.append(Mistake(source.span(slip.start, slip.end), slip.message, slip.mend))
            if slip.start >= stuck.start and stuck.type not in {"_SEP", "_NL"} and "_SEP" in run.fitting():
                run.take(iter([Token("_SEP", ",", stuck.start, stuck.start)]))
            _park(stuck, tokens, run, text, slip.end)
            continue
        found = _mend(statement, begins, at, run, kind, begins - 1 != mended_to)
        if found is not None:
            source.mistakes.append(_mended(found, source))
            _read_mended(found, stuck, tokens, run, text)
            mended_to = found.until
            continue
        source.mistakes.append(mistake_at(stuck, run, source, guess, statement[begins:at], kind))
        if "_SEP" in run.fitting() and not unknown_fact(statement[begins:at], run, kind):
            # What stands before is complete and stays.
            run.take(iter([Token("_SEP", ",", stuck.start, stuck.start)]))
        _park(stuck, tokens, run, text, stuck.start)


def _read_mended(found: Mend, stuck: Token, tokens: _Pieces, run: Run, text: str) -> None:
    """Read on behind what a mend would put right; as mended, where that is plain, else what it is in is parked."""
    if not found.plain and not run.unwound()[1] and "_SEP" in run.fitting():
        # the statement's beginning is as it should be
        run.take(iter([Token("_SEP", ",", stuck.start, stuck.start)]))
    in_fact = run.unwound()[1]
    if not in_fact and not found.plain:
        _park(stuck, tokens, run, text, stuck.start)
        return
    run.unwind()
    if found.from_previous:
        run.values[-2].pop()
    tokens.read = found.until
    run.take(iter(found.tokens if found.plain else [Token("PARKED", "", stuck.start, stuck.end)]))


def _park(stuck: Token, tokens: _Pieces, run: Run, text: str, until: int) -> None:
    """What could not be read is parked, and reading goes on at the next fact behind ``until``, or the next line."""
    in_fact = run.unwind()
    token: Token | None = stuck
    while token is not None and token.type != "_NL":
        if token.type == "_SEP" and in_fact and token.start >= until and not _within_number(token, text):
            break
        token = next(tokens, None)
    run.take(iter([Token("PARKED", "", stuck.start, stuck.end), *([token] if token else [])]))


def _slip(stuck: Token, run: Run, first: Token, text: str) -> Slip | None:
    """What stands where reading is stuck, or before that, as people write it from habit."""
    # its patterns take longer to make than a right design to read
    from linter.source.slips import slip_at

    before = run.before
    if before is None or before.start < first.start:
        return slip_at(text, stuck.start) if stuck.type == "BAD" else None
    if stuck.type == "_NL" and before.type == "_SEP":
        # behind a comma the sign of a comment may be that of a number
        return slip_at(text, _BLANKS.match(text, before.end).end())  # type: ignore[union-attr]
    return slip_at(text, before.start, stuck.start)


def _mend(
    statement: list[Token], begins: int, at: int, run: Run, kind: str, with_previous: bool
) -> Mend | None:  # fmt: skip
    states, in_fact = run.unwound()
    if run.first is None or at == 0:
        return None
    return mend(Scene(run.automaton, states, statement, begins, at, kind, in_fact, with_previous))


def _mended(found: Mend, source: SourceFile) -> Mistake:
    """What is wrong, and the whole fact as it would be right."""
    text = source.text.text
    shown = written(found.tokens, text)
    if found.message.startswith("a comma stands"):
        mend_ = f"write `{shown}`, without {'a comma' if found.commas < 2 else 'commas'}"
    else:
        mend_ = f"write `{shown}`"
    start = found.at.start
    end = max(found.at.end, start + 1) if found.at.type != "_SEP" else start + 1
    return Mistake(source.span(start, min(end, start + 200)), found.message, mend_)


def _within_number(comma: Token, text: str) -> bool:
    """Whether a comma stands where a decimal point was meant, as in 2,5."""
    return text[comma.start - 1].isdecimal() and text[comma.end : comma.end + 1].isdecimal()
