"""Everything on the drawing is fed by some source."""

from __future__ import annotations

from collections.abc import Iterator

from linter.rules.finding import Severity
from linter.rules.registry import Wrong, rule
from linter.study.study import Study


@rule(
    "not-fed",
    Severity.FAULT,
    demand="Everything on the drawing is fed by some source.",
    reason="What nothing feeds is a line forgotten, and its protection was never examined.",
    clause="common practice",
    status="common practice",
    mend="Begin its run with `from` and the terminal that feeds it.",
    measure=(
        "With power on, measure at the element against the return; with power off, follow its conductor to "
        "where it ends, and see that the loose end is insulated."
    ),
    bad="""
from B
cable W1, 50 mm2, 0.15 m
fuse F1, part main, 150 A
cable W2, 50 mm2, 1 m
bus POS, 250 A
joint J9
from J9
fuse F3, part branch, 5 A
cable W3, 1.5 mm2, 3 m
load LAMP, draws 1 A
""",
    good="""
from B
cable W1, 50 mm2, 0.15 m
fuse F1, part main, 150 A
cable W2, 50 mm2, 1 m
bus POS, 250 A
from POS
fuse F3, part branch, 5 A
cable W3, 1.5 mm2, 3 m
load LAMP, draws 1 A
""",
)
def RULE(study: Study) -> Iterator[Wrong]:
    circuit = study.design.circuit
    told: set[str] = set()
    fed = {n.element.name for n in circuit.nodes if n.element is not None and study.fed(n.index)}
    for node in circuit.nodes:
        element = node.element
        if study.fed(node.index) or element is None or element.name in told or node.kind == "converter output":
            continue
        if node.kind == "selector terminal" and element.name in fed:
            # a position that is not wired feeds nothing and takes nothing from what the others feed
            if any(circuit.edges[e].kind != "selector" for e in node.edges):
                terminal = node.name.removeprefix(f"{element.name}.")
                yield Wrong(
                    element,
                    f"no source feeds terminal {terminal} of {element.title}, though something is wired to it",
                    f"end a run from a bus or source with `to {element.name} {terminal}`, or take away what is wired "
                    "there",
                )
            continue
        told.add(element.name)
        yield Wrong(
            element,
            f"no source feeds {element.title}",
            "begin a run to it with `from` and a bus or source; what stands below a terminal does not touch it",
        )
    for edge in circuit.edges:
        # conductors and devices on the way to what is not fed need no words of their own
        if edge.kind in {"link", "selector"} or study.fed(edge.u) or study.fed(edge.v):
            continue
        ends = (circuit.nodes[edge.u], circuit.nodes[edge.v])
        if all(n.element is None for n in ends) and edge.element.name not in told:
            told.add(edge.element.name)
            yield Wrong(edge.element, f"no source feeds {edge.element.title}", "begin its run at a bus or source")
