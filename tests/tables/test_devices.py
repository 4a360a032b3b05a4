"""Device classes: gates, series and breaking capacities as their standards give them."""

import math
from itertools import pairwise

import pytest

from linter.tables import devices
from linter.tables.devices import DeviceClass

H, MIN = 3600.0, 60.0

# (class, rating in A): every gate as (multiple, least s, greatest s).
GATES: list[tuple[str, float, list[tuple[float, float | None, float | None]]]] = [
    # ISO 8820-3 types C and F; 160 and 200 % second-hand, the rest from memory.
    *(
        (name, 15.0, [
            (1.10, 100 * H, None), (1.35, 0.75, 600), (1.60, 0.25, 50), (2.00, 0.15, 5), (3.50, 0.04, 0.5),
            (6.00, None, 0.1),
        ])
        for name in ("blade", "miniature-blade")
    ),
    # ISO 8820-3 type E, SAE J1888 (from memory).
    ("large-blade", 60, [(1.35, 60, 1800), (2.0, 2, 60), (3.5, 0.2, 7), (6.0, 0.04, 1)]),
    # ISO 8820-5 SF51 (from memory, low confidence).
    ("bolt-down-strip", 150, [(1.35, 120, 1800), (2.0, 1, 15), (3.5, 0.3, 5), (6.0, 0.1, 1)]),
    # No public standard found.
    ("anl", 200, []),
    # UL 248-1, -15 (from memory).
    ("class-t", 30, [(1.35, None, H), (2.0, None, 2 * MIN)]),
    ("class-t", 60, [(1.35, None, H), (2.0, None, 4 * MIN)]),
    ("class-t", 100, [(1.35, None, 2 * H), (2.0, None, 6 * MIN)]),
    ("class-t", 200, [(1.35, None, 2 * H), (2.0, None, 8 * MIN)]),
    ("class-t", 400, [(1.35, None, 2 * H), (2.0, None, 10 * MIN)]),
    ("class-t", 600, [(1.35, None, 2 * H), (2.0, None, 12 * MIN)]),
    ("class-t", 601, []),
    # UL 248-14 (second-hand).
    ("cartridge", 30, [(1.35, None, H), (2.0, None, 2 * MIN)]),
    ("cartridge", 60, [(1.35, None, H), (2.0, None, 4 * MIN)]),
    ("cartridge", 70, []),
    # UL 1077, UL 489, SAE J553 (from memory, moulded-case figures).
    ("thermal", 30, [(1.35, None, H), (2.0, None, 2 * MIN)]),
    ("thermal", 50, [(1.35, None, H), (2.0, None, 4 * MIN)]),
    ("thermal", 100, [(1.35, None, H), (2.0, None, 6 * MIN)]),
    ("thermal", 150, [(1.35, None, H), (2.0, None, 8 * MIN)]),
    ("thermal", 225, [(1.35, None, H), (2.0, None, 10 * MIN)]),
    ("thermal", 300, []),
    # IEC 60898-1 (second-hand).
    *(
        case
        for name in ("hydraulic-magnetic", "thermal-magnetic")
        for case in (
            (name, 32.0, [(1.13, H, None), (1.45, None, H), (2.55, 1, 60)]),
            (name, 63.0, [(1.13, H, None), (1.45, None, H), (2.55, 1, 120)]),
            (name, 80.0, [(1.13, 2 * H, None), (1.45, None, 2 * H), (2.55, 1, 120)]),
        )
    ),
    # IEC 60269-1 (from memory).
    ("gg", 63, [(1.25, H, None), (1.6, None, H)]),
    ("gg", 160, [(1.25, 2 * H, None), (1.6, None, 2 * H)]),
    ("gg", 400, [(1.25, 3 * H, None), (1.6, None, 3 * H)]),
    ("gg", 630, [(1.25, 4 * H, None), (1.6, None, 4 * H)]),
]  # fmt: skip


@pytest.mark.parametrize(("name", "rating_a", "gates"), GATES)
def test_gates(name: str, rating_a: float, gates: list[tuple[float, float | None, float | None]]) -> None:
    found = devices.classes()[name].gates_for(rating_a)
    assert [(gate.multiple, gate.least_s, gate.greatest_s) for gate in found] == gates


# Where one band of ratings ends the next begins: (class, multiple, the bounds in A).
@pytest.mark.parametrize(
    ("name", "multiple", "bounds"),
    [
        ("class-t", 1.35, (0, 60, 600)),
        ("class-t", 2.0, (0, 30, 60, 100, 200, 400, 600)),
        ("cartridge", 1.35, (0, 60)),
        ("cartridge", 2.0, (0, 30, 60)),
        ("thermal", 1.35, (0, 225)),
        ("thermal", 2.0, (0, 30, 50, 100, 150, 225)),
        ("gg", 1.25, (0, 63, 160, 400, None)),
        ("gg", 1.6, (0, 63, 160, 400, None)),
        ("hydraulic-magnetic", 1.13, (0, 63, None)),
        ("hydraulic-magnetic", 1.45, (0, 63, None)),
        ("hydraulic-magnetic", 2.55, (0, 32, None)),
        ("blade", 2.0, (0, None)),
        ("large-blade", 2.0, (0, None)),
        ("bolt-down-strip", 2.0, (0, None)),
    ],
)
def test_bands_of_ratings_meet(name: str, multiple: float, bounds: tuple[float | None, ...]) -> None:
    gates = [gate for gate in devices.classes()[name].gates if gate.multiple == multiple]
    assert [(gate.over_a, gate.up_to_a) for gate in gates] == list(pairwise(bounds))


@pytest.mark.parametrize(
    ("name", "clause", "status"),
    [
        ("large-blade", "ISO 8820-3 type E; SAE J1888", "from memory"),
        ("bolt-down-strip", "ISO 8820-5 type SF51", "from memory"),
        ("class-t", "UL 248-", "from memory"),
        ("cartridge", "UL 248-14", "second-hand"),
        ("thermal", "UL ", "from memory"),
        ("hydraulic-magnetic", "IEC 60898-1", "second-hand"),
        ("thermal-magnetic", "IEC 60898-1", "second-hand"),
        ("gg", "IEC 60269-1", "from memory"),
    ],
)
def test_where_gates_come_from(name: str, clause: str, status: str) -> None:
    held = devices.classes()[name]
    assert held.cite.status == status
    assert held.gates
    for gate in held.gates:
        assert gate.cite.clause.startswith(clause)
        assert gate.cite.status == status


def test_the_classes_and_their_kinds() -> None:
    kinds = {name: held.kind for name, held in devices.classes().items()}
    breakers = {name for name, kind in kinds.items() if kind == "breaker"}
    assert breakers == {"thermal", "hydraulic-magnetic", "thermal-magnetic"}
    assert set(kinds) - breakers == {
        "blade", "miniature-blade", "large-blade", "bolt-down-strip", "anl", "class-t", "cartridge", "gg",
    }  # fmt: skip


@pytest.mark.parametrize("held", devices.classes().values(), ids=lambda held: held.name)
def test_bands_are_bands(held: DeviceClass) -> None:
    """At one rating the gates tell one story: a larger current never opens the device later."""
    for rating_a in (1, 15, 30, 31, 60, 100, 160, 200, 400, 600):
        gates = held.gates_for(rating_a)
        multiples = [gate.multiple for gate in gates]
        assert multiples == sorted(set(multiples))
        for bound in ("least_s", "greatest_s"):
            times = [getattr(gate, bound) for gate in gates if getattr(gate, bound) is not None]
            assert times == sorted(times, reverse=True)
        assert all(gate.multiple > 1 for gate in gates)


@pytest.mark.parametrize("name", ["blade", "miniature-blade"])
def test_blade_fuses(name: str) -> None:
    """ISO 8820-3 (from memory): series, 32 V, breaks 1 kA; the gates at 160 and 200 % second-hand."""
    held = devices.classes()[name]
    assert held.ratings_a == (1, 2, 3, 4, 5, 7.5, 10, 15, 20, 25, 30, 35, 40)
    assert held.rated_voltage_v == 32
    assert [(row.current, row.amps, row.voltage_v) for row in held.breaking] == [("dc", 1000, 32)]
    second_hand = [gate.multiple for gate in held.gates if gate.cite.status == "second-hand"]
    assert second_hand == [1.6, 2.0]
    others = [*held.breaking, *(gate for gate in held.gates if gate.multiple not in second_hand), held]
    assert {row.cite.status for row in others} == {"from memory"}


def test_class_t() -> None:
    """UL 248-15 (from memory): breaks 200 kA AC, 20 kA DC; let-through at 200 kA AC by size."""
    held = devices.classes()["class-t"]
    assert {row.current: row.amps for row in held.breaking} == {"ac": 200_000, "dc": 20_000}
    assert {row.cite.status for row in held.breaking} == {"from memory"}
    bounds = [(row.over_a, row.up_to_a) for row in held.let_through]
    assert bounds == list(pairwise((0, 30, 60, 100, 200, 400, 600)))
    printed = {30: 3500, 60: 15_000, 100: 40_000, 200: 150_000, 400: 550_000, 600: 1_000_000}
    for rating_a, a2s in printed.items():
        row = held.let_through_a2s(rating_a)
        assert row is not None
        assert (row.a2s, row.cite.status) == (a2s, "from memory")
        assert "AC" in row.cite.source
    assert held.let_through_a2s(601) is None


# B, C, D for AC: IEC 60898-1 (second-hand); B, C for DC: IEC 60898-2 (from memory).
@pytest.mark.parametrize(
    ("letter", "current", "least", "greatest", "status"),
    [
        ("B", "ac", 3, 5, "second-hand"),
        ("C", "ac", 5, 10, "second-hand"),
        ("D", "ac", 10, 20, "second-hand"),
        ("B", "dc", 4, 7, "from memory"),
        ("C", "dc", 7, 15, "from memory"),
    ],
)
def test_instantaneous_trips(letter: str, current: str, least: float, greatest: float, status: str) -> None:
    for name in ("hydraulic-magnetic", "thermal-magnetic"):
        trip = devices.classes()[name].trip(letter, current)  # type: ignore[arg-type]
        assert trip is not None
        assert (trip.least_multiple, trip.greatest_multiple, trip.cite.status) == (least, greatest, status)
        assert (trip.boundary_s, trip.boundary_cite.status) == (0.1, "from memory")


def test_trips_that_no_standard_states_are_absent() -> None:
    assert devices.classes()["thermal-magnetic"].trip("D", "dc") is None
    assert devices.classes()["thermal"].trip("C", "ac") is None


def test_a_limiter_without_a_public_standard_has_no_figures() -> None:
    held = devices.classes()["anl"]
    assert (held.gates, held.breaking, held.ratings_a, held.let_through) == ((), (), (), ())
    assert "part sheet" in held.cite.source


# NEC 240.6(A), to 600 A (second-hand).
NEC_240_6 = """15 20 25 30 35 40 45 50 60 70 80 90 100 110 125 150 175 200 225 250 300 350 400 450 500 600"""
NEC_240_6_FUSES = "1 3 6 10"


def test_standard_ratings() -> None:
    common = tuple(map(float, NEC_240_6.split()))
    small = tuple(map(float, NEC_240_6_FUSES.split()))
    found = devices.standard_ratings()
    assert found.breakers_a == common
    assert found.fuses_a == small + common
    assert found.cite.status == "second-hand"
    assert devices.classes()["class-t"].ratings_a == small + common
    assert devices.classes()["cartridge"].ratings_a == small + common


@pytest.mark.parametrize(
    ("amps", "above"), [(0, 15), (14.9, 15), (15, 20), (38.25, 40), (500, 600), (600, None), (math.inf, None)]
)
def test_next_standard_above(amps: float, above: float | None) -> None:
    assert devices.next_standard_above(amps) == above


def test_next_standard_fuse_above() -> None:
    assert devices.next_standard_above(3, "fuse") == 6
    assert devices.next_standard_above(3, "breaker") == 15
    with pytest.raises(ValueError, match="nan"):
        devices.next_standard_above(math.nan)


def test_classes_without_a_public_series_have_none() -> None:
    without = {name for name, held in devices.classes().items() if not held.ratings_a}
    assert without == {
        "large-blade", "bolt-down-strip", "anl", "gg", "thermal", "hydraulic-magnetic", "thermal-magnetic",
    }  # fmt: skip


def test_overload_condition() -> None:
    """IEC 60364-4-43, 433.1: operating current at most 1.45 times the capacity (from memory)."""
    condition = devices.overload_condition()
    assert (condition.operating_multiple, condition.cite.status) == (1.45, "from memory")
