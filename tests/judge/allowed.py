"""What a conductor may carry, and how large a let-through its rulebooks allow it."""

from __future__ import annotations

import math
from typing import Any

from .circuit import Network
from .figures import (
    CFR_BUNDLES,
    CFR_COLUMNS,
    CFR_ENGINE,
    CFR_ROWS,
    FUSE_RATINGS_TOO,
    ISO_COLUMNS,
    ISO_ENGINE,
    ISO_ROWS,
    STANDARD_RATINGS,
    awg_mm2,
)


def ampacity(net: Network, edge: dict[str, Any], rulebook: str) -> float | None:
    """Table value times the worst place's factor and the bundle's; None without a size."""
    size = edge["size"]
    if size is None:
        return None
    american = rulebook in {"cfr-183", "abyc-e11"}
    rows, columns = (CFR_ROWS, CFR_COLUMNS) if american else (ISO_ROWS, ISO_COLUMNS)
    areas = {row: awg_mm2(row) if american else float(row) for row in rows}
    if american and size["awg"] in rows:
        row = size["awg"]
    else:
        fitting = [r for r in rows if areas[r] <= size["mm2"] * 1.005]
        row = max(fitting or [min(rows, key=areas.__getitem__)], key=areas.__getitem__)
    heat = edge["insulation_c"]
    column = max([c for c in columns if heat is not None and c <= heat] or [columns[0]])
    amps = rows[row][columns.index(column)]
    places = {edge["place"], *(stretch["place"] for stretch in edge["route"])} - {None}
    engine = CFR_ENGINE if american else ISO_ENGINE
    factor = min([1.0, *(_place_factor(net.places[p], column, engine) for p in places)])
    return amps * factor * (_bundle_factor(net, edge) if american else 1.0)


def bounded_only(size: dict[str, Any] | None, rulebook: str) -> bool:
    """Whether a conductor is smaller than anything in the rulebook's table: then the smallest row bounds it, no more."""
    if size is None:
        return False
    if rulebook in {"cfr-183", "abyc-e11"}:
        return size["awg"] not in CFR_ROWS and size["mm2"] * 1.005 < min(awg_mm2(row) for row in CFR_ROWS)
    return bool(size["mm2"] * 1.005 < min(float(row) for row in ISO_ROWS))


def _place_factor(place: dict[str, Any], column: int, engine: dict[int, float]) -> float:
    ambient = place["ambient_c"]
    if place["engine_space"]:
        factor = engine.get(column, 0.0)
        # the tabled factor is that of 50 °C; where it is hotter still, the rise from 30 °C says how much is left
        return min(factor, _derate(column, ambient)) if ambient is not None and ambient > 50 else factor
    return _derate(column, ambient) if ambient is not None and ambient > 30 else 1.0


def _derate(column: int, ambient: float) -> float:
    """Heat given off is in proportion to the rise above the surroundings, heat made to the square of the current."""
    return math.sqrt((column - ambient) / (column - 30)) if ambient < column else 0.0


def carried_share(net: Network, device: dict[str, Any]) -> tuple[float, float]:
    """What a device carries of its rating in the heat of its place, by its maker's figures: (at least, at most).

    Between two figures the share lies on a straight line; so says the language.  It never rises with the heat: below the
    coldest figure and above the hottest that is all that is known.
    """
    points = sorted((c["ambient_c"], c["share"]) for c in device.get("carries") or [])
    place = net.places.get(device["place"] or "")
    if not points or place is None:
        return 1.0, 1.0
    ambient = place["ambient_c"]
    if ambient is None:
        # an engine space is hot, how hot is not said
        return (min(points[-1][1], 1.0), 1.0) if place["engine_space"] else (1.0, 1.0)
    if ambient < points[0][0]:
        return min(points[0][1], 1.0), 1.0
    if ambient > points[-1][0]:
        return 0.0, min(points[-1][1], 1.0)
    colder = max(p for p in points if p[0] <= ambient)
    hotter = min(p for p in points if p[0] >= ambient)
    share = colder[1]
    if hotter[0] > colder[0]:
        share += (hotter[1] - colder[1]) * (ambient - colder[0]) / (hotter[0] - colder[0])
    return min(share, 1.0), min(share, 1.0)


def nominal_v(net: Network, edge: dict[str, Any]) -> float:
    system = net.system_of(edge)
    return float(system["voltage_v"] or 0) if system else 0.0


def _bundle_factor(net: Network, edge: dict[str, Any]) -> float:
    if nominal_v(net, edge) < 50:
        return 1.0
    return next((factor for least, factor in CFR_BUNDLES if (edge["bundle"] or 1) >= least), 1.0)


def allowed(net: Network, edge: dict[str, Any], rulebook: str) -> float | None:
    """The largest let-through that this rulebook allows the conductor."""
    amps = ampacity(net, edge, rulebook)
    if amps is None or rulebook == "iso-13297":
        return amps
    if rulebook == "cfr-183" and nominal_v(net, edge) < 50:
        return 1.5 * amps
    # A rating that is made as a fuse is a standard rating: nothing larger is then called for.  But the next one up must
    # be one in which breakers are made too.
    if any(math.isclose(amps, rating) for rating in FUSE_RATINGS_TOO + STANDARD_RATINGS):
        return amps
    following = min((r for r in STANDARD_RATINGS if r > amps), default=math.inf)
    return float(following) if following <= 1.5 * amps else amps


def strictest(values: list[float | None]) -> float | None:
    known = [v for v in values if v is not None]
    return min(known) if known else None
