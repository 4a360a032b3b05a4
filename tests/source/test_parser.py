"""Tokens to statements: what is understood, what a mistake costs, and what is said of it."""

from __future__ import annotations

import gc
from typing import Any

import pytest

from linter.source.grammar import words
from linter.source.messages import fact_words
from linter.source.parser import parse
from linter.source.scanner import Token
from linter.source.statements import Fact, Statement
from linter.source.units import Quantity
from linter.source.words import FITS, FLAGS, REPEATABLE, WRITTEN, takes


def one(text: str) -> Statement:
    source = parse("t", text)
    assert source.mistakes == []
    (statement,) = source.statements
    return statement


def said(text: str) -> list[tuple[str, str, str]]:
    """(the text a mistake points at, what is wrong, what to do)"""
    source = parse("t", text)
    return [(source.text.text[m.span.start : m.span.end], m.message, m.mend) for m in source.mistakes]


def plain(value: Any) -> Any:
    if isinstance(value, Token):
        return value.value
    if isinstance(value, Quantity):
        return str(value)
    return tuple(map(plain, value)) if isinstance(value, tuple) else value


def facts(text: str) -> list[tuple[Any, ...]]:
    return [(f.key, *(v for v in plain(f.values) if v is not None)) for f in one(text).facts]


# ---- every form of a fact: as written, and what it is read as
FORMS: dict[str, tuple[Any, ...]] = {
    "35 mm2": ("area", "35 mm²"), "2/0 AWG": ("area", "2/0 AWG"), "9.5 m": ("length", "9.5 m"),
    "12 V": ("voltage", "12 V"), "9 V to 32 V": ("voltage range", "9 V", "32 V"), "100 A": ("current", "100 A"),
    "60 W": ("power", "60 W"), "? A": ("open current", "? A"), "size ?": ("open size", "?"),
    "size ? AWG": ("open size", "? AWG"), "? mm²": ("open size", "? mm2"), "400 Ah": ("charge", "400 Ah"), "50 Hz": ("frequency", "50 Hz"),
    "2027-04-01": ("date", "2027-04-01"), "40 °C": ("temperature", "40 °C"), '"why"': ("text", "why"),
    "1.5 m in P": ("route", "1.5 m", "P"), "in P": ("place", "P"), "in sheath": ("covering", "sheath"),
    "in conduit": ("covering", "conduit"), "in enclosure": ("covering", "enclosure"),
    "rulebook r": ("rulebook", "r"), "part p": ("part", "p"), "on S": ("on", "S"),
    "file a/b.toml": ("file", "a/b.toml"), 'file "a b.toml"': ("file", "a b.toml"), "ambient 50 °C": ("ambient", "50 °C"),
    "insulation 105 °C": ("insulation", "105 °C"), "class 5": ("stranding", "5"), "class T": ("class", "class-t"),
    "greatest 14 V": ("greatest", "14 V"), "least 10 V": ("least", "10 V"),
    "resistance 1 mΩ": ("resistance", "1 mΩ"), "resistance 1 mΩ to 2 mΩ": ("resistance", "1 mΩ", "2 mΩ"),
    "short-circuit 5 kA": ("short-circuit", "5 kA"), "cranking": ("cranking", "yes"),
    "cranking 800 A": ("cranking current", "800 A"), "2 parallel": ("parallel", "2"), "3 series": ("series", "3"),
    "self-limiting": ("self-limiting", "yes"), "self-limiting 13 A": ("self-limiting", "13 A"),
    "gives 60 A": ("gives", "60 A"), "draws 75 A": ("draws", "75 A"), "draws 800 W": ("draws", "800 W"),
    "efficiency 90 %": ("efficiency", "90%"), "breaks 5 kA": ("breaks", "5 kA"),
    "breaks 5 kA at 32 V": ("breaks", "5 kA", "32 V"), "holder 30 A": ("holder", "30 A"), "curve C": ("curve", "C"),
    "lets through 2 kA2s": ("lets through", "2 kA²s"), "lets through 2 A²s at 5 kA": ("lets through", "2 A²s", "5 kA"),
    "carries 90 % at 60 °C": ("carries", "90%", "60 °C"),
    "breaks 9 kA at 32 V behind slow class T fuse 80 A": ("backed", ("slow", "class T", "fuse"), "9 kA", "32 V", "80 A"),
    "opens at 200 % in 1 s": ("opens", "200%", "1 s"), "opens at 200 % in 1 s to 2 s": ("opens", "200%", "1 s", "2 s"),
    "comes in 5 A 10 A": ("comes in", "5 A", "10 A"), "bundle of 4": ("bundle", "4"),
    "return 2 m": ("return length", "2 m"), "return 16 mm2": ("return size", "16 mm²"),
    "positions off 1 2 both": ("positions", "off", "1", "2", "both"), "drops 0.5 V": ("drops", "0.5 V"),
    "starts 240 A for 0.6 s": ("starts", "240 A", "0.6 s"), "runs 6 min a day": ("runs", "6 min"),
    "works from 10 V": ("works from", "10 V"), "for 8 h": ("duration", "8 h"), 'says "m"': ("says", "m"),
    'by "n"': ("by", "n"), "until 2027-04-01": ("until", "2027-04-01"),
    "asks fuse 5 A": ("asks device", ("fuse",), "5 A", "5 A"),
    "asks slow blade fuse 5 A to 10 A": ("asks device", ("slow", "blade", "fuse"), "5 A", "10 A"),
    "asks cable at least 35 mm2": ("asks cable", "35 mm²"), "X": ("on item", "X"), "X at 1": ("at item", "X", "1"),
    "X at both": ("at item", "X", "both"), "X off": ("state item", "X", "off"), "X open": ("state item", "X", "open"),
    "X closed": ("state item", "X", "closed"),
}  # fmt: skip


@pytest.mark.parametrize(("text", "expected"), FORMS.items())
def test_each_form_of_a_fact(text: str, expected: tuple[Any, ...]) -> None:
    assert facts(f"bus B, {text}") == [expected]


def test_every_key_is_read_from_some_form() -> None:
    words = {fact[0] for kind in FITS for word in fact_words(kind) for fact in facts_of_word(word)}
    assert {expected[0] for expected in FORMS.values()} | words == set(WRITTEN)


def facts_of_word(word: str) -> list[tuple[Any, ...]]:
    source = parse("t", f"bus B, {word}")
    return [] if source.mistakes else [(f.key,) for f in source.statements[0].facts]


@pytest.mark.parametrize("text", FORMS)
def test_a_fact_stands_where_it_is_written(text: str) -> None:
    written = f'bus B "l", 7 A, {text}, 9 A'
    fact = one(written).facts[1]
    assert written[fact.start : fact.end] == text


# ---- every form of a statement
@pytest.mark.parametrize(
    ("text", "kind", "name", "label"),
    [
        ('boat "T", 9 m', "boat", None, "T"),
        ('system D "d", 12 V', "system", "D", "d"),
        ("place P", "place", "P", None),
        ("cables, tinned", "cables", None, None),
        ("rulebook r, file a.toml", "rulebook", "r", None),
        ("use a.boat", "use", "a.boat", None),
        ('use "a b.boat"', "use", "a b.boat", None),
        ("from A", "from", "A", None),
        ("to A 2", "to", "A", None),
        ('scene "S", A', "scene", None, "S"),
        ('accept protection-distance at W, "r"', "accept", "protection-distance", None),
        ('accept fuse at "the whole boat", "r"', "accept", "fuse", None),
    ],
)
def test_each_form_of_a_statement(text: str, kind: str, name: str | None, label: str | None) -> None:
    statement = one(text)
    assert (statement.kind, statement.label, statement.damaged) == (kind, label, False)
    assert (str(statement.name.value) if statement.name else None) == name
    assert (statement.start, statement.end) == (0, len(text))


@pytest.mark.parametrize(
    "kind", sorted(set(FITS) - {"boat", "system", "place", "cables", "rulebook", "scene", "accept"})
)
def test_each_kind_of_element_and_its_part_sheet(kind: str) -> None:
    statement = one(f'{kind} X1 "label", part p')
    assert (statement.kind, statement.name and statement.name.value, statement.label) == (kind, "X1", "label")
    sheet = one(f'part p "sheet", {kind},\n  says "x"')
    assert (sheet.kind, sheet.part_of, [f.key for f in sheet.facts]) == ("part", kind, ["says"])


# ---- what is wrong, and what to do
MESSAGES: dict[str, tuple[str, str, str]] = {
    "cabel W": ("cabel", "no statement begins with 'cabel'", "did you mean cable?"),
    "zzzz W": ("zzzz", "no statement begins with 'zzzz'", "a line begins with accept, alternator,"),
    "12 V": ("12 V", "no statement begins with '12 V'", "a line begins with"),
    "tinned": ("tinned", "no statement begins with 'tinned'", ""),
    'cable "x", 3 m': ('"x"', "'x' stands where a name belongs", "the name comes first"),
    "cable, 3 m": (",", "a comma stands where a name belongs", ""),
    "cable": ("", "the line ends where a name belongs", ""),
    "cable light": ("light", "'light' stands where a name belongs", "capitals: LIGHT"),
    "cable W 3 m": ("3 m", "a comma is missing before '3 m'", "write `cable W, 3 m`"),
    "cable W, 3": ("3", "3 has no unit", "for instance 3 mm2 or 3 m"),
    "cable W, 3 sqmm": ("3 sqmm", "square millimetres are written mm2", "write 3 mm2"),
    "cable W, 5 km": ("5 km", "5 km: there is no unit km", "write it in m: 1 km is 1000 m"),
    "cable W, 3 qqqqqq": ("3 qqqqqq", "3 qqqqqq: there is no unit qqqqqq", "units are mm2"),
    "cable W, 2,5 mm2": ("2,5 mm2", "a figure's decimals stand behind a point, not a comma", "write 2.5"),
    "place P, ambient 1,5 °C": ("1,5 °C", "a figure's decimals stand behind a point, not a comma", "write 1.5"),
    "place P, ambient 15": ("15", "15 has no unit", "for instance 15 °C"),
    "cable W, 3 m,": (",", "the line ends with a comma, but the next does not go on", "indent the line"),
    "cable W, 3 m,, tinned": (",", "two commas stand in a row", "take one away"),
    "cable W, for": ("", "the line ends where a time (0.6 s) belongs", ""),
    "load L, draws 3 V": ("3 V", "'3 V' stands where a current (100 A) or a power (60 W) belongs", ""),
    "load L, starts 3 A 2 s": ("2 s", "`for` is missing before '2 s'", "write `starts 3 A for 2 s`"),
    "load L, runs 6 min": ("", "`a day` is missing", "write `runs 6 min a day`"),
    "fuse F, 5 AWG": ("5 AWG", "there is no 5 AWG; sizes are 22, 20,", ""),
    'boat "T': ('"T', 'the text is not closed; it ends with " on the same line', ""),
    "boat T": ("T", "'T' stands where a text in quotes belongs", ""),
    "use 12 V": ("12 V", "'12 V' stands where a file (parts/protection.boat) or a text in quotes belongs", ""),
    "part p, cables": ("cables", "'cables' stands where alternator, battery,", ""),
    "selector S, positions on": ("on", "'on' stands where a whole number, both or off belongs", ""),
    "accept x W": ("W", "`at` is missing before 'W'", "write `accept x at W`"),
    "bus A ; bus B": (";", "facts are separated by commas, statements by lines", "write a comma there"),
    ", 3 m": (",", "a comma with nothing before it", ""),
    "\u200bbus A": ("\u200b", "the hidden character U+200B has no place here; remove it", ""),
    "bus A # \u202e": ("\u202e", "the hidden character U+202E stands in a comment; remove it", ""),
}  # fmt: skip


@pytest.mark.parametrize(("text", "expected"), MESSAGES.items())
def test_what_is_said(text: str, expected: tuple[str, str, str]) -> None:
    found = said(text)
    assert len(found) == 1, found
    (at, message, mend), (wanted_at, begins, contains) = found[0], expected
    assert at.strip("\n") == wanted_at
    assert message.startswith(begins)
    assert contains in mend


@pytest.mark.parametrize("text", sorted(set(MESSAGES) - {"bus A # \u202e"}))
def test_a_mistake_leaves_the_lines_around_it_alone(text: str) -> None:
    source = parse("t", f"bus BEFORE, 5 A\n{text}\nbus AFTER, 7 A\n")
    assert len(source.mistakes) == 1
    assert all(m.loses for m in source.mistakes)
    names = [str(s.name.value) for s in source.statements if s.name is not None and s.kind == "bus"]
    assert names[0] == "BEFORE" and names[-1] == "AFTER"
    assert [str(f.values[0]) for f in source.statements[-1].facts] == ["7 A"]
    assert (
        any(s.damaged or s.kind == "unread" for s in source.statements)
        or "a comma is missing" in source.mistakes[0].message
    )


@pytest.mark.parametrize(
    "bad", ["§", "3", "for", "draws 3 V", '"x', "tinned tinned", "1,5 sqmm", "starts 3 A for", "\u00a0"]
)
def test_a_bad_fact_costs_itself_only(bad: str) -> None:
    closed = "" if bad == '"x' else ", 7 A"
    source = parse("t", f"bus B, 5 A, {bad}{closed}\n")
    assert len(source.mistakes) == 1
    (statement,) = source.statements
    assert [str(f.values[0]) for f in statement.facts][:1] == ["5 A"]
    assert str(statement.facts[-1].values[0]) == ("7 A" if closed else "5 A")
    assert statement.damaged or bad == "tinned tinned"


def test_a_missing_comma_behind_the_name_costs_nothing() -> None:
    source = parse("t", "cable W 3 m, tinned\n")
    assert [f.key for f in source.statements[0].facts] == ["length", "strands"]
    assert len(source.mistakes) == 1


def test_a_missing_comma_between_facts_costs_nothing() -> None:
    source = parse("t", "cable W, 35 mm2 3 m, tinned\n")
    assert [f.key for f in source.statements[0].facts] == ["area", "length", "strands"]
    assert len(source.mistakes) == 1 and source.mistakes[0].loses


def test_every_mistake_of_a_file_is_told_in_one_run() -> None:
    texts = sorted(set(MESSAGES) - {"bus A # \u202e"})
    source = parse("t", "".join(f"{t}\nbus B{i}, 5 A\n" for i, t in enumerate(texts)))
    assert len(source.mistakes) == len(texts)
    assert [m.span.line for m in source.mistakes] == [2 * i + 1 for i in range(len(texts))]


def test_a_hidden_character_in_a_comment_loses_nothing() -> None:
    source = parse("t", 'bus A "#" # \u202e \u202e\n# ok\n  # \u2066\nbus B\n')
    assert [(m.span.line, m.span.column, m.loses) for m in source.mistakes] == [(1, 13, False), (3, 5, False)]


def test_the_collector_is_left_as_it_was() -> None:
    assert gc.isenabled()
    parse("t", "bus A\n")
    assert gc.isenabled()
    gc.disable()
    try:
        parse("t", "cabel\n")
        assert not gc.isenabled()
    finally:
        gc.enable()


# ---- the work grows with the text and no faster


def test_many_mistakes_are_linear_work(monkeypatch: pytest.MonkeyPatch) -> None:
    """Counted: how often the tables are asked which terminals fit, and how many names are compared."""
    import linter.source.guess as guess
    from linter.source.automaton import Automaton

    asked: list[int] = []
    fits = Automaton._fits
    monkeypatch.setattr(
        Automaton, "_fits", lambda self, stack, terminal: asked.append(1) or fits(self, stack, terminal)
    )
    compared: list[int] = []
    original = guess.difflib.get_close_matches
    monkeypatch.setattr(guess.difflib, "get_close_matches", lambda *a, **k: compared.append(1) or original(*a, **k))

    def work(lines: int) -> int:
        asked.clear(), compared.clear()
        text = "cabel W\ncable W 3 m 4 m, tined tined, 5, 5 sqmm\nbus B, ((\n" * lines
        source = parse("t", text)
        assert len(source.mistakes) == 6 * lines
        assert len(compared) <= 2 * guess.GREATEST_GUESSES
        return len(asked)

    work(2)  # the tables remember what fits where, at the beginning of a text and further on
    assert work(1000) == work(10) == 0


def test_a_line_of_a_megabyte() -> None:
    for text in (
        "cable W" + ", 3 m" * 200_000,
        '"' + "x" * 10**6,
        "x" * 10**6,
        "#" * 10**6,
        "," * 10**4,
        " " * 10**6,
        "1" * 10**6,
    ):
        source = parse("t", text)
        assert all(len(m.message) < 400 for m in source.mistakes)


# ---- the tables of words agree with one another and with the grammar


def test_the_tables_of_words_are_about_the_same_facts() -> None:
    assert {key for keys in FITS.values() for key in keys} <= set(WRITTEN)
    assert not REPEATABLE - set(WRITTEN)
    assert all(len(set(keys)) == len(keys) for keys in FITS.values())


@pytest.mark.parametrize("kind", FITS)
def test_the_words_of_a_statement_are_those_it_takes(kind: str) -> None:
    for word in fact_words(kind):
        key = FLAGS.get(words()[word], ("", ""))[0]
        assert key in FITS[kind] or word in takes(kind), word


def test_a_fact_is_a_plain_tuple() -> None:
    assert Fact("k", (), 0, 1) == ("k", (), 0, 1)
