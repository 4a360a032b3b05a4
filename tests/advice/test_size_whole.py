"""`size` where much hangs together: feeder, main fuse and branches open at once; a whole boat."""

from __future__ import annotations

import random
from pathlib import Path

import pytest

from linter.advice import options
from linter.advice.choose import choose
from linter.advice.chooser import Chooser
from linter.advice.clauses import Demand, Ruled, lessons
from linter.advice.contradict import given_up
from linter.advice.likely import likely
from linter.advice.options import NothingToChoose, copper_kg, left_open, open_element
from linter.advice.overlay import overlaid
from linter.model.build import build
from linter.model.elements import Conductor, Device
from linter.rules.engine import examine
from linter.rules.finding import Finding, Severity
from linter.source.files import DesignSource, Reader
from linter.source.span import Span, Text
from tests.advice.small_boats import boat
from tests.advice.test_size import design, few_sizes

ROOT = Path(__file__).parents[2]
# 7 m of cable to the windlass, 5 m to the lights; every size and rating is open.
CHAIN = """boat "Sprat", 7 m, rulebook iso-13297
system DC12, 12 V, negative earthed, least 10.5 V, greatest 14.8 V
cables, insulation 105 °C, tinned
battery HOUSE, AGM, 12 V, 100 Ah, resistance 4 mΩ
from HOUSE
cable W1, size ?, 0.15 m
fuse F1, part main, ? A
cable W2, size ?, 1.2 m
bus POS, 250 A
from POS
breaker Q3, part windlass-breaker, ? A
cable W9, size ?, 7 m
load WINDLASS, draws 75 A, starts 240 A for 0.6 s, asks thermal breaker 100 A
from POS
fuse F4, part lamp-fuse, ? A
cable W4, size ?, 5 m
load LIGHTS, draws 4 A, vital
part main, fuse
  class T, 125 V, breaks 20 kA at 125 V, lets through 60 kA2s at 20 kA, resistance 0.2 mΩ to 0.4 mΩ
  opens at 135 % in 200 s to 3600 s, opens at 500 % in 40 ms to 0.2 s, opens at 1000 % in 5 ms to 12 ms
part windlass-breaker, breaker
  comes in 25 A 40 A 50 A 60 A 80 A 100 A 120 A
  thermal, 32 V, breaks 5 kA at 16 V, lets through 3500 kA2s at 5 kA, resistance 0.6 mΩ to 1.2 mΩ
  opens at 135 % in 60 s to 1800 s, opens at 300 % in 4 s to 20 s, opens at 1000 % in 0.25 s to 1.5 s
part lamp-fuse, fuse
  blade, 32 V, breaks 5 kA at 32 V, lets through 1 kA2s at 5 kA, resistance 5 mΩ to 10 mΩ
  opens at 135 % in 0.75 s to 600 s, opens at 200 % in 0.15 s to 5 s, opens at 350 % in 80 ms to 0.5 s
  opens at 600 % in 20 ms to 0.1 s
scene "All", WINDLASS, LIGHTS, for 5 min
"""


def with_choice(source: DesignSource, **chosen: options.Option) -> DesignSource:
    return overlaid(source, {("element", n): {f.key: (f,) for f in o.facts} for n, o in chosen.items()})


def test_a_feeder_its_fuse_and_its_branches_at_once(tmp_path: Path) -> None:
    """Each choice is the last that holds: everything one size down breaks something, by a fresh examination."""
    source = design(tmp_path, CHAIN)
    assert build(source).whole
    made = choose(source, left_open(build(source)))
    chosen = {c.name: c.option for c in made.chosen}
    assert chosen.keys() == {"W1", "F1", "W2", "Q3", "W9", "F4", "W4"}
    assert chosen["Q3"].figure == 100
    given_up = {(c.given_up.rule, c.given_up.subject) for c in made.contradictions if c.given_up is not None}
    assert all(c.given_up is not None and c.given_up.severity is Severity.ADVICE for c in made.contradictions)
    left = {(f.rule, f.subject) for f in examine(build(with_choice(source, **chosen))).findings}
    assert left <= given_up | {(f.rule, f.subject) for f in (*made.unmet, *made.standing)}
    for name, option in chosen.items():
        if not name.startswith("W"):
            continue
        others = open_element(build(source), name).options
        smaller = max((o for o in others if o.figure < option.figure), key=lambda o: o.figure)
        assert {
            (f.rule, f.subject) for f in examine(build(with_choice(source, **{**chosen, name: smaller}))).findings
        } - left


def test_a_whole_boat(tmp_path: Path) -> None:
    """The launch with everything open: no finding, and no more copper than as she is."""
    source = Reader().design(str(ROOT / "boats" / "launch.boat"))
    built = build(source)
    names = []
    for name, element in built.elements.items():
        if isinstance(element, Conductor | Device):
            try:
                open_element(built, name)
            except NothingToChoose:
                continue
            names.append(name)
    assert len(names) > 40
    made = choose(source, names)
    assert {c.name for c in made.chosen} == set(names)
    fresh = examine(build(with_choice(source, **{c.name: c.option for c in made.chosen})))
    assert not [f for f in fresh.findings if not f.accepted]
    cables = [e for n in names if isinstance(e := built.elements[n], Conductor) and e.area_mm2]
    assert made.copper_kg <= sum(copper_kg(c, c.area_mm2 or 0.0) for c in cables)


@pytest.mark.parametrize("number", range(0, 24, 2))
def test_what_is_likely_bars_at_least_what_was_found(
    number: int, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Else the search would try the same choice for ever."""
    monkeypatch.setattr(options, "sizes_like", few_sizes)
    source = design(tmp_path, boat(random.Random(number), 30))
    names = left_open(build(source))
    if not names:
        pytest.skip("nothing is left open in this one")
    chooser = Chooser(source, names)
    draw = random.Random(number)
    looked_at = 0
    for _ in range(4):
        choice = [draw.randrange(len(o.options)) for o in chooser.opens]
        seen = chooser.examined(choice)
        for finding in seen.findings:
            for lesson in lessons(finding, choice, chooser.opens, chooser.relation):
                ruled = likely(lesson, choice, chooser.opens, seen.study)
                assert lesson.near.bars(choice)
                assert lesson.sound.bars(choice)
                assert any(r.bars(choice) for r in ruled)
                looked_at += 1
    assert looked_at


def test_a_device_of_no_known_series_is_what_the_maker_asks_for(tmp_path: Path) -> None:
    text = CHAIN.split("from POS")[0].replace("size ?", "50 mm2").replace("? A", "150 A")
    text += "from POS\nbreaker Q3, hydraulic-magnetic, ? A, 32 V, breaks 5 kA at 32 V\ncable W9, 35 mm2, 3 m\n"
    text += "load WINDLASS, draws 75 A, asks breaker 100 A\n" + CHAIN[CHAIN.index("part main") :].split("scene")[0]
    made = choose(design(tmp_path, text), ["Q3"])
    (one,) = made.chosen
    assert one.option.figure == 100


def test_what_is_chosen_on_an_acceptance_says_so() -> None:
    source = Reader().design(str(ROOT / "boats" / "cutter.boat"))
    made = choose(source, ["F17"])
    assert ("not-coordinated", "F17") in {(f.rule, f.subject) for f in made.leaning}
    assert all(f.accepted for f in made.leaning)


# Figures are missing as they are in practice: no curves, no voltages, no breaking capacity; all is open.
WITHOUT_FIGURES = """boat "Sprat", 9 m, rulebook iso-13297
system DC12, 12 V, negative earthed, least 11.5 V, greatest 14.6 V
place SALOON, ambient 30 °C
cables, insulation 90 °C, tinned
battery HOUSE, AGM, 12 V, 220 Ah, resistance 2.2 mΩ to 3.5 mΩ, in SALOON
from HOUSE
cable W1, size ?, 0.18 m, in SALOON
fuse F1, class T, ? A
cable W2, size ?, 0.8 m, in SALOON
bus POS, 300 A, in SALOON
from POS
breaker Q1, thermal, ? A, in SALOON
cable W3, size ?, 8.5 m, in SALOON
load WINDLASS, motor, draws 80 A, starts 200 A for 0.5 s, works from 10.2 V, in SALOON
scene "Anchoring", WINDLASS
"""


def test_missing_figures_are_told_soon_and_drive_nothing_up(tmp_path: Path) -> None:
    source = design(tmp_path, WITHOUT_FIGURES)
    made = choose(source, left_open(build(source)))
    # a search point by point through all of its options would take thousands
    assert made.tried < 600
    figures = {c.name: c.option.figure for c in made.chosen}
    # how long 200 A may flow through it nobody says; the least that carries 80 A is chosen all the same
    assert (figures["F1"], figures["Q1"]) == (80, 80)
    assert {("start-opens-device", "F1"), ("start-opens-device", "Q1")} <= {(f.rule, f.subject) for f in made.asked}
    assert made.unmet
    assert all(f.severity is Severity.DOUBT for f in made.unmet)
    assert not made.contradictions
    # and nothing else is found than what is told
    fresh = examine(build(with_choice(source, **{c.name: c.option for c in made.chosen})))
    told = {(f.rule, f.subject) for f in (*made.unmet, *made.asked, *made.standing)}
    assert {(f.rule, f.subject) for f in fresh.findings} <= told


def test_a_main_is_rated_no_less_than_what_stands_behind_it(tmp_path: Path) -> None:
    """No rule asks for it of a fuse that serves the other alone: 5 A would carry the lamp."""
    text = """boat "Sprat", 7 m, rulebook abyc-e11
system DC12, 12 V, negative earthed
cables, insulation 105 °C, tinned
battery B, AGM, 12 V, 100 Ah, resistance 20 mΩ
from B
fuse F1, part one, ? A
cable W1, 10 mm2, 1 m
bus POS, 100 A
from POS
fuse F2, part one, ? A
cable W2, 4 mm2, 1 m
load LAMP, draws 4 A, asks fuse 20 A
part one, fuse
  comes in 5 A 10 A 15 A 20 A 25 A
  blade, fast, 32 V, breaks 2 kA at 32 V, resistance 2 mΩ to 5 mΩ, lets through 1 kA2s at 2 kA
  opens at 135 % in 0.75 s to 600 s, opens at 200 % in 0.15 s to 5 s, opens at 600 % in 15 ms to 60 ms
"""
    source = design(tmp_path, text)
    made = choose(source, ["F1", "F2"])
    chosen = {c.name: c for c in made.chosen}
    assert chosen["F2"].option.figure == 20
    assert chosen["F1"].option.figure == 20
    assert chosen["F1"].raised


def test_what_contradicts_is_quoted_as_it_is_where_the_rest_is_met(tmp_path: Path) -> None:
    """18 A ask for 20 A, the maker for 10 A: each demand with the figures of the very choice told without it."""
    text = """boat "Sprat", 7 m, rulebook abyc-e11
system DC12, 12 V, negative earthed
cables, insulation 105 °C, tinned
battery B, AGM, 12 V, 100 Ah, resistance 20 mΩ
from B
fuse F1, part one, ? A
cable W1, size ?, 1 m
load LAMP, draws 18 A, asks fuse 10 A
part one, fuse
  comes in 5 A 10 A 15 A 20 A 25 A
  blade, fast, 32 V, breaks 2 kA at 32 V, resistance 2 mΩ to 5 mΩ, lets through 1 kA2s at 2 kA
  opens at 135 % in 0.75 s to 600 s, opens at 200 % in 0.15 s to 5 s, opens at 600 % in 15 ms to 60 ms
"""
    source = design(tmp_path, text)
    made = choose(source, ["F1", "W1"])
    (one,) = made.contradictions
    assert {f.rule for f in one.demands} == {"device-not-as-asked", "device-overloaded"}
    looked_at = 0
    for relaxed, demand in zip(one.relaxed, one.demands, strict=True):
        assert relaxed.choice is not None
        chosen = {c.name: c.option for c in made.chosen} | dict(relaxed.choice)
        seen = examine(build(with_choice(source, **chosen))).findings
        assert demand.message in {f.message for f in seen if f.rule == demand.rule}
        looked_at += 1
    assert looked_at == 2


def test_of_a_doubt_among_what_leaves_no_choice_only_the_doubt_is_given_up(tmp_path: Path) -> None:
    """Advice is milder; but nobody knows whether the doubt contradicts anything, so nothing else is blamed for it."""
    chooser = Chooser(design(tmp_path, WITHOUT_FIGURES), ["W1", "F1", "Q1"])
    whole = [frozenset(range(len(one.options))) for one in chooser.opens]

    def ruled(rule: str, subject: str, severity: Severity, variable: int) -> Ruled:
        finding = Finding(rule, severity, subject, "as found", Span(Text("a.boat", subject), 0, 2))
        return Ruled(Demand(rule, subject, severity is not Severity.DANGER), ((variable, whole[variable]),), finding)

    group = given_up(
        chooser,
        [
            ruled("conductor-overloaded", "W1", Severity.DANGER, 0),
            ruled("breaking-capacity", "Q1", Severity.DOUBT, 2),
            ruled("device-overloaded", "F1", Severity.ADVICE, 1),
        ],
        proved=True,
    )
    assert group.demands == [Demand("breaking-capacity", "Q1", True)]
    assert group.only_told
