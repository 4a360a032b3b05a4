"""Columns of figures as a table for the terminal and as CSV: the one place where tables are laid out."""

from __future__ import annotations

import csv
import io
import math
import shutil
from dataclasses import dataclass

from linter.report.safe import for_csv, for_terminal

# A terminal is taken to be at least so wide; where nobody tells its width, so wide.
LEAST_WIDTH = 100
# Longer cells than this are cut in a table that has to fit a terminal; in its first column, which names the row, these.
LONGEST, LONGEST_NAME = 18, 30
BETWEEN = "  "


@dataclass(frozen=True, slots=True)
class Rows:
    """``figures``: the columns that hold figures, which stand to the right; cells are text, empty where nothing is
    known.  ``first``: the columns that a person needs most, in the order in which they are given room; then the others
    as they come.  ``legend``: what marks in cells mean."""

    columns: tuple[str, ...]
    figures: frozenset[str]
    cells: list[list[str]]
    first: tuple[str, ...] = ()
    legend: tuple[str, ...] = ()


def figure(value: float | None, digits: int = 4) -> str:
    if value is None:
        return ""
    return f"{value:.{digits}g}" if math.isfinite(value) else ""


def fixed(value: float | None, places: int = 2) -> str:
    return "" if value is None else f"{value:.{places}f}"


def rounded(value: float | None) -> float | None:
    """For JSON, which knows no infinity."""
    return None if value is None or not math.isfinite(value) else round(value, 6)


def terminal_width() -> int:
    """Of the terminal, or what COLUMNS says."""
    return max(LEAST_WIDTH, shutil.get_terminal_size((LEAST_WIDTH, 24)).columns)


def as_table(rows: Rows, width: int | None = None) -> str:
    """Aligned for reading.  ``width``: of the terminal, into which as many columns go as fit, heads in several lines;
    None: every column, as wide as it needs to be, so that nothing is cut."""
    from rich.cells import cell_len, set_cell_size

    names = list(rows.columns)
    cells = [[for_terminal(cell) for cell in row] for row in rows.cells]
    if width is not None:
        cells = [[_cut(cell, LONGEST if i else LONGEST_NAME) for i, cell in enumerate(row)] for row in cells]
    widest = [max((cell_len(row[i]) for row in cells), default=0) for i in range(len(names))]
    heads = [[name] if width is None else _wrapped(name, widest[i]) for i, name in enumerate(names)]
    widths = [max(widest[i], *(cell_len(line) for line in heads[i])) for i in range(len(names))]
    kept = list(range(len(names))) if width is None else _fitting(rows, widths, width)
    tall = max((len(heads[i]) for i in kept), default=1)
    lines = [[([""] * (tall - len(heads[i])) + heads[i])[line] for i in kept] for line in range(tall)]
    lines += [[row[i] for i in kept] for row in cells]
    out = []
    for line in lines:
        shown = []
        for i, cell in zip(kept, line, strict=True):
            blank = " " * (widths[i] - cell_len(cell))
            shown.append(blank + cell if names[i] in rows.figures else set_cell_size(cell, widths[i]))
        out.append(BETWEEN.join(shown).rstrip())
    left_out = [n for i, n in enumerate(names) if i not in kept and any(row[i] for row in rows.cells)]
    if left_out or rows.legend:
        out.append("")
    out += rows.legend
    if left_out:
        out.append(f"Not shown: {', '.join(left_out)} (--wide, or --format csv or json).")
    return "".join(f"{line}\n" for line in out)


def _cut(cell: str, longest: int) -> str:
    return cell if len(cell) <= longest else cell[: longest - 1] + "…"


def _wrapped(name: str, width: int) -> list[str]:
    """A head in lines no wider than its column, or than its longest word."""
    words = name.replace("-", "- ").split()
    room = max(width, *(len(word) for word in words))
    lines = [words[0]]
    for word in words[1:]:
        joined = f"{lines[-1]}{'' if lines[-1].endswith('-') else ' '}{word}"
        if len(joined) <= room:
            lines[-1] = joined
        else:
            lines.append(word)
    return lines


def _fitting(rows: Rows, widths: list[int], width: int) -> list[int]:
    """The columns that fit, those needed most before the others; of them at least the first, however wide."""
    order = [rows.columns.index(name) for name in rows.first]
    order += [i for i in range(len(rows.columns)) if i not in order]
    # a column in which nothing stands says nothing
    order = [i for i in order if i == order[0] or any(row[i] for row in rows.cells)]
    kept: list[int] = []
    room = width
    for i in order:
        needs = widths[i] + (len(BETWEEN) if kept else 0)
        if needs <= room or not kept:
            kept.append(i)
            room -= needs
    return sorted(kept)


def as_csv(rows: Rows) -> str:
    out = io.StringIO()
    writer = csv.writer(out, lineterminator="\r\n")
    writer.writerow(rows.columns)
    writer.writerows([[_cell(cell) for cell in row] for row in rows.cells])
    return out.getvalue()


def _cell(cell: str) -> str:
    """A figure stays a figure, also a negative one; what is no figure is guarded."""
    try:
        float(cell)
    except ValueError:
        return for_csv(cell)
    return cell
