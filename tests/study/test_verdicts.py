"""Verdicts on small circuits whose answer one works out by hand; the sums stand beside them.

Limits: 33 CFR 183.425 Table 5 and 183.455 (read), ISO 13297 (second-hand and from memory), as in linter/tables.
"""

from __future__ import annotations

import math

import pytest

from linter.model.build import build
from linter.source.files import Reader
from linter.study.study import ConductorStudy, Study, Verdict, study_of

ISO = """boat "T", 9 m, rulebook iso-13297
system DC12, 12 V
cables, insulation 105 °C
battery A, AGM, 12 V, 100 Ah
"""
CFR = ISO.replace("iso-13297", "cfr-183")


def studied(text: str) -> Study:
    design = build(Reader().design_text(text))
    assert [m.message for m in design.mistakes] == []
    return study_of(design)


def conductor(text: str, name: str) -> ConductorStudy:
    return studied(text).conductors[name]


def test_an_unfused_conductor_has_no_limit_and_no_guard() -> None:
    made = conductor(ISO + "from A\ncable W1, 16 mm2, 0.1 m\nload L, draws 5 A\n", "W1")
    assert made.let_through_a == math.inf
    assert made.guard == ()
    assert made.verdict is Verdict.UNPROTECTED
    assert made.stretch is not None and "no device" in made.stretch.problem


def test_behind_a_fuse_the_fuse_is_the_guard() -> None:
    text = (
        ISO + "from A\nfuse F1, 100 A\ncable W1, 16 mm2, 5 m\nfuse F2, 40 A\ncable W2, 4 mm2, 5 m\nload L, draws 5 A\n"
    )
    study = studied(text)
    assert (study.conductors["W1"].let_through_a, study.conductors["W1"].guard) == (100, ("F1",))
    assert (study.conductors["W2"].let_through_a, study.conductors["W2"].guard) == (40, ("F2",))


def test_of_two_equal_devices_in_a_row_the_nearer_is_the_guard() -> None:
    text = (
        ISO + "from A\nfuse F1, 40 A\ncable W1, 16 mm2, 5 m\nfuse F2, 40 A\ncable W2, 4 mm2, 5 m\nload L, draws 5 A\n"
    )
    assert conductor(text, "W2").guard == ("F2",)


TWO_SOURCES = (
    ISO
    + """alternator G, 14 V, 120 A, self-limiting
from A
fuse F1, 300 A
bus P
from G
cable W2, 50 mm2, 2 m
fuse F2, 150 A
to P
from P
cable W3, 16 mm2, 1 m
load L, draws 5 A
"""
)


def test_two_sources_add_up_and_the_guard_names_both() -> None:
    # W3: 300 A over F1, and of the alternator 120 A, its own limit, which is less than F2's 150 A
    made = conductor(TWO_SOURCES, "W3")
    assert made.let_through_a == 420
    assert made.guard == ("F1", "G")


def test_the_conductor_of_a_self_limiting_source_is_guarded_at_its_far_end() -> None:
    # from G 120 A at most; from the bus 150 A over F2: the larger counts, and 50 mm² at 105 °C is allowed 270 A
    made = conductor(TWO_SOURCES, "W2")
    assert made.let_through_a == 150
    assert made.guard == ("F2",)
    assert made.verdict is Verdict.PROTECTED


def test_without_its_word_a_source_does_not_limit_itself() -> None:
    made = conductor(TWO_SOURCES.replace(", self-limiting", ""), "W3")
    assert made.let_through_a == 450
    assert made.guard == ("F1", "F2")


def test_parallel_feeds_are_taken_together() -> None:
    text = (
        ISO
        + """from A
fuse F1, 60 A
cable W1, 10 mm2, 3 m
bus P
from A
fuse F2, 60 A
cable W2, 10 mm2, 3 m
to P
from P
cable W3, 16 mm2, 1 m
load L, draws 5 A
"""
    )
    study = studied(text)
    assert study.conductors["W3"].let_through_a == 120
    assert study.conductors["W3"].guard == ("F1", "F2")
    # a fault in W1 is fed over F1 from one end and over F2 and the bus from the other, but each end by itself
    assert study.conductors["W1"].let_through_a == 60


def test_in_a_ring_each_conductor_sees_what_comes_around() -> None:
    text = (
        ISO
        + """from A
fuse F1, 100 A
bus P
from P
cable W1, 10 mm2, 1 m
joint J
from P
fuse F2, 30 A
cable W2, 10 mm2, 1 m
to J
from J
cable W3, 10 mm2, 1 m
load L, draws 5 A
"""
    )
    study = studied(text)
    assert study.conductors["W1"].let_through_a == 100
    assert study.conductors["W2"].let_through_a == 100  # around by W1 and J
    assert study.conductors["W3"].let_through_a == 100


SELECTOR = (
    ISO
    + """battery B, AGM, 12 V, 100 Ah
selector S, positions {positions}, 300 A
from A
fuse F1, 100 A
to S 1
from B
fuse F2, 80 A
to S 2
from S
cable W1, 10 mm2, 1 m
load L, draws 5 A
"""
)


def test_positions_that_exclude_each_other_do_not_add_up() -> None:
    made = conductor(SELECTOR.format(positions="off 1 2"), "W1")
    assert made.let_through_a == 100
    assert made.guard == ("F1",)


def test_with_both_they_do() -> None:
    made = conductor(SELECTOR.format(positions="off 1 2 both"), "W1")
    assert made.let_through_a == 180
    assert made.guard == ("F1", "F2")


def test_a_diode_lets_nothing_back() -> None:
    text = (
        ISO
        + """battery B, AGM, 12 V, 100 Ah
from A
fuse F1, 50 A
diode V1, 100 A
cable W1, 10 mm2, 1 m
joint J
from B
fuse F2, 80 A
to J
from J
cable W2, 25 mm2, 1 m
load L, draws 5 A
"""
    )
    study = studied(text)
    assert study.conductors["W2"].let_through_a == 130
    # behind the diode: 50 A forwards, or 80 A from the joint, each by itself
    assert study.conductors["W1"].let_through_a == 80
    back = studied(text.replace("diode V1, 100 A\ncable W1, 10 mm2, 1 m", "cable W1, 10 mm2, 1 m\ndiode V1, 100 A"))
    assert back.conductors["W1"].let_through_a == 50


# ---- distance ---------------------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("head", "length", "more", "verdict"),
    [
        # 33 CFR 183.455: 7 in; 40 in in a sheath. 183.460: 72 in from a battery (from memory)
        (CFR, "72 in", "", Verdict.WITHIN_DISTANCE),
        (CFR, "72.1 in", "", Verdict.TOO_FAR),
        # ISO: 200 mm; any length in a protective covering
        (ISO, "200 mm", "", Verdict.WITHIN_DISTANCE),
        (ISO, "201 mm", "", Verdict.TOO_FAR),
        (ISO, "20 m", ", in conduit", Verdict.WITHIN_DISTANCE),
    ],
)
def test_distance_from_a_battery(head: str, length: str, more: str, verdict: Verdict) -> None:
    text = (
        head + f"from A\ncable W1, 50 mm2, {length}{more}\nfuse F1, 100 A\ncable W2, 50 mm2, 2 m\nload L, draws 5 A\n"
    )
    assert conductor(text, "W1").verdict is verdict


@pytest.mark.parametrize(
    ("length", "more", "verdict"),
    [
        ("7 in", "", Verdict.WITHIN_DISTANCE),
        ("7.1 in", "", Verdict.TOO_FAR),
        ("40 in", ", in sheath", Verdict.WITHIN_DISTANCE),
        ("40.1 in", ", in sheath", Verdict.TOO_FAR),
    ],
)
def test_distance_from_a_bus_where_the_smaller_conductor_begins(length: str, more: str, verdict: Verdict) -> None:
    text = (
        CFR
        + f"""from A
fuse F1, 200 A
cable W1, 2/0 AWG, 3 ft
bus P
from P
cable W2, 12 AWG, {length}{more}
fuse F2, 20 A
cable W3, 12 AWG, 9 ft
load L, draws 5 A
"""
    )
    study = studied(text)
    assert study.conductors["W1"].verdict is Verdict.PROTECTED
    made = study.conductors["W2"]
    assert made.verdict is verdict
    assert made.stretch is not None
    assert study.design.circuit.nodes[made.stretch.supply_node].name == "P"


def test_branches_of_a_stretch_are_measured_each() -> None:
    text = (
        ISO
        + """from A
cable W1, 50 mm2, 0.1 m
joint J
from J
cable W2, 50 mm2, 0.05 m
fuse F2, 50 A
cable W4, 50 mm2, 2 m
load L1, draws 5 A
from J
cable W3, 50 mm2, 0.15 m
fuse F3, 50 A
cable W5, 50 mm2, 2 m
load L2, draws 5 A
"""
    )
    study = studied(text)
    assert study.conductors["W1"].distance_m == pytest.approx(0.25)
    assert study.conductors["W1"].verdict is Verdict.TOO_FAR
    assert study.conductors["W2"].verdict is Verdict.WITHIN_DISTANCE
    assert study.conductors["W3"].verdict is Verdict.TOO_FAR


@pytest.mark.parametrize(
    ("end", "why"),
    [
        ("load L, draws 5 A", "no device"),
        ("bus P", "where nothing is"),
        ("fuse F1, 300 A\ncable W2, 95 mm2, 1 m\nload L, draws 5 A", "together are too large"),
        ("fuse F1, 30 A", "no device that guards"),  # behind it there is nothing
    ],
)
def test_a_stretch_that_ends_otherwise_is_no_stretch(end: str, why: str) -> None:
    made = conductor(ISO + f"from A\ncable W1, 16 mm2, 0.05 m\n{end}\n", "W1")
    assert made.verdict is Verdict.UNPROTECTED
    assert made.stretch is not None and why in made.stretch.problem


def test_devices_at_the_end_count_together() -> None:
    # 16 mm² at 105 °C is allowed 130 A; two of 70 A are 140 A
    text = (
        ISO
        + """from A
cable W1, 16 mm2, 0.05 m
bus P
from P
fuse F1, 70 A
cable W2, 16 mm2, 1 m
load L1, draws 5 A
from P
fuse F2, {rating} A
cable W3, 16 mm2, 1 m
load L2, draws 5 A
"""
    )
    assert conductor(text.format(rating=70), "W1").verdict is Verdict.UNPROTECTED
    assert conductor(text.format(rating=60), "W1").verdict is Verdict.WITHIN_DISTANCE


def test_cranking_is_exempt_and_an_unknown_length_leaves_it_open() -> None:
    text = ISO + "from A\ncable W1, 50 mm2, 2 m, cranking\nload STARTER, draws 200 A, cranking\n"
    assert conductor(text, "W1").verdict is Verdict.CRANKING
    text = ISO + "from A\ncable W1, 50 mm2\nfuse F1, 100 A\ncable W2, 50 mm2, 2 m\nload L, draws 5 A\n"
    assert conductor(text, "W1").verdict is Verdict.UNKNOWN


# ---- capacity ---------------------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("head", "facts", "place", "ampacity_a", "allowed_a"),
    [
        # Table 5, 10 AWG, 105 °C: 60 A; the device may be 150 % of it
        (CFR, "10 AWG", "", 60, 90),
        # engine space, note 1: the published product 51 A
        (CFR, "10 AWG", "engine space", 51, 76.5),
        (CFR, "1 AWG", "engine space", 208.25, 312.375),
        # 2.5 mm² lies between 14 AWG (2.08 mm²) and 12 AWG (3.31 mm²): the smaller row, 35 A
        (CFR, "2.5 mm2", "", 35, 52.5),
        # 75 °C column
        (CFR, "10 AWG, insulation 75 °C", "", 40, 60),
        # 85 °C insulation takes the 80 °C column
        (CFR, "10 AWG, insulation 85 °C", "", 50, 75),
        # ISO annex, from memory: 10 mm² at 105 °C 90 A; engine space × 0.86
        (ISO, "10 mm2", "", 90, 90),
        (ISO, "10 mm2", "engine space", 77.4, 77.4),
        (ISO, "10 mm2, insulation 70 °C", "", 65, 65),
        # equal conductor temperature: sqrt((105 - 60) / (105 - 30)) × 90 A
        (ISO, "10 mm2", "ambient 60 °C", 90 * math.sqrt(45 / 75), 90 * math.sqrt(45 / 75)),
        (ISO, "10 mm2", "ambient 20 °C", 90, 90),
        (ISO, "10 mm2", "ambient 110 °C", 0, 0),
        # the table knows no 60 °C insulation in an engine space
        (ISO, "10 mm2, insulation 60 °C", "engine space", 0, 0),
    ],
)
def test_capacity(head: str, facts: str, place: str, ampacity_a: float, allowed_a: float) -> None:
    where = ", in HERE" if place else ""
    text = head + (f"place HERE, {place}\n" if place else "")
    made = conductor(text + f"from A\nfuse F1, 10 A\ncable W1, {facts}, 1 m{where}\nload L, draws 1 A\n", "W1")
    assert made.ampacity_a == pytest.approx(ampacity_a)
    assert made.allowed_a == pytest.approx(allowed_a)


def test_the_hottest_place_on_the_way_governs() -> None:
    text = ISO + "place E, engine space\nplace C, ambient 30 °C\n"
    text += "from A\nfuse F1, 10 A\ncable W1, 10 mm2, 9 m, in C, 0.5 m in E\nload L, draws 1 A\n"
    assert conductor(text, "W1").ampacity_a == pytest.approx(77.4)


def test_of_several_rulebooks_the_strictest_governs() -> None:
    both = ISO.replace("rulebook iso-13297", "rulebook iso-13297, rulebook cfr-183, rulebook abyc-e11")
    made = conductor(both + "from A\nfuse F1, 10 A\ncable W1, 10 AWG, 1 m\nload L, draws 1 A\n", "W1")
    # ISO: 4 mm² row 45 A (10 AWG is 5.26 mm²); CFR 60 A × 1.5; ABYC 60 A, a standard rating
    assert made.governing is not None and made.governing.rulebook.name == "iso-13297"
    assert made.allowed_a == 45
    assert {c.rulebook.name: c.allowed_a for c in made.capacities} == {
        "iso-13297": 45, "cfr-183": 90, "abyc-e11": 60,
    }  # fmt: skip


def test_smaller_than_any_row_is_at_most_the_smallest_row() -> None:
    made = conductor(ISO + "from A\nfuse F1, 5 A\ncable W1, 0.5 mm2, 1 m\nload L, draws 1 A\n", "W1")
    assert made.capacities[0].bound
    assert made.allowed_a == 16  # 0.75 mm² at 105 °C


# ---- load current -----------------------------------------------------------------------------------------------


def test_a_shared_conductor_carries_what_the_worst_scene_asks() -> None:
    text = (
        ISO
        + """from A
fuse F1, 100 A
cable W1, 25 mm2, 1 m
bus P
from P
cable W2, 10 mm2, 1 m
load HEAT, draws 30 A
from P
cable W3, 10 mm2, 1 m
load COOL, draws 240 W
"""
    )
    everything = studied(text)
    assert everything.conductors["W1"].load is not None
    assert everything.conductors["W1"].load.amps == pytest.approx(50)
    scenes = studied(text + 'scene "Winter", HEAT\nscene "Summer", COOL\n')
    load = scenes.conductors["W1"].load
    assert load is not None and (load.amps, load.case) == (30, "Winter")


def test_a_charging_source_loads_its_way_to_the_battery() -> None:
    text = ISO + "charger C, 14.4 V, 60 A, self-limiting\nfrom C\ncable W1, 16 mm2, 1 m\nfuse F1, 80 A\nto A\n"
    load = conductor(text, "W1").load
    assert load is not None and (load.amps, load.continuous_a) == (60, 60)


def test_a_converter_draws_what_its_output_and_efficiency_say() -> None:
    text = (
        ISO.replace("system DC12, 12 V", "system DC12, 12 V\nsystem DC24, 24 V")
        + """from A
fuse F1, 100 A
cable W1, 25 mm2, 1 m
converter T, 12 V to 24 V, 20 A, self-limiting, efficiency 80 %
from T
cable W2, 6 mm2, 1 m
load L, draws 15 A
"""
    )
    study = studied(text)
    assert study.conductors["W1"].load is not None
    assert study.conductors["W1"].load.amps == pytest.approx(20 * 24 / 12 / 0.8)
    assert study.conductors["W2"].load is not None and study.conductors["W2"].load.amps == 15
    assert study.conductors["W2"].let_through_a == 20
    assert study.conductors["W2"].guard == ("T",)


# ---- what can flow through --------------------------------------------------------------------------------------


def test_a_switch_is_limited_by_what_stands_behind_it_too() -> None:
    text = (
        ISO
        + """from A
cable W1, 50 mm2, 0.1 m
switch S, 100 A
cable W2, 50 mm2, 0.1 m
bus P
from P
fuse F1, 40 A
cable W3, 16 mm2, 1 m
load L1, draws 5 A
from P
fuse F2, 30 A
cable W4, 16 mm2, 1 m
load L2, draws 5 A
"""
    )
    study = studied(text)
    edge = study.design.circuit.edge_of["S"].index
    assert study.through_edge[edge] == 70
    assert study.through_node[study.design.circuit.by_name["P"].index] == 70


def test_a_bus_with_two_feeds_takes_the_best_split() -> None:
    # F2 brings the 120 A of the alternator; F1 (100 A) and F3 (60 A) can take them
    text = TWO_SOURCES.replace("fuse F1, 300 A", "fuse F1, 100 A").replace(
        "from P\ncable W3", "from P\nfuse F3, 60 A\ncable W3"
    )
    study = studied(text)
    assert study.through_node[study.design.circuit.by_name["P"].index] == 120
