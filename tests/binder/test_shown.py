"""Figures as they are shown, and columns as wide as they need to be."""

from __future__ import annotations

from dataclasses import replace

import pytest
from hypothesis import given
from hypothesis import strategies as st

from linter.binder import shown
from linter.binder.model import Column, Figure, Kind, Mark, Table, figure
from linter.binder.rows import as_csv
from linter.binder.widths import INSET_MM, POINT_MM, ZERO, layout, soft, width_em

AMPS = Column("amps A", "Amps", "A", Kind.FIGURE)


@pytest.mark.parametrize(
    ("value", "decimals", "most", "text"),
    [(7.5, None, 4, "7.5"), (400.0, None, 4, "400"), (0.012345, None, 4, "0.0123"), (1234.56, None, 4, "1235"),
     (123456.0, None, 4, "123456"), (0.0, None, 4, "0"), (2.0, 2, 4, "2.00"), (-0.34, 1, 4, "-0.3"),
     (215.1367, None, 2, "215.1"), (0.0405, None, 2, "0.04"), (1e7, None, 4, "10000000")],
)  # fmt: skip
def test_a_number_has_four_figures_and_no_exponent(value: float, decimals: int | None, most: int, text: str) -> None:
    assert shown.number(value, decimals, most) == text


def test_points_stand_below_one_another() -> None:
    table = Table((AMPS,))
    for value in (7.5, 400.0, 0.25, None):
        table.add(figure(value, needed=True))
    table.add(Figure(None, words="unlimited"))
    cells = [row[0] for row in shown.rows(table)]
    assert [c.text for c in cells] == ["7.5", "400", "0.25", "?", "unlimited"]
    # with what is left free behind it every number has as many characters behind its point
    assert [len((c.text + c.pad).partition(".")[2]) for c in cells[:3]] == [2, 2, 2]
    assert [c.pad for c in cells] == ["0", ".00", "", "", ""]


def test_marks_stand_before_the_figure_and_are_told() -> None:
    table = Table((AMPS,))
    table.add(figure(5.0, Mark.MEMORY))
    table.add(figure(6.0, Mark.ROUGH, Mark.BOUND))
    table.add(figure(None, Mark.MEMORY, needed=True))
    assert [(c.lead, c.text) for (c,) in shown.rows(table)] == [("†", "5"), ("~≤", "6"), ("", "?")]
    assert table.marks() == [Mark.MEMORY, Mark.ROUGH, Mark.BOUND, Mark.MISSING]


def test_csv_keeps_figures_as_figures_and_says_what_they_lean_on() -> None:
    table = Table((Column("id", "Id"), AMPS))
    table.add("=cmd()", figure(5.25, Mark.MEMORY))
    table.add("-x", figure(None, needed=True))
    table.add('a "b", c', Figure(None, words="unlimited"))
    assert as_csv(table) == (
        'id,amps A,marks\r\n\'=cmd(),5.25,amps A: from memory\r\n\'-x,,amps A: not stated\r\n"a ""b"", c",unlimited,\r\n'
    )


@pytest.mark.parametrize("bold", [False, True])
def test_a_word_wider_than_its_column_may_be_broken(bold: bool) -> None:
    text = soft("W1 " + "M" * 80 + " red", 20.0, 9.0, bold)
    assert text.replace(ZERO, "") == "W1 " + "M" * 80 + " red"
    room = 20.0 - 2 * INSET_MM
    assert all(width_em(part) * 9.0 * POINT_MM <= room + 1e-6 for word in text.split(" ") for part in word.split(ZERO))
    assert soft("W1 red", 20.0, 9.0) == "W1 red"


WORDS = st.text(st.characters(codec="utf-8", exclude_categories=("Cs", "Cc")), max_size=60)


@given(st.lists(st.tuples(WORDS, WORDS, st.floats(0, 1e6)), min_size=1, max_size=12), st.sampled_from([160.0, 267.0]))
def test_columns_fill_the_page_and_never_more(rows: list[tuple[str, str, float]], room: float) -> None:
    table = Table((Column("a", "Name", kind=Kind.NAME), Column("b", "What is said of it"), AMPS))
    for name, words, amps in rows:
        table.add(name, words, Figure(amps))
    cells = shown.rows(table)
    made = layout(table, cells, room)
    assert sum(made.widths) <= room + 1e-6
    assert min(made.widths) > 2 * INSET_MM
    assert 6.0 <= made.size <= 9.0


def test_a_table_of_many_columns_takes_smaller_type_and_still_fits() -> None:
    columns = tuple(replace(AMPS, key=str(n), head=f"Prospective current {n}") for n in range(17))
    table = Table(columns)
    table.add(*(Figure(123.4) for _ in columns))
    made = layout(table, shown.rows(table), 267.0)
    assert sum(made.widths) <= 267.0 + 1e-6
    assert made.size < 9.0
