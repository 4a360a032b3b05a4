"""Small random circuits as .boat text: several batteries, limited sources, rings, diodes, selectors, bad devices.

``network(random)`` takes any random.Random; hypothesis's own (``networks`` below) shrinks what it finds.  Few of these
are boats anybody would wire: they are there to be judged twice.
"""

from __future__ import annotations

import random as random_module

from hypothesis import strategies as st

AWG = ["18", "16", "14", "12", "10", "8", "6", "4", "2", "1/0", "4/0"]
MM2 = ["0.75", "1", "1.5", "2.5", "4", "6", "10", "16", "25", "35", "70", "120", "150"]
RATINGS = ["3", "5", "7.5", "10", "15", "20", "25", "30", "40", "50", "60", "80", "100", "150", "200", "300"]
CLASSES = ["blade", "miniature blade", "class T", "cartridge", "bolt-down strip", "ANL", "gG"]
BREAKERS = ["thermal", "hydraulic-magnetic", "thermal-magnetic"]
LENGTHS = [
    "0 m", "0.05 m", "0.1 m", "0.15 m", "7 in", "0.2 m", "201 mm", "0.3 m", "0.5 m", "40 in", "1.1 m", "72 in", "1.85 m", "4 m",
]  # fmt: skip
INSULATIONS = ["55", "60", "70", "75", "80", "85", "90", "105", "125", "200", "250"]
PLACES = ["COOL", "WARM", "ENGINE", "BAKING", "BILGE"]
HEAD = """place COOL, ambient 25 °C
place WARM, ambient 45 °C
place ENGINE, ambient 50 °C, engine space
place BAKING, ambient 62 °C, engine space
place BILGE, petrol vapour
"""


class _Maker:
    """Chooses, and keeps count of names."""

    def __init__(self, random: random_module.Random, ambitious: bool) -> None:
        self.random = random
        self.ambitious = ambitious
        self.count: dict[str, int] = {}

    def some(self, of: int) -> bool:
        """True once in ``of`` times."""
        return self.random.randrange(of) == 0

    def name(self, letter: str) -> str:
        self.count[letter] = self.count.get(letter, 0) + 1
        return f"{letter}{self.count[letter]}"

    def one(self, of: list[str]) -> str:
        return self.random.choice(of)

    def cable(self, cranking: bool = False) -> str:
        facts = [f"cable {self.name('W')}"]
        if not self.some(40):
            facts.append(f"{self.one(AWG)} AWG" if self.some(2) else f"{self.one(MM2)} mm2")
        if not self.some(60):
            facts.append(self.one(LENGTHS))
        if not self.some(12):
            facts.append(f"insulation {self.one(INSULATIONS)} °C")
        if self.some(3):
            facts.append("in " + self.one(["sheath", "conduit", "enclosure"]))
        if self.some(5):
            facts.append(f"in {self.one(PLACES)}")
        if self.some(8):
            facts.append(f"0 m in {self.one(PLACES)}")
        if self.some(8):
            facts.append(f"bundle of {self.random.randrange(2, 30)}")
        if cranking or self.some(25):
            facts.append("cranking")
        return ", ".join(facts)

    def device(self) -> str:
        breaker = self.some(3)
        facts = [f"breaker {self.name('Q')}" if breaker else f"fuse {self.name('F')}"]
        if self.some(3):
            facts.append(self.one(BREAKERS if breaker else CLASSES))
        if self.some(6):
            facts.append(self.one(["slow", "fast"]))
        if not self.some(40):
            facts.append(f"{self.one(RATINGS)} A")
        if self.some(6):
            facts.append(self.one(["10 V", "16 V", "32 V", "60 V"]))
        if self.some(8):
            facts.append(f"holder {self.one(RATINGS)} A")
        return ", ".join([*facts, *self.where()])

    def where(self) -> list[str]:
        facts = [f"in {self.one(PLACES)}"] if self.some(10) else []
        return [*facts, "ignition protected"] if self.some(10) else facts

    def other(self) -> str:
        kind, letter = self.random.choice([("switch", "S"), ("relay", "K"), ("diode", "D"), ("switch", "S")])
        facts = [f"{kind} {self.name(letter)}"]
        if self.some(2):
            facts.append(f"{self.one(RATINGS)} A")
        if kind == "relay" and self.some(2):
            facts.append("combining")
        if kind != "diode" and self.some(8):
            facts.append("normally open")
        return ", ".join([*facts, *self.where()])

    def way(self) -> list[str]:
        """What a run passes through: cables, devices, switches, in any order; now and then nothing but a link."""
        shape = self.random.choice(
            ["cd", "cdc", "dc", "c", "c", "d", "cdc", "ccd", "cod", "o", "oc", "cdcdc", "l" if self.ambitious else "c"]
        )
        made = {"c": self.cable, "d": self.device, "o": self.other}
        return [made[letter]() for letter in shape if letter in made]


def network(random: random_module.Random, most: int = 14, ambitious: bool = True) -> str:
    """The text of a design with 2 to ``most`` terminals; ``ambitious`` ones have links and scenes too."""
    make = _Maker(random, ambitious)
    books = random.sample(["cfr-183", "abyc-e11", "iso-13297"], random.choice([1, 1, 1, 2, 3]))
    volts = random.choice([12, 12, 12, 24, 48, 72])
    lines = [f'boat "Random", 9 m{"".join(", rulebook " + b for b in books)}']
    greatest = f", greatest {volts * 1.2:g} V" if make.some(2) else ""
    lines += [f"system MAIN, {volts} V, negative earthed{greatest}", HEAD.rstrip()]
    count = random.randint(2, most)
    # (what to write after `to`, what after `from`)
    ends: list[tuple[str, str]] = []
    for k in range(count):
        kind = "battery" if k == 0 else random.choice(
            ["bus", "bus", "bus", "joint", "joint", "load", "load", "load", "load", "battery", "charger", "alternator",
             "solar", "selector", "inverter", "starter"]
        )  # fmt: skip
        lines.append(_terminal(make, kind, volts, ends))
    order = list(range(len(ends)))
    tree = [(order[k], order[random.randrange(k)] if make.some(2) else order[k // 2]) for k in range(1, len(order))]
    extra = [(random.choice(order), random.choice(order)) for _ in range(random.choice([0, 0, 1, 1, 2, 3]))]
    for a, b in tree + extra:
        if a == b or (make.some(25) and len(order) > 3):
            continue
        if make.some(4):
            a, b = b, a
        lines += ["", f"from {ends[b][1]}", *make.way(), f"to {ends[a][0]}"]
    if ambitious and make.some(3):
        lines += _scenes(random, lines)
    return "\n".join(lines) + "\n"


def _terminal(make: _Maker, kind: str, volts: int, ends: list[tuple[str, str]]) -> str:
    random = make.random
    if kind == "battery":
        name = make.name("B")
        ends.append((name, name))
        limit = f", self-limiting {make.one(RATINGS)} A" if make.some(6) else ""
        return ", ".join([f"battery {name}", f"{volts} V{limit}", *make.where()])
    if kind in {"charger", "alternator", "solar"}:
        name = make.name("C")
        ends.append((name, name))
        at = random.randrange(len(RATINGS))
        # a source limits itself to its rated current or to more
        limit = random.choice(["", ", self-limiting", f", self-limiting {random.choice(RATINGS[at:])} A"])
        return ", ".join([f"{kind} {name}", f"{volts} V, {RATINGS[at]} A{limit}", *make.where()])
    if kind == "selector":
        name = make.name("X")
        positions = random.choice(["off 1 2", "1 2", "off 1 2 both", "off 1 2 3"])
        ends += [(f"{name} 1", f"{name} 1"), (f"{name} 2", f"{name} 2"), (name, name)]
        rated = f", {make.one(RATINGS)} A" if make.some(2) else ""
        return f"selector {name}, positions {positions}{rated}"
    if kind == "inverter":
        name = make.name("V")
        ends.append((name, name))
        gives = f", gives {make.one(RATINGS)} A" + (", self-limiting" if make.some(2) else "") if make.some(2) else ""
        return f"inverter {name}, {volts} V, draws {random.choice(['20 A', '500 W'])}{gives}"
    if kind in {"bus", "joint"}:
        name = make.name("P")
        ends.append((name, name))
        return f"{kind} {name}" + (f", {make.one(RATINGS)} A" if kind == "bus" and make.some(2) else "")
    name = make.name("L")
    ends.append((name, name))
    facts = [f"load {name}"]
    if not make.some(30):
        facts.append(
            "draws " + random.choice(["200 mA", "2 A", "5 A", "12 A", "30 A", "80 A", "60 W", "600 W", "240 A"])
        )
    if kind == "starter":
        facts.append("cranking")
    elif make.ambitious and make.some(10):
        facts.append("always on")
    if make.some(5):
        facts.append(
            random.choice([f"{volts} V", f"{volts * 2} V", "9 V to 32 V", "18 V to 60 V", f"{volts * 1.08:g} V"])
        )
    for _ in range(random.choice([0, 0, 0, 1, 1, 2])):
        words = random.choice(["fuse", "breaker", "fuse slow", "fuse blade", "breaker thermal", "fast", "class T"])
        low = random.choice([5, 10, 15, 20, 30, 50])
        facts.append(f"asks {words} {low} A" + (f" to {low * 2} A" if make.some(2) else ""))
    if make.some(4):
        facts.append(f"asks cable at least {make.one(MM2)} mm2")
    return ", ".join([*facts, *make.where()])


def _scenes(random: random_module.Random, lines: list[str]) -> list[str]:
    named = [line.split(",")[0].split() for line in lines if line]
    loads = [words[1] for words in named if words[0] == "load"]
    switches = [words[1] for words in named if words[0] in {"switch", "relay"}]
    sources = [words[1] for words in named if words[0] in {"battery", "charger", "alternator", "solar"}]
    selectors = [
        (line.split(",")[0].split()[1], line.split(", ")[1].split()[1:])
        for line in lines
        if line.startswith("selector ")
    ]
    made = []
    for title in ("One", "Two")[: random.randint(1, 2)]:
        items = random.sample(loads, random.randint(0, len(loads)))
        items += [f"{s} {random.choice(['open', 'closed'])}" for s in switches if random.random() < 0.5]
        items += [f"{s} off" for s in sources if random.random() < 0.15]
        items += [f"{s} at {random.choice(positions)}" for s, positions in selectors if random.random() < 0.5]
        if items:
            made.append(", ".join([f'scene "{title}"', *items]))
    return made


@st.composite
def networks(draw: st.DrawFn, most: int = 14) -> str:
    """Designs as text, for property tests."""
    return network(draw(st.randoms(use_true_random=False)), most=most)
