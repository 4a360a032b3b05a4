"""The live side of a boat as a graph: terminals and buses are nodes; what current flows through are edges."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, field
from typing import TYPE_CHECKING

from linter.model.elements import Conductor, Converter, Device, Element, Load, Source, Switch, System

if TYPE_CHECKING:
    import networkx as nx  # type: ignore[import-untyped, unused-ignore]


@dataclass(slots=True, eq=False)
class Node:
    """A point of one potential.  ``name`` is stable: the element's, or ``F1.out`` for where F1 ends.

    ``kind``: battery, alternator, charger, solar, inverter, converter input, converter output, bus, joint, load,
    selector, selector terminal, end (where an edge element ends with nothing declared there).
    """

    index: int
    name: str
    kind: str
    element: Element | None = None
    source: Source | None = None
    load: Load | None = None
    system: System | None = None
    # indices of the edges that meet here
    edges: list[int] = field(default_factory=list)


@dataclass(slots=True, eq=False)
class Edge:
    """What current flows through, from ``u`` (nearer the source as written) to ``v``.

    ``kind``: conductor, device, switch, relay, selector, diode, link (two terminals that touch).
    A diode lets current pass from ``u`` to ``v`` only.
    """

    index: int
    u: int
    v: int
    kind: str
    element: Element
    one_way: bool = False
    # the selector position that closes it, "" for any other edge
    position: str = ""

    @property
    def conductor(self) -> Conductor:
        assert isinstance(self.element, Conductor)
        return self.element

    @property
    def device(self) -> Device:
        assert isinstance(self.element, Device)
        return self.element


@dataclass(slots=True, eq=False)
class Circuit:
    """Nodes and edges by index; every edge and every node knows its element, and through it its place in the text."""

    nodes: list[Node] = field(default_factory=list)
    edges: list[Edge] = field(default_factory=list)
    by_name: dict[str, Node] = field(default_factory=dict)
    edge_of: dict[str, Edge] = field(default_factory=dict)
    # answers to `pieces`, for as long as nothing is added
    _pieces: dict[bool, list[int]] = field(default_factory=dict)

    def add_node(self, name: str, kind: str, element: Element | None = None) -> Node:
        node = Node(len(self.nodes), name, kind, element)
        if element is None:
            pass
        elif isinstance(element, Source):
            node.source = element
        elif isinstance(element, Load):
            node.load = element
        self.nodes.append(node)
        self.by_name[name] = node
        self._pieces.clear()
        return node

    def add_edge(
        self, u: Node, v: Node, kind: str, element: Element, one_way: bool = False, position: str = ""
    ) -> Edge:
        edge = Edge(len(self.edges), u.index, v.index, kind, element, one_way, position)
        self.edges.append(edge)
        u.edges.append(edge.index)
        if v is not u:
            v.edges.append(edge.index)
        if kind != "link" and not position:
            self.edge_of[element.name] = edge
        self._pieces.clear()
        return edge

    def other(self, edge: Edge, node: int) -> int:
        return edge.v if edge.u == node else edge.u

    def excluding(self) -> list[tuple[Switch, list[list[int]]]]:
        """Selectors that close one position at a time only, with the edges of each position.

        A selector with a position `both` can close all its edges at once, which is then the worst case, and
        excludes nothing.
        """
        groups: dict[str, tuple[Switch, dict[str, list[int]]]] = {}
        for edge in self.edges:
            if edge.position and isinstance(edge.element, Switch) and "both" not in edge.element.positions:
                groups.setdefault(edge.element.name, (edge.element, {}))[1].setdefault(edge.position, []).append(
                    edge.index
                )
        return [(s, list(p.values())) for s, p in groups.values() if len(p) > 1]

    def pieces(self, devices: bool = True) -> Sequence[int]:
        """By node: a number that two nodes share if anything joins them; without ``devices``, if a way joins them on
        which no device is."""
        number = self._pieces.get(devices)
        if number is not None:
            return number
        number = self._pieces[devices] = [-1] * len(self.nodes)
        nodes, edges = self.nodes, self.edges
        for start in range(len(number)):
            if number[start] >= 0:
                continue
            number[start] = start
            waiting = [start]
            for node in waiting:
                for index in nodes[node].edges:
                    edge = edges[index]
                    other = edge.v if edge.u == node else edge.u
                    if number[other] < 0 and (devices or edge.kind != "device"):
                        number[other] = start
                        waiting.append(other)
        return number

    def networkx(self) -> nx.MultiDiGraph[str]:
        """The same graph for networkx: node and edge keys are names, attributes as `graph --format json` has them.

        A multigraph whose edges carry ``one_way``; directed only so that u and v stay what they are.
        """
        import networkx as nx  # type: ignore[import-untyped, unused-ignore]

        from linter.model.export import edge_facts, node_facts

        graph: nx.MultiDiGraph[str] = nx.MultiDiGraph()
        for node in self.nodes:
            graph.add_node(node.name, span=node.element.span if node.element else None, **node_facts(node))
        for edge in self.edges:
            facts = edge_facts(edge, self)
            graph.add_edge(
                self.nodes[edge.u].name, self.nodes[edge.v].name, key=facts["id"], span=edge.element.span, **facts
            )
        return graph


__all__ = ["Circuit", "Converter", "Edge", "Node"]
