"""What must be on a way for a line of a sheet to be on it: nodes and elements, by name."""

from __future__ import annotations

from linter.drawing.picture import Picture, Point
from linter.model.circuit import Circuit

Needs = tuple[tuple[str, ...], tuple[str, ...]]
NEVER: Needs = ((), ("",))


def _near(point: Point) -> tuple[float, float]:
    return round(point[0], 1), round(point[1], 1)


def line_needs(picture: Picture, circuit: Circuit, elements: frozenset[str]) -> dict[str, list[list[Needs]]]:
    """Of each wire, dot and other thing (a reference, the circle between two cables) of a sheet: any of these suffices.

    A wire is on a way if its node is, and what it leads to at both its ends.  ``elements`` are those of the design.
    """
    wires: list[Needs] = []
    at: dict[tuple[float, float], list[Needs]] = {}
    for wire in picture.wires:
        nodes = [wire.node] if wire.node else []
        nodes += [e for e in wire.ends if e not in elements and e in circuit.by_name]
        needs = (tuple(dict.fromkeys(nodes)), tuple(dict.fromkeys(e for e in wire.ends if e in elements)))
        wires.append(needs)
        for point in (wire.points[0], wire.points[-1]):
            at.setdefault(_near(point), []).append(needs)
    others = []
    for drawn in picture.elements:
        if drawn.name and drawn.reference < 0:
            continue
        meeting = [n for name, point in drawn.terminals for n in at.get(_near(point), [((name,), ())] if name else [])]
        others.append(meeting or [NEVER])
    dots = [at.get(_near(p)) or [NEVER] for p in picture.dots]
    return {"wires": [[w] for w in wires], "dots": dots, "others": others}
