"""Where things stand: lines and columns in code points."""

from __future__ import annotations

from bisect import bisect_right

import pytest
from hypothesis import given
from hypothesis import strategies as st

from linter.source.parser import parse
from linter.source.span import Span, Text


@given(st.text(st.sampled_from("ab\n\t🛥é"), max_size=40), st.integers(0, 40))
def test_positions_count_code_points(text: str, offset: int) -> None:
    offset = min(offset, len(text))
    before = text[:offset]
    line, column = Text("t", text).position(offset)
    assert line == before.count("\n") + 1
    assert column == offset - (before.rfind("\n") + 1) + 1


@given(st.text(st.sampled_from("ab\n"), max_size=40))
def test_lines_are_those_between_line_ends(text: str) -> None:
    whole = Text("t", text)
    assert [whole.line(i + 1) for i in range(text.count("\n") + 1)] == text.split("\n")
    assert whole.line_starts == [bisect_right([i for i, c in enumerate(text) if c == "\n"], -1)] + [
        i + 1 for i, c in enumerate(text) if c == "\n"
    ]


def test_a_span_shows_itself_as_editors_read_it() -> None:
    span = Span(Text("a/b.boat", "x\nyz"), 3, 4)
    assert str(span) == "a/b.boat:2:2"
    assert (span.path, span.line, span.column) == ("a/b.boat", 2, 2)


@pytest.mark.parametrize(
    ("text", "line", "column"),
    [
        ('bus A "🛥🛥", tined', 1, 13),
        ("bus A,\ttined", 1, 8),
        ('bus A "é\u0301", 5 A,\n\ttined', 2, 2),
        ("\ufeffbus A, tined", 1, 8),
        ("bus A, 5 A\r\nbus B,\r\n  tined\r\n", 3, 3),
    ],
)
def test_a_mistake_stands_where_it_is(text: str, line: int, column: int) -> None:
    source = parse("t", text)
    (fact,) = [f for s in source.statements for f in s.facts if f.key == "on item"]
    assert (source.span(fact.start, fact.end).line, source.span(fact.start, fact.end).column) == (line, column)
    assert source.text.text[fact.start : fact.end] == "tined"
