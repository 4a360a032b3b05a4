"""Areas, resistances and short-circuit constants against the tables they come from."""

import math
import tomllib
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st

from linter.tables import conductors
from linter.tables.conductors import SizeError

# IEC 60228 class 5 and 6, greatest ohm/km at 20 °C, plain / tinned (second-hand, four documents agree).
IEC_60228 = """
0.5: 39.0/40.1; 0.75: 26.0/26.7; 1: 19.5/20.0; 1.5: 13.3/13.7; 2.5: 7.98/8.21; 4: 4.95/5.09; 6: 3.30/3.39;
10: 1.91/1.95; 16: 1.21/1.24; 25: 0.780/0.795; 35: 0.554/0.565; 50: 0.386/0.393; 70: 0.272/0.277;
95: 0.206/0.210; 120: 0.161/0.164; 150: 0.129/0.132; 185: 0.106/0.108; 240: 0.0801/0.0817; 300: 0.0641/0.0654
"""
IEC_ROWS = [
    (size.strip(), *map(float, pair.split("/"))) for size, pair in (row.split(":") for row in IEC_60228.split(";"))
]

# FAA AC 43.13-1B, table 11-9: tinned copper, greatest ohm per 1000 ft at 20 °C (read).
AC_TABLE_11_9 = {
    "20": 9.88, "18": 6.23, "16": 4.81, "14": 3.06, "12": 2.02, "10": 1.26, "8": 0.70, "6": 0.44, "4": 0.28,
    "2": 0.18, "1": 0.15, "1/0": 0.12, "2/0": 0.09, "3/0": 0.07, "4/0": 0.06,
}  # fmt: skip


@pytest.mark.parametrize(("size", "plain", "tinned"), IEC_ROWS)
def test_iec_60228(size: str, plain: float, tinned: float) -> None:
    for written in (f"{size} mm2", f"{size} mm²"):
        bare = conductors.resistance_ohm_per_m(written, False, 20)
        coated = conductors.resistance_ohm_per_m(written, True, 20)
        assert bare.ohm_per_m * 1000 == pytest.approx(plain)
        assert coated.ohm_per_m * 1000 == pytest.approx(tinned)
        assert bare.cite.clause.startswith("IEC 60228")
        assert bare.cite.status == "second-hand"


def test_iec_60228_sizes() -> None:
    assert conductors.mm2_sizes() == tuple(row[0] for row in IEC_ROWS)
    assert len(IEC_ROWS) == 19


#: Aircraft wire of these gauges has more copper than ASTM B258: the table prints less than a solid conductor
#: of the nominal area has, and the greater figure is taken.
FINER_THAN_NOMINAL = {"20": 9.88, "18": 6.23}


@pytest.mark.parametrize(
    ("awg", "ohm_per_1000_ft"),
    [(awg, printed) for awg, printed in AC_TABLE_11_9.items() if awg not in FINER_THAN_NOMINAL],
)
def test_ac_43_13_table_11_9(awg: str, ohm_per_1000_ft: float) -> None:
    found = conductors.resistance_ohm_per_m(f"{awg} AWG", True, 20)
    assert found.ohm_per_m * 304.8 == pytest.approx(ohm_per_1000_ft)
    assert (found.cite.clause, found.cite.status) == ("FAA AC 43.13-1B, table 11-9", "read")


@pytest.mark.parametrize(("awg", "ohm_per_1000_ft"), FINER_THAN_NOMINAL.items())
def test_ac_43_13_table_11_9_below_solid_copper(awg: str, ohm_per_1000_ft: float) -> None:
    assert AC_TABLE_11_9[awg] == ohm_per_1000_ft
    found = conductors.resistance_ohm_per_m(f"{awg} AWG", True, 20)
    assert 1 < found.ohm_per_m * 304.8 / ohm_per_1000_ft < 1.03
    assert found.ohm_per_m == conductors.least_resistance_ohm_per_m(f"{awg} AWG", 20).ohm_per_m
    assert "ASTM B258" in found.note


def test_ac_43_13_table_11_9_as_shipped() -> None:
    """Also the two rows that the greater ASTM figure hides."""
    shipped_file = Path(conductors.__file__).with_name("conductors.toml")
    shipped = tomllib.loads(shipped_file.read_text("utf-8"))["ac_43_13"]
    assert shipped["ohm_per_1000_ft"] == AC_TABLE_11_9
    assert shipped["status"] == "read"


# FAA AC 43.13-1B, tables 11-7 and 11-8 (read): volts dropped by 20 A. The rows for 12 AWG, 88 ft and for
# 10 AWG, 19.5 ft are left out: they do not agree with the resistance the same document prints.
@pytest.mark.parametrize(
    ("awg", "feet", "volts"),
    [
        ("6", 107, 0.942), ("4", 90, 0.504), ("14", 100, 6.12), ("10", 39, 0.98), ("10", 156, 3.93),
        ("10", 273, 6.88),
    ],
)  # fmt: skip
def test_ac_43_13_drop_examples(awg: str, feet: float, volts: float) -> None:
    per_m = conductors.resistance_ohm_per_m(f"{awg} AWG", True, 20).ohm_per_m
    decimals = len(str(volts).split(".")[1])
    assert 20 * per_m * feet * 0.3048 == pytest.approx(volts, abs=0.6 * 10**-decimals)


def test_ac_43_13_length_at_another_temperature() -> None:
    """L2 = 254.5 L1/(234.5 + T2): 39 ft at 20 °C is 34.9 ft at 50 °C (read)."""
    assert 39 / conductors.temperature_factor(50) == pytest.approx(34.9, abs=0.05)
    assert conductors.temperature_factor(20) == 1


# ASTM B258, mm2 as printed.
@pytest.mark.parametrize(
    ("awg", "mm2"),
    [
        ("16", 1.309), ("12", 3.309), ("10", 5.261), ("6", 13.30), ("2", 33.63), ("2/0", 67.43),
        ("4/0", 107.2),
    ],
)  # fmt: skip
def test_awg_areas(awg: str, mm2: float) -> None:
    decimals = len(str(mm2).split(".")[1]) if awg not in ("6",) else 2
    assert conductors.area_mm2_of_awg(awg) == pytest.approx(mm2, abs=0.51 * 10**-decimals)
    assert conductors.area_mm2(f"{awg} AWG") == conductors.area_mm2_of_awg(awg)


# Solid conductors, ohm per 1000 ft at 20 °C (published wire tables; the constant there is 0.017241).
@pytest.mark.parametrize(
    ("awg", "ohm_per_1000_ft"),
    [
        ("16", 4.016), ("12", 1.588), ("10", 0.9989), ("6", 0.3951), ("2", 0.1563), ("2/0", 0.07794),
        ("4/0", 0.04901),
    ],
)  # fmt: skip
def test_awg_solid_resistances(awg: str, ohm_per_1000_ft: float) -> None:
    solid = conductors.least_resistance_ohm_per_m(f"{awg} AWG", 20)
    assert solid.ohm_per_m * 304.8 == pytest.approx(ohm_per_1000_ft, rel=5e-4)
    bare = conductors.resistance_ohm_per_m(f"{awg} AWG", False, 20)
    assert bare.ohm_per_m == solid.ohm_per_m
    assert "stranding" in bare.note


def test_awg_sizes_rise() -> None:
    sizes = conductors.awg_sizes()
    assert sizes[:3] == ("22", "20", "18")
    assert sizes[-4:] == ("1/0", "2/0", "3/0", "4/0")
    areas = [conductors.area_mm2_of_awg(size) for size in sizes]
    assert areas == sorted(areas)


def test_a_tinned_size_outside_table_11_9_says_what_is_left_out() -> None:
    found = conductors.resistance_ohm_per_m("3 AWG", True, 20)
    assert "tinning" in found.note
    assert found.ohm_per_m == conductors.least_resistance_ohm_per_m("3 AWG", 20).ohm_per_m


def test_a_metric_size_outside_iec_60228_says_so() -> None:
    found = conductors.resistance_ohm_per_m("13 mm2", True, 20)
    assert found.ohm_per_m == pytest.approx(0.017241 / 13)
    assert "not a size of IEC 60228" in found.note


@pytest.mark.parametrize("size", ["35 mm2", "6 AWG", "3 AWG"])
def test_tinning_not_said_takes_the_greater(size: str) -> None:
    unsaid, bare, tinned = (conductors.resistance_ohm_per_m(size, t, 20).ohm_per_m for t in (None, False, True))
    assert unsaid == max(bare, tinned)


@given(
    st.sampled_from([f"{s} mm2" for s in conductors.mm2_sizes()] + [f"{s} AWG" for s in conductors.awg_sizes()]),
    st.booleans(),
    st.floats(-40, 250),
    st.floats(-40, 250),
)
def test_resistance_rises_with_temperature_and_never_falls_below_the_least(
    size: str, tinned: bool, one_c: float, other_c: float
) -> None:
    cooler, warmer = sorted((one_c, other_c))
    cold = conductors.resistance_ohm_per_m(size, tinned, cooler)
    warm = conductors.resistance_ohm_per_m(size, tinned, warmer)
    assert cold.ohm_per_m <= warm.ohm_per_m
    assert warm.ohm_per_m / warm.ohm_per_m_at_20_c == pytest.approx((234.5 + warmer) / 254.5)
    assert conductors.least_resistance_ohm_per_m(size, warmer).ohm_per_m <= warm.ohm_per_m


@pytest.mark.parametrize(
    ("size", "said"),
    [
        ("", "write it as"), ("35", "write it as"), ("35 mm", "write it as"), ("mm2", "is no size in mm2"),
        ("-1 mm2", "is no size"), ("nan mm2", "is no size"), ("1e3 mm2", "is no size"), ("0 mm2", "is no size"),
        ("1.2.3 mm2", "is no size"), ("\u0663 mm2", "is no size"), (f"{'9' * 5000} mm2", "is no size"),
        ("2001 mm2", "is no size"), (". mm2", "is no size"), ("5/0 AWG", "did you mean"), ("7 AWG", "is no AWG"),
        ("00 AWG", "is no AWG"), (" AWG", "is no AWG"),
    ],
)  # fmt: skip
def test_what_is_no_size(size: str, said: str) -> None:
    with pytest.raises(SizeError, match=said):
        conductors.area_mm2(size)
    with pytest.raises(SizeError, match=said):
        conductors.resistance_ohm_per_m(size, True, 20)


@given(st.text(max_size=40))
def test_any_text_is_a_size_or_a_size_error(text: str) -> None:
    for written in (text, f"{text} AWG", f"{text} mm2"):
        try:
            area = conductors.area_mm2(written)
        except SizeError:
            continue
        assert 0 < area <= conductors.GREATEST_MM2


@pytest.mark.parametrize("temperature_c", [-234.5, -300, math.inf, math.nan])
def test_no_resistance_at_impossible_temperatures(temperature_c: float) -> None:
    with pytest.raises(ValueError, match="no resistance"):
        conductors.resistance_ohm_per_m("35 mm2", True, temperature_c)


# IEC 60364-4-43: k as printed for initial and final temperature (second-hand).
@pytest.mark.parametrize(
    ("initial_c", "final_c", "k"),
    [
        (70, 160, 115),
        (70, 140, 103),
        (90, 160, 100),
        (90, 250, 143),
        (60, 200, 141),
        (85, 220, 134),
        (180, 350, 132),
    ],
)
def test_printed_k(initial_c: float, final_c: float, k: float) -> None:
    assert conductors.short_circuit().k(initial_c, final_c) == pytest.approx(k, abs=0.55)
    rows = [row for row in conductors.insulation_limits() if (row.initial_c, row.final_c) == (initial_c, final_c)]
    assert [row.printed_k for row in rows] == [k]


def test_insulation_limits_are_second_hand_and_pvc_is_cooler_above_300_mm2() -> None:
    rows = conductors.insulation_limits()
    assert {row.cite.status for row in rows} == {"second-hand"}
    assert conductors.short_circuit().cite.status == "second-hand"
    pvc = [(row.over_mm2, row.up_to_mm2, row.final_c) for row in rows if row.name == "pvc"]
    assert pvc == [(None, 300, 160), (300, None, 140)]
    assert [row.name for row in rows if row.up_to_mm2 is not None] == ["pvc", "pvc-90"]
    assert {row.up_to_mm2 for row in rows} == {None, 300}


def test_copper() -> None:
    """NBS Handbook 100: annealed copper at 20 °C; 1/(234.5 + 20) is the coefficient it prints, rounded."""
    held = conductors.copper()
    assert (held.resistivity_ohm_mm2_per_m, held.alpha_per_k, held.zero_resistance_c) == (
        0.017241,
        0.00393,
        234.5,
    )
    assert 1 / (held.zero_resistance_c + 20) == pytest.approx(held.alpha_per_k, abs=5e-6)
    assert held.cite.status == "second-hand"


def test_worked_short_circuits() -> None:
    """(k S/I)² = t: 5 kA, 35 mm2, k 143 is 1.002 s; 12 kA, 0.02 s is 11.87 mm2 (second-hand)."""
    k = next(row.printed_k for row in conductors.insulation_limits() if row.name == "xlpe")
    assert (k * 35 / 5000) ** 2 == pytest.approx(1.002, abs=5e-4)
    assert 12_000 * math.sqrt(0.02) / k == pytest.approx(11.87, abs=5e-3)
    assert conductors.short_circuit().greatest_s == 5


def test_icea_p_32_382() -> None:
    """10 383 cmil, 75 to 150 °C, 1 s: 550 A (second-hand). Its rounded 0.0297 and 234 lie 0.7 % off IEC's k."""
    area_mm2 = 10_383 * math.pi / 4 * 0.0254**2
    assert conductors.short_circuit().k(75, 150) * area_mm2 == pytest.approx(550, rel=1e-2)


@pytest.mark.parametrize(("initial_c", "final_c"), [(100, 90), (-234.5, 20), (math.nan, 90), (20, math.inf)])
def test_k_of_impossible_heating(initial_c: float, final_c: float) -> None:
    with pytest.raises(ValueError, match="cannot be heated"):
        conductors.short_circuit().k(initial_c, final_c)
