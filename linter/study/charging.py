"""The greatest voltage that charging brings to each load: what its system is said to rise to, and what the sources give
from which current can come to it, whatever a scene turns on.

A battery does not hold a voltage down for good: once it is full, the source that charges it brings all that is joined
to it to its own voltage.  What is lost on the way does not count, as a load that draws next to nothing loses nothing.
"""

from __future__ import annotations

from dataclasses import dataclass

from linter.model.elements import Named
from linter.study.study import Study


@dataclass(frozen=True, slots=True)
class Highest:
    """``volts`` by the word of ``whose``, a source or a system."""

    volts: float
    whose: Named


def highest_voltages(study: Study) -> dict[int, Highest]:
    """By node of a load whose range ends below it.  Linear but for loads whose range ends below the voltage of a source
    over selectors alone, for which one choice of positions is walked after the other."""
    nodes = study.design.circuit.nodes
    stands = {
        n.index: n.load.voltage_range_v[1] for n in nodes if n.load is not None and n.load.voltage_range_v is not None
    }
    if not stands:
        return {}
    made: dict[int, Highest] = {}
    for node in stands:
        system = nodes[node].system
        if system is not None and system.greatest_v is not None and system.greatest_v > stands[node]:
            made[node] = Highest(system.greatest_v, system)
    sources = [
        (max(s.greatest_v or 0.0, s.voltage_v or 0.0), n.index)
        for n in nodes
        if (s := n.source) is not None and not s.is_battery
    ]
    sources.sort(key=lambda source: (-source[0], source[1]))
    left = _beyond(study, sources, stands, made, frozenset())
    for opened in study.net.configurations if left else ():
        for node, highest in _beyond(study, sources, {n: stands[n] for n in left}, made, opened).items():
            if node not in made or highest.volts > made[node].volts:
                made[node] = highest
    return made


def _beyond(
    study: Study,
    sources: list[tuple[float, int]],
    stands: dict[int, float],
    said: dict[int, Highest],
    opened: frozenset[int],
) -> dict[int, Highest]:
    """By load, the highest source before it while some edges are open, where that is more than it stands and than is
    said already."""
    net, circuit = study.net, study.design.circuit
    reached = bytearray(len(circuit.nodes))
    found: dict[int, Highest] = {}
    for volts, start in sources:
        source = circuit.nodes[start].source
        assert source is not None
        waiting = [] if reached[start] else [start]
        reached[start] = 1
        while waiting:
            node = waiting.pop()
            if node in stands and volts > stands[node] and (node not in said or volts > said[node].volts):
                found[node] = Highest(volts, source)
            for index in circuit.nodes[node].edges:
                other = net.other(index, node)
                wrong_way = circuit.edges[index].one_way and net.v[index] == node
                if not reached[other] and index not in opened and not wrong_way:
                    reached[other] = 1
                    waiting.append(other)
    return found
