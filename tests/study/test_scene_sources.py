"""What sources and converters give in a scene, beside cases worked by hand."""

from __future__ import annotations

import math

import pytest

from .scenes import at, studied

CHARGED = """battery B, 12.5 V, resistance 10 mΩ
alternator G, 14.4 V, 60 A, self-limiting
from G
switch SG, 100 A, resistance 10 mΩ
bus P, 200 A
from B
switch SB, 100 A, resistance 5 mΩ
to P
from P
switch SL, 100 A, resistance 20 mΩ
load L, draws 10 A
scene "quiet", L
scene "motoring", L, G
"""


def test_an_alternator_counts_where_the_scene_names_it_and_what_charging_costs_is_no_drop_of_the_load() -> None:
    study = studied(CHARGED)
    scenes = study.scenes()
    quiet, motoring = (s.pieces[0] for s in scenes.states)
    assert quiet.feeds == pytest.approx({at(study, "B"): 10})
    assert quiet.drop_v(at(study, "L")) == pytest.approx(10 * 0.025)
    # 60 A at the limit: 10 to the load, 50 into the battery; P at 12.5 + 50 × 15 mΩ
    assert motoring.feeds == pytest.approx({at(study, "B"): -50, at(study, "G"): 60})
    assert motoring.volts(at(study, "L")) == pytest.approx(12.5 + 0.75 - 0.2)
    assert motoring.drop_v(at(study, "L")) == pytest.approx(0.2)
    # judged is the drop with the battery alone
    judged = motoring.judged(at(study, "L"))
    assert judged is not motoring
    assert judged.drop_v(at(study, "L")) == pytest.approx(10 * 0.025)
    assert scenes.worst[at(study, "L")].drop_v == pytest.approx(10 * 0.025)
    assert scenes.highest[at(study, "L")].volts == pytest.approx(12.5 + 0.75 - 0.2)


SHARED = """battery B, 12.5 V, resistance 10 mΩ
alternator G, 14.4 V, 60 A, self-limiting
from G
diode D, 100 A, drops 0.8 V
switch SG, 100 A, resistance 10 mΩ
bus P, 200 A
from B
switch SB, 100 A, resistance 5 mΩ
to P
from P
switch SL, 100 A, resistance 2 mΩ
load L, draws {} A
from G
switch SM, 100 A, resistance 5 mΩ
load M, draws 4 A
scene "motoring", L, M, G
"""


@pytest.mark.parametrize("amps", [25, 55.9, 56, 56.1, 70])
def test_what_an_alternator_at_its_limit_has_at_its_terminals_is_no_reference(amps: float) -> None:
    study = studied(SHARED.format(amps))
    scenes = study.scenes()
    piece = scenes.states[0].pieces[0]
    assert piece.feeds[at(study, "B")] == pytest.approx(amps + 4 - 60, abs=1e-5)
    # neither the diode nor the alternator's cable is in the drop of what the battery can feed ...
    assert scenes.worst[at(study, "L")].drop_v == pytest.approx(amps * 0.007)
    # ... and what only the alternator can feed is reckoned from it
    assert scenes.worst[at(study, "M")].drop_v == pytest.approx(4 * 0.005)


CONVERTED = """battery B, 12 V, resistance 10 mΩ
from B
switch S, 50 A, resistance 40 mΩ
converter C, 12 V to 24 V, 4 A, self-limiting, efficiency 80 %{}, on S24
system S24, 24 V
from C
switch T, 50 A, resistance 100 mΩ
load L, draws {} A
scene "on", L
"""


def test_a_converter_takes_what_it_gives_by_its_efficiency_though_nobody_names_it() -> None:
    study = studied(CONVERTED.format("", 2))
    scenes = study.scenes()
    state = scenes.states[0]
    watts = 24 * 2 / 0.8
    # V (12 - V) / 50 mΩ = 60 W
    volts = (12 + math.sqrt(144 - 4 * 0.05 * watts)) / 2
    piece = next(p for p in state.pieces if at(study, "C.in") in p.loads)
    assert piece.volts(at(study, "C.in")) == pytest.approx(volts, rel=1e-7)
    assert piece.loads[at(study, "C.in")] == pytest.approx(watts / volts, rel=1e-7)
    # the load's drop counts from the converter's output, in per cent of its own system
    assert scenes.percent(scenes.worst[at(study, "L")]) == pytest.approx(100 * 0.2 / 24, rel=1e-5)


def test_a_converter_takes_no_more_than_it_is_rated_to() -> None:
    study = studied(CONVERTED.format(", draws 3 A", 2))
    piece = next(p for p in study.scenes().states[0].pieces if at(study, "C.in") in p.loads)
    volts = (12 + math.sqrt(144 - 4 * 0.05 * 36)) / 2
    assert piece.volts(at(study, "C.in")) == pytest.approx(volts, rel=1e-7)


def test_a_converter_asked_for_more_than_it_gives_is_not_carried() -> None:
    study = studied(CONVERTED.format("", 4.5))
    found = study.scenes().not_carried[0]
    assert study.design.circuit.nodes[found.node].name == "L"
    assert found.share == pytest.approx(4 / 4.5, rel=1e-6)


def test_converters_that_feed_one_another_come_to_rest() -> None:
    text = """battery A, 12 V, resistance 10 mΩ
battery B, 12 V, resistance 10 mΩ
from A
converter C, 12 V to 14 V, 10 A, efficiency 80 %
from C
to B
from B
converter D, 12 V to 14 V, 10 A, efficiency 80 %
from D
to A
scene "both", C, D
"""
    study = studied(text)
    scenes = study.scenes()
    assert scenes.remarks == []
    (state,) = scenes.states
    for name, other in (("A", "B"), ("B", "A")):
        piece = next(p for p in state.pieces if at(study, name) in p.feeds)
        into = piece.loads[at(study, f"{'C' if name == 'A' else 'D'}.in")] * piece.volts(at(study, name))
        there = next(p for p in state.pieces if at(study, other) in p.feeds)
        out = there.feeds[at(study, f"{'C' if name == 'A' else 'D'}.out")] * there.volts(at(study, other))
        assert into == pytest.approx(out / 0.8, rel=1e-6)


NOSE = """battery B, 12 V, resistance 10 mΩ
from B
switch S, 500 A, resistance 30 mΩ
inverter I, 12 V, draws {} W
scene "cooking", I
"""


def test_the_greatest_power_of_a_battery_behind_its_way() -> None:
    # V² / 4 R = 144 / 0.16 = 900 W
    study = studied(NOSE.format(899.9))
    (found,) = study.scenes().states[0].pieces
    assert found.volts(at(study, "I")) == pytest.approx(6 + math.sqrt(36 - 0.04 * 899.9), rel=1e-4)
    beyond = studied(NOSE.format(900.1)).scenes()
    (none,) = beyond.not_carried
    assert none.title == "cooking" and none.share == pytest.approx(900 / 900.1, rel=1e-4)
    assert none.volts == pytest.approx(6, rel=0.02)
