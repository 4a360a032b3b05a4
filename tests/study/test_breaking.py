"""Breaking capacity: which figure counts at which voltage, and what stands in for it."""

from __future__ import annotations

import pytest

from linter.model.build import build
from linter.model.elements import Device
from linter.source.files import Reader
from linter.study.breaking import backs, breaking_capacity


def device(facts: str) -> Device:
    text = f'boat "B", 9 m, rulebook iso-13297\nsystem M, 12 V\nbattery B, 12 V\nfrom B\n{facts}\nbus P\n'
    design = build(Reader().design_text(text))
    assert [m.message for m in design.mistakes] == []
    return next(e for e in design.elements.values() if isinstance(e, Device))


def amps(facts: str, volts: float) -> float | None:
    known = breaking_capacity(device(facts), volts)
    return None if known is None else known.amps


@pytest.mark.parametrize(
    ("volts", "expected"),
    [(12, 5000), (32, 5000), (32.1, 2000), (65, 2000), (65.1, None), (15, 5000)],
)
def test_the_figure_at_the_voltage_or_the_next_above(volts: float, expected: float | None) -> None:
    assert amps("fuse F, ANL, 40 A, breaks 5 kA at 32 V, breaks 2 kA at 65 V", volts) == expected


def test_a_figure_without_a_voltage_is_at_the_rated_one() -> None:
    assert amps("fuse F, ANL, 40 A, 32 V, breaks 5 kA", 30) == 5000
    assert amps("fuse F, ANL, 40 A, 32 V, breaks 5 kA", 33) is None
    # ISO 8820-3: blade fuses are rated 32 V (from memory)
    assert amps("fuse F, blade, 40 A, breaks 2 kA", 32) == 2000
    assert amps("fuse F, blade, 40 A, breaks 2 kA", 33) is None
    # where nobody states a voltage at all, it holds at any
    assert amps("fuse F, ANL, 40 A, breaks 5 kA", 48) == 5000


# ISO 8820-3: 1 kA at 32 V; UL 248-15: 20 kA on direct current (both from memory)
@pytest.mark.parametrize(
    ("facts", "volts", "expected"),
    [
        ("fuse F, blade, 15 A", 15, 1000), ("fuse F, blade, 15 A", 32, 1000), ("fuse F, blade, 15 A", 60, None),
        ("fuse F, miniature blade, 15 A", 15, 1000), ("fuse F, class T, 100 A", 60, 20_000),
        ("fuse F, ANL, 100 A", 12, None), ("fuse F, gG, 100 A", 12, None), ("breaker F, thermal, 20 A", 12, None),
        ("fuse F, 20 A", 12, None),
    ],
)  # fmt: skip
def test_the_class_stands_in_where_the_maker_says_nothing(facts: str, volts: float, expected: float | None) -> None:
    known = breaking_capacity(device(facts), volts)
    assert (None if known is None else known.amps) == expected
    if known is not None:
        assert known.cite.status == "from memory" and known.whose == "the figure of its class"


def test_the_makers_figure_goes_before_the_class_even_where_it_does_not_reach() -> None:
    # stated at 16 V only: at 24 V nobody says, whatever the class breaks
    assert amps("fuse F, blade, 15 A, breaks 500 A at 16 V", 12) == 500
    assert amps("fuse F, blade, 15 A, breaks 500 A at 16 V", 24) is None


@pytest.mark.parametrize(
    ("before", "volts", "expected"),
    [
        ("fuse A, class T, 200 A", 15, True), ("fuse A, class T, 100 A", 32, True), ("fuse A, class T, 225 A", 15, False),
        ("fuse A, class T, 200 A", 33, False), ("fuse A, ANL, 200 A", 15, False), ("breaker A, thermal, 100 A", 15, False),
        ("fuse A, class T", 15, False),
    ],
)  # fmt: skip
def test_what_backs_a_device(before: str, volts: float, expected: bool) -> None:
    one = device("breaker Q, thermal, 20 A, breaks 2 kA at 32 V, breaks 10 kA at 32 V behind class T fuse 200 A")
    (backed,) = one.backed
    assert (backed.current_a, backed.voltage_v, backed.rating_a) == (10_000, 32, 200)
    assert backs(backed, device(before), volts) is expected
    # behind nothing its own figure holds
    assert (
        amps("breaker Q, thermal, 20 A, breaks 2 kA at 32 V, breaks 10 kA at 32 V behind class T fuse 200 A", 15)
        == 2000
    )
