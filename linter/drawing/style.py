"""A yard's settings, from a TOML file: paper, size of text, words, fields of the title block, symbols of its own.

    paper = "a4"
    text-pt = 8

    [title]
    "Drawn by" = "J. Holm"

    [words]
    findings = "Befunde"

    [symbols.main-fuse]
    path = "M0 0H8M1 -1.3H7V1.3H1Z"

What is set is kept on every sheet; where no size of text is set, the ordinary one becomes the least where that saves a
sheet.  A symbol is drawn about its line, which runs from (0, 0) to the right at height 0; its lengths are mm, y
downwards.  Of the path language of SVG only M, L, H, V, Z and the circular A with absolute figures are taken: nothing
of the file reaches a drawing but words, which are escaped, and figures.
"""

from __future__ import annotations

import math
import re
import tomllib
from collections.abc import Callable, Mapping
from itertools import pairwise
from pathlib import Path
from types import MappingProxyType
from typing import Any

from linter.drawing.cells import SIZE
from linter.drawing.language import english, gaps
from linter.drawing.paper import POINT_MM, SIZES_MM
from linter.drawing.picture import Arc, Point, Shape, Stroke
from linter.drawing.sheets import Settings
from linter.drawing.symbols import KINDS, Glyph
from linter.drawing.text import clean, legal

LEAST_PT, GREATEST_PT = 7.0, 12.0
MOST_FIELDS = 4
MOST_CHARACTERS = 200
MOST_FIELD_CHARACTERS = 40
MOST_SYMBOLS = 100
GREATEST_BYTES = 1 << 20
# How far a symbol may reach: along its line, and above or below it (mm).
GREATEST_WIDTH, GREATEST_REACH = 12.0, 6.0
MOST_PATH = 2000
_ORDINARY_PT = SIZE / POINT_MM

_NUMBER = r"[-+]?(?:\d+\.?\d*|\.\d+)"
_STEP = re.compile(rf"\s*([MLHVZA])((?:[\s,]*{_NUMBER})*)\s*")
_FIGURES = {"M": 2, "L": 2, "H": 1, "V": 1, "Z": 0, "A": 7}


class StyleError(Exception):
    """The settings cannot be used; the message names the file and the key, and says what to do."""


def read_style(path: str) -> Settings:
    """The settings in a file.  Raises StyleError where it cannot be read or says what is not allowed."""
    try:
        file = Path(path)
        if not file.is_file():
            raise StyleError(f"{path}: no such file")
        if file.stat().st_size > GREATEST_BYTES:
            raise StyleError(f"{path}: larger than any settings are (1 MiB)")
        data = tomllib.loads(file.read_text(encoding="utf-8"))
    except OSError as problem:
        raise StyleError(f"{path}: cannot be read: {problem.strerror or problem}") from problem
    except UnicodeDecodeError as problem:
        raise StyleError(f"{path}: is not UTF-8") from problem
    except (tomllib.TOMLDecodeError, RecursionError) as problem:
        raise StyleError(f"{path}: is not TOML: {problem}") from problem
    return settings_of(data, path)


def settings_of(data: Mapping[str, Any], path: str) -> Settings:
    """The settings that a file says; ``path`` names it in messages.  Raises StyleError."""
    readers: dict[str, Callable[[Any, str], Any]] = {
        "paper": _paper, "text-pt": _scale, "title": _fields, "words": _words, "symbols": _symbols,
    }  # fmt: skip
    fields = {"paper": "paper", "text-pt": "scale", "title": "fields", "words": "language", "symbols": "symbols"}
    made: dict[str, Any] = {}
    for key, value in data.items():
        if key not in readers:
            raise StyleError(f"{path}: {_shown(key)}: no such setting; there are {', '.join(readers)}")
        made[fields[key]] = readers[key](value, f"{path}: {key}")
    return Settings(**made)


def _shown(text: str) -> str:
    return repr(text[:60])


def _table(value: Any, where: str) -> dict[str, Any]:
    if not isinstance(value, dict):
        raise StyleError(f"{where}: write a table, [{where.rsplit(' ', 1)[-1]}], with keys below it")
    return value


def _text(value: Any, where: str, most: int) -> str:
    if not isinstance(value, str):
        raise StyleError(f"{where}: write a text in quotes")
    if len(value) > most:
        raise StyleError(f"{where}: {len(value)} characters; at most {most} find room")
    if clean(value) != value or legal(value) != value or not value:
        raise StyleError(f"{where}: write one line of visible characters")
    return value


def _paper(value: Any, where: str) -> str:
    if not isinstance(value, str) or value.lower() not in SIZES_MM:
        raise StyleError(f"{where}: write one of {', '.join(repr(s) for s in SIZES_MM)}")
    return value.lower()


def _scale(value: Any, where: str) -> float:
    if isinstance(value, bool) or not isinstance(value, int | float) or not LEAST_PT <= value <= GREATEST_PT:
        raise StyleError(f"{where}: write a size from {LEAST_PT:g} to {GREATEST_PT:g} points")
    return value / _ORDINARY_PT


def _fields(value: Any, where: str) -> tuple[tuple[str, str], ...]:
    table = _table(value, where)
    if len(table) > MOST_FIELDS:
        raise StyleError(f"{where}: {len(table)} fields; at most {MOST_FIELDS} find room")
    return tuple(
        (_text(k, f"{where}.{_shown(k)}", MOST_FIELD_CHARACTERS), _text(v, f"{where}.{k[:60]}", MOST_FIELD_CHARACTERS))
        for k, v in table.items()
    )


def _words(value: Any, where: str) -> Mapping[str, str]:
    known = english()
    made = dict(known)
    for key, said in _table(value, where).items():
        if key not in known:
            import difflib

            near = difflib.get_close_matches(key, known, n=1)
            more = f"did you mean {near[0]}?" if near else "the keys are those of words.toml"
            raise StyleError(f"{where}.{key[:60]}: no such words; {more}")
        text = _text(said, f"{where}.{key}", MOST_CHARACTERS)
        if gaps(text) != gaps(known[key]):
            wanted = " and ".join(gaps(known[key])) or "nothing in braces"
            raise StyleError(f"{where}.{key}: must hold {wanted}, once each")
        made[key] = text
    return MappingProxyType(made)


def _symbols(value: Any, where: str) -> Mapping[str, Glyph]:
    table = _table(value, where)
    if len(table) > MOST_SYMBOLS:
        raise StyleError(f"{where}: {len(table)} symbols; at most {MOST_SYMBOLS}")
    made = {}
    for part, said in table.items():
        here = f"{where}.{part[:60]}"
        if part in KINDS:
            raise StyleError(f"{here}: name the part sheet that has the symbol, not a kind")
        if set(_table(said, here)) != {"path"}:
            raise StyleError(f"{here}: write path and nothing else")
        made[part] = symbol(_text(said["path"], f"{here}.path", MOST_PATH), f"{here}.path")
    return MappingProxyType(made)


# ---- symbols


def symbol(path: str, where: str) -> Glyph:
    """The symbol of a path.  Raises StyleError where it is no path of the allowed kind, or reaches too far."""
    shapes: list[Shape] = []
    points: list[Point] = []
    at = 0

    def end(closed: bool = False) -> None:
        if len(points) > 1:
            shapes.append(Stroke(tuple(points), closed=closed, fill="paper" if closed else ""))
        points.clear()

    while at < len(path):
        found = _STEP.match(path, at)
        if found is None:
            raise StyleError(f"{where}: {_shown(path[at : at + 12])} at character {at + 1}: only M, L, H, V, Z and A "
                             "with absolute figures are taken")  # fmt: skip
        at = found.end()
        letter, figures = found[1], [float(f) for f in re.findall(_NUMBER, found[2])]
        count = _FIGURES[letter]
        if (count == 0 and figures) or (count and (not figures or len(figures) % count)):
            raise StyleError(f"{where}: {letter} takes {count} figures each time, here are {len(figures)}")
        if letter != "M" and not points:
            raise StyleError(f"{where}: begin each line with M")
        if letter == "Z":
            end(closed=True)
            continue
        for n in range(0, len(figures), count):
            step = figures[n : n + count]
            if letter == "M" and n == 0:
                end()
                points.append((step[0], step[1]))
            elif letter == "A":
                arc = _arc(points[-1], step, where)
                if len(points) > 1:
                    end()
                points[:] = [arc.end]
                shapes.append(arc)
            else:
                last = points[-1]
                points.append((step[0], last[1]) if letter == "H" else (last[0], step[0]) if letter == "V"
                              else (step[0], step[1]))  # fmt: skip
    end()
    return _glyph(shapes, where)


def _arc(start: Point, step: list[float], where: str) -> Arc:
    rx, ry, turn, large, sweep, x, y = step
    if rx != ry or rx <= 0 or turn or large or sweep not in (0.0, 1.0):
        raise StyleError(f"{where}: A must be circular and at most half a circle: A r r 0 0 0|1 x y")
    if math.dist(start, (x, y)) > 2 * rx + 1e-6 or (x, y) == start:
        raise StyleError(f"{where}: an arc of radius {rx:g} does not reach from {start} to {(x, y)}")
    return Arc(start, (x, y), rx, bool(sweep))


def _glyph(shapes: list[Shape], where: str) -> Glyph:
    if not shapes:
        raise StyleError(f"{where}: draws nothing")
    xs: list[float] = []
    ys: list[float] = []
    for s in shapes:
        if isinstance(s, Stroke):
            xs += [p[0] for p in s.points]
            ys += [p[1] for p in s.points]
        elif isinstance(s, Arc):
            # An arc rises above its chord by at most its radius.
            rise = s.r - math.sqrt(max(s.r**2 - (math.dist(s.start, s.end) / 2) ** 2, 0.0))
            for p in (s.start, s.end):
                xs += [p[0]] if abs(s.start[1] - s.end[1]) < 1e-9 else [p[0] - rise, p[0] + rise]
                ys += [p[1]] if abs(s.start[0] - s.end[0]) < 1e-9 else [p[1] - rise, p[1] + rise]
    width, up, down = max(xs), -min(ys), max(ys)
    if min(xs) < -1e-6 or not 1.0 <= width <= GREATEST_WIDTH or max(up, down) > GREATEST_REACH:
        raise StyleError(
            f"{where}: must lie between 0 and {GREATEST_WIDTH:g} mm along its line and within {GREATEST_REACH:g} mm "
            "above and below it"
        )
    joined = [s.points for s in shapes if isinstance(s, Stroke)] + [
        (s.start, s.end) for s in shapes if isinstance(s, Arc)
    ]
    for x in (0.0, width):
        if not any(_touches(points, x) for points in joined):
            raise StyleError(f"{where}: nothing meets its line at ({x:g}, 0)")
    return Glyph(width, max(up, 0.0) + 0.2, max(down, 0.0) + 0.2, tuple(shapes))


def _touches(points: tuple[Point, ...], x: float) -> bool:
    """Whether a line through ``points`` (closed or not) meets (x, 0)."""
    ring = (*points, points[0])
    for (x0, y0), (x1, y1) in pairwise(ring):
        level = y0 == y1 == 0.0 and min(x0, x1) - 1e-6 <= x <= max(x0, x1) + 1e-6
        upright = abs(x0 - x) < 1e-6 and abs(x1 - x) < 1e-6 and min(y0, y1) <= 0.0 <= max(y0, y1)
        if level or upright or (abs(x0 - x) < 1e-6 and abs(y0) < 1e-6):
            return True
    return False
