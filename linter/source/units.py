"""Units of the language: each unit's kind of quantity and its size in the unit we compute with."""

from __future__ import annotations

from dataclasses import dataclass
from decimal import Decimal

# kind -> the unit in which values of that kind are kept
BASE_UNIT = {
    "LENGTH": "m", "VOLTAGE": "V", "CURRENT": "A", "POWER": "W", "CHARGE": "Ah", "TEMPERATURE": "°C",
    "FREQUENCY": "Hz", "RESISTANCE_VALUE": "Ω", "JOULE_INTEGRAL": "A²s", "PERCENT": "", "TIME": "s", "AREA": "mm²",
}  # fmt: skip

# unit -> (kind, factor to the base unit). Temperatures in °F are turned in `quantity`.
UNITS: dict[str, tuple[str, str]] = {
    "mm2": ("AREA", "1"), "mm²": ("AREA", "1"), "AWG": ("AREA", "0"),
    "m": ("LENGTH", "1"), "mm": ("LENGTH", "0.001"), "cm": ("LENGTH", "0.01"),
    "in": ("LENGTH", "0.0254"), "ft": ("LENGTH", "0.3048"),
    "V": ("VOLTAGE", "1"), "mV": ("VOLTAGE", "0.001"),
    "A": ("CURRENT", "1"), "kA": ("CURRENT", "1000"), "mA": ("CURRENT", "0.001"),
    "W": ("POWER", "1"), "kW": ("POWER", "1000"), "mW": ("POWER", "0.001"),
    "Ah": ("CHARGE", "1"),
    "°C": ("TEMPERATURE", "1"), "C": ("TEMPERATURE", "1"), "°F": ("TEMPERATURE", "0"),
    "Hz": ("FREQUENCY", "1"),
    # The letter omega, and the ohm sign that looks like it: keyboards give either.
    "\u03a9": ("RESISTANCE_VALUE", "1"), "\u2126": ("RESISTANCE_VALUE", "1"), "ohm": ("RESISTANCE_VALUE", "1"),
    "m\u03a9": ("RESISTANCE_VALUE", "0.001"), "m\u2126": ("RESISTANCE_VALUE", "0.001"),
    "mohm": ("RESISTANCE_VALUE", "0.001"),
    "%": ("PERCENT", "0.01"),
    "A2s": ("JOULE_INTEGRAL", "1"), "A²s": ("JOULE_INTEGRAL", "1"),
    "kA2s": ("JOULE_INTEGRAL", "1000"), "kA²s": ("JOULE_INTEGRAL", "1000"),
    "ms": ("TIME", "0.001"), "s": ("TIME", "1"), "min": ("TIME", "60"), "h": ("TIME", "3600"),
}  # fmt: skip

# What people write instead -> what they mean.
MEANT: dict[str, str] = {
    "sqmm": "mm2", "mm^2": "mm2", "qmm": "mm2", "amp": "A", "amps": "A", "a": "A", "volt": "V", "volts": "V", "v": "V",
    "watt": "W", "watts": "W", "w": "W", "metre": "m", "meter": "m", "metres": "m", "meters": "m", "M": "m",
    "foot": "ft", "feet": "ft", "inch": "in", "inches": "in", "awg": "AWG", "ga": "AWG", "gauge": "AWG", "ah": "Ah",
    "sec": "s", "secs": "s", "hour": "h", "hours": "h", "hrs": "h", "mins": "min", "minutes": "min", "kw": "kW",
    "ohms": "ohm", "mohms": "mohm", "deg": "°C", "°": "°C", "degC": "°C",
}  # fmt: skip

# Units of other magnitudes, which are no slip of the pen -> the unit to write it in, and how much of it one is.
CONVERTED: dict[str, tuple[str, str]] = {
    "km": ("m", "1000"), "dm": ("m", "0.1"), "yd": ("m", "0.9144"), "kV": ("V", "1000"), "mAh": ("Ah", "0.001"),
    "MW": ("kW", "1000"), "μA": ("mA", "0.001"), "µA": ("mA", "0.001"), "uA": ("mA", "0.001"),
    "kΩ": ("Ω", "1000"), "kohm": ("ohm", "1000"), "μΩ": ("mΩ", "0.001"), "µΩ": ("mΩ", "0.001"), "d": ("h", "24"),
}  # fmt: skip

AWG_SIZES = (
    "22", "20", "18", "16", "14", "12", "10", "8", "6", "4", "3", "2", "1", "1/0", "2/0", "3/0", "4/0",
)  # fmt: skip

# Greatest magnitude that is still a figure from a boat; beyond it a unit or a zero went wrong.
GREATEST = 1e9
GREATEST_DIGITS = 24
# Kinds of which nothing on board has none: calculations divide by them.
NEVER_NOTHING = frozenset({"AREA", "VOLTAGE", "FREQUENCY"})
# Copper thinner than this, mm², carries no circuit on board: a slip of the unit.
LEAST_AREA_MM2 = 0.01


@dataclass(frozen=True, slots=True)
class Quantity:
    """A figure with its unit, as written and in the base unit of its kind (see BASE_UNIT).

    For an AREA, ``awg`` names the American wire gauge where the size was given so; ``value`` is then the
    area in mm² of ASTM B258.
    """

    kind: str
    value: float
    text: str
    awg: str = ""

    def __str__(self) -> str:
        return self.text


class BadQuantity(ValueError):
    """A number and unit that cannot be a quantity; the message says why."""


def quantity(number: str, unit: str) -> Quantity:
    """The quantity that ``number`` and ``unit`` write.

    Raises BadQuantity for an unknown gauge, a fraction with another unit, or a figure beyond all sense.
    """
    kind, factor = UNITS[unit]
    if len(number) > GREATEST_DIGITS:
        raise BadQuantity(f"{number[:20]}…: no figure from a boat has more than {GREATEST_DIGITS} characters")
    if unit == "AWG":
        if number not in AWG_SIZES:
            raise BadQuantity(f"there is no {number} AWG; sizes are {', '.join(AWG_SIZES)}")
        from linter.tables.conductors import area_mm2_of_awg

        return Quantity(kind, area_mm2_of_awg(number), f"{number} AWG", number)
    if "/" in number:
        raise BadQuantity(f"{number} {unit}: only AWG sizes are written with a stroke (2/0 AWG)")
    if unit == "°F":
        value = float((Decimal(number) - 32) * 5 / 9)
    else:
        value = float(Decimal(number) * Decimal(factor))
    if value == 0 and kind in NEVER_NOTHING:
        raise BadQuantity(f"{number} {unit} is nothing at all; leave out what is not known")
    if value > GREATEST:
        raise BadQuantity(f"{number[:20]} {unit} is no figure from a boat")
    if kind == "AREA":
        from linter.tables.conductors import GREATEST_MM2

        if not LEAST_AREA_MM2 <= value <= GREATEST_MM2:
            raise BadQuantity(
                f"{number[:20]} {unit} is no conductor's size on board: {LEAST_AREA_MM2:g} to {GREATEST_MM2:g} mm²"
            )
    shown = {
        "mm2": "mm²",
        "A2s": "A²s",
        "kA2s": "kA²s",
        "C": "°C",
        "ohm": "Ω",
        "mohm": "mΩ",
        "\u2126": "Ω",
        "m\u2126": "mΩ",
    }.get(unit, unit)
    return Quantity(kind, value, f"{number}{'' if unit == '%' else ' '}{shown}")
