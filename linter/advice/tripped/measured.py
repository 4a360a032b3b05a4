"""What a person read on board, compared with what the model expects."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass, replace

from linter.advice.tripped.bounds import cannot_be
from linter.advice.tripped.figures import Circuit, at_c, ohm_words
from linter.advice.tripped.reading import BadReading, Reading
from linter.advice.tripped.seen import Seen, power_loads, same_current
from linter.advice.tripped.table import Verdict, table
from linter.model.elements import Load, Place
from linter.rules.words import amps, seconds


@dataclass(frozen=True, slots=True)
class Heard:
    """A reading with what follows from it; no weights where nothing does."""

    reading: Reading
    verdict: str
    says: str
    weighs: Verdict

    @property
    def counted(self) -> bool:
        return bool(self.weighs.weighs)


_MINUS_CURRENT = (
    "current flows one way here, from the source to the loads, and a minus says only how the clamp is held; write it "
    "without"
)


def heard(circuit: Circuit, reading: Reading, when: str = "unknown") -> Heard:
    """What a reading says of this circuit, of which the device opens ``when``.  Raises BadReading of a sign that means
    nothing here."""
    seen = circuit.seen
    if reading.kind == "current" and reading.value < 0 and not seen.meshed:
        raise BadReading(f"--measured {reading.written[:40]!r}: {_MINUS_CURRENT}")
    words = dict(circuit.words)
    at = reading.name or seen.device.name
    where = f"{reading.how or 'at'} {at}"
    words |= {"value": value_words(reading), "at": at, "where": where, "lacks": "nothing is told", "as_starts": ""}
    of_place = reading.name in seen.study.design.places and reading.name not in seen.study.design.elements
    in_series = not reading.name or reading.name in same_current(seen)
    verdict, more = cannot_be(seen, reading.kind, reading.value, reading.name, in_series, of_place)
    words |= more
    if not verdict:
        if reading.kind == "current":
            verdict = _current(circuit, reading, words, when)
        elif reading.kind == "voltage":
            verdict = _voltage(circuit, reading, words, when)
        else:
            verdict = {"temperature": _temperature, "resistance": _resistance}[reading.kind](circuit, reading, words)
    row = table().verdicts[verdict]
    if (
        reading.name
        and reading.kind in ("current", "resistance")
        and "{where}" not in row.says
        and "{at}" not in row.says
    ):
        words["value"] += f" {where}"
    return Heard(reading, verdict, row.says.format_map(words), row)


def all_heard(circuit: Circuit, readings: Sequence[Reading], when: str = "unknown") -> list[Heard]:
    """Every reading; what two of them say alike is counted once, as reading it twice makes nothing likelier."""
    found: list[Heard] = []
    for reading in readings:
        one = heard(circuit, reading, when)
        if one.counted and any(one.verdict == other.verdict for other in found):
            one = replace(one, says=f"{one.says} (as before: counted once)", weighs=Verdict(one.weighs.says, {}))
        found.append(one)
    return found


def value_words(reading: Reading) -> str:
    """A reading's figure with its unit."""
    if reading.value == math.inf:
        return "an open circuit"
    if reading.kind == "resistance":
        return ohm_words(reading.value)
    if reading.kind == "current" and abs(reading.value) >= 9999.5:
        return f"{reading.value:.0f} A"
    return f"{reading.value:.4g} {({'current': 'A', 'voltage': 'V', 'temperature': '°C'})[reading.kind]}"


def _current(circuit: Circuit, reading: Reading, words: dict[str, str], when: str) -> str:
    seen, meter = circuit.seen, table().meter
    steady, value, near = seen.steady, abs(reading.value), meter["clamp_share"]
    if reading.name and reading.name not in same_current(seen):
        words["lacks"] = f"{reading.name} does not carry what {seen.device.name} carries: read it at {words['clamp']}"
        return "not-used"
    least_fault = seen.far_fault.smallest_a if seen.far_fault is not None else None
    stall = seen.stall_a
    most_a = max((s.amps for _, s in seen.starts), default=None)
    if (
        least_fault is not None
        and value >= meter["fault_share"] * least_fault
        and (most_a is None or value > 1.3 * most_a)
    ):
        return "current-fault"
    if steady is None:
        words["lacks"] = "no current flows here in any scene"
        return "not-comparable"
    expected = steady.steady_a
    if value > expected * (1 + near):
        found = _as_it_starts(seen, value, words, when)
        if found:
            return found
    if stall is not None and abs(value - stall) <= meter["locked_share"] * stall and value > expected * (1 + near):
        return "current-locked"
    if stall is not None and value > (1 + meter["locked_share"]) * stall and value > expected * (1 + near):
        return "current-beyond-locked"
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


def _as_it_starts(seen: Seen, value: float, words: dict[str, str], when: str) -> str:
    """The verdict on more than the running current where a load starts, compared with what it then should take.  Of a
    motor that does not start now the same current is that of a locked one; of any other load it is a start at any
    time.  Nothing where it is neither."""
    near = table().meter["clamp_share"]
    fits = [s for _, s in seen.starts if abs(value - s.amps) <= near * s.amps and (when == "starting" or not s.motor)]
    if fits:
        one = min(fits, key=lambda s: abs(value - s.amps))
        words["start_fits"] = f"{amps(one.amps)} as {one.load} starts"
        words["start_fits_s"] = (
            "a time that nobody states" if one.seconds is None else f"{seconds(one.seconds)} at most"
        )
        least_s, _ = seen.band(one.amps)
        if least_s and one.seconds is not None and least_s <= one.seconds:
            words["start_fits_least"] = seconds(least_s)
            return "current-start-opens"
        return "current-start"
    if when != "starting" or not seen.starts:
        return ""
    most = max((s for _, s in seen.starts), key=lambda s: s.amps)
    words["start_fits"] = f"{amps(most.amps)} as {most.load} starts"
    if value < most.amps:
        return "current-start-below"
    carried = seen.carries_a is not None and value <= seen.carries_a
    return "current-start-above-carried" if carried else "current-start-above"


def _voltage(circuit: Circuit, reading: Reading, words: dict[str, str], when: str) -> str:
    seen, meter = circuit.seen, table().meter
    feeds = {name for n in seen.loads if n.load is not None for name in (n.name, n.load.name)}
    if reading.how == "across" and reading.name not in feeds:
        limit = max(meter["across_v"], 2 * (circuit.across_v or 0.0))
        most_a = max((s.amps for _, s in seen.starts), default=0.0)
        if when == "starting" and seen.steady is not None and most_a > seen.steady.steady_a:
            # what a start sends through it loses so much more
            limit *= most_a / seen.steady.steady_a
        words["across"] = f"{limit:.2g} V"
        system = seen.study.design.circuit.nodes[seen.near].system
        if reading.name != seen.device.name:
            words["lacks"] = f"only the voltage across {seen.device.name} itself bears on it"
            return "not-used"
        if system is not None and system.voltage_v and abs(reading.value) > system.voltage_v / 2:
            return "across-open"
        return "across-high" if abs(reading.value) > limit else "across-fine"
    expected = circuit.volts.get(reading.name)
    if expected is None:
        if reading.name in feeds:
            words["lacks"] = f"no scene with {reading.name} could be solved"
            return "not-comparable"
        words["lacks"] = _no_point(circuit, reading)
        return "not-used"
    if abs(reading.value) < meter["none_v"]:
        return "voltage-none"
    low_v = expected[0]
    if when == "starting" and (start_v := circuit.start_volts.get(reading.name)) is not None:
        low_v = min(low_v, start_v)
        words["as_starts"] = " while a load starts"
    low = low_v * (1 - meter["volts_share"])
    words["volts"] = f"{low:.4g} V"
    return "voltage-low" if reading.value < low else "voltage-expected"


def _no_point(circuit: Circuit, reading: Reading) -> str:
    """Why a voltage there says nothing of the device."""
    name, device = reading.name, circuit.seen.device.name
    element = circuit.seen.study.design.elements.get(name)
    if name == device:
        return (
            f"a voltage at {device} is that of whatever feeds it; read it across {device}, from terminal to terminal, "
            "with its load on"
        )
    if element is None:
        return f"{name} is a place; a voltage is read at a load, or across {device}"
    if isinstance(element, Load):
        return f"{device} does not feed {name}"
    main = circuit.words["load"]
    where = f" such as {main}" if circuit.seen.loads else ""
    return f"{name} is no load; what bears on it is the voltage at a load behind {device}{where}, or across it"


#: Too hot to be held, °C (common practice).
TOUCH_C = 60.0


def _temperature(circuit: Circuit, reading: Reading, words: dict[str, str]) -> str:
    seen = circuit.seen
    carried = at_c(seen.device, reading.value)
    words["carries_then"] = amps(carried) if carried is not None else "not told"
    place = seen.device.place
    of_place = isinstance(place, Place) and reading.name == place.name
    if reading.name and reading.name != seen.device.name and not of_place:
        there = (
            f"{seen.device.name} stands in {place.name}" if place else f"nobody says where {seen.device.name} stands"
        )
        words["lacks"] = f"{there}; the warmth of another place, or of another thing, does not open it"
        return "not-used"
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
    device, name = seen.device.name, reading.name
    if name == device and reading.how == "across":
        return "resistance-closed" if reading.value < meter["contact_ohm"] else "resistance-device-open"
    if name and name not in _behind(seen):
        words["lacks"] = f"{name} is not behind {device}"
        return "not-used"
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
        if short_a >= opening_a:
            return "resistance-run-short"
        return "resistance-run-leaks" if reading.value < meter["sound_ohm"] else "resistance-run-open"
    if short_a < opening_a:
        return "resistance-open"
    if circuit.load_ohm is not None and reading.value >= circuit.load_ohm * meter["short_share"]:
        return "resistance-connected"
    return "resistance-short"


def _behind(seen: Seen) -> set[str]:
    """What a meter behind the device can be put to: itself, what is in one row with it, and all that hangs from it."""
    nodes, edges = seen.study.design.circuit.nodes, seen.study.design.circuit.edges
    hanging = {name for n in seen.behind for name in (nodes[n].name, nodes[n].name.partition(".")[0])}
    inside = {edges[i].element.name for n in seen.behind for i in nodes[n].edges}
    return {*hanging, *inside, seen.device.name, *same_current(seen)}
