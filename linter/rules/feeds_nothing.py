"""A source feeds something."""

from __future__ import annotations

from collections.abc import Iterator

from linter.rules.finding import Severity
from linter.rules.registry import Wrong, rule
from linter.study.study import Study


@rule(
    "feeds-nothing",
    Severity.ADVICE,
    demand="A source feeds something.",
    reason="A battery or charger that leads nowhere is a run not written yet.",
    clause="common practice",
    status="common practice",
    mend="Write the run from it, or take it out.",
    measure="Look what is bolted to the source's terminals.",
    bad="""
battery SPARE, AGM, 12 V, 100 Ah
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
    piece = circuit.pieces()
    uses: dict[int, int] = {}
    batteries: dict[int, int] = {}
    for node in circuit.nodes:
        if node.load is not None:
            uses[piece[node.index]] = uses.get(piece[node.index], 0) + 1
        if node.source is not None and node.source.is_battery:
            batteries[piece[node.index]] = batteries.get(piece[node.index], 0) + 1
    for node in circuit.nodes:
        source = node.source
        if source is None or (node.load is not None and node.edges):
            continue
        here = piece[node.index]
        if not uses.get(here) and batteries.get(here, 0) <= (1 if source.is_battery else 0):
            yield Wrong(source, f"{source.title} feeds nothing", f"write a run: from {source.name}; or take it out")
