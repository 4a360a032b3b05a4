"""Columns of figures as a table for the terminal and as CSV."""

from __future__ import annotations

import csv
import io
import math
from dataclasses import dataclass

from linter.report.safe import for_csv, for_terminal


@dataclass(frozen=True, slots=True)
class Rows:
    """``figures``: the columns that hold figures, which stand to the right; cells are text, empty where nothing is
    known."""

    columns: tuple[str, ...]
    figures: frozenset[str]
    cells: list[list[str]]


def figure(value: float | None, digits: int = 4) -> str:
    if value is None:
        return ""
    return f"{value:.{digits}g}" if math.isfinite(value) else ""


def fixed(value: float | None, places: int = 2) -> str:
    return "" if value is None else f"{value:.{places}f}"


def rounded(value: float | None) -> float | None:
    """For JSON, which knows no infinity."""
    return None if value is None or not math.isfinite(value) else round(value, 6)


def as_table(rows: Rows) -> str:
    """As wide as it needs to be, so that nothing is cut."""
    from rich.console import Console
    from rich.table import Table
    from rich.text import Text

    table = Table(box=None, pad_edge=False, header_style="bold")
    for column in rows.columns:
        table.add_column(column, justify="right" if column in rows.figures else "left", no_wrap=True)
    for row in rows.cells:
        table.add_row(*(Text(for_terminal(cell)) for cell in row))
    out = io.StringIO()
    Console(file=out, width=10_000, color_system=None, highlight=False).print(table)
    return "".join(line.rstrip() + "\n" for line in out.getvalue().splitlines())


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
