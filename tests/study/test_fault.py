"""Fault currents against a worked case, networkx's resistance distance, ngspice, and all states of diodes tried out."""

from __future__ import annotations

import itertools
import math
import random
import re
import shutil
import subprocess
from pathlib import Path

import networkx as nx
import numpy as np
import pytest

from linter.model.build import build
from linter.source.files import Reader
from linter.study.cases import cases_of
from linter.study.fault import Faults, faults_of
from linter.study.impedance import NIL_OHM, source_pairs
from linter.study.net import Net, decompose, net_of

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


def spice(net: Net, ohms: list[float], sources: dict[int, tuple[float, float, float]], short: int) -> dict[str, float]:
    """ngspice's operating point with a node shorted: node voltages, and the current into the short as ``short``."""
    cards = ["* fault", f"Vshort n{short} 0 0"]
    for edge, ohm in enumerate(ohms):
        if ohm < math.inf:
            cards.append(f"R{edge} n{net.u[edge]} n{net.v[edge]} {max(ohm, NIL_OHM):.12g}")
    for node, (volts, ohm, limit) in sources.items():
        if limit < math.inf:
            cards.append(f"I{node} 0 n{node} {limit:.12g}")
        else:
            cards += [f"V{node} s{node} 0 {volts:.12g}", f"RS{node} s{node} n{node} {ohm:.12g}"]
    # what hangs free must not be singular
    cards += [f"RG{n} n{n} 0 1e9" for n in range(len(net.circuit.nodes))]
    cards += [".options reltol=1e-9 abstol=1e-9 gmin=1e-15", ".op", ".end"]
    done = subprocess.run(
        ["ngspice", "-b"],
        input="\n".join(cards) + "\n.control\nop\nprint all\n.endc\n",
        capture_output=True,
        text=True,
        check=False,
    )
    values = {}
    for name, value in re.findall(r"^\s*([\w#]+)\s+=?\s*([-+]?\d[\d.]*(?:e[-+]?\d+)?)\s*$", done.stdout, re.MULTILINE):
        values[name.lower()] = float(value)
    values["short"] = values["vshort#branch"]
    return values


needs_ngspice = pytest.mark.skipif(shutil.which("ngspice") is None, reason="ngspice is not installed")


@needs_ngspice
@pytest.mark.parametrize("seed", range(12))
def test_largest_and_smallest_against_ngspice(seed: int) -> None:
    found = faults(network(random.Random(seed)))
    net, nodes = found.net, found.net.circuit.nodes
    pairs = {n: source_pairs(nodes[n].source, 12) for n in net.limit}  # type: ignore[arg-type]
    firm = [n for n, (large, _) in pairs.items() if large.limit_a == math.inf]
    largest = {n: (p.voltage_v, p.resistance_ohm, p.limit_a) for n, (p, _) in pairs.items()}
    compared = 0
    for node in range(len(nodes)):
        judged = spice(net, [e.least_ohm for e in found.edges], largest, node)
        assert found.largest(node).amps == pytest.approx(judged["short"], rel=1e-3)
        least = []
        for source in firm:
            pair = pairs[source][1]
            alone = {source: (pair.voltage_v, pair.resistance_ohm, math.inf)}
            least.append(spice(net, [e.greatest_ohm for e in found.edges], alone, node)["short"])
        smallest = found.smallest(node)
        assert smallest is not None and smallest.amps == pytest.approx(min(least), rel=1e-3)
        compared += 1
    assert compared == len(nodes)


@needs_ngspice
@pytest.mark.parametrize("seed", range(6))
def test_the_current_through_a_device_against_ngspice(seed: int) -> None:
    found = faults(network(random.Random(100 + seed)))
    net, nodes = found.net, found.net.circuit.nodes
    largest = {}
    for n in net.limit:
        pair, _ = source_pairs(nodes[n].source, 12)  # type: ignore[arg-type]
        largest[n] = (pair.voltage_v, pair.resistance_ohm, pair.limit_a)
    ohms = [e.least_ohm for e in found.edges]
    for edge, made in enumerate(net.circuit.edges):
        if made.kind != "device":
            continue
        through = []
        for near, far in ((net.u[edge], net.v[edge]), (net.v[edge], net.u[edge])):
            judged = spice(net, ohms, largest, far)
            through.append((judged[f"n{near}"] - judged.get(f"n{far}", 0.0)) / ohms[edge])
        assert found.through(edge).amps == pytest.approx(max(through), rel=1e-3)


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
