"""Sources and conductors as voltages and resistances, against the rules that the tables cite, worked by hand."""

from __future__ import annotations

import math

import pytest

from linter.model.build import build
from linter.model.circuit import Circuit
from linter.source.files import Reader
from linter.study.impedance import NIL_OHM, SourcePair, resistances, source_pairs

HEAD = 'boat "I", 9 m, rulebook iso-13297\nsystem MAIN, {} V\n'
# IEC 61660-1 (from memory): 1.05 U and 0.9 R for the peak, 0.95 × 1.05 U and R after it
HIGH, LOW, PEAK = 1.05, 0.95 * 1.05, 0.9


def circuit(text: str, volts: float = 12) -> Circuit:
    design = build(Reader().design_text(HEAD.format(volts) + text))
    assert [m.message for m in design.mistakes] == []
    return design.circuit


def pairs(text: str, volts: float = 12) -> tuple[SourcePair, SourcePair]:
    node = next(n for n in circuit(text + "\nfrom S\nbus P\n", volts).nodes if n.source is not None)
    assert node.source is not None
    return source_pairs(node.source, volts)


def test_a_bank_in_series_and_parallel_from_its_sheet() -> None:
    text = "part one, battery\n  12 V\n  100 Ah\n  {}\nbattery S, part one, 2 series, 3 parallel"
    largest, smallest = pairs(text.format("resistance 4 mΩ"), 24)
    # two of 4 mΩ one behind the other, three such rows side by side
    assert (largest.voltage_v, smallest.voltage_v) == pytest.approx((HIGH * 24, LOW * 24))
    assert (largest.resistance_ohm, smallest.resistance_ohm) == pytest.approx((PEAK * 8e-3 / 3, 8e-3 / 3))
    by_current, _ = pairs(text.format("short-circuit 3 kA"), 24)
    # each row gives 3 kA at 24 V
    assert by_current.resistance_ohm == pytest.approx(PEAK * 24 / 9000)
    assert (largest.limit_a, largest.leans_on, largest.unknown) == (math.inf, "", False)


def test_what_a_statement_says_of_its_bank_is_the_bank() -> None:
    _, smallest = pairs("battery S, 24 V, resistance 5 mΩ, 2 series", 24)
    assert smallest.resistance_ohm == pytest.approx(5e-3)


def test_a_rough_resistance_goes_with_voltage_and_charge() -> None:
    # flooded, 12 V, 100 Ah: 4 to 6 mΩ (from memory, low confidence); 24 V, 400 Ah: half of it
    largest, smallest = pairs("battery S, flooded, 24 V, 400 Ah", 24)
    assert largest.resistance_ohm == pytest.approx(PEAK * 2e-3)
    assert smallest.resistance_ohm == pytest.approx(3e-3)
    assert "from memory" in largest.leans_on and not largest.unknown


def test_cold_cranking_amperes_serve_for_the_smallest_current_only() -> None:
    # SAE J537 (from memory): from 12.6 V to 7.2 V; a cold battery has more resistance than a warm one
    largest, smallest = pairs("battery S, 12 V, cranking 800 A")
    assert largest.unknown
    assert not smallest.unknown and smallest.resistance_ohm == pytest.approx(5.4 / 800)
    assert "SAE J537" in smallest.leans_on
    _, in_series = pairs("battery S, 24 V, cranking 800 A", 24)
    assert in_series.resistance_ohm == pytest.approx(2 * 5.4 / 800)


def test_a_short_circuit_current_is_given_whatever_the_resistance() -> None:
    largest, smallest = pairs("battery S, 12 V, resistance 4 mΩ, short-circuit 9 kA")
    assert largest.voltage_v / largest.resistance_ohm == pytest.approx(9000)
    assert smallest.resistance_ohm == pytest.approx(4e-3)
    lower, _ = pairs("battery S, 12 V, resistance 4 mΩ, short-circuit 3 kA")
    assert lower.resistance_ohm == pytest.approx(PEAK * 4e-3)


def test_what_nobody_says_is_unknown() -> None:
    largest, smallest = pairs("battery S, 12 V")
    assert largest.unknown and smallest.unknown
    made = circuit("battery S, resistance 4 mΩ\nfrom S\nbus P\n")
    source = made.nodes[0].source
    assert source is not None
    # neither its own voltage nor a system's
    largest, smallest = source_pairs(source, None)
    assert largest.unknown and smallest.unknown


def test_a_source_that_limits_itself() -> None:
    largest, smallest = pairs("charger S, 14.4 V, 60 A, self-limiting, greatest 15 V")
    assert (largest.voltage_v, largest.limit_a, largest.resistance_ohm) == (15, 60, NIL_OHM)
    assert (smallest.voltage_v, smallest.limit_a, smallest.unknown) == (14.4, 60, False)


def test_conductors_count_there_and_back() -> None:
    made = circuit(
        """battery S, 12 V, resistance 4 mΩ
from S
cable A, 16 mm2, 10 m, insulation 90 °C, plain
cable B, 16 mm2, 10 m, insulation 90 °C, plain, return 4 m, return 25 mm2
cable C, 10 AWG, 10 ft, insulation 105 °C, plain
cable D, 16 mm2
bus P
"""
    )
    found = {made.edges[i].element.name: r for i, r in enumerate(resistances(made))}
    # annealed copper 0.017241 Ω·mm²/m at 20 °C (NBS Handbook 100)
    assert found["A"].least_ohm == pytest.approx(20 * 0.017241 / 16, rel=1e-4)
    # IEC 60228 class 5, plain, Ω/km at 20 °C: 16 mm² 1.21, 25 mm² 0.780; (234.5 + 90) / 254.5 when hot
    hot = (234.5 + 90) / 254.5
    assert found["A"].greatest_ohm == pytest.approx(20 * 1.21e-3 * hot)
    assert found["B"].greatest_ohm == pytest.approx((10 * 1.21e-3 + 4 * 0.780e-3) * hot)
    # 0.9989 Ω per 1000 ft of solid 10 AWG at 20 °C
    assert found["C"].greatest_ohm == pytest.approx(20 * 0.9989e-3 * (234.5 + 105) / 254.5, rel=1e-3)
    assert (found["D"].least_ohm, found["D"].greatest_ohm, found["D"].missing) == (0, math.inf, "size or length")
