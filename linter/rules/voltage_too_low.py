"""Every load has the voltage at which it works, in every scene."""

from __future__ import annotations

from collections.abc import Iterator

from linter.model.elements import System
from linter.rules.finding import Severity
from linter.rules.registry import Wrong, rule
from linter.rules.voltage_drop import shown
from linter.rules.words import apart, names, volts
from linter.study.study import Study

# Below this part of a volt nobody's figure is meant.
LEAST_V = 1e-6


@rule(
    "voltage-too-low",
    Severity.FAULT,
    demand=(
        "In every scene a load has the voltage from which it works; and neither there nor at the greatest voltage of "
        "its system, or of a source that charges it, does it get more than it takes."
    ),
    reason=(
        "Below it the load does not work or drops out just when much else is on; above it, it may be destroyed. The "
        "battery is taken at its nominal voltage behind its greatest resistance: a tired one gives less. A full one "
        "follows what charges it, so too much is looked for at the highest that any charging source gives."
    ),
    clause="the maker's manual",
    status="common practice",
    mend="Larger conductors, another source, or not at the same time as what pulls the voltage down.",
    measure=(
        "Measure the voltage at the load's terminals with the battery at its lowest and all on that may run"
        " with it, and with the charging source at its highest."
    ),
    bad="""
from B
fuse F1, part main, 100 A
cable W1, 16 mm2, 6 m
bus POS, 100 A
from POS
load WINCH, draws 70 A
from POS
load RADIO, electronics, draws 1 A, works from 11.5 V
""",
    good="""
from B
fuse F1, part main, 100 A
cable W1, 35 mm2, 1.5 m
bus POS, 100 A
from POS
load WINCH, draws 70 A
from POS
load RADIO, electronics, draws 1 A, works from 11 V
""",
)
def RULE(study: Study) -> Iterator[Wrong]:
    scenes = study.scenes()
    circuit = study.design.circuit
    charged = study.charged()
    for node in circuit.nodes:
        load = node.load
        if load is None:
            continue
        range_v, nominal_v = load.voltage_range_v, scenes.nominal_v(node.index)
        if range_v is not None and nominal_v is not None and not range_v[0] <= nominal_v <= range_v[1]:
            continue  # on the wrong system altogether: that is wrong-voltage
        least = max((v for v in (load.works_from_v, range_v[0] if range_v else None) if v is not None), default=None)
        lowest, highest = scenes.lowest.get(node.index), scenes.highest.get(node.index)
        if lowest is not None and least is not None and lowest.volts < least - LEAST_V:
            lost = sorted(scenes.losses(lowest), key=lambda x: -x[1])[:2]
            where = [f"{circuit.edges[e].element.name} ({v:.2f} V)" for e, v in lost]
            gets, _ = apart(volts, lowest.volts, least)
            message = f"{load.title} gets {gets} {shown(lowest.title)} and works from {least:g} V"
            lost_v, may = apart(volts, lowest.drop_v, lowest.volts + lowest.drop_v - least)
            if where:
                message += f"; {lost_v} are lost on the way, most in {names(where)}"
            yield Wrong(
                load,
                message,
                _mend(lowest.volts + lowest.drop_v, least, may),
                related=((load.stated("works from", "voltage range"), "the voltage from which it works"),),
            )
        if range_v is None:
            continue
        gets, most_v = "", range_v[1] + LEAST_V
        if highest is not None and highest.volts > most_v:
            most_v, gets = highest.volts, f"gets {apart(volts, most_v, range_v[1])[0]} {shown(highest.title)}"
        above = charged.get(node.index)
        if above is not None and above.volts > most_v:
            gets = (
                f"is on {above.whose.title}, which may rise to {above.volts:g} V,"
                if isinstance(above.whose, System)
                else f"can be fed by {above.whose.title}, which gives up to {above.volts:g} V,"
            )
        if gets:
            yield Wrong(
                load,
                f"{load.title} {gets} and takes at most {range_v[1]:g} V",
                "feed it through a converter, or take one that stands the charging voltage",
                related=((load.stated("voltage range"), "the range that it takes"),),
            )


def _mend(source_v: float, least: float, may: str) -> str:
    if source_v < least:
        return f"another source, or fewer loads at one time: the source's own terminals are at {source_v:.2f} V then"
    return f"lose at most {may} on the way: larger conductors, or fewer loads at one time"
