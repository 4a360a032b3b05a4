"""Only the conductors of a cranking feed are exempt from protection."""

from __future__ import annotations

from collections.abc import Iterator

from linter.rules.finding import Severity
from linter.rules.registry import Wrong, rule
from linter.study.study import Study


@rule(
    "cranking-misdeclared",
    Severity.FAULT,
    demand="Only the conductors of a cranking feed are exempt from protection.",
    reason=(
        "A starter draws more than any device could pass, for seconds; that is why its feed is exempt. "
        "Whatever else hangs on it without a device of its own is not."
    ),
    clause="33 CFR 183.460; ISO 13297; ABYC E-11, cranking-motor conductors",
    status="from memory",
    mend=(
        "Take the word `cranking` off and protect the conductor, or give what is not the starter a device of its own."
    ),
    measure="Look at the terminals at both ends of the cranking feed: count what else is bolted on there.",
    bad="""
from B
cable W1, 50 mm2, 1.5 m, cranking
joint STUD
from STUD
cable W2, 50 mm2, 0.5 m, cranking
load STARTER, draws 180 A, cranking
from STUD
cable W3, 2.5 mm2, 3 m, cranking
load LAMP, draws 2 A
""",
    good="""
from B
cable W1, 50 mm2, 1.5 m, cranking
joint STUD
from STUD
cable W2, 50 mm2, 0.5 m, cranking
load STARTER, draws 180 A, cranking
from STUD
fuse F3, part branch, 10 A
cable W3, 2.5 mm2, 3 m
load LAMP, draws 2 A
""",
)
def RULE(study: Study) -> Iterator[Wrong]:
    for made in study.conductors.values():
        if not made.conductor.cranking:
            continue
        edge = made.edge
        into_u, into_v = study.flows.into_u[edge.index].amps, study.flows.into_v[edge.index].amps
        ends = [e for e, fed in ((edge.v, into_u > 0), (edge.u, into_v > 0)) if fed] or [edge.v]
        problems = [_wrong(study, edge.index, end) for end in ends]
        if all(problems):
            yield Wrong(
                made.conductor,
                f"{made.conductor.title} is declared a cranking feed, but it {problems[0]}",
                "take the word `cranking` off and guard it, or give what is not a starter a device of its own",
                span=made.conductor.where("cranking"),
            )


def _wrong(study: Study, without: int, start: int) -> str:
    """Why what lies beyond is no cranking feed; empty where it is one."""
    circuit = study.design.circuit
    seen, waiting, starter = {start}, [start], False
    while waiting:
        node = circuit.nodes[waiting.pop()]
        if node.load is not None:
            if not node.load.cranking:
                return f"feeds {node.load.title} with no device on the way"
            starter = True
        for index in node.edges:
            edge = circuit.edges[index]
            if index == without or edge.kind == "device" or (edge.one_way and edge.v == node.index):
                continue
            other = circuit.other(edge, node.index)
            if other not in seen:
                seen.add(other)
                waiting.append(other)
    return "" if starter else "leads to no starter"
