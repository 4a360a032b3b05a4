"""The ways from the sources, against every simple path that networkx lists."""

from __future__ import annotations

import networkx as nx
import pytest

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
            for point in path[1:]:
                if isinstance(point, tuple):
                    edge = circuit.edges[point[1]]
                    found.add("" if edge.kind == "link" else edge.element.name)
                else:
                    found.add(owner(circuit.nodes[point]))
    return found - {""}


@pytest.mark.parametrize("boat", ["boats/launch.boat", "tests/broken/launch-as-found.boat"])
def test_ways_are_the_simple_paths(boat: str) -> None:
    design = build(Reader(None).design(boat))
    found = ways(design.circuit)
    assert len(found) > 50
    for name in design.elements:
        way = found.get(name)
        assert set(way.elements if way else ()) == listed(design.circuit, name), name
