"""What the makers of loads ask for: the nearest device on every way from a source, and the conductors after it, and
before it as far as nothing branches off.

Ways are walked backwards from the load, one by one, no point twice.  Of a selector in two positions that exclude each
other, or of a device that a way without any leads around, nothing is certain.  A way from a battery counts.  Whether one from a charger counts where a battery feeds the load too, or one that
comes through another source, the words do not say: open.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from typing import Any

from .circuit import Network
from .judgement import Judgement

# More ways than this are no boat; what is left of them is not said.
MOST_WAYS = 3000


@dataclass
class Way:
    """A way that ends at a load: the device it begins after (None: at a source), its conductors, whether it counts.

    ``closed`` is false of a way through two positions of a selector that are never closed together.
    """

    device: int | None
    conductors: list[int]
    certain: bool
    closed: bool = True


def judge_asked(net: Network, made: Judgement) -> None:
    rings = [c for c in net.conductors() if net.in_ring(c, devices=True)]
    # devices that something leads around
    around = [d for d in range(len(net.edges)) if net.is_device(d) and net.in_ring(d)]
    for name, node in net.nodes.items():
        if node["load"] and node["load"]["asks"]:
            _one_load(net, name, rings, around, made)


def _one_load(net: Network, name: str, rings: list[int], around: list[int], made: Judgement) -> None:
    asks = net.nodes[name]["load"]["asks"]
    cables = [a["cable"]["mm2"] for a in asks if a.get("cable")]
    devices = [a for a in asks if "device" in a]
    ways = list(_ways(net, name))
    element = net.nodes[name]["element"]
    if not ways or len(ways) >= MOST_WAYS:
        # nothing feeds it: that is the finding; what else is said of its circuit is left open
        made.say("device-not-as-asked", element, None)
        for c in net.conductors():
            made.say("cable-less-than-asked", net.edges[c]["element"], None)
    bare = any(way.device is None and way.closed for way in ways)
    for c in rings if cables else ():
        size = net.edges[c]["size"]
        if size is not None and size["mm2"] < max(cables) * (1 - 0.005):
            # a loop beside the way: whether that is "between" the words do not say
            made.say("cable-less-than-asked", net.edges[c]["element"], None)
    for c in _alone(net, name) if cables else ():
        size = net.edges[c]["size"]
        if size is not None and size["mm2"] < max(cables) * (1 - 0.005):
            made.say("cable-less-than-asked", net.edges[c]["element"], True)
    near = net.joined(name, -1)
    if devices and any(net.ends(d)[0] in near for d in around):
        # a device that something leads around: whether it is one of those nearest the load is not said
        made.say("device-not-as-asked", element, None)
    for way in ways:
        if devices:
            right = False if way.device is None else _among(net.edges[way.device], devices)
            made.say("device-not-as-asked", element, None if right is None or not (right or way.certain) else not right)
        # where a way without any device leads to the load, what a device on another way is near to is no question
        certain = way.certain and not (bare and way.device is not None)
        for c in way.conductors:
            size = net.edges[c]["size"]
            if cables and size is not None and size["mm2"] < max(cables) * (1 - 0.005):
                made.say("cable-less-than-asked", net.edges[c]["element"], True if certain else None)


def _alone(net: Network, load: str) -> list[int]:
    """The conductors of the row that ends at a load: every joint in it joins two things, and is no source or load."""
    row: list[int] = []
    at = load
    while True:
        here = [i for i in net.at[at] if i not in row]
        joint = not net.nodes[at]["load"] and not net.nodes[at]["source"] and len(net.at[at]) == 2
        if len(here) != 1 or not (joint or at == load):
            return [i for i in row if net.edges[i]["kind"] == "conductor"]
        row.append(here[0])
        one, two = net.ends(here[0])
        at = two if at == one else one


def _ways(net: Network, load: str) -> Iterator[Way]:
    batteries = {n for n, f in net.nodes.items() if f["source"] and f["source"]["kind"] == "battery"}
    sources = {n for n, f in net.nodes.items() if f["source"] and n != load}
    counting = (batteries & net.sources_before(load, frozenset())) or sources
    close = net.reach(load, frozenset(), backwards=True)
    single = {s["name"] for s in net.data["selectors"] if s["one_at_a_time"]}
    count = 0
    # (where the walk has come to, its nodes, its edges, whether it still counts, whether it can be closed)
    waiting: list[tuple[str, frozenset[str], tuple[int, ...], bool, bool]] = [(load, frozenset({load}), (), True, True)]
    while waiting and count < MOST_WAYS:
        node, nodes, edges, certain, closed = waiting.pop()
        conductors = [i for i in edges if net.edges[i]["kind"] == "conductor"]
        if node in sources:
            count += 1
            yield Way(None, conductors, certain and node in counting, closed)
            certain = False
        gone = frozenset(i for n in nodes for i in net.at[n])
        for i, to in net.steps(node, frozenset(), backwards=True):
            if to in nodes:
                continue
            if net.is_device(i):
                # a device that a way without any device leads around (device-bypassed says so): what it is near to is
                # no question
                around = to in close
                behind = net.sources_before(to, gone)
                if behind & sources:
                    count += 1
                    yield Way(i, conductors, certain and not around and bool(behind & counting), closed)
            else:
                # the words take every edge as closed where they do not speak of a case: such a way is left open
                excluded = _excluded(net, i, edges, single)
                waiting.append((to, nodes | {to}, (*edges, i), certain and not excluded, closed and not excluded))


def _excluded(net: Network, i: int, edges: tuple[int, ...], single: set[str]) -> bool:
    edge = net.edges[i]
    return edge["kind"] == "selector" and any(
        net.edges[k]["kind"] == "selector" and net.edges[k]["element"] == edge["element"] in single for k in edges
    )


def _among(edge: dict[str, Any], asks: list[dict[str, Any]]) -> bool | None:
    """Whether a device is one of those asked for; None where a figure it needs is missing."""
    answers = [_as_asked(edge, ask) for ask in asks]
    return True if True in answers else None if None in answers else False


def _as_asked(edge: dict[str, Any], ask: dict[str, Any]) -> bool | None:
    if ask["device"] and edge["device"] != ask["device"]:
        return False
    doubt = False
    for key in ("class", "speed"):
        if ask[key] and edge[key] != ask[key]:
            if edge[key]:
                return False
            doubt = True
    if edge["rated_a"] is None:
        doubt = True
    elif ask["rating_a"] and not ask["rating_a"][0] - 1e-9 <= edge["rated_a"] <= ask["rating_a"][1] + 1e-9:
        return False
    return None if doubt else True
