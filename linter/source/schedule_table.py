"""A cable schedule as a table: its rows, which column is which, and the figures in its cells."""

from __future__ import annotations

import csv
import io
import re
import tomllib
from collections.abc import Iterator
from dataclasses import dataclass, field, replace
from decimal import Decimal
from functools import cache
from importlib.resources import files
from typing import Any

from linter.source.files import Unusable
from linter.source.units import MEANT, UNITS, BadQuantity, quantity

# Titles and remarks may stand above the headers, but no more lines of them than this.
GREATEST_ABOVE = 20
DELIMITERS = (",", ";", "\t", "|")
# What kind of figure the cells of a column hold.
FIGURE = {"size": "AREA", "length": "LENGTH", "rating": "CURRENT", "fuse": "CURRENT", "breaker": "CURRENT"}
CALLED = {"AREA": "size", "LENGTH": "length", "CURRENT": "rated current"}
EXAMPLE = {"AREA": "mm2", "LENGTH": "m", "CURRENT": "A"}


@cache
def vocabulary() -> dict[str, Any]:
    """What people write in cable schedules, from schedule.toml."""
    return tomllib.loads(files("linter").joinpath("source", "schedule.toml").read_text(encoding="utf-8"))


@dataclass(frozen=True, slots=True)
class Column:
    """A column: its number from 1, its header as written, what it holds, and the unit that its header gives.

    ``holds`` is a key of the vocabulary's ``columns``, or nothing where the header is not known.
    """

    number: int
    header: str
    holds: str = ""
    unit: str = ""


@dataclass(frozen=True, slots=True)
class Row:
    """One row: its line in the file, from 1, and the text of its cells, by what they hold."""

    line: int
    cells: dict[str, str]
    # header and text of what stands in columns that nobody knows, or beyond the last header
    others: tuple[tuple[str, str], ...] = ()
    # the line above from which it has where it begins, its own cell being empty; else 0
    from_above: int = 0


@dataclass(slots=True)
class Table:
    columns: list[Column]
    rows: list[Row] = field(default_factory=list)
    # columns that cannot be read, and why
    unread: list[tuple[Column, str]] = field(default_factory=list)
    header_line: int = 1

    def column(self, holds: str) -> Column | None:
        return next((c for c in self.columns if c.holds == holds), None)


class BadCell(ValueError):
    """A cell that holds no figure of its kind; the message says why and what to do."""


def plain(text: str, most: int = 120) -> str:
    """Text for one line, without what cannot be seen; cut where it is very long."""
    shown = "".join(c for c in " ".join(text.split()) if c.isprintable())
    return shown if len(shown) <= most else shown[: most - 1].rstrip() + "…"


def read_table(text: str) -> Table:
    """The table that a CSV text holds; commas, semicolons, tabs or strokes between its cells.

    Raises Unusable where no line tells where cables come from and where they go.
    """
    text = text.removeprefix("\ufeff")
    first, _, below = text.partition("\n")
    told = re.fullmatch(r'"?sep=(.)"?\r?', first)
    lines_above = 1 if told else 0
    choices = (told[1],) if told else DELIMITERS
    best: tuple[int, str, int, list[Column]] = (0, "", 0, [])
    for delimiter in choices:
        for number, (_, cells) in enumerate(_records(below if told else text, delimiter)):
            if number >= GREATEST_ABOVE:
                break
            columns = _columns(cells)
            known = {c.holds for c in columns} - {""}
            if {"from", "to"} <= known and len(known) > best[0]:
                best = (len(known), delimiter, number, columns)
    if not best[0]:
        message = (
            "no line of it has the headers of a cable schedule; name its columns: from, to, size (mm2), length (m), "
        )
        raise Unusable(message + "device, rating (A), label")
    table = Table(best[3])
    above: tuple[int, str] | None = None
    for number, (line, cells) in enumerate(_records(below if told else text, best[1])):
        if number == best[2]:
            table.header_line = line + lines_above
        if number > best[2] and any(cell.strip() for cell in cells):
            row = _row(table.columns, cells, line + lines_above)
            if _sums_up(row):
                continue
            if row.cells.get("from"):
                above = row.line, row.cells["from"]
            elif above is not None and row.cells.get("to"):
                # cells that were merged in a spreadsheet come out as one that is filled and empty ones below
                row = replace(row, cells=row.cells | {"from": above[1]}, from_above=above[0])
            table.rows.append(row)
    _gauges(table)
    _settle(table)
    return table


def _records(text: str, delimiter: str) -> Iterator[tuple[int, list[str]]]:
    """The rows of a CSV text, each with the line on which it begins."""
    reader = csv.reader(io.StringIO(text, newline=""), delimiter=delimiter)
    line = 1
    try:
        for cells in reader:
            yield line, cells
            line = reader.line_num + 1
    except csv.Error as problem:
        raise Unusable(f"it is no table (line {line}): {problem}") from problem


def _row(columns: list[Column], cells: list[str], line: int) -> Row:
    held: dict[str, str] = {}
    others = []
    for number, cell in enumerate(cells, 1):
        cell = cell.strip()
        column = columns[number - 1] if number <= len(columns) else Column(number, f"column {number}")
        if column.holds and column.holds != "note":
            held[column.holds] = cell
        elif cell:
            others.append((plain(column.header, 40) or f"column {number}", cell))
    return Row(line, held, tuple(others))


def _sums_up(row: Row) -> bool:
    """Whether a row is a sum below the others."""
    if row.cells.get("from") or row.cells.get("to"):
        return False
    texts = [*row.cells.values(), *(cell for _, cell in row.others)]
    words = [_words(text) for text in texts if text and not text[0].isdecimal()]
    return bool(words) and all(word in vocabulary()["passed_over"]["rows"] for word in words)


def _gauges(table: Table) -> None:
    """A column of gauges is in AWG where one of its sizes is written as only AWG is: 2/0."""
    for number, column in enumerate(table.columns):
        if column.holds == "size" and not column.unit and "gauge" in _words(column.header).split():
            cells = [row.cells.get("size", "") for row in table.rows]
            if any(re.fullmatch(r"\d/0", cell) for cell in cells):
                table.columns[number] = replace(column, unit="AWG")


# ---- headers


def _columns(cells: list[str]) -> list[Column]:
    """What each header means; of two that mean the same the first, the second is as if nobody knew it."""
    found: list[Column] = []
    for number, cell in enumerate(cells, 1):
        holds, unit = _meaning(cell)
        same = next((i for i, c in enumerate(found) if holds and c.holds == holds), None)
        if same is not None and holds in {"fuse", "breaker"} and not any(c.holds == "rating" for c in found):
            # "Fuse" and "Fuse rating" side by side, in either order: one of them is the rating
            if _tells_rating(cell):
                holds, same = "rating", None
            elif _tells_rating(found[same].header):
                found[same] = replace(found[same], holds="rating")
                same = None
        if same is not None:
            holds, unit = "", ""
        found.append(Column(number, cell.strip(), holds, unit))
    return found


def _tells_rating(header: str) -> bool:
    return "rating" in _words(header).split() or "size" in _words(header).split()


def _settle(table: Table) -> None:
    """Note the columns that cannot be read, but for those that are empty."""
    wanted = vocabulary()["columns"]
    for column in table.columns:
        if not column.holds and column.header:
            holds = _meaning(column.header)[0]
            reason = (
                f"an earlier column is the {holds} already"
                if holds in wanted
                else "no known header; what it holds is kept in comments"
            )
            table.unread.append((column, reason))


def _meaning(header: str) -> tuple[str, str]:
    """What a column with this header holds, and in which unit; nothing where that is not sure."""
    words = _words(header)
    known = _synonyms("columns")
    if words in known:
        return known[words], ""
    bracket = re.fullmatch(r"([^(\[]*)[(\[]([^)\]]*)[)\]]\s*", header.strip())
    stroke = re.fullmatch(r"(.+?)(?:\s*/\s*|,\s*|\s+in\s+|\s+)(\S+)", header.strip())
    for match in (bracket, stroke):
        if match is None or _words(match[1]) not in known:
            continue
        holds = known[_words(match[1])]
        inside = re.sub(r"\s*,?\s*(one way|one-way|each way)\s*,?\s*", "", match[2], flags=re.IGNORECASE)
        unit = unit_of(inside, FIGURE.get(holds, ""))
        if unit or (not inside and holds == "length"):
            return holds, unit
        # "Wire (AWG)" is no number of a wire
        if holds == "name" and (unit := unit_of(inside, "AREA")):
            return "size", unit
    # "mm2", "AWG", "amps" by themselves; a single letter may mean anything
    for holds in ("size", "rating"):
        unit = unit_of(header, FIGURE[holds]) if len(header.strip()) > 2 else ""
        if unit:
            return holds, unit
    return "", ""


def _words(text: str) -> str:
    return " ".join(re.findall(r"\w+", text.casefold().replace("_", " ")))


@cache
def _synonyms(section: str) -> dict[str, str]:
    return {word: meant for meant, words in vocabulary()[section].items() for word in words}


# ---- figures


def unit_of(written: str, kind: str) -> str:
    """The unit of the language that was meant, of this kind of quantity; nothing where there is none."""
    text = " ".join(written.split())
    folded = text.casefold()
    near = {u.casefold(): u for u, (k, _) in UNITS.items() if k == kind}
    for unit in (
        text,
        MEANT.get(text, ""),
        _synonyms("units").get(folded, ""),
        near.get(folded, ""),
        MEANT.get(folded, ""),
    ):
        if unit in UNITS and UNITS[unit][0] == kind:
            return unit
    return ""


_NUMBER = re.compile(r"(?P<whole>\d+)(?:(?P<mark>[.,])(?P<decimals>\d+))?(?P<gauge>/0)?(?P<unit>\D.*)?", re.ASCII)
_FEET_AND_INCHES = re.compile(r"(\d+) ?(?:'|′|ft\.?|feet) ?(\d+(?:\.\d+)?) ?(?:\"|″|''|in\.?|inches)", re.ASCII)


_THOUSANDS = re.compile(r"(\d{1,3})((?:\.\d{3})+),(\d+)|(\d{1,3})((?:,\d{3})+)\.(\d+)", re.ASCII)


def _without_thousands(text: str) -> str:
    """1.400,50 and 1,400.50, where both marks stand, are 1400.50."""
    found = _THOUSANDS.match(text)
    if found is None:
        return text
    whole, groups, decimals = (found[1], found[2], found[3]) if found[1] else (found[4], found[5], found[6])
    return f"{whole}{groups.replace('.', '').replace(',', '')}.{decimals}{text[found.end() :]}"


def figure(text: str, kind: str, column_unit: str) -> str:
    """A figure of a cell as the language writes it: 2,5 mm² is ``2.5 mm2``.

    ``kind`` is a kind of quantity (see units.BASE_UNIT); ``column_unit`` the unit that the header gives, or nothing.
    Raises BadCell.  Nothing is converted but feet with inches, which are written in inches.
    """
    text = " ".join(text.split())
    called, shown = CALLED[kind], plain(text, 40)
    both = _FEET_AND_INCHES.fullmatch(text) if kind == "LENGTH" else None
    if both is not None:
        text = f"{int(both[1]) * 12 + Decimal(both[2])} in"
    before = re.fullmatch(r"(?:AWG|awg) ?#?(\d+(?:/0)?)|#(\d+(?:/0)?)(?: ?AWG)?", text) if kind == "AREA" else None
    if before is not None:
        text = f"{before[1] or before[2]} AWG"
    several = re.fullmatch(r"(\d+) ?[x×*] ?\d.*", text, re.IGNORECASE) if kind == "AREA" else None
    if several is not None:
        raise BadCell(
            f"{shown}: out and back in one sheath, or {several[1]} side by side? Write the size of one conductor"
        )
    text = _without_thousands(text)
    match = _NUMBER.fullmatch(text)
    if match is None:
        raise BadCell(f"{shown} is no {called}")
    whole, decimals = match["whole"], match["decimals"] or ""
    if match["mark"] == "," and len(decimals) == 3 and whole.strip("0"):
        raise BadCell(
            f"{shown}: a comma before three digits may part thousands or decimals; write it with a point, or without"
        )
    unit = unit_of(match["unit"], kind) if match["unit"] else column_unit or ("AWG" if match["gauge"] else "")
    if match["unit"] and not unit:
        raise BadCell(f"{shown} is no {called}; for instance {'10' if kind == 'AREA' else '3'} {EXAMPLE[kind]}")
    if not unit:
        header = f"{called} ({EXAMPLE[kind]})"
        raise BadCell(f"{shown} has no unit; write it behind the figure, or in the header: {header}")
    if unit == "mm" and match["mark"] == "." and len(decimals) == 3:
        raise BadCell(f"{shown}: a point before three digits may part thousands; write it without")
    number = whole + (f".{decimals}" if decimals else "") + (match["gauge"] or "")
    try:
        value = quantity(number, unit)
    except BadQuantity as problem:
        raise BadCell(plain(str(problem), 200)) from problem
    if kind == "CURRENT" and value.value < 1e-6:
        raise BadCell(f"{shown}: a rating of nothing is none")
    return f"{number} {unit}"
