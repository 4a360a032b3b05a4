"""The part of a design around one element: from its sources to its loads."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import replace

from linter.drawing.page_ways import CLOSED, Positions, Regions, owner
from linter.model.circuit import Circuit, Edge
from linter.model.design import Design
from linter.rules.finding import Finding


def of_part(part: Design, findings: Sequence[Finding]) -> list[Finding]:
    """The findings that a part shows: those at its elements, and those at none."""
    return [f for f in findings if f.subject in part.elements or not f.subject]


def part_around(design: Design, name: str) -> Design:
    """The design with only what leads from a source to the element, and what is fed through it.

    Towards the sources it is every way by which current may come in some position of the switches; towards the loads
    all that would be dead without the element, or, of a source, all that it can reach.  What only two positions of a
    selector together would join is no way.  Raises KeyError where there is no such element.
    """
    element = design.elements[name]
    circuit = design.circuit
    own_edges = {e.index for e in circuit.edges if e.element is element}
    own_nodes = {n.index for n in circuit.nodes if owner(n) == name}
    starts = own_nodes | {end for e in own_edges for end in (circuit.edges[e].u, circuit.edges[e].v)}
    regions = Regions(circuit)
    kept = set(own_edges)
    for target in (*sorted(own_nodes), *map(regions.edge_point, sorted(own_edges))):
        kept |= {v - regions.count for v in regions.of(target) if v >= regions.count}
    if any(circuit.nodes[n].source is not None for n in own_nodes):
        kept |= _reached(circuit, own_nodes)
    else:
        kept |= _beyond(circuit, own_nodes, own_edges)
    nodes = own_nodes | starts | {end for e in kept for end in (circuit.edges[e].u, circuit.edges[e].v)}
    whole = {owner(circuit.nodes[i]) for i in nodes} - {""}
    # A selector or converter is drawn whole.
    for node in circuit.nodes:
        if owner(node) in whole:
            nodes.add(node.index)
    kept |= {e.index for e in circuit.edges if e.position and e.element.name in whole}
    nodes |= {end for e in kept for end in (circuit.edges[e].u, circuit.edges[e].v)}
    made, names = _reduced(circuit, nodes, kept)
    return replace(design, circuit=made, elements={n: e for n, e in design.elements.items() if n in names or n == name})


def _passes(edge: Edge, start: int, backwards: bool) -> bool:
    """Whether current can come through (``backwards``: come from) an edge, seen from its end ``start``."""
    return not edge.one_way or (edge.v == start if backwards else edge.u == start)


def _reached(
    circuit: Circuit, starts: Iterable[int], nodes: set[int] | None = None, edges: Iterable[int] = ()
) -> set[int]:
    """The edges that current from ``starts`` can go through in some position of the switches, not through ``nodes`` or
    ``edges``."""
    begins, barred, shut = sorted(starts), nodes or set(), frozenset(edges)
    return Positions(circuit).in_some(lambda opened: _walked(circuit, begins, barred, shut | opened))


def _walked(circuit: Circuit, starts: Iterable[int], barred: set[int], shut: frozenset[int] = CLOSED) -> set[int]:
    seen = set(starts) - barred
    waiting = sorted(seen)
    found: set[int] = set()
    for here in waiting:
        for index in circuit.nodes[here].edges:
            edge = circuit.edges[index]
            if index in shut or not _passes(edge, here, False):
                continue
            there = circuit.other(edge, here)
            if there in barred:
                continue
            found.add(index)
            if there not in seen:
                seen.add(there)
                waiting.append(there)
    return found


def _beyond(circuit: Circuit, nodes: set[int], edges: set[int]) -> set[int]:
    """The edges that no current reaches without the element, but some with it."""
    sources = [n.index for n in circuit.nodes if n.source is not None]
    return _reached(circuit, sources) - _reached(circuit, sources, nodes, edges) - _towards(circuit, nodes, sources)


def _towards(circuit: Circuit, nodes: set[int], sources: list[int]) -> set[int]:
    """The edges at a barred node that lead to it from a side that current reaches without it."""
    alive = {s for s in sources if s not in nodes}
    for index in _reached(circuit, sources, nodes):
        alive |= {circuit.edges[index].u, circuit.edges[index].v}
    return {i for n in nodes for i in circuit.nodes[n].edges if circuit.other(circuit.edges[i], n) in alive}


def _reduced(circuit: Circuit, nodes: set[int], edges: set[int]) -> tuple[Circuit, set[str]]:
    made = Circuit()
    number: dict[int, int] = {}
    names: set[str] = set()
    for index in sorted(nodes):
        node = circuit.nodes[index]
        number[index] = len(made.nodes)
        made.nodes.append(replace(node, index=number[index], edges=[]))
        made.by_name[node.name] = made.nodes[-1]
        names.add(owner(node))
    for index in sorted(edges):
        edge = circuit.edges[index]
        made.add_edge(
            made.nodes[number[edge.u]], made.nodes[number[edge.v]], edge.kind, edge.element, edge.one_way, edge.position
        )
        if edge.kind != "link":
            names.add(edge.element.name)
    return made, names
