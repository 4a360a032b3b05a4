"""Every figure that a verdict needs is given."""

from __future__ import annotations

from collections.abc import Iterator, Mapping

from linter.model.elements import Bus, Converter, Device, Diode, Element, Source, Switch
from linter.rules.finding import Severity
from linter.rules.not_ignition_protected import HARMLESS
from linter.rules.registry import Wrong, rule
from linter.study.capacity import Capacity, capacity, thinner_return
from linter.study.cases import draws_a, reached_from
from linter.study.curve import stated_ambient_c
from linter.study.study import Study
from linter.tables.devices import DeviceClass, classes


@rule(
    "figure-missing",
    Severity.DOUBT,
    demand="Every figure that a verdict needs is given.",
    reason=("A figure that is missing is never guessed. Where the worst is taken in its place, the finding says so."),
    clause="common practice",
    status="common practice",
    mend="Ask the maker, measure, or read it off the part, and write it down.",
    measure=(
        "What is missing is named with the finding: a length by tape along the conductor, a size by its "
        "print or the copper's diameter, a rating off the part's plate; what only a maker can know is asked"
        " of the maker."
    ),
    bad="""
from B
cable W1, 50 mm2, 0.15 m
fuse F1, part main, 150 A
cable W2, 50 mm2, 1 m
bus POS, 250 A
from POS
fuse F3, part branch, 5 A
cable W3, 1.5 mm2, 3 m
load LAMP
""",
    good="""
from B
cable W1, 50 mm2, 0.15 m
fuse F1, part main, 150 A
cable W2, 50 mm2, 1 m
bus POS, 250 A
from POS
fuse F3, part branch, 5 A
cable W3, 1.5 mm2, 3 m
load LAMP, draws 1 A
""",
)
def RULE(study: Study) -> Iterator[Wrong]:
    design = study.design
    for made in study.conductors.values():
        conductor = made.conductor
        if conductor.size is None and "open size" in conductor.facts:
            span = conductor.where("open size")
            yield Wrong(
                conductor,
                f"{conductor.title}: its size is left open; nothing is known of the voltage behind it",
                "let `size` choose it",
                span=span,
            )
        elif conductor.size is None:
            yield Wrong(
                conductor,
                f"{conductor.title} has no size; nothing can be said of it, nor of the voltage behind it",
                "for instance: 35 mm2",
            )
        elif made.capacities and made.capacities[0].missing:
            missing = "; ".join(dict.fromkeys(m for c in made.capacities for m in c.missing))
            yield Wrong(conductor, f"{conductor.title}: missing is {missing}", "for instance: insulation 105 °C")
        bound = next((c for c in made.capacities if c.bound), None)
        if bound is not None:
            known = f"{bound.rulebook.name} knows no conductor as small as {conductor.title}, {conductor.size}"
            yield Wrong(conductor, f"{known}; what it may carry is not known", f"at least {_row(bound)}")
        back = thinner_return(conductor, made.system)
        thin = next((c for book in study.rulebooks if (c := capacity(back, book)).bound), None) if back else None
        if thin is not None and bound is None:
            known = f"{thin.rulebook.name} knows no conductor as small as the return of {conductor.title}"
            yield Wrong(
                conductor,
                f"{known}, {conductor.return_size}; what it may carry is not known",
                f"a return of at least {_row(thin)}",
                span=conductor.where("return size"),
            )
        if conductor.length_m is None:
            yield Wrong(
                conductor,
                f"{conductor.title} has no length; nothing is known of the voltage behind it",
                "for instance: 2.5 m",
            )
    vapour = any(p.petrol_vapour for p in design.places.values())
    table = classes()
    for element in design.elements.values():
        for message, mend in _lacks(element, table):
            yield Wrong(element, f"{element.title} {message}", mend)
        if vapour and element.place is None and element.kind not in HARMLESS:
            yield Wrong(
                element,
                f"{element.title} does not say where it is, and there are places with petrol vapour on board",
                "for instance: in helm",
            )
    for diode in _drops_wanted(study):
        yield Wrong(
            diode,
            f"{diode.title} does not say what it drops; the voltage behind it, and the smallest fault current, count "
            "with nothing lost in it",
            "ask its maker for the drop at the current it carries, for instance: drops 0.7 V",
        )
    for node in design.circuit.nodes:
        load = node.load
        if load is not None and draws_a(load, node) is None:
            own = "say `draws`, or `efficiency` and its current"
            mend = own if load.kind == "converter" else "for instance: draws 3 A"
            yield Wrong(load, f"{load.title} does not say what it draws", mend)


def _row(known: Capacity) -> str:
    """The smallest size of a rulebook's table, with its unit."""
    return f"{known.row} {'AWG' if known.rulebook.capacity.size_system == 'AWG' else 'mm²'}"


def _drops_wanted(study: Study) -> Iterator[Diode]:
    """Diodes whose drop nobody states, where a verdict counts with it.

    Drops of loads and smallest faults are reckoned from batteries and from what does not limit itself, and voltages in
    a scene from whatever is on in it.  A charging source that is on in no scene feeds loads by itself only where no
    battery stands behind the diode.
    """
    net, circuit = study.net, study.design.circuit
    wanted = [e for e in circuit.edges if isinstance(e.element, Diode) and e.kind != "link" and not e.element.drops_v]
    if not wanted:
        return
    named = {e.name for scene in study.design.scenes for e in scene.on}
    counted = reached_from(
        net,
        (
            n.index
            for n in circuit.nodes
            if (s := n.source) is not None and (s.is_battery or not s.self_limiting or s.name in named)
        ),
    )
    for edge in wanted:
        if study.fed(edge.u) and (counted[edge.u] or not counted[edge.v]):
            assert isinstance(edge.element, Diode)
            yield edge.element


# Devices that heat opens are rerated by their makers for surroundings warmer than this (common practice).
HOT_C = 40.0
HEATED = frozenset({"thermal", "thermal-magnetic"})


def _lacks(element: Element, table: Mapping[str, DeviceClass]) -> Iterator[tuple[str, str]]:
    """What an element does not say though a verdict needs it."""
    if isinstance(element, Device):
        if element.rated_a is None and "open current" in element.facts:
            yield "leaves its rating open; it counts as no protection", "let `size` choose it"
        elif element.rated_a is None:
            yield "has no rating; it counts as no protection", "for instance: 10 A"
        known = table.get(element.device_class)
        if element.voltage_v is None and (known is None or known.rated_voltage_v is None):
            yield "has no rated voltage", "for instance: 32 V"
        if not element.device_class:
            yield "does not say its class", "for instance: blade, class T, thermal"
        ambient_c = stated_ambient_c(element.place) if element.place is not None else None
        hot = ambient_c is not None and ambient_c > HOT_C
        if hot and element.device_class in HEATED and not element.carries:
            assert element.place is not None
            taken = "" if element.place.ambient_c is not None else ", an engine space, which counts as"
            yield (
                f"stands in {element.place.name}{taken or ' at'} {ambient_c:g} °C and does not say what it carries "
                "there",
                f"its maker's rerating, for instance: carries 90 % at {ambient_c:g} °C",
            )
    elif isinstance(element, Switch):
        if element.rated_a is None:
            yield "has no rated current", "for instance: 300 A"
    elif isinstance(element, Bus):
        if element.rated_a is None and element.kind == "bus":
            yield "has no rated current", "for instance: 300 A"
    elif isinstance(element, Diode):
        if element.rated_a is None:
            yield "has no rated current", "for instance: 120 A"
    elif isinstance(element, Source):
        if element.rated_a is None and not element.is_battery:
            yield "does not say the most it gives", "for instance: 60 A"
    elif isinstance(element, Converter) and element.output is not None and element.output.rated_a is None:
        yield "does not say the most it gives", "for instance: 20 A"
