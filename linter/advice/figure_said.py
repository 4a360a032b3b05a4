"""A figure in a change that is no number, or none that a boat has: nan, inf, 1e999, -3 m, a cable of 0 m.

The language would take `nan` for a name and blame the word before it; who asks wants to hear of the figure.
"""

from __future__ import annotations

import re
from collections.abc import Collection
from decimal import Decimal

from linter.advice.ask import example
from linter.source.span import Mistake, Span, Text
from linter.source.units import UNITS

#: Read out where a figure of such a unit could not be: what one writes in its place.
_SAMPLES = {
    "m": "9.5", "mm": "950", "cm": "950", "ft": "30", "in": "370", "mm2": "35", "mm²": "35", "AWG": "10",
    "A": "15", "mA": "500", "kA": "5", "V": "12", "mV": "500", "W": "60", "kW": "1.2", "mW": "500", "Ah": "100",
    "°C": "40", "C": "40", "°F": "100", "%": "92", "Hz": "50", "s": "2", "ms": "500", "min": "5", "h": "2",
}  # fmt: skip
_SAMPLE = "4"
_BY_WORD = {"length": "9.5 m", "size": "35 mm2", "rating": "15 A", "rated": "15 A"}
_UNIT = "|".join(re.escape(u) for u in sorted(UNITS, key=len, reverse=True))
_BEHIND = rf"(?:[ \t]*(?P<unit>{_UNIT})(?![\w²-]))?"
_QUOTED = re.compile(r'"[^"]*"?')
_NO_NUMBER = re.compile(rf"(?<![\w.-])(?P<said>[-+−]?(?i:nan|inf|infinity|infinite)(?![\w-])|[-+−]?∞){_BEHIND}")
# `length`, `size` and `rating` stand before figures alone, which begin with no letter
_WORDS = re.compile(
    r"(?<![\w-])(?P<word>length|size|rating|rated)[ \t]+(?:(?:to|is)[ \t]+)?"
    r"(?P<said>(?!to\b|is\b)[^\W\d][\w-]*)(?P<unit>)"
)
# what the language can write out it does itself: 1e5 m is 100000 m
_POWER = re.compile(rf"(?<![\w.-])(?P<said>[0-9]+(?:\.[0-9]+)?[eE](?:-[0-9]+|\+?[0-9]{{2,}})){_BEHIND}")
_SIGNED = re.compile(
    rf"(?<=[ \t,])(?P<said>[-−–+](?P<number>[0-9]+(?:\.[0-9]+)?)){_BEHIND}"
    rf"|(?<=length|rating)[ \t]+(?P<parted>[-−–+])[ \t]+(?=[0-9])"
)  # fmt: skip
# a return of nothing, and nothing in a place, may be said
_NO_LENGTH = re.compile(r"(?<=[ \t,])(?P<said>0+(?:\.0+)?[ \t]*(?P<unit>m|mm|cm|ft|in))(?=[ \t]*(?:,|\Z))")
_NO_SIGN = "a figure has no sign; a change says what would be, and not by how much more or less"
_COLD = frozenset({"°C", "C", "°F"})


def wrong_figure(text: Text, at: int, name: str, kind: str, names: Collection[str]) -> Mistake | None:
    """The first figure behind ``at`` that is none, with what to write; None if all are, or the language tells better.

    ``names``: what is declared: a place may be called Nan.
    """
    written = text.text
    quoted = [(m.start(), m.end()) for m in _QUOTED.finditer(written)]

    def first(pattern: re.Pattern[str], start: int = at) -> re.Match[str] | None:
        for found in pattern.finditer(written, start):
            if not any(a <= found.start() < b for a, b in quoted):
                return found
        return None

    found = first(_NO_NUMBER)
    if found is not None and found["said"] not in names:
        return Mistake(_place(text, found), f"{found['said']!r} is no number", _instead(written, found, name, kind))
    found = first(_WORDS)
    if found is not None and found["said"] not in names:
        message = f"{found['said'][:40]!r} is no figure, which belongs behind {found['word']!r}"
        example_ = f"--with '{name} {found['word']} {_BY_WORD[found['word']]}'"
        return Mistake(_place(text, found), message, f"write a figure in digits, for instance {example_}")
    found = first(_POWER)
    if found is not None:
        message = f"{found['said'][:40]}: figures are written out, without a power of ten"
        return Mistake(_place(text, found), message, _written_out(written, found, name, kind))
    found = first(_SIGNED)
    if found is not None:
        if found["parted"] is not None:
            whole = written[: found.start("parted")] + written[found.end() :]
            span = Span(text, found.start("parted"), found.end("parted"))
            return Mistake(span, _NO_SIGN, f"if that much is meant in all, write --with '{whole.strip()}'")
        shown = f"{found['said']} {found['unit'] or ''}".strip()
        if found["unit"] in _COLD and shown[0] != "+":
            return Mistake(
                _place(text, found), f"{shown}: no temperature below nought is reckoned with",
                "write 0 °C for what is colder; what is warm is what matters to wiring",
            )  # fmt: skip
        whole = written[: found.start("said")] + found["number"] + written[found.end("said") :]
        return Mistake(
            _place(text, found), f"{shown}: {_NO_SIGN}",
            f"if that much is meant in all, write --with '{whole.strip()}'",
        )  # fmt: skip
    if kind == "cable":
        found = first(_NO_LENGTH)
        if found is not None and not written[: found.start()].rstrip().endswith("return"):
            return Mistake(
                _place(text, found), f"{found['said']}: a cable has a length, and without one no resistance",
                f"write its length from end to end, for instance --with '{name} length 0.2 m'",
            )  # fmt: skip
    return None


def _place(text: Text, found: re.Match[str]) -> Span:
    return Span(text, found.start("said"), _end(found))


def _instead(written: str, found: re.Match[str], name: str, kind: str) -> str:
    """The change with a figure in digits."""
    unit, before = found["unit"], written[: found.start("said")]
    word = before.split()[-1] if before.split() else ""
    figure = f"{_SAMPLES.get(unit, _SAMPLE)} {unit}" if unit is not None else _BY_WORD.get(word)
    if figure is None:
        return f"write a figure in digits and its unit, for instance {example(name, kind)}"
    whole = before + figure + written[_end(found) :]
    return f"write a figure in digits, for instance --with '{whole.strip()}'"


def _written_out(written: str, found: re.Match[str], name: str, kind: str) -> str:
    """The same figure with its noughts, where it is one that a boat may have."""
    number, _, exponent = found["said"].lower().partition("e")
    if found["unit"] is None or len(exponent.lstrip("+-")) > 1:
        return _instead(written, found, name, kind)
    whole = f"{Decimal(number).scaleb(int(exponent)):f} {found['unit']}"
    return f"write --with '{(written[: found.start('said')] + whole + written[_end(found) :]).strip()}'"


def _end(found: re.Match[str]) -> int:
    return found.end("unit") if found["unit"] else found.end("said")
