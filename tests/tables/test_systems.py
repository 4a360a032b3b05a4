"""Nominal systems (common practice) and colours (from memory)."""

import pytest

from linter.tables import systems


# Common practice: no document.
@pytest.mark.parametrize(("nominal_v", "charging_v"), [(12, 15), (24, 30), (48, 60)])
def test_greatest_voltage_in_charging(nominal_v: float, charging_v: float) -> None:
    system = systems.nominal_system(nominal_v)
    assert system is not None
    assert (system.greatest_charging_v, system.cite.status) == (charging_v, "common practice")


def test_no_other_nominal_systems() -> None:
    assert [row.nominal_v for row in systems.nominal_systems()] == [12, 24, 48]
    assert systems.nominal_system(36) is None


# American and ISO practice (from memory).
@pytest.mark.parametrize(
    ("practice", "conductor", "allowed", "refused"),
    [
        ("american", "dc-positive", ["red"], ["black", "brown"]),
        ("american", "dc-negative", ["black", "yellow"], ["red", "white"]),
        ("american", "bonding", ["green", "green/yellow"], ["yellow"]),
        ("american", "ac-phase", ["black"], ["white", "green"]),
        ("american", "ac-second-phase", ["red"], ["white"]),
        ("american", "ac-neutral", ["white"], ["light blue"]),
        ("american", "ac-protective", ["green"], ["black"]),
        ("iso", "dc-positive", ["red", "brown", "violet"], ["black", "yellow"]),
        ("iso", "dc-negative", ["black", "yellow"], ["red"]),
        ("iso", "bonding", ["green", "green/yellow"], ["red"]),
        ("iso", "ac-phase", ["black", "brown"], ["white"]),
        ("iso", "ac-neutral", ["white", "light blue"], ["brown"]),
        ("iso", "ac-protective", ["green", "green/yellow"], ["yellow"]),
    ],
)
def test_colours(practice: str, conductor: str, allowed: list[str], refused: list[str]) -> None:
    row = systems.colours(practice, conductor)  # type: ignore[arg-type]
    assert row is not None
    assert [colour for colour in allowed + refused if row.allows(colour)] == allowed
    assert row.cite.status == "from memory"


def test_colours_that_a_practice_does_not_state_are_absent() -> None:
    assert systems.colours("iso", "ac-second-phase") is None
    assert len(systems.colour_rows()) == 13
