"""Sheets of labels: their measures, and a user's own."""

from __future__ import annotations

from pathlib import Path

import pytest

from linter.binder.grids import DEFAULT, PAPERS_MM, grid_of, shipped_grids
from linter.tables.reading import RulebookError

OWN = """
[sheet.own]
title = "Four"
paper = "a4"
columns = 2
rows = 2
left = 5
top = 10
width = 98
height = 130
across = 100
down = 135
"""


@pytest.mark.parametrize("name", shipped_grids())
def test_labels_lie_on_the_sheet_and_not_on_one_another(name: str) -> None:
    grid = shipped_grids()[name]
    wide, high = PAPERS_MM[grid.paper]
    assert grid.left + (grid.columns - 1) * grid.across + grid.width <= wide
    assert grid.top + (grid.rows - 1) * grid.down + grid.height <= high
    assert grid.across >= grid.width and grid.down >= grid.height
    # as much is left at the right as at the left, and below as above
    right = wide - grid.left - (grid.columns - 1) * grid.across - grid.width
    below = high - grid.top - (grid.rows - 1) * grid.down - grid.height
    assert right == pytest.approx(grid.left, abs=0.6) and below == pytest.approx(grid.top, abs=0.6)


def test_each_paper_has_a_usual_sheet() -> None:
    for paper in PAPERS_MM:
        assert grid_of("", paper) is shipped_grids()[DEFAULT[paper]]
        assert grid_of("", paper).paper == paper


def test_a_sheet_of_ones_own(tmp_path: Path) -> None:
    path = tmp_path / "own.toml"
    path.write_text(OWN, encoding="utf-8")
    assert grid_of(str(path), "a4").across == 100


@pytest.mark.parametrize(
    ("old", "new", "said"),
    [("columns = 2", "columns = 3", "do not fit across"), ("rows = 2", "rows = 9", "do not fit down"),
     ("across = 100", "across = 90", "overlap"), ("width = 98", "width = 2", "at least"), ("rows = 2", "rows = 1.5", "whole"),
     ('paper = "a4"', 'paper = "a0"', "paper"), ("left = 5", "left = -5", "left"), ("[sheet.own]", "[sheets.own]", "sheet")],
)  # fmt: skip
def test_a_sheet_that_is_not_in_order_is_told(tmp_path: Path, old: str, new: str, said: str) -> None:
    path = tmp_path / "own.toml"
    path.write_text(OWN.replace(old, new), encoding="utf-8")
    with pytest.raises(RulebookError, match=said):
        grid_of(str(path), "a4")


def test_an_unknown_sheet_is_told_with_those_there_are() -> None:
    with pytest.raises(RulebookError, match="a4-5x13"):
        grid_of("a4-99x99", "a4")
    with pytest.raises(RulebookError, match="no such file"):
        grid_of("nowhere.toml", "a4")
