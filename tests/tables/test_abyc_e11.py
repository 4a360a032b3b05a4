"""ABYC E-11, from facts quoted publicly (second-hand unless said)."""

import pytest

from linter.tables.cite import STATUSES
from linter.tables.rulebook import Rulebook, load


@pytest.fixture
def abyc() -> Rulebook:
    return load("abyc-e11")


def test_capacity_is_that_of_table_5_and_no_better_known_than_second_hand(abyc: Rulebook) -> None:
    """E-11 prints the same amperes as 33 CFR 183.425, Table 5 (second-hand)."""
    own, law = abyc.capacity, load("cfr-183").capacity
    assert (own.sizes, own.amps, own.insulation_c) == (law.sizes, law.amps, law.insulation_c)
    assert {cite.status for cite in own.row_cites} == {"second-hand"}
    assert {cite.clause for cite in own.row_cites} == {"ABYC E-11, ampacity tables"}


def test_corrections_taken_over_are_no_better_known_than_either_source(abyc: Rulebook) -> None:
    law = load("cfr-183")
    for own_rows, law_rows in [(abyc.engine_space, law.engine_space), (abyc.bundling, law.bundling)]:
        assert [row.factor for row in own_rows] == [row.factor for row in law_rows]
        for own, other in zip(own_rows, law_rows, strict=True):
            assert STATUSES.index(own.cite.status) >= STATUSES.index(other.cite.status)
            assert own.cite.status == "from memory"


# At most the ampacity; the next standard rating up to 150 %.
@pytest.mark.parametrize(("capacity_a", "greatest_a"), [(45, 45), (38.25, 40), (55, 60), (105, 110), (7, 7)])
def test_device_limit(abyc: Rulebook, capacity_a: float, greatest_a: float) -> None:
    for voltage_v in (12, 24, 48, 120):
        limit = abyc.device_limit(voltage_v)
        assert limit is not None
        assert limit.greatest_a(capacity_a) == greatest_a
        assert limit.cite.status == "second-hand"


# 7 in; 40 in sheathed; 72 in sheathed and on a battery terminal.
@pytest.mark.parametrize(
    ("tied", "covered", "inches"),
    [
        ("any", False, 7),
        ("any", True, 40),
        ("battery", False, 7),
        ("battery", True, 72),
        ("charging", True, 40),
    ],
)
def test_distance(abyc: Rulebook, tied: str, covered: bool, inches: float) -> None:
    row = abyc.distance(tied, covered)  # type: ignore[arg-type]
    assert row is not None
    assert row.limit_mm == pytest.approx(inches * 25.4)
    assert row.cite.status == "second-hand"


# Interrupting capacity of the main / branch device by cold cranking amperes of the bank, 12 and 24 V.
@pytest.mark.parametrize(
    ("cca", "main_a", "branch_a"),
    [
        (1, 1500, 750), (650, 1500, 750), (650.5, 3000, 1500), (651, 3000, 1500), (1100, 3000, 1500),
        (1101, 5000, 2500), (9000, 5000, 2500),
    ],
)  # fmt: skip
def test_breaking_capacity(abyc: Rulebook, cca: float, main_a: float, branch_a: float) -> None:
    for nominal_v in (12, 24):
        row = abyc.breaking_class(cca, nominal_v)
        assert row is not None
        assert (row.main_a, row.branch_a, row.cite.status) == (main_a, branch_a, "second-hand")


def test_breaking_capacity_is_stated_for_12_and_24_v_only(abyc: Rulebook) -> None:
    assert abyc.breaking_class(600, 48) is None
    assert abyc.breaking_class(0, 12) is None


@pytest.mark.parametrize(
    ("circuit", "percent"),
    [
        ("panel-feeder", 3), ("bilge-blower", 3), ("electronics", 3), ("navigation-lights", 3),
        ("lighting", 10), ("bilge-pump", 10), ("windlass", 10),
    ],
)  # fmt: skip
def test_voltage_drop_classes(abyc: Rulebook, circuit: str, percent: float) -> None:
    row = abyc.drop_class(circuit)
    assert row is not None
    assert (row.percent, row.cite.status) == (percent, "second-hand")


# CM = 10.75 I L / E: the worked examples quoted with it.
@pytest.mark.parametrize(
    ("amps", "feet", "volts", "circular_mils"),
    [(10, 21, 12 * 0.03, 6271), (10, 21, 12 * 0.10, 1881), (90, 30, 12 * 0.03, 80_625)],
)
def test_area_rule(abyc: Rulebook, amps: float, feet: float, volts: float, circular_mils: float) -> None:
    clause = abyc.clause("drop-cross-check")
    assert clause is not None
    constant = clause.figure("constant")
    assert constant is not None
    assert clause.cite.status == "second-hand"
    assert constant * amps * feet / volts == pytest.approx(circular_mils, abs=0.5)


@pytest.mark.parametrize(
    ("name", "figure", "value", "status"),
    [
        ("residual-current", "greatest_ma", 30, "second-hand"),
        ("residual-current", "greatest_ms", 100, "second-hand"),
        ("residual-current", "transformer_within_mm", 3000, "second-hand"),
        ("shore-inlet", "limit_mm", 3000, "from memory"),
        ("parallel-banks", "over_ah", 500, "second-hand"),
        ("dc-load-total", "intermittent_percent", 10, "from memory"),
        ("conductor-exempt", "pigtail_below_mm", 177.8, "second-hand"),
    ],
)
def test_figures_of_clauses(abyc: Rulebook, name: str, figure: str, value: float, status: str) -> None:
    clause = abyc.clause(name)
    assert clause is not None
    assert (clause.figure(figure), clause.cite.status) == (value, status)


def test_cranking_is_exempt_and_what_is_not_quoted_is_absent(abyc: Rulebook) -> None:
    for name in ("cranking-exempt", "main-and-branch", "lithium-breaking"):
        found = abyc.clause(name)
        assert found is not None
        assert found.cite.status == "second-hand"
    assert abyc.clause("ignition-protection") is None
    assert abyc.least_size("single") is None
    assert abyc.self_limiting is None
