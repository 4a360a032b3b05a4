"""The symbols, after IEC 60617 (shapes from memory), drawn about the line they stand in.

Each is made with its line running from left to right through (0, 0) and (width, 0).
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from functools import cache

from linter.drawing.picture import FINE, Arc, Disc, Point, Shape, Stroke, Words, mirrored

# The keys of the symbols, in the order in which the legend lists them.
KINDS = (
    "battery", "alternator", "charger", "solar", "inverter", "converter", "fuse", "breaker", "switch", "selector",
    "relay", "diode", "bus", "joint", "end", "terminal", "load", "motor", "light", "heater", "electronics", "reference",
)  # fmt: skip


# The tag where a line goes on at another place.
REFERENCE = "reference"


@dataclass(frozen=True, slots=True)
class Glyph:
    """A symbol: its width, how far it reaches above and below the line, and its shapes."""

    width: float
    up: float
    down: float
    shapes: tuple[Shape, ...]

    def flipped(self) -> Glyph:
        return Glyph(self.width, self.up, self.down, tuple(mirrored(s, self.width / 2) for s in self.shapes))


def _line(*points: Point, width: float = 0.3) -> Stroke:
    return Stroke(points, width)


def _frame(x0: float, y0: float, x1: float, y1: float, fill: str = "paper") -> Stroke:
    return Stroke(((x0, y0), (x1, y0), (x1, y1), (x0, y1)), closed=True, fill=fill)


def _direct(x: float, y: float, size: float = 1.8) -> list[Shape]:
    """The sign for direct current: a line above three dashes."""
    half, step = size / 2, size / 5
    made: list[Shape] = [_line((x - half, y - 0.3), (x + half, y - 0.3), width=0.2)]
    return made + [
        _line((x - half + 2 * i * step, y + 0.3), (x - half + (2 * i + 1) * step, y + 0.3), width=0.2) for i in range(3)
    ]


def _alternating(x: float, y: float, size: float = 1.8) -> list[Shape]:
    """The sign for alternating current: one wave."""
    half = size / 2
    r = half / 1.6
    return [Arc((x - half, y), (x, y), r, True, 0.2), Arc((x, y), (x + half, y), r, False, 0.2)]


def _letter(x: float, y: float, text: str, size: float = 2.8) -> Words:
    return Words(x, y + 0.365 * size, text, size, anchor="middle")


def _battery() -> Glyph:
    # The lead is on the positive side, the long thin plate.
    shapes: list[Shape] = []
    for x in (1.2, 3.6):
        shapes += [_line((x + 1.2, -2.6), (x + 1.2, 2.6)), Stroke(((x, -1.3), (x, 1.3)), 0.7)]
    shapes += [_line((2.4, 0), (3.6, 0)), _line((4.8, 0), (7, 0)), _line((0, 0), (1.2, 0))]
    return Glyph(7, 2.8, 2.8, tuple(shapes))


def _alternator() -> Glyph:
    shapes: list[Shape] = [Disc(3.4, 0, 3.4, "paper"), _letter(3.4, -0.9, "G"), *_direct(3.4, 1.6)]
    return Glyph(6.8, 3.5, 3.5, tuple(shapes))


def _converting(one: list[Shape], two: list[Shape]) -> Glyph:
    shapes: list[Shape] = [_frame(0, -3.5, 7, 3.5), _line((0, 3.5), (7, -3.5)), *one, *two]
    return Glyph(7, 3.6, 3.6, tuple(shapes))


def _solar() -> Glyph:
    shapes: list[Shape] = [_frame(0, -2.2, 7, 3.4)]
    shapes += [_line((x, -2.2), (x, 3.4), width=FINE) for x in (1.75, 3.5, 5.25)]
    shapes += [_line((0, 0.6), (7, 0.6), width=FINE)]
    for x in (1.3, 3.9):
        shapes += [
            _line((x, -4.6), (x + 1.5, -2.8), width=0.2),
            Stroke(((x + 1.7, -2.5), (x + 0.85, -3.0), (x + 1.4, -3.5)), 0.1, True, "ink"),
        ]
    return Glyph(7, 4.7, 3.5, tuple(shapes))


def _fuse() -> Glyph:
    return Glyph(8, 1.4, 1.4, (_frame(1, -1.3, 7, 1.3), _line((0, 0), (8, 0))))


def _contact(cross: bool) -> list[Shape]:
    """An opening contact: blade from its hinge at the left, hanging open above the fixed contact at the right."""
    shapes: list[Shape] = [_line((0, 0), (2, 0)), _line((2, 0), (6.3, -2.1)), _line((6.3, 0), (8, 0))]
    if cross:
        shapes += [_line((5.6, -0.7), (7.0, 0.7)), _line((5.6, 0.7), (7.0, -0.7))]
    else:
        shapes.append(_line((6.3, -0.7), (6.3, 0.7)))
    return shapes


def _relay() -> Glyph:
    coil: list[Shape] = [_frame(2.1, 1.8, 6.1, 3.8), Stroke(((4.1, -1.0), (4.1, 1.8)), 0.2, dash="0.6 0.4")]
    shapes: list[Shape] = [_line((0, 0), (2, 0)), _line((2, 0), (6.3, -2.1)), _line((6.3, 0), (8, 0)), Disc(2, 0, 0.3)]
    return Glyph(8, 2.3, 3.9, tuple(shapes + coil))


def _diode() -> Glyph:
    triangle = Stroke(((2.2, -1.7), (2.2, 1.7), (5.4, 0)), closed=True, fill="paper")
    stop = _line((5.4, -1.7), (5.4, 1.7))
    return Glyph(8, 1.8, 1.8, (_line((0, 0), (8, 0)), triangle, stop, _line((2.2, 0), (5.4, 0))))


def _load(sort: str) -> Glyph:
    r = 3.0
    if sort == "motor":
        shapes: list[Shape] = [Disc(r, 0, r, "paper"), _letter(r, 0, "M", 3.2)]
    elif sort == "light":
        c = r * math.sqrt(0.5)
        shapes = [Disc(r, 0, r, "paper"), _line((r - c, -c), (r + c, c)), _line((r - c, c), (r + c, -c))]
    elif sort == "heater":
        shapes = [_frame(0, -1.6, 6, 1.6), *(_line((x, -1.6), (x, 1.6)) for x in (1.2, 2.4, 3.6, 4.8))]
        return Glyph(6, 1.7, 1.7, tuple(shapes))
    elif sort == "electronics":
        shapes = [_frame(0, -2.4, 6, 2.4), _frame(0.8, -1.6, 5.2, 1.6)]
        return Glyph(6, 2.5, 2.5, tuple(shapes))
    else:
        return Glyph(6, 2.1, 2.1, (_frame(0, -2, 6, 2),))
    return Glyph(2 * r, r + 0.1, r + 0.1, tuple(shapes))


@cache
def glyph(kind: str) -> Glyph:
    """The symbol of ``kind``: a key of KINDS but bus, joint and selector, whose size depends on what hangs on them."""
    match kind:
        case "battery":
            return _battery()
        case "alternator":
            return _alternator()
        case "charger":
            return _converting(_alternating(2.0, -2.0), _direct(5.0, 2.0))
        case "inverter":
            return _converting(_direct(2.0, -2.0), _alternating(5.0, 2.0))
        case "converter":
            return _converting(_direct(2.0, -2.0), _direct(5.0, 2.0))
        case "solar":
            return _solar()
        case "fuse":
            return _fuse()
        case "breaker":
            return Glyph(8, 2.2, 0.9, tuple(_contact(True)))
        case "switch":
            return Glyph(8, 2.2, 0.9, tuple(_contact(False)))
        case "relay":
            return _relay()
        case "diode":
            return _diode()
        case "reference":
            tag = ((0.0, -1.4), (4.0, -1.4), (5.6, 0.0), (4.0, 1.4), (0.0, 1.4))
            return Glyph(5.6, 1.5, 1.5, (Stroke(tag, closed=True, fill="paper"),))
        case "end":
            return Glyph(1.2, 0.7, 0.7, (Disc(0.6, 0, 0.6, "paper"),))
        case "terminal":
            return Glyph(1.2, 0.7, 0.7, (Disc(0.6, 0, 0.6, "paper"),))
        case "joint":
            return Glyph(1.4, 0.8, 0.8, (Disc(0.7, 0, 0.7),))
        case "motor" | "light" | "heater" | "electronics":
            return _load(kind)
        case _:
            return _load("")


def bar(x: float, top: float, bottom: float, width: float) -> Stroke:
    """A bus bar."""
    h = width / 2
    return Stroke(((x - h, top), (x + h, top), (x + h, bottom), (x - h, bottom)), 0.1, True, "ink")


def selector(x0: float, x1: float, top: float, bottom: float, fixed: list[Point], common: list[Point]) -> list[Shape]:
    """A changeover switch in its frame: ports ``fixed`` on one side, ``common`` on the other, at their own heights."""
    shapes: list[Shape] = [_frame(x0, top, x1, bottom)]
    inward = 2.6
    for x, y in fixed:
        end = x + inward if x < (x0 + x1) / 2 else x - inward
        shapes += [_line((x, y), (end, y)), Disc(end, y, 0.55, "paper")]
    for x, y in common:
        end = x + inward if x < (x0 + x1) / 2 else x - inward
        shapes += [_line((x, y), (end, y))]
        if fixed:
            tip = min(fixed, key=lambda p: p[1])
            near = tip[0] + inward + 0.6 if tip[0] < x else tip[0] - inward - 0.6
            shapes.append(_line((end, y), (near, tip[1] + 0.45)))
        shapes.append(Disc(end, y, 0.55))
    return shapes
