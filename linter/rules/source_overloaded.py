"""A source without a battery beside it gives what its loads ask for."""

from __future__ import annotations

from collections.abc import Iterator

from linter.rules.finding import Severity
from linter.rules.registry import Wrong, rule
from linter.rules.words import amps, apart
from linter.study.study import Study


@rule(
    "source-overloaded",
    Severity.FAULT,
    demand="Sources that no battery helps give all that is asked of them at one time.",
    reason=(
        "A converter asked for more than it gives shuts down or ages hot, and takes with it what hangs on it; and what "
        "it draws on its own side is reckoned from its rating only."
    ),
    clause="the maker's manual",
    status="common practice",
    mend="Take a larger one, or feed part of the loads from elsewhere.",
    measure=(
        "With all on that runs at one time and no battery joined, measure the source's voltage and current:"
        " a voltage that falls below its setting says that it is at its limit."
    ),
    bad="""
from B
fuse F1, part main, 50 A
cable W1, 16 mm2, 3 m
converter T1, 12 V to 12 V, 10 A, efficiency 90 %, self-limiting
from T1
cable W2, 2.5 mm2, 2 m
load RADIO, draws 14 A
""",
    good="""
from B
fuse F1, part main, 50 A
cable W1, 16 mm2, 3 m
converter T1, 12 V to 12 V, 20 A, efficiency 90 %, self-limiting
from T1
cable W2, 2.5 mm2, 2 m
load RADIO, draws 14 A
""",
)
def RULE(study: Study) -> Iterator[Wrong]:
    told: set[str] = set()
    nodes = study.design.circuit.nodes
    for short in study.short:
        if not short.sources:
            continue
        element = nodes[short.sources[0]].element
        if element is None or element.name in told:
            continue
        told.add(element.name)
        sources = " and ".join(e.name for n in short.sources if (e := nodes[n].element) is not None)
        verb = "gives" if len(short.sources) == 1 else "give together"
        gives, asked = apart(amps, short.gives_a, short.asked_a)
        yield Wrong(
            element,
            f"{sources} {verb} {gives}; {asked} is asked ({short.case})",
            "a larger source, or fewer loads at one time",
            span=element.where("current", "gives"),
        )
