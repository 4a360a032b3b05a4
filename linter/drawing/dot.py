"""The laid out diagram as DOT: every node pinned where it is drawn, so that `neato -n` shows the same arrangement."""

from __future__ import annotations

from linter.drawing import labels
from linter.drawing.picture import Picture, Point
from linter.drawing.text import legal
from linter.model.design import Design

_POINTS_PER_MM = 72 / 25.4


def quoted(text: str) -> str:
    """A DOT string that shows ``text`` as it is: escapes are spent on quotes and backslashes, `<` starts no HTML."""
    text = legal(text).replace("\\", "\\\\").replace('"', '\\"')
    return '"' + text.replace("\r", " ").replace("\n", " ").replace("\t", " ") + '"'


def dot(picture: Picture, design: Design) -> str:
    """Elements are nodes, with position (points), size (inches) and text; what the circuit joins is an edge.

    Where several elements meet at a point that is no element, a node of shape point stands for it.
    """
    lines = [f"graph {quoted(design.boat or 'boat')} {{", "  node [shape=box, fixedsize=true];"]
    joints: dict[str, list[tuple[str, Point]]] = {}
    for number, drawn in enumerate(picture.elements):
        for name, point in drawn.terminals:
            joints.setdefault(name, []).append((f"e{number}", point))
        if not drawn.name:
            continue
        element = design.elements.get(drawn.name)
        box = drawn.symbol
        x, y = (box.x0 + box.x1) / 2, (box.y0 + box.y1) / 2
        said = [drawn.name, *(labels.facts(element) if element else [])]
        lines.append(
            f"  e{number} [label={quoted(' '.join(said))}, tooltip={quoted(drawn.title)}, "
            f"comment={quoted(drawn.kind)}, "
            f'pos="{_at(x, y, picture)}", width={(box.x1 - box.x0) / 25.4:.3f}, height={(box.y1 - box.y0) / 25.4:.3f}];'
        )
    for index, meeting in enumerate(_meetings(joints, design)):
        nodes = dict(meeting)
        named = [n for n in nodes if picture.elements[int(n[1:])].name]
        if len(named) == 2 and len(meeting) == 2:
            lines.append(f"  {named[0]} -- {named[1]};")
        elif len(named) > 1 or len(meeting) > 2:
            x = sum(p[0] for p in nodes.values()) / len(nodes)
            y = sum(p[1] for p in nodes.values()) / len(nodes)
            lines.append(f'  j{index} [shape=point, width=0.05, pos="{_at(x, y, picture)}"];')
            lines += [f"  {n} -- j{index};" for n, _ in meeting if n in named]
    return "\n".join([*lines, "}", ""])


def _meetings(joints: dict[str, list[tuple[str, Point]]], design: Design) -> list[list[tuple[str, Point]]]:
    """Terminals of one potential, links of the circuit followed."""
    circuit = design.circuit
    root = {n.name: n.name for n in circuit.nodes}

    def find(name: str) -> str:
        while root[name] != name:
            root[name] = root[root[name]]
            name = root[name]
        return name

    for edge in circuit.edges:
        if edge.kind == "link":
            root[find(circuit.nodes[edge.u].name)] = find(circuit.nodes[edge.v].name)
    found: dict[str, list[tuple[str, Point]]] = {}
    for name, terminals in joints.items():
        if name in root:
            found.setdefault(find(name), []).extend(terminals)
    return [list(dict.fromkeys(m)) for m in found.values()]


def _at(x: float, y: float, picture: Picture) -> str:
    return f"{x * _POINTS_PER_MM:.2f},{(picture.height - y) * _POINTS_PER_MM:.2f}"
