"""Cases in which an earlier version let something pass, or cried wolf; each with what it must say now."""

from __future__ import annotations

import pytest

from linter.model.build import build
from linter.rules.engine import Examination, examine
from linter.source.files import Reader

HEAD = """boat "X", 9 m, rulebook {books}
system DC12, 12 V
cables, insulation 105 °C
battery HOUSE, AGM, 12 V, 100 Ah
"""


def examined(text: str, books: str = "iso-13297") -> Examination:
    return examine(build(Reader().design_text(HEAD.format(books=books) + text)))


def keys(text: str, books: str = "iso-13297") -> set[tuple[str, str]]:
    result = examined(text, books)
    assert result.mistakes == []
    return {(f.rule, f.subject) for f in result.findings}


FLOAT = """from HOUSE
fuse F1, blade, 10 A
cable W1, 1 mm2, 3 m
switch FLOAT, 20 A, normally open
cable W2, 1 mm2, 3 m
load BILGE, draws 30 A
"""


@pytest.mark.parametrize("scene", ["", 'scene "sinking", BILGE\n', 'scene "sinking", BILGE, FLOAT closed\n'])
def test_a_float_switch_does_not_hide_its_pump(scene: str) -> None:
    assert {("device-overloaded", "F1"), ("conductor-overloaded", "W1"), ("conductor-overloaded", "W2")} <= keys(
        FLOAT + scene
    )


def test_a_scene_that_opens_the_way_to_its_load_is_found_and_hides_nothing() -> None:
    found = keys(FLOAT + 'scene "sinking", BILGE, FLOAT open\n')
    assert ("scene-not-fed", "BILGE") in found
    assert ("device-overloaded", "F1") in found


TINY = "from HOUSE\nfuse F1, blade, 20 A, 32 V\ncable W2, 22 AWG, 2 m\nload L, draws 1 A\n"


def test_a_conductor_smaller_than_the_table_is_never_called_protected() -> None:
    # the smallest row of ABYC's table is 18 AWG, 20 A at 105 °C
    result = examined(TINY.replace("20 A", "15 A"), "abyc-e11")
    assert result.study.conductors["W2"].verdict.value == "unknown"
    assert ("figure-missing", "W2") in {(f.rule, f.subject) for f in result.findings}
    assert ("conductor-unprotected", "W2") in keys(TINY.replace("blade, 20 A", "class T, 60 A"), "abyc-e11")


TWO_BANKS = """battery B2, AGM, 12 V, 100 Ah
from HOUSE
fuse F1, class T, 30 A, 32 V
cable W1, 4 mm2, 0.1 m
fuse F3, class T, 30 A, 32 V
to B2
from B2
fuse F4, class T, 100 A, 32 V
cable W4, 25 mm2, 1 m
load L, draws 80 A
"""


def test_a_bank_that_is_off_in_a_scene_feeds_nothing_there() -> None:
    assert ("device-overloaded", "F1") not in keys(TWO_BANKS + 'scene "both", L\n')
    assert ("device-overloaded", "F1") in keys(TWO_BANKS + 'scene "b2 isolated", L, B2 off\n')


ALTERNATOR = """alternator ALT, 14.2 V, 50 A, self-limiting
from ALT
cable W1, 16 mm2, 1 m
fuse F1, class T, 60 A, 32 V
to HOUSE
from HOUSE
fuse F2, class T, 15 A, 32 V
cable W2, 2.5 mm2, 1 m
load L, draws 5 A
"""


def test_an_alternator_that_is_off_does_not_charge() -> None:
    running = examined(ALTERNATOR).study.conductors["W1"].load
    stopped = examined(ALTERNATOR + 'scene "quiet", L, ALT off\n').study.conductors["W1"].load
    assert running is not None and running.amps == 50
    assert stopped is None


@pytest.mark.parametrize(
    "line",
    ["charger C, 14.4 V, 60 A, self-limiting 5 A", "battery B2, AGM, 12 V, self-limiting 0 A", "fuse F9, 0 A"],
)
def test_a_source_cannot_limit_itself_below_its_rating_nor_a_rating_be_nothing(line: str) -> None:
    assert [m for m in examined(line + "\n").mistakes if m.loses]


def test_every_source_counts_for_the_greatest_voltage() -> None:
    text = HEAD.format(books="iso-13297").replace("12 V\ncables", "12 V, greatest 12.6 V\ncables")
    text += ALTERNATOR.replace("32 V", "13 V")
    found = {(f.rule, f.subject) for f in examine(build(Reader().design_text(text))).findings}
    assert {("device-voltage", "F1"), ("device-voltage", "F2")} <= found  # the alternator gives 14.2 V


def test_a_converter_is_asked_for_no_more_than_it_gives() -> None:
    text = """from HOUSE
fuse F1, class T, 15 A, 32 V
cable W1, 4 mm2, 1 m
converter C, 12 V to 12 V, 10 A, efficiency 90 %
from C
fuse F2, class T, 15 A, 32 V
cable W2, 4 mm2, 1 m
load L, draws {draws} A
"""
    assert ("source-overloaded", "C") in keys(text.format(draws=12))
    assert ("source-overloaded", "C") not in keys(text.format(draws=9))


def test_what_is_always_on_is_on_in_every_scene() -> None:
    text = """from HOUSE
fuse F1, blade, 10 A
cable W1, 2.5 mm2, 1 m
joint J
from J
cable W2, 2.5 mm2, 1 m
load L, draws 9 A, always on
from J
cable W3, 2.5 mm2, 1 m
load M, draws 9 A
scene "a", M
"""
    assert ("device-overloaded", "F1") in keys(text)


RING = """from HOUSE
fuse F0, class T, 200 A, 32 V
cable W0, 50 mm2, 1 m
bus POS, 300 A
from POS
cable W5, 50 mm2, 3 m
load WINDLASS, draws 80 A
from POS
fuse F2, blade, 5 A
cable V1, 1.5 mm2, 2 m
joint A
from A
load LAMP1, draws 1 A
from A
cable V2, 1.5 mm2, 2 m
joint B
from B
load LAMP2, draws 1 A
from B
cable V3, 1.5 mm2, 2 m
fuse F3, blade, 5 A
to POS
"""


def test_a_ring_does_not_carry_what_hangs_where_it_is_fed() -> None:
    study = examined(RING).study
    for name in ("V1", "V2", "V3"):
        load = study.conductors[name].load
        assert load is not None and load.amps == pytest.approx(2)


def test_the_sheath_is_offered_only_where_every_rulebook_lets_it_count() -> None:
    text = (
        "from HOUSE\ncable W1, 35 mm2, {} m\nfuse F1, class T, 150 A, 32 V\ncable W2, 35 mm2, 1 m\nload L, draws 5 A\n"
    )

    def mend(metres: float) -> str:
        found = examined(text.format(metres), "iso-13297, rulebook cfr-183").findings
        return next(f.mend for f in found if f.rule == "protection-distance")

    assert "sheath" not in mend(3)  # 33 CFR 183.460 ends at 72 in, however it is covered (from memory)
    assert "sheath" in mend(1.5)


def test_the_least_size_satisfies_every_rulebook() -> None:
    text = "from HOUSE\nfuse F1, blade, 3 A\ncable W1, 0.75 mm2, 3 m{}\nload L, draws 1 A\n"
    found = examined(text.format(""), "iso-13297, rulebook cfr-183").findings
    mend = next(f.mend for f in found if f.rule == "conductor-too-small")
    assert mend == "at least 16 AWG"
    assert ("conductor-too-small", "W1") in keys(text.format(", in sheath"), "iso-13297, rulebook cfr-183")
    assert ("conductor-too-small", "W1") not in keys(
        text.replace("0.75 mm2", "1.5 mm2").format(""), "iso-13297, rulebook cfr-183"
    )


def test_a_mend_does_not_contradict_the_maker() -> None:
    text = "from HOUSE\nfuse F1, class T, 60 A, 32 V\ncable W1, 4 mm2, 1 m\nload L, draws 30 A, asks fuse 60 A\n"
    (finding,) = [f for f in examined(text).findings if f.rule == "conductor-unprotected"]
    assert finding.mend == "a fuse of 60 A, as the maker of L asks, and a conductor of at least 6 mm² for it"


def test_fed_from_both_ends_it_needs_a_device_at_both() -> None:
    text = "battery B2, AGM, 12 V, 100 Ah\nfrom HOUSE\ncable W1, 16 mm2, 2 m\nto B2\n"
    (finding,) = [f for f in examined(text).findings if f.rule == "conductor-unprotected"]
    assert "at each of its ends, at HOUSE and at B2" in finding.mend
    assert " it it " not in finding.message and "it is fed more than that" in finding.message


def test_a_smaller_rating_is_offered_with_what_the_maker_asks_for() -> None:
    text = "from HOUSE\nfuse F1, class T, 60 A, 32 V\ncable W1, 4 mm2, 1 m\nload L, draws 9 A, asks fuse 15 A\n"
    (finding,) = [f for f in examined(text).findings if f.rule == "conductor-unprotected"]
    assert finding.mend.startswith("at most 45 A for F1 (the maker of L asks for a fuse of 15 A)")
