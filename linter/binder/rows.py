"""A table of the binder as CSV: figures as figures, and in the last column what each of them leans on."""

from __future__ import annotations

import csv
import io

from linter.binder.model import Cell, Figure, Mark, Table
from linter.report.safe import for_csv

WORDS = {Mark.MEMORY: "from memory", Mark.ROUGH: "rough", Mark.BOUND: "at most", Mark.MISSING: "not stated"}


def as_csv(table: Table) -> str:
    """RFC 4180.  A figure that nobody states is an empty field; the column `marks` says so."""
    out = io.StringIO()
    writer = csv.writer(out, lineterminator="\r\n")
    writer.writerow([*(c.key for c in table.columns), "marks"])
    for row in table.rows:
        marks = [
            f"{column.key}: {WORDS[mark]}"
            for column, cell in zip(table.columns, row.cells, strict=True)
            if isinstance(cell, Figure)
            for mark in cell.marks
        ]
        writer.writerow([*(_field(c) for c in row.cells), "; ".join(marks)])
    return out.getvalue()


def _field(cell: Cell) -> str:
    if isinstance(cell, str):
        return for_csv(cell.replace("\u00a0", " "))
    if cell.words or cell.value is None:
        return for_csv(cell.words)
    text = f"{cell.value:.6f}".rstrip("0").rstrip(".")
    return "0" if text in ("-0", "") else text


__all__ = ["as_csv"]
