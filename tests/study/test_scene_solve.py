"""Pieces of network solved: against what is known by hand, scipy, all states tried out, and ngspice."""

from __future__ import annotations

import itertools
import math
import random
import re
import shutil
import subprocess

import numpy as np
import pytest
from scipy.optimize import root

from linter.study.impedance import NIL_OHM
from linter.study.scene_elimination import Elimination, Way
from linter.study.scene_solve import Balance, Feed, Problem, Solver, greatest_share, solve


def way(u: int, v: int, ohm: float) -> Way:
    return Way(u, v, ohm)


# ---- by hand ----------------------------------------------------------------------------------------------------


@pytest.mark.parametrize("ohm", [0.001, 0.01, 0.3])
@pytest.mark.parametrize("share", [0.1, 0.5, 0.9, 0.999999, 1 - 1e-9])
def test_constant_power_behind_a_resistance_is_the_root_of_its_quadratic(ohm: float, share: float) -> None:
    # V (E - V) / R = P has its upper root at (E + sqrt(E² - 4 R P)) / 2; the greatest P is E² / 4 R
    watts = 12**2 / (4 * ohm) * share
    found = solve(Problem(2, [way(0, 1, ohm - NIL_OHM)], [Feed(0, 12, 0)], {}, {1: watts}))
    assert found is not None
    assert found.volts[1] == pytest.approx((12 + math.sqrt(144 - 4 * ohm * watts)) / 2, rel=1e-7)
    assert found.residual_a < 1e-5


@pytest.mark.parametrize("ohm", [0.001, 0.01, 0.3])
@pytest.mark.parametrize("over", [1e-9, 1e-6, 0.01, 1, 100])
def test_beyond_the_greatest_power_there_is_no_solution_and_it_is_known_how_much_there_is(
    ohm: float, over: float
) -> None:
    watts = 12**2 / (4 * ohm) * (1 + over)
    problem = Problem(2, [way(0, 1, ohm - NIL_OHM)], [Feed(0, 12, 0)], {}, {1: watts})
    assert solve(problem) is None
    share, at_limit = greatest_share(problem)
    assert share == pytest.approx(1 / (1 + over), abs=1e-8)
    assert at_limit is not None and at_limit.volts[1] == pytest.approx(6, rel=1e-3)


def test_constant_current_and_constant_power_on_one_feeder() -> None:
    # 12 V, 10 mΩ to both, 20 A and 300 W: V² - (12 - 0.2) V + 3 = 0
    found = solve(Problem(2, [way(0, 1, 0.01 - NIL_OHM)], [Feed(0, 12, 0)], {1: 20}, {1: 300}))
    assert found is not None
    assert found.volts[1] == pytest.approx((11.8 + math.sqrt(11.8**2 - 12)) / 2, rel=1e-9)


def test_a_current_that_would_turn_the_voltage_cannot_be_carried() -> None:
    assert solve(Problem(2, [way(0, 1, 1.0)], [Feed(0, 12, 0)], {1: 11.9})) is not None
    assert solve(Problem(2, [way(0, 1, 1.0)], [Feed(0, 12, 0)], {1: 12.1})) is None


def test_two_batteries_share_by_their_resistances() -> None:
    found = solve(Problem(1, [], [Feed(0, 12.8, 0.004), Feed(0, 12.0, 0.008)], {0: 50}))
    assert found is not None
    # (12.8/4m + 12/8m - 50) / (1/4m + 1/8m) = (3200 + 1500 - 50) / 375
    assert found.volts[0] == pytest.approx(4650 / 375)
    assert found.feeds_a == pytest.approx([(12.8 - 12.4) / 0.004, (12.0 - 12.4) / 0.008])


def test_a_regulated_source_holds_its_voltage_up_to_its_limit_and_then_gives_no_more() -> None:
    def at(amps: float) -> Balance | None:
        return solve(Problem(1, [], [Feed(0, 12.5, 0.01), Feed(0, 14.4, 0, 40, takes=False)], {0: amps}))

    # the battery takes what is left: 14.4 = 12.5 + 0.01 I would need 190 A; 40 A are given
    charging = at(10)
    assert charging is not None and charging.feeds_a == pytest.approx([-30, 40])
    assert charging.volts[0] == pytest.approx(12.5 + 0.3)
    discharging = at(100)
    assert discharging is not None and discharging.feeds_a == pytest.approx([60, 40])
    alone = solve(Problem(1, [], [Feed(0, 14.4, 0, 40, takes=False)], {0: 39}))
    assert alone is not None and alone.volts[0] == pytest.approx(14.4, abs=1e-5)
    assert solve(Problem(1, [], [Feed(0, 14.4, 0, 40, takes=False)], {0: 41})) is None


def test_of_two_regulated_sources_the_higher_gives_first() -> None:
    feeds = [Feed(0, 14.4, 0, 40, takes=False), Feed(0, 14.0, 0, 60, takes=False)]
    low = solve(Problem(1, [], feeds, {0: 30}))
    assert low is not None and low.feeds_a == pytest.approx([30, 0], abs=1e-6)
    high = solve(Problem(1, [], feeds, {0: 70}))
    assert high is not None and high.feeds_a == pytest.approx([40, 30], abs=1e-6)
    power = solve(Problem(1, [], feeds, {}, {0: 70 * 14.0}))
    assert power is not None and power.feeds_a == pytest.approx([40, 30], abs=1e-3)
    assert solve(Problem(1, [], feeds, {}, {0: 101 * 14.0})) is None


def test_a_diode_lets_current_pass_one_way_at_the_cost_of_its_drop() -> None:
    # two banks behind a diode each; only the higher one gives
    problem = Problem(
        3,
        [Way(0, 2, 0.01, 0.8, True), Way(1, 2, 0.01, 0.8, True)],
        [Feed(0, 12.8, 0.002), Feed(1, 12.0, 0.002)],
        {2: 10},
    )
    found = solve(problem)
    assert found is not None
    assert found.volts[2] == pytest.approx(12.8 - 0.8 - 10 * 0.012)
    assert found.ways_a == pytest.approx([10, 0], abs=1e-6)
    backwards = Problem(2, [Way(1, 0, 0.01, 0.8, True)], [Feed(0, 12.8, 0.002)], {1: 10})
    assert solve(backwards) is None


# ---- random networks --------------------------------------------------------------------------------------------


def network(chance: random.Random, states: bool = False) -> Problem:
    """Connected, meshed, with batteries and loads of both kinds; with ``states`` diodes and regulated sources too."""
    count = chance.randint(3, 14)
    ways = [way(chance.randrange(n), n, chance.choice([0.0, 1e-4, 0.002, 0.02, 0.1])) for n in range(1, count)]
    for _ in range(chance.randint(0, count // 2)):
        u, v = chance.sample(range(count), 2)
        ways.append(way(u, v, chance.choice([1e-4, 0.005, 0.03])))
    feeds = [Feed(chance.randrange(count), chance.uniform(12, 13), chance.uniform(0.002, 0.02))]
    feeds += [
        Feed(chance.randrange(count), chance.uniform(12, 13), chance.uniform(0.002, 0.02))
        for _ in range(chance.randint(0, 2))
    ]
    if states:
        for _ in range(chance.randint(1, 3)):
            u, v = chance.sample(range(count), 2)
            ways.append(Way(u, v, chance.uniform(0.001, 0.02), chance.choice([0.0, 0.3, 0.8]), True))
        for _ in range(chance.randint(1, 2)):
            feeds.append(
                Feed(
                    chance.randrange(count),
                    chance.uniform(11.5, 14.4),
                    chance.uniform(0.001, 0.02),
                    chance.uniform(5, 60),
                    chance.random() < 0.3,
                )
            )
    amps = {n: chance.uniform(0.1, 20) for n in range(count) if chance.random() < 0.4}
    watts = {n: chance.uniform(1, 150) for n in range(count) if chance.random() < 0.4}
    return Problem(count, ways, feeds, amps, watts)


def left_over(problem: Problem, volts: list[float]) -> list[float]:
    """What does not cancel at each node, A: every element by its own law, written without the solver's."""
    left = [0.0] * problem.count
    for w in problem.ways:
        amps = (volts[w.u] - volts[w.v] - w.drop_v) / max(w.ohm, NIL_OHM)
        if w.one_way:
            amps = max(0.0, amps)
        left[w.u] -= amps
        left[w.v] += amps
    for f in problem.feeds:
        amps = min((f.volts - volts[f.node]) / max(f.ohm, NIL_OHM), f.limit_a)
        left[f.node] += amps if f.takes else max(0.0, amps)
    for node, amps in problem.amps.items():
        left[node] -= amps
    for node, watts in problem.watts.items():
        left[node] -= watts / volts[node]
    return left


@pytest.mark.parametrize("states", [False, True])
def test_currents_cancel_at_every_node(states: bool) -> None:
    solved = 0
    for seed in range(300):
        problem = network(random.Random(seed), states)
        found = solve(problem)
        if found is None:
            continue
        solved += 1
        assert max(map(abs, left_over(problem, found.volts))) < 2e-5
        assert found.residual_a < 2e-5
    assert solved > 200


def test_agrees_with_a_general_root_finder() -> None:
    compared = 0
    for seed in range(150):
        problem = network(random.Random(5000 + seed))
        found = solve(problem)
        if found is None:
            continue
        size = problem.count
        matrix, given = np.zeros((size, size)), np.zeros(size)
        for w in problem.ways:
            siemens = 1 / max(w.ohm, NIL_OHM)
            matrix[[w.u, w.v], [w.u, w.v]] += siemens
            matrix[w.u, w.v] -= siemens
            matrix[w.v, w.u] -= siemens
        for f in problem.feeds:
            matrix[f.node, f.node] += 1 / f.ohm
            given[f.node] += f.volts / f.ohm
        for node, amps in problem.amps.items():
            given[node] -= amps
        power = np.array([problem.watts.get(n, 0.0) for n in range(size)])
        inverse = np.linalg.inv(matrix)
        # V = G⁻¹ (b - P / V): scaled so, a nil resistance costs no figures
        judged = root(
            lambda v: v - inverse @ (given - power / v),  # noqa: B023
            np.full(size, 13.0),
            jac=lambda v: np.eye(size) - inverse * (power / v**2),  # noqa: B023
            tol=1e-12,
        )
        assert judged.success
        assert found.volts == pytest.approx(list(judged.x), rel=1e-6)
        compared += 1
    assert compared > 100


def test_more_load_never_raises_a_voltage_and_the_share_that_is_carried_is_the_greatest() -> None:
    beyond = 0
    for seed in range(60):
        problem = network(random.Random(9000 + seed))
        if not problem.watts:
            continue
        before = solve(problem)
        if before is None:
            continue
        for factor in (2.0, 5.0, 20.0, 100.0):
            now = Problem(
                problem.count, problem.ways, problem.feeds, problem.amps,
                {n: w * factor for n, w in problem.watts.items()},
            )  # fmt: skip
            found = solve(now)
            if found is None:
                share, at_limit = greatest_share(now)
                scaled = {n: w * share * (1 + 1e-6) for n, w in now.watts.items()}
                more = {n: a * share * (1 + 1e-6) for n, a in now.amps.items()}
                assert at_limit is not None
                assert solve(Problem(now.count, now.ways, now.feeds, more, scaled)) is None
                beyond += 1
                break
            assert all(b <= a + 1e-9 for a, b in zip(before.volts, found.volts, strict=True))
            before = found
    assert beyond > 20


def test_states_of_diodes_and_sources_against_all_of_them_tried_out() -> None:
    """With constant currents alone every choice of states is a linear system; exactly one fits itself."""
    compared = 0
    for seed in range(200):
        problem = network(random.Random(20_000 + seed), states=True)
        problem.watts = {}
        fits = brute_force(problem)
        found = solve(problem)
        if not fits or min(fits[0][n] for n in problem.amps or [0]) < 0.5:
            continue
        assert found is not None
        for volts in fits:
            assert found.volts == pytest.approx(volts, abs=1e-5)
        compared += 1
    assert compared > 100


def brute_force(problem: Problem) -> list[list[float]]:
    diodes = [i for i, w in enumerate(problem.ways) if w.one_way]
    moving = [i for i, f in enumerate(problem.feeds) if not f.takes or f.limit_a < math.inf]
    fits = []
    for conducting in itertools.product((False, True), repeat=len(diodes)):
        for modes in itertools.product(("off", "hold", "limit"), repeat=len(moving)):
            size = problem.count
            matrix, given = np.eye(size) * 1e-9, np.zeros(size)
            for i, w in enumerate(problem.ways):
                if i in diodes and not conducting[diodes.index(i)]:
                    continue
                s = 1 / max(w.ohm, NIL_OHM)
                matrix[[w.u, w.v], [w.u, w.v]] += s
                matrix[w.u, w.v] -= s
                matrix[w.v, w.u] -= s
                given[w.u] += w.drop_v * s
                given[w.v] -= w.drop_v * s
            for i, f in enumerate(problem.feeds):
                mode = modes[moving.index(i)] if i in moving else "hold"
                if mode == "hold":
                    matrix[f.node, f.node] += 1 / f.ohm
                    given[f.node] += f.volts / f.ohm
                elif mode == "limit":
                    given[f.node] += f.limit_a
            for node, amps in problem.amps.items():
                given[node] -= amps
            volts = list(np.linalg.solve(matrix, given))
            if max(map(abs, left_over(problem, volts))) < 1e-4:
                fits.append(volts)
    return fits


def test_the_slow_and_sure_way_comes_to_the_same() -> None:
    compared = 0
    for seed in range(60):
        problem = network(random.Random(30_000 + seed), states=True)
        found = solve(problem)
        sure = Solver(problem)._surely()
        assert (found is None) == (sure is None)
        if found is not None and sure is not None:
            assert found.volts == pytest.approx(sure.volts, rel=1e-6)
            compared += 1
    assert compared > 30


def test_resistances_to_the_reference_are_the_diagonal_of_the_inverse() -> None:
    for seed in range(100):
        chance = random.Random(seed)
        problem = network(chance)
        ground = [0.0] * problem.count
        for node in chance.sample(range(problem.count), chance.randint(1, problem.count)):
            ground[node] = chance.uniform(0.1, 1000)
        matrix = np.diag(ground)
        siemens = [1 / max(w.ohm, 1e-4) for w in problem.ways]
        for w, s in zip(problem.ways, siemens, strict=True):
            matrix[[w.u, w.v], [w.u, w.v]] += s
            matrix[w.u, w.v] -= s
            matrix[w.v, w.u] -= s
        walk = Elimination(problem.count, problem.ways)
        walk.conductances(siemens)
        assert walk.solve(list(ground), [0.0] * problem.count) is not None
        assert walk.own_resistances() == pytest.approx(list(np.diag(np.linalg.inv(matrix))), rel=1e-8)


def test_elimination_of_a_tree_makes_nothing_new() -> None:
    chance = random.Random(1)
    count = 3000
    ways = [way(chance.randrange(max(0, n - 20), n), n, 0.01) for n in range(1, count)]
    walk = Elimination(count, ways)
    assert len(walk.leaves) == count - 1
    assert walk.rest_ways == []


# ---- ngspice ----------------------------------------------------------------------------------------------------


def spice(problem: Problem) -> list[float]:
    """ngspice's operating point; loads of constant power are behavioural current sources I = P / V."""
    cards = ["* load flow"]
    for i, w in enumerate(problem.ways):
        cards.append(f"R{i} n{w.u} n{w.v} {max(w.ohm, NIL_OHM):.12g}")
    for i, f in enumerate(problem.feeds):
        cards += [f"V{i} s{i} 0 {f.volts:.12g}", f"RS{i} s{i} n{f.node} {f.ohm:.12g}"]
    for node, amps in problem.amps.items():
        cards.append(f"I{node} n{node} 0 {amps:.12g}")
    for node, watts in problem.watts.items():
        cards.append(f"B{node} n{node} 0 I={watts:.12g}/V(n{node})")
    cards += [f".nodeset v(n{n})=12.5" for n in range(problem.count)]
    cards += [".options reltol=1e-9 abstol=1e-9 vntol=1e-9 gmin=1e-15 itl1=500", ".op", ".end"]
    done = subprocess.run(
        ["ngspice", "-b"],
        input="\n".join(cards) + "\n.control\nop\nprint all\n.endc\n",
        capture_output=True,
        text=True,
        check=False,
    )
    values = dict(re.findall(r"^\s*(n\d+)\s+=?\s*([-+]?\d[\d.]*(?:e[-+]?\d+)?)\s*$", done.stdout, re.MULTILINE))
    return [float(values[f"n{n}"]) for n in range(problem.count)]


@pytest.mark.skipif(shutil.which("ngspice") is None, reason="ngspice is not installed")
def test_constant_power_against_ngspice() -> None:
    compared = 0
    for seed in range(30):
        problem = network(random.Random(40_000 + seed))
        found = solve(problem)
        if found is None or min(found.volts) < 7:
            continue
        assert found.volts == pytest.approx(spice(problem), rel=1e-3)
        compared += 1
    assert compared > 15
