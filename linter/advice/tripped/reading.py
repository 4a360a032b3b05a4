"""A reading as a person writes it: '41 A', '11.2 V at WINDLASS', '0.4 ohm without load'."""

from __future__ import annotations

import math
import re
from collections.abc import Callable, Collection
from dataclasses import dataclass

from linter.model.circuit import Edge
from linter.model.design import Design
from linter.source.guess import Guesser
from linter.source.units import MEANT, UNITS
from linter.study.study import study_of

_FREE = re.compile(r"[ \t]*,?[ \t]*(?:with|and)?[ \t]*(?:without load|load disconnected|load off)[ \t]*$")
_OPEN = re.compile(r"[ \t]*(?:open circuit|no reading|OL)[ \t]*(?:ohms?)?[ \t]*$")
_NAME = r"[^\W\d][\w-]*(?:\.[\w-]+)?"
_PARTS = re.compile(
    rf"^(?P<value>.*?)(?:[ \t]+(?P<how>at|on|in|across|through|around)[ \t]+(?:the[ \t]+)?(?P<name>{_NAME}))?[ \t]*$"
)
# `F1 24 A` and `F1: 24 A`, as one writes a list
_FIRST = re.compile(rf"^(?P<name>{_NAME})[ \t]*(?:[:,=]|[ \t]is(?=[ \t]))?[ \t]+(?P<value>[-+−]?[0-9].*)$")
_SAME = {"on": "at", "around": "through"}
_KINDS = {"CURRENT": "current", "VOLTAGE": "voltage", "TEMPERATURE": "temperature", "RESISTANCE_VALUE": "resistance"}
_FIGURE = re.compile(
    r"^[ \t]*([-+−]?[0-9]{1,9}(?:\.[0-9]{1,9})?(?:[eE][-+]?[0-9]{1,2})?)[ \t]*([^\W\d_]+|°[CF])[ \t]*$"
)
_COMMA = re.compile(r"[0-9],[0-9]")
_NO_FIGURE = re.compile(
    r"[ \t]*[-+−]?(?:(?:nan|inf|infinity|infinite)\b|∞|[0-9.]+e[-+]?[0-9]{3,}|[0-9]{10,})", re.IGNORECASE
)
# so much of a system's voltage, and of a device's rating, is shown as a reading
_VOLTS_SHARE, _AMPS_SHARE = 0.93, 1.2
_BARE = re.compile(r"[ \t]*[-+−]?[0-9]+(?:\.[0-9]+)?(?:[ \t]+(?:at|in|across|through)[ \t].*)?[ \t]*$")
# which words say where, by what was read
_HOW = {
    "current": ("at", "in", "through"), "voltage": ("at", "across"), "temperature": ("at", "in"),
    "resistance": ("at", "across"),
}  # fmt: skip
# what meters show besides the language's units
_METER_UNITS = {
    "kΩ": ("RESISTANCE_VALUE", "1e3"), "kohm": ("RESISTANCE_VALUE", "1e3"), "MΩ": ("RESISTANCE_VALUE", "1e6"),
    "Mohm": ("RESISTANCE_VALUE", "1e6"), "ohms": ("RESISTANCE_VALUE", "1"),
}  # fmt: skip
LONGEST = 200


class BadReading(ValueError):
    """A reading that cannot be read, or that names nothing on board; the message says what to do."""


@dataclass(frozen=True, slots=True)
class Reading:
    """``kind``: current (A), voltage (V), temperature (°C), resistance (ohm).  ``free``: with the load disconnected."""

    written: str
    kind: str
    value: float
    how: str = ""
    name: str = ""
    free: bool = False


@dataclass(frozen=True, slots=True)
class Examples:
    """What a reading looks like for the circuit at hand: all of it can be typed."""

    device: str
    amps: float = 41.0
    volts: float = 11.2
    load: str = ""
    run: str = ""

    @property
    def how(self) -> str:
        current = f"'{self.amps:.3g} A'" + (f", '{self.amps:.3g} A at {self.run}'" if self.run else "")
        volts = f"'{self.volts:.3g} V at {self.load}', " if self.load else ""
        return (
            f"write {current}, {volts}'0.3 V across {self.device}', '62 °C at {self.device}', '0.4 ohm' or "
            f"'open circuit without load'"
        )


def examples_of(design: Design, edge: Edge) -> Examples:
    """Readings of a device with its own names; linear in the design."""
    from linter.advice.tripped.seen import beyond

    device, circuit, study = edge.device, design.circuit, study_of(design)
    far = study.parts.leads_to[edge.index]
    system = circuit.nodes[edge.v].system or circuit.nodes[edge.u].system
    behind = beyond(study, edge.index, far) if far >= 0 else []
    loads = [n.load.name for i in behind if (n := circuit.nodes[i]).load is not None]
    inside = [circuit.edges[i] for n in (behind or (edge.u, edge.v)) for i in circuit.nodes[n].edges]
    runs = [e.element.name for e in inside if e.kind == "conductor"]
    return Examples(
        device.name, (device.rated_a or 0.0) * _AMPS_SHARE or 41.0,
        (system.voltage_v if system is not None and system.voltage_v else 12.0) * _VOLTS_SHARE,
        loads[0] if loads else "", runs[0] if runs else "",
    )  # fmt: skip


def read(written: str, names: Collection[str], examples: Callable[[], Examples] = lambda: Examples("F1")) -> Reading:
    """A reading, the name in it being one of ``names``.  ``examples``: asked for where it cannot be read.  Raises
    BadReading."""
    text = written.strip()
    shown = text[:40]

    def wrong(why: str, mend: str = "") -> BadReading:
        return BadReading(f"--measured {shown!r}: {why}; {mend or examples().how}")

    if len(text) > LONGEST or "\n" in text:
        raise BadReading(f"--measured: {shown}…: too long for a reading; {examples().how}")
    first = _FIRST.match(text)
    if first is not None and first["name"] in names:
        text = f"{first['value']} at {first['name']}"
    free = _FREE.search(text)
    if free is not None:
        text = text[: free.start()]
    if _OPEN.match(text):
        return Reading(written.strip(), "resistance", math.inf, free=free is not None)
    parts = _PARTS.match(text)
    figure = _figure(parts["value"]) if parts is not None else None
    if parts is None or figure is None:
        if _NO_FIGURE.match(text):
            raise wrong("that is no figure that a meter shows")
        if _BARE.match(text):
            raise wrong("a figure without its unit")
        if _COMMA.search(text):
            raise wrong("write a point before the decimals", f"write '{_COMMA.sub(_point, text)}'")
        raise wrong("no current, voltage, temperature or resistance is read")
    (kind, value), name = figure, parts["name"] or ""
    how = _SAME.get(parts["how"] or "", parts["how"] or "")
    if how and how not in _HOW[kind]:
        better = f"write '{parts['value'].strip()} {_HOW[kind][0]} {name}'"
        raise wrong(f"a {kind} is read {' or '.join(_HOW[kind])} a thing, not {how} it", better)
    # a converter's input and a selector's terminal have names of their own
    if name and name not in names and name.partition(".")[0] not in names:
        raise wrong(f"there is no {name} on board", Guesser().nearest(name, names, 0.5))
    if free is not None and kind != "resistance":
        raise wrong("'without load' is said of a resistance")
    if kind == "voltage" and not name:
        example, said = examples(), parts["value"].strip()
        at = [f"'{said} at {example.load}'"] if example.load else []
        raise wrong("say where it was read", "write " + " or ".join([*at, f"'{said} across {example.device}'"]))
    if value < 0 and kind in _MINUS:
        raise wrong(_MINUS[kind][0], _MINUS[kind][1])
    return Reading(written.strip(), kind, value, how, name, free is not None)


# What a minus means where no figure can be less than nothing.
_MINUS = {
    "voltage": (
        "less than no voltage: the probes are the wrong way round, or what is connected is",
        "look at that first, then write the figure without the minus",
    ),
    "resistance": (
        "less than no resistance: something there is live, or the meter's zero is off",
        "isolate, make dead, read again",
    ),
}


def _point(found: re.Match[str]) -> str:
    return found[0].replace(",", ".")


def _figure(text: str) -> tuple[str, float] | None:
    """(kind, value in the unit of its kind); a meter also shows nothing at all, or less than nothing."""
    found = _FIGURE.match(text)
    if found is None:
        return None
    number, unit = float(found[1].replace("−", "-")) or 0.0, MEANT.get(found[2], found[2])
    if unit in ("°F", "degF"):
        return "temperature", (number - 32) / 1.8
    if unit == "degC":
        return "temperature", number
    kind, factor = _METER_UNITS.get(unit) or UNITS.get(unit, ("", "1"))
    return (_KINDS[kind], number * float(factor)) if kind in _KINDS else None
