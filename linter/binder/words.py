"""Words that several parts use for what is on board."""

from __future__ import annotations

import re
from collections.abc import Iterable

from linter.drawing.labels import device_class, number
from linter.drawing.text import clean
from linter.model.circuit import Circuit, Edge
from linter.model.elements import Conductor, Device, Element, Load
from linter.source.units import Quantity
from linter.tables.cite import Status

NBSP = "\u00a0"


def size_words(size: Quantity | None) -> str:
    """As the design writes it; ? where it does not."""
    return size.text.replace(" ", NBSP) if size is not None else "?"


def quantity(value: float | None, unit: str) -> str:
    """A figure and its unit, kept together; "" where nobody gives it."""
    return "" if value is None else f"{number(value)}{NBSP}{unit}"


_FIGURE = re.compile(r"(?<=\d) (?=(?:k?A|m?V|k?W|Ah|mm²|mm2|mm|m|AWG|ms|s|h|%|°C|m?Ω)\b)|(?<=\bp\.) (?=\d)")


def tied(text: str) -> str:
    """``text`` with each figure kept on one line with its unit, and a page with its number."""
    return _FIGURE.sub(NBSP, text)


def short(element: Element) -> str:
    """What people call it: its label, else its name."""
    return clean(element.label) or clean(element.name)


def joined(words: Iterable[str]) -> str:
    return ", ".join(w for w in words if w)


def kind_words(device: Device) -> str:
    """blade fuse; thermal breaker, curve C."""
    sort = f"{device_class(device.device_class)} {device.kind}" if device.device_class else device.kind
    return joined([sort, device.speed, f"curve {device.curve}" if device.curve else ""]).replace(NBSP, " ")


def rated_words(conductor: Conductor) -> str:
    return quantity(conductor.insulation_c, "°C") or "?"


def strands_words(conductor: Conductor) -> str:
    tinned = "" if conductor.tinned is None else "tinned" if conductor.tinned else "plain"
    return joined([f"class{NBSP}{conductor.stranding}" if conductor.stranding is not None else "", tinned])


def insulation_words(conductor: Conductor) -> str:
    return joined([rated_words(conductor), strands_words(conductor)])


def route_words(conductor: Conductor) -> str:
    """Where it lies, in what, with how many others, and its return where that is another."""
    places = [
        clean(place.name) if metres is None else f"{metres:.2f}{NBSP}m {clean(place.name)}"
        for metres, place in conductor.route
    ]
    if conductor.place is not None and not any(p is conductor.place for _, p in conductor.route):
        places.insert(0, clean(conductor.place.name))
    words = [*places]
    if conductor.covering:
        words.append("in " + " and ".join(conductor.covering))
    if conductor.bundle > 1:
        words.append(f"bundle of {conductor.bundle}")
    if conductor.return_m is not None:
        words.append("no return" if conductor.return_m == 0 else f"return {quantity(conductor.return_m, 'm')}")
    if conductor.return_size is not None:
        words.append(f"return {size_words(conductor.return_size)}")
    return joined(words)


def asks_words(load: Load) -> str:
    """What the maker asks for, device and cable, in the words of the findings."""
    from linter.rules.words import wording

    return tied(
        "; ".join(wording(a) if a.cable is None else f"cable at least {size_words(a.cable)}" for a in load.asks)
    )


def memory(status: Status | str) -> bool:
    return status == "from memory"


def faults_by() -> str:
    """By which method fault currents are reckoned, and how well it is known here."""
    from linter.tables.batteries import battery_short_circuit

    return f"Fault currents are reckoned by {battery_short_circuit().cite}."


def own_label(element: Element) -> str:
    """What its own line calls it; of a cable the label of its part says nothing of where it runs."""
    return "" if element.part is not None and element.label == element.part.label else clean(element.label)


def end_of(circuit: Circuit, edge: Edge, node: int) -> str:
    """What a conductor ends on, as its label says it: the terminal, or where it has no name of its own the thing that
    is bolted or crimped to it."""
    here = circuit.nodes[node]
    if here.kind != "end":
        return clean(here.name)
    others = dict.fromkeys(clean(circuit.edges[i].element.name) for i in here.edges if i != edge.index)
    return joined(others) or "open end"


def sentence(text: str) -> str:
    return text[:1].upper() + text[1:] + ("" if text.endswith(".") else ".")
