"""Which fact may stand on which statement, and how each is called when we talk about it.

The one place for it: the builder checks against this table, error messages and the reference are made from it.
"""

from __future__ import annotations

from functools import cache

# ---- words that are facts by themselves: terminal -> (key of the fact, value)
FLAGS: dict[str, tuple[str, str]] = {
    "AC": ("current kind", "AC"), "DC": ("current kind", "DC"),
    "NEGATIVE_EARTHED": ("earthing", "negative earthed"), "POSITIVE_EARTHED": ("earthing", "positive earthed"),
    "ISOLATED": ("earthing", "isolated"),
    "ENGINE_SPACE": ("engine space", "yes"), "PETROL_VAPOUR": ("petrol vapour", "yes"),
    "IGNITION_PROTECTED": ("ignition protected", "yes"),
    "FLOODED": ("chemistry", "flooded"), "GEL": ("chemistry", "gel"), "AGM": ("chemistry", "AGM"),
    "LITHIUM_IRON_PHOSPHATE": ("chemistry", "lithium iron phosphate"), "LITHIUM": ("chemistry", "lithium"),
    "BLADE": ("class", "blade"), "MINIATURE_BLADE": ("class", "miniature-blade"),
    "LARGE_BLADE": ("class", "large-blade"), "BOLT_DOWN_STRIP": ("class", "bolt-down-strip"),
    "ANL": ("class", "anl"), "CLASS_T": ("class", "class-t"), "CARTRIDGE": ("class", "cartridge"),
    "GG": ("class", "gg"), "THERMAL": ("class", "thermal"),
    "HYDRAULIC_MAGNETIC": ("class", "hydraulic-magnetic"), "THERMAL_MAGNETIC": ("class", "thermal-magnetic"),
    "SLOW": ("speed", "slow"), "FAST": ("speed", "fast"),
    "TINNED": ("strands", "tinned"), "PLAIN": ("strands", "plain"),
    "CRANKING": ("cranking", "yes"), "NORMALLY_OPEN": ("normally open", "yes"), "COMBINING": ("combining", "yes"),
    "CONTINUOUS": ("continuous", "yes"), "VITAL": ("vital", "yes"), "ALWAYS_ON": ("always on", "yes"),
    "MOTOR": ("sort", "motor"), "LIGHT": ("sort", "light"), "HEATER": ("sort", "heater"),
    "ELECTRONICS": ("sort", "electronics"),
    "AUTOMATIC_RESET": ("automatic reset", "yes"), "SELF_LIMITING": ("self-limiting", "yes"),
} | {c: ("colour", c.lower()) for c in (
    "RED", "BLACK", "YELLOW", "BROWN", "BLUE", "WHITE", "GREEN", "GREY", "ORANGE", "PINK", "VIOLET")}  # fmt: skip

# ---- words that set something: terminal -> key of the fact, where that is not the word itself
SETTINGS: dict[str, str] = {
    "CRANKING": "cranking current", "IN": "place", "CLASS": "stranding", "BUNDLE_OF": "bundle", "FOR": "duration",
    "SHORT_CIRCUIT": "short-circuit", "SIZE": "open size",
}  # fmt: skip

# ---- kind of device -> its classes, as they are written
CLASSES: dict[str, tuple[str, ...]] = {
    "fuse": ("blade", "miniature blade", "large blade", "bolt-down strip", "ANL", "class T", "cartridge", "gG"),
    "breaker": ("thermal", "hydraulic-magnetic", "thermal-magnetic"),
}

# ---- key of a fact -> how it is written, for messages and the reference
WRITTEN: dict[str, str] = {
    "length": "a length (9.5 m)", "area": "a size (35 mm2, 2/0 AWG)", "voltage": "a voltage (12 V)",
    "voltage range": "a range of voltage (9 V to 32 V)", "current": "a current (100 A)",
    "open current": "? A (left open)", "open size": "size ? (left open)",
    "power": "a power (2000 W)", "charge": "a charge (400 Ah)", "frequency": "a frequency (50 Hz)",
    "date": "a date", "temperature": "a temperature", "text": "a text in quotes",
    "current kind": "AC or DC", "earthing": "negative earthed, positive earthed or isolated",
    "engine space": "engine space", "petrol vapour": "petrol vapour", "ignition protected": "ignition protected",
    "chemistry": "flooded, gel, AGM, lithium or lithium iron phosphate",
    "class": f"a class ({', '.join(name for names in CLASSES.values() for name in names)})",
    "speed": "slow or fast", "strands": "tinned or plain", "cranking": "cranking",
    "normally open": "normally open", "combining": "combining", "continuous": "continuous", "vital": "vital",
    "always on": "always on", "sort": "motor, light, heater or electronics", "automatic reset": "automatic reset",
    "self-limiting": "self-limiting [130 A]", "colour": "a colour",
    "rulebook": "rulebook NAME", "part": "part NAME", "on": "on SYSTEM", "place": "in PLACE",
    "covering": "in sheath, in conduit or in enclosure", "route": "a stretch (1.5 m in PLACE)",
    "file": "file PATH", "ambient": "ambient 50 °C", "insulation": "insulation 105 °C",
    "stranding": "class 5", "greatest": "greatest 14.8 V", "least": "least 10.5 V",
    "resistance": "resistance 1.6 mΩ [to 2 mΩ]", "short-circuit": "short-circuit 5 kA",
    "cranking current": "cranking 800 A", "parallel": "2 parallel", "series": "2 series", "gives": "gives 60 A",
    "draws": "draws 75 A, draws 800 W", "efficiency": "efficiency 90 %", "breaks": "breaks 5 kA [at 32 V]",
    "backed": "breaks 10 kA at 32 V behind class T fuse 200 A", "lets through": "lets through 15 kA2s [at 20 kA]",
    "carries": "carries 92 % at 50 °C",
    "holder": "holder 30 A", "curve": "curve C", "opens": "opens at 200 % in 1 s to 15 s",
    "comes in": "comes in 10 A 15 A 20 A", "bundle": "bundle of 4", "return length": "return 2 m",
    "return size": "return 16 mm2", "positions": "positions off 1 2 both", "drops": "drops 0.5 V",
    "starts": "starts 240 A for 0.6 s", "runs": "runs 6 min a day", "works from": "works from 10.5 V",
    "asks device": "asks thermal breaker 100 A", "asks cable": "asks cable at least 35 mm2",
    "says": 'says "manual, page 14"', "by": 'by "name"', "until": "until 2027-04-01", "duration": "for 8 h",
    "on item": "NAME", "at item": "NAME at POSITION", "state item": "NAME off, open or closed",
}  # fmt: skip

_DEVICE = (
    "part", "class", "speed", "current", "open current", "voltage", "breaks", "backed", "holder", "curve", "opens",
    "lets through", "carries", "resistance", "ignition protected", "place", "says",
)  # fmt: skip
_LIMITED_SOURCE = (
    "part", "voltage", "current", "self-limiting", "greatest", "short-circuit", "resistance", "draws", "on", "place",
    "ignition protected", "says",
)  # fmt: skip

# ---- statement -> the facts it takes, in the order in which they are best written
FITS: dict[str, tuple[str, ...]] = {
    "boat": ("length", "rulebook"),
    "system": ("current kind", "voltage", "frequency", "earthing", "least", "greatest"),
    "place": ("ambient", "engine space", "petrol vapour"),
    "cables": ("insulation", "stranding", "strands"),
    "rulebook": ("file",),
    "battery": (
        "part", "chemistry", "voltage", "charge", "resistance", "short-circuit", "cranking current", "series",
        "parallel", "greatest", "self-limiting", "on", "place", "ignition protected", "says"),
    "alternator": _LIMITED_SOURCE,
    "charger": _LIMITED_SOURCE,
    "solar": (
        "part", "voltage", "current", "self-limiting", "greatest", "power", "short-circuit", "resistance", "draws",
        "on", "place", "ignition protected", "says"),
    "converter": (
        "part", "voltage range", "current", "self-limiting", "greatest", "draws", "efficiency", "resistance",
        "short-circuit", "on", "place", "ignition protected", "asks device", "asks cable", "says"),
    "inverter": (
        "part", "voltage", "voltage range", "draws", "gives", "self-limiting", "works from", "starts", "continuous",
        "runs", "vital", "on", "place", "ignition protected", "asks device", "asks cable", "says"),
    "fuse": (*_DEVICE, "comes in"),
    "breaker": (*_DEVICE[:-2], "automatic reset", *_DEVICE[-2:], "comes in"),
    "cable": (
        "part", "area", "open size", "length", "return length", "return size", "insulation", "stranding",
        "strands", "colour", "cranking", "covering", "place", "route", "bundle", "says"),
    "switch": ("part", "current", "voltage", "normally open", "ignition protected", "place", "resistance", "says"),
    "selector": ("part", "current", "voltage", "positions", "ignition protected", "place", "resistance", "says"),
    "relay": (
        "part", "current", "voltage", "combining", "normally open", "ignition protected", "place", "resistance",
        "says"),
    "diode": ("part", "current", "voltage", "drops", "ignition protected", "place", "says"),
    "bus": ("part", "current", "voltage", "place", "on", "says"),
    "joint": ("part", "place", "on", "says"),
    "load": (
        "part", "sort", "draws", "voltage", "voltage range", "starts", "works from", "continuous", "runs",
        "always on", "vital", "cranking", "ignition protected", "on", "place", "asks device", "asks cable", "says"),
    "scene": ("on item", "state item", "at item", "duration"),
    "accept": ("text", "by", "until"),
}  # fmt: skip

# Facts that may stand more than once on one statement.
REPEATABLE = frozenset({
    "rulebook", "route", "opens", "breaks", "backed", "lets through", "carries", "asks device", "on item", "at item",
    "state item", "says", "covering",
})  # fmt: skip

# ---- terminal -> how it is called where it was expected
TERMINALS: dict[str, str] = {
    "NAME": "a name", "STRING": "a text in quotes", "PATH": "a file (parts/protection.boat)", "INT": "a whole number",
    "AREA": "a size (35 mm2, 2/0 AWG)", "LENGTH": "a length (9.5 m)", "VOLTAGE": "a voltage (12 V)",
    "CURRENT": "a current (100 A)", "POWER": "a power (60 W)", "CHARGE": "a charge (400 Ah)",
    "TEMPERATURE": "a temperature (50 °C)", "FREQUENCY": "a frequency (50 Hz)",
    "RESISTANCE_VALUE": "a resistance (1.6 mΩ)", "JOULE_INTEGRAL": "a let-through energy (15 kA2s)",
    "PERCENT": "a percentage (90 %)", "TIME": "a time (0.6 s)",
    "LEFT_OPEN": "?", "LEFT_OPEN_CURRENT": "a rating left open (? A)", "LEFT_OPEN_AREA": "a size left open (? mm2)",
    "DATE": "a date (2027-04-01)", "_SEP": "a comma", "_NL": "the end of the line",
}  # fmt: skip


@cache
def takes(kind: str) -> str:
    """The facts a statement takes, in words; nothing for a statement that takes none."""
    own = {"class": f"a class ({', '.join(CLASSES[kind])})"} if kind in CLASSES else {}
    return f"a {kind} takes: " + "; ".join(own.get(k, WRITTEN[k]) for k in FITS[kind]) if kind in FITS else ""
