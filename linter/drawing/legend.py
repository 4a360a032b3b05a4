"""The key to what is on a sheet: symbols, joints, systems, what the figures mean."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

from linter.drawing import labels, symbols
from linter.drawing.cells import SMALL
from linter.drawing.language import Language
from linter.drawing.picture import BAR, Box, Disc, Picture, Shape, Stroke, Words, moved, scaled
from linter.drawing.symbols import Glyph
from linter.drawing.text import ADVANCE_EM, ASCENT_EM, DESCENT_EM, LEADING, shorten, width_mm, wrap
from linter.model.design import Design

SMALLER = 0.8
CELL = 34.0
ROW = 6.3
NOTE = 3.7
INDENT = 9.6
PAD = 2.0


@dataclass(slots=True)
class Key:
    """What a legend has to explain: symbols in order, and lines with what stands before each."""

    kinds: list[str]
    notes: list[tuple[str, list[Shape]]]


def key_of(picture: Picture, design: Design, words: Language, own: Mapping[str, Glyph], layers: Sequence[str]) -> Key:
    """What is used on one sheet."""
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
        here = {d.system for d in picture.elements}
        notes += [
            (_system(design, n), _sample(n)) for n in range(len(design.systems)) if n in here
        ]  # fmt: skip
    return Key(kinds, notes)


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


def _note_width(note: tuple[str, list[Shape]]) -> float:
    lead = max((x for s in note[1] if isinstance(s, Stroke) for x, _ in s.points), default=-2.0)
    return lead + 2.0 + width_mm(note[0], SMALL)


def _flowed(key: Key, width: float) -> list[list[tuple[str, list[Shape]]]]:
    rows: list[list[tuple[str, list[Shape]]]] = []
    used = 0.0
    for note in key.notes:
        need = _note_width(note) + 6.0
        if rows and used + need <= width + 6.0:
            rows[-1].append(note)
            used += need
        else:
            rows.append([note])
            used = need
    return rows


def height(key: Key, width: float) -> float:
    """How high the key becomes in this width."""
    across = max(int((width - 2 * PAD) / CELL), 1)
    return ROW * -(-len(key.kinds) // across) + NOTE * len(_flowed(key, width - 2 * PAD)) + PAD


def legend(key: Key, room: Box, design: Design, words: Language, own: Mapping[str, Glyph]) -> list[Shape]:
    """The key, from the upper left of ``room``."""
    made: list[Shape] = []
    inner = room.x1 - room.x0 - 2 * PAD
    across = max(int(inner / CELL), 1)
    cell = inner / across
    y = room.y0 + PAD / 2
    for start in range(0, len(key.kinds), across):
        for place, kind in enumerate(key.kinds[start : start + across]):
            label = words.get(f"symbol-{kind}") or _part_label(design, kind)
            made += _cell(kind, room.x0 + PAD + place * cell, y + ROW / 2, label, own, cell)
        y += ROW
    for row in _flowed(key, inner):
        x = room.x0 + PAD
        for text, shapes in row:
            made += [moved(s, x, y + NOTE / 2) for s in shapes]
            lead = max((p[0] for s in shapes if isinstance(s, Stroke) for p in s.points), default=-2.0) + 2.0
            made.append(Words(x + lead, _baseline(y + NOTE / 2, SMALL), text, SMALL))
            x += _note_width((text, shapes)) + 6.0
        y += NOTE
    return made


def _part_label(design: Design, kind: str) -> str:
    part = design.parts.get(kind)
    return part.label or part.name if part is not None else kind


def _baseline(middle: float, size: float) -> float:
    return middle + (ASCENT_EM - DESCENT_EM) * size / 2


def _cell(kind: str, x: float, y: float, label: str, own: Mapping[str, Glyph], width: float) -> list[Shape]:
    made: list[Shape] = []
    if kind == "bus":
        made.append(symbols.bar(x + 3.6, y - 2.6, y + 2.6, BAR))
    elif kind == "selector":
        fixed, common = [(0.0, -1.8), (0.0, 1.8)], [(9.0, 0.0)]
        made += [moved(scaled(s, SMALLER), x, y) for s in symbols.selector(0, 9, -3.6, 3.6, fixed, common)]
    else:
        glyph = own.get(kind) or symbols.glyph(kind)
        # Symbols that stand upon their line are moved so that they are in the middle of the row.
        lift = SMALLER * (glyph.up - glyph.down) / 2
        left = x + 3.6 - SMALLER * glyph.width / 2
        made += [moved(scaled(s, SMALLER), left, y + lift) for s in glyph.shapes]
    lines = wrap(label, int((width - INDENT) / (ADVANCE_EM * SMALL)), 2)
    top = y - LEADING * SMALL * len(lines) / 2
    for n, line in enumerate(lines):
        made.append(Words(x + INDENT, _baseline(top + (n + 0.5) * LEADING * SMALL, SMALL), line, SMALL))
    return made


__all__ = ["Key", "height", "key_of", "legend", "together"]
