"""What a time-current plot shows: the lines against the curves they are of, and what stands around a device."""

from __future__ import annotations

import math
from itertools import pairwise

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from linter.model.build import build
from linter.source.files import Reader
from linter.study.curve import MAKER, Curve
from linter.study.heating import withstand_of
from linter.study.plot import Role, plot_of, range_a, step_above, step_below
from linter.study.plot_lines import (
    damage_lines,
    fast_beyond,
    fast_edge,
    promised_area,
    promised_to_a,
    slow_edge,
    told_to_a,
    unpromised_area,
)
from linter.study.study import Study, study_of

Point = tuple[float, float]


def studied(text: str) -> Study:
    head = 'boat "Plover", 8 m, rulebook iso-13297\nsystem DC12, 12 V, greatest 15 V\ncables, insulation 105 °C\n'
    return study_of(build(Reader().design_text(head + text)))


def on_line(points: tuple[Point, ...], amps: float) -> float:
    """The time at a current on a line straight in logarithms, reckoned anew: the lowest where it is upright."""
    found = []
    for (a0, s0), (a1, s1) in pairwise(points):
        if a0 <= amps <= a1 and a1 > a0:
            share = (math.log(amps) - math.log(a0)) / (math.log(a1) - math.log(a0))
            found.append(math.exp(math.log(s0) + share * (math.log(s1) - math.log(s0))))
    return min(found)


def inside(area: tuple[Point, ...], amps: float, seconds: float) -> bool:
    """Even-odd, in logarithms."""
    x, y, odd = math.log(amps), math.log(seconds), False
    logs = [(math.log(a), math.log(s)) for a, s in area]
    for (x0, y0), (x1, y1) in zip(logs, [*logs[1:], logs[0]], strict=True):
        if (x0 > x) != (x1 > x) and y < y0 + (x - x0) / (x1 - x0) * (y1 - y0):
            odd = not odd
    return odd


@st.composite
def curves(draw: st.DrawFn) -> Curve:
    """Bands as a sheet may give them: both edges, one, steps, energies; a fuse or not."""
    rated = draw(st.floats(1, 600))
    multiples = sorted(draw(st.lists(st.floats(1.05, 20), min_size=1, max_size=6, unique=True)))
    slow_s = sorted(
        draw(st.lists(st.floats(2e-3, 7200), min_size=len(multiples), max_size=len(multiples))), reverse=True
    )
    shares = draw(st.lists(st.floats(0.01, 1), min_size=len(multiples), max_size=len(multiples)))
    fast, least = [], math.inf
    for m, s, share in zip(multiples, slow_s, shares, strict=True):
        least = min(least, s * share)
        fast.append((m * rated, least))
    slow = [(m * rated, s) for m, s in zip(multiples, slow_s, strict=True)]
    if draw(st.booleans()):
        slow.append((slow[-1][0], slow[-1][1] / 3))
        fast[-1] = (fast[-1][0], min(fast[-1][1], slow[-1][1]))
    last_a, last_s = slow[-1]
    reaches = sorted(draw(st.lists(st.floats(1.5, 50), max_size=2, unique=True)))
    energies = tuple((last_s * last_a**2 * draw(st.floats(0.3, 30)), last_a * r) for r in reaches)
    if draw(st.booleans()):
        fast = fast[: draw(st.integers(0, len(fast)))]
    return Curve(rated, tuple(slow), tuple(fast), MAKER, energies, draw(st.booleans()))


@settings(max_examples=300, deadline=None)
@given(curves(), st.floats(0, 1))
def test_slow_line_is_the_slow_edge(curve: Curve, share: float) -> None:
    to_a = curve.slow[-1][0] * 100
    lines = slow_edge(curve, to_a)
    first_a = curve.slow[0][0]
    assert lines[0].points[0][0] == first_a and lines[0].points[0][1] >= 1e7
    assert lines[-1].points[-1][0] == pytest.approx(to_a)
    amps = first_a * (to_a / first_a) ** share
    if any(abs(amps / a - 1) < 1e-6 for line in lines for a, _ in line.points):
        return
    (holding,) = [x for x in lines if x.points[0][0] <= amps <= x.points[-1][0]]
    opening = curve.slowest(amps)
    assert on_line(holding.points, amps) == pytest.approx(opening.seconds, rel=1e-6)
    assert holding.told == opening.told
    assert [x.told for x in lines] == [True, False][: len(lines)]
    assert lines[0].points[-1][0] == pytest.approx(told_to_a(curve))


@settings(max_examples=300, deadline=None)
@given(curves(), st.floats(0.001, 0.999))
def test_fast_line_is_the_fast_edge(curve: Curve, share: float) -> None:
    line = fast_edge(curve)
    assert line[0][0] == curve.rated_a
    if not curve.fast:
        assert {a for a, _ in line} == {curve.rated_a} and line[-1][1] < 1e-6
        return
    last_a, last_s = curve.fast[-1]
    amps = curve.rated_a * (last_a / curve.rated_a) ** share
    if all(abs(amps / a - 1) > 1e-6 for a, _ in line):
        assert on_line(line, amps) == pytest.approx(curve.fastest(amps), rel=1e-6)
    beyond = fast_beyond(curve, last_a * 50)
    assert bool(beyond) == curve.melts
    if beyond:
        # nothing is promised there: it is drawn out by constant I²t
        assert line[-1] == beyond[0] == (last_a, last_s)
        assert [a * a * s for a, s in beyond] == pytest.approx([last_a**2 * last_s] * 2)
    else:
        assert line[-1][0] == last_a and line[-1][1] < 1e-6


@settings(max_examples=300, deadline=None)
@given(curves(), st.floats(0.001, 0.999), st.floats(-6, 6))
def test_areas_are_what_lies_between_the_edges(curve: Curve, share: float, power: float) -> None:
    to_a, seconds = curve.slow[-1][0] * 10, 10**power
    amps = curve.rated_a * (to_a / curve.rated_a) ** share
    fast, slow = curve.fastest(amps), curve.slowest(amps).seconds
    corners = [a for a, _ in (*curve.slow, *curve.fast)] + [x for _, x in curve.energies]
    edges = (fast, slow, curve.holds(amps) if curve.fast else 0.0)
    if any(abs(amps / a - 1) < 1e-6 for a in corners) or any(x and abs(seconds / x - 1) < 1e-6 for x in edges):
        return
    promised = amps < promised_to_a(curve) and bool(curve.fast)
    area = promised_area(curve)
    assert (bool(area) and inside(area, amps, seconds)) == (promised and fast < seconds < slow)
    below = unpromised_area(curve, to_a)
    assert below
    floor = curve.holds(amps) if fast_beyond(curve, to_a) else 0.0
    if floor < slow:
        assert inside(below, amps, seconds) == (amps > promised_to_a(curve) and floor < seconds < slow)


def test_damage_line_by_the_printed_k() -> None:
    """IEC 60364-4-43, table of k (second-hand): copper in PVC, 70 to 160 °C, k = 115.  35 mm² stands (115 × 35 / I)²."""
    made = studied(
        "battery B, AGM, 12 V, 100 Ah\nfrom B\ncable W1, 35 mm2, 1 m, insulation 70 °C\nload L, draws 10 A\n"
    )
    stands = withstand_of(made.conductors["W1"].conductor)
    assert stands is not None
    lines = damage_lines(stands, 130.0)
    (corner_a, corner_s), (far_a, far_s) = lines.adiabatic
    assert corner_s == 5.0 and corner_a == pytest.approx(115 * 35 / math.sqrt(5), rel=0.005)
    assert math.log(far_s / corner_s) / math.log(far_a / corner_a) == pytest.approx(-2)
    # above 5 s drawn out on the same slope until it carries the current for ever
    meets, joint = lines.beyond
    assert joint == (corner_a, corner_s)
    assert meets[0] == 130.0 and meets[1] == pytest.approx((115 * 35 / 130) ** 2, rel=0.01)
    assert {a for a, _ in lines.carries} == {130.0} and lines.carries[0][1] >= 1e7 and lines.carries[-1] == meets


def test_damage_line_without_ampacity_and_with_more_than_it_stands() -> None:
    made = studied("battery B, AGM, 12 V, 100 Ah\nfrom B\ncable W1, 1 mm2, 1 m\nload L, draws 1 A\n")
    stands = withstand_of(made.conductors["W1"].conductor)
    assert stands is not None
    lines = damage_lines(stands, None)
    assert lines.carries == () and lines.beyond[0][1] >= 1e7
    assert lines.beyond[0][0] ** 2 * lines.beyond[0][1] == pytest.approx(stands.a2s)
    high = damage_lines(stands, 1000.0)
    assert high.beyond == ((1000.0, 5.0), high.adiabatic[0])


BOARD = """\
battery B, AGM, 12 V, 400 Ah, resistance 3 mΩ
part main, fuse
  class T, 125 V, breaks 20 kA at 125 V
  opens at 135 % in 200 s to 3600 s, opens at 500 % in 30 ms to 0.25 s, opens at 1000 % in 4 ms to 20 ms
part panel, breaker
  thermal, 32 V, breaks 5 kA at 32 V
  opens at 135 % in 60 s to 3600 s, opens at 500 % in 1 s to 4 s, opens at 2000 % in 10 ms to 40 ms
from B
cable W1, 70 mm2, 0.15 m
fuse F1, part main, 200 A
cable W2, 70 mm2, 1 m
bus POS
from POS
breaker Q1 "Pump", part panel, 30 A
cable W3, 6 mm2, 2 m
switch S1
cable W4, 10 mm2, 3 m
load PUMP, draws 14 A, starts 60 A for 0.4 s
from POS
breaker Q2, part panel, 20 A
cable W5, 4 mm2, 2 m
load LAMP, draws 4 A
from POS
breaker Q3, part panel, 20 A
cable W6, 4 mm2, 2 m
load FAN, draws 6 A
from POS
breaker Q4, part panel, 25 A
cable W7, 4 mm2, 2 m
joint J
cable W8, 4 mm2, 2 m
load ONE, draws 3 A
from J
cable W9, 2.5 mm2, 6 m
load TWO
"""


def test_what_a_device_guards_and_what_stands_beside_it() -> None:
    made = studied(BOARD)
    plot = plot_of(made, ["Q1"])
    (named,) = plot.named
    assert named.guards == ("W3", "W4") and not named.stretches and not named.unsized and not named.bypassed
    assert named.damage is not None and named.damage.conductor.name == "W3"
    assert named.damage.ampacity_a == made.conductors["W3"].ampacity_a
    assert [b.names for b in plot.above] == [("F1",)] and plot.below == () and plot.more_above == 0
    start = named.start
    assert start is not None and (start.load.name, start.draws_a, start.load.starts_s) == ("PUMP", 14.0, 0.4)
    faults, at = made.faults(), made.design.circuit.edge_of
    assert named.smallest is not None and named.largest is not None and named.smallest.at == "W4"
    (far,) = (n for n in made.design.circuit.nodes if n.load is not None and n.load.name == "PUMP")
    alone = faults.smallest(far.index)
    assert alone is not None and named.smallest.amps == alone.amps > 0
    assert named.largest.amps == faults.through(at["Q1"].index).amps > named.smallest.amps
    assert named.breaking is not None and named.breaking.amps == 5000 and named.voltage_v == 15.0


def test_devices_below_are_the_largest_and_those_alike_are_one() -> None:
    plot = plot_of(studied(BOARD), ["F1"])
    assert [(b.names, b.role) for b in plot.below] == [(("Q1",), Role.BELOW), (("Q4",), Role.BELOW)]
    assert plot.more_below == 2 and plot.above == ()
    both = plot_of(studied(BOARD), ["F1", "Q2"])
    # Q3 is as Q2, which is named
    assert [b.names for b in both.below] == [("Q1",)] and both.more_below == 2
    assert [n.device.name for n in both.named] == ["F1", "Q2"] and both.above == ()
    three = plot_of(studied(BOARD), ["F1", "Q2", "Q4"])
    assert three.below == () and three.more_below == 2


def test_weakest_conductor_and_farthest_end_may_be_different_ones() -> None:
    made = studied(BOARD)
    (named,) = plot_of(made, ["Q4"]).named
    assert set(named.guards) == {"W7", "W8", "W9"}
    assert named.damage is not None and named.damage.conductor.name == "W9"
    assert named.smallest is not None and named.smallest.at == "W9"
    assert [x.load.name for x in named.loads] == ["ONE", "TWO"] and named.loads[1].draws_a is None


@pytest.mark.parametrize("way", ["from A\ncable W1, 25 mm2, 3 m\nfuse F1, class T, 125 A\nto POS\n",
                                 "from POS\nfuse F1, class T, 125 A\ncable W1, 25 mm2, 3 m\nto A\n"])  # fmt: skip
def test_a_device_between_two_banks_looks_away_from_the_one_that_feeds_more(way: str) -> None:
    made = studied(
        "battery B, AGM, 12 V, 400 Ah, resistance 3 mΩ\nbus POS\nfrom B\nfuse F0, class T, 300 A\nto POS\n"
        "alternator A, 14 V, 90 A, self-limiting 100 A\n" + way
    )
    plot = plot_of(made, ["F1"])
    (named,) = plot.named
    assert named.guards == ("W1",) and [b.names for b in plot.above] == [("F0",)]
    assert named.smallest is not None and not named.smallest.part
    # what flows into the alternator's cable comes from the battery through F1
    alone = made.faults().smallest(made.design.circuit.by_name["A"].index)
    assert alone is not None and named.smallest.amps == alone.amps
    assert named.largest is not None and named.largest.amps >= named.smallest.amps


def test_stretch_before_another_device_has_no_damage_line() -> None:
    made = studied(
        "battery B, AGM, 12 V, 400 Ah, resistance 3 mΩ\nfrom B\ncable W1, 70 mm2, 0.1 m\nfuse F1, class T, 200 A\n"
        "cable W2, 70 mm2, 1 m\nbus POS\nfrom POS\ncable W3, 4 mm2, 0.1 m\nfuse F2, cartridge, 20 A\n"
        "cable W4, 4 mm2, 2 m\nload L, draws 9 A\n"
    )
    (named,) = plot_of(made, ["F1"]).named
    assert named.guards == ("W2",) and named.stretches == ("W3",)
    assert named.damage is not None and named.damage.conductor.name == "W2"


def test_missing_figures_stay_missing() -> None:
    made = studied("charger C, 14 V, 30 A, self-limiting 32 A\nfrom C\nfuse F1, ANL\ncable W1\nload L, starts 40 A\n")
    (named,) = plot_of(made, ["F1"]).named
    assert named.band.curve is None and named.damage is None and named.unsized == ("W1",)
    assert named.breaking is None and named.loads[0].draws_a is None and named.smallest is None
    assert range_a(plot_of(made, ["F1"]))[0] > 0


def test_a_missing_resistance_makes_fault_currents_unknown() -> None:
    made = studied("battery B, 12 V\nfrom B\nfuse F1, blade, 10 A\ncable W1, 2.5 mm2, 1 m\nload L, draws 4 A\n")
    (named,) = plot_of(made, ["F1"]).named
    assert named.largest is not None and named.largest.unknown
    assert named.smallest is not None and named.smallest.unknown
    rough = studied(
        "battery B, AGM, 12 V, 90 Ah\nfrom B\nfuse F1, blade, 10 A\ncable W1, 2.5 mm2, 1 m\nload L, draws 4 A\n"
    )
    (named,) = plot_of(rough, ["F1"]).named
    assert named.largest is not None and not named.largest.unknown and named.largest.leans_on


def test_alternating_current_has_no_fault_currents() -> None:
    made = study_of(
        build(
            Reader().design_text(
                'boat "Plover", 8 m, rulebook iso-13297\nsystem AC230, AC, 230 V, 50 Hz\n'
                "charger X, 230 V, 16 A, on AC230\nfrom X\nbreaker Q1, thermal-magnetic, 16 A, curve C\n"
                "cable W1, 2.5 mm2, 3 m\nload L, draws 8 A\n"
            )
        )
    )
    (named,) = plot_of(made, ["Q1"]).named
    assert named.alternating and named.smallest is None and named.largest is None and named.breaking is None
    assert named.release is not None and named.release.clause == "IEC 60898-2"


def test_no_device_is_a_key_error() -> None:
    made = studied(BOARD)
    for name in ("W1", "S1", "nothing"):
        with pytest.raises(KeyError):
            plot_of(made, [name])


@given(st.floats(1e-3, 1e6))
def test_steps_of_an_axis(amps: float) -> None:
    below, above = step_below(amps), step_above(amps)
    assert below <= amps * (1 + 1e-6) and above >= amps * (1 - 1e-6)
    assert amps < 2.51 * below and above < 2.51 * amps
    for step in (below, above):
        assert f"{step:.0e}"[0] in "125" and float(f"{step:.0e}") == pytest.approx(step)


def test_range_holds_what_is_plotted() -> None:
    made = studied(BOARD)
    for name in ("F1", "Q1", "Q2", "Q4"):
        plot = plot_of(made, [name])
        (named,) = plot.named
        least, greatest = range_a(plot)
        assert named.smallest is not None and named.largest is not None and named.breaking is not None
        for amps in (named.device.rated_a, named.smallest.amps, named.largest.amps, named.breaking.amps):
            assert amps is not None and least < amps < greatest
        assert greatest / least >= 10**2.5 * (1 - 1e-9)


def test_above_is_what_carries_the_fault() -> None:
    """A device that passes no more than a source which limits itself below its rating never opens first; and where a
    battery's own post is nearer than any device, nothing is above."""
    made = studied(
        BOARD
        + "alternator A, 14 V, 90 A, self-limiting 100 A\nfrom A\ncable W20, 25 mm2, 3 m\nfuse F9, part main, 150 A\n"
        "to POS\nfrom B\nfuse F10, part main, 60 A\ncable W21, 10 mm2, 2 m\nload HEATER, draws 30 A\n"
    )
    assert [b.names for b in plot_of(made, ["Q2"]).above] == [("F1",)]
    assert plot_of(made, ["F10"]).above == ()
    # without the battery, the alternator's is all there is
    only = studied(
        "alternator A, 14 V, 90 A, self-limiting 100 A\nfrom A\nfuse F9, class T, 150 A\nbus POS\nfrom POS\n"
        "fuse F2, blade, 10 A\ncable W2, 2.5 mm2, 2 m\nload L, draws 5 A\n"
    )
    assert [b.names for b in plot_of(only, ["F2"]).above] == [("F9",)]


@pytest.mark.parametrize("name", ["launch", "cutter", "motor-yacht"])
def test_what_a_plot_says_a_device_guards_the_table_says_too(name: str) -> None:
    from pathlib import Path

    from linter.report.devices import devices_json

    boats = Path(__file__).resolve().parents[2] / "boats"
    made = study_of(build(Reader().design(boats / f"{name}.boat")))
    table = {row["id"]: set(row["guards"]) for row in devices_json(made)["devices"]}
    assert sum(map(len, table.values())) > 20
    for device, guards in table.items():
        (named,) = plot_of(made, [device]).named
        assert set(named.guards) <= guards
        # what the table has besides lies beyond other devices, or is judged by its distance
        assert not {
            n
            for n in guards - set(named.guards)
            if n in named.stretches and made.conductors[n].verdict.value == "protected"
        }
