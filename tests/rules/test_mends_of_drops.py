"""Sizes that the mend of a voltage drop names are put into the text: the drop is gone, in every scene.

Random boats: one or two batteries, a charger, a tree of buses, now and then a ring or a diode, loads in A and in W, so
many that in some boats not all of them can be fed as it is; thinner returns, hot places.  Hundreds with
WIREWORTHY_CAMPAIGN=1 in the environment.
"""

from __future__ import annotations

import os
import random
import re
from collections import Counter

import pytest

from linter.rules.engine import examine
from linter.rules.finding import Finding
from linter.rules.registry import rules

from ..judge.reading import design_of

BOATS, BATCH = (800 if os.environ.get("WIREWORTHY_CAMPAIGN") else 80), 20
JUDGED = [r for r in rules() if r.name in {"voltage-drop", "scene-not-carried"}]
METRIC, GAUGES = ("1.5", "2.5", "4", "6", "10", "16", "25", "35"), ("16", "14", "12", "10", "8", "6", "4", "2")
NAMED = re.compile(r"(\S+ (?:mm²|AWG)) for ((?:the return of )?(W\d+)(?:, there and back)?)")


class _Boat:
    def __init__(self, chance: random.Random) -> None:
        self.chance = chance
        self.volts = chance.choice([12, 12, 24])
        self.metric = chance.random() < 0.6
        self.cables = self.fuses = 0
        self.lines: list[str] = []

    def some(self, share: float) -> bool:
        return self.chance.random() < share

    def size(self) -> str:
        return f"{self.chance.choice(METRIC)} mm2" if self.metric else f"{self.chance.choice(GAUGES)} AWG"

    def cable(self, longest_m: float = 12.0) -> None:
        self.cables += 1
        facts = [f"cable W{self.cables}", self.size(), f"{self.chance.uniform(0.3, longest_m):.3g} m"]
        facts += [f"return {self.chance.uniform(0.3, longest_m):.3g} m"] if self.some(0.2) else []
        facts += [f"return {self.size()}"] if self.some(0.15) else []
        facts += [self.chance.choice(["in HOT", "in COOL"])] if self.some(0.3) else []
        self.lines.append(", ".join(facts))

    def fuse(self) -> None:
        self.fuses += 1
        ohm = f", resistance {self.chance.uniform(0.1, 5):.2g} mΩ" if self.some(0.5) else ""
        self.lines.append(f"fuse F{self.fuses}, ANL, {self.chance.choice([40, 80, 150])} A, 32 V{ohm}")

    def text(self) -> str:
        chance, lines = self.chance, self.lines
        lines += [f'boat "R", 9 m, rulebook {chance.choice(["iso-13297", "abyc-e11"])}', f"system M, {self.volts} V"]
        lines += [f"cables, insulation {chance.choice([75, 105])} °C, {chance.choice(['plain', 'tinned'])}"]
        lines += ["place HOT, engine space", "place COOL, ambient 25 °C", "bus P1, 300 A"]
        banks = ["B1", "B2"] if self.some(0.4) else ["B1"]
        lines += [f"battery {b}, {self.volts} V, resistance {chance.uniform(1, 20):.3g} mΩ" for b in banks]
        charger = self.some(0.3)
        for bank in banks:
            lines.append(f"from {bank}")
            self.fuse()
            self.cable(4)
            lines.append("to P1")
        if charger:
            lines += [f"charger C1, {self.volts * 1.2:g} V, 30 A, self-limiting", "from C1"]
            self.cable(3)
            lines.append("to P1")
        buses = ["P1"]
        for number in range(2, 2 + chance.randint(0, 3)):
            lines += [f"bus P{number}, 300 A", f"from {chance.choice(buses)}"]
            self.fuse()
            self.cable()
            lines += [f"diode D{number}, drops 0.4 V"] if self.some(0.1) else []
            lines.append(f"to P{number}")
            if self.some(0.15):
                lines.append(f"from {chance.choice(buses)}")
                self.cable()
                lines.append(f"to P{number}")
            buses.append(f"P{number}")
        loads = [f"L{k}" for k in range(1, 1 + chance.randint(1, 7))]
        for load in loads:
            lines.append(f"from {chance.choice(buses)}")
            self.fuse()
            for _ in range(2 if self.some(0.3) else 1):
                self.cable()
            draws = f"{chance.uniform(1, 30):.3g} A" if self.some(0.5) else f"{chance.uniform(10, 350):.3g} W"
            lines.append(f"load {load}, draws {draws}{chance.choice([', vital', ', electronics', ''])}")
        for number in range(chance.randint(0, 2)):
            on = chance.sample(loads, chance.randint(1, len(loads))) + (["C1"] if charger and self.some(0.6) else [])
            lines.append(f'scene "S{number}", {", ".join(on)}')
        return "\n".join(lines) + "\n"


def findings(text: str) -> dict[tuple[str, str], Finding]:
    design = design_of(text)
    assert [m.message for m in design.mistakes if m.loses] == []
    return {(f.rule, f.subject): f for f in examine(design, JUDGED).findings}


def put_in(text: str, mend: str) -> str:
    """The text with all the sizes that a mend names."""
    for size, what, name in NAMED.findall(mend):
        written = size.replace("mm²", "mm2")
        line = next(x for x in text.splitlines() if x.startswith(f"cable {name}, "))
        new = line
        if not what.startswith("the return"):
            new = re.sub(r"^(cable \w+), [\d/.]+ (?:mm2|AWG)", rf"\1, {written}", new)
        if what != name:
            new = re.sub(r"return [\d/.]+ (?:mm2|AWG)", f"return {written}", new)
        assert new != line, (what, line)
        text = text.replace(line, new)
    return text


def tried(seeds: range) -> Counter[str]:
    """How many mends named sizes, and in boats not all of whose loads could be fed; and how many named none."""
    count: Counter[str] = Counter()
    for seed in seeds:
        text = _Boat(random.Random(seed)).text()
        before = findings(text)
        short = any(rule == "scene-not-carried" for rule, _ in before)
        for (rule, load), finding in before.items():
            if rule != "voltage-drop":
                continue
            if not NAMED.search(finding.mend):
                assert "no larger size is known to do" in finding.mend or "another way than through" in finding.mend
                count["none"] += 1
                continue
            after = findings(put_in(text, finding.mend))
            assert (rule, load) not in after, (seed, finding.message, finding.mend, after[rule, load].message)
            count["named, some not fed" if short else "named"] += 1
    return count


@pytest.mark.parametrize("first", range(0, BOATS, BATCH))
def test_the_sizes_that_are_named_do(first: int) -> None:
    count = tried(range(first, first + BATCH))
    assert count["named"] + count["named, some not fed"] >= 10, count


# Seeds of boats in which what is larger feeds loads that were not fed before.
@pytest.mark.parametrize("seed", [59, 75, 96, 108, 132])
def test_where_more_is_fed_after_the_mend(seed: int) -> None:
    assert tried(range(seed, seed + 1))["named, some not fed"]
