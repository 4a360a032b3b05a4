"""Whether the lower device opens before the upper: by hand, and against a dense scan of the currents both may see."""

from __future__ import annotations

import math
import random
from types import SimpleNamespace
from typing import Any, cast

import numpy as np
import pytest

from linter.model.build import build
from linter.source.files import Reader
from linter.study.coordination import nearest_above, overlap, serves_it_alone
from linter.study.curve import Curve
from linter.study.opening import Openings
from linter.study.study import Study, study_of
from linter.tables.cite import Cite

NOBODY = Cite("a test", "common practice")
UPPER, LOWER = 0, 1


def openings_with(upper: Curve | None, lower: Curve | None, most_a: float) -> Openings:
    """Two devices in series through which at most ``most_a`` can flow."""
    nothing = cast(Any, None)
    faults = cast(Any, SimpleNamespace(through=lambda edge: SimpleNamespace(amps=most_a)))
    # both lead away from the sources: what flows through the lower one flows through the upper
    parts = cast(Any, SimpleNamespace(leads_to={UPPER: 1, LOWER: 2}))
    made = Openings(nothing, parts, faults, {}, {})
    made._curves.update({UPPER: upper, LOWER: lower})
    return made


def band(chance: random.Random, rated: float) -> Curve:
    amps, seconds = rated * chance.uniform(1.1, 2), math.exp(chance.uniform(0, 8))
    slow, fast = [], []
    for _ in range(chance.randint(1, 5)):
        slow.append((amps, seconds))
        fast.append((amps, seconds * chance.uniform(0.02, 1)))
        if chance.random() < 0.15:
            seconds *= 0.1
            slow.append((amps, seconds))
        amps *= math.exp(chance.uniform(0.05, 1.2))
        seconds *= math.exp(-chance.uniform(0, 3))
    falling = [(a, min(s for _, s in fast[: k + 1])) for k, (a, _) in enumerate(fast)]
    energies = ((math.exp(chance.uniform(4, 12)), chance.choice([math.inf, 3000.0])),) if chance.random() < 0.3 else ()
    return Curve(
        rated, tuple(slow), tuple(falling) if chance.random() < 0.9 else (), NOBODY, energies, chance.random() < 0.5
    )


def wrong_at(upper: Curve, lower: Curve, amps: float) -> bool:
    """The lower may still be closed when the upper may already open."""
    return lower.slowest(amps).seconds >= upper.holds(amps) * (1 - 1e-9)


@pytest.mark.parametrize("seed", range(80))
def test_the_range_is_that_of_a_dense_scan(seed: int) -> None:
    chance = random.Random(seed)
    upper, lower = band(chance, chance.choice([60.0, 100.0, 200.0])), band(chance, chance.choice([10.0, 40.0, 100.0]))
    most_a = math.exp(chance.uniform(5, 10))
    made = overlap(openings_with(upper, lower, most_a), UPPER, LOWER)
    # no more is asked than where the lower is promised to open and the upper may
    least_a = max(upper.rated_a, lower.slow[0][0]) * (1 + 1e-9)
    scan = np.geomspace(least_a, most_a, 4000).tolist() if upper.fast and most_a > least_a else []
    wrong = [a for a in scan if wrong_at(upper, lower, a)]
    if made is None:
        assert wrong == []
        return
    assert upper.fast and least_a * (1 - 1e-6) <= made.least_a <= made.greatest_a <= most_a * (1 + 1e-12)
    if wrong:
        assert made.least_a <= wrong[0] * (1 + 1e-6) and made.greatest_a >= wrong[-1] * (1 - 1e-6)
    # and at its ends it is lost indeed, and not beyond them
    little = 1e-6
    assert any(wrong_at(upper, lower, made.least_a * f) for f in (1, 1 + little))
    assert any(wrong_at(upper, lower, made.greatest_a * f) for f in (1, 1 - little))
    if made.least_a > least_a * (1 + 2 * little):
        assert not wrong_at(upper, lower, made.least_a * (1 - little))
    if made.greatest_a < most_a * (1 - 2 * little):
        assert not wrong_at(upper, lower, made.greatest_a * (1 + little))


def test_the_bands_are_worth_comparing() -> None:
    found = [
        overlap(openings_with(band(chance, 100.0), band(chance, 40.0), 5000.0), UPPER, LOWER)
        for chance in map(random.Random, range(80))
    ]
    assert 10 <= sum(f is None for f in found) <= 70


def test_two_bands_by_hand() -> None:
    # the lower's slow edge: 1 s at 100 A to 0.1 s at 1000 A; the upper's fast edge 0.5 s at 200 A to 0.05 s at 2000 A.
    # Both fall as 1/I: 100/I against 100/I: they touch from 200 A to 1000 A
    lower = Curve(40.0, ((100.0, 1.0), (1000.0, 0.1)), ((100.0, 0.5), (1000.0, 0.05)), NOBODY)
    upper = Curve(150.0, ((200.0, 9.0), (2000.0, 0.9)), ((200.0, 0.51), (2000.0, 0.051)), NOBODY)
    # above 1000 A the lower's 0.1 s stay: 102/I falls below them at 1020 A
    made = overlap(openings_with(upper, lower, 5000.0), UPPER, LOWER)
    assert made is not None and made.least_a == pytest.approx(1020, rel=1e-6) and made.greatest_a == 5000
    assert overlap(openings_with(upper, lower, 1019.0), UPPER, LOWER) is None
    # a fuse above goes on with the same I²t: 0.051 · 2000² = 204 kA²s; below lets 20 kA²s through: coordinated
    fuse = Curve(150.0, upper.slow, upper.fast, NOBODY, (), True)
    limiting = Curve(40.0, lower.slow, lower.fast, NOBODY, ((10_000.0, math.inf),))
    assert overlap(openings_with(fuse, limiting, 20_000.0), UPPER, LOWER) is None
    # a breaker above promises nothing beyond its points
    made = overlap(openings_with(upper, limiting, 20_000.0), UPPER, LOWER)
    assert made is not None and made.least_a == pytest.approx(2000, rel=1e-6)


def test_nothing_is_said_where_nothing_is_known() -> None:
    known = Curve(40.0, ((100.0, 1.0),), ((100.0, 0.5),), NOBODY)
    unknown = Curve(40.0, (), (), NOBODY)
    for upper, lower in ((known, unknown), (unknown, known), (None, known), (known, None)):
        assert overlap(openings_with(upper, lower, 5000.0), UPPER, LOWER) is None


# ---- which are above which ----------------------------------------------------------------------------------------

TREE = """battery B, 12 V, resistance 4 mΩ
battery A, 12 V, resistance 4 mΩ
bus P
bus Q
from B
fuse F1, class T, 100 A
fuse F2, class T, 80 A
to P
from A
fuse F3, class T, 90 A
to P
from P
fuse F4, class T, 60 A
to Q
from Q
fuse F5, class T, 10 A
load L, draws 1 A
from Q
load M, draws 1 A
"""


def study() -> Study:
    return study_of(build(Reader().design_text('boat "N", 9 m, rulebook iso-13297\nsystem M, 12 V\n' + TREE)))


def test_the_next_above_and_whether_it_serves_more() -> None:
    made = study()
    number = {name: edge.index for name, edge in made.design.circuit.edge_of.items()}
    openings = made.openings()
    assert nearest_above(openings, number["F5"]) == (number["F4"],)
    # each source comes by a device of its own: none of them is above all that F4 may see
    assert nearest_above(openings, number["F4"]) == ()
    assert not serves_it_alone(openings, number["F4"], number["F5"])
