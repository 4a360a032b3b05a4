"""Any text at all, and any text that looks like a design: never an exception, and the same design however it is laid out."""

from __future__ import annotations

import json
import random
import re
from pathlib import Path

from hypothesis import given, settings
from hypothesis import strategies as st

from linter.model.design import Design
from linter.model.export import circuit_json, dot, graphml
from linter.source.grammar import words
from linter.source.parser import parse
from linter.source.scanner import scan

from ..grammar.reference import DESIGNS, FRAGMENTS, framed
from .designs import design_of, edges

BOATS = Path(__file__).resolve().parents[2] / "boats"
WHOLE = [b.text for b in DESIGNS] + [framed(b.text) for b in FRAGMENTS]
TEXTS = WHOLE + [p.read_text(encoding="utf-8") for p in sorted(BOATS.rglob("*.boat"))]

ALPHABET = st.sampled_from('abcxyzWF019 ,.\n\t"#-/()_Ω°²%é🛥\r\ufeff\u202e\u200b\x00')
PIECES = st.sampled_from([
    *words(), "X", "W1", "B", "S1", "35 mm2", "2/0 AWG", "5", "3 m", "12 V", "9 V to 32 V", "100 A", "400 Ah", "1 mΩ",
    "90 %", "2 s", "50 °C", '"t"', '"', "a/b.boat", ",", ",", ",", "\n", "\n", "\n  ", "#", "2027-01-01", "\u00a0", "1,5 m",
])  # fmt: skip


def exercise(text: str) -> Design:
    """Read, build and export; nothing may be raised and every mistake lies inside the text."""
    source = parse("0.boat", text)
    for mistake in source.mistakes:
        assert 0 <= mistake.span.start <= mistake.span.end <= len(source.text.text) + 1
        assert mistake.message and len(mistake.message) < 500
        source.text.line(mistake.span.line)
    ends = [0, *(s.end for s in source.statements)]
    assert ends == sorted(ends)
    design = design_of(text)
    for mistake in design.mistakes:
        assert 0 <= mistake.span.start <= mistake.span.end <= len(source.text.text) + 1
        assert len(mistake.message) < 500
    assert len(design.mistakes) <= 3 * len(text) + 2
    json.dumps(circuit_json(design), allow_nan=False)
    return design


@given(st.text(ALPHABET, max_size=200))
@settings(max_examples=200, deadline=None)
def test_any_characters(text: str) -> None:
    exercise(text)


@given(st.text(max_size=60))
@settings(max_examples=100, deadline=None)
def test_any_characters_at_all(text: str) -> None:
    exercise(text)


@given(st.lists(PIECES, max_size=60))
@settings(max_examples=300, deadline=None)
def test_any_words_in_any_order(pieces: list[str]) -> None:
    design = exercise(" ".join(pieces).replace("\n ", "\n"))
    graphml(design), dot(design)


@st.composite
def mutants(draw: st.DrawFn) -> str:
    """A stretch of a good design in which a few characters or words were replaced, doubled or dropped."""
    text = draw(st.sampled_from(TEXTS))
    start = draw(st.integers(0, max(0, len(text) - 1500)))
    letters = list(text[start : start + 1500])
    for _ in range(draw(st.integers(1, 6))):
        at = draw(st.integers(0, len(letters)))
        letters[at : at + draw(st.integers(0, 4))] = draw(st.one_of(PIECES, ALPHABET, st.just("")))
    return "".join(letters)


@given(mutants())
@settings(max_examples=150, deadline=None)
def test_mutants_of_good_designs(text: str) -> None:
    exercise(text)


def read_of(text: str) -> list[object]:
    """What was read, without where it stood."""
    return [
        (
            s.kind,
            s.name and s.name.value,
            s.label,
            s.part_of,
            s.extra and s.extra.value,
            [(f.key, without_place(f.values)) for f in s.facts],
        )
        for s in parse("t", text).statements
    ]


def without_place(values: object) -> object:
    if isinstance(values, tuple):
        return tuple(map(without_place, values))
    return getattr(values, "value", values)


@given(st.sampled_from(WHOLE), st.randoms(use_true_random=False))
@settings(max_examples=60, deadline=None)
def test_layout_means_nothing(text: str, rnd: random.Random) -> None:
    laid = []
    for line in text.splitlines():
        if rnd.random() < 0.3:
            laid.append(rnd.choice(["", "   ", '# a comment, "with" things', "  # an indented one", "\t"]))
        if "#" not in line and rnd.random() < 0.5:
            line += rnd.choice(["   ", "\t", " # behind", "  #"])
        if '"' not in line and "#" not in line:
            line = re.sub(r", ", lambda _: rnd.choice([",", " ,  ", ",\n    ", "\n\t", ",  # and\n  ", ", "]), line)
        laid.append(line)
    end = rnd.choice(["\n", "\r\n"])
    other = rnd.choice(["", "\ufeff"]) + end.join("\n".join(laid).split("\n")) + rnd.choice(["", end, end * 3])
    assert parse("t", other).mistakes == []
    assert read_of(other) == read_of(text)


@given(st.sampled_from(WHOLE), st.randoms(use_true_random=False))
@settings(max_examples=60, deadline=None)
def test_the_order_of_declarations_and_runs_means_nothing(text: str, rnd: random.Random) -> None:
    """Statements in a run keep together, behind their `from`; all else may be anywhere."""
    source = parse("t", text)
    starts = [s.start for s in source.statements]
    pieces = [text[a:b] for a, b in zip(starts, [*starts[1:], len(text)], strict=True)]
    groups: list[str] = []
    in_run = False
    for statement, piece in zip(source.statements, pieces, strict=True):
        if in_run and statement.kind not in {
            "from",
            "boat",
            "system",
            "place",
            "part",
            "scene",
            "accept",
            "use",
            "rulebook",
            "cables",
        }:
            groups[-1] += piece
        else:
            groups.append(piece)
        in_run = statement.kind == "from" or (
            in_run and groups[-1].startswith("from") and statement.kind not in {"load", "inverter", "to"}
        )
    # A run that ends in the air would go on to whatever terminal comes to stand below it.
    groups = [g.rstrip("\n") + f"\nplace END-{i}\n" if g.startswith("from") else g for i, g in enumerate(groups)]
    before = design_of("\n".join(g.rstrip("\n") for g in groups) + "\n")
    rnd.shuffle(groups)
    after = design_of("\n".join(g.rstrip("\n") for g in groups) + "\n")
    assert edges(after) == edges(before)
    assert sorted(m.message for m in after.mistakes) == sorted(m.message for m in before.mistakes)
    systems = [{n.name: n.system and n.system.name for n in d.circuit.nodes} for d in (before, after)]
    assert systems[0] == systems[1]
    one, two = (circuit_json(d) for d in (before, after))
    assert sorted(map(repr, one["nodes"])) == sorted(map(repr, two["nodes"]))


@given(st.sampled_from(WHOLE), st.integers(2, 6))
@settings(max_examples=30, deadline=None)
def test_the_work_is_proportional_to_the_text(text: str, times: int) -> None:
    once = list(scan(text))
    assert sum(1 for _ in scan(text * times)) <= times * len(once) + times
    assert len(parse("t", text * times).statements) == times * len(parse("t", text).statements)


def test_ten_thousand_mistakes_in_one_file() -> None:
    text = "".join(f"cable W{i}, 3 sqmm, in NOWHERE, tined\n" for i in range(3400))
    design = design_of(text)
    # unit, place and word of each line; where they begin is told once, no boat is told no more
    assert len(design.mistakes) == 3 * 3400 + 1
