"""The key to what is on a sheet: symbols, joints, systems, what the figures mean."""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace

from linter.drawing import labels, symbols
from linter.drawing.cells import SMALL
from linter.drawing.language import Language, say
from linter.drawing.list_text import Text, heading
from linter.drawing.picture import BAR, Box, Disc, Marker, Picture, Shape, Stroke, Words, moved, scaled
from linter.drawing.symbols import Glyph
from linter.drawing.text import ADVANCE_EM, ASCENT_EM, DESCENT_EM, LEADING, shorten, width_mm, wrap
from linter.model.design import Design

SMALLER = 0.8
CELL = 34.0
ROW = 6.3
NOTE = 3.7
# Where room is scarce: height of a row and of a note, characters and lines of a name.
CLOSER = ((5.4, 3.7, 20, 2), (4.7, 3.05, 40, 1))
INDENT = 9.6
PAD = 2.0
MARKS = ("danger", "fault", "doubt", "advice", "added", "removed", "changed", "affected")


@dataclass(slots=True)
class Key:
    """What a legend has to explain: symbols in order, and lines with what stands before each."""

    kinds: list[str]
    notes: list[tuple[str, list[Shape]]]


def key_of(
    picture: Picture, design: Design, words: Language, own: Mapping[str, Glyph], layers: Sequence[str], listed: str
) -> Key:  # fmt: skip
    """What is used on one sheet; ``listed`` is the number of the sheet that lists what is marked."""
    used = {d.kind for d in picture.elements}
    kinds = [k for k in (*symbols.KINDS, *sorted(own)) if k in used]
    notes: list[tuple[str, list[Shape]]] = []
    if picture.dots:
        cross: list[Shape] = [Stroke(((0, 0), (7, 0))), Stroke(((3.5, -1.3), (3.5, 1.3))), Disc(3.5, 0, 0.6)]
        notes.append((words["joined"], cross))
    if "ratings" in layers and used & {"fuse", "breaker"}:
        notes.append((words["breaking"], []))
    if "study" in layers and "cable" in used:
        notes += [(words[k], []) for k in ("let-through", "fault")]
    if "study" in layers and used & {"load", "motor", "light", "heater", "electronics"}:
        notes.append((words["drop"], []))
    if len(design.systems) > 1:
        # only lines are drawn in the manner of their system
        here = {w.system for w in picture.wires} | {d.system for d in picture.elements if d.kind == "cable"}
        notes += [
            (_system(design, n), _sample(n)) for n in range(len(design.systems)) if n in here
        ]  # fmt: skip
    return Key(kinds, notes + _marks(picture, words, listed))


def _marks(picture: Picture, words: Language, listed: str) -> list[tuple[str, list[Shape]]]:
    """What the marks used on a sheet mean in a word, and where they are listed."""
    used = {m.severity for d in picture.elements for m, _ in d.markers}
    made: list[tuple[str, list[Shape]]] = [
        (words[f"mark-{kind}"], [Marker(0, 0, kind, 0, False)]) for kind in MARKS if kind in used
    ]
    accepted = {m.severity for d in picture.elements for m, _ in d.markers if m.accepted}
    if accepted:
        made.append((words["accepted"], [Marker(0, 0, min(accepted, key=MARKS.index), 0, True)]))
    if made and listed:
        made.append((say(words, "listed", n=listed), []))
    return made


def together(keys: Sequence[Key], own: Mapping[str, Glyph]) -> Key:
    """The key to all sheets."""
    used = {k for key in keys for k in key.kinds}
    notes = {text: shapes for key in keys for text, shapes in key.notes}
    return Key([k for k in (*symbols.KINDS, *sorted(own)) if k in used], list(notes.items()))


def _system(design: Design, number: int) -> str:
    system = list(design.systems.values())[number]
    return shorten(f"{labels.system_title(system)} {system.label}".strip(), 44)


def _sample(number: int) -> list[Shape]:
    from linter.drawing.svg import SYSTEM_COLOURS, SYSTEM_DASHES

    dash, colour = SYSTEM_DASHES[number % len(SYSTEM_DASHES)], SYSTEM_COLOURS[number % len(SYSTEM_COLOURS)]
    return [Stroke(((0, 0), (16, 0)), dash=dash, colour=colour)]


def _lead(shapes: Sequence[Shape]) -> float:
    """How far from what stands before a note its text begins."""
    ends = [x for s in shapes if isinstance(s, Stroke) for x, _ in s.points]
    ends += [s.x + 1.8 for s in shapes if isinstance(s, Marker)]
    return max(ends, default=-2.0) + 2.0


def _note_width(note: tuple[str, list[Shape]]) -> float:
    return _lead(note[1]) + width_mm(note[0], SMALL)


def _broken(notes: Sequence[tuple[str, list[Shape]]], width: float) -> list[tuple[str, list[Shape]]]:
    """Notes, those that are wider than the room on several lines."""
    made: list[tuple[str, list[Shape]]] = []
    for text, shapes in notes:
        most = max(int((width - _lead(shapes)) / (ADVANCE_EM * SMALL)), 8)
        first, *rest = wrap(text, most)
        made += [(first, shapes), *((line, []) for line in rest)]
    return made


def _flowed(key: Key, width: float) -> list[list[tuple[str, list[Shape]]]]:
    rows: list[list[tuple[str, list[Shape]]]] = []
    used = 0.0
    for note in _broken(key.notes, width):
        need = _note_width(note) + 6.0
        if rows and used + need <= width + 6.0:
            rows[-1].append(note)
            used += need
        else:
            rows.append([note])
            used = need
    return rows


@dataclass(frozen=True, slots=True)
class _Grid:
    """How the symbols stand: so many side by side in columns of these widths, rows and notes of these heights."""

    widths: tuple[float, ...]
    row: float
    note: float
    rows: int
    notes: int

    @property
    def height(self) -> float:
        return self.row * self.rows + self.note * self.notes + PAD


def _grid(key: Key, names: Sequence[str], width: float, most: float) -> _Grid:
    """Even columns with air; where that is higher than ``most``, columns as wide as their names, then closer."""
    notes = len(_flowed(key, width))
    across = max(int(width / CELL), 1)
    made = _Grid((width / across,) * across, ROW, NOTE, -(-len(names) // across), notes)
    for row, note, chars, lines in CLOSER:
        if made.height <= most:
            return made
        needs = [INDENT + max(width_mm(x, SMALL) for x in wrap(n, chars, lines)) + 3.0 for n in names]
        for across in range(min(len(names), 8), 0, -1):
            widths = tuple(max(needs[k::across]) for k in range(across))
            if sum(widths) <= width + 3.0:
                tried = _Grid(widths, row, note, -(-len(names) // across), notes)
                made = tried if tried.height < made.height else made
                break
    return made


def height(key: Key, room: Box, design: Design, words: Language) -> float:
    """How high the key becomes in this width, as close as it must be for this height."""
    inner = room.x1 - room.x0 - 2 * PAD
    return _grid(key, _names(key, design, words), inner, room.y1 - room.y0).height


def _names(key: Key, design: Design, words: Language) -> list[str]:
    return [words.get(f"symbol-{kind}") or _part_label(design, kind) for kind in key.kinds]


def legend(key: Key, room: Box, design: Design, words: Language, own: Mapping[str, Glyph]) -> list[Shape]:
    """The key, from the upper left of ``room``."""
    made: list[Shape] = []
    inner = room.x1 - room.x0 - 2 * PAD
    names = _names(key, design, words)
    grid = _grid(key, names, inner, room.y1 - room.y0)
    y = room.y0 + PAD / 2
    for n, (kind, name) in enumerate(zip(key.kinds, names, strict=True)):
        row, place = divmod(n, len(grid.widths))
        x = room.x0 + PAD + sum(grid.widths[:place])
        made += _cell(kind, x, y + (row + 0.5) * grid.row, name, own, grid.widths[place], grid.row)
    y += grid.row * grid.rows
    for line in _flowed(key, inner):
        x = room.x0 + PAD
        for text, shapes in line:
            made += [moved(s, x, y + grid.note / 2) for s in shapes]
            made.append(Words(x + _lead(shapes), _baseline(y + grid.note / 2, SMALL), text, SMALL))
            x += _note_width((text, shapes)) + 6.0
        y += grid.note
    return made


def key_block(key: Key, width: float, design: Design, words: Language, own: Mapping[str, Glyph]) -> list[Text]:
    """The key as a piece of a list, with its heading."""
    room = Box(-PAD, 0.0, width + PAD, math.inf)
    return [heading(words["symbols"]), Text(height(key, room, design, words), legend(key, room, design, words, own))]


def _part_label(design: Design, kind: str) -> str:
    part = design.parts.get(kind)
    return part.label or part.name if part is not None else kind


def _baseline(middle: float, size: float) -> float:
    return middle + (ASCENT_EM - DESCENT_EM) * size / 2


def _legible(shape: Shape) -> Shape:
    """A letter within a symbol that was made smaller is not made smaller than the smallest text."""
    if isinstance(shape, Words) and shape.size < SMALL:
        return replace(shape, y=shape.y - DESCENT_EM * (SMALL - shape.size), size=SMALL)
    return shape


def _cell(
    kind: str, x: float, y: float, label: str, own: Mapping[str, Glyph], width: float, row: float
) -> list[Shape]:  # fmt: skip
    made: list[Shape] = []
    if kind == "bus":
        half = row * 0.41
        made.append(symbols.bar(x + 3.6, y - half, y + half, BAR))
    elif kind == "selector":
        by = SMALLER * row / ROW
        fixed, common = [(0.0, -1.8), (0.0, 1.8)], [(9.0, 0.0)]
        made += [moved(scaled(s, by), x, y) for s in symbols.selector(0, 9, -3.6, 3.6, fixed, common)]
    else:
        glyph = own.get(kind) or symbols.glyph(kind)
        by = min(SMALLER, (row - 0.5) / (glyph.up + glyph.down), 7.6 / glyph.width)
        # Symbols that stand upon their line are moved so that they are in the middle of the row.
        lift = by * (glyph.up - glyph.down) / 2
        left = x + 3.6 - by * glyph.width / 2
        made += [moved(_legible(scaled(s, by)), left, y + lift) for s in glyph.shapes]
    lines = wrap(label, int((width - INDENT) / (ADVANCE_EM * SMALL) + 1e-6), 2)
    top = y - LEADING * SMALL * len(lines) / 2
    for n, line in enumerate(lines):
        made.append(Words(x + INDENT, _baseline(top + (n + 0.5) * LEADING * SMALL, SMALL), line, SMALL))
    return made
