"""The ways from the sources, against every simple path that networkx lists."""

from __future__ import annotations

import random
from pathlib import Path

import networkx as nx
import pytest

from linter.drawing import page_ways
from linter.drawing.page_ways import owner, ways
from linter.model.build import build
from linter.model.circuit import Circuit
from linter.source.files import Reader


def listed(circuit: Circuit, name: str) -> set[str]:
    """The elements on the simple paths from a point tied to all sources to the element's own points."""
    graph = nx.DiGraph()
    for node in circuit.nodes:
        if node.source is not None:
            graph.add_edge("S", node.index)
    for edge in circuit.edges:
        ends = [(edge.u, edge.v)] if edge.one_way else [(edge.u, edge.v), (edge.v, edge.u)]
        for a, b in ends:
            graph.add_edges_from([(a, ("edge", edge.index)), (("edge", edge.index), b)])
    targets = [n.index for n in circuit.nodes if owner(n) == name and n.kind != "converter output"]
    targets += [("edge", e.index) for e in circuit.edges if e.element.name == name and e.kind != "link"]
    found: set[str] = set()
    for target in targets:
        if target not in graph or "S" not in graph:
            continue
        for path in nx.all_simple_paths(graph, "S", target):
            if not closed_at_once(circuit, path):
                continue
            for point in path[1:]:
                if isinstance(point, tuple):
                    edge = circuit.edges[point[1]]
                    found.add("" if edge.kind == "link" else edge.element.name)
                else:
                    found.add(owner(circuit.nodes[point]))
    return found - {""}


def closed_at_once(circuit: Circuit, path: list[object]) -> bool:
    """Whether a path leads through no selector in two positions, where it has no position for both."""
    through: dict[str, set[str]] = {}
    for point in path:
        edge = circuit.edges[point[1]] if isinstance(point, tuple) else None
        if edge is not None and edge.position and "both" not in edge.element.positions:  # type: ignore[attr-defined]
            through.setdefault(edge.element.name, set()).add(edge.position)
    return all(len(positions) == 1 for positions in through.values())


@pytest.mark.parametrize("boat", ["boats/launch.boat", "tests/broken/launch-as-found.boat"])
def test_ways_are_the_simple_paths(boat: str) -> None:
    design = build(Reader(None).design(boat))
    found = ways(design.circuit)
    assert len(found) > 50
    for name in design.elements:
        way = found.get(name)
        assert set(way.elements if way else ()) == listed(design.circuit, name), name


def with_selectors(seed: int) -> str:
    """A few points joined by chance, by cables and selectors."""
    make = random.Random(seed)
    lines = ['boat "C"', "system MAIN, 12 V, negative earthed", "battery B1, 12 V", "battery B2, 12 V"]
    buses = [f"P{n}" for n in range(5)]
    lines += [f"bus {b}" for b in buses]
    free: list[str] = []
    for n in range(make.randint(1, 3)):
        both = " both" if make.random() < 0.2 else ""
        lines.append(f"selector X{n}, positions off 1 2 3{both}")
        free += [f"X{n} {k}" for k in (1, 2, 3)]
    points = ["B1", "B2", *buses, *(t.split()[0] for t in free[::3]), *free]
    for n in range(12):
        one, two = make.sample(points, 2)
        lines += [f"from {one}", f"cable W{n}", f"to {two}"]
    return "\n".join([*lines, f"from {make.choice(buses)}", "cable WL", "load L, draws 1 A", ""])


@pytest.mark.parametrize("seed", range(25))
def test_ways_through_selectors_are_the_simple_paths_of_some_position(seed: int, tmp_path: Path) -> None:
    (tmp_path / "x.boat").write_text(with_selectors(seed))
    design = build(Reader(None).design(str(tmp_path / "x.boat")))
    found = ways(design.circuit)
    for name in design.elements:
        way = found.get(name)
        assert set(way.elements if way else ()) == listed(design.circuit, name), name


def test_of_too_many_choices_each_selector_is_turned_by_itself(monkeypatch: pytest.MonkeyPatch, tmp_path: Path) -> None:
    monkeypatch.setattr(page_ways, "GREATEST_CHOICES", 1)
    smaller = 0
    for seed in range(25):
        (tmp_path / "x.boat").write_text(with_selectors(seed))
        design = build(Reader(None).design(str(tmp_path / "x.boat")))
        for name, way in ways(design.circuit).items():
            real = listed(design.circuit, name)
            assert real <= set(way.elements), (seed, name)
            smaller += real == set(way.elements)
    assert smaller > 200, "and what it leaves out is much"
