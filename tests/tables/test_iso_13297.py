"""ISO 13297:2020. The current table is from memory (two recollections agree); see each status."""

import pytest

from linter.tables.rulebook import Rulebook, load

# Annex A, amperes by size in mm2 and insulation in °C (from memory). 85 is the column printed 85-90.
ANNEX_A = """
mm2   60  70  85 105 125 200
0.75   6  10  12  16  20  25
1      8  14  18  20  25  35
1.5   12  18  21  25  30  40
2.5   17  25  30  35  40  45
4     22  35  40  45  50  55
6     29  45  50  60  70  75
10    40  65  70  90 100 120
16    54  90 100 130 150 170
25    71 120 140 170 185 200
35    87 160 185 210 225 240
50   105 210 230 270 300 325
70   135 265 285 330 360 375
95   165 310 330 390 410 430
120  190 360 400 450 480 520
150  220 380 430 475 520 560
"""
_HEAD, *_ROWS = [line.split() for line in ANNEX_A.split("\n") if line]
CELLS = [(row[0], int(c), int(amps)) for row in _ROWS for c, amps in zip(_HEAD[1:], row[1:], strict=True)]


@pytest.fixture
def iso() -> Rulebook:
    return load("iso-13297")


@pytest.mark.parametrize(("size", "insulation_c", "amps"), CELLS)
def test_every_cell_of_annex_a(iso: Rulebook, size: str, insulation_c: int, amps: int) -> None:
    cell = iso.capacity.cell(float(size), insulation_c)
    assert cell is not None
    assert (cell.size, cell.insulation_c, cell.amps, cell.cite.status) == (
        size,
        insulation_c,
        amps,
        "from memory",
    )


def test_annex_a_has_no_other_cells(iso: Rulebook) -> None:
    assert len(CELLS) == 90
    assert iso.capacity.sizes == tuple(row[0] for row in _ROWS)
    assert iso.capacity.insulation_c == (60, 70, 85, 105, 125, 200)
    assert (iso.capacity.size_system, iso.capacity.basis_ambient_c) == ("mm2", 30)


def test_90_degree_insulation_takes_the_column_85(iso: Rulebook) -> None:
    cell = iso.capacity.cell(35, 90)
    assert cell is not None
    assert (cell.insulation_c, cell.amps) == (85, 185)


def test_the_doubtful_row_says_so_and_no_other_does(iso: Rulebook) -> None:
    doubtful = [
        size
        for size, cite in zip(iso.capacity.sizes, iso.capacity.row_cites, strict=True)
        if "one recollection gives 25" in cite.source
    ]
    assert doubtful == ["1.5"]


# From memory. There is no figure for 60 °C.
@pytest.mark.parametrize(
    ("insulation_c", "factor"),
    [(60, None), (69, None), (70, 0.75), (85, 0.82), (90, 0.82), (105, 0.86), (125, 0.89), (200, 1.00)],
)
def test_engine_space_factors(iso: Rulebook, insulation_c: float, factor: float | None) -> None:
    row = iso.engine_space_factor(insulation_c)
    assert (row.factor if row else None) == factor
    assert row is None or row.cite.status == "from memory"


@pytest.mark.parametrize(("current", "status"), [("dc", "from memory"), ("ac", "read")])
def test_a_device_is_rated_at_most_the_capacity(iso: Rulebook, current: str, status: str) -> None:
    """Annex A (DC, from memory); 13.1 and 13.2 (AC, read). No next standard rating."""
    limit = iso.device_limit(24, current)  # type: ignore[arg-type]
    assert limit is not None
    assert limit.greatest_a(38.7) == 38.7
    assert limit.cite.status == status


# DC 200 mm or covered (second-hand, 2000 edition of ISO 10133); 12.3: 1.8 m; 13: AC 0.5 m or covered (read).
@pytest.mark.parametrize(
    ("tied", "covered", "current", "limit_mm", "status"),
    [
        ("any", False, "dc", 200, "second-hand"),
        ("battery", False, "dc", 200, "second-hand"),
        ("any", True, "dc", None, "second-hand"),
        ("battery", True, "dc", None, "second-hand"),
        ("charging", False, "dc", 1800, "read"),
        ("charging", True, "dc", None, "second-hand"),
        ("any", False, "ac", 500, "read"),
        ("any", True, "ac", None, "read"),
        ("charging", False, "ac", 1800, "read"),
    ],
)
def test_distance(iso: Rulebook, tied: str, covered: bool, current: str, limit_mm: float | None, status: str) -> None:
    row = iso.distance(tied, covered, current)  # type: ignore[arg-type]
    assert row is not None
    assert (row.limit_mm, row.cite.status) == (limit_mm, status)


def test_self_limiting_sources_are_exempt(iso: Rulebook) -> None:
    """12.3 (read)."""
    assert iso.self_limiting is not None
    assert (iso.self_limiting.exempt, iso.self_limiting.cite.status) == (True, "read")


def test_least_sizes(iso: Rulebook) -> None:
    """Second-hand: 1 mm2 singly where longer than 200 mm; 0.75 mm2 in a sheath, at most 800 mm out of it."""
    single, sheathed = iso.least_size("single"), iso.least_size("sheathed")
    assert single is not None
    assert sheathed is not None
    assert (single.area_mm2, single.longer_than_mm, single.greatest_out_of_sheath_mm) == (1, 200, None)
    assert single.cite.status == sheathed.cite.status == "second-hand"
    assert (sheathed.area_mm2, sheathed.longer_than_mm, sheathed.greatest_out_of_sheath_mm) == (
        0.75,
        None,
        800,
    )


# 3 % second-hand, 10 % from memory.
@pytest.mark.parametrize(
    ("circuit", "percent", "status"),
    [
        ("panel-feeder", 3, "second-hand"),
        ("navigation-lights", 3, "second-hand"),
        ("bilge-blower", 3, "second-hand"),
        ("bilge-pump", 3, "second-hand"),
        ("safety-equipment", 3, "second-hand"),
        ("lighting", 10, "from memory"),
        ("windlass", 10, "from memory"),
    ],
)
def test_voltage_drop_classes(iso: Rulebook, circuit: str, percent: float, status: str) -> None:
    row = iso.drop_class(circuit)
    assert row is not None
    assert (row.percent, row.cite.status) == (percent, status)


@pytest.mark.parametrize(
    ("name", "clause", "status"),
    [
        ("cranking-exempt", "ISO 13297", "from memory"),
        ("charging-source", "ISO 13297:2020, 12.3", "read"),
        ("ac-poles", "ISO 13297:2020, 13.", "read"),
        ("ac-supply-poles", "ISO 13297:2020, 13.", "read"),
        ("drop-cross-check", "ISO 13297", "from memory"),
    ],
)
def test_where_clauses_come_from(iso: Rulebook, name: str, clause: str, status: str) -> None:
    found = iso.clause(name)
    assert found is not None
    assert found.cite.clause.startswith(clause)
    assert found.cite.status == status


def test_clauses(iso: Rulebook) -> None:
    cranking, check = iso.clause("cranking-exempt"), iso.clause("drop-cross-check")
    assert cranking is not None
    assert check is not None
    assert cranking.cite.status == "from memory"
    assert check.figure("constant") == 0.0164


def test_what_is_not_known_is_absent(iso: Rulebook) -> None:
    assert iso.bundle(30, 230) is None
    assert iso.breaking == ()
    assert iso.clause("ignition-protection") is None
