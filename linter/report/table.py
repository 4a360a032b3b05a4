"""The study as a table for the terminal."""

from __future__ import annotations

import io

from linter.report.data import COLUMNS, study_rows
from linter.report.safe import for_terminal
from linter.study.study import Study

FIGURES = frozenset(c for c in COLUMNS if c.endswith((" m", " A")))


def study_table(study: Study) -> str:
    """Columns aligned, figures to the right; as wide as it needs to be, so that nothing is cut."""
    from rich.console import Console
    from rich.table import Table
    from rich.text import Text

    table = Table(box=None, pad_edge=False, header_style="bold")
    for column in COLUMNS:
        table.add_column(column, justify="right" if column in FIGURES else "left", no_wrap=True)
    for row in study_rows(study):
        table.add_row(*(Text(for_terminal(cell)) for cell in row))
    out = io.StringIO()
    Console(file=out, width=10_000, color_system=None, highlight=False).print(table)
    return "".join(line.rstrip() + "\n" for line in out.getvalue().splitlines())
