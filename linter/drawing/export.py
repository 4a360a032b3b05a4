"""PDF and PNG of the SVG, by typst, in process, with the fonts it carries: the same on every machine.

Only where a letter is in none of those (Chinese, Hebrew, an emoji) the fonts of the machine are asked too.

Nothing of the design becomes typst markup: the drawing goes in as an image, the title as a string.
"""

from __future__ import annotations

import math
import re
from collections.abc import Sequence
from typing import Any, Literal

from linter.drawing.fonts import lacking, nowhere
from linter.drawing.picture import Picture

DPI = 144
# A picture larger than this is drawn at a lower resolution.
MOST_PIXELS_A_SIDE = 16_000
MOST_PIXELS = 60_000_000
# PDF readers stop at 200 inches; a larger drawing is scaled down to that.
GREATEST_PAGE_MM = 5_000.0
_UNDER = 0.15

_MAIN = """\
#let data = sys.inputs
#set document(title: data.title, date: none)
#set page(width: float(data.width) * 1pt, height: float(data.height) * 1pt, margin: 0pt)
#image("drawing.svg", width: 100%, height: 100%, fit: "stretch", alt: data.title)
"""


def boxed(pictures: Sequence[Picture]) -> list[str]:
    """The letters on these sheets that neither the typesetter nor this machine has a font for: boxes stand for them."""
    words = (w.text for p in pictures for w in (*p.frame_words, *(t for d in p.elements for t in d.texts)))
    letters = lacking("".join(words))
    return nowhere(letters) if letters else []


def page_mm(picture: Picture) -> tuple[float, float]:
    """The size of the PDF page."""
    width, height = picture.width * picture.scale, picture.height * picture.scale
    scale = min(1.0, GREATEST_PAGE_MM / max(width, height))
    return width * scale, height * scale


def png_pixels(picture: Picture) -> tuple[int, int]:
    """The size of the PNG: 144 pixels an inch, fewer where that would be more than an image viewer takes."""
    width, height = page_mm(picture)
    by_side = MOST_PIXELS_A_SIDE * 25.4 / max(width, height)
    by_area = math.sqrt(MOST_PIXELS / (width * height)) * 25.4
    scale = min(DPI, by_side, by_area) / 25.4
    return max(round(width * scale), 1), max(round(height * scale), 1)


def _sized(svg: str, width: float, height: float) -> str:
    """The SVG with another outer size; what is in it is stretched to that."""
    outer = f'width="{width}" height="{height}" preserveAspectRatio="none"'
    return re.sub(r'width="[\d.]+mm" height="[\d.]+mm"', outer, svg, count=1)


_PAGES = """\
#set document(title: sys.inputs.title, date: none)
#set heading(outlined: true, bookmarked: true)
#let pages = json("pages.json")
#for one in pages {
  page(width: one.width * 1pt, height: one.height * 1pt, margin: 0pt)[
    #place(top + left, hide(heading(level: 1, text(size: 1pt, one.title))))
    #image(one.file, width: 100%, height: 100%, fit: "stretch", alt: one.title)
  ]
}
"""


def document(drawings: Sequence[tuple[str, Picture]], title: str) -> bytes:
    """All sheets in one PDF, a bookmark at each."""
    import json

    import typst

    pages, files = [], {"main.typ": _PAGES.encode()}
    for number, (svg, picture) in enumerate(drawings, 1):
        width, height = (mm * 72 / 25.4 for mm in page_mm(picture))
        name = f"sheet-{number}.svg"
        pages.append({"file": name, "width": width, "height": height, "title": picture.title})
        files[name] = svg.encode("utf-8", "replace")
    files["pages.json"] = json.dumps(pages).encode()
    # The type stubs know of paths only; files in memory are documented.
    compile_: Any = typst.compile
    own = not any(lacking(svg) for svg, _ in drawings)
    made = compile_(files, format="pdf", ignore_system_fonts=own, sys_inputs={"title": title}, timestamp=0)
    if not isinstance(made, bytes):
        raise TypeError("typst gave no PDF")
    return made


def typeset(svg: str, picture: Picture, output: Literal["pdf", "png"]) -> bytes:
    """The drawing as a PDF (vectors and text) or PNG."""
    import typst

    if output == "pdf":
        width, height = (mm * 72 / 25.4 for mm in page_mm(picture))
    else:
        columns, rows = png_pixels(picture)
        # A point a pixel.  The typesetter first paints the drawing at a size that it rounds up, then maps that to the
        # page by the nearest pixel; were the two sizes not the same, a row of pixels would be lost or doubled here and
        # there.  A page a little under the whole number, and a drawing whose proportions lie between, keep them so.
        width, height = columns - 2 * _UNDER, rows - 2 * _UNDER
        svg = _sized(svg, columns, rows - _UNDER)
    own = not lacking(svg)
    inputs = {"title": picture.title, "width": f"{width:.3f}", "height": f"{height:.3f}"}
    files: Any = {"main.typ": _MAIN.encode(), "drawing.svg": svg.encode("utf-8", "replace")}
    # The type stubs know of paths only; files in memory are documented.
    compile_: Any = typst.compile
    if output == "pdf":
        made = compile_(files, format="pdf", ignore_system_fonts=own, sys_inputs=inputs, timestamp=0)
    else:
        made = compile_(files, format="png", ppi=72, ignore_system_fonts=own, sys_inputs=inputs)
    if not isinstance(made, bytes):
        raise TypeError("typst gave more than one page for a drawing of one")
    return made
