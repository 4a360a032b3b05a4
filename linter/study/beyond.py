"""How small a fault a conductor may have to carry to a point behind it.

A fault further on, with no device between, is cleared by the same devices.  It draws less than one at the conductor's
own end, and a device may take so much longer for it that the conductor, where it is the thinner, takes more heat than
by any fault of its own.  (Common practice: a device protects its circuit against a short circuit at any point of it.)
"""

from __future__ import annotations

import math
from dataclasses import dataclass, field
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from linter.study.net import Decomposition, Net
    from linter.study.prospective import Faults


@dataclass(slots=True)
class Beyond:
    """``down``: by node to which a bridge leads, those behind it with the greatest resistance and with the greatest
    drop of diodes; ``part``: by node, the number of what hangs together without devices, and the nodes of each."""

    faults: Faults
    down: dict[int, tuple[int, ...]]
    part: list[int]
    parts: list[list[int]]
    # by number of a part and sources: the smallest current to any of its points
    _least: dict[tuple[int, tuple[int, ...]], float] = field(default_factory=dict)

    def least_a(self, ends: tuple[int, ...], far: int, sources: tuple[int, ...] = ()) -> float:
        """The smallest fault current, A, of a source by itself (of those given; of any, where none is) that a conductor
        may have to carry to one of its ends or behind it; 0: none.  ``far``: where it leads to, -1 where sources are on
        both of its sides."""
        found = [self._smallest(n, sources) for n in dict.fromkeys((*ends, *self.down.get(far, ())))]
        if far < 0:
            found += [self._of_part(n, sources) for n in dict.fromkeys(self.part[n] for n in ends)]
        return min((a for a in found if a > 0), default=0.0)

    def inputs(self, ends: tuple[int, ...], far: int) -> tuple[object, ...]:
        """All that decides what is told of a conductor: the same where this is."""
        points = tuple(self.faults.points[n] for n in self.down.get(far, ()))
        sources = dict.fromkeys(s for n in ends for p in self.faults.each_alone(n) if p.drive for s in p.drive.sources)
        return tuple((p.greatest_ohm, p.drop_v) for p in points), tuple(self.least_a(ends, far, (s,)) for s in sources)

    def _of_part(self, number: int, sources: tuple[int, ...]) -> float:
        key = number, sources
        if key not in self._least:
            amps = (self._smallest(n, sources) for n in self.parts[number])
            self._least[key] = min((a for a in amps if a > 0), default=0.0)
        return self._least[key]

    def _smallest(self, node: int, sources: tuple[int, ...]) -> float:
        return min(
            (
                p.amps
                for p in self.faults.each_alone(node)
                if p.amps > 0
                and not p.unknown
                and (not sources or (p.drive is not None and p.drive.sources == sources))
            ),
            default=0.0,
        )


def beyond_of(net: Net, parts: Decomposition, faults: Faults) -> Beyond:
    """Linear in the design."""
    part, together = _without_devices(net)
    down: dict[int, tuple[int, ...]] = {}
    for block in reversed(parts.blocks[1:]):
        inside = set(block.edges)
        seen, waiting, found = {block.entry}, [block.entry], list[int]()
        for node in waiting:
            found.append(node)
            for edge in net.circuit.nodes[node].edges:
                if net.is_device[edge] or (net.circuit.edges[edge].one_way and net.v[edge] == node):
                    continue
                other = net.other(edge, node)
                if edge in inside and other not in seen:
                    seen.add(other)
                    waiting.append(other)
                elif parts.leads_to[edge] == other and other != node:
                    found += down.get(other, ())
        known = [n for n in dict.fromkeys(found) if n in faults.points and faults.points[n].greatest_ohm < math.inf]
        if len(known) == 1:
            down[block.entry] = (known[0],)
        elif known:
            worst = (
                max(known, key=lambda n: faults.points[n].greatest_ohm),
                max(known, key=lambda n: faults.points[n].drop_v),
            )
            down[block.entry] = tuple(dict.fromkeys(worst))
    return Beyond(faults, down, part, together)


def _without_devices(net: Net) -> tuple[list[int], list[list[int]]]:
    """What hangs together once all devices are open."""
    part = [-1] * len(net.circuit.nodes)
    together: list[list[int]] = []
    for start in range(len(part)):
        if part[start] >= 0:
            continue
        part[start] = len(together)
        nodes = [start]
        for node in nodes:
            for edge in net.circuit.nodes[node].edges:
                other = net.other(edge, node)
                if not net.is_device[edge] and part[other] < 0:
                    part[other] = len(together)
                    nodes.append(other)
        together.append(nodes)
    return part, together
