"""The fault judge's own tests: figures whose answer is worked out by hand or printed."""

from __future__ import annotations

import math

import numpy as np
import pytest

from .circuit import Network
from .fault_bands import Band
from .fault_currents import LARGEST, SMALLEST, FaultNetwork, Question, series_devices
from .fault_heat import rise, share_of
from .fault_judge import FaultJudge
from .reading import circuit_of

HEAD = 'boat "J", 9 m, rulebook iso-13297\nsystem M, 12 V\ncables, insulation 105 °C, plain\n'


def judged(text: str) -> dict[tuple[str, str], set[str]]:
    return FaultJudge(circuit_of(HEAD + text)).judge().said


def test_temperature_followed_in_time_against_printed_figures() -> None:
    def end(before_c: float, amps: float, seconds: float, mm2: float) -> float:
        return float(rise(np.array([before_c]), np.array([amps]), np.array([seconds]), mm2)[0])

    # IEC 60364-4-43 (second-hand): 5 kA, 35 mm², 1.002 s with k 143: from 90 to 250 °C
    assert end(90, 5000, 1.002, 35) == pytest.approx(250, abs=2)
    # the printed k of PVC, rubber, silicone: (k S)² = I² t
    for before_c, after_c, k in (
        (70, 160, 115),
        (70, 140, 103),
        (90, 160, 100),
        (60, 200, 141),
        (85, 220, 134),
        (180, 350, 132),
    ):
        assert end(before_c, 1000, (k * 10 / 1000) ** 2, 10) == pytest.approx(after_c, abs=2)
    assert math.isinf(end(30, 10_000, 5, 1))
    assert float(share_of(np.array([250.0]), 90, 250)[0]) == pytest.approx(1)


def test_currents_by_hand() -> None:
    text = """battery A, 12 V, resistance 4 mΩ
battery B, 12 V, resistance 9 mΩ
charger C, 14.4 V, 60 A, self-limiting
from A
fuse FA, class T, 200 A, resistance 1 mΩ
bus P
from B
fuse FB, class T, 50 A, resistance 1 mΩ
to P
from C
to P
"""
    net = Network(circuit_of(HEAD + text))
    flow = FaultNetwork(net)
    # IEC 61660-1 (from memory): 0.95 · 1.05 · 12 V behind R; 1.05 · 12 V behind 0.9 R
    amps, through = flow.fault(Question(frozenset({"A", "B"}), frozenset(), SMALLEST), "P", np.zeros(1))
    assert amps[0] == pytest.approx(11.97 / 5e-3 + 11.97 / 10e-3, rel=1e-4)
    assert abs(through[net.number["FB"]][0]) == pytest.approx(1197, rel=1e-4)
    (every,) = flow.together("P")
    largest = flow.fault(Question(every, frozenset(), LARGEST), "P", np.zeros(1))[0][0]
    assert largest == pytest.approx(12.6 / 4.6e-3 + 12.6 / 9.1e-3 + 60, rel=1e-3)
    bare = Question(frozenset({"B"}), frozenset(), LARGEST, bare=net.number["FB"])
    assert flow.fault(bare, "P", np.zeros(1))[0][0] == pytest.approx(12.6 / 8.1e-3, rel=1e-3)


def test_a_diode_conducts_one_way() -> None:
    text = "battery A, 12 V, resistance 4 mΩ\nbus P\nbus Q\nfrom A\nto P\nfrom P\ndiode D, drops 0.5 V\nto Q\nbattery B, 12 V, resistance 6 mΩ\nfrom B\nto Q\n"
    flow = FaultNetwork(Network(circuit_of(HEAD + text)))
    both = Question(frozenset({"A", "B"}), frozenset(), SMALLEST)
    assert flow.fault(both, "P", np.zeros(1))[0][0] == pytest.approx(11.97 / 4e-3, rel=1e-3)
    assert flow.fault(both, "Q", np.zeros(1))[0][0] == pytest.approx(11.47 / 4e-3 + 11.97 / 6e-3, rel=1e-3)


def test_a_band_by_its_gates() -> None:
    net = Network(
        circuit_of(
            HEAD + "battery B, 12 V\nfrom B\nbreaker Q, thermal-magnetic, 16 A, curve B\nfuse F, blade, 10 A\nbus P\n"
        )
    )
    magnetic, blade = (Band(net.edges[net.number[n]], net.places) for n in ("Q", "F"))
    seconds, told = magnetic.slowest(np.array([16 * 1.44, 16 * 1.45, 16 * 2.55, 16 * 5.0, 16 * 7.0, 16 * 70.0]))
    assert seconds.tolist() == pytest.approx([math.inf, 3600, 60, 60 * (2.55 / 5) ** 2, 0.1, 0.1])
    assert told.tolist() == [True] * 5 + [False]
    assert magnetic.fastest(16 * 4.0) == (pytest.approx(0.1), True) and magnetic.fastest(16 * 4.1) == (0.0, False)
    seconds, told = blade.slowest(np.array([13.4, 13.5, 20.0, 60.0, 61.0]))
    assert seconds.tolist() == pytest.approx([math.inf, 600, 5, 0.1, 0.1]) and told.tolist() == [True] * 4 + [False]


def test_devices_in_series_the_nearest_last() -> None:
    text = "battery B, 12 V, resistance 4 mΩ\nbus P\nbus Q\nfrom B\nfuse F0, 300 A\nto P\nfrom P\nfuse F1, 40 A\nto Q\nfrom P\nfuse F2, 40 A\nto Q\nfrom Q\nfuse F3, 40 A\nfuse F4, 20 A\nload L, draws 3 A\n"
    net = Network(circuit_of(HEAD + text))
    found = series_devices(FaultNetwork(net), "L", frozenset({"B"}), frozenset())
    assert [net.edges[d]["id"] for d in found] == ["F0", "F3", "F4"]


FUSE = "class T, 40 A, 125 V, opens at 135 % in 1 s to 300 s, opens at 500 % in 0.05 s to 0.5 s, opens at 20000 % in 1 ms to {last}"
ONE = "battery B, 12 V, resistance 4 mΩ\nfrom B\nfuse F1, {fuse}\ncable W1, {cable}\nload L, draws 3 A\n"


@pytest.mark.parametrize(
    ("fuse", "cable", "expected"),
    [
        # 3.5 kA at most: 20 ms let 245 kA²s through at most, 300 ms 3.7 MA²s; 10 mm² stands 1 to 1.8 MA²s
        (FUSE.format(last="20 ms"), "10 mm2, 2 m", {}),
        (FUSE.format(last="300 ms"), "10 mm2, 2 m", {("harmed-before-opening", "W1"): {"danger"}}),
        # 9 A at the end of 60 m of 2.5 mm²
        ("blade, 20 A, breaks 5 kA at 32 V, opens at 135 % in 1 s to 60 s, opens at 20000 % in 1 ms to 3 ms", "2.5 mm2, 60 m", {("not-opened-in-time", "W1"): {"fault"}}),
        (FUSE.format(last="20 ms").replace("125 V", "125 V, breaks 3 kA at 32 V"), "10 mm2, 2 m", {("breaking-capacity", "F1"): {"danger"}}),
    ],
)  # fmt: skip
def test_one_fuse_and_its_cable(fuse: str, cable: str, expected: dict[tuple[str, str], set[str]]) -> None:
    assert judged(ONE.format(fuse=fuse, cable=cable)) == expected
