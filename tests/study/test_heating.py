"""What a conductor stands for a moment: printed values of k, worked figures, and the temperature it starts from."""

from __future__ import annotations

import math

import pytest
from hypothesis import given
from hypothesis import strategies as st

from linter.model.build import build
from linter.model.elements import Conductor
from linter.source.files import Reader
from linter.study.heating import service_temperature_c, withstand_of
from linter.tables.conductors import area_mm2, short_circuit


def cable(facts: str, places: str = "") -> Conductor:
    text = (
        f'boat "H", 9 m, rulebook iso-13297\nsystem M, 12 V\n{places}battery B, 12 V\nfrom B\ncable W, {facts}\nbus P\n'
    )
    design = build(Reader().design_text(text))
    assert [m.message for m in design.mistakes] == []
    return next(e for e in design.elements.values() if isinstance(e, Conductor))


# IEC 60364-4-43, table of k for copper (second-hand): insulation, before, after, printed k
PRINTED = [
    ("PVC to 300 mm2", 70, 160, 115), ("PVC above 300 mm2", 70, 140, 103), ("PVC 90", 90, 160, 100), ("XLPE, EPR", 90, 250, 143),
    ("rubber 60", 60, 200, 141), ("rubber 85", 85, 220, 134), ("silicone", 180, 350, 132),
]  # fmt: skip


@pytest.mark.parametrize(("name", "before_c", "after_c", "printed"), PRINTED)
def test_printed_k(name: str, before_c: float, after_c: float, printed: float) -> None:
    assert short_circuit().k(before_c, after_c) == pytest.approx(printed, rel=5e-3)


def test_a_conductor_of_the_rating_has_the_printed_k() -> None:
    # boat cable of up to 105 °C counts as PVC, up to 150 °C as XLPE, above as silicone (common practice)
    for rated, before_c, printed in ((70, 70, 115), (90, 90, 100), (125, 90, 143), (180, 180, 132), (200, 180, 132)):
        stands = withstand_of(cable(f"10 mm2, 1 m, insulation {rated} °C"), before_c)
        assert stands is not None
        assert stands.k == pytest.approx(printed, rel=5e-3), rated
        assert stands.a2s == pytest.approx((printed * 10) ** 2, rel=1e-2)
        assert stands.greatest_s == 5


def test_worked_figures() -> None:
    # IEC 60364-4-43 (second-hand): 5 kA, 35 mm², k 143 -> 1.002 s; 12 kA for 0.02 s, k 143 -> 11.87 mm²
    stands = withstand_of(cable("35 mm2, 1 m, insulation 125 °C"), 90)
    assert stands is not None
    assert stands.seconds(5000) * (143 / stands.k) ** 2 == pytest.approx(1.002, abs=5e-4)
    assert stands.seconds(5000) == pytest.approx(1.002, rel=1e-2)
    assert 12_000 * math.sqrt(0.02) / stands.k == pytest.approx(11.87, rel=5e-3)


def test_the_american_cable_formula_is_another_one_and_lies_near() -> None:
    # ICEA P-32-382 (second-hand), by itself: (I/A)² t = 0.0297 log10((T2 + 234)/(T1 + 234)), A in circular mils
    amps = 10_383 * math.sqrt(0.0297 * math.log10((150 + 234) / (75 + 234)))
    assert amps == pytest.approx(550, abs=0.5)
    # ours for the same copper: 0.75 % more, as its constant of copper is another
    mm2 = 10_383 * math.pi / 4 * 0.0254**2
    assert mm2 == pytest.approx(area_mm2("10 AWG"), rel=1e-3)
    assert short_circuit().k(75, 150) * mm2 / amps == pytest.approx(1.0075, abs=5e-4)


@given(
    st.floats(-20, 200), st.floats(0, 300), st.floats(0.5, 300), st.floats(10, 20_000)
)  # fmt: skip
def test_k_is_what_the_warming_of_copper_comes_to(before_c: float, more_c: float, mm2: float, amps: float) -> None:
    """Followed in time, dθ/dt = (I/S)² (234.5 + θ)/226²: after (k S / I)² the final temperature is reached."""
    seconds = (short_circuit().k(before_c, before_c + more_c) * mm2 / amps) ** 2
    theta, steps = before_c, 400
    rate = (amps / mm2 / 226) ** 2
    for _ in range(steps):
        middle = theta + rate * (234.5 + theta) * seconds / steps / 2
        theta += rate * (234.5 + middle) * seconds / steps
    assert theta == pytest.approx(before_c + more_c, abs=0.05 + more_c * 1e-4)


# ---- where it starts from -----------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("persisting", "expected"), [(0, 30.0), (50, 30 + 75 * 0.25), (100, 105.0), (150, 105.0), (math.inf, 105.0)]
)  # fmt: skip
def test_what_persists_heats_as_its_square(persisting: float, expected: float) -> None:
    assert service_temperature_c(cable("10 mm2, 1 m, insulation 105 °C"), persisting, 100) == pytest.approx(expected)


def test_the_hottest_place_counts_and_never_more_than_the_insulation() -> None:
    places = "place COOL, ambient 20 °C\nplace ENG, engine space\nplace OVEN, ambient 90 °C\nplace ICE, ambient 0 °C\n"
    for facts, coolest in (
        ("in COOL", 20), ("in ICE", 0), ("in COOL, 0.1 m in ENG", 50), ("in ENG", 50), ("in COOL, 0.1 m in OVEN", 90),
    ):  # fmt: skip
        wire = cable(f"10 mm2, 1 m, insulation 105 °C, {facts}", places)
        assert service_temperature_c(wire, 0, 100) == coolest, facts
    assert service_temperature_c(cable("10 mm2, 1 m, insulation 75 °C, in OVEN", places), 0, 100) == 75


def test_what_carries_nothing_is_as_hot_as_it_may_be() -> None:
    assert service_temperature_c(cable("10 mm2, 1 m, insulation 90 °C"), 10, 0.0) == 90


def test_without_a_figure_it_is_as_hot_as_any_and_without_a_size_nothing_is_said() -> None:
    stands = withstand_of(cable("10 mm2, 1 m"))
    assert stands is not None and (stands.initial_c, stands.final_c) == (105, 160)
    assert withstand_of(cable("1 m")) is None
    assert stands.seconds(0) == math.inf


@given(st.floats(0, 500), st.floats(0, 500))
def test_more_current_before_leaves_less_for_the_fault(one: float, other: float) -> None:
    wire = cable("10 mm2, 1 m, insulation 105 °C")
    little, much = sorted((one, other))
    cool, hot = (withstand_of(wire, service_temperature_c(wire, a, 200)) for a in (little, much))
    assert cool is not None and hot is not None and cool.a2s >= hot.a2s
