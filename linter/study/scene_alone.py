"""Each load by itself: the classic drop of a single circuit, rated current times the resistance of its way.

The terminals of all batteries that feed a piece are one point (of other sources where no battery does); the resistance
from there to every node comes from one elimination for a state of the switches.  What hangs behind a diode in a ring is
solved load by load instead.  A load whose way would lose all the voltage there is cannot be carried: it has no drop.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import TYPE_CHECKING

from linter.study.cases import draws_a
from linter.study.impedance import NIL_OHM
from linter.study.scene_elimination import Elimination, Way
from linter.study.scene_path import LEAST_V, Piece, losses, lost_in
from linter.study.scene_solve import Feed, Problem, greatest_share
from linter.study.scene_state import Asked, SwitchState, pruned, reached, solved_piece

if TYPE_CHECKING:
    from linter.study.cases import Case
    from linter.study.scene import AtLoad, Flow, Scenes

BY_ITSELF = "by itself"
# Links times states beyond which loads by themselves are not tried in every state: some twenty seconds of reckoning.
GREATEST_WORK = 2_000_000


def each_alone(scenes: Scenes, flow: Flow) -> dict[int, AtLoad]:
    """By load, in the worst of the states that the cases allow.  Adds to ``scenes.not_carried`` what cannot be."""
    from linter.study.scene import AtLoad
    from linter.study.scene_flow import NotCarried

    nodes = scenes.study.design.circuit.nodes
    rated = {}
    for node in nodes:
        if node.load is not None:
            amps = draws_a(node.load, node)
            if amps:
                rated[node.index] = amps
    found: dict[int, AtLoad] = {}
    broken: dict[int, NotCarried] = {}
    seen: set[tuple[frozenset[int], frozenset[int]]] = set()
    for case in scenes.study.cases:
        key = case.opened, case.off
        if key in seen:
            continue
        if len(seen) * len(flow.net.links) > GREATEST_WORK:
            scenes.remarks.append(f"too many states: loads by themselves are tried in the first {len(seen)} only")
            break
        seen.add(key)
        number = -1 - len(scenes.alone_cases)
        for index, (drop_v, volts, share) in _one_state(flow, case, rated).items():
            if share <= 1.0:
                # what it draws drives its own voltage to nothing
                if index not in broken or share < broken[index].share:
                    broken[index] = NotCarried(number, BY_ITSELF, index, share, 0.0, None, rated[index], (index,))
                    scenes.beyond[index] = AtLoad(index, number, BY_ITSELF, volts - drop_v, drop_v, rated[index])
                continue
            before = found.get(index)
            if before is None or drop_v > before.drop_v + 1e-12:
                found[index] = AtLoad(index, number, BY_ITSELF, volts - drop_v, drop_v, rated[index])
        scenes.alone_cases.append(case)
    scenes.not_carried += broken.values()
    # where it breaks down in one state, what it loses in another is not its worst
    return {index: at for index, at in found.items() if index not in broken}


def _grounds(flow: Flow, case: Case, state: SwitchState) -> dict[int, list[int]]:
    """By piece, the sources that a load by itself would be fed from."""
    found: dict[int, list[int]] = {}
    for batteries in (True, False):
        for node in flow.sources:
            if (node in flow.batteries) == batteries and node not in case.off:
                piece = state.piece_of[node]
                if batteries or not any(n in flow.batteries for n in found.get(piece, ())):
                    found.setdefault(piece, []).append(node)
    return found


def _one_state(flow: Flow, case: Case, rated: dict[int, float]) -> dict[int, tuple[float, float, float]]:
    """By load, (drop, voltage at the terminals) in V, and the share of its rated current at which nothing is left."""
    state = flow.switched(case.opened)
    grounds = _grounds(flow, case, state)
    loads: dict[int, list[int]] = {}
    for node in rated:
        loads.setdefault(state.piece_of[node], []).append(node)
    found: dict[int, tuple[float, float, float]] = {}
    for piece, nodes in loads.items():
        feeding = grounds.get(piece)
        if feeding:
            found.update(_one_piece(flow, state, piece, nodes, feeding, rated))
    return found


@dataclass(slots=True)
class _Walk:
    """A piece with the sources' terminals as node 0: the number of each node; the links; by node that hangs from
    another, that other and the places of the links between; and whether a diode is where ways part and meet again."""

    number: dict[int, int]
    fed: set[int]
    links: list[int]
    elimination: Elimination
    hangs: dict[int, tuple[int, list[int]]]
    turned: bool


def _walk(flow: Flow, state: SwitchState, piece: int, feeding: list[int]) -> _Walk:
    net = flow.net
    fed = reached(net, state, feeding) if state.one_way[piece] else set(state.nodes[piece])
    grounds = set(feeding)
    number = dict.fromkeys(feeding, 0)
    count = 1
    ways, links = [], []
    for index in state.links[piece]:
        link = net.links[index]
        if link.u not in fed or link.v not in fed or (link.u in grounds and link.v in grounds):
            continue
        if link.one_way and link.v in grounds:
            continue
        for node in (link.u, link.v):
            if node not in number:
                number[node] = count
                count += 1
        ways.append(Way(number[link.u], number[link.v], link.ohm))
        links.append(index)
    made = Elimination(count, ways, last=0)
    inside = {i for _, _, between in made.rest_ways for i in between}
    inside |= {i for _, _, between in made.leaves if len(between) > 1 for i in between}
    turned = any(net.links[links[i]].one_way for i in inside)
    return _Walk(number, fed, links, made, {n: (m, between) for n, m, between in made.leaves}, turned)


def _one_piece(
    flow: Flow, state: SwitchState, piece: int, loads: list[int], feeding: list[int], rated: dict[int, float]
) -> dict[int, tuple[float, float, float]]:
    net, volts = flow.net, max(flow.sources[n].volts for n in feeding)
    walk = _walk(flow, state, piece, feeding)
    made, count = walk.elimination, max(walk.number.values()) + 1
    made.conductances([1.0 / max(w.ohm, NIL_OHM) for w in made.ways])
    if made.solve([1.0 / NIL_OHM] + [0.0] * (count - 1), [0.0] * count) is None:
        return {}
    ohms = made.own_resistances()
    drops = [0.0] * count
    for node, other, between in reversed(made.leaves):
        drops[node] = drops[other] + max(net.links[walk.links[i]].drop_v for i in between)
    # a charging source by itself does not stand in for a battery; what a converter feeds has no other
    battery = feeding[0] in flow.batteries or any(n in flow.input_of for n in feeding)
    found = {}
    for node in loads:
        if node not in walk.fed or (not battery and node in flow.from_battery):
            continue
        if walk.turned:
            solved, problem = _solved_alone(flow, state, piece, feeding, node, rated[node])
            if solved is not None:
                found[node] = solved.drop_v(node), volts, math.inf
            else:
                found[node] = volts, volts, greatest_share(problem)[0]
            continue
        at = walk.number.get(node, 0)
        ohmic_v, left_v = rated[node] * max(0.0, ohms[at] - NIL_OHM), max(volts - drops[at], 0.0)
        found[node] = ohmic_v + drops[at], volts, left_v / ohmic_v if ohmic_v else math.inf if left_v else 0.0
    return found


def _solved_alone(
    flow: Flow, state: SwitchState, piece: int, feeding: list[int], node: int, amps: float
) -> tuple[Piece | None, Problem]:
    volts = max(flow.sources[n].volts for n in feeding)
    feeds = [Feed(n, volts, 0.0, math.inf) for n in feeding]
    asked = Asked(feeds, set(feeding), {node: amps}, {})
    links = pruned(flow.net, state.links[piece], {node, *feeding})
    return solved_piece(flow.net, links, asked)[:2]


def alone_source(scenes: Scenes, found: AtLoad) -> tuple[float, float]:
    """(V, ohm) of the sources side by side that feed a load by itself in the state in which it is worst."""
    flow, case = scenes.flow, scenes.alone_cases[-1 - found.case]
    state = flow.switched(case.opened)
    feeds = [flow.sources[n] for n in _grounds(flow, case, state)[state.piece_of[found.node]]]
    return max(f.volts for f in feeds), 1.0 / sum(1.0 / max(f.ohm, NIL_OHM) for f in feeds)


def alone_losses(scenes: Scenes, found: AtLoad, least_v: float = LEAST_V) -> tuple[list[tuple[int, float]], set[int]]:
    """(edge, V) on the way to a load by itself in the state in which it is worst, nearest the load first, without what
    costs no more than ``least_v``; and those of the edges that are on its only way."""
    flow, net = scenes.flow, scenes.net
    case = scenes.alone_cases[-1 - found.case]
    state = flow.switched(case.opened)
    piece = state.piece_of[found.node]
    key = found.case, piece
    if key not in scenes.walks:
        feeding = _grounds(flow, case, state)[piece]
        scenes.walks[key] = _walk(flow, state, piece, feeding), feeding
    walk, feeding = scenes.walks[key]
    lost: list[tuple[int, float]] = []
    node, at = found.node, walk.number.get(found.node, 0)
    while at in walk.hangs and len(walk.hangs[at][1]) == 1:
        at, (place,) = walk.hangs[at]
        link = net.links[walk.links[place]]
        lost += lost_in(net, link, found.amps, node, least_v)
        node = link.other(node)
    only = {edge for edge, _ in lost}
    solved = _solved_alone(flow, state, piece, feeding, found.node, found.amps)[0] if at else None
    if solved is not None:
        return losses(solved, net, found.node, least_v), only
    return lost, only
