"""A boat of any size for measuring: zones with banks, chargers and a ring of feeds, panels, and circuits."""

from __future__ import annotations

CIRCUITS_A_PANEL = 24
PANELS_A_ZONE = 40


def boat(conductors: int) -> str:
    """The text of a design with at least ``conductors`` conductors and no finding.

    Every zone has a core as a large yacht has it: two banks in parallel, an alternator, a charger, a solar array, and
    two feeds between its main buses; what hangs from it are panels of circuits.
    """
    lines = [
        'boat "Bench", 40 m, rulebook iso-13297',
        "system DC12, 12 V, negative earthed, greatest 15 V",
        "cables, insulation 105 °C, tinned",
        "place saloon, ambient 30 °C",
        "place engine-room, ambient 50 °C, engine space",
        "part lamp-1, load",
        "  draws 100 mA",
        "  asks blade fuse 10 A",
        '  says "leaflet"',
    ]
    made, zone = 0, 0
    while made < conductors:
        zone += 1
        made += _core(lines, zone)
        for panel in range(1, PANELS_A_ZONE + 1):
            if made >= conductors:
                break
            made += _panel(lines, zone, panel)
    return "\n".join(lines) + "\n"


def _core(lines: list[str], z: int) -> int:
    lines += [
        f"battery A{z}, AGM, 12 V, 400 Ah, resistance 2 mΩ",
        f"battery B{z}, AGM, 12 V, 400 Ah, resistance 2 mΩ",
        f"alternator G{z}, 14.4 V, 120 A, self-limiting, in engine-room",
        f"charger C{z}, 14.4 V, 60 A, self-limiting",
        f"solar S{z}, 14.4 V, 20 A, self-limiting",
        f"from A{z}",
        f"cable WA{z}, 95 mm2, 0.15 m",
        f"fuse FA{z}, class T, 250 A, 125 V",
        f"cable WB{z}, 120 mm2, 0.6 m",
        f"bus M{z}, 1500 A",
        f"from B{z}",
        f"cable WC{z}, 95 mm2, 0.15 m",
        f"fuse FB{z}, class T, 250 A, 125 V",
        f"cable WD{z}, 120 mm2, 0.8 m",
        f"to M{z}",
        f"from M{z}",
        f"fuse FR{z}, class T, 250 A, 125 V",
        f"cable WR{z}, 120 mm2, 4 m",
        f"bus N{z}, 1000 A",
        f"from M{z}",
        f"fuse FS{z}, class T, 250 A, 125 V",
        f"cable WS{z}, 120 mm2, 4 m",
        f"to N{z}",
    ]
    for source, bus, size in (("G", "M", 50), ("C", "N", 25), ("S", "N", 6)):
        rating = {"G": 150, "C": 80, "S": 30}[source]
        lines += [
            f"from {source}{z}",
            f"cable WX{source}{z}, {size} mm2, 3 m",
            f"fuse FX{source}{z}, class T, {rating} A, 125 V",
            f"to {bus}{z}",
        ]
    return 9


def _panel(lines: list[str], z: int, p: int) -> int:
    key = f"{z}-{p}"
    lines += [
        f"from {'M' if p % 2 else 'N'}{z}",
        f"fuse FP{key}, class T, 100 A, 125 V",
        f"cable WP{key}, 35 mm2, 4 m, 1 m in engine-room",
        f"bus P{key}, 150 A",
    ]
    for c in range(CIRCUITS_A_PANEL):
        lines += [
            f"from P{key}",
            f"fuse F{key}-{c}, blade, 10 A, 32 V",
            f"cable W{key}-{c}, 2.5 mm2, 6.5 m, in saloon",
            f"load L{key}-{c}, part lamp-1, in saloon",
        ]
    return 1 + CIRCUITS_A_PANEL
