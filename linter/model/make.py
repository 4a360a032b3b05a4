"""One statement to one element: each maker is a few lines from facts to fields."""

from __future__ import annotations

from typing import Any

from linter.model.elements import (
    UNLIMITED,
    Asks,
    Backed,
    Bus,
    Conductor,
    Converter,
    Device,
    Diode,
    Element,
    Load,
    Named,
    Part,
    Place,
    Source,
    Switch,
    System,
)
from linter.model.facts import Facts, all_of
from linter.source.scanner import Token
from linter.source.statements import Fact, SourceFile, Statement
from linter.source.words import FLAGS


class Context:
    """What a maker of elements needs to know of the rest of the design."""

    def __init__(self, places: dict[str, Place], systems: dict[str, System], usual: dict[str, Fact]) -> None:
        self.places = places
        self.systems = systems
        self.usual = usual


def make(
    statement: Statement, source: SourceFile, own: dict[str, Fact], part: Part | None, context: Context
) -> Element:
    """The element that a statement declares.  Names that do not exist have been reported already and are left out."""
    kind = statement.kind
    facts = Facts(own, part, context.usual if kind == "cable" else None)
    place, on = facts.fact("place"), facts.fact("on")
    base: dict[str, Any] = {
        "name": str(statement.name.value) if statement.name else "",
        "label": statement.label or (part.label if part else ""),
        "statement": statement,
        "source": source,
        "facts": own,
        "kind": kind,
        "place": context.places.get(place.values[0].value) if place else None,
        "part": part,
        "on": context.systems.get(on.values[0].value) if on else None,
        "ignition_protected": facts.has("ignition protected"),
    }
    made: Element = _MAKERS[kind](base, facts)
    return made


def _every(base: dict[str, Any], facts: Facts, key: str) -> list[Fact]:
    """Every fact of a repeatable key: the statement's own, else the part sheet's."""
    return [f for f, _ in all_of(base["statement"], base["part"], key)] if facts.has(key) else []


def _limit(facts: Facts, rated_a: float | None) -> float:
    """The most a source gives: its own word for it, else its rated output, once its maker says it limits itself."""
    fact = facts.fact("self-limiting")
    if fact is None:
        return UNLIMITED
    figure = fact.values[0]
    if hasattr(figure, "value"):
        return float(figure.value)
    return rated_a if rated_a is not None else UNLIMITED


def _source(base: dict[str, Any], facts: Facts) -> Source:
    rated_a = facts.value("current")
    made = Source(
        **base,
        voltage_v=facts.value("voltage"),
        greatest_v=facts.value("greatest"),
        rated_a=rated_a,
        limit_a=_limit(facts, rated_a),
        resistance_ohm=facts.pair("resistance"),
        short_circuit_a=facts.value("short-circuit"),
        cranking_a=facts.value("cranking current"),
        charge_ah=facts.value("charge"),
        chemistry=facts.word("chemistry"),
        series=facts.count("series") or 1,
        parallel=facts.count("parallel") or 1,
    )
    if made.part is not None and (made.series, made.parallel) != (1, 1):
        _bank(made, facts)
    return made


def _bank(bank: Source, facts: Facts) -> None:
    """A sheet speaks of one battery: its figures become those of the bank.  The statement's own are the bank's."""
    in_sheet = {key for key in ("voltage", "greatest", "charge", "short-circuit", "cranking current", "self-limiting",
                                "resistance") if key not in facts.own}  # fmt: skip
    for key, field, times in (
        ("voltage", "voltage_v", bank.series),
        ("greatest", "greatest_v", bank.series),
        ("charge", "charge_ah", bank.parallel),
        ("short-circuit", "short_circuit_a", bank.parallel),
        ("cranking current", "cranking_a", bank.parallel),
        ("self-limiting", "limit_a", bank.parallel),
    ):
        figure = getattr(bank, field)
        if key in in_sheet and figure is not None:
            setattr(bank, field, figure * times)
    if "resistance" in in_sheet and bank.resistance_ohm is not None:
        least, greatest = bank.resistance_ohm
        bank.resistance_ohm = least * bank.series / bank.parallel, greatest * bank.series / bank.parallel


def _load_fields(base: dict[str, Any], facts: Facts) -> dict[str, Any]:
    draws = facts.fact("draws")
    starts = facts.fact("starts")
    return {
        **base,
        "draws_a": draws.values[0].value if draws and draws.values[0].kind == "CURRENT" else None,
        "draws_w": draws.values[0].value if draws and draws.values[0].kind == "POWER" else None,
        "voltage_v": facts.value("voltage"),
        "voltage_range_v": facts.pair("voltage range"),
        "starts_a": starts.values[0].value if starts else None,
        "starts_s": starts.values[1].value if starts else None,
        "works_from_v": facts.value("works from"),
        "continuous": facts.has("continuous"),
        "vital": facts.has("vital"),
        "always_on": facts.has("always on"),
        "cranking": facts.has("cranking"),
        "runs_s_a_day": facts.value("runs"),
        "sort": facts.word("sort"),
        "asks": _asks(base["statement"], base["part"], base["source"], facts),
    }


def _load(base: dict[str, Any], facts: Facts) -> Load:
    return Load(**_load_fields(base, facts))


def _converter(base: dict[str, Any], facts: Facts) -> Converter:
    fields = _load_fields(base, facts)
    both = facts.fact("voltage range")
    fields["voltage_range_v"] = None
    if both is not None:
        fields["voltage_v"] = both.values[0].value
    rated_a = facts.value("current")
    output = Source(
        **{**base, "kind": "converter"},
        voltage_v=both.values[1].value if both else None,
        greatest_v=facts.value("greatest"),
        rated_a=rated_a,
        limit_a=_limit(facts, rated_a),
        resistance_ohm=facts.pair("resistance"),
        short_circuit_a=facts.value("short-circuit"),
    )
    # `on` names the system of the output; the input's follows from what feeds it.
    fields["on"] = None
    return Converter(**fields, output=output, efficiency=facts.value("efficiency"))


def _inverter(base: dict[str, Any], facts: Facts) -> Converter:
    """Its direct-current side: a load; and a source too where it `gives` current back as a charger."""
    fields = _load_fields(base, facts)
    gives_a = facts.value("gives")
    output = None
    if gives_a is not None:
        output = Source(**base, voltage_v=facts.value("voltage"), rated_a=gives_a, limit_a=_limit(facts, gives_a))
    return Converter(**fields, output=output)


def _asks(statement: Statement, part: Part | None, source: SourceFile, facts: Facts) -> list[Asks]:
    """What the maker asks for.  What the statement itself asks of a kind (device, cable) stands for the sheet's."""
    found: list[Asks] = []
    for key in ("asks device", "asks cable"):
        for fact, own in all_of(statement, part, key) if facts.has(key) else ():
            owner_source = source if own or part is None else part.source
            owner = part if not own and part is not None else None
            found.append(_one_ask(fact, owner, statement, owner_source))
    return found


def _one_ask(fact: Fact, owner: Part | None, statement: Statement, source: SourceFile) -> Asks:
    named = owner or Named(str(statement.name.value) if statement.name else "", "", statement, source, {})
    if fact.key == "asks cable":
        return Asks(fact, named, cable=fact.values[0])
    least, greatest = sorted(figure.value for figure in fact.values[1:])
    kind, device_class, speed = _sort_of_device(fact.values[0])
    return Asks(fact, named, kind, device_class, speed, (least, greatest))


def _sort_of_device(words: tuple[Token, ...]) -> tuple[str, str, str]:
    """(kind, class, speed) as far as the words say."""
    kind, found = "", {"class": "", "speed": ""}
    for word in words:
        if word.type in {"FUSE", "BREAKER"}:
            kind = word.value
        else:
            key, value = FLAGS[word.type]
            found[key] = value
    return kind, found["class"], found["speed"]


def _device(base: dict[str, Any], facts: Facts) -> Device:
    comes_in, curve = facts.fact("comes in"), facts.fact("curve")
    return Device(
        **base,
        device_class=facts.word("class"),
        speed=facts.word("speed"),
        rated_a=facts.value("current"),
        voltage_v=facts.value("voltage"),
        breaks=[
            (f.values[0].value, next((v.value for v in f.values[1:] if v is not None), None))
            for f in _every(base, facts, "breaks")
        ],
        holder_a=facts.value("holder"),
        comes_in_a=tuple(q.value for q in comes_in.values) if comes_in else (),
        curve=str(curve.values[0].value) if curve else "",
        opens=[_gate(f) for f in _every(base, facts, "opens")],
        automatic_reset=facts.has("automatic reset"),
        resistance_ohm=facts.pair("resistance"),
        backed=[_backed(f) for f in _every(base, facts, "backed")],
        lets_through=[
            (f.values[0].value, next((v.value for v in f.values[1:] if v is not None), None))
            for f in _every(base, facts, "lets through")
        ],
        carries=sorted((f.values[1].value, f.values[0].value) for f in _every(base, facts, "carries")),
    )


def _backed(fact: Fact) -> Backed:
    words, current, voltage, rating = fact.values
    return Backed(current.value, voltage.value, *_sort_of_device(words), rating.value)


def _gate(fact: Fact) -> tuple[float, float, float]:
    multiple, *times = [v.value for v in fact.values if v is not None]
    return multiple, min(times), max(times)


def _cable(base: dict[str, Any], facts: Facts) -> Conductor:
    size, back = facts.fact("area"), facts.fact("return size")
    strands = facts.word("strands")
    return Conductor(
        **base,
        size=size.values[0] if size else None,
        length_m=facts.value("length"),
        insulation_c=facts.value("insulation"),
        stranding=facts.count("stranding"),
        tinned=strands == "tinned" if strands else None,
        covering=tuple(f.values[0] for f in _every(base, facts, "covering")),
        bundle=facts.count("bundle") or 1,
        colour=facts.word("colour"),
        return_m=facts.value("return length"),
        return_size=back.values[0] if back else None,
        cranking=facts.has("cranking"),
    )


def _switch(base: dict[str, Any], facts: Facts) -> Switch:
    positions = facts.fact("positions")
    return Switch(
        **base,
        rated_a=facts.value("current"),
        voltage_v=facts.value("voltage"),
        normally_open=facts.has("normally open"),
        combining=facts.has("combining"),
        positions=tuple(dict.fromkeys(p for p in positions.values if p != "off")) if positions else (),
        resistance_ohm=facts.pair("resistance"),
    )


def _bus(base: dict[str, Any], facts: Facts) -> Bus:
    return Bus(**base, rated_a=facts.value("current"), voltage_v=facts.value("voltage"))


def _diode(base: dict[str, Any], facts: Facts) -> Diode:
    return Diode(**base, rated_a=facts.value("current"), voltage_v=facts.value("voltage"), drops_v=facts.value("drops"))


_MAKERS: dict[str, Any] = {
    "battery": _source, "alternator": _source, "charger": _source, "solar": _source,
    "converter": _converter, "inverter": _inverter, "load": _load, "bus": _bus, "joint": _bus,
    "fuse": _device, "breaker": _device, "cable": _cable, "switch": _switch, "selector": _switch, "relay": _switch,
    "diode": _diode,
}  # fmt: skip
