"""Small random boats that leave two to four sizes and ratings open, so few that every choice can be tried.

All is invented.  The boats have one or two sources, a feeder, branches, sometimes a ring or a panel of their own behind
a branch; loads take a current or a power; some makers ask for a device or a cable.
"""

from __future__ import annotations

import random as random_module

SHEETS = """
part main, fuse
  class T, 125 V, breaks 20 kA at 125 V, comes in 60 A 100 A 150 A
  opens at 135 % in 400 s to 3600 s, opens at 500 % in 0.5 s to 3 s, opens at 1000 % in 60 ms to 0.25 s
  opens at 2000 % in 12 ms to 30 ms, lets through 300 kA2s, resistance 0.2 mΩ to 0.5 mΩ
part branch, fuse
  cartridge, 125 V, breaks 10 kA at 125 V, comes in 5 A 10 A 20 A 30 A
  opens at 135 % in 10 s to 3600 s, opens at 200 % in 2 s to 20 s, opens at 1000 % in 8 ms to 50 ms
  lets through 3 kA2s, resistance 2 mΩ to 8 mΩ
part weak, fuse
  blade, fast, 32 V, breaks 1 kA at 32 V, comes in 5 A 15 A 25 A
  opens at 135 % in 0.75 s to 600 s, opens at 200 % in 0.15 s to 5 s, opens at 600 % in 15 ms to 60 ms
  opens at 2000 % in 1 ms to 4 ms, lets through 2 kA2s at 1 kA, resistance 2 mΩ to 10 mΩ
part panel, breaker
  thermal, 32 V, breaks 5 kA at 32 V, comes in 10 A 20 A 40 A, carries 90 % at 45 °C, carries 85 % at 60 °C
  opens at 135 % in 60 s to 3600 s, opens at 200 % in 9 s to 60 s, opens at 500 % in 1 s to 4 s
  opens at 1000 % in 20 ms to 0.1 s, opens at 2000 % in 5 ms to 20 ms, lets through 40 kA2s at 5 kA
part unsaid, breaker
  hydraulic-magnetic, 32 V, breaks 5 kA at 32 V, comes in 10 A 20 A
  opens at 135 % in 1 s to 60 s, opens at 400 % in 0.1 s to 2 s, opens at 1000 % in 5 ms to 20 ms
  lets through 20 kA2s at 5 kA
"""
METRIC, GAUGES = ("1", "2.5", "6", "16", "35"), (16, 12, 8, 4, 1)
# Combinations of options beyond which a boat is not drawn.
MOST = 150
_DEVICES = {"fuse": ("branch", "weak", "main"), "breaker": ("panel", "unsaid")}
_FIXED = {"branch": "10 20", "weak": "15 25", "main": "60 100", "panel": "10 20", "unsaid": "10 20"}
_SERIES = {"branch": 4, "weak": 3, "main": 3, "panel": 3, "unsaid": 2}


class _Maker:
    def __init__(self, random: random_module.Random, most: int) -> None:
        self.most = most
        self.random = random
        self.gauge = random.random() < 0.4
        self.left = random.randint(2, 4)
        self.ways = 1
        self.count = 0

    def some(self, share: float) -> bool:
        return self.random.random() < share

    def one(self, *of: str) -> str:
        return self.random.choice(of)

    def opens(self, ways: int) -> bool:
        if self.left and self.ways * ways <= self.most and self.some(0.7):
            self.left -= 1
            self.ways *= ways
            return True
        return False

    def cable(self, *lengths: str, thick: bool = False) -> str:
        self.count += 1
        if self.opens(5):
            size = "size ?" + (self.one("", " AWG") if self.gauge else self.one("", " mm2"))
        else:
            fixed = slice(4, 5) if thick else slice(2, 4)
            size = f"{self.random.choice(GAUGES[fixed])} AWG" if self.gauge else f"{self.one(*METRIC[fixed])} mm2"
        facts = f"cable W{self.count}, {size}, {self.one(*lengths)}"
        facts += self.one("", "", ", in sheath", "", "", ", bundle of 3")
        facts += self.one("", "", ", in HOT", ", 1 m in HOT") if not lengths[0].startswith("0") else ""
        return facts + (", return 16 mm2" if self.some(0.1) else "")

    def device(self, *sheets: str) -> str:
        self.count += 1
        sheet = self.one(*sheets)
        kind = next(kind for kind, names in _DEVICES.items() if sheet in names)
        name = f"{'F' if kind == 'fuse' else 'Q'}{self.count}"
        place = self.one("", "", ", in HOT")
        if self.some(0.2) and self.opens(sum(_SERIES[s] for s in _DEVICES[kind])):
            return f"{kind} {name}, ? A{place}"
        if self.opens(_SERIES[sheet]):
            return f"{kind} {name}, part {sheet}, ? A{place}"
        return f"{kind} {name}, part {sheet}, {self.one(*_FIXED[sheet].split())} A{place}"

    def load(self) -> str:
        self.count += 1
        facts = f"load L{self.count}, " + self.one("light", "electronics", "motor", "heater")
        kind = self.random.random()
        if kind < 0.4:
            facts += f", draws {self.one('20', '60', '100', '200')} W, 12 V"
        else:
            facts += f", draws {self.one('1', '4', '7', '9', '15')} A"
        facts += self.one("", "", ", continuous", ", vital")
        facts += (
            f", starts {self.one('15', '25', '60')} A for {self.one('0.1', '0.5', '2')} s" if self.some(0.25) else ""
        )
        facts += f", works from {self.one('10.5', '11.2', '11.5')} V" if self.some(0.3) else ""
        if self.some(0.1):
            facts += ", asks " + self.one(
                "fuse 10 A", "breaker 20 A", "thermal breaker 10 A to 20 A", "fuse 5 A to 15 A"
            )
        if self.some(0.15):
            facts += f", asks cable at least {self.one('2.5', '6', '16')} mm2"
        return facts


def boat(random: random_module.Random, most: int = MOST) -> str:
    """The text of one."""
    m = _Maker(random, most)
    rulebooks = m.one("rulebook iso-13297", "rulebook abyc-e11", "rulebook iso-13297, rulebook abyc-e11")
    lines = [
        f'boat "Example", 9 m, {rulebooks}',
        "system DC12, 12 V, negative earthed",
        f"cables, insulation {m.one('70', '105', '105')} °C, tinned",
        "place HOT, ambient 45 °C",
        f"battery B1, AGM, 12 V, 100 Ah, resistance {m.one('3', '6', '20')} mΩ",
        "from B1",
        m.cable("0.1 m", "0.15 m", thick=True),
        m.device("main"),
        m.cable("1 m", "2 m", thick=True),
        "bus POS, 250 A",
    ]
    for _ in range(random.randint(1, 3)):
        lines += [
            "from POS",
            m.device("branch", "branch", "weak", "panel", "panel", "unsaid"),
            m.cable("1 m", "2 m", "5 m"),
        ]
        m.count += 1
        bus = f"S{m.count}"
        if m.some(0.2):
            lines += [f"bus {bus}, 60 A", m.cable("1 m", "3 m"), m.load()]
            if m.some(0.6):
                lines += [f"from {bus}", m.device("branch", "weak", "panel"), m.cable("1 m", "5 m"), m.load()]
        else:
            lines.append(m.load())
    second = random.random()
    if second < 0.15:
        battery = f"battery B2, {m.one('AGM, 12 V', 'lithium, 12.8 V', 'flooded, 12 V')}, 80 Ah, "
        limit = m.one("", "", ", self-limiting 90 A")
        lines += [
            battery + f"resistance {m.one('4', '15')} mΩ{limit}",
            "from B2", m.cable("0.1 m", "0.15 m"), m.device("main"), "to POS",
        ]  # fmt: skip
    elif second < 0.35:
        lines += [
            f"charger C1, 14.4 V, {m.one('10', '30')} A",
            "from C1", m.cable("0.15 m", "1 m"), m.device("main"), "to POS",
        ]  # fmt: skip
    elif second < 0.45:
        lines += ["from B1", m.cable("0.1 m"), m.device("main"), m.cable("2 m"), "to POS"]
    return "\n".join(lines) + "\n" + SHEETS
