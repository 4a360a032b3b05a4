"""What several rules need: figures in words, ways through the circuit, and the mend of an exposed conductor."""

from __future__ import annotations

import math
from dataclasses import dataclass

from linter.model.elements import Asks
from linter.source.span import Span
from linter.study.capacity import conditions_of
from linter.study.choice import greatest_rating, least_size
from linter.study.study import ConductorStudy, Study


def amps(value: float) -> str:
    """A current for reading: at most four figures."""
    return "an unlimited current" if value == math.inf else f"{value:.4g} A"


def metres(value: float, inches: bool = False) -> str:
    """A length for reading, to the millimetre; with ``inches`` first as American rulebooks state it."""
    metric = f"{value * 1000:.0f} mm" if value < 1 else f"{value:.4g} m"
    return f"{value / 0.0254:.4g} in ({metric})" if inches else metric


def names(which: tuple[str, ...]) -> str:
    """Names in a row; of many only the first."""
    shown = which if len(which) <= 4 else (*which[:3], f"{len(which) - 3} more")
    return " + ".join(shown) if shown else "anything"


def wording(ask: Asks) -> str:
    """What a maker asks for, in words."""
    kind = ask.device_kind or "device"
    words = [ask.speed, ask.device_class.replace("-", " "), kind]
    text = " ".join(w for w in words if w)
    if ask.rating_a is None:
        return f"a {text}"
    least, greatest = ask.rating_a
    rating = amps(least) if least == greatest else f"{amps(least)} to {amps(greatest)}"
    return f"a {text} of {rating}"


def guard_spans(study: Study, guard: tuple[str, ...]) -> tuple[tuple[Span, str], ...]:
    """Where the devices of a guard are written."""
    elements = study.design.elements
    return tuple((elements[n].stated("current"), "its guard") for n in guard[:4] if n in elements)


def point(study: Study, node: int) -> str:
    """A point of the circuit, as one speaks of it."""
    made = study.design.circuit.nodes[node]
    if made.kind != "end":
        return made.name
    name, _, which = made.name.rpartition(".")
    return f"the {'beginning' if which == 'start' else 'end'} of {name}"


def guard_mend(study: Study, made: ConductorStudy) -> str:
    """The rating, or the size, with which an exposed conductor would be in order; and what the maker of the load asks
    for where it leads to one."""
    parts = []
    allowed_a, stretch = made.allowed_a or 0.0, made.stretch
    rating = greatest_rating(allowed_a)
    edge, flows = made.edge, study.flows
    nearer = edge.u if flows.into_u[edge.index].amps >= flows.into_v[edge.index].amps else edge.v
    if stretch is not None and stretch.supply_node >= 0:
        nearer = stretch.supply_node
    if rating is not None:
        parts.append(f"a device of at most {amps(rating)} where its run leaves {point(study, nearer)}")
        load = study.design.circuit.nodes[stretch.at_node].load if stretch and stretch.at_node >= 0 else None
        asked = [wording(a) for a in load.asks if a.cable is None] if load is not None else []
        if load is not None and asked:
            parts[-1] += f" (the maker of {load.name} asks for {' or '.join(asked)})"
    if made.let_through_a < math.inf:
        given = conditions_of(made.conductor, made.system)
        size = least_size(given, study.rulebooks, made.let_through_a, guard=True) if given else None
        if size is not None:
            parts.append(f"a conductor of at least {size} for what can flow now")
    return ", or ".join(parts) if parts else "a larger conductor and a device that guards it"


@dataclass(frozen=True, slots=True)
class Upstream:
    """What stands between a node and the sources: the nearest devices, the conductors on the ways to them (edges),
    and the sources from which no device is on the way (nodes)."""

    devices: list[int]
    conductors: list[int]
    bare: list[int]


def upstream(study: Study, start: int) -> Upstream:
    """The nearest devices towards the sources from a node.

    Along bridges there is one way; inside a block every way may bring current, and all are followed.  Where a source
    feeds the node with no device on the way, only the ways from such sources count: a stub to another circuit's device
    is none of them.
    """
    circuit, parts, net = study.design.circuit, study.parts, study.net
    devices: dict[int, int] = {}
    inside: dict[int, list[int]] = {start: []}
    waiting = [start]
    while waiting:
        at = waiting.pop()
        for index in circuit.nodes[at].edges:
            if parts.leads_to[index] not in (-1, at):
                continue  # a bridge that leads away from the sources
            edge = circuit.edges[index]
            if (edge.one_way and edge.u == at) or edge.u == edge.v:
                continue
            if edge.kind == "device":
                devices[index] = at
                continue
            other = net.other(index, at)
            if other not in inside:
                inside[other] = []
                waiting.append(other)
            if index not in inside[at]:
                inside[at].append(index)
            if index not in inside[other]:
                inside[other].append(index)
    bare = [n for n in inside if circuit.nodes[n].source is not None and n != start]
    feeding = {*bare} if bare else set(devices.values())
    # ways that end neither here nor at what feeds are none: take their ends off one by one
    loose = [n for n in inside if len(inside[n]) == 1 and n not in feeding and n != start]
    while loose:
        node = loose.pop()
        (index,) = inside.pop(node)
        other = net.other(index, node)
        inside[other].remove(index)
        if len(inside[other]) == 1 and other not in feeding and other != start:
            loose.append(other)
    found = dict.fromkeys(e for edges in inside.values() for e in edges if circuit.edges[e].kind == "conductor")
    return Upstream([] if bare else list(devices), list(found), bare)
