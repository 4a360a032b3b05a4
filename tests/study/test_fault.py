"""Fault currents against a worked case, networkx's resistance distance, and all states of diodes tried out.

ngspice and lcapy judge them in test_fault_judges.py.
"""

from __future__ import annotations

import itertools
import math
import random
from pathlib import Path

import networkx as nx
import numpy as np
import pytest

from linter.model.build import build
from linter.source.files import Reader
from linter.study import fault, mesh, sparse
from linter.study.cases import cases_of
from linter.study.fault import Faults, faults_of
from linter.study.impedance import NIL_OHM, source_pairs
from linter.study.net import decompose, net_of

HEAD = """boat "F", 9 m, rulebook iso-13297
system MAIN, {volts} V
cables, insulation 105 °C, plain
"""


def faults(text: str, volts: float = 12) -> Faults:
    design = build(Reader().design_text(HEAD.format(volts=volts) + text))
    assert [m.message for m in design.mistakes] == []
    net = net_of(design.circuit)
    parts = decompose(net)
    return faults_of(net, parts, [c.opened for c in cases_of(design, parts.leads_to)])


def at(found: Faults, name: str) -> int:
    return found.net.circuit.by_name[name].index


def test_the_worked_case_of_a_stationary_battery() -> None:
    # IEC 61660-1 (from memory; the worked case second-hand): 60 cells, 120 V, 18.6 mΩ; links 1.498 mΩ; cable 5 mΩ.
    # Peak 1.05 × 120 V / (0.9 × 18.6 + 1.498 + 5) mΩ = 5422 A
    found = faults(
        """battery B, 120 V, resistance 18.6 mΩ
from B
switch LINKS, 500 A, resistance 1.498 mΩ
switch CABLE, 500 A, resistance 5 mΩ
bus P, 500 A
""",
        120,
    )
    assert found.largest(at(found, "P")).amps == pytest.approx(5422, abs=0.5)
    smallest = found.smallest(at(found, "P"))
    # quasi-steady 0.95 × 1.05 × 120 V / (18.6 + 1.498 + 5) mΩ
    assert smallest is not None and smallest.amps == pytest.approx(0.95 * 126 / 25.098e-3, rel=1e-6)


def test_a_cable_counts_there_and_back_cold_and_hot() -> None:
    found = faults("battery B, 12 V, resistance 4 mΩ\nfrom B\ncable W, 16 mm2, 10 m\nbus P\n")
    # annealed copper 0.017241 Ω·mm²/m at 20 °C (NBS Handbook 100)
    cold = 20 * 0.017241 / 16
    assert found.largest(at(found, "P")).amps == pytest.approx(12.6 / (0.9 * 4e-3 + cold), rel=1e-4)
    # IEC 60228 class 5, plain: 1.21 Ω/km at 20 °C; (234.5 + 105)/254.5 at working temperature
    hot = 20 * 1.21e-3 * 339.5 / 254.5
    smallest = found.smallest(at(found, "P"))
    assert smallest is not None and smallest.amps == pytest.approx(0.95 * 12.6 / (4e-3 + hot), rel=1e-4)


def test_what_limits_itself_adds_its_limit_and_alone_gives_no_more() -> None:
    found = faults(
        """battery B, 12 V, resistance 4 mΩ
charger C, 14.4 V, 60 A, self-limiting
from B
bus P
from C
switch S, 100 A, resistance 1 mΩ
to P
"""
    )
    assert found.largest(at(found, "P")).amps == pytest.approx(12.6 / 3.6e-3 + 60, rel=1e-3)
    alone = faults("charger C, 14.4 V, 60 A, self-limiting\nfrom C\nswitch S, 100 A, resistance 1 mΩ\nbus P\n")
    assert alone.largest(at(alone, "P")).amps == pytest.approx(60)
    assert alone.smallest(at(alone, "P")) is None


def test_a_missing_resistance_is_said() -> None:
    found = faults("battery B, 12 V\nfrom B\nbus P\n")
    assert found.largest(at(found, "P")).drive.unknown  # type: ignore[union-attr]
    rough = faults("battery B, AGM, 12 V, 200 Ah\nfrom B\nbus P\n").largest
    drive = rough(0).drive
    assert drive is not None and not drive.unknown and "from memory" in drive.leans_on[0]
    # rough 2.5 mΩ for 12 V, 100 Ah AGM: half of it for 200 Ah (from memory, low confidence)
    assert rough(0).amps == pytest.approx(12.6 / (0.9 * 1.25e-3), rel=1e-6)
    given = faults("battery B, 12 V, short-circuit 3 kA\nfrom B\nbus P\n")
    assert given.largest(at(given, "P")).amps == pytest.approx(12.6 / (0.9 * 12 / 3000), rel=1e-6)


def test_one_source_alone_reaches_only_what_its_positions_let_it() -> None:
    text = """battery A, 12 V, resistance 4 mΩ
battery B, 12 V, resistance 40 mΩ
selector S, positions off 1 2, 300 A
from A
cable WA, 16 mm2, 1 m
to S 1
from B
cable WB, 16 mm2, 1 m
to S 2
"""
    found = faults(text)
    smallest = found.smallest(at(found, "S.1"))
    assert smallest is not None and [found.net.circuit.nodes[n].name for n in smallest.drive.sources] == ["A"]  # type: ignore[union-attr]
    both = faults(text.replace("off 1 2", "off 1 2 both"))
    smallest = both.smallest(at(both, "S.1"))
    assert smallest is not None and [both.net.circuit.nodes[n].name for n in smallest.drive.sources] == ["B"]  # type: ignore[union-attr]


def test_what_is_smallest_is_known_source_by_source() -> None:
    found = faults(
        """battery A, 12 V, resistance 4 mΩ
battery B, 12 V, resistance 40 mΩ
charger C, 14.4 V, 60 A, self-limiting
from A
switch SA, 100 A, resistance 1 mΩ
bus P
from B
switch SB, 100 A, resistance 1 mΩ
to P
from C
to P
from P
switch SP, 100 A, resistance 5 mΩ
bus Q
"""
    )
    each = found.each_alone(at(found, "Q"))
    lowest = 0.95 * 12.6
    assert [p.amps for p in each] == pytest.approx([lowest / 46e-3, lowest / 10e-3])
    assert [p.drive.sources for p in each if p.drive] == [(at(found, "B"),), (at(found, "A"),)]
    smallest = found.smallest(at(found, "Q"))
    assert smallest is not None and smallest.amps == each[0].amps and not smallest.doubtful


def test_a_higher_voltage_is_not_pulled_down_by_a_lower_one() -> None:
    """Near the batteries both give; far away the lower one would take current from the higher, were it there."""
    found = faults(
        """battery A, 13 V, resistance 4 mΩ
battery B, 11 V, resistance 4 mΩ
from A
switch SA, 100 A, resistance 0.4 mΩ
bus P
from B
switch SB, 100 A, resistance 0.4 mΩ
to P
from P
switch SP, 100 A, resistance 100 mΩ
bus Q
"""
    )
    high, low = 1.05 * 13, 1.05 * 11
    assert found.largest(at(found, "P")).amps == pytest.approx(high / 4e-3 + low / 4e-3)
    together, alone = (high + low) / 2 / (2e-3 + 0.1), high / (4e-3 + 0.1)
    assert alone > together
    assert found.largest(at(found, "Q")).amps == pytest.approx(alone)
    assert found.through(found.net.circuit.edge_of["SP"].index).amps == pytest.approx(alone)


def test_limited_sources_alone_give_no_more_than_their_limits_and_their_highest_voltage() -> None:
    """Neither takes current from the other, so behind much resistance the higher voltage counts by itself."""
    found = faults(
        """charger C, 14.4 V, 60 A, self-limiting
charger D, 12 V, 20 A, self-limiting
from C
fuse FC, class T, 100 A, 32 V, resistance 1 mΩ
bus P
from D
fuse FD, class T, 100 A, 32 V, resistance 1 mΩ
to P
from P
switch SP, 100 A, resistance 2 Ω
bus Q
"""
    )
    assert found.largest(at(found, "P")).amps == pytest.approx(80)
    assert found.largest(at(found, "Q")).amps == pytest.approx(14.4 / 2.0005, rel=1e-6)
    assert found.smallest(at(found, "Q")) is None
    # a fault on either side of a fuse: what comes from the other side
    assert [found.through(found.net.circuit.edge_of[f].index).amps for f in ("FC", "FD")] == pytest.approx([60, 60])


def test_a_converter_and_an_inverter_charger_feed_a_fault_as_sources() -> None:
    text = """battery B, 24 V, resistance 4 mΩ, on HOUSE
converter X, 24 V to 12 V, 30 A, draws 18 A{limit}
from B
fuse F, class T, 100 A, 32 V
to X
from X
switch S, 100 A, resistance 1 mΩ
bus P
"""
    head = HEAD.format(volts=12) + "system HOUSE, 24 V\n"
    limited = build(Reader().design_text(head + text.format(limit=", self-limiting")))
    assert [m.message for m in limited.mistakes] == []
    net = net_of(limited.circuit)
    found = faults_of(net, decompose(net))
    assert found.largest(at(found, "P")).amps == pytest.approx(30)
    assert found.smallest(at(found, "P")) is None
    unlimited = build(Reader().design_text(head + text.format(limit="")))
    net = net_of(unlimited.circuit)
    found = faults_of(net, decompose(net))
    # nobody says how much it gives: that is said and not guessed
    assert found.largest(at(found, "P")).unknown
    smallest = found.smallest(at(found, "P"))
    assert smallest is not None and smallest.unknown


def test_one_source_of_which_nothing_is_known_makes_the_smallest_unknown() -> None:
    text = "battery A, 12 V, resistance 4 mΩ\nbattery B, 12 V\nfrom A\nbus P\nfrom B\nto P\n"
    found = faults(text)
    smallest = found.smallest(at(found, "P"))
    assert smallest is not None and smallest.unknown and smallest.doubtful
    assert [p.unknown for p in found.each_alone(at(found, "P"))] == [False, True]
    measured = faults(text.replace("B, 12 V", "B, 12 V, resistance 9 mΩ"))
    smallest = measured.smallest(at(measured, "P"))
    assert smallest is not None and not smallest.unknown


@pytest.mark.parametrize("ring", [False, True])
def test_a_conductor_of_unknown_length_makes_the_smallest_unknown(ring: bool) -> None:
    other = "battery A, 12 V, resistance 4 mΩ\nfrom A\ncable V, 16 mm2\nto P\n" if ring else ""
    found = faults("battery B, 12 V, resistance 4 mΩ\nbus P\nfrom B\ncable W, 16 mm2\nto P\n" + other)
    smallest = found.smallest(at(found, "P"))
    assert smallest is not None and smallest.unknown and smallest.amps == 0
    # but it is never more than with no length at all
    assert found.largest(at(found, "P")).amps > 0


def test_a_ring_that_hangs_counts_as_its_switches_can_stand() -> None:
    text = """battery B, 12 V, resistance 4 mΩ
from B
fuse F, class T, 400 A, 32 V, resistance 1 mΩ
bus P
from P
switch S, 100 A, resistance 2 mΩ
bus Q
from P
switch T, 100 A, resistance 6 mΩ
to Q
"""
    closed = faults(text + "load L, draws 1 A\nfrom Q\nto L\n")
    lowest = 0.95 * 12.6
    smallest = closed.smallest(at(closed, "Q"))
    assert smallest is not None and smallest.amps == pytest.approx(lowest / 6.5e-3)
    opened = faults(text + 'load L, draws 1 A\nfrom Q\nto L\nscene "one way", L, S open\n')
    smallest = opened.smallest(at(opened, "Q"))
    assert smallest is not None and smallest.amps == pytest.approx(lowest / 11e-3)
    assert opened.largest(at(opened, "Q")).amps == pytest.approx(12.6 / (3.6e-3 + 1e-3 + 1.5e-3))


def test_a_diode_takes_its_drop_off() -> None:
    found = faults(
        "battery B, 12 V, resistance 4 mΩ\nfrom B\nswitch S, 100 A, resistance 1 mΩ\ndiode D, drops 0.7 V\nbus P\n"
    )
    assert found.largest(at(found, "P")).amps == pytest.approx((12.6 - 0.7) / 4.6e-3, rel=1e-4)
    smallest = found.smallest(at(found, "P"))
    assert smallest is not None and smallest.amps == pytest.approx((0.95 * 12.6 - 0.7) / 5e-3, rel=1e-4)


def test_a_mesh_that_is_too_large_is_said_and_not_guessed(monkeypatch: pytest.MonkeyPatch) -> None:
    ring = "".join(f"from N{i}\nswitch S{i}, 100 A, resistance 1 mΩ\nto N{(i + 1) % 4}\n" for i in range(4))
    text = "battery B, 12 V, resistance 4 mΩ\nbus N0\nbus N1\nbus N2\nbus N3\nfrom B\nto N0\n" + ring
    whole = faults(text)
    assert whole.remarks == [] and whole.largest(at(whole, "N2")).amps > 0
    monkeypatch.setattr(sparse, "GREATEST_WORK", 3)
    found = faults(text)
    assert found.remarks == ["a mesh of 4 points is too large to be solved for fault currents"]
    assert at(found, "N2") not in found.points and found.smallest(at(found, "N2")) is None


def test_states_of_the_switches_are_bounded(monkeypatch: pytest.MonkeyPatch) -> None:
    text = """battery A, 12 V, resistance 4 mΩ
battery B, 12 V, resistance 40 mΩ
bus P
from A
switch S, 100 A, resistance 1 mΩ
to P
from A
switch T, 100 A, resistance 3 mΩ
to P
from B
to P
load L, draws 1 A
from P
to L
scene "first", L, S open
scene "second", L, T open
"""
    whole = faults(text)
    assert whole.remarks == []
    # from A alone over T, or over S
    from_a = [d.ohm for d in whole.alone[at(whole, "P")] if d.sources == (at(whole, "A"),)]
    assert from_a == pytest.approx([7e-3, 5e-3], rel=1e-3)
    monkeypatch.setattr(fault, "GREATEST_REACHED", 1)
    assert ["not every one of 2 states" in r for r in faults(text).remarks] == [True, True]


def test_many_diodes_in_one_mesh_are_bounded(monkeypatch: pytest.MonkeyPatch) -> None:
    ring = "".join(f"from N{i}\nswitch S{i}, 9 A, resistance 1 mΩ\ndiode D{i}\nto N{(i + 1) % 9}\n" for i in range(9))
    text = "battery B, 12 V, resistance 4 mΩ\n" + "".join(f"bus N{i}\n" for i in range(9)) + "from B\nto N0\n" + ring
    whole = faults(text)
    # once round: to the eighth bus eight switches
    assert whole.largest(at(whole, "N8")).amps == pytest.approx(12.6 / (3.6e-3 + 8e-3), rel=1e-3)
    monkeypatch.setattr(mesh, "GREATEST_SOLVED", 100)
    assert any("too large" in r for r in faults(text).remarks)


def growing_core(n: int) -> str:
    """Two batteries at opposite ends of a ladder of fuses: all of it is in the core."""
    lines = ["battery A, 12 V, resistance 4 mΩ", "battery B, 12 V, resistance 5 mΩ"]
    lines += [f"bus {side}{i}" for i in range(n) for side in "LR"]
    number = itertools.count()
    pairs = [(f"L{i}", f"R{i}") for i in range(n)] + [(f"{s}{i}", f"{s}{i + 1}") for i in range(n - 1) for s in "LR"]
    for a, b in [*pairs, ("A", "L0"), ("B", f"R{n - 1}")]:
        lines.append(f"from {a}\nfuse F{next(number)}, class T, 100 A, 32 V, resistance 1 mΩ\nto {b}")
    return "\n".join(lines) + "\n"


def test_work_in_a_core_grows_as_the_core(monkeypatch: pytest.MonkeyPatch) -> None:
    """Counted in the products of all factorisations."""

    def products(n: int) -> tuple[int, int]:
        done = []

        def counted(earth: list[float], ties: list[dict[int, float]]) -> sparse.Factor:
            made = sparse.factor(earth, ties)
            done.append(sum(len(s) ** 2 for s in made.shares))
            return made

        with monkeypatch.context() as patch:
            patch.setattr(mesh, "factor", counted)
            found = faults(growing_core(n))
        assert len(found.parts.blocks[0].nodes) == 2 * n + 2
        return sum(done), len(done)

    (small, few), (large, many) = products(20), products(200)
    assert few == many
    assert 0 < large <= 1.2 * 10 * small


# ---- random networks --------------------------------------------------------------------------------------------


def network(chance: random.Random, diodes: bool = False) -> str:
    """A random mesh with trees on it; every resistance is stated, so that nothing stands on a table."""
    count = chance.randrange(3, 8)
    lines = []
    for i in range(chance.randrange(1, 4)):
        lines.append(f"battery B{i}, 12 V, resistance {chance.uniform(1, 20):.3f} mΩ")
    for i in range(chance.randrange(0, 3)):
        lines.append(f"charger C{i}, 14.4 V, {chance.randrange(10, 90)} A, self-limiting")
    sources = [line.split()[1].rstrip(",") for line in lines]
    lines += [f"bus N{i}" for i in range(count)]
    edge = itertools.count()

    def join(a: str, b: str) -> None:
        n = next(edge)
        ohm = f"resistance {chance.uniform(0.5, 30):.3f} mΩ"
        if diodes and chance.random() < 0.3:
            lines.extend([f"from {a}", f"diode D{n}, 100 A", f"switch S{n}, 100 A, {ohm}", f"to {b}"])
        else:
            kind = chance.choice([f"switch S{n}, 100 A", f"fuse F{n}, class T, 100 A, 32 V"])
            lines.extend([f"from {a}", f"{kind}, {ohm}", f"to {b}"])

    for i in range(1, count):
        join(f"N{chance.randrange(i)}", f"N{i}")
    for _ in range(chance.randrange(0, 4)):
        a, b = chance.sample(range(count), 2)
        join(f"N{a}", f"N{b}")
    for source in sources:
        join(source, f"N{chance.randrange(count)}")
    return "\n".join(lines) + "\n"


@pytest.mark.parametrize("seed", range(20))
def test_resistance_against_networkx_resistance_distance(seed: int) -> None:
    found = faults(network(random.Random(1000 + seed)))
    net, nodes = found.net, found.net.circuit.nodes
    graph: nx.MultiGraph[int] = nx.MultiGraph()
    for edge in range(len(net.u)):
        graph.add_edge(net.u[edge], net.v[edge], weight=max(found.edges[edge].greatest_ohm, NIL_OHM))
    for source in net.limit:
        if net.limit[source] < math.inf:
            continue
        pair = source_pairs(nodes[source].source, 12)[1]  # type: ignore[arg-type]
        for node in range(len(nodes)):
            if node == source:
                continue
            ohm = pair.resistance_ohm + nx.resistance_distance(graph, source, node, weight="weight", invert_weight=True)
            point = found.points[node]
            drive = next(d for d in found.alone[point.core_node] if d.sources == (source,))
            assert drive.ohm + point.greatest_ohm == pytest.approx(ohm, rel=1e-6)


def tried_out(found: Faults, short: int) -> float:
    """The current into a short by trying every state of the diodes and keeping the one that agrees with itself."""
    net, nodes = found.net, found.net.circuit.nodes
    diodes = [e for e, made in enumerate(net.circuit.edges) if made.one_way]
    size = len(nodes)
    firm = any(limit == math.inf for limit in net.limit.values())
    for conducts in itertools.product((True, False), repeat=len(diodes)):
        state = dict(zip(diodes, conducts, strict=True))
        matrix, injected = np.eye(size) * 1e-9, np.zeros(size)
        for edge in range(len(net.u)):
            if state.get(edge, True):
                siemens = 1 / max(found.edges[edge].least_ohm, NIL_OHM)
                u, v = net.u[edge], net.v[edge]
                matrix[[u, v], [u, v]] += siemens
                matrix[[u, v], [v, u]] -= siemens
        for node in net.limit:
            pair, _ = source_pairs(nodes[node].source, 12)  # type: ignore[arg-type]
            if pair.limit_a < math.inf and firm:
                injected[node] += pair.limit_a
            else:
                matrix[node, node] += 1 / pair.resistance_ohm
                injected[node] += pair.voltage_v / pair.resistance_ohm
        rest = [n for n in range(size) if n != short]
        volts = np.zeros(size)
        volts[rest] = np.linalg.solve(matrix[np.ix_(rest, rest)], injected[rest])
        ahead = {e: volts[net.u[e]] - volts[net.v[e]] for e in diodes}
        if all((ahead[e] >= -1e-9) if state[e] else (ahead[e] <= 1e-9) for e in diodes):
            return float(injected[short] - matrix[short] @ volts)
    raise AssertionError("no state of the diodes agrees with itself")


@pytest.mark.parametrize("seed", range(25))
def test_diodes_against_every_state_of_them(seed: int) -> None:
    found = faults(network(random.Random(2000 + seed), diodes=True))
    for node in range(len(found.net.circuit.nodes)):
        judged = tried_out(found, node)
        mine = found.largest(node).amps
        if judged < 1e-3 or mine < 1e-3:
            assert max(judged, mine) < 1e-2
        else:
            limits = sum(found.net.limit.values())
            assert mine == pytest.approx(min(judged, limits), rel=1e-3)


def test_the_boats_have_a_current_at_every_point_that_is_fed() -> None:
    for boat in ("launch", "cutter", "motor-yacht"):
        design = build(Reader().design(str(Path("boats", f"{boat}.boat"))))
        net = net_of(design.circuit)
        parts = decompose(net)
        found = faults_of(net, parts, [c.opened for c in cases_of(design, parts.leads_to)])
        for node in parts.order:
            assert found.largest(node).amps > 0, design.circuit.nodes[node].name
