"""Sheets of labels: those that come with the program, or one of the user's own."""

from __future__ import annotations

from functools import cache
from importlib.resources import files
from pathlib import Path

from linter.binder.model import Grid
from linter.tables.reading import Node, parse, read_text

PAPERS_MM = {"a4": (210.0, 297.0), "letter": (215.9, 279.4)}
DEFAULT = {"a4": "a4-5x13", "letter": "letter-4x20"}
_MEASURES = ("left", "top", "width", "height", "across", "down")


@cache
def shipped_grids() -> dict[str, Grid]:
    return grids_of(parse((files("linter.binder") / "labels.toml").read_text(encoding="utf-8"), "labels.toml"))


def grid_of(name: str, paper: str) -> Grid:
    """The sheet of this name, of the file so named, or the usual one for the paper.  Raises RulebookError where there
    is none, or where the file is not in order."""
    from linter.tables.reading import RulebookError

    known = shipped_grids()
    if not name:
        return known[DEFAULT[paper]]
    if name in known:
        return known[name]
    if not name.endswith(".toml"):
        raise RulebookError(f"there is no sheet of labels {name}; there are {', '.join(known)}, or a .toml file")
    return next(iter(grids_of(parse(read_text(Path(name)), name)).values()))


def grids_of(top: Node) -> dict[str, Grid]:
    top.only("sheet")
    made = {}
    for name, node in top.table("sheet").children():
        node.only("title", "paper", "columns", "rows", *_MEASURES)
        left, top_mm, width, height, across, down = (node.number(k, zero=k in ("left", "top")) for k in _MEASURES)
        paper = node.choice("paper", tuple(PAPERS_MM))
        columns, rows = node.whole("columns"), node.whole("rows")
        wide, high = PAPERS_MM[paper]
        if columns > 40 or rows > 80 or left + (columns - 1) * across + width > wide + 0.5:
            raise node.fail(f"{columns} labels of {width:g} mm do not fit across {wide:g} mm", "columns")
        if top_mm + (rows - 1) * down + height > high + 0.5:
            raise node.fail(f"{rows} labels of {height:g} mm do not fit down {high:g} mm", "rows")
        if width < 8 or height < 5 or across < width or down < height:
            raise node.fail("labels are at least 8 mm × 5 mm and do not overlap", "width")
        made[name] = Grid(
            name, node.text("title"), paper, columns, rows, left, top_mm, width, height, across, down
        )  # fmt: skip
    if not made:
        raise top.fail("there is no [sheet.NAME] in the file")
    return made
