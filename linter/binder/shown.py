"""Figures as they are shown: decimals by column, points below one another."""

from __future__ import annotations

import math
from dataclasses import dataclass

from linter.binder.model import Cell, Column, Figure, Mark, Table


@dataclass(frozen=True, slots=True)
class Shown:
    """``lead``: marks before it; ``pad``: what is left free behind it, so that points stand below one another."""

    text: str
    lead: str = ""
    pad: str = ""


def number(value: float, decimals: int | None, most: int = 4) -> str:
    """Four figures as they come, with at most so many decimals and never an exponent; or with so many exactly."""
    if decimals is not None:
        return f"{value:.{decimals}f}"
    if value == 0 or not math.isfinite(value):
        return f"{value:g}"
    digits = min(max(3 - math.floor(math.log10(abs(value))), 0), most)
    text = f"{value:.{digits}f}"
    return text.rstrip("0").rstrip(".") if "." in text else text


def cell(value: Cell, column: Column) -> Shown:
    """A cell by itself, without what aligns it."""
    if isinstance(value, str):
        return Shown(value)
    if value.words:
        return Shown(value.words, lead(value))
    if value.value is None:
        return Shown("?" if Mark.MISSING in value.marks else "")
    return Shown(number(value.value, column.decimals, column.most), lead(value))


def lead(value: Figure) -> str:
    return "".join(m.value for m in value.marks if m is not Mark.MISSING)


def rows(table: Table) -> list[list[Shown]]:
    """All cells of a table, figures padded."""
    made = [[cell(c, k) for c, k in zip(row.cells, table.columns, strict=True)] for row in table.rows]
    for place in range(len(table.columns)):
        figures = [n for n, row in enumerate(table.rows) if _is_number(row.cells[place])]
        decimals = {n: len(made[n][place].text.partition(".")[2]) for n in figures}
        most = max(decimals.values(), default=0)
        for n, own in decimals.items():
            if own < most:
                old = made[n][place]
                made[n][place] = Shown(old.text, old.lead, ("" if own else ".") + "0" * (most - own))
    return made


def _is_number(value: Cell) -> bool:
    return isinstance(value, Figure) and value.value is not None and not value.words
