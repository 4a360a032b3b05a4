"""Scenes solved, beside cases worked by hand: feeders, temperatures, figures that are missing."""

from __future__ import annotations

import pytest

from linter.study.scene_net import conductor_temperature_c

from .scenes import at, studied


def test_the_temperature_of_a_conductor() -> None:
    assert conductor_temperature_c(30, 105, None, 100) == 30
    assert conductor_temperature_c(30, 105, 50, 100) == pytest.approx(30 + 75 / 4)
    assert conductor_temperature_c(30, 105, 100, 100) == 105
    assert conductor_temperature_c(30, 105, 500, 100) == 105
    assert conductor_temperature_c(30, 105, 5, None) == 105
    assert conductor_temperature_c(60, 50, 5, 10) == 60


HOT = """place COOL, ambient 20 °C
place HOT, ambient 60 °C
place ENGINE, engine space
battery B, 12 V, resistance 1 mΩ
from B
fuse F, class T, 30 A
cable W, 4 mm2, 5 m{}
load L, draws 1 A
"""


@pytest.mark.parametrize(
    ("where", "air"),
    [("", 30), (", in COOL", 20), (", 1 m in HOT, 2 m in COOL", 60), (", in ENGINE", 50)],
)
def test_the_hottest_place_counts(where: str, air: float) -> None:
    study = studied(HOT.format(where))
    made = study.conductors["W"]
    assert made.ampacity_a is not None
    warm = air + (105 - air) * (1 / made.ampacity_a) ** 2
    # IEC 60228 class 5, tinned, 4 mm²: 5.09 Ω/km at 20 °C
    ohm = 10 * 5.09e-3 * (234.5 + warm) / 254.5
    assert study.scenes().alone[at(study, "L")].drop_v == pytest.approx(ohm, rel=1e-6)


def test_the_return_counts_with_its_own_length_and_size() -> None:
    text = "battery B, 12 V\nfrom B\ncable W, 4 mm2, 5 m, return {}\nload L, draws 1 A\n"
    study = studied(text.format("2 m, return 16 mm2"))
    warm = (234.5 + 30 + 75 * (1 / study.conductors["W"].ampacity_a) ** 2) / 254.5  # type: ignore[operator]
    # IEC 60228, tinned: 4 mm² 5.09, 16 mm² 1.24 Ω/km
    found = study.scenes().alone[at(study, "L")]
    assert found.drop_v == pytest.approx((5 * 5.09e-3 + 2 * 1.24e-3) * warm, rel=1e-6)


FEEDER = """battery B, 12 V, resistance 10 mΩ
from B
switch S, 200 A, resistance 2 mΩ
bus P, 200 A
from P
switch S1, 50 A, resistance 20 mΩ
load A, draws 10 A
from P
switch S2, 50 A, resistance 50 mΩ
load C, draws 60 W
scene "both", A, C
scene "one", A
"""


def test_a_feeder_with_two_loads_by_hand() -> None:
    study = studied(FEEDER)
    scenes = study.scenes()
    both, one = scenes.states[0].pieces[0], scenes.states[1].pieces[0]
    # one: the battery's terminals at 12 - 10 A × 10 mΩ, the load at 22 mΩ × 10 A below them
    assert one.volts(at(study, "A")) == pytest.approx(12 - 10 * 0.032)
    assert one.drop_v(at(study, "A")) == pytest.approx(10 * 0.022)
    # both: I draws 60 W at V = 12 - 12 mΩ (10 + I) - 50 mΩ I
    amps = next(i for i in (both.loads[at(study, "C")],))
    volts = 12 - 0.012 * (10 + amps) - 0.05 * amps
    assert volts * amps == pytest.approx(60, rel=1e-7)
    assert both.volts(at(study, "C")) == pytest.approx(volts)
    assert both.drop_v(at(study, "A")) == pytest.approx(0.002 * (10 + amps) + 0.2)
    worst = scenes.worst[at(study, "A")]
    assert worst.title == "both"
    assert scenes.percent(worst) == pytest.approx(100 * worst.drop_v / 12)
    # what is lost on the way adds up to the drop
    assert sum(v for _, v in scenes.losses(worst)) == pytest.approx(worst.drop_v)
    lost = {study.design.circuit.edges[e].element.name: v for e, v in scenes.losses(worst)}
    assert lost == pytest.approx({"S1": 0.2, "S": 0.002 * (10 + amps)})
    # by itself: rated current, battery's resistance left out; 60 W at 12 V are 5 A
    assert scenes.alone[at(study, "C")].drop_v == pytest.approx(5 * 0.052)


def test_currents_are_those_of_every_element_from_its_beginning_to_its_end() -> None:
    study = studied("battery B, 12 V\nfrom B\nfuse F, blade, 10 A\ncable W, 4 mm2, 1 m\nload L, draws 5 A\n")
    (state,) = study.scenes().states
    named = {study.design.circuit.edges[e].element.name: a for e, a in state.currents(study.scenes().net).items()}
    assert named == pytest.approx({"F": 5, "W": 5})


def test_a_missing_resistance_of_a_battery_is_nil_and_said() -> None:
    study = studied("battery B, 12 V\nfrom B\nload L, draws 100 A\n")
    scenes = study.scenes()
    assert scenes.states[0].pieces[0].volts(at(study, "L")) == pytest.approx(12, abs=1e-4)
    assert any("B's resistance" in r for r in scenes.remarks)
    rough = studied("battery B, AGM, 12 V, 100 Ah\nfrom B\nload L, draws 100 A\n")
    # rough: at most 4 mΩ for AGM of 12 V and 100 Ah (from memory)
    assert rough.scenes().states[0].pieces[0].volts(at(rough, "L")) == pytest.approx(12 - 0.4, abs=1e-4)
    assert any("leans on" in r for r in rough.scenes().remarks)


def test_a_conductor_without_size_counts_as_nil_and_is_named() -> None:
    study = studied("battery B, 12 V\nfrom B\ncable W1, 3 m\ncable W2, 4 mm2, 1 m\nload L, draws 1 A\n")
    assert any("W1" in r for r in study.scenes().remarks)


def test_a_battery_that_limits_itself_gives_no_more() -> None:
    text = "battery B, 12 V, self-limiting 50 A, resistance 10 mΩ\nfrom B\nload L, draws {} A\n"
    assert studied(text.format(49)).scenes().not_carried == []
    (found,) = studied(text.format(100)).scenes().not_carried
    assert found.share == pytest.approx(0.5, abs=1e-6)
