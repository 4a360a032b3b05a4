"""The layer of changes: what a later design has, lacks or has otherwise, told as plain data by whoever compared.

Each change has a number, a mark of its own shape and colour at the elements it concerns, a band behind what is new or
otherwise, hatched so that black and white keeps it, and an entry in a list.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from typing import Literal

from linter.drawing.cells import SIZE, SMALL, Note, mark_width
from linter.drawing.language import Language, say
from linter.drawing.list_text import Text, baseline, heading, marks_key
from linter.drawing.picture import Box, Drawn, Marker, Stroke, Words
from linter.drawing.text import ADVANCE_EM, LEADING, clean, shorten, width_mm, wrap

Kind = Literal["added", "removed", "changed", "affected"]
KINDS: tuple[Kind, ...] = ("added", "removed", "changed", "affected")

# A band reaches so far beyond a symbol, and so far to each side of a cable's line (mm).
BESIDE_SYMBOL, BESIDE_LINE = 0.45, 0.7
HATCH = 1.1
INDENT = 3.0
HATCH_WIDTH = 0.12
HATCH_COLOURS = {"added": "#00695c", "changed": "#8a4b00"}


@dataclass(frozen=True, slots=True)
class Change:
    """One change.  ``at`` are the elements of the drawn design that carry its mark: what is new or otherwise; of what
    is gone, what it was joined to and is still there; none where it belongs to no element.

    ``head`` is what it is about, ``label`` what that is called.  ``lines`` say what was and what is, ``protection``
    what that does to currents, guards and findings.
    """

    kind: Kind
    head: str
    at: tuple[str, ...] = ()
    label: str = ""
    lines: tuple[str, ...] = ()
    protection: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class Changes:
    """All changes in the order of their numbers; ``since`` names what was before, ``remark`` ends the list."""

    since: str
    rows: tuple[Change, ...] = ()
    remark: str = ""


@dataclass(frozen=True, slots=True)
class Counted:
    """The changes that a drawing shows, with their numbers in the whole."""

    since: str
    rows: Sequence[tuple[int, Change]]
    remark: str = ""
    bands: Mapping[str, str] = field(default_factory=dict)


def counted(changes: Changes, names: Mapping[str, object], whole: bool) -> Counted:
    """The changes at the elements of ``names``; all others only where the ``whole`` design is drawn."""
    rows = [
        (n, c) for n, c in enumerate(changes.rows, 1) if whole or any(name in names for name in c.at)
    ]  # fmt: skip
    bands: dict[str, str] = {}
    for _, change in rows:
        if change.kind in HATCH_COLOURS:
            bands |= dict.fromkeys(change.at, change.kind)
    return Counted(changes.since, rows, changes.remark if whole else "", bands)


def notes_of(changes: Counted) -> dict[str, list[Note]]:
    """The marks, by element."""
    made: dict[str, list[Note]] = {}
    for number, change in changes.rows:
        for name in change.at:
            made.setdefault(name, []).append((change.kind, number, False))
    return made


# ---- bands


def band_of(drawn: Drawn) -> Box:
    """The room of the band behind an element."""
    s = drawn.symbol
    if drawn.kind == "cable":
        y = (s.y0 + s.y1) / 2
        return Box(s.x0, y - BESIDE_LINE, s.x1, y + BESIDE_LINE)
    more = BESIDE_SYMBOL
    if drawn.kind in ("bus", "selector"):
        return Box(s.x0 - more, s.y0, s.x1 + more, s.y1)
    return Box(s.x0, s.y0 - more, s.x1, s.y1 + more)


def lay_bands(elements: Sequence[Drawn], bands: Mapping[str, str]) -> None:
    """Put a band behind each element that is new or otherwise."""
    for drawn in elements:
        kind = bands.get(drawn.name)
        if kind is not None and drawn.reference < 0:
            drawn.shapes[:0] = _band(band_of(drawn), kind)


def _band(box: Box, kind: str) -> list[Stroke]:
    corners = ((box.x0, box.y0), (box.x1, box.y0), (box.x1, box.y1), (box.x0, box.y1))
    colour = HATCH_COLOURS[kind]
    made = [Stroke(corners, HATCH_WIDTH, True, kind, "", colour)]
    high = box.y1 - box.y0
    # New: slanting lines; otherwise: upright ones.
    lean = high if kind == "added" else 0.0
    x = box.x0 - lean + HATCH
    while x < box.x1 - 1e-6:
        # from the lower edge up and to the right, cut at the sides of the band
        low, top = max(x, box.x0), min(x + lean, box.x1)
        if lean:
            made.append(Stroke(((low, box.y1 - (low - x)), (top, box.y1 - (top - x))), HATCH_WIDTH, colour=colour))
        else:
            made.append(Stroke(((x, box.y0), (x, box.y1)), HATCH_WIDTH, colour=colour))
        x += HATCH
    return made


# ---- the list


def listed_changes(changes: Counted, words: Language, width: float) -> list[Text]:
    """Heading, the meaning of the marks, then each change, for a column of this width."""
    made = [heading(shorten(say(words, "changes", since=changes.since), int(width / (ADVANCE_EM * 3.0))))]
    if not changes.rows:
        made.append(_paragraph(words["no-changes"], width))
        return made
    used = {c.kind for _, c in changes.rows}
    made.append(marks_key([(k, False, words[f"change-{k}"]) for k in KINDS if k in used], width))
    indent = max(mark_width(number) for number, _ in changes.rows) + 1.0
    made += [_entry(number, change, words, indent, width) for number, change in changes.rows]
    if changes.remark:
        made.append(_paragraph(changes.remark, width))
    return made


def _paragraph(said: str, width: float) -> Text:
    text = Text(0.0)
    text.small(0.0, wrap(said, int(width / (ADVANCE_EM * SMALL)), 4))
    text.height += 1.4
    return text


def _entry(number: int, change: Change, words: Language, indent: float, width: float) -> Text:
    room = width - indent
    head = clean(change.head)
    name, *rest = wrap(head, int(room / (ADVANCE_EM * SIZE)), 6)
    text = Text(LEADING * SIZE)
    middle = LEADING * SIZE / 2
    text.shapes = [
        Marker(0, middle, change.kind, number, False),
        Words(indent, baseline(middle, SIZE), name, SIZE, bold=True),
    ]
    for line in rest:
        text.shapes.append(Words(indent, baseline(text.height + middle, SIZE), line, SIZE, bold=True))
        text.height += LEADING * SIZE
    after = width_mm(name + " ", SIZE)
    most = int((room - after) / (ADVANCE_EM * SIZE))
    small = int(room / (ADVANCE_EM * SMALL))
    label = clean(change.label)
    if label and not rest and len(label) <= most:
        text.shapes.append(Words(indent + after, baseline(middle, SIZE), label, SIZE))
    elif label:
        text.small(indent, wrap(label, small, 3))
    for line in change.lines:
        text.small(indent, wrap(line, small, 12))
    if change.protection:
        text.small(indent, [words["protection"]], bold=True)
        further = int((room - INDENT) / (ADVANCE_EM * SMALL))
        for line in change.protection:
            text.shapes.append(Words(indent + 0.6, baseline(text.height + LEADING * SMALL / 2, SMALL), "–", SMALL))
            text.small(indent + INDENT, wrap(line, further, 12))
    text.height += 1.4
    return text
