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
        "part main, fuse",
        "  class T, 125 V, breaks 20 kA at 125 V, comes in 30 A 80 A 150 A 250 A",
        "  opens at 135 % in 400 s to 3600 s, opens at 500 % in 0.5 s to 3 s",
        "  opens at 1000 % in 60 ms to 0.25 s, opens at 2000 % in 12 ms to 30 ms, lets through 300 kA2s",
        '  says "leaflet"',
        "part feed, fuse",
        "  class T, 125 V, breaks 20 kA at 125 V, comes in 80 A 100 A 125 A",
        "  opens at 135 % in 100 s to 1000 s, opens at 500 % in 0.1 s to 0.8 s",
        "  opens at 1000 % in 20 ms to 60 ms, opens at 2000 % in 4 ms to 10 ms, lets through 60 kA2s",
        '  says "leaflet"',
        "part branch, fuse",
        "  blade, 32 V, breaks 5 kA at 32 V, comes in 5 A 10 A 15 A",
        "  opens at 135 % in 10 s to 3600 s, opens at 200 % in 2 s to 20 s",
        "  opens at 1000 % in 8 ms to 50 ms, lets through 3 kA2s",
        '  says "leaflet"',
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
        f"fuse FA{z}, part main, 250 A",
        f"cable WB{z}, 120 mm2, 0.6 m",
        f"bus M{z}, 1500 A",
        f"from B{z}",
        f"cable WC{z}, 95 mm2, 0.15 m",
        f"fuse FB{z}, part main, 250 A",
        f"cable WD{z}, 120 mm2, 0.8 m",
        f"to M{z}",
        f"from M{z}",
        f"fuse FR{z}, part main, 250 A",
        f"cable WR{z}, 120 mm2, 4 m",
        f"bus N{z}, 1000 A",
        f"from M{z}",
        f"fuse FS{z}, part main, 250 A",
        f"cable WS{z}, 120 mm2, 4 m",
        f"to N{z}",
    ]
    for source, bus, size in (("G", "M", 50), ("C", "N", 25), ("S", "N", 6)):
        rating = {"G": 150, "C": 80, "S": 30}[source]
        lines += [
            f"from {source}{z}",
            f"cable WX{source}{z}, {size} mm2, 3 m",
            f"fuse FX{source}{z}, part main, {rating} A",
            f"to {bus}{z}",
        ]
    return 9


def _panel(lines: list[str], z: int, p: int) -> int:
    key = f"{z}-{p}"
    lines += [
        f"from {'M' if p % 2 else 'N'}{z}",
        f"fuse FP{key}, part feed, 100 A",
        f"cable WP{key}, 35 mm2, 4 m, 1 m in engine-room",
        f"bus P{key}, 150 A",
    ]
    for c in range(CIRCUITS_A_PANEL):
        lines += [
            f"from P{key}",
            f"fuse F{key}-{c}, part branch, 10 A",
            f"cable W{key}-{c}, 2.5 mm2, {4 + c / 10:g} m, in saloon",
            f"load L{key}-{c}, part lamp-1, in saloon",
        ]
    return 1 + CIRCUITS_A_PANEL
