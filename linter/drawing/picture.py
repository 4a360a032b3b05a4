"""What is drawn, as data: millimetres, y downwards.  The painter writes it out; tests measure it."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, field, replace
from typing import Literal

from linter.drawing.text import ASCENT_EM, DESCENT_EM, width_mm

Point = tuple[float, float]
Anchor = Literal["start", "middle", "end"]

# Line widths in mm: conductors and symbols, bus bars, fine lines.
LINE = 0.3
BAR = 1.5
FINE = 0.15


@dataclass(frozen=True, slots=True)
class Box:
    """A rectangle; ``x0 <= x1`` and ``y0 <= y1``."""

    x0: float
    y0: float
    x1: float
    y1: float

    def overlaps(self, other: Box, slack: float = 0.0) -> bool:
        """Whether the two share more than an edge (``slack`` > 0 forgives, < 0 wants distance)."""
        return (
            self.x0 < other.x1 - slack
            and other.x0 < self.x1 - slack
            and self.y0 < other.y1 - slack
            and other.y0 < self.y1 - slack
        )

    def joined(self, other: Box) -> Box:
        return Box(min(self.x0, other.x0), min(self.y0, other.y0), max(self.x1, other.x1), max(self.y1, other.y1))


@dataclass(frozen=True, slots=True)
class Stroke:
    """A line through points; ``fill`` is "" for none, "ink" or "paper"."""

    points: tuple[Point, ...]
    width: float = LINE
    closed: bool = False
    fill: str = ""
    dash: str = ""
    colour: str = ""


@dataclass(frozen=True, slots=True)
class Arc:
    """A circular arc from ``start`` to ``end`` with radius ``r``, clockwise on the sheet where ``sweep``."""

    start: Point
    end: Point
    r: float
    sweep: bool = True
    width: float = LINE


@dataclass(frozen=True, slots=True)
class Disc:
    x: float
    y: float
    r: float
    fill: str = "ink"
    width: float = LINE


@dataclass(frozen=True, slots=True)
class Words:
    """One line of text: ``x`` is where ``anchor`` says, ``y`` the baseline."""

    x: float
    y: float
    text: str
    size: float
    bold: bool = False
    anchor: Anchor = "start"
    colour: str = ""

    @property
    def width(self) -> float:
        return width_mm(self.text, self.size)

    @property
    def box(self) -> Box:
        left = self.x - {"start": 0.0, "middle": 0.5, "end": 1.0}[self.anchor] * self.width
        return Box(left, self.y - ASCENT_EM * self.size, left + self.width, self.y + DESCENT_EM * self.size)


@dataclass(frozen=True, slots=True)
class Marker:
    """The numbered mark of a finding or change: a shape, and the number to its right; ``x``, ``y`` its left end,
    mid-height.  In a key the number is 0 and left out."""

    x: float
    y: float
    severity: str
    number: int
    accepted: bool


Shape = Stroke | Arc | Disc | Words | Marker


@dataclass(slots=True)
class Drawn:
    """One element of the design as it stands on the sheet.

    ``symbol`` is the room its symbol takes (a cable's is its line); ``terminals`` are where lines may join it, by
    name of the circuit's node.
    """

    name: str
    kind: str
    title: str
    desc: str
    symbol: Box
    shapes: list[Shape] = field(default_factory=list)
    texts: list[Words] = field(default_factory=list)
    markers: list[tuple[Marker, Box]] = field(default_factory=list)
    terminals: list[tuple[str, Point]] = field(default_factory=list)
    system: int = -1
    # the pair of references that this is one end of, -1 for an element
    reference: int = -1
    # a bus or joint that began at another place
    continued: bool = False


@dataclass(frozen=True, slots=True)
class Wire:
    """A plain line between symbols; ``system`` is the index of the system whose colour it has, -1 for none.

    ``node`` is the name of the circuit's node that it is, ``ends`` what it leads to: elements, or nodes, by name.
    """

    points: tuple[Point, ...]
    system: int
    node: str = ""
    ends: tuple[str, ...] = ()


@dataclass(slots=True)
class Picture:
    width: float = 0.0
    height: float = 0.0
    elements: list[Drawn] = field(default_factory=list)
    wires: list[Wire] = field(default_factory=list)
    # where lines that meet are joined
    dots: list[Point] = field(default_factory=list)
    # title, legend, list of findings, caution: shapes that belong to no element
    frame: list[Shape] = field(default_factory=list)
    title: str = ""
    # millimetres of paper that one of the drawing takes
    scale: float = 1.0

    @property
    def frame_words(self) -> list[Words]:
        return [s for s in self.frame if isinstance(s, Words)]


def moved(shape: Shape, dx: float, dy: float) -> Shape:
    """The shape, shifted."""
    match shape:
        case Stroke(points, width, closed, fill, dash, colour):
            return Stroke(tuple((x + dx, y + dy) for x, y in points), width, closed, fill, dash, colour)
        case Arc(start, end, r, sweep, width):
            return Arc((start[0] + dx, start[1] + dy), (end[0] + dx, end[1] + dy), r, sweep, width)
        case Disc(x, y, r, fill, width):
            return Disc(x + dx, y + dy, r, fill, width)
        case Words(x, y, text, size, bold, anchor, colour):
            return Words(x + dx, y + dy, text, size, bold, anchor, colour)
        case Marker(x, y, severity, number, accepted):
            return Marker(x + dx, y + dy, severity, number, accepted)


def mirrored(shape: Shape, about: float) -> Shape:
    """The shape turned left to right about the upright at ``about``; letters stay readable."""

    def flip(point: Point) -> Point:
        return 2 * about - point[0], point[1]

    match shape:
        case Stroke(points, width, closed, fill, dash, colour):
            return Stroke(tuple(flip(p) for p in points), width, closed, fill, dash, colour)
        case Arc(start, end, r, sweep, width):
            return Arc(flip(start), flip(end), r, not sweep, width)
        case Disc(x, y, r, fill, width):
            return Disc(2 * about - x, y, r, fill, width)
        case Words(x, y, text, size, bold, anchor, colour):
            return Words(2 * about - x, y, text, size, bold, anchor, colour)
        case Marker():
            return shape


def scaled(shape: Shape, by: float) -> Shape:
    """The shape made larger or smaller about (0, 0), its lines as wide as before."""

    def at(point: Point) -> Point:
        return point[0] * by, point[1] * by

    match shape:
        case Stroke(points, width, closed, fill, dash, colour):
            return Stroke(tuple(at(p) for p in points), width, closed, fill, dash, colour)
        case Arc(start, end, r, sweep, width):
            return Arc(at(start), at(end), r * by, sweep, width)
        case Disc(x, y, r, fill, width):
            return Disc(x * by, y * by, r * by, fill, width)
        case Words(x, y, text, size, bold, anchor, colour):
            return Words(x * by, y * by, text, size * by, bold, anchor, colour)
        case Marker(x, y, severity, number, accepted):
            return Marker(x * by, y * by, severity, number, accepted)


def box_of(points: Sequence[Point]) -> Box:
    xs, ys = [p[0] for p in points], [p[1] for p in points]
    return Box(min(xs), min(ys), max(xs), max(ys))


def shift(picture: Picture, dx: float, dy: float) -> None:
    """Move the whole diagram."""

    def at(point: Point) -> Point:
        return point[0] + dx, point[1] + dy

    for drawn in picture.elements:
        _shift(drawn, dx, dy)
    picture.wires = [replace(w, points=tuple(at(p) for p in w.points)) for w in picture.wires]
    picture.dots = [at(p) for p in picture.dots]


def _shift(drawn: Drawn, dx: float, dy: float) -> None:
    def box(b: Box) -> Box:
        return Box(b.x0 + dx, b.y0 + dy, b.x1 + dx, b.y1 + dy)

    drawn.symbol = box(drawn.symbol)
    drawn.shapes = [moved(s, dx, dy) for s in drawn.shapes]
    drawn.texts = [Words(t.x + dx, t.y + dy, t.text, t.size, t.bold, t.anchor, t.colour) for t in drawn.texts]
    drawn.markers = [(Marker(m.x + dx, m.y + dy, m.severity, m.number, m.accepted), box(b)) for m, b in drawn.markers]
    drawn.terminals = [(name, (x + dx, y + dy)) for name, (x, y) in drawn.terminals]
