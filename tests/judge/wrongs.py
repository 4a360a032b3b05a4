"""What is truly wrong in a design: the judge's word, as (rule, element)."""

from __future__ import annotations

import math
from dataclasses import dataclass, field
from typing import Any

from .allowed import ampacity, strictest
from .circuit import NONE, Network
from .currents import Currents, Span, over
from .figures import CLASS_VOLTAGE, GREATEST_PER_NOMINAL, LEAST_SIZES, SERIES
from .protection import Protection, Verdict, declared_rightly

COVERED = frozenset({
    "conductor-unprotected", "protection-distance", "conductor-overloaded", "device-overloaded", "device-not-as-asked",
    "cable-less-than-asked", "rating-not-made", "device-voltage", "current-rating", "conductor-too-small",
    "cranking-misdeclared", "not-ignition-protected", "wrong-voltage", "systems-joined", "not-fed", "device-bypassed",
})  # fmt: skip


@dataclass
class Judgement:
    """``wrong`` is certain; of ``open`` the words do not say whether it is."""

    wrong: set[tuple[str, str]] = field(default_factory=set)
    open: set[tuple[str, str]] = field(default_factory=set)
    conductors: dict[str, Verdict] = field(default_factory=dict)

    def say(self, rule: str, element: str, wrong: bool | None = True) -> None:
        if wrong is None:
            self.open.add((rule, element))
        elif wrong:
            self.wrong.add((rule, element))


def judge(data: dict[str, Any]) -> Judgement:
    """Judge the JSON of a circuit."""
    net = Network(data)
    made = Judgement()
    protection = Protection(net)
    currents = Currents(net)
    made.conductors = protection.verdicts
    _conductors(net, protection, made)
    _loaded(net, currents, made)
    _devices(net, made)
    _asked(net, made)
    _places(net, made)
    _systems(net, made)
    Ratings(net, currents).judge(made)
    _alternating(net, made)
    made.open -= made.wrong
    return made


def _alternating(net: Network, made: Judgement) -> None:
    """Alternating current is not studied: whatever the figures say of it is left open."""
    elements = {
        thing["element"]
        for thing, nodes in [(n, [n["id"]]) for n in net.nodes.values()] + [(e, [e["from"], e["to"]]) for e in net.edges]
        if any((net.system(n) or {}).get("current") == "AC" for n in nodes)
    }
    for key in [k for k in made.wrong if k[1] in elements]:
        made.wrong.discard(key)
        made.open.add(key)


# ---- conductors


def _conductors(net: Network, protection: Protection, made: Judgement) -> None:
    rule = {"unprotected": "conductor-unprotected", "too far": "protection-distance"}
    for c in net.conductors():
        edge = net.edges[c]
        verdict = protection.verdicts[edge["id"]]
        if verdict.verdict in rule:
            made.say(rule[verdict.verdict], edge["id"], None if verdict.others else True)
        for other in verdict.others & set(rule):
            made.say(rule[other], edge["id"], None)
        if edge["cranking"]:
            rightly = declared_rightly(net, c, protection.flows[c])
            made.say("cranking-misdeclared", edge["id"], None if rightly is None else not rightly)
        made.say("conductor-too-small", edge["id"], _too_small(net, edge))


def _too_small(net: Network, edge: dict[str, Any]) -> bool | None:
    if edge["size"] is None:
        return False
    answers: set[bool | None] = set()
    length = edge["length_m"]
    for book in net.rulebooks:
        if book not in LEAST_SIZES:
            continue
        single, sheathed, longer = LEAST_SIZES[book]
        in_sheath = "sheath" in edge["covering"]
        least = sheathed if in_sheath else single
        small = edge["size"]["mm2"] < least * (1 - 0.005)
        if small and not in_sheath and edge["covering"] and edge["size"]["mm2"] >= sheathed * 0.995:
            answers.add(None)  # a conduit or an enclosure: whether that is a sheath the sources do not say
        elif small and not in_sheath and longer and (length is None or length <= longer):
            answers.add(None if length is None else False)
        elif small and book == "cfr-183" and (length is None or length < 0.1778):
            answers.add(None)  # a pigtail is exempt; a short length of cable may be one
        else:
            answers.add(small)
    return True if True in answers else None if None in answers else False


def _loaded(net: Network, currents: Currents, made: Judgement) -> None:
    for i, edge in enumerate(net.edges):
        span = currents.spans[i]
        limit: float | None = None
        if edge["kind"] == "conductor":
            limit, rule = strictest([ampacity(net, edge, book) for book in net.rulebooks]), "conductor-overloaded"
        elif edge["kind"] == "device":
            limit, rule = edge["rated_a"], "device-overloaded"
        if limit is not None:
            made.say(rule, edge["element"], over(span, limit))


# ---- devices


def _devices(net: Network, made: Judgement) -> None:
    for i, edge in enumerate(net.edges):
        if edge["kind"] != "device":
            continue
        rated = edge["rated_a"]
        series = edge["comes_in_a"] or SERIES.get(edge["class"])
        if rated is not None and series:
            made.say("rating-not-made", edge["element"], not any(math.isclose(rated, r) for r in series))
        made.say("device-voltage", edge["element"], _voltage_too_low(net, edge))
        u, v = net.ends(i)
        for opened in net.configurations:
            gone = opened | {i}
            if v in net.reach(u, gone) or u in net.reach(v, gone):
                made.say("device-bypassed", edge["element"])
        if v in _joined(net, u, i):
            # only by positions of a selector that are never closed together, or against a diode
            made.say("device-bypassed", edge["element"], None)


def _joined(net: Network, start: str, without: int) -> set[str]:
    """What hangs together with ``start`` by anything but devices, whichever way it conducts."""
    seen, waiting = {start}, [start]
    while waiting:
        node = waiting.pop()
        for i in net.at[node]:
            to = net.other(i, node)
            if i != without and not net.is_device(i) and to not in seen:
                seen.add(to)
                waiting.append(to)
    return seen


def greatest_voltages(net: Network, system: dict[str, Any]) -> tuple[float, float]:
    """The least and the most that 'the greatest voltage of the system' can mean."""
    told = [
        n["source"]["greatest_v"] or n["source"]["voltage_v"]
        for n in net.nodes.values()
        if n["source"] and n["system"] == system["name"]
    ]
    nominal = system["voltage_v"] or 0.0
    most = max([nominal, system["greatest_v"] or 0.0, *(v for v in told if v)])
    if system["greatest_v"] is not None:
        return system["greatest_v"], most
    return nominal, max(most, nominal * GREATEST_PER_NOMINAL)


def _voltage_too_low(net: Network, edge: dict[str, Any]) -> bool | None:
    own = edge["voltage_v"]
    volts = own if own is not None else CLASS_VOLTAGE.get(edge["class"])
    system = net.system_of(edge)
    if volts is None or system is None:
        return False
    least, most = greatest_voltages(net, system)
    return True if volts < least else None if volts < most else False


# ---- what the makers of loads ask for


def _asked(net: Network, made: Judgement) -> None:
    for name, node in net.nodes.items():
        load = node["load"]
        if not load or not load["asks"]:
            continue
        cables = [a["cable"]["mm2"] for a in load["asks"] if a.get("cable")]
        devices = [a for a in load["asks"] if "device" in a]
        region = net.reach(name, NONE, backwards=True)
        upstream, bare = _feeds(net, name, region)
        exclusive = any(
            net.reach(name, opened, backwards=True) != region for opened in net.configurations
        )  # positions of a selector that are never closed together
        # a device that is bridged within the region, or stands in a loop that leaves and comes back: whether it counts as
        # the nearest the words do not say
        bridged = [d for d in range(len(net.edges)) if d not in upstream and _comes_back(net, d, region)]
        if not upstream and not bare:
            # nothing feeds it: that is the finding; what else is said of its circuit is left open
            made.say("device-not-as-asked", node["element"], None)
            for c in net.conductors():
                made.say("cable-less-than-asked", net.edges[c]["element"], None)
            continue
        for d in upstream if devices else ():
            answers = [_as_asked(net.edges[d], ask) for ask in devices]
            right = True if True in answers else None if None in answers else False
            made.say("device-not-as-asked", node["element"], None if right is None or (exclusive and not right) else not right)
        if devices and bridged:
            made.say("device-not-as-asked", node["element"], None)
        if devices and bare:
            made.say("device-not-as-asked", node["element"])
        for c in net.conductors():
            size = net.edges[c]["size"]
            if cables and set(net.ends(c)) <= region and size is not None:
                on_the_way = _between(net, c, name, region, upstream)
                u, v = net.ends(c)
                if exclusive or (not on_the_way and (bridged or v in net.reach(u, frozenset({c})))):
                    # a loop beside the way: whether that is "between" the words do not say
                    on_the_way = None
                made.say(
                    "cable-less-than-asked", net.edges[c]["element"],
                    on_the_way if size["mm2"] < max(cables) * (1 - 0.005) else False,
                )  # fmt: skip


def _feeds(net: Network, load: str, region: set[str]) -> tuple[list[int], bool]:
    """The nearest devices on the ways from a source to the load; and whether a source stands before any device."""
    upstream = []
    for d, edge in enumerate(net.edges):
        inside = [n for n in net.ends(d) if n in region]
        if edge["kind"] == "device" and len(inside) == 1:
            beyond = net.other(d, inside[0])
            # all edges within the region are gone: what is come to from beyond lies beyond
            behind = net.reach(beyond, frozenset(i for n in region for i in net.at[n]), backwards=True, devices=True)
            if any(net.nodes[n]["source"] for n in behind):
                upstream.append(d)
    return upstream, any(net.nodes[n]["source"] for n in region if n != load)


def _comes_back(net: Network, d: int, region: set[str]) -> bool:
    inside = [n for n in net.ends(d) if n in region]
    if not net.is_device(d) or not inside:
        return False
    return len(inside) == 2 or bool(net.reach(net.other(d, inside[0]), frozenset({d}), devices=True) & region)


def _between(net: Network, c: int, load: str, region: set[str], upstream: list[int]) -> bool | None:
    """Whether a conductor lies on a way from a feeding device (or source) to the load, passing no point twice."""
    starts = [n for d in upstream for n in net.ends(d) if n in region]
    starts += [n for n in region if net.nodes[n]["source"] and n != load]
    u, v = net.ends(c)
    gone = frozenset({c})
    for start in starts:
        for near, far in ((u, v), (v, u)):
            before = net.reach(start, gone | frozenset(net.at[far]))
            after = net.reach(far, gone | frozenset(net.at[near]))
            if (near in before or near == start) and (load in after or far == load):
                return True
    return False


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


# ---- places and systems


def _places(net: Network, made: Judgement) -> None:
    petrol = {p for p, facts in net.places.items() if facts["petrol_vapour"]}
    for edge in net.edges:
        if edge["kind"] in {"device", "switch", "relay", "selector"} and edge["place"] in petrol:
            made.say("not-ignition-protected", edge["element"], not edge["ignition_protected"])
        elif edge["kind"] == "diode" and edge["place"] in petrol and not edge["ignition_protected"]:
            made.say("not-ignition-protected", edge["element"], None)
    for node in net.nodes.values():
        source, load = node["source"], node["load"]
        if node["place"] in petrol and (load or source):
            battery = source and source["kind"] == "battery"
            if not battery and not (load or source)["ignition_protected"]:
                made.say("not-ignition-protected", node["element"])


def _systems(net: Network, made: Judgement) -> None:
    for edge in net.edges:
        one, two = net.nodes[edge["from"]]["system"], net.nodes[edge["to"]]["system"]
        if one and two and one != two:
            made.say("systems-joined", edge["element"])
    fed: set[str] = set()
    for opened in net.configurations:
        for name, node in net.nodes.items():
            if node["source"]:
                fed |= net.reach(name, opened, devices=True)
    for name, node in net.nodes.items():
        if node["load"]:
            bare = name not in fed
            # an inverter that charges feeds itself; whether that is being fed the words do not say
            if node["source"]:
                others = [
                    n for n, f in net.nodes.items()
                    if f["source"] and n != name and name in net.reach(n, NONE, devices=True)
                ]  # fmt: skip
                made.say("not-fed", node["element"], None if not others else False)
            else:
                made.say("not-fed", node["element"], bare)
            made.say("wrong-voltage", node["element"], _wrong_voltage(net, node))
        elif node["element"] and name not in fed:
            made.say("not-fed", node["element"], None)
    for edge in net.edges:
        if edge["from"] not in fed:
            made.say("not-fed", edge["element"], None)


def _wrong_voltage(net: Network, node: dict[str, Any]) -> bool | None:
    """Its range holds the nominal voltage; a single figure is near it (12.8 V and 13.5 V mean a 12 V system)."""
    load, system = node["load"], net.systems.get(node["system"] or "")
    if system is None or not system["voltage_v"]:
        return False
    nominal = system["voltage_v"]
    if load["voltage_range_v"]:
        low, high = load["voltage_range_v"]
        return not low <= nominal <= high
    if load["voltage_v"] is None:
        return False
    apart = abs(load["voltage_v"] - nominal) / nominal
    return True if apart > 0.3 else None if apart > 0.15 else False


# ---- current ratings of what is neither conductor nor device


class Ratings:
    """Bus, switch, relay, selector, diode and holder against what can flow through them.

    What can flow from side A to side B is the lesser of the let-through of A (all its sources, its devices and limits)
    and all that can leave B: the ratings of the devices B leads to (no device between), and the currents of the loads
    on B without a device.  A source on B that can itself take current (a battery), a device of B that leads to
    sources, and a load whose current is unknown are the open points: counted as nothing for the least, without limit
    (or with the device's rating) for the most.
    """

    def __init__(self, net: Network, currents: Currents) -> None:
        self.net = net
        self.draw = currents.draw
        self.currents = currents

    def judge(self, made: Judgement) -> None:
        per_selector: dict[str, list[tuple[dict[str, Any], Span]]] = {}
        for i, edge in enumerate(self.net.edges):
            if edge["kind"] in {"switch", "relay", "diode"} and edge["rated_a"] is not None:
                made.say("current-rating", edge["element"], over(self.through(i), edge["rated_a"]))
            elif edge["kind"] == "selector" and edge["rated_a"] is not None:
                per_selector.setdefault(edge["element"], []).append((edge, self.through(i)))
            elif edge["kind"] == "device" and edge.get("holder_a") is not None:
                span = self.through(i)
                rated = math.inf if edge["rated_a"] is None else edge["rated_a"]
                # of a device without a rating nothing is certain
                least = 0.0 if edge["rated_a"] is None else min(span.least, rated)
                made.say("current-rating", edge["element"], over(Span(least, rated), edge["holder_a"]))
        for name, spans in per_selector.items():
            most = sum(s.most for _, s in spans)
            made.say("current-rating", name, over(Span(max(s.least for _, s in spans), most), spans[0][0]["rated_a"]))
        for name, node in self.net.nodes.items():
            if node["kind"] == "bus" and node.get("rated_a") is not None:
                made.say("current-rating", node["element"], over(self.bus(name), node["rated_a"]))

    def through(self, i: int) -> Span:
        """Through one edge, the worse of its two directions."""
        u, v = self.net.ends(i)
        ways = [(u, v)] if self.net.edges[i]["one_way"] else [(u, v), (v, u)]
        least, most = 0.0, 0.0
        for a, b in ways:
            # what comes to a has not been at b, and what leaves b does not go back through a
            supply = self.net.flow(a, set(self.net.at[b]))
            low, high = self.leaving({b}, frozenset(self.net.at[a]))
            least, most = max(least, min(supply, low)), max(most, min(supply, high))
        return Span(least, max(most, self.currents.spans[i].most))

    def leaving(self, starts: set[str], gone: frozenset[int]) -> tuple[float, float]:
        """All that can leave, from ``starts`` on: (at least, at most)."""
        region = set().union(*(self.net.reach(start, gone) for start in starts))
        least = most = 0.0
        for node in region:
            facts = self.net.nodes[node]
            if facts["source"]:
                most = math.inf
            if facts["load"]:
                amps = self.draw[node]
                least += amps or 0.0
                most += math.inf if amps is None else amps
        for d, edge in enumerate(self.net.edges):
            inside = [n for n in self.net.ends(d) if n in region]
            if d not in gone and edge["kind"] == "device" and len(inside) == 1:
                low, high = self.by_device(d, inside[0], gone)
                least, most = least + low, most + high
        return least, most

    def by_device(self, d: int, node: str, gone: frozenset[int]) -> tuple[float, float]:
        """What leaves ``node`` through a device: its rating, at least where it leads to loads and to no source."""
        rated = self.net.edges[d]["rated_a"]
        amps = math.inf if rated is None else rated
        beyond = [self.net.nodes[n] for n in self.net.reach(self.net.other(d, node), gone | {d}, devices=True)]
        feeds = any(n["load"] for n in beyond) and not any(n["source"] for n in beyond)
        return amps if feeds and rated is not None else 0.0, amps

    def bus(self, name: str) -> Span:
        """Through a bus bar: what its feeding branches bring, against what its other branches take."""
        net, edges = self.net, frozenset(self.net.at[name])
        if net.nodes[name]["source"] or net.nodes[name]["load"]:
            return Span(0.0, math.inf)
        feeding: list[tuple[float, float]] = []  # of each branch that feeds: the most in, the most out
        plain: set[str] = set()
        least = most = 0.0
        for i in edges:
            to, edge = net.other(i, name), net.edges[i]
            device = net.is_device(i) and edge["rated_a"] is not None
            cap = edge["rated_a"] if device else math.inf
            enters = not (edge["one_way"] and edge["from"] == name)
            leaves = not (edge["one_way"] and edge["to"] == name)
            inward = min(cap, net.flow(to, edges)) if enters else 0.0
            if inward > 0:
                feeding.append((inward, min(cap, self.leaving({to}, edges)[1]) if leaves else 0.0))
            elif net.is_device(i):
                low, high = self.by_device(i, name, edges)
                least, most = least + low, most + high
            elif leaves:
                plain.add(to)
        if plain:
            low, high = self.leaving(plain, edges)
            least, most = least + low, most + high
        supply = net.flow(name)
        # what the loads are meant to draw may count even where a device would open before
        worst = max(min(supply, most), *(self.currents.spans[i].most for i in edges), 0.0)
        # any feeding branch may also be where the others' current goes
        for mask in range(1, 1 << min(len(feeding), 10)):
            come = sum(a for k, (a, _) in enumerate(feeding) if mask >> k & 1)
            go = most + sum(b for k, (_, b) in enumerate(feeding) if not mask >> k & 1)
            worst = max(worst, min(come, go))
        return Span(min(supply, least), worst)


__all__ = ["COVERED", "Judgement", "judge"]
