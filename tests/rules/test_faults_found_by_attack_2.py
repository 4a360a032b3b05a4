"""More designs that once were judged wrongly, or broke a rule; each with what it must say, and why.

The figures are reckoned beside each check: a battery of 12 V and 3 mΩ drives at most 1.05 · 12 V ÷ (0.9 · 3 mΩ), as
IEC 61660-1 has it (from memory); capacities are those of the ISO annex (from memory).
"""

from __future__ import annotations

import re
from collections.abc import Iterator
from dataclasses import replace
from pathlib import Path

import pytest
from click.testing import CliRunner

from linter.cli import main
from linter.model.build import build
from linter.rules import engine, registry
from linter.rules.engine import Examination, examine
from linter.rules.finding import Finding
from linter.rules.registry import Wrong
from linter.source.files import Reader

HEAD = """boat "C", 9 m, rulebook {book}
system MAIN, 12 V, negative earthed{system}
cables, insulation 105 °C, plain
part QUICK, fuse
  class T, 125 V, breaks 20 kA at 125 V, lets through 20 kA2s at 20 kA
  opens at 135 % in 100 s to 1000 s, opens at 500 % in 20 ms to 0.1 s, opens at 1000 % in 4 ms to 10 ms
"""
FROM_B = "battery B, AGM, 12 V, 100 Ah, resistance 3 mΩ\nfrom B\n"


def text_of(text: str, book: str = "iso-13297", system: str = "") -> str:
    return HEAD.format(book=book, system=system) + text


def examined(text: str, book: str = "iso-13297", system: str = "") -> Examination:
    return examine(build(Reader().design_text(text_of(text, book, system))))


def findings(text: str, book: str = "iso-13297", system: str = "") -> list[Finding]:
    result = examined(text, book, system)
    assert result.complete, [m.message for m in result.mistakes] + result.broken
    return result.findings


def found(text: str, book: str = "iso-13297", system: str = "") -> dict[str, str]:
    return {f"{f.rule} {f.subject}": f.severity.value for f in findings(text, book, system)}


def one(text: str, rule: str, subject: str, book: str = "iso-13297", system: str = "") -> Finding:
    (made,) = [f for f in findings(text, book, system) if (f.rule, f.subject) == (rule, subject)]
    return made


# ---- figures that are none


def test_energy_let_through_at_no_current_is_refused_at_its_place() -> None:
    fuse = (
        "fuse F1, class T, 15 A, 125 V, breaks 20 kA at 125 V, opens at 135 % in 10 s to 1000 s, lets through 15 kA2s"
    )
    result = examined(f"{FROM_B}{fuse} at 0 A\ncable W1, 2.5 mm2, 1 m\nload L, draws 3 A\n")
    (mistake,) = result.mistakes
    # it would be divided by; and a fuse lets nothing through where nothing flows
    assert "at 0 A" in mistake.message and "lets nothing through" in mistake.message
    assert mistake.span.line == 9 and not result.broken and not result.complete


@pytest.mark.parametrize("size", ["2001 mm2", "0.00001 mm2", "0.009 mm2"])
@pytest.mark.parametrize("where", ["{}, 1 m", "1 mm2, 1 m, return {}"])
def test_a_size_that_no_conductor_has_is_a_mistake_and_breaks_nothing(size: str, where: str) -> None:
    result = examined(f"{FROM_B}fuse F1, part QUICK, 15 A\ncable W1, {where.format(size)}\nload L, draws 3 A\n")
    assert result.broken == []
    (mistake,) = result.mistakes
    assert size in mistake.message and "0.01 to 2000 mm²" in mistake.message and mistake.span.line == 10


@pytest.mark.parametrize("size", ["2000 mm2", "0.01 mm2", "0.05 mm2"])
def test_a_size_at_the_limit_is_judged(size: str) -> None:
    result = examined(f"{FROM_B}fuse F1, part QUICK, 15 A\ncable W1, {size}, 1 m\nload L, draws 3 A\n")
    assert result.mistakes == [] and result.broken == []


def test_drawing_says_which_rule_broke(monkeypatch: pytest.MonkeyPatch, tmp_path: Path) -> None:
    """Nothing of the design was unreadable: to look for it there would lead astray."""
    design = tmp_path / "c.boat"
    design.write_text(text_of(f"{FROM_B}fuse F1, part QUICK, 15 A\ncable W1, 2.5 mm2, 1 m\nload L, draws 3 A\n"))

    def breaks(study: object) -> Iterator[Wrong]:
        raise RuntimeError("for the test")

    every = registry.rules()
    monkeypatch.setattr(engine, "rules", lambda: [replace(every[0], check=breaks), *every[1:]])
    result = CliRunner().invoke(main, ["draw", str(design), "-o", "-", "--one-sheet"])
    assert result.exit_code == 3
    assert f"rule {every[0].name} broke: RuntimeError: for the test" in result.stderr
    assert "could not be read" not in result.stderr


# ---- figures that are asked for


def test_a_diode_is_asked_what_it_drops_where_a_verdict_hangs_on_it() -> None:
    text = FROM_B + "fuse F1, part QUICK, 15 A\ndiode D1, 70 A{}\ncable W1, 2.5 mm2, 1 m\n"
    text += "load L, draws 10 A, works from 11.6 V\n"
    assert found(text.format(""))["figure-missing D1"] == "doubt"
    # 12 V − 10 A · (3 + 16) mΩ is 11.8 V, and 11.1 V behind a silicon diode of 0.7 V
    assert found(text.format(", drops 0.7 V")) == {"voltage-too-low L": "fault"}


SPLIT = """alternator A, 14.4 V, 50 A{limits}
{battery}bus P, 300 A
from A
diode D1, 70 A
to P
from P
fuse F1, part QUICK, 60 A
cable W1, 16 mm2, 1 m
{end}
"""
BANK = "battery B, AGM, 12 V, 100 Ah, resistance 3 mΩ\n"


@pytest.mark.parametrize(
    ("limits", "battery", "end", "asked"),
    [
        # it only charges: loads are judged with the battery alone, and what limits itself opens nothing
        (", self-limiting", BANK, "to B", False),
        # what does not limit itself drives a smallest fault current, less by the drop
        (", resistance 20 mΩ", BANK, "to B", True),
        # nothing else feeds the load behind it
        (", self-limiting", "", "load L, draws 10 A", True),
        # in a scene in which it is on, it holds the voltage
        (", self-limiting", BANK, 'to B\nfrom B\nfuse F2, part QUICK, 15 A\nload L, draws 1 A\nscene "x", L, A', True),
        (", self-limiting", BANK, 'to B\nfrom B\nfuse F2, part QUICK, 15 A\nload L, draws 1 A\nscene "x", L', False),
    ],
)
def test_of_a_diode_that_only_charges_nobody_asks(limits: str, battery: str, end: str, asked: bool) -> None:
    assert ("figure-missing D1" in found(SPLIT.format(limits=limits, battery=battery, end=end))) == asked


@pytest.mark.parametrize(
    ("place", "asked"),
    [
        # an engine space counts as 50 °C for conductors, and so it does for what heat opens
        ("engine space", True),
        ("engine space, ambient 50 °C", True),
        ("ambient 25 °C", False),
        ("engine space, ambient 35 °C", False),
    ],
)
def test_a_thermal_breaker_in_an_engine_space_is_asked_what_it_carries_there(place: str, asked: bool) -> None:
    text = f"place ENG, {place}\n{FROM_B}breaker Q1, thermal, 15 A, 32 V, breaks 5 kA at 32 V, in ENG{{}}\n"
    text += "  opens at 135 % in 60 s to 1800 s, opens at 1000 % in 0.3 s to 1 s, lets through 20 kA2s\n"
    text += "cable W1, 2.5 mm2, 1 m\nload L, draws 3 A\n"
    assert ("figure-missing Q1" in found(text.format(""))) == asked
    assert "figure-missing Q1" not in found(text.format(", carries 90 % at 50 °C"))


THIN = (
    FROM_B
    + """fuse F1, class T, {rated} A, 125 V, breaks 20 kA at 125 V, lets through 0.0005 kA2s at 20 kA
  opens at 135 % in 100 s to 1000 s, opens at 500 % in 0.00002 s to 0.0001 s
cable W1, 6 mm2, 1 m, return {back}
load L, draws 3 A
"""
)


@pytest.mark.parametrize("back", ["22 AWG", "0.2 mm2"])
def test_of_a_return_thinner_than_any_row_nobody_knows_what_it_carries(back: str) -> None:
    """As of a live conductor: the row of 0.75 mm², 16 A at 105 °C, is more than it bears, by how much nobody says."""
    said = found(THIN.format(rated=15, back=back))
    assert said == {"figure-missing W1": "doubt", "conductor-too-small W1": "fault"}
    known = one(THIN.format(rated=15, back=back), "figure-missing", "W1")
    assert "return" in known.message and known.mend == "a return of at least 0.75 mm²"
    # above the figure of the smallest row there is nothing to doubt
    assert found(THIN.format(rated=20, back=back))["return-unprotected W1"] == "danger"
    assert "less than 16 A" in one(THIN.format(rated=20, back=back), "return-unprotected", "W1").message


def test_a_return_of_the_smallest_row_is_judged_by_it() -> None:
    # 0.75 mm² is allowed inside a sheath only; 1 mm² run singly (ISO 13297, second-hand)
    assert found(THIN.format(rated=15, back="0.75 mm2")) == {"conductor-too-small W1": "fault"}
    assert found(THIN.format(rated=15, back="0.75 mm2, in sheath")) == {}
    assert found(THIN.format(rated=15, back="1 mm2")) == {}


CRANKED = """battery B, 12 V, cranking 700 A{more}
from B
fuse F1, ANL, 150 A, 32 V, {breaks}opens at 135 % in 1 s to 100 s, opens at 500 % in 20 ms to 0.1 s
cable W1, 2 AWG, 1 m
load L, draws 3 A
"""


def test_the_table_by_cranking_amperes_asks_what_a_device_breaks() -> None:
    """651 A to 1100 A: 3 kA of the main device (ABYC E-11, second-hand).  It is for batteries of which nothing else is
    known, so that it must not be silent just there."""
    unknown = one(CRANKED.format(more="", breaks=""), "breaking-class", "F1", "abyc-e11")
    assert unknown.severity.value == "doubt" and "3 kA" in unknown.message and "3 kA" in unknown.mend
    weak = one(CRANKED.format(more="", breaks="breaks 2 kA at 32 V, "), "breaking-class", "F1", "abyc-e11")
    assert weak.severity.value == "fault"
    assert "breaking-class F1" not in found(CRANKED.format(more="", breaks="breaks 3 kA at 32 V, "), "abyc-e11")
    # with a resistance the largest current is known, and that is asked for, once
    stated = found(CRANKED.format(more=", resistance 4 mΩ", breaks=""), "abyc-e11")
    assert stated["breaking-capacity F1"] == "doubt" and "breaking-class F1" not in stated


def test_a_battery_of_cranking_amperes_alone_drives_no_megaamperes() -> None:
    """(12.6 V − 7.2 V) ÷ 700 A is 7.7 mΩ cold: 1.8 kA is a lower bound of what it drives, and no figure is above it."""
    for made in findings(CRANKED.format(more="", breaks=""), "abyc-e11"):
        for number, unit in re.findall(r"([\d.e+]+) (kA|MA)\b", made.message + made.mend):
            assert unit == "kA" and float(number) <= 20, made.message


# ---- two figures of one source


LIMITED = """battery B, lithium, 12 V, 100 Ah, self-limiting 200 A{short}
from B
fuse F1, blade, 30 A, 32 V, breaks 1 kA at 32 V, lets through 5 kA2s
cable W1, 4 mm2, 5 m
load L, draws 3 A
"""


def test_until_its_electronics_act_a_source_gives_what_its_maker_says() -> None:
    """ABYC E-11 takes a lithium battery's own short-circuit figure (second-hand): the device meets it before any
    electronics have acted.  What lasts is the limit, so that the smallest fault is no more than that."""
    assert found(LIMITED.format(short="")) == {}
    danger = one(LIMITED.format(short=", short-circuit 5 kA"), "breaking-capacity", "F1")
    assert danger.severity.value == "danger" and "5 kA" in danger.message
    assert "breaking-capacity F1" not in found(LIMITED.format(short=", short-circuit 900 A"))
    study = examined(LIMITED.format(short=", short-circuit 5 kA")).study
    (pair,) = study.faults().pairs.values()
    assert (pair[0].peak_a, pair[0].limit_a, pair[1].limit_a) == (5000, 200, 200)


def test_what_a_source_gives_for_milliseconds_heats_nothing_for_minutes() -> None:
    """Behind a thermal breaker that takes seconds a charger's 4 kA are long over: what lasts is its 20 A."""
    text = """battery B, AGM, 12 V, 100 Ah, resistance 25 mΩ
charger C, 14.4 V, 20 A, self-limiting{}
bus P, 300 A
from B
fuse F1, class T, 100 A, 125 V, breaks 10 kA at 125 V, opens at 135 % in 10 s to 1000 s, opens at 300 % in 1 s to 3 s
to P
from C
fuse F2, part QUICK, 30 A
to P
from P
breaker Q3, thermal, 15 A, 32 V, breaks 3 kA at 32 V, opens at 135 % in 10 s to 60 s, opens at 1000 % in 0.1 s to 0.4 s
cable W3, 6 mm2, 1 m
load L, draws 3 A
"""
    said, peaks = found(text.format("")), found(text.format(", short-circuit 4 kA"))
    assert not [key for key in said if key.startswith(("harmed", "breaking"))]
    # 12.6 V ÷ 22.5 mΩ and 4 kA together are more than the 3 kA that Q3 breaks
    assert {k: v for k, v in peaks.items() if k not in said} == {"breaking-capacity Q3": "danger"}


def test_a_limit_above_the_short_circuit_current_is_a_contradiction() -> None:
    said = one(LIMITED.format(short=", short-circuit 100 A"), "source-resistance", "B")
    assert said.severity.value == "doubt" and "200 A" in said.message and "100 A" in said.message


STATED = """battery B, AGM, 12 V, 100 Ah, resistance {ohm}, short-circuit {short}
from B
fuse F1, part QUICK, 100 A
cable W1, 35 mm2, 1 m
load L, draws 3 A
"""


@pytest.mark.parametrize(
    ("ohm", "short", "agrees"),
    [
        # 12 V ÷ 1 mΩ is 12 kA
        ("1 mΩ", "100 A", False),
        ("3 mΩ", "40 kA", False),
        ("3 mΩ", "3.5 kA", True),
        ("2.6 mΩ to 4 mΩ", "5.6 kA", True),
        ("3 mΩ to 30 mΩ", "500 A", True),
    ],
)
def test_resistance_and_short_circuit_current_agree(ohm: str, short: str, agrees: bool) -> None:
    assert ("source-resistance B" not in found(STATED.format(ohm=ohm, short=short))) == agrees


def test_a_source_gives_no_more_than_its_maker_says_at_least() -> None:
    """Of 100 A at most nothing opens a fuse of 100 A, whatever the resistance promises; and what it must break is the
    larger of the two."""
    text = STATED.format(ohm="1 mΩ", short="100 A")
    late = one(text, "not-opened-in-time", "W1")
    assert "need never open" in late.message
    amps = re.search(r"draws ([\d.]+) A", late.message)
    assert amps is not None and float(amps[1]) < 100
    weak = text.replace("part QUICK, 100 A", "blade, 30 A, 32 V, breaks 1 kA at 32 V, lets through 5 kA2s")
    assert found(weak)["breaking-capacity F1"] == "danger"
