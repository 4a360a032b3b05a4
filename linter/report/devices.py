"""The protective devices of a design: what each is, what it may meet, and what it guards."""

from __future__ import annotations

import math
from typing import Any

from linter.model.circuit import Edge
from linter.report.data import at_most, prospective
from linter.report.loads import head
from linter.report.rows import Rows
from linter.rules.words import class_words
from linter.study.breaking import breaking_capacity
from linter.study.coordination import nearest_above
from linter.study.study import ConductorStudy, Study
from linter.study.voltage import greatest_voltage

COLUMNS = (
    "device", "label", "class", "rated A", "carries there A", "breaks A", "at V", "largest fault A", "smallest fault A",
    "opens in s", "operating A", "above it", "guards",
)  # fmt: skip

FIRST = (
    "device", "rated A", "class", "guards", "breaks A", "largest fault A", "smallest fault A", "opens in s", "above it",
    "label", "carries there A", "operating A",
)  # fmt: skip


def devices_json(study: Study) -> dict[str, Any]:
    """What `study --of devices --format json` prints: one object a device.  Currents in A, times in s; null: not known,
    or (`opens_s`) never.

    ``carries_a``: rerated to where it stands; ``prospective_a``: the most it may have to break, and
    ``prospective_at_most`` that it is a bound, as a conductor of unknown size or length counts as nil;
    ``smallest_a``: the smallest fault on what it guards, ``smallest_unknown`` that a figure is missing for it, and
    ``opens_s`` the time by which it has opened then; ``operating_a``: from there on it is promised to open at last;
    ``leans_on``: what the fault currents rest on where a source's figure is missing.
    """
    return head(study, "devices") | {"devices": _devices(study)}


def _devices(study: Study) -> list[dict[str, Any]]:
    guards: dict[str, list[str]] = {}
    smallest: dict[str, float] = {}
    untold: set[str] = set()
    for made in study.conductors.values():
        for name in made.guard:
            guards.setdefault(name, []).append(made.conductor.name)
        ways = study.clears(made)
        # it may have the smallest fault of all
        if smallest_untold(study, made):
            untold.update(made.guard)
        for way in ways:
            for edge in () if way.unknown else way.chain[-1:]:
                name = study.design.circuit.edges[edge].element.name
                smallest[name] = min(smallest.get(name, math.inf), way.smallest_a)
    rows = [e for e in study.design.circuit.edges if e.kind == "device"]
    return [
        _device(study, e, guards, None if e.element.name in untold else smallest.get(e.element.name), untold)
        for e in rows
    ]


def smallest_untold(study: Study, made: ConductorStudy) -> bool:
    """Whether a figure is missing for the smallest fault on a conductor: of a way that feeds it, or where it is too
    little known to be judged at all."""
    ways = study.clears(made)
    return any(way.unknown for way in ways) or (not ways and bool(prospective(study, made)["smallest_unknown"]))


def _device(
    study: Study, edge: Edge, guards: dict[str, list[str]], smallest_a: float | None, untold: set[str]
) -> dict[str, Any]:
    device, openings = edge.device, study.openings()
    curve, through = openings.curve(edge.index), study.faults().to_break(edge.index)
    system = study.system_of(edge)
    volts = greatest_voltage(study.design, system) if system is not None else None
    breaks = breaking_capacity(device, volts[0]) if volts is not None else None
    unknown = through.unknown or through.drive is None or through.drive.unknown
    opens = curve.slowest(smallest_a) if curve is not None and smallest_a is not None else None
    return {
        "id": device.name,
        "label": device.label,
        "device": device.kind,
        "class": device.device_class,
        "part": device.part.name if device.part is not None else None,
        "rated_a": device.rated_a,
        "carries_a": curve.rated_a if curve is not None else None,
        "breaks_a": breaks.amps if breaks is not None else None,
        "breaks_at_v": breaks.voltage_v if breaks is not None else None,
        "system_greatest_v": volts[0] if volts is not None else None,
        "prospective_a": None if unknown else round(through.amps, 3),
        "prospective_at_most": not unknown and _at_most(study, edge),
        "smallest_a": None if smallest_a is None else round(smallest_a, 3),
        "smallest_unknown": device.name in untold,
        "opens_s": None if opens is None or math.isinf(opens.seconds) else round(opens.seconds, 6),
        "operating_a": curve.operating_a if curve is not None and curve.slow else None,
        "curve": str(curve.cite) if curve is not None else None,
        "leans_on": list(through.drive.leans_on) if through.drive is not None else [],
        "above": [study.design.circuit.edges[e].element.name for e in nearest_above(openings, edge.index)],
        "guards": guards.get(device.name, []),
    }


def _at_most(study: Study, edge: Edge) -> bool:
    """Whether a conductor of unknown size or length lies before the device; of one in a ring either side may be it."""
    far = study.parts.leads_to[edge.index]
    ends = (edge.u, edge.v) if far < 0 else (study.net.other(edge.index, far),)
    return any(at_most(study, n) for n in ends)


def device_rows(study: Study) -> Rows:
    """The same for a table; ? where a figure that decides it is missing, ~ before what leans on a rough one, ≤ before
    a bound."""
    cells = [
        [
            row["id"], row["label"], class_words(row["class"]), _text(row["rated_a"]), _text(row["carries_a"]),
            _text(row["breaks_a"]), _text(row["breaks_at_v"]),
            _largest(row), "?" if row["smallest_unknown"] else _text(row["smallest_a"]),
            "?" if row["smallest_unknown"] else _text(row["opens_s"]), _text(row["operating_a"]),
            " + ".join(row["above"]), " ".join(row["guards"]),
        ]
        for row in _devices(study)
    ]  # fmt: skip
    return Rows(COLUMNS, frozenset(c for c in COLUMNS if c.endswith((" A", " V", " s"))), cells, FIRST)


def _largest(row: dict[str, Any]) -> str:
    marks = ("≤" if row["prospective_at_most"] else "") + ("~" if row["leans_on"] else "")
    return marks + _text(row["prospective_a"]) if row["prospective_a"] is not None else "?"


def _text(value: float | None) -> str:
    return "" if value is None else f"{value:.0f}" if value >= 1000 else f"{value:.4g}"
