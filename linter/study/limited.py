"""What a battery that limits its own current drives into a short circuit, and whether anything opens on it.

Its electronics hold the current at their limit for as long as they do nothing else.  Where a conductor carries that for
ever, it comes to no harm.  Where it does not, a device has to open, or the electronics have to switch off; in what time
they do, only their maker can say.

Only batteries are looked at, each alone and all together: they are what lasts.  What a charger, an alternator or a
converter gives is compared with each conductor's capacity as a load current is, and a bank beside it opens the device.
"""

from __future__ import annotations

import heapq
import math
from collections.abc import Iterator
from dataclasses import dataclass

from linter.study.chain import chains_from
from linter.study.impedance import NIL_OHM
from linter.study.letthrough import core_pieces
from linter.study.opening import Heat
from linter.study.study import ConductorStudy, Study
from linter.tables.conductors import fault_opening


@dataclass(frozen=True, slots=True)
class Lasting:
    """A short on a conductor that only these batteries (nodes) feed: ``amps`` flow, the first of the devices in series
    before it (edges) has opened after ``seconds`` (infinite: never), and the conductor stands it for ``stands_s``.

    ``limited``: it is their limit; else the resistance of the loop, ``ohm``, lets no more flow to its far end.
    ``single``: there is one way from the battery only, so that this is the resistance; else it is less.
    """

    batteries: tuple[int, ...]
    made: ConductorStudy
    amps: float
    chain: tuple[int, ...]
    seconds: float
    stands_s: float
    limited: bool
    ohm: float
    single: bool = True


def lasting(study: Study) -> list[Lasting]:
    """Shorts that nothing opens in time and that their conductor does not carry for ever, one a conductor and group of
    batteries; the longest first where several states of the switches differ.  Linear for each limited battery and
    state."""
    nodes = study.design.circuit.nodes
    limited = {
        n.index: n.source.limit_a
        for n in nodes
        if n.source is not None and n.source.is_battery and n.source.self_limiting and n.source.limit_a > 0
    }
    if not limited:
        return []
    worst: dict[tuple[tuple[int, ...], str], Lasting] = {}
    for found in _each(study, limited):
        key = found.batteries, found.made.conductor.name
        if key not in worst or found.seconds > worst[key].seconds:
            worst[key] = found
    # together only where neither does it alone
    alone = {(b, name) for (group, name) in worst if len(group) == 1 for b in group}
    return [x for (group, name), x in worst.items() if len(group) == 1 or not any((b, name) in alone for b in group)]


def _each(study: Study, limited: dict[int, float]) -> Iterator[Lasting]:
    net, parts, faults, openings = study.net, study.parts, study.faults(), study.openings()
    states = study.fault_states or [frozenset[int]()]
    for piece in core_pieces(net, parts.blocks[0]):
        here = [n for n in piece.nodes if n in limited]
        inside = frozenset(piece.edges)
        for opened in dict.fromkeys(s & inside for s in states) if here else ():
            chains = {n: chains_from(net, piece, n, opened) for n in here}
            groups = [(n,) for n in here] + ([tuple(here)] if len(here) > 1 else [])
            for group in groups:
                ohms, single = _ohms(study, group[0], opened) if len(group) == 1 else ({}, True)
                pair = faults.pairs[group[0]][1]
                limit_a = sum(limited[n] for n in group)
                for made in study.conductors.values():
                    far = parts.leads_to[made.edge.index]
                    ends = (net.other(made.edge.index, far), far) if far >= 0 else (made.edge.u, made.edge.v)
                    points = [faults.points.get(n) for n in ends]
                    cores = [p.core_node for p in points if p is not None]
                    if len(cores) < 2 or any(c not in chains[n] for c in cores for n in group):
                        continue
                    stands, ampacity_a = study.stands(made), made.ampacity_a
                    if stands is None or ampacity_a is None:
                        continue
                    every = [chains[n][c].devices for c in cores for n in group]
                    core = tuple(e for e in every[0] if all(e in devices for devices in every))
                    chain = (*core, *openings.tree[ends[0]].devices)
                    for node in ends:
                        ohm = pair.resistance_ohm + ohms.get(node, 0.0)
                        drawn = math.inf if pair.unknown or len(group) > 1 else pair.voltage_v / max(ohm, NIL_OHM)
                        amps = min(limit_a, drawn)
                        seconds = openings.moment(chain, amps).seconds
                        late = seconds > fault_opening().greatest_s
                        harmed = amps > ampacity_a * (1 + 1e-9) and amps * amps * seconds > stands.a2s
                        if late and (harmed or drawn < limit_a):
                            yield Lasting(
                                group, made, amps, chain, seconds, stands.seconds(amps), drawn >= limit_a, ohm, single
                            )
                            break


def heated(study: Study) -> dict[str, tuple[ConductorStudy, Heat, tuple[int, ...], float]]:
    """Shorts that only sources feed which limit themselves (batteries; where there are none, all), and that heat the
    conductor beyond what it stands before a device has opened, within the adiabatic time: by conductor the worst of
    them, with the sources (nodes) and their limit in A.  Linear for each such source and state."""
    net, parts, faults, openings = study.net, study.parts, study.faults(), study.openings()
    states = study.fault_states or [frozenset[int]()]
    worst: dict[str, tuple[ConductorStudy, Heat, tuple[int, ...], float]] = {}
    for piece in core_pieces(net, parts.blocks[0]):
        sources = {n: s for n in piece.nodes if (s := study.design.circuit.nodes[n].source) is not None}
        some = any(s.is_battery for s in sources.values())
        here = [n for n, s in sources.items() if 0 < net.limit[n] < math.inf and (s.is_battery or not some)]
        inside = frozenset(piece.edges)
        for opened in dict.fromkeys(s & inside for s in states) if here else ():
            chains = {n: chains_from(net, piece, n, opened) for n in here}
            for group in [(n,) for n in here] + ([tuple(here)] if len(here) > 1 else []):
                limit_a = sum(net.limit[n] for n in group)
                ohms, _ = _ohms(study, group[0], opened) if len(group) == 1 else ({}, True)
                pair = faults.pairs[group[0]][1]
                for made in study.conductors.values():
                    far = parts.leads_to[made.edge.index]
                    ends = (net.other(made.edge.index, far), far) if far >= 0 else (made.edge.u, made.edge.v)
                    cores = [p.core_node for n in ends if (p := faults.points.get(n)) is not None]
                    stands = study.stands(made)
                    if len(cores) < 2 or stands is None or any(c not in chains[n] for c in cores for n in group):
                        continue
                    every = [chains[n][c].devices for c in cores for n in group]
                    core = tuple(e for e in every[0] if all(e in devices for devices in every))
                    chain = (*core, *openings.tree[ends[0]].devices)
                    ohm = pair.resistance_ohm + max(ohms.get(n, 0.0) for n in ends)
                    least_a = pair.voltage_v / max(ohm, NIL_OHM) if len(group) == 1 and not pair.unknown else limit_a
                    told, beyond = openings.worst(chain, min(least_a, limit_a), limit_a, stands)
                    hot = next((h for h in (told, beyond) if h is not None and h.share > 1 + 1e-9), None)
                    known = worst.get(made.conductor.name)
                    if hot is not None and (known is None or hot.a2s > known[1].a2s):
                        worst[made.conductor.name] = made, hot, group, limit_a
    return worst


def _ohms(study: Study, source: int, opened: frozenset[int]) -> tuple[dict[int, float], bool]:
    """By node, the resistance of the best single way from a source, at its greatest, ohm; and whether there is no other
    way to any of them."""
    net, edges, nodes = study.net, study.faults().edges, study.design.circuit.nodes
    found: dict[int, float] = {}
    waiting = [(0.0, source, -1)]
    single = True
    while waiting:
        ohm, node, by = heapq.heappop(waiting)
        if node in found:
            single = False
            continue
        found[node] = ohm
        for edge in nodes[node].edges:
            if edge == by or edge in opened or (study.design.circuit.edges[edge].one_way and net.v[edge] == node):
                continue
            other = net.other(edge, node)
            if other in found:
                single = False
            elif edges[edge].greatest_ohm < math.inf:
                heapq.heappush(waiting, (ohm + edges[edge].greatest_ohm, other, edge))
    return found, single
