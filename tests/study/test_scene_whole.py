"""Scenes of larger circuits: the work grows with them, and a plain nodal solution agrees."""

from __future__ import annotations

import random

import numpy as np
import pytest

from linter.study.impedance import NIL_OHM

from .scenes import studied


def panel(circuits: int, selectors: int = 0) -> str:
    text = "battery B, 12 V, resistance 2 mΩ\nfrom B\ncable W, 50 mm2, 1 m\nbus P, 200 A\n"
    for i in range(circuits):
        text += f"from P\nfuse F{i}, blade, 5 A\ncable W{i}, 1.5 mm2, 3 m\nload L{i}, draws {100 / circuits} W\n"
    for i in range(selectors):
        text += f"selector S{i}, positions off 1 2\nfrom P\nto S{i} 1\nfrom P\nto S{i} 2\n"
        text += f"from S{i}\nload M{i}, draws 1 A\n"
    return text + 'scene "all", ' + ", ".join(f"L{i}" for i in range(circuits)) + "\n"


def test_work_grows_with_the_boat_and_not_faster() -> None:
    steps = {}
    for circuits in (20, 200, 2000):
        study = studied(panel(circuits))
        scenes = study.scenes()
        assert len(scenes.net.links) == circuits + 1
        (piece,) = scenes.states[0].pieces
        steps[circuits] = piece.balance.steps
    assert max(steps.values()) <= min(steps.values()) + 1


def test_what_is_alike_in_several_states_is_solved_once() -> None:
    study = studied(panel(20, 4))
    scenes = study.scenes()
    assert len([c for c in study.cases if c.title == "all"]) == 2**4
    assert len({id(s.pieces[0]) for s in scenes.states if s.case.title == "all"}) == 1


def tangle(chance: random.Random) -> str:
    """Buses joined in rings by rows of switches, with joints between, stubs that lead nowhere, two batteries, loads."""
    count = chance.randint(3, 8)
    text = "".join(f"bus B{n}\n" for n in range(count))
    number = 0
    ends = [(chance.randrange(n), n) for n in range(1, count)]
    ends += [(u, v) for u, v in (chance.sample(range(count), 2) for _ in range(chance.randint(1, 4)))]
    for u, v in ends:
        text += f"from B{u}\n"
        for _ in range(chance.randint(1, 3)):
            number += 1
            given = chance.choice([f", resistance {chance.randint(1, 40)} mΩ", ""])
            text += f"switch S{number}, 100 A{given}\n" + chance.choice(["", f"joint J{number}\n"])
        text += f"to B{v}\n" if text.splitlines()[-1].startswith("switch") else f"from J{number}\nto B{v}\n"
    for battery in ("P", "Q"):
        volts = chance.choice([12, 12.8])
        text += f"battery {battery}, {volts} V, resistance {chance.randint(2, 9)} mΩ\nfrom {battery}\n"
        text += f"switch S{battery}, 100 A, resistance 2 mΩ\nto B{chance.randrange(count)}\n"
    for n in range(count):
        number += 1
        text += f"from B{n}\nswitch STUB{n}, 10 A\njoint STUB-END{n}\nfrom B{n}\n"
        text += f"switch S{number}, 10 A, resistance {chance.randint(1, 30)} mΩ\n"
        text += f"load L{n}, draws {chance.choice(['4 A', '60 W', '11 A', '9 W'])}\n"
    return text


def test_the_circuit_as_written_agrees_with_a_plain_nodal_solution() -> None:
    compared = 0
    for seed in range(60):
        study = studied(tangle(random.Random(seed)))
        scenes, circuit = study.scenes(), study.design.circuit
        size = len(circuit.nodes)
        matrix, given, watts = np.eye(size) * 1e-12, np.zeros(size), np.zeros(size)
        for edge in circuit.edges:
            pair = getattr(edge.element, "resistance_ohm", None) if edge.kind != "link" else None
            siemens = 1 / max(pair[1] if pair else 0.0, NIL_OHM)
            matrix[[edge.u, edge.v], [edge.u, edge.v]] += siemens
            matrix[edge.u, edge.v] -= siemens
            matrix[edge.v, edge.u] -= siemens
        for node in circuit.nodes:
            if node.source is not None:
                siemens = 1 / node.source.resistance_ohm[1]  # type: ignore[index]
                matrix[node.index, node.index] += siemens
                given[node.index] += siemens * node.source.voltage_v  # type: ignore[operator]
            if node.load is not None:
                given[node.index] -= node.load.draws_a or 0.0
                watts[node.index] = node.load.draws_w or 0.0
        inverse, volts = np.linalg.inv(matrix), np.full(size, 12.0)
        for _ in range(200):
            volts = inverse @ (given - watts / volts)
        if scenes.not_carried:
            assert not np.all(np.isfinite(volts)) or volts.min() < 6.5
            continue
        (piece,) = scenes.states[0].pieces
        for node in piece.nodes:
            assert piece.volts(node) == pytest.approx(volts[node], rel=1e-5)
        assert {circuit.nodes[n].name for n in piece.loads} == {n.name for n in circuit.nodes if n.load is not None}
        compared += 1
    assert compared > 40
