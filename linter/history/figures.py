"""The figures of a design's protection that are compared, as a finished study has them: nothing is reckoned here."""

from __future__ import annotations

import math
from collections import defaultdict
from typing import TYPE_CHECKING, Any

from linter.report.devices import devices_json
from linter.report.loads import loads_json
from linter.rules.engine import Examination

if TYPE_CHECKING:
    from linter.study.opening import Clears
    from linter.study.study import ConductorStudy, Study

#: What is compared of conductors, devices and loads, the weightiest first: key, words, unit.
FIGURES = (
    ("verdict", "verdict", ""), ("guard", "guard", ""), ("let_through_a", "let-through", "A"),
    ("allowed_a", "may be guarded by", "A"), ("margin_a", "margin", "A"), ("ampacity_a", "capacity", "A"),
    ("opens_s", "opens in", "s"), ("heat_percent", "heat, of what it stands", "%"),
    ("breaks_a", "breaks", "A"), ("prospective_a", "largest fault to break", "A"), ("largest_a", "largest fault", "A"),
    ("smallest_a", "smallest fault", "A"), ("above", "device above it", ""), ("volts_v", "voltage at its lowest", "V"),
    ("drop_percent", "voltage drop at its worst", "%"), ("load_current_a", "load current", "A"),
)  # fmt: skip
RANK = {key: rank for rank, (key, _, _) in enumerate(FIGURES)}
UNLIMITED, NEVER = "unlimited", "never"
PLACES = 6


def figures(made: Examination) -> dict[str, dict[str, Any]]:
    """By element, the figures of FIGURES that a study has of it; absent where not known."""
    study = made.study
    found: dict[str, dict[str, Any]] = defaultdict(dict)
    for conductor in study.conductors.values():
        found[conductor.conductor.name] |= _conductor(study, conductor)
    for row in devices_json(study)["devices"]:
        found[row["id"]] |= {k: row[k] for k in ("prospective_a", "breaks_a")} | {"above": sorted(row["above"])}
    scenes, node_of = study.scenes(), {n.load.name: n.index for n in study.design.circuit.nodes if n.load is not None}
    for row in loads_json(study)["loads"]:
        mine = found[row["id"]]
        lowest = scenes.lowest.get(node_of[row["id"]])
        # a conductor of no known size or length counts as nil there: the figure is only a bound, and not known
        if row["lowest"] and lowest is not None and not scenes.untold(lowest):
            mine["volts_v"] = row["lowest"]["volts_v"]
        worst = row["worst"] or row["alone"]
        if worst and not worst["untold"]:
            mine["drop_percent"] = worst["drop_percent"]
    return found


def _conductor(study: Study, made: ConductorStudy) -> dict[str, Any]:
    found: dict[str, Any] = {
        "verdict": made.verdict.value,
        "guard": sorted(made.guard),
        "let_through_a": UNLIMITED if math.isinf(made.let_through_a) else round(made.let_through_a, PLACES),
        "ampacity_a": _finite(made.ampacity_a),
        "allowed_a": _finite(made.allowed_a),
        "margin_a": _finite(made.margin_a),
        "load_current_a": _finite(made.load.amps) if made.load else 0.0,
    }
    faults, ends = study.faults(), (made.edge.u, made.edge.v)
    largest = [faults.largest(n) for n in ends]
    smallest = [s for n in ends if (s := faults.smallest(n)) is not None]
    if not any(p.drive is not None and p.drive.unknown for p in (*largest, *smallest)):
        found["largest_a"] = max(_finite(p.amps) or 0.0 for p in largest)
        if not any(p.unknown for p in smallest):
            found["smallest_a"] = min((_finite(p.amps) or 0.0 for p in smallest), default=None)
    ways = study.clears(made)
    if ways and not any(w.unknown for w in ways):
        found |= _cleared(ways)
    return found


def _cleared(ways: list[Clears]) -> dict[str, Any]:
    """The latest opening of all ways, and the worst heat in percent of what the conductor stands."""
    late = max(w.first.seconds for w in ways)
    found: dict[str, Any] = {"opens_s": NEVER if late == math.inf else round(late, PLACES)}
    heats = [h.share for w in ways for h in (w.heat, w.beyond) if h is not None]
    if heats:
        worst = max(heats)
        found["heat_percent"] = UNLIMITED if worst == math.inf else round(100.0 * worst, PLACES)
    return found


def _finite(value: float | None) -> float | None:
    return None if value is None or math.isinf(value) else round(value, PLACES)
