"""The same network, asked faster: three shortcuts, each with the plain reason why it changes no answer.

1. Peeling.  A node with a single edge and no source brings nothing to anybody else, and neither does the edge.  Both can
   be left out, then what has become such a node, and so on until a core is left in which every source is.  Current
   comes to a peeled node by the one edge it hung from, and so by the way back to the core: no more than the least of
   what the edges of this way let through and of what comes to the node of the core in which it ends.
2. Joining.  What conducts both ways without limit is one point.
3. Remembering.  A flow in the same network is the same flow.
"""

from __future__ import annotations

from collections.abc import Iterable
from typing import Any

from .circuit import NONE, Network
from .core import CoreSource, current_core, flow_core
from .currents import charging, gives


class QuickNetwork(Network):
    """A network that peels its trees, joins what no device parts, and remembers its flows."""

    def __init__(self, data: dict[str, Any]) -> None:
        super().__init__(data)
        self.hangs, self.peeled = self._peel()
        # by node: the edges of the way back to the core, and the node of it at which the way ends
        self.path: dict[str, tuple[int, ...]] = {n: () for n in self.nodes if n not in self.hangs}
        self.roots: dict[str, str] = {n: n for n in self.path}
        # to these current does not come: there is no core, or a diode bars the way
        self.cut_off: set[str] = set()
        for node in reversed(self.peeled):
            self._hang(node)
        self.core = [
            i for i, e in enumerate(self.edges)
            if e["from"] != e["to"] and e["from"] not in self.hangs and e["to"] not in self.hangs
        ]  # fmt: skip
        # the number of an edge within the core
        self.in_core = {i: k for k, i in enumerate(self.core)}
        self.current_core = current_core(
            tuple((*self.ends(i), bool(self.edges[i]["one_way"])) for i in self.core),
            tuple(_core_source(n, self.nodes[n]["source"]) for n in self.supply),
        )
        self._flows = flow_core(
            tuple((*self.ends(i), self.capacity(i), bool(self.edges[i]["one_way"])) for i in self.core),
            tuple(self.supply.items()),
        )
        self._core_configurations = list(dict.fromkeys(self.numbers(c) for c in self.configurations))
        self._switched = frozenset[int]().union(*self.configurations)
        self._worst: dict[tuple[str, frozenset[int]], float] = {}
        self._rings: dict[tuple[int, bool], bool] = {}
        # (node of the core, edges of it that are gone) -> what hangs together with it
        self._pieces: dict[tuple[str, frozenset[int]], set[str]] = {}
        # (node, devices too) -> what hangs together with it
        self._whole: dict[tuple[str, bool], set[str]] = {}
        # (backwards, devices too) -> node -> (edge, where it leads)
        self._on: dict[tuple[bool, bool], dict[str, list[tuple[int, str]]]] = {}

    # ---- flow
    def _peel(self) -> tuple[dict[str, int], list[str]]:
        """By peeled node the edge it hung from (-1: none was left), and the peeled nodes in their order."""
        left = {n: {i for i in edges if self.other(i, n) != n} for n, edges in self.at.items()}
        idle = [n for n, edges in left.items() if len(edges) <= 1 and n not in self.supply]
        hangs: dict[str, int] = {}
        order = []
        for node in idle:
            if node in hangs:
                continue
            order.append(node)
            hangs[node] = next(iter(left[node]), -1)
            for i in left[node]:
                other = self.other(i, node)
                left[other].discard(i)
                if len(left[other]) <= 1 and other not in self.supply:
                    idle.append(other)
        return hangs, order

    def _hang(self, node: str) -> None:
        i = self.hangs[node]
        above = self.other(i, node) if i >= 0 else node
        self.path[node] = (*self.path[above], i) if i >= 0 else ()
        self.roots[node] = self.roots[above] if i >= 0 else node
        if i < 0 or above in self.cut_off or (self.edges[i]["one_way"] and self.edges[i]["to"] != node):
            self.cut_off.add(node)

    def flow(self, target: str, without: Iterable[int] = NONE) -> float:
        gone = frozenset(without)
        if not self._switched.isdisjoint(self.path[target]):
            return max(self.flow_in(target, gone | opened) for opened in self.configurations)
        root = self.root(target, gone)
        if root is None:
            return 0.0
        key = root, self.numbers(gone)
        if key not in self._worst:
            self._worst[key] = max(self._flows.flow(root, key[1] | opened) for opened in self._core_configurations)
        return min([self._worst[key], *(self.capacity(i) for i in self.path[target])])

    def flow_in(self, target: str, gone: frozenset[int]) -> float:
        root = self.root(target, gone)
        if root is None:
            return 0.0
        return min([self._flows.flow(root, self.numbers(gone)), *(self.capacity(i) for i in self.path[target])])

    def root(self, node: str, gone: frozenset[int]) -> str | None:
        """The node of the core from which current comes to a node; None if it does not pass."""
        path = self.path[node]
        if not gone.isdisjoint(path) or node in self.cut_off:
            return None
        return self.roots[node]

    def numbers(self, edges: Iterable[int]) -> frozenset[int]:
        """Those of these edges that are in the core, by their numbers there."""
        return frozenset(self.in_core[i] for i in edges if i in self.in_core)

    # ---- walking
    def sources_before(self, node: str, gone: frozenset[int]) -> frozenset[str]:
        root = self.root(node, gone)
        return self.current_core.sources_before(root, self.numbers(gone)) if root else frozenset()

    def in_ring(self, i: int, devices: bool = False) -> bool:
        # what was peeled was the only edge of a node
        key = i, devices
        if key not in self._rings:
            u, v = self.ends(i)
            self._rings[key] = u == v or (i in self.in_core and self._core_ring(i, devices))
        return self._rings[key]

    def _core_ring(self, i: int, devices: bool) -> bool:
        u, v = self.ends(i)
        if devices:
            return v in self.current_core.reach(u, frozenset({self.in_core[i]}), self.current_core.links)
        # a device is no edge of what hangs together without devices
        return v in self.joined(u, -1) if self.is_device(i) else super().in_ring(i, devices)

    def sources_joined(self, node: str, gone: frozenset[int]) -> frozenset[str]:
        if not gone.isdisjoint(self.path[node]) or self.roots[node] in self.hangs:
            return frozenset()
        return self.current_core.sources_joined(self.roots[node], self.numbers(gone))

    def hang_together(self, one: str, two: str, gone: frozenset[int]) -> bool:
        if one in self.hangs or two in self.hangs:
            return super().hang_together(one, two, gone)
        # no way between two nodes of the core leads through what was peeled
        key = one, self.numbers(gone)
        if key not in self._pieces:
            self._pieces[key] = self.current_core.reach(*key, self.current_core.links)
        return two in self._pieces[key]

    def joined(self, start: str, without: int, devices: bool = False) -> set[str]:
        if without >= 0 and (devices or not self.is_device(without)):
            return super().joined(start, without, devices)
        key = start, devices
        if key not in self._whole:
            piece = super().joined(start, -1, devices)
            self._whole |= {(n, devices): piece for n in piece}
        return self._whole[key]

    def _ways_on(self, backwards: bool, devices: bool) -> dict[str, list[tuple[int, str]]]:
        key = backwards, devices
        if key not in self._on:
            self._on[key] = {
                node: [(i, to) for i, to in self.steps(node, NONE, backwards) if devices or not self.is_device(i)]
                for node in self.nodes
            }
        return self._on[key]

    def reach(self, start: str, gone: frozenset[int], backwards: bool = False, devices: bool = False) -> set[str]:
        on = self._ways_on(backwards, devices)
        seen, waiting = {start}, [start]
        while waiting:
            for i, to in on[waiting.pop()]:
                if to not in seen and i not in gone:
                    seen.add(to)
                    waiting.append(to)
        return seen


def _core_source(node: str, source: dict[str, Any]) -> CoreSource:
    return CoreSource(node, source["kind"] == "battery", gives(source), charging([source]))
