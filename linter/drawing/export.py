"""PDF and PNG of the SVG, by typst, in process, with the fonts it carries: the same on every machine.

Nothing of the design becomes typst markup: the drawing goes in as an image, the title as a string.
"""

from __future__ import annotations

import math
from typing import Any, Literal

from linter.drawing.picture import Picture

DPI = 144
# A picture larger than this is drawn at a lower resolution.
MOST_PIXELS_A_SIDE = 16_000
MOST_PIXELS = 60_000_000
# PDF readers stop at 200 inches; a larger drawing is scaled down to that.
GREATEST_PAGE_MM = 5_000.0

_MAIN = """\
#let data = sys.inputs
#set document(title: data.title, date: none)
#set page(width: float(data.width) * 1mm, height: float(data.height) * 1mm, margin: 0pt)
#image("drawing.svg", width: 100%, height: 100%, alt: data.title)
"""


def page_mm(picture: Picture) -> tuple[float, float]:
    """The size of the PDF page."""
    scale = min(1.0, GREATEST_PAGE_MM / max(picture.width, picture.height))
    return picture.width * scale, picture.height * scale


def png_ppi(picture: Picture) -> float:
    """Pixels an inch: 144 unless that gives more than an image viewer takes."""
    width, height = page_mm(picture)
    by_side = MOST_PIXELS_A_SIDE * 25.4 / max(width, height)
    by_area = math.sqrt(MOST_PIXELS / (width * height)) * 25.4
    return min(DPI, by_side, by_area)


def typeset(svg: str, picture: Picture, output: Literal["pdf", "png"]) -> bytes:
    """The drawing as a PDF (vectors and text) or PNG."""
    import typst

    width, height = page_mm(picture)
    inputs = {"title": picture.title, "width": f"{width:.3f}", "height": f"{height:.3f}"}
    files: Any = {"main.typ": _MAIN.encode(), "drawing.svg": svg.encode("utf-8", "replace")}
    # The type stubs know of paths only; files in memory are documented.
    compile_: Any = typst.compile
    if output == "pdf":
        made = compile_(files, format="pdf", ignore_system_fonts=True, sys_inputs=inputs, timestamp=0)
    else:
        made = compile_(files, format="png", ppi=png_ppi(picture), ignore_system_fonts=True, sys_inputs=inputs)
    if not isinstance(made, bytes):
        raise TypeError("typst gave more than one page for a drawing of one")
    return made
