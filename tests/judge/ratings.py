"""Current ratings of what is neither conductor nor device: bus, switch, relay, selector, diode, holder."""

from __future__ import annotations

import itertools
import math
from typing import Any

from .circuit import NONE, Network
from .currents import Currents, Span, charging, over
from .judgement import Judgement


class Ratings:
    """Bus, switch, relay, selector, diode and holder against what can flow through them.

    What can flow from side A to side B is the lesser of the let-through of A (all its sources, its devices and limits)
    and all that B takes: where B has a battery of its own (no device between), the rated currents of all that charges;
    otherwise the ratings of the devices B leads to and the currents of the loads on B without a device.  A device of B
    that leads to neither load nor battery, one without a rating, and a load whose current is unknown are the open points: counted as
    nothing for the least, without limit (or with the device's rating) for the most.
    """

    def __init__(self, net: Network, currents: Currents) -> None:
        self.net = net
        self.draw = currents.draw
        self.currents = currents
        self.sources = {n: f["source"] for n, f in net.nodes.items() if f["source"]}
        self.single = {s["name"] for s in net.data["selectors"] if s["one_at_a_time"]}

    def judge(self, made: Judgement) -> None:
        per_selector: dict[str, list[tuple[dict[str, Any], Span]]] = {}
        for i, edge in enumerate(self.net.edges):
            if edge["kind"] in {"switch", "relay", "diode"} and edge["rated_a"] is not None:
                made.say("current-rating", edge["element"], over(self.through(i, edge["rated_a"]), edge["rated_a"]))
            elif edge["kind"] == "selector" and edge["rated_a"] is not None:
                # of one that closes several, what its positions carry is added up: no figure can be left out
                enough = edge["rated_a"] if edge["element"] in self.single else 0.0
                span = self.through(i, enough, self._others(i))
                per_selector.setdefault(edge["element"], []).append((edge, span))
            elif edge["kind"] == "device" and edge.get("holder_a") is not None:
                span = self.through(i, edge["holder_a"])
                rated = math.inf if edge["rated_a"] is None else edge["rated_a"]
                # of a device without a rating nothing is certain
                least = 0.0 if edge["rated_a"] is None else min(span.least, rated)
                made.say("current-rating", edge["element"], over(Span(least, rated), edge["holder_a"]))
        for name, spans in per_selector.items():
            # with `both` the common terminal carries what all positions carry together; what the figure is of, it says not
            most = max(s.most for _, s in spans) if name in self.single else sum(s.most for _, s in spans)
            made.say("current-rating", name, over(Span(max(s.least for _, s in spans), most), spans[0][0]["rated_a"]))
        for name, node in self.net.nodes.items():
            if node["kind"] == "bus" and node.get("rated_a") is not None:
                made.say("current-rating", node["element"], over(self.bus(name), node["rated_a"]))

    def _others(self, i: int) -> frozenset[int]:
        """The other positions of a selector that closes one at a time."""
        name = self.net.edges[i]["element"]
        if name not in self.single:
            return NONE
        return frozenset(
            k for k, e in enumerate(self.net.edges) if k != i and e["kind"] == "selector" and e["element"] == name
        )

    def through(self, i: int, rated_a: float, without: frozenset[int] = NONE) -> Span:
        """Through one edge, the worse of its two directions, while each selector stands in one position.  More than can
        come never flows: where that is no more than the rating, nothing else is asked."""
        u, v = self.net.ends(i)
        ends = [u] if self.net.edges[i]["one_way"] else [u, v]
        found = [Span(0.0, self.currents.spans[i].most)]
        if max(self.net.flow(a, without | {i}) for a in ends) > rated_a:
            found += [self._through_in(i, without | opened) for opened in self.net.configurations if i not in opened]
        return Span(max(s.least for s in found), max(s.most for s in found))

    def _through_in(self, i: int, without: frozenset[int]) -> Span:
        """The same while just these edges are open."""
        u, v = self.net.ends(i)
        gone = without | {i}
        ways = [(u, v)] if self.net.edges[i]["one_way"] else [(u, v), (v, u)]
        ring = self.net.hang_together(u, v, gone)
        least, most = 0.0, 0.0
        for a, b in ways:
            supply = self.net.flow_in(a, gone)
            low, high = self.taking({b}, gone)
            if ring:
                # where the ring is open nobody says: some of what is beside the edge may be on either side of it
                high = max(high, self._leaves_at_most(u, without))
            least, most = max(least, min(supply, low)), max(most, min(supply, high))
        if ring:
            least = self._certain_in_ring(i, ways, without)
        return Span(least, max(most, self.currents.spans[i].most))

    def _leaves_at_most(self, start: str, without: frozenset[int]) -> float:
        """All that can leave what hangs together without a device, and by the devices within it."""
        region = {start}
        waiting = [start]
        while waiting:
            node = waiting.pop()
            for i in self.net.at[node]:
                to = self.net.other(i, node)
                if i not in without and not self.net.is_device(i) and to not in region:
                    region.add(to)
                    waiting.append(to)
        total = 0.0
        for node in region:
            if self.net.nodes[node]["load"]:
                draw = self.draw[node]
                total += math.inf if draw is None else draw
            for i in self.net.at[node]:
                if self.net.is_device(i) and i not in without:
                    rated = self.net.edges[i]["rated_a"]
                    total += math.inf if rated is None else rated
        return total

    def _certain_in_ring(self, i: int, ways: list[tuple[str, str]], without: frozenset[int]) -> float:
        """What flows if the ring is open at one other edge, so that this one is the only way between two sides."""
        best = 0.0
        for other in self.net.rings:
            gone = without | {i, other}
            if other == i or other in without or self.net.hang_together(*ways[0], gone):
                continue
            for a, b in ways:
                supply = self.net.flow_in(a, gone)
                if supply > best:
                    best = max(best, min(supply, self.taking({b}, gone)[0]))
        return best

    def taking(self, starts: set[str], gone: frozenset[int]) -> tuple[float, float]:
        """All that is taken from ``starts`` on, by each side that hangs together without a device: (at least, at most)."""
        regions: list[tuple[set[str], set[str]]] = []
        for start in sorted(starts):
            mine, region = {start}, self.net.reach(start, gone)
            for other in [r for r in regions if r[1] & region]:
                regions.remove(other)
                mine, region = mine | other[0], region | other[1]
            regions.append((mine, region))
        taken = [self._side_takes(*one, gone) for one in regions]
        return sum(low for low, _ in taken), sum(high for _, high in taken)

    def _side_takes(self, starts: set[str], region: set[str], gone: frozenset[int]) -> tuple[float, float]:
        least = most = 0.0
        for node in region:
            facts = self.net.nodes[node]
            if facts["load"]:
                amps = self.draw[node]
                least += amps or 0.0
                most += math.inf if amps is None else amps
        for d in sorted({i for n in region for i in self.net.at[n]}):
            edge, inside = self.net.edges[d], [n for n in self.net.ends(d) if n in region]
            if d not in gone and edge["kind"] == "device" and len(inside) == 1:
                low, high = self.by_device(d, inside[0], gone)
                comes_back = self.net.in_ring(d, devices=True) and region & self.net.reach(
                    self.net.other(d, inside[0]), gone | {d}, devices=True
                )
                least, most = least + (0.0 if comes_back else low), most + high
        sources = self.sources
        if any(n in region and s["kind"] == "battery" for n, s in sources.items()):
            joined = [sources[n] for n in self.sources_of(starts, NONE)]
            mine = self.sources_of(starts, gone)
            elsewhere = [sources[n] for n in self.sources_of(starts, NONE) if n not in mine]
            charge = charging(joined)
            unknown = any(s["kind"] != "battery" and s["rated_a"] is None for s in joined)
            # a diode may keep the battery from feeding what is on its side; and a charger on its own side may not count
            diodes = any(e["one_way"] for e in self.net.edges)
            return charging(elsewhere), math.inf if unknown else max(charge, most if diodes else 0.0)
        return least, most

    def sources_of(self, starts: set[str], gone: frozenset[int]) -> list[str]:
        """The sources that hang together with any of these, in the order of the nodes."""
        found = frozenset[str]().union(*(self.net.sources_joined(start, gone) for start in starts))
        return [n for n in self.net.supply if n in found]

    def by_device(self, d: int, node: str, gone: frozenset[int]) -> tuple[float, float]:
        """What leaves ``node`` through a device: its rating, at least where it leads to a load or to a battery."""
        rated = self.net.edges[d]["rated_a"]
        amps = math.inf if rated is None else rated
        takes = self.net.uses(self.net.other(d, node), gone | {d})
        return amps if takes and rated is not None else 0.0, amps

    def bus(self, name: str) -> Span:
        """Through a bus bar, the worst of all positions of the selectors."""
        found = [self._bus_in(name, opened) for opened in self.net.configurations]
        return Span(max(s.least for s in found), max(s.most for s in found))

    def _bus_in(self, name: str, opened: frozenset[int]) -> Span:
        """What its feeding branches bring, against what its other branches take."""
        net, edges = self.net, frozenset(self.net.at[name]) | opened
        if net.nodes[name]["source"] or net.nodes[name]["load"]:
            return Span(0.0, math.inf)
        feeding: list[tuple[float, float]] = []  # of each branch that feeds: the most in, the most out
        plain: set[str] = set()
        fused: list[tuple[str, float]] = []
        most = 0.0
        for i in self.net.at[name]:
            if i in opened:
                continue
            to, edge = net.other(i, name), net.edges[i]
            device = net.is_device(i) and edge["rated_a"] is not None
            cap = edge["rated_a"] if device else math.inf
            enters = not (edge["one_way"] and edge["from"] == name)
            leaves = not (edge["one_way"] and edge["to"] == name)
            inward = min(cap, net.flow_in(to, edges)) if enters else 0.0
            if inward > 0:
                # a device counts by its rating, even where it leads to a source that takes nothing; without a rating it
                # limits nothing
                out = cap if net.is_device(i) else min(cap, self.taking({to}, edges)[1])
                feeding.append((inward, out if leaves else 0.0))
            elif net.is_device(i):
                low, high = self.by_device(i, name, edges)
                fused.append((to, low))
                most += high
            elif leaves:
                plain.add(to)
        # a device that leads to where a branch without one leads too adds nothing certain
        beside = set().union(*(net.reach(to, edges, devices=True) for to in plain))
        least = sum(low for to, low in fused if to not in beside)
        if plain:
            low, high = self.taking(plain, edges)
            least, most = least + low, most + high
        supply = net.flow_in(name, opened)
        # what the loads are meant to draw may count even where a device would open before
        worst = max(min(supply, most), *(self.currents.spans[i].most for i in edges), 0.0)
        ring = [net.other(i, name) for i in net.at[name] if i not in opened and net.in_ring(i, devices=True)]
        if any(net.hang_together(a, b, edges) for a, b in itertools.combinations(ring, 2)):
            worst, least = max(worst, min(supply, self._leaves_at_most(name, opened))), 0.0
        # any feeding branch may also be where the others' current goes
        for mask in range(1, 1 << min(len(feeding), 10)):
            come = sum(a for k, (a, _) in enumerate(feeding) if mask >> k & 1)
            go = most + sum(b for k, (_, b) in enumerate(feeding) if not mask >> k & 1)
            worst = max(worst, min(come, go))
        return Span(min(supply, least), worst)
