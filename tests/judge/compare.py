"""The tool's study beside the judge's: every difference as a sentence."""

from __future__ import annotations

import math

from linter.model.design import Design
from linter.model.export import circuit_json
from linter.study.study import Study, study_of

from .circuit import Network
from .protection import Protection, Verdict
from .quick import QuickNetwork


def study_differences(design: Design) -> list[str]:
    """What the two do not agree on, conductor by conductor."""
    study = study_of(design)
    net = QuickNetwork(circuit_json(design))
    ours = Protection(net)
    found: list[str] = []
    if set(study.conductors) != set(ours.verdicts):
        return [f"other conductors: {sorted(set(study.conductors) ^ set(ours.verdicts))}"]
    allowed = [
        f"{name}: allowed {study.conductors[name].allowed_a} A, judge {made.allowed_a} A"
        for name, made in ours.verdicts.items()
        if not _close(study.conductors[name].allowed_a, made.allowed_a)
    ]
    if allowed:
        # every verdict may hang on what is allowed one conductor
        return allowed
    for name, made in ours.verdicts.items():
        theirs = study.conductors[name]
        if not _close(theirs.let_through_a, made.let_through_a):
            found.append(f"{name}: let-through {theirs.let_through_a} A, judge {made.let_through_a} A")
        verdict = theirs.verdict.value
        if verdict == "not fed" and made.let_through_a == 0:
            continue
        if verdict != made.verdict and verdict not in made.others:
            found.append(f"{name}: {verdict}, judge {made.verdict} {sorted(made.others)} {made.why}")
        elif verdict in {"too far", "within distance"} and theirs.distance_m is not None:
            # the longest way counts; several only where a size is missing on the way
            longest = made.longest_m
            if longest and not any(_close(theirs.distance_m, metres) for metres in longest):
                found.append(f"{name}: distance {theirs.distance_m} m, judge {sorted(longest)} m")
        found += _guard_differences(study, net, made, theirs.guard)
    return found


def _close(one: float | None, two: float | None) -> bool:
    if one is None or two is None:
        return one is two
    return one == two or (math.isfinite(one) and math.isfinite(two) and abs(one - two) <= 1e-5)


def _guard_differences(study: Study, net: Network, made: Verdict, guard: tuple[str, ...]) -> list[str]:
    """A guard is a cut: its ratings and limits sum to the let-through, and without its members nothing comes."""
    if math.isinf(made.let_through_a):
        return [f"{made.name}: guard {guard} although nothing limits"] if guard else []
    c = net.number[made.name]
    edges = {i for i, e in enumerate(net.edges) if e["kind"] == "device" and e["element"] in guard}
    sources = {n for n, f in net.nodes.items() if f["source"] and f["element"] in guard}
    known = {net.edges[i]["element"] for i in edges} | {net.nodes[n]["element"] for n in sources}
    found = [f"{made.name}: guard {g} is neither device nor source" for g in set(guard) - known]
    total = sum(net.edges[i]["rated_a"] or 0.0 for i in edges) + sum(
        net.nodes[n]["source"]["limit_a"] or 0.0 for n in sources
    )
    if not _close(total, made.let_through_a):
        found.append(f"{made.name}: guard {guard} sums to {total} A, let-through is {made.let_through_a} A")
    if not _is_cut(net, c, edges, sources, made.let_through_a):
        found.append(f"{made.name}: without its guard {guard} current still comes")
    return found


def _is_cut(net: Network, c: int, edges: set[int], sources: set[str], let_through: float) -> bool:
    left = Network(net.data)
    for n in sources:
        del left.supply[n]
    for end in net.ends(c):
        for opened in net.configurations:
            gone = opened | {c}
            if _close(net.flow_in(end, gone), let_through) and left.flow_in(end, gone | edges) == 0:
                return True
    return False
