"""Fault currents on a worksheet: the sources, the loop line by line, and the current that comes of it."""

from __future__ import annotations

import math

from linter.model.elements import Conductor, Source
from linter.report.data import at_most
from linter.report.worksheet.sheet import Fact, Line, Note, Row, Step, Sum, num, qty
from linter.study.impedance import COLD_C, NIL_OHM, SourcePair, nominal_v
from linter.study.prospective import Prospective
from linter.study.study import Study
from linter.study.workings import Item, Leg, Loop, before_of, branch_of, legs, loop_of, shares_of
from linter.tables.batteries import battery_short_circuit
from linter.tables.conductors import copper

ALIKE = 1e-6


def prospective_lines(study: Study, what: str, node: int, found: Prospective | None, largest: bool) -> list[Line]:
    """A prospective current at a node of the circuit, and how it comes about."""
    faults = study.faults()
    place = study.design.circuit.nodes[node].name
    if found is None or (found.amps <= 0 and not found.unknown):
        return [Note(f"{what}, at {place}: no current of a source that does not limit itself comes here")]
    if found.unknown or found.drive is None or found.drive.unknown:
        why = "the resistance of a source, or the size or length of a conductor on the way, is not given"
        return [Note(f"{what}, at {place}: not known: {why}", True)]
    loop = loop_of(faults, node, found, largest)
    if loop is None:
        return [Note(f"{what}, at {place}: {qty(found.amps, 'A')}")]
    lines: list[Line] = [Note(f"{what}, at {place}")]
    lines += loop_lines(study, loop, largest)
    if largest and at_most(study, node):
        lines.append(Note("what is of unknown size or length counts as nil: it is no more than this", True))
    lines += [
        Note(f"leans on {words}: ask the maker for the internal resistance", True) for words in found.drive.leans_on
    ]
    return lines


def loop_lines(study: Study, loop: Loop, largest: bool) -> list[Line]:
    nodes = study.design.circuit.nodes
    if loop.limited:
        rows = tuple(Row(amps, f"{nodes[n].name}, the most it gives") for n, amps in loop.limited)
        return [Sum("only sources that limit themselves feed it", rows, loop.amps, "A")]
    lines: list[Line] = []
    for node in [loop.source] if loop.source >= 0 else loop.sources:
        lines += source_lines(study, node, loop.pairs[node], largest)
    if loop.source >= 0:
        return lines + _of_one(study, loop, largest)
    return lines + _of_several(study, loop, largest)


def _of_one(study: Study, loop: Loop, largest: bool) -> list[Line]:
    nodes = study.design.circuit.nodes
    pair, name = loop.pairs[loop.source], nodes[loop.source].name
    rows = [Row(pair.resistance_ohm, f"{name}, inside")]
    for item in loop.items:
        rows += item_rows(study, item, largest)
    lines: list[Line] = [Sum("all that the current flows through, there and back", tuple(rows), loop.ohm, "Ω")]
    volts = [Row(pair.voltage_v, name)]
    volts += [
        Row(
            amps * ohm,
            f"{nodes[n].name} gives {num(amps)} A through a part of the loop",
            f"{num(amps)} A × {qty(ohm, 'Ω')}",
        )
        for n, amps, ohm in loop.raised
    ]
    volts += [Row(-i.drop_v, f"{_name(study, i)}, drop of the diode") for i in loop.items if i.drop_v]
    if len(volts) > 1:
        lines.append(Sum("the voltage that drives it", tuple(volts), loop.volts, "V"))
    return [*lines, _current(loop)]


def _current(loop: Loop) -> Line:
    expression = f"{num(loop.volts)} V ÷ {qty(max(loop.ohm, NIL_OHM), 'Ω')}"
    if loop.amps >= loop.limit_a * (1 - ALIKE):
        return Step(
            "current, no more than the sources give", f"min({num(loop.limit_a)} A, {expression})", loop.amps, "A"
        )
    return Step("current", expression, loop.amps, "A")


def _of_several(study: Study, loop: Loop, largest: bool) -> list[Line]:
    """Sources together, or ways side by side with sources between: what they act as, from the nodal matrix."""
    nodes = study.design.circuit.nodes
    place = nodes[loop.joint].name
    names = " and ".join(nodes[n].name for n in loop.sources)
    lines: list[Line] = [
        Note(f"{names} act together at {place}: all ways to it solved at once by the nodal matrix of the circuit"),
        Fact("voltage there without the fault", qty(loop.volts + loop.drop_v, "V")),
        Fact("resistance there, towards all sources", qty(loop.joint_ohm, "Ω")),
    ]
    shares = shares_of(study.faults(), loop) if largest else []
    if shares:
        rows = _share_rows(study, loop, shares, lines)
        lines.append(Sum(f"what comes to {place} when it is shorted", rows, loop.joint_a, "A"))
    rows_ = [Row(loop.joint_ohm, f"up to {place}")]
    for item in loop.items:
        rows_ += item_rows(study, item, largest)
    if len(rows_) > 1:
        lines.append(Sum("with what follows, there and back", tuple(rows_), loop.ohm, "Ω"))
    return [*lines, _current(loop)]


def _share_rows(study: Study, loop: Loop, shares: list[tuple[int, float]], lines: list[Line]) -> tuple[Row, ...]:
    """What each edge brings to a place that is shorted; ``lines`` are given the loops of those that are one source."""
    nodes, edges = study.design.circuit.nodes, study.design.circuit.edges
    rows = []
    for edge, amps in shares:
        if edge < 0:
            rows.append(Row(amps, f"{nodes[-1 - edge].name} itself"))
            continue
        reckoned = _branch(study, loop, edge, amps, lines)
        position = f" in position {edges[edge].position}" if edges[edge].position else ""
        rows.append(Row(amps, f"by {edges[edge].element.name}{position}", reckoned))
    return tuple(rows)


def _rest_lines(study: Study, edge: int, amps: float) -> list[Line]:
    """What all but its own branch drives through a device that is shorted right behind it."""
    faults, circuit = study.faults(), study.design.circuit
    for near in (study.net.u[edge], study.net.v[edge]):
        loop = loop_of(faults, near, faults.largest(near), True)
        if loop is None or loop.joint != near:
            continue
        rest = [(e, a) for e, a in shares_of(faults, loop) if e != edge]
        if rest and math.isclose(sum(a for _, a in rest), amps, rel_tol=1e-4):
            place = circuit.nodes[near].name
            lines = [line for n in loop.sources for line in source_lines(study, n, loop.pairs[n], True)]
            rows = _share_rows(study, loop, rest, lines)
            what = f"what comes to {place} otherwise, all of which flows on through {circuit.edges[edge].element.name}"
            return [*lines, Sum(what, rows, amps, "A")]
    return []


def before_lines(study: Study, edge: int, amps: float) -> list[Line]:
    """What drives the current through a device that stands in the midst of sources and is shorted right behind it: one
    source alone, or all but its own branch; empty where it is not so simple."""
    known = before_of(study.faults(), edge, amps)
    if known is None:
        return _rest_lines(study, edge, amps)
    near, source, items, ohm = known
    nodes, pair = study.design.circuit.nodes, study.faults().pairs[source][0]
    name, device = nodes[source].name, study.design.circuit.edges[edge].element.name
    rows = [Row(pair.resistance_ohm, f"{name}, inside")]
    for item in items:
        rows += item_rows(study, item, True)
    volts = " − ".join([f"{num(pair.voltage_v)} V", *(f"{num(i.drop_v)} V" for i in items if i.drop_v)])
    volts = f"({volts})" if "−" in volts else volts
    return [
        Note(f"shorted right behind it, {device} carries what {name} drives over {nodes[near].name}"),
        *source_lines(study, source, pair, True),
        Sum(f"from {name} to {nodes[near].name}, there and back", tuple(rows), ohm, "Ω"),
        Step("current through it", f"{volts} ÷ {qty(ohm, 'Ω')}", amps, "A"),
    ]


def _branch(study: Study, loop: Loop, edge: int, amps: float, lines: list[Line]) -> str:
    """How the share of one source comes about, where it comes by an edge alone."""
    known = branch_of(study.faults(), loop, edge)
    if known is None:
        return ""
    source, items, ohm = known
    volts = loop.pairs[source].voltage_v - sum(i.drop_v for i in items)
    if not math.isclose(volts / ohm, amps, rel_tol=1e-4):
        return ""
    name = study.design.circuit.nodes[source].name
    rows = [Row(loop.pairs[source].resistance_ohm, f"{name}, inside")]
    for item in items:
        rows += item_rows(study, item, True)
    lines.append(
        Sum(f"from {name} by {study.design.circuit.edges[edge].element.name}, there and back", tuple(rows), ohm, "Ω")
    )
    drops = "".join(f" − {num(i.drop_v)} V" for i in items if i.drop_v)
    base = f"{num(loop.pairs[source].voltage_v)} V{drops}"
    return f"({base}) ÷ {qty(ohm, 'Ω')}" if drops else f"{base} ÷ {qty(ohm, 'Ω')}"


def _name(study: Study, item: Item) -> str:
    return study.design.circuit.edges[item.edge].element.name if item.edge >= 0 else item.words


def item_rows(study: Study, item: Item, largest: bool) -> list[Row]:
    """What one part of a loop adds, in ohm; a conductor there and back."""
    if item.edge < 0:
        return [Row(item.ohm, item.words)]
    edge = study.design.circuit.edges[item.edge]
    if edge.kind == "link":
        return []
    if edge.kind == "conductor" and isinstance(edge.element, Conductor):
        made = legs(edge.element, largest)
        if made and math.isclose(sum(leg.ohm for leg in made), item.ohm, rel_tol=1e-6, abs_tol=1e-12):
            there, back = made
            if there.metres == back.metres and there.size == back.size:
                return [leg_row(edge.element, there, 2)]
            return [leg_row(edge.element, leg) for leg in made]
        nil = not edge.element.size or edge.element.length_m is None
        return [Row(item.ohm, f"{edge.element.name}{': its size or length is not given, counts as nil' * nil}")]
    known = study.faults().edges[item.edge]
    if known.missing == "resistance":
        if item.ohm:
            return [Row(item.ohm, f"{edge.element.name}: nobody states its resistance, taken so at most")]
        return [Row(0.0, f"{edge.element.name}: nobody states its resistance, counts as nil")]
    return [Row(item.ohm, edge.element.name)]


def leg_row(conductor: Conductor, leg: Leg, times: int = 1) -> Row:
    """A conductor there or back; there and back at once where both are alike."""
    made = leg.resistance
    zero_c = copper().zero_resistance_c
    expression = f"{f'{times} × ' if times > 1 else ''}{num(leg.metres)} m × {qty(made.ohm_per_m_at_20_c, 'Ω/m')}"
    if made.temperature_c != COLD_C:
        expression += f" × ({num(zero_c)} + {num(made.temperature_c)}) ÷ ({num(zero_c)} + {num(COLD_C)})"
    note = f", {made.note}" if made.note else ""
    which = "there and back" if times > 1 else leg.which
    what = f"{conductor.name} {which}, {leg.size}, {made.temperature_c:g} °C{note}"
    return Row(times * leg.ohm, what, expression, str(made.cite))


def source_lines(study: Study, node: int, pair: SourcePair, largest: bool) -> list[Line]:
    """A source's voltage and resistance in one case, from what its maker states."""
    made = study.design.circuit.nodes[node]
    source = made.source
    assert source is not None
    name, factors = source.name, battery_short_circuit()
    if pair.limit_a < math.inf:
        limits: list[Line] = [Fact(f"{name} limits itself to", qty(pair.limit_a, "A"), source.says())]
        if pair.peak_a:
            limits.append(Fact(f"{name}, until its electronics have acted", qty(pair.peak_a, "A"), source.says()))
        return limits
    nominal = nominal_v(source, made.system.voltage_v if made.system else None)
    lines: list[Line] = []
    if largest:
        expression = f"{num(factors.voltage_factor)} × {num(nominal)} V"
        if source.greatest_v:
            expression = f"max({num(source.greatest_v)} V, {expression})"
    else:
        expression = f"{num(factors.steady_voltage_factor)} × {num(factors.voltage_factor)} × {num(nominal)} V"
    lines.append(Step(f"{name}, voltage", expression, pair.voltage_v, "V", str(factors.cite)))
    return [*lines, *_inside(source, nominal, pair, largest)]


def _inside(source: Source, nominal: float, pair: SourcePair, largest: bool) -> list[Line]:
    factors, ohm = battery_short_circuit(), pair.resistance_ohm
    what = f"{source.name}, resistance"
    stated = source.resistance_ohm
    if stated is None and source.short_circuit_a and nominal:
        least = most = nominal / source.short_circuit_a
        origin = f"{num(nominal)} V ÷ {num(source.short_circuit_a)} A"
    elif stated is not None:
        least, most = stated
        origin = ""
    else:
        words = pair.leans_on or "nobody states it"
        return [Fact(what, f"{qty(ohm, 'Ω')}: {words}"), Note(f"the resistance of {source.name} is not stated", True)]
    shown = origin or qty(least if largest else most, "Ω")
    if not largest:
        if not origin and source.short_circuit_a and nominal / source.short_circuit_a > most:
            shown = f"max({shown}, {num(nominal)} V ÷ {num(source.short_circuit_a)} A)"
        elif not origin:
            return [Fact(what, f"{shown} (the greatest stated)", source.says())]
        return [Step(what, shown, ohm, "Ω", source.says())]
    expression = f"{num(factors.peak_resistance_factor)} × {shown}"
    if source.short_circuit_a:
        expression = f"min({expression}, {num(pair.voltage_v)} V ÷ {num(source.short_circuit_a)} A)"
    return [Step(what, expression, ohm, "Ω", str(factors.cite))]
