"""What the page tells of an element: a term, words, the elements named; every figure as it is reported elsewhere."""

from __future__ import annotations

import math
from collections.abc import Iterable
from typing import Any

from linter.drawing import annotate, labels
from linter.drawing.text import clean
from linter.model.elements import Conductor
from linter.report.devices import devices_json
from linter.report.loads import loads_json
from linter.rules.words import class_words
from linter.study.opening import Clears
from linter.study.scene_net import nil_words
from linter.study.study import ConductorStudy, Study

# The term, the words beside it, and the names of elements to go to.
Fact = tuple[str, str, tuple[str, ...]]


def facts_of(study: Study) -> dict[str, list[Fact]]:
    """The facts of every element by its name; of conductors, devices and loads also what the study found."""
    devices = {row["id"]: row for row in devices_json(study)["devices"]}
    loads = {row["id"]: row for row in loads_json(study)["loads"]}
    made: dict[str, list[Fact]] = {}
    for name, element in study.design.elements.items():
        facts = [_words("As written", labels.described(element))]
        if element.says():
            facts.append(_words("The maker says", element.says()))
        if isinstance(element, Conductor) and name in study.conductors:
            facts += _conductor(study, study.conductors[name])
        if name in devices:
            facts += _device(devices[name])
        if name in loads:
            facts += _load(loads[name])
        made[name] = facts
    return made


def _words(term: str, words: str) -> Fact:
    return term, clean(words), ()


def _names(term: str, names: Iterable[str]) -> list[Fact]:
    """The names to go to; nothing where there are none."""
    found = tuple(names)
    return [(term, "", found)] if found else []


def _amps(value: float | None) -> str:
    if value is None:
        return "not known: a figure is missing"
    return "unlimited: nothing opens" if math.isinf(value) else f"{value:.4g} A"


def _volts(value: float | None) -> str:
    return "not known" if value is None else f"{value:.4g} V"


def _seconds(value: float) -> str:
    return "never" if math.isinf(value) else "less than 1 ms" if value < 0.001 else f"{value:.3g} s"


def _conductor(study: Study, made: ConductorStudy) -> list[Fact]:
    found = [_words("Verdict", made.verdict.value)]
    found += _names("Guard", made.guard) or [_words("Guard", "none")]
    found += [_words("Lets through", _amps(made.let_through_a)), _words("May be guarded by", _amps(made.allowed_a))]
    for capacity in made.capacities:
        found += [_words("Capacity", step) for step in capacity.steps()]
    if made.load is not None:
        found.append(_words("Load current", _amps(made.load.amps)))
    found.append(_words("Fault current, smallest and largest", annotate.fault_words(study, made)))
    found += [_words("Opens at the smallest fault", _opens(study, way)) for way in study.clears(made)]
    return found


def _opens(study: Study, way: Clears) -> str:
    circuit = study.design.circuit
    fed = ", ".join(e.name for s in way.sources if (e := circuit.nodes[s].element) is not None)
    if way.unknown:
        said = "not known: a figure is missing"
    elif way.first.by < 0 or math.isinf(way.first.seconds):
        said = "never"
    else:
        said = f"{circuit.edges[way.first.by].element.name} after {_seconds(way.first.seconds)}"
        said += "" if way.first.told else ", beyond the curve that is told"
    return f"{said}, fed from {fed}" if fed else said


def _device(row: dict[str, Any]) -> list[Fact]:
    """Of a row of `study --of devices`."""
    rough = ", by a rough figure of a source" if row["leans_on"] else ""
    # a conductor of unknown size or length on the way counts as nil
    most = "at most " if row["prospective_at_most"] else ""
    found = [
        _words("Class", class_words(row["class"])),
        _words("Rated current", _amps(row["rated_a"])),
        _words("Carries where it stands", _amps(row["carries_a"])),
        _words("Breaking capacity", _breaks(row)),
        _words("Largest prospective current", most + _amps(row["prospective_a"]) + rough),
    ]
    if row["smallest_unknown"]:
        found.append(_words("Smallest fault on what it guards", "not known: a figure on its way is missing"))
    elif row["smallest_a"] is not None:
        opens = _seconds(math.inf if row["opens_s"] is None else row["opens_s"])
        found.append(_words("Smallest fault on what it guards", f"{_amps(row['smallest_a'])}; opens: {opens}"))
    return found + _names("Above it", row["above"]) + _names("Guards", row["guards"])


def _breaks(row: dict[str, Any]) -> str:
    if row["breaks_a"] is None:
        return "not known: nobody says at the voltage here"
    at = "" if row["breaks_at_v"] is None else f" at {_volts(row['breaks_at_v'])}"
    here = "" if row["system_greatest_v"] is None else f"; greatest voltage here {_volts(row['system_greatest_v'])}"
    return f"{_amps(row['breaks_a'])}{at}{here}"


def _load(row: dict[str, Any]) -> list[Fact]:
    """Of a row of `study --of loads`."""
    draws = [f"{row[key]:.4g} {unit}" for key, unit in (("draws_a", "A"), ("draws_w", "W")) if row[key] is not None]
    found = [_words("Draws", ", ".join(draws) or "not known: nobody says")]
    found += _names("Guard", row["guard"]) or [_words("Guard", "none")]
    for term, key in (("Voltage in the worst scene", "worst"), ("Voltage by itself", "alone")):
        state = row[key]
        if state is not None:
            least, most = ("at least ", "at most ") if state["untold"] else ("", "")
            drop = "" if state["drop_percent"] is None else f", drop {least}{state['drop_percent']:.2g} %"
            said = f"{most}{_volts(state['volts_v'])}{drop}, {_amps(state['current_a'])}: {state['title']}"
            said += f"; {nil_words(state['untold'])}" if state["untold"] else ""
            found.append(_words(term, said))
    if row["limit_percent"] is not None:
        found.append(_words("Drop allowed", f"{row['limit_percent']:.3g} % by {row['limit_rulebook']}"))
    return found
