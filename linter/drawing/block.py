"""A part of the diagram that hangs together, in columns: rows and hubs by turns.

Column 2·i+1 holds the hubs of layer i; the even columns hold the rows of chains.  A chain goes through every column
from its left hub to its right hub: its row stands in the first of the even ones, and it is a plain line in the others.
"""

from __future__ import annotations

from dataclasses import dataclass, field

from linter.drawing.graph import layers, ordered, parts
from linter.drawing.plain import Place, Thing
from linter.drawing.schematic import Chain, Hub, Schematic


@dataclass(slots=True)
class Block:
    hubs: list[Hub] = field(default_factory=list)
    chains: list[Chain] = field(default_factory=list)
    # the things of each column from top to bottom: ("h", hub) or ("c", chain)
    columns: list[list[Thing]] = field(default_factory=list)
    # chain -> its first and last column, the hubs' included
    span: dict[int, tuple[int, int]] = field(default_factory=dict)
    # chain -> the column in which its row stands
    row: dict[int, int] = field(default_factory=dict)
    # (column, thing) -> its place in the column
    place: dict[tuple[int, Thing], int] = field(default_factory=dict)

    def thing_at(self, chain: Chain, column: int) -> Thing:
        """What the chain is in ``column``: itself, or the hub it ends at."""
        first, last = self.span[chain.index]
        if chain.left is not None and column == first:
            return ("h", chain.left.hub)
        if chain.right is not None and column == last:
            return ("h", chain.right.hub)
        return ("c", chain.index)

    def key(self, chain: Chain, column: int, beside: int) -> tuple[int, int]:
        """The chain's place in ``column``; at a hub, where its neighbour column ``beside`` wants it."""
        thing = self.thing_at(chain, column)
        inner = self.place[beside, ("c", chain.index)] if thing[0] == "h" else 0
        return self.place[column, thing], inner


def blocks(made: Schematic) -> list[Block]:
    """The parts of the diagram, the first declared first; rows that hang on no hub come last, all in one block."""
    layer = layers(made)
    part = parts(made)
    found: dict[int, Block] = {}
    for hub in made.hubs:
        found.setdefault(part[hub.index], Block()).hubs.append(hub)
    loose = Block()
    for chain in made.chains:
        end = chain.left or chain.right
        (found[part[end.hub]] if end else loose).chains.append(chain)
    every = sorted(found.values(), key=lambda b: (len(b.chains) == 0, b.hubs[0].index))
    if loose.chains:
        every.append(loose)
    for block in every:
        _columns(block, layer)
    _order(every)
    return every


def _columns(block: Block, layer: list[int]) -> None:
    most = max((layer[h.index] for h in block.hubs), default=-1)
    block.columns = [[] for _ in range(2 * most + 3)]
    for hub in block.hubs:
        block.columns[2 * layer[hub.index] + 1].append(("h", hub.index))
    for chain in block.chains:
        if chain.left is not None:
            row = 2 * layer[chain.left.hub] + 2
        elif chain.right is not None:
            row = 2 * layer[chain.right.hub]
        else:
            row = 0
        first = row - 1 if chain.left else row
        last = 2 * layer[chain.right.hub] + 1 if chain.right else row
        block.span[chain.index], block.row[chain.index] = (first, last), row
        for column in range(row, last if chain.right else row + 1):
            block.columns[column].append(("c", chain.index))


def _order(every: list[Block]) -> None:
    columns: list[list[Thing]] = []
    edges: list[tuple[Place, Place]] = []
    for block in every:
        base = len(columns)
        columns += block.columns
        for chain in block.chains:
            first, last = block.span[chain.index]
            for column in range(first, last):
                one, two = block.thing_at(chain, column), block.thing_at(chain, column + 1)
                edges.append(((base + column, one), (base + column + 1, two)))
    placed = ordered(columns, edges)
    for block in every:
        count = len(block.columns)
        block.columns, placed = placed[:count], placed[count:]
        for number, things in enumerate(block.columns):
            block.place.update({(number, thing): place for place, thing in enumerate(things)})
