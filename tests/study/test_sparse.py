"""The nodal solver against numpy's inverse and against networks whose resistance is known by formula."""

from __future__ import annotations

import math
import random

import numpy as np
import pytest

from linter.study import sparse
from linter.study.sparse import Factor, TooDense, factor

Ties = list[dict[int, float]]


def mesh(chance: random.Random, nodes: int, more: int, apart: float) -> tuple[list[float], Ties]:
    """A random connected network; conductances span ``apart`` powers of ten."""
    ties: Ties = [{} for _ in range(nodes)]

    def tie(u: int, v: int) -> None:
        siemens = 10 ** chance.uniform(-apart / 2, apart / 2)
        ties[u][v] = ties[v][u] = ties[u].get(v, 0.0) + siemens

    for i in range(1, nodes):
        tie(chance.randrange(max(0, i - 5), i), i)
    for _ in range(more):
        tie(*chance.sample(range(nodes), 2))
    earth = [0.0] * nodes
    for i in chance.sample(range(nodes), chance.randrange(1, min(4, nodes) + 1)):
        earth[i] = 10 ** chance.uniform(-1, 3)
    return earth, ties


def dense(earth: list[float], ties: Ties) -> np.ndarray:
    matrix = np.diag(np.array(earth))
    for u, row in enumerate(ties):
        for v, siemens in row.items():
            matrix[u, u] += siemens
            matrix[u, v] -= siemens
    return matrix


def factored(earth: list[float], ties: Ties) -> Factor:
    return factor(list(earth), [dict(row) for row in ties])


@pytest.mark.parametrize("seed", range(40))
def test_inverse_and_solution_against_numpy(seed: int) -> None:
    chance = random.Random(seed)
    nodes = chance.randrange(2, 60)
    earth, ties = mesh(chance, nodes, chance.randrange(nodes), 4)
    inverse = np.linalg.inv(dense(earth, ties))
    made = factored(earth, ties)
    selected = made.selected()
    assert selected.own == pytest.approx(list(np.diag(inverse)), rel=1e-9)
    compared = 0
    for u, row in enumerate(ties):
        for v in row:
            assert selected.to[u][v] == pytest.approx(inverse[u, v], rel=1e-9)
            assert selected.to[v][u] == selected.to[u][v]
            compared += 1
    assert compared >= 2 * (nodes - 1)
    injected = [chance.uniform(0, 100) for _ in range(nodes)]
    assert made.solve(injected) == pytest.approx(list(inverse @ np.array(injected)), rel=1e-9)


def test_accuracy_does_not_suffer_from_conductances_far_apart() -> None:
    """A row of resistors of 1 Ω and of 100 pΩ by turns, earthed at one end: the resistances simply add up."""
    count = 400
    ties: Ties = [{} for _ in range(count)]
    ohm = [0.5]
    for i in range(1, count):
        step = 1.0 if i % 2 else 1e-10
        ties[i - 1][i] = ties[i][i - 1] = 1 / step
        ohm.append(ohm[-1] + step)
    selected = factored([2.0] + [0.0] * (count - 1), ties).selected()
    assert selected.own == pytest.approx(ohm, rel=1e-12)
    assert all(selected.to[i][i - 1] == pytest.approx(ohm[i - 1], rel=1e-12) for i in range(1, count))


def test_a_ring_of_equal_resistors() -> None:
    """n resistors of R in a ring, earthed at one node over r: at k steps from it, r + R k (n - k) / n."""
    n, ohm, earth_ohm = 12, 0.3, 0.02
    ties: Ties = [{(i - 1) % n: 1 / ohm, (i + 1) % n: 1 / ohm} for i in range(n)]
    own = factored([1 / earth_ohm] + [0.0] * (n - 1), ties).selected().own
    assert own == pytest.approx([earth_ohm + ohm * k * (n - k) / n for k in range(n)], rel=1e-12)


def test_a_node_that_hangs_free_is_an_error() -> None:
    with pytest.raises(ValueError, match="tied to earth over nothing"):
        factor([1.0, 0.0, 0.0], [{}, {2: 1.0}, {1: 1.0}])


def test_a_mesh_that_is_too_dense_is_refused(monkeypatch: pytest.MonkeyPatch) -> None:
    n = 12
    earth, ties = [1.0] * n, [{j: 1.0 for j in range(n) if j != i} for i in range(n)]
    whole = factored(earth, ties).selected().own
    # all nodes alike: the inverse of (1 + n) I - J is (I + J) / (1 + n)
    assert whole == pytest.approx([2 / (1 + n)] * n, rel=1e-12)
    monkeypatch.setattr(sparse, "GREATEST_WORK", 100)
    with pytest.raises(TooDense):
        factored(earth, ties)


@pytest.mark.parametrize("shape", ["row", "ring", "ladder"])
def test_work_grows_with_the_mesh_and_not_with_its_square(shape: str) -> None:
    """Counted in shares of the factor: what is solved and inverted is as much."""

    def shares(n: int) -> int:
        ties: Ties = [{} for _ in range(n)]
        pairs = [(i, i + 1) for i in range(n - 1)]
        if shape == "ring":
            pairs.append((n - 1, 0))
        if shape == "ladder":
            pairs += [(i, i + 2) for i in range(n - 2)]
        for u, v in pairs:
            ties[u][v] = ties[v][u] = 1.0
        made = factored([1.0] + [0.0] * (n - 1), ties)
        assert math.isfinite(made.selected().own[-1])
        return sum(len(s) for s in made.shares)

    assert shares(4000) <= 1.05 * 10 * shares(400)
