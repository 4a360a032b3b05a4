"""The worksheet of a protective device."""

from __future__ import annotations

import math

from linter.model.circuit import Edge
from linter.model.elements import Asks, Device
from linter.report.devices import smallest_untold
from linter.report.worksheet.conductor import add_load_current
from linter.report.worksheet.currents import before_lines, prospective_lines
from linter.report.worksheet.heat import opening_lines
from linter.report.worksheet.sheet import Judgement, Line, Note, Row, Section, Step, Sum, duration, num, qty
from linter.rules.words import class_words, kiloamps, names, upstream, wording
from linter.study.breaking import breaking_capacity
from linter.study.cases import draws_a
from linter.study.coordination import nearest_above, overlap, serves_it_alone
from linter.study.curve import shares, stated_ambient_c
from linter.study.starting import start_shares
from linter.study.study import Study
from linter.study.voltage import greatest_voltage
from linter.study.workings import loop_of
from linter.tables.conductors import fault_opening
from linter.tables.devices import classes

GUARDING = frozenset({
    "device-bypassed", "feeds-nothing", "overload-condition", "conductor-unprotected", "return-unprotected",
    "protection-distance",
})  # fmt: skip


def device_sections(study: Study, edge: Edge) -> list[Section]:
    return [
        _facts(study, edge),
        _rating(study, edge),
        _guards(study, edge),
        _asked(study, edge),
        _load(study, edge),
        _starts(study, edge),
        _breaking(study, edge),
        _curve(study, edge),
        _smallest(study, edge),
        _coordination(study, edge),
    ]


def _facts(study: Study, edge: Edge) -> Section:
    device, nodes = edge.device, study.design.circuit.nodes
    found = Section("The device", rules=frozenset({"contradicts-part", "figure-missing", "not-ignition-protected"}))
    found.fact("kind", device.kind)
    found.fact("class", class_words(device.device_class), device.says())
    found.fact("speed", device.speed)
    found.fact("part", device.part.name if device.part else "")
    found.fact("between", f"{nodes[edge.u].name} and {nodes[edge.v].name}")
    found.fact("lies in", device.place.name if device.place else "")
    if device.rated_a is None:
        found.missing("its rated current is not given: any current counts as persisting through it")
    else:
        found.fact("rated current", qty(device.rated_a, "A"))
    if device.ignition_protected:
        found.fact("ignition protected", "yes")
    return found


def _rating(study: Study, edge: Edge) -> Section:
    device, system = edge.device, study.system_of(edge)
    rules = frozenset({"device-voltage", "rating-not-made", "automatic-reset", "current-rating"})
    found = Section("Rating: voltage, holder, temperature", rules=rules)
    volts, whose = device.voltage_v, "its own rating"
    if volts is None and device.device_class in classes():
        volts, whose = classes()[device.device_class].rated_voltage_v, "the rating of its class"
    known = greatest_voltage(study.design, system) if system is not None else None
    if volts is None:
        found.missing("its rated voltage is not given")
    elif known is not None:
        cite = str(known[2]) if known[2] else known[1]
        found.add(
            Judgement(f"rated voltage ({whose})", volts, "≥", known[0], "V", "to which its system rises", cite=cite)
        )
    if device.holder_a is not None and device.rated_a is not None:
        found.add(Judgement("rated current", device.rated_a, "≤", device.holder_a, "A", "for which its holder is made"))
    found.fact("it is made for", " ".join(f"{a:g} A" for a in device.comes_in_a))
    least, greatest = shares(device)
    place = stated_ambient_c(device.place) if device.place is not None else None
    if device.rated_a is None:
        return found
    if not device.carries:
        found.note("its maker states no rerating for the temperature where it stands: its rating is taken")
        return found
    points = ", ".join(f"{share:.0%} at {at:g} °C" for at, share in sorted(device.carries))
    found.fact("its maker says that it carries", points, device.says())
    if place is not None:
        found.fact("where it stands", f"{place:g} °C")
    found.add(Step("it carries there", f"{num(least)} × {num(device.rated_a)} A", least * device.rated_a, "A"))
    if greatest > 1:
        found.add(
            Step("in the cold as much as", f"{num(greatest)} × {num(device.rated_a)} A", greatest * device.rated_a, "A")
        )
    return found


def _guards(study: Study, edge: Edge) -> Section:
    name = edge.device.name
    found = Section("What it guards", rules=GUARDING)
    guarded = [c for c in study.conductors.values() if name in c.guard]
    if not guarded:
        found.note("no conductor's let-through is held back by it")
    for made in guarded:
        other = [n for n in made.guard if n != name]
        beside = f" with {names(other)}" if other else ""
        what = f"{made.conductor.name}, let-through{beside}"
        governing = made.governing
        if governing is None:
            found.missing(f"{made.conductor.name}: nobody says what it may carry")
            continue
        then = "a stretch before its guard" if made.stretch else "a cranking feed is exempt"
        found.add(
            Judgement(
                what, made.let_through_a, "≤", governing.allowed_a, "A", f"allowed by {governing.rulebook.name}", then,
                str(governing.limit.cite) if governing.limit else "",
            )
        )  # fmt: skip
    return found


def _asked(study: Study, edge: Edge) -> Section:
    """What the makers of the loads ask for before which it is the nearest device."""
    found = Section("What the makers of its loads ask for", rules=frozenset({"device-not-as-asked"}))
    nearest = False
    for node in study.design.circuit.nodes:
        load = node.load
        if load is None or edge.index not in upstream(study, node.index).devices:
            continue
        nearest = True
        asked = [a for a in load.asks if a.cable is None]
        if not asked:
            found.fact(load.name, "its maker asks for no device")
        for ask in asked:
            found.fact(load.name, f"its maker asks for {wording(ask)}", load.says())
            found.add(*rating_lines(edge.device, ask))
    if not nearest:
        found.note("it is the nearest device of no load")
    return found


def rating_lines(device: Device, ask: Asks) -> list[Line]:
    """A device against what a maker asks for."""
    found: list[Line] = []
    for asked, is_, what in (
        (ask.device_kind, device.kind, "kind"), (ask.device_class, device.device_class, "class"),
        (ask.speed, device.speed, "speed"),
    ):  # fmt: skip
        if asked:
            fits = "as asked" if asked == is_ else "NOT as asked"
            found.append(Note(f"{device.name}, {what}: {class_words(is_) or 'not said'}, {fits}"))
    if ask.rating_a is not None and device.rated_a is not None:
        least, greatest = ask.rating_a
        found.append(Judgement(f"{device.name}, rated", device.rated_a, "≥", least, "A", "asked at least"))
        found.append(Judgement(f"{device.name}, rated", device.rated_a, "≤", greatest, "A", "asked at most"))
    return found


def _load(study: Study, edge: Edge) -> Section:
    found = Section("Load current", rules=frozenset({"device-overloaded"}))
    add_load_current(study, edge, found)
    load, rated_a = study.loads.get(edge.index), edge.device.rated_a
    if load is None or rated_a is None:
        return found
    from linter.rules.device_overloaded import CONTINUOUS_SHARE

    least, _ = shares(edge.device)
    found.add(Judgement("load current", load.amps, "≤", rated_a * least, "A", "that it carries where it stands"))
    if load.continuous_a:
        most = CONTINUOUS_SHARE * rated_a * least
        expression = f"{num(CONTINUOUS_SHARE)} × {num(rated_a * least)} A"
        found.add(
            Step(
                "for hours no more than",
                expression,
                most,
                "A",
                "80 % of the rating for continuous loads (common practice)",
            ),
            Judgement("load current for hours", load.continuous_a, "≤", most, "A", "the most for hours"),
        )
    return found


def _starts(study: Study, edge: Edge) -> Section:
    found = Section("Starting currents", rules=frozenset({"start-opens-device"}))
    openings, circuit = study.openings(), study.design.circuit
    curve = openings.curve(edge.index)
    for node in circuit.nodes:
        load = node.load
        if load is None or not load.starts_a or load.starts_s is None:
            continue
        share = start_shares(study, node.index).get(edge.index)
        if curve is not None and share is not None:
            found.add(*start_lines(study, edge, node.index, share))
    if not found.lines:
        found.note("no load behind it states a starting current")
    return found


def start_lines(study: Study, edge: Edge, node: int, share: float) -> list[Line]:
    """A load's start through a device that carries a share of it: what else runs,
    and the time before which the device does not open."""
    made, curve = study.design.circuit.nodes[node], study.openings().curve(edge.index)
    load, name = made.load, edge.device.name
    assert load is not None and load.starts_a is not None and load.starts_s is not None and curve is not None
    worst = study.loads.get(edge.index)
    running_a = draws_a(load, made) or 0.0
    at_worst = worst.drawn_a if worst is not None else 0.0
    beside_a = max(at_worst - running_a, 0.0)
    lines: list[Line] = []
    if beside_a:
        expression = f"{num(at_worst)} A − {num(running_a)} A"
        lines.append(Step(f"what else runs through {name} as {load.name} starts", expression, beside_a, "A"))
    start_a = load.starts_a * share
    if share < 1 - 1e-6:
        expression = f"{num(load.starts_a)} A × {num(share)}"
        lines.append(Step(f"{name}'s part of the start, as the ways share it", expression, start_a, "A"))
    amps = start_a + beside_a
    lines.append(Sum(f"{load.name} starting", (Row(start_a, "its start"), Row(beside_a, "beside it")), amps, "A"))
    held_s = curve.fastest(amps)
    if not curve.fast or amps > curve.fast[-1][0] * (1 + 1e-9):
        lines.append(Note(f"nobody says how long {name} carries {qty(amps, 'A')}", True))
        return lines
    what = f"{name} at {num(amps)} A does not open before"
    lines.append(Judgement(what, held_s, "≥", load.starts_s, "s", "the start lasts", cite=str(curve.cite)))
    return lines


def _breaking(study: Study, edge: Edge) -> Section:
    device, system = edge.device, study.system_of(edge)
    found = Section("Breaking capacity", rules=frozenset({"breaking-capacity", "breaking-class"}))
    known = greatest_voltage(study.design, system) if system is not None else None
    volts = known[0] if known is not None else 0.0
    through = study.faults().to_break(edge.index)
    found.note("the largest current that it may have to break: a short right behind it, as if it had no resistance")
    far = study.parts.leads_to[edge.index]
    place = study.net.other(edge.index, far) if far >= 0 else -1
    candidates = [place] if place >= 0 else [edge.u, edge.v]
    for node in candidates:
        loop = loop_of(study.faults(), node, study.faults().largest(node), True)
        if loop is not None and math.isclose(loop.amps, through.amps, rel_tol=1e-6):
            found.add(*prospective_lines(study, "largest", node, study.faults().largest(node), True))
            break
    else:
        if through.unknown or through.drive is None or through.drive.unknown:
            found.missing("it is not known: a source's resistance, or a conductor's size or length, is not given")
        elif through.amps > 0 and not _peaks(study, through.drive.sources, through.amps, found):
            _meshed(study, edge, through.amps, found)
    own = breaking_capacity(device, volts)
    for backed in device.backed:
        found.fact(
            "its maker's figure behind another device", f"{kiloamps(backed.current_a)} at {backed.voltage_v:g} V"
        )
    if own is None:
        found.missing(f"nobody says what it breaks at {volts:g} V")
        return found
    at = f" at {own.voltage_v:g} V" if own.voltage_v is not None else ""
    found.fact("it breaks", f"{kiloamps(own.amps)}{at} ({own.whose})", own.cite)
    if through.amps > 0 and not through.unknown:
        then = "see the figure behind another device" if device.backed else ""
        found.add(Judgement("it breaks", own.amps, "≥", through.amps, "A", "that can flow through it", then))
    return found


def _peaks(study: Study, sources: tuple[int, ...], amps: float, found: Section) -> bool:
    """What sources give until their electronics have limited them, where there are such."""
    pairs, nodes = study.faults().pairs, study.design.circuit.nodes
    given = [(nodes[n].name, pairs[n][0].peak_a) for n in sources if pairs[n][0].peak_a]
    for name, peak_a in given:
        found.fact(f"{name} gives, until its electronics have limited it", qty(peak_a, "A"))
    if given:
        what = "with all sources together at most this flows through it"
        found.fact(what, qty(amps, "A"), "solved by the nodal matrix of the circuit")
    return bool(given)


def _meshed(study: Study, edge: Edge, amps: float, found: Section) -> None:
    """A device in the midst of sources carries a part of a fault's current: solved with the whole of the mesh."""
    nodes = study.design.circuit.nodes
    simple = before_lines(study, edge.index, amps)
    found.note("sources stand on both sides of it: of the fault's current a part flows through it")
    if simple:
        found.add(*simple)
        return
    for node in (edge.u, edge.v):
        largest = study.faults().largest(node)
        if largest.amps > 0 and not largest.unknown:
            found.fact(f"a short at {nodes[node].name} draws in all", qty(largest.amps, "A"))
    found.fact("of which at most this flows through it", qty(amps, "A"), "solved by the nodal matrix of the circuit")


def _curve(study: Study, edge: Edge) -> Section:
    found = Section("Its time-current curve")
    curve = study.openings().curve(edge.index)
    if curve is None or not curve.slow:
        found.missing("nobody states its curve: when it opens is not known")
        return found
    found.fact("from", curve.cite)
    for amps, last in curve.slow:
        found.fact(f"at {qty(amps, 'A')} it has opened after", duration(last))
    for amps, first in curve.fast:
        found.fact(f"at {qty(amps, 'A')} it does not open before", duration(first))
    for a2s, to_a in curve.energies:
        reach = f" up to {kiloamps(to_a)}" if to_a < math.inf else ""
        found.fact("it lets through at most", f"{qty(a2s, 'A²s')}{reach}")
    return found


def _smallest(study: Study, edge: Edge) -> Section:
    found = Section(
        "The smallest fault on what it guards", rules=frozenset({"not-opened-in-time", "harmed-before-opening"})
    )
    least: tuple[float, str] | None = None
    untold = [
        made.conductor.name for made in study.conductors.values()
        if edge.element.name in made.guard and smallest_untold(study, made)
    ]  # fmt: skip
    if untold:
        found.missing(
            f"the smallest fault on {names(untold)} is not known: a source's resistance, or the size or length of a "
            "conductor on its way, is not given"
        )
    for made in study.conductors.values():
        for way in study.clears(made):
            if not way.unknown and edge.index in way.chain[-1:] and (least is None or way.smallest_a < least[0]):
                least = way.smallest_a, made.conductor.name
    if least is None:
        if not untold:
            found.note("no fault is judged in which it is the nearest device")
        return found
    amps, name = least
    curve = study.openings().curve(edge.index)
    which = "smallest fault current of those known" if untold else "smallest fault current"
    found.fact(which, f"{qty(amps, 'A')}, at the far end of {name}")
    if curve is None:
        return found
    slowest, limit = curve.slowest(amps), fault_opening()
    found.add(*opening_lines(edge.device.name, curve, amps, slowest.seconds))
    if not slowest.told:
        found.missing("its curve is not stated so far: this is only a bound")
    found.add(Judgement("opened after", slowest.seconds, "≤", limit.greatest_s, "s", "the greatest time",
                        "another device on the way may open first", str(limit.cite)))  # fmt: skip
    return found


def _coordination(study: Study, edge: Edge) -> Section:
    found = Section("Coordination with the devices above and below", rules=frozenset({"not-coordinated"}))
    openings, edges = study.openings(), study.design.circuit.edges
    pairs = [(above, edge.index) for above in nearest_above(openings, edge.index)]
    pairs += [
        (edge.index, other.index) for other in edges
        if other.kind == "device" and edge.index in nearest_above(openings, other.index)
    ]  # fmt: skip
    for above, below in pairs:
        upper, lower = edges[above].element.name, edges[below].element.name
        if serves_it_alone(openings, above, below):
            found.note(f"{upper} above {lower}: nothing hangs between them, so it does not matter which opens")
            continue
        most = min(openings.faults.through(above).amps, openings.faults.through(below).amps)
        pair = overlap(openings, above, below)
        curves = openings.curve(above), openings.curve(below)
        if pair is not None:
            lost = f"{kiloamps(pair.least_a)} to {kiloamps(pair.greatest_a)}"
            found.note(
                f"{upper} above {lower}: NOT coordinated from {lost}: {lower} may be as slow as {upper} is quick"
            )
        elif any(c is None or not c.slow or not c.fast for c in curves):
            found.missing(f"{upper} above {lower}: the curve of one of them is not known")
        else:
            found.note(f"{upper} above {lower}: {lower} opens first on every fault up to {kiloamps(most)}")
    if not pairs:
        found.note("no device stands next above or below it")
    return found
