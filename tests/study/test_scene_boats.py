"""The scenes of the three boats: laws kept at every node, and ngspice."""

from __future__ import annotations

import math
import re
import shutil
import subprocess

import pytest

from linter.model.build import build
from linter.model.elements import Conductor
from linter.source.files import Reader
from linter.study.impedance import NIL_OHM
from linter.study.scene import Scenes
from linter.study.scene_net import Resistances
from linter.study.study import Study, study_of

from .scenes import BOATS


def boat(name: str) -> Study:
    return study_of(build(Reader().design(BOATS / f"{name}.boat")))


def ohms(study: Study) -> list[float]:
    """By edge, from the tables by way of the formula of the temperature written anew."""
    found = []
    for edge in study.design.circuit.edges:
        element = edge.element
        if isinstance(element, Conductor) and edge.kind == "conductor":
            made = study.conductors[element.name]
            places = [p for p in (element.place, *(p for _, p in element.route)) if p is not None]
            air = max([p.ambient_c if p.ambient_c is not None else 30.0 for p in places], default=30.0)
            load = made.load.amps if made.load else 0.0
            assert made.ampacity_a is not None and element.insulation_c is not None
            warm = air + (element.insulation_c - air) * min(1.0, (load / made.ampacity_a) ** 2)
            ohm = Resistances().at(element, warm)
            assert ohm is not None
            found.append(ohm)
        else:
            pair = getattr(element, "resistance_ohm", None) if edge.kind != "link" else None
            found.append(pair[1] if pair else 0.0)
    return found


def keeps_its_law(study: Study, node: int, amps: float, volts: float) -> bool:
    """A battery is its voltage behind its resistance; any other source holds its voltage, or gives its most at a lower
    one, or nothing at a higher one."""
    source = study.design.circuit.nodes[node].source
    assert source is not None and source.voltage_v is not None
    if source.kind == "battery":
        assert source.resistance_ohm is not None
        return math.isclose(source.voltage_v - volts, amps * source.resistance_ohm[1], abs_tol=1e-6)
    most = min(source.limit_a, source.rated_a if source.rated_a is not None else math.inf)
    if amps < 1e-6:
        return amps > -1e-6 and volts >= source.voltage_v - 1e-6
    if amps > most - 1e-6:
        return amps < most + 1e-6 and volts <= source.voltage_v + 1e-6
    return math.isclose(volts, source.voltage_v, abs_tol=1e-4)


@pytest.mark.parametrize("name", ["launch", "cutter", "motor-yacht"])
def test_every_state_of_the_boats_is_carried_and_keeps_the_laws_at_every_node_of_the_whole_circuit(name: str) -> None:
    study = boat(name)
    scenes = study.scenes()
    circuit, resistance = study.design.circuit, ohms(study)
    assert scenes.not_carried == []
    walked = 0
    for state in scenes.states:
        currents = state.currents(scenes.net)
        left = [0.0] * len(circuit.nodes)
        volts: dict[int, float] = {}
        for piece in state.pieces:
            volts.update(zip(piece.nodes, piece.balance.volts, strict=True))
            for node, amps in piece.loads.items():
                left[node] -= amps
            for node, amps in piece.feeds.items():
                left[node] += amps
                assert keeps_its_law(study, node, amps, piece.volts(node))
        for index, amps in currents.items():
            left[circuit.edges[index].u] -= amps
            left[circuit.edges[index].v] += amps
            assert index not in state.case.opened
        assert max(map(abs, left)) < 1e-6
        # walk along each conductor and device from a known node to the next: Ohm's law
        walked += sum(_walk(study, index, currents, resistance, volts) for index in currents)
    assert walked > 5 * len(scenes.states)
    assert set(scenes.worst) == {n.index for n in circuit.nodes if n.load is not None}


@pytest.mark.parametrize("name", ["launch", "cutter", "motor-yacht"])
def test_what_is_lost_on_the_way_adds_up_to_the_drop(name: str) -> None:
    scenes = boat(name).scenes()
    for found in (*scenes.worst.values(), *scenes.alone.values()):
        assert sum(v for _, v in scenes.losses(found)) == pytest.approx(found.drop_v, abs=2e-4)
        assert found.drop_v > 0


def _walk(study: Study, index: int, currents: dict[int, float], ohm: list[float], volts: dict[int, float]) -> bool:
    """Whether the way from one known node to the next could be followed, and kept to the law."""
    circuit = study.design.circuit
    edge = circuit.edges[index]
    if edge.u not in volts:
        return False
    at_node, total, diodes = edge.u, volts[edge.u], False
    while True:
        amps = currents[edge.index] if edge.u == at_node else -currents[edge.index]
        total -= amps * max(ohm[edge.index], 0.0)
        if edge.kind == "diode":
            diodes = True
        at_node = circuit.other(edge, at_node)
        if at_node in volts:
            break
        following = [e for e in circuit.nodes[at_node].edges if e in currents and e != edge.index]
        if len(following) != 1:
            return False
        edge = circuit.edges[following[0]]
    assert diodes or total == pytest.approx(volts[at_node], abs=1e-3)
    return not diodes


def idle(study: Study, number: int, edge: int) -> bool:
    """Whether nothing flows through a diode, which where batteries alone feed is so: what feeds it is off."""
    scenes = study.scenes()
    return abs(scenes.states[number].currents(scenes.net).get(edge, 0.0)) < 1e-6


def deck(study: Study, scenes: Scenes, number: int, resistance: list[float]) -> list[str]:
    """The whole circuit of one state, element by element, with batteries as given and loads as stated."""
    circuit, state = study.design.circuit, scenes.states[number]
    alive = {n for p in state.pieces for n in p.nodes}
    for _ in circuit.edges:
        more = {
            n for e in circuit.edges
            if e.index not in state.case.opened and (e.u in alive) != (e.v in alive) and e.kind != "diode"
            for n in (e.u, e.v)
        }  # fmt: skip
        if more <= alive:
            break
        alive |= more
    cards = ["* state"]
    for edge in circuit.edges:
        if edge.kind == "diode":
            assert idle(study, number, edge.index)
        elif edge.index not in state.case.opened and edge.u != edge.v and edge.u in alive:
            cards.append(f"R{edge.index} n{edge.u} n{edge.v} {max(resistance[edge.index], NIL_OHM):.12g}")
    for piece in state.pieces:
        for node in piece.feeds:
            source = circuit.nodes[node].source
            assert source is not None
            volts, ohm = source.voltage_v, source.resistance_ohm[1] if source.resistance_ohm else NIL_OHM
            cards += [f"V{node} s{node} 0 {volts}", f"RS{node} s{node} n{node} {ohm:.12g}"]
        for node, amps in piece.loads.items():
            load = circuit.nodes[node].load
            assert load is not None
            if load.kind == "load" and load.draws_a is not None:
                cards.append(f"I{node} n{node} 0 {load.draws_a:.12g}")
            else:
                watts = load.draws_w if load.kind == "load" else amps * piece.volts(node)
                cards.append(f"B{node} n{node} 0 I={watts:.12g}/V(n{node})")
            cards.append(f".nodeset v(n{node})={piece.from_v[piece.number[node]]:.4g}")
    cards += [f"RG{n} n{n} 0 1e9" for n in sorted(alive)]
    return cards


@pytest.mark.skipif(shutil.which("ngspice") is None, reason="ngspice is not installed")
@pytest.mark.parametrize("name", ["launch", "cutter", "motor-yacht"])
def test_states_of_the_boats_against_ngspice(name: str) -> None:
    """Every load of every state that batteries alone feed; a converter is a load of the power that it takes here."""
    study = boat(name)
    scenes, resistance = study.scenes(), ohms(study)
    circuit = study.design.circuit
    compared = states = 0
    for number, state in enumerate(scenes.states):
        plain = [n for p in state.pieces for n in p.feeds if n not in p.batteries]
        limited = [n for p in state.pieces for n in p.batteries if circuit.nodes[n].source.limit_a < math.inf]  # type: ignore[union-attr]
        if plain or limited or states >= 8:
            continue
        states += 1
        cards = [*deck(study, scenes, number, resistance), ".options reltol=1e-9 abstol=1e-9 gmin=1e-15", ".op"]
        done = subprocess.run(
            ["ngspice", "-b"],
            input="\n".join([*cards, ".end", ".control", "op", "print all", ".endc", ""]),
            capture_output=True,
            text=True,
            check=False,
        )
        found = dict(re.findall(r"^\s*(n\d+)\s+=?\s*([-+]?\d[\d.]*(?:e[-+]?\d+)?)\s*$", done.stdout, re.MULTILINE))
        for piece, node in state.loads():
            assert piece.volts(node) == pytest.approx(float(found[f"n{node}"]), rel=1e-3)
            compared += 1
    assert states and compared > 20
