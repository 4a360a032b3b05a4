"""What two designs have in common need not be reckoned twice: how faults on conductors are cleared, where everything
that decides it is the same in both.

That is: the piece of the core that feeds a conductor, all bridges and rings on its way, every resistance, source, curve
and state of the switches there, the heat the conductor stands, and the same of its neighbours, whose faults are kept
with its own.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Callable, Iterable
from dataclasses import dataclass, replace

from linter.study.letthrough import core_pieces
from linter.study.opening import Clears, Heat, Moment
from linter.study.study import Study


@dataclass(slots=True)
class _Numbered:
    """A design whose nodes and edges have names that hold in both designs, and numbers for what was met in either."""

    study: Study
    nodes: list[object]
    edges: list[object]
    met: dict[object, int]

    def number(self, what: object) -> int:
        return self.met.setdefault(what, len(self.met))

    def edge(self, index: int) -> tuple[object, ...]:
        """All that matters of an edge."""
        study, edge = self.study, self.study.design.circuit.edges[index]
        curve = study.openings().curve(index) if study.net.is_device[index] else None
        ends = (self.nodes[edge.u], self.nodes[edge.v])
        return self.edges[index], ends, edge.one_way, edge.position, study.faults().edges[index], curve

    def set(self, edges: Iterable[int]) -> frozenset[object]:
        return frozenset(self.edges[e] for e in edges)


def take_over(old: Study, new: Study) -> int:
    """Give ``new`` what ``old`` has reckoned already of conductors for which nothing differs; how many those are.

    What is taken over is what ``new`` would reckon itself, but for the order in which sums are rounded.
    """
    if not old._clears:
        return 0
    met: dict[object, int] = {}
    named = _by_number if _same_numbers(old, new) else _by_name
    was, now = (_Numbered(study, *named(study), met) for study in (old, new))
    before, after = _conductors(was), _conductors(now)
    index_of = {number: index for index, number in before.items()}
    meets_old, meets_new = _meets(was, before), _meets(now, after)
    to_node = {name: index for index, name in enumerate(now.nodes)}
    to_edge = {name: index for index, name in enumerate(now.edges)}

    def node(index: int) -> int:
        return to_node[was.nodes[index]]

    def edge(index: int) -> int:
        return to_edge[was.edges[index]] if index >= 0 else index

    taken = 0
    for made in new.conductors.values():
        ends = (now.nodes[made.edge.u], now.nodes[made.edge.v])
        former = index_of.get(after[made.edge.index])
        if former is None or any(meets_old.get(n) != meets_new[n] for n in ends):
            continue
        known = old._clears.get(old.design.circuit.edges[former].element.name)
        if known is not None:
            new._clears[made.conductor.name] = [_moved(way, node, edge) for way in known]
            taken += 1
    return taken


# ---- names that hold in both


def _same_numbers(old: Study, new: Study) -> bool:
    """Whether nodes and edges are joined alike, number by number: then nothing was put in between."""
    kinds = [
        ([(e.kind, e.u, e.v, e.one_way, e.position) for e in c.edges], [n.kind for n in c.nodes])
        for c in (old.design.circuit, new.design.circuit)
    ]
    return kinds[0] == kinds[1]


def _by_number(study: Study) -> tuple[list[object], list[object]]:
    circuit = study.design.circuit
    return list(range(len(circuit.nodes))), list(range(len(circuit.edges)))


def _by_name(study: Study) -> tuple[list[object], list[object]]:
    """Names of nodes and edges; of several with the same the second is called so, and the third."""
    circuit = study.design.circuit
    names = [node.name for node in circuit.nodes]
    edges = [(e.kind, e.element.name, e.position, names[e.u], names[e.v]) for e in circuit.edges]
    return _told_apart(names), _told_apart(edges)


def _told_apart(names: Iterable[object]) -> list[object]:
    seen: Counter[object] = Counter()
    found: list[object] = []
    for name in names:
        seen[name] += 1
        found.append((name, seen[name]))
    return found


# ---- what decides


def _conductors(one: _Numbered) -> dict[int, int]:
    """By edge of a conductor: a number for all that decides how a fault on it is cleared."""
    study, ways = one.study, _ways(one)
    found: dict[int, int] = {}
    for made in study.conductors.values():
        edge, far = made.edge, study.parts.leads_to[made.edge.index]
        asked = (
            one.edge(edge.index), ways.get(edge.u), ways.get(edge.v), one.nodes[far] if far >= 0 else None,
            study.stands(made), made.conductor.length_m is None,
            study.openings().beyond().inputs((edge.u, edge.v), far),
        )  # fmt: skip
        found[edge.index] = one.number(asked)
    return found


def _meets(one: _Numbered, conductors: dict[int, int]) -> dict[object, list[int]]:
    """By node: the conductors that end there, whose faults are kept with those of each other, in their order."""
    found: dict[object, list[int]] = {}
    for index, number in conductors.items():
        edge = one.study.design.circuit.edges[index]
        for end in dict.fromkeys((edge.u, edge.v)):
            found.setdefault(one.nodes[end], []).append(number)
    return found


def _ways(one: _Numbered) -> dict[int, int]:
    """By node that a fault current can reach: a number for all that lies between it and the sources.  Linear."""
    study = one.study
    net, parts, faults = study.net, study.parts, study.faults()
    everywhere = tuple(dict.fromkeys(one.set(opened) for _, opened in study.openings().core))
    found: dict[int, int] = {}

    def piece(kind: object, nodes: Iterable[int], edges: Iterable[int]) -> int:
        inside = frozenset(edges)
        what = (
            kind, tuple(one.nodes[n] for n in nodes), tuple(one.edge(e) for e in edges),
            tuple(dict.fromkeys(one.set(opened & inside) for opened in study.fault_states)),
            tuple(dict.fromkeys(one.set(c & inside) for c in net.configurations)),
        )  # fmt: skip
        return one.number(what)

    for block in core_pieces(net, parts.blocks[0]):
        feeds = tuple((one.nodes[n], faults.pairs.get(n), net.limit.get(n)) for n in block.nodes)
        core = piece(("core", feeds, everywhere), block.nodes, block.edges)
        for node in block.nodes:
            found[node] = one.number((core, one.nodes[node]))
    for index, block in enumerate(parts.blocks):
        if index:
            bridge = parts.bridge_to[block.entry]
            before = found.get(net.other(bridge, block.entry))
            entry = one.number(("bridge", before, one.edge(bridge), one.nodes[block.entry]))
            ring = piece(("ring", entry), block.nodes, block.edges) if block.edges else entry
            for node in block.nodes:
                found[node] = entry if node == block.entry else one.number((ring, one.nodes[node]))
    return found


# ---- with the numbers of the other design


def _moved(way: Clears, node: Callable[[int], int], edge: Callable[[int], int]) -> Clears:
    followed = way.followed
    return replace(
        way,
        sources=tuple(map(node, way.sources)),
        chain=tuple(map(edge, way.chain)),
        first=_moment(way.first, edge),
        heat=_heat(way.heat, edge),
        beyond=_heat(way.beyond, edge),
        followed=(tuple(map(node, followed[0])), frozenset(map(edge, followed[1]))) if followed else None,
    )


def _moment(moment: Moment, edge: Callable[[int], int]) -> Moment:
    return replace(moment, by=edge(moment.by), untold=tuple(map(edge, moment.untold)))


def _heat(heat: Heat | None, edge: Callable[[int], int]) -> Heat | None:
    return replace(heat, moment=_moment(heat.moment, edge)) if heat is not None else None
