"""What hangs on a resistance that nobody states: whatever turns here turns too when the bound is stated."""

from __future__ import annotations

from pathlib import Path

import pytest

from linter.model.build import build
from linter.rules.engine import examine
from linter.rules.finding import Finding, Severity
from linter.source.files import Reader
from linter.study.contacts import bounds_of, hanging
from linter.study.study import study_of
from linter.tables.contacts import KINDS, contact_drops, drop_of
from tests.study.test_bears import MESHED, SERIES, SLOW

BOATS = Path(__file__).resolve().parents[2] / "boats"


def findings(text: str) -> list[Finding]:
    result = examine(build(Reader().design_text(text)))
    assert result.complete, result.mistakes
    return result.findings


def leaning(text: str) -> dict[str, Finding]:
    return {f.subject: f for f in findings(text) if f.rule == "contact-resistance"}


def unstated(metres: float, mm2: str = "2.5") -> str:
    text = SERIES.format(q3=1).replace(", resistance 1 mΩ", "").replace("2.5 mm2, 5 m", f"{mm2} mm2, {metres:g} m")
    return text.replace(", resistance 0.1 mΩ", "")


@pytest.mark.parametrize("metres", [1.0, 2.0, 3.0, 3.5, 4.0, 4.5, 5.0, 5.4])
def test_it_turns_where_stating_the_bound_turns(metres: float) -> None:
    """0.3 V at 10 A and 0.15 V at 150 A (common practice), stated instead: the same verdict, as a fault."""
    text = unstated(metres)
    assert "not-opened-in-time" not in {f.rule for f in findings(text)}
    stated = text.replace("part sluggish, 10 A", "part sluggish, 10 A, resistance 30 mΩ")
    stated = stated.replace("part main, 150 A", "part main, 150 A, resistance 1 mΩ")
    turns = any(f.rule == "not-opened-in-time" and f.subject == "W3" for f in findings(stated))
    assert ("Q3" in leaning(text)) == turns
    if turns:
        found = leaning(text)["Q3"]
        assert found.severity is Severity.DOUBT and "30 mΩ" in found.message and "W3" in found.message
        assert "mV" in found.mend and found.status == "common practice"
    assert not leaning(stated)


def test_both_answers_are_among_those_tried() -> None:
    assert not leaning(unstated(1.0)) and leaning(unstated(5.4))


def test_the_figure_of_the_mend_is_enough() -> None:
    text = unstated(4.5)
    mend = leaning(text)["Q3"].mend
    enough = float(mend.split("up to ")[1].split(" mΩ")[0])
    told = text.replace("part sluggish, 10 A", f"part sluggish, 10 A, resistance {enough * 0.99:.4g} mΩ")
    assert not leaning(told) and "not-opened-in-time" not in {f.rule for f in findings(told)}


def test_side_by_side() -> None:
    """As solved with the bound in the circuit: 0.1 V at 60 A, 1.67 mΩ."""
    turned = False
    for tenths in range(10, 120, 10):
        text = MESHED.format(s=1, m=tenths / 10).replace("60 A, resistance 1 mΩ", "60 A")
        stated = MESHED.format(s=100 / 60, m=tenths / 10)
        if "not-opened-in-time" in {f.rule for f in findings(text)}:
            continue
        turns = any(f.rule == "not-opened-in-time" for f in findings(stated))
        turned = turned or turns
        assert ("S" in leaning(text)) == turns, tenths
    assert turned


def test_one_finding_a_device_naming_every_conductor() -> None:
    more = "".join(f"from W3.out\ncable X{n}, 2.5 mm2, {n / 10 + 0.1:g} m\nload L{n}, draws 1 A\n" for n in range(3))
    text = unstated(4.4).replace("load LAMP, draws 1 A\n", f"bus J, 60 A\n{more}".replace("W3.out", "J"))
    found = leaning(text)
    assert set(found) == {"Q3"}
    assert all(name in found["Q3"].message for name in ("W3", "X0", "X2"))


VOLTS = (
    """boat "V", 9 m, rulebook iso-13297
system DC12, 12 V, negative earthed
cables, insulation 105 °C, tinned
battery B, AGM, 12 V, 100 Ah, resistance 1 mΩ
from B
fuse F1, part main, 60 A, resistance 0.1 mΩ
cable W1, 35 mm2, 1 m
bus POS, 250 A
from POS
fuse F2, part main, 10 A{resistance}
cable W2, {wire}
load LAMP, draws 8 A{asks}
"""
    + SLOW
)


@pytest.mark.parametrize(("volts", "turns"), [(11.0, False), (11.55, False), (11.65, True)])
def test_the_voltage_from_which_a_load_works(volts: float, turns: bool) -> None:
    """0.2 V at 10 A: 20 mΩ, so 0.16 V at 8 A."""
    text = VOLTS.format(resistance="", wire="6 mm2, 4 m", asks=f", works from {volts:g} V")
    stated = VOLTS.format(resistance=", resistance 20 mΩ", wire="6 mm2, 4 m", asks=f", works from {volts:g} V")
    assert "voltage-too-low" not in {f.rule for f in findings(text)}
    assert ("voltage-too-low" in {f.rule for f in findings(stated)}) == turns
    assert ("F2" in leaning(text)) == turns
    if turns:
        assert leaning(text)["F2"].severity is Severity.DOUBT


def test_a_drop_limit_alone_is_advice() -> None:
    """A rulebook reckons its limit by conductors alone: 10 %, of 12 V 1.2 V."""
    text = VOLTS.format(resistance="", wire="2.5 mm2, 7.6 m", asks="")
    stated = VOLTS.format(resistance=", resistance 20 mΩ", wire="2.5 mm2, 7.6 m", asks="")
    assert "voltage-drop" not in {f.rule for f in findings(text)}
    assert "voltage-drop" in {f.rule for f in findings(stated)}
    assert leaning(text)["F2"].severity is Severity.ADVICE


@pytest.mark.parametrize("name", ["launch", "cutter", "motor-yacht"])
def test_the_boats_state_all_of_it(name: str) -> None:
    study = study_of(build(Reader().design(BOATS / f"{name}.boat")))
    bounds = bounds_of(study)
    assert not bounds and not hanging(study, bounds)


def test_a_rulebook_of_ones_own_may_change_the_bound(tmp_path: Path) -> None:
    (tmp_path / "yard.toml").write_text(
        'over = "iso-13297"\n[[contact_drop]]\nkind = "breaker"\nvolts = 0.01\nclause = "yard list 4"\nstatus = "read"\n',
        encoding="utf-8",
    )
    path = tmp_path / "x.boat"
    text = unstated(4.5)
    assert leaning(text)
    path.write_text(
        text.replace("rulebook iso-13297", "rulebook yard\nrulebook yard, file yard.toml"), encoding="utf-8"
    )
    result = examine(build(Reader().design(path)))
    assert result.complete
    assert "contact-resistance" not in {f.rule for f in result.findings}


def test_the_table() -> None:
    """Common practice, a second time: fuses to 10 A 0.2 V, larger 0.15 V; breakers to 15 A 0.3 V, larger 0.15 V;
    contacts 0.1 V."""
    asked = [
        ("fuse", 10),
        ("fuse", 10.1),
        ("breaker", 15),
        ("breaker", 16),
        ("switch", 300),
        ("relay", 5),
        ("selector", 1),
    ]
    rows = [drop_of(kind, amps, ()) for kind, amps in asked]
    assert [row.volts for row in rows if row is not None] == [0.2, 0.15, 0.3, 0.15, 0.1, 0.1, 0.1]
    assert drop_of("bus", 100, ()) is None
    assert {row.kind for row in contact_drops()} == set(KINDS)
    assert all(row.cite.status == "common practice" and row.cite.clause for row in contact_drops())
