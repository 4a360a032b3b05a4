"""Things of one kind in the rows of a column stand below each other: devices, cables, switches, loads."""

from __future__ import annotations

from collections.abc import Sequence

# The beginning and the end of a row: the first column and the last.
_ENDS = ("start", "end")


def aligned(rows: Sequence[Sequence[str]]) -> tuple[list[str], list[list[int]]]:
    """Columns that hold all rows in their order, and for each row the columns its things stand in.

    The longest row makes the first columns; each following is laid along its longest common subsequence with what is
    there, and what does not fit gets a column of its own.
    """
    inner = {tuple(k for k in row if k not in _ENDS) for row in rows}
    columns: list[str] = []
    for row in sorted(inner, key=lambda r: (-len(r), r)):
        columns = _merged(columns, row)
    if any("start" in row for row in rows):
        columns.insert(0, "start")
    if any("end" in row for row in rows):
        columns.append("end")
    return columns, [_placed(columns, row) for row in rows]


def _common(columns: Sequence[str], row: Sequence[str]) -> list[list[int]]:
    """table[i][j]: how much columns[i:] and row[j:] have in common."""
    table = [[0] * (len(row) + 1) for _ in range(len(columns) + 1)]
    for i in range(len(columns) - 1, -1, -1):
        for j in range(len(row) - 1, -1, -1):
            if columns[i] == row[j]:
                table[i][j] = table[i + 1][j + 1] + 1
            else:
                table[i][j] = max(table[i + 1][j], table[i][j + 1])
    return table


def _merged(columns: list[str], row: tuple[str, ...]) -> list[str]:
    table = _common(columns, row)
    made: list[str] = []
    i = j = 0
    while i < len(columns) and j < len(row):
        if columns[i] == row[j]:
            made.append(columns[i])
            i, j = i + 1, j + 1
        elif table[i + 1][j] >= table[i][j + 1]:
            made.append(columns[i])
            i += 1
        else:
            made.append(row[j])
            j += 1
    return made + columns[i:] + list(row[j:])


def _placed(columns: list[str], row: Sequence[str]) -> list[int]:
    """The first columns that take the row in order."""
    made: list[int] = []
    at = 0
    for kind in row:
        at = columns.index(kind, at)
        made.append(at)
        at += 1
    return made
