"""A fault opens the device nearest to it, and none above."""

from __future__ import annotations

from collections.abc import Iterator

from linter.rules.finding import Severity
from linter.rules.registry import Wrong, rule
from linter.rules.words import kiloamps, names
from linter.study.coordination import Overlap, nearest_above, overlap, serves_it_alone
from linter.study.study import Study


@rule(
    "not-coordinated",
    Severity.ADVICE,
    demand="A fault opens the device nearest to it before the one above, over all currents that both may see.",
    reason=(
        "Where a short in a cabin light takes the whole panel with it, navigation lights and bilge pumps are out at "
        "the worst moment, and nobody sees at once where the fault is."
    ),
    clause="IEC 60947-2, selectivity; common practice",
    status="common practice",
    mend="A faster or smaller device below, or a slower one above that still guards its conductor.",
    measure=(
        "Read maker, class and rating of both devices, and compare their curves; a device that opened "
        "together with the one below it is a sign."
    ),
    bad="""
from B
cable W1, 50 mm2, 0.15 m
fuse F1, part main, 60 A
cable W2, 50 mm2, 1 m
bus POS, 250 A
from POS
breaker Q3, part panel, 50 A
cable W3, 16 mm2, 3 m
load HEATER, draws 20 A
from POS
fuse F4, part branch, 5 A
cable W4, 2.5 mm2, 3 m
load LAMP, draws 3 A
""",
    good="""
from B
cable W1, 50 mm2, 0.15 m
fuse F1, part main, 150 A
cable W2, 50 mm2, 1 m
bus POS, 250 A
from POS
fuse F3, part branch, 15 A
cable W3, 2.5 mm2, 3 m
load LAMP, draws 3 A
""",
)
def RULE(study: Study) -> Iterator[Wrong]:
    openings, circuit = study.openings(), study.design.circuit
    found: dict[int, list[Overlap]] = {}
    for edge in circuit.edges:
        if edge.kind != "device":
            continue
        for above in nearest_above(openings, edge.index):
            if serves_it_alone(openings, above, edge.index):
                continue
            pair = overlap(openings, above, edge.index)
            if pair is not None:
                found.setdefault(above, []).append(pair)
    for above, pairs in found.items():
        upper = circuit.edges[above].device
        worst = min(pairs, key=lambda p: p.least_a)
        lower = [circuit.edges[p.lower].element.name for p in sorted(pairs, key=lambda p: p.least_a)]
        one = circuit.edges[worst.lower].device
        rest = f"; so it is with {names(lower[1:])}" if len(lower) > 1 else ""
        yield Wrong(
            upper,
            f"{upper.title} may open with {one.title}, or before it, on faults of {kiloamps(worst.least_a)} to "
            f"{kiloamps(worst.greatest_a)}{rest}",
            f"for {one.name} one that opens sooner or lets through less, or for {upper.name} one that holds longer and "
            "still guards its conductor",
            span=upper.where("current"),
            related=tuple((circuit.edges[p.lower].device.where("current"), "opens no sooner") for p in pairs[:4]),
            guard=tuple(lower),
        )
