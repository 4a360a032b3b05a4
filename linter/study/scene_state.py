"""The pieces that hang together while some edges are open, and a problem for the solver made of one of them."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass

from linter.study.scene_elimination import Way
from linter.study.scene_net import SceneNet
from linter.study.scene_path import Piece, trace_sources
from linter.study.scene_solve import Balance, Feed, Problem, solve


@dataclass(slots=True)
class SwitchState:
    """Closed links: the pieces that they make, by number; a piece's nodes and links; whether it has a diode."""

    piece_of: dict[int, int]
    nodes: list[list[int]]
    links: list[list[int]]
    one_way: list[bool]
    closed: bytearray


def switch_state(net: SceneNet, opened: Iterable[int], alone: Iterable[int]) -> SwitchState:
    """``opened``: edges; ``alone``: nodes that are to be a piece even where no link leads to them."""
    closed = bytearray(b"\1") * len(net.links)
    for edge in opened:
        if net.link_of[edge] >= 0:
            closed[net.link_of[edge]] = 0
    made = SwitchState({}, [], [], [], closed)
    for start in (*net.meeting, *alone):
        if start in made.piece_of:
            continue
        number = len(made.nodes)
        made.piece_of[start] = number
        nodes, links, one_way = [start], [], False
        for node in nodes:
            for index in net.meeting.get(node, ()):
                if not closed[index]:
                    continue
                link = net.links[index]
                if link.u == node:
                    links.append(index)
                    one_way = one_way or link.one_way
                other = link.other(node)
                if other not in made.piece_of:
                    made.piece_of[other] = number
                    nodes.append(other)
        made.nodes.append(nodes)
        made.links.append(links)
        made.one_way.append(one_way)
    return made


def reached(net: SceneNet, state: SwitchState, starts: Iterable[int], backwards: bool = False) -> set[int]:
    """Nodes to which current can come from the given ones; ``backwards``: from which it can come to them."""
    found = set(starts)
    waiting = list(found)
    while waiting:
        node = waiting.pop()
        for index in net.meeting.get(node, ()):
            link = net.links[index]
            if not state.closed[index] or (link.one_way and (link.v if not backwards else link.u) == node):
                continue
            other = link.other(node)
            if other not in found:
                found.add(other)
                waiting.append(other)
    return found


def pruned(net: SceneNet, links: list[int], ends: set[int]) -> list[int]:
    """The links that lie between the given nodes: what leads to none of them carries nothing."""
    meeting: dict[int, list[int]] = {}
    for index in links:
        link = net.links[index]
        meeting.setdefault(link.u, []).append(index)
        meeting.setdefault(link.v, []).append(index)
    degree = {node: len(found) for node, found in meeting.items()}
    gone: set[int] = set()
    waiting = [n for n, d in degree.items() if d == 1 and n not in ends]
    while waiting:
        node = waiting.pop()
        for index in meeting[node]:
            if index in gone:
                continue
            gone.add(index)
            other = net.links[index].other(node)
            degree[other] -= 1
            if degree[other] == 1 and other not in ends:
                waiting.append(other)
    return [index for index in links if index not in gone] if gone else links


@dataclass(slots=True)
class Asked:
    """What is asked of a piece, by node of the circuit: sources that feed it, of them the batteries, and loads of
    constant current (A) and of constant power (W)."""

    feeds: list[Feed]
    batteries: set[int]
    amps: dict[int, float]
    watts: dict[int, float]

    def signature(self) -> tuple[object, ...]:
        return tuple(self.feeds), tuple(self.amps.items()), tuple(self.watts.items())


def numbered(net: SceneNet, links: list[int], asked: Asked) -> tuple[Problem, dict[int, int]]:
    """The piece for the solver, and the number of each of its nodes."""
    number: dict[int, int] = {}
    ways = []
    for index in links:
        link = net.links[index]
        u = number.setdefault(link.u, len(number))
        v = number.setdefault(link.v, len(number))
        ways.append(Way(u, v, link.ohm, link.drop_v, link.one_way))
    for node in (*(f.node for f in asked.feeds), *asked.amps, *asked.watts):
        number.setdefault(node, len(number))
    feeds = [Feed(number[f.node], f.volts, f.ohm, f.limit_a, f.takes) for f in asked.feeds]
    return (
        Problem(
            len(number), ways, feeds,
            {number[n]: a for n, a in asked.amps.items()}, {number[n]: w for n, w in asked.watts.items()},
        ),
        number,
    )  # fmt: skip


def solved_piece(net: SceneNet, links: list[int], asked: Asked) -> tuple[Piece | None, Problem, dict[int, int]]:
    """None for the piece where its loads cannot be carried."""
    problem, number = numbered(net, links, asked)
    balance = solve(problem)
    return (None if balance is None else piece_of(net, links, asked, balance, number)), problem, number


def piece_of(net: SceneNet, links: list[int], asked: Asked, balance: Balance, number: dict[int, int]) -> Piece:
    loads = dict(asked.amps)
    for node, watts in asked.watts.items():
        loads[node] = loads.get(node, 0.0) + watts / balance.volts[number[node]]
    feeds: dict[int, float] = {}
    for feed, amps in zip(asked.feeds, balance.feeds_a, strict=True):
        feeds[feed.node] = feeds.get(feed.node, 0.0) + amps
    count = len(number)
    made = Piece(
        list(number), links, balance, loads, feeds, asked.batteries, number, [0.0] * count, [-1] * count
    )  # fmt: skip
    trace_sources(made, net)
    return made
