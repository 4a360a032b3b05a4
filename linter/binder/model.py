"""A document as data: sections of paragraphs, tables, pictures, cards and labels.  Filled by `parts`, written by
`typeset` (PDF), `web` (HTML) and `rows` (CSV); it knows nothing of any of them.

Text is plain everywhere: no writer takes anything of it for markup.
"""

from __future__ import annotations

from dataclasses import dataclass, field
from enum import Enum


class Mark(Enum):
    """What a figure leans on, shown before it where it stands."""

    MEMORY = "†"
    ROUGH = "~"
    BOUND = "≤"
    MISSING = "?"


#: What each mark means; told below every table that has it.
MEANING = {
    Mark.MEMORY: "from memory: compare with your copy of the standard before you rely on it",
    Mark.ROUGH: "leans on a figure that nobody stated: on a rough one, or on the worst that may be",
    Mark.BOUND: "at most: the curve that is told ends sooner",
    Mark.MISSING: "nobody states it; nothing is guessed in its place",
}


@dataclass(frozen=True, slots=True)
class Figure:
    """A figure in the unit of its column.  ``words`` stand in its place where it has no number (never, unlimited)."""

    value: float | None = None
    marks: tuple[Mark, ...] = ()
    words: str = ""


Cell = str | Figure


def figure(value: float | None, *marks: Mark, needed: bool = False, words: str = "") -> Figure:
    """A figure; of one that is ``needed`` and not there it is said that it is missing."""
    if value is None and not words and needed:
        return Figure(None, (Mark.MISSING,))
    return Figure(value, marks if value is not None or words else (), words)


class Kind(Enum):
    TEXT = "text"
    NAME = "name"
    FIGURE = "figure"
    # empty, to be written in by hand
    BOX = "box"


@dataclass(frozen=True, slots=True)
class Column:
    """``key`` heads it in CSV, ``head`` and ``unit`` on paper.  ``decimals`` None: four figures as they come, the
    points below one another, with at most ``most`` decimals.  ``width``: the least width of a box, in mm."""

    key: str
    head: str
    unit: str = ""
    kind: Kind = Kind.TEXT
    decimals: int | None = None
    width: float = 0.0
    most: int = 4


@dataclass(frozen=True, slots=True)
class Row:
    """``strong``: a sum, which stays below what it sums up.  ``warns``: one of many, not to be overlooked."""

    cells: tuple[Cell, ...]
    strong: bool = False
    warns: bool = False

    @property
    def bold(self) -> bool:
        return self.strong or self.warns


@dataclass(slots=True)
class Table:
    """``title`` may be empty.  ``notes`` stand below it.  ``beside``: in how many columns it stands on a page."""

    columns: tuple[Column, ...]
    rows: list[Row] = field(default_factory=list)
    title: str = ""
    notes: list[str] = field(default_factory=list)
    # said in place of an empty table
    empty: str = "None."
    beside: int = 1

    def add(self, *cells: Cell, strong: bool = False, warns: bool = False) -> None:
        assert len(cells) == len(self.columns), (len(cells), [c.key for c in self.columns])
        self.rows.append(Row(cells, strong, warns))

    def marks(self) -> list[Mark]:
        """The marks that its figures have, in a fixed order."""
        used = {m for row in self.rows for cell in row.cells if isinstance(cell, Figure) for m in cell.marks}
        return [m for m in Mark if m in used]


@dataclass(frozen=True, slots=True)
class Heading:
    text: str


@dataclass(frozen=True, slots=True)
class Paragraph:
    text: str
    strong: bool = False


@dataclass(frozen=True, slots=True)
class Points:
    """A list; each of its lines may begin with a term."""

    lines: tuple[tuple[str, str], ...]


@dataclass(frozen=True, slots=True)
class Picture:
    """A drawing that fills a page of its own size, in mm."""

    svg: str
    width_mm: float
    height_mm: float
    title: str


@dataclass(frozen=True, slots=True)
class Card:
    """A table to cut out and stick up: it is held together on one page where one page holds it."""

    title: str
    lines: tuple[str, ...]
    table: Table
    foot: str = ""


@dataclass(frozen=True, slots=True)
class Label:
    """``title`` is never shortened; it is repeated where the label wraps around a cable."""

    title: str
    lines: tuple[str, ...]
    wraps: bool = False


@dataclass(frozen=True, slots=True)
class Grid:
    """A sheet of labels, in mm: the first label's corner, one label, and from one to the next."""

    name: str
    title: str
    paper: str
    columns: int
    rows: int
    left: float
    top: float
    width: float
    height: float
    across: float
    down: float


@dataclass(frozen=True, slots=True)
class Labels:
    grid: Grid
    labels: tuple[Label, ...]


Block = Heading | Paragraph | Points | Table | Picture | Card | Labels


@dataclass(slots=True)
class Section:
    """``key`` is how the command line names it, ``data`` what it gives as CSV."""

    key: str
    title: str
    blocks: list[Block]
    data: Table
    landscape: bool = False


@dataclass(slots=True)
class Document:
    """``revision`` stands on every page; ``day`` is (year, month, day) of the revision, for the file's own date."""

    boat: str
    title: str
    revision: str
    paper: str
    day: tuple[int, int, int]
    cautions: tuple[str, ...]
    # what makes the document less than whole: on the cover, and the first of them on every page
    warnings: tuple[str, ...]
    facts: tuple[tuple[str, str], ...]
    cover: bool
    sections: list[Section]
