"""What is around the diagram on every sheet: border, fields of the grid, title block."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, field

from linter.drawing.cells import SIZE, SMALL
from linter.drawing.language import Language
from linter.drawing.paper import COLUMNS, FIELDS_MM, ROWS, Paper
from linter.drawing.picture import FINE, Box, Point, Shape, Stroke, Words
from linter.drawing.text import ADVANCE_EM, ASCENT_EM, DESCENT_EM, ELLIPSIS, LEADING, shorten, width_em, width_mm, wrap

NAME = 4.2
BORDER = 0.5
ROW_NAME, ROW_SHOWS, ROW_FIELDS = 7.6, 5.0, 6.1
INSET = 1.6
# How much of the height of the band beside the frame its letters and figures may take.
MOST_OF_BAND = 0.7


@dataclass(frozen=True, slots=True)
class Title:
    """What the title block says.  ``fields`` are (label, value), in two rows."""

    boat: str
    shows: str
    number: str
    first: Sequence[tuple[str, str]] = ()
    second: Sequence[tuple[str, str]] = ()
    caution: str = ""
    lines: list[str] = field(default_factory=list)


def _rectangle(box: Box, width: float) -> Stroke:
    return Stroke(((box.x0, box.y0), (box.x1, box.y0), (box.x1, box.y1), (box.x0, box.y1)), width, closed=True)


def _baseline(middle: float, size: float) -> float:
    return middle + (ASCENT_EM - DESCENT_EM) * size / 2


def _fit(width: float, size: float) -> int:
    return max(int(width / (ADVANCE_EM * size)), 4)


def border(paper: Paper, words: Language) -> list[Shape]:
    """The frame, and the letters and figures of the fields beside it."""
    del words
    frame, band = paper.frame, FIELDS_MM / paper.scale
    size = min(SIZE, MOST_OF_BAND * band)
    outer = Box(frame.x0 - band, frame.y0 - band, frame.x1 + band, frame.y1 + band)
    made: list[Shape] = [_rectangle(outer, FINE), _rectangle(frame, BORDER)]
    wide, high = (frame.x1 - frame.x0) / COLUMNS, (frame.y1 - frame.y0) / len(ROWS)

    def mark(point: Point, text: str) -> None:
        made.append(Words(point[0], _baseline(point[1], size), text, size, anchor="middle"))

    for n in range(COLUMNS):
        x = frame.x0 + n * wide
        for inner, edge in ((frame.y0, outer.y0), (frame.y1, outer.y1)):
            if n:
                made.append(Stroke(((x, inner), (x, edge)), FINE))
            mark((x + wide / 2, (inner + edge) / 2), str(n + 1))
    for n, letter in enumerate(ROWS):
        y = frame.y0 + n * high
        for inner, edge in ((frame.x0, outer.x0), (frame.x1, outer.x1)):
            if n:
                made.append(Stroke(((inner, y), (edge, y)), FINE))
            mark(((inner + edge) / 2, y + high / 2), letter)
    return made


def foot(paper: Paper) -> list[Shape]:
    """The lines of the strip below the diagram."""
    f, t = paper.frame, paper.title_block
    return [Stroke(((f.x0, t.y0), (f.x1, t.y0)), FINE), _rectangle(t, BORDER)]


def title_block(paper: Paper, title: Title) -> list[Shape]:
    """Boat, number of the sheet, what it shows, fields, and the caution in short."""
    box = paper.title_block
    made: list[Shape] = []
    y = box.y0

    def line(at: float) -> None:
        made.append(Stroke(((box.x0, at), (box.x1, at)), FINE))

    number = width_of(title.number)
    made.append(Stroke(((box.x1 - number, y), (box.x1 - number, y + ROW_NAME)), FINE))
    name = shorten(title.boat, _fit(box.x1 - number - box.x0 - 2 * INSET, NAME))
    made.append(Words(box.x0 + INSET, _baseline(y + ROW_NAME / 2, NAME), name, NAME, bold=True))
    middle = box.x1 - number / 2
    made.append(Words(middle, _baseline(y + ROW_NAME / 2, SIZE), title.number, SIZE, bold=True, anchor="middle"))
    y += ROW_NAME
    line(y)
    shows = _some(title.shows, _fit(box.x1 - box.x0 - 2 * INSET, SIZE))
    made.append(Words(box.x0 + INSET, _baseline(y + ROW_SHOWS / 2, SIZE), shows, SIZE, bold=True))
    y += ROW_SHOWS
    for fields in (title.first, title.second):
        line(y)
        made += _fields(fields, Box(box.x0, y, box.x1, y + ROW_FIELDS))
        y += ROW_FIELDS
    line(y)
    rows = wrap(title.caution, _fit(box.x1 - box.x0 - 2 * INSET, SMALL), 2)
    top = (y + box.y1 - len(rows) * LEADING * SMALL) / 2
    for n, text in enumerate(rows):
        made.append(Words(box.x0 + INSET, _baseline(top + (n + 0.5) * LEADING * SMALL, SMALL), text, SMALL))
    return made


def _some(said: str, most: int) -> str:
    """As much of a list as finds room, whole items of it."""
    kept = said
    while width_em(kept) > most * ADVANCE_EM and ", " in kept:
        kept = kept.removesuffix(f", {ELLIPSIS}").rpartition(", ")[0] + f", {ELLIPSIS}"
        if kept.count(", ") < 2:
            break
    return shorten(kept, most)


def width_of(text: str) -> float:
    return max(28.0, len(text) * ADVANCE_EM * SIZE + 4 * INSET)


def _shared(wants: Sequence[float], room: float) -> list[float]:
    """How wide each of some cells is, side by side: as wide as it wants, and what is left over shared out so; where
    they do not all fit, the short ones get what they want first, and the long ones share the rest evenly."""
    if sum(wants) <= room:
        return [room * want / sum(wants) for want in wants]
    made = [0.0] * len(wants)
    left = len(wants)
    for n in sorted(range(len(wants)), key=wants.__getitem__):
        made[n] = min(wants[n], room / left)
        room, left = room - made[n], left - 1
    return made


def _fields(fields: Sequence[tuple[str, str]], box: Box) -> list[Shape]:
    """Cells side by side; a label above its value."""
    made: list[Shape] = []
    if not fields:
        return made
    # a hair more than the text is wide, so that rounding cuts nothing
    wants = [max(width_mm(text, SMALL) for text in (*field, "0" * 6)) + 2 * INSET + 0.01 for field in fields]
    x = box.x0
    for n, ((label, value), width) in enumerate(zip(fields, _shared(wants, box.x1 - box.x0), strict=True)):
        if n:
            made.append(Stroke(((x, box.y0), (x, box.y1)), FINE))
        chars = _fit(width - 2 * INSET, SMALL)
        for k, text in enumerate((label, value)):
            at = box.y0 + 0.35 + (k + 0.5) * LEADING * SMALL
            made.append(Words(x + INSET, _baseline(at, SMALL), shorten(text, chars), SMALL, bold=not k))
        x += width
    return made
