"""Greatest flows, against networkx and against sums worked out by hand."""

from __future__ import annotations

import math
import random

import networkx as nx
import pytest

from linter.study.flow import FlowNetwork

# (u, v, capacity there, capacity back) in A
Arcs = list[tuple[int, int, float, float]]


def network_of(nodes: int, arcs: Arcs) -> FlowNetwork:
    network = FlowNetwork(nodes)
    for number, (u, v, forward, backward) in enumerate(arcs):
        assert network.add(u, v, forward, backward, number) == number
    return network


def expected(nodes: int, arcs: Arcs, sink: int, without: int = -1) -> float:
    """The same by networkx, from node 0; an arc with no capacity given is unlimited there."""
    graph = nx.DiGraph()
    graph.add_nodes_from(range(nodes))
    sums: dict[tuple[int, int], float] = {}
    for number, (u, v, forward, backward) in enumerate(arcs):
        if number != without and u != v:
            sums[u, v] = sums.get((u, v), 0.0) + forward
            sums[v, u] = sums.get((v, u), 0.0) + backward
    for (u, v), capacity in sums.items():
        if capacity == math.inf:
            graph.add_edge(u, v)
        elif capacity > 0:
            graph.add_edge(u, v, capacity=capacity)
    try:
        return float(nx.maximum_flow_value(graph, 0, sink))
    except nx.NetworkXUnbounded:
        return math.inf


def random_arcs(chance: random.Random, nodes: int) -> Arcs:
    arcs: Arcs = []
    for _ in range(chance.randrange(nodes, 3 * nodes)):
        forward = chance.choice([5.0, 10.0, 12.5, 15.0, 30.0, math.inf])
        backward = chance.choice([forward, forward, 0.0])
        arcs.append((chance.randrange(nodes), chance.randrange(nodes), forward, backward))
    return arcs


@pytest.mark.parametrize("seed", range(150))
def test_flows_are_those_of_networkx(seed: int) -> None:
    chance = random.Random(seed)
    nodes = chance.randrange(3, 12)
    arcs = random_arcs(chance, nodes)
    network = network_of(nodes, arcs)
    for sink in range(1, nodes):
        assert network.greatest(0, sink).value == pytest.approx(expected(nodes, arcs, sink))


@pytest.mark.parametrize("seed", range(150))
def test_a_flow_without_an_edge_at_its_sink_is_as_if_the_edge_had_never_been(seed: int) -> None:
    """Value by networkx; the cut, which is the guard in a finding, by a flow from the start."""
    chance = random.Random(1000 + seed)
    nodes = chance.randrange(3, 12)
    arcs = random_arcs(chance, nodes)
    network = network_of(nodes, arcs)
    for sink in range(1, nodes):
        standing = network.into(0, sink)
        assert standing.flow.value == pytest.approx(expected(nodes, arcs, sink))
        for number, (u, v, _, _) in enumerate(arcs):
            if sink in (u, v):
                found = standing.without(number)
                assert found.value == pytest.approx(expected(nodes, arcs, sink, number))
                assert found.cut == network.greatest(0, sink, frozenset((number,))).cut


def test_the_cut_is_the_one_nearest_the_sink() -> None:
    network = network_of(4, [(0, 1, 30, 30), (1, 2, 30, 30), (2, 3, 40, 40)])
    assert network.greatest(0, 3).cut == (1,)


def test_what_an_edge_carried_goes_around_it_as_far_as_it_can() -> None:
    # 10 A and 20 A side by side into node 2; without the 20 A one, 10 A is left
    network = network_of(3, [(0, 1, math.inf, 0), (1, 2, 10, 10), (1, 2, 20, 20)])
    standing = network.into(0, 2)
    assert (standing.flow.value, standing.flow.cut) == (30, (1, 2))
    assert (standing.without(2).value, standing.without(2).cut) == (10, (1,))
    assert (standing.without(1).value, standing.without(1).cut) == (20, (2,))


def test_an_edge_that_carries_nothing_changes_nothing() -> None:
    # 5 A at most comes from the source: the second way round is not needed
    network = network_of(3, [(0, 1, 5, 0), (1, 2, 10, 0), (1, 2, 20, 0)])
    standing = network.into(0, 2)
    assert standing.flow.value == 5
    assert {standing.without(1).value, standing.without(2).value} == {5}


def test_an_infinite_path_leaves_no_cut() -> None:
    network = network_of(3, [(0, 1, math.inf, 0), (1, 2, math.inf, math.inf), (1, 2, 20, 20)])
    standing = network.into(0, 2)
    assert (standing.flow.value, standing.flow.cut) == (math.inf, ())
    assert standing.without(2).value == math.inf
    assert (standing.without(1).value, standing.without(1).cut) == (20, (2,))
