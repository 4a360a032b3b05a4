"""The circuit for load flow: what stands in a row between two points as one link, its resistance at working warmth."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field, replace
from typing import TYPE_CHECKING

from linter.model.circuit import Circuit
from linter.model.elements import Conductor, Diode
from linter.source.units import Quantity
from linter.study.impedance import edge_resistance, size_text, working_temperature_c
from linter.tables.conductors import SizeError, resistance_ohm_per_m, temperature_factor

if TYPE_CHECKING:
    from linter.study.study import ConductorStudy, Study

# The air where no place, or a place without a figure, says otherwise (the basis of the capacity tables).
USUAL_AMBIENT_C = 30.0
# An engine space for which neither the place nor a rulebook gives a temperature (33 CFR 183.425, table 5, note 1).
ENGINE_SPACE_C = 50.0


@dataclass(slots=True)
class Link:
    """Edges in a row from node ``u`` to node ``v``, there and back in ohm.

    ``one_way``: a diode among them lets current pass from u to v only, and costs ``drop_v``.
    ``edges``: (edge, whether it is laid from u to v).
    """

    u: int
    v: int
    ohm: float
    drop_v: float = 0.0
    one_way: bool = False
    edges: list[tuple[int, bool]] = field(default_factory=list)

    def other(self, node: int) -> int:
        return self.v if self.u == node else self.u


@dataclass(slots=True)
class SceneNet:
    """Links, and by node those that meet there; ``ohms`` and ``drops`` (V) by edge; ``missing``: conductors whose
    resistance nobody can tell (no size or length, or a size that none has), which count as nil."""

    links: list[Link]
    meeting: dict[int, list[int]]
    ohms: list[float]
    drops: list[float]
    link_of: list[int]
    missing: list[str]


def nil_words(names: Iterable[str]) -> str:
    """What is said of voltages in which these conductors count as nil."""
    return f"conductors whose size or length nobody tells count as nil: {', '.join(names)}"


def hottest_c(made: ConductorStudy) -> float:
    """The air at the hottest of the conductor's places, °C; in an engine space without a figure, what its rulebooks
    reckon with there, else 50 °C."""
    conductor = made.conductor
    places = [conductor.place, *(p for _, p in conductor.route)]
    found = [USUAL_AMBIENT_C] if not any(places) else []
    for place in places:
        if place is None:
            continue
        if place.ambient_c is not None:
            found.append(place.ambient_c)
        elif place.engine_space:
            rows = [r.ambient_c for c in made.capacities for r in c.rulebook.engine_space if r.ambient_c is not None]
            found.append(max(rows, default=ENGINE_SPACE_C))
        else:
            found.append(USUAL_AMBIENT_C)
    return max(found)


def conductor_temperature_c(
    ambient_c: float, insulation_c: float, amps: float | None, ampacity_a: float | None
) -> float:
    """T = Ta + (Ti - Ta) · min(1, (I / Iz)²), in °C: Ta the air, Ti what the insulation is rated for, I the current
    in A, Iz the capacity in A.

    Heat grows with the square of the current, and at its capacity a conductor is as hot as its insulation allows
    (common practice; the loss grows a little with the temperature, which this leaves out).  Without a capacity the
    conductor counts as hot as its insulation allows.
    """
    if ampacity_a is None:
        share = 1.0
    elif not amps:
        share = 0.0
    else:
        share = 1.0 if ampacity_a <= 0 else min(1.0, (amps / ampacity_a) ** 2)
    return ambient_c + max(0.0, insulation_c - ambient_c) * share


class Resistances:
    """Greatest published resistance there and back; sizes alike are looked up once."""

    def __init__(self) -> None:
        self._per_m: dict[tuple[str, bool | None], float | None] = {}

    def per_m(self, size: Quantity, tinned: bool | None) -> float | None:
        """In ohm/m at 20 °C; None for a size that no conductor has."""
        key = size_text(size), tinned
        if key not in self._per_m:
            try:
                self._per_m[key] = resistance_ohm_per_m(key[0], tinned, 20.0).ohm_per_m_at_20_c
            except SizeError:
                self._per_m[key] = None
        return self._per_m[key]

    def at(self, conductor: Conductor, temperature_c: float, size: Quantity | None = None) -> float | None:
        """In ohm at a temperature; with ``size`` as if conductor and return were of at least that size.  None where
        size or length is not given, or is none."""
        if conductor.size is None or conductor.length_m is None:
            return None
        out = conductor.size if size is None or size.value < conductor.size.value else size
        back = conductor.return_size or out
        if size is not None and back.value < size.value:
            back = size
        back_m = conductor.length_m if conductor.return_m is None else conductor.return_m
        out_ohm, back_ohm = self.per_m(out, conductor.tinned), self.per_m(back, conductor.tinned)
        if out_ohm is None or back_ohm is None:
            return None
        return (out_ohm * conductor.length_m + back_ohm * back_m) * temperature_factor(temperature_c)


def warm_c(made: ConductorStudy) -> float:
    """The temperature of a conductor at its worst load current of the study, °C."""
    insulation_c = working_temperature_c(made.conductor)
    return conductor_temperature_c(
        hottest_c(made), insulation_c, made.load.amps if made.load else None, made.ampacity_a
    )


def scene_net_of(study: Study) -> SceneNet:
    """Links between the points that matter: loads, sources, and where ways part."""
    circuit, table = study.design.circuit, Resistances()
    ohms = [0.0] * len(circuit.edges)
    drops = [0.0] * len(circuit.edges)
    missing: list[str] = []
    for edge in circuit.edges:
        element = edge.element
        if edge.kind == "conductor":
            made = study.conductors[element.name]
            ohm = table.at(made.conductor, warm_c(made))
            if ohm is None:
                missing.append(element.name)
            ohms[edge.index] = ohm or 0.0
        elif edge.kind != "link":
            found = edge_resistance(edge)
            ohms[edge.index] = study.contacts.get(edge.index, found.greatest_ohm)
            if isinstance(element, Diode):
                drops[edge.index] = found.drop_v
    links = _links(circuit, ohms, drops)
    link_of = [-1] * len(circuit.edges)
    meeting: dict[int, list[int]] = {}
    for number, link in enumerate(links):
        for edge_index, _ in link.edges:
            link_of[edge_index] = number
        meeting.setdefault(link.u, []).append(number)
        meeting.setdefault(link.v, []).append(number)
    return SceneNet(links, meeting, ohms, drops, link_of, missing)


def with_sizes(study: Study, net: SceneNet, sizes: Mapping[str, Quantity]) -> SceneNet:
    """The same with conductors, by name, and their returns of at least these sizes; as warm as they are now, though
    what is larger is cooler."""
    table, ohms = Resistances(), list(net.ohms)
    changed: dict[int, float] = {}
    for name, size in sizes.items():
        made = study.conductors[name]
        index = made.edge.index
        ohm = table.at(made.conductor, warm_c(made), size)
        if ohm is not None and net.link_of[index] >= 0:
            link = net.link_of[index]
            changed[link] = changed.get(link, net.links[link].ohm) + ohm - ohms[index]
            ohms[index] = ohm
    links = list(net.links)
    for link, ohm in changed.items():
        links[link] = replace(links[link], ohm=max(ohm, 0.0))
    return replace(net, links=links, ohms=ohms)


def _links(circuit: Circuit, ohms: list[float], drops: list[float]) -> list[Link]:
    """Every way from one kept node to the next.  What ends in the air, or leads back to where it began, carries no
    current and is left out."""
    nodes, edges = circuit.nodes, circuit.edges
    degree = [0] * len(nodes)
    gone = bytearray(len(edges))
    for edge in edges:
        if edge.u == edge.v:
            gone[edge.index] = 1
        else:
            degree[edge.u] += 1
            degree[edge.v] += 1
    fixed = [node.load is not None or node.source is not None for node in nodes]
    waiting = [n for n, d in enumerate(degree) if d == 1 and not fixed[n]]
    while waiting:
        node = waiting.pop()
        for index in nodes[node].edges:
            if gone[index]:
                continue
            gone[index] = 1
            other = edges[index].v if edges[index].u == node else edges[index].u
            degree[node] -= 1
            degree[other] -= 1
            if degree[other] == 1 and not fixed[other]:
                waiting.append(other)
    found: list[Link] = []
    for start in range(len(nodes)):
        if not degree[start] or (degree[start] == 2 and not fixed[start]):
            continue
        for first in nodes[start].edges:
            if gone[first]:
                continue
            row: list[tuple[int, bool]] = []
            at, index = start, first
            while True:
                gone[index] = 1
                edge = edges[index]
                forwards = edge.u == at
                row.append((index, forwards))
                at = edge.v if forwards else edge.u
                if fixed[at] or degree[at] != 2:
                    break
                index = next(i for i in nodes[at].edges if not gone[i])
            link = _link(circuit, start, at, row, ohms, drops)
            if link is not None:
                found.append(link)
    return found


def _link(
    circuit: Circuit, u: int, v: int, row: list[tuple[int, bool]], ohms: list[float], drops: list[float]
) -> Link | None:
    if u == v:
        return None
    ways = {forwards for index, forwards in row if circuit.edges[index].one_way}
    if len(ways) == 2:
        return None
    if ways == {False}:
        u, v, row = v, u, [(index, not forwards) for index, forwards in reversed(row)]
    return Link(u, v, sum(ohms[i] for i, _ in row), sum(drops[i] for i, _ in row), bool(ways), row)
