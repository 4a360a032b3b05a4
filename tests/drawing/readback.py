"""A drawing read back: what its lines join, and whether anything lies on anything else.

Uses only what is on the sheet (points, lines, boxes, dots), as somebody with the print in hand would.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Hashable, Iterable, Iterator
from itertools import pairwise

from linter.drawing.picture import LINE, Box, Drawn, Picture, Point, Stroke, box_of
from linter.model.circuit import Circuit

Segment = tuple[Point, Point]


def at(point: Point) -> Point:
    """A point as the SVG writes it."""
    return round(point[0], 2) + 0.0, round(point[1], 2) + 0.0


class Sets:
    def __init__(self) -> None:
        self.parent: dict[Hashable, Hashable] = {}

    def find(self, a: Hashable) -> Hashable:
        self.parent.setdefault(a, a)
        while self.parent[a] != a:
            self.parent[a] = self.parent[self.parent[a]]
            a = self.parent[a]
        return a

    def join(self, a: Hashable, b: Hashable) -> None:
        self.parent[self.find(a)] = self.find(b)


def segments(points: Iterable[Point]) -> list[Segment]:
    ps = [at(p) for p in points]
    return list(pairwise(ps))


def on_segment(p: Point, s: Segment, inside: bool) -> bool:
    """Whether ``p`` lies on an upright or level segment; ``inside``: and is neither of its ends."""
    (x0, y0), (x1, y1) = s
    if inside and p in s:
        return False
    eps = 0.006
    return min(x0, x1) - eps <= p[0] <= max(x0, x1) + eps and min(y0, y1) - eps <= p[1] <= max(y0, y1) + eps


class Grid:
    """Boxes by the squares they touch, so that near ones are found quickly."""

    def __init__(self, size: float = 12.0) -> None:
        self.size = size
        self.squares: dict[tuple[int, int], list[int]] = defaultdict(list)
        self.boxes: list[Box] = []

    def _squares(self, b: Box) -> Iterator[tuple[int, int]]:
        for i in range(int(b.x0 // self.size), int(b.x1 // self.size) + 1):
            for j in range(int(b.y0 // self.size), int(b.y1 // self.size) + 1):
                yield i, j

    def add(self, box: Box) -> int:
        self.boxes.append(box)
        for square in self._squares(box):
            self.squares[square].append(len(self.boxes) - 1)
        return len(self.boxes) - 1

    def near(self, box: Box) -> set[int]:
        return {n for square in self._squares(box) for n in self.squares.get(square, ())}


def nets(picture: Picture) -> tuple[Sets, list[str]]:
    """What is joined with what: the sets hold ("terminal", element, number); and what is ambiguous."""
    wrong: list[str] = []
    joined = Sets()
    ends: dict[Point, list[Hashable]] = defaultdict(list)
    dots = {at(d) for d in picture.dots}
    grid = Grid()
    pieces: list[tuple[int, Segment]] = []
    for number, wire in enumerate(picture.wires):
        points = [at(p) for p in wire.points]
        ends[points[0]].append(("wire", number))
        ends[points[-1]].append(("wire", number))
        for s in segments(wire.points):
            if s[0][0] != s[1][0] and s[0][1] != s[1][1]:
                wrong.append(f"a slanting line {s}")
            grid.add(box_of_segment(s, 0.0))
            pieces.append((number, s))
    for drawn in picture.elements:
        for count, (_, point) in enumerate(drawn.terminals):
            key = ("terminal", drawn.name or id(drawn), count)
            ends[at(point)].append(key)
            joined.find(key)
            if drawn.kind == "bus":
                # One bar: whatever touches it is joined.
                joined.join(key, ("bar", drawn.name))
                if not drawn.symbol.x0 - 0.01 <= point[0] <= drawn.symbol.x1 + 0.01 or not (
                    drawn.symbol.y0 <= point[1] <= drawn.symbol.y1
                ):
                    wrong.append(f"{drawn.name}: a terminal beside the bar")
            size = max(drawn.symbol.x1 - drawn.symbol.x0, drawn.symbol.y1 - drawn.symbol.y0)
            if drawn.kind in ("terminal", "end", "joint") and size < 2:
                # A dot or circle that the line goes through.
                joined.join(key, ("spot", id(drawn)))
    for point, meeting in ends.items():
        for other in meeting[1:]:
            joined.join(meeting[0], other)
        if sum(1 for m in meeting if isinstance(m, tuple) and m[0] == "wire") > 2 and point not in dots:
            wrong.append(f"three lines meet without a dot at {point}")
        # A line that ends on another is joined to it by a dot, or the drawing is ambiguous.
        for n in grid.near(Box(*point, *point)):
            number, s = pieces[n]
            if on_segment(point, s, inside=True) and ("wire", number) not in meeting:
                if point in dots:
                    joined.join(meeting[0], ("wire", number))
                else:
                    wrong.append(f"a line ends on another without a dot at {point}")
    for dot in dots:
        on = [pieces[n][0] for n in grid.near(Box(*dot, *dot)) if on_segment(dot, pieces[n][1], inside=False)]
        for other in on[1:]:
            joined.join(("wire", on[0]), ("wire", other))
    for n, (number, s) in enumerate(pieces):
        for m in grid.near(grid.boxes[n]):
            if m > n and pieces[m][0] != number and _run_along(s, pieces[m][1]):
                wrong.append(f"two lines on each other: {s} and {pieces[m][1]}")
    return joined, wrong


def _run_along(a: Segment, b: Segment) -> bool:
    for axis in (0, 1):
        if a[0][axis] == a[1][axis] and b[0][axis] == b[1][axis] and abs(a[0][axis] - b[0][axis]) < 0.3:
            other = 1 - axis
            low = max(min(a[0][other], a[1][other]), min(b[0][other], b[1][other]))
            high = min(max(a[0][other], a[1][other]), max(b[0][other], b[1][other]))
            if high - low > 0.01:
                return True
    return False


def disagreements(picture: Picture, circuit: Circuit) -> list[str]:
    """Where what the lines join is not what the circuit joins."""
    joined, wrong = nets(picture)
    same = Sets()
    for edge in circuit.edges:
        if edge.kind == "link":
            same.join(circuit.nodes[edge.u].name, circuit.nodes[edge.v].name)
    of_net: dict[Hashable, Hashable] = {}
    of_node: dict[Hashable, Hashable] = {}
    for drawn in picture.elements:
        for count, (name, _) in enumerate(drawn.terminals):
            if not name:
                continue
            net, node = joined.find(("terminal", drawn.name or id(drawn), count)), same.find(name)
            if of_net.setdefault(net, node) != node:
                wrong.append(f"{drawn.name}: {name} is drawn joined to {of_net[net]}")
            if of_node.setdefault(node, net) != net:
                wrong.append(f"{drawn.name}: {name} is not drawn joined to the rest of {node}")
    by_name = {d.name: d for d in picture.elements if d.name}
    for edge in circuit.edges:
        if edge.kind in ("link", "selector"):
            continue
        ends = {same.find(n) for n, _ in by_name[edge.element.name].terminals}
        if ends != {same.find(circuit.nodes[edge.u].name), same.find(circuit.nodes[edge.v].name)}:
            wrong.append(f"{edge.element.name} is drawn between {ends}")
    return wrong


def box_of_segment(s: Segment, half: float) -> Box:
    (x0, y0), (x1, y1) = s
    return Box(min(x0, x1) - half, min(y0, y1) - half, max(x0, x1) + half, max(y0, y1) + half)


def collisions(picture: Picture) -> list[str]:
    """What lies on something else: texts, marks, symbols, lines; and what is beyond the edge of the sheet."""
    wrong: list[str] = []
    boxes: list[tuple[str, str, Box, Drawn | None]] = []
    for drawn in picture.elements:
        boxes += [("text", f"{drawn.name}: {t.text}", t.box, drawn) for t in drawn.texts]
        boxes += [("mark", f"{drawn.name}: mark {m.number}", b, drawn) for m, b in drawn.markers]
        boxes.append(("symbol", drawn.name or drawn.kind, drawn.symbol, drawn))
        boxes += [("band", f"{drawn.name}: band", box_of(s.points), drawn) for s in bands(drawn)]
    boxes += [("text", f"sheet: {t.text}", t.box, None) for t in picture.frame_words]
    for wire in picture.wires:
        boxes += [("wire", f"wire {s}", box_of_segment(s, LINE / 2), None) for s in segments(wire.points)]
    grid = Grid()
    for n, (kind, what, box, one) in enumerate(boxes):
        if box.x0 < 0 or box.y0 < 0 or box.x1 > picture.width or box.y1 > picture.height:
            wrong.append(f"{what} is beyond the edge")
        for m in grid.near(box):
            kind_2, what_2, box_2, two = boxes[m]
            if kind == kind_2 == "wire" or not box.overlaps(box_2, 0.02):
                continue
            pair = {kind, kind_2}
            if "band" in pair and not pair & {"text", "mark"}:
                continue
            if pair == {"symbol", "wire"}:
                drawn, line = (one, box_2) if kind == "symbol" else (two, box)
                assert drawn is not None
                if _arrives(drawn, line):
                    continue
            if pair == {"symbol"} and one is not None and two is not None and _touch(one, two):
                continue
            wrong.append(f"{kind} {what} on {kind_2} {what_2}")
        grid.add(box)
        assert len(grid.boxes) == n + 1
    return wrong


def bands(drawn: Drawn) -> list[Stroke]:
    """What is laid behind an element that is new or otherwise: the pale surfaces among its shapes."""
    return [s for s in drawn.shapes if isinstance(s, Stroke) and s.fill in ("added", "changed")]


def _arrives(drawn: Drawn, line: Box) -> bool:
    """Whether the line ends at one of the element's terminals, or is the joint's own joining line."""
    grown = Box(line.x0 - 0.2, line.y0 - 0.2, line.x1 + 0.2, line.y1 + 0.2)
    return any(grown.x0 <= x <= grown.x1 and grown.y0 <= y <= grown.y1 for _, (x, y) in drawn.terminals)


def _touch(one: Drawn, two: Drawn) -> bool:
    """Two symbols that follow each other in a row may share a terminal's point."""
    ends = {at(p) for _, p in one.terminals}
    return any(at(p) in ends for _, p in two.terminals)
