"""Which name or word was probably meant."""

from __future__ import annotations

import difflib
from collections.abc import Iterable
from itertools import islice

from linter.source.units import CONVERTED, MEANT, UNITS

# Comparing a wrong name with every right one is quadratic where ten thousand are wrong; a person needs a few.
GREATEST_GUESSES = 200
GREATEST_POOL = 5000
# Nobody means a word of this length; comparing costs its square.
GREATEST_WORD = 80


class Guesser:
    """Names that were probably meant, for as long as the errors are few enough for a person to read."""

    def __init__(self) -> None:
        self.left = GREATEST_GUESSES

    def unit(self, written: str) -> str:
        """The unit that was meant, as a question; of a unit that others use, what to write; or nothing."""
        if written in CONVERTED:
            unit, factor = CONVERTED[written]
            return f"write it in {unit}: 1 {written} is {factor} {unit}"
        meant = MEANT.get(written) or MEANT.get(written.lower())
        return f"did you mean {meant}?" if meant else self.nearest(written, UNITS, 0.5)

    def nearest(self, word: str, pool: Iterable[str], cutoff: float = 0.6) -> str:
        """`did you mean X?`, or nothing: the nearest of ``pool`` that is at least ``cutoff`` alike (0 to 1)."""
        if self.left <= 0 or len(word) > GREATEST_WORD:
            return ""
        self.left -= 1
        names = list(islice(pool, GREATEST_POOL))
        same = next((n for n in names if n.casefold() == word.casefold()), "")
        near = [same] if same else difflib.get_close_matches(word, names, n=1, cutoff=cutoff)
        return f"did you mean {near[0]}?" if near else ""
