"""33 CFR 183 subpart I against the law's own table, written out here a second time."""

import pytest

from linter.tables.conductors import area_mm2_of_awg
from linter.tables.rulebook import Rulebook, load

# 33 CFR 183.425, Table 5, allowable amperes, 30 °C (read in the law).
TABLE_5 = """
AWG   60  75  80  90 105 125 200
18    10  10  15  20  20  25  25
16    15  15  20  25  25  30  35
14    20  20  25  30  35  40  45
12    25  25  35  40  45  50  55
10    40  40  50  55  60  70  70
8     55  65  70  70  80  90 100
6     80  95 100 100 120 125 135
4    105 125 130 135 160 170 180
3    120 145 150 155 180 195 210
2    140 170 175 180 210 225 240
1    165 195 210 210 245 265 280
1/0  195 230 245 245 285 305 325
2/0  225 265 285 285 330 355 370
3/0  260 310 330 330 385 410 430
4/0  300 360 385 385 445 475 510
"""
_HEAD, *_ROWS = [line.split() for line in TABLE_5.split("\n") if line]
CELLS = [(row[0], int(c), int(amps)) for row in _ROWS for c, amps in zip(_HEAD[1:], row[1:], strict=True)]

# Table 5, note 1, at 105 °C: the products as two published tables print them (second-hand).
ENGINE_SPACE_105 = {
    "18": 17, "16": 21.25, "14": 29.75, "12": 38.25, "10": 51, "8": 68, "6": 102, "4": 136, "3": 153,
    "2": 178.5, "1": 208.25, "1/0": 242.25, "2/0": 280.5, "3/0": 327.25, "4/0": 378.25,
}  # fmt: skip


@pytest.fixture
def cfr() -> Rulebook:
    return load("cfr-183")


@pytest.mark.parametrize(("awg", "insulation_c", "amps"), CELLS)
def test_every_cell_of_table_5(cfr: Rulebook, awg: str, insulation_c: int, amps: int) -> None:
    cell = cfr.capacity.cell(area_mm2_of_awg(awg), insulation_c)
    assert cell is not None
    assert (cell.size, cell.insulation_c, cell.amps) == (awg, insulation_c, amps)
    assert (cell.cite.clause, cell.cite.status) == ("33 CFR 183.425, Table 5", "read")


def test_table_5_has_no_other_cells(cfr: Rulebook) -> None:
    assert len(CELLS) == 105
    assert cfr.capacity.sizes == tuple(row[0] for row in _ROWS)
    assert cfr.capacity.insulation_c == (60, 75, 80, 90, 105, 125, 200)
    assert (cfr.capacity.size_system, cfr.capacity.basis_ambient_c) == ("AWG", 30)


@pytest.mark.parametrize(
    ("area_mm2", "insulation_c", "size", "column_c"),
    [
        (35, 105, "2", 105),  # 35 mm2 lies between 2 AWG, 33.6, and 1 AWG, 42.4
        (33.63, 105, "3", 105),  # a hair under 2 AWG, 33.631, takes the row below
        (33.631, 105, "2", 105),  # the printed three decimals of 2 AWG are 2 AWG
        (500, 105, "4/0", 105),
        (35, 70, "2", 60),
        (35, 110, "2", 105),
        (35, 250, "2", 200),
    ],
)
def test_between_rows_and_columns_the_lesser(
    cfr: Rulebook, area_mm2: float, insulation_c: float, size: str, column_c: float
) -> None:
    cell = cfr.capacity.cell(area_mm2, insulation_c)
    assert cell is not None
    assert (cell.size, cell.insulation_c) == (size, column_c)


@pytest.mark.parametrize(("area_mm2", "insulation_c"), [(0.75, 105), (0, 105), (35, 59.9), (35, float("nan"))])
def test_below_the_table_there_is_no_figure(cfr: Rulebook, area_mm2: float, insulation_c: float) -> None:
    assert cfr.capacity.cell(area_mm2, insulation_c) is None


@pytest.mark.parametrize(("awg", "product"), ENGINE_SPACE_105.items())
def test_engine_space_products_at_105(cfr: Rulebook, awg: str, product: float) -> None:
    cell = cfr.capacity.cell(area_mm2_of_awg(awg), 105)
    factor = cfr.engine_space_factor(105)
    assert cell is not None
    assert factor is not None
    assert cell.amps * factor.factor == pytest.approx(product)


# Table 5, note 1 (50 °C): 60, 75, 90 agree with the US national code, 105 as above (second-hand); the
# others from memory.
@pytest.mark.parametrize(
    ("insulation_c", "factor", "status"),
    [
        (60, 0.58, "second-hand"),
        (75, 0.75, "second-hand"),
        (80, 0.78, "from memory"),
        (90, 0.82, "second-hand"),
        (105, 0.85, "second-hand"),
        (125, 0.89, "from memory"),
        (200, 1.00, "from memory"),
    ],
)
def test_engine_space_factors(cfr: Rulebook, insulation_c: float, factor: float, status: str) -> None:
    row = cfr.engine_space_factor(insulation_c)
    assert row is not None
    assert (row.insulation_c, row.factor, row.ambient_c, row.cite.status) == (
        insulation_c,
        factor,
        50,
        status,
    )


def test_engine_space_factor_follows_the_column_of_the_capacity(cfr: Rulebook) -> None:
    row = cfr.engine_space_factor(110)
    assert row is not None
    assert row.factor == 0.85
    assert cfr.engine_space_factor(50) is None


# Table 5, note 2 (second-hand): from 50 V; nothing below.
@pytest.mark.parametrize(
    ("conductors", "voltage_v", "factor"),
    [
        (2, 120, None), (3, 120, 0.70), (4, 120, 0.60), (6, 120, 0.60), (7, 120, 0.50), (24, 120, 0.50),
        (25, 120, 0.40), (400, 120, 0.40), (3, 50, 0.70), (3, 49.9, None), (25, 12, None),
    ],
)  # fmt: skip
def test_bundling(cfr: Rulebook, conductors: int, voltage_v: float, factor: float | None) -> None:
    row = cfr.bundle(conductors, voltage_v)
    assert (row.factor if row else None) == factor
    assert all(row.cite.status == "second-hand" for row in cfr.bundling)


# 183.455 (read): below 50 V 150 % of Table 5; from 50 V the table, or the next standard rating up to 150 %.
@pytest.mark.parametrize(
    ("voltage_v", "capacity_a", "greatest_a"),
    [
        (0, 45, 67.5),
        (12, 45, 67.5),
        (48, 60, 90),
        (49.99, 100, 150),
        (50, 60, 60),  # itself a standard rating
        (120, 38.25, 40),
        (120, 55, 60),
        (120, 210, 225),
        (120, 8, 8),  # the next, 15 A, is more than 150 %
        (120, 10, 15),  # exactly 150 %
        (120, 650, 650),  # past the end of the list
    ],
)
def test_device_limit(cfr: Rulebook, voltage_v: float, capacity_a: float, greatest_a: float) -> None:
    limit = cfr.device_limit(voltage_v)
    assert limit is not None
    assert limit.greatest_a(capacity_a) == pytest.approx(greatest_a)
    assert limit.cite.status == "read"


def test_small_fuses_have_ratings_that_breakers_have_not(cfr: Rulebook) -> None:
    limit = cfr.device_limit(120)
    assert limit is not None
    assert limit.greatest_a(8, "fuse") == 10
    assert limit.greatest_a(8, "breaker") == 8


# 183.455 (read): 7 in; 40 in where all of it is sheathed. 183.460 (from memory): 72 in from a battery.
@pytest.mark.parametrize(
    ("tied", "covered", "inches", "status"),
    [
        ("any", False, 7, "read"),
        ("any", True, 40, "read"),
        ("charging", True, 40, "read"),
        ("battery", False, 72, "from memory"),
        ("battery", True, 72, "from memory"),
    ],
)
def test_distance(cfr: Rulebook, tied: str, covered: bool, inches: float, status: str) -> None:
    row = cfr.distance(tied, covered)  # type: ignore[arg-type]
    assert row is not None
    assert row.limit_mm == pytest.approx(inches * 25.4)
    assert row.words == f"{inches} in"
    assert row.cite.status == status
    assert cfr.distance(tied, covered, "ac") == row  # type: ignore[arg-type]


def test_self_limiting_sources_are_not_exempt_on_an_unread_clause(cfr: Rulebook) -> None:
    assert cfr.self_limiting is not None
    assert (cfr.self_limiting.exempt, cfr.self_limiting.cite.status) == (False, "from memory")


def test_least_sizes(cfr: Rulebook) -> None:
    """183.425 (read): 16 AWG singly; 18 AWG in a sheath and not more than 30 in out of it."""
    single, sheathed = cfr.least_size("single"), cfr.least_size("sheathed")
    assert single is not None
    assert sheathed is not None
    assert single.cite.status == sheathed.cite.status == "read"
    assert (single.size, single.greatest_out_of_sheath_mm) == ("16 AWG", None)
    assert single.area_mm2 == pytest.approx(1.309, rel=1e-3)  # ASTM B258
    assert (sheathed.size, sheathed.greatest_out_of_sheath_mm) == ("18 AWG", 30 * 25.4)


@pytest.mark.parametrize(
    ("name", "clause", "status"),
    [
        ("ignition-protection", "33 CFR 183.410", "second-hand"),
        ("cranking-exempt", "33 CFR 183.460", "from memory"),
        ("device-required", "33 CFR 183.455", "read"),
        ("device-voltage", "33 CFR 183.455", "read"),
        ("device-breaking", "33 CFR 183.455", "read"),
        ("listed-insulation", "33 CFR 183.435", "read"),
        ("conductor-exempt", "33 CFR 183.425", "read"),
    ],
)
def test_clauses(cfr: Rulebook, name: str, clause: str, status: str) -> None:
    found = cfr.clause(name)
    assert found is not None
    assert (found.cite.clause, found.cite.status) == (clause, status)


def test_figures_of_clauses(cfr: Rulebook) -> None:
    exempt, listed = cfr.clause("conductor-exempt"), cfr.clause("listed-insulation")
    assert exempt is not None
    assert listed is not None
    assert exempt.figure("pigtail_below_mm") == pytest.approx(7 * 25.4)
    assert exempt.figure("electronics_below_a") == 1
    assert listed.figure("from_v") == 50
    assert listed.figure("no such figure") is None


def test_what_the_law_does_not_state_is_absent(cfr: Rulebook) -> None:
    assert cfr.drop_class("bilge-pump") is None
    assert cfr.breaking_class(600, 12) is None
    assert cfr.clause("residual-current") is None
