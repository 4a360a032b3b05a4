"""Every case is examined by the tool and judged apart from it; what they do not agree on is kept."""

from __future__ import annotations

import random
import tempfile
from collections.abc import Iterator
from dataclasses import dataclass, field
from pathlib import Path

from linter.model.build import build
from linter.model.design import Design
from linter.model.export import circuit_json
from linter.rules.engine import examine
from linter.rules.registry import rules
from linter.source.files import Reader

from ..judge.reading import design_in
from ..judge.wrongs import COVERED, judge
from .breaks import BREAKS
from .harmless import HARMLESS
from .text import Boat, read_boat

GRAVE = {"danger", "fault"}
AS_SHE_IS = "as she is"


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


def compare(design: Design, outcome: Outcome, every_rule: bool = True) -> Outcome:
    """Fill in what tool and judge say of a design.  Without ``every_rule`` only those rules are run that are compared."""
    examination = examine(design, None if every_rule else [r for r in rules() if r.name in COVERED])
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


class Workshop:
    """A folder in which one changed boat after the other is written and read; the parts she uses are read once."""

    def __init__(self, boat: Boat, folder: Path, every_rule: bool = True) -> None:
        self._every_rule = every_rule
        self._folder, self._parts, self._count = folder, _parts_of(boat), 0
        self._reader = Reader()
        boat.write(folder)

    def run(self, kind: str, case: str, boat: Boat) -> Outcome:
        made = Outcome(kind, case, boat.name)
        if _parts_of(boat) != self._parts:
            with tempfile.TemporaryDirectory() as folder:
                return compare(design_in(boat.write(Path(folder))), made, self._every_rule)
        self._count += 1
        path = self._folder / f"{self._count}-{boat.name}"
        path.write_text(boat.text(), encoding="utf-8")
        return compare(build(self._reader.design(str(path))), made, self._every_rule)


def _parts_of(boat: Boat) -> dict[str, tuple[str, ...]]:
    return {name: lines for name, lines in boat.files.items() if name != boat.name}


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


HEAD = ("cases", "wrong", "wrongs", "found", "missed", "false", "unread")
Tally = dict[str, list[int]]


def tally(outcomes: list[Outcome]) -> Tally:
    """By kind: cases, cases that are truly wrong, wrongs in them, wrongs found and missed, false alarms, unreadable."""
    # what is wrong with the boat as she is makes no case wrong
    before = next((o.wrong for o in outcomes if o.kind == AS_SHE_IS), set())
    made: Tally = {}
    for o in outcomes:
        row = made.setdefault(o.kind, [0] * len(HEAD))
        counts = (1, bool(o.wrong - before), len(o.wrong), len(o.found), len(o.missed), len(o.false), o.lost)
        for k, count in enumerate(counts):
            row[k] += int(count)
    return made


def table(tallies: list[Tally]) -> str:
    """All tallies of one boat, added up."""
    added: Tally = {}
    for one in tallies:
        for kind, row in one.items():
            # each part of a campaign begins with the boat as she is
            if kind != AS_SHE_IS or kind not in added:
                added[kind] = [a + b for a, b in zip(added.get(kind, [0] * len(HEAD)), row, strict=True)]
    rows: list[tuple[str, ...]] = [("kind", *HEAD)]
    known = [kind for kind in (AS_SHE_IS, *BREAKS, *HARMLESS) if kind in added]
    rows += [(kind, *(str(n) for n in added[kind])) for kind in (*known, *(k for k in added if k not in known))]
    rows.append(("all", *(str(sum(column)) for column in zip(*added.values(), strict=True))))
    return "\n".join(f"{r[0]:44}" + "".join(f"{c:>8}" for c in r[1:]) for r in rows)
