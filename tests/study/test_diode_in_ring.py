"""A diode in a ring may stand against the current: what is fed then has fewer sources, and their ways carry more."""

from __future__ import annotations

import pytest

from linter.model.build import build
from linter.source.files import Reader
from linter.study.study import study_of

# two banks on two buses; whatever joins the buses leads from X to Y only
BOAT = """boat "D", 9 m, rulebook iso-13297
system DC12, 12 V
cables, insulation 105 °C, tinned
battery B, AGM, 12 V, 100 Ah, resistance 4 mΩ
battery C, AGM, 12 V, 100 Ah, resistance 4 mΩ
from B
fuse F1, class T, 100 A, 125 V
cable W1, 16 mm2, 1 m
bus X, 300 A
from C
fuse F3, class T, 100 A, 125 V
cable W5, 16 mm2, 1 m
bus Y, 300 A
from X
diode D1, 100 A, drops 0.5 V
cable W3, 16 mm2, 1 m
to Y
from X
{second}cable W2, 16 mm2, 1 m
to Y
from {where}
load L, draws 60 A
"""


@pytest.mark.parametrize(("second", "where", "by"), [("diode D2, 100 A, drops 0.5 V\n", "X", "W1"),
                                                     ("diode D2, 100 A, drops 0.5 V\n", "Y", "W5")])  # fmt: skip
def test_what_diodes_in_a_ring_part_from_the_other_bank_its_own_bank_feeds(second: str, where: str, by: str) -> None:
    made = study_of(build(Reader().design_text(BOAT.format(second=second, where=where))))
    assert not made.design.mistakes
    load = made.conductors[by].load
    assert load is not None and load.amps == 60
    # one diode alone is a bridge, and says the same
    alone = BOAT.format(second=second, where=where).replace(
        "from X\ndiode D2, 100 A, drops 0.5 V\ncable W2, 16 mm2, 1 m\nto Y\n", ""
    )
    bridge = study_of(build(Reader().design_text(alone))).conductors[by].load
    assert where == "Y" or (bridge is not None and bridge.amps == 60)
