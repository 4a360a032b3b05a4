"""Causes injected behind every fuse and breaker of the three boats that feeds loads of its own.

What a person would read is worked out from what the files state, by Ohm's law: a short's resistance from size and
length (1/58 ohm mm²/m, annealed copper), a locked motor's current from its sheet, what all loads draw as a plain sum.
"""

from __future__ import annotations

import functools
from pathlib import Path

import pytest

from linter.advice.tripped.figures import Circuit, circuit_of
from linter.advice.tripped.make import ranked
from linter.advice.tripped.measured import heard
from linter.advice.tripped.reading import read
from linter.advice.tripped.seen import Seen, seen_of
from linter.model.build import build
from linter.source.files import Reader
from linter.study.study import study_of

BOATS = ("boats/launch.boat", "boats/cutter.boat", "boats/motor-yacht.boat")


@functools.cache
def _circuits(boat: str) -> tuple[Circuit, ...]:
    study = study_of(build(Reader().design(boat)))
    edges = [e for e in study.design.circuit.edges if e.kind == "device" and study.parts.leads_to[e.index] >= 0]
    made = [seen_of(study, edge) for edge in edges]
    return tuple(circuit_of(seen, []) for seen in made if seen.loads and seen.device.rated_a)


def _first_two(circuit: Circuit, when: str, *measured: str) -> list[str]:
    design = circuit.seen.study.design
    told = [heard(circuit, read(m, [*design.elements, *design.places]), when) for m in measured]
    return [s.cause.name for s in ranked(circuit, when, told)[:2]]


def _dead_short_ohm(seen: Seen) -> float:
    """There and back to the end of the first conductor: the copper that a meter at the device would see."""
    first = seen.runs[0]
    assert first.area_mm2 and first.length_m
    return 2 * first.length_m / (58 * first.area_mm2)


@pytest.mark.parametrize("boat", BOATS)
def test_a_shorted_run(boat: str) -> None:
    tried = 0
    for circuit in _circuits(boat):
        seen = circuit.seen
        if not seen.runs:
            continue
        volts = seen.study.design.circuit.nodes[seen.far].system
        assert volts is not None and volts.voltage_v
        ohm = _dead_short_ohm(seen)
        if volts.voltage_v / ohm < 2 * (seen.device.rated_a or 0):
            continue  # so long and thin that a short at its end draws no more than twice the rating
        tried += 1
        where = f"{seen.device.name} in {Path(boat).name}"
        assert "short-in-run" in _first_two(circuit, "at-once", f"{ohm:.6f} ohm without load"), where
        assert "short-in-run" in _first_two(circuit, "running", f"{ohm:.6f} ohm without load"), where
    assert tried >= 15


@pytest.mark.parametrize("boat", BOATS)
def test_a_stalled_motor(boat: str) -> None:
    """One motor behind the device, locked: its starting current in place of its running current."""
    tried = 0
    for circuit in _circuits(boat):
        seen = circuit.seen
        loads = [n.load for n in seen.loads if n.load is not None]
        if len(loads) != 1 or not loads[0].starts_a or not seen.scenes or not loads[0].starts_s:
            continue
        if loads[0].sort != "motor" or loads[0].starts_a <= (seen.device.rated_a or 0.0):
            continue  # nothing that stalls, or a locked current that it carries for ever
        tried += 1
        reading = f"{loads[0].starts_a:.4g} A"
        for when in ("starting", "running"):
            assert "stalled-motor" in _first_two(circuit, when, reading), (seen.device.name, when)
    assert tried >= 2


def _stated_sum_a(seen: Seen) -> float:
    """What the loads behind it that are on in its fullest scene draw by their sheets, at nominal voltage."""
    design = seen.study.design
    assert seen.steady is not None
    scene = next(s for s in design.scenes if s.title == seen.steady.title)
    on = {e.name for e in scene.on}
    found = 0.0
    for node in seen.loads:
        load, system = node.load, node.system
        if load is None or not (load.name in on or load.always_on) or system is None or not system.voltage_v:
            continue
        found += load.draws_a or (load.draws_w or 0.0) / system.voltage_v
    return found


def _too_hot_c(seen: Seen, amps: float) -> float | None:
    """By hand, from the two outermost figures of the sheet: where its rating has fallen to ``amps``."""
    device = seen.device
    points = sorted(device.carries)
    if len(points) < 2 or not device.rated_a:
        return None
    (cold_c, cold), (hot_c, hot) = points[-2:]
    found = hot_c + (amps / device.rated_a - hot) * (hot_c - cold_c) / (hot - cold)
    return found if hot_c <= found <= 110 else None


@pytest.mark.parametrize("boat", BOATS)
def test_it_carries_what_it_should_and_is_hot(boat: str) -> None:
    """The current is the plain sum that the files state; the place is so hot that the sheet says it cannot carry it."""
    tried = 0
    for circuit in _circuits(boat):
        seen = circuit.seen
        if seen.steady is None or seen.steady.title not in {s.title for s in seen.study.design.scenes}:
            continue
        amps = _stated_sum_a(seen)
        celsius = _too_hot_c(seen, amps)
        if celsius is None or not 0 < amps <= (seen.carries_a or 0.0):
            continue
        tried += 1
        for hot in (f"{celsius + 5:.0f} °C at {seen.device.name}",):
            names = _first_two(circuit, "running", hot, f"{amps:.4g} A")
            assert "hot-place" in names, (seen.device.name, names, celsius, amps)
    assert tried >= 1


@pytest.mark.parametrize("boat", BOATS)
def test_every_answer_has_its_figures(boat: str) -> None:
    """No brace is left, no score is nil, and every cause has a reason."""
    for circuit in _circuits(boat):
        for when in ("starting", "running", "at-once", "at-random", "unknown"):
            for suspect in ranked(circuit, when, []):
                assert suspect.score > 0 and suspect.weights
                assert "{" not in suspect.measure + suspect.where + suspect.expect + suspect.trouble + suspect.title
