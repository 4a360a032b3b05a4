"""No circuit loses more of its voltage than its class of circuit may."""

from __future__ import annotations

from collections.abc import Collection, Iterator
from typing import TYPE_CHECKING

from linter.model.elements import Conductor
from linter.rules.finding import Severity
from linter.rules.registry import Wrong, rule
from linter.rules.words import apart, names, percents, volts
from linter.source.span import Span
from linter.source.units import Quantity
from linter.study.scene_limit import DropLimit, drop_limit
from linter.study.study import Study

if TYPE_CHECKING:
    from linter.study.scene import AtLoad, Scenes


# Two drops nearer than this part are one: what is said of a load must not hang on how sums are rounded.
SAME = 1e-6


@rule(
    "voltage-drop",
    Severity.FAULT,
    demand=(
        "From the source's terminals to the load no more of the nominal voltage is lost than the rulebook allows that "
        "class of circuit, in every scene and with the load on by itself."
    ),
    reason=(
        "A light that burns dim is not seen, a radio shuts down while it sends, a pump stands still; and what is lost "
        "is heat in the conductors. Circuits marked `vital` are taken to be in the stricter class, whichever of its "
        "circuits they are; electronics and lights where the rulebook names them. A panel's feeder counts in the drop "
        "of every load behind it. Copper is as warm as its worst load current makes it, out and back at the greatest "
        "published resistance."
    ),
    clause="the rulebook's classes of voltage drop: ISO 13297 and ABYC E-11; 33 CFR 183 has none",
    status="second-hand",
    mend="A larger or shorter conductor where most is lost, or fewer loads behind a shared one.",
    measure=(
        "With the load on, and all that runs with it, measure the voltage at the source's terminals and at "
        "the load's at the same time; then, along the way, across each conductor, device and terminal with "
        "a millivolt meter, to find where it is lost."
    ),
    bad="""
from B
fuse F1, part branch, 15 A
cable W1, 2.5 mm2, 12 m
load PUMP, draws 10 A, vital
""",
    good="""
from B
fuse F1, part branch, 15 A
cable W1, 16 mm2, 8 m
load PUMP, draws 10 A, vital
""",
)
def RULE(study: Study) -> Iterator[Wrong]:
    scenes = study.scenes()
    for node in study.design.circuit.nodes:
        load = node.load
        limit = drop_limit(load, study.rulebooks) if load is not None else None
        if load is None or limit is None:
            continue
        judged = _judged(scenes, node.index)
        if judged is not None and judged[0] > limit.percent * (1 + 1e-9):
            yield _wrong(scenes, judged[1], judged[0], limit)


def _judged(scenes: Scenes, node: int) -> tuple[float, AtLoad] | None:
    """The drop by which a load is judged, in per cent, and where it is so."""
    percents = [
        (percent, at)
        for at in (scenes.worst.get(node), scenes.alone.get(node))
        if at is not None and (percent := scenes.percent(at)) is not None
    ]
    if not percents:
        return None
    return percents[-1] if percents[-1][0] > percents[0][0] * (1 + SAME) else percents[0]


def mend_by(study: Study, name: str, conductors: Collection[str]) -> str:
    """How large one of ``conductors`` alone would have to be that the load of that name loses no more than it may;
    empty where none of them does."""
    from linter.study.scene_mend import larger_conductors

    node = study.design.circuit.by_name.get(name)
    limit = drop_limit(node.load, study.rulebooks) if node is not None and node.load is not None else None
    judged = _judged(study.scenes(), node.index) if node is not None else None
    if node is None or limit is None or judged is None:
        return ""
    allowed_v = judged[1].drop_v * limit.percent / judged[0]
    found = larger_conductors(study.scenes(), node.index, allowed_v, conductors) or []
    if not found or any(c.name not in conductors for c, _ in found):
        return ""
    return "at least " + " and ".join(_named(conductor, size) for conductor, size in found)


def _wrong(scenes: Scenes, worst: AtLoad, percent: float, limit: DropLimit) -> Wrong:
    circuit = scenes.study.design.circuit
    load = circuit.nodes[worst.node].load
    assert load is not None
    lost = scenes.losses(worst)
    most = max(lost, key=lambda x: x[1], default=None)
    loses, _ = apart(percents, percent, limit.percent)
    message = (
        f"{load.title} loses {worst.drop_v:.3g} V, {loses}, on its way from the source {shown(worst.title)}; "
        f"{limit.rulebook.name} allows {limit.percent:g} %{_CLASSES.get(limit.why, '')}"
    )
    related: tuple[tuple[Span, str], ...] = ()
    if most is not None:
        element = circuit.edges[most[0]].element
        message += f"; most of it in {element.name}, {most[1]:.2f} V"
        related = ((element.where("area"), f"loses {most[1]:.2f} V"),)
    return Wrong(load, message, _mend(scenes, worst, percent, limit), cite=limit.row.cite, related=related)


def _mend(scenes: Scenes, worst: AtLoad, percent: float, limit: DropLimit) -> str:
    allowed_v = worst.drop_v * limit.percent / percent
    larger = larger_sizes(scenes, worst.node, allowed_v)
    if larger:
        return larger
    diodes = [
        scenes.study.design.circuit.edges[e].element.name
        for e, _ in scenes.losses(worst)
        if scenes.study.design.circuit.edges[e].kind == "diode"
    ]
    if diodes:
        return f"another way than through {names(diodes)}, or conductors nearer to the source"
    may, _ = apart(volts, allowed_v, worst.drop_v)
    return f"no larger size is known to do: a shorter way, or a feed of its own; at most {may} may be lost"


def larger_sizes(scenes: Scenes, node: int, allowed_v: float) -> str:
    """The sizes with which a load loses no more than ``allowed_v``, in words; empty where no size does."""
    from linter.study.scene_mend import larger_conductors

    larger = larger_conductors(scenes, node, allowed_v)
    return "at least " + " and ".join(_named(conductor, size) for conductor, size in larger) if larger else ""


def _named(conductor: Conductor, size: Quantity) -> str:
    """A size and what is to have it: a thinner return stays so where nobody speaks of it."""
    back = conductor.return_size
    if back is None or conductor.size is None or back.value >= size.value:
        return f"{size} for {conductor.name}"
    if size.value <= conductor.size.value:
        return f"{size} for the return of {conductor.name}"
    return f"{size} for {conductor.name}, there and back"


def shown(title: str) -> str:
    """A state as one speaks of it."""
    return _STATES.get(title, f'in "{title}"')


_STATES = {
    "by itself": "when on by itself",
    "everything at once": "with everything on at once",
    "what stands in no scene, at once": "with all on at once that stands in no scene",
}
_CLASSES = {"vital": " in a vital circuit", "electronics": " for electronics", "light": " for lights"}
