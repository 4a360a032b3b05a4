"""Paper: its size, its frame, the fields of its grid, and where the diagram may stand.

Lengths are in units of the drawing: millimetres on paper where ``scale`` is 1.  A frame with a wider edge to file by,
fields named by figures across and letters down, and a title block at the lower right are common practice.
"""

from __future__ import annotations

from dataclasses import dataclass

from linter.drawing.picture import Box, Point

SIZES_MM = {"a3": (420.0, 297.0), "a4": (297.0, 210.0), "letter": (279.4, 215.9)}
COLUMNS, ROWS = 8, "ABCDEF"
FILING_MM, EDGE_MM, FIELDS_MM = 20.0, 10.0, 5.0
# A point is 1/72 inch.
POINT_MM = 25.4 / 72
LEAST_TEXT_PT = 6.0
PAD = 4.0
FOOT = 31.0
TITLE_WIDTH = {"a3": 176.0, "a4": 150.0, "letter": 150.0}
# A legend that would be narrower has no place of its own, and leaves the whole strip to the title block.
LEAST_LEGEND = 30.0


@dataclass(frozen=True, slots=True)
class Paper:
    """A sheet on its side; ``scale`` is how many mm of paper a unit of the drawing takes.

    ``foot`` is the height of the strip below the diagram: legend and title block.
    """

    name: str = "a3"
    scale: float = 1.0
    # more than one where something cannot be divided so that it fits: the sheet is then so much larger
    enlarged: float = 1.0

    @property
    def width(self) -> float:
        return SIZES_MM[self.name][0] * self.enlarged / self.scale

    @property
    def height(self) -> float:
        return SIZES_MM[self.name][1] * self.enlarged / self.scale

    @property
    def frame(self) -> Box:
        filing, edge = FILING_MM / self.scale, EDGE_MM / self.scale
        return Box(filing, edge, self.width - edge, self.height - edge)

    @property
    def title_block(self) -> Box:
        f = self.frame
        left = f.x1 - TITLE_WIDTH[self.name]
        return Box(left if left - f.x0 >= LEAST_LEGEND else f.x0, f.y1 - FOOT, f.x1, f.y1)

    @property
    def legend(self) -> Box:
        """Beside the title block; without any width where large text leaves none."""
        f = self.frame
        return Box(f.x0, f.y1 - FOOT, self.title_block.x0, f.y1)

    @property
    def area(self) -> Box:
        """Where the diagram may stand."""
        f = self.frame
        return Box(f.x0 + PAD, f.y0 + PAD, f.x1 - PAD, f.y1 - FOOT - PAD)

    @property
    def room(self) -> tuple[float, float]:
        a = self.area
        return a.x1 - a.x0, a.y1 - a.y0

    def field(self, point: Point) -> str:
        """The name of the field of the grid that a point lies in, as B4."""
        f = self.frame
        across = int((point[0] - f.x0) / (f.x1 - f.x0) * COLUMNS)
        down = int((point[1] - f.y0) / (f.y1 - f.y0) * len(ROWS))
        return f"{ROWS[min(max(down, 0), len(ROWS) - 1)]}{min(max(across, 0), COLUMNS - 1) + 1}"
