"""Voltage drop beside published figures: aircraft tables, circular mils, worked examples."""

from __future__ import annotations

import pytest

from linter.study.scene_net import Resistances

from .scenes import at, studied

# FAA AC 43.13-1B tables 11-7 and 11-8, 20 A at 20 °C (read): gauge, feet, volts dropped.  Left out: 10 AWG 19.5 ft
# prints .366 where its own resistance gives 0.491.  12 AWG 88 ft prints 3.60 where it gives 3.555.
AC_43_13 = [(6, 107, 0.942), (4, 90, 0.504), (14, 100, 6.12), (10, 39, 0.98), (10, 156, 3.93), (10, 273, 6.88),
            (12, 88, 3.555)]  # fmt: skip


@pytest.mark.parametrize(("gauge", "feet", "volts"), AC_43_13)
def test_drops_of_ac_43_13(gauge: int, feet: float, volts: float) -> None:
    text = f"""place P, ambient 20 °C
battery B, 24 V, on S24, resistance 1 mΩ
system S24, 24 V
from B
cable W, {gauge} AWG, {feet} ft, return 0 m, in P
load L, draws 20 A
"""
    study = studied(text)
    made = study.conductors["W"]
    cold = Resistances().at(made.conductor, 20.0)
    assert cold is not None and 20 * cold == pytest.approx(volts, abs=0.006)
    # warmed by its current: R2 = R1 (234.5 + T2) / 254.5 (AC 43.13-1B, the same chapter, read)
    capacity = made.ampacity_a
    assert capacity is not None
    warm = 20 + (105 - 20) * min(1.0, (20 / capacity) ** 2)
    found = study.scenes().alone[at(study, "L")]
    assert found.drop_v == pytest.approx(20 * cold * (234.5 + warm) / 254.5, rel=1e-6)
    assert found.drop_v > volts


def test_the_greatest_length_at_another_temperature() -> None:
    # AC 43.13-1B (read): L2 = 254.5 L1 / (234.5 + T2): 39 ft at 20 °C is 34.9 ft at 50 °C
    long = studied("battery B, 12 V\nfrom B\ncable W, 10 AWG, 39 ft\nload L, draws 1 A\n").conductors["W"].conductor
    short = studied("battery B, 12 V\nfrom B\ncable W, 10 AWG, 34.9 ft\nload L, draws 1 A\n").conductors["W"].conductor
    cold, hot = Resistances().at(long, 20), Resistances().at(short, 50)
    assert cold is not None and hot is not None and hot == pytest.approx(cold, rel=1e-3)


# ASTM B258 areas in circular mils are the square of the diameter in thousandths of an inch.
def circular_mils(gauge: str) -> float:
    number = 1 - int(gauge.removesuffix("/0")) if "/" in gauge else int(gauge)
    return float((5 * 92 ** ((36 - number) / 39)) ** 2)


@pytest.mark.parametrize("gauge", ["16", "14", "12", "10", "8", "6", "4", "2", "1", "1/0", "2/0", "4/0"])
def test_the_circular_mil_formula_is_plain_copper_at_thirty_degrees_and_never_above_ours(gauge: str) -> None:
    # ABYC E-11 (second-hand): CM = 10.75 I L / E, L out and back in feet
    text = f"battery B, 12 V\nfrom B\ncable W, {gauge} AWG, 10 ft, {{}}\nload L, draws 10 A\n"
    formula_v = 10.75 * 10 * 20 / circular_mils(gauge)
    plain = studied(text.format("plain")).conductors["W"].conductor
    ohm = Resistances().at(plain, 30)
    assert ohm is not None and 10 * ohm == pytest.approx(formula_v, rel=0.01)
    study = studied(text.format("tinned"))
    ours = study.scenes().alone[at(study, "L")].drop_v
    assert 0.995 * formula_v < ours < 1.35 * formula_v


@pytest.mark.parametrize(
    ("amps", "feet", "percent", "least"),
    # worked (second-hand): 10 A, 21 ft, 12 V, 3 % needs 6271 circular mils, 12 AWG by area, 10 in SAE sizes;
    # at 10 % 1881, 16 AWG.  90 A, 30 ft, 3 % needs 80 625: 1 AWG by area.
    [(10, 21, 3, ("12", "10")), (10, 21, 10, ("16", "14")), (90, 30, 3, ("1", "1/0"))],
)
def test_sizes_of_the_worked_examples(amps: float, feet: float, percent: float, least: tuple[str, str]) -> None:
    for gauge in ("18", "16", "14", "12", "10", "8", "6", "4", "3", "2", "1", "1/0", "2/0"):
        study = studied(
            f"battery B, 12 V\nfrom B\ncable W, {gauge} AWG, {feet / 2} ft\nload L, draws {amps} A\n", "abyc-e11"
        )
        scenes = study.scenes()
        alone = scenes.alone.get(at(study, "L"))
        # the thinnest would lose more than there is: then there is no figure
        if alone is not None and (scenes.percent(alone) or 0) <= percent:
            assert gauge in least
            return
    raise AssertionError("no size passes")
