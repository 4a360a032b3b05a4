"""What is written at each element.  A figure nobody gave is shown as a question mark."""

from __future__ import annotations

from linter.drawing.language import Language, english, say
from linter.drawing.text import NBSP
from linter.model.elements import Bus, Conductor, Converter, Device, Diode, Element, Load, Source, Switch, System

# Classes whose names are not their keys with spaces.
_CLASSES = {"anl": "ANL", "class-t": f"class{NBSP}T", "gg": "gG", "bolt-down-strip": "bolt-down strip"}
_HYPHENED = frozenset(("hydraulic-magnetic", "thermal-magnetic"))


def number(value: float) -> str:
    """At most four figures, without needless zeros."""
    return f"{value:.4g}" if abs(value) < 10_000 else f"{value:.0f}"


def figure(value: float | None, unit: str) -> str:
    """A figure with its unit, kept together."""
    return f"{number(value) if value is not None else '?'}{NBSP}{unit}"


def device_class(name: str) -> str:
    return name if name in _HYPHENED else _CLASSES.get(name, name.replace("-", " "))


def facts(element: Element, words: Language | None = None) -> list[str]:
    """The figures written beside the name, each a piece that is not broken; in English unless told otherwise."""
    said = words if words is not None else english()
    match element:
        case Conductor():
            size = element.size.text.replace(" ", NBSP) if element.size else f"?{NBSP}mm²"
            return [size, _as_written(element)]
        case Device():
            sort = said.get(f"class-{element.device_class}", device_class(element.device_class)).replace(
                " T", f"{NBSP}T"
            )
            return [sort, figure(element.rated_a, "A")]
        case Switch() | Diode():
            return [figure(element.rated_a, "A")] if element.rated_a is not None else []
        case Bus():
            return [figure(element.rated_a, "A")] if element.kind == "bus" else []
        case Converter() if element.kind == "converter":
            out = element.output
            volts = f"{number(element.voltage_v) if element.voltage_v is not None else '?'}→"
            volts += figure(out.voltage_v if out else None, "V")
            return [volts, figure(out.rated_a if out else None, "A")]
        case Converter():
            made = _drawn(element)
            if element.output is not None and element.output.rated_a is not None:
                made.append(say(said, "gives", a=figure(element.output.rated_a, "A")).replace(" ", NBSP))
            return made
        case Load():
            return _drawn(element)
        case Source():
            return _source(element, said)
        case _:
            return []


def _as_written(cable: Conductor) -> str:
    """The length in the unit in which it was given."""
    fact = cable.facts.get("length")
    text = getattr(fact.values[0], "text", "") if fact is not None and fact.values else ""
    return str(text).replace(" ", NBSP) or figure(cable.length_m, "m")


def _drawn(load: Load) -> list[str]:
    if load.draws_a is not None:
        return [figure(load.draws_a, "A")]
    return [figure(load.draws_w, "W")] if load.draws_w is not None else [figure(None, "A")]


def _source(source: Source, words: Language) -> list[str]:
    made = [figure(source.voltage_v, "V")]
    if source.series > 1:
        made.append(say(words, "in-series", n=str(source.series)).replace(" ", NBSP))
    if source.parallel > 1:
        made.append(say(words, "parallel", n=str(source.parallel)).replace(" ", NBSP))
    if source.is_battery:
        made.append(figure(source.charge_ah, "Ah"))
    elif source.rated_a is not None or source.kind != "solar":
        made.append(figure(source.rated_a, "A"))
    return made


def colour(cable: Conductor) -> str:
    """The colour as a word, which black and white keeps; the figures stand before it."""
    return cable.colour


def breaking(device: Device) -> str:
    """What the device breaks at the highest voltage for which its maker tells it."""
    told = max(device.breaks, key=lambda b: (b[1] is not None, b[1] or 0.0), default=None)
    return kilo(told[0], "A") if told is not None else f"?{NBSP}kA"


def kilo(value: float, unit: str) -> str:
    """A figure with its unit, in thousands where it is large."""
    if value >= 1000:
        return f"{value / 1000:.3g}{NBSP}k{unit}"
    return f"{value:.3g}{NBSP}{unit}"


def system_title(system: System) -> str:
    kind = "AC" if system.alternating else "DC"
    return f"{system.name} {figure(system.voltage_v, 'V')} {kind}".replace(" ", NBSP)


def described(element: Element) -> str:
    """The element in words, for whoever points at it or hears it read."""
    parts = [f"{element.kind} {element.title}", *facts(element)]
    if element.place is not None:
        parts.append(f"in {element.place.title}")
    if element.part is not None:
        parts.append(f"part {element.part.title}")
    if isinstance(element, Device):
        parts += [f"breaks {kilo(a, 'A')}" + (f" at {figure(v, 'V')}" if v else "") for a, v in element.breaks]
    if isinstance(element, Conductor):
        parts += [f"{figure(m, 'm')} in {p.title}" if m is not None else f"in {p.title}" for m, p in element.route]
        if element.covering:
            parts.append("in " + " and ".join(element.covering))
        if element.bundle > 1:
            parts.append(f"bundle of {element.bundle}")
        if element.colour:
            parts.append(element.colour)
    return ", ".join(parts).replace(NBSP, " ")


def symbol_of(element: Element) -> str:
    """The key of the element's symbol."""
    if isinstance(element, Load) and not isinstance(element, Converter):
        return element.sort or "load"
    return element.kind
