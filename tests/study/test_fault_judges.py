"""Fault currents of the boats, of random networks and of rings against ngspice, lcapy and networkx.

Each network is written out whole for them; they know nothing of blocks, bridges or cases.
"""

from __future__ import annotations

import itertools
import math
import random
import re
import shutil
import subprocess
from collections.abc import Iterable, Mapping
from functools import cache
from pathlib import Path
from types import MappingProxyType

import networkx as nx
import pytest

from linter.model.build import build
from linter.source.files import Reader
from linter.study.cases import cases_of
from linter.study.fault import Faults, faults_of
from linter.study.impedance import NIL_OHM
from linter.study.letthrough import core_pieces
from linter.study.net import decompose, net_of

BOATS = ("launch", "cutter", "motor-yacht")
HEAD = 'boat "J", 9 m, rulebook iso-13297\nsystem MAIN, 12 V\n'
# A short circuit, and nothing, as a resistance
SHORT_OHM, OPEN_OHM = 1e-8, 1e12

needs_ngspice = pytest.mark.skipif(shutil.which("ngspice") is None, reason="ngspice is not installed")


@cache
def boat(name: str) -> tuple[Faults, tuple[frozenset[int], ...]]:
    """The faults of a boat with everything closed, and the states its switches can have."""
    design = build(Reader().design(str(Path("boats", f"{name}.boat"))))
    net = net_of(design.circuit)
    parts = decompose(net)
    return faults_of(net, parts), tuple(dict.fromkeys(c.opened for c in cases_of(design, parts.leads_to)))


def faults(text: str) -> Faults:
    design = build(Reader().design_text(HEAD + text))
    assert [m.message for m in design.mistakes] == []
    net = net_of(design.circuit)
    return faults_of(net, decompose(net))


# ---- ngspice ------------------------------------------------------------------------------------------------------

Sources = dict[int, tuple[float, float, float]]


def deck(
    found: Faults,
    sources: Sources,
    nodes: Iterable[int],
    *,
    largest: bool,
    opened: frozenset[int] = frozenset(),
    also: Mapping[int, Iterable[int]] = MappingProxyType({}),
) -> str:
    """One deck with an operating point for a short at each node; ``also``: other nodes whose voltage is wanted then.

    ``sources``: volts, ohm, limit by node; a limit makes it a current.  A one-way element is a battery of what it is
    said to drop and a resistance that lets nothing back.
    """
    net = found.net
    cards = ["* short circuits"]
    for edge, known in enumerate(found.edges):
        ohm = known.least_ohm if largest else known.greatest_ohm
        if ohm == math.inf or edge in opened:
            continue
        u, v = f"n{net.u[edge]}", f"n{net.v[edge]}"
        if net.circuit.edges[edge].one_way:
            cards += [
                f"VD{edge} {u} a{edge} {known.drop_v:.15g}",
                f"B{edge} a{edge} {v} I = v(a{edge},{v}) > 0 ? v(a{edge},{v}) / {max(ohm, NIL_OHM):.15g} : 1e-15 * v(a{edge},{v})",
            ]
        else:
            cards.append(f"R{edge} {u} {v} {max(ohm, NIL_OHM):.15g}")
    for node, (volts, ohm, limit_a) in sources.items():
        if limit_a < math.inf:
            cards.append(f"I{node} 0 n{node} {limit_a:.15g}")
        else:
            cards += [f"V{node} s{node} 0 {volts:.15g}", f"RS{node} s{node} n{node} {ohm:.15g}"]
    for node in range(len(net.circuit.nodes)):
        # what hangs free must not be singular
        cards += [f"RG{node} n{node} 0 1e9", f"RF{node} n{node} 0 {OPEN_OHM}"]
    cards += [".options reltol=1e-6 abstol=1e-9 vntol=1e-12 gmin=1e-15 noacct", ".control", "set numdgt=12"]
    for node in nodes:
        cards += [
            f"alter rf{node} = {SHORT_OHM}",
            "op",
            f"echo short {node}",
            *(f"print v(n{n})" for n in (node, *also.get(node, ()))),
            f"alter rf{node} = {OPEN_OHM}",
            "destroy all",
        ]
    return "\n".join([*cards, ".endc", ".end"]) + "\n"


def voltages(text: str) -> dict[int, dict[int, float]]:
    """By shorted node, the voltages that were asked for."""
    done = subprocess.run(["ngspice", "-b"], input=text, capture_output=True, text=True, check=False)
    found: dict[int, dict[int, float]] = {}
    for short, node, volts in re.findall(r"^short (\d+)$|^v\(n(\d+)\) = (\S+)$", done.stdout, re.MULTILINE):
        if short:
            last = found[int(short)] = {}
        else:
            last[int(node)] = float(volts)
    return found


def run(text: str) -> dict[int, float]:
    """Amperes into each short."""
    return {node: volts[node] / SHORT_OHM for node, volts in voltages(text).items() if node in volts}


def largest_sources(found: Faults) -> Sources:
    return {n: (p.voltage_v, p.resistance_ohm, p.limit_a) for n, (p, _) in found.pairs.items()}


def together_a(found: Faults, node: int) -> float:
    """All sources together: `largest` may be more, where a higher voltage is better off without a lower one."""
    point = found.points.get(node)
    drive = found.together.get(point.core_node) if point else None
    return drive.current_a(point.least_ohm, point.drop_v) if point and drive else 0.0


def deviations(mine: dict[int, float], judged: dict[int, float], free_a: float) -> list[float]:
    """Relative, where anything flows at all."""
    assert mine.keys() == judged.keys()
    return [abs(mine[n] - judged[n]) / max(mine[n], judged[n]) for n in mine if max(mine[n], judged[n]) > free_a]


def held(found: Faults) -> set[int]:
    """Nodes at which sources that limit themselves are not alone."""
    return {
        n
        for n, p in found.points.items()
        if p.core_node in found.together and found.together[p.core_node].limit_a == math.inf
    }


@needs_ngspice
@pytest.mark.parametrize("name", BOATS)
def test_largest_at_every_node_of_a_boat_against_ngspice(name: str) -> None:
    found, _ = boat(name)
    nodes = sorted(found.points)
    judged = run(deck(found, largest_sources(found), nodes, largest=True))
    mine = {n: together_a(found, n) for n in nodes}
    assert len(nodes) > 50
    apart = deviations(mine, judged, 1.0)
    assert len(apart) == len(nodes)
    assert max(apart) < 1e-3
    assert all(found.largest(n).amps >= mine[n] for n in nodes)


def alone(found: Faults, source: int, nodes: Iterable[int], opened: frozenset[int]) -> list[float]:
    """Deviations of a source by itself at its lowest."""
    pair = found.pairs[source][1]
    feeds = {source: (pair.voltage_v, pair.resistance_ohm, math.inf)}
    judged = run(deck(found, feeds, nodes, largest=False, opened=opened))
    mine = {}
    for node in judged:
        by_source = {p.drive.sources[0]: p.amps for p in found.each_alone(node) if p.drive}
        mine[node] = by_source.get(source, 0.0)
    return deviations(mine, judged, 1e-2)


@needs_ngspice
@pytest.mark.parametrize("name", BOATS)
def test_each_source_alone_at_every_node_of_a_boat_against_ngspice(name: str) -> None:
    found, _ = boat(name)
    firm = [n for n, (p, _) in found.pairs.items() if p.limit_a == math.inf]
    assert firm
    for source in firm:
        apart = alone(found, source, sorted(found.points), frozenset())
        assert len(apart) > 20
        assert max(apart) < 1e-3


@needs_ngspice
@pytest.mark.parametrize("name", BOATS)
def test_each_source_alone_in_states_of_the_switches_against_ngspice(name: str) -> None:
    closed, states = boat(name)
    chance = random.Random(name)
    compared = 0
    for opened in chance.sample(states, min(3, len(states))):
        found = faults_of(closed.net, closed.parts, [opened])
        # bridges that the state opens are left to whoever asks behind them
        inside = frozenset(e for e in opened if closed.parts.leads_to[e] < 0)
        firm = [n for n, (p, _) in found.pairs.items() if p.limit_a == math.inf]
        for source in firm:
            nodes = sorted(chance.sample(sorted(found.points), min(40, len(found.points))))
            apart = alone(found, source, nodes, inside)
            assert max(apart, default=0.0) < 1e-3
            compared += len(apart)
    assert compared > 20


def through_deviations(found: Faults) -> list[float]:
    """The largest current through each device, on a fault at either end, against the voltage over it."""
    net = found.net
    devices = [e for e, made in enumerate(net.circuit.edges) if made.kind == "device"]
    also: dict[int, list[int]] = {}
    for edge in devices:
        also.setdefault(net.u[edge], []).append(net.v[edge])
        also.setdefault(net.v[edge], []).append(net.u[edge])
    volts = voltages(deck(found, largest_sources(found), also, largest=True, also=also))
    mine, judged = {}, {}
    for edge in devices:
        u, v = net.u[edge], net.v[edge]
        over_v = max(volts[v][u] - volts[v][v], volts[u][v] - volts[u][u])
        judged[edge], mine[edge] = over_v / found.edges[edge].least_ohm, found.through(edge).amps
    return deviations(mine, judged, 1.0)


@needs_ngspice
@pytest.mark.parametrize("seed", range(10))
def test_the_current_through_a_device_against_ngspice(seed: int) -> None:
    text = network(random.Random(300 + seed), False)
    found = faults(re.sub(r"switch S(\d+), 9 A", r"fuse F\1, class T, 100 A, 32 V", text))
    apart = through_deviations(found)
    assert len(apart) > 2
    assert max(apart) < 1e-3


def network(chance: random.Random, diodes: bool) -> str:
    """A mesh with trees and rings; every resistance is stated, so that nothing stands on a table."""
    count = chance.randrange(3, 10)
    lines = [f"battery B{i}, 12 V, resistance {chance.uniform(1, 20):.3f} mΩ" for i in range(chance.randrange(1, 4))]
    lines += [f"charger C{i}, 14.4 V, {chance.randrange(9, 90)} A, self-limiting" for i in range(chance.randrange(3))]
    sources = [line.split()[1].rstrip(",") for line in lines]
    lines += [f"bus N{i}" for i in range(count)]
    numbers = itertools.count()

    def join(a: str, b: str) -> None:
        n = next(numbers)
        drops = chance.choice(["", f", drops {chance.uniform(0.1, 0.8):.2f} V"])
        one_way = [f"diode D{n}, 100 A{drops}"] if diodes and chance.random() < 0.25 else []
        lines.extend([f"from {a}", *one_way, f"switch S{n}, 9 A, resistance {chance.uniform(1, 30):.3f} mΩ", f"to {b}"])

    for i in range(1, count):
        join(f"N{chance.randrange(i)}", f"N{i}")
    for _ in range(chance.randrange(5)):
        a, b = chance.sample(range(count), 2)
        join(f"N{a}", f"N{b}")
    for source in sources:
        join(source, f"N{chance.randrange(count)}")
    return "\n".join(lines) + "\n"


def random_deviations(seed: int, diodes: bool) -> list[float]:
    found = faults(network(random.Random(seed), diodes))
    nodes = sorted(found.points)
    judged = run(deck(found, largest_sources(found), nodes, largest=True))
    apart = deviations({n: together_a(found, n) for n in nodes}, judged, 1.0)
    for source in (n for n, (p, _) in found.pairs.items() if p.limit_a == math.inf):
        apart += alone(found, source, sorted(found.points), frozenset())
    return apart


@needs_ngspice
@pytest.mark.parametrize("seed", range(16))
def test_random_networks_against_ngspice(seed: int) -> None:
    apart = random_deviations(seed, False)
    assert len(apart) > 3
    assert max(apart) < 1e-3


@needs_ngspice
@pytest.mark.parametrize("seed", range(16))
def test_random_networks_with_diodes_against_ngspice(seed: int) -> None:
    apart = random_deviations(100 + seed, True)
    assert len(apart) > 3
    assert max(apart) < 1e-3


# ---- lcapy --------------------------------------------------------------------------------------------------------


def lcapy_a(found: Faults, sources: Sources, node: int, *, largest: bool) -> float:
    """Amperes into a short at a node, in fractions, without rounding."""
    lcapy = pytest.importorskip(
        "lcapy", reason="lcapy is not installed; it is no light package, so no test asks for it"
    )
    net, cards = found.net, []
    for edge, known in enumerate(found.edges):
        ohm = max(known.least_ohm if largest else known.greatest_ohm, NIL_OHM)
        cards.append(f"R{edge} {net.u[edge] + 1} {net.v[edge] + 1} {ohm!r}")
    for at, (volts, ohm, limit_a) in sources.items():
        if limit_a < math.inf:
            # its current sources drive out of the node named first
            cards.append(f"I{at} {at + 1} 0 dc {limit_a!r}")
        else:
            cards += [f"V{at} s{at} 0 dc {volts!r}", f"RS{at} s{at} {at + 1} {ohm!r}"]
    return float(lcapy.Circuit("\n".join(cards)).Isc(node + 1, 0).dc.cval.real)


def lcapy_deviations(seed: int) -> list[float]:
    found = faults(network(random.Random(seed), False))
    apart = []
    firm = [n for n, (p, _) in found.pairs.items() if p.limit_a == math.inf]
    for node in sorted(found.points):
        judged = lcapy_a(found, largest_sources(found), node, largest=True)
        apart.append(abs(together_a(found, node) - judged) / judged)
        for made in found.each_alone(node):
            assert made.drive is not None
            source = made.drive.sources[0]
            pair = found.pairs[source][1]
            judged = lcapy_a(found, {source: (pair.voltage_v, pair.resistance_ohm, math.inf)}, node, largest=False)
            apart.append(abs(made.amps - judged) / judged)
        assert len(found.each_alone(node)) == len(firm)
    return apart


@pytest.mark.parametrize("seed", range(12))
def test_random_networks_against_lcapy(seed: int) -> None:
    apart = lcapy_deviations(200 + seed)
    assert len(apart) > 3
    # bridges without resistance have none in the study, and 0.1 µΩ here
    assert max(apart) < 1e-4


# ---- networkx -----------------------------------------------------------------------------------------------------


def distances(found: Faults, source: int, edges: Iterable[int]) -> dict[int, float]:
    """Resistance distances from a source in the smallest case, over these edges."""
    graph: nx.MultiGraph[int] = nx.MultiGraph()
    graph.add_node(source)
    for edge in edges:
        ohm = found.edges[edge].greatest_ohm
        if ohm < math.inf:
            graph.add_edge(found.net.u[edge], found.net.v[edge], weight=max(ohm, NIL_OHM))
    part = graph.subgraph(nx.node_connected_component(graph, source))
    if len(part) == 1:
        return {}
    found_ohm = nx.resistance_distance(part, source, weight="weight", invert_weight=True)
    return {n: float(ohm) for n, ohm in found_ohm.items() if n != source}


def thevenin_deviations(found: Faults, edges: Iterable[int]) -> list[float]:
    apart, wanted = [], list(edges)
    for source, (pair, smallest) in found.pairs.items():
        if pair.limit_a < math.inf:
            continue
        for node, ohm in distances(found, source, wanted).items():
            point = found.points[node]
            drive = next(d for d in found.alone[point.core_node] if d.sources == (source,))
            mine, judged = drive.ohm + point.greatest_ohm, smallest.resistance_ohm + ohm
            apart.append(abs(mine - judged) / judged)
    return apart


@pytest.mark.parametrize("name", BOATS)
def test_resistances_of_the_cores_of_the_boats_against_networkx(name: str) -> None:
    closed, _ = boat(name)
    net = closed.net
    diodes = frozenset(e for e, made in enumerate(net.circuit.edges) if made.one_way)
    # with the diodes taken out for both, as a distance has no direction
    found = faults_of(net, closed.parts, [diodes])
    core = [e for piece in core_pieces(net, closed.parts.blocks[0]) for e in piece.edges if e not in diodes]
    apart = thevenin_deviations(found, core)
    assert len(apart) >= 5
    assert max(apart) < 1e-6


def hanging_rings(chance: random.Random) -> str:
    """One battery; rings that hang one behind the other by a bridge, chords in some."""
    lines = ["battery B, 12 V, resistance 3 mΩ", "bus N", "from B", "switch S, 9 A, resistance 1 mΩ", "to N"]
    numbers, at = itertools.count(), "N"

    def join(a: str, b: str) -> None:
        ohm = f"{chance.uniform(1, 30):.3f} mΩ"
        lines.extend([f"from {a}", f"fuse F{next(numbers)}, class T, 100 A, 32 V, resistance {ohm}", f"to {b}"])

    for ring in range(chance.randrange(1, 5)):
        size = chance.randrange(2, 7)
        names = [f"R{ring}-{i}" for i in range(size)]
        lines += [f"bus {name}" for name in names]
        join(at, names[0])
        for a, b in itertools.pairwise([*names, names[0]]):
            join(a, b)
        if size > 3:
            join(names[0], names[2])
            join(names[1], names[3])
        at = chance.choice(names)
    return "\n".join(lines) + "\n"


@pytest.mark.parametrize("seed", range(20))
def test_resistances_of_hanging_rings_against_networkx(seed: int) -> None:
    found = faults(hanging_rings(random.Random(seed)))
    assert any(len(b.nodes) > 1 for b in found.parts.blocks[1:])
    apart = thevenin_deviations(found, range(len(found.net.u)))
    assert len(apart) == len(found.points) - 1
    assert max(apart) < 1e-6
