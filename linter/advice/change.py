"""A change to a design's facts as somebody writes it at the command line: 'fuse F7 rating 15 A'.

It is read as one statement of the language, by the parser that reads files.  To be easier said than written, the kind
of thing may be left out, the comma behind the name too, and `rating`, `size` or `length` may stand before the quantity
that tells by its unit what it is.
"""

from __future__ import annotations

import re
from collections.abc import Callable, Iterable, Mapping, Sequence
from dataclasses import dataclass, replace

from linter.advice.ask import HOW_OTHERS, example, how, near_names
from linter.advice.figure_said import wrong_figure
from linter.advice.overlay import declaring
from linter.model.build import ELEMENTS
from linter.model.facts import OPEN, checked, same
from linter.source.files import DesignSource
from linter.source.guess import Guesser
from linter.source.parser import parse
from linter.source.span import Mistake, Span, Text
from linter.source.statements import Fact, SourceFile, Statement, restated
from linter.source.words import CLASSES, FITS, REPEATABLE, WRITTEN

#: How such a change is shown where a file's name would stand.
SHOWN = "--with"

Declared = Mapping[tuple[str, str], tuple[Statement, SourceFile]]

_SORTS = frozenset({"place", "system", "part"})
#: What has no name to be spoken of by, or is no fact of a thing.
_OTHERS = frozenset({"boat", "cables", "scene", "accept", "from", "to", "use", "rulebook"})
_NAME = re.compile(r"[^\W\d][\w-]*")
_SPACE = re.compile(r"[ \t]*")
#: Said before a quantity, and left out of the statement; `size ?` is the language's own.
_FILLER = re.compile(r"(?<![\w-])(?P<word>rating|rated|size|length)(?P<gap>[ \t]+(?=[0-9])|[ \t]*(?=,|\Z))")
#: Said between a name, or one of those words, and what it becomes.
_BECOMES = re.compile(
    r"(?P<before>\A|(?<![\w-])(?:rating|rated|size|length))(?P<word>[ \t]*[:=]|[ \t]+(?:to|is|be|becomes)(?=[ \t]))"
)
#: Said before the name of what changes.
_CHANGES = re.compile(r"[ \t]*(?P<word>set|change|make)[ \t]+(?=[^\W\d])")
#: What no change of a fact is.
_TAKEN_OUT = frozenset({"remove", "delete", "without", "drop", "add", "new", "insert", "replace", "rename"})
#: What each of them says -> the key of the fact it may stand before.
_MEANS = {"rating": "current", "rated": "current", "size": "area", "length": "length"}
_FIGURE = {"current": "15 A", "area": "35 mm2", "length": "9.5 m"}
_QUOTED = re.compile(r'"[^"]*"?')
#: `class ANL`, `class bolt-down strip`; class T is written so, and is no mistake.
_CLASS = re.compile(r"(?<![\w-])class[ \t]+(?P<word>[^\W\d][\w-]*(?:[ \t]+(?:blade|strip)(?![\w-]))?)", re.IGNORECASE)
_SHOWN_WITH = re.compile(r"( does not take [^()]*) \([^()]*\)\Z")
_ENDS = re.compile(r"[\n\r]")


class BadChange(ValueError):
    """A change that cannot be read, or that the design does not take; ``mistakes`` point into what was written."""

    def __init__(self, mistakes: Sequence[Mistake]) -> None:
        super().__init__("; ".join(m.message for m in mistakes))
        self.mistakes = tuple(mistakes)


@dataclass(slots=True)
class Reading:
    """One change as written, with the facts that it reads as."""

    text: Text
    sort: str
    name: str
    facts: dict[str, tuple[Fact, ...]]

    def span(self) -> Span:
        return Span(self.text, 0, len(self.text.text))


def readings(source: DesignSource, written: Sequence[str]) -> list[Reading]:
    """The changes, each as it reads.  Raises BadChange."""
    declared = declaring(source)
    wrong: list[Mistake] = []
    found = []
    for number, text in enumerate(written, 1):
        try:
            found.append(_read(declared, Text(SHOWN if len(written) == 1 else f"{SHOWN} {number}", text)))
        except BadChange as problem:
            wrong += problem.mistakes
    if wrong:
        raise BadChange(wrong)
    return found


def merged(found: Iterable[Reading]) -> dict[tuple[str, str], dict[str, tuple[Fact, ...]]]:
    """All changes by what they are of.  Raises BadChange where two say another thing of the same fact."""
    made: dict[tuple[str, str], dict[str, tuple[Fact, ...]]] = {}
    first: dict[tuple[str, str, str], Reading] = {}
    for one in found:
        facts = made.setdefault((one.sort, one.name), {})
        for key, said in one.facts.items():
            if key not in facts:
                facts[key] = said
                first[one.sort, one.name, key] = one
            elif key in REPEATABLE:
                facts[key] += said
            elif not same(facts[key][0].values, said[0].values):
                earlier = first[one.sort, one.name, key]
                words = [_words(facts[key][0], earlier), _words(said[0], one)]
                message = f"{one.name}: {words[0]} by {earlier.text.name} and {words[1]} by {one.text.name}"
                raise BadChange([Mistake(one.span(), message, "keep one of the two; ask about each by itself")])
    return made


def _words(fact: Fact, reading: Reading) -> str:
    said = getattr(fact, "said", None) or reading.span()
    return str(said.text.text[said.start : said.end])


def _read(declared: Declared, text: Text) -> Reading:
    written = text.text
    everything = Span(text, 0, len(written))
    if _ENDS.search(written.strip()):
        raise BadChange([Mistake(everything, "a change is one line", f"repeat --with for another; {how(declared)}")])
    sort, kind, name, name_end = _subject(text, declared)
    statement, _ = declared[sort, name]
    of = statement.part_of or kind
    # what the statement begins with, and what of the written text follows it, in place
    head = f"part {name}, {statement.part_of}" if sort == "part" else f"{kind} {name}"
    said = _BECOMES.sub(lambda m: m["before"] + " " * len(m["word"]), written[name_end:])
    rest, words = _plain(_separated(said, sort == "part", statement.part_of))
    asked = f"write for instance {example(name, of)}"
    fitting = [word for word, _ in words if _MEANS[word] in FITS.get(of, ())]
    if fitting:
        asked = f"write for instance --with '{name} {fitting[0]} {_FIGURE[_MEANS[fitting[0]]]}'"
    if not rest.strip(" \t,"):
        behind = f" behind {words[-1][0]!r}" if words else ""
        raise BadChange([Mistake(everything, f"nothing is said of {name}{behind}", asked)])
    wrong_one = wrong_figure(text, name_end, name, of, {n for _, n in declared})
    if wrong_one is not None:
        raise BadChange([wrong_one])
    parsed = parse(text.name, f"{head}{rest}\n")
    shift = name_end - len(head) + len(said) - len(rest)

    def here(start: int, end: int) -> Span:
        return _shifted(text, start, end, shift)

    if parsed.mistakes:
        _class_said(text, name, of, name_end)
        placed = [replace(m, span=here(m.span.start, m.span.end), related=()) for m in parsed.mistakes]
        raise BadChange([_with_example(m, asked, bool(fitting)) for m in placed])
    made = next((s for s in parsed.statements if s.name is not None and s.name.value == name), None)
    if made is None or len(parsed.statements) != 1 or made.label is not None:
        raise BadChange([Mistake(everything, "this is no change of facts", asked)])
    wrong: list[Mistake] = []
    checked(made, of, parsed, wrong.append, Guesser())
    placed = [replace(m, span=here(m.span.start, m.span.end), related=()) for m in wrong]
    placed = _mismatched(made, [(word, len(head) + at) for word, at in words], here) or placed
    placed += [
        Mistake(here(f.start, f.end), f"{name} would be left open, which nothing can be reckoned with",
                f"give the figure; `wireworthy size DESIGN {name}` chooses one")
        for f in made.facts if f.key in OPEN
    ]  # fmt: skip
    if placed:
        raise BadChange([_with_example(m, asked, bool(fitting)) for m in placed])
    facts: dict[str, tuple[Fact, ...]] = {}
    for fact in made.facts:
        facts[fact.key] = (*facts.get(fact.key, ()), restated(fact, fact.start, fact.end, here(fact.start, fact.end)))
    return Reading(text, sort, name, facts)


def _class_said(text: Text, name: str, kind: str, name_end: int) -> None:
    """Where `class` stands before a device's class as it does before class T alone.  Raises BadChange."""
    said = _CLASS.search(text.text, name_end)
    if said is None or kind not in CLASSES:
        return
    span = Span(text, said.start(), said.end())
    written = {c.removeprefix("class ").casefold(): c for c in CLASSES[kind]}
    meant = written.get(said["word"].casefold())
    if meant is None:
        listed = " or ".join(f"`{name} {c}`" for c in CLASSES[kind])
        raise BadChange([Mistake(span, f"there is no class {said['word'][:40]!r} of a {kind}", f"write {listed}")])
    raise BadChange([Mistake(span, f"a {kind}'s class is told by its name alone", f"write `{name} {meant}`")])


def _with_example(mistake: Mistake, asked: str, fitting: bool = False) -> Mistake:
    """A mistake with an example that works, where what is to be done is a list, or nothing is said of it; and without
    the figures that a kind of fact is shown with, which nobody wrote here."""
    mistake = replace(mistake, message=_SHOWN_WITH.sub(r"\1", mistake.message))
    if mistake.mend in ("", "correct the figure"):
        return replace(mistake, mend=asked)
    if " takes: " not in mistake.mend:
        return mistake
    return replace(mistake, mend=asked if fitting else f"{asked}; {mistake.mend}")


def _mismatched(made: Statement, words: list[tuple[str, int]], here: Callable[[int, int], Span]) -> list[Mistake]:
    """Where `size`, `length` or `rating` is said of a figure that is none."""
    found = []
    for word, at in words:
        after = next((f for f in made.facts if f.start >= at), None)
        kind, name = made.part_of or made.kind, str(made.name.value) if made.name is not None else ""
        if after is None or after.key in {"open size", "open current"}:
            continue
        if after.key == _MEANS[word] and after.key in FITS.get(kind, ()):
            continue
        place = here(after.start, after.end)
        shown = place.text.text[place.start : place.end]
        if _MEANS[word] in FITS.get(kind, ()):
            message = f"{word} is said of {shown!r}; behind it stands {WRITTEN[_MEANS[word]]}"
            asked = f"write for instance --with '{name} {word} {_FIGURE[_MEANS[word]]}'"
        else:
            message, asked = f"a {kind} has no {word}", f"write for instance {example(name, kind)}"
        found.append(Mistake(place, message, asked))
    return found


def _subject(text: Text, declared: Declared) -> tuple[str, str, str, int]:
    """(sort of name, kind, name, where the name ends) of what is spoken of."""
    written = text.text
    begun = _CHANGES.match(written)
    at = _after_space(written, 0)
    if begun is not None and not any(name == begun["word"] for _, name in declared):
        at = begun.end()
    first = _NAME.match(written, at)
    if first is None:
        span = Span(text, 0, len(written))
        raise BadChange([Mistake(span, "a change begins with the name of what changes", how(declared))])
    word = first[0]
    second = _NAME.match(written, _after_space(written, first.end()))
    span = Span(text, first.start(), first.end())
    found = [key for key in declared if key[1] == word]
    if (word in ELEMENTS or word in _SORTS) and second is not None:
        sort = "element" if word in ELEMENTS else word
        there = Span(text, second.start(), second.end())
        here = [key for key in declared if key[1] == second[0]]
        if (sort, second[0]) in declared:
            statement = declared[sort, second[0]][0]
            if sort == "element" and statement.kind != word:
                mend = f"leave the kind out, or write {statement.kind} {second[0]}; a kind cannot be changed so"
                raise BadChange([Mistake(span, f"{second[0]} is a {statement.kind}, no {word}", mend)])
            return sort, statement.kind, second[0], second.end()
        raise BadChange([_unknown(there, second[0], sort if sort != "element" else word, declared, here)])
    if not found and second is not None and word.casefold() in _TAKEN_OUT:
        raise BadChange([Mistake(span, f"--with changes facts; it does not {word} things", HOW_OTHERS)])
    if not found and word in _OTHERS:
        raise BadChange([Mistake(span, f"--with changes facts of what has a name, not {word!r}", HOW_OTHERS)])
    if not found:
        raise BadChange([_unknown(span, word, "", declared, [])])
    if len(found) > 1:
        kinds = " or ".join(declared[key][0].kind for key in found)
        raise BadChange([Mistake(span, f"{word} is the name of several things", f"write {kinds} before it")])
    statement = declared[found[0]][0]
    return found[0][0], statement.kind, word, first.end()


def _unknown(span: Span, name: str, kind: str, declared: Declared, here: list[tuple[str, str]]) -> Mistake:
    if here:
        what = declared[here[0]][0].kind
        return Mistake(span, f"{name} is a {what}, no {kind}", f"write {what} {name}")
    near = near_names(name, kind, declared)
    return Mistake(span, f"there is no {kind or 'element, place, system or part'} {name[:80]}", near or how(declared))


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


def _plain(rest: str) -> tuple[str, list[tuple[str, int]]]:
    """Without the words that may stand before a quantity, blanks in their place, so that columns stay; and those
    words with where they end."""
    quoted = [(m.start(), m.end()) for m in _QUOTED.finditer(rest)]
    words: list[tuple[str, int]] = []

    def blank(found: re.Match[str]) -> str:
        if any(start <= found.start() < end for start, end in quoted):
            return found[0]
        words.append((found["word"], found.end()))
        return " " * len(found[0])

    return _FILLER.sub(blank, rest), words


def _shifted(text: Text, start: int, end: int, shift: int) -> Span:
    most = len(text.text)
    start = min(max(start + shift, 0), most)
    return Span(text, start, min(max(end + shift, start), most))
