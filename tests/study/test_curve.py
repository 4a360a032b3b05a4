"""Bands of protective devices: the gates of their standards at every corner, and what must hold of any band.

The gates are typed from the standards' figures; their status stands beside each.
"""

from __future__ import annotations

import itertools
import math

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from linter.model.build import build
from linter.model.elements import Device
from linter.source.files import Reader
from linter.study.curve import Curve, curve_of, share_at, shares

INF, H, MIN = math.inf, 3600.0, 60.0
# Just beside a current, so that both sides of a gate are looked at.
LITTLE = 1e-6


def device(facts: str, places: str = "") -> Device:
    text = f'boat "C", 9 m, rulebook iso-13297\nsystem M, 12 V\n{places}battery B, 12 V\nfrom B\n{facts}\nbus P\n'
    design = build(Reader().design_text(text))
    assert [m.message for m in design.mistakes] == []
    return next(e for e in design.elements.values() if isinstance(e, Device))


def curve(facts: str, places: str = "") -> Curve:
    made = curve_of(device(facts, places))
    assert made is not None
    return made


def test_the_end_of_a_curve_is_reached() -> None:
    """Its maker states the last point; what rounding puts behind it is on it, and a step beside it is not."""
    made = curve(
        "fuse F, 20 A, opens at 130 % in 12 s to 20 s, opens at 1000 % in 2 s to 4 s, lets through 90 kA2s at 1 kA"
    )
    for amps in (200.0, 200.0 * (1 + 1e-12), 200.0 * (1 - 1e-12)):
        assert made.slowest(amps).told and made.slowest(amps).seconds == pytest.approx(4.0)
    assert made.slowest(1000.0 * (1 + 1e-12)).told and not made.slowest(1000.0 * (1 + 1e-8)).told
    bare = curve("fuse F, 20 A, opens at 130 % in 12 s to 20 s, opens at 1000 % in 2 s to 4 s")
    assert bare.slowest(200.0 * (1 + 1e-12)).told and not bare.slowest(200.0 * (1 + 1e-8)).told


# (class as written, rating, slow edge, fast edge): (multiple, s) at the gates
GATES: list[tuple[str, float, list[tuple[float, float]], list[tuple[float, float]]]] = [
    # ISO 8820-3 types C and F: 160 and 200 % second-hand, the rest from memory
    *(
        (
            name, 20.0,
            [(1.35, 600), (1.60, 50), (2.0, 5), (3.5, 0.5), (6.0, 0.1)],
            [(1.10, 100 * H), (1.35, 0.75), (1.60, 0.25), (2.0, 0.15), (3.5, 0.04)],
        )
        for name in ("fuse F, blade", "fuse F, miniature blade")
    ),
    # ISO 8820-3 type E, SAE J1888 (from memory)
    ("fuse F, large blade", 60.0, [(1.35, 1800), (2.0, 60), (3.5, 7), (6.0, 1)], [(1.35, 60), (2.0, 2), (3.5, 0.2), (6.0, 0.04)]),
    # ISO 8820-5 SF51 (from memory, low confidence)
    ("fuse F, bolt-down strip", 150.0, [(1.35, 1800), (2.0, 15), (3.5, 5), (6.0, 1)], [(1.35, 120), (2.0, 1), (3.5, 0.3), (6.0, 0.1)]),
    # UL 248-15 (from memory): nothing is promised below
    *(("fuse F, class T", rated, [(1.35, H if rated <= 60 else 2 * H), (2.0, minutes * MIN)], [])
      for rated, minutes in ((30.0, 2), (35.0, 4), (60.0, 4), (70.0, 6), (100.0, 6), (110.0, 8), (200.0, 8), (225.0, 10), (400.0, 10), (600.0, 12))),
    # UL 248-14 (second-hand): known to 60 A
    ("fuse F, cartridge", 30.0, [(1.35, H), (2.0, 2 * MIN)], []),
    ("fuse F, cartridge", 60.0, [(1.35, H), (2.0, 4 * MIN)], []),
    # UL 1077, UL 489, SAE J553 (from memory)
    *(("breaker F, thermal", rated, [(1.35, H), (2.0, minutes * MIN)], [])
      for rated, minutes in ((30.0, 2), (50.0, 4), (100.0, 6), (150.0, 8), (225.0, 10))),
    # IEC 60898-1 (second-hand): without a letter no instantaneous trip is known
    *((f"breaker F, {name}", rated, [(1.45, conventional), (2.55, last)], [(1.13, conventional), (2.55, 1.0)])
      for name in ("hydraulic-magnetic", "thermal-magnetic")
      for rated, conventional, last in ((16.0, H, 60.0), (32.0, H, 60.0), (40.0, H, 120.0), (63.0, H, 120.0), (80.0, 2 * H, 120.0))),
    # IEC 60269-1 (from memory)
    *(("fuse F, gG", rated, [(1.6, hours * H)], [(1.25, hours * H)])
      for rated, hours in ((63.0, 1), (80.0, 2), (160.0, 2), (200.0, 3), (400.0, 3), (500.0, 4))),
]  # fmt: skip


@pytest.mark.parametrize(("what", "rated", "slow", "fast"), GATES)
def test_every_gate_at_its_corner(
    what: str, rated: float, slow: list[tuple[float, float]], fast: list[tuple[float, float]]
) -> None:
    made = curve(f"{what}, {rated:g} A, 32 V")
    # the slow edge: never before the first gate; at each gate its time; on beyond the last, but no longer told
    first, last = slow[0], slow[-1]
    below = made.slowest(first[0] * rated * (1 - LITTLE))
    assert below.seconds == INF and below.told
    for multiple, seconds in slow:
        at = made.slowest(multiple * rated)
        assert (at.seconds, at.told) == (pytest.approx(seconds), True)
    beyond = made.slowest(last[0] * rated * (1 + LITTLE))
    assert (beyond.seconds, beyond.told) == (pytest.approx(last[1]), False)
    # no edge jumps at a gate in between
    for multiple, seconds in slow[1:-1]:
        for beside in (1 - LITTLE, 1 + LITTLE):
            assert made.slowest(multiple * rated * beside).seconds == pytest.approx(seconds, rel=1e-4)
    # the fast edge: for ever at the rating; nothing is promised beyond the last gate
    assert made.fastest(rated) == INF
    assert made.fastest(rated * (1 + LITTLE)) == (pytest.approx(fast[0][1]) if fast else 0.0)
    for multiple, seconds in fast:
        assert made.fastest(multiple * rated) == pytest.approx(seconds)
        assert made.fastest(multiple * rated * (1 - LITTLE)) == pytest.approx(seconds, rel=2e-4)
    if fast:
        assert made.fastest(fast[-1][0] * rated * (1 + LITTLE)) == 0.0
    assert made.operating_a == pytest.approx(first[0] * rated)
    assert made.told_to_a == pytest.approx(last[0] * rated)


@pytest.mark.parametrize(
    "what",
    [
        "fuse F, ANL, 100 A",
        "fuse F, class T, 601 A",
        "fuse F, cartridge, 70 A",
        "breaker F, thermal, 300 A",
        "fuse F, 20 A",
    ],
)
def test_where_no_standard_says_anything_nothing_is_promised(what: str) -> None:
    made = curve(what)
    for amps in (10.0, 1000.0, 50_000.0):
        # up to its rating it is told to carry what flows for ever
        assert made.slowest(amps).seconds == INF and made.slowest(amps).told == (amps <= made.rated_a)
    assert made.fastest(made.rated_a * 1.01) == 0.0
    assert curve_of(device("fuse F, blade")) is None


def test_between_gates_it_is_straight_in_logarithms() -> None:
    # ISO 8820-3: 160 % 50 s, 200 % 5 s; half way in logarithms sqrt(50 · 5)
    made = curve("fuse F, blade, 10 A")
    assert made.slowest(10 * math.sqrt(1.6 * 2.0)).seconds == pytest.approx(math.sqrt(250))
    assert made.fastest(10 * math.sqrt(1.6 * 2.0)) == pytest.approx(math.sqrt(0.25 * 0.15))


# IEC 60898-2, direct current (from memory): B does not trip at once up to 4, and always from 7 times; C 7 and 15.
@pytest.mark.parametrize(("letter", "not_to", "always_from"), [("B", 4, 7), ("C", 7, 15)])
@pytest.mark.parametrize("what", ["hydraulic-magnetic", "thermal-magnetic"])
def test_instantaneous_trips_on_direct_current(what: str, letter: str, not_to: float, always_from: float) -> None:
    made = curve(f"breaker Q, {what}, 16 A, curve {letter}")
    # 60 s at 2.55 times (up to 32 A); on from there with the same I²t until the magnet acts
    assert made.slowest(16 * 2.55).seconds == pytest.approx(60)
    for multiple in (3.0, 5.0, always_from * (1 - LITTLE)):
        at = made.slowest(16 * multiple)
        assert at.seconds == pytest.approx(60 * (2.55 / multiple) ** 2, rel=1e-4) and at.told
    assert made.slowest(16 * always_from).seconds == pytest.approx(0.1)
    assert made.slowest(16 * always_from).told
    assert made.slowest(16 * always_from * (1 + LITTLE)).seconds == pytest.approx(0.1)
    assert not made.slowest(16 * always_from * 2).told
    # the fast edge: 1 s just before 2.55 times, then not at once (0.1 s) up to the first figure, then nothing
    assert made.fastest(16 * 2.55 * (1 - LITTLE)) == pytest.approx(1.0, rel=1e-4)
    assert made.fastest(16 * not_to) == pytest.approx(0.1)
    assert made.fastest(16 * not_to * (1 - LITTLE)) == pytest.approx(0.1)
    assert made.fastest(16 * not_to * (1 + LITTLE)) == 0.0


def test_no_direct_current_figure_is_known_for_curve_d() -> None:
    # IEC 60898-2 has B and C only: D counts as without a letter
    assert curve("breaker Q, thermal-magnetic, 16 A, curve D").slow == curve("breaker Q, thermal-magnetic, 16 A").slow


def test_makers_points_take_the_place_of_the_class() -> None:
    made = curve("fuse F, blade, 10 A, opens at 200 % in 1 s to 15 s, opens at 600 % in 30 ms")
    assert made.slow == ((20.0, 15.0), (60.0, 0.03))
    assert made.fast == ((20.0, 1.0), (60.0, 0.03))
    assert made.slowest(19.9).seconds == INF


def test_what_it_lets_through_bounds_the_time_beyond_its_points() -> None:
    made = curve(
        "fuse F, blade, 10 A, opens at 200 % in 1 s to 15 s, opens at 600 % in 50 ms to 0.1 s, lets through 1 kA2s at 2 kA, lets through 4 kA2s at 10 kA"
    )
    # 60 A for 0.1 s is 360 A²s: below 100 A the last point's time is the sooner
    assert made.slowest(90).seconds == pytest.approx(0.1)
    assert (made.slowest(500).seconds, made.slowest(500).told) == (pytest.approx(1000 / 500**2), True)
    assert (made.slowest(2000).seconds, made.slowest(2000).told) == (pytest.approx(2.5e-4), True)
    # beyond 2 kA 4 kA²s count as soon as they say more than 0.25 ms
    assert (made.slowest(3000).seconds, made.slowest(3000).told) == (pytest.approx(2.5e-4), True)
    assert (made.slowest(8000).seconds, made.slowest(8000).told) == (pytest.approx(4000 / 8000**2), True)
    assert (made.slowest(20_000).seconds, made.slowest(20_000).told) == (pytest.approx(4e-5), False)


# ---- surroundings -------------------------------------------------------------------------------------------------

CARRIES = "fuse F, large blade, 60 A, carries 100 % at 25 °C, carries 90 % at 60 °C"


@pytest.mark.parametrize(("ambient", "share"), [(0, 1.0), (25, 1.0), (42.5, 0.95), (60, 0.9), (95, 0.8), (400, 0.0)])
def test_rerating_is_straight_between_figures_and_on_beyond_the_hottest(ambient: float, share: float) -> None:
    assert share_at(device(CARRIES), ambient) == pytest.approx(share)


def test_a_single_figure_starts_from_twenty_degrees() -> None:
    # common practice: full rating at 20 °C where the maker names no temperature for it
    only = device("fuse F, large blade, 60 A, carries 80 % at 60 °C")
    assert [share_at(only, t) for t in (20, 40, 60)] == pytest.approx([1.0, 0.9, 0.8])


def test_the_slow_edge_takes_the_cold_the_fast_edge_the_heat() -> None:
    places = "place HOT, ambient 60 °C\nplace ENG, engine space\n"
    sheet = "fuse F, large blade, 60 A, carries 110 % at 0 °C, carries 100 % at 25 °C, carries 90 % at 60 °C"
    assert shares(device(sheet, places), 60.0) == (pytest.approx(0.9), pytest.approx(1.1))
    made = curve(f"{sheet}, in HOT", places)
    assert made.slowest(60 * 1.1 * 2.0).seconds == pytest.approx(60)
    assert made.slowest(60 * 1.35 * 1.1 * (1 - LITTLE)).seconds == INF
    assert made.rated_a == pytest.approx(54)
    assert made.fastest(54 * 2.0) == pytest.approx(2)
    # an engine space whose temperature nobody states counts as 50 °C, as for conductors
    assert curve(f"{sheet}, in ENG", places).rated_a == pytest.approx(60 * (1.0 - 0.1 * 25 / 35))


# ---- what holds of any band ---------------------------------------------------------------------------------------


@st.composite
def sheets(draw: st.DrawFn) -> str:
    """A device with points, energies and rerating as a sheet might give them, sensible or not."""
    points = draw(
        st.lists(
            st.tuples(st.integers(105, 3000), st.floats(0.001, 4000), st.floats(0.01, 1.0)),
            max_size=5,
            unique_by=lambda p: p[0],
        )
    )
    text = f"fuse F, class T, {draw(st.sampled_from([10, 40, 125, 300]))} A"
    for multiple, seconds, least in points:
        text += f", opens at {multiple} % in {seconds * least:.6f} s to {seconds:.6f} s"
    for _ in range(draw(st.integers(0, 2))):
        text += f", lets through {draw(st.floats(0.05, 500)):.3f} kA2s"
        text += draw(st.sampled_from(["", f" at {draw(st.floats(0.2, 25)):.3f} kA"]))
    for celsius in draw(st.lists(st.sampled_from([0, 20, 40, 60]), max_size=3, unique=True)):
        text += f", carries {draw(st.integers(60, 125))} % at {celsius} °C"
    return text


CURRENTS = [10 ** (k / 40) for k in range(20, 200)]


@settings(max_examples=120, deadline=None, derandomize=True)
@given(sheets(), st.floats(0, 90))
def test_no_edge_rises_and_the_slow_one_is_above_the_fast(text: str, ambient: float) -> None:
    made = curve_of(device(text), ambient)
    assert made is not None
    corners = [a * f for a, _ in (*made.slow, *made.fast) for f in (1 - 1e-9, 1, 1 + 1e-9)]
    corners += [to_a * f for _, to_a in made.energies if to_a < INF for f in (1 - 1e-9, 1, 1 + 1e-9)]
    currents = sorted([*CURRENTS, *corners])
    slow = [made.slowest(a).seconds for a in currents]
    fast = [made.fastest(a) for a in currents]
    held = [made.holds(a) for a in currents]
    for edge in (slow, fast):
        assert all(later <= before * (1 + 1e-9) for before, later in itertools.pairwise(edge)), text
    assert all(s >= f * (1 - 1e-9) for s, f, a in zip(slow, fast, currents, strict=True) if not _by_energy(made, a)), (
        text
    )
    assert all(h >= f for h, f in zip(held, fast, strict=True))


def _by_energy(made: Curve, amps: float) -> bool:
    """Beyond the points the time is that of an energy, of which the sheet gives the most only."""
    return bool(made.energies and amps > made.told_to_a)


@settings(max_examples=120, deadline=None, derandomize=True)
@given(sheets(), st.floats(0, 90), st.floats(0, 90))
def test_rerating_is_monotone_in_the_heat_where_the_sheet_is(text: str, one: float, other: float) -> None:
    made = device(text)
    figures = [share for _, share in sorted(made.carries)]
    cold, hot = sorted((one, other))
    if figures == sorted(figures, reverse=True):
        assert share_at(made, hot) <= share_at(made, cold) + 1e-12
        # hotter, the fast edge is lower and the slow one stays
        in_cold, in_heat = curve_of(made, cold), curve_of(made, hot)
        assert in_cold is not None and in_heat is not None and in_cold.slow == in_heat.slow
        assert all(in_heat.fastest(a) <= in_cold.fastest(a) * (1 + 1e-9) for a in CURRENTS)
    least, most = shares(made, hot)
    assert 0 <= least <= 1 <= most
