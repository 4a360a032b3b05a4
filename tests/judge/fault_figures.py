"""The judge's own copy of the published figures of faults, typed in apart from the tool's tables.

status of each block: read (in the source), second-hand (in a document that quotes it), from memory, common practice.
Ohm, volt, ampere, second, degree Celsius, square millimetre.
"""

from __future__ import annotations

import math
from typing import Any

# Annealed copper at 20 °C: 0.017241 Ω·mm²/m (NBS Handbook 100); R(T) = R20 (234.5 + T) / 254.5 (FAA AC 43.13-1B, read).
COPPER = 0.017241
ZERO_C = 234.5
# The rise of temperature in a copper conductor that keeps all its heat, (226 A√s/mm²)² (IEC 60364-4-43, second-hand).
HEAT_226 = 226.0

# IEC 60228 class 5 and 6, greatest Ω/km at 20 °C: plain, tinned (second-hand).
_IEC_60228 = """
0.5 39.0 40.1
0.75 26.0 26.7
1 19.5 20.0
1.5 13.3 13.7
2.5 7.98 8.21
4 4.95 5.09
6 3.30 3.39
10 1.91 1.95
16 1.21 1.24
25 0.780 0.795
35 0.554 0.565
50 0.386 0.393
70 0.272 0.277
95 0.206 0.210
120 0.161 0.164
150 0.129 0.132
185 0.106 0.108
240 0.0801 0.0817
300 0.0641 0.0654
"""
# FAA AC 43.13-1B table 11-9, tinned copper, greatest Ω per 1000 ft at 20 °C (read).
_AC_43_13 = """
20 9.88
18 6.23
16 4.81
14 3.06
12 2.02
10 1.26
8 0.70
6 0.44
4 0.28
2 0.18
1 0.15
1/0 0.12
2/0 0.09
3/0 0.07
4/0 0.06
"""


def _rows(text: str) -> dict[str, tuple[float, ...]]:
    lines = [line.split() for line in text.strip().split("\n")]
    return {first: tuple(float(word) for word in rest) for first, *rest in lines}


IEC_60228 = {float(size): pair for size, pair in _rows(_IEC_60228).items()}
AC_43_13 = {size: ohm / 304.8 for size, (ohm,) in _rows(_AC_43_13).items()}

# IEC 61660-1 (from memory): 1.05 U behind 0.9 R at the peak, 0.95 · 1.05 U behind R after it.
VOLTAGE, PEAK_R, STEADY_V = 1.05, 0.9, 0.95
# SAE J537 (from memory): 7.2 V after 30 s at -18 °C, from 12.6 V.
CRANKING_DROP = 12.6 - 7.2
# Rough internal resistance of 12 V, 100 Ah (from memory, low confidence): least, greatest.
ROUGH = {
    "flooded": (4e-3, 6e-3), "AGM": (2.5e-3, 4e-3), "gel": (2.5e-3, 6e-3), "lithium iron phosphate": (1.5e-3, 3e-3),
}  # fmt: skip

# What an insulation stands for a moment, by its rating (IEC 60364-4-43, second-hand; which is which: common practice).
FINAL = ((105.0, 160.0), (150.0, 250.0), (float("inf"), 350.0))
# Adiabatic heating, and so the time in which a fault must be cleared (IEC 60364-4-43; as a limit common practice).
FIVE_S = 5.0

# A charged bank, where nobody says more (common practice).
CHARGED = {12.0: 15.0, 24.0: 30.0, 48.0: 60.0}

# Breaking capacity on direct current by class: (A, V or None) (ISO 8820-3, UL 248-15; from memory).
BREAKS = {"blade": (1000.0, 32.0), "miniature-blade": (1000.0, 32.0), "class-t": (20_000.0, None)}


def cable_ohm(edge: dict[str, Any]) -> tuple[float, float] | None:
    """There and back: (least, cold; greatest, hot) of a conductor; None where size or length is missing."""
    size, length = edge["size"], edge["length_m"]
    if size is None or length is None:
        return None
    back = edge["return_size"] or size
    back_m = length if edge["return_m"] is None else edge["return_m"]
    hot_c = 105.0 if edge["insulation_c"] is None else edge["insulation_c"]
    hot = (ZERO_C + hot_c) / (ZERO_C + 20)
    least = COPPER * (length / size["mm2"] + back_m / back["mm2"])
    greatest = _greatest(size, edge["tinned"]) * length + _greatest(back, edge["tinned"]) * back_m
    return least, max(greatest * hot, least)


def _greatest(size: dict[str, Any], tinned: bool | None) -> float:
    """Ω/m at 20 °C as published: a metric size of IEC 60228 by its row, any other by its area; an AWG size by its area, or
    where it is tinned by the aircraft table if that is more.  Where nobody says whether it is tinned, it is."""
    area = COPPER / size["mm2"]
    if size["awg"]:
        return area if tinned is False else max(area, AC_43_13.get(size["awg"], 0.0))
    row = next((pair for mm2, pair in IEC_60228.items() if abs(mm2 - size["mm2"]) < 1e-6), None)
    return area if row is None else row[0 if tinned is False else 1] / 1000


def source_cases(source: dict[str, Any], system_v: float | None) -> tuple[tuple[float, float] | None, ...]:
    """(volts, ohm) of a source that does not limit itself in the largest and in the smallest case; None: not known."""
    volts = source["voltage_v"] or system_v
    if not volts:
        return None, None
    least, most = _resistance(source, volts)
    highest = max(source["greatest_v"] or 0.0, VOLTAGE * volts)
    lowest = STEADY_V * VOLTAGE * volts
    peak = None if least is None else PEAK_R * least
    if source["short_circuit_a"]:
        # its maker's word: no less than that at most, and no more than that at least
        peak = min(peak if peak is not None else math.inf, highest / source["short_circuit_a"])
        most = max(most or 0.0, volts / source["short_circuit_a"])
    return (
        None if peak is None else (highest, peak),
        None if most is None else (lowest, most),
    )


def limit(source: dict[str, Any], largest: bool) -> float:
    """What a source that limits itself gives: lasting; and at most, before its electronics have acted."""
    short = source["short_circuit_a"] or 0.0
    return float(max(source["limit_a"], short) if largest else source["limit_a"])


def _resistance(source: dict[str, Any], volts: float) -> tuple[float | None, float | None]:
    if source["resistance_ohm"]:
        return source["resistance_ohm"][0], source["resistance_ohm"][1]
    if source["short_circuit_a"]:
        return (volts / source["short_circuit_a"],) * 2
    cold = CRANKING_DROP / source["cranking_a"] * max(1.0, volts / 12) if source["cranking_a"] else None
    rough = ROUGH.get(source["chemistry"])
    if rough is None or not source["charge_ah"]:
        return None, cold
    scale = volts / 12 * 100 / source["charge_ah"]
    return rough[0] * scale, max(rough[1] * scale, cold or 0.0)
