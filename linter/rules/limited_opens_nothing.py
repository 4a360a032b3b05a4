"""A short that a battery's own electronics limit opens a device, or leaves the conductor unharmed."""

from __future__ import annotations

import math
from collections.abc import Iterator

from linter.rules.finding import Severity
from linter.rules.registry import Wrong, rule
from linter.rules.words import amps, apart, guard_spans, names, seconds
from linter.study.limited import Lasting, lasting
from linter.study.study import Study
from linter.tables.conductors import fault_opening


@rule(
    "limited-opens-nothing",
    Severity.DOUBT,
    demand=(
        "Where a battery's own electronics limit a short circuit, a device opens on that limit in time, or every "
        "conductor carries it for ever; else its maker says what the electronics do, and in what time."
    ),
    reason=(
        "A limit is no opening: a short then draws just the limit, which may be less than what opens the fuse, and "
        "goes on. A conductor whose capacity is above the limit comes to no harm by it, and nothing is asked. One "
        "whose capacity is below it burns unless the electronics switch off. Chargers, alternators and converters are "
        "not asked: what they give is judged as a load current, and the bank beside them opens the device."
    ),
    clause="IEC 60364-4-43, 434; the time: 5 s where no rulebook states one",
    status="common practice",
    mend="The maker's word on what the electronics do on a short and when; a quicker device, or a larger conductor.",
    measure=(
        "Nothing on board: a short circuit is not tried out. Read maker and type off the battery and ask "
        "the maker what its electronics do on a short, at what current and after what time."
    ),
    bad="""
boat "Example", 9 m, rulebook cfr-183
system DC12, 12 V, negative earthed
cables, insulation 105 °C, tinned
battery B, lithium, 12.8 V, 100 Ah, resistance 3 mΩ to 4 mΩ, self-limiting 150 A
from B
fuse F1, part main, 150 A, resistance 0.4 mΩ
cable W1, 6 AWG, 2 m
load HEATER, draws 60 A
""",
    good="""
boat "Example", 9 m, rulebook cfr-183
system DC12, 12 V, negative earthed
cables, insulation 105 °C, tinned
battery B, lithium, 12.8 V, 100 Ah, resistance 3 mΩ to 4 mΩ, self-limiting 150 A
from B
fuse F1, part main, 150 A, resistance 0.4 mΩ
cable W1, 2 AWG, 2 m
load HEATER, draws 60 A
""",
)
def RULE(study: Study) -> Iterator[Wrong]:
    groups: dict[tuple[int, ...], list[Lasting]] = {}
    for found in lasting(study):
        if found.limited:
            groups.setdefault(found.batteries, []).append(found)
    for batteries, every in groups.items():
        yield _wrong(study, batteries, every)


def _wrong(study: Study, batteries: tuple[int, ...], every: list[Lasting]) -> Wrong:
    circuit = study.design.circuit
    sources = [s for n in batteries if (s := circuit.nodes[n].source) is not None]
    # what never opens first, of those the conductor that stands it for the shortest time
    worst = max(every, key=lambda x: (x.seconds, -x.stands_s))
    conductor, ampacity_a = worst.made.conductor, worst.made.ampacity_a or 0.0
    chain = tuple(circuit.edges[e].element.name for e in worst.chain)
    devices = names(chain)
    if not chain:
        happens = "no device stands in series before it"
    elif worst.seconds == math.inf:
        happens = f"{devices} need never open then"
    else:
        happens = f"{devices} may take {apart(seconds, worst.seconds, fault_opening().greatest_s)[0]} then"
    gives, carries = apart(amps, worst.amps, ampacity_a)
    their = "its" if len(sources) == 1 else "their"
    rest = [x.made.conductor.name for x in every if x is not worst]
    limits = "limits itself" if len(sources) == 1 else "limit themselves together"
    return Wrong(
        sources[0],
        f"{names([s.title for s in sources])} {limits} to {gives}: on a short of {conductor.title}, which "
        f"carries {carries}, {happens}; it burns on unless {their} electronics switch off"
        + (f" (so too {names(rest)})" if rest else ""),
        f"ask the maker of {names([s.name for s in sources])} what the electronics do on a short circuit and in what "
        f"time, and accept this with the answer; or a device that opens at {gives} within "
        f"{fault_opening().greatest_s:g} s, or conductors that carry {gives}",
        span=sources[0].where("self-limiting"),
        cite=fault_opening().cite,
        related=(*guard_spans(study, chain), (conductor.span, f"carries {carries}")),
        guard=chain,
    )
