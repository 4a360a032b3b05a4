"""Designs to draw: a small boat, corner cases, and boats made by chance from a seed."""

from __future__ import annotations

import random

from linter.model.build import build
from linter.model.design import Design
from linter.source.files import Reader


def design_of(text: str) -> Design:
    return build(Reader().design_text(text))


HEAD = 'boat "Dunlin", 7 m\nsystem DC12, 12 V, negative earthed\n\n'

SMALL = (
    HEAD
    + """\
battery HOUSE "House bank", AGM, 12.7 V, 200 Ah
alternator ALT, 14.4 V, 80 A

from HOUSE
cable W1, 50 mm2, 0.4 m
fuse F1 "House main", ANL, 200 A
switch S1 "Isolator", 300 A
bus POS "Positive bus", 250 A

from ALT
cable W2, 25 mm2, 2 m
to POS

from POS
breaker Q1 "Windlass", thermal, 100 A
cable W3, 35 mm2, 9.5 m
load WINDLASS "Anchor windlass", motor, draws 75 A

from POS
fuse F2, blade, 10 A
cable W4, 1.5 mm2, 4 m
joint LAMPS "Lamp joint"
cable W5, 1.5 mm2, 2 m
load BOW-LIGHT, light, draws 1 A

from LAMPS
cable W6, 1.5 mm2, 3 m
load STERN-LIGHT, light, draws 1 A
"""
)

# name -> the runs of a design that once could have been a difficulty
CORNERS: dict[str, str] = {
    "nothing": "",
    "a bus alone": "bus POS, 100 A\n",
    "things that hang on nothing": "load A, draws 1 A\nbattery B, 12 V\njoint J\nselector S, positions off 1 2 both\nbus C\n",
    "a load nobody feeds": "from F\ncable W1, 2.5 mm2, 1 m\nload A, draws 1 A\n",
    "a cable from a bus to itself": "bus POS\nfrom POS\ncable W1, 10 mm2, 1 m\nto POS\n",
    "parallel cables": "battery B, 12 V\nbus POS\n" + "".join(f"from B\ncable W{i}, 70 mm2, 1 m\nto POS\n" for i in range(4)),
    "a ring of buses": "bus A\nbus B\nbus C\nfrom A\ncable W1, 10 mm2, 1 m\nto B\nfrom B\ncable W2, 10 mm2, 1 m\nto C\n"
    "from C\nfuse F3, blade, 5 A\ncable W3, 10 mm2, 1 m\nto A\n",
    "a ring in which nothing is declared": "from W2\ncable W1, 10 mm2, 1 m\ncable W2, 10 mm2, 1 m\nfuse F1, blade, 5 A\n"
    "from F1\ncable W3, 6 mm2, 1 m\ncable W4, 6 mm2, 1 m\nfrom W4\ncable W5, 6 mm2, 1 m\n",
    "a bus that touches a bus": "bus A\nbus B\nfrom A\nto B\n",
    "two touch twice": "bus A\njoint B\nfrom A\nto B\nfrom B\nto A\n",
    "a source at a load's end": "bus A\nfrom A\ncable W1, 6 mm2, 1 m\nbattery B, 12 V\nload L, draws 1 A\nfrom L\ncable W2, 6 mm2, 1 m\nto A\n",
    "a selector both ways on one bus": "bus A\nselector S, 100 A, positions off 1 2 both\nfrom A\ncable W1, 6 mm2, 1 m\nto S 1\n"
    "from A\ncable W2, 6 mm2, 1 m\nto S 2\nfrom S\ncable W3, 6 mm2, 1 m\nto A\n",
    "a selector that feeds": "battery B, 12 V\nselector S, 100 A, positions off 1 2\nfrom B\ncable W1, 6 mm2, 1 m\nto S\n"
    "from S 1\ncable W2, 6 mm2, 1 m\nload L1, draws 1 A\nfrom S 2\ncable W3, 6 mm2, 1 m\nload L2, draws 1 A\n",
    "a selector joined to itself": "selector S, 100 A, positions off 1 2 both\nfrom S 1\ncable W1, 6 mm2, 1 m\nto S 2\n"
    "from S\ncable W2, 6 mm2, 1 m\nto S\nfrom S 1\ncable W3, 6 mm2, 1 m\nto S\n",
    "a tall crossing": "bus A\nbus B\nbus C\nbus D\n"
    + "".join(f"from {x}\ncable W{x}{y}, 6 mm2, 1 m\nto {y}\n" for x in "AB" for y in "CD")
    + "".join(f"from {x}\ncable V{x}{y}, 6 mm2, 1 m\nto {y}\n" for x in "AB" for y in "CD"),
    "a converter with loose ends": "converter K, 12 V to 24 V, 10 A\nconverter M, 12 V to 24 V, 10 A\nbattery B, 12 V\n"
    "from B\ncable W1, 6 mm2, 1 m\nto K\nfrom M\ncable W2, 6 mm2, 1 m\nload L, draws 1 A\n",
    "everything on one stud": "battery B, 12 V\n" + "".join(
        f"from B\nfuse F{i}, blade, 5 A\ncable W{i}, 2.5 mm2, 1 m\nload L{i}, draws 1 A\n" for i in range(30)),
}  # fmt: skip

TWO_SYSTEMS = """\
boat "Redshank", 12 m
system DC12, 12 V, negative earthed
system DC24 "Bow", 24 V, negative earthed

battery B12, AGM, 12.7 V, 200 Ah
battery B24, AGM, 25.4 V, 100 Ah
inverter INV, 24 V, draws 2000 W
from B12
cable W1, 35 mm2, 1 m
fuse F1, ANL, 100 A
bus P12, 200 A
from P12
fuse F2, ANL, 60 A
cable W2, 16 mm2, 2 m
converter UP, 12 V to 24 V, 20 A, self-limiting
cable W3, 10 mm2, 2 m
fuse F3, ANL, 30 A
bus P24, 200 A
from B24
cable W4, 35 mm2, 1 m
diode D1, 100 A
fuse F4, class T, 200 A
to P24
from P24
relay K1, 200 A
cable W5, 50 mm2, 6 m
load THRUSTER, motor, draws 150 A
from P24
fuse F5, class T, 150 A
cable W6, 50 mm2, 1 m
to INV
from P12
breaker Q1, thermal, 10 A
cable W7, 2.5 mm2, 3 m
load HEATER, heater, draws 8 A
"""

_EDGES = (
    "cable {n}, {a} mm2, {l} m", "cable {n}, {a} mm2, {l} m", "cable {n}, {a} mm2, {l} m", "fuse {n}, blade, 10 A",
    "breaker {n}, hydraulic-magnetic, 100 A", "switch {n}, 50 A", "relay {n}, 70 A", "diode {n}, 60 A",
)  # fmt: skip
_NODES = (
    "bus {n}, 100 A", "bus {n}, 100 A", "joint {n}", "battery {n}, 12.8 V, 100 Ah", "alternator {n}, 14 V, 90 A",
    "load {n}, motor, draws 5 A", "load {n}, light, draws 10 W", "selector {n}, 100 A, positions off 1 2 both",
    "converter {n}, 12 V to 12.1 V, 10 A", "inverter {n}, 12 V, draws 800 W", "solar {n}, 14 V, 5 A",
)  # fmt: skip


def by_chance(seed: int, nodes: int, runs: int, tree: bool = False) -> str:
    """A design with so many terminals and runs between them; as a ``tree`` each run leads on from what was there."""
    chance = random.Random(seed)
    made = [HEAD]
    names: list[tuple[str, str]] = []
    for i in range(nodes):
        kind = chance.choice(_NODES)
        label = chance.choice(("", ' "Label"', ' "A rather longer label that needs two lines"'))
        made.append(kind.format(n=f"N{i}").replace(f"N{i}", f"N{i}{label}", 1) + "\n")
        names.append((f"N{i}", kind.split()[0]))
    count = 0

    def end(which: int) -> str:
        name, kind = names[which]
        return f"{name} {chance.choice('12')}" if kind == "selector" and chance.random() < 0.7 else name

    edges: list[str] = []
    for run in range(runs):
        if tree:
            here, there = chance.randrange(max(min(run, nodes - 1), 1)), min(run + 1, nodes - 1)
        else:
            here, there = chance.randrange(nodes), chance.randrange(nodes)
        start = chance.choice(edges) if edges and chance.random() < 0.1 else end(here)
        made.append(f"\nfrom {start}\n")
        for _ in range(chance.randrange(1, 6)):
            count += 1
            label = chance.choice(("", "", ' "What it feeds"'))
            row = chance.choice(_EDGES).format(
                n=f"E{count}{label}", a=chance.choice((1.5, 10, 120)), l=chance.randrange(1, 30)
            )
            made.append(row + "\n")
            edges.append(f"E{count}")
        if chance.random() < 0.9:
            made.append(f"to {end(there)}\n")
    return "".join(made)
