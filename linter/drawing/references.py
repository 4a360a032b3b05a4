"""References filled in: where the line goes on, by sheet and field of its grid."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

from linter.drawing.language import Language, say
from linter.drawing.paper import Paper
from linter.drawing.picture import Drawn, Picture, Point


def middle(drawn: Drawn) -> Point:
    """The point of a reference that its field is told by: the middle of its tag."""
    box = drawn.symbol
    return (box.x0 + box.x1) / 2, (box.y0 + box.y1) / 2


def fill_in(pages: Sequence[tuple[Picture, Paper]], words: Language) -> None:
    """Write at each reference the sheet and field of the other end of its pair."""
    ends: dict[int, list[tuple[int, Drawn]]] = {}
    for number, (picture, _) in enumerate(pages):
        for drawn in picture.elements:
            if drawn.reference >= 0:
                ends.setdefault(drawn.reference, []).append((number, drawn))
    for pair in ends.values():
        one, two = pair
        for (here, drawn), (there, other) in ((one, two), (two, one)):
            field = pages[there][1].field(middle(other))
            out = drawn.terminals[0][1][0] < middle(drawn)[0]
            key = ("to" if out else "from") + ("-here" if here == there else "")
            _write(drawn, say(words, key, n=str(there + 1), zone=field), out)


def _write(drawn: Drawn, said: str, out: bool) -> None:
    """``said`` in the room that was left; beside the arrow, whichever side it is on."""
    first = drawn.texts[0]
    text = replace(first, text=said)
    if not out:
        text = replace(text, x=first.x + first.width - text.width)
    drawn.texts[0] = text
    drawn.desc = f"{said}, {drawn.title}"
