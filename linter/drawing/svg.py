"""The picture as SVG: millimetres, selectable text, a title and a description at every element, nothing that runs."""

from __future__ import annotations

import re
from collections.abc import Iterable

from linter.drawing.cells import MARK_SIZE
from linter.drawing.picture import BAR, Arc, Disc, Drawn, Marker, Picture, Shape, Stroke, Wire, Words
from linter.drawing.text import FAMILY, is_plain, legal

INK, PAPER = "#111", "#fff"
# Systems: the first has whole lines; the others also differ by dashes, for black and white.
SYSTEM_COLOURS = ("#111", "#0b5394", "#8a3800", "#2f6b1f", "#6a1b7a", "#7a0019")
SYSTEM_DASHES = ("", "5 0.9", "2.4 0.8", "5 0.8 0.8 0.8", "1.2 0.6", "5 0.8 0.8 0.8 0.8 0.8")
SEVERITY_COLOURS = {
    "danger": "#b3001b", "fault": "#b34700", "doubt": "#5b4b8a", "advice": "#1f5fa8",
    "added": "#00695c", "removed": "#8c0032", "changed": "#8a4b00", "affected": "#3d4a5c",
}  # fmt: skip

_ENTITIES = {"&": "&amp;", "<": "&lt;", ">": "&gt;", '"': "&quot;", "'": "&#39;"}


def escaped(text: str) -> str:
    """``text`` as XML character data or attribute value, whatever is in it."""
    if not text.isalnum():
        text = re.sub("[&<>\"']", lambda m: _ENTITIES[m[0]], legal(text))
    return text


def n(value: float) -> str:
    """A coordinate: at most two decimals."""
    text = f"{value:.2f}"
    text = text.rstrip("0").rstrip(".")
    return "0" if text in ("-0", "") else text


def system_style(system: int) -> str:
    """The attributes of a line of the system with this index."""
    if system < 0:
        return f'stroke="{INK}"'
    dash = SYSTEM_DASHES[system % len(SYSTEM_DASHES)]
    made = f'stroke="{SYSTEM_COLOURS[system % len(SYSTEM_COLOURS)]}"'
    return f'{made} stroke-dasharray="{dash}"' if dash else made


def _path(points: Iterable[tuple[float, float]], closed: bool = False) -> str:
    made: list[str] = []
    before: tuple[float, float] | None = None
    for x, y in points:
        if before is None:
            made.append(f"M{n(x)} {n(y)}")
        elif n(before[1]) == n(y):
            made.append(f"H{n(x)}")
        elif n(before[0]) == n(x):
            made.append(f"V{n(y)}")
        else:
            made.append(f"L{n(x)} {n(y)}")
        before = x, y
    return "".join(made) + ("Z" if closed else "")


_FILLS = {"": "none", "ink": INK, "paper": PAPER, "added": "#d8efe6", "changed": "#fdebc8"}


def shape_svg(shape: Shape) -> str:
    """One shape in the ink of its group."""
    match shape:
        case Stroke(points, width, closed, fill, dash, colour):
            more = f' stroke-dasharray="{dash}"' if dash else ""
            more += f' stroke="{colour}"' if colour else ""
            more += f' fill="{_FILLS[fill]}"' if fill else ""
            more += f' stroke-width="{n(width)}"' if width != 0.3 else ""
            return f'<path d="{_path(points, closed)}"{more}/>'
        case Arc(start, end, r, sweep, width):
            d = f"M{n(start[0])} {n(start[1])}A{n(r)} {n(r)} 0 0 {int(sweep)} {n(end[0])} {n(end[1])}"
            return f'<path d="{d}" stroke-width="{n(width)}"/>'
        case Disc(x, y, r, fill, width):
            return f'<circle cx="{n(x)}" cy="{n(y)}" r="{n(r)}" stroke-width="{n(width)}" fill="{_FILLS[fill]}"/>'
        case Words():
            return words_svg(shape)
        case Marker():
            return marker_svg(shape)


def words_svg(words: Words) -> str:
    more = ' font-weight="bold"' if words.bold else ""
    more += f' text-anchor="{words.anchor}"' if words.anchor != "start" else ""
    more += f' fill="{words.colour}"' if words.colour else ""
    if not is_plain(words.text):
        # What the font has not is drawn by another of unknown width: keep it within the room that was left for it.
        more += f' textLength="{n(words.width)}" lengthAdjust="spacingAndGlyphs"'
    return f'<text x="{n(words.x)}" y="{n(words.y)}" font-size="{n(words.size)}"{more}>{escaped(words.text)}</text>'


def marker_svg(marker: Marker) -> str:
    """Danger a triangle, fault a diamond, doubt a circle, advice a square; outlined where accepted.

    Added a plus in a disc, removed a cross in a square, changed a bar between two in a hexagon, affected an open one.
    """
    x, y, r = marker.x + 1.2, marker.y, 1.1
    colour = SEVERITY_COLOURS[marker.severity]
    fill = PAPER if marker.accepted else colour
    style = f'fill="{fill}" stroke="{colour}" stroke-width="0.25"'
    match marker.severity:
        case "danger":
            shape = f'<path d="M{n(x)} {n(y - 1.15)}L{n(x + 1.2)} {n(y + 1)}H{n(x - 1.2)}Z" {style}/>'
        case "fault":
            shape = f'<path d="{_path(((x, y - 1.2), (x + 1.2, y), (x, y + 1.2), (x - 1.2, y)), True)}" {style}/>'
        case "doubt":
            shape = f'<circle cx="{n(x)}" cy="{n(y)}" r="{n(r)}" {style}/>'
        case "added":
            cut = f"M{n(x - 0.65)} {n(y)}h1.3M{n(x)} {n(y - 0.65)}v1.3"
            shape = f'<circle cx="{n(x)}" cy="{n(y)}" r="{n(r)}" {style}/>{_cut(cut)}'
        case "removed":
            cut = f"M{n(x - 0.55)} {n(y - 0.55)}l1.1 1.1m0 -1.1l-1.1 1.1"
            shape = f'<rect x="{n(x - 1)}" y="{n(y - 1)}" width="2" height="2" {style}/>{_cut(cut)}'
        case "changed" | "affected":
            open_ = marker.severity == "affected"
            style = f'fill="{PAPER if open_ else colour}" stroke="{colour}" stroke-width="0.25"'
            points = ((x - 1.2, y), (x - 0.6, y - 1.1), (x + 0.6, y - 1.1), (x + 1.2, y), (x + 0.6, y + 1.1),
                      (x - 0.6, y + 1.1))  # fmt: skip
            cut = f"M{n(x - 0.6)} {n(y - 0.3)}h1.2m0 0.6h-1.2"
            shape = f'<path d="{_path(points, True)}" {style}/>{_cut(cut, colour if open_ else PAPER)}'
        case _:
            shape = f'<rect x="{n(x - 0.95)}" y="{n(y - 0.95)}" width="1.9" height="1.9" {style}/>'
    number = Words(marker.x + 2.8, y + 0.365 * MARK_SIZE, str(marker.number), MARK_SIZE, True, colour=colour)
    said = words_svg(number) if marker.number else ""
    return f'<g class="mark {marker.severity}">{shape}{said}</g>'


def _cut(path: str, colour: str = PAPER) -> str:
    return f'<path d="{path}" fill="none" stroke="{colour}" stroke-width="0.35"/>'


class _Ids:
    def __init__(self) -> None:
        self.used: set[str] = set()

    def of(self, name: str, kind: str = "el") -> str:
        """A stable id: the element's name with what an id may not hold replaced, numbered where two become one."""
        base = f"{kind}-" + (re.sub(r"[^A-Za-z0-9_.-]", "_", name)[:80] or "_")
        made, count = base, 1
        while made in self.used:
            count += 1
            made = f"{base}~{count}"
        self.used.add(made)
        return made


def _element(drawn: Drawn, ids: _Ids) -> str:
    if drawn.reference >= 0:
        # Named by what stands on both sides, so that it keeps its name when something else is added.
        tag = f'<g fill="none" stroke="{INK}">{"".join(map(shape_svg, drawn.shapes))}</g>'
        body = tag + "".join(map(words_svg, drawn.texts))
        head = f'<g id="{ids.of(drawn.name or drawn.title, "ref")}" class="reference">'
        return f"{head}<title>{escaped(drawn.title)}</title><desc>{escaped(drawn.desc)}</desc>{body}</g>"
    if not drawn.name:
        return f'<g class="{drawn.kind}" fill="none" stroke="{INK}">{"".join(map(shape_svg, drawn.shapes))}</g>'
    line = drawn.kind == "cable"
    style = f'{system_style(drawn.system)} stroke-linecap="square"' if line else f'stroke="{INK}"'
    parts = [f'<g id="{ids.of(drawn.name)}" class="el {drawn.kind}">']
    parts.append(f"<title>{escaped(drawn.title)}</title><desc>{escaped(drawn.desc)}</desc>")
    shapes = [s for s in drawn.shapes if not isinstance(s, Words)]
    inner = [s for s in drawn.shapes if isinstance(s, Words)]
    parts.append(f'<g fill="none" {style}>{"".join(map(shape_svg, shapes))}</g>')
    parts += [words_svg(w) for w in (*inner, *drawn.texts)]
    parts += [marker_svg(m) for m, _ in drawn.markers]
    return "".join([*parts, "</g>"])


def _wire(wire: Wire) -> str:
    return f'<path class="wire" d="{_path(wire.points)}" {system_style(wire.system)}/>'


def svg(picture: Picture) -> str:
    """The whole sheet.  The same picture gives the same text."""
    ids = _Ids()
    w, h = n(picture.width), n(picture.height)
    wide, high = n(picture.width * picture.scale), n(picture.height * picture.scale)
    lines = [
        '<?xml version="1.0" encoding="UTF-8"?>',
        f'<svg xmlns="http://www.w3.org/2000/svg" width="{wide}mm" height="{high}mm" viewBox="0 0 {w} {h}" role="img"'
        f' font-family="{FAMILY}" fill="{INK}">',
        f"<title>{escaped(picture.title)}</title>",
        f'<rect width="{w}" height="{h}" fill="{PAPER}"/>',
        '<g id="wires" fill="none" stroke-width="0.3" stroke-linecap="square">',
        *(_wire(x) for x in picture.wires),
        "</g>",
        f'<g id="dots" fill="{INK}">',
        *(f'<circle cx="{n(x)}" cy="{n(y)}" r="0.6"/>' for x, y in picture.dots),
        "</g>",
        '<g id="elements" stroke-width="0.3">',
        *(_element(e, ids) for e in picture.elements),
        "</g>",
        f'<g id="sheet" fill="none" stroke="{INK}" stroke-width="0.3">',
        *(shape_svg(s) for s in picture.frame if not isinstance(s, Words | Marker)),
        "</g>",
        '<g id="words">',
        *(shape_svg(s) for s in picture.frame if isinstance(s, Words | Marker)),
        "</g>",
        "</svg>",
        "",
    ]  # fmt: skip
    return "\n".join(lines)


__all__ = ["BAR", "svg"]
