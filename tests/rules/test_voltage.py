"""Voltage drop, voltages too low and scenes that cannot be carried: classes, figures, and mends that do."""

from __future__ import annotations

import random
import re

import pytest

from linter.model.build import build
from linter.rules.engine import Examination, examine
from linter.source.files import Reader
from linter.study.scene_limit import drop_limit
from linter.tables.rulebook import load as rulebook

HEAD = """boat "V", 9 m, rulebook {books}
system DC12, 12 V
cables, insulation 105 °C, tinned
battery B, 12 V, resistance 2 mΩ
"""
OURS = {"voltage-drop", "voltage-too-low", "scene-not-carried"}


def examined(text: str, books: str = "iso-13297") -> Examination:
    result = examine(build(Reader().design_text(HEAD.format(books=books) + text)))
    assert result.mistakes == [] and result.broken == []
    return result


def found(text: str, books: str = "iso-13297") -> dict[tuple[str, str], tuple[str, str]]:
    return {(f.rule, f.subject): (f.message, f.mend) for f in examined(text, books).findings if f.rule in OURS}


@pytest.mark.parametrize(
    ("books", "facts", "percent"),
    [
        # 3 %: navigation lights, blowers, bilge pumps, safety equipment by ISO; by ABYC electronics too; else 10 %
        (["iso-13297"], "vital", 3),
        (["iso-13297"], "electronics", 10),
        (["iso-13297"], "light", 10),
        (["iso-13297"], "", 10),
        (["abyc-e11"], "vital", 3),
        (["abyc-e11"], "electronics", 3),
        (["abyc-e11"], "light", 10),
        (["abyc-e11"], "motor", 10),
        (["iso-13297", "abyc-e11"], "electronics", 3),
        (["cfr-183"], "vital", None),
        (["cfr-183", "iso-13297"], "motor", 10),
    ],
)
def test_classes_of_circuits(books: list[str], facts: str, percent: float | None) -> None:
    text = f"from B\nload L, draws 1 A{', ' + facts if facts else ''}\n"
    (load,) = [n.load for n in build(Reader().design_text(HEAD.format(books=books[0]) + text)).circuit.nodes if n.load]
    limit = drop_limit(load, [rulebook(b) for b in books])
    assert (limit.percent if limit else None) == percent


def test_a_rulebook_without_classes_judges_nothing() -> None:
    text = "from B\nfuse F, class T, 15 A\ncable W, 2.5 mm2, 60 m\nload L, draws 3 A, vital\n"
    assert ("voltage-drop", "L") in found(text, "iso-13297")
    assert found(text, "cfr-183") == {}


def test_the_message_has_the_figures_and_where_most_is_lost() -> None:
    text = "from B\nfuse F, class T, 15 A\ncable W1, 6 mm2, 2 m\ncable W2, 2.5 mm2, 12 m\nload L, draws 8 A, vital\n"
    message, mend = found(text)["voltage-drop", "L"]
    # 2.5 mm² tinned: 8.21 Ω/km; 24 m and 8 A: 1.58 V cold; 6 mm²: 3.39 Ω/km, 4 m: 0.11 V
    figures = re.search(r"loses ([\d.]+) V, ([\d.]+) %", message)
    assert figures and 1.69 < float(figures[1]) < 1.85
    assert float(figures[2]) == pytest.approx(float(figures[1]) / 0.12, abs=0.1)
    assert "most of it in W2" in message and "iso-13297 allows 3 % in a vital circuit" in message
    assert mend


def test_the_worst_of_scenes_and_single_circuit_is_told_once() -> None:
    text = """from B
fuse F, class T, 100 A
cable W1, 16 mm2, 5 m
bus P, 100 A
from P
cable W2, 2.5 mm2, 2 m
load LAMP, draws 2 A, vital
from P
cable W3, 25 mm2, 1 m
load WINCH, draws 80 A
scene "alone", LAMP
scene "both", LAMP, WINCH
"""
    findings = [f for f in examined(text).findings if f.rule == "voltage-drop" and f.subject == "LAMP"]
    assert len(findings) == 1
    assert '"both"' in findings[0].message and "most of it in W1" in findings[0].message


@pytest.mark.parametrize("seed", range(40))
def test_the_sizes_of_a_mend_do(seed: int) -> None:
    chance = random.Random(seed)
    books = chance.choice(["iso-13297", "abyc-e11"])
    sizes = chance.choice([["1.5 mm2", "2.5 mm2", "6 mm2", "10 mm2"], ["16 AWG", "12 AWG", "8 AWG"]])
    text = "from B\nfuse F, class T, 60 A\n"
    text += f"cable W1, {chance.choice(sizes)}, {chance.randint(1, 8)} m\nbus P, 100 A\n"
    text += f"from P\ncable W2, {chance.choice(sizes)}, {chance.randint(1, 15)} m\njoint J\n"
    text += f"from J\ncable W3, {chance.choice(sizes)}, {chance.randint(1, 9)} m{chance.choice(['', ', return 1 m'])}\n"
    text += f"load L, draws {chance.choice(['5 A', '9 A', '60 W'])}, vital\n"
    text += f"from P\nload M, draws {chance.randint(1, 20)} A\n"
    key = ("voltage-drop", "L")
    before = found(text, books)
    if key not in before or any(rule == "scene-not-carried" for rule, _ in before):
        return
    mend = before[key][1]
    changes = re.findall(r"([\d./]+ (?:mm²|AWG)) for (\w+)", mend)
    assert changes and mend.startswith("at least ")
    smaller = text
    for size, name in changes:
        text = re.sub(rf"cable {name}, [\d./]+ (?:mm2|AWG)", f"cable {name}, {size}", text)
    assert text != smaller
    assert key not in found(text, books)


def test_mends_were_tried() -> None:
    """The test above is worth something: most of its designs lose too much."""
    tried = 0
    for seed in range(40):
        chance = random.Random(seed)
        chance.choice(["iso-13297", "abyc-e11"])
        sizes = chance.choice([["1.5 mm2", "2.5 mm2", "6 mm2", "10 mm2"], ["16 AWG", "12 AWG", "8 AWG"]])
        text = f"from B\nfuse F, class T, 60 A\ncable W1, {chance.choice(sizes)}, {chance.randint(1, 8)} m\n"
        text += "load L, draws 20 A, vital\n"
        tried += ("voltage-drop", "L") in found(text)
    assert tried > 10


SHARED_WAYS = {
    # two ways side by side, and a tail
    "ring": "from P\ncable W2, 2.5 mm2, {} m\nto Q\nfrom P\ncable W3, 2.5 mm2, {} m\nto Q\n",
    # a second battery at the far end
    "two banks": "from P\ncable W2, 2.5 mm2, {} m\nto Q\nbattery C, 12 V, resistance 2 mΩ\n"
    "from C\ncable W3, 2.5 mm2, {} m\nto Q\n",
}


@pytest.mark.parametrize("shape", SHARED_WAYS)
def test_where_current_would_move_over_a_size_is_named_only_where_it_does(shape: str) -> None:
    named = silent = 0
    for seed in range(25):
        chance = random.Random(seed)
        text = "bus P, 100 A\nbus Q, 100 A\nfrom B\ncable W1, 16 mm2, 1 m\nto P\n"
        text += SHARED_WAYS[shape].format(chance.randint(1, 20), chance.randint(1, 20))
        text += f"from Q\ncable W4, 2.5 mm2, {chance.randint(1, 6)} m\nload L, draws {chance.randint(3, 16)} A, vital\n"
        before = found(text).get(("voltage-drop", "L"))
        if before is None:
            continue
        changes = re.findall(r"([\d./]+ mm²) for (\w+)", before[1])
        if not changes:
            assert "a feed of its own" in before[1]
            silent += 1
            continue
        for size, name in changes:
            assert name not in {"W2", "W3"}
            text = re.sub(rf"cable {name}, [\d.]+ mm2", f"cable {name}, {size}", text)
        assert ("voltage-drop", "L") not in found(text)
        named += 1
    assert named and silent


def test_what_a_diode_costs_no_conductor_mends() -> None:
    text = "from B\ndiode D, 50 A, 50 V, drops 0.8 V\ncable W, 16 mm2, 1 m\nload L, draws 1 A, vital\n"
    message, mend = found(text)["voltage-drop", "L"]
    assert "most of it in D, 0.80 V" in message
    assert "D" in mend and "mm" not in mend


def test_a_load_below_the_voltage_from_which_it_works() -> None:
    text = """from B
fuse F, class T, 100 A
cable W1, 10 mm2, 4 m
bus P, 100 A
from P
load RADIO, draws 1 A, works from {} V
from P
load WINCH, draws 80 A
scene "sending", RADIO
scene "weighing", RADIO, WINCH
"""
    below = found(text.format(10.9))
    message, mend = below["voltage-too-low", "RADIO"]
    assert 'in "weighing" and works from 10.9 V' in message and "W1" in message
    assert "larger conductors" in mend
    assert ("voltage-too-low", "RADIO") not in found(text.format(9))


def test_a_load_outside_its_range_either_way() -> None:
    text = """charger C, 14.4 V, 30 A, self-limiting
from C
to B
from B
load L, draws 1 A, {}
scene "shore", C
scene "quiet", L
scene "charging", L, C
"""
    assert found(text.format("9 V to 15 V")) == {}
    # 29 A into 2 mΩ lift the terminals of an empty battery to 12.06 V, and those of a full one to the charger's 14.4 V
    message, _ = found(text.format("9 V to 12.05 V"))["voltage-too-low", "L"]
    assert "can be fed by C, which gives up to 14.4 V" in message and "at most 12.05 V" in message
    message, mend = found(text.format("12 V to 15 V").replace("2 mΩ", "9 mΩ"))["voltage-too-low", "L"]
    assert "works from 12 V" in message and "another source" in mend
    # made for another system altogether: wrong-voltage says so, once
    assert found(text.format("18 V to 32 V")) == {}


def test_what_cannot_be_carried_names_load_scene_and_share() -> None:
    text = """from B
fuse F, class T, 200 A
switch S, 300 A, resistance 28 mΩ
inverter I, 12 V, draws 1.5 kW
scene "cooking", I
"""
    (key,) = [k for k in found(text) if k[0] == "scene-not-carried"]
    message, _ = found(text)[key]
    # 144 / (4 × 30 mΩ) = 1200 W of 1500 W
    assert key[1] == "I" and 'in "cooking"' in message and "at 80 % of it" in message
    assert not [k for k in found(text.replace("1.5 kW", "1.1 kW")) if k[0] == "scene-not-carried"]
