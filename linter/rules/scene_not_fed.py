"""A load that is on in a scene is fed in it."""

from __future__ import annotations

from collections.abc import Iterator

from linter.rules.finding import Severity
from linter.rules.registry import Wrong, rule
from linter.study.study import Study


@rule(
    "scene-not-fed",
    Severity.FAULT,
    demand="What a scene turns on is fed in that scene.",
    reason="A load behind an open switch carries nothing, so that the scene would prove its circuit by leaving it out.",
    clause="common practice",
    status="common practice",
    mend="Close the switch in the scene, turn a source on, or take the load out of the scene.",
    measure="Put the switches as in the scene and measure at the load.",
    bad="""
from B
fuse F1, part branch, 15 A
cable W1, 2.5 mm2, 3 m
switch S1, 20 A
cable W2, 2.5 mm2, 3 m
load LAMP, draws 4 A
scene "At anchor", LAMP, S1 open
""",
    good="""
from B
fuse F1, part branch, 15 A
cable W1, 2.5 mm2, 3 m
switch S1, 20 A
cable W2, 2.5 mm2, 3 m
load LAMP, draws 4 A
scene "At anchor", LAMP, S1 closed
""",
)
def RULE(study: Study) -> Iterator[Wrong]:
    if not study.design.scenes:
        return
    nodes = study.design.circuit.nodes
    titles: dict[str, list[str]] = {}
    spans = {s.title: s.span for s in study.design.scenes}
    for title, node in study.never_fed:
        load = nodes[node].load
        if load is not None and study.fed(node) and title in spans:
            titles.setdefault(load.name, []).append(title)
    for name, scenes in titles.items():
        element = study.design.elements[name]
        shown = ", ".join(f'"{t}"' for t in scenes)
        yield Wrong(
            element,
            f"{element.title} is on in {shown}, but nothing feeds it there",
            "close its switch in the scene, turn a source on, or take it out of the scene",
            related=tuple((spans[t], "the scene") for t in scenes if t in spans),
        )
