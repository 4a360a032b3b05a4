"""Groups put onto sheets: each into the uppermost place that is free, on a sheet with what it belongs to if it fits.

Free room is kept as the largest free rectangles (the maximal-rectangles method of two-dimensional bin packing).
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, field

from linter.drawing.partition import Group
from linter.drawing.picture import Box

GAP = 6.0


@dataclass(slots=True)
class Packed:
    """One sheet: the groups on it by number, and where their upper left corners are."""

    room: tuple[float, float]
    places: dict[int, tuple[float, float]] = field(default_factory=dict)
    free: list[Box] = field(default_factory=list)

    def __post_init__(self) -> None:
        self.free = [Box(0.0, 0.0, self.room[0] + GAP, self.room[1] + GAP)]

    def put(self, number: int, width: float, height: float) -> bool:
        """Find a place for a thing of this size; False if there is none."""
        wide, high = width + GAP, height + GAP
        fitting = [f for f in self.free if f.x1 - f.x0 >= wide - 1e-6 and f.y1 - f.y0 >= high - 1e-6]
        if not fitting:
            return False
        best = min(fitting, key=lambda f: (f.y0, f.x0))
        taken = Box(best.x0, best.y0, best.x0 + wide, best.y0 + high)
        self.places[number] = best.x0, best.y0
        cut = [part for f in self.free for part in _without(f, taken)]
        self.free = [a for n, a in enumerate(cut) if not any(_within(a, b, n, m) for m, b in enumerate(cut))]
        return True


def _without(free: Box, taken: Box) -> list[Box]:
    """The largest rectangles of ``free`` that ``taken`` leaves."""
    if not free.overlaps(taken):
        return [free]
    made = []
    if taken.y0 > free.y0:
        made.append(Box(free.x0, free.y0, free.x1, taken.y0))
    if taken.y1 < free.y1:
        made.append(Box(free.x0, taken.y1, free.x1, free.y1))
    if taken.x0 > free.x0:
        made.append(Box(free.x0, free.y0, taken.x0, free.y1))
    if taken.x1 < free.x1:
        made.append(Box(taken.x1, free.y0, free.x1, free.y1))
    return made


def _within(a: Box, b: Box, n: int, m: int) -> bool:
    """Whether ``a`` is needless beside ``b``; of two that are the same the first is kept."""
    inside = a.x0 >= b.x0 and a.y0 >= b.y0 and a.x1 <= b.x1 and a.y1 <= b.y1
    return inside and (a != b or m < n) and n != m


def _depths(groups: Sequence[Group]) -> list[int]:
    """How many references lie between each group and the nearest with a battery, else with any source."""
    depth: dict[int, int] = {}
    for kinds in ({"battery"}, {"alternator", "charger", "solar"}):
        waiting = [
            n for n, g in enumerate(groups) if n not in depth and any(d.kind in kinds for d in g.picture.elements)
        ]
        if depth and kinds != {"battery"}:
            break
        depth.update(dict.fromkeys(waiting, 0))
        for here in waiting:
            for there in sorted(groups[here].near):
                if there not in depth:
                    depth[there] = depth[here] + 1
                    waiting.append(there)
    return [depth.get(n, len(groups)) for n in range(len(groups))]


def _begins(groups: Sequence[Group]) -> list[int]:
    """By group the one in which what it continues begins; else itself."""
    begun = {d.name: n for n, g in enumerate(groups) for d in g.picture.elements if d.name and not d.continued}
    return [
        min((begun[d.name] for d in g.picture.elements if d.continued and d.name in begun), default=n)
        for n, g in enumerate(groups)
    ]


def _order(groups: Sequence[Group], begins: Sequence[int]) -> list[int]:
    """The order in which groups find their sheets: from the sources on, what is continued after what it continues."""
    depths = _depths(groups)

    def place(n: int) -> tuple[int, tuple[int, int], int, tuple[int, int]]:
        first = begins[n]
        return depths[first], groups[first].key, int(first != n), groups[n].key

    return sorted(range(len(groups)), key=place)


def packed(groups: Sequence[Group], room: tuple[float, float]) -> list[Packed]:
    """Sheets with all groups: sources and mains first.  A group larger than ``room`` has a sheet to itself."""
    begins = _begins(groups)
    order = _order(groups, begins)
    sheets: list[Packed] = []
    sheet_of: dict[int, Packed] = {}
    for number in order:
        picture = groups[number].picture
        related = {id(sheet_of[n]) for n in groups[number].near if n in sheet_of}
        # Who leafs on from a panel finds the rest of it behind, not before.
        before = sheet_of.get(begins[number])
        open_ = sheets[sheets.index(before) :] if before is not None else sheets
        for sheet in sorted(open_, key=lambda s: id(s) not in related):
            if sheet.put(number, picture.width, picture.height):
                sheet_of[number] = sheet
                break
        else:
            fresh = Packed((max(room[0], picture.width), max(room[1], picture.height)))
            fresh.put(number, picture.width, picture.height)
            sheets.append(fresh)
            sheet_of[number] = fresh
    return sheets
