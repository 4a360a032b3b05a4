"""A time-current plot as a sheet for print: title, flags of the currents, the plot, what is known and what is missing.

Everything that is reckoned comes from `linter.study.plot`; here it is only put on paper.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Literal

from linter.drawing import curves_words as say
from linter.drawing.curves_axes import SPOKEN, Axes, current_ticks, time_ticks
from linter.drawing.curves_labels import Placed, Room, flag_rows, place
from linter.drawing.curves_plot import LARGE, SIZE, Painted, flags_of, painted, uprights
from linter.drawing.curves_svg import Group, Path, Sheet
from linter.drawing.frame import CAUTION, NOT_WHOLE
from linter.drawing.picture import Box, Picture, Words
from linter.drawing.svg import INK, PAPER
from linter.drawing.text import ADVANCE_EM, ASCENT_EM, LEADING, clean, shorten, width_mm, wrap
from linter.study.plot import GREATEST_S, LEAST_S, Plot, plot_of, range_a
from linter.study.study import Study

Output = Literal["svg", "pdf", "png"]
PageName = Literal["a4", "letter"]
# Width and height in mm, on their side.
PAGES: dict[str, tuple[float, float]] = {"a4": (297.0, 210.0), "letter": (279.4, 215.9)}
GREATEST_NAMED = 4

MARGIN = 9.0
TITLE = 4.6
LEFT, RIGHT, COLUMN = 15.0, 14.0, 64.0
TICKS = 9.5
ROW = LEADING * SIZE
# Of one sentence beside the plot.
MOST_LINES = 8
READING = (
    "Solid: told by maker or standard. Dashed: drawn out beyond the last point told. Dotted: no least time is "
    "promised. Hatched: neighbours."
)


@dataclass(slots=True)
class _Cursor:
    """Writes line by line down the sheet."""

    words: list[Words]
    y: float

    def line(self, x: float, text: str, size: float = SIZE, bold: bool = False, colour: str = "") -> None:
        lead = (LEADING - 1) * size / 2
        self.words.append(Words(x, self.y + lead + ASCENT_EM * size, text, size, bold, colour=colour))
        self.y += LEADING * size

    def paragraph(self, x: float, text: str, width: float, size: float = SIZE, bold: bool = False) -> None:
        for one in wrap(text, max(int(width / (ADVANCE_EM * size)), 8), MOST_LINES):
            self.line(x, one, size, bold)


def sheet(study: Study, plot: Plot, page: PageName = "a4") -> tuple[Sheet, Axes]:
    """The sheet of a plot, and its axes.  As high as the page, higher only where what must be said needs it."""
    width, height = PAGES[page]
    made = Sheet(width, height, "")
    design = study.design
    titles = ", ".join(n.device.title for n in plot.named)
    made.title = f"{clean(design.boat) or 'Boat'}: time-current plot of {clean(titles)}"
    top = _Cursor(made.words, MARGIN - 2.0)
    inner = width - 2 * MARGIN
    top.line(MARGIN, shorten(design.boat or "Boat without a name", int(inner / (ADVANCE_EM * TITLE))), TITLE, True)
    top.line(MARGIN, shorten(f"Time-current plot: {titles}", int(inner / (ADVANCE_EM * LARGE))), LARGE, True)
    if not design.whole:
        top.paragraph(MARGIN, NOT_WHOLE.replace("diagram", "plot"), inner, bold=True)
    foot = wrap(f"{READING} {CAUTION}", int(inner / (ADVANCE_EM * SIZE)))
    foot_mm = len(foot) * ROW

    # how high the flags stand depends on where their lines are, but not on how high the plot is
    right = width - MARGIN - COLUMN - RIGHT
    least_a, greatest_a = range_a(plot)

    def axes_of(top_mm: float, bottom_mm: float) -> Axes:
        return Axes(Box(MARGIN + LEFT, top_mm, right, bottom_mm), least_a, greatest_a, LEAST_S, GREATEST_S)

    shown, out_of_sight = uprights(plot, least_a, greatest_a)
    rows = flag_rows(flags_of(shown, axes_of(0.0, 100.0)))
    plot_top = top.y + 2.0 + (max(rows, default=-1) + 1) * (ROW + 0.3) + 3.0
    column = _Cursor([], plot_top)
    remarks = dict.fromkeys([*study.remarks, *study.faults().remarks])
    _column(column, plot, right + RIGHT, list(say.notes(plot, out_of_sight, remarks)))
    needs = max(column.y - plot_top, 110.0) + plot_top + 2.0 + foot_mm + MARGIN - 2.0
    made.height = max(height, needs)
    axes = axes_of(plot_top, made.height - (MARGIN - 2.0) - foot_mm - 2.0 - TICKS)
    drawn = painted(plot, axes)
    labels = [p for p in place(drawn.labels, _room(drawn, axes)) if p is not None]
    e = MARGIN / 2
    border = ((e, e), (width - e, e), (width - e, made.height - e), (e, made.height - e))
    made.groups.append(Group("border", "the sheet", [Path("border", (border,), INK, 0.15, closed=True)]))
    made.groups += [drawn.grid, *drawn.shades]
    _papers(made, labels)
    made.groups += drawn.groups
    made.words += column.words
    made.words += _ticks(axes)
    _flags(made, drawn, axes, rows)
    for one in labels:
        if one.leader is not None:
            leader = Path("leader", (one.leader,), one.colour or INK, 0.2)
            made.groups.append(Group("label", one.words[0].text, [leader]))
        made.words += one.words
    bottom = _Cursor(made.words, made.height - (MARGIN - 2.0) - foot_mm)
    for text in foot:
        bottom.line(MARGIN, text)
    return made, axes


def _column(at: _Cursor, plot: Plot, x: float, missing: Sequence[str]) -> None:
    """What is known of the devices, and what is missing."""
    for named in plot.named:
        at.paragraph(x, named.device.title, COLUMN, SIZE, bold=True)
        for text in say.facts(named):
            at.paragraph(x, text, COLUMN)
        at.y += 1.2
    if missing:
        at.line(x, "Missing, doubtful, not shown", SIZE, bold=True)
        for text in missing:
            at.paragraph(x, text, COLUMN)
            at.y += 0.5


def _ticks(axes: Axes) -> list[Words]:
    box, made = axes.box, []
    free = box.x0 - 100.0
    for tick in current_ticks(axes.least_a, axes.greatest_a):
        x, room = axes.x(tick.value), width_mm(tick.text, SIZE) / 2
        if tick.text and (tick.decade or x - room > free + 1.0):
            made.append(Words(x, box.y1 + 3.6, tick.text, SIZE, tick.decade, "middle"))
            free = x + room
    made.append(Words((box.x0 + box.x1) / 2, box.y1 + 7.6, "prospective current", SIZE, anchor="middle"))
    made.append(Words(MARGIN, box.y0 - 2.0, "time", SIZE))
    for tick in time_ticks(axes.least_s, axes.greatest_s):
        if tick.text:
            made.append(Words(box.x0 - 1.2, axes.y(tick.value) + 0.9, tick.text, SIZE, anchor="end"))
    for seconds, text in SPOKEN:
        made.append(Words(box.x1 + 1.2, axes.y(seconds) + 0.9, text, SIZE))
    return made


def _flags(made: Sheet, drawn: Painted, axes: Axes, rows: Sequence[int]) -> None:
    """The flags, each line rising from the plot to its text."""
    stems = []
    for flag, row in zip(flags_of(drawn.uprights, axes), rows, strict=True):
        top = axes.box.y0 - 2.0 - row * (ROW + 0.3) - ROW
        stems.append(Path("stem", (((flag.x, axes.box.y0), (flag.x, top + 0.4)),), flag.colour or INK, 0.25))
        room = made.width - MARGIN - flag.x - 1.0
        text = shorten(flag.text, int(room / (ADVANCE_EM * SIZE)))
        lead = (LEADING - 1) * SIZE / 2
        made.words.append(Words(flag.x + 1.0, top + lead + ASCENT_EM * SIZE, text, SIZE, colour=flag.colour))
    made.groups.append(Group("stems", "currents", stems))


def _room(drawn: Painted, axes: Axes) -> Room:
    room = Room(axes.box)
    for area, weight in drawn.areas:
        room.area(area, weight)
    for line, weight in drawn.lines:
        room.line(line, weight)
    return room


def _papers(made: Sheet, labels: Sequence[Placed]) -> None:
    """A piece of paper behind each text, so that grid and hatching do not run through it; lines are never hidden."""
    e = 0.5
    papers = tuple(
        ((b.x0 - e, b.y0 - 0.2), (b.x1 + e, b.y0 - 0.2), (b.x1 + e, b.y1 + 0.2), (b.x0 - e, b.y1 + 0.2))
        for b in (one.box for one in labels)
    )
    paper = Path("paper", papers, INK, 0.0, fill=PAPER, opacity=0.9, closed=True)
    made.groups.append(Group("papers", "behind the labels", [paper]))


def draw(study: Study, devices: Sequence[str], output: Output, page: PageName = "a4") -> bytes:
    """The time-current plot of some devices of a design: an SVG, PDF or PNG file.  The same study gives the same bytes.

    Raises KeyError for a name that is no device.
    """
    from linter.drawing.curves_svg import svg

    made, _ = sheet(study, plot_of(study, devices), page)
    text = svg(made)
    if output == "svg":
        return text.encode("utf-8", "replace")
    from linter.drawing.export import typeset

    return typeset(text, Picture(made.width, made.height, title=made.title), output)


__all__ = ["GREATEST_NAMED", "PAGES", "Output", "PageName", "draw", "sheet"]
