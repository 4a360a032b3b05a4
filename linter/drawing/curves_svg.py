"""A time-current sheet as SVG: millimetres, selectable text, one group a thing drawn, nothing that runs."""

from __future__ import annotations

from dataclasses import dataclass, field

from linter.drawing.picture import Point, Words
from linter.drawing.svg import INK, PAPER, escaped, n, words_svg
from linter.drawing.text import FAMILY


@dataclass(frozen=True, slots=True)
class Path:
    """Lines or an area in mm.  ``sort`` says what it is, as its class; ``fill`` a colour or "" for none."""

    sort: str
    pieces: tuple[tuple[Point, ...], ...]
    colour: str = INK
    width: float = 0.3
    dash: str = ""
    fill: str = ""
    opacity: float = 1.0
    closed: bool = False
    # where in its dashes it begins, mm: lines that lie on each other are dashed alike
    offset: float = 0.0


@dataclass(slots=True)
class Group:
    """One thing drawn: what sort it is, its name in words, its lines from back to front."""

    sort: str
    title: str
    paths: list[Path] = field(default_factory=list)


@dataclass(slots=True)
class Sheet:
    width: float
    height: float
    title: str
    groups: list[Group] = field(default_factory=list)
    words: list[Words] = field(default_factory=list)


def path_svg(path: Path) -> str:
    d = ""
    for points in path.pieces:
        d += "".join(f"{'L' if i else 'M'}{n(x)} {n(y)}" for i, (x, y) in enumerate(points))
        d += "Z" if path.closed else ""
    more = f' stroke-dasharray="{path.dash}"' if path.dash else ""
    more += f' stroke-dashoffset="{n(path.offset)}"' if path.offset else ""
    more += f' fill="{path.fill}" fill-opacity="{n(path.opacity)}"' if path.fill else ""
    stroke = f'stroke="{path.colour}" stroke-width="{n(path.width)}"' if path.width else 'stroke="none"'
    return f'<path class="{path.sort}" d="{d}" {stroke}{more}/>'


def svg(sheet: Sheet) -> str:
    """The whole sheet.  The same sheet gives the same text."""
    w, h = n(sheet.width), n(sheet.height)
    lines = [
        '<?xml version="1.0" encoding="UTF-8"?>',
        f'<svg xmlns="http://www.w3.org/2000/svg" width="{w}mm" height="{h}mm" viewBox="0 0 {w} {h}" role="img"'
        f' font-family="{FAMILY}" fill="{INK}">',
        f"<title>{escaped(sheet.title)}</title>",
        f'<rect width="{w}" height="{h}" fill="{PAPER}"/>',
    ]
    for number, group in enumerate(sheet.groups, 1):
        lines.append(f'<g id="g{number}" class="{group.sort}" fill="none" stroke-linejoin="round">')
        lines.append(f"<title>{escaped(group.title)}</title>")
        lines += [path_svg(p) for p in group.paths if p.pieces]
        lines.append("</g>")
    lines += ['<g id="words">', *(words_svg(w) for w in sheet.words), "</g>", "</svg>", ""]
    return "\n".join(lines)
