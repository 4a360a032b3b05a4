"""What would change if a fact were another: `check --with 'fuse F7 rating 15 A'`.  Nothing is written.

A change is read as one statement of the language, by the parser that reads files.  To be easier said than written, the
kind of thing may be left out, the comma behind the name too, and `rating`, `size` or `length` may stand before the
quantity that tells by its unit what it is.
"""

from __future__ import annotations

import datetime
import re
from collections.abc import Iterable, Sequence
from dataclasses import dataclass, replace

from linter.advice.overlay import declaring, overlaid
from linter.history.compare import Comparison, compared
from linter.history.sides import Side, Sides
from linter.model.build import ELEMENTS, build
from linter.model.design import Design
from linter.model.facts import checked
from linter.rules.engine import examine
from linter.rules.finding import Severity
from linter.rules.registry import Rule
from linter.source.files import DesignSource
from linter.source.guess import Guesser
from linter.source.parser import parse
from linter.source.span import Mistake, Span, Text
from linter.source.statements import Fact, SourceFile, Statement

#: How such a change is shown where a file's name would stand.
SHOWN = "--with"
HOW = "write for instance --with 'fuse F7 rating 15 A' or --with 'W9 size 35 mm2, 9.5 m'"

_SORTS = frozenset({"place", "system", "part"})
_NAME = re.compile(r"[^\W\d][\w-]*")
_SPACE = re.compile(r"[ \t]*")
#: Said before a quantity, and left out of the statement; `size ?` is the language's own.
_FILLER = re.compile(r"(?<![\w-])(?:rating|rated|size|length)(?=[ \t]+[0-9])")
_QUOTED = re.compile(r'"[^"]*"?')
_ENDS = re.compile(r"[\n\r]")


class BadChange(ValueError):
    """A change that cannot be read, or that the design does not take; ``mistakes`` point into what was written."""

    def __init__(self, mistakes: Sequence[Mistake]) -> None:
        super().__init__("; ".join(m.message for m in mistakes))
        self.mistakes = tuple(mistakes)


@dataclass(slots=True)
class WhatIf:
    """The design as it is beside the design as it would be."""

    written: tuple[str, ...]
    made: Comparison


@dataclass(slots=True)
class _Reading:
    """One change as written, with the statement that it reads as."""

    text: Text
    sort: str
    name: str
    facts: dict[str, tuple[Fact, ...]]

    def span(self, start: int = 0, end: int | None = None) -> Span:
        return Span(self.text, start, len(self.text.text) if end is None else end)


def changed(source: DesignSource, written: Iterable[str]) -> DesignSource:
    """The design's statements with the facts that are written in place of those of the same key.

    Of several changes to one name, a later one counts where both say the same fact.  Raises BadChange.
    """
    readings = [_read(source, text) for text in written]
    merged: dict[tuple[str, str], dict[str, tuple[Fact, ...]]] = {}
    for one in readings:
        merged.setdefault((one.sort, one.name), {}).update(one.facts)
    made = overlaid(source, merged)
    _not_taken(source, made, readings)
    return made


def what_if(
    source: DesignSource, written: Sequence[str], today: datetime.date | None = None,
    chosen: list[Rule] | None = None, severities: dict[str, Severity] | None = None,
) -> WhatIf:  # fmt: skip
    """Both designs examined by the same rules on the same day, and compared.  Raises BadChange."""
    other = changed(source, written)
    day = today or datetime.date.today()
    before, after = build(source), build(other)
    now = examine(after, chosen, day, None, severities)
    was = examine(before, chosen, day, None, severities, now.study)
    with Sides() as sides:
        old = replace(sides.of(before), shown="as it is")
        new: Side = replace(sides.of(after), shown=f"with {'; '.join(written)}")
        return WhatIf(tuple(written), compared(old, new, was, now))


# ---- reading ---------------------------------------------------------------------------------------------------------


def _read(source: DesignSource, written: str) -> _Reading:
    text = Text(SHOWN, written)
    if _ENDS.search(written.strip()):
        raise BadChange([Mistake(Span(text, 0, len(written)), "a change is one line", HOW)])
    declared = declaring(source)
    sort, kind, name, name_end = _subject(text, declared)
    statement, _ = declared[sort, name]
    # what the statement begins with, and what of the written text follows it, in place
    head = f"part {name}, {statement.part_of}" if sort == "part" else f"{kind} {name}"
    rest = _plain(_separated(written[name_end:], sort == "part", statement.part_of))
    if not rest.strip(" \t,"):
        raise BadChange([Mistake(Span(text, 0, len(written)), f"nothing is said of {name}", HOW)])
    parsed = parse(SHOWN, f"{head}{rest}\n")
    shift = name_end - len(head)
    if parsed.mistakes:
        raise BadChange([replace(m, span=_shifted(text, m.span, shift), related=()) for m in parsed.mistakes])
    made = next((s for s in parsed.statements if s.name is not None and s.name.value == name), None)
    if made is None or len(parsed.statements) != 1 or made.label is not None:
        raise BadChange([Mistake(Span(text, 0, len(written)), "this is no change of facts", HOW)])
    wrong: list[Mistake] = []
    checked(made, statement.part_of or made.kind, parsed, wrong.append, Guesser())
    if wrong:
        raise BadChange([replace(m, span=_shifted(text, m.span, shift), related=()) for m in wrong])
    facts: dict[str, list[Fact]] = {}
    for fact in made.facts:
        facts.setdefault(fact.key, []).append(fact)
    return _Reading(text, sort, name, {key: tuple(found) for key, found in facts.items()})


def _subject(text: Text, declared: dict[tuple[str, str], tuple[Statement, SourceFile]]) -> tuple[str, str, str, int]:
    """(sort of name, kind, name, where the name ends) of what is spoken of."""
    written = text.text
    at = _after_space(written, 0)
    first = _NAME.match(written, at)
    if first is None:
        raise BadChange([Mistake(Span(text, 0, len(written)), "a change begins with the name of what changes", HOW)])
    word = first[0]
    second = _NAME.match(written, _after_space(written, first.end()))
    found = [key for key in declared if key[1] == word]
    if (word in ELEMENTS or word in _SORTS) and second is not None:
        sort = "element" if word in ELEMENTS else word
        here = [key for key in declared if key[1] == second[0]]
        if (sort, second[0]) in declared:
            statement = declared[sort, second[0]][0]
            if sort == "element" and statement.kind != word:
                span = Span(text, first.start(), first.end())
                mend = f"leave the kind out, or write {statement.kind} {second[0]}; a kind cannot be changed so"
                raise BadChange([Mistake(span, f"{second[0]} is a {statement.kind}, no {word}", mend)])
            return sort, statement.kind, second[0], second.end()
        span = Span(text, second.start(), second.end())
        raise BadChange([_unknown(span, second[0], sort if sort != "element" else word, declared, here)])
    if not found:
        raise BadChange([_unknown(Span(text, first.start(), first.end()), word, "", declared, [])])
    if len(found) > 1:
        kinds = " or ".join(declared[key][0].kind for key in found)
        span = Span(text, first.start(), first.end())
        raise BadChange([Mistake(span, f"{word} is the name of several things", f"write {kinds} before it")])
    statement = declared[found[0]][0]
    return found[0][0], statement.kind, word, first.end()


def _unknown(
    span: Span, name: str, kind: str, declared: dict[tuple[str, str], tuple[Statement, SourceFile]],
    here: list[tuple[str, str]],
) -> Mistake:  # fmt: skip
    if here:
        what = declared[here[0]][0].kind
        return Mistake(span, f"{name} is a {what}, no {kind}", f"write {what} {name}")
    near = Guesser().nearest(name, [n for _, n in declared], 0.5)
    return Mistake(span, f"there is no {kind or 'element, place, system or part'} {name}", near or HOW)


def _after_space(text: str, at: int) -> int:
    found = _SPACE.match(text, at)
    return found.end() if found is not None else at


def _separated(rest: str, is_part: bool, part_of: str) -> str:
    """What follows the name, with a comma before its first fact; nothing else moves.  Of a part sheet the kind may
    be said again."""
    if is_part:
        said = re.match(rf"[ \t]*,?[ \t]*{re.escape(part_of)}(?![\w-])", rest)
        if said is not None and part_of:
            rest = " " * said.end() + rest[said.end() :]
    at = _after_space(rest, 0)
    if at >= len(rest) or rest[at] in ',"':
        return rest
    return "," + rest[1:] if at else "," + rest


def _plain(rest: str) -> str:
    """Without the words that may stand before a quantity; blanks in their place, so that columns stay."""
    quoted = [(m.start(), m.end()) for m in _QUOTED.finditer(rest)]

    def blank(found: re.Match[str]) -> str:
        inside = any(start <= found.start() < end for start, end in quoted)
        return found[0] if inside else " " * len(found[0])

    return _FILLER.sub(blank, rest)


def _shifted(text: Text, span: Span, shift: int) -> Span:
    most = len(text.text)
    start = min(max(span.start + shift, 0), most)
    return Span(text, start, min(max(span.end + shift, start), most))


def _not_taken(source: DesignSource, made: DesignSource, readings: Sequence[_Reading]) -> None:
    """What the changed design cannot be built with points to the change, as nothing of the file is wrong."""
    if not readings:
        return
    before = {m.message for m in build(source).mistakes}
    new = [m for m in build(made).mistakes if m.message not in before]
    if not new:
        return
    found = []
    for mistake in new:
        named = [r for r in readings if _about(r, mistake, made)]
        span = (named[-1] if named else readings[-1]).span()
        found.append(Mistake(span, mistake.message, mistake.mend, loses=mistake.loses))
    if any(m.loses for m in found):
        raise BadChange(found)


def _about(reading: _Reading, mistake: Mistake, made: DesignSource) -> bool:
    statement, file = declaring(made)[reading.sort, reading.name]
    return mistake.span.text is file.text and statement.start <= mistake.span.start <= statement.end


def design_of(source: DesignSource, written: Sequence[str]) -> Design:
    """The design with the changes, built.  Raises BadChange."""
    return build(changed(source, written))
