"""Every case is examined by the tool and judged apart from it; what they do not agree on is kept."""

from __future__ import annotations

import random
import tempfile
from collections.abc import Iterator
from dataclasses import dataclass, field
from pathlib import Path

from linter.model.design import Design
from linter.model.export import circuit_json
from linter.rules.engine import examine

from ..judge.reading import design_in
from ..judge.wrongs import COVERED, judge
from .breaks import BREAKS
from .harmless import HARMLESS
from .text import Boat, read_boat

GRAVE = {"danger", "fault"}


@dataclass
class Outcome:
    """What came of one case; ``lost`` if its text cannot be understood, which the tool then says."""

    kind: str
    case: str
    boat: str
    wrong: set[tuple[str, str]] = field(default_factory=set)
    found: set[tuple[str, str]] = field(default_factory=set)
    missed: set[tuple[str, str]] = field(default_factory=set)
    false: set[tuple[str, str]] = field(default_factory=set)
    lost: bool = False
    broken: list[tuple[str, str]] = field(default_factory=list)

    @property
    def agreed(self) -> bool:
        return not (self.missed or self.false or self.broken)


def compare(design: Design, outcome: Outcome) -> Outcome:
    """Fill in what tool and judge say of a design."""
    examination = examine(design)
    outcome.broken = list(examination.broken)
    if any(m.loses for m in examination.mistakes):
        outcome.lost = True
        return outcome
    said = {(f.rule, f.subject) for f in examination.findings if f.rule in COVERED}
    grave = {(f.rule, f.subject) for f in examination.findings if f.rule in COVERED and f.severity.value in GRAVE}
    word = judge(circuit_json(design))
    outcome.wrong = word.wrong
    outcome.found, outcome.missed = word.wrong & said, word.wrong - said
    outcome.false = grave - word.wrong - word.open
    return outcome


def run(kind: str, case: str, boat: Boat) -> Outcome:
    """One case, in a folder of its own."""
    with tempfile.TemporaryDirectory() as folder:
        return compare(design_in(boat.write(Path(folder))), Outcome(kind, case, boat.name))


def sound(path: Path) -> Boat:
    return read_boat(path, circuit_json(design_in(path)))


def cases(boat: Boat) -> Iterator[tuple[str, str, Boat]]:
    """All cases of a boat: (kind, what was done, the boat)."""
    for kind, make in (BREAKS | HARMLESS).items():
        for what, changed in make(boat):
            yield kind, what, changed


def sample(boat: Boat, most: int, seed: int) -> list[tuple[str, str, Boat]]:
    """So many cases of each kind at most, always the same ones."""
    chosen = random.Random(seed)
    made: list[tuple[str, str, Boat]] = []
    for kind, make in (BREAKS | HARMLESS).items():
        every = [(kind, what, changed) for what, changed in make(boat)]
        made += chosen.sample(every, min(most, len(every)))
    return made


def summary(outcomes: list[Outcome]) -> str:
    """The table: kind, cases, cases that are truly wrong, wrongs found and missed, false alarms, unreadable texts."""
    head = ("kind", "cases", "wrong", "found", "missed", "false", "unread")
    rows = [head]
    # what is wrong with the boat as she is makes no case wrong
    before = next((o.wrong for o in outcomes if o.kind == "as she is"), set())
    for kind in [*BREAKS, *HARMLESS, "all"]:
        mine = [o for o in outcomes if kind in (o.kind, "all")]
        if mine:
            rows.append((
                kind, str(len(mine)), str(sum(bool(o.wrong - before) for o in mine)), str(sum(len(o.found) for o in mine)),
                str(sum(len(o.missed) for o in mine)), str(sum(len(o.false) for o in mine)), str(sum(o.lost for o in mine)),
            ))  # fmt: skip
    return "\n".join(f"{r[0]:44}" + "".join(f"{c:>8}" for c in r[1:]) for r in rows)
