"""The loads of a scene can all be fed at one time."""

from __future__ import annotations

from collections.abc import Iterator

from linter.model.elements import Load
from linter.rules.finding import Severity
from linter.rules.registry import Wrong, rule
from linter.rules.voltage_drop import larger_sizes, shown
from linter.rules.words import amps, apart, names, percents
from linter.study.scene_limit import drop_limit
from linter.study.study import Study


@rule(
    "scene-not-carried",
    Severity.FAULT,
    demand="There is a voltage at which all that a scene turns on is fed.",
    reason=(
        "What takes a fixed power draws the more the less voltage it gets. Beyond a quarter of the source's voltage "
        "squared by the resistance of the way no voltage satisfies it: it collapses, and everything beside it with it."
    ),
    clause="the greatest power of a source behind a resistance, V² / 4 R",
    status="common practice",
    mend="Larger conductors, a larger source, or fewer loads at one time.",
    measure=(
        "Put on what the scene says, step by step, and measure the voltage at the load that is farthest; "
        "stop where it falls below what the loads take."
    ),
    bad="""
from B
fuse F1, part main, 100 A
cable W1, 6 mm2, 14 m
inverter INV, 12 V, draws 90 A
from B
fuse F2, part branch, 5 A
cable W2, 2.5 mm2, 2 m
load LAMP, light, draws 1 A
scene "Cooking", INV
scene "Evening", LAMP
""",
    good="""
from B
fuse F1, part main, 100 A
cable W1, 35 mm2, 2 m
inverter INV, 12 V, draws 60 A
from B
fuse F2, part branch, 5 A
cable W2, 2.5 mm2, 2 m
load LAMP, light, draws 1 A
scene "Cooking", INV
scene "Evening", LAMP
""",
)
def RULE(study: Study) -> Iterator[Wrong]:
    nodes = study.design.circuit.nodes
    spans = {s.title: s.span for s in study.design.scenes}
    told: set[int] = set()
    for found in sorted(study.scenes().not_carried, key=lambda f: f.share):
        load = nodes[found.node].load
        if load is None or found.node in told:
            continue
        told.add(found.node)
        asked = f"{found.watts:.4g} W" if found.watts is not None else amps(found.amps or 0.0)
        message = f"{load.title} asks for {asked} {shown(found.title)}, and cannot be fed"
        others = [e.name for n in found.loads if n != found.node and (e := nodes[n].element) is not None]
        if others:
            message += f" together with {names(others)}"
        share, _ = apart(percents, 100 * found.share, 100.0)
        message += f": at {share} of it the voltage is down to {found.volts:.2f} V, and breaks down"
        related = ((spans[found.title], "the scene"),) if found.title in spans else ()
        yield Wrong(load, message, _mend(study, found.node, load), related=related)


def _mend(study: Study, node: int, load: Load) -> str:
    """Sizes with which it loses no more than its class of circuit may, where there are such."""
    scenes, limit = study.scenes(), drop_limit(load, study.rulebooks)
    nominal = scenes.nominal_v(node)
    sizes = larger_sizes(scenes, node, nominal * limit.percent / 100) if limit is not None and nominal else ""
    return f"{sizes or 'larger conductors'}, a larger source, or fewer loads at one time"
