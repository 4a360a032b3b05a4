"""From the schematic to places on the sheet: columns give x, heights give y, channels lead from one to the other."""

from __future__ import annotations

from dataclasses import dataclass
from itertools import pairwise

from linter.drawing import labels, symbols
from linter.drawing.across import SELECTOR, across, hub_reach
from linter.drawing.block import Block, blocks
from linter.drawing.cells import SMALL, Cell, Line, Notes, Told, cell, hub_lines, own_symbol, set_lines, stack_height
from linter.drawing.lanes import apart, lanes
from linter.drawing.picture import BAR, Box, Disc, Drawn, Picture, Point, Wire, Words
from linter.drawing.rows import Heights, Room, heights
from linter.drawing.schematic import COMMON, SOURCES, Chain, Hub, Schematic, schematic
from linter.model.design import Design

BETWEEN = 7.0  # between two parts of the diagram
SELECTOR_OVER = 3.5
BAR_OVER = 2.0


@dataclass(slots=True)
class _Sheet:
    """What all parts share."""

    design: Design
    told: Told
    picture: Picture
    system_index: dict[str, int]
    many_systems: bool

    def system(self, node: int) -> int:
        if node < 0:
            return -1
        system = self.design.circuit.nodes[node].system
        return self.system_index.get(system.name, -1) if system is not None else -1

    def name(self, node: int) -> str:
        return self.design.circuit.nodes[node].name if node >= 0 else ""

    def hub_text(self, hub: Hub) -> list[Line]:
        if hub.element is None:
            return []
        system = self.design.circuit.nodes[hub.node].system if hub.node >= 0 else None
        said = labels.system_title(system) if system is not None and self.many_systems else ""
        return hub_lines(hub, hub.element, said, self.told)


class _Part:
    """One block on the sheet, its upper left corner at (0, ``top``)."""

    def __init__(self, sheet: _Sheet, block: Block, top: float) -> None:
        self.sheet, self.block = sheet, block
        self.chain = {c.index: c for c in block.chains}
        self.cells: dict[int, list[Cell]] = {c.index: self._cells(c) for c in block.chains}
        self.text: dict[int, list[Line]] = {h.index: sheet.hub_text(h) for h in block.hubs}
        self.hub = {h.index: h for h in block.hubs}
        self.lanes = lanes(block, self.cells)
        room = Room(self._above, self._below, self._over_hub, self._overhang, self._apart)
        self.heights = heights(block, room)
        extent = self._extent()
        self.top = top - extent[0]
        self.bottom = self.top + extent[1]
        over = {i: self._over_hub(i) for i in self.hub}
        self.x = across(block, self.heights, self.cells, self.lanes, self.text, over, extent)

    # ---- room

    def _cells(self, chain: Chain) -> list[Cell]:
        """The things of a row; a source or load at its end, or a loose end, has its text beside it."""
        if not chain.items:
            return []
        kinds = [""] * len(chain.items)
        if chain.left is None and chain.items[0].left == chain.items[0].right:
            kinds[0] = "start"
        if (
            chain.right is None
            and chain.items[-1].left == chain.items[-1].right
            and (not kinds[-1] or chain.items[-1].kind not in SOURCES)
        ):
            kinds[-1] = "end"
        last = chain.items[-1].element if kinds[-1] == "end" else None
        said = last.label if last is not None else ""
        return [cell(i, k, self.sheet.told, said) for i, k in zip(chain.items, kinds, strict=True)]

    def _above(self, chain: int) -> float:
        return max((c.reach_up for c in self.cells[chain]), default=0.5)

    def _below(self, chain: int) -> float:
        return max((c.reach_down for c in self.cells[chain]), default=0.5)

    def _apart(self, upper: int, lower: int) -> float:
        return apart(self.cells[upper], self.lanes[upper], self.cells[lower], self.lanes[lower])

    def _over_hub(self, hub: int) -> float:
        lines = self.text[hub]
        return stack_height(lines) + 0.6 if lines else 0.0

    def _overhang(self, hub: int) -> float:
        return {"bus": BAR_OVER, "selector": SELECTOR_OVER}.get(self.hub[hub].kind, 0.0)

    def _extent(self) -> tuple[float, float]:
        """The highest and the lowest that anything of this block reaches."""
        h = self.heights
        tops = [h.top[i] - self._over_hub(i) - 0.8 for i in self.hub]
        bottoms = [h.bottom[i] + 0.8 for i in self.hub]
        for (chain, column), y in h.line.items():
            row = self.block.row[chain] == column
            tops.append(y - (self._above(chain) if row else 1.0))
            bottoms.append(y + (self._below(chain) if row else 1.0))
        return min(tops, default=0.0), max(bottoms, default=0.0)

    def y(self, chain: int, column: int) -> float:
        return self.top + self.heights.line[chain, column]

    # ---- drawing

    def draw(self) -> None:
        attached: dict[int, list[tuple[str, Point]]] = {}
        for chain in self.block.chains:
            self._draw_chain(chain, attached)
        for hub in self.block.hubs:
            self._draw_hub(hub, attached.get(hub.index, []))

    def _hub_side(self, hub: int, right: bool) -> float:
        x, reach = self.x.hub[hub], hub_reach(self.hub[hub].kind)
        return x + reach if right else x - reach

    def _run(self, chain: int, first: int, last: int, points: list[Point]) -> None:
        """Lead ``points`` on from column ``first`` to column ``last``."""
        for column in range(first, last):
            for x, y in self.x.tracks[column].get(chain, ()):
                points += [(x, points[-1][1]), (x, self.top + y)]

    def _draw_chain(self, chain: Chain, attached: dict[int, list[tuple[str, Point]]]) -> None:
        picture, index = self.sheet.picture, chain.index
        first, last = self.block.span[index]
        row = self.block.row[index]
        y = self.y(index, row)
        points: list[Point] = []
        ends = self._ends(chain)
        if chain.left is not None:
            start = (self._hub_side(chain.left.hub, True), self.y(index, first))
            attached.setdefault(chain.left.hub, []).append((chain.left.port, start))
            points.append(start)
            self._run(index, first, row, points)
        for number, (one, (x0, x1)) in enumerate(zip(self.cells[index], self.x.cell[index], strict=True)):
            left, right = one.ports(x0, x1)
            if points:
                self._wire([*points, (left, y)], chain.nodes[number], ends[number : number + 2])
            own = own_symbol(one.item.element, self.sheet.told)
            drawn = one.draw(x0, x1, y, (self.sheet.name(one.item.left), self.sheet.name(one.item.right)), own)
            if not one.end:
                drawn.system = self.sheet.system(one.item.left if one.item.left >= 0 else one.item.right)
            picture.elements.append(drawn)
            points = [(right, y)]
        if chain.right is not None:
            self._run(index, row, last, points)
            end = (self._hub_side(chain.right.hub, False), self.y(index, last))
            attached.setdefault(chain.right.hub, []).append((chain.right.port, end))
            self._wire([*points, end], chain.nodes[-1], ends[-2:])

    def _ends(self, chain: Chain) -> tuple[str, ...]:
        """The names of what stands in a row, from the hub at its left to that at its right; "" where it has none."""
        made = [self._hub_name(chain.left.hub) if chain.left is not None else ""]
        for item in chain.items:
            towards = item.reference.towards if item.reference is not None else ""
            made.append(item.element.name if item.element is not None else towards)
        return (*made, self._hub_name(chain.right.hub) if chain.right is not None else "")

    def _hub_name(self, hub: int) -> str:
        made = self.hub[hub]
        return made.element.name if made.element is not None else self.sheet.name(made.node)

    def _wire(self, points: list[Point], node: int, ends: tuple[str, ...]) -> None:
        kept: list[Point] = []
        for point in points:
            if kept and kept[-1] == point:
                continue
            if len(kept) > 1 and kept[-2][1] == kept[-1][1] == point[1]:
                kept.pop()
            kept.append(point)
        if len(kept) > 1:
            self.sheet.picture.wires.append(
                Wire(tuple(kept), self.sheet.system(node), self.sheet.name(node), tuple(e for e in ends if e))
            )

    def _draw_hub(self, hub: Hub, attached: list[tuple[str, Point]]) -> None:
        top, bottom = self.top + self.heights.top[hub.index], self.top + self.heights.bottom[hub.index]
        x = self.x.hub[hub.index]
        if hub.element is None:
            self._trunk(hub, x, top, bottom, [p for _, p in attached])
            return
        element = hub.element
        drawn = Drawn(element.name, hub.kind, element.title, labels.described(element), Box(x, top, x, bottom))
        drawn.system = self.sheet.system(hub.node)
        drawn.continued = hub.continued
        name = self.sheet.name(hub.node)
        if hub.kind == "bus":
            drawn.symbol = Box(x - BAR / 2, top, x + BAR / 2, bottom)
            drawn.shapes.append(symbols.bar(x, top, bottom, BAR))
            drawn.terminals = [(name, p) for _, p in attached]
        elif hub.kind == "joint":
            drawn.symbol = Box(x - 0.7, top - 0.7, x + 0.7, bottom + 0.7)
            self._trunk(hub, x, top, bottom, [p for _, p in attached])
            drawn.shapes.append(Disc(x, top, 0.7))
            drawn.terminals = [(name, p) for _, p in attached]
        else:
            self._selector(hub, drawn, x, top, bottom, attached)
        lines = self.text[hub.index]
        set_lines(drawn, lines, x, top - self._over_hub(hub.index) + (0 if hub.kind != "joint" else -0.4), 0.5)
        self.sheet.picture.elements.append(drawn)

    def _trunk(self, hub: Hub, x: float, top: float, bottom: float, points: list[Point]) -> None:
        """A plain upright line that joins what meets it; a dot wherever three or four lines meet."""
        heights = sorted({p[1] for p in points})
        # In pieces, so that a way through it can be told from what hangs on beside.
        stops = sorted({top, *(y for y in heights if top < y < bottom), bottom})
        for y0, y1 in pairwise(stops):
            self._wire_up(x, y0, y1, hub.node)
        for y in heights:
            meeting = sum(1 for p in points if p[1] == y) + (y > top) + (y < bottom)
            if meeting > 2:
                self.sheet.picture.dots.append((x, y))

    def _wire_up(self, x: float, top: float, bottom: float, node: int) -> None:
        self.sheet.picture.wires.append(Wire(((x, top), (x, bottom)), self.sheet.system(node), self.sheet.name(node)))

    def _selector(
        self, hub: Hub, drawn: Drawn, x: float, top: float, bottom: float, attached: list[tuple[str, Point]]
    ) -> None:
        x0, x1 = x - SELECTOR / 2, x + SELECTOR / 2
        at = dict(attached)
        for port in hub.ports:
            if port not in at:
                y = self.heights.port.get((hub.index, port), self.heights.top[hub.index] + SELECTOR_OVER)
                at[port] = (x0 if hub.side(port) == "left" else x1, self.top + y)
        fixed = [p for n, p in at.items() if n != COMMON]
        drawn.symbol = Box(x0, top, x1, bottom)
        drawn.shapes = symbols.selector(x0, x1, top, bottom, fixed, [p for n, p in at.items() if n == COMMON])
        for port, (px, py) in at.items():
            if port != COMMON:
                inward = 1.1 if px < x else -1.1
                drawn.shapes.append(Words(px + inward, py - 0.5, port, SMALL, anchor="middle"))
        drawn.terminals = [(self.sheet.name(hub.ports[n]), p) for n, p in at.items()]


def laid_out(design: Design, notes: Notes) -> Picture:
    """The diagram in one piece without its frame, its upper left corner at (0, 0)."""
    return laid(design, schematic(design.circuit, design.elements.values()), Told(notes))


def laid(design: Design, made: Schematic, told: Told) -> Picture:
    """A schematic, or a part of one, laid out with its upper left corner at (0, 0)."""
    picture = Picture()
    names = {name: number for number, name in enumerate(design.systems)}
    sheet = _Sheet(design, told, picture, names, len(names) > 1)
    top = 0.0
    for block in blocks(made):
        part = _Part(sheet, block, top)
        part.draw()
        picture.width = max(picture.width, part.x.width)
        picture.height = part.bottom
        top = part.bottom + BETWEEN
    return picture


__all__ = ["Heights", "laid", "laid_out"]
