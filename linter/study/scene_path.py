"""Where a load's current comes from, and where on that way its voltage is lost."""

from __future__ import annotations

from dataclasses import dataclass

from linter.study.scene_net import Link, SceneNet
from linter.study.scene_solve import Balance

# Less than this is what the solver leaves where nothing flows.
LEAST_A = 1e-6


@dataclass(slots=True)
class Piece:
    """What hangs together in a case, solved.  Lists go by a numbering of its own; ``nodes`` and ``links`` give the
    circuit's.  ``loads`` and ``feeds`` are nodes of the circuit, with what they draw and give in A.

    ``from_v``: by node, the terminal voltage of the source it is fed from; ``via``: the place in ``links`` of the link
    by which it is, -1 at the source.  ``resting``: the same loads, as far as batteries can feed them, carried by the
    batteries alone; where other sources feed the piece too.
    """

    nodes: list[int]
    links: list[int]
    balance: Balance
    loads: dict[int, float]
    feeds: dict[int, float]
    batteries: set[int]
    number: dict[int, int]
    from_v: list[float]
    via: list[int]
    resting: Piece | None = None

    def judged(self, node: int) -> Piece:
        """That by which the drop of a load is judged.

        What charges raises the voltage at every load and is not always there; and the terminals of a source at its
        limit hold no voltage that a drop could be reckoned from.
        """
        return self.resting if self.resting is not None and node in self.resting.loads else self

    def volts(self, node: int) -> float:
        return self.balance.volts[self.number[node]]

    def drop_v(self, node: int) -> float:
        """From its source's terminals to a node, V."""
        at = self.number[node]
        return max(0.0, self.from_v[at] - self.balance.volts[at])


def trace_sources(piece: Piece, net: SceneNet) -> None:
    """Fill in by which way and from which terminals each node is fed.

    The way is followed against the current, to a battery that gives.  Where only other sources feed a node, and they
    charge a battery besides, the drop is reckoned from where the ways to the node and to the battery part: what the
    charging current costs is no drop of the load's.  Of several batteries the one with the highest voltage counts.
    """
    volts, amps = piece.balance.volts, piece.balance.ways_a
    count = len(piece.nodes)
    into: list[list[tuple[float, int, int]]] = [[] for _ in range(count)]
    onward: list[list[int]] = [[] for _ in range(count)]
    for place, number in enumerate(piece.links):
        if abs(amps[place]) <= LEAST_A:
            continue
        link = net.links[number]
        u, v = piece.number[link.u], piece.number[link.v]
        if amps[place] < 0:
            u, v = v, u
        into[v].append((abs(amps[place]), u, place))
        onward[u].append(v)
    feeding = {piece.number[n] for n in piece.feeds}
    giving = {piece.number[n] for n in piece.batteries if piece.feeds.get(n, 0.0) >= -LEAST_A}
    charged = {piece.number[n] for n in piece.batteries if piece.feeds.get(n, 0.0) < -LEAST_A}
    order = sorted(range(count), key=volts.__getitem__)
    charging = set(charged)
    for node in order:
        if node not in charging and any(n in charging for n in onward[node]):
            charging.add(node)
    by_battery: list[float | None] = [None] * count
    by_other: list[float | None] = [None] * count
    via = [-1] * count
    for node in reversed(order):
        if node in giving:
            by_battery[node] = volts[node]
            continue
        best: tuple[float, float, int] | None = None
        for a, before, place in into[node]:
            reference = by_battery[before]
            if reference is not None and (best is None or (reference, a) > best[:2]):
                best = (reference, a, place)
        if best is not None:
            by_battery[node], via[node] = best[0], best[2]
            continue
        if node in feeding or node in charging:
            by_other[node] = volts[node]
            continue
        for a, before, place in into[node]:
            reference = by_other[before]
            if reference is not None and (best is None or (reference, a) > best[:2]):
                best = (reference, a, place)
        if best is not None:
            by_other[node], via[node] = best[0], best[2]
    for node in range(count):
        battery_v, other_v = by_battery[node], by_other[node]
        piece.from_v[node] = battery_v if battery_v is not None else volts[node] if other_v is None else other_v
    piece.via = via


# What costs less than this is left out where it is told what is lost on a way.
LEAST_V = 1e-9


def losses(piece: Piece, net: SceneNet, node: int, least_v: float = LEAST_V) -> list[tuple[int, float]]:
    """(edge, volts lost in it) on the way from the source's terminals to a node, nearest the node first; what costs no
    more than ``least_v`` is left out.  A diode's own drop is among them."""
    found: list[tuple[int, float]] = []
    seen: set[int] = set()
    while node not in seen:
        seen.add(node)
        place = piece.via[piece.number[node]]
        if place < 0:
            break
        link = net.links[piece.links[place]]
        found += lost_in(net, link, abs(piece.balance.ways_a[place]), node, least_v)
        node = link.other(node)
    return found


def lost_in(net: SceneNet, link: Link, amps: float, node: int, least_v: float = LEAST_V) -> list[tuple[int, float]]:
    """(edge, volts) of a link with a current, from the given end on; without edges that cost no more than
    ``least_v``."""
    row = [(edge, amps * net.ohms[edge] + net.drops[edge]) for edge, _ in link.edges]
    return [(e, v) for e, v in (reversed(row) if link.v == node else row) if v > least_v]
