"""Names in scripts written from right to left, among figures: a name must not draw the figure behind it to its left,
or the cable Wيد of 6 mm² would be read as W6."""

from __future__ import annotations

import unicodedata

# Left-to-right mark (UAX #9): takes no room and ends the run before it.
MARK = "\u200e"
_FROM_RIGHT = ("R", "AL", "AN")


def apart(text: str) -> str:
    """``text`` with a mark behind each run of letters that are written from right to left."""
    if text.isascii():
        return text
    made: list[str] = []
    inside = False
    for char in text:
        kind = unicodedata.bidirectional(char)
        if inside and kind not in _FROM_RIGHT and kind != "NSM":
            made.append(MARK)
        inside = kind in _FROM_RIGHT or (inside and kind == "NSM")
        made.append(char)
    if inside:
        made.append(MARK)
    return "".join(made)
