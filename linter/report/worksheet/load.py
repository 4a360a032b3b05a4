"""The worksheet of a load."""

from __future__ import annotations

from linter.model.elements import Converter, Load
from linter.report.worksheet.device import rating_lines, start_lines
from linter.report.worksheet.sheet import Judgement, Section, Step, num, qty
from linter.report.worksheet.voltage import load_section
from linter.rules.words import metres, seconds, upstream, wording
from linter.study.cases import CONTINUOUS_S, draws_a
from linter.study.starting import start_shares
from linter.study.study import Study


def load_sections(study: Study, node: int) -> list[Section]:
    return [_facts(study, node), _draws(study, node), _asked(study, node), _way(study, node), _starts(study, node),
            load_section(study, node)]  # fmt: skip


def _load(study: Study, node: int) -> Load:
    load = study.design.circuit.nodes[node].load
    assert load is not None
    return load


def _facts(study: Study, node: int) -> Section:
    load, system = _load(study, node), study.design.circuit.nodes[node].system
    rules = frozenset({"contradicts-part", "figure-missing", "not-fed", "not-ignition-protected"})
    found = Section("The load", rules=rules)
    found.fact("kind", load.sort or load.kind)
    found.fact("part", load.part.name if load.part else "", load.says())
    found.fact("system", f"{system.name}, {qty(system.voltage_v, 'V')}" if system and system.voltage_v else "")
    found.fact("lies in", load.place.name if load.place else "")
    for word, said in (("vital", load.vital), ("always on", load.always_on), ("a cranking motor", load.cranking)):
        if said:
            found.note(f"it is {word}")
    if load.works_from_v is not None:
        found.fact("works from", qty(load.works_from_v, "V"), load.says())
    if load.voltage_range_v is not None:
        least, greatest = load.voltage_range_v
        found.fact("takes", f"{qty(least, 'V')} to {qty(greatest, 'V')}", load.says())
    if not study.fed(node):
        found.note("no source feeds it")
    return found


def _draws(study: Study, node: int) -> Section:
    made, load = study.design.circuit.nodes[node], _load(study, node)
    found = Section("What it draws", rules=frozenset({"cranking-misdeclared"}))
    amps = draws_a(load, made)
    volts = load.voltage_v or (made.system.voltage_v if made.system else None)
    if amps is None:
        found.missing("what it draws is not given: it counts as nothing in every load current and voltage")
    elif load.draws_a is not None:
        found.fact("it draws", qty(amps, "A"), load.says())
    elif load.draws_w is not None and volts:
        found.add(Step("it draws", f"{num(load.draws_w)} W ÷ {num(volts)} V", amps, "A", load.says()))
    elif isinstance(load, Converter) and load.output is not None and load.efficiency and volts:
        out = load.output
        if out.rated_a is not None and out.voltage_v is not None:
            expression = f"{num(out.rated_a)} A × {num(out.voltage_v)} V ÷ {num(load.efficiency)} ÷ {num(volts)} V"
            found.add(Step("it draws, with its output fully loaded", expression, amps, "A", load.says()))
    if load.continuous:
        found.note("it is stated to run continuously")
    if load.runs_s_a_day is not None:
        longer = "continuous" if load.runs_s_a_day >= CONTINUOUS_S else "intermittent"
        found.fact("it runs a day", f"{num(load.runs_s_a_day / 3600)} h: {longer}")
    return found


def _asked(study: Study, node: int) -> Section:
    load, edges = _load(study, node), study.design.circuit.edges
    found = Section("What its maker asks for", rules=frozenset({"device-not-as-asked", "cable-less-than-asked"}))
    before = upstream(study, node)
    if not load.asks:
        found.note("its maker asks for no device and no cable")
    for ask in load.asks:
        if ask.cable is not None:
            found.fact("a cable of at least", ask.cable.text, load.says())
            for edge in before.conductors:
                conductor = edges[edge].conductor
                if conductor.size is not None:
                    limit = ask.cable.value
                    found.add(Judgement(f"{conductor.name}, area", conductor.size.value, "≥", limit, "mm²", "asked"))
            continue
        found.fact("a device", wording(ask), load.says())
        if not before.devices:
            found.note("there is no device on its way")
        for edge in before.devices:
            found.add(*rating_lines(edges[edge].device, ask))
    return found


def _way(study: Study, node: int) -> Section:
    """The conductors from the nearest device, and their guards."""
    edges = study.design.circuit.edges
    found = Section("The way from its nearest device")
    before = upstream(study, node)
    for edge in before.devices:
        device = edges[edge].device
        found.fact("device", f"{device.name}, {device.kind}" + (f", {device.rated_a:g} A" if device.rated_a else ""))
    if before.bare:
        found.note("sources feed it with no device on the way")
    for edge in reversed(before.conductors):
        made = study.conductors[edges[edge].element.name]
        conductor, governing = made.conductor, made.governing
        size = conductor.size.text if conductor.size else "size not given"
        length = metres(conductor.length_m) if conductor.length_m is not None else "length not given"
        found.fact(conductor.name, f"{size}, {length}, {made.verdict.value}")
        if governing is None:
            found.missing(f"{conductor.name}: nobody says what it may carry")
            continue
        if made.let_through_a:
            then = "a stretch before its guard" if made.stretch else "a cranking feed is exempt"
            whose = f"allowed by {governing.rulebook.name}"
            found.add(
                Judgement(
                    f"{conductor.name}, let-through", made.let_through_a, "≤", governing.allowed_a, "A", whose, then
                )
            )
        if made.load is not None and made.ampacity_a is not None and not conductor.cranking:
            found.add(
                Judgement(f"{conductor.name}, load current", made.load.amps, "≤", made.ampacity_a, "A", "its ampacity")
            )
    return found


def _starts(study: Study, node: int) -> Section:
    load, openings = _load(study, node), study.openings()
    found = Section("Starting", rules=frozenset({"start-opens-device"}))
    if not load.starts_a or load.starts_s is None:
        found.note("no starting current is stated")
        return found
    found.fact("it starts with", f"{qty(load.starts_a, 'A')} for {seconds(load.starts_s)}", load.says())
    for edge, share in start_shares(study, node).items():
        if openings.curve(edge) is not None:
            found.add(*start_lines(study, study.design.circuit.edges[edge], node, share))
    return found
