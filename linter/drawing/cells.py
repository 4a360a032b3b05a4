"""One thing with its text: how much room it takes, and its shapes once its place is known."""

from __future__ import annotations

import re
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field

from linter.drawing import labels
from linter.drawing.language import Language, english, say
from linter.drawing.picture import Box, Drawn, Marker, Shape, Stroke, Words, moved
from linter.drawing.schematic import SOURCES, Hub, Item
from linter.drawing.symbols import REFERENCE, Glyph, glyph
from linter.drawing.text import (
    ADVANCE_EM,
    ASCENT_EM,
    DESCENT_EM,
    ELLIPSIS,
    LEADING,
    NBSP,
    balanced,
    clean,
    flow,
    shorten,
    width_em,
    width_mm,
)  # fmt: skip
from linter.model.elements import Conductor, Element

SIZE = 2.5  # mm: names and figures
SMALL = 2.2  # labels
MARK_SIZE = 2.2  # numbers of findings
MARK = 2.8  # the mark of a finding, its gap included
MOST = 24  # characters in a line beside an end
MOST_ROW = 18  # above a thing in a row
MOST_FACT = 24  # a figure or class, which is not broken: rather a wider thing than one cut
MOST_HUB = 16
MOST_NAME_LINES = 4
CLEAR = 0.6  # between a line or symbol and its text

# Where a line must not be broken: between a figure and its unit.
_UNIT = re.compile(r"(?<=\d) (?=[kmµ]?(?:A|Ah|V|W|Hz|m|Ω)\b)")

# (severity, number, accepted)
Note = tuple[str, int, bool]
Notes = Mapping[str, Sequence[Note]]


@dataclass(frozen=True, slots=True)
class Told:
    """What is said at the elements besides their own figures: by element's name.

    ``notes`` are the marks of findings, ``figures`` pieces beside the facts, ``lines`` small lines below;
    ``symbols`` the keys of the yard's own symbols, ``words`` what the sheet says in its language.
    """

    notes: Notes = field(default_factory=dict)
    figures: Mapping[str, Sequence[str]] = field(default_factory=dict)
    lines: Mapping[str, Sequence[str]] = field(default_factory=dict)
    symbols: Mapping[str, Glyph] = field(default_factory=dict)
    language: Language = field(default_factory=english)


@dataclass(slots=True)
class Line:
    """A line of text: notes first, then words, each bold or not."""

    words: list[tuple[str, bool]]
    size: float = SIZE
    notes: list[Note] = field(default_factory=list)

    @property
    def height(self) -> float:
        return LEADING * self.size

    @property
    def width(self) -> float:
        marks = sum(mark_width(n[1]) for n in self.notes)
        # Two words of one line are a space apart.
        words = sum(width_mm(w, self.size) for w, _ in self.words) + max(len(self.words) - 1, 0) * self.gap
        return marks + words

    @property
    def gap(self) -> float:
        return ADVANCE_EM * self.size


def mark_width(number: int) -> float:
    return MARK + width_mm(str(number), MARK_SIZE) + 0.8


def text_lines(
    name: str, facts: Sequence[str], label: str, notes: Sequence[Note], most: int, label_lines: int = 4
) -> tuple[list[Line], list[Line]]:
    """The lines with name and figures, and those with the label."""
    *before, name = name_lines(name, most)
    label = _UNIT.sub(NBSP, label)
    head: list[Line] = []
    pieces = [name, *(shorten(f, max(most, MOST_FACT)) for f in facts)]
    if len(pieces) == 3 and len(" ".join(pieces)) > most and not pieces[1][:1].isdigit():
        # Name and rating on one line, the class on the next.
        pieces = [pieces[0], pieces[2], pieces[1]]
    for text in flow(pieces, most):
        if head:
            head.append(Line([(text, False)]))
        else:
            rest = text[len(name) :].strip(" ")
            head.append(Line([(name, True), (rest, False)] if rest else [(name, True)]))
    head[:0] = [Line([(part, True)]) for part in before]
    marks = list(notes)
    if 0 < len(marks) <= 2:
        head[0].notes = marks
    else:
        head[:0] = [Line([], SIZE, marks[i : i + 4]) for i in range(0, len(marks), 4)]
    small = (
        [Line([(t, False)], SMALL) for t in balanced(label, round(most * SIZE / SMALL), label_lines)] if label else []
    )
    return head, small


def name_lines(name: str, most: int) -> list[str]:
    """A name whole, on as many lines as it needs, broken after a hyphen or the like where there is one."""
    rest = clean(name)
    made: list[str] = []
    while width_em(rest) > most * ADVANCE_EM + 1e-9 and len(made) < MOST_NAME_LINES - 1:
        part = shorten(rest, most).removesuffix(ELLIPSIS) or rest[:1]
        part = part[: max(part.rfind(c) for c in "-_./") + 1] or part
        made.append(part)
        rest = rest[len(part) :]
    return [*made, shorten(rest, most)]


def stack_height(lines: Sequence[Line]) -> float:
    return sum(x.height for x in lines)


def set_lines(drawn: Drawn, lines: Sequence[Line], x: float, top: float, align: float) -> None:
    """Put ``lines`` below ``top``; ``align`` is the part of each line's width that lies left of ``x``."""
    y = top
    for line in lines:
        # The leading is shared out so that the ink stands in the middle of the line's height.
        baseline = y + (line.height - (ASCENT_EM + DESCENT_EM) * line.size) / 2 + ASCENT_EM * line.size
        at = x - align * line.width
        for severity, number, accepted in line.notes:
            marker = Marker(at, baseline - 0.36 * line.size, severity, number, accepted)
            room = mark_width(number) - 0.8
            drawn.markers.append((marker, Box(at, marker.y - 1.25, at + room, marker.y + 1.25)))
            at += mark_width(number)
        for text, bold in line.words:
            drawn.texts.append(Words(at, baseline, text, line.size, bold))
            at += width_mm(text, line.size) + line.gap
        y += line.height


@dataclass(slots=True)
class Cell:
    """A thing in a row.  ``side`` lines stand beside an end, ``above`` and ``below`` those within the row."""

    item: Item
    glyph: Glyph | None  # None: the line itself, a cable
    above: list[Line] = field(default_factory=list)
    below: list[Line] = field(default_factory=list)
    side: list[Line] = field(default_factory=list)
    # where in the row: "start", "end", or "" within
    end: str = ""

    @property
    def kind(self) -> str:
        """For the columns: things of one kind stand below each other."""
        if self.end:
            return self.end
        groups = {"fuse": "device", "breaker": "device", "switch": "switch", "relay": "switch", "diode": "switch"}
        return groups.get(self.item.kind, self.item.kind)

    @property
    def width(self) -> float:
        symbol = self.glyph.width if self.glyph else 9.0
        if self.end:
            text = max((x.width for x in self.side), default=0.0)
            return symbol + (text + 1.4 if text else 0.0)
        if self.item.kind == "terminal":
            return symbol
        return max(symbol, *(x.width + 2.4 for x in (*self.above, *self.below)), 0.0)

    @property
    def reach_up(self) -> float:
        symbol = self.glyph.up if self.glyph else 0.2
        if self.end:
            return max(symbol, stack_height(self.side) / 2)
        return symbol + (CLEAR + stack_height(self.above) if self.above else 0.0)

    @property
    def reach_down(self) -> float:
        symbol = self.glyph.down if self.glyph else 0.2
        if self.end:
            return max(symbol, stack_height(self.side) / 2)
        return symbol + (CLEAR + stack_height(self.below) if self.below else 0.0)

    def ports(self, x0: float, x1: float) -> tuple[float, float]:
        """Where the line enters and leaves, in a column from x0 to x1."""
        width = self.glyph.width if self.glyph else x1 - x0
        if self.end == "start":
            return x1 - width, x1
        if self.end == "end":
            return x0, x0 + width
        middle = (x0 + x1) / 2
        return middle - width / 2, middle + width / 2

    def draw(self, x0: float, x1: float, y: float, names: tuple[str, str], symbol: str = "") -> Drawn:
        """The thing in a column from ``x0`` to ``x1``, its line at ``y``; ``names`` are those of its two nodes.

        ``symbol`` is the key of a symbol of the yard's own.
        """
        left, right = self.ports(x0, x1)
        element, shape = self.item.element, self.glyph
        up, down = (shape.up, shape.down) if shape else (0.15, 0.15)
        drawn = Drawn(
            element.name if element else "", symbol or symbol_kind(self.item), element.title if element else "",
            labels.described(element) if element else "", Box(left, y - up, right, y + down),
        )  # fmt: skip
        shapes: Sequence[Shape] = shape.shapes if shape else (Stroke(((0, 0), (right - left, 0))),)
        drawn.shapes = [moved(s, left, y) for s in shapes]
        if self.item.reference is not None:
            drawn.reference = self.item.reference.number
            drawn.title = self.item.reference.towards
            drawn.kind = REFERENCE
        if self.end:
            # A source is joined at its right, a load at its left.
            drawn.terminals = [(names[0], (right if self.end == "start" else left, y))]
            top = y - stack_height(self.side) / 2
            if self.end == "start":
                set_lines(drawn, self.side, left - 1.4, top, 1.0)
            else:
                set_lines(drawn, self.side, right + 1.4, top, 0.0)
            return drawn
        drawn.terminals = [(names[0], (left, y)), (names[1], (right, y))]
        middle = (left + right) / 2
        set_lines(drawn, self.above, middle, y - self.reach_up, 0.5)
        set_lines(drawn, self.below, middle, y + down + CLEAR, 0.5)
        return drawn


def symbol_kind(item: Item) -> str:
    return labels.symbol_of(item.element) if item.element is not None else item.kind


def own_symbol(element: Element | None, told: Told) -> str:
    """The key of the yard's own symbol for the element's part, or nothing."""
    return element.part.name if element is not None and element.part and element.part.name in told.symbols else ""


def _reference(item: Item, end: str, told: Told) -> Cell:
    """Where a line goes on; room is left for the greatest number of a sheet."""
    assert item.reference is not None
    shape = glyph(REFERENCE)
    made = Cell(item, shape, end=end)
    key = "to" if item.reference.out else "from"
    rows = [say(told.language, key, n="000", zone="A0"), shorten(item.reference.towards, MOST_ROW)]
    made.side = [Line([(rows[0], True)], SMALL), Line([(rows[1], False)], SMALL)]
    return made


def cell(item: Item, end: str, told: Told, said: str = "") -> Cell:
    """The cell of a thing in a row; ``end`` is "start" or "end" where the row begins or ends with it.

    ``said`` is a label that stands in the row already and need not be said twice.
    """
    element = item.element
    if item.reference is not None:
        return _reference(item, end, told)
    own = own_symbol(element, told)
    shape = told.symbols[own] if own else None if item.kind == "cable" else glyph(symbol_kind(item))
    if shape is not None and item.flipped:
        shape = shape.flipped()
    made = Cell(item, shape, end=end)
    if element is None:
        return made
    marks = told.notes.get(element.name, ())
    figures = labels.facts(element, told.language)
    more = list(told.figures.get(element.name, ()))
    if more and figures:
        figures[-1:] = _joined(figures[-1], more)
    if end:
        split = item.kind in SOURCES
        head, small = text_lines(element.name, () if split else figures, element.label, marks, MOST)
        made.side = [*head, *small, *(Line([(t, False)]) for t in (flow(figures, MOST) if split else ()))]
        made.side += [Line([(t, False)], SMALL) for t in told.lines.get(element.name, ())]
        return made
    # What a cable or device is called by its maker is in the schedule; here counts what it is for.
    label = element.statement.label or ""
    label = "" if label.casefold() == said.casefold() else label
    colour = labels.colour(element) if isinstance(element, Conductor) else ""
    beside = [*figures, colour] if len(" ".join((element.name, *figures, colour))) <= MOST_ROW else figures
    made.above, made.below = text_lines(element.name, beside, label, marks, MOST_ROW)
    if colour and beside is figures:
        made.below.insert(0, Line([(colour, False)], SMALL))
    made.below += [Line([(t, False)], SMALL) for t in told.lines.get(element.name, ())]
    return made


def _joined(rating: str, more: Sequence[str]) -> list[str]:
    """A rating and what is said after it, on one line where that is short."""
    whole = " / ".join((rating, *more)).replace(" ", NBSP)
    return [whole] if len(whole) <= MOST_ROW else [rating, *more]


def hub_lines(hub: Hub, element: Element, system: str, told: Told) -> list[Line]:
    """What is written above a bus, joint or selector."""
    head, small = text_lines(element.name, (), element.label, told.notes.get(element.name, ()), MOST_HUB, 5)
    figures = flow([*labels.facts(element, told.language), system if element.kind == "bus" else ""], MOST_HUB)
    if hub.continued:
        # the whole name again, on all its lines
        return [*(x for x in head if x.words), Line([(shorten(told.language["continued"], MOST_HUB), False)], SMALL)]
    lines = [*small, *(Line([(t, False)], SMALL) for t in (*figures, *told.lines.get(element.name, ())))]
    return [*head, *lines]
