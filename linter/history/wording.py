"""Facts and figures of a comparison in words, as one would write them in a design."""

from __future__ import annotations

import re
from typing import Any

from linter.history.compare import Change
from linter.history.figures import FIGURES
from linter.rules.words import energy, kiloamps, seconds

WORDS = {key: words for key, words, _ in FIGURES}
UNITS = {key: unit for key, _, unit in FIGURES}
#: What is not reckoned of a conductor that is not guarded in the first place.
JUDGED = frozenset({"opens_s", "heat_percent"})
_ENDING = re.compile(r"_(a|v|w|ohm|m|c|s|ah)$")
_SYMBOLS = {"a": "A", "v": "V", "w": "W", "ohm": "Ω", "m": "m", "c": "°C", "s": "s", "ah": "Ah"}


def shortened(words: str, most: int = 80) -> str:
    return words if len(words) <= most else words[: most - 1] + "…"


def shown(value: Any) -> str:
    """A value in words, figures to four places."""
    if value is None or value == []:
        return "none"
    if value is True:
        return "yes"
    if isinstance(value, float):
        return _places(value, 4)
    if isinstance(value, dict):
        return ", ".join(f"{k.replace('_', ' ')} {shown(v)}" for k, v in value.items()) or "none"
    if isinstance(value, list):
        return ", ".join(f"({shown(v)})" if isinstance(v, list | dict) else shown(v) for v in value)
    return str(value)


def _places(value: float, places: int) -> str:
    """A figure to so many places, without an exponent where it is large."""
    return f"{value:.0f}" if abs(value) >= 10**places else f"{value:.{places}g}"


def change_words(change: Change) -> str:
    """One figure or fact: what it is called, what it was and what it is."""
    words, was, now = change_parts(change)
    return f"{words} {was} → {now}"


def change_parts(change: Change) -> tuple[str, str, str]:
    """What it is called, what it was, what it is."""
    what = change.what
    if what not in WORDS:
        name = fact_words(what, change.was)[0]
        was, now = (_fact(change, side) for side in (0, 1))
        return name, was, now
    was, now = (_figure(what, v) for v in (change.was, change.now))
    if was == now and _is_number(change.was) and _is_number(change.now):
        # as many places as it takes to see the difference
        places = next((n for n in range(5, 9) if _places(change.was, n) != _places(change.now, n)), 9)
        was, now = (f"{_places(v, places)} {UNITS[what]}".rstrip() for v in (change.was, change.now))
    return WORDS[what], was, now


def _fact(change: Change, side: int) -> str:
    """A fact's value on one side; where it is not said, what counts then."""
    value = (change.was, change.now)[side]
    words, whose, counts = change.unsaid[side] if change.unsaid else ("", "", None)
    if value is not None or not words:
        return fact_words(change.what, value)[1]
    return words if counts is None else f"{words} ({fact_words(whose, counts)[1]})"


def _figure(what: str, value: Any) -> str:
    if value is None:
        return "not judged" if what in JUDGED else "not known"
    if what == "opens_s" and _is_number(value):
        return seconds(value)
    return f"{shown(value)} {UNITS[what]}" if UNITS[what] and _is_number(value) else shown(value)


def _is_number(value: Any) -> bool:
    return isinstance(value, int | float) and not isinstance(value, bool)


def fact_words(key: str, value: Any) -> tuple[str, str]:
    """(what a fact is called, its value)."""
    ending = _ENDING.search(key)
    name = _ENDING.sub("", key).replace("_", " ")
    if value is None or value == []:
        return name, "none"
    written = _WRITTEN.get(key)
    if written is not None and isinstance(value, list) and all(isinstance(v, list) for v in value):
        return name, ", ".join(written(*v) for v in value)
    if ending is not None:
        unit = _SYMBOLS[ending[1]]
        if _is_number(value):
            return name, _quantity(value, unit)
        if isinstance(value, list) and len(value) == 2 and all(_is_number(v) for v in value):
            low, high = (_quantity(v, unit) for v in value)
            return name, low if low == high else f"{low} to {high}"
        if isinstance(value, list) and all(_is_number(v) for v in value):
            return name, " ".join(_quantity(v, unit) for v in value)
    return name, shown(value)


def _quantity(value: float, unit: str) -> str:
    return f"{value * 1000:.6g} mΩ" if unit == "Ω" and value < 1 else f"{value:.6g} {unit}"


def _opens(multiple: float, least_s: float, greatest_s: float) -> str:
    return f"at {100 * multiple:.4g} % in {seconds(least_s)} to {seconds(greatest_s)}"


def _breaks(amps: float, volts: float | None = None) -> str:
    return kiloamps(amps) + (f" at {volts:g} V" if volts is not None else "")


def _lets_through(a2s: float, amps: float | None = None) -> str:
    return energy(a2s) + (f" at {kiloamps(amps)}" if amps is not None else "")


def _carries(at_c: float, share: float) -> str:
    return f"{100 * share:.4g} % at {at_c:g} °C"


def _route(metres: float | None, place: Any) -> str:
    return f"{metres:g} m in {shown(place)}" if metres is not None else f"in {shown(place)}"


_WRITTEN: dict[str, Any] = {
    "opens": _opens, "breaks": _breaks, "lets_through": _lets_through, "carries": _carries, "route": _route,
}  # fmt: skip
