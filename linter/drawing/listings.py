"""What stands on sheets of its own after the diagram, or beside it: lists of changes and findings, and the key."""

from __future__ import annotations

import math
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from itertools import pairwise

from linter.drawing.list_text import Text
from linter.drawing.paper import Paper
from linter.drawing.picture import Box, Drawn, Picture, box_of, moved

NARROW = 118.0
GUTTER = 8.0
# A list of no more entries stands beside a diagram, where there is room.
MOST_BESIDE = 12
# Room beside a diagram is looked for in squares, so far from what is drawn (mm).
SQUARE, CLEAR = 2.0, 4.0
# Columns beside a diagram may be narrower than those of a sheet of their own.
NARROWER = (95.0, 78.0)
BETWEEN_LISTS = 5.0


@dataclass(frozen=True, slots=True)
class Block:
    """A list: the key of its name in the words, how many entries it has, and its pieces for a width."""

    name: str
    entries: int
    texts: Callable[[float], list[Text]]


def column_width(room: float) -> tuple[int, float]:
    """How many columns stand side by side in this width, and how wide each is."""
    count = max(int((room + GUTTER) / (NARROW + GUTTER)), 1)
    return count, (room - GUTTER * (count - 1)) / count


def columns(texts: Sequence[Text], height: float) -> list[list[Text]]:
    """The pieces in columns no higher than ``height``; a heading is followed by what it heads."""
    made: list[list[Text]] = [[]]
    used = 0.0
    for n, text in enumerate(texts):
        need, k = text.height, n
        while texts[k].heads and k + 1 < len(texts):
            k += 1
            need += texts[k].height
        if made[-1] and used + need > height and (n == 0 or not texts[n - 1].heads):
            made.append([])
            used = 0.0
        made[-1].append(text)
        used += text.height
    return made if texts else []


def even_columns(texts: Sequence[Text], height: float, count: int) -> list[list[Text]]:
    """Columns, ``count`` of them on a sheet; those of the last sheet are about as long as each other."""
    made = columns(texts, height)
    full = (len(made) - 1) // count * count if made else 0
    rest = [t for column in made[full:] for t in column]
    if not rest:
        return made
    low, high = 0.0, height
    for _ in range(24):
        middle = (low + high) / 2
        tried = columns(rest, middle)
        if len(tried) <= count and all(_high(c) <= middle for c in tried):
            high = middle
        else:
            low = middle
    return made[:full] + columns(rest, high)


def _high(column: Sequence[Text]) -> float:
    return sum(t.height for t in column)


def set_beside(picture: Picture, paper: Paper, block: Block) -> bool:
    """Put a short list where the diagram leaves room, in few columns, as low and far to the right as may be; False
    where it leaves none."""
    if block.entries > MOST_BESIDE:
        return False
    most, full = column_width(paper.room[0])
    taken = _Taken(picture, paper.area)
    for width in (full, *(w for w in NARROWER if w < full)):
        texts = block.texts(width)
        for count in range(1, most + 1):
            stacks = even_columns(texts, paper.room[1], count)
            wide = len(stacks) * (width + GUTTER) - GUTTER
            place = taken.free(wide, max(map(_high, stacks))) if len(stacks) <= count else None
            if place is not None:
                for n, column in enumerate(stacks):
                    set_texts(picture, column, place[0] + n * (width + GUTTER), place[1])
                return True
    return False


class _Taken:
    """Which squares of a sheet the diagram takes, counted so that any rectangle is asked in one step."""

    def __init__(self, picture: Picture, area: Box) -> None:
        self.area = area
        self.across = int((area.x1 - area.x0) / SQUARE + 1e-6)
        self.down = int((area.y1 - area.y0) / SQUARE + 1e-6)
        full = [[0] * (self.across + 1) for _ in range(self.down + 1)]
        boxes = [box_of_drawn(d) for d in picture.elements]
        boxes += [box_of(pair) for w in picture.wires for pair in pairwise(w.points)]
        boxes += [w.box for w in picture.frame_words]
        for box in boxes:
            for i in range(*self._range(box.y0 - area.y0, box.y1 - area.y0, self.down)):
                row = full[i + 1]
                for j in range(*self._range(box.x0 - area.x0, box.x1 - area.x0, self.across)):
                    row[j + 1] = 1
        for i in range(1, self.down + 1):
            for j in range(1, self.across + 1):
                full[i][j] += full[i - 1][j] + full[i][j - 1] - full[i - 1][j - 1]
        self.sums = full

    @staticmethod
    def _range(low: float, high: float, most: int) -> tuple[int, int]:
        return max(int((low - CLEAR) // SQUARE), 0), min(int((high + CLEAR) // SQUARE) + 1, most)

    def free(self, wide: float, high: float) -> tuple[float, float] | None:
        """The upper left corner of a free rectangle."""
        columns, rows = math.ceil(wide / SQUARE - 1e-6), math.ceil(high / SQUARE - 1e-6)
        for j in range(self.across - columns, -1, -1):
            for i in range(self.down - rows, -1, -1):
                s = self.sums
                if s[i + rows][j + columns] - s[i][j + columns] - s[i + rows][j] + s[i][j] == 0:
                    return self.area.x0 + j * SQUARE, self.area.y0 + i * SQUARE
        return None


def box_of_drawn(drawn: Drawn) -> Box:
    box = drawn.symbol
    for text in drawn.texts:
        box = box.joined(text.box)
    return box


def set_texts(picture: Picture, texts: Sequence[Text], x: float, y: float) -> None:
    for text in texts:
        picture.frame += [moved(s, x, y) for s in text.shapes]
        y += text.height


def list_sheets(paper: Paper, blocks: Sequence[Block]) -> list[tuple[Picture, list[str]]]:
    """Sheets with nothing but lists, in columns, one list after the other; and the names of what is on each."""
    count, width = column_width(paper.room[0])
    texts: list[Text] = []
    name_of: dict[int, str] = {}
    for block in blocks:
        own = block.texts(width)
        if texts:
            own[0].height += BETWEEN_LISTS
            own[0].shapes = [moved(s, 0.0, BETWEEN_LISTS) for s in own[0].shapes]
        name_of |= {id(t): block.name for t in own}
        texts += own
    made: list[tuple[Picture, list[str]]] = []
    for start, column in enumerate(even_columns(texts, paper.room[1], count)):
        place = start % count
        if place == 0:
            made.append((Picture(paper.width, paper.height, scale=paper.scale), []))
        picture, names = made[-1]
        names += [n for n in dict.fromkeys(name_of[id(t)] for t in column) if n not in names]
        set_texts(picture, column, paper.area.x0 + place * (width + GUTTER), paper.area.y0)
    return made
