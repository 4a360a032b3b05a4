"""The current that flows by intention: what loads draw and chargers give, through every edge.

Where the words leave room (a ring's worst point, whether a normally open relay is closed when no scene speaks of it),
two figures are kept: the least and the most that they can mean.
"""

from __future__ import annotations

import itertools
from dataclasses import dataclass
from typing import Any

from .circuit import Network


def load_current(net: Network, node: dict[str, Any]) -> float | None:
    """Amperes that a load draws; None where its figures are missing."""
    load = node["load"]
    system = net.systems.get(node["system"] or "")
    volts = load["voltage_v"] or (system["voltage_v"] if system else None)
    if load["draws_a"] is not None:
        return float(load["draws_a"])
    if load["draws_w"] is not None:
        return load["draws_w"] / volts if volts else None
    output = net.nodes.get(load.get("output") or "")
    if output is not None:
        source, efficiency = output["source"], load["efficiency"]
        if source["rated_a"] is None or source["voltage_v"] is None or not efficiency or not volts:
            return None
        return float(source["rated_a"] * source["voltage_v"] / efficiency / volts)
    return None


@dataclass
class Span:
    """What an edge carries: at least ``least``, and at most ``most``, as the words are read."""

    least: float = 0.0
    most: float = 0.0


class Currents:
    """Load current of every edge, the greatest over all cases."""

    def __init__(self, net: Network) -> None:
        self.net = net
        self.draw = {n: load_current(net, facts) for n, facts in net.nodes.items() if facts["load"]}
        # with some figure missing nothing is proved by what is left
        self.complete = None not in self.draw.values()
        self.spans = [Span() for _ in net.edges]
        scenes = net.data["scenes"]
        readings: list[list[list[float]]] = []
        everything = {n: a or 0.0 for n, a in self.draw.items()}
        if not scenes:
            for open_relays in (False, True):
                readings.append(self._worst([(everything, states) for states in self._states({}, open_relays)]))
        else:
            listed = []
            for scene in scenes:
                on = {n: a for n, a in everything.items() if net.nodes[n]["element"] in scene["on"]}
                listed.append((on, scene["states"]))
            for open_relays in (False, True):
                cases = [(on, closed) for on, given in listed for closed in self._states(given, True)]
                for node, amps in everything.items():
                    cases += [({node: amps}, closed) for closed in self._states({}, open_relays)]
                readings.append(self._worst(cases))
            # loads that stand in no scene may all be on at once, for all that the scenes say
            rest = {n: a for n, a in everything.items() if not any(n in on for on, _ in listed)}
            at_once = self._worst([(rest, closed) for closed in self._states({}, False) + self._states({}, True)])
            readings.append([[readings[0][i][0], max(at_once[i])] for i in range(len(net.edges))])
        for i, span in enumerate(self.spans):
            span.least = min(reading[i][0] for reading in readings)
            span.most = max(reading[i][1] for reading in readings)

    def _states(self, given: dict[str, str], open_relays: bool) -> list[frozenset[int]]:
        """The open edges: as the scene says, and every position in turn of the selectors it does not speak of."""
        net = self.net
        opened = set()
        choices: list[list[frozenset[int]]] = []
        for i, edge in enumerate(net.edges):
            state = given.get(edge["element"]) if edge["kind"] != "link" else None
            if edge["kind"] in {"switch", "relay", "device"}:
                resting = edge.get("normally_open") or edge.get("combining")
                if state == "open" or (state is None and resting and open_relays):
                    opened.add(i)
        for selector in net.data["selectors"]:
            mine = [i for i, e in enumerate(net.edges) if e["kind"] == "selector" and e["element"] == selector["name"]]
            wanted = given.get(selector["name"])
            options = [wanted] if wanted else selector["positions"]
            choices.append(
                [frozenset(i for i in mine if o != "both" and net.edges[i]["position"] != o) for o in options or ["off"]]
            )
        return [frozenset(opened).union(*chosen) for chosen in itertools.product(*choices)]

    def _worst(self, cases: list[tuple[dict[str, float], frozenset[int]]]) -> list[list[float]]:
        greatest = [[0.0, 0.0] for _ in self.net.edges]
        by_state: dict[frozenset[int], list[dict[str, float]]] = {}
        for on, opened in cases:
            by_state.setdefault(opened, []).append(on)
        for opened, ons in by_state.items():
            for i in range(len(self.net.edges)):
                if i in opened:
                    continue
                sides = self._sides(i, opened)
                for on in ons:
                    least, most = self._through(i, sides, on, opened)
                    greatest[i][0] = max(greatest[i][0], least)
                    greatest[i][1] = max(greatest[i][1], most)
        return greatest

    def _whole(self, start: str, gone: frozenset[int]) -> set[str]:
        """All that hangs together with ``start``; diodes do not matter to what hangs together."""
        seen, waiting = {start}, [start]
        while waiting:
            node = waiting.pop()
            for i in self.net.at[node]:
                to = self.net.other(i, node)
                if i not in gone and to not in seen:
                    seen.add(to)
                    waiting.append(to)
        return seen

    def _sides(self, i: int, opened: frozenset[int]) -> tuple[set[str], set[str]] | None:
        """The two sides of a bridge; None for an edge of a ring."""
        u, v = self.net.ends(i)
        one = self._whole(u, opened | {i})
        return None if v in one else (one, self._whole(v, opened | {i}))

    def _sources(self, side: set[str]) -> list[dict[str, Any]]:
        return [self.net.nodes[n]["source"] for n in side if self.net.nodes[n]["source"]]

    def _one_way(self, a: set[str], b: set[str], on: dict[str, float]) -> float:
        """From side A to side B of a bridge."""
        giving, taking = self._sources(a), self._sources(b)
        if any(s["kind"] == "battery" for s in taking):
            return float(sum(s["rated_a"] or 0.0 for s in giving if s["kind"] != "battery"))
        if not giving:
            return 0.0
        wanted = sum(amps for n, amps in on.items() if n in b)
        limits = [s["limit_a"] for s in giving]
        return min(wanted, sum(limits)) if None not in limits else wanted

    def _through(
        self, i: int, sides: tuple[set[str], set[str]] | None, on: dict[str, float], opened: frozenset[int]
    ) -> tuple[float, float]:
        if sides is not None:
            one, two = sides
            there = self._one_way(one, two, on)
            back = 0.0 if self.net.edges[i]["one_way"] else self._one_way(two, one, on)
            return max(there, back), max(there, back)
        # A ring: at least what the edge carries if the ring is opened at some other edge, at most all there is.
        u, _ = self.net.ends(i)
        whole = self._whole(u, opened)
        least = 0.0
        for other in range(len(self.net.edges)):
            if other != i and other not in opened and self.net.edges[other]["from"] in whole:
                cut = self._sides(i, opened | {other})
                if cut is not None:
                    least = max(least, self._through(i, cut, on, opened | {other})[0])
        sources = self._sources(whole)
        charge = sum(s["rated_a"] or 0.0 for s in sources if s["kind"] != "battery")
        battery = any(s["kind"] == "battery" for s in sources)
        most = max(sum(a for n, a in on.items() if n in whole), charge if battery else 0.0) if sources else 0.0
        return least, max(least, most)


def over(span: Span, limit: float) -> bool | None:
    """Whether the current is above the limit; None where that hangs on how the words are read."""
    allowed = limit * (1 + 1e-9)
    if span.least > allowed:
        return True
    return None if span.most > allowed else False


__all__ = ["Currents", "Span", "over", "load_current"]
