"""Text, channels and columns by themselves."""

from __future__ import annotations

import itertools
import random

from hypothesis import given
from hypothesis import strategies as st

from linter.drawing.columns import aligned
from linter.drawing.picture import Words
from linter.drawing.route import NEAR, channel
from linter.drawing.text import ADVANCE_EM, clean, flow, legal, shorten, width_em, width_mm, wrap


def test_width_of_the_font() -> None:
    # DejaVu Sans Mono, hmtx: every advance is 1233 of 2048 units.
    assert width_mm("W9 35 mm²", 2.5) == 9 * 2.5 * 1233 / 2048
    assert Words(10, 10, "ab", 2.0, anchor="middle").box.x0 == 10 - 1233 / 2048 * 2


@given(st.text(max_size=300), st.integers(2, 40))
def test_shortened_text_fits(text: str, most: int) -> None:
    made = shorten(text, most)
    assert width_em(made) <= most * ADVANCE_EM + 1e-6
    assert made == clean(text) or made.endswith("…")


@given(st.text(max_size=300), st.integers(4, 40), st.integers(1, 5))
def test_wrapped_text_fits_and_loses_nothing_unsaid(text: str, most: int, lines: int) -> None:
    made = wrap(text, most, lines)
    assert 1 <= len(made) <= lines
    assert all(width_em(x) <= most * ADVANCE_EM + 1e-6 for x in made)
    if not made[-1].endswith("…"):
        assert "".join(made).replace(" ", "") == clean(text).replace(" ", "")


@given(st.text())
def test_legal_text_is_xml(text: str) -> None:
    from xml.etree import ElementTree

    from linter.drawing.svg import escaped

    root = ElementTree.fromstring(f'<a b="{escaped(text)}">{escaped(text)}</a>')
    assert (root.text or "").replace("\r", "\n") == legal(text).replace("\r\n", "\n").replace("\r", "\n")


def test_pieces_are_kept_whole() -> None:
    assert flow(["Q1", "hydraulic-magnetic", "10 A"], 18) == ["Q1", "hydraulic-magnetic", "10 A"]
    assert flow(["W9", "35 mm²", "9.5 m"], 18) == ["W9 35 mm² 9.5 m"]


@given(st.integers(0, 10**6), st.integers(1, 12))
def test_lines_in_a_channel_never_share_a_stretch(seed: int, count: int) -> None:
    chance = random.Random(seed)
    heights = [4.0 * n for n in range(count)]
    lefts, rights = heights[:], heights[:]
    chance.shuffle(lefts)
    chance.shuffle(rights)
    lines = {n: (a, b) for n, (a, b) in enumerate(zip(lefts, rights, strict=True)) if a != b}
    made = channel(lines, [*lefts, *rights])
    assert set(made) == set(lines)
    uprights: list[tuple[int, int, float, float]] = []
    levels: list[tuple[int, float, float, float]] = []
    for n, steps in made.items():
        y, x = lines[n][0], -1.0
        for track, after in steps:
            assert track > x, "from left to right"
            levels.append((n, y, x, track))
            uprights.append((n, track, min(y, after), max(y, after)))
            x, y = track, after
        assert y == lines[n][1]
        levels.append((n, y, x, 1e6))
    for (n, t, a, b), (m, u, c, d) in itertools.combinations(uprights, 2):
        if n != m and t == u:
            assert b + NEAR <= c or d + NEAR <= a
    for (n, y, a, b), (m, z, c, d) in itertools.combinations(levels, 2):
        if n != m and abs(y - z) < NEAR:
            assert b < c or d < a


def test_columns_hold_every_row_in_its_order() -> None:
    rows = [["device", "cable", "end"], ["cable", "device", "cable"], ["start", "cable"], [], ["switch"] * 3]
    columns, places = aligned(rows)
    for row, at in zip(rows, places, strict=True):
        assert [columns[p] for p in at] == row
        assert at == sorted(set(at))
    assert columns[0] == "start" and columns[-1] == "end"
