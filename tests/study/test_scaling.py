"""How the work of the study grows with the design, counted in nodes visited, flows asked for and cases, not in time."""

from __future__ import annotations

from collections.abc import Callable

import pytest

from linter.model.build import build
from linter.source.files import Reader
from linter.source.parser import parse
from linter.study import cases, letthrough
from linter.study.flow import FlowNetwork
from linter.study.study import Study, study_of

HEAD = """boat "T", 9 m, rulebook iso-13297
system DC12, 12 V
cables, insulation 105 °C
battery A, AGM, 12 V, 100 Ah
"""
FEED = """from A
fuse F0, ANL, 300 A
cable W0, 50 mm2, 1 m
to {}
"""
RATINGS = (5, 10, 15, 20, 30)


def parallel(n: int) -> str:
    ways = (f"from N\nfuse F{i}, blade, 10 A\ncable W{i}, 2.5 mm2, 2 m\nto Q\n" for i in range(1, n + 1))
    return HEAD + "bus N\nbus Q\n" + FEED.format("N") + "".join(ways)


def ring(n: int) -> str:
    joints = "".join(f"joint J{i}\n" for i in range(n))
    ways = (f"from J{i}\ncable C{i}, 2.5 mm2, 2 m\ndiode D{i}\nto J{(i + 1) % n}\n" for i in range(n))
    return HEAD + joints + FEED.format("J0") + "".join(ways)


def selectors(n: int) -> str:
    each = (
        f"selector S{i}, positions off 1 2\nfrom N\nto S{i} 1\nfrom N\nto S{i} 2\n"
        f"from S{i}\ncable C{i}, 2.5 mm2, 2 m\nload L{i}, draws 5 A\n"
        for i in range(n)
    )
    return HEAD + "bus N\n" + FEED.format("N") + "".join(each)


def grid(side: int) -> str:
    text = HEAD + "".join(f"bus B{i}-{j}\n" for i in range(side) for j in range(side)) + FEED.format("B0-0")
    number = 0
    for i in range(side):
        for j in range(side):
            for x, y in ((i + 1, j), (i, j + 1)):
                if x < side and y < side:
                    number += 1
                    rating = RATINGS[(7 * i + 3 * j + x) % 5]
                    text += (
                        f"from B{i}-{j}\nfuse F{number}, blade, {rating} A\ncable W{number}, 1 mm2, 1 m\nto B{x}-{y}\n"
                    )
    return text


def studied(text: str) -> Study:
    design = build(Reader().design_text(text))
    assert [m.message for m in design.mistakes] == []
    return study_of(design)


def visited(text: str, monkeypatch: pytest.MonkeyPatch) -> tuple[int, int]:
    """How many nodes all flow searches of a study came to, and how many edges the circuit has."""
    made: list[FlowNetwork] = []

    class Counted(FlowNetwork):
        def __init__(self, nodes: int) -> None:
            super().__init__(nodes)
            made.append(self)

    with monkeypatch.context() as patch:
        patch.setattr(letthrough, "FlowNetwork", Counted)
        study = studied(text)
    return sum(network.visited for network in made), len(study.net.u)


@pytest.mark.parametrize(("design", "n"), [(parallel, 20), (ring, 20), (selectors, 20), (grid, 5)])
def test_searches_grow_no_faster_than_the_square(
    design: Callable[[int], str], n: int, monkeypatch: pytest.MonkeyPatch
) -> None:
    larger = 2 * n if design is grid else 4 * n
    (small, few), (large, many) = visited(design(n), monkeypatch), visited(design(larger), monkeypatch)
    assert small > 0
    assert large <= 1.1 * small * (many / few) ** 2


@pytest.mark.parametrize("design", [parallel, ring, selectors])
def test_few_supplies_are_asked_for_each_exposed_conductor(
    design: Callable[[int], str], monkeypatch: pytest.MonkeyPatch
) -> None:
    asked = 0
    supply = letthrough.LetThrough.supply

    def counted(self: letthrough.LetThrough, node: int, removed: frozenset[int]) -> float:
        nonlocal asked
        asked += 1
        return supply(self, node, removed)

    monkeypatch.setattr(letthrough.LetThrough, "supply", counted)
    study = studied(design(40))
    assert 0 < asked <= 3 * len(study.net.u)


def many_scenes(scenes: int, free: int) -> str:
    return selectors(free) + "".join(f'scene "s{i}", L{i % free}\n' for i in range(scenes))


def test_few_scenes_are_reckoned_in_every_position() -> None:
    study = studied(many_scenes(2, 3))
    design = study.design
    # three selectors with 1 and 2; both scenes, and what stands in no scene
    assert len(cases.cases_of(design, study.parts.leads_to)) == 3 * 2**3
    assert study.remarks == []


@pytest.mark.parametrize(
    ("greatest", "expected", "said"),
    [(24 * 17, 24, ""), (24 * 17 - 1, 18, "each selector in turn"), (18 * 17 - 1, 3, "every selector closed")],
)
def test_cases_are_bounded_in_total(greatest: int, expected: int, said: str, monkeypatch: pytest.MonkeyPatch) -> None:
    """Three times eight combinations, six positions in turn, or one; 17 edges: the feed's two, five a selector."""
    monkeypatch.setattr(cases, "GREATEST_WORK", greatest)
    study = studied(many_scenes(2, 3))
    assert len(study.net.u) == 17
    assert len(cases.cases_of(study.design, study.parts.leads_to)) == expected
    assert [said in r for r in study.remarks] == ([True] if said else [])


def test_what_a_scene_says_holds_however_many_selectors_it_leaves_open(monkeypatch: pytest.MonkeyPatch) -> None:
    text = selectors(3) + 'scene "s", L0, L1, L2, S0 at off\n'
    monkeypatch.setattr(cases, "GREATEST_WORK", 1)
    study = studied(text)
    assert "C0" not in {study.net.circuit.edges[e].element.name for e, c in study.loads.items() if c.case == "s"}
    assert study.loads[study.net.circuit.edge_of["C1"].index].case == "s"


def test_selectors_in_a_large_mesh_are_taken_as_closed_together(monkeypatch: pytest.MonkeyPatch) -> None:
    """Beyond the work allowed no conductor's let-through is less than position by position, and a remark says so."""
    text = grid(4) + "".join(
        f"selector S{i}, positions 1 2\nfrom B{i}-0\nfuse X{i}, blade, 10 A\nto S{i} 1\n"
        f"from B0-{i}\nfuse Y{i}, blade, 15 A\nto S{i} 2\nfrom S{i}\ncable C{i}, 2.5 mm2, 2 m\nto B3-{i}\n"
        for i in range(4)
    )
    exact = studied(text)
    monkeypatch.setattr(letthrough, "GREATEST_VISITED", 10)
    bounded = studied(text)
    assert exact.remarks == []
    assert ["closed at once" in r for r in bounded.remarks] == [True]
    pairs = [(made.let_through_a, bounded.conductors[name].let_through_a) for name, made in exact.conductors.items()]
    assert all(one <= other for one, other in pairs)
    assert any(one < other for one, other in pairs)


def test_a_row_of_commas_is_one_mistake() -> None:
    counts = [len(parse("x", "bus N" + "," * n + " 100 A\n").mistakes) for n in (1, 2, 3, 3000)]
    assert counts == [0, 1, 1, 1]
