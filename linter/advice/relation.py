"""Which open elements can have a say in a finding.

A boat is nearly a tree.  What hangs behind an element that is no part of any ring, with no source behind it, is fed
through it alone; so an element beside that way can have no say in what happens there.  Where a ring or a second
source is, everything is taken to have a say.
"""

from __future__ import annotations

from typing import Literal

from linter.model.elements import Converter
from linter.study.study import Study

# How far what stands behind an element has a say in what is found there: not at all, as far as the next devices, all.
Behind = Literal["nothing", "to devices", "all"]


class Relation:
    """Ways of the circuit as it stands; the sizes and ratings that are chosen do not change them."""

    def __init__(self, study: Study) -> None:
        net, parts = study.net, study.parts
        circuit = study.design.circuit
        count = len(parts.blocks)
        self._above = [-1] * count
        self._hung_by_device = [False] * count
        for i, piece in enumerate(parts.blocks):
            if piece.entry >= 0:
                hung_by = parts.bridge_to[piece.entry]
                self._above[i] = parts.block_of[net.other(hung_by, piece.entry)]
                self._hung_by_device[i] = net.is_device[hung_by]
        # each block with all that are above it
        self._ways = [frozenset(self._upwards(i)) for i in range(count)]
        # name -> its block, or that behind it; whether it is the one way to that block
        self._at: dict[str, tuple[int, bool]] = {}
        for edge in circuit.edges:
            behind = parts.leads_to[edge.index]
            block = parts.block_of[behind if behind >= 0 else edge.u]
            self._at.setdefault(edge.element.name, (block, behind >= 0))
        drawing_power: set[int] = set()
        for node in circuit.nodes:
            block = parts.block_of[node.index]
            if node.element is not None:
                self._at.setdefault(node.element.name, (block, False))
            load = node.load
            if load is not None and block >= 0 and (load.draws_w is not None or isinstance(load, Converter)):
                drawing_power |= self._ways[block]
        self._takes_at_most = {
            node.load.name for node in circuit.nodes if node.load is not None and node.load.voltage_range_v is not None
        }
        self._power = {name for name, (at, bridge) in self._at.items() if not bridge or at in drawing_power}

    def _upwards(self, block: int) -> list[int]:
        way: list[int] = []
        while block >= 0 and block not in way:
            way.append(block)
            block = self._above[block]
        return way

    def bridge(self, name: str) -> bool:
        """Whether all that stands behind it is fed through it alone."""
        return self._at.get(name, (-1, False))[1]

    def takes_at_most(self, name: str) -> bool:
        """Whether too much voltage is wrong for a load, too."""
        return name in self._takes_at_most

    def feeds_power(self, name: str) -> bool:
        """Whether a load that draws more current from less voltage may hang behind it: it moves all voltages."""
        return name in self._power

    def has_say(self, name: str, subject: str, behind: Behind = "all", rings: bool = True) -> bool:
        """Whether the open element ``name`` may have a say in what is found at ``subject``: it stands on its way from
        the sources, or behind it as far as ``behind`` says, or, with ``rings``, in a ring."""
        if name == subject:
            return True
        one, two = self._at.get(name), self._at.get(subject)
        if one is None or two is None or one[0] < 0 or two[0] < 0 or not one[1]:
            return rings
        if one[0] in self._ways[two[0]]:
            return True
        if behind == "nothing" or two[0] not in self._ways[one[0]]:
            return False
        if behind == "all":
            return True
        way = self._upwards(one[0])
        between = way[1 : way.index(two[0])]
        return not any(self._hung_by_device[block] for block in between)
