"""The judge's own tests of the cases of load current, of sources that fall short, and of what follows from both."""

from __future__ import annotations

from .circuit import Network
from .currents import Currents
from .reading import circuit_of
from .test_judge import ISO, SELECTOR, conductor, judged, plain, rules_of


def carried(text: str, *elements: str, head: str = ISO) -> list[tuple[float, float]]:
    """(least, most) of each of these."""
    net = Network(circuit_of(head + text))
    spans = Currents(net).spans
    return [(spans[net.number[n]].least, spans[net.number[n]].most) for n in elements]


def test_thinner_than_the_table_is_never_protected() -> None:
    # 0.5 mm² is no row of the annex; the 12 A of 0.75 mm² bound it from above, so that they can condemn it only
    assert conductor(plain(f1="5 A", w2="0.5 mm2, 3 m, insulation 85 °C"), "W2").verdict == "unknown"
    assert conductor(plain(f1="15 A", w2="0.5 mm2, 3 m, insulation 85 °C"), "W2").verdict == "unprotected"


TWO_BANKS = """
battery B1, 12 V
battery B2, 12 V
charger C1, 12 V, 30 A
joint J
from B1
fuse F1, 100 A
relay K, {}
fuse F2, 100 A
to J
from C1
fuse F3, 100 A
to J
from J
fuse F4, 100 A
to B2
from J
fuse F5, 100 A
load L, draws 50 A
"""


def test_a_relay_between_banks_passes_the_charge_where_a_scene_closes_it() -> None:
    for relay in ("combining", "normally open"):
        # between sources it stays open unless a scene closes it
        assert carried(TWO_BANKS.format(relay), "F1", "K") == [(0, 0), (0, 0)]
        # closed, it charges B1 with the 30 A of C1, and L draws nothing over it: B2 feeds L on its own side
        assert carried(TWO_BANKS.format(relay) + 'scene "A", L, K closed\n', "F1", "K") == [(30, 30), (30, 30)]


def test_a_switch_that_merely_leads_to_a_load_is_closed() -> None:
    text = "battery B, 12 V\nfrom B\nfuse F1, 50 A\nswitch S, normally open\nload L, draws 40 A\n"
    assert carried(text, "F1", "S") == [(40, 40), (40, 40)]
    # even where the one scene opens it: L by itself is on at some time
    assert carried(text + 'scene "A", L, S open\n', "F1", "S") == [(40, 40), (40, 40)]


def test_a_source_that_is_off_gives_nothing_and_takes_nothing() -> None:
    # B1 off: the charge of C1 is B2's alone, and K carries nothing although the scene closes it
    text = TWO_BANKS.format("normally open") + 'scene "A", L, K closed, B1 off\n'
    assert carried(text, "F1") == [(0, 0)]
    # B2 off: L draws on B1 and C1 together, F1 may have to carry all of it; that C1 charges B2 with nothing on is no
    # case of this scene, and whether it is one of its own the words do not say
    assert carried(TWO_BANKS.format("normally open") + 'scene "A", L, K closed, B2 off\n', "F1", "F4") == [
        (50, 50),
        (0, 30),
    ]


def test_what_is_always_on_is_on_in_every_scene() -> None:
    text = """
battery B, 12 V
from B
fuse F1, 50 A
bus P
from P
fuse F2, 30 A
load L, draws 20 A
from P
fuse F3, 30 A
load M, draws 9 A{}
scene "A", L
"""
    assert carried(text.format(", always on"), "F1") == [(29, 29)]
    # M stands in no scene: at its own time
    assert carried(text.format(""), "F1", "F3") == [(20, 20), (9, 9)]
    assert carried(text.format(", always on").replace('scene "A", L', 'scene "A", L, M off'), "F1") == [(20, 20)]


def test_a_source_that_is_no_battery_gives_its_rated_current_and_may_fall_short() -> None:
    text = "charger C, 12 V, 30 A, self-limiting 35 A\nfrom C\nfuse F1, 50 A\nload L, draws {} A\n"
    # 30 A by intention; what L by itself draws is bounded by the limit, 35 A, or by that: open
    assert carried(text.format(45), "F1") == [(30, 35)]
    assert ("source-overloaded", "C") in judged(text.format(31)).wrong
    assert ("source-overloaded", "C") not in judged(text.format(30)).wrong
    assert ("source-overloaded", "C") not in judged(
        text.format(31) + "battery B, 12 V\nfrom B\nfuse F2, 9 A\nto L\n"
    ).wrong


def test_a_scene_that_leaves_a_load_without_a_source() -> None:
    text = plain() + 'scene "A", L, F1 open\n'
    assert rules_of(text) == {("scene-not-fed", "L")}
    assert rules_of(plain() + 'scene "A", L\n') == set()
    # one position that feeds it is enough
    assert ("scene-not-fed", "L") not in rules_of(SELECTOR.format("") + 'scene "A", L\n')
    assert ("scene-not-fed", "L") in rules_of(SELECTOR.format("") + 'scene "A", L, S at off\n')


def test_the_greatest_voltage_is_that_of_the_liveliest_source() -> None:
    head = ISO.replace("negative earthed", "negative earthed, greatest 14 V")
    charged = "charger C, 12 V, 30 A, greatest 16 V\nfrom C\nfuse F9, 50 A, 32 V\nto L\n"
    assert ("device-voltage", "F1") not in rules_of(plain(f1="20 A, 14.5 V"), head)
    assert ("device-voltage", "F1") in rules_of(plain(f1="20 A, 14.5 V") + charged, head)
    # 15 V for each 12 V where nobody says
    assert ("device-voltage", "F1") in rules_of(plain(f1="20 A, 14.5 V"))
    assert ("device-voltage", "F1") not in rules_of(plain(f1="20 A, 15 V"))


def test_a_side_with_a_battery_takes_what_charges_it() -> None:
    text = TWO_BANKS.format("20 A").replace("fuse F1, 100 A\nrelay", "relay").replace("relay K", "switch K")
    # on B1's side the 30 A of C1; on the other 100 A of F2, which stands before any battery
    assert ("current-rating", "K") in rules_of(text)
    assert ("current-rating", "K") in rules_of(text.replace("20 A", "99 A", 1))
    bare = "battery B1, 12 V\nbattery B2, 12 V\ncharger C, 12 V, 30 A\nfrom B1\nswitch K, {} A\nto B2\nfrom C\nto B2\n"
    assert ("current-rating", "K") in rules_of(bare.format(29))
    assert ("current-rating", "K") not in rules_of(bare.format(30))
