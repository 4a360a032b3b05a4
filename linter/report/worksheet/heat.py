"""Opening times and heat on a worksheet: when the first device opens, and what the conductor stands."""

from __future__ import annotations

import math

from linter.report.worksheet.sheet import Fact, Judgement, Line, Note, Section, Step, num, qty
from linter.rules.words import names
from linter.study.curve import Curve
from linter.study.heating import Withstand, ambient_c
from linter.study.impedance import working_temperature_c
from linter.study.opening import Clears, Heat, Moment
from linter.study.study import ConductorStudy, Study
from linter.study.workings import same, where_on
from linter.tables.conductors import fault_opening, short_circuit

# The steps at which heat is shown, besides the ends and the worst.
GREATEST_SHOWN = 8


def time_section(study: Study, made: ConductorStudy) -> Section:
    found = Section("Opening on the smallest fault", rules=frozenset({"not-opened-in-time"}))
    ways = _ways(study, made, found)
    limit = fault_opening()
    for way in ways:
        _way_said(study, way, found)
        if way.unknown:
            continue
        _moment(study, way.first, found)
        if not math.isinf(way.first.seconds):
            whose = "the greatest time, as no rulebook states one"
            found.add(
                Judgement("opened after", way.first.seconds, "≤", limit.greatest_s, "s", whose, cite=str(limit.cite))
            )
        else:
            found.note("nothing is sure to open")
    return found


def _ways(study: Study, made: ConductorStudy, found: Section) -> list[Clears]:
    ways = study.clears(made)
    if not ways:
        found.note(
            "not judged: sources that limit themselves feed it only, it is no more than a stretch before its guard, a "
            "cranking feed, or lacks a figure"
        )
    return ways


def _way_said(study: Study, way: Clears, found: Section) -> None:
    circuit = study.design.circuit
    sources = " and ".join(circuit.nodes[s].name for s in way.sources)
    chain = " then ".join(circuit.edges[e].element.name for e in way.chain) or "no device"
    if way.unknown:
        # which devices open is not followed then
        found.fact("fed by", f"{sources}, through {chain}" if way.chain else sources)
        found.missing("the current is not known: a source's resistance, or a conductor's size or length, is not given")
    else:
        found.fact("fed by", f"{sources}, through {chain}")
    for words in way.leans_on:
        found.missing(f"leans on {words}")


def _moment(study: Study, moment: Moment, found: Section) -> None:
    edges = study.design.circuit.edges
    found.fact("smallest fault current", qty(moment.amps, "A"))
    if moment.by < 0:
        return
    found.add(
        *opening_lines(edges[moment.by].element.name, study.openings().curve(moment.by), moment.amps, moment.seconds)
    )
    if not moment.told:
        found.missing("a curve on the way is not stated so far up: this time is only a bound")


def opening_lines(name: str, curve: Curve | None, amps: float, seconds: float) -> list[Line]:
    """By when a device has opened at a current, from the points of its curve."""
    what = f"{name} has opened at {num(amps)} A after"
    if curve is None or not same(curve.slowest(amps).seconds, seconds):
        return [Fact(what, qty(seconds, "s"))]
    where = where_on(curve, amps)
    if where is None:
        return [Note(f"{name} need never open at {num(amps)} A")]
    cite = str(curve.cite)
    if where.energy is not None:
        a2s, to_a = where.energy
        return [Step(what, f"{qty(a2s, 'A²s')} ÷ ({num(min(amps, to_a))} A)²", seconds, "s", cite)]
    if where.left is None:
        return [Fact(what, qty(seconds, "s"), cite)]
    if where.right is None:
        return [Fact(what, f"{qty(seconds, 's')}, its point at {num(where.left[0])} A", cite)]
    (left_a, left_s), (right_a, right_s) = where.left, where.right
    power = f"(ln({num(right_s / left_s)}) ÷ ln({num(right_a / left_a)}))"
    expression = f"{qty(left_s, 's')} × ({num(amps)} ÷ {num(left_a)}) ^ {power}"
    points = f"between its points {num(left_a)} A in {qty(left_s, 's')} and {num(right_a)} A in {qty(right_s, 's')}"
    return [Note(f"{name}: {points}, straight in logarithms"), Step(what, expression, seconds, "s", cite)]


def heat_section(study: Study, made: ConductorStudy) -> Section:
    found = Section("Heat until the device opens", rules=frozenset({"harmed-before-opening"}))
    stands = study.stands(made)
    if stands is None:
        found.note("not judged: it has no guard that should open first, or lacks a figure")
        return found
    add_withstand(made, stands, found)
    ways = _ways(study, made, found)
    for way in ways:
        _way_said(study, way, found)
        if not way.unknown:
            _heats(study, way, stands, found)
    return found


def add_withstand(made: ConductorStudy, stands: Withstand, found: Section) -> None:
    """k and k²S² of a conductor."""
    hot, around = working_temperature_c(made.conductor), ambient_c(made.conductor)
    around = min(around, hot)
    assert made.ampacity_a is not None
    ampacity_a = stands.return_ampacity_a if stands.of_return else made.ampacity_a
    share = "1"
    if math.isfinite(made.let_through_a) and ampacity_a:
        share = f"min(1, {num(made.let_through_a)} ÷ {num(ampacity_a)})²"
    if stands.of_return:
        found.note("the return is thinner and stands less: it carries the same fault")
    found.add(
        Step(
            "temperature before the fault", f"{num(around)} + ({num(hot)} − {num(around)}) × {share}", stands.initial_c,
            "°C", "heat as the square of what persists (common practice)",
        )
    )  # fmt: skip
    found.fact("the insulation bears for a moment", f"{stands.final_c:g} °C", stands.cite)
    law = short_circuit()
    before = round(stands.initial_c, 1)
    expression = (
        f"{num(law.constant)} × √(ln(1 + ({num(stands.final_c)} − {num(before)}) ÷ "
        f"({num(law.zero_resistance_c)} + {num(before)})))"
    )
    found.add(Step("k", expression, stands.k, "A√s/mm²", str(law.cite)))
    found.add(Step("it stands", f"({num(stands.k)} × {num(stands.area_mm2)})²", stands.a2s, "A²s"))


def _heats(study: Study, way: Clears, stands: Withstand, found: Section) -> None:
    """The heat at the ends of the range of fault current, at the corners of the curves between, and the worst."""
    openings, edges = study.openings(), study.design.circuit.edges
    found.fact("fault currents", f"{qty(way.first.amps, 'A')} to {qty(way.largest_a, 'A')}")
    worst = [h for h in (way.heat, way.beyond) if h is not None]
    if way.followed is None and way.chain:
        corners = list(openings.corners(way.chain, way.smallest_a, way.largest_a, stands.greatest_s))
        shown: list[float] = []
        for amps in corners:
            if not shown or amps > shown[-1] * (1 + 1e-6):
                shown.append(amps)
        for amps in shown[:GREATEST_SHOWN]:
            moment = openings.moment(way.chain, amps)
            if moment.seconds <= stands.greatest_s * (1 + 1e-6) and moment.by >= 0:
                _heat_step(edges[moment.by].element.name, amps, moment.seconds, found)
    for heat in worst:
        _worst(study, heat, found)
    if not worst:
        found.note(f"nothing opens within {stands.greatest_s:g} s: judged by the time, and as an overload")


def _heat_step(name: str, amps: float, seconds: float, found: Section) -> None:
    expression = f"({num(amps)} A)² × {qty(seconds, 's')}"
    found.add(Step(f"at {num(amps)} A, {name}", expression, amps * amps * seconds, "A²s"))


def _worst(study: Study, heat: Heat, found: Section) -> None:
    edges, moment = study.design.circuit.edges, heat.moment
    by = edges[moment.by].element.name if moment.by >= 0 else "nothing"
    if same(moment.amps * moment.amps * moment.seconds, heat.a2s):
        expression = f"({num(moment.amps)} A)² × {qty(moment.seconds, 's')}"
        found.add(Step(f"the worst, {by} opening", expression, heat.a2s, "A²s"))
    else:
        found.fact(
            f"the worst, {by} opening last", f"{qty(heat.a2s, 'A²s')}, in steps as one device after another opens"
        )
    if not moment.told:
        untold = [edges[e].element.name for e in moment.untold]
        found.missing(f"the curve of {names(untold)} is not stated so far up: this heat is only a bound")
    stands = heat.withstand
    found.add(Judgement("heat", heat.a2s, "≤", stands.a2s, "A²s", "it stands", cite=str(stands.cite)))
