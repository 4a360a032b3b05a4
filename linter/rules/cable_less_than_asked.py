"""The conductors to an appliance are at least as large as its maker asks."""

from __future__ import annotations

from collections.abc import Iterator

from linter.rules.finding import Severity
from linter.rules.registry import Wrong, rule
from linter.rules.words import upstream
from linter.study.study import Study


@rule(
    "cable-less-than-asked",
    Severity.FAULT,
    demand=(
        "The conductors to an appliance are at least as large as its maker asks: those after its device, and before it "
        "as far as they serve nothing else."
    ),
    reason=(
        "The maker knows how far the voltage may drop at the appliance's starting current; a conductor that "
        "carries the current safely may still starve it."
    ),
    clause="the maker's manual",
    status="common practice",
    mend="Take the size the manual asks for.",
    measure=(
        "Read the size off the conductors over their whole way, also where they were joined or lengthened, "
        "and the return's."
    ),
    bad="""
from B
cable W1, 50 mm2, 0.15 m
fuse F1, part main, 150 A
cable W2, 50 mm2, 1 m
bus POS, 250 A
from POS
breaker Q3, part panel, 50 A
cable W3, 10 mm2, 3 m
load WINCH, draws 40 A, asks cable at least 16 mm2
""",
    good="""
from B
cable W1, 50 mm2, 0.15 m
fuse F1, part main, 150 A
cable W2, 50 mm2, 1 m
bus POS, 250 A
from POS
breaker Q3, part panel, 50 A
cable W3, 16 mm2, 3 m
load WINCH, draws 40 A, asks cable at least 16 mm2
""",
)
def RULE(study: Study) -> Iterator[Wrong]:
    for node in study.design.circuit.nodes:
        load = node.load
        if load is None or not load.asks:
            continue
        sizes = [a.cable for a in load.asks if a.cable is not None]
        if not sizes:
            continue
        least = max(sizes, key=lambda s: s.value)
        for edge in dict.fromkeys([*upstream(study, node.index).conductors, *_for_it_alone(study, node.index)]):
            conductor = study.design.circuit.edges[edge].conductor
            if conductor.area_mm2 is not None and conductor.area_mm2 < least.value * ROUNDED:
                said = f" ({load.says()})" if load.says() else ""
                yield Wrong(
                    conductor,
                    f"the maker of {load.title} asks for a cable of at least {least}{said}; {conductor.title} is "
                    f"{conductor.size}",
                    f"{least} or larger",
                    span=conductor.where("area"),
                    related=((load.stated("asks cable"), "what is asked"),),
                )


def _for_it_alone(study: Study, start: int) -> Iterator[int]:
    """The conductors, edges, from which nothing branches off between them and a load, whatever stands in the row."""
    circuit, net = study.design.circuit, study.net
    node, came = start, -1
    while node == start or (circuit.nodes[node].load is None and circuit.nodes[node].source is None):
        onward = [e for e in circuit.nodes[node].edges if e != came]
        if len(onward) != 1 or (node != start and len(circuit.nodes[node].edges) != 2):
            return
        came = onward[0]
        if circuit.edges[came].kind == "conductor":
            yield came
        node = net.other(came, node)
        if node == start:
            return


# Half a per cent: so far do the rounded areas of AWG and metric sizes differ from their own.
ROUNDED = 0.995
