"""The search for the least against every combination looked at one by one."""

from __future__ import annotations

import itertools

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from linter.advice import search
from linter.advice.clauses import Demand, Ruled
from linter.advice.narrow import cut_of, mask_of, narrowed
from linter.advice.options import Open, Option
from linter.advice.search import Solved, cost_in_all, cost_of, least
from linter.rules.finding import Finding, Severity
from linter.source.span import Span, Text

FOUND = Finding("voltage-drop", Severity.FAULT, "W1", "as found", Span(Text("a.boat", "W1"), 0, 2))


def element(name: str, weights: list[int], conductor: bool) -> Open:
    """Conductors weigh and devices are rated; of devices no two of one series are alike."""
    made = []
    for at, weight in enumerate(weights):
        figure = float(at + 1)
        copper, rank = (weight / 1000, (figure,)) if conductor else (0.0, (float(weight), 0.0))
        made.append(Option(f"{name} {at}", (), copper, rank, figure))
    return Open(name, tuple(made), conductor)


@st.composite
def problems(draw: st.DrawFn) -> tuple[list[Open], list[Ruled]]:
    count = draw(st.integers(1, 4))
    opens = [
        element(f"E{i}", draw(st.lists(st.integers(0, 6), min_size=1, max_size=4)), draw(st.booleans()))
        for i in range(count)
    ]
    ruled = []
    for at in range(draw(st.integers(0, 12))):
        named = draw(st.sets(st.integers(0, count - 1), min_size=1))
        summed = draw(st.sets(st.sampled_from(sorted(named)))) if draw(st.booleans()) else set()
        within = tuple(
            (v, frozenset(draw(st.sets(st.integers(0, len(opens[v].options) - 1), min_size=1))))
            for v in sorted(named - summed)
        )
        parts = tuple((v, tuple(float(draw(st.integers(0, 5))) for _ in opens[v].options)) for v in sorted(summed))
        # between two sums, so that it does not hang on the last digit
        most = draw(st.integers(0, 8)) + 0.5 if parts else float("-inf")
        ruled.append(Ruled(Demand("voltage-drop", f"W{at}"), within, FOUND, parts, most))
    return opens, ruled


def by_hand(opens: list[Open], ruled: list[Ruled]) -> tuple[int, float] | None:
    """The least cost of all combinations that nothing bars."""
    every = itertools.product(*(range(len(o.options)) for o in opens))
    return min((cost_in_all(opens, c) for c in every if not any(r.bars(c) for r in ruled)), default=None)


@pytest.mark.parametrize("looked_at", [60_000, 0], ids=["looked at", "program"])
@given(problem=problems())
@settings(max_examples=250, deadline=None)
def test_as_every_combination(looked_at: int, problem: tuple[list[Open], list[Ruled]]) -> None:
    opens, ruled = problem
    kept, search.LOOKED_AT = search.LOOKED_AT, looked_at
    try:
        choice, core = least(opens, ruled, Solved())
    finally:
        search.LOOKED_AT = kept
    expected = by_hand(opens, ruled)
    if expected is None:
        assert choice is None
        assert by_hand(opens, core) is None
        return
    assert choice is not None
    assert not any(r.bars(choice) for r in ruled)
    assert cost_in_all(opens, choice)[0] == expected[0]
    assert cost_in_all(opens, choice)[1] == pytest.approx(expected[1])


@given(problem=problems())
@settings(max_examples=250, deadline=None)
def test_narrowing_loses_no_least_choice(problem: tuple[list[Open], list[Ruled]]) -> None:
    opens, ruled = problem
    every = {v: mask_of(range(len(o.options))) for v, o in enumerate(opens)}
    costs = {v: [cost_of(o, i) for i in range(len(o.options))] for v, o in enumerate(opens)}
    left = narrowed(every, [cut_of(r) for r in ruled], costs)
    expected = by_hand(opens, ruled)
    if left is None:
        assert expected is None
        return
    inside = [
        cost_in_all(opens, c)
        for c in itertools.product(*(range(len(o.options)) for o in opens))
        if all(left.options[v] >> o & 1 for v, o in enumerate(c)) and not any(r.bars(c) for r in ruled)
    ]
    assert min(inside, default=None) == expected


def test_what_is_settled_by_itself_needs_no_search() -> None:
    """Of two conductors, one barred from all but its largest size, the other named with it at its smallest only."""
    opens = [element("A", [1, 2, 3], True), element("B", [1, 2, 3], True)]
    ruled = [
        Ruled(Demand("voltage-drop", "A"), ((0, frozenset({0, 1})),), FOUND),
        Ruled(Demand("voltage-drop", "B"), ((0, frozenset({0, 1, 2})), (1, frozenset({0}))), FOUND),
    ]
    costs = {v: [cost_of(o, i) for i in range(3)] for v, o in enumerate(opens)}
    left = narrowed({0: 0b111, 1: 0b111}, [cut_of(r) for r in ruled], costs)
    assert left is not None
    assert left.options == {0: 0b100, 1: 0b010}
    assert not left.cuts
