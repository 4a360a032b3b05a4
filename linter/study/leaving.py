"""What leaves one side of an element: the ratings of the devices by which one comes to a load or a source, and the
loads that no device stands before; where a battery is, what charges it.  All currents in A."""

from __future__ import annotations

import math
from collections.abc import Iterable
from dataclasses import dataclass

from linter.model.circuit import Node
from linter.study.cases import draws_a
from linter.study.net import Net
from linter.study.ring import Rings, TooMuch


@dataclass(slots=True)
class Out:
    """Current in A that can go out over some branches.  Unlimited ways are counted, not added up, so that a branch can
    be taken away again."""

    amps: float = 0.0
    unlimited: int = 0
    # batteries that no device stands before, and what charges them
    batteries: int = 0
    charge_a: float = 0.0

    def add(self, other: Out, sign: int = 1) -> None:
        self.amps += sign * other.amps
        self.unlimited += sign * other.unlimited
        self.batteries += sign * other.batteries
        self.charge_a = max(self.charge_a, other.charge_a)

    def way(self, amps: float) -> None:
        if amps == math.inf:
            self.unlimited += 1
        else:
            self.amps += amps

    @property
    def most(self) -> float:
        """All that leaves, whatever a battery here feeds."""
        return math.inf if self.unlimited else self.amps + self.batteries * self.charge_a

    @property
    def out(self) -> float:
        """What leaves: where a battery is, it feeds what is there itself, and only a charge comes from outside."""
        if self.batteries:
            return self.charge_a
        return math.inf if self.unlimited else self.amps


class Leaving:
    """``left``: how many nodes may be come to in all before `TooMuch` is raised; sums over trees count for nothing."""

    def __init__(self, net: Net, rings: Rings, left: int) -> None:
        self.net, self.rings, self.left = net, rings, left
        # what a battery can take: all that the charging sources give that anything joins it to
        self.piece = net.circuit.pieces()
        self.charging_a: dict[int, float] = {}
        for node in net.circuit.nodes:
            if node.source is not None and not node.source.is_battery:
                piece = self.piece[node.index]
                self.charging_a[piece] = self.charging_a.get(piece, 0.0) + (node.source.rated_a or 0.0)

    def most(self, nodes: list[int]) -> float:
        """More than ever leaves any part of a region."""
        total = Out()
        for node in nodes:
            made = self.net.circuit.nodes[node]
            total.add(self._own(made))
            for edge in made.edges:
                if self.net.is_device[edge]:
                    total.way(self.net.forward[edge])
        return total.most

    def _own(self, node: Node) -> Out:
        """What a node's own source or load takes."""
        out = Out()
        if node.source is not None and node.source.is_battery:
            out.batteries, out.charge_a = 1, self._charge(node.index)
        if node.load is not None:
            out.amps = draws_a(node.load, node) or 0.0
        return out

    def _charge(self, node: int) -> float:
        return self.charging_a.get(self.piece[node], 0.0)

    def sides(self, nodes: list[int], opened: frozenset[int]) -> dict[int, tuple[Out, Out]]:
        """By bridge: what goes out on its u's and on its v's side, as if everything led both ways.  Linear: sums from
        the leaves of a region inwards, then of each edge the two sides."""
        net, circuit = self.net, self.net.circuit
        found: dict[int, tuple[Out, Out]] = {}
        done: set[int] = set()
        for start in nodes:
            if start in done:
                continue
            order, parent = [start], {start: -1}
            for node in order:
                for edge in circuit.nodes[node].edges:
                    other = net.other(edge, node)
                    if not net.is_device[edge] and edge not in opened and other not in parent:
                        parent[other] = edge
                        order.append(other)
            done.update(order)
            below: dict[int, Out] = {}
            for node in reversed(order):
                mine = below.setdefault(node, Out())
                mine.add(self._own(circuit.nodes[node]))
                for amps in self._by_devices(node, parent, opened):
                    mine.way(amps)
                if parent[node] >= 0:
                    below.setdefault(net.other(parent[node], node), Out()).add(mine)
            for node in order[1:]:
                edge, outer = parent[node], Out()
                if self.rings.is_bridge[edge]:
                    outer.add(below[start])
                    outer.add(below[node], -1)
                    found[edge] = (below[node], outer) if net.u[edge] == node else (outer, below[node])
        return found

    def _by_devices(self, node: int, inside: Iterable[int], opened: frozenset[int]) -> list[float]:
        """The ratings of the devices at a node by which one comes out of a region to what uses or gives current."""
        found = []
        for edge in self.net.circuit.nodes[node].edges:
            if self.net.is_device[edge] and edge not in opened:
                other = self.net.other(edge, node)
                if other not in inside and self.leads_on(edge, other, inside, opened):
                    found.append(self.net.forward[edge])
        return found

    def leads_on(self, device: int, to: int, inside: Iterable[int], opened: frozenset[int]) -> bool:
        """Whether a load or a source is beyond a device, without coming back."""
        net, rings = self.net, self.rings
        if rings.is_bridge[device]:
            return rings.in_use(net, device, to)
        seen, waiting = {to}, [to]
        while waiting:
            node = waiting.pop()
            made = net.circuit.nodes[node]
            if made.load is not None or made.source is not None:
                return True
            for edge in made.edges:
                other = net.other(edge, node)
                if rings.is_bridge[edge]:
                    if rings.in_use(net, edge, other):
                        return True
                elif edge not in opened and edge != device and other not in seen and other not in inside:
                    seen.add(other)
                    waiting.append(other)
        return False

    def takes(self, starts: Iterable[int], opened: frozenset[int]) -> float:
        """What leaves from some nodes on, while these edges are open: summed over what hangs together.  Raises TooMuch.

        What a battery there feeds does not count, but what a diode keeps it from feeding does."""
        circuit = self.net.circuit
        parts: list[set[int]] = []
        for start in starts:
            part = self.reached([start], opened)
            self.spend(len(part))
            for other in [p for p in parts if not p.isdisjoint(part)]:
                parts.remove(other)
                part |= other
            parts.append(part)
        total = 0.0
        for part in parts:
            batteries = [n for n in part if (s := circuit.nodes[n].source) is not None and s.is_battery]
            fed = self.reached(batteries, opened) if batteries else set()
            amps = self._charge(batteries[0]) if batteries else 0.0
            for node in part - fed:
                made = circuit.nodes[node]
                amps += sum(self._by_devices(node, part, opened))
                if made.load is not None:
                    amps += draws_a(made.load, made) or 0.0
            total += amps
        return total

    def reached(self, starts: list[int], opened: frozenset[int]) -> set[int]:
        """Where current can come from some nodes without passing a device."""
        net = self.net
        seen, waiting = set(starts), list(starts)
        while waiting:
            node = waiting.pop()
            for edge in net.circuit.nodes[node].edges:
                if net.is_device[edge] or edge in opened or (net.circuit.edges[edge].one_way and net.v[edge] == node):
                    continue
                other = net.other(edge, node)
                if other not in seen:
                    seen.add(other)
                    waiting.append(other)
        return seen

    def spend(self, work: int) -> None:
        """Count work done elsewhere.  Raises TooMuch."""
        self.left -= work
        if self.left < 0:
            raise TooMuch
