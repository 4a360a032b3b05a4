"""How much more resistance a guard bears: against Ohm's law by hand, and by stating just less and just more of it."""

from __future__ import annotations

import math

import pytest

from linter.model.build import build
from linter.rules.engine import examine
from linter.source.files import Reader
from linter.study.bears import bears_ohm
from linter.study.study import Study, study_of

SLOW = """
part sluggish, breaker
  thermal, 32 V, breaks 5 kA at 32 V, opens at 135 % in 10 s to 3600 s, opens at 1000 % in 20 ms to 4 s
  opens at 2000 % in 5 ms to 0.2 s, lets through 40 kA2s
part main, fuse
  class T, 125 V, breaks 20 kA at 125 V, opens at 135 % in 400 s to 3600 s, opens at 500 % in 0.5 s to 3 s
  opens at 1000 % in 60 ms to 0.25 s, opens at 2000 % in 12 ms to 30 ms, lets through 300 kA2s
"""
SERIES = (
    """boat "S", 9 m, rulebook iso-13297
system DC12, 12 V, negative earthed
cables, insulation 105 °C, tinned
battery B, AGM, 12 V, 100 Ah, resistance 4 mΩ
from B
fuse F1, part main, 150 A, resistance 0.1 mΩ
cable W2, 50 mm2, 1 m
bus POS, 250 A
from POS
breaker Q3, part sluggish, 10 A, resistance {q3:.9g} mΩ
cable W3, 2.5 mm2, 5 m
load LAMP, draws 1 A
"""
    + SLOW
)
# two like feeds side by side, each with its own fuse, and a second bank: no device carries the whole current
MESHED = (
    """boat "M", 9 m, rulebook iso-13297
system DC12, 12 V, negative earthed
cables, insulation 105 °C, tinned
battery B, AGM, 12 V, 100 Ah, resistance 4 mΩ
from B
fuse F1, part main, 150 A, resistance 0.1 mΩ
cable W1, 50 mm2, 1 m
bus POS, 500 A
from POS
breaker Q3, part sluggish, 15 A, resistance 1 mΩ
cable W3, 10 mm2, 6 m
bus FAR, 100 A
from POS
breaker Q4, part sluggish, 15 A, resistance 1 mΩ
cable W4, 10 mm2, 6 m
to FAR
from FAR
switch S, 60 A, resistance {s:.9g} mΩ
cable W5, 10 mm2, {m:g} m
load LAMP, draws 1 A
"""
    + SLOW
)


def studied(text: str) -> Study:
    study = study_of(build(Reader().design_text(text)))
    assert not study.design.mistakes
    return study


def rules_at(text: str, name: str) -> set[str]:
    result = examine(build(Reader().design_text(text)))
    assert result.complete
    return {f.rule for f in result.findings if f.subject == name}


def test_in_series_by_hand() -> None:
    study = studied(SERIES.format(q3=5))
    found = bears_ohm(study, study.conductors["W3"])
    # the slow edge is straight in logarithms from 13.5 A in 3600 s to 100 A in 4 s: 5 s are between
    share = math.log(5 / 3600) / math.log(4 / 3600)
    needed_a = 13.5 * (100 / 13.5) ** share
    # IEC 60228 tinned at 20 °C, there and back, at 105 °C; IEC 61660-1: 0.95 × 1.05 U (both as in standards tables)
    hot = (234.5 + 105) / 254.5
    loop = 4e-3 + 0.1e-3 + 5e-3 + 2 * (0.393e-3 + 5 * 8.21e-3) * hot
    assert found == pytest.approx(0.95 * 1.05 * 12 / needed_a - loop, rel=1e-5)


def test_just_less_than_it_bears_is_in_time_and_just_more_is_not() -> None:
    study = studied(SERIES.format(q3=1))
    bears = bears_ohm(study, study.conductors["W3"])
    assert bears is not None and 0.005 < bears < 0.05
    assert rules_at(SERIES.format(q3=1 + bears * 999), "W3") == set()
    assert rules_at(SERIES.format(q3=1 + bears * 1001), "W3") == {"not-opened-in-time"}


@pytest.mark.parametrize("metres", [1, 3])
def test_where_devices_share_the_current(metres: float) -> None:
    study = studied(MESHED.format(s=0.1, m=metres))
    ways = study.clears(study.conductors["W5"])
    assert any(way.followed is not None for way in ways)
    bears = bears_ohm(study, study.conductors["W5"])
    assert bears is not None and bears > 1e-4
    assert rules_at(MESHED.format(s=0.1 + bears * 990, m=metres), "W5") == set()
    assert "not-opened-in-time" in rules_at(MESHED.format(s=0.1 + bears * 1010, m=metres), "W5")


def test_the_heat_may_be_what_ends_it() -> None:
    # from 100 A in 0.5 s the heat rises as the current falls: 1 mm² is harmed before the 5 s are over
    text = SERIES.format(q3=1).replace("2.5 mm2, 5 m", "1 mm2, 1 m")
    text = text.replace("20 ms to 4 s", "20 ms to 0.5 s").replace("lets through 40 kA2s", "lets through 10 kA2s")
    study = studied(text)
    made = study.conductors["W3"]
    stands = study.stands(made)
    bears = bears_ohm(study, made)
    assert stands is not None and bears is not None
    (way,) = study.clears(made)
    amps = way.smallest_a * way.smallest_ohm / (way.smallest_ohm + bears)
    # as hot as it bears, or as late
    seconds = study.openings().moment(way.chain, amps).seconds
    assert seconds < 4.99 and amps * amps * seconds == pytest.approx(stands.a2s, rel=1e-4)
    hotter = study.openings().moment(way.chain, amps * 0.999)
    assert (amps * 0.999) ** 2 * hotter.seconds > stands.a2s


def test_nothing_where_the_verdict_does_not_hold() -> None:
    study = studied(SERIES.format(q3=60))
    assert bears_ohm(study, study.conductors["W3"]) is None
