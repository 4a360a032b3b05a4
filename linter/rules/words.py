"""What several rules need: figures in words, ways through the circuit, and the mend of an exposed conductor."""

from __future__ import annotations

import math
from collections.abc import Callable, Iterable
from dataclasses import dataclass

from linter.model.elements import Asks, Device
from linter.source.span import Span
from linter.study.capacity import conditions_of
from linter.study.choice import greatest_rating, least_size
from linter.study.study import ConductorStudy, Study


def amps(value: float, more: int = 0) -> str:
    """A current for reading: four figures, or ``more``."""
    if value == math.inf:
        return "an unlimited current"
    return f"{value:.0f} A" if value >= 9999.5 and not more else f"{value:.{4 + more}g} A"


def seconds(value: float, more: int = 0) -> str:
    """A time for reading."""
    if value == math.inf:
        return "any time"
    if value < 0.9995:
        return f"{value * 1000:.{3 + more}g} ms"
    return f"{value:.{3 + more}g} s" if value < 120 else f"{value / 60:.{3 + more}g} min"


def energy(a2s: float, more: int = 0) -> str:
    """A let-through energy for reading."""
    for factor, unit in ((1e6, "MA²s"), (1e3, "kA²s")):
        if a2s >= factor * 0.9995:
            return f"{a2s / factor:.{3 + more}g} {unit}"
    return f"{a2s:.{3 + more}g} A²s"


def energy_at_most(a2s: float) -> str:
    """A let-through energy that a device may have: three figures, rounded down, so that what is written does."""
    if a2s <= 0:
        return energy(a2s)
    step = 10.0 ** (math.floor(math.log10(a2s)) - 2)
    return energy(math.floor(a2s / step * (1 + 1e-9)) * step)


def kiloamps(value: float, more: int = 0) -> str:
    """A fault current for reading: three figures are more than is known of it."""
    return f"{value / 1000:.{3 + more}g} kA" if value >= 999.5 else f"{value:.{3 + more}g} A"


def kiloamps_at_least(value: float) -> str:
    """A fault current that something must break: three figures, rounded up, so that what is written does."""
    if value <= 0:
        return kiloamps(value)
    step = 10.0 ** (math.floor(math.log10(value)) - 2)
    return kiloamps(math.ceil(value / step * (1 - 1e-9)) * step)


def volts(value: float, more: int = 0) -> str:
    """A voltage at a load for reading: to the hundredth."""
    return f"{value:.{2 + more}f} V"


def percents(value: float, more: int = 0) -> str:
    """A share of a hundred for reading: three figures."""
    return f"{value:.{3 + more}g} %"


# Figures nearer to each other are the same: rules take them for equal.
SAME = 1e-9


def apart(shown: Callable[[float, int], str], one: float, other: float) -> tuple[str, str]:
    """Two figures that a sentence compares, as ``shown`` writes them: with so many more digits that who reads them
    sees which is the larger.  Figures that are the same are written as always."""
    for more in range(0 if math.isclose(one, other, rel_tol=SAME) else 12):
        texts = shown(one, more), shown(other, more)
        if texts[0] != texts[1]:
            return texts
    return shown(one, 0), shown(other, 0)


def leaning(leans_on: tuple[str, ...]) -> str:
    """On what a fault current leans, behind a sentence; nothing where it stands on makers' figures."""
    return f"; this leans on {' and '.join(leans_on)}" if leans_on else ""


def not_told(study: Study, edges: tuple[int, ...]) -> tuple[str, str]:
    """(which figure is missing of devices that carry more than is told of them, what to do about it)."""
    says: list[str] = []
    asks: list[str] = []
    for device in dict.fromkeys(study.design.circuit.edges[e].device for e in edges):
        if device.rated_a is None:
            says.append(f"{device.name} has no rating")
            asks.append(f"write down the rating of {device.name}")
        else:
            known = device.opens or device.device_class
            says.append(
                f"{device.name} {'has no curve that reaches so far' if known else 'names neither class nor curve'}"
            )
            asks.append(f"ask the maker of {device.name} for its time-current curve, and write down its points")
    return names(says), "; ".join(asks)


def curves_missing(study: Study, edges: tuple[int, ...]) -> str:
    """The figure for which a finding waits, as all others wait that lack the curve of the same devices, or of others of
    the same part sheets: what is written there is written for all of them."""
    devices = [study.design.circuit.edges[e].device for e in edges]
    found = dict.fromkeys(f"part {d.part.name}" if d.part is not None else d.name for d in devices)
    return f"the curve of {names(list(found))}" if found else ""


def metres(value: float, inches: bool = False, more: int = 0) -> str:
    """A length for reading, to the millimetre; with ``inches`` first as American rulebooks state it."""
    metric = f"{value * 1000:.{more}f} mm" if value < 1 else f"{value:.{4 + more}g} m"
    return f"{value / 0.0254:.{3 + more}g} in ({metric})" if inches else metric


def names(which: tuple[str, ...] | list[str]) -> str:
    """Names in a row; of many only the first."""
    shown = list(which) if len(which) <= 4 else [*which[:3], f"{len(which) - 3} more"]
    return " and ".join([", ".join(shown[:-1]), shown[-1]] if len(shown) > 1 else shown)


AS_WRITTEN = {
    "class-t": "class T", "anl": "ANL", "gg": "gG", "bolt-down-strip": "bolt-down strip",
    "hydraulic-magnetic": "hydraulic-magnetic", "thermal-magnetic": "thermal-magnetic",
}  # fmt: skip


def class_words(device_class: str) -> str:
    """A device class as the language writes it."""
    return AS_WRITTEN.get(device_class, device_class.replace("-", " "))


def article(noun: str) -> str:
    """The noun with its a or an."""
    return f"{'an' if noun[:1].lower() in 'aeiou' else 'a'} {noun}"


def holds_back(study: Study, made: ConductorStudy) -> str:
    """What limits the current in a conductor: devices that open, sources that give no more."""
    elements = study.design.elements
    devices = [n for n in made.guard if isinstance(elements.get(n), Device)]
    sources = [n for n in made.guard if n not in devices]
    parts = []
    if devices:
        parts.append(f"before {names(devices)} {'opens' if len(devices) == 1 else 'open'}")
    if sources:
        parts.append(f"with all that {names(sources)} {'gives' if len(sources) == 1 else 'give'}")
    return ", ".join(parts)


def wording(ask: Asks) -> str:
    """What a maker asks for, in words."""
    kind = ask.device_kind or "device"
    words = [ask.speed, class_words(ask.device_class), kind]
    text = " ".join(w for w in words if w)
    if ask.rating_a is None:
        return article(text)
    least, greatest = ask.rating_a
    rating = amps(least) if least == greatest else f"{amps(least)} to {amps(greatest)}"
    return f"{article(text)} of {rating}"


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
    """What would guard an exposed conductor: a device and where, or the size for what can flow now, or for what the
    maker of the load asks for."""
    circuit, stretch, allowed_a = study.design.circuit, made.stretch, made.allowed_a or 0.0
    load = circuit.nodes[stretch.at_node].load if stretch and stretch.at_node >= 0 else None
    asked = [a for a in load.asks if a.rating_a is not None] if load is not None else []
    fits = [a for a in asked if a.rating_a is not None and a.rating_a[0] <= allowed_a]
    rating = greatest_rating(allowed_a)
    parts = []
    edge, flows = made.edge, study.flows
    limit_a = allowed_a * (1 + 1e-9)
    both = min(flows.into_u[edge.index].amps, flows.into_v[edge.index].amps) > limit_a
    if both:
        ends = f"{point(study, edge.u)} and at {point(study, edge.v)}"
        if rating is not None:
            parts.append(f"a device of at most {amps(rating)} at each of its ends, at {ends}")
    elif made.let_through_a == math.inf and rating is not None and (fits or not asked):
        nearer = edge.u if flows.into_u[edge.index].amps > limit_a else edge.v
        if stretch is not None and stretch.supply_node >= 0:
            nearer = stretch.supply_node
        parts.append(f"a device of at most {amps(rating)} where its run leaves {point(study, nearer)}")
    elif made.let_through_a < math.inf and made.guard:
        devices = [n for n in made.guard if isinstance(study.design.elements.get(n), Device)]
        supply = stretch.supply_node if stretch is not None else -1
        own = len(made.guard) == 1 and bool(devices) and supply in _ends(study, devices[0])
        if own and rating is not None and (fits or not asked):
            parts.append(f"at most {amps(rating)} for {devices[0]}")
        elif supply >= 0 and rating is not None and (fits or not asked):
            parts.append(f"a device of at most {amps(rating)} where its run leaves {point(study, supply)}")
        elif devices and not asked:
            parts.append(f"smaller ratings for {names(devices)}: at most {amps(allowed_a)} in all")
    if parts and load is not None and fits and not both:
        # whatever the conductor would bear, the maker's figure is what is fitted
        parts[-1] += f" (the maker of {load.name} asks for {' or '.join(wording(a) for a in fits)})"
    wanted = made.let_through_a
    if asked and not fits:
        wanted = min(a.rating_a[0] for a in asked if a.rating_a is not None)
    if wanted < math.inf:
        given = conditions_of(made.conductor, made.system)
        size = least_size(given, study.rulebooks, wanted, guard=True) if given else None
        if size is not None and (fits or not asked):
            parts.append(f"a conductor of at least {size} for what can flow now")
        elif size is not None and load is not None:
            asks = " or ".join(wording(a) for a in asked)
            parts.append(f"{asks}, as the maker of {load.name} asks, and a conductor of at least {size} for it")
    return "; or ".join(parts) if parts else "a larger conductor and a device that guards it"


def _ends(study: Study, name: str) -> tuple[int, int]:
    edge = study.design.circuit.edge_of[name]
    return edge.u, edge.v


@dataclass(frozen=True, slots=True)
class Upstream:
    """What stands between a node and the sources: the nearest devices, the conductors on the ways to them (edges),
    and the sources from which no device is on the way (nodes)."""

    devices: list[int]
    conductors: list[int]
    bare: list[int]


def _by_bridges(study: Study, start: int) -> Upstream | None:
    """As `upstream`, where nothing but bridges leads from the node to the first device: most nodes of a boat.  None
    where a source, a ring or a diode that faces the wrong way comes before it."""
    net, parts = study.net, study.parts
    edges = study.design.circuit.edges
    conductors: list[int] = []
    node = start
    # a node that is more than the end of a bridge shares its block with others, or is a source's, which is in the core
    while (bridge := parts.bridge_to[node]) >= 0 and len(parts.blocks[parts.block_of[node]].nodes) == 1:
        edge = edges[bridge]
        if edge.one_way and edge.u == node:
            return None
        if edge.kind == "device":
            return Upstream([bridge], conductors, [])
        if edge.kind == "conductor":
            conductors.append(bridge)
        node = net.other(bridge, node)
    return None


def upstream(study: Study, start: int) -> Upstream:
    """The nearest devices towards the sources from a node.

    Along bridges there is one way; inside a block every way may bring current, and all are followed.  Where a source
    feeds the node with no device on the way, only the ways from such sources count: a stub to another circuit's device
    is none of them.  Of selectors that close one position at a time, each way counts that some choice of positions
    leaves; what only two positions together would join is none.
    """
    alone = _by_bridges(study, start)
    if alone is not None:
        return alone
    made = [_upstream(study, start, opened) for opened in study.net.configurations]
    bare = dict.fromkeys(n for one in made for n in one.bare)
    counting = [one for one in made if one.bare or not bare]
    devices = dict.fromkeys(d for one in counting for d in one.devices)
    return Upstream(list(devices), list(dict.fromkeys(c for one in counting for c in one.conductors)), list(bare))


def _upstream(study: Study, start: int, opened: frozenset[int]) -> Upstream:
    """As `upstream`, with some edges open."""
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
            if (edge.one_way and edge.u == at) or edge.u == edge.v or index in opened:
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
    devices = {
        d: at
        for d, at in devices.items()
        if (not opened and parts.leads_to[d] == at) or _brings(study, d, at, start, inside, opened)
    }
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


def _brings(
    study: Study, device: int, end: int, start: int, inside: dict[int, list[int]], opened: frozenset[int]
) -> bool:
    """Whether current can come by a device to its end ``end`` in what no device parts from ``start``, and on to
    ``start``, without coming to the same point twice."""
    far = study.net.other(device, end)
    if far in inside or _source_before(study, far, inside, opened):
        return True
    # what every way from there to `start` passes it cannot have passed before
    passed = {start, end}
    for node in inside:
        if node not in passed and not _leads(study, end, start, inside, node):
            passed.add(node)
    return far not in passed and _source_before(study, far, passed, opened)


def _source_before(study: Study, start: int, barred: Iterable[int], opened: frozenset[int]) -> bool:
    """Whether current can come from a source to a node while some edges are open, not by the nodes barred."""
    circuit = study.design.circuit
    seen, waiting = {start, *barred}, [start]
    while waiting:
        at = waiting.pop()
        if circuit.nodes[at].source is not None:
            return True
        for index in circuit.nodes[at].edges:
            edge, other = circuit.edges[index], study.net.other(index, at)
            if other not in seen and index not in opened and not (edge.one_way and edge.u == at):
                seen.add(other)
                waiting.append(other)
    return False


def _leads(study: Study, one: int, two: int, inside: dict[int, list[int]], without: int) -> bool:
    """Whether two nodes join inside, without one other node."""
    seen, waiting = {one, without}, [one]
    while waiting:
        at = waiting.pop()
        for index in inside[at]:
            other = study.net.other(index, at)
            if other == two:
                return True
            if other not in seen:
                seen.add(other)
                waiting.append(other)
    return False
