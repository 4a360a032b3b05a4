"""What several rules need: figures in words, ways through the circuit, and the mend of an exposed conductor."""

from __future__ import annotations

import math

from linter.model.elements import Asks
from linter.source.span import Span
from linter.study.capacity import conditions_of
from linter.study.choice import greatest_rating, least_size
from linter.study.study import ConductorStudy, Study


def amps(value: float) -> str:
    """A current for reading: at most four figures."""
    return "an unlimited current" if value == math.inf else f"{value:.4g} A"


def metres(value: float) -> str:
    """A length for reading, to the millimetre."""
    return f"{value * 1000:.0f} mm" if value < 1 else f"{value:.4g} m"


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


def guard_mend(study: Study, made: ConductorStudy) -> str:
    """The rating, or the size, with which an exposed conductor would be in order."""
    parts = []
    allowed_a = made.allowed_a or 0.0
    rating = greatest_rating(allowed_a)
    if rating is not None:
        circuit = study.design.circuit
        edge, flows = made.edge, study.flows
        nearer = edge.u if flows.into_u[edge.index].amps >= flows.into_v[edge.index].amps else edge.v
        parts.append(f"a device of at most {amps(rating)} where it leaves {circuit.nodes[nearer].name}")
    if made.let_through_a < math.inf:
        given = conditions_of(made.conductor, made.system)
        size = least_size(given, study.rulebooks, made.let_through_a, guard=True) if given else None
        if size is not None:
            parts.append(f"a conductor of at least {size} for what can flow now")
    return ", or ".join(parts) if parts else "a larger conductor and a device that guards it"


def regions(study: Study) -> list[int]:
    """By node: a number that two nodes share if a way without any device joins them."""
    return _joined(study, devices=False)


def pieces(study: Study) -> list[int]:
    """By node: a number that two nodes share if anything joins them."""
    return _joined(study, devices=True)


def _joined(study: Study, devices: bool) -> list[int]:
    circuit = study.design.circuit
    number = [-1] * len(circuit.nodes)
    for start in range(len(circuit.nodes)):
        if number[start] >= 0:
            continue
        number[start] = start
        waiting = [start]
        while waiting:
            node = waiting.pop()
            for index in circuit.nodes[node].edges:
                edge = circuit.edges[index]
                if edge.kind == "device" and not devices:
                    continue
                other = edge.v if edge.u == node else edge.u
                if number[other] < 0:
                    number[other] = start
                    waiting.append(other)
    return number


def upstream(study: Study, node: int) -> tuple[list[int], list[int]]:
    """The nearest devices towards the sources from a node, and the conductors between; as edges.

    Along bridges there is one way; inside a block every way may bring current, and all are followed.
    """
    circuit, parts, net = study.design.circuit, study.parts, study.net
    devices: dict[int, None] = {}
    conductors: dict[int, None] = {}
    seen, waiting = {node}, [node]
    while waiting:
        at = waiting.pop()
        for index in circuit.nodes[at].edges:
            leads_to = parts.leads_to[index]
            if leads_to >= 0 and leads_to != at:
                continue  # a bridge that leads away from the sources
            edge = circuit.edges[index]
            if edge.one_way and edge.u == at:
                continue
            if edge.kind == "device":
                devices[index] = None
                continue
            if edge.kind == "conductor":
                conductors[index] = None
            other = net.other(index, at)
            if other not in seen:
                seen.add(other)
                waiting.append(other)
    return list(devices), list(conductors)
