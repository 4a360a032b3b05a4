"""What must be on a way for a line of a sheet to be on it: nodes and elements, by name."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, field
from typing import NamedTuple

from linter.drawing.picture import Drawn, Picture, Point, Wire
from linter.model.circuit import Circuit


class Needs(NamedTuple):
    """Nodes and elements that must all be on the way; ``chosen``: the element that the way leads to."""

    nodes: tuple[str, ...] = ()
    elements: tuple[str, ...] = ()
    chosen: tuple[str, ...] = ()


# Of each part of the list any one suffices.
Parts = list[list[Needs]]
NEVER = Needs(elements=("",))


def _near(point: Point) -> tuple[float, float]:
    return round(point[0], 1), round(point[1], 1)


@dataclass(slots=True)
class _Trunk:
    """A plain upright line of one node, in pieces: what meets it, by height."""

    x: float
    top: float
    bottom: float
    node: str
    meets: list[tuple[float, Needs]] = field(default_factory=list)

    def has(self, point: Point, node: str = "") -> bool:
        same = abs(point[0] - self.x) < 0.05 and self.top - 0.05 <= point[1] <= self.bottom + 0.05
        return same and node in ("", self.node)

    def between(self, top: float, bottom: float) -> Parts:
        """What lights the piece from ``top`` to ``bottom``: something that meets the line above, something below."""
        above = [n for y, n in self.meets if y <= top + 0.05]
        below = [n for y, n in self.meets if y >= bottom - 0.05]
        return [above or [NEVER], below or [NEVER]]


def line_needs(picture: Picture, circuit: Circuit, elements: frozenset[str]) -> dict[str, list[Parts]]:
    """Of each wire, dot and other thing (a reference, the circle between two cables) of a sheet: what lights it.

    A wire is on a way if its node is, and what it leads to at both its ends; an upright line that joins several, only
    from the first to the last of those that are.  ``elements`` are those of the design.
    """
    trunks = _trunks(picture.wires)
    at: dict[tuple[float, float], list[Needs]] = {}
    needs: dict[int, Needs] = {}
    for number, wire in enumerate(picture.wires):
        if not wire.ends:
            continue
        nodes = [wire.node] if wire.node else []
        nodes += [e for e in wire.ends if e not in elements and e in circuit.by_name]
        made = Needs(tuple(dict.fromkeys(nodes)), tuple(dict.fromkeys(e for e in wire.ends if e in elements)))
        needs[number] = made
        for point in (wire.points[0], wire.points[-1]):
            at.setdefault(_near(point), []).append(made)
            for trunk in trunks:
                if trunk.has(point, wire.node):
                    trunk.meets.append((point[1], made))
    _joints(picture.elements, trunks)
    wires: list[Parts] = []
    for number, wire in enumerate(picture.wires):
        if number in needs:
            wires.append([[needs[number]]])
            continue
        (_, y0), (_, y1) = wire.points[0], wire.points[-1]
        on = next((t for t in trunks if t.has(wire.points[0], wire.node)), None)
        wires.append(on.between(y0, y1) if on is not None else [[Needs((wire.node,))]])
    others: list[Parts] = []
    for drawn in picture.elements:
        if drawn.name and drawn.reference < 0:
            continue
        meeting = [
            n for name, point in drawn.terminals for n in at.get(_near(point), [Needs((name,))] if name else [])
        ]  # fmt: skip
        others.append([meeting or [NEVER]])
    dots: list[Parts] = []
    for point in picture.dots:
        on = next((t for t in trunks if t.has(point)), None)
        dots.append(on.between(point[1], point[1]) if on is not None else [at.get(_near(point)) or [NEVER]])
    return {"wires": wires, "dots": dots, "others": others}


def _trunks(wires: Sequence[Wire]) -> list[_Trunk]:
    """The upright lines, their pieces put together."""
    made: list[_Trunk] = []
    for wire in wires:
        if wire.ends:
            continue
        (x, y0), (_, y1) = wire.points[0], wire.points[-1]
        last = made[-1] if made else None
        if last is not None and last.has((x, y0), wire.node):
            last.bottom = y1
        else:
            made.append(_Trunk(x, y0, y1, wire.node))
    return made


def _joints(drawn: Sequence[Drawn], trunks: Sequence[_Trunk]) -> None:
    """The dot of a joint, at the upper end of its line, is met by a way that leads to the joint itself."""
    for one in drawn:
        if one.kind == "joint":
            middle = (one.symbol.x0 + one.symbol.x1) / 2
            for trunk in trunks:
                if trunk.has((middle, one.symbol.y0 + 0.7)):
                    trunk.meets.append((trunk.top, Needs(chosen=(one.name,))))
