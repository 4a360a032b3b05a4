"""On which system each point of the circuit is."""

from __future__ import annotations

from linter.model.design import Design
from linter.model.systems import system_for

from .designs import design_of, said

TWO = 'boat "T"\nsystem DC12, 12 V\nsystem DC24, 24 V\n'


def systems(design: Design) -> dict[str, str | None]:
    return {n.name: n.system.name if n.system else None for n in design.circuit.nodes}


def test_with_one_system_everything_is_on_it() -> None:
    design = design_of('boat "T"\nsystem DC12, 12 V\nbattery B, 12.8 V\nbus P\nload L\n')
    assert said(design) == []
    assert set(systems(design).values()) == {"DC12"}


def test_sources_tell_and_conductors_carry_it_on() -> None:
    design = design_of(
        TWO
        + "battery B, 12.8 V\nbattery C, 25.6 V\nfrom B\ncable W\nbus P\nfuse F\nload L\nfrom C\ncable V\nload M\nbus LONELY\n"
    )
    assert said(design) == []
    assert systems(design) == {"B": "DC12", "P": "DC12", "L": "DC12", "C": "DC24", "M": "DC24", "LONELY": None}


def test_a_converter_stands_between_two() -> None:
    design = design_of(TWO + "battery C, 24 V\nfrom C\ncable W\nconverter K, 24 V to 12.5 V, 5 A\ncable V\nbus P\n")
    found = systems(design)
    assert (found["K.in"], found["K.out"], found["P"]) == ("DC24", "DC12", "DC12")
    assert design.joined == []


def test_on_tells_where_the_voltage_does_not() -> None:
    text = 'boat "T"\nsystem A, 12 V\nsystem B, 12 V\nbattery X, 12 V{}\n'
    assert said(design_of(text.format(""))) == ["4:9: it is not clear on which system X is"]
    assert systems(design_of(text.format(", on B")))["X"] == "B"


def test_on_of_a_bus_tells_and_on_of_a_load_does_not() -> None:
    design = design_of(TWO + "battery B, 12 V\nbus P, on DC24\nfrom B\ncable W\nload L, on DC24\n")
    assert (systems(design)["P"], systems(design)["L"]) == ("DC24", "DC12")


def test_where_two_systems_meet() -> None:
    design = design_of(TWO + "battery B, 12 V\nbattery C, 24 V\nfrom B\nfuse F, 5 A\nto C\n")
    ((edge, one, two),) = design.joined
    assert (edge.element.name, one.name, two.name) == ("F", "DC12", "DC24")


def test_a_source_far_from_the_only_system_is_asked_about() -> None:
    design = design_of(
        'boat "T"\nsystem DC12, 12 V\nbattery B, 12 V\nfrom B\nconverter C, 12 V to 24 V, 5 A\ncable W\nload L\n'
    )
    assert said(design) == ["5:11: it is not clear on which system C is"]
    assert (systems(design)["C.in"], systems(design)["L"]) == ("DC12", None)


def test_near_is_within_a_quarter_of_the_nominal_voltage() -> None:
    found = design_of(TWO).systems
    for volts, name in (
        (12.8, "DC12"),
        (14.6, "DC12"),
        (15.0, "DC12"),
        (15.1, None),
        (9.0, "DC12"),
        (8.9, None),
        (28.8, "DC24"),
    ):
        system = system_for(volts, found)
        assert (system.name if system else None) == name
