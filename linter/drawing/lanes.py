"""Which rows share columns, and how close two rows may come."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

from linter.drawing.block import Block
from linter.drawing.cells import Cell
from linter.drawing.columns import aligned

ROW_GAP = 1.5
# Between a row's text and the line above or below it.
LINE_GAP = 0.8


@dataclass(frozen=True, slots=True)
class Lane:
    """``group``: rows with the same number hang on the same hub; ``places``: the column of each thing."""

    group: int
    places: tuple[int, ...]


def lanes(block: Block, cells: Mapping[int, Sequence[Cell]]) -> dict[int, Lane]:
    """The lane of each chain."""
    groups: dict[tuple[int, str, int], list[int]] = {}
    for chain in block.chains:
        hub = ("left", chain.left.hub) if chain.left else ("right", chain.right.hub) if chain.right else ("", 0)
        groups.setdefault((block.row[chain.index], *hub), []).append(chain.index)
    made: dict[int, Lane] = {}
    for number, chains in enumerate(groups.values()):
        _, places = aligned([[c.kind for c in cells[i]] for i in chains])
        for index, places_of in zip(chains, places, strict=True):
            made[index] = Lane(number, tuple(places_of))
    return made


def apart(upper: Sequence[Cell], one: Lane, lower: Sequence[Cell], two: Lane) -> float:
    """How far the line of the ``lower`` row must be below that of the ``upper`` (mm).

    In rows that share columns only what stands in one column can meet; each must clear the other's line in any case.
    """
    down = max((c.reach_down for c in upper), default=0.5)
    up = max((c.reach_up for c in lower), default=0.5)
    if one.group != two.group:
        return down + up + ROW_GAP
    above = dict(zip(one.places, upper, strict=True))
    meeting = [above[p].reach_down + c.reach_up for p, c in zip(two.places, lower, strict=True) if p in above]
    return max(down + LINE_GAP, up + LINE_GAP, *(m + ROW_GAP for m in meeting))
