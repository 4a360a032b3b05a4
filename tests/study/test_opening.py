"""Which device ends a fault, and the worst heat until then: worked by hand, and against a dense scan of currents."""

from __future__ import annotations

import math
import random
from typing import Any, cast

import numpy as np
import pytest

from linter.model.build import build
from linter.source.files import Reader
from linter.study.corners import curve_corners
from linter.study.curve import Curve
from linter.study.heating import Withstand
from linter.study.opening import Clears, Openings
from linter.study.study import Study, study_of
from linter.tables.cite import Cite

NOBODY = Cite("a test", "common practice")
HEAD = 'boat "O", 9 m, rulebook iso-13297\nsystem M, 12 V\ncables, insulation 105 °C, plain\n'
# IEC 61660-1 (from memory)
SMALLEST_V, LARGEST_V = 0.95 * 1.05 * 12, 1.05 * 12


def openings_with(*curves: Curve) -> tuple[Openings, tuple[int, ...]]:
    """Devices in series with these curves, and nothing else."""
    nothing = cast(Any, None)
    made = Openings(nothing, nothing, nothing, {}, {})
    made._curves.update(enumerate(curves))
    return made, tuple(range(len(curves)))


def stands_up_to(a2s: float) -> Withstand:
    return Withstand(30.0, 160.0, 100.0, 1.0, a2s, 5.0, NOBODY)


def random_curve(chance: random.Random) -> Curve:
    """Falling points, steps among them, and energies let through beyond."""
    amps, seconds = math.exp(chance.uniform(2, 6)), math.exp(chance.uniform(-1, 9))
    slow = []
    for _ in range(chance.randint(0, 6)):
        slow.append((amps, seconds))
        if chance.random() < 0.2:
            seconds *= chance.uniform(0.01, 1)
            slow.append((amps, seconds))
        amps *= math.exp(chance.uniform(0.02, 1.2))
        seconds *= math.exp(-chance.uniform(0, 4))
    energies = sorted(
        ((math.exp(chance.uniform(3, 14)), chance.choice([math.inf, math.exp(chance.uniform(5, 10))])) for _ in range(chance.choice([0, 0, 1, 2]))),
        key=lambda pair: pair[1],
    )  # fmt: skip
    return Curve(1.0, tuple(slow), (), NOBODY, tuple(energies), chance.random() < 0.5)


def scanned(
    made: Openings, chain: tuple[int, ...], least_a: float, most_a: float, count: int = 4000
) -> dict[bool, float]:
    """The greatest heat in A²s of the moments within five seconds, told and not."""
    found: dict[bool, float] = {}
    for amps in np.geomspace(least_a, most_a, count).tolist():
        at = made.moment(chain, amps)
        if at.seconds <= 5:
            found[at.told] = max(found.get(at.told, 0.0), amps * amps * at.seconds)
    return found


@pytest.mark.parametrize("seed", range(60))
def test_the_worst_heat_is_at_a_corner(seed: int) -> None:
    """No current of a dense scan is worse, and what is said to be the worst is so at that current."""
    chance = random.Random(seed)
    made, chain = openings_with(*(random_curve(chance) for _ in range(chance.choice([1, 1, 2, 3]))))
    least_a = math.exp(chance.uniform(1, 6))
    most_a = least_a * math.exp(chance.uniform(0.1, 5))
    told, beyond = made.worst(chain, least_a, most_a, stands_up_to(1e6))
    scan = scanned(made, chain, least_a, most_a)
    for heat, is_told in ((told, True), (beyond, False)):
        assert (heat is None) <= (is_told not in scan)
        if heat is None:
            continue
        assert heat.a2s >= scan.get(is_told, 0.0) * (1 - 1e-9)
        assert least_a <= heat.moment.amps <= most_a
        at = made.moment(chain, heat.moment.amps)
        assert heat.a2s == pytest.approx(heat.moment.amps**2 * at.seconds)
        assert at.seconds <= 5 * (1 + 1e-6) and at.told == is_told


def test_the_scan_is_worth_comparing_with() -> None:
    """Most of the random ranges hold a worst moment that is told, and many one that is not."""
    told = untold = 0
    for seed in range(60):
        chance = random.Random(seed)
        made, chain = openings_with(*(random_curve(chance) for _ in range(chance.choice([1, 1, 2, 3]))))
        least_a = math.exp(chance.uniform(1, 6))
        one, other = made.worst(chain, least_a, least_a * math.exp(chance.uniform(0.1, 5)), stands_up_to(1e6))
        told, untold = told + (one is not None), untold + (other is not None)
    assert told >= 20 and untold >= 10


def test_a_corner_where_five_seconds_are_passed() -> None:
    # straight in logarithms from 50 s at 100 A to 0.5 s at 1000 A: 5 s at sqrt(100 · 1000) A
    one = Curve(50.0, ((100.0, 50.0), (1000.0, 0.5)), (), NOBODY)
    assert min(curve_corners(one, 5.0), key=lambda a: abs(a - 316)) == pytest.approx(math.sqrt(1e5))
    made, chain = openings_with(one)
    told, _ = made.worst(chain, 120, 900, stands_up_to(1e6))
    # I² t is the same all along: t falls as the square of the current
    assert told is not None and told.a2s == pytest.approx(5e5, rel=1e-6)


def test_a_peak_where_two_curves_cross() -> None:
    # one takes 4 s at any current: the heat rises; the other falls as I^-4 from 40 s at 100 A: the heat falls.
    # They cross where 40 (100/I)^4 = 4: at 100 · 10^(1/4) A
    flat = Curve(50.0, ((100.0, 4.0), (1000.0, 4.0)), (), NOBODY)
    steep = Curve(50.0, ((100.0, 40.0), (1000.0, 0.004)), (), NOBODY)
    made, chain = openings_with(flat, steep)
    told, _ = made.worst(chain, 100, 1000, stands_up_to(1e6))
    assert told is not None and told.moment.amps == pytest.approx(100 * 10**0.25, rel=1e-6)
    assert told.a2s == pytest.approx(4 * 1e4 * math.sqrt(10), rel=1e-6)


def test_the_first_in_series_ends_it_if_all_are_told() -> None:
    slow, quick = (
        Curve(10.0, ((100.0, 4.0), (1000.0, 2.0)), (), NOBODY),
        Curve(5.0, ((50.0, 3.0), (200.0, 1.0)), (), NOBODY),
    )
    made, _ = openings_with(slow, quick)
    assert (made.moment((0, 1), 200).by, made.moment((0, 1), 200).seconds) == (1, pytest.approx(1.0))
    # 500 A: the nearest's own points end at 200 A, so 1 s is a bound that nobody tells
    assert not made.moment((0, 1), 500).told and made.moment((0, 1), 500).seconds == pytest.approx(1.0)
    # whichever is nearest: the other may end it sooner than anybody says
    assert not made.moment((1, 0), 500).told and made.moment((1, 0), 150).told
    # below the points of both it is told that neither need open
    assert (made.moment((0, 1), 40).seconds, made.moment((0, 1), 40).told) == (math.inf, True)
    assert made.moment((), 40).by == -1


# ---- a circuit by hand --------------------------------------------------------------------------------------------


def study(text: str) -> Study:
    design = build(Reader().design_text(HEAD + text))
    assert [m.message for m in design.mistakes] == []
    return study_of(design)


def ways(made: Study, name: str) -> list[Clears]:
    return made.clears(made.conductors[name])


FUSE = "125 V, breaks 20 kA at 125 V, opens at 135 % in 200 s to 3600 s, opens at 500 % in 0.03 s to 0.25 s, opens at 1000 % in 0.004 s to 0.02 s"


def test_one_fuse_and_its_cable_by_hand() -> None:
    made = study(
        f"battery B, 12 V, resistance 4 mΩ\nfrom B\nfuse F1, class T, 40 A, {FUSE}\ncable W1, 10 mm2, 10 m\nload L, draws 3 A\n"
    )
    (way,) = ways(made, "W1")
    # IEC 60228: 1.91 Ω/km plain; hot (234.5 + 105)/254.5; there and back
    hot = 20 * 1.91e-3 * 339.5 / 254.5
    assert way.smallest_a == pytest.approx(SMALLEST_V / (4e-3 + hot), rel=1e-4)
    assert way.largest_a == pytest.approx(LARGEST_V / 3.6e-3, rel=1e-4)
    # 218 A: between 500 and 1000 %, straight in logarithms
    share = math.log(way.smallest_a / 200) / math.log(2)
    assert way.first.seconds == pytest.approx(0.25 * (0.02 / 0.25) ** share, rel=1e-4) and way.first.told
    # told to 400 A: 160 kA²s·0.02 = 3.2 kA²s; at 218 A more
    assert way.heat is not None and way.heat.a2s == pytest.approx(way.smallest_a**2 * way.first.seconds, rel=1e-6)
    # beyond, nobody tells: 20 ms at the largest
    assert way.beyond is not None and way.beyond.a2s == pytest.approx(way.largest_a**2 * 0.02, rel=1e-6)


def test_the_fuse_of_each_source_counts_for_what_hangs_behind_a_large_one() -> None:
    made = study(
        "battery B1, 12 V, resistance 4 mΩ\nbattery B2, 12 V, resistance 4 mΩ\nbus P\n"
        f"from B1\nfuse F1, class T, 40 A, {FUSE}\nto P\nfrom B2\nfuse F2, class T, 40 A, {FUSE}\nto P\n"
        f"from P\nfuse F3, class T, 600 A, {FUSE}\ncable W1, 16 mm2, 3 m\nload L, draws 3 A\n"
    )
    # 80 A in all guard 16 mm²; every fault opens F1 and F2 at once, though F3 would take minutes
    assert all(way.first.seconds < 0.05 for way in ways(made, "W1"))


def test_a_source_alone_brings_no_more_than_its_own_current() -> None:
    made = study(
        "battery B1, 12 V, resistance 20 mΩ\nbattery B2, 12 V, resistance 1 mΩ\nbus P\n"
        f"from B1\nfuse F1, class T, 100 A, {FUSE}\ncable W1, 16 mm2, 0.5 m\nto P\n"
        f"from B2\nfuse F2, class T, 100 A, {FUSE}, lets through 20 kA2s\ncable W2, 35 mm2, 0.5 m\nto P\nfrom P\nload L, draws 3 A\n"
    )
    # B1 alone: 12.6 V behind 18 mΩ
    alone = [w for w in ways(made, "W1") if len(w.sources) == 1 and w.largest_a < 1000]
    assert alone and all(w.largest_a == pytest.approx(LARGEST_V / 18e-3, rel=1e-3) for w in alone)


def test_what_is_not_judged_has_no_ways() -> None:
    made = study(
        f"battery B, 12 V, self-limiting 100 A\nfrom B\nfuse F1, class T, 40 A, {FUSE}\ncable W1, 10 mm2, 10 m\nload L, draws 3 A\n"
    )
    assert ways(made, "W1") == []
    # a stretch before its guard
    made = study(
        f"battery B, 12 V, resistance 4 mΩ\nfrom B\ncable W0, 10 mm2, 0.1 m\nfuse F1, class T, 40 A, {FUSE}\ncable W1, 10 mm2, 1 m\nload L, draws 3 A\n"
    )
    assert ways(made, "W0") == [] and len(ways(made, "W1")) == 1


def test_the_devices_before_a_point_are_those_on_every_way() -> None:
    made = study(
        "battery B, 12 V, resistance 4 mΩ\nbus P\nbus Q\n"
        f"from B\nfuse F0, class T, 300 A, {FUSE}\nto P\nfrom P\nfuse F1, class T, 40 A, {FUSE}\nto Q\n"
        f"from P\nfuse F2, class T, 40 A, {FUSE}\nto Q\nfrom Q\nfuse F3, class T, 40 A, {FUSE}\ncable W1, 35 mm2, 1 m\nload L, draws 3 A\n"
    )
    found = made.openings().before(made.design.circuit.by_name["L"].index)
    assert [made.design.circuit.edges[e].element.name for e in found] == ["F0", "F3"]
