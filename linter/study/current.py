"""Load current: what flows through each conductor and device by intention, in the worst of the cases.

Cases are the scenes; without scenes, everything at once.  A bridge carries what lies behind it.  In a ring the
worst is taken: all that the ring feeds, as if it were opened at its worst point.
"""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import dataclass, replace

from linter.model.circuit import Circuit, Edge, Node
from linter.study.cases import Case, draws_a, is_continuous
from linter.study.net import Decomposition, Net


@dataclass(frozen=True, slots=True)
class LoadCurrent:
    """Amperes by intention, of them the part that flows for hours, and the case in which it is so; and the most that
    loads alone draw in any case, without what charges a battery."""

    amps: float
    continuous_a: float
    case: str
    drawn_a: float = 0.0


@dataclass(slots=True)
class _Taken:
    """What a side can take by one of its points: load current, of it the continuous part, and batteries to charge.

    Loads that a battery on their own side can feed are not among them.
    """

    loads: float = 0.0
    continuous: float = 0.0
    batteries: int = 0

    def add(self, other: _Taken, sign: int = 1) -> None:
        self.loads += sign * other.loads
        self.continuous += sign * other.continuous
        self.batteries += sign * other.batteries


@dataclass(slots=True)
class _Given:
    """What a side can give by one of its points.  Unlimited sources are counted, not added up, so that a side can be
    taken away from a sum again."""

    limits: float = 0.0
    charging: float = 0.0
    unlimited: int = 0
    batteries: int = 0
    sources: int = 0

    def add(self, other: _Given, sign: int = 1) -> None:
        self.limits += sign * other.limits
        self.charging += sign * other.charging
        self.unlimited += sign * other.unlimited
        self.batteries += sign * other.batteries
        self.sources += sign * other.sources


_NOTHING_TAKEN = _Taken()
_NOTHING_GIVEN = _Given()


# What flows when sources charge a battery, whatever the scene.
CHARGING = "charging a bank"


def _flow(taken: _Taken, given: _Given) -> tuple[float, float, bool]:
    """(amperes, continuous amperes, whether a battery is charged by them) that flow into a side which takes ``taken``
    from a side that gives ``given``."""
    if not given.sources:
        return 0.0, 0.0, False
    most = math.inf if given.unlimited else given.limits
    amps, continuous = min(taken.loads, most), min(taken.continuous, most)
    if taken.batteries and given.charging > amps:
        return given.charging, max(continuous, given.charging), True
    if taken.batteries:
        continuous = max(continuous, given.charging)
    return amps, continuous, False


def _drawn(taken: _Taken, given: _Given) -> float:
    """Of `_flow`, what loads alone draw, A."""
    return min(taken.loads, math.inf if given.unlimited else given.limits) if given.sources else 0.0


def _seen(taken: _Taken, own: _Given) -> _Taken:
    """What a side takes from outside, if ``own`` is what it can itself give at the same point: with a battery of its
    own it feeds its loads itself."""
    if own.batteries and taken.loads:
        return _Taken(0.0, 0.0, taken.batteries)
    return taken


@dataclass(frozen=True, slots=True)
class Shortfall:
    """In one case, sources that cannot give what is asked of them: their nodes, what they give and what is asked, in A;
    and the loads.  No sources: nothing feeds the loads in that case."""

    case: str
    sources: tuple[int, ...]
    gives_a: float
    asked_a: float
    loads: tuple[int, ...]


def load_currents(circuit: Circuit, cases: list[Case]) -> tuple[dict[int, LoadCurrent], list[Shortfall]]:
    """The greatest load current of every edge through which any flows, by edge index; and where sources fall short.
    Linear for each case."""
    worst: dict[int, LoadCurrent] = {}
    short: list[Shortfall] = []
    for case in cases:
        against: set[int] = set()
        for piece in _pieces(circuit, case):
            _one_piece(circuit, case, piece, worst)
            against.update(_turned(circuit, piece))
            found = _shortfall(circuit, case, piece)
            if found is not None:
                short.append(found)
        if against:
            # a diode in a ring may stand against the current: what is fed then has fewer sources
            without = replace(case, opened=case.opened | against)
            for piece in _pieces(circuit, without):
                _one_piece(circuit, without, piece, worst)
    return worst, short


def _turned(circuit: Circuit, piece: _Piece) -> list[int]:
    """The one-way edges in the rings of a piece."""
    if len(piece.rings) == len(piece.order):
        return []
    edges = circuit.edges
    return [
        index
        for node in piece.order
        for index in circuit.nodes[node].edges
        if edges[index].one_way
        and edges[index].u == node
        and edges[index].v in piece.ring
        and piece.ring[edges[index].v] == piece.ring[node]
    ]


def never_fed(cases: list[Case], short: list[Shortfall]) -> list[tuple[str, int]]:
    """(title, node) of the loads that are on in a case and have no source in any position of its switches."""
    positions: dict[str, int] = {}
    for case in cases:
        positions[case.title] = positions.get(case.title, 0) + 1
    without: dict[tuple[str, int], int] = {}
    for found in short:
        if not found.sources:
            for node in found.loads:
                without[found.case, node] = without.get((found.case, node), 0) + 1
    return [key for key, count in without.items() if count == positions[key[0]]]


def _shortfall(circuit: Circuit, case: Case, piece: _Piece) -> Shortfall | None:
    """Whether what hangs together here asks for more than its sources give; only where no battery is among them."""
    asked, gives, loads, sources = 0.0, 0.0, [], []
    for node in piece.order:
        taken, given = _own(circuit.nodes[node], case)
        if given is not None:
            if given.unlimited or given.batteries:
                return None
            gives += given.limits
            sources.append(node)
        if taken is not None:
            asked += taken.loads
        if circuit.nodes[node].load is not None and case.has_on(node):
            loads.append(node)
    if not loads or (sources and asked <= gives * (1 + 1e-9)):
        return None
    return Shortfall(case.title, tuple(sorted(sources)), gives, asked, tuple(loads))


@dataclass(slots=True)
class _Piece:
    """What hangs together while some edges are open: nodes from a root outwards; the rings in it, each known by the
    first of its nodes; and for that node the bridge by which the ring hangs (-1 for the root's)."""

    order: list[int]
    ring: dict[int, int]
    bridge: dict[int, int]
    # rings in the order of `order`, and the ring each hangs from
    rings: list[int]
    above: dict[int, int]


def _pieces(circuit: Circuit, case: Case) -> Iterator[_Piece]:
    """Two-edge-connected rings and the bridges between them, by one depth-first search without recursion."""
    nodes, edges, opened = circuit.nodes, circuit.edges, case.opened
    found = [0] * len(nodes)
    low = [0] * len(nodes)
    parent = [-1] * len(nodes)
    clock = 0
    for root in range(len(nodes)):
        if found[root] or not nodes[root].edges:
            continue
        clock += 1
        found[root] = low[root] = clock
        order = [root]
        stack = [(root, iter(nodes[root].edges))]
        while stack:
            node, rest = stack[-1]
            for index in rest:
                if index == parent[node] or index in opened:
                    continue
                edge = edges[index]
                other = edge.v if edge.u == node else edge.u
                if not found[other]:
                    clock += 1
                    found[other] = low[other] = clock
                    parent[other] = index
                    order.append(other)
                    stack.append((other, iter(nodes[other].edges)))
                    break
                if found[other] < low[node]:
                    low[node] = found[other]
            else:
                stack.pop()
                if stack and low[node] < low[stack[-1][0]]:
                    low[stack[-1][0]] = low[node]
        piece = _Piece(order, {root: root}, {root: -1}, [root], {})
        for node in order[1:]:
            edge = edges[parent[node]]
            before = edge.v if edge.u == node else edge.u
            if low[node] > found[before]:
                piece.ring[node] = node
                piece.bridge[node] = parent[node]
                piece.rings.append(node)
                piece.above[node] = piece.ring[before]
            else:
                piece.ring[node] = piece.ring[before]
        yield piece


def _own(node: Node, case: Case) -> tuple[_Taken | None, _Given | None]:
    taken = given = None
    if node.load is not None and case.has_on(node.index):
        amps = draws_a(node.load, node)
        if amps:
            taken = _Taken(amps, amps if is_continuous(node.load) else 0.0)
    source = node.source
    if source is not None and node.index not in case.off:
        given = _Given(sources=1)
        # by intention a source gives its rated current; only a battery gives whatever is asked
        most = source.limit_a if source.is_battery else min(source.limit_a, source.rated_a or math.inf)
        if most == math.inf:
            given.unlimited = 1
        else:
            given.limits = most
        if source.is_battery:
            given.batteries = 1
            taken = taken or _Taken()
            taken.batteries = 1
        else:
            given.charging = source.rated_a or 0.0
    return taken, given


def _one_piece(circuit: Circuit, case: Case, piece: _Piece, worst: dict[int, LoadCurrent]) -> None:
    """Sums from the leaves inwards, then outwards again; each bridge by its two sides, each ring as one.

    A one-way bridge passes what is taken and given in its own direction only; inside a ring direction is not looked at,
    which can only make the figures larger.
    """
    edges = circuit.edges
    own_taken: dict[int, _Taken] = {}
    own_given: dict[int, _Given] = {}
    for node in piece.order:
        taken, given = _own(circuit.nodes[node], case)
        ring = piece.ring[node]
        if taken is not None:
            own_taken.setdefault(ring, _Taken()).add(taken)
        if given is not None:
            own_given.setdefault(ring, _Given()).add(given)
    if not own_given:
        return
    # what a ring and all beyond it take from, and give to, the bridge it hangs from; loads fed from within still in
    takes, gives = own_taken, own_given
    for ring in reversed(piece.rings[1:]):
        inwards, outwards = _ways(edges[piece.bridge[ring]], ring)
        above = piece.above[ring]
        if ring in takes and outwards:
            takes.setdefault(above, _Taken()).add(_seen(takes[ring], gives.get(ring, _NOTHING_GIVEN)))
        if ring in gives and inwards:
            gives.setdefault(above, _Given()).add(gives[ring])
    # the same of everything, as it stands at each ring; from the root outwards
    root = piece.rings[0]
    hanging: dict[int, list[_Side]] = {}
    # most rings are single nodes, around which nothing flows
    meshed = {ring for node, ring in piece.ring.items() if node != ring}
    all_takes = {root: takes.get(root, _NOTHING_TAKEN)}
    all_gives = {root: gives.get(root, _NOTHING_GIVEN)}
    for ring in piece.rings[1:]:
        bridge, above = piece.bridge[ring], piece.above[ring]
        inwards, outwards = _ways(edges[bridge], ring)
        inner_gives = gives.get(ring, _NOTHING_GIVEN)
        inner_takes = _seen(takes.get(ring, _NOTHING_TAKEN), inner_gives)
        outer_takes, outer_gives = all_takes[above], all_gives[above]
        if ring in takes and outwards:
            outer_takes = _less(outer_takes, inner_takes)
        if ring in gives and inwards:
            outer_gives = _given_less(outer_gives, inner_gives)
        outer_takes = _seen(outer_takes, outer_gives)
        edge = edges[bridge]
        above_node = edge.v if edge.u == ring else edge.u
        if above in meshed:
            taken = inner_takes if outwards else _NOTHING_TAKEN
            given = inner_gives if inwards else _NOTHING_GIVEN
            hanging.setdefault(above, []).append(_Side(above_node, taken, given))
        if ring in meshed:
            taken = outer_takes if inwards else _NOTHING_TAKEN
            given = outer_gives if outwards else _NOTHING_GIVEN
            hanging.setdefault(ring, []).append(_Side(ring, taken, given))
        down = _flow(inner_takes, outer_gives) if outwards else (0.0, 0.0, False)
        up = _flow(outer_takes, inner_gives) if inwards else (0.0, 0.0, False)
        amps, continuous, charging = max(down, up)
        if amps > 1e-12:
            drawn = _drawn(inner_takes, outer_gives) if outwards else 0.0
            drawn = max(drawn, _drawn(outer_takes, inner_gives) if inwards else 0.0)
            _keep(worst, bridge, amps, max(continuous, 0.0), CHARGING if charging else case.title, drawn)
        inside = takes.get(ring, _NOTHING_TAKEN)
        all_takes[ring] = _more(inside, outer_takes) if inwards else inside
        all_gives[ring] = _given_more(inner_gives, outer_gives) if outwards else inner_gives
    _rings(circuit, case, piece, hanging, worst)


def _ways(edge: Edge, outer_node: int) -> tuple[bool, bool]:
    """Whether current can pass a bridge inwards (away from ``outer_node``), and outwards to it."""
    return not edge.one_way or edge.u == outer_node, not edge.one_way or edge.v == outer_node


def _less(all_: _Taken, part: _Taken) -> _Taken:
    made = _Taken(all_.loads, all_.continuous, all_.batteries)
    made.add(part, -1)
    return made


def _more(one: _Taken, other: _Taken) -> _Taken:
    if other is _NOTHING_TAKEN:
        return one
    made = _Taken(one.loads, one.continuous, one.batteries)
    made.add(other)
    return made


def _given_less(all_: _Given, part: _Given) -> _Given:
    made = _Given()
    made.add(all_)
    made.add(part, -1)
    return made


def _given_more(one: _Given, other: _Given) -> _Given:
    if one.sources == 0:
        return other
    made = _Given()
    made.add(one)
    made.add(other)
    return made


@dataclass(slots=True)
class _Side:
    """What hangs at a node of a ring."""

    node: int
    taken: _Taken
    given: _Given


def _rings(
    circuit: Circuit, case: Case, piece: _Piece, hanging: dict[int, list[_Side]], worst: dict[int, LoadCurrent]
) -> None:
    """A ring carries, at worst, all that its nodes take from sources at other nodes of it: current flows from a source
    to a load and never through the same node twice, so what is taken where the only source is does not go around."""
    around: dict[int, list[int]] = {}
    for node in piece.order:
        ring = piece.ring[node]
        for index in circuit.nodes[node].edges:
            edge = circuit.edges[index]
            if edge.u == node != edge.v and index not in case.opened and piece.ring.get(edge.v) == ring:
                around.setdefault(ring, []).append(index)
    for ring, edges in around.items():
        takes: dict[int, _Taken] = {}
        gives: dict[int, _Given] = {}
        sides = list(hanging.get(ring, ()))
        for node in dict.fromkeys(n for e in edges for n in (circuit.edges[e].u, circuit.edges[e].v)):
            taken, given = _own(circuit.nodes[node], case)
            sides.append(_Side(node, taken or _NOTHING_TAKEN, given or _NOTHING_GIVEN))
        for side in sides:
            takes.setdefault(side.node, _Taken()).add(side.taken)
            gives.setdefault(side.node, _Given()).add(side.given)
        sources = {n for n, g in gives.items() if g.sources}
        charging = sum(g.charging for g in gives.values())
        amps = continuous = 0.0
        for node, taken in takes.items():
            if not sources - {node}:
                continue
            seen = _seen(taken, gives[node])
            amps, continuous = amps + seen.loads, continuous + seen.continuous
        drawn = amps
        for node, taken in takes.items():
            if taken.batteries:
                amps = max(amps, charging - gives[node].charging)
                continuous = max(continuous, charging - gives[node].charging)
        if amps > 1e-12:
            for index in edges:
                _keep(worst, index, amps, continuous, case.title, drawn)


def single_loads(net: Net, parts: Decomposition, worst: dict[int, LoadCurrent]) -> None:
    """Every load by itself: each bridge away from the sources carries at least the largest load beyond it, whatever
    the scenes open or leave out; but no more than all sources can give that anything joins it to."""
    circuit = net.circuit
    piece = circuit.pieces()
    limits: dict[int, float] = {}
    for node, limit_a in net.limit.items():
        limits[piece[node]] = limits.get(piece[node], 0.0) + limit_a
    largest: dict[int, tuple[float, bool, str]] = {}
    around: dict[int, tuple[float, bool, str]] = {}
    for node in reversed(parts.order):
        made = circuit.nodes[node]
        best = largest.get(node)
        if made.load is not None:
            amps = min(draws_a(made.load, made) or 0.0, limits.get(piece[node], 0.0))
            if amps and (best is None or amps > best[0]):
                best = largest[node] = amps, is_continuous(made.load), made.load.name
        bridge, block = parts.bridge_to[node], parts.block_of[node]
        if best is None:
            continue
        if bridge < 0:
            if block > 0:
                # inside a ring or a selector that hangs from a bridge: either way around may carry it
                entry = parts.blocks[block].entry
                around[block] = max(around.get(block, best), best)
                largest[entry] = max(largest.get(entry, best), best)
            continue
        edge = circuit.edges[bridge]
        above = edge.v if edge.u == node else edge.u
        if edge.one_way and edge.v != node:
            continue
        _keep(worst, bridge, best[0], best[0] if best[1] else 0.0, f"{best[2]} by itself", best[0])
        if above not in largest or best[0] > largest[above][0]:
            largest[above] = best
    for block, best in around.items():
        for edge_index in parts.blocks[block].edges:
            _keep(worst, edge_index, best[0], best[0] if best[1] else 0.0, f"{best[2]} by itself", best[0])


def _keep(worst: dict[int, LoadCurrent], edge: int, amps: float, continuous: float, case: str, drawn: float) -> None:
    before = worst.get(edge)
    equal = before is not None and amps > before.amps - 1e-12 and continuous > before.continuous_a
    most = max(drawn, before.drawn_a if before is not None else 0.0)
    if before is None or amps > before.amps + 1e-12 or equal:
        worst[edge] = LoadCurrent(amps, continuous, case, most)
    elif most > before.drawn_a:
        worst[edge] = LoadCurrent(before.amps, before.continuous_a, before.case, most)
