"""What is painted inside the axes of a time-current plot: grid, bands, damage lines, loads, upright currents.

Each thing is one group of paths; beside it is kept what its label should stand near to.
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Sequence
from dataclasses import dataclass, field
from itertools import pairwise

from linter.drawing import curves_words as say
from linter.drawing.curves_axes import Axes, current_ticks, hatch, time_ticks
from linter.drawing.curves_labels import Flag, Label
from linter.drawing.curves_svg import Group, Path
from linter.drawing.picture import Point
from linter.drawing.svg import INK
from linter.study.plot import Band, Damage, Named, Plot, Role
from linter.study.plot_lines import (
    FOREVER_S,
    damage_lines,
    fast_beyond,
    fast_edge,
    promised_area,
    slow_edge,
    unpromised_area,
)

# 7.1 points; the smallest text on the sheet.
SIZE, LARGE = 2.5, 3.0
GRID, DECADE = "#d9d9d9", "#a6a6a6"
NAMED_COLOURS = ("#0b5394", "#8a3800", "#6a1b7a", "#2f5d1f", "#005f5f", "#5f5f00")
COLOURS = {Role.ABOVE: "#3c4f5c", Role.BELOW: "#6e5a35"}
# slope of the hatching and the distance of its lines: told apart without colour
HATCHES = {Role.ABOVE: (1.0, 2.2), Role.BELOW: (-1.0, 2.2)}
DAMAGE, LOAD = "#b3001b", "#00654a"
BEYOND_PERIOD = 3.4
BEYOND_DASH, LOAD_DASH, SMALLEST_DASH = "2.2 1.2", "3.5 0.9 0.7 0.9", "1.6 0.9"


@dataclass(frozen=True, slots=True)
class Upright:
    """A current as an upright line, from ``top_s`` down to ``bottom_s`` (s); ``wall``: there is no beyond."""

    sort: str
    amps: float
    text: str
    colour: str
    width: float
    dash: str = ""
    top_s: float = FOREVER_S
    bottom_s: float = 0.0
    wall: bool = False


@dataclass(slots=True)
class Painted:
    """Groups from back to front, labels in the order of their importance, upright lines with their flags, and lines
    and areas (in mm) that labels had better not cover, with how dear that is."""

    grid: Group
    # areas and hatching, behind the labels; lines, before their paper
    shades: list[Group] = field(default_factory=list)
    groups: list[Group] = field(default_factory=list)
    labels: list[Label] = field(default_factory=list)
    uprights: list[Upright] = field(default_factory=list)
    lines: list[tuple[tuple[Point, ...], float]] = field(default_factory=list)
    areas: list[tuple[tuple[Point, ...], float]] = field(default_factory=list)


def painted(plot: Plot, axes: Axes) -> Painted:
    made = Painted(_grid(axes))
    neighbours = [*plot.above, *plot.below]
    named_labels, other_labels = [], []
    for band in neighbours:
        other_labels.append(_band(made, axes, band, COLOURS[band.role], True))
    for named, colour in zip(plot.named, _colours(plot), strict=True):
        named_labels.append(_band(made, axes, named.band, colour, len(plot.named) > 1))
    damages = {d.conductor.name: d for n in plot.named if (d := n.damage) is not None}
    rest = [_damage(made, axes, d) for d in damages.values()]
    for named in plot.named:
        rest.append(_start(made, axes, named))
    made.uprights, _ = uprights(plot, axes.least_a, axes.greatest_a)
    made.groups += [_upright(axes, one) for one in made.uprights]
    for one in made.uprights:
        made.lines.append((((axes.x(one.amps), axes.box.y0), (axes.x(one.amps), axes.box.y1)), 6.0))
    made.labels = [x for x in (*named_labels, *rest, *other_labels) if x is not None]
    return made


def _colours(plot: Plot) -> list[str]:
    return [NAMED_COLOURS[i % len(NAMED_COLOURS)] for i in range(len(plot.named))]


def flags_of(lines: Iterable[Upright], axes: Axes) -> list[Flag]:
    return [Flag(axes.x(u.amps), u.text, SIZE, u.colour) for u in lines]


def uprights(plot: Plot, least_a: float, greatest_a: float) -> tuple[list[Upright], list[str]]:
    """The upright lines between two currents in A, and what those that are smaller say."""
    damages = {d.conductor.name: d for n in plot.named if (d := n.damage) is not None}
    found = [u for named in plot.named for u in _uprights(named)]
    found += [_carried(d) for d in damages.values() if d.ampacity_a]
    # two devices may have a line in common
    once = list(dict.fromkeys(found))
    seen = [u for u in once if least_a <= u.amps <= greatest_a]
    return seen, [u.text for u in once if u.amps < least_a]


def _grid(axes: Axes) -> Group:
    box = axes.box
    fine: list[tuple[Point, ...]] = []
    heavy: list[tuple[Point, ...]] = []
    for tick in current_ticks(axes.least_a, axes.greatest_a):
        (heavy if tick.decade else fine).append(((axes.x(tick.value), box.y0), (axes.x(tick.value), box.y1)))
    for tick in time_ticks(axes.least_s, axes.greatest_s):
        (heavy if tick.decade else fine).append(((box.x0, axes.y(tick.value)), (box.x1, axes.y(tick.value))))
    frame = ((box.x0, box.y0), (box.x1, box.y0), (box.x1, box.y1), (box.x0, box.y1))
    return Group(
        "grid",
        "decades of current and time",
        [
            Path("fine", tuple(fine), GRID, 0.1),
            Path("heavy", tuple(heavy), DECADE, 0.2),
            Path("frame", (frame,), INK, 0.35, closed=True),
        ],
    )


def _sampled(pieces: Iterable[Sequence[Point]], every: float) -> tuple[Point, ...]:
    """Points along lines, some mm apart."""
    made: list[Point] = []
    for piece in pieces:
        for (x0, y0), (x1, y1) in pairwise(piece):
            steps = max(round(math.dist((x0, y0), (x1, y1)) / every), 1)
            made += [(x0 + (x1 - x0) * i / steps, y0 + (y1 - y0) * i / steps) for i in range(steps + 1)]
    return tuple(dict.fromkeys(made))


def _band(made: Painted, axes: Axes, band: Band, colour: str, crowded: bool) -> Label | None:
    named = band.role is Role.NAMED
    title = f"{band.role.value}: {', '.join(band.names)}"
    group, shade = Group(f"band {band.role.value}", title), Group(f"shade {band.role.value}", title)
    made.groups.append(group)
    made.shades.append(shade)
    curve = band.curve
    if curve is None:
        return None
    width = 0.55 if named else 0.3
    area = axes.area(promised_area(curve))
    if area:
        opacity = 0.2 if named else 0.06
        shade.paths.append(Path("promised", (area,), colour, 0.0, fill=colour, opacity=opacity, closed=True))
        if not named:
            shade.paths.append(Path("hatch", tuple(hatch(area, *HATCHES[band.role])), colour, 0.1))
        made.areas.append((area, 0.5 if named else 0.3))
    fringe = 11.0 if named else 4.0
    below = hatch(axes.area(unpromised_area(curve, axes.greatest_a)), None, 2.0 if named else 3.0)
    if below:
        # from the slow edge downwards, as far as a fringe shows
        drops = tuple(((x0, min(y0, y1)), (x1, min(max(y0, y1), min(y0, y1) + fringe))) for (x0, y0), (x1, y1) in below)
        shade.paths.append(Path("unpromised", drops, colour, 0.12, "0.5 0.7"))
        made.lines += [(drop, 0.4) for drop in drops]
    fast = axes.line(fast_edge(curve))
    group.paths.append(Path("fast", tuple(fast), colour, width * (1.0 if curve.fast else 0.5)))
    drawn_out = axes.line(fast_beyond(curve, axes.greatest_a))
    if drawn_out:
        group.paths.append(Path("fast beyond", tuple(drawn_out), colour, width * 0.7, BEYOND_DASH))
        made.lines += [(p, 4.0) for p in drawn_out]
    slow: list[tuple[Point, ...]] = []
    for line in slow_edge(curve, axes.greatest_a):
        pieces = axes.line(line.points)
        slow += pieces if line.told else []
        sort, dash = ("slow", "") if line.told else ("slow beyond", BEYOND_DASH)
        offset = pieces[0][0][0] % BEYOND_PERIOD if pieces and not line.told else 0.0
        group.paths.append(Path(sort, tuple(pieces), colour, width * (1.0 if line.told else 0.7), dash, offset=offset))
        made.lines += [(p, (9.0 if named else 6.0) if line.told else 4.0) for p in pieces]
    made.lines += [(p, 9.0 if named else 6.0) for p in fast]
    near = _sampled([*slow, *fast] if named or not slow else slow, 6.0)
    return Label(say.band_lines(band, SIZE, LARGE, crowded), near, colour) if near else None


def _damage(made: Painted, axes: Axes, damage: Damage) -> Label | None:
    lines = damage_lines(damage.stands, damage.ampacity_a)
    group = Group("damage", f"damage line of {damage.conductor.name}")
    made.groups.append(group)
    solid, dashed = axes.line(lines.adiabatic), axes.line(lines.beyond)
    carried = axes.line(lines.carries)
    group.paths.append(Path("adiabatic", tuple(solid), DAMAGE, 0.7))
    group.paths.append(Path("beyond", tuple(dashed), DAMAGE, 0.5, BEYOND_DASH))
    group.paths.append(Path("carries", tuple(carried), DAMAGE, 0.5))
    made.lines += [(p, 8.0) for p in (*solid, *dashed, *carried)]
    near = _sampled([*solid, *dashed], 6.0)
    return Label(say.damage_label(damage, SIZE), near, DAMAGE) if near else None


def _start(made: Painted, axes: Axes, named: Named) -> Label | None:
    """A load's start: its starting current for as long as it starts, then what it draws."""
    start = named.start
    if start is None or not start.load.starts_s or not start.load.starts_a:
        return None
    amps, seconds = start.load.starts_a, start.load.starts_s
    corner = [(start.draws_a, seconds)] if start.draws_a else []
    pieces = axes.line([*corner, (amps, seconds), (amps, 1e-7)])
    made.groups.append(Group("start", f"start of {start.load.name}", [Path("start", tuple(pieces), LOAD, 0.6)]))
    made.lines += [(p, 7.0) for p in pieces]
    near = _sampled(pieces, 5.0)
    return Label(say.start_label(start, SIZE), near, LOAD) if near else None


def _uprights(named: Named) -> list[Upright]:
    made: list[Upright] = []
    running = say.running_words(named)
    if running is not None:
        single = len(named.loads) == 1 and named.start is not None
        until = named.loads[0].load.starts_s if single else None
        made.append(Upright("running", running[0], running[1], LOAD, 0.5, LOAD_DASH, bottom_s=until or 0.0))
    start = named.start
    if start is not None and start.load.starts_s is None and start.load.starts_a:
        text = f"{start.load.starts_a:.3g} A starts {start.load.name}"
        made.append(Upright("starts", start.load.starts_a, text, LOAD, 0.4, "0.6 0.8"))
    smallest, largest, breaks = named.smallest, named.largest, named.breaking
    if smallest is not None and not smallest.unknown:
        text = say.smallest_words(named, smallest)
        made.append(Upright("smallest", smallest.amps, text, INK, 0.35, SMALLEST_DASH))
    if largest is not None and not largest.unknown:
        made.append(Upright("largest", largest.amps, say.largest_words(named, largest), INK, 0.35))
    if breaks is not None:
        made.append(Upright("breaks", breaks.amps, say.breaking_words(named), INK, 0.5, wall=True))
    return made


def _carried(damage: Damage) -> Upright:
    assert damage.ampacity_a is not None
    return Upright("carried", damage.ampacity_a, say.ampacity_words(damage), DAMAGE, 0.0)


def _upright(axes: Axes, one: Upright) -> Group:
    group = Group(f"upright {one.sort}", one.text)
    pieces = axes.line([(one.amps, one.top_s), (one.amps, one.bottom_s)])
    if not pieces or not one.width:
        return group
    group.paths.append(Path(one.sort, tuple(pieces), one.colour, one.width, one.dash))
    if one.wall:
        x, (y0, y1) = axes.x(one.amps), (axes.box.y0, axes.box.y1)
        reach = min(1.6, axes.box.x1 - x)
        ticks = [((x, y), (x + reach, y - reach)) for y in _steps(y0 + 3.0, y1, 3.0)]
        group.paths.append(Path("wall", tuple(ticks), one.colour, 0.2))
    return group


def _steps(start: float, end: float, step: float) -> list[float]:
    return [start + i * step for i in range(int((end - start) / step) + 1)]
