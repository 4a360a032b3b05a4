"""The circuit as a drafter sees it: hubs (buses, joints, selectors) and the chains of things in a row between them.

A chain is drawn as one horizontal row, so it is placed as one thing.  Where a source, a load or the end of a cable has
several cables on it, a plain joining line (a hub of its own, without a name) takes them.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass, field
from typing import Literal

from linter.model.circuit import Circuit, Edge
from linter.model.elements import Element, Switch

Side = Literal["left", "right"]
SOURCES = frozenset(("battery", "alternator", "charger", "solar"))
ENDS = SOURCES | {"load", "inverter"}
# The port of a selector that is not one of its positions.
COMMON = ""


@dataclass(frozen=True, slots=True)
class Reference:
    """One end of a line that goes on at another place.

    ``number`` is that of the pair, ``out`` whether the line leaves here (at the right) or arrives (at the left),
    ``towards`` the name of what stands next at the other place.
    """

    number: int
    out: bool
    towards: str


@dataclass(slots=True, eq=False)
class Item:
    """One thing in a row.  ``left`` and ``right`` are the circuit's nodes it joins, -1 for none."""

    kind: str
    element: Element | None
    left: int
    right: int
    flipped: bool = False
    reference: Reference | None = None

    def turned(self) -> Item:
        return Item(self.kind, self.element, self.right, self.left, not self.flipped)


@dataclass(slots=True, eq=False)
class Hub:
    """``kind``: bus, joint, selector, or junction (a plain joining line).

    ``continued``: another hub of the same element stands before it, from which it is led on by a reference.
    """

    index: int
    kind: str
    element: Element | None
    node: int
    # a selector's ports: name -> node; and whether its positions are at the right
    ports: dict[str, int] = field(default_factory=dict)
    mirrored: bool = False
    continued: bool = False

    def side(self, port: str) -> Side:
        return "right" if (port == COMMON) != self.mirrored else "left"


@dataclass(frozen=True, slots=True)
class End:
    hub: int
    port: str = ""


@dataclass(slots=True, eq=False)
class Chain:
    """``nodes`` are those of the plain stretches: before the first item, between items, after the last; -1 for none."""

    index: int
    items: list[Item]
    nodes: list[int]
    left: End | None
    right: End | None

    def turn(self) -> None:
        self.items = [i.turned() for i in reversed(self.items)]
        self.nodes.reverse()
        self.left, self.right = self.right, self.left


@dataclass(slots=True)
class Schematic:
    hubs: list[Hub] = field(default_factory=list)
    chains: list[Chain] = field(default_factory=list)

    def hub(self, kind: str, element: Element | None, node: int) -> Hub:
        made = Hub(len(self.hubs), kind, element, node)
        self.hubs.append(made)
        return made

    def chain(self, items: list[Item], nodes: list[int], left: End | None, right: End | None) -> Chain:
        made = Chain(len(self.chains), items, nodes, left, right)
        self.chains.append(made)
        return made


@dataclass(slots=True, eq=False)
class _Vertex:
    """A point of the graph that is walked: ``stop`` where chains end in a hub, ``item`` what stands at it."""

    node: int
    stop: End | None = None
    item: Item | None = None
    arcs: list[int] = field(default_factory=list)


@dataclass(slots=True, eq=False)
class _Arc:
    u: int
    v: int
    item: Item | None


class _Walk:
    def __init__(self, circuit: Circuit, elements: Iterable[Element]) -> None:
        self.circuit = circuit
        self.made = Schematic()
        self.vertices: list[_Vertex] = [_Vertex(n.index) for n in circuit.nodes]
        self.arcs: list[_Arc] = []
        self.seen: set[int] = set()
        self._lay_arcs()
        self._selectors()
        self._nodes()
        self._chains()
        self._strays(elements)

    def arc(self, u: int, v: int, item: Item | None) -> None:
        self.vertices[u].arcs.append(len(self.arcs))
        self.vertices[v].arcs.append(len(self.arcs))
        self.arcs.append(_Arc(u, v, item))

    def _lay_arcs(self) -> None:
        inputs = [n for n in self.circuit.nodes if n.kind == "converter input"]
        into = {n.element.name: n.index for n in inputs if n.element}
        for edge in self.circuit.edges:
            if edge.kind != "selector":
                self.arc(edge.u, edge.v, _item(edge))
        for node in self.circuit.nodes:
            if node.kind == "converter output":
                name = node.name.removesuffix(".out")
                start = into[name]
                self.arc(start, node.index, Item("converter", self.circuit.nodes[start].element, start, node.index))

    def _apart(self, vertex: int) -> _Vertex:
        """A vertex for the thing at ``vertex`` itself, joined by a plain line, where several cables meet there."""
        at = self.vertices[vertex]
        if len(at.arcs) <= 1:
            return at
        own = _Vertex(at.node)
        self.vertices.append(own)
        self.arc(len(self.vertices) - 1, vertex, None)
        return own

    def _selectors(self) -> None:
        hubs: dict[str, Hub] = {}
        for node in self.circuit.nodes:
            element = node.element
            if node.kind not in ("selector", "selector terminal") or element is None:
                continue
            hub = hubs.get(element.name) or hubs.setdefault(element.name, self.made.hub("selector", element, -1))
            port = COMMON if node.kind == "selector" else node.name[len(element.name) + 1 :]
            hub.ports[port] = node.index
            vertex = self._apart(node.index)
            vertex.stop = End(hub.index, port)
        for hub in hubs.values():
            score = 0
            for port, index in hub.ports.items():
                for arc in self.vertices[index].arcs:
                    arriving = self.arcs[arc].v == index
                    score += 1 if arriving == (port == COMMON) else -1
            hub.mirrored = score > 0

    def _nodes(self) -> None:
        for node in self.circuit.nodes:
            vertex = self.vertices[node.index]
            kind = node.kind
            if vertex.stop is not None:
                continue
            if kind == "bus":
                vertex.stop = End(self.made.hub("bus", node.element, node.index).index)
            elif kind in ENDS:
                self._apart(node.index).item = Item(kind, node.element, node.index, node.index)
            elif kind == "joint" and len(vertex.arcs) <= 2:
                vertex.item = Item("joint", node.element, node.index, node.index)
            elif kind == "end" and len(vertex.arcs) == 1:
                vertex.item = Item("end", None, node.index, node.index)
            if vertex.stop is None and len(vertex.arcs) > 2:
                named = node.element if kind == "joint" else None
                vertex.stop = End(self.made.hub("joint" if named else "junction", named, node.index).index)

    def _chains(self) -> None:
        for index in range(len(self.vertices)):
            vertex = self.vertices[index]
            if vertex.stop is not None or len(vertex.arcs) != 2:
                for arc in list(vertex.arcs):
                    if arc not in self.seen:
                        self._follow(index, arc)
                if vertex.stop is None and not vertex.arcs and vertex.item is not None:
                    self.made.chain([vertex.item], [-1, -1], None, None)
        # Rings in which nothing is a hub: one of their points is made one.
        for number, left in enumerate(self.arcs):
            if number not in self.seen:
                vertex = self.vertices[left.u]
                vertex.stop = End(self.made.hub("junction", None, vertex.node).index)
                named = vertex.item
                if named is not None:
                    self.made.hubs[-1].kind, self.made.hubs[-1].element, vertex.item = "joint", named.element, None
                self._follow(left.u, number)

    def _follow(self, start: int, first: int) -> None:
        at, arc = self.vertices[start], first
        here = start
        items: list[Item] = []
        nodes: list[int] = []

        def stand(item: Item | None, node: int) -> None:
            nodes.append(node)
            if item is not None:
                items.append(item)

        if at.stop is None and at.item is not None:
            stand(at.item, -1)
        elif at.stop is None:
            # A converter's port with nothing on it.
            nodes.append(-1)
        dangling = at.stop is None and at.item is None
        while True:
            self.seen.add(arc)
            step = self.arcs[arc]
            forward = step.u == here
            there = step.v if forward else step.u
            if step.item is not None:
                if not dangling:
                    nodes.append(self.vertices[here].node)
                items.append(step.item if forward else step.item.turned())
            dangling = False
            here = there
            at = self.vertices[here]
            if at.stop is not None or len(at.arcs) != 2:
                break
            if at.item is not None:
                stand(at.item, at.node)
            arc = at.arcs[0] if at.arcs[1] == arc else at.arcs[1]
        if at.stop is None and at.item is not None:
            stand(at.item, at.node)
            nodes.append(-1)
        else:
            nodes.append(-1 if at.stop is None else at.node)
        self.made.chain(items, nodes, self.vertices[start].stop, at.stop)

    def _strays(self, elements: Iterable[Element]) -> None:
        """What is declared and is neither node nor edge of the circuit."""
        drawn = {i.element.name for c in self.made.chains for i in c.items if i.element}
        drawn |= {h.element.name for h in self.made.hubs if h.element}
        for element in elements:
            if element.name in drawn:
                continue
            if element.kind in ("bus", "selector"):
                hub = self.made.hub(element.kind, element, -1)
                if isinstance(element, Switch):
                    hub.ports = dict.fromkeys((*element.positions, COMMON), -1)
            else:
                self.made.chain([Item(element.kind, element, -1, -1)], [-1, -1], None, None)


def _item(edge: Edge) -> Item | None:
    return None if edge.kind == "link" else Item(edge.element.kind, edge.element, edge.u, edge.v)


def schematic(circuit: Circuit, elements: Iterable[Element]) -> Schematic:
    """Hubs and chains of the circuit, chains turned so that they run from left to right without a ring."""
    made = _Walk(circuit, elements).made
    for chain in made.chains:
        _face(chain)
    _unring(made)
    for chain in made.chains:
        chain.items, chain.nodes = _with_terminals(chain)
    return made


def _rank(item: Item) -> int:
    """Where an end of a row belongs: sources left, loads right."""
    return 0 if item.kind in SOURCES else 2 if item.kind in ENDS else 1


def _face(chain: Chain) -> None:
    """Turn a chain with a loose end so that sources are at its left and loads at its right."""
    if not chain.items:
        return
    first, last = chain.items[0], chain.items[-1]
    left = _rank(first) if chain.left is None else 1
    right = _rank(last) if chain.right is None else 1
    if left > right or (left == right and sum(i.flipped for i in chain.items) * 2 > len(chain.items)):
        chain.turn()


def _with_terminals(chain: Chain) -> tuple[list[Item], list[int]]:
    """A small circle stands between two cables that follow each other, so that one sees where each ends."""
    items: list[Item] = []
    nodes = [chain.nodes[0]]
    for item, node in zip(chain.items, chain.nodes[1:], strict=True):
        if items and items[-1].kind == "cable" and item.kind == "cable":
            items.append(Item("terminal", None, nodes[-1], nodes[-1]))
            nodes.append(nodes[-1])
        items.append(item)
        nodes.append(node)
    return items, nodes


class _Order:
    """Hubs from left to right, without a ring."""

    def __init__(self) -> None:
        self.after: dict[int, set[int]] = {}

    def reaches(self, start: int, goal: int) -> bool:
        if start == goal:
            return True
        seen, waiting = {start}, [start]
        while waiting:
            for hub in self.after.get(waiting.pop(), ()):
                if hub == goal:
                    return True
                if hub not in seen:
                    seen.add(hub)
                    waiting.append(hub)
        return False

    def add(self, left: int, right: int) -> None:
        self.after.setdefault(left, set()).add(right)


def _unring(made: Schematic) -> None:
    """Turn chains, and lead round what cannot be turned, until each hub is left or right of each of its neighbours."""
    order = _Order()

    def side(end: End | None) -> Side | None:
        """On which side of its hub a chain must be; None where both will do."""
        if end is None or made.hubs[end.hub].kind != "selector":
            return None
        return made.hubs[end.hub].side(end.port)

    for chain in sorted(made.chains, key=lambda c: not (side(c.left) or side(c.right))):
        a, b = chain.left, chain.right
        if a is None or b is None:
            # A chain whose left end is at a hub stands on the right of that hub.
            if side(a) == "left" or side(b) == "right":
                chain.turn()
        elif side(a) != "left" and side(b) != "right" and not order.reaches(b.hub, a.hub):
            order.add(a.hub, b.hub)
        elif side(a) != "right" and side(b) != "left" and not order.reaches(a.hub, b.hub):
            chain.turn()
            order.add(b.hub, a.hub)
        else:
            _lead_round(made, order, chain, a, b, (side(a) or "right", side(b) or "right"))


def _lead_round(made: Schematic, order: _Order, chain: Chain, a: End, b: End, sides: tuple[Side, Side]) -> None:
    """The chain ends in a corner beside ``a``; plain lines go on from there to ``b``.  Corners never close a ring."""
    node = chain.nodes[-1]
    corners: dict[Side, End] = {}
    for wanted in sides:
        if wanted not in corners:
            corners[wanted] = End(made.hub("junction", None, node).index)

    def join(end: End, wanted: Side, chain: Chain) -> None:
        corner = corners[wanted]
        chain.left, chain.right = (end, corner) if wanted == "right" else (corner, end)
        order.add(chain.left.hub, chain.right.hub)

    if sides[0] == "left":
        chain.turn()
    join(a, sides[0], chain)
    join(b, sides[1], made.chain([], [node], None, None))
    if len(corners) == 2:
        made.chain([], [node], corners["left"], corners["right"])
        order.add(corners["left"].hub, corners["right"].hub)
