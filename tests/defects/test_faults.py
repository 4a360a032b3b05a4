"""Boats broken where faults are concerned: what is wrong is found as gravely as it is, and nothing else is said.

The judge integrates heating numerically and follows device after device by the nodal equations of the whole network.  A
few cases in the suite; with WIREWORTHY_CAMPAIGN=1 hundreds, and the table of what came of them.
"""

from __future__ import annotations

import os
import random
from collections.abc import Callable
from functools import cache
from pathlib import Path

import pytest

from ..judge.fault_compare import fault_differences
from ..judge.fault_judge import Memory
from ..judge.reading import design_in
from .campaign import AS_SHE_IS, GRAVE, Outcome, sound, tally
from .fault_breaks import FAULT_BREAKS
from .text import Boat

BOATS = Path(__file__).parents[2] / "boats"
CAMPAIGN = bool(os.environ.get("WIREWORTHY_CAMPAIGN"))
# boat -> (cases of each kind at most, in how many parts)
PARTS = {"launch": (999, 1), "cutter": (999, 4), "motor-yacht": (24, 6)} if CAMPAIGN else {"launch": (3, 1)}


@cache
def boat(name: str) -> tuple[Boat, Memory]:
    """A boat, and what the judge has said of her conductors: most cases change the surroundings of a few."""
    return sound(BOATS / f"{name}.boat"), {}


def judged(kind: str, case: str, which: Boat, folder: Path, memory: Memory) -> Outcome:
    made = Outcome(kind, case, which.name)
    folder.mkdir()
    design = design_in(which.write(folder))
    if any(m.loses for m in design.mistakes):
        made.lost = True
        return made
    differ, word, said = fault_differences(design, memory)
    made.broken = [("broken", d) for d in differ if d.startswith("broken")]
    made.wrong = {key for key, sure in word.said.items() if sure <= GRAVE}
    made.found = {key for key in made.wrong if said.get(key) in GRAVE}
    for key in said.keys() | word.said.keys():
        sure, ours = word.said.get(key, {""}), said.get(key, "")
        if ours not in sure:
            # said too gravely or not gravely enough: both count, a doubt as well as a fault
            (made.false if ours in GRAVE or sure == {""} else made.missed).add(key)
    return made


@pytest.mark.parametrize(
    ("name", "kind", "part"),
    [(n, k, p) for n, (_, parts) in PARTS.items() for k in FAULT_BREAKS for p in range(parts)],
)
def test_what_is_broken_is_found(
    name: str, kind: str, part: int, tmp_path: Path, record_property: Callable[[str, object], None]
) -> None:
    which, memory = boat(name)
    breaks, make = FAULT_BREAKS[kind]
    most, parts = PARTS[name]
    every = list(make(which))
    chosen = random.Random(1).sample(every, min(len(every), most))[part::parts]
    outcomes = [judged(AS_SHE_IS, "", which, tmp_path / "as-she-is", memory)]
    outcomes += [judged(kind, what, b, tmp_path / str(k), memory) for k, (what, b) in enumerate(chosen)]
    record_property("campaign", [f"{name}, faults", tally(outcomes)])
    assert [(o.case, o.missed, o.false, o.broken) for o in outcomes if not o.agreed] == []
    assert sum(o.lost for o in outcomes) < 0.1 * len(outcomes), "too few of the texts can be read"
    if breaks and name == "launch":
        assert any(rule == breaks for o in outcomes for rule, _ in o.wrong), "nothing was broken"
