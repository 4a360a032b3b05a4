"""What can flow through switches, selectors, diodes and buses: sums worked out by hand, and every opening of every ring
tried out, with networkx's maximum flow for what comes.

What is demanded is common practice: no document of the trade says it.
"""

from __future__ import annotations

import itertools
import math
import random
from collections.abc import Iterable, Iterator

import networkx as nx
import pytest

from linter.model.build import build
from linter.model.circuit import Circuit, Edge
from linter.source.files import Reader
from linter.study import ring, through
from linter.study.study import Study, study_of

HEAD = """boat "T", 9 m, rulebook iso-13297
system DC12, 12 V
battery A, 12 V
"""


def studied(text: str) -> Study:
    design = build(Reader().design_text(HEAD + text))
    assert [m.message for m in design.mistakes] == []
    return study_of(design)


def through_all(study: Study) -> dict[str, float]:
    """By element: what can flow through it, A."""
    circuit, found = study.design.circuit, dict[str, float]()
    for edge, amps in study.through_edge.items():
        name = circuit.edges[edge].element.name
        found[name] = max(amps, found.get(name, 0.0))
    for node, amps in study.through_node.items():
        element = circuit.nodes[node].element
        assert element is not None
        found[element.name] = max(amps, found.get(element.name, 0.0))
    return found


# ---- by hand

LOADS = "load L1, draws 5 A\nload L2, draws 8 A\n"


def test_each_of_two_switches_in_parallel_may_carry_all() -> None:
    text = "switch S1, 1 A\n{}joint P\nfrom A\nswitch S2, 1 A\nto P\nfrom P\nfuse F, 60 A\nload L, draws 5 A\n"
    found = through_all(studied("from A\n" + text.format("")))
    # with the other open: the 60 A of F
    assert (found["S1"], found["S2"]) == (60, 60)
    # a cable beside a switch changes nothing for it
    beside = (
        "from A\nswitch S1, 1 A\njoint P\nfrom A\ncable W, 50 mm2, 1 m\nto P\nfrom P\nfuse F, 60 A\nload L, draws 5 A\n"
    )
    assert through_all(studied(beside))["S1"] == 60


def test_a_ring_that_leads_nowhere_carries_nothing() -> None:
    text = "switch S1, 1 A\njoint Q\nfrom Q\nswitch S2, 1 A\nto P\nfrom P\nfuse F, 60 A\nload L, draws 5 A\n"
    found = through_all(studied("joint P\nfrom A\nfuse F0, 100 A\nto P\nfrom P\n" + text))
    assert (found["S1"], found["S2"]) == (0, 0)


def test_a_device_beside_a_switch_leads_nothing_of_it_back() -> None:
    # F, 40 A, joins the same two points as S: what S carries does not come back through it
    text = (
        "joint P\nfrom A\nswitch S, 1 A\nto P\nfrom A\nfuse F, 40 A\nto P\nfrom P\nfuse F1, 20 A\nload L, draws 5 A\n"
    )
    assert through_all(studied(text))["S"] == 20


def test_positions_of_a_selector_exclude_each_other() -> None:
    text = (
        LOADS + "selector X, positions off 1 2{}, 1 A\nfrom A\nswitch S, 1 A\nto X\n"
        "from X 1\nfuse F1, 7.5 A\nto L1\nfrom X 2\nfuse F2, 20 A\nto L2\n"
    )
    found = through_all(studied(text.format("")))
    assert (found["S"], found["X"]) == (20, 20)
    # with `both` they do not
    assert through_all(studied(text.format(" both")))["S"] == 27.5


def test_a_selector_behind_fuses_feeds_one_load_by_one_of_them() -> None:
    text = (
        LOADS + "joint P\nselector X, positions off 1 2, 1 A\nfrom A\nswitch S, 1 A\nto P\n"
        "from P\nfuse F1, 7.5 A\nto X 1\nfrom P\nfuse F2, 20 A\nto X 2\nfrom X\nto L1\n"
    )
    # 7.5 A or 20 A, never both; in each position no more comes to the selector than its fuse lets through
    found = through_all(studied(text))
    assert found["S"] == 20
    assert found["X"] == 5


def test_a_charger_charges_round_a_ring() -> None:
    text = (
        "joint P\nalternator G, 14 V, 150 A\nselector X, positions off 1 2, 1 A\n"
        "from P\nto A\nfrom P\nto X 1\nfrom P\nfuse F, 5 A\nto X\nfrom G\nto X 1\n"
    )
    # G - X - F - A: the 5 A of F
    assert through_all(studied(text))["X"] == 5


def test_a_battery_behind_a_diode_does_not_feed_what_is_before_it() -> None:
    text = (
        "battery B, 12 V\nalternator G, 14 V, 120 A, self-limiting\njoint P\nfrom G\nfuse F0, 300 A\nswitch S, 1 A\nto P\n"
        "from P\ndiode D, 1 A\nto B\nfrom P\nfuse F, 30 A\nload L, draws 5 A\nfrom A\nfuse FA, 200 A\nto F0\n"
    ).replace("to F0\n", "to G\n")
    found = through_all(studied(text))
    # 120 A charge B, 30 A go by F; 120 A of G and 200 A of A come
    assert found["S"] == 150
    assert found["D"] == 120


def test_a_bus_in_a_ring_carries_what_the_ring_brings_past_it() -> None:
    text = (
        "bus P, 1 A\nbus Q, 1 A\nfrom A\nfuse F1, 100 A\nto P\nfrom A\nfuse F2, 80 A\nto Q\nfrom P\nto Q\n"
        "from Q\nfuse F3, 50 A\nload L, draws 5 A\n"
    )
    # F3's 50 A; what comes by F1 does not go back to the battery by F2
    found = through_all(studied(text))
    assert (found["P"], found["Q"]) == (50, 50)
    doubled = "bus P, 1 A\nfrom A\ncable W1, 50 mm2, 1 m\nto P\nfrom A\ncable W2, 50 mm2, 1 m\nto P\nfrom P\nfuse F, 9 A\nload L, draws 5 A\n"
    assert through_all(studied(doubled))["P"] == 9


def test_where_a_mesh_can_be_opened_in_too_many_ways_that_is_said(monkeypatch: pytest.MonkeyPatch) -> None:
    text = network(random.Random(7))
    exact = through_all(studied(text))
    monkeypatch.setattr(ring, "GREATEST_OPENINGS", 0)
    study = studied(text)
    bounded = through_all(study)
    assert study.flows.bounded
    assert all(bounded[name] >= amps for name, amps in exact.items())
    assert {name for name, amps in exact.items() if bounded[name] > amps} <= study.flows.bounded


def test_work_is_bounded(monkeypatch: pytest.MonkeyPatch) -> None:
    text = network(random.Random(7))
    exact = through_all(studied(text))
    monkeypatch.setattr(through, "GREATEST_WORK", 0)
    study = studied(text)
    assert study.flows.bounded
    assert all(amps >= exact[name] for name, amps in through_all(study).items())


# ---- every opening tried


class Tried:
    """A circuit while some positions are chosen: every way to part its nodes in two that hang together each."""

    def __init__(self, circuit: Circuit, opened: frozenset[int]) -> None:
        self.circuit, self.opened = circuit, opened
        self.edges = [e for e in circuit.edges if e.index not in opened and e.u != e.v]

    def hangs_together(self, nodes: set[int], without: int = -1) -> bool:
        graph = nx.Graph()
        graph.add_nodes_from(nodes)
        graph.add_edges_from((e.u, e.v) for e in self.edges if e.index != without and {e.u, e.v} <= nodes)
        return nx.is_connected(graph)

    def piece(self, node: int) -> set[int]:
        graph = nx.Graph((e.u, e.v) for e in self.edges)
        graph.add_node(node)
        return set(nx.node_connected_component(graph, node))

    def parts(self, free: set[int], a: set[int], b: set[int]) -> Iterator[tuple[set[int], set[int]]]:
        for size in range(len(free) + 1):
            for chosen in itertools.combinations(sorted(free), size):
                one, two = a | set(chosen), b | (free - set(chosen))
                if self.hangs_together(one) and self.hangs_together(two):
                    yield one, two

    def comes(self, to: int, nodes: set[int]) -> float:
        """Maximum flow from all sources among some nodes to one of them."""
        graph = nx.DiGraph()
        graph.add_node(to)
        sums: dict[tuple[object, object], float] = {}
        for e in self.edges:
            if {e.u, e.v} <= nodes:
                amps = math.inf
                if e.kind == "device" and e.device.rated_a is not None:
                    amps = e.device.rated_a
                sums[e.u, e.v] = sums.get((e.u, e.v), 0.0) + amps
                if not e.one_way:
                    sums[e.v, e.u] = sums.get((e.v, e.u), 0.0) + amps
        for n in nodes:
            if (source := self.circuit.nodes[n].source) is not None:
                sums["S", n] = source.limit_a
        for (u, v), amps in sums.items():
            graph.add_edge(u, v, **({} if amps == math.inf else {"capacity": amps}))
        if "S" not in graph:
            return 0.0
        try:
            return float(nx.maximum_flow_value(graph, "S", to))
        except nx.NetworkXUnbounded:
            return math.inf

    def reach(self, starts: Iterable[int], nodes: set[int]) -> set[int]:
        graph = nx.DiGraph()
        graph.add_nodes_from(nodes)
        for e in self.edges:
            if e.kind != "device" and {e.u, e.v} <= nodes:
                graph.add_edge(e.u, e.v)
                if not e.one_way:
                    graph.add_edge(e.v, e.u)
        return set(starts).union(*(nx.descendants(graph, s) for s in starts))

    def used(self, start: int, nodes: set[int]) -> bool:
        graph = nx.Graph((e.u, e.v) for e in self.edges if {e.u, e.v} <= nodes)
        graph.add_node(start)
        found = (self.circuit.nodes[n] for n in nx.node_connected_component(graph, start))
        return any(n.load is not None or n.source is not None for n in found)

    def goes(self, starts: Iterable[int], nodes: set[int]) -> float:
        """What leaves a part from some of its nodes on, each region that hangs together by itself."""
        regions: list[set[int]] = []
        for start in starts:
            region = self.reach([start], nodes)
            regions = [r for r in regions if not r & region] + [region.union(*(r for r in regions if r & region))]
        return sum(self.leaves(region, nodes) for region in regions)

    def leaves(self, region: set[int], nodes: set[int]) -> float:
        made = self.circuit.nodes
        batteries = [n for n in region if (s := made[n].source) is not None and s.is_battery]
        fed = self.reach(batteries, nodes)
        graph = nx.Graph((e.u, e.v) for e in self.circuit.edges)
        joined = nx.node_connected_component(graph, min(region))
        charge = sum(s.rated_a or 0.0 for n in joined if (s := made[n].source) is not None and not s.is_battery)
        total = charge if batteries else 0.0
        for node in region - fed:
            load = made[node].load
            total += load.draws_a or 0.0 if load is not None else 0.0
            for e in self.edges:
                to = e.v if e.u == node else e.u
                if e.kind == "device" and node in {e.u, e.v} and to in nodes - region and self.used(to, nodes - region):
                    total += math.inf if e.device.rated_a is None else e.device.rated_a
        return total

    def edge(self, index: int) -> float:
        e = self.circuit.edges[index]
        if index in self.opened or e.u == e.v:
            return 0.0
        best = 0.0
        for one, two in self.parts(self.piece(e.u) - {e.u, e.v}, {e.u}, {e.v}):
            best = max(best, min(self.comes(e.u, one), self.goes([e.v], two)))
            if not e.one_way:
                best = max(best, min(self.comes(e.v, two), self.goes([e.u], one)))
        return best

    def bus(self, bus: int) -> float:
        """What is taken may leave by some of the bus's edges while others are open; all of the part must hang on it."""
        best = 0.0
        for one, two in self.parts(self.piece(bus) - {bus}, {bus}, {bus}):
            comes, beyond = self.comes(bus, one), two - {bus}
            ways = [(e, e.v if e.u == bus else e.u) for e in self.edges if bus in {e.u, e.v}]
            ways = [(e, to) for e, to in ways if to in beyond]
            for size in range(len(ways) + 1):
                for kept in itertools.combinations(ways, size):
                    graph = nx.Graph((e.u, e.v) for e in self.edges if {e.u, e.v} <= beyond)
                    graph.add_nodes_from(two)
                    graph.add_edges_from((bus, to) for _, to in kept)
                    if nx.is_connected(graph):
                        best = max(best, min(comes, self.taken(bus, kept, beyond)))
        return best

    def taken(self, bus: int, ways: Iterable[tuple[Edge, int]], beyond: set[int]) -> float:
        plain = [to for e, to in ways if e.kind != "device" and not (e.one_way and e.v == bus)]
        total, left = self.goes(plain, beyond), beyond - self.reach(plain, beyond)
        for e, to in ways:
            if e.kind == "device" and to in left and self.used(to, left):
                total += math.inf if e.device.rated_a is None else e.device.rated_a
        return total


def network(chance: random.Random, diodes: bool = False) -> str:
    """Rings of buses, switches, fuses and selectors that are all rated for less than can flow."""
    lines, ends = [], ["A"]
    for k in range(chance.randrange(3, 6)):
        kind = chance.choice(["bus", "bus", "load", "charger", "battery", "selector"])
        name = f"N{k}"
        if kind == "selector":
            lines.append(f"selector {name}, positions off 1 2, 1 A")
            ends += [name, f"{name} 1", f"{name} 2"]
            continue
        facts = {"bus": "1 A", "load": f"draws {chance.choice([2, 6, 30])} A", "battery": "12 V"}
        charger = f"14 V, {chance.choice([10, 40])} A" + chance.choice(["", ", self-limiting"])
        lines.append(f"{kind} {name}, {facts.get(kind, charger)}")
        ends.append(name)
    pairs = [
        (ends[k], ends[chance.randrange(k)]) for k in range(1, len(ends)) if " " not in ends[k] or chance.random() < 0.7
    ]
    pairs += [(chance.choice(ends), chance.choice(ends)) for _ in range(chance.randrange(1, 4))]
    for number, (one, two) in enumerate(pairs):
        if one != two:
            way = [f"switch S{number}, 1 A", f"fuse F{number}, {chance.choice([5, 15, 20, 50])} A", ""]
            if diodes:
                way.append(f"diode D{number}, 1 A")
            lines += [f"from {one}", chance.choice(way), f"to {two}"]
    return "\n".join(line for line in lines if line) + "\n"


def tried(study: Study) -> dict[str, float]:
    """As `through_all`, by trying all positions and all openings."""
    circuit = study.design.circuit
    groups = [positions for _, positions in circuit.excluding()]
    every = {e for g in groups for p in g for e in p}
    found: dict[str, float] = {}
    for chosen in itertools.product(*groups):
        state = Tried(circuit, frozenset(every - {e for p in chosen for e in p}))
        for edge in circuit.edges:
            if edge.kind in {"switch", "selector", "diode"} and edge.index in study.through_edge:
                found[edge.element.name] = max(found.get(edge.element.name, 0.0), state.edge(edge.index))
        for node in circuit.nodes:
            if node.kind == "bus" and node.element is not None and node.index in study.through_node:
                found[node.element.name] = max(found.get(node.element.name, 0.0), state.bus(node.index))
    return found


def agrees(text: str) -> int:
    """How many elements carry more than they are rated for; what is within the rating is at most too large."""
    study = studied(text)
    found, expected = through_all(study), tried(study)
    assert not study.flows.bounded
    for name, amps in expected.items():
        if amps > 1 or found[name] > 1:
            assert found[name] == pytest.approx(amps), (name, text)
    return sum(amps > 1 for amps in expected.values())


@pytest.mark.parametrize("batch", range(8))
def test_rings_and_selectors_as_if_every_opening_were_tried(batch: int) -> None:
    assert sum(agrees(network(random.Random(k))) for k in range(batch * 10, batch * 10 + 10)) >= 10


@pytest.mark.parametrize("batch", range(4))
def test_diodes_too(batch: int) -> None:
    texts = (network(random.Random(k), diodes=True) for k in range(1000 + batch * 10, 1010 + batch * 10))
    assert sum(agrees(text) for text in texts) >= 10
