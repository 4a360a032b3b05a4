"""What the study layer writes at a load, and the page tells of it, where a conductor on its way counts as nil."""

from __future__ import annotations

from linter.drawing.annotate import figures
from linter.drawing.language import english
from linter.drawing.page_facts import facts_of
from linter.drawing.text import NBSP
from linter.study.study import study_of

from ..model.designs import design_of

# N has a known way, L one with a cable of unknown size
TEXT = """\
boat "T", 9 m, rulebook iso-13297
system DC12, 12 V
cables, insulation 105 °C, plain
battery B, 12 V, 100 Ah, resistance 4 mΩ
from B
fuse F1, class T, 40 A, 125 V
cable W1, 3 m
cable W2, 4 mm2, 3 m
load L, draws 3 A
from B
fuse F2, blade, 10 A, 32 V
cable W4, 4 mm2, 3 m
load N, draws 3 A
"""


def test_a_drop_that_is_at_least_so_large() -> None:
    study = study_of(design_of(TEXT))
    made = figures(study, english())
    assert made["N"] == [f"drop 0.77{NBSP}%"] and made["L"] == [f"drop ≥0.77{NBSP}%"]
    facts = {name: {term: words for term, words, _ in facts} for name, facts in facts_of(study).items()}
    assert facts["N"]["Voltage by itself"] == "11.91 V, drop 0.77 %, 3 A: by itself"
    assert facts["L"]["Voltage by itself"] == (
        "at most 11.91 V, drop at least 0.77 %, 3 A: by itself; "
        "conductors whose size or length nobody tells count as nil: W1"
    )
