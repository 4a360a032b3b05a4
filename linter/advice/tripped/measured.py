"""What a person read on board, compared with what the model expects."""

from __future__ import annotations

import math
import re
from dataclasses import dataclass

from linter.advice.tripped.figures import Circuit, at_c, ohm_words
from linter.advice.tripped.seen import power_loads
from linter.advice.tripped.table import Verdict, table
from linter.model.elements import Load, Place
from linter.rules.words import amps
from linter.source.guess import Guesser
from linter.source.units import UNITS

HOW = "write '41 A', '11.2 V at WINDLASS', '0.3 V across F7', '62 °C at F7', '0.4 ohm' or 'open circuit without load'"
_FREE = re.compile(r"[ \t]*,?[ \t]*(?:with|and)?[ \t]*(?:without load|load disconnected|load off)[ \t]*$")
_OPEN = re.compile(r"[ \t]*(?:open circuit|no reading|OL)[ \t]*(?:ohms?)?[ \t]*$")
_PARTS = re.compile(r"^(?P<value>.*?)(?:[ \t]+(?P<how>at|in|across|through)[ \t]+(?P<name>[^\W\d][\w-]*))?[ \t]*$")
_KINDS = {"CURRENT": "current", "VOLTAGE": "voltage", "TEMPERATURE": "temperature", "RESISTANCE_VALUE": "resistance"}
_FIGURE = re.compile(r"^[ \t]*([-+]?[0-9]{1,9}(?:\.[0-9]{1,9})?)[ \t]*([^\W\d_]+|°[CF])[ \t]*$")
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
class Heard:
    """A reading with what follows from it."""

    reading: Reading
    verdict: str
    says: str
    weighs: Verdict


def read(written: str, names: list[str]) -> Reading:
    """A reading, the name in it being one of ``names``.  Raises BadReading."""
    text = written.strip()
    shown = text[:40]
    if len(text) > LONGEST or "\n" in text:
        raise BadReading(f"--measured: {shown}…: too long for a reading; {HOW}")
    free = _FREE.search(text)
    if free is not None:
        text = text[: free.start()]
    if _OPEN.match(text):
        return Reading(written.strip(), "resistance", math.inf, free=free is not None)
    parts = _PARTS.match(text)
    figure = _figure(parts["value"]) if parts is not None else None
    if parts is None or figure is None:
        raise BadReading(f"--measured {shown!r}: no current, voltage, temperature or resistance is read; {HOW}")
    (kind, value), name = figure, parts["name"] or ""
    if name and name not in names:
        near = Guesser().nearest(name, names, 0.5)
        raise BadReading(f"--measured {shown!r}: there is no {name} on board; {near or HOW}".rstrip("; "))
    if free is not None and kind != "resistance":
        raise BadReading(f"--measured {shown!r}: 'without load' is said of a resistance; {HOW}")
    if kind == "voltage" and not name:
        raise BadReading(f"--measured {shown!r}: say where, as '{parts['value'].strip()} at LOAD' or '… across F7'")
    return Reading(written.strip(), kind, value, parts["how"] or "", name, free is not None)


def _figure(text: str) -> tuple[str, float] | None:
    """(kind, value in the unit of its kind); a meter also shows nothing at all, or less than nothing."""
    found = _FIGURE.match(text)
    if found is None:
        return None
    number, unit = float(found[1]), found[2]
    if unit == "°F":
        return "temperature", (number - 32) / 1.8
    kind, factor = _METER_UNITS.get(unit) or UNITS.get(unit, ("", "1"))
    return (_KINDS[kind], number * float(factor)) if kind in _KINDS else None


def heard(circuit: Circuit, reading: Reading) -> Heard:
    """What a reading says of this circuit."""
    words = dict(circuit.words)
    words |= {"value": _value(reading), "at": reading.name or circuit.seen.device.name, "lacks": "nothing is told"}
    verdict = {
        "current": _current, "voltage": _voltage, "temperature": _temperature, "resistance": _resistance,
    }[reading.kind](circuit, reading, words)  # fmt: skip
    row = table().verdicts[verdict]
    return Heard(reading, verdict, row.says.format_map(words), row)


def _value(reading: Reading) -> str:
    if reading.value == math.inf:
        return "an open circuit"
    if reading.kind == "resistance":
        return ohm_words(reading.value)
    return f"{reading.value:.4g} {({'current': 'A', 'voltage': 'V', 'temperature': '°C'})[reading.kind]}"


def _current(circuit: Circuit, reading: Reading, words: dict[str, str]) -> str:
    seen, meter = circuit.seen, table().meter
    steady, value, near = seen.steady, abs(reading.value), meter["clamp_share"]
    if reading.name and reading.name != seen.device.name and reading.name not in {r.name for r in seen.runs[:1]}:
        words["lacks"] = f"only what {seen.device.name} itself carries is compared, not {reading.name}"
        return "not-comparable"
    least_fault = seen.far_fault.smallest_a if seen.far_fault is not None else None
    stall = seen.stall_a
    if (
        least_fault is not None
        and value >= meter["fault_share"] * least_fault
        and (stall is None or value > 1.3 * stall)
    ):
        return "current-fault"
    if steady is None:
        words["lacks"] = "no current flows here in any scene"
        return "not-comparable"
    expected = steady.steady_a
    if stall is not None and abs(value - stall) <= meter["locked_share"] * stall and value > expected * (1 + near):
        return "current-locked"
    low = seen.low.low_a if seen.low is not None else None
    if (
        low is not None and power_loads(seen) and low > expected * 1.03 and value > expected * 1.03
        and value <= low * (1 + near / 2)
        and not (seen.carries_a is not None and value <= seen.carries_a)
    ):  # fmt: skip
        return "current-low-voltage"
    if value > expected * (1 + near) and seen.carries_a is not None and value <= seen.carries_a:
        return "current-above-carried"
    if value > expected * (1 + near):
        return "current-above"
    if value < min(s.least_a for s in seen.scenes) * (1 - near):
        return "current-below"
    over = seen.carries_a is not None and value > seen.carries_a
    return "current-expected-over" if over else "current-expected"


def _voltage(circuit: Circuit, reading: Reading, words: dict[str, str]) -> str:
    seen, meter = circuit.seen, table().meter
    if reading.how == "across":
        limit = max(meter["across_v"], 2 * (circuit.across_v or 0.0))
        words["across"] = f"{limit:.2g} V"
        system = seen.study.design.circuit.nodes[seen.near].system
        if reading.name != seen.device.name:
            words["lacks"] = f"only the voltage across {seen.device.name} is compared"
            return "not-comparable"
        if system is not None and system.voltage_v and abs(reading.value) > system.voltage_v / 2:
            return "across-open"
        return "across-high" if abs(reading.value) > limit else "across-fine"
    expected = circuit.volts.get(reading.name)
    if expected is None:
        element = seen.study.design.elements.get(reading.name)
        what = "it is a load that this device does not feed" if isinstance(element, Load) else "it is no load"
        words["lacks"] = f"{reading.name}: {what}, or no scene with it could be solved"
        return "not-comparable"
    if abs(reading.value) < meter["none_v"]:
        return "voltage-none"
    low = expected[0] * (1 - meter["volts_share"])
    words["volts"] = f"{low:.4g} V"
    return "voltage-low" if reading.value < low else "voltage-expected"


#: Too hot to be held, °C (common practice).
TOUCH_C = 60.0


def _temperature(circuit: Circuit, reading: Reading, words: dict[str, str]) -> str:
    seen = circuit.seen
    carried = at_c(seen.device, reading.value)
    words["carries_then"] = amps(carried) if carried is not None else "not told"
    of_place = isinstance(seen.study.design.places.get(reading.name), Place)
    if of_place:
        words["at"] = reading.name
    elif reading.name and reading.name != seen.device.name:
        words["lacks"] = f"{reading.name} is neither {seen.device.name} nor a place"
        return "not-comparable"
    if carried is not None and seen.steady is not None and carried < seen.steady.steady_a:
        return "place-hot" if of_place else "device-hot"
    if of_place:
        return "temperature-untold" if carried is None or seen.steady is None else "place-cool"
    place_c = seen.place_c if seen.place_c is not None else 30.0
    if reading.value >= min(place_c + table().meter["warmer_k"], max(TOUCH_C, place_c + 10)):
        return "device-warm"
    return "device-cool"


def _resistance(circuit: Circuit, reading: Reading, words: dict[str, str]) -> str:
    seen, meter = circuit.seen, table().meter
    system = seen.study.design.circuit.nodes[seen.far].system
    volts = system.voltage_v if system is not None else None
    short_a = math.inf if not reading.value else (volts or 0.0) / reading.value
    words["short_a"] = "any current" if short_a == math.inf else amps(short_a)
    words["ohm"] = "not told" if circuit.load_ohm is None else ohm_words(circuit.load_ohm)
    opening_a = seen.curve.slow[0][0] if seen.curve is not None and seen.curve.slow else seen.carries_a
    if volts is None or opening_a is None:
        words["lacks"] = "the system's voltage or the device's rating"
        return "not-comparable"
    if reading.free:
        return "resistance-run-short" if short_a >= opening_a else "resistance-run-open"
    if short_a < opening_a:
        return "resistance-open"
    if circuit.load_ohm is not None and reading.value >= circuit.load_ohm * meter["short_share"]:
        return "resistance-connected"
    return "resistance-short"
