"""A cable schedule (CSV) to a first text of a design.  What the schedule does not say is marked, never invented."""

from __future__ import annotations

import re
from collections.abc import Iterator
from dataclasses import dataclass, field

from linter.source.grammar import words
from linter.source.parser import parse
from linter.source.schedule_table import (
    CALLED,
    FIGURE,
    BadCell,
    Column,
    Row,
    Table,
    figure,
    plain,
    read_table,
    vocabulary,
)
from linter.source.schedule_words import Device, colour_of, device_of, is_return, kind_of, says_none
from linter.source.tidy import tidy
from linter.source.units import quantity

GREATEST_NAME = 60
HEAD = """# From a cable schedule.  What it does not say is marked "to do".
#
# Each fuse and breaker is written where its cable begins, for a schedule does not say at which end it stands.  To do:
# move the line of each that stands elsewhere, before anything is concluded from what is protected.
"""


@dataclass(frozen=True, slots=True)
class Problem:
    """Something in the schedule that was not taken over: line of the file, column from 1 with its header, or 0."""

    line: int
    column: int
    header: str
    message: str

    def __str__(self) -> str:
        where = f"column {self.column} ({plain(self.header, 40)}): " if self.column else ""
        return f"{self.line}: {where}{self.message}"


@dataclass(slots=True)
class Imported:
    """The text, in canonical form; what could not be taken over; and how much was."""

    text: str
    problems: list[Problem]
    rows: int
    conductors: int

    @property
    def to_do(self) -> int:
        """Marks in the text that ask a person."""
        return self.text.count("# to do:")


def import_schedule(text: str, boat: str, voltage: str = "") -> Imported:
    """The design that a cable schedule describes, as far as it does.

    ``boat`` is her name; ``voltage`` the nominal voltage of her one system as the language writes it (``12 V``), or
    nothing.  Raises Unusable where the text is no cable schedule, ValueError where ``voltage`` is none.
    """
    told = parse("-", f"system S, {voltage}")
    if voltage and (told.mistakes or [[f.key for f in s.facts] for s in told.statements] != [["voltage"]]):
        raise ValueError(f"{plain(voltage, 40)} is no voltage; for instance 12 V")
    work = _Work(read_table(text))
    work.read()
    lines = [HEAD, f'boat "{_label(boat) or "Unnamed"}"  # to do: length of the hull, rulebook']
    lines.append(f"system DC-SYSTEM, {voltage}" if voltage else "# to do: system, for instance: system DC12, 12 V")
    lines.append("")
    lines += work.declared_first()
    lines += work.runs()
    if work.lost:
        lines += ["", "# ---- rows that were not taken over", ""]
        lines += [f"# to do: line {line} of the schedule: {what}" for line, what in work.lost]
    problems = sorted(work.problems, key=lambda p: (p.line, p.column))
    return Imported(tidy(parse("-", "\n".join(lines) + "\n")), problems, len(work.table.rows), len(work.links))


@dataclass(slots=True)
class _Point:
    """A terminal that the schedule names: as it is written there, and which rows arrive and leave."""

    written: str
    line: int
    name: str = ""
    kind: str = "joint"
    arriving: int = 0
    leaving: int = 0


@dataclass(slots=True)
class _Link:
    """One conductor, ready to be written."""

    row: Row
    start: _Point
    end: _Point
    cable: str = ""
    lines: list[str] = field(default_factory=list)


class _Names:
    """Names that fit the language, each given once."""

    def __init__(self) -> None:
        self.taken = set(words())
        self.next: dict[str, int] = {}

    def give(self, wanted: str) -> str:
        """A free name as near to ``wanted`` as can be."""
        name = wanted if _is_name(wanted) else _made_name(wanted)
        if name in words():
            name = f"{name}-1"
        given = name
        while given in self.taken:
            self.next[name] = self.next.get(name, 1) + 1
            given = f"{name}-{self.next[name]}"
        self.taken.add(given)
        return given


def _is_name(text: str) -> bool:
    return len(text) <= GREATEST_NAME and re.fullmatch(r"[^\W\d][\w-]*", text) is not None


def _made_name(text: str) -> str:
    name = re.sub(r"[\W_]+", "-", text.upper()).strip("-")[:GREATEST_NAME].rstrip("-")
    if not name:
        return "POINT"
    return name if _is_name(name) else f"_{name}"


def _label(text: str) -> str:
    return plain(text).replace('"', "'")


class _Work:
    def __init__(self, table: Table) -> None:
        self.table = table
        self.points: dict[str, _Point] = {}
        self.links: list[_Link] = []
        self.lost: list[tuple[int, str]] = []
        self.problems = [Problem(table.header_line, c.number, c.header, f"not read: {why}") for c, why in table.unread]
        self.names = _Names()

    def report(self, row: Row, holds: str, message: str) -> None:
        column = self.table.column(holds) or Column(0, "")
        self.problems.append(Problem(row.line, column.number, column.header, message))

    # -- rows to terminals and links --------------------------------------------------------------
    def read(self) -> None:
        for row in self.table.rows:
            if not any(plain(row.cells.get(holds, "")) for holds in ("from", "to")):
                self.report(row, "from", "neither where a cable begins nor where it ends: no cable?")
                self.lost.append((row.line, "; ".join(_cells(row))))
                continue
            ends = [self._end(row, holds) for holds in ("from", "to")]
            if None in ends or self._is_lost(row):
                self.lost.append((row.line, "; ".join(_cells(row))))
                continue
            start, end = (self._point(row, holds) for holds in ("from", "to"))
            start.leaving += 1
            end.arriving += 1
            self.links.append(_Link(row, start, end))
        for point in self.points.values():
            point.kind = kind_of(point.written, point.arriving, point.leaving)
            point.name = self.names.give(point.written)
        for number, link in enumerate(self.links, 1):
            link.cable = self._cable_name(link.row, number)
        for link in self.links:
            self._write(link)

    def _end(self, row: Row, holds: str) -> str | None:
        text = plain(row.cells.get(holds, ""))
        if not text:
            self.report(
                row, holds, f"nothing stands here; say where the cable {'begins' if holds == 'from' else 'ends'}"
            )
            return None
        if is_return(text):
            self.report(row, holds, f"{plain(text, 40)}: the return side is not written down; only the live side is")
            return None
        return text

    def _is_lost(self, row: Row) -> bool:
        one, two = (plain(row.cells[holds]).casefold() for holds in ("from", "to"))
        if one == two:
            self.report(row, "to", "the cable ends where it begins")
        return one == two

    def _point(self, row: Row, holds: str) -> _Point:
        written = plain(row.cells[holds])
        if holds == "from" and row.from_above:
            message = f"nothing stands here; {plain(written, 40)} is taken from line {row.from_above} above"
            self.report(row, holds, message)
        found = self.points.setdefault(written.casefold(), _Point(written, row.line))
        if found.written != written:
            message = f"{plain(written, 40)} is taken for {plain(found.written, 40)} of line {found.line}"
            self.report(row, holds, message)
        return found

    # -- one conductor ----------------------------------------------------------------------------
    def _cable_name(self, row: Row, number: int) -> str:
        cell = plain(row.cells.get("name", ""))
        if not cell:
            return self.names.give(f"W{number}")
        name = self.names.give(f"W{cell}" if cell[0].isdecimal() else cell)
        if _is_name(cell) and name != cell:
            message = f"{plain(cell, 40)} is the name of something else, or a word of the language; here it is {name}"
            self.report(row, "name", message)
        return name

    def _write(self, link: _Link) -> None:
        row = link.row
        label = _label(row.cells.get("label", ""))
        cable = [f'cable {link.cable} "{label}"' if label else f"cable {link.cable}"]
        to_do: list[str] = []
        for holds in ("size", "length"):
            written = self._figure(row, holds)
            if written:
                cable.append(written)
            else:
                cell = plain(row.cells.get(holds, ""), 40)
                to_do.append(f"{holds} ({cell})" if cell else holds)
        if cell := plain(row.cells.get("colour", ""), 40):
            colour = colour_of(cell)
            if colour:
                cable.append(colour)
            else:
                self.report(row, "colour", f"{cell} is no colour that the language has")
                to_do.append(f"colour ({cell})")
        link.lines = [f"# {header}: {plain(cell)}" for header, cell in row.others]
        above = f"  # to do: is it so? The schedule has it in line {row.from_above} above" if row.from_above else ""
        link.lines += [f"from {link.start.name}{above}", *self._device(link), ", ".join(cable) + _mark(to_do)]

    def _figure(self, row: Row, holds: str, usual: str = "") -> str:
        """The figure in a cell; nothing where it is empty, or is reported.  ``usual``: the unit where none is told."""
        cell, column = row.cells.get(holds, ""), self.table.column(holds)
        try:
            return figure(cell, FIGURE[holds], column.unit or usual) if cell and column is not None else ""
        except BadCell as problem:
            self.report(row, holds, str(problem))
            return ""

    def _device(self, link: _Link) -> list[str]:
        """The line of the device that the row names, where it is sure what it is; else a comment for a person."""
        row = link.row
        told = [
            (holds, row.cells[holds])
            for holds in ("device", "fuse", "breaker")
            if not says_none(row.cells.get(holds, ""))
        ]
        rating = "" if says_none(row.cells.get("rating", "")) else self._figure(row, "rating", "A")
        bare = _BARE.fullmatch(row.cells.get("rating", "")) is not None and not self._unit("rating")
        written = [f"{holds} {plain(cell)}" for holds, cell in told]
        if not says_none(row.cells.get("rating", "")):
            written.append(f"rating {plain(row.cells['rating'], 40)}")
        if not written:
            return []
        not_sure = f"# to do: what protects this? The schedule says: {'; '.join(written)}"
        if len(told) != 1:
            if told:
                self.report(row, told[1][0], "two devices in one row; give each a row of its own")
            return [not_sure]
        holds, cell = told[0]
        column = self.table.column(holds)
        try:
            device = device_of(cell, "" if holds == "device" else holds, (column.unit if column else "") or "A")
            bare = bare or (not rating and device.bare and not self._unit(holds))
        except BadCell as problem:
            self.report(row, holds, str(problem))
            return [not_sure]
        if rating and device.rating and not _same_current(rating, device.rating):
            self.report(row, "rating", f"{rating} here, but {device.rating} in column {column.number if column else 0}")
            return [not_sure]
        return [self._device_line(link, device, rating or device.rating, bare)]

    def _unit(self, holds: str) -> str:
        column = self.table.column(holds)
        return column.unit if column is not None else ""

    def _device_line(self, link: _Link, device: Device, rating: str, bare: bool) -> str:
        number = re.search(r"\d[\w-]*$", link.cable)
        name = self.names.give(("F" if device.kind == "fuse" else "Q") + (number[0] if number else link.cable))
        facts = [device.sort, device.speed, rating, f"curve {device.curve}" if device.curve else ""]
        missing = [] if device.sort else ["class"]
        missing += [f"is it {rating}? no unit in the schedule"] if rating and bare else []
        missing += [] if rating else [CALLED["CURRENT"]]
        line = ", ".join([f"{device.kind} {name}", *(fact for fact in facts if fact)])
        return line + _mark([*missing, "voltage", "breaking capacity"])

    # -- the text ---------------------------------------------------------------------------------
    def declared_first(self) -> Iterator[str]:
        """Sources, and what nothing leads to."""
        for point in self.points.values():
            if _stands_first(point):
                yield _declaration(point)

    def runs(self) -> Iterator[str]:
        declared = {point.name for point in self.points.values() if _stands_first(point)}
        for link in self.links:
            yield ""
            yield from link.lines
            yield f"to {link.end.name}" if link.end.name in declared else _declaration(link.end)
            declared.add(link.end.name)


def _stands_first(point: _Point) -> bool:
    return not point.arriving or point.kind in {"battery", "alternator"}


def _declaration(point: _Point) -> str:
    label = f' "{_label(point.written)}"' if point.written != point.name else ""
    return f"{point.kind} {point.name}{label}" + _mark([vocabulary()["wanted"][point.kind]])


# A figure without a unit.  In amperes are all ratings of fuses and breakers that a schedule has, but it is asked.
_BARE = re.compile(r"\d+(?:[.,]\d+)?", re.ASCII)


def _same_current(one: str, two: str) -> bool:
    (a, unit_a), (b, unit_b) = one.split(), two.split()
    return quantity(a, unit_a).value == quantity(b, unit_b).value


def _mark(to_do: list[str]) -> str:
    return f"  # to do: {', '.join(to_do)}" if to_do else ""


def _cells(row: Row) -> Iterator[str]:
    for holds, cell in [*row.cells.items(), *row.others]:
        if cell:
            yield f"{holds} {plain(cell)}"
