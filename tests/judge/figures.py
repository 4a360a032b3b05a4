"""The judge's own copy of the published figures, typed in apart from the tool's tables.

status of each block: read (in the source), second-hand (in a document that quotes it), from memory, common practice.
Amperes, degrees Celsius, metres, square millimetres.
"""

from __future__ import annotations

import math

INCH = 0.0254


def awg_mm2(gauge: str) -> float:
    """ASTM B258: d = 0.005 in * 92 ** ((36 - n) / 39); 1/0 is n = 0, 2/0 is n = -1 and so on."""
    n = 1 - int(gauge.split("/")[0]) if "/" in gauge else int(gauge)
    d_mm = 0.005 * 25.4 * 92 ** ((36 - n) / 39)
    return math.pi / 4 * d_mm * d_mm


# 33 CFR 183.425 Table 5, 30 °C (read).  The columns: 60 75 80 90 105 125 200 °C.
CFR_COLUMNS = (60, 75, 80, 90, 105, 125, 200)
_CFR_TABLE_5 = """
18   10  10  15  20  20  25  25
16   15  15  20  25  25  30  35
14   20  20  25  30  35  40  45
12   25  25  35  40  45  50  55
10   40  40  50  55  60  70  70
8    55  65  70  70  80  90 100
6    80  95 100 100 120 125 135
4   105 125 130 135 160 170 180
3   120 145 150 155 180 195 210
2   140 170 175 180 210 225 240
1   165 195 210 210 245 265 280
1/0 195 230 245 245 285 305 325
2/0 225 265 285 285 330 355 370
3/0 260 310 330 330 385 410 430
4/0 300 360 385 385 445 475 510
"""
# Note 1, engine spaces of 50 °C: 0.85, 0.58, 0.75, 0.82 second-hand; the others from memory.
CFR_ENGINE = {60: 0.58, 75: 0.75, 80: 0.78, 90: 0.82, 105: 0.85, 125: 0.89, 200: 1.0}

# ISO 13297 Annex A (from memory).  The columns: 60 70 85-90 105 125 200 °C.
ISO_COLUMNS = (60, 70, 85, 105, 125, 200)
_ISO_ANNEX_A = """
0.75   6  10  12  16  20  25
1      8  14  18  20  25  35
1.5   12  18  21  25  30  40
2.5   17  25  30  35  40  45
4     22  35  40  45  50  55
6     29  45  50  60  70  75
10    40  65  70  90 100 120
16    54  90 100 130 150 170
25    71 120 140 170 185 200
35    87 160 185 210 225 240
50   105 210 230 270 300 325
70   135 265 285 330 360 375
95   165 310 330 390 410 430
120  190 360 400 450 480 520
150  220 380 430 475 520 560
"""
# from memory; nothing for 60 °C insulation, which may therefore carry nothing there
ISO_ENGINE = {70: 0.75, 85: 0.82, 105: 0.86, 125: 0.89, 200: 1.0}


def _rows(text: str) -> dict[str, tuple[int, ...]]:
    rows = {}
    for line in text.split("\n"):
        first, *rest = line.split() or [""]
        if first:
            rows[first] = tuple(int(word) for word in rest)
    return rows


CFR_ROWS = _rows(_CFR_TABLE_5)
ISO_ROWS = _rows(_ISO_ANNEX_A)

# 33 CFR 183.425 Table 5 note 2: circuits of 50 V and more (second-hand).
CFR_BUNDLES = ((25, 0.40), (7, 0.50), (4, 0.60), (3, 0.70))

# NEC 240.6(A) (second-hand); the four small ones are made as fuses only.
STANDARD_RATINGS = (
    15, 20, 25, 30, 35, 40, 45, 50, 60, 70, 80, 90, 100, 110, 125, 150, 175, 200, 225, 250, 300, 350, 400, 450, 500, 600,
)  # fmt: skip
FUSE_RATINGS_TOO = (1, 3, 6, 10)

# ISO 8820-3 (from memory).
BLADE_RATINGS = (1, 2, 3, 4, 5, 7.5, 10, 15, 20, 25, 30, 35, 40)
SERIES: dict[str, tuple[float, ...]] = {
    "blade": BLADE_RATINGS,
    "miniature-blade": BLADE_RATINGS,
    # UL 248-14, -15: the standard ratings (second-hand, from memory)
    "class-t": FUSE_RATINGS_TOO + STANDARD_RATINGS,
    "cartridge": FUSE_RATINGS_TOO + STANDARD_RATINGS,
}
# ISO 8820-3: blade fuses are rated 32 V (from memory).
CLASS_VOLTAGE = {"blade": 32.0, "miniature-blade": 32.0}

# What a charged system may reach where nobody says so (common practice): 15 V for each 12 V.
GREATEST_PER_NOMINAL = 15 / 12

# How far a device may stand from where its conductor is fed: (tied to, only if covered, current, metres).
#   33 CFR 183.455: 7 in, covered 40 in (read); 183.460: 72 in from a battery (from memory).
#   ABYC E-11: 7 in, covered 40 in, covered and on a battery 72 in (second-hand).
#   ISO 13297: DC 200 mm, covered any length (second-hand); a charging source 1.8 m (read); AC 0.5 m or covered (read).
DISTANCES: dict[str, tuple[tuple[str, bool, str, float], ...]] = {
    "cfr-183": (("any", False, "any", 7 * INCH), ("any", True, "any", 40 * INCH), ("battery", False, "any", 72 * INCH)),
    "abyc-e11": (("any", False, "any", 7 * INCH), ("any", True, "any", 40 * INCH), ("battery", True, "any", 72 * INCH)),
    "iso-13297": (
        ("any", False, "DC", 0.2), ("any", True, "DC", math.inf), ("charging", False, "any", 1.8),
        ("any", False, "AC", 0.5), ("any", True, "AC", math.inf),
    ),
}  # fmt: skip

# Least sizes, mm² (single, in a sheath): 33 CFR 183.425: 16 and 18 AWG (read); ISO: 1 and 0.75 mm², a single
# conductor only if longer than 200 mm (second-hand).
LEAST_SIZES = {"cfr-183": (awg_mm2("16"), awg_mm2("18"), 0.0), "iso-13297": (1.0, 0.75, 0.2)}
