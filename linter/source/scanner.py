"""Characters to tokens.

The words come from the grammar and the units from their table.  Our own scanner, and not lark's, because a
quantity ("2/0 AWG", "1.6 mΩ") is one token whose type says what it measures, an indented line continues a
statement, and a large boat has millions of tokens: one regular expression reads them all.
"""

from __future__ import annotations

import re
from collections.abc import Iterator
from functools import cache
from itertools import chain
from typing import Any

from linter.source.grammar import words
from linter.source.guess import Guesser
from linter.source.units import UNITS, BadQuantity, Quantity, quantity


class Token:
    """A token as lark's parser wants it: ``type`` names the terminal; offsets are code points."""

    __slots__ = ("end", "start", "type", "value")

    def __init__(self, type: str, value: Any, start: int, end: int) -> None:
        self.type = type
        self.value = value
        self.start = start
        self.end = end


_BEFORE_COMMENT = re.compile(r'(?:[^"#\n]|"[^"\n]*+"?)*+#')


@cache
def _pattern() -> re.Pattern[str]:
    phrases = sorted((w for w in words() if " " in w), key=len, reverse=True)
    unit = "|".join(re.escape(u) for u in sorted(UNITS, key=len, reverse=True))
    phrase = "|".join(re.escape(p).replace("\\ ", "[ \\t]+") for p in phrases)
    # Blank and comment lines between a statement and the indented line that continues it belong to the joint.
    # Possessive quantifiers (Python 3.11) keep a long run of blanks linear.
    return re.compile(
        rf"""[ \t]*+(?:
          (?P<sep>,?[ \t]*+(?:\#[^\n]*+)?\n(?:[ \t]*+(?:\#[^\n]*+)?\n)*+[ \t]++(?=[^\s\#])|,)
        | (?P<nl>(?:\#[^\n]*+)?\n(?:[ \t]*+(?:\#[^\n]*+)?\n)*+)
        | (?P<date>[0-9]{{4}}-[0-9]{{2}}-[0-9]{{2}})(?![\w.])
        | (?P<quantity>(?P<number>[0-9]++(?:\.[0-9]++)?(?:/0)?)[ \t]*(?P<unit>{unit}))(?![\w²-])
        | (?P<int>[0-9]++)(?![\w./])
        | "(?P<string>[^"\n]*+)"
        | (?P<open>\?(?:[ \t]*(?:mm2|mm²|AWG|A))?)(?![\w²-])
        | (?P<phrase>{phrase})(?![\w-])
        | (?P<word>[^\W\d][\w-]*+)(?![./])
        | (?P<path>[^\W\d][\w-]*+[./][\w./-]*+|\.{{1,2}}/[\w./-]*+)
        | (?P<comment>\#[^\n]*+|\Z)
        | (?P<bad>"[^"\n]*+|[^\s,\#"]++|[^\S\n]|\n)
        )""",
        re.VERBOSE,
    )


GREATEST_DIGITS = 9

# Characters that have no place in a text a person reads: controls, and marks that turn the writing direction.
_HIDDEN = re.compile(
    r"[\x00-\x08\x0b-\x1f\x7f-\x9f\u00ad\u061c\u180e\u200b-\u200f\u2028-\u202e\u2060-\u206f\ufeff"
    r"\ufff9-\ufffb\ufffe\uffff\ud800-\udfff\U000e0000-\U000e007f]"
)


def scan(text: str) -> Iterator[Token]:
    """Tokens of ``text``, as `scan_statements` finds them, in one row."""
    return chain.from_iterable(scan_statements(text))


def scan_statements(text: str) -> Iterator[list[Token]]:
    """Tokens of ``text`` by statement, ended by ``_NL``.  What fits nowhere comes as ``BAD``, its value a message.

    Linear in the length of the text.  ``text`` has its line ends already as ``\\n``.
    """
    keyword = words().get
    phrases = {" ".join(w.split()): t for w, t in words().items() if " " in w}
    quantities: dict[str, Token | Quantity | str] = {}
    guess = Guesser()
    statement: list[Token] = []
    # where the last comma ended, and how many stood in a row there
    comma_end, commas = -1, 0
    for match in _pattern().finditer(text):
        kind = match.lastgroup
        assert kind is not None
        start, end = match.span(kind)
        if kind == "word":
            word = text[start:end]
            statement.append(Token(keyword(word, "NAME"), word, start, end))
        elif kind == "sep":
            commas = commas + 1 if match.start() == comma_end else 1
            comma_end = end
            if commas > 2:
                # of a row of commas the second is a mistake already; one is enough
                continue
            if statement:
                statement.append(Token("_SEP", ",", start, end))
            elif text[start] == ",":
                statement.append(Token("BAD", "a comma with nothing before it", start, start + 1))
            # else: an indented line that follows nothing; its words speak for themselves
        elif kind == "quantity":
            written = text[start:end]
            known = quantities.get(written)
            if known is None:
                try:
                    known = quantity(match["number"], match["unit"])
                except BadQuantity as problem:
                    known = str(problem)
                quantities[written] = known
            if isinstance(known, Quantity):
                statement.append(Token(known.kind, known, start, end))
            else:
                statement.append(Token("BAD", known, start, end))
        elif kind == "nl":
            if statement:
                statement.append(Token("_NL", "\n", start, start))
                yield statement
                statement = []
        elif kind != "comment":
            statement.append(_rarer(kind, match, phrases, guess))
    if statement:
        statement.append(Token("_NL", "\n", len(text), len(text)))
        yield statement


def hidden_in_comments(text: str) -> Iterator[tuple[int, int]]:
    """Where a comment holds a hidden character, and which: a reader would not see what the text says there.

    The first of each line only; what stands outside comments the tokens tell.
    """
    checked_to = -1
    for match in _HIDDEN.finditer(text):
        if match.start() < checked_to:
            continue
        start = text.rfind("\n", 0, match.start()) + 1
        end = text.find("\n", match.start())
        checked_to = len(text) if end < 0 else end
        comment = _BEFORE_COMMENT.match(text, start, checked_to)
        if comment is not None:
            found = _HIDDEN.search(text, comment.end(), checked_to)
            if found is not None:
                yield found.start(), ord(found[0])


def _rarer(kind: str, match: re.Match[str], phrases: dict[str, str], guess: Guesser) -> Token:
    """A text, a phrase, a bare number, a date, a path, or what is none of all that."""
    value, start, end = match[kind], match.start(kind), match.end()
    if kind == "string":
        hidden = _HIDDEN.search(value)
        if hidden is None:
            return Token("STRING", value, start - 1, end)
        at = start + hidden.start()
        return Token(
            "BAD", f"the hidden character U+{ord(hidden[0]):04X} has no place in a text; remove it", at, at + 1
        )
    if kind == "phrase":
        value = " ".join(value.split())
        return Token(phrases[value], value, start, end)
    if kind == "open":
        return _left_open(value, start, end)
    if kind == "int":
        if len(value) > GREATEST_DIGITS:
            return Token("BAD", "a number of more than nine digits is no figure from a boat", start, end)
        return Token("INT", value, start, end)
    if kind == "bad":
        # of something that cannot be seen, only its first character is shown
        return Token("BAD", _why_bad(value, guess), start, start + 1 if _is_hidden(value) else end)
    return Token(kind.upper(), value, start, end)  # DATE or PATH


def _left_open(written: str, start: int, end: int) -> Token:
    """A figure that is left open, to be chosen by reckoning: `?`, `? A`, `? mm2`, `? AWG`."""
    unit = written[1:].strip().replace("mm²", "mm2")
    kind = {"": "LEFT_OPEN", "A": "LEFT_OPEN_CURRENT"}.get(unit, "LEFT_OPEN_AREA")
    return Token(kind, f"? {unit}".rstrip(), start, end)


def _is_hidden(text: str) -> bool:
    return _HIDDEN.match(text) is not None or not text[0].isprintable()


_OTHER_DATE = re.compile(r"\d{1,4}[./]\d{1,2}[./]\d{1,4}", re.ASCII)


def _why_bad(text: str, guess: Guesser) -> str:
    """What is wrong with characters that no token begins with."""
    shown = text[:40] + ("…" if len(text) > 40 else "")
    if text[0] == '"':
        return 'the text is not closed; it ends with " on the same line'
    if text[0].isdecimal() and text[0].isascii():
        number = re.match(r"[\d.]+", text)
        unit = text[number.end() :] if number else ""
        if unit:
            near = guess.unit(unit)
            return f"{shown}: there is no unit {unit[:20]}{'; ' if near else ''}{near}"
        if _OTHER_DATE.fullmatch(text):
            return f"{shown}: a date is written year, month, day: 2027-04-01"
        return f"{shown}: every figure carries its unit, for instance {shown} A"
    if _is_hidden(text):
        return f"the hidden character U+{ord(text[0]):04X} has no place here; remove it"
    return f"{shown} means nothing here"
