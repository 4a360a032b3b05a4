"""The boats of the demonstration, broken and changed: whatever is truly wrong is found, and nothing else is said.

A few hundred cases in the suite; with WIREWORTHY_CAMPAIGN=1 thousands, and the table of what came of them.
"""

from __future__ import annotations

import os
from collections.abc import Callable
from pathlib import Path

import pytest

from linter.model.export import circuit_json

from ..judge.reading import circuit_of, design_of
from ..judge.wrongs import judge
from .breaks import BREAKS
from .campaign import Outcome, compare, run, sample, sound, summary
from .harmless import HARMLESS
from .text import Boat, boat_of, having, join, logical, split

BOATS = Path(__file__).parents[2] / "boats"
CAMPAIGN = bool(os.environ.get("WIREWORTHY_CAMPAIGN"))
# boat -> cases of each kind: (in the suite, in the campaign); the judge's brute force grows with the boat, and with the
# scenes and selectors: 0.05 s, 0.5 s and 12 s a case
MOST = {"launch.boat": (3, 60), "cutter.boat": (0, 20), "motor-yacht.boat": (-1, 1)}

# All that the kinds of defects need, in a boat small enough to be judged in an instant.
LITTLE = """boat "Little", 8 m, rulebook cfr-183, rulebook iso-13297
system DC12, 12 V, negative earthed, greatest 15 V
system DC24, 24 V, negative earthed, greatest 30 V
cables, insulation 105 °C
place LOCKER, ambient 30 °C
place SUMP, ambient 30 °C, petrol vapour

battery START, AGM, 12 V, 90 Ah, on DC12, in LOCKER
battery HOUSE, AGM, 12 V, 200 Ah, on DC12
alternator ALT, 14 V, 60 A, self-limiting, on DC12
selector SEL, positions off 1 2 both, 300 A

from START
cable W1, 50 mm2, 1 m, cranking
switch S1, 300 A
cable W2, 50 mm2, 2 m, cranking
load STARTER, draws 200 A, cranking, 12 V

from HOUSE
cable W3, 35 mm2, 0.15 m
fuse F3, class T, 125 A, 32 V, holder 200 A
cable W4, 35 mm2, 0.9 m
to SEL 1

from START
cable W5, 35 mm2, 1 m, in conduit
fuse F5, class T, 60 A, 32 V
cable W6, 35 mm2, 0.9 m
to SEL 2

from SEL
cable W7, 70 mm2, 0.5 m
bus POS, 200 A

from ALT
cable W8, 16 mm2, 0.6 m
fuse F8, bolt-down strip, 60 A, 32 V
cable W9, 16 mm2, 0.12 m
to POS

from POS
breaker Q10, thermal, 25 A, 32 V
cable W10, 6 mm2, 4 m
bus PANEL, 60 A

from PANEL
fuse F11, blade, fast, 10 A, 32 V
cable W11, 2.5 mm2, 5 m
load LIGHTS, draws 6 A, continuous, asks fuse fast 5 A to 10 A, asks cable at least 2.5 mm2

from PANEL
fuse F12, blade, slow, 15 A, 32 V, in SUMP, ignition protected
cable W12, 4 mm2, 3 m, in SUMP
load PUMP, draws 9 A, 12 V, in SUMP, ignition protected, asks fuse blade slow 10 A to 15 A

from POS
fuse F13, class T, 50 A, 32 V
cable W13, 16 mm2, 2 m
converter STEP, 12 V to 24 V, 15 A, self-limiting, efficiency 90 %, on DC24

from STEP
cable W14, 6 mm2, 2 m
bus POS24, 50 A

from POS24
fuse F15, blade, 10 A, 32 V
cable W15, 2.5 mm2, 3 m
load RADIO, draws 5 A, 24 V
"""


def little() -> Boat:
    return boat_of(LITTLE, circuit_of(LITTLE))


def test_the_little_boat_is_sound() -> None:
    assert judge(circuit_of(LITTLE)).wrong == set()


@pytest.mark.parametrize("kind", [*BREAKS, *HARMLESS])
def test_the_little_boat(kind: str) -> None:
    """Every case of every kind."""
    outcomes = []
    for what, changed in (BREAKS | HARMLESS)[kind](little()):
        outcomes.append(compare(design_of(changed.text()), Outcome(kind, what, changed.name)))
    assert outcomes, "no case"
    readable = [o for o in outcomes if not o.lost]
    assert len(readable) >= 0.6 * len(outcomes), "too few of the texts can be read"
    assert [_said(o) for o in outcomes if not o.agreed] == []
    if kind in BREAKS:
        assert any(o.wrong for o in readable), "none of these defects is wrong: it breaks nothing"


def _said(outcome: Outcome) -> tuple[str, str, list[tuple[str, str]], list[tuple[str, str]], list[tuple[str, str]]]:
    return outcome.kind, outcome.case, sorted(outcome.missed), sorted(outcome.false), outcome.broken


@pytest.mark.parametrize("name", MOST)
def test_the_boats(name: str, capsys: pytest.CaptureFixture[str]) -> None:
    """A sample of every kind; the same cases every time."""
    most = MOST[name][CAMPAIGN]
    if most < 0:
        pytest.skip("judged in the campaign only: WIREWORTHY_CAMPAIGN=1")
    boat = sound(BOATS / name)
    outcomes = [run("as she is", "", boat), *(run(*case) for case in sample(boat, most, seed=7))]
    if CAMPAIGN:
        with capsys.disabled():
            print(f"\n{name}\n{summary(outcomes)}")
    if most:
        assert len(outcomes) > most * 0.6 * len(BREAKS | HARMLESS), "most kinds must have their cases"
        assert sum(o.lost for o in outcomes) < 0.1 * len(outcomes), "too few of the texts can be read"
    assert [_said(o) for o in outcomes if not o.agreed] == []


# ---- the machinery


@pytest.mark.parametrize("make", [*BREAKS.values(), *HARMLESS.values()])
def test_every_case_changes_the_text(make: Callable[[Boat], object]) -> None:
    boat = little()
    for what, changed in make(boat):  # type: ignore[attr-defined]
        assert changed.text() != boat.text(), what


def test_a_line_is_taken_apart_and_put_together() -> None:
    line = 'fuse F1 "A, B # C", blade, 10 A, in HOLD  # why, oh why'
    parts, comment = split(line)
    assert parts == ['fuse F1 "A, B # C"', "blade", "10 A", "in HOLD"]
    assert comment == "# why, oh why"
    assert join(parts, comment) == line
    assert having(line, "15 A", without=r"^[\d.]+ A$") == 'fuse F1 "A, B # C", blade, in HOLD, 15 A  # why, oh why'
    assert logical("load L,\n  draws 5 A\nbus P\n") == ("load L,\n  draws 5 A", "bus P")


def test_an_unread_case_is_no_agreement_by_silence() -> None:
    """What cannot be read is counted apart: the tool must say that it could not read it."""
    made = compare(design_of(LITTLE + "from NOWHERE\ncable W99, 4 mm2, 1 m\nto POS\n"), Outcome("", "", ""))
    assert made.lost and not made.wrong


def test_the_summary_counts() -> None:
    kind = next(iter(BREAKS))
    made = [
        Outcome(kind, "a", "b", wrong={("r", "x")}, found={("r", "x")}),
        Outcome(kind, "c", "b", missed={("r", "y")}),
    ]
    row = next(line for line in summary(made).split("\n") if line.startswith(kind))
    assert row.split()[-6:] == ["2", "1", "1", "1", "0", "0"]
    assert circuit_json(design_of(LITTLE))["complete"]
