"""Sheets read back: each by itself, then joined by what their references say, as somebody who leafs would do it."""

from __future__ import annotations

import re
from collections import Counter, defaultdict
from collections.abc import Hashable, Sequence

from linter.drawing.paper import COLUMNS, EDGE_MM, FILING_MM, LEAST_TEXT_PT, POINT_MM, ROWS
from linter.drawing.picture import LINE, Box, Disc, Drawn, Marker, Picture, Stroke, Words
from linter.drawing.text import width_mm
from linter.model.design import Design
from tests.drawing.readback import Grid, Sets, box_of_segment, collisions, nets, segments

Key = tuple[int, int, int]
_SAID = re.compile(r"(to|from) (?:sheet (\d+), )?([A-F][1-8])$")


def frame_of(picture: Picture) -> Box:
    """The inner frame by the margins of the paper, without asking the program where it put it."""
    s = picture.scale
    return Box(FILING_MM / s, EDGE_MM / s, picture.width - EDGE_MM / s, picture.height - EDGE_MM / s)


def field_of(picture: Picture, drawn: Drawn) -> str:
    """The field that a tag lies in, measured."""
    f = frame_of(picture)
    x, y = (drawn.symbol.x0 + drawn.symbol.x1) / 2, (drawn.symbol.y0 + drawn.symbol.y1) / 2
    return f"{ROWS[int((y - f.y0) / ((f.y1 - f.y0) / 6))]}{int((x - f.x0) / ((f.x1 - f.x0) / COLUMNS)) + 1}"


def said_by(sheet: int, drawn: Drawn) -> tuple[str, int, str]:
    """What a tag says: to or from, which sheet (from 0), which field."""
    found = _SAID.fullmatch(drawn.texts[0].text)
    assert found is not None, drawn.texts[0].text
    return found[1], int(found[2]) - 1 if found[2] else sheet, found[3]


def next_to(joined: Sets, sheet: int, pictures: Sequence[Picture]) -> dict[Hashable, set[str]]:
    """The names of the elements on each net of a sheet."""
    found: dict[Hashable, set[str]] = defaultdict(set)
    for drawn in pictures[sheet].elements:
        for count, (name, _) in enumerate(drawn.terminals):
            net = joined.find(("terminal", drawn.name or id(drawn), count))
            found[net] |= {drawn.name, name} if drawn.reference < 0 else {name}
    return found


def sheet_disagreements(pictures: Sequence[Picture], design: Design) -> list[str]:
    """Where what lines and references join is not what the circuit joins."""
    wrong: list[str] = []
    every = Sets()
    tags: list[tuple[int, Drawn, Hashable, set[str]]] = []
    net_of: dict[int, list[tuple[Drawn, str, Hashable]]] = defaultdict(list)
    for sheet, picture in enumerate(pictures):
        # A bus that stands twice on one sheet is two bars: nothing but its references joins them.
        for number, drawn in enumerate(picture.elements):
            if drawn.continued:
                drawn.name = f"{drawn.name}\u0000{sheet}.{number}"
        joined, said = nets(picture)
        wrong += [f"sheet {sheet + 1}: {w}" for w in said]
        names = next_to(joined, sheet, pictures)
        for drawn in picture.elements:
            for count, (name, _) in enumerate(drawn.terminals):
                net = joined.find(("terminal", drawn.name or id(drawn), count))
                key = (sheet, net)
                every.find(key)
                if drawn.reference >= 0:
                    tags.append((sheet, drawn, key, names[net]))
                elif name:
                    net_of[sheet].append((drawn, name, key))
        for drawn in picture.elements:
            if drawn.continued:
                drawn.name = drawn.name.partition("\u0000")[0]
    wrong += _leaf(pictures, tags, every)
    return wrong + _compared(net_of, every, design)


def _leaf(pictures: Sequence[Picture], tags: list[tuple[int, Drawn, Hashable, set[str]]], every: Sets) -> list[str]:
    """Follow each tag by its words alone; the other end must say the way back."""
    wrong = []
    at: dict[tuple[int, str], list[int]] = defaultdict(list)
    for number, (sheet, drawn, _, _) in enumerate(tags):
        at[sheet, field_of(pictures[sheet], drawn)].append(number)
    used: set[int] = set()
    for number, (sheet, drawn, key, names) in enumerate(tags):
        way, there, field = said_by(sheet, drawn)
        back = "from" if way == "to" else "to"
        own = field_of(pictures[sheet], drawn)
        fitting = [
            n for n in at[there, field]
            if n != number and said_by(there, tags[n][1]) == (back, sheet, own)
            # The second line of each says what stands next at the other.
            and tags[n][1].texts[1].text.rstrip("…") in " ".join(names) and _near(drawn.texts[1].text, tags[n][3])
        ]  # fmt: skip
        if not fitting:
            wrong.append(
                f"sheet {sheet + 1}: {drawn.texts[0].text} {drawn.texts[1].text} leads to nothing that leads back"
            )
            continue
        mate = next((n for n in fitting if tags[n][1].reference == drawn.reference), fitting[0])
        # Where the words fit more than one, it must not matter which is taken.
        for n in fitting:
            if every.find(tags[n][2]) != every.find(tags[mate][2]) and not tags[n][3] & tags[mate][3]:
                wrong.append(f"sheet {sheet + 1}: {drawn.texts[0].text} {drawn.texts[1].text} may mean two")
        used.add(mate)
        every.join(key, tags[mate][2])
    return wrong


def _near(text: str, names: set[str]) -> bool:
    return any(n.startswith(text.rstrip("…")) for n in names)


def _compared(net_of: dict[int, list[tuple[Drawn, str, Hashable]]], every: Sets, design: Design) -> list[str]:
    wrong: list[str] = []
    circuit = design.circuit
    same = Sets()
    for edge in circuit.edges:
        if edge.kind == "link":
            same.join(circuit.nodes[edge.u].name, circuit.nodes[edge.v].name)
    of_net: dict[Hashable, Hashable] = {}
    of_node: dict[Hashable, Hashable] = {}
    ends: dict[str, set[Hashable]] = defaultdict(set)
    for drawn, name, key in (one for some in net_of.values() for one in some):
        net, node = every.find(key), same.find(name)
        ends[drawn.name].add(node)
        if of_net.setdefault(net, node) != node:
            wrong.append(f"{drawn.name}: {name} is drawn joined to {of_net[net]}")
        if of_node.setdefault(node, net) != net:
            wrong.append(f"{drawn.name}: {name} is not drawn joined to the rest of {node}")
    for edge in circuit.edges:
        if edge.kind not in ("link", "selector"):
            wanted = {same.find(circuit.nodes[edge.u].name), same.find(circuit.nodes[edge.v].name)}
            if ends[edge.element.name] != wanted:
                wrong.append(f"{edge.element.name} is drawn between {ends[edge.element.name]}")
    return wrong


def sheet_collisions(pictures: Sequence[Picture]) -> list[str]:
    """What lies on something else or beyond the frame, on each sheet; and text too small to read."""
    wrong: list[str] = []
    for number, picture in enumerate(pictures, 1):
        found = collisions(picture)
        frame = frame_of(picture)
        lines = [(s, box) for s in picture.frame if isinstance(s, Stroke) for box in _boxes(s)]
        for drawn in picture.elements:
            boxes = [drawn.symbol, *(t.box for t in drawn.texts), *(b for _, b in drawn.markers)]
            for box in boxes:
                if not _inside(box, frame):
                    found.append(f"{drawn.name or drawn.kind} is beyond the frame")
                found += [
                    f"{drawn.name or drawn.kind} on a line of the frame" for _, b in lines if box.overlaps(b, 0.02)
                ]
        for wire in picture.wires:
            for s in segments(wire.points):
                box = box_of_segment(s, LINE / 2)
                if not _inside(box, frame) or any(box.overlaps(b, 0.02) for _, b in lines):
                    found.append(f"wire {s} on or beyond the frame")
        for text in picture.frame_words:
            found += [f"{text.text!r} on a line of the frame" for _, b in lines if text.box.overlaps(b, 0.02)]
        found += _on_figures(picture)
        every: list[Words] = [*picture.frame_words, *(t for d in picture.elements for t in d.texts)]
        every += [s for d in picture.elements for s in d.shapes if isinstance(s, Words)]
        least = min((t.size * picture.scale for t in every), default=9.9)
        if least < LEAST_TEXT_PT * POINT_MM - 1e-9:
            found.append(f"text of {least / POINT_MM:.2f} pt")
        wrong += [f"sheet {number}: {w}" for w in found]
    return wrong


def _on_figures(picture: Picture) -> list[str]:
    """Texts of the frame that lie on a mark, a dot or a slanting line of the frame, and marks on each other."""
    figures: list[tuple[str, Box]] = []
    for s in picture.frame:
        if isinstance(s, Marker):
            figures.append(
                (
                    f"mark {s.number}",
                    Box(s.x, s.y - 1.2, s.x + 2.4 + (0.4 + width_mm(str(s.number), 2.2)) * (s.number > 0), s.y + 1.2),
                )
            )
        elif isinstance(s, Disc) and s.r < 1:
            figures.append(("a dot", Box(s.x - s.r, s.y - s.r, s.x + s.r, s.y + s.r)))
        elif isinstance(s, Stroke):
            slant = [p for p in segments(s.points) if p[0][0] != p[1][0] and p[0][1] != p[1][1]]
            figures += [("a slanting line", box_of_segment(p, s.width / 2)) for p in slant]
    letters = [w for w in picture.frame_words if len(w.text) > 1]
    grid = Grid()
    for _, box in figures:
        grid.add(box)
    wrong = []
    for text in letters:
        wrong += [
            f"{text.text!r} on {figures[n][0]}" for n in grid.near(text.box) if text.box.overlaps(grid.boxes[n], 0.02)
        ]
    marks = [box for what, box in figures if what.startswith("mark")]
    wrong += [f"mark on mark at {a}" for i, a in enumerate(marks) for b in marks[:i] if a.overlaps(b, 0.02)]
    return wrong


def _boxes(stroke: Stroke) -> list[Box]:
    points = (*stroke.points, stroke.points[0]) if stroke.closed else stroke.points
    return [
        box_of_segment(s, stroke.width / 2) for s in segments(points) if s[0][0] == s[1][0] or s[0][1] == s[1][1]
    ]  # fmt: skip


def _inside(box: Box, frame: Box) -> bool:
    return box.x0 >= frame.x0 and box.y0 >= frame.y0 and box.x1 <= frame.x1 and box.y1 <= frame.y1


def wrongly_often(pictures: Sequence[Picture], design: Design) -> list[str]:
    """Elements that are not drawn exactly once; continuations of buses and joints apart."""
    drawn = Counter(d.name for p in pictures for d in p.elements if d.name and not d.continued)
    wrong = [f"{n} is drawn {drawn[n]} times" for n in {*drawn, *design.elements} if drawn[n] != 1]
    for picture in pictures:
        wrong += [f"{d.name} is continued" for d in picture.elements if d.continued and d.kind not in ("bus", "joint")]
    return wrong
