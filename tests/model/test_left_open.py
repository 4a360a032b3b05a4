"""A size or a rating that is left open: the element has none, whatever its part sheet says."""

from __future__ import annotations

import pytest

from linter.model.build import build
from linter.model.elements import Conductor, Device
from linter.source.files import Reader

HEAD = """\
boat "T", 9 m, rulebook iso-13297
system DC12, 12 V, negative earthed
battery B, AGM, 12 V, 100 Ah
part p, fuse, 20 A, 32 V, blade
"""


def test_an_open_figure_is_none_even_over_a_sheet() -> None:
    design = build(
        Reader().design_text(HEAD + "from B\nfuse F1, part p, ? A\ncable W1, size ?, 2 m\nload L, draws 1 A\n")
    )
    assert design.mistakes == []
    fuse, cable = design.elements["F1"], design.elements["W1"]
    assert isinstance(fuse, Device) and fuse.rated_a is None and fuse.voltage_v == 32
    assert isinstance(cable, Conductor) and cable.size is None and cable.length_m == 2


@pytest.mark.parametrize(
    ("line", "said"),
    [
        ("cable W1, 10 mm2, size ?, 2 m", "size ? leaves open what this cable also gives"),
        ("fuse F1, 5 A, ? A", "? A leaves open what this fuse also gives"),
        ("fuse F1, size ?", "a fuse does not take size ? (left open)"),
        ("fuse F1, ?", "'?' stands where a fact of a fuse belongs"),
        ("part q, fuse, ? A", "a part sheet does not take ? A (left open)"),
    ],
)
def test_what_cannot_be_left_open_is_told(line: str, said: str) -> None:
    design = build(Reader().design_text(HEAD + "from B\n" + line + "\n"))
    assert said in {m.message for m in design.mistakes}
