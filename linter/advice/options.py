"""What is left open, and what each may become: standard conductors, and devices of part sheets or classes."""

from __future__ import annotations

import math
from collections import Counter
from collections.abc import Iterable
from dataclasses import dataclass, replace

from linter.advice.overlay import trying
from linter.model.design import Design
from linter.model.elements import Conductor, Device, Load, Part
from linter.source.scanner import Token
from linter.source.statements import Fact
from linter.source.units import Quantity
from linter.study.choice import ratings_of, sizes_like
from linter.tables.conductors import copper_density_kg_per_dm3
from linter.tables.devices import classes, standard_ratings


class NothingToChoose(ValueError):
    """An element that cannot be chosen, or nothing is left open; the message says why and what to do."""


@dataclass(frozen=True, slots=True)
class Option:
    """One thing an open element may become.  ``copper_kg`` is what it weighs; ``rank`` orders what weighs the same."""

    written: str
    facts: tuple[Fact, ...]
    copper_kg: float
    rank: tuple[float, ...]
    # area in mm² of a conductor, rating in A of a device
    figure: float
    # options of one series stand in one order: the larger figure carries more
    series: str = ""
    # of which series it is, where no sheet says so
    of: str = ""


@dataclass(frozen=True, slots=True)
class Open:
    """An element whose size or rating is to be chosen, with its options, the least first."""

    name: str
    options: tuple[Option, ...]
    conductor: bool

    def at(self, figure: float, series: str = "") -> int | None:
        """The option that has this figure (and series)."""
        return next(
            (i for i, o in enumerate(self.options) if math.isclose(o.figure, figure) and series in ("", o.series)), None
        )


def left_open(design: Design) -> list[str]:
    """The names of the elements that leave their size or rating open, in the order of the text."""
    return [n for n, e in design.elements.items() if not e.facts.keys().isdisjoint(("open size", "open current"))]


def open_element(design: Design, name: str) -> Open:
    """An element with what it may become.  Raises NothingToChoose where there is nothing, or a figure lacks."""
    element = design.elements[name]
    if isinstance(element, Conductor):
        if element.length_m is None:
            raise NothingToChoose(f"{name} has no length; without it no size can be chosen")
        return Open(name, tuple(_sizes(element, design)), True)
    if isinstance(element, Device):
        options = sorted(_devices(element, design), key=lambda o: o.rank)
        if not options:
            asked, standard = _asked(element, design), standard_ratings()
            ratings = standard.fuses_a if element.kind == "fuse" else standard.breakers_a
            of = "what a maker on board asks for" if asked else f"a standard rating ({standard.cite.clause})"
            of += "; no series is known: see whether it is made"
            options = [replace(_device(a, "", 0), of=of) for a in asked or ratings]
        return Open(name, tuple(options), False)
    raise NothingToChoose(
        f"{name} is a {element.kind}; what is chosen is a cable's size and a fuse's or breaker's rating"
    )


def _sizes(cable: Conductor, design: Design) -> Iterable[Option]:
    for size in sizes_like(_like(cable, design)):
        yield Option(size.text, (trying("area", size),), copper_kg(cable, size.value), (size.value,), size.value)


def copper_kg(cable: Conductor, area_mm2: float) -> float:
    """The copper of a conductor and its return, kg; area mm², lengths m.  The return is as long and as large as the
    conductor where nothing else is said."""
    out_m = cable.length_m or 0.0
    back_m = cable.return_m if cable.return_m is not None else out_m
    back_mm2 = cable.return_size.value if cable.return_size is not None else area_mm2
    # mm² times m is cm³
    return (area_mm2 * out_m + back_mm2 * back_m) * copper_density_kg_per_dm3() / 1000


_GAUGE = Quantity("AREA", 1.0, "17 AWG", "17")
_METRIC = Quantity("AREA", 1.0, "1 mm²")


def _like(cable: Conductor, design: Design) -> Quantity:
    """In which system its size is chosen: as it says, as it is, else as most of the boat's cables are."""
    said = cable.facts.get("open size")
    if said is not None and said.values[0] != "?":
        return _GAUGE if "AWG" in said.values[0] else _METRIC
    if cable.size is not None:
        return cable.size
    used = Counter(bool(e.size.awg) for e in design.elements.values() if isinstance(e, Conductor) and e.size)
    return _GAUGE if used[True] > used[False] else _METRIC


def _devices(device: Device, design: Design) -> Iterable[Option]:
    """The devices that the statement allows: its own sheet's series; else every sheet of its kind and class, and its
    class's standard series, of which no more is known than the standard says."""
    if device.part is not None:
        series = device.comes_in_a or _own(device) or ratings_of(device.device_class)
        yield from (_device(a, "", 0) for a in series)
        return
    order = 0
    for part in design.parts.values():
        if part.part_of == device.kind and _fits(device, part):
            order += 1
            yield from (_device(a, part.name, order) for a in series_of(part))
    if device.device_class:
        yield from (_device(a, "", order + 1) for a in ratings_of(device.device_class, device.comes_in_a))


def _own(device: Device) -> tuple[float, ...]:
    """The rating that its sheet itself gives, where it is the sheet of one device only."""
    fact = device.part.facts.get("current") if device.part is not None else None
    return (fact.values[0].value,) if fact is not None else ()


def _asked(device: Device, design: Design) -> list[float]:
    """The ratings that makers of loads on board ask for in a device of this kind, where no series is known: what a
    maker prescribes is made."""
    found = {
        rated_a
        for load in design.elements.values()
        if isinstance(load, Load)
        for one in load.asks
        if one.rating_a is not None and one.device_kind in ("", device.kind)
        if not device.device_class or one.device_class in ("", device.device_class)
        for rated_a in one.rating_a
    }
    return sorted(found)


def _fits(device: Device, part: Part) -> bool:
    """Whether a sheet is of what the statement says so far: its class and speed."""
    for key, wanted in (("class", device.device_class), ("speed", device.speed)):
        fact = part.facts.get(key)
        if wanted and (fact is None or fact.values[0] != wanted):
            return False
    return True


def series_of(part: Part) -> tuple[float, ...]:
    """The ratings, in A, that a device's sheet comes in; else those of its class; none where neither is known."""
    comes_in, current, kind = (part.facts.get(k) for k in ("comes in", "current", "class"))
    if comes_in is not None:
        return tuple(sorted(q.value for q in comes_in.values))
    if current is not None:
        return (current.values[0].value,)
    made = classes().get(str(kind.values[0])) if kind is not None else None
    return made.ratings_a if made is not None else ()


def _device(rated_a: float, part: str, order: int) -> Option:
    rating = Quantity("CURRENT", rated_a, f"{rated_a:g} A")
    facts: list[Fact] = [trying("current", rating)]
    if part:
        facts.insert(0, trying("part", Token("NAME", part, 0, 0), f"part {part}"))
    written = f"part {part}, {rating.text}" if part else rating.text
    return Option(written, tuple(facts), 0.0, (rated_a, float(order)), rated_a, part)
