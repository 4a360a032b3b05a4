"""What is said of a token that does not fit, and of what would."""

from __future__ import annotations

import re
from functools import cache

from linter.source.automaton import Run
from linter.source.grammar import words
from linter.source.guess import Guesser
from linter.source.scanner import Token
from linter.source.span import Mistake
from linter.source.statements import SourceFile
from linter.source.units import BASE_UNIT, UNITS
from linter.source.words import FITS, FLAGS, SETTINGS, TERMINALS, WRITTEN, takes

_NAMES = "a name begins with a letter or _, and goes on with letters, digits, - and _: L1, PUMP-12V"
_BARE = re.compile(r"([0-9]+\.[0-9]+): every figure carries its unit")
_BEHIND_NUMBER = re.compile(r",(?P<decimal>[0-9]+)|[ \t]?(?P<unit>[^\W\d]\w*)")


def kind_of(statement: list[Token]) -> str:
    """The kind of thing whose facts a statement tells: its first word, of a part sheet the word behind its name."""
    first = str(statement[0].value)
    if first != "part":
        return first
    for token in statement[1:5]:
        if token.type != "NAME" and token.value in FITS:
            return str(token.value)
    return first


def unknown_fact(piece: list[Token], run: Run, kind: str) -> bool:
    """Whether ``piece``, which is being read, begins with a name where only a scene has names for facts."""
    return bool(piece) and piece[0].type == "NAME" and run.unwound()[1] and kind in FITS and kind != "scene"


def mistake_at(
    token: Token, run: Run, source: SourceFile, guess: Guesser, piece: list[Token], kind: str
) -> Mistake:  # fmt: skip
    """What is wrong at ``token``, where the pass is stuck behind ``piece`` of a fact."""
    start, end = token.start, token.end
    if unknown_fact(piece, run, kind):
        word = str(piece[0].value)
        mend_ = _phrase(source.text.text, piece[0].start) or meant(word, kind, guess)
        return Mistake(source.span(piece[0].start, piece[0].end), f"{word[:40]!r} is no fact of a {kind}", mend_)
    before = run.before
    fitting = run.fitting()
    if before is not None and before.type == "INT" and fitting <= {"PARALLEL", "SERIES"}:
        message, mend, end = _no_unit(before, source.text.text, guess, units_of(kind))
        start = before.start
    elif token.type == "INT" and not fitting.isdisjoint(BASE_UNIT):
        message, mend, end = _no_unit(token, source.text.text, guess, _units_at(fitting, kind))
    elif before is not None and before.type == token.type == "_SEP":
        message, mend = "two commas stand in a row", "take one away, or write what belongs between them"
    elif before is not None and before.type == "_SEP" and token.type == "_NL":
        message = "the line ends with a comma, but the next does not go on"
        start, mend = before.start, "indent the line that goes on, or take the comma away"
    else:
        message, mend = _explain(token, run, guess, kind)
    end = min(max(end, start + 1), start + 200)
    return Mistake(source.span(start, end), message, mend)


def _explain(token: Token, run: Run, guesser: Guesser, kind: str) -> tuple[str, str]:
    """What is wrong at ``token`` and what would fit there."""
    if token.type == "BAD":
        bare = _BARE.match(token.value)
        if bare is not None:
            # the scanner does not know what belongs there
            return f"{bare[1]} has no unit", _with_units(bare[1], _units_at(run.fitting(), kind))
        return token.value, _NAMES if run.fitting() <= {"NAME"} else ""
    first = token is run.first
    in_fact = run.unwound()[1]
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
    elif run.before is not None and run.before.type == "CLASS" and FLAGS.get(token.type, ("",))[0] == "class":
        guess = f"write {shown} without the word class before it"
    elif token.type == "STRING" and "NAME" in accepts:
        guess = "the name comes first, then its label in quotes"
    elif kind in {"from", "to"} and token.type != "STRING" and "NAME" not in accepts:
        guess = "a line says `from NAME` or `to NAME` and no more; behind a selector's name its terminal's number: S1 1"
    elif "NAME" in accepts and not facts and token.type == "PATH":
        plain = re.sub(r"[./]+", "-", shown).strip("-")
        guess = f"a name is made of letters, digits, - and _: {plain}"
        if kind in {"from", "to"}:
            guess += "; a selector's terminal is written S1 1"
    elif "NAME" in accepts and not facts and shown[:1].isdigit():
        guess = _NAMES
    elif token.type == "NAME" and run.before is not None and run.before.type == "NAME" and not in_fact:
        one = f"{run.before.value}-{shown}"
        guess = guesser.nearest(shown, fact_words(kind) if kind in FITS else ())
        guess = f"a comma is missing; {guess}" if guess else f"a name is one word: {one}; facts follow behind a comma"
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


def meant(word: str, kind: str, guess: Guesser) -> str:
    """What to write for a word that is no fact of this kind of statement: the nearest, else all that it takes."""
    from linter.source.slips import said_wrongly

    return said_wrongly(word) or guess.nearest(word, fact_words(kind)) or takes(kind)


@cache
def _fitting_words(accepts: frozenset[str], kind: str) -> tuple[str, ...]:
    """The words among the terminals, those that belong to a statement of that kind only (if any is given)."""
    return tuple(sorted(w for w, t in words().items() if t in accepts and (not kind or _belongs(t, kind))))


def _phrase(text: str, start: int) -> str:
    """The phrase of the language that stands at ``start`` but for its hyphens, blanks and capitals."""
    here = re.sub(r"[\s-]+", " ", text[start : start + 60]).casefold()
    for phrase in words():
        said = phrase.replace("-", " ").casefold()
        if here.startswith(said) and not here[len(said) : len(said) + 1].isalnum():
            return f"did you mean {phrase}?"
    return ""


#: So many units at most are offered for a figure that has none.
MOST_UNITS = 2
_KINDS = {
    "area": "mm2", "length": "m", "current": "A", "draws": "A", "voltage": "V", "charge": "Ah", "ambient": "°C",
    "insulation": "°C", "frequency": "Hz",
}  # fmt: skip


def units_of(kind: str) -> tuple[str, ...]:
    """The units of what a statement most says of a thing, for a figure without one."""
    found = dict.fromkeys(unit for key, unit in _KINDS.items() if key in FITS.get(kind, ()))
    return tuple(found)[:MOST_UNITS] or ("A",)


def _no_unit(
    number: Token, text: str, guess: Guesser, units: tuple[str, ...]
) -> tuple[str, str, int]:  # fmt: skip
    """A bare number where a quantity belongs, perhaps with a unit that nobody knows; and where it ends."""
    behind = _BEHIND_NUMBER.match(text, number.end)
    if behind is not None and behind["decimal"]:
        message = "a figure's decimals stand behind a point, not a comma"
        return message, f"write {number.value}.{behind['decimal'][:20]}", behind.end()
    if behind is not None and behind["unit"] not in words():
        unit = behind["unit"][:20]
        message = f"{number.value} {unit}: there is no unit {unit}"
        return message, guess.unit(unit) or "units are " + ", ".join(UNITS), behind.end()
    return f"{number.value} has no unit", _with_units(number.value, units), number.end


def _units_at(fitting: frozenset[str], kind: str) -> tuple[str, ...]:
    """The units of what may stand next; where nearly anything may, those of the kind of thing."""
    wanted = tuple(BASE_UNIT[t].replace("mm²", "mm2") for t in BASE_UNIT if t in fitting)
    return wanted if 0 < len(wanted) <= MOST_UNITS else units_of(kind)


def _with_units(number: str, units: tuple[str, ...]) -> str:
    return f"every figure carries its unit, for instance {_or([f'{number} {unit}'.rstrip() for unit in units])}"


def _belongs(terminal: str, kind: str) -> bool:
    """Whether a fact of a statement of this kind may begin with the terminal, a word."""
    if terminal == "PLACE":
        return False  # begins a statement only; the fact is written `in PLACE`
    word = terminal.replace("_", " ").lower()
    keys = {SETTINGS.get(terminal, word), FLAGS.get(terminal, ("", ""))[0]}
    if terminal in {"RETURN", "ASKS"}:
        keys = {key for key in WRITTEN if key.startswith(word)}
    return not keys.isdisjoint(FITS[kind])


@cache
def fact_words(kind: str) -> tuple[str, ...]:
    """The words with which a fact of a statement of this kind may begin."""
    return _fitting_words(frozenset(words().values()), kind)


def _or(options: list[str]) -> str:
    return options[0] if len(options) == 1 else ", ".join(options[:-1]) + " or " + options[-1] if options else "nothing"
