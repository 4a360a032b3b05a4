"""Diodes and rings in a scene: which way current takes."""

from __future__ import annotations

import pytest

from .scenes import at, studied

DIODES = """battery A, 12.8 V, resistance 2 mΩ
battery B, 12 V, resistance 2 mΩ
from A
diode D1, 50 A, drops 0.5 V
to P
from B
diode D2, 50 A, drops 0.5 V
to P
bus P, 50 A
from P
switch S, 50 A, resistance 10 mΩ
load L, draws 10 A
scene "one", L
scene "A gone", L, A off
"""


def test_diodes_choose_the_higher_bank() -> None:
    study = studied(DIODES)
    one, gone = (s.pieces[0] for s in study.scenes().states)
    load = at(study, "L")
    assert one.volts(load) == pytest.approx(12.8 - 0.5 - 10 * 0.012, abs=1e-5)
    assert gone.volts(load) == pytest.approx(12.0 - 0.5 - 10 * 0.012, abs=1e-5)
    assert one.drop_v(load) == pytest.approx(0.6, abs=1e-5)
    alone = study.scenes().alone[load]
    assert alone.drop_v == pytest.approx(0.6, abs=1e-5)


def test_a_diode_on_the_only_way_counts_and_none_that_points_back() -> None:
    text = "battery A, 12 V\nfrom A\ndiode D, 50 A, drops 0.7 V\nswitch S, 50 A, resistance 10 mΩ\nload L, draws 10 A\n"
    study = studied(text)
    assert study.scenes().alone[at(study, "L")].drop_v == pytest.approx(0.8)
    back = studied("battery A, 12 V\njoint J\nfrom J\ndiode D, 50 A\nto A\nfrom J\nload L, draws 10 A\n")
    assert at(back, "L") not in back.scenes().alone
    assert back.scenes().states[0].not_fed == [at(back, "L")]


def test_a_diode_that_points_back_to_the_source_is_no_second_way_to_the_load() -> None:
    text = """battery A, 12 V
bus J, 50 A
from A
switch S, 50 A, resistance 10 mΩ
to J
from J
diode D, 50 A
switch T, 50 A, resistance 1 mΩ
to A
from J
load L, draws 10 A
"""
    study = studied(text)
    assert study.scenes().alone[at(study, "L")].drop_v == pytest.approx(0.1, abs=1e-5)
    assert study.scenes().worst[at(study, "L")].drop_v == pytest.approx(0.1, abs=1e-5)


RING = """battery A, 12 V
from A
bus P, 100 A
from P
switch S1, 50 A, resistance 10 mΩ
bus Q, 100 A
from Q
switch S2, 50 A, resistance 20 mΩ
bus R, 100 A
from R
switch S3, 50 A, resistance 30 mΩ
to P
from R
switch S4, 50 A, resistance 5 mΩ
load L, draws 12 A
"""


def test_a_ring_is_solved_by_both_ways() -> None:
    study = studied(RING)
    # 30 mΩ beside 10 + 20 mΩ, and 5 mΩ: 20 mΩ in all
    assert study.scenes().alone[at(study, "L")].drop_v == pytest.approx(12 * 0.020, abs=1e-5)
    assert study.scenes().worst[at(study, "L")].drop_v == pytest.approx(12 * 0.020, abs=1e-5)


def test_a_charger_nobody_names_does_not_stand_in_for_a_bank_that_is_cut_off() -> None:
    text = """battery B, 12 V
charger C, 14 V, 30 A, self-limiting
from B
switch S, 50 A
bus P, 50 A
from C
to P
from P
load L, draws 5 A
scene "cut off", L, S open
scene "shore power", L, C, S open
"""
    study = studied(text)
    cut, shore = study.scenes().states
    assert cut.pieces == [] and cut.not_fed == [at(study, "L")]
    assert shore.pieces[0].volts(at(study, "L")) == pytest.approx(14, abs=1e-4)
    only = studied("charger C, 14 V, 30 A\nfrom C\nload L, draws 5 A\nscene one, L\n".replace("one", '"one"'))
    assert only.scenes().states[0].pieces[0].volts(at(only, "L")) == pytest.approx(14, abs=1e-4)
