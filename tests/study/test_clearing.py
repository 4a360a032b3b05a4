"""How faults are cleared: examples worked by hand, and random networks stepped through by a second program."""

from __future__ import annotations

import itertools
import math
import random
from collections.abc import Callable
from pathlib import Path

import networkx as nx
import numpy as np
import pytest

from linter.model.build import build
from linter.source.files import Reader
from linter.study.cases import cases_of
from linter.study.clearing import Clearing, clearing
from linter.study.fault import Faults, faults_of
from linter.study.impedance import NIL_OHM
from linter.study.net import decompose, net_of

HEAD = 'boat "C", 9 m, rulebook iso-13297\nsystem MAIN, 12 V\n'
# IEC 61660-1 (from memory): 0.95 × 1.05 × nominal voltage in the smallest case, 1.05 × in the largest
SMALLEST_V, LARGEST_V = 0.95 * 1.05 * 12, 1.05 * 12


def faults(text: str) -> Faults:
    design = build(Reader().design_text(HEAD + text))
    assert [m.message for m in design.mistakes] == []
    net = net_of(design.circuit)
    return faults_of(net, decompose(net))


def node(found: Faults, name: str) -> int:
    return found.net.circuit.by_name[name].index


def edge(found: Faults, name: str) -> int:
    return found.net.circuit.edge_of[name].index


def by_square(found: Faults, heat_a2s: float = 1.0) -> Callable[[int, float], float]:
    """Opens after (``heat_a2s`` × rating²) / current², and never below 1.35 times its rating."""
    rated = {e.index: e.device.rated_a for e in found.net.circuit.edges if e.kind == "device"}

    def slowest(device: int, amps: float) -> float:
        rating = rated[device]
        assert rating is not None
        return heat_a2s * rating**2 / amps**2 if amps >= 1.35 * rating else math.inf

    return slowest


# ---- by hand ------------------------------------------------------------------------------------------------------


def test_two_fuses_in_parallel_open_one_after_the_other() -> None:
    found = faults(
        """battery B, 12 V, resistance 4 mΩ
from B
fuse F1, class T, 100 A, 32 V, resistance 1 mΩ
bus P
from B
fuse F2, class T, 200 A, 32 V, resistance 1 mΩ
to P
"""
    )
    made = clearing(found, node(found, "P"), (node(found, "B"),), frozenset(), by_square(found))
    # together 0.5 mΩ, half each; then F2 alone
    both = SMALLEST_V / 4.5e-3
    alone = SMALLEST_V / 5e-3
    times = [100**2 / (both / 2) ** 2, 200**2 / alone**2]
    assert made.opened == (edge(found, "F1"), edge(found, "F2"))
    assert [s.seconds for s in made.steps] == pytest.approx(times)
    assert made.seconds == pytest.approx(sum(times))
    assert [s.fault_a for s in made.steps] == pytest.approx([both, alone])
    assert made.steps[0].amps == pytest.approx({edge(found, "F1"): both / 2, edge(found, "F2"): both / 2})
    assert made.steps[1].amps == pytest.approx({edge(found, "F2"): alone})


def test_equal_fuses_in_parallel_open_together() -> None:
    found = faults(
        """battery B, 12 V, resistance 4 mΩ
from B
fuse F1, class T, 100 A, 32 V, resistance 1 mΩ
bus P
from B
fuse F2, class T, 100 A, 32 V, resistance 1 mΩ
to P
"""
    )
    made = clearing(found, node(found, "P"), (node(found, "B"),), frozenset(), by_square(found))
    assert made.opened == (edge(found, "F1"), edge(found, "F2"))
    assert len(made.steps) == 1
    assert made.seconds == pytest.approx(100**2 / (SMALLEST_V / 9e-3) ** 2)


TWO_SOURCES = """battery A, 12 V, resistance 4 mΩ
battery B, 12 V, resistance 9 mΩ
from A
fuse FA, class T, 200 A, 32 V, resistance 1 mΩ
bus P
from B
fuse FB, class T, 50 A, 32 V, resistance 1 mΩ
to P
from P
fuse FC, class T, {rating} A, 32 V, resistance 2 mΩ
bus Q
"""


def test_two_sources_each_with_its_fuse_on_one_bus() -> None:
    found = faults(TWO_SOURCES.format(rating=100))
    both = (node(found, "A"), node(found, "B"))
    made = clearing(found, node(found, "P"), both, frozenset(), by_square(found))
    # a bolted fault on the bus: each source by itself, at once
    from_a, from_b = SMALLEST_V / 5e-3, SMALLEST_V / 10e-3
    assert made.opened == (edge(found, "FB"), edge(found, "FA"))
    assert made.steps[0].fault_a == pytest.approx(from_a + from_b)
    assert made.steps[0].amps == pytest.approx({edge(found, "FA"): from_a, edge(found, "FB"): from_b})
    # FA carries the same all the time, whether or not FB has opened
    assert 50**2 / from_b**2 < 200**2 / from_a**2
    assert made.seconds == pytest.approx(200**2 / from_a**2)
    largest = clearing(found, node(found, "P"), both, frozenset(), by_square(found), largest=True)
    assert largest.steps[0].fault_a == pytest.approx(LARGEST_V / (0.9 * 4e-3 + 1e-3) + LARGEST_V / (0.9 * 9e-3 + 1e-3))


def test_a_device_on_the_bridge_before_the_fault_carries_all_of_it() -> None:
    found = faults(TWO_SOURCES.format(rating=100))
    both = (node(found, "A"), node(found, "B"))
    amps = SMALLEST_V / (1 / (1 / 5e-3 + 1 / 10e-3) + 2e-3 + 3e-3)
    made = clearing(found, node(found, "Q"), both, frozenset(), by_square(found), more_ohm=3e-3)
    # FB, rated half, carries a third: 2/3 of its share; FC opens first
    assert amps / 3 / 50 < amps / 100
    assert made == Clearing(
        pytest.approx(100**2 / amps**2), (edge(found, "FC"),), made.steps
    )  # fmt: skip
    assert made.steps[0].fault_a == pytest.approx(amps)
    alone = clearing(found, node(found, "Q"), both[1:], frozenset(), by_square(found))
    # B alone: FB opens, and nothing else feeds it
    assert alone.opened == (edge(found, "FB"),)
    assert alone.seconds == pytest.approx(50**2 / (SMALLEST_V / 12e-3) ** 2)
    assert alone.steps[0].amps == {edge(found, "FB"): pytest.approx(SMALLEST_V / 12e-3)}


def test_what_never_opens_is_never_cleared() -> None:
    found = faults(TWO_SOURCES.format(rating=1000))
    both = (node(found, "A"), node(found, "B"))
    made = clearing(found, node(found, "Q"), both, frozenset(), by_square(found), more_ohm=0.1)
    # some 115 A: FB with a third of it stays, FA with two thirds, FC too
    assert made.seconds == math.inf
    assert made.opened == ()
    assert [s.seconds for s in made.steps] == [math.inf]


def test_a_ring_is_opened_on_both_sides() -> None:
    """From P two ways to R: over F1 alone, and over F2, Q and F3."""
    found = faults(
        """battery B, 12 V, resistance 4 mΩ
from B
fuse F0, class T, 400 A, 32 V, resistance 1 mΩ
bus P
from P
fuse F1, class T, 100 A, 32 V, resistance 3 mΩ
bus R
from P
fuse F2, class T, 80 A, 32 V, resistance 2 mΩ
bus Q
from Q
fuse F3, class T, 60 A, 32 V, resistance 4 mΩ
to R
from R
fuse F4, class T, 300 A, 32 V, resistance 1 mΩ
bus S
"""
    )
    ring = 1 / (1 / 3e-3 + 1 / 6e-3)
    first = SMALLEST_V / (5e-3 + ring + 1e-3)
    # F1 carries two thirds, the other side a third
    times = {"F1": (100 / (first * 2 / 3)) ** 2, "F3": (60 / (first / 3)) ** 2, "F4": (300 / first) ** 2}
    assert min(times, key=times.__getitem__) == "F1"
    second = SMALLEST_V / (5e-3 + 6e-3 + 1e-3)
    made = clearing(found, node(found, "S"), (node(found, "B"),), frozenset(), by_square(found))
    assert made.opened == (edge(found, "F1"), edge(found, "F3"))
    assert [s.fault_a for s in made.steps] == pytest.approx([first, second])
    assert made.seconds == pytest.approx(times["F1"] + (60 / second) ** 2)
    assert made.steps[0].amps == pytest.approx(
        {edge(found, "F1"): first * 2 / 3, edge(found, "F2"): first / 3, edge(found, "F3"): first / 3}
    )


def test_what_limits_itself_adds_its_limit_and_may_remain() -> None:
    found = faults(
        """battery B, 12 V, resistance 4 mΩ
charger C, 14.4 V, 60 A, self-limiting
from B
fuse FB, class T, 200 A, 32 V, resistance 1 mΩ
bus P
from C
fuse FC, class T, 80 A, 32 V, resistance 1 mΩ
to P
from P
fuse FL, class T, 300 A, 32 V, resistance 1 mΩ
bus Q
"""
    )
    both = (node(found, "B"), node(found, "C"))
    made = clearing(found, node(found, "P"), both, frozenset(), by_square(found))
    assert made.steps[0].fault_a == pytest.approx(SMALLEST_V / 5e-3 + 60)
    assert made.opened == (edge(found, "FB"),)
    # 60 A do not open FC
    assert made.remains_a == 60
    behind = clearing(found, node(found, "Q"), both, frozenset(), by_square(found))
    # the charger's current raises what the battery's resistance leaves
    assert behind.steps[0].fault_a == pytest.approx((SMALLEST_V + 60 * 5e-3) / 6e-3)
    by_charger = clearing(found, node(found, "P"), both[1:], frozenset(), by_square(found))
    assert by_charger == Clearing(0.0, remains_a=60)


def test_what_is_open_does_not_feed() -> None:
    text = """battery B, 12 V, resistance 4 mΩ
from B
fuse F0, class T, 100 A, 32 V, resistance 1 mΩ
bus P
from P
switch S, 100 A, resistance 1 mΩ
bus Q
"""
    found = faults(text)
    sources = (node(found, "B"),)
    assert clearing(found, node(found, "Q"), sources, frozenset({edge(found, "S")}), by_square(found)) == Clearing(0.0)
    assert clearing(found, node(found, "Q"), sources, frozenset(), by_square(found)).opened == (edge(found, "F0"),)


@pytest.mark.parametrize(
    "text",
    [
        "battery B, 12 V\nfrom B\nfuse F, class T, 100 A, 32 V\nbus P\n",
        "battery B, 12 V, resistance 4 mΩ\nfrom B\nfuse F, class T, 100 A, 32 V\ncable W, 16 mm2\nbus P\n",
    ],
)
def test_a_missing_figure_is_said(text: str) -> None:
    found = faults(text)
    made = clearing(found, node(found, "P"), (node(found, "B"),), frozenset(), by_square(found))
    assert made.unknown and made.seconds == math.inf


def test_it_ends_however_quick_the_devices_are() -> None:
    found = faults(TWO_SOURCES.format(rating=100))
    both = (node(found, "A"), node(found, "B"))
    made = clearing(found, node(found, "P"), both, frozenset(), lambda device, amps: 0.0)
    assert (made.seconds, set(made.opened)) == (0.0, {edge(found, "FA"), edge(found, "FB")})
    assert clearing(found, node(found, "P"), both, frozenset(), lambda device, amps: math.inf).seconds == math.inf


@pytest.mark.parametrize("name", ["launch", "cutter", "motor-yacht"])
def test_the_first_step_is_the_smallest_fault_current_of_each_source(name: str) -> None:
    design = build(Reader().design(str(Path("boats", f"{name}.boat"))))
    net = net_of(design.circuit)
    parts = decompose(net)
    found = faults_of(net, parts, [c.opened for c in cases_of(design, parts.leads_to)])
    compared = 0
    for at in found.points:
        for alone in found.each_alone(at):
            assert alone.drive is not None
            made = clearing(found, at, alone.drive.sources, alone.drive.opened, lambda device, amps: 1.0)
            if not alone.unknown and alone.amps > 1:
                assert made.steps[0].fault_a == pytest.approx(alone.amps, rel=1e-9)
                compared += 1
            assert made.unknown == alone.unknown
    assert compared >= 50


# ---- random networks ----------------------------------------------------------------------------------------------


def network(chance: random.Random, diodes: bool) -> str:
    """A mesh with trees and rings on it, several sources, and a fuse in most of what joins them."""
    count = chance.randrange(3, 8)
    lines = [f"battery B{i}, 12 V, resistance {chance.uniform(1, 20):.3f} mΩ" for i in range(chance.randrange(1, 4))]
    lines += [
        f"charger C{i}, 14.4 V, {chance.randrange(10, 90)} A, self-limiting" for i in range(chance.randrange(0, 3))
    ]
    sources = [line.split()[1].rstrip(",") for line in lines]
    lines += [f"bus N{i}" for i in range(count)]
    numbers = itertools.count()

    def join(a: str, b: str) -> None:
        n = next(numbers)
        ohm = f"resistance {chance.uniform(0.5, 30):.3f} mΩ"
        rating = chance.choice([30, 60, 100, 150, 200, 300, 400])
        lines.append(f"from {a}")
        if diodes and chance.random() < 0.25:
            drops = f", drops {chance.uniform(0.1, 0.8):.2f} V" if chance.random() < 0.5 else ""
            lines.append(f"diode D{n}, 100 A{drops}")
        if chance.random() < 0.75:
            lines.append(f"fuse F{n}, class T, {rating} A, 32 V, {ohm}")
        else:
            lines.append(f"switch S{n}, 100 A, {ohm}")
        lines.append(f"to {b}")

    for i in range(1, count):
        join(f"N{chance.randrange(i)}", f"N{i}")
    for _ in range(chance.randrange(0, 4)):
        a, b = chance.sample(range(count), 2)
        join(f"N{a}", f"N{b}")
    for source in sources:
        join(source, f"N{chance.randrange(count)}")
    return "\n".join(lines) + "\n"


class Second:
    """The same question answered by brute force: the whole network at once, every state of the diodes tried."""

    def __init__(self, found: Faults, fault: int, sources: tuple[int, ...], largest: bool, more_ohm: float) -> None:
        self.net, self.fault, self.more_ohm = found.net, fault, more_ohm
        case = 0 if largest else 1
        self.pairs = {n: found.pairs[n][case] for n in sources}
        self.ohm = [max(e.least_ohm if largest else e.greatest_ohm, NIL_OHM) for e in found.edges]
        self.drop = [e.drop_v for e in found.edges]
        self.one_way = [e for e, made in enumerate(found.net.circuit.edges) if made.one_way]

    def reached(self, cut: set[int]) -> bool:
        """Whether a source that does not limit itself has a way to the fault."""
        graph = nx.DiGraph()
        graph.add_nodes_from(range(len(self.net.circuit.nodes)))
        for e in set(range(len(self.net.u))) - cut:
            graph.add_edge(self.net.u[e], self.net.v[e])
            if e not in self.one_way:
                graph.add_edge(self.net.v[e], self.net.u[e])
        firm = [n for n, p in self.pairs.items() if p.limit_a == math.inf]
        return any(nx.has_path(graph, n, self.fault) for n in firm)

    def amps(self, cut: set[int]) -> tuple[float, list[float]]:
        """Into the fault, and by edge."""
        ways = [e for e in self.one_way if e not in cut]
        for conducts in itertools.product((True, False), repeat=len(ways)):
            state = dict(zip(ways, conducts, strict=True))
            live = [e for e in range(len(self.net.u)) if e not in cut and state.get(e, True)]
            volts, fault_a = self.solved(live)
            ahead = {e: volts[self.net.u[e]] - volts[self.net.v[e]] - self.drop[e] for e in ways}
            if all((ahead[e] >= -1e-9) if state[e] else (ahead[e] <= 1e-9) for e in ways):
                together = nx.Graph([(self.net.u[e], self.net.v[e]) for e in live])
                together.add_node(self.fault)
                part = nx.node_connected_component(together, self.fault)
                flows = [0.0] * len(self.net.u)
                for e in (e for e in live if self.net.u[e] in part):
                    flows[e] = (volts[self.net.u[e]] - volts[self.net.v[e]] - self.drop[e]) / self.ohm[e]
                return fault_a, flows
        raise AssertionError("no state of the diodes agrees with itself")

    def solved(self, live: list[int]) -> tuple[np.ndarray, float]:
        size = len(self.net.circuit.nodes)
        matrix, injected = np.zeros((size, size)), np.zeros(size)
        for e in live:
            u, v, siemens = self.net.u[e], self.net.v[e], 1 / self.ohm[e]
            matrix[[u, v], [u, v]] += siemens
            matrix[[u, v], [v, u]] -= siemens
            injected[u] += self.drop[e] * siemens
            injected[v] -= self.drop[e] * siemens
        for n, pair in self.pairs.items():
            if pair.limit_a < math.inf:
                injected[n] += pair.limit_a
            else:
                matrix[n, n] += 1 / pair.resistance_ohm
                injected[n] += pair.voltage_v / pair.resistance_ohm
        # what hangs free must not be singular
        matrix[np.diag_indices(size)] += 1e-9
        if self.more_ohm:
            matrix[self.fault, self.fault] += 1 / self.more_ohm
            volts = np.linalg.solve(matrix, injected)
            return volts, float(volts[self.fault] / self.more_ohm)
        rest = [n for n in range(size) if n != self.fault]
        volts = np.zeros(size)
        volts[rest] = np.linalg.solve(matrix[np.ix_(rest, rest)], injected[rest])
        return volts, float(injected[self.fault] - matrix[self.fault] @ volts)


def stepped(
    second: Second, opened: frozenset[int], slowest: Callable[[int, float], float], near_a: float = 0.05
) -> tuple[float, list[list[int]], list[float]] | None:
    """(seconds, what opens in each step, fault currents); None where rounding may decide."""
    cut, seconds, order, currents = set(opened), 0.0, [], []
    # by device: since when it carries current, and the least since then
    history: dict[int, tuple[float, float]] = {}
    while second.reached(cut):
        fault_a, flows = second.amps(cut)
        if fault_a < near_a:
            return None if fault_a > 1e-6 else (seconds, order, currents)
        currents.append(fault_a)
        devices = [e for e in range(len(flows)) if second.net.is_device[e] and abs(flows[e]) > 1e-3]
        for e in list(history):
            if e not in devices:
                del history[e]
        times = {}
        for e in devices:
            since, least_a = history.get(e, (seconds, math.inf))
            history[e] = (since, min(least_a, abs(flows[e])))
            times[e] = min(slowest(e, abs(flows[e])), since + slowest(e, history[e][1]) - seconds)
        # what has no resistance is given 0.1 µΩ by both, but not at the same places
        if any(
            (slowest(e, 0.999 * abs(flows[e])) < math.inf) != (slowest(e, 1.001 * abs(flows[e])) < math.inf)
            for e in times
        ):
            return None
        least = min(times.values(), default=math.inf)
        seconds += least
        if least == math.inf:
            break
        if any(least * (1 + 1e-9) < t < least * (1 + 1e-3) for t in times.values()):
            return None
        order.append([e for e, t in times.items() if t <= least * (1 + 1e-9)])
        cut.update(order[-1])
    return seconds, order, currents


@pytest.mark.parametrize("diodes", [False, True], ids=["plain", "diodes"])
@pytest.mark.parametrize("seed", range(30))
def test_random_networks_against_a_second_program(seed: int, diodes: bool) -> None:
    chance = random.Random(seed + 5000 * diodes)
    found = faults(network(chance, diodes))
    slowest = by_square(found, 3.0)
    compared = opened_later = 0
    switches = [e.index for e in found.net.circuit.edges if e.kind == "switch"]
    for fault in found.points:
        sources = tuple(n for n in found.net.limit if chance.random() < 0.7)
        cut = frozenset(e for e in switches if chance.random() < 0.2)
        largest, more_ohm = chance.random() < 0.5, chance.choice([0.0, 0.0, 2e-3, 20e-3])
        made = clearing(found, fault, sources, cut, slowest, largest=largest, more_ohm=more_ohm)
        assert not made.unknown
        judged = stepped(Second(found, fault, sources, largest, more_ohm), cut, slowest)
        if judged is None:
            continue
        seconds, order, currents = judged
        assert made.seconds == pytest.approx(seconds, rel=3e-4)
        assert list(made.opened) == [e for step in order for e in sorted(step)]
        assert [s.fault_a for s in made.steps] == pytest.approx(currents, rel=1e-4)
        compared += 1
        opened_later += len(order) > 1
    assert compared > 0
