"""The line of the file under a finding: what is shown of a long one, and how much of it is looked at."""

from __future__ import annotations

import pytest

from linter.report import text as report
from linter.report.text import WIDEST, mistake_text, plain
from linter.source.span import Mistake, Span, Text


def excerpt(text: str, start: int, end: int) -> tuple[str, str]:
    """The line of the file and the line of marks, both behind the bar."""
    lines = list(mistake_text(Mistake(Span(Text("t", text), start, end), "wrong"), plain))
    assert len(lines) == 3
    return lines[1].partition(" | ")[2], lines[2].partition(" | ")[2]


def test_a_short_line_is_shown_whole_and_marked() -> None:
    text = "bus N\ncable W, 3 m, tined\nbus Q\n"
    assert excerpt(text, text.index("tined"), text.index("tined") + 5) == ("cable W, 3 m, tined", " " * 14 + "^" * 5)


def test_a_place_behind_the_end_of_a_line_has_one_mark() -> None:
    assert excerpt("bus N\nbus Q", 5, 6) == ("bus N", "     ^")
    assert excerpt("bus N\nbus Q", 11, 11) == ("bus Q", "     ^")


def test_a_mark_over_several_lines_ends_with_the_first() -> None:
    assert excerpt("bus N,\n  100 A\n", 4, 14) == ("bus N,", "    ^^")


def test_of_a_long_line_the_part_around_the_place_is_shown() -> None:
    text = "".join(f"{n:04d}," for n in range(1000)) + "\nbus Q\n"
    shown, marks = excerpt(text, 2500, 2504)
    assert shown == "…" + text[2450 : 2450 + WIDEST] + "…"
    assert marks == " " * 51 + "^^^^"
    shown, marks = excerpt(text, 4990, 4994)
    assert (shown, marks) == ("…" + text[4940:5000], " " * 51 + "^^^^")
    assert excerpt(text, 0, 4)[0] == text[:WIDEST] + "…"


def test_what_a_terminal_acts_upon_is_shown_by_its_number_and_the_marks_stand_under_it() -> None:
    shown, marks = excerpt("a\u200bb\u202ec\n", 3, 4)
    assert shown == "a\\u{200b}b\\u{202e}c"
    assert marks == " " * len("a\\u{200b}b") + "^" * len("\\u{202e}")


@pytest.mark.parametrize("size", [1_000, 100_000])
def test_a_mistake_costs_no_more_on_a_longer_line(size: int, monkeypatch: pytest.MonkeyPatch) -> None:
    """Counted in characters made safe: no more than are shown, however long the line."""
    text = Text("t", "x, " * size)
    made_safe = 0
    safe = report.for_terminal

    def counted(part: str) -> str:
        nonlocal made_safe
        made_safe += len(part)
        return safe(part)

    monkeypatch.setattr(report, "for_terminal", counted)
    list(mistake_text(Mistake(Span(text, 1500, 1501), "wrong"), plain))
    assert WIDEST <= made_safe <= WIDEST + 40


def test_extents_of_lines() -> None:
    for whole in ("", "a", "a\n", "\n\nab\n\nc", "a\nbc"):
        text = Text("t", whole)
        lines = whole.split("\n")
        assert [text.line(n + 1) for n in range(len(lines))] == lines
        assert [whole[slice(*text.extent(n + 1))] for n in range(len(lines))] == lines
