"""What people write from habit, or with a comma too many or too few: what is said of it, and that the mend reads."""

from __future__ import annotations

import re

import pytest

from linter.model.facts import checked
from linter.source.guess import Guesser
from linter.source.parser import parse
from linter.source.span import Mistake
from linter.source.statements import Fact
from linter.source.words import FITS

# written -> what to write instead of what the mistake points at
FIGURES = {
    "cable W, 16 sq mm": "16 mm2", "cable W, 16 sq. mm": "16 mm2", "cable W, 16sqmm": "16 mm2",
    "cable W, 16mm^2": "16 mm2", "cable W, 16 mm 2": "16 mm2", "cable W, 16 square mm": "16 mm2",
    "cable W, AWG 10": "10 AWG", "cable W, AWG 2/0": "2/0 AWG", "cable W, #10": "10 AWG", "cable W, #10 AWG": "10 AWG",
    "cable W, 10 awg": "10 AWG", "cable W, 10 gauge": "10 AWG", "cable W, 2/0": "2/0 AWG", "cable W, 00 AWG": "2/0 AWG",
    "cable W, 0000": "4/0 AWG", "cable W, 7,5 m": "7.5 m", "fuse F, 7,5 A": "7.5 A", "fuse F, 7·5 A": "7.5 A",
    "fuse F, .5 A": "0.5 A", "fuse F, 5. A": "5 A", "fuse F, 1.000,5 A": "1000.5 A", "fuse F, 1 000 A": "1000 A",
    "fuse F, +5 A": "5 A", "fuse F, 1e3 A": "1000 A", "fuse F, 5A/32V": "5 A, 32V", "system D, 12VDC": "12 V",
    "system D, 12 V DC": "12 V", "fuse F, 32V DC": "32 V", "cable W, 5'": "5 ft", 'cable W, 5"': "5 in",
    "cable W, 5' 6\"": "66 in", "cable W, 5 ft 6 in": "66 in", "place P, ambient 50 deg C": "50 °C",
    "place P, ambient 50 ºC": "50 °C", "place P, ambient 50℃": "50 °C", "place P, ambient 50 degrees": "50 °C",
    "place P, ambient 122 F": "122 °F", "place P, ambient 323.15 K": "50.00 °C", "battery B, resistance 4 m ohm": "4 mohm",
    "battery B, resistance 4 milliohm": "4 mohm", "battery B, resistance 4 Ohms": "4 ohm",
    "battery B, 2 in parallel": "2 parallel", "battery B, parallel 2": "2 parallel", "battery B, 2P": "2 parallel",
    "cable W, bundle 4": "bundle of 4", "load L, runs 6 min/day": "6 min a day", "load L, runs 6 min per day": "6 min a day",
    "load L, 9 V - 32 V": "9 V to 32 V", "load L, 9-32 V": "9 V to 32 V", "load L, 9–32 V": "9 V to 32 V",
    "load L, 9…32 V": "9 V to 32 V", "load L, 9..32 V": "9 V to 32 V", "load L, 9 to 32 V": "9 V to 32 V",
    "breaker Q, opens at 200 % in 1-15 s": "1 s to 15 s", "load L, asks fuse 5–10 A": "5 A to 10 A",
    "battery B, resistance 4 - 5.5 mΩ": "4 mΩ to 5.5 mΩ", "accept x at Y, until 2027/04/01": "2027-04-01",
    "bus B “Label”, 5 A": '"Label"', "bus B „Label“, 5 A": '"Label"', "bus B ‘Label’, 5 A": '"Label"',
    "bus B «Label», 5 A": '"Label"', "bus B 'Label', 5 A": '"Label"', "bus B, says “m”": '"m"',
    "load NAV–LIGHTS, draws 2 A": "NAV-LIGHTS", "load NAV—LIGHTS": "NAV-LIGHTS", "load NAV‑LIGHTS": "NAV-LIGHTS",
}  # fmt: skip


def said(text: str) -> list[Mistake]:
    """What is said of a text's wording and of what its statements take."""
    source = parse("t", text)
    found = list(source.mistakes)
    for statement in source.statements:
        kind = statement.part_of or statement.kind
        if kind in FITS:
            checked(statement, kind, source, found.append, Guesser())
    return found


@pytest.mark.parametrize(("text", "right"), FIGURES.items())
def test_a_slip_is_answered_with_what_to_write_and_that_reads(text: str, right: str) -> None:
    (found,) = said(text + "\n")
    assert found.mend == f"write {right}"
    span = found.span
    assert said(text[: span.start] + right + text[span.end :] + "\n") == []


# written -> the whole fact as it is to be written
COMMAS = {
    "fuse F, 5 A, comes in 25 A, 40 A, 50 A": "comes in 25 A 40 A 50 A",
    "fuse F, comes in 25 A, 40 A, 50 A, blade": "comes in 25 A 40 A 50 A",
    "fuse F, 5 A, comes in 25 A 40 A, 50 A": "comes in 25 A 40 A 50 A",
    "part p, fuse\n  blade\n  comes in 25 A, 40 A\n  32 V": "comes in 25 A 40 A",
    "selector S, positions off, 1, 2, both": "positions off 1 2 both",
    "selector S, positions 1, 2, both, 300 A": "positions 1 2 both",
    "breaker Q, opens at 200 %, in 1 s, 5 A": "opens at 200 % in 1 s",
    "breaker Q, opens at 200 % in 1 s, 15 s": "opens at 200 % in 1 s to 15 s",
    "breaker Q, opens at 200 % 1 s to 15 s": "opens at 200 % in 1 s to 15 s",
    "breaker Q, opens 200 % in 1 s": "opens at 200 % in 1 s",
    "load L, asks breaker, thermal, 100 A": "asks breaker thermal 100 A",
    "load L, asks cable, at least 35 mm2": "asks cable at least 35 mm2",
    "load L, asks cable 35 mm2": "asks cable at least 35 mm2",
    "load L, starts 240 A, 0.6 s": "starts 240 A for 0.6 s", "load L, starts 240 A 0.6 s": "starts 240 A for 0.6 s",
    "load L, runs 6 min, a day": "runs 6 min a day", "load L, runs 6 min, vital": "runs 6 min a day",
    "battery B, resistance 4 mohm, 5.5 mohm": "resistance 4 mohm to 5.5 mohm",
    "fuse F, breaks 5 kA, at 32 V": "breaks 5 kA at 32 V", "fuse F, breaks 5 kA 32 V": "breaks 5 kA at 32 V",
    "fuse F, carries 92 %, at 50 °C": "carries 92 % at 50 °C", "fuse F, carries 92 % 50 °C": "carries 92 % at 50 °C",
    "fuse F, lets through 15 kA2s, at 1 kA": "lets through 15 kA2s at 1 kA",
    "fuse F, breaks 10 kA at 32 V, behind class T fuse 200 A": "breaks 10 kA at 32 V behind class T fuse 200 A",
    "fuse F1 30A": "fuse F1, 30A", "fuse F1 30 A blade": "fuse F1, 30 A, blade", 'fuse F1 "L" 30A': 'fuse F1 "L", 30A',
    "fuse F, 30 A 32 V, blade": "30 A, 32 V", "cable W1 10mm2": "cable W1, 10mm2",
    "cable W1, 10mm2 5m red": "10mm2, 5m, red", "cable W, in P 2 m": "in P, 2 m", "cable W, 5 m in P in Q": "5 m in P, in Q",
    'scene "x", A B C': "A, B, C", 'scene "x", A, S1 closed S2 open': "S1 closed, S2 open", 'scene "x", S1 2': "S1 at 2",
    'accept x at Y "reason" by "n"': 'accept x at Y, "reason", by "n"',
    "fuse F, rating 5 A": "5 A", "cable W, size 5 mm2": "5 mm2", "cable W, length 5 m": "5 m", "cable W, 5 m long": "5 m",
    "breaker Q, opens at 200 % in 9 s, 300 % in 2 s": "opens at 300 % in 2 s",
    "fuse F, carries 92 % at 50 °C, 80 % at 60 °C": "carries 80 % at 60 °C",
    "fuse F, breaks 5 kA at 32 V, 3 kA at 48 V": "breaks 3 kA at 48 V",
    "load L, asks fuse 5 A, breaker 10 A": "asks breaker 10 A", "cable W, in conduit, sheath": "in sheath",
    "part p fuse blade": "part p, fuse, blade",
}  # fmt: skip


@pytest.mark.parametrize(("text", "right"), COMMAS.items())
def test_commas_and_little_words(text: str, right: str) -> None:
    (found,) = said(text + "\n")
    assert found.mend.startswith(f"write `{right}`"), found
    # the whole statement with it: a mend that begins with the statement's own word is one
    head = {"scene": 'scene "x"', "part": "fuse F"}.get(text.split(" ")[0], re.split("[ ,]", text)[0] + " X1")
    whole = right if right.split(" ")[0] == text.split(" ")[0] else f"{head}, {right}"
    assert said(whole + "\n") == []


@pytest.mark.parametrize(
    "right",
    [
        "fuse F, comes in 10 A 15 A\n  15 A", "fuse F, comes in 10 A 15 A, 15 A", "fuse F, 10 A, comes in 10 A 15 A, blade",
        "fuse F, comes in 10 A\n  20 A", "fuse F, comes in 5 A 10 A 15 A, 5 A",
    ],
)  # fmt: skip
def test_a_rating_behind_the_list_of_ratings_is_one(right: str) -> None:
    source = parse("t", right)
    assert source.mistakes == []
    assert sorted(f.key for f in source.statements[0].facts if f.key != "class") == ["comes in", "current"]


def test_the_ratings_are_read_as_they_were_meant() -> None:
    """Word for word the second would be the thing's own rating, and nothing would be said."""
    source = parse("t", "part p, fuse\n  comes in 25 A, 40 A\n  32 V\n")
    facts = source.statements[0].facts
    assert [(f.key, [str(v) for v in f.values]) for f in facts] == [
        ("comes in", ["25 A", "40 A"]),
        ("voltage", ["32 V"]),
    ]
    assert [(m.span.line, m.span.column, m.loses) for m in source.mistakes] == [(2, 16, True)]


def test_where_only_commas_are_wrong_it_is_read_and_else_it_is_not() -> None:
    def facts(text: str) -> tuple[list[str], bool]:
        (made,) = parse("t", text).statements
        return [f.key for f in made.facts], made.damaged

    assert facts("selector S, positions off, 1, 2, 300 A\n") == (["positions", "current"], False)
    assert facts("load L, asks breaker, thermal, 100 A, vital\n") == (["asks device", "vital"], False)
    assert facts("load L, starts 24 A 2 s, vital\n") == (["vital"], True)
    assert facts("battery B, AGM, resistance 4 mΩ, 5 mΩ, 12 V\n") == (["chemistry", "voltage"], True)
    assert facts("load L, draws 2,5 A, vital\n") == (["vital"], True)


# ---- what cannot be put right by a figure, but is said
SAID = {
    "fuse F, -5 A": ("a figure has no sign", "without its sign"),
    "place P, ambient −10 °C": ("a figure has no sign", "without its sign"),
    "fuse F, 1,000 A": ("decimals stand behind a point", "write 1.000 A or 1000 A, as is meant"),
    "cable W, 2x10 mm2": ("a cable line is one conductor", "a line of its own"),
    "cable W, 3 core, 2.5 mm2": ("a cable line is one conductor", "a line of its own"),
    "battery B, 1.2 kWh": ("given in Ah", "divide the Wh by its voltage"),
    "fuse F,\u00a030 A": ("U+00A0", "put a plain blank in its place"),
    "fuse F, 30\u2009A": ("U+2009", "put a plain blank in its place"),
    "bus B (main), 5 A": ("nothing stands in brackets", 'a label in quotes: "main"'),
    "bus B, 5 A // main": ("a comment begins with #", "write #"),
    "bus B, 5 A -- main": ("a comment begins with #", "write #"),
    "fuse F: 5 A": ("nothing stands between", "behind a name a comma"),
    "load L, draws: 5 A": ("nothing stands between", "write a blank there"),
    "fuse F，5 A": ("another script's comma", "write a plain one"),
    'scene "x", A and B': ("separated by commas", "write a comma there"),
    "fuse F, breaks 5 kA @ 32 V": ("`@` is written `at`", "write at"),
    "cable W, 9 m, 1.5 m, in P": ("says such a thing already", "a stretch `1.5 m in P`, without a comma"),
    "load L, 9 V, 32 V": ("says such a thing already", "a range is written `9 V to 32 V`"),
    "load L, asks fuse 5 A, 10 A": ("does not take a current", "`asks fuse 5 A to 10 A`, without a comma"),
    "load L, 5 A": ("does not take a current", "write `draws 5 A`"),
    "load L, 60 W": ("does not take a power", "write `draws 60 W`"),
    "place P, 50 °C": ("does not take a temperature", "write `ambient 50 °C`"),
    "cable W, AWG10": ("'AWG10' is no fact of a cable", "write 10 AWG"),
    "fuse F, bolt down strip": ("'bolt' is no fact of a fuse", "did you mean bolt-down strip?"),
    "battery B, short circuit 5 kA": ("'short' is no fact of a battery", "did you mean short-circuit?"),
    "fuse F, XYZ 5 A": ("'XYZ' is no fact of a fuse", "a fuse takes: part NAME"),
    "Fuse F, 5 A": ("no statement begins with 'Fuse'", "did you mean fuse?"),
    "load NAV LIGHTS, draws 2 A": ("'LIGHTS' stands", "a name is one word: NAV-LIGHTS"),
    "fuse F1 blad, 2 A": ("'blad' stands", "a comma is missing; did you mean blade?"),
    "load NAV/LIGHTS, draws 2 A": ("'NAV/LIGHTS' stands", "- and _: NAV-LIGHTS"),
    "load 1, draws 2 A": ("'1' stands where a name belongs", "a name begins with a letter"),
    "from A to B": ("'to' stands", "`from NAME` or `to NAME` and no more"),
    "to S1.1": ("'S1.1' stands", "a selector's terminal is written S1 1"),
    "cable W, 16": ("16 has no unit", "for instance 16 mm2 or 16 m"),
    "cable W, 2.5": ("2.5 has no unit", "for instance 2.5 mm2 or 2.5 m"),
    "place P, ambient 37.5": ("37.5 has no unit", "for instance 37.5 °C"),
    "cable W #10 AWG, 5 m": ("# begins a comment", "write 10 AWG"),
    "cable W, 5 m  # 2/0": ("# begins a comment", "write 2/0 AWG"),
    "system D, 12": ("12 has no unit", "for instance 12 V or 12 Hz"),
}  # fmt: skip


@pytest.mark.parametrize(("text", "expected"), SAID.items())
def test_what_is_said_of_a_slip(text: str, expected: tuple[str, str]) -> None:
    found = said(text + "\n")[0]
    assert expected[0] in found.message
    assert expected[1] in found.mend


@pytest.mark.parametrize(
    "text",
    [
        "\ufefffuse F1, 30 A\r\n", "fuse\tF1,\t30 A\n", "fuse F1, 30A\n", "cable W, 10AWG\n", "cable W, 16 mm²\n",
        "battery B, resistance 4 mohm\n", "battery B, resistance 4 m\u03a9\n", "battery B, resistance 4 m\u2126\n",
        "cable W, 16 mm2, 5 m # 10\n", "cable W, 5 m # size to be measured\n", "cable W, part p # 10\n",
        "cable W, 5 m # 10 of them\n",
        "place P, ambient 50 C\n", "place P, ambient 50°C\n", "fuse F1 ,30 A\n",
    ],
)  # fmt: skip
def test_what_may_be_written_either_way(text: str) -> None:
    assert said(text) == []


def test_the_first_mistake_of_a_line_does_not_hide_the_next() -> None:
    found = said("load L, draws 7,5 A, 9-32 V, vitl, starts 5 A 2 s\n")
    assert [re.split(r"[:;]", m.message)[0][:30] for m in sorted(found, key=lambda m: m.span.start)] == [
        "a figure's decimals stand behi", "a range is written with `to`, ", "'vitl' is no fact of a load",
        "`for` is missing before '2 s'",
    ]  # fmt: skip


def test_a_fact_joined_stands_where_it_is_written() -> None:
    text = "selector S, positions off, 1, 2, 300 A\n"
    fact: Fact = parse("t", text).statements[0].facts[0]
    assert text[fact.start : fact.end] == "positions off, 1, 2"


@pytest.mark.parametrize(
    "text", ['accept d a\n "', "accept d a, 5\n", "part p blade 5\n", 'accept d a "x" y 3 m\n', "scene S1 2"]
)
def test_whatever_follows_a_beginning_that_is_wrong_is_read_past(text: str) -> None:
    source = parse("t", f"{text}\nbus AFTER, 7 A\n")
    assert 1 <= len(source.mistakes) <= 3
    assert str(source.statements[-1].facts[0].values[0]) == "7 A"


def test_many_pieces_without_sense_are_linear_work() -> None:
    """Counted: how many tokens are tried."""
    from linter.source.automaton import Automaton

    tried: list[int] = []
    original = Automaton.follow

    def counted(self: Automaton, states: tuple[int, ...], row: tuple[str, ...]) -> tuple[int, ...] | None:
        tried.append(len(row))
        return original(self, states, row)

    def work(pieces: int) -> int:
        tried.clear()
        parse("t", "load L" + ", 5, starts 3 A, for, in in, at 5" * pieces + "\n")
        parse("t", "load L" + " 5 V 3 at" * pieces + "\n")
        return sum(tried)

    with pytest.MonkeyPatch.context() as patch:
        patch.setattr(Automaton, "follow", counted)
        assert work(2000) < 11 * work(200)
