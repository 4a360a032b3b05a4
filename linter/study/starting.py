"""Which devices carry what a load takes at starting, and what part of it.

The batteries give it: chargers and alternators are for something else, and may be off.  In each state of the switches
in which the load is on, the batteries that are then connected start it together; devices side by side share the
current as their ways' resistances have it.  The greatest part that a device ever carries counts.
"""

from __future__ import annotations

import math
from typing import TYPE_CHECKING

from linter.study.chain import chains_from

if TYPE_CHECKING:
    from linter.study.study import Study

# A device that carries less of the start than this is none that it may open.
LEAST_SHARE = 0.01


def start_shares(study: Study, node: int) -> dict[int, float]:
    """By device (edge): the greatest part, up to 1, of the starting current of the load at a node that it carries."""
    net, openings, circuit = study.net, study.openings(), study.design.circuit
    point = study.faults().points.get(node)
    if point is None:
        return {}
    piece = study.faults().piece_of[point.core_node]
    inside = frozenset(piece.edges)
    sources = [n for n in piece.nodes if n in net.limit]
    batteries = [n for n in sources if (s := circuit.nodes[n].source) is not None and s.is_battery]
    shares: dict[int, float] = {}
    asked = dict.fromkeys((c.opened, c.off) for c in study.cases if c.has_on(node))
    for opened, off in asked:
        reaching: dict[int, tuple[int, ...]] = {}
        for source in batteries or sources:
            chains = openings.core.get((source, opened & inside)) or chains_from(net, piece, source, opened & inside)
            if source not in off and point.core_node in chains:
                reaching[source] = chains[point.core_node].devices
        if not reaching:
            continue
        every = list(reaching.values())
        common = (e for e in every[0] if all(e in chain for chain in every))
        found = dict.fromkeys((*common, *openings.tree[node].devices), 1.0)
        found = {**_divided(study, node, tuple(reaching), opened), **found}
        for edge, share in found.items():
            shares[edge] = max(shares.get(edge, 0.0), share)
    # those on every way the nearest first, as they are read from the load
    ordered = [e for e in reversed(openings.before(node)) if e in shares]
    return {e: shares[e] for e in dict.fromkeys((*ordered, *reversed(shares)))}


def _divided(study: Study, node: int, sources: tuple[int, ...], opened: frozenset[int]) -> dict[int, float]:
    """What devices side by side carry of a current into a node; empty where nobody can tell, as where one of the
    sources limits itself."""
    from linter.study.clearing import clearing

    net, faults = study.net, study.faults()
    if any(net.limit[s] < math.inf for s in sources):
        return {}
    made = clearing(faults, node, sources, opened, None)
    if not made.steps or made.unknown:
        return {}
    first = made.steps[0]
    parts = {e: min(1.0, a / first.fault_a) for e, a in first.amps.items() if net.is_device[e]}
    return {e: share for e, share in parts.items() if share >= LEAST_SHARE}
