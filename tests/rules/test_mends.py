"""A mend that names a figure is a mend: put into the text, the finding is gone."""

from __future__ import annotations

import random
import re

import pytest

from linter.model.build import build
from linter.rules.engine import examine
from linter.source.files import Reader

SIZES = ["1.5 mm2", "4 mm2", "10 mm2", "25 mm2", "16 AWG", "12 AWG", "6 AWG", "2 AWG"]


def design(rating: str, size: str, books: str, place: str, draws: int) -> str:
    return f"""boat "M", 9 m, rulebook {books}
system DC12, 12 V
cables, insulation 105 °C
place HOT, engine space
battery B, AGM, 12 V, 100 Ah
from B
fuse F0, class T, 400 A, 125 V
cable W0, 150 mm2, 1 m
bus POS, 600 A
from POS
fuse F1, class T, {rating} A, 125 V
cable W1, {size}, 3 m{place}
load L, draws {draws} A
"""


def findings(text: str) -> dict[tuple[str, str], str]:
    result = examine(build(Reader().design_text(text)))
    assert result.complete
    return {(f.rule, f.subject): f.mend for f in result.findings}


@pytest.mark.parametrize("seed", range(40))
def test_sizes_and_ratings_of_mends_do(seed: int) -> None:
    chance = random.Random(seed)
    rating, size = chance.choice(["30", "60", "100", "200"]), chance.choice(SIZES)
    books = chance.choice(["iso-13297", "cfr-183", "abyc-e11", "iso-13297, rulebook cfr-183"])
    text = design(rating, size, books, chance.choice(["", ", in HOT"]), chance.choice([5, 25, 90]))
    found = findings(text)
    mended = 0
    if mend := found.get(("conductor-unprotected", "W1")):
        if smaller := re.search(r"at most ([\d.]+) A for F1", mend):
            again = findings(text.replace(f"class T, {rating} A", f"class T, {smaller[1]} A"))
            assert ("conductor-unprotected", "W1") not in again
            mended += 1
        if larger := re.search(r"a conductor of at least ([\d./]+ (?:mm²|AWG))", mend):
            again = findings(text.replace(f"W1, {size}", f"W1, {larger[1]}"))
            assert ("conductor-unprotected", "W1") not in again
            mended += 1
        assert mended
    if mend := found.get(("conductor-overloaded", "W1")):
        larger = re.fullmatch(r"at least ([\d./]+ (?:mm²|AWG))", mend)
        assert larger
        assert ("conductor-overloaded", "W1") not in findings(text.replace(f"W1, {size}", f"W1, {larger[1]}"))
