"""A day's energy by bank, and the load total, by hand."""

from __future__ import annotations

from pathlib import Path

import pytest

from linter.model.build import build
from linter.source.files import Reader
from linter.study.energy import Bank, Energy, energy_of
from linter.study.study import study_of

BOATS = Path(__file__).resolve().parents[2] / "boats"
HEAD = """boat "E", 9 m, rulebook abyc-e11
system DC12, 12 V
system DC24, 24 V
cables, insulation 105 °C, tinned
"""


def energy(text: str) -> Energy:
    design = build(Reader().design_text(HEAD + text))
    assert [m.message for m in design.mistakes] == []
    return energy_of(study_of(design))


def bank(made: Energy, *names: str) -> Bank:
    return next(b for b in made.banks if b.batteries == names)


DAY = """battery B, 12.8 V, 200 Ah, resistance 2 mΩ, on DC12
from B
load FRIDGE, draws 5 A, runs 8 h a day, always on
from B
load ALARM, draws 0.5 A, always on
from B
load LAMP, draws 24 W
from B
load PUMP, draws 10 A
from B
load HORN, draws 6 A
scene "evening", LAMP, PUMP, for 5 h
scene "night", LAMP, for 21 h
scene "fog", HORN
"""


def test_time_is_what_a_load_says_then_always_on_then_its_scenes_at_most_a_day() -> None:
    made = energy(DAY)
    only = bank(made, "B")
    assert (only.volts, only.charge_ah) == (12.8, 200)
    uses = {u.load: u for u in only.uses}
    assert {n: (u.seconds, u.basis) for n, u in uses.items()} == {
        "FRIDGE": (8 * 3600, "runs"),
        "ALARM": (24 * 3600, "always on"),
        "LAMP": (24 * 3600, "scenes"),
        "PUMP": (5 * 3600, "scenes"),
        "HORN": (None, ""),
    }
    assert uses["FRIDGE"].ah == pytest.approx(40) and uses["FRIDGE"].wh == pytest.approx(40 * 12.8)
    assert uses["LAMP"].wh == pytest.approx(24 * 24) and uses["LAMP"].ah == pytest.approx(24 * 24 / 12.8)
    assert only.unknown == ["HORN"]
    assert uses["HORN"].wh is None and uses["HORN"].ah is None
    assert only.ah == pytest.approx(40 + 12 + 45 + 50)
    assert only.wh == pytest.approx(12.8 * only.ah)
    assert any("26 h" in r for r in made.remarks)


def test_what_a_scene_takes_from_the_bank() -> None:
    scenes = {title: (seconds, ah) for title, seconds, ah in bank(energy(DAY), "B").scenes}
    assert set(scenes) == {"evening", "night"}
    # FRIDGE and ALARM are always on; 24 W draw 24 W / V behind 2 mΩ, within a per cent of 12.8 V
    assert scenes["night"][1] == pytest.approx(21 * (5.5 + 24 / 12.8), rel=0.01)
    assert scenes["evening"][1] == pytest.approx(5 * (15.5 + 24 / 12.8), rel=0.01)


CONVERTED = """battery B, 24 V, 100 Ah, resistance 2 mΩ
from B
converter C, 24 V to 12 V, 20 A, self-limiting, efficiency 80 %, on DC12
from C
load RADIO, draws 4 A, runs 10 h a day
from C
load LAMP, draws 30 W, runs 2 h a day
scene "all", RADIO, LAMP, for 1 h
"""


def test_what_a_converter_feeds_counts_with_its_losses_at_the_bank_behind_it() -> None:
    made = energy(CONVERTED)
    uses = {u.load: u for u in bank(made, "B").uses}
    # 4 A at 12 V for 10 h by 80 %; 60 Wh by 80 %
    assert uses["RADIO"].wh == pytest.approx(600) and uses["RADIO"].ah == pytest.approx(25)
    assert uses["LAMP"].wh == pytest.approx(75) and uses["LAMP"].by == ("C",)
    # the converter itself is no use of its own
    assert set(uses) == {"RADIO", "LAMP"}
    assert made.elsewhere == []


def test_batteries_that_are_always_joined_are_one_bank_and_others_are_not() -> None:
    made = energy("""battery A, 12 V, 100 Ah, resistance 2 mΩ
battery B, 12 V, 50 Ah, resistance 2 mΩ
battery S, 12 V, 70 Ah, resistance 2 mΩ
bus P, 100 A
from A
switch SA, 100 A
to P
from B
switch SB, 100 A
to P
from P
relay K, 100 A, combining
to S
from P
load L, draws 2 A, runs 5 h a day
from S
load M, draws 3 A, runs 1 h a day
from S
diode D, 50 A
to P
scene "apart", L, M, for 2 h
scene "joined", L, M, K closed, for 1 h
""")
    both, start = bank(made, "A", "B"), bank(made, "S")
    assert both.charge_ah == 150
    assert [u.load for u in both.uses] == ["L"] and both.ah == pytest.approx(10)
    assert [u.load for u in start.uses] == ["M"] and start.ah == pytest.approx(3)


def test_a_load_that_no_battery_feeds_is_listed_apart() -> None:
    made = energy("charger C, 12 V, 10 A\nfrom C\nload L, draws 1 A, runs 1 h a day\n")
    assert made.banks == []
    assert [(u.load, u.wh) for u in made.elsewhere] == [("L", 12.0)]


def test_load_total_of_groups_a_and_b() -> None:
    # ABYC E-11 (from memory): all of group A and the larger of 10 % of group B and its largest item
    text = """battery B, 12 V
from B
load FRIDGE, draws 5 A, continuous
from B
load ALARM, draws 1 A, always on
from B
load LIGHTS, draws 24 W, runs 4 h a day
from B
load STARTER, draws 200 A, cranking
from B
load PUMP, draws 8 A
from B
load HORN, draws 6 A
"""
    (total,) = energy(text).totals
    assert total.continuous == [("FRIDGE", 5), ("ALARM", 1), ("LIGHTS", 2)]
    assert total.intermittent == [("PUMP", 8), ("HORN", 6)]
    assert total.total_a == pytest.approx(8 + 8)
    assert total.cite.status == "from memory"
    more = text + "".join(f"from B\nload L{i}, draws 7 A\n" for i in range(20))
    (total,) = energy(more).totals
    assert total.total_a == pytest.approx(8 + 0.1 * (14 + 140))


@pytest.mark.parametrize("name", ["launch", "cutter", "motor-yacht"])
def test_every_load_of_a_boat_is_in_one_place_and_sums_are_sums(name: str) -> None:
    study = study_of(build(Reader().design(BOATS / f"{name}.boat")))
    made = energy_of(study)
    listed = [u.load for b in made.banks for u in b.uses] + [u.load for u in made.elsewhere]
    loads = {n.load.name for n in study.design.circuit.nodes if n.load is not None and n.load.kind != "converter"}
    assert sorted(listed) == sorted(loads)
    assert made.elsewhere == []
    for one in made.banks:
        assert one.ah == pytest.approx(sum(u.ah or 0.0 for u in one.uses))
        assert all(u.wh == pytest.approx(u.ah * one.volts) for u in one.uses if u.ah is not None and u.wh is not None)
