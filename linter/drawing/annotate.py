"""Layers: what is written at the elements besides their own facts."""

from __future__ import annotations

import math
from collections.abc import Sequence
from typing import TYPE_CHECKING

from linter.drawing.labels import kilo
from linter.drawing.language import Language, say
from linter.drawing.text import NBSP
from linter.model.design import Design
from linter.model.elements import Device

if TYPE_CHECKING:
    from linter.study.study import ConductorStudy, Study

LAYERS = ("plain", "ratings", "study", "findings", "changes")
USUAL = ("ratings", "findings")


def breaking(design: Design) -> dict[str, list[str]]:
    """Of each device what it breaks at the highest voltage of its system; a question mark where nobody says."""
    from linter.study.breaking import breaking_capacity

    nodes, found = design.circuit.nodes, {}
    for name, element in design.elements.items():
        if not isinstance(element, Device):
            continue
        edge = design.circuit.edge_of.get(name)
        system = (nodes[edge.u].system or nodes[edge.v].system) if edge is not None else None
        volts = (system.greatest_v or system.voltage_v or 0.0) if system is not None else 0.0
        capacity = breaking_capacity(element, volts)
        found[name] = [kilo(capacity.amps, "A") if capacity is not None else f"?{NBSP}kA"]
    return found


def figures(study: Study, words: Language) -> dict[str, list[str]]:
    """Of each conductor what it lets through and what a fault may be; of each load the drop in its worst scene, ≥
    where a conductor on its way counts as nil."""
    found: dict[str, list[str]] = {}
    for name, made in study.conductors.items():
        amps = made.let_through_a
        lets = words["lets-all"] if math.isinf(amps) else say(words, "lets", a=kilo(amps, "A"))
        found[name] = [lets, fault_words(study, made)]
    scenes = study.scenes()
    for node in study.design.circuit.nodes:
        worst = scenes.worst.get(node.index)
        percent = scenes.percent(worst) if worst is not None else None
        if node.load is not None and worst is not None and percent is not None:
            # what counts as nil for want of a figure costs more than that
            least = "≥" if scenes.untold(worst) else ""
            found[node.load.name] = [say(words, "drops", p=f"{least}{percent:.2g}{NBSP}%")]
    return found


def fault_words(study: Study, made: ConductorStudy) -> str:
    """Smallest and largest prospective current at the ends of a conductor; ~ where it leans on a rough figure."""
    faults = study.faults()
    ends = (made.edge.u, made.edge.v)
    largest = [faults.largest(n) for n in ends]
    smallest = [s for n in ends if (s := faults.smallest(n)) is not None]
    most = max(largest, key=lambda p: p.amps)
    if any(p.unknown for p in (*largest, *smallest)):
        return f"?{NBSP}kA"
    rough = "~" if any(p.doubtful for p in (*largest, *smallest)) else ""
    least = min(smallest, key=lambda p: p.amps, default=None)
    if least is None:
        return f"{rough}≤{kilo(most.amps, 'A')}"
    return f"{rough}{kilo(least.amps, 'A')}–{kilo(most.amps, 'A')}"


def with_default(layers: Sequence[str]) -> tuple[str, ...]:
    """The layers that were asked for, in order and once each; the usual ones where none was."""
    chosen = set(layers) or set(USUAL)
    return tuple(n for n in LAYERS if n in chosen and n != "plain")
