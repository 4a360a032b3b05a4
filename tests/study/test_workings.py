"""Figures taken apart: the parts come to the whole, and on our boats there are parts for all that can have them."""

from __future__ import annotations

import math
from functools import cache
from pathlib import Path

import pytest

from linter.model.build import build
from linter.model.elements import Conductor
from linter.source.files import Reader
from linter.study.curve import Curve
from linter.study.study import Study, study_of
from linter.study.workings import Between, legs, load_parts, loop_of, lost_ways, shares_of, stretch_way, where_on
from linter.tables.cite import Cite

from ..model.designs import design_of

ROOT = Path(__file__).parents[2]
BOATS = ("launch", "cutter", "motor-yacht")


@cache
def boat(name: str) -> Study:
    return study_of(build(Reader().design(str(ROOT / f"boats/{name}.boat"))))


# One battery, a charger that limits itself at the bus, one load.  AWG 10: 5.2612 mm²; copper 0.017241 Ω·mm²/m.
SMALL = """\
boat "T", 9 m, rulebook iso-13297
system DC12, 12 V
battery B, 12 V, 100 Ah, resistance 5 mΩ
from B
fuse F1, class T, 100 A, resistance 1 mΩ
cable W1, 25 mm2, 2 m, tinned, insulation 105 °C
bus P
charger C, 14 V, 30 A, self-limiting 30 A
from C
cable W2, 10 mm2, 1 m, tinned, insulation 105 °C
to P
from P
fuse F3, blade, 10 A, resistance 2 mΩ
cable W3, 2.5 mm2, 4 m, tinned, insulation 105 °C, return 1 m
load L, draws 5 A
"""


def test_a_loop_by_hand() -> None:
    study = study_of(design_of(SMALL))
    node = study.design.circuit.by_name["L"].index
    faults = study.faults()
    largest = loop_of(faults, node, faults.largest(node), True)
    assert largest is not None and largest.source == study.design.circuit.by_name["B"].index
    w1, w3 = 0.017241 / 25 * 4, 0.017241 / 2.5 * 5
    assert [i.ohm for i in largest.items] == pytest.approx([0.001, w1, 0.002, w3], rel=1e-6)
    assert largest.ohm == pytest.approx(0.9 * 0.005 + 0.001 + w1 + 0.002 + w3, rel=1e-6)
    # the charger's 30 A raise the voltage by what they lose in the battery, its fuse and W1
    ((_, amps, ohm),) = largest.raised
    assert (amps, ohm) == (30.0, pytest.approx(0.0045 + 0.001 + w1, rel=1e-4))
    assert largest.volts == pytest.approx(1.05 * 12 + 30 * (0.0045 + 0.001 + w1), rel=1e-5)
    assert largest.amps == pytest.approx(largest.volts / largest.ohm, rel=1e-6)
    found = faults.smallest(node)
    assert found is not None
    smallest = loop_of(faults, node, found, False)
    assert smallest is not None
    hot = 339.5 / 254.5
    # IEC 60228, class 5 and 6, tinned: 0.795 and 8.21 Ω/km
    ohm = 0.005 + 0.001 + 0.795e-3 * 4 * hot + 0.002 + 8.21e-3 * 5 * hot
    assert (smallest.volts, smallest.ohm) == (pytest.approx(0.95 * 1.05 * 12), pytest.approx(ohm, rel=1e-6))


@pytest.mark.parametrize("name", BOATS)
def test_every_loop_comes_to_its_current(name: str) -> None:
    faults = boat(name).faults()
    told = 0
    for node in range(len(boat(name).design.circuit.nodes)):
        for found, largest in ((faults.largest(node), True), (faults.smallest(node), False)):
            loop = loop_of(faults, node, found, largest) if found is not None else None
            if loop is None or loop.limited:
                continue
            inside = loop.pairs[loop.source].resistance_ohm if loop.source >= 0 else loop.joint_ohm
            assert inside + sum(i.ohm for i in loop.items) == pytest.approx(loop.ohm, rel=1e-4, abs=2e-6)
            assert min(loop.limit_a, loop.volts / loop.ohm) == pytest.approx(loop.amps, rel=1e-6)
            if not largest:
                # from one source by one way, with nothing put together
                assert loop.source >= 0 and all(i.edge >= 0 for i in loop.items)
            told += 1
    assert told > 100


def test_where_one_battery_feeds_all_is_told_line_by_line() -> None:
    faults = boat("launch").faults()
    for node in range(len(boat("launch").design.circuit.nodes)):
        loop = loop_of(faults, node, faults.largest(node), True)
        assert loop is not None and loop.source >= 0


def test_what_comes_to_a_bus_bar_adds_up_to_its_fault() -> None:
    study = boat("cutter")
    node = study.design.circuit.by_name["POS"].index
    loop = loop_of(study.faults(), node, study.faults().largest(node), True)
    assert loop is not None and loop.source < 0
    shares = shares_of(study.faults(), loop)
    assert len(shares) == 6 and sum(a for _, a in shares) == pytest.approx(loop.amps, rel=1e-6)


@pytest.mark.parametrize(("name", "left"), [("launch", 0), ("cutter", 0), ("motor-yacht", 6)])
def test_load_currents_are_sums_of_loads(name: str, left: int) -> None:
    """But in rings of the yacht, where the worst is taken."""
    study, without = boat(name), 0
    for made in study.conductors.values():
        if made.load is not None:
            parts = load_parts(study, made.edge)
            without += not parts
            assert not parts or sum(a for _, a in parts) == pytest.approx(made.load.amps, rel=1e-6)
    assert without <= left


@pytest.mark.parametrize("name", BOATS)
def test_stretches_are_as_long_as_their_conductors(name: str) -> None:
    study = boat(name)
    for made in study.conductors.values():
        for end in made.stretch.devices if made.stretch is not None else ():
            way = stretch_way(study, made, end)
            lengths = [
                e.element.length_m
                for i in way
                if (e := study.design.circuit.edges[i]).kind == "conductor" and isinstance(e.element, Conductor)
            ]
            assert made.edge.index in way and sum(x or 0.0 for x in lengths) == pytest.approx(end.distance_m)


@pytest.mark.parametrize("name", BOATS)
def test_voltages_are_lost_by_current_and_resistance(name: str) -> None:
    scenes = boat(name).scenes()
    for at in [*scenes.worst.values(), *scenes.alone.values()]:
        for edge, volts, amps in lost_ways(scenes, at):
            if not math.isnan(amps):
                assert volts == pytest.approx(amps * scenes.net.ohms[edge] + scenes.net.drops[edge], rel=1e-4, abs=1e-7)


def test_legs_of_a_conductor() -> None:
    study = study_of(design_of(SMALL))
    there, back = legs(study.conductors["W3"].conductor, False)
    assert (there.metres, back.metres, there.size) == (4.0, 1.0, "2.5 mm2")
    assert there.ohm == pytest.approx(8.21e-3 * 4 * 339.5 / 254.5)


def test_where_on_a_curve() -> None:
    curve = Curve(10.0, ((15.0, 100.0), (30.0, 10.0), (100.0, 0.1)), (), Cite("x", "read"), ((2000.0, 1000.0),))
    assert where_on(curve, 12.0) is None
    assert where_on(curve, 20.0) == Between((15.0, 100.0), (30.0, 10.0))
    assert where_on(curve, 30.0) == Between((30.0, 10.0))
    assert where_on(curve, 90.0) == Between((30.0, 10.0), (100.0, 0.1))
    # the energy holds for longer than the last point's time up to some 141 A
    assert where_on(curve, 110.0) == Between(left=(100.0, 0.1))
    assert where_on(curve, 900.0) == Between(energy=(2000.0, 1000.0))
