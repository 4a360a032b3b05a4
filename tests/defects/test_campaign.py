"""The boats of the demonstration, broken and changed: whatever is truly wrong is found, and nothing else is said.

A few hundred cases in the suite; with WIREWORTHY_CAMPAIGN=1 every kind in every place, some fourteen thousand, and
the table of what came of them.
"""

from __future__ import annotations

import os
from collections.abc import Callable
from pathlib import Path

import pytest

from ..judge.reading import circuit_of, design_of
from ..judge.wrongs import judge
from .breaks import BREAKS
from .campaign import AS_SHE_IS, Outcome, Workshop, cases, compare, sample, sound, table, tally
from .harmless import HARMLESS
from .text import Boat, boat_of, having, join, logical, split

BOATS = Path(__file__).parents[2] / "boats"
CAMPAIGN = bool(os.environ.get("WIREWORTHY_CAMPAIGN"))
# boat -> (cases of each kind in the suite; the campaign has them all), (parts in the suite, in the campaign)
BOATS_AND_PARTS = {"launch.boat": (3, (2, 6)), "cutter.boat": (2, (2, 16)), "motor-yacht.boat": (1, (4, 240))}
PARTS = [(name, k, parts[CAMPAIGN]) for name, (_, parts) in BOATS_AND_PARTS.items() for k in range(parts[CAMPAIGN])]

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


@pytest.mark.parametrize(("name", "part", "parts"), PARTS)
def test_the_boats(
    name: str, part: int, parts: int, tmp_path: Path, record_property: Callable[[str, object], None]
) -> None:
    """A sample of every kind, the same cases every time; in the campaign every kind in every place."""
    boat = sound(BOATS / name)
    # all the other rules are run over the smallest boat only, to see that none breaks
    workshop = Workshop(boat, tmp_path, every_rule=not CAMPAIGN and name == "launch.boat")
    every = list(cases(boat)) if CAMPAIGN else sample(boat, BOATS_AND_PARTS[name][0], seed=7)
    outcomes = [workshop.run(AS_SHE_IS, "", boat), *(workshop.run(*case) for case in every[part::parts])]
    if CAMPAIGN:
        record_property("campaign", [name, tally(outcomes)])
    assert sum(o.lost for o in outcomes) < 0.1 * len(outcomes), "too few of the texts can be read"
    assert [_said(o) for o in outcomes if not o.agreed] == []


@pytest.mark.parametrize("name", BOATS_AND_PARTS)
def test_most_kinds_have_their_cases(name: str) -> None:
    assert len({kind for kind, _, _ in cases(sound(BOATS / name))}) > 0.6 * len(BREAKS | HARMLESS)


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


def test_the_table_counts() -> None:
    kind = next(iter(BREAKS))
    one = [
        Outcome(AS_SHE_IS, "", "b", wrong={("r", "z")}, found={("r", "z")}),
        Outcome(kind, "a", "b", wrong={("r", "x"), ("r", "z")}, found={("r", "x"), ("r", "z")}),
        Outcome(kind, "c", "b", wrong={("r", "y"), ("r", "z")}, found={("r", "z")}, missed={("r", "y")}),
    ]
    two = [
        one[0],
        Outcome(kind, "d", "b", wrong={("r", "z")}, found={("r", "z")}, false={("r", "w")}),
        Outcome(kind, "e", "b", lost=True),
    ]
    rows = {line[:44].strip(): line[44:].split() for line in table([tally(one), tally(two)]).split("\n")}
    assert rows[AS_SHE_IS] == ["1", "0", "1", "1", "0", "0", "0"]
    assert rows[kind] == ["4", "2", "5", "4", "1", "1", "1"]
    assert rows["all"] == ["5", "2", "6", "5", "1", "1", "1"]
