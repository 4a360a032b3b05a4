"""The figures of a circuit in words, and which conditions of the table they meet."""

from __future__ import annotations

import math
from dataclasses import dataclass, field

from linter.advice.tripped.asked import Asked, asked_of
from linter.advice.tripped.conditions import conditions, start_opens
from linter.advice.tripped.motors import is_motor
from linter.advice.tripped.seen import (
    InScene,
    Seen,
    Start,
    same_current,
)
from linter.advice.tripped.table import table
from linter.advice.tripped.warmth import at_c
from linter.model.elements import Device, Load
from linter.rules.finding import Finding
from linter.rules.words import amps, class_words, kiloamps, names, point, seconds
from linter.study.cases import draws_a
from linter.study.study import Study


@dataclass(slots=True)
class Circuit:
    """``words``: what the table's texts name in braces; ``holds``: the conditions that are met, with their reason."""

    seen: Seen
    words: dict[str, str] = field(default_factory=dict)
    holds: dict[str, str] = field(default_factory=dict)
    # what the makers of the loads behind it ask for
    asked: list[Asked] = field(default_factory=list)
    # expected voltage at loads, by name: (least, greatest) in V
    volts: dict[str, tuple[float, float]] = field(default_factory=dict)
    # by load, the least voltage as one of them starts, V
    start_volts: dict[str, float] = field(default_factory=dict)
    # the least resistance that what is connected behind it may show at rest, ohm
    load_ohm: float | None = None
    # what it and its joints should cost at the greatest steady current, V
    across_v: float | None = None


def band_words(least_s: float | None, most_s: float | None) -> str:
    """What it does in a band of time, in words that follow `it`."""
    if least_s is None and most_s is None:
        return "opens in a time that is not told"
    if least_s == math.inf or (least_s is None and most_s == math.inf):
        return "carries that for ever"
    last = "" if most_s is None or most_s == math.inf else seconds(most_s)
    if not least_s:
        return f"opens within {last}; how soon is not promised" if last else "may open; when is not promised"
    return f"opens in {seconds(least_s)} to {last}" if last else f"may open after {seconds(least_s)}, or never"


def circuit_of(seen: Seen, findings: list[Finding]) -> Circuit:
    made = Circuit(seen, asked=asked_of(seen.study, seen.device))
    _voltages(made)
    made.load_ohm = _load_ohm(seen)
    made.across_v = _across(seen)
    made.words = _words(made, findings)
    for name in conditions(made, findings):
        made.holds[name] = table().conditions[name].format_map(made.words)
    return made


def _voltages(made: Circuit) -> None:
    scenes = made.seen.study.scenes()
    for node in made.seen.loads:
        found = [s[node.index].volts for s in (scenes.lowest, scenes.highest) if node.index in s]
        if found and node.load is not None:
            # a converter's input has a name of its own, and a person may say either
            made.volts[node.name] = made.volts[node.load.name] = min(found), max(found)
        if node.load is not None and node.index in made.seen.start_volts:
            made.start_volts[node.name] = made.start_volts[node.load.name] = made.seen.start_volts[node.index]


def _load_ohm(seen: Seen) -> float | None:
    """V / I of the largest current that what is connected may take as it stands still: a locked motor's."""
    nodes = [n for n in seen.loads if n.load is not None]
    system = next((n.system for n in nodes if n.system is not None), None)
    if system is None or not system.voltage_v:
        return None
    drawn = sum(max(draws_a(n.load, n) or 0.0, n.load.starts_a or 0.0) for n in nodes if n.load is not None)
    return system.voltage_v / drawn if drawn else None


def _across(seen: Seen) -> float | None:
    if seen.steady is None or seen.device.resistance_ohm is None:
        return None
    return seen.steady.steady_a * seen.device.resistance_ohm[1]


def _main_load(seen: Seen) -> Load | None:
    loads = [n for n in seen.loads if n.load is not None]
    best = max(loads, key=lambda n: draws_a(n.load, n) or 0.0 if n.load else 0.0, default=None)
    return best.load if best is not None else None


def motors(seen: Seen) -> list[Load]:
    """Loads behind it that are motors."""
    return [n.load for n in seen.loads if n.load is not None and is_motor(n.load)]


def _source_names(study: Study) -> str:
    found = [n.source.name for n in study.design.circuit.nodes if n.source is not None and n.source.is_battery]
    return names(found) if found else "the source"


def _next(seen: Seen, node: int) -> str:
    """What stands at a terminal of the device: what is declared there, else the one thing that goes on from it."""
    made = seen.study.design.circuit.nodes[node]
    others = [i for i in made.edges if i != seen.edge.index]
    if made.kind == "end" and len(others) == 1:
        return seen.study.design.circuit.edges[others[0]].element.name
    return spot(seen.study, node)


def _clamped(seen: Seen) -> str:
    """The conductor around which a clamp shows what the device carries, behind it or else before it; nobody clamps a
    bar, and of one that branches at once all that leave it are read."""
    circuit = seen.study.design.circuit
    for name in same_current(seen):
        if name in circuit.edge_of and circuit.edges[circuit.edge_of[name].index].kind == "conductor":
            return name
    for node in (seen.far, seen.near):
        leaving = [circuit.edges[i] for i in circuit.nodes[node].edges if i != seen.edge.index]
        if leaving and all(e.kind == "conductor" for e in leaving):
            return f"each of {names([e.element.name for e in leaving])} in turn, the readings added"
    return f"each way that leaves {spot(seen.study, seen.far)} in turn, the readings added"


def spot(study: Study, node: int) -> str:
    """A point where a probe can be put."""
    return point(study, node)


def _words(made: Circuit, findings: list[Finding]) -> dict[str, str]:
    seen, meter = made.seen, table().meter
    study, device = seen.study, seen.device
    steady, start, low = seen.steady, seen.start, seen.low
    main, whirls = _main_load(seen), motors(seen)
    first = _clamped(seen)
    not_told = "not told"
    asked_for = "; ".join(f"{a.load.name}: {a.words}" for a in made.asked if a.ranges)
    found = {
        "device": device.name,
        "near": f"{device.name}'s terminal towards {_next(seen, seen.near)}",
        "far": f"{device.name}'s terminal towards {_next(seen, seen.far)}",
        "clamp": first,
        "run": names([r.name for r in seen.runs]) or "the run",
        "load": main.name if main is not None else "what is connected",
        "motor": names([m.name for m in whirls]) or "a motor",
        "stalls": "stall or drag" if len(whirls) > 1 else "stalls or drags",
        "place": device.place.name if device.place is not None else "its place",
        "place_c": not_told if seen.place_c is None else f"{seen.place_c:g} °C",
        "rated": not_told if device.rated_a is None else amps(device.rated_a),
        "carries": "its rating (not told)" if seen.carries_a is None else amps(seen.carries_a),
        "steady": not_told if steady is None else f"{amps(steady.steady_a)} ({steady.title})",
        "source": _source_names(study),
        "least_v": not_told if seen.least_v is None else f"{seen.least_v:g} V",
        "low": not_told if low is None or low.low_a is None else amps(low.low_a),
        "limit_c": not_told if seen.limit_c is None else f"{seen.limit_c:.3g} °C",
        "stall": not_told if seen.stall_a is None else amps(seen.stall_a),
        "stall_band": not_told if seen.stall_a is None else band_words(*seen.band(seen.stall_a)),
        "fitted": _fitted(device),
        "asked_for": asked_for,
        "asked_too": f"; what is asked for: {asked_for}" if asked_for else "",
        "asked": next((f.message for f in findings if f.rule == "device-not-as-asked"), ""),
        "warmer": f"{meter['warmer_k']:g}",
    }
    found["start"] = not_told if start is None else f"{amps(start[1].amps)} as {start[1].load} starts"
    found |= _start_words(seen, start, "start")
    found |= _start_words(seen, seen.stall, "stall")
    found |= _expected(made)
    found |= _start_too(seen, found)
    fault = seen.far_fault or seen.near_fault
    found["fault_slow"] = not_told if fault is None or fault.most_s is None else seconds(fault.most_s)
    found["bears"] = (
        f"{found['steady']} for ever" if steady and seen.carries_a and steady.steady_a <= seen.carries_a
        else f"up to {found['carries']} for ever"
    )  # fmt: skip
    return found


def _start_words(seen: Seen, pair: tuple[InScene, Start] | None, of: str) -> dict[str, str]:
    """What a meter shows as a load starts, and what means trouble; the words begin with ``of``."""
    if pair is None:
        return {f"{of}_least": "not told", f"{of}_lasts": "not told",
                f"{of}_expected": "no starting current is stated; the running current at once",
                f"{of}_trouble": "more than it should carry, for longer than a moment"}  # fmt: skip
    (scene, one), share, device = pair, table().meter["clamp_share"], seen.device.name
    least_s, _ = seen.band(one.amps)
    lasts = "a time that nobody states" if one.seconds is None else seconds(one.seconds)
    least = "not told" if not least_s else "ever" if least_s == math.inf else seconds(least_s)
    opens = f"{device} may open after {least}"
    if seen.bears(one):
        opens = f"{device} need not open at that"
    elif not least_s:
        opens = f"when {device} opens at that is not told"
    return {
        f"{of}_least": least, f"{of}_lasts": lasts,
        f"{of}_expected": f"{_about(one.amps, share)} for {lasts}, then {_about(scene.steady_a, share)}",
        f"{of}_trouble": f"still near {amps(one.amps)} after {lasts}; {opens}",
    }  # fmt: skip


def _start_too(seen: Seen, words: dict[str, str]) -> dict[str, str]:
    """Where the device may open at a start as designed, what is read of that too."""
    if not start_opens(seen):
        return {"start_too": "", "start_expected_too": "", "start_trouble_too": ""}
    return {
        "start_too": ", and as it starts with a clamp that records",
        "start_expected_too": f"; {words['start_expected']}",
        "start_trouble_too": f"; {words['start']} for {words['start_lasts']}, as it may open after "
                             f"{words['start_least']} already",
    }  # fmt: skip


def _about(value: float, share: float, unit: str = "A") -> str:
    low, high = value * (1 - share), value * (1 + share)
    return f"{value:.3g} {unit} ({low:.3g} to {high:.3g} {unit})"


def _expected(made: Circuit) -> dict[str, str]:
    """What a meter should show, and what means trouble."""
    seen, meter = made.seen, table().meter
    steady = seen.steady
    found = {"current_expected": "not told: no scene has a current here that is reckoned", "current_on": ""}
    found["current_trouble"] = "what the loads name"
    if steady is not None:
        found["current_expected"] = f"{_about(steady.steady_a, meter['clamp_share'])} in {steady.title}"
        found["current_on"] = f"; {found['current_expected']} with those of that scene on"
        found["current_trouble"] = amps(steady.steady_a * (1 + meter["clamp_share"]))
    main = _main_load(seen)
    range_v = made.volts.get(main.name) if main is not None else None
    if range_v is None:
        found["volts_expected"] = (
            "not told: in a mesh no load is its own alone" if seen.meshed and main is None
            else "not told: the load is in no scene that could be solved"
        )  # fmt: skip
        found["volts_trouble"] = "far below the source's"
    else:
        low, high = range_v[0] * (1 - meter["volts_share"]), range_v[1] * (1 + meter["volts_share"])
        found["volts_expected"] = f"{low:.4g} V to {high:.4g} V at {main.name if main else ''}"
        works = f"; it works from {main.works_from_v:g} V" if main is not None and main.works_from_v else ""
        found["volts_trouble"] = f"below {low:.4g} V{works}"
    found["across_expected"] = (
        f"less than {meter['across_v']:g} V; its own resistance is not told"
        if made.across_v is None else f"{made.across_v * 1000:.3g} mV at most, by its own resistance"
    )  # fmt: skip
    found["across_trouble"] = f"more than {max(meter['across_v'], 2 * (made.across_v or 0.0)):.2g} V"
    if made.load_ohm is None:
        found["ohm_expected"] = "what is connected is not told"
        found["ohm_with"] = ""
        found["ohm_trouble"] = "nearly nothing"
    else:
        found["ohm_expected"] = f"{_ohm(made.load_ohm)} or more"
        found["ohm_with"] = f" ({found['ohm_expected']} with them)"
        found["ohm_trouble"] = f"less than {_ohm(made.load_ohm * meter['short_share'])}"
    limit = seen.limit_c
    found["place_expected"] = (
        "not told" if seen.place_c is None else f"no more than the {seen.place_c:g} °C of the design"
    )
    if seen.never_carries and steady is not None:
        found["place_trouble"] = f"any: by its maker's figures it carries the {amps(steady.steady_a)} nowhere"
    elif limit is None:
        carried = at_c(seen.device, 60.0)
        found["place_trouble"] = (
            "its maker must say from what temperature on it carries less" if carried is None
            else f"by its maker's figures none that a place reaches: at 60 °C it still carries {amps(carried)}"
        )  # fmt: skip
    else:
        found["place_trouble"] = (
            f"above {limit:.3g} °C, from where it carries less than the {amps(steady.steady_a) if steady else ''}"
        )
    return found


def _ohm(value: float) -> str:
    for factor, unit in ((1e6, "MΩ"), (1e3, "kΩ"), (1.0, "Ω")):
        if value >= factor:
            return f"{value / factor:.3g} {unit}"
    return f"{value * 1000:.3g} mΩ"


ohm_words = _ohm


def _fitted(device: Device) -> str:
    parts = [class_words(device.device_class), device.kind]
    rating = "rating not told" if device.rated_a is None else amps(device.rated_a)
    sheet = f", {device.part.label or device.part.name}" if device.part is not None else ""
    curve = f", curve {device.curve}" if device.curve else ""
    return f"{' '.join(p for p in parts if p)}, {rating}{curve}{sheet}"


__all__ = ["Circuit", "at_c", "band_words", "circuit_of", "kiloamps", "motors", "ohm_words", "spot"]
