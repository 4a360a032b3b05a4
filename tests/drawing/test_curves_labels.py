"""Flags and labels of a plot stand clear of each other; lines and areas are cut to the plot and hatched."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from linter.drawing.curves_axes import cut, cut_area, hatch
from linter.drawing.curves_labels import Flag, Label, Room, flag_rows, place
from linter.drawing.picture import Box
from linter.drawing.text import width_mm

Point = tuple[float, float]


@given(st.lists(st.tuples(st.floats(20, 210), st.integers(4, 50)), max_size=12))
def test_no_flag_stands_in_the_way_of_another(wanted: list[tuple[float, int]]) -> None:
    flags = [Flag(x, "m" * count, 2.5) for x, count in wanted]
    rows = flag_rows(flags)
    for i, (one, row) in enumerate(zip(flags, rows, strict=True)):
        end = one.x + 1.0 + width_mm(one.text, one.size)
        for j, (two, other) in enumerate(zip(flags, rows, strict=True)):
            if i != j and one.x < two.x <= end:
                assert other < row
            if i != j and row == other and one.x <= two.x:
                assert end < two.x


def test_labels_shrink_and_give_up_rather_than_lie_on_each_other() -> None:
    room = Room(Box(0, 0, 60, 30))
    labels = [Label((("a label", 2.5, True), ("of two lines", 2.5, False)), ((10.0, 10.0),)) for _ in range(20)]
    placed = place(labels, room)
    boxes = [p.box for p in placed if p is not None]
    assert 4 < len(boxes) < 20
    assert any(p is not None and len(p.words) == 1 for p in placed)
    assert not any(a.overlaps(b) for i, a in enumerate(boxes) for b in boxes[:i])


def test_labels_are_broken_between_words_only() -> None:
    label = Label((("hydraulic-magnetic breaker 90\u00a0A of a maker", 2.5, False),), ((5.0, 5.0),))
    assert len(label.variants()) > 1
    for one in label.variants():
        assert " ".join(text for text, _, _ in one.lines) == label.lines[0][0]


def test_labels_avoid_lines() -> None:
    room = Room(Box(0, 0, 100, 60))
    room.line([(0, 30), (100, 30)], 6.0)
    (placed,) = place([Label((("beside the line", 2.5, False),), ((50.0, 30.0),))], room)
    assert placed is not None and (placed.box.y1 <= 30 or placed.box.y0 >= 30)
    assert min(abs(placed.box.y1 - 30), abs(placed.box.y0 - 30)) < 4


@given(st.lists(st.tuples(st.floats(-30, 60), st.floats(-30, 60)), min_size=2, max_size=6))
def test_cut_lines_stay_in_the_box(points: list[Point]) -> None:
    box = Box(0, 0, 30, 20)
    for piece in cut(points, box):
        assert len(piece) > 1
        assert all(-1e-6 <= x <= 30 + 1e-6 and -1e-6 <= y <= 20 + 1e-6 for x, y in piece)
    if all(1 < x < 29 and 1 < y < 19 for x, y in points) and len(set(points)) > 1:
        assert cut(points, box) == [tuple(points)]


def test_areas_are_cut_to_the_box_and_hatched_inside() -> None:
    area = cut_area([(-10, 5), (40, 5), (40, 15), (-10, 15)], Box(0, 0, 30, 20))
    assert {(round(x, 6), round(y, 6)) for x, y in area} == {(0, 5), (30, 5), (30, 15), (0, 15)}
    assert cut_area([(40, 5), (50, 5), (50, 15)], Box(0, 0, 30, 20)) == ()
    for slope in (None, 1.0, -1.0):
        lines = hatch(area, slope, 2.0)
        assert len(lines) >= 14
        for a, b in lines:
            assert all(-1e-6 <= x <= 30 + 1e-6 and 5 - 1e-6 <= y <= 15 + 1e-6 for x, y in (a, b))
            if slope is None:
                assert a[0] == pytest.approx(b[0])
            elif b[0] != a[0]:
                assert (b[1] - a[1]) / (b[0] - a[0]) == pytest.approx(slope)
