"""Where the resistances of conductors one behind the other add up, a finding tells of every combination of sizes.

A voltage drop that is too large, or a fault current that is too small, most likely stays so as long as the parts, each
falling as its conductor grows, still add up to too much.
"""

from __future__ import annotations

import math
from collections.abc import Collection, Mapping, Sequence
from dataclasses import replace

from linter.advice.clauses import Ruled, up_to
from linter.advice.options import Open
from linter.model.circuit import Edge
from linter.model.elements import Conductor
from linter.rules.finding import Finding
from linter.study.impedance import edge_resistance
from linter.study.opening import Clears, least_current
from linter.study.scene import AtLoad
from linter.study.scene_limit import drop_limit
from linter.study.study import ConductorStudy, Study
from linter.tables.conductors import fault_opening

# A larger conductor is cooler, and loads of a fixed power then draw less: so much is left to that.
MARGIN = 1.04


def voltage_sum(box: Ruled, choice: Sequence[int], opens: Sequence[Open], study: Study) -> list[Ruled]:
    """Sizes with which a load most likely lacks voltage still: those on the way by which it is fed have a say."""
    at, allowed_v = _at_load(box.finding, study)
    if at is None:
        return [box]
    lost: dict[str, float] = {}
    for edge, volts in study.scenes().losses(at):
        name = study.design.circuit.edges[edge].element.name
        lost[name] = lost.get(name, 0.0) + volts
    on_way = tuple((v, up_to(one, choice[v])) for v, one in enumerate(opens) if one.conductor and one.name in lost)
    if not on_way:
        return [box]
    small = replace(box, within=on_way)
    cut = _summed(small, choice, opens, lost, allowed_v * MARGIN, study)
    return [small] if cut is None else [small, cut]


def _at_load(finding: Finding, study: Study) -> tuple[AtLoad | None, float]:
    """The state in which a load is found wanting, and what its way may lose in all, V."""
    scenes = study.scenes()
    node = next((n for n in study.design.circuit.nodes if n.load is not None and n.load.name == finding.subject), None)
    load = node.load if node is not None else None
    if node is None or load is None:
        return None, 0.0
    if finding.rule == "voltage-too-low":
        lowest, range_v = scenes.lowest.get(node.index), load.voltage_range_v
        least = max((v for v in (load.works_from_v, range_v[0] if range_v else None) if v is not None), default=None)
        if lowest is None or least is None or lowest.volts >= least:
            return None, 0.0
        return lowest, lowest.volts + lowest.drop_v - least
    limit = drop_limit(load, study.rulebooks)
    cases = [at for at in (scenes.worst.get(node.index), scenes.alone.get(node.index)) if at is not None]
    worst = max(cases, key=lambda at: scenes.percent(at) or 0.0, default=None)
    percent = scenes.percent(worst) if worst is not None else None
    if limit is None or worst is None or not percent:
        return None, 0.0
    return worst, worst.drop_v * limit.percent / percent


def loop_sum(
    box: Ruled, on_way: Collection[int], choice: Sequence[int], opens: Sequence[Open], study: Study
) -> list[Ruled]:
    """Sizes with which the smallest fault most likely opens nothing in time still.  ``on_way``: the elements that stand
    one behind the other on the way to it."""
    made = next((m for m in study.conductors.values() if m.conductor.name == box.finding.subject), None)
    if made is None:
        return [box]
    limit_s = fault_opening().greatest_s
    late = [c for c in study.clears(made) if not c.unknown and c.first.told and c.first.seconds > limit_s]
    worst = max(late, key=lambda c: (c.first.seconds, -c.smallest_a), default=None)
    if worst is None or worst.followed is not None:
        return [box]
    needed_a = least_current(study.openings(), worst.chain, limit_s)
    if needed_a is None:
        return [box]
    way = _series(study, worst, made)
    if way is not None:
        # what stands beside it has no say
        inside = {e.element.name for e in way}
        box = replace(box, within=tuple(w for w in box.within if opens[w[0]].name in inside))
    else:
        way = [e for v in on_way if (e := study.design.circuit.edge_of.get(opens[v].name)) is not None]
    ohms: dict[str, float] = {}
    for edge in way:
        ohms[edge.element.name] = ohms.get(edge.element.name, 0.0) + edge_resistance(edge).greatest_ohm
    ohms[""] = worst.smallest_ohm - sum(ohms.values())
    cut = _summed(box, choice, opens, ohms, worst.smallest_a * worst.smallest_ohm / needed_a, study)
    return [box] if cut is None else [box, cut]


def _series(study: Study, way: Clears, made: ConductorStudy) -> list[Edge] | None:
    """The edges one behind the other from a source to the smallest fault of a conductor; None where its current divides
    or nobody can tell."""
    if len(way.sources) != 1:
        return None
    source = way.sources[0]
    source_ohm = study.faults().pairs[source][1].resistance_ohm
    states = {opened for at, opened in study.openings().core if at == source} or {frozenset[int]()}
    for opened in states:
        came = _reached(study, source, opened)
        for end in (made.edge.u, made.edge.v):
            row: list[Edge] = []
            node = end
            while came.get(node, -1) >= 0:
                row.append(study.design.circuit.edges[came[node]])
                node = study.net.other(came[node], node)
            in_all = source_ohm + sum(edge_resistance(e).greatest_ohm for e in row)
            if math.isclose(in_all, way.smallest_ohm, rel_tol=1e-3):
                return row
    return None


def _reached(study: Study, source: int, opened: Collection[int]) -> dict[int, int]:
    """The edge by which each node is first reached from a source; -1 for itself."""
    net, circuit = study.net, study.design.circuit
    came: dict[int, int] = {source: -1}
    order = [source]
    for node in order:
        for edge in circuit.nodes[node].edges:
            other = net.other(edge, node)
            if other in came or edge in opened or (circuit.edges[edge].one_way and net.u[edge] != node):
                continue
            came[other] = edge
            order.append(other)
    return came


def _summed(
    box: Ruled, choice: Sequence[int], opens: Sequence[Open], now: Mapping[str, float], most: float, study: Study
) -> Ruled | None:
    """The rule that what the elements add, at present ``now``, is in all above ``most``.  A conductor's part falls as
    its area grows; that of a conductor whose return is given stays."""
    elements = study.design.elements
    parts: list[tuple[int, tuple[float, ...]]] = []
    fixed = sum(now.values())
    for variable, one in enumerate(opens):
        part = now.get(one.name, 0.0)
        if not one.conductor or not part or math.isinf(part) or not _scales(elements[one.name]):
            continue
        here = one.options[choice[variable]].figure
        parts.append((variable, tuple(part * here / o.figure for o in one.options)))
        fixed -= part
    # within the margin it is this choice, and what adds up to no less, that is ruled out
    most = min(most, sum(now.values()) * (1 - 1e-3))
    if not parts or most <= fixed or math.isinf(fixed):
        return None
    added = {v for v, _ in parts}
    within = tuple((v, options) for v, options in box.within if v not in added)
    return Ruled(box.demand, within, box.finding, tuple(parts), most - fixed)


def _scales(element: object) -> bool:
    """Whether all of its resistance falls as it grows."""
    return isinstance(element, Conductor) and element.return_size is None


def boxed(cut: Ruled, choice: Sequence[int], opens: Sequence[Open]) -> Ruled:
    """The part of what adds up to too much in which a choice lies, each of its conductors made as large in turn as the
    others leave it."""
    if not cut.parts:
        return cut
    figures = dict(cut.parts)
    left = sum(f[choice[v]] for v, f in cut.parts) - cut.above
    within = dict(cut.within)
    # those that are dearest to enlarge last: what is cheap is what a search would try next
    for variable, parts in sorted(figures.items(), key=lambda item: item[1][choice[item[0]]]):
        now = parts[choice[variable]]
        fitting = [i for i, part in enumerate(parts) if now - part < left]
        largest = max(fitting, key=lambda i, one=opens[variable]: one.options[i].figure)  # type: ignore[misc]
        left -= now - parts[largest]
        most = opens[variable].options[largest].figure * (1 + 1e-9)
        within[variable] = frozenset(i for i, o in enumerate(opens[variable].options) if o.figure <= most)
    return Ruled(cut.demand, tuple(sorted(within.items())), cut.finding)
