"""The worksheet of a conductor."""

from __future__ import annotations

import math

from linter.model.elements import Conductor, Device, Source
from linter.report.worksheet.currents import prospective_lines
from linter.report.worksheet.heat import heat_section, time_section
from linter.report.worksheet.sheet import Fact, Judgement, Note, Row, Section, Step, Sum, num, qty
from linter.report.worksheet.voltage import drop_section
from linter.rules.words import metres, names, point
from linter.source.units import Quantity
from linter.study.capacity import Capacity, capacity, thinner_return
from linter.study.cranking import besides_cranking
from linter.study.study import ConductorStudy, Study, Verdict
from linter.study.workings import load_parts, stretch_way
from linter.tables.devices import is_standard, overload_condition

VERDICTS = {
    Verdict.PROTECTED: "protected: its guard opens before it is overloaded",
    Verdict.WITHIN_DISTANCE: "without a guard at its beginning, but only for an allowed stretch",
    Verdict.TOO_FAR: "without a guard for too long a stretch",
    Verdict.UNPROTECTED: "unprotected",
    Verdict.CRANKING: "declared as a cranking feed: exempt",
    Verdict.UNKNOWN: "not known: a figure is missing",
    Verdict.NOT_FED: "no source feeds it",
}


def conductor_sections(study: Study, made: ConductorStudy) -> list[Section]:
    near, far = _ends(study, made)
    return [
        _facts(study, made),
        *(_ampacity(made, c) for c in made.capacities),
        _governing(made),
        _load(study, made),
        _guard(study, made),
        *_thin_return(study, made),
        _stretch(study, made),
        Section("Largest fault current at its beginning", prospective_lines(
            study, "largest", near, study.faults().largest(near), True)),
        Section("Smallest fault current at its far end", prospective_lines(
            study, "smallest", far, study.faults().smallest(far), False), frozenset({"source-resistance"})),
        time_section(study, made),
        heat_section(study, made),
        drop_section(study, made),
    ]  # fmt: skip


def _ends(study: Study, made: ConductorStudy) -> tuple[int, int]:
    """(the end towards the sources, the other): in a mesh the end with the larger fault current comes first."""
    edge, faults = made.edge, study.faults()
    far = study.parts.leads_to[edge.index]
    if far < 0:
        far = edge.v if faults.largest(edge.u).amps >= faults.largest(edge.v).amps else edge.u
    return study.net.other(edge.index, far), far


def _facts(study: Study, made: ConductorStudy) -> Section:
    conductor, circuit = made.conductor, study.design.circuit
    found = Section("The conductor", rules=frozenset({"contradicts-part", "figure-missing"}))
    found.fact("from", f"{circuit.nodes[made.edge.u].name} to {circuit.nodes[made.edge.v].name}")
    found.fact("system", made.system.name if made.system else "")
    found.fact("part", conductor.part.name if conductor.part else "", conductor.says())
    if conductor.size is None:
        found.missing("its size is not given: nothing can be said of what it carries")
    else:
        found.fact("size", conductor.size.text)
        if conductor.size.awg:
            found.fact("area", qty(conductor.size.value, "mm²"), "ASTM B258")
    if conductor.length_m is None:
        found.missing("its length is not given: no fault current and no drop beyond it is known")
    else:
        found.fact("length", _length(conductor, "length", conductor.length_m))
    if conductor.return_m is not None:
        found.fact("return", _length(conductor, "return length", conductor.return_m))
    if conductor.return_size is not None:
        found.fact("return's size", conductor.return_size.text)
    if conductor.insulation_c is None:
        found.missing("the temperature of its insulation is not given: the lowest column of the table is taken")
    else:
        found.fact("insulation", f"{conductor.insulation_c:g} °C")
    if conductor.stranding is not None:
        found.fact("stranding", f"class {conductor.stranding}")
    found.fact("strands", {True: "tinned", False: "plain"}.get(conductor.tinned, "not said whether tinned"))  # type: ignore[arg-type]
    places = [conductor.place.name] if conductor.place else []
    places += [f"{metres(m)} in {p.name}" if m is not None else p.name for m, p in conductor.route]
    found.fact("lies in", ", ".join(dict.fromkeys(places)))
    found.fact("covered by", ", ".join(conductor.covering))
    if conductor.bundle > 1:
        found.fact("bundle of", conductor.bundle)
    found.fact("colour", conductor.colour)
    if conductor.cranking:
        found.note("it is declared as a cranking feed")
    return found


def _length(conductor: Conductor, key: str, length_m: float) -> str:
    """A length as it is written, and in metres where that is something else."""
    fact = conductor.facts.get(key)
    written = next((v.text for v in fact.values if isinstance(v, Quantity)), "") if fact is not None else ""
    metric = f"{num(length_m)} m"
    return metric if not written or written == metric else f"{written} ({metric})"


def _ampacity(made: ConductorStudy, capacity: Capacity) -> Section:
    book, size = capacity.rulebook, made.conductor.size
    found = Section(f"What {book.name} lets it carry")
    less = "less than " if capacity.bound else ""
    found.fact(
        "table",
        f"row {capacity.row}, column {capacity.column_c:g} °C: {less}{qty(capacity.table_a, 'A')}",
        capacity.cite,
    )
    if size is not None and not capacity.row.startswith(size.text.split()[0]):
        found.note(f"{size.text} ({qty(size.value, 'mm²')}) stands between rows: the next row below is taken")
    found.note(f"the table holds at up to {book.capacity.basis_ambient_c:g} °C around the conductor")
    for factor in capacity.factors:
        if factor.formula:
            found.add(Step(f"factor {factor.why}", factor.formula, factor.value, "", str(factor.cite)))
        else:
            found.fact(f"factor {factor.why}", num(factor.value), factor.cite)
    if len(made.conductor.route) > 1 or (made.conductor.route and made.conductor.place):
        found.note("it lies in several places: the hottest of them governs its whole length")
    if made.conductor.bundle > 1 and not any("bundle" in f.why for f in capacity.factors):
        found.note(f"{book.name} states no factor for {made.conductor.bundle} in a bundle at this voltage")
    figures = (capacity.table_a, *(f.value for f in capacity.factors))
    expression = " × ".join([qty(figures[0], "A"), *(num(f) for f in figures[1:])])
    found.add(Step("ampacity", expression, capacity.ampacity_a, "A"))
    for missing in capacity.missing:
        found.missing(missing)
    if capacity.bound:
        found.missing(f"no row of {book.name} is so small: it carries less than this, nobody says how much less")
    _allowed(found, capacity)
    return found


def _allowed(found: Section, capacity: Capacity) -> None:
    limit, name = capacity.limit, capacity.rulebook.name
    if limit is None:
        found.note(f"{name} states no limit for its guard: its ampacity is taken")
        return
    reach = limit.multiple * capacity.ampacity_a
    if math.isclose(capacity.allowed_a, reach):
        expression = f"{num(limit.multiple)} × {num(capacity.ampacity_a)} A"
        found.add(Step("greatest rating of its guard", expression, capacity.allowed_a, "A", str(limit.cite)))
        if limit.next_standard_up_to is not None and not is_standard(reach):
            found.note(f"the next standard rating above is more than {limit.next_standard_up_to:.0%} of the ampacity")
        return
    found.fact("greatest rating of its guard", f"{qty(capacity.allowed_a, 'A')}, the next standard rating", limit.cite)
    assert limit.next_standard_up_to is not None
    most = limit.next_standard_up_to * capacity.ampacity_a
    expression = f"{num(limit.next_standard_up_to)} × {num(capacity.ampacity_a)} A"
    found.add(Step("as long as it is no more than", expression, most, "A", str(limit.cite)))
    found.add(Judgement("that rating", capacity.allowed_a, "≤", most, "A", "so much"))


def _governing(made: ConductorStudy) -> Section:
    found = Section("Which rulebook governs", rules=frozenset({"conductor-too-small"}))
    if not made.capacities:
        found.missing("without a size no rulebook says anything")
        return found
    least, governing = made.least_capacity, made.governing
    assert least is not None and governing is not None
    for one in made.capacities:
        shown = f"ampacity {qty(one.ampacity_a, 'A')}, guard of at most {qty(one.allowed_a, 'A')}"
        found.fact(one.rulebook.name, shown, f"known: {one.status}")
    if len(made.capacities) > 1:
        found.fact("for the ampacity", f"{least.rulebook.name}: {qty(least.ampacity_a, 'A')}")
        found.fact("for the guard", f"{governing.rulebook.name}: {qty(governing.allowed_a, 'A')}")
    return found


def _load(study: Study, made: ConductorStudy) -> Section:
    rules = frozenset({"conductor-overloaded", "cable-less-than-asked", "feeds-nothing"})
    found = Section("Load current", rules=rules)
    add_load_current(study, made.edge, found)
    if made.load is None:
        return found
    load_a = made.load.amps
    if made.conductor.cranking:
        other = besides_cranking(study).get(made.edge.index)
        load_a = other.amps if other is not None else 0.0
        case = f", {other.case}" if other is not None and other.case else ""
        found.fact("besides what starters draw, which lasts for seconds", qty(load_a, "A") + case)
    if made.least_capacity is not None:
        what = f"ampacity by {made.least_capacity.rulebook.name}"
        found.add(Judgement("load current", load_a, "≤", made.least_capacity.ampacity_a, "A", what))
    return found


def add_load_current(study: Study, edge: object, found: Section) -> None:
    """The worst load current of an edge, and the loads it is made of."""
    from linter.model.circuit import Edge

    assert isinstance(edge, Edge)
    load = study.loads.get(edge.index)
    if load is None:
        found.note("no load current flows through it by intention")
        return
    parts = load_parts(study, edge)
    rows = tuple(Row(amps, name) for name, amps in parts)
    if rows:
        found.add(Sum(f"worst case: {load.case}", rows, load.amps, "A"))
    else:
        found.fact("load current", qty(load.amps, "A"))
        found.fact("worst case", load.case)
        found.note("it is no plain sum: in a ring the worst is taken, and a source gives no more than it can")
    if load.continuous_a:
        found.fact("of it for three hours or more", qty(load.continuous_a, "A"))


def _guard(study: Study, made: ConductorStudy) -> Section:
    rules = frozenset({
        "conductor-unprotected", "overload-condition", "device-bypassed", "cranking-misdeclared",
    })  # fmt: skip
    found = Section("Its guard", rules=rules)
    found.note("what can persist in it without anything opening, from either end, over all sources at once")
    elements = study.design.elements
    rows = []
    for name in made.guard:
        element = elements.get(name)
        if isinstance(element, Device) and element.rated_a is not None:
            rows.append(Row(element.rated_a, f"{name}, rated"))
        elif isinstance(element, Source):
            rows.append(Row(element.limit_a, f"{name}, the most it gives"))
        else:
            source = getattr(element, "output", None)
            if isinstance(source, Source):
                rows.append(Row(source.limit_a, f"{name}, the most it gives"))
    whole = bool(rows) and math.isclose(sum(r.value for r in rows), made.let_through_a, rel_tol=1e-9)
    if math.isinf(made.let_through_a):
        found.note("nothing opens: any current can persist in it")
    elif not made.let_through_a:
        found.note("no source feeds it")
    elif whole:
        found.add(Sum("let-through, what stands together before it", tuple(rows), made.let_through_a, "A"))
    else:
        found.fact("let-through", qty(made.let_through_a, "A"))
        found.fact("held back by", names(made.guard))
    governing = made.governing
    if governing is not None and made.let_through_a:
        then = (
            "see the unprotected stretch"
            if made.stretch
            else "a cranking feed is exempt"
            if made.conductor.cranking
            else ""
        )
        limit = governing.limit
        found.add(
            Judgement(
                "let-through", made.let_through_a, "≤", governing.allowed_a, "A",
                f"allowed by {governing.rulebook.name}", then, str(limit.cite) if limit else "",
            )
        )  # fmt: skip
    _operating(study, made, found)
    found.fact("verdict", VERDICTS[made.verdict])
    return found


def _thin_return(study: Study, made: ConductorStudy) -> list[Section]:
    """What a return that is thinner than its live conductor may have as a guard."""
    own = thinner_return(made.conductor, made.system)
    if own is None:
        return []
    found = Section("Its return, which is thinner", rules=frozenset({"return-unprotected"}))
    found.fact("size", own.size.text)
    allowed = [capacity(own, book) for book in study.rulebooks]
    for one in allowed:
        name, less = one.rulebook.name, "less than " if one.bound else ""
        found.fact(
            f"table of {name}", f"row {one.row}, column {one.column_c:g} °C: {less}{qty(one.table_a, 'A')}", one.cite
        )
        expression = " × ".join([qty(one.table_a, "A"), *(num(f.value) for f in one.factors)])
        found.add(Step(f"ampacity by {name}", expression, one.ampacity_a, "A"))
        found.fact("greatest rating of its guard", qty(one.allowed_a, "A"), one.limit.cite if one.limit else "")
    least = min(allowed, key=lambda c: c.allowed_a, default=None)
    if least is not None and made.let_through_a:
        then = "a cranking feed is exempt" if made.conductor.cranking else "its live side is exposed as well"
        otherwise = then if made.conductor.cranking or made.verdict is Verdict.UNPROTECTED else ""
        whose = f"allowed by {least.rulebook.name}"
        found.add(Judgement("let-through", made.let_through_a, "≤", least.allowed_a, "A", whose, otherwise))
    return [found]


def _operating(study: Study, made: ConductorStudy, found: Section) -> None:
    """Where one device guards it: from which current on that is promised to open, IEC 60364-4-43, 433.1."""
    if made.verdict is not Verdict.PROTECTED or not made.ampacity_a or len(made.guard) != 1:
        return
    edge = study.design.circuit.edge_of.get(made.guard[0])
    curve = study.openings().curve(edge.index) if edge is not None and edge.kind == "device" else None
    if curve is None or not curve.slow:
        return
    condition = overload_condition()
    most = condition.operating_multiple * made.ampacity_a
    expression = f"{num(condition.operating_multiple)} × {num(made.ampacity_a)} A"
    found.add(
        Step("it may be overloaded up to", expression, most, "A", str(condition.cite)),
        Judgement(f"{made.guard[0]} is sure to open from", curve.operating_a, "≤", most, "A", "the overload allowed"),
    )


def _stretch(study: Study, made: ConductorStudy) -> Section:
    rules = frozenset({"protection-distance"})
    found = Section("The unprotected stretch", rules=rules)
    stretch, nodes, edges = made.stretch, study.design.circuit.nodes, study.design.circuit.edges
    if stretch is None:
        found.note("none: its guard stands before it" if made.verdict is Verdict.PROTECTED else "not asked for here")
        return found
    if stretch.supply_node >= 0:
        found.fact("supplied at", point(study, stretch.supply_node))
    if stretch.problem:
        at = point(study, stretch.at_node) if stretch.at_node >= 0 else ""
        found.note(f"no device at its end guards it: it {stretch.problem.replace('{node}', at)}")
        return found
    rows = [Row(d.rated_a or 0.0, d.name) for d in (edges[e.edge].device for e in stretch.devices)]
    if rows and math.isclose(sum(r.value for r in rows), stretch.sum_a, rel_tol=1e-9):
        found.add(Sum("ratings at the end of the stretch", tuple(rows), stretch.sum_a, "A"))
    else:
        found.fact("ratings at the ends of the stretch, together", qty(stretch.sum_a, "A"))
    if made.allowed_a is not None:
        found.add(Judgement("together", stretch.sum_a, "≤", made.allowed_a, "A", "allowed for it"))
    for end in stretch.devices:
        name = edges[end.edge].element.name
        way = stretch_way(study, made, end)
        if end.distance_m is None:
            found.missing(f"how far {name} is along the conductor is not known: a length is not given")
            continue
        passed = []
        node = stretch.supply_node
        for edge in way:
            node = study.net.other(edge, node)
            element = edges[edge].element
            length = element.length_m if edges[edge].kind == "conductor" and isinstance(element, Conductor) else 0.0
            passed.append(Row(length or 0.0, f"{element.name} to {nodes[node].name}"))
        if passed:
            start = nodes[stretch.supply_node].name
            found.add(Sum(f"from {start} along the conductor to {name}", tuple(passed), end.distance_m, "m"))
        else:
            found.fact(f"along the conductor to {name}", metres(end.distance_m))
        if end.limit is None or end.rulebook is None:
            found.note("no rulebook of this boat allows a stretch here")
        elif end.limit.limit_mm is None:
            found.fact(end.rulebook.name, end.limit.words, end.limit.cite)
        else:
            covered = "covered all the way" if end.covered else "not covered all the way"
            found.fact("tied to", f"{stretch.tied if stretch.tied != 'any' else 'another supply point'}, {covered}")
            found.add(
                Judgement(
                    "distance", end.distance_m, "≤", end.limit.limit_mm / 1000, "m", f"allowed by {end.rulebook.name}",
                    cite=str(end.limit.cite),
                )
            )  # fmt: skip
    return found


__all__ = ["Fact", "Note", "add_load_current", "conductor_sections"]
