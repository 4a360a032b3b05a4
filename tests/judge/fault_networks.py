"""Small random circuits as .boat text for the rules on faults: one to three sources, a tree of buses and loads, now and
then a ring, devices of every class with and without their makers' points.

Sizes mostly fit their devices, as only what is protected is judged; sources are weak and strong, runs short and long.
"""

from __future__ import annotations

import math
import random as random_module

MM2 = ["1.5", "2.5", "4", "6", "10", "16", "25", "35", "50", "70", "95", "120"]
AWG = ["16", "14", "12", "10", "8", "6", "4", "2", "1/0", "4/0"]
RATINGS = [5.0, 7.5, 10.0, 15.0, 20.0, 30.0, 40.0, 60.0, 80.0, 100.0, 150.0, 200.0, 300.0]
FUSES = ["blade", "miniature blade", "large blade", "bolt-down strip", "ANL", "class T", "cartridge", "gG", ""]
BREAKERS = ["thermal", "hydraulic-magnetic", "thermal-magnetic", ""]
HEAD = """place COOL, ambient 25 °C
place WARM, ambient 45 °C
place ENGINE, ambient 50 °C, engine space
place BAKING, ambient 62 °C, engine space
"""
# roughly what a size carries, to choose sizes that a device may guard
CARRIES = dict(zip(MM2, [20, 30, 40, 50, 75, 110, 145, 180, 230, 280, 330, 380], strict=True))
AWG_CARRIES = dict(zip(AWG, [20, 28, 36, 50, 70, 100, 135, 180, 245, 380], strict=True))


class _Maker:
    def __init__(self, random: random_module.Random, volts: int) -> None:
        self.random, self.volts = random, volts
        self.count: dict[str, int] = {}

    def some(self, share: float) -> bool:
        return self.random.random() < share

    def name(self, letter: str) -> str:
        self.count[letter] = self.count.get(letter, 0) + 1
        return f"{letter}{self.count[letter]}"

    def between(self, least: float, most: float) -> float:
        """Even in logarithms."""
        return math.exp(self.random.uniform(math.log(least), math.log(most)))

    def cable(self, guard_a: float, longest_m: float = 25.0) -> str:
        metric = self.some(0.7)
        table = CARRIES if metric else AWG_CARRIES
        wide = guard_a * self.random.choice([1.0, 1.0, 1.0, 1.4, 2.0, 0.7])
        size = next((s for s, a in table.items() if a >= wide), list(table)[-1])
        facts = [
            f"cable {self.name('W')}",
            f"{size} {'mm2' if metric else 'AWG'}",
            f"{self.between(0.1, longest_m):.3g} m",
        ]
        if self.some(0.3):
            facts.append(f"insulation {self.random.choice(['70', '90', '125', '200'])} °C")
        if self.some(0.3):
            facts.append(self.random.choice(["plain", "tinned"]))
        if self.some(0.2):
            facts.append(f"in {self.random.choice(['COOL', 'WARM', 'ENGINE', 'BAKING'])}")
        if self.some(0.1):
            facts.append(f"return {self.between(0.1, 10):.3g} m")
        if self.some(0.1):
            own = f"{self.random.choice(list(table))} {'mm2' if metric else 'AWG'}"
            facts.append(f"return {own}")
        return ", ".join(facts)

    def device(self, rated: float, points: float = 0.5) -> str:
        breaker = self.some(0.35)
        of = self.random.choice(BREAKERS if breaker else FUSES)
        facts = [f"breaker {self.name('Q')}" if breaker else f"fuse {self.name('F')}", of, f"{rated:g} A"]
        if self.some(0.6):
            facts.append(f"{self.random.choice([16, 32, 65, 125])} V")
        for _ in range(self.random.choice([0, 1, 1, 2])):
            amps = f"breaks {self.between(0.2, 20):.3f} kA"
            facts.append(amps + (f" at {self.random.choice([16, 32, 65, 125])} V" if self.some(0.7) else ""))
        if of in {"hydraulic-magnetic", "thermal-magnetic"} and self.some(0.6):
            facts.append(f"curve {self.random.choice('BC')}")
        if self.some(points):
            facts += self.points()
        if self.some(0.2):
            least = self.between(0.1, 3)
            facts.append(f"resistance {least:.3g} mΩ" + (f" to {least * 1.7:.3g} mΩ" if self.some(0.5) else ""))
        if self.some(0.2):
            facts.append(f"carries {self.random.choice([70, 85, 95])} % at {self.random.choice([40, 50, 60])} °C")
            if self.some(0.5):
                facts.append(f"carries {self.random.choice([105, 120])} % at 0 °C")
        if self.some(0.3):
            facts.append(f"in {self.random.choice(['COOL', 'WARM', 'ENGINE', 'BAKING'])}")
        return ", ".join(f for f in facts if f)

    def points(self) -> list[str]:
        multiples = sorted(self.random.sample([130, 150, 200, 350, 500, 700, 1000, 2000], self.random.randint(1, 5)))
        most = self.between(1, 4000)
        made = []
        for at in multiples:
            made.append(
                f"opens at {at} % in {max(most * self.random.choice([0.05, 0.2, 0.6]), 2e-5):.5f} s to {most:.5f} s"
            )
            most = max(most * self.between(0.005, 0.9), 0.004)
        for _ in range(self.random.choice([0, 0, 1, 1, 2])):
            energy = f"lets through {self.between(0.3, 300):.3f} kA2s"
            made.append(energy + (f" at {self.between(1, 20):.3f} kA" if self.some(0.6) else ""))
        return made

    def battery(self) -> str:
        name, rough = self.name("B"), self.random.random()
        facts = [f"battery {name}"]
        # of so many nobody says anything of the resistance: of the only one seldom, since that leaves all open
        blind = 0.015 if self.count["B"] == 1 else 0.03
        if rough < blind:
            facts.append(f"{self.volts} V")
        elif rough < 0.1 + blind:
            facts += [
                self.random.choice(["AGM", "flooded", "gel", "lithium iron phosphate"]),
                f"{self.volts} V",
                "200 Ah",
            ]
            facts += ["cranking 700 A"] if self.some(0.5) else []
        elif rough < 0.25:
            facts += [f"{self.volts} V", f"short-circuit {self.between(0.4, 12):.3f} kA"]
        else:
            least = self.between(0.6, 40) * self.volts / 12
            facts += [
                f"{self.volts} V",
                f"resistance {least:.3g} mΩ to {least * self.random.choice([1, 1.5, 2.5]):.4g} mΩ",
            ]
        if self.some(0.25):
            facts.append(f"greatest {self.volts * self.random.choice([1.1, 1.2]):g} V")
        return ", ".join(facts)


def fault_network(random: random_module.Random) -> str:
    """The text of a design."""
    volts = random.choice([12, 12, 12, 24, 48])
    make = _Maker(random, volts)
    book = random.choice(["iso-13297", "iso-13297", "cfr-183", "abyc-e11"])
    lines = [f'boat "Random", 9 m, rulebook {book}', f"system MAIN, {volts} V, negative earthed", HEAD.rstrip()]
    lines.append(f"cables, insulation {random.choice(['75', '105', '105'])} °C")
    buses = [make.name("P") for _ in range(random.choice([1, 1, 2, 3]))]
    runs: list[list[str]] = []
    batteries = random.choice([1, 1, 1, 2, 2, 3])
    chargers = random.choice([0, 0, 0, 1])
    selector = batteries > 1 and make.some(0.15)
    mains: dict[str, float] = {}
    lines += [f"bus {b}" for b in buses]
    for k in range(batteries):
        lines.append(make.battery())
        rated = random.choice(RATINGS[5:])
        bus = buses[0] if k == 0 or make.some(0.6) else random.choice(buses)
        to = f"X {k + 1}" if selector else bus
        if selector and k == 0:
            lines.append(
                f"selector X, positions off {' '.join(str(j + 1) for j in range(batteries))}{' both' if make.some(0.3) else ''}"
            )
        mains[bus] = mains.get(bus, 0.0) + rated
        way = [make.cable(rated, 1.0)] if make.some(0.5) else []
        way += [make.device(rated)] if make.some(0.93) else []
        way += [make.cable(rated, 6.0)] if make.some(0.7) else []
        if k and not selector and make.some(0.2):
            way.append(
                random.choice(
                    [
                        f"relay {make.name('K')}, combining",
                        f"diode {make.name('D')}",
                        f"diode {make.name('D')}, drops 0.5 V",
                    ]
                )
            )
        runs.append([f"from B{k + 1}", *way, f"to {to}"])
    if selector:
        runs.append(["from X", *([make.cable(150, 3.0)] if make.some(0.6) else []), f"to {buses[0]}"])
    for _ in range(chargers):
        rated = random.choice([20, 40, 60])
        lines.append(f"charger {make.name('C')}, {volts * 1.2:g} V, {rated} A, self-limiting")
        runs.append(
            [
                f"from C{make.count['C']}",
                make.device(rated * 1.5),
                make.cable(rated * 1.5, 5.0),
                f"to {random.choice(buses)}",
            ]
        )
    for k, bus in enumerate(buses[1:]):
        rated = random.choice(RATINGS[3:11])
        mains.setdefault(bus, rated)
        runs.append([f"from {buses[random.randrange(k + 1)]}", make.device(rated), make.cable(rated), f"to {bus}"])
    if len(buses) > 1 and make.some(0.25):
        one, two = random.sample(buses, 2)
        rated = random.choice(RATINGS[4:11])
        runs.append([f"from {one}", make.device(rated), make.cable(rated, 8.0), f"to {two}"])
    if make.some(0.12):
        # two devices side by side
        bus = random.choice(buses)
        lines.append(f"joint {make.name('J')}")
        for _ in range(2):
            rated = random.choice(RATINGS[2:9])
            runs.append([f"from {bus}", make.device(rated), make.cable(rated * 2, 3.0), f"to J{make.count['J']}"])
        runs.append([f"from J{make.count['J']}", make.cable(rated * 2.5), "to L0"])
        starts = f", starts {rated * make.between(0.5, 9):.1f} A for {make.between(0.005, 20):.4f} s"
        lines.append("load L0, draws 1 A" + (starts if make.some(0.6) else ""))
    for _ in range(random.randint(1, 4)):
        bus = random.choice(buses)
        rated = random.choice(RATINGS[:10])
        way = []
        if make.some(0.9):
            way.append(make.device(rated))
        else:
            rated = mains.get(bus, 100.0)
        way.append(make.cable(rated))
        if make.some(0.15):
            second = random.choice(RATINGS[:8])
            way += [make.device(second), make.cable(second)]
        name = make.name("L")
        facts = [f"load {name}", f"draws {rated * random.choice([0.1, 0.4, 0.7]):.3g} A"]
        if make.some(0.5):
            facts.append(f"starts {rated * make.between(0.5, 9):.1f} A for {make.between(0.005, 20):.4f} s")
        lines.append(", ".join(facts))
        runs.append([f"from {bus}", *way, f"to {name}"])
    if selector and make.some(0.5):
        lines.append(f'scene "Day", L1, X at {random.randint(1, batteries)}')
    return "\n".join([*lines, *(line for run in runs for line in run)]) + "\n"
