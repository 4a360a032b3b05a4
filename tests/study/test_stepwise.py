"""Faults that no single device clears: what is heated meanwhile, worked by hand."""

from __future__ import annotations

import math

import pytest

from linter.model.build import build
from linter.source.files import Reader
from linter.study.opening import Clears
from linter.study.study import Study, study_of

HEAD = 'boat "S", 9 m, rulebook iso-13297\nsystem M, 12 V\ncables, insulation 105 °C, plain\n'
# IEC 61660-1 (from memory): largest case
LARGEST_V = 1.05 * 12


def study(text: str) -> Study:
    design = build(Reader().design_text(HEAD + text))
    assert [m.message for m in design.mistakes] == []
    return study_of(design)


def ways(made: Study, name: str) -> list[Clears]:
    return made.clears(made.conductors[name])


def names(made: Study, way: Clears) -> list[str]:
    return [made.design.circuit.edges[e].element.name for e in way.chain]


TWO = """battery B, 12 V, resistance 4 mΩ
bus P
from B
fuse F1, class T, 40 A, resistance 1 mΩ, opens at 130 % in 0.5 s to 3.2 s, opens at 10000 % in 0.1 s to {one} s
to P
from B
fuse F2, class T, 40 A, resistance 1 mΩ, opens at 130 % in 0.5 s to 3.2 s, opens at 10000 % in 0.1 s to {two} s
to P
from P
cable W1, 25 mm2, {length} m
load L, draws 3 A
"""


def test_two_fuses_side_by_side_open_one_after_the_other() -> None:
    made = study(TWO.format(one=0.2, two=0.4, length=2))
    # bolted at the near end: 0.9 · 4 mΩ and two of 1 mΩ side by side, half each; then F2 alone
    both, alone = LARGEST_V / (3.6e-3 + 0.5e-3), LARGEST_V / (3.6e-3 + 1e-3)

    def opens(last_s: float, amps: float) -> float:
        # straight in logarithms from 3.2 s at 52 A to the last at 4000 A
        return 3.2 * (last_s / 3.2) ** (math.log(amps / 52) / math.log(4000 / 52))

    first_s, second_s = opens(0.2, both / 2), opens(0.4, alone)
    greatest = max((w for w in ways(made, "W1") if w.heat is not None), key=lambda w: w.heat.a2s if w.heat else 0.0)
    assert names(made, greatest) == ["F1", "F2"]
    assert greatest.largest_a == pytest.approx(both, rel=1e-3)
    assert greatest.heat is not None
    # counting afresh it is this; a device that has carried as much before may be credited with it: then less, but no
    # less than what the slower one takes by its first share alone
    dark = both**2 * first_s + alone**2 * second_s
    bright = both**2 * first_s + alone**2 * max(opens(0.4, both / 2) - first_s, 0.0)
    assert bright * (1 - 1e-3) <= greatest.heat.a2s <= dark * (1 + 1e-3)
    assert greatest.heat.moment.told


def test_one_that_never_opens_leaves_the_fault_burning() -> None:
    made = study(
        TWO.format(one=0.2, two=0.4, length=2)
        .replace("fuse F2, class T, 40 A", "fuse F2, class T, 40 A, 125 V")
        .replace("130 % in 0.5 s to 3.2 s, opens at 10000 % in 0.1 s to 0.4 s", "40000 % in 0.1 s to 0.4 s")
    )
    late = [w for w in ways(made, "W1") if w.first.seconds > 5]
    assert late and all(w.first.seconds == math.inf for w in late)


def test_where_no_curve_is_known_it_is_a_doubt_and_no_fault() -> None:
    text = "battery B1, 12 V, resistance 4 mΩ\nbus P\n" + "".join(
        f"from B1\nfuse F{k}, ANL, 40 A, 125 V\nto P\n" for k in (1, 2)
    )
    (way,) = ways(study(text + "from P\ncable W1, 16 mm2, 3 m\nload L, draws 3 A\n"), "W1")
    assert way.first.seconds == math.inf and not way.first.told


CURVE = "125 V, opens at 130 % in 6 s to 270 s, opens at 500 % in 0.02 s to 0.09 s, opens at 2000 % in 1 ms to 4 ms"
RING = f"""battery B1, 12 V, resistance 4 mΩ
bus P
bus Q
from B1
fuse F1, class T, 300 A, 125 V, opens at 150 % in 60 s to 300 s, opens at 500 % in 3 s to 50 s
to P
from P
fuse F2, class T, 80 A, {CURVE}
cable W1, 35 mm2, 1.3 m
to Q
from P
fuse F3, class T, 80 A, {CURVE}
cable W2, 35 mm2, 0.2 m
to Q
from Q
load L, draws 3 A
"""


def test_in_a_ring_both_sides_open_long_before_the_main_fuse() -> None:
    made = study(RING)
    for name in ("W1", "W2"):
        found = ways(made, name)
        assert found and all(w.first.seconds < 5 for w in found), name
        assert all(set(names(made, w)) >= {"F2", "F3"} for w in found), name


def test_two_sources_together_bring_more_heat_than_each_alone() -> None:
    points = "opens at 135 % in 1 s to 60 s, opens at 500 % in 0.1 s to 0.5 s, opens at 5000 % in 0.1 s to 0.4 s"
    made = study(
        "battery A, 12 V, resistance 10 mΩ\nbattery B, 12 V, resistance 10 mΩ\nbus P\n"
        f"from A\nfuse FA, class T, 60 A, 125 V, {points}\nto P\nfrom B\nfuse FB, class T, 60 A, 125 V, {points}\nto P\n"
        "from P\ncable W1, 50 mm2, 0.5 m\nload L, draws 3 A\n"
    )
    found = ways(made, "W1")
    most = {len(w.sources): max(h.a2s for h in (w.heat, w.beyond) if h is not None) for w in found}
    # twice the current for nearly as long
    assert most[2] > 3.5 * most[1]
    together = next(w for w in found if len(w.sources) == 2)
    assert together.largest_a == pytest.approx(2 * LARGEST_V / 9e-3, rel=1e-3)
