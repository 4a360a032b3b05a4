"""Columns by which the rows of a table are low."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from typing import Any

# Left and right of a cell's text, in mm.
INSET_MM = 1.25
# How many moves are made of each step, and what a line of a cell costs beside one of a row.
MOST_MOVES, FINE = 40, 0.02
STEPS_MM = (20.0, 14.0, 10.0, 7.0, 5.0, 3.0, 1.5, 0.75)


def lowest(
    wraps: Sequence[Sequence[Sequence[float]]], em_mm: float, low: Sequence[float], room_mm: float
) -> tuple[tuple[float, ...], float]:
    """Widths of columns in mm, none under its least, by which all rows together are lowest; and how many lines a row
    then has.  ``wraps``: by row and cell, the width in em for one line, two and so on.

    First the longest cells wrap alike, or all columns get alike; then a little is moved from one column to another as
    long as that helps.
    """
    import numpy as np

    bounds, least = np.array(wraps) * em_mm, np.array(low)
    longest = bounds[:, :, 0].max(axis=0)
    count = bounds.shape[2]

    def lines(of: Any) -> Any:
        room = of - 2 * INSET_MM
        told = 1.0 + (bounds[:, :, :-1] > room[None, :, None] + 1e-6).sum(axis=2)
        beyond = np.ceil(bounds[:, :, 0] / np.maximum(room, 1.0))
        return np.where(bounds[:, :, -1] > room + 1e-6, np.maximum(beyond, count), told)

    under, over = 0.0, 1.0
    for _ in range(40):
        share = (under + over) / 2
        fits = np.maximum(least, longest * share + 2 * INSET_MM).sum() <= room_mm
        under, over = (share, over) if fits else (under, share)
    alike = np.maximum(least, longest * under + 2 * INSET_MM)
    alike += (room_mm - alike.sum()) / len(alike)
    high = [float(w) for w in np.maximum(least, longest + 2 * INSET_MM)]
    fair = np.array(shared(low, high, room_mm - sum(low)))
    widths = min(alike, fair, key=lambda w: _height(lines(w)))
    if len(widths) > 1:
        for step in STEPS_MM:
            _moved(widths, least, step, lines)
    return tuple(float(w) for w in widths), float(lines(widths).max(axis=1).mean())


def _moved(widths: Any, least: Any, step: float, lines: Callable[[Any], Any]) -> None:
    """Move ``step`` from one column to another as long as rows become lower by it."""
    import numpy as np

    for _ in range(MOST_MOVES):
        now, less, more = lines(widths), lines(np.maximum(widths - step, least)), lines(widths + step)
        best, move = _height(now) - 1e-6, None
        for giver in np.flatnonzero(widths - step >= least):
            given = now.copy()
            given[:, giver] = less[:, giver]
            # the height of each row but for one column, to which another number of lines is put in its stead
            order = np.sort(given, axis=1)
            top, second = order[:, -1:], order[:, -2:-1]
            alone = (given == top).sum(axis=1, keepdims=True) == 1
            rest = np.where((given == top) & alone, second, top)
            fine = given.sum() - given.sum(axis=0) + more.sum(axis=0)
            heights = np.maximum(rest, more).sum(axis=0) + FINE * fine
            heights[giver] = np.inf
            taker = int(heights.argmin())
            if heights[taker] < best:
                best, move = float(heights[taker]), (int(giver), taker)
        if move is None:
            return
        widths[move[0]] -= step
        widths[move[1]] += step


def _height(lines: Any) -> float:
    """Lines of all rows; a little more for every line of a cell, so that no column wraps for nothing."""
    return float(lines.max(axis=1).sum() + FINE * lines.sum())


def shared(low: Sequence[float], high: Sequence[float], left: float) -> tuple[float, ...]:
    """What is left goes to all alike, to none more than it needs: so a column that needs little breaks no line."""
    made = list(low)
    waiting = sorted(
        (n for n, (a, b) in enumerate(zip(low, high, strict=True)) if b > a), key=lambda n: high[n] - low[n]
    )
    for place, n in enumerate(waiting):
        more = min(left / (len(waiting) - place), high[n] - low[n])
        made[n] += more
        left -= more
    return tuple(made)
