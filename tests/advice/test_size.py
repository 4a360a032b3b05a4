"""`size` against an exhaustive search: the same least copper, and no choice exactly where there is none."""

from __future__ import annotations

import os
import random
from pathlib import Path

import pytest

from linter.advice import options
from linter.advice.choice import Choice
from linter.advice.choose import choose
from linter.advice.circuits import circuit_of
from linter.advice.clauses import demand_of
from linter.advice.options import copper_kg, left_open, open_element
from linter.advice.overlay import overlaid
from linter.model.build import build
from linter.model.elements import Conductor
from linter.rules.engine import examine
from linter.source.files import DesignSource, Reader
from linter.source.units import Quantity
from linter.study.choice import sizes_like
from linter.study.study import study_of
from linter.tables.conductors import area_mm2_of_awg
from tests.advice.exhaustive import differences, every
from tests.advice.small_boats import GAUGES, METRIC, SHEETS, boat

LONG = bool(os.environ.get("WIREWORTHY_CAMPAIGN"))
BOATS = range(400) if LONG else range(36)

HEAD = """boat "Example", 9 m, rulebook {book}
system DC12, 12 V, negative earthed
cables, insulation 105 °C, tinned
battery B, AGM, 12 V, 100 Ah, resistance 4 mΩ
"""
BRANCH = """from B
fuse F1, part branch, 20 A
cable W1, {size}, {length}
load LAMP, {load}
"""


def few_sizes(like: Quantity) -> list[Quantity]:
    """So few that every choice can be tried."""
    kept = {str(g) for g in GAUGES} | set(METRIC)
    return [s for s in sizes_like(like) if s.text.split()[0] in kept]


def design(folder: Path, text: str) -> DesignSource:
    path = folder / "small.boat"
    path.write_text(text, encoding="utf-8")
    return Reader().design(str(path))


def branch(folder: Path, size: str, length: str, load: str, book: str = "abyc-e11") -> DesignSource:
    return design(folder, HEAD.format(book=book) + BRANCH.format(size=size, length=length, load=load) + SHEETS)


def chosen(made: Choice) -> dict[str, float]:
    return {c.name: c.option.figure for c in made.chosen}


@pytest.mark.parametrize("number", BOATS)
def test_as_exhaustive_search(number: int, tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(options, "sizes_like", few_sizes)
    source = design(tmp_path, boat(random.Random(number), 150 if LONG else 30))
    built = build(source)
    assert built.whole, [m.message for m in built.mistakes]
    names = left_open(built)
    if not names:
        pytest.skip("nothing is left open in this one")
    made = choose(source, names)
    tried = every(source, [open_element(built, name) for name in names])
    assert not list(differences(made, tried))
    # without any one demand of a contradiction, what is told is a choice that breaks none of the others
    for one in made.contradictions:
        for relaxed in one.relaxed:
            others = {demand_of(f) for f in one.demands} - {demand_of(relaxed.demand)}
            if relaxed.choice is not None:
                taken = {name: option.written for name, option in relaxed.choice}
                fitting = [
                    found
                    for combination, found in tried.found.items()
                    if all(
                        taken.get(o.name, o.options[at].written) == o.options[at].written
                        for o, at in zip(tried.opens, combination, strict=True)
                    )
                ]
                assert any(found.isdisjoint(others) for found in fitting)


def test_the_boats_are_of_all_kinds(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """The comparison above would prove little if all of them could be chosen for, or none."""
    monkeypatch.setattr(options, "sizes_like", few_sizes)
    could, could_not = 0, 0
    for number in range(12):
        source = design(tmp_path, boat(random.Random(number), 30))
        names = left_open(build(source))
        made = choose(source, names) if names else Choice()
        could += bool(made.chosen and not made.contradictions)
        could_not += bool(made.contradictions)
    assert could > 1
    assert could_not > 1


def test_a_contradiction_is_told_with_what_it_would_cost(tmp_path: Path) -> None:
    """18 A ask for a fuse of 20 A, and the maker for one of 10 A: no size of cable helps."""
    text = HEAD.format(book="abyc-e11") + BRANCH.format(
        size="size ?", length="2 m", load="draws 18 A, asks fuse 10 A"
    ).replace("20 A\n", "? A\n", 1)
    made = choose(design(tmp_path, text + SHEETS), ["F1", "W1"])
    (one,) = made.contradictions
    assert {(f.rule, f.subject) for f in one.demands} == {("device-overloaded", "F1"), ("device-not-as-asked", "LAMP")}
    by_rule = {r.demand.rule: dict(r.choice or ()) for r in one.relaxed}
    assert by_rule["device-overloaded"]["F1"].figure == 10
    assert by_rule["device-not-as-asked"]["F1"].figure >= 18


# ---- published formulas as lower bounds ----------------------------------------------------------


@pytest.mark.parametrize(("amps", "feet", "volts", "percent"), [(10, 20, 12, 3), (15, 33, 12, 3), (5, 60, 12, 3)])
def test_abyc_area_formula_bounds_it(amps: int, feet: int, volts: int, percent: int, tmp_path: Path) -> None:
    """ABYC E-11: CM = K x I x L / E with K 10.75 and L there and back in feet; second-hand.  A circular mil is 5.067e-4 mm² (a circle of 0.001 in)."""
    mils = 10.75 * amps * 2 * feet / (volts * percent / 100)
    load = f"electronics, draws {amps} A, vital"
    made = choose(branch(tmp_path, "size ? AWG", f"{feet} ft", load), ["W1"])
    assert chosen(made)["W1"] >= mils * 5.067e-4 * 0.995


@pytest.mark.parametrize(
    ("gauge", "feet", "volts"), [("14", 100, 6.12), ("10", 39, 0.98), ("10", 156, 3.93), ("4", 90, 0.504)]
)
def test_rows_of_ac_43_13_1b_bound_it(gauge: str, feet: int, volts: float, tmp_path: Path) -> None:
    """FAA AC 43.13-1B tables 11-7 and 11-8, 20 A at 20 °C, read: so many volts are lost in so many feet of one
    conductor.  Where that alone is beyond 3 % of 12 V this size is not chosen, nor any smaller one."""
    source = branch(tmp_path, "size ? AWG", f"{feet / 2} ft", "light, draws 20 A, vital")
    text = source.files[0].text.text.replace("part branch, 20 A", "part main, 30 A")
    made = choose(design(tmp_path, text.replace("comes in 60 A", "comes in 30 A 60 A")), ["W1"])
    assert volts > 0.36
    figure = area_mm2_of_awg(gauge)
    assert chosen(made)["W1"] > figure


@pytest.mark.parametrize(("amps", "metres"), [(5, 8), (10, 5), (15, 12)])
def test_copper_resistivity_bounds_it(amps: int, metres: int, tmp_path: Path) -> None:
    """A = 2 L I rho / dV with rho 0.017241 ohm mm²/m, annealed copper at 20 °C (NBS Handbook 100, FAA AC 43.13-1B;
    second-hand): warm and stranded copper is worse, so less can never do.  3 % of 12 V are 0.36 V."""
    made = choose(branch(tmp_path, "size ? mm2", f"{metres} m", f"light, draws {amps} A, vital"), ["W1"])
    assert chosen(made)["W1"] >= 2 * metres * amps * 0.017241 / 0.36


def test_what_is_chosen_passes_check_and_one_smaller_does_not(tmp_path: Path) -> None:
    made = choose(branch(tmp_path, "size ?", "6 m", "light, draws 10 A, vital"), ["W1"])
    (one,) = made.chosen
    assert made.proved
    assert one.smaller is not None
    assert one.smaller.finding is not None
    for written, clean in ((one.option.written, True), (one.smaller.option.written, False)):
        size = written.replace("²", "2")
        found = examine(build(branch(tmp_path, size, "6 m", "light, draws 10 A, vital"))).findings
        assert (not [f for f in found if f.rule not in {s.rule for s in made.standing}]) is clean


# ---- the boats, with many circuits left open -----------------------------------------------------

BOATS_AND_LOADS = {"cutter": "PILOT RADAR VHF"}
if LONG:
    BOATS_AND_LOADS = {
        "cutter": "PILOT RADAR PLOTTER NETWORK REPEATER SATELLITE VHF AIS",
        "motor-yacht": "FRIDGE-1 FRIDGE-2 GALLEY-FAN FRESH-WATER TOILET-AFT",
    }


@pytest.mark.parametrize("name", BOATS_AND_LOADS)
def test_many_circuits_of_a_boat(name: str) -> None:
    """What is chosen breaks nothing that stands not so in the boat as she is, and has no more copper."""
    source = Reader().design(str(Path(__file__).parents[2] / "boats" / f"{name}.boat"))
    built = build(source)
    study = study_of(built)
    names: list[str] = []
    for load in BOATS_AND_LOADS[name].split():
        node = next(n for n in built.circuit.nodes if n.load is built.elements[load])
        names += circuit_of(study, node.index)
    names = list(dict.fromkeys(names))
    assert len(names) > 5
    made = choose(source, names)
    assert {c.name for c in made.chosen} == set(names)
    assert made.examination is not None
    told = {(f.rule, f.subject) for f in (*made.unmet, *made.standing)}
    fresh = examine(
        build(overlaid(source, {("element", c.name): {f.key: (f,) for f in c.option.facts} for c in made.chosen}))
    )
    assert {(f.rule, f.subject) for f in fresh.findings if not f.accepted} <= told
    cables = [e for n in names if isinstance(e := built.elements[n], Conductor) and e.area_mm2]
    assert made.copper_kg <= sum(copper_kg(c, c.area_mm2 or 0.0) for c in cables) * (1 + 1e-9)
