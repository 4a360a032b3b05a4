"""In which ratings a device is made: by its own sheet, by others of the design, by its class, by the standard list."""

from __future__ import annotations

from dataclasses import dataclass

from linter.model.design import Design
from linter.model.elements import Device, Part
from linter.rules.words import amps, class_words
from linter.source.units import Quantity
from linter.tables.devices import classes, standard_ratings

_ABOVE = 1 + 1e-9


@dataclass(frozen=True, slots=True)
class Next:
    """A rating in A and, in words, of which series it is the next.  ``part``: another sheet that has it, if it is not
    its own; ``ended``: its own sheet has none so large."""

    rating_a: float
    of: str
    part: str = ""
    ended: bool = False


def next_up(design: Design, device: Device) -> Next | None:
    """The next rating above the device's own; None where no series has one, or its own rating is not told."""
    if device.rated_a is None:
        return None
    rated_a = device.rated_a
    own_a = _above(device.comes_in_a, rated_a)
    sheet = f"sheet {device.part.name}" if device.part is not None else "its own line"
    if own_a is not None:
        return Next(own_a, f"the next of {span(device.comes_in_a)} by {sheet}")
    ended = bool(device.comes_in_a)
    end = f"; {sheet} ends at {amps(max(device.comes_in_a))}" if ended else ""
    other = _other_sheet(design, device, rated_a) if ended else None
    if other is not None:
        next_a, part = other
        return Next(next_a, f"the next by sheet {part.name}{end}", part.name, True)
    made = classes().get(device.device_class)
    if made is not None and (of_class := _above(made.ratings_a, rated_a)) is not None:
        words = f"the next of the series of {class_words(device.device_class)} {device.kind}s by {made.cite.clause}"
        return Next(of_class, words + end, "", ended)
    standard = standard_ratings()
    of_all = _above(standard.fuses_a if device.kind == "fuse" else standard.breakers_a, rated_a)
    if of_all is None:
        return None
    whose = "" if ended else ", as no sheet says in which it is made"
    words = f"the next standard rating by {standard.cite.clause}{whose}"
    return Next(of_all, words + end, "", ended)


def made_within(design: Design, device: Device, least_a: float, greatest_a: float) -> list[tuple[float, str]]:
    """(rating in A, whose in words that follow `is`) above its own, from ``least_a`` to ``greatest_a``, in every series
    known."""
    rated_a = device.rated_a or 0.0
    series = [(device.comes_in_a, f"made by sheet {device.part.name}" if device.part else "made by its own line")]
    series += [(_comes_in(p), f"made by sheet {p.name}") for p in _like(design, device)]
    made = classes().get(device.device_class)
    if made is not None:
        series.append((made.ratings_a, f"in the series of {class_words(device.device_class)} {device.kind}s"))
    standard = standard_ratings()
    series.append(
        (
            standard.fuses_a if device.kind == "fuse" else standard.breakers_a,
            f"a standard rating ({standard.cite.clause})",
        )
    )
    found: dict[float, str] = {}
    for ratings, whose in series:
        for rating in ratings:
            if rating > rated_a * _ABOVE and least_a / _ABOVE <= rating <= greatest_a * _ABOVE:
                found.setdefault(rating, whose)
    return sorted(found.items())


def span(ratings: tuple[float, ...]) -> str:
    """A series in words: all of a short one, the ends of a long one."""
    rising = sorted(ratings)
    if len(rising) <= 3:
        return ", ".join(amps(r) for r in rising)
    return f"{len(rising)} ratings from {amps(rising[0])} to {amps(rising[-1])}"


def _above(ratings: tuple[float, ...], rated_a: float) -> float | None:
    return min((r for r in ratings if r > rated_a * _ABOVE), default=None)


def _other_sheet(design: Design, device: Device, rated_a: float) -> tuple[float, Part] | None:
    """The least larger rating in another sheet of the design, of the same kind, class and speed."""
    found = [
        (next_a, part) for part in _like(design, device) if (next_a := _above(_comes_in(part), rated_a)) is not None
    ]
    return min(found, key=lambda pair: (pair[0], pair[1].name), default=None)


def _like(design: Design, device: Device) -> list[Part]:
    own = device.part
    if own is None:
        return []
    return [
        part
        for part in design.parts.values()
        if part is not own and part.part_of == device.kind and all(_said(part, k) == _said(own, k) for k in _SAME)
    ]


#: What another sheet must say alike, that one might be fitted in the other's place at all.
_SAME = ("class", "speed", "voltage", "ignition protected")


def _said(part: Part, key: str) -> tuple[object, ...] | None:
    fact = part.facts.get(key)
    return None if fact is None else tuple(v.value if isinstance(v, Quantity) else str(v) for v in fact.values)


def _comes_in(part: Part) -> tuple[float, ...]:
    fact = part.facts.get("comes in")
    return () if fact is None else tuple(v.value for v in fact.values if isinstance(v, Quantity))
