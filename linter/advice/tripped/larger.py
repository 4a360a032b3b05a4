"""The tempting question: would the next rating up still guard the conductor and be what the maker asks for?

Answered by the same rules over the same design with that one fact changed; never as a cure.
"""

from __future__ import annotations

import datetime
from collections.abc import Mapping
from dataclasses import dataclass, field

from linter.advice.overlay import Changes, overlaid
from linter.history.compare import delta
from linter.model.build import build
from linter.model.elements import Conductor, Device
from linter.rules.engine import Examination, examine
from linter.rules.finding import Finding, Severity
from linter.rules.registry import Rule, rules
from linter.source.files import DesignSource
from linter.source.statements import Fact
from linter.source.units import Quantity
from linter.study.choice import ratings_of, sizes_like
from linter.tables.devices import standard_ratings

#: So many times the conductors are made one size larger before it is given up.
MOST_STEPS = 4
_Changes = dict[tuple[str, str], dict[str, tuple[Fact, ...]]]
#: What no conductor mends: the device would be another than its maker, its holder or its series allows.
OF_THE_DEVICE = frozenset({"device-not-as-asked", "rating-not-made", "current-rating", "contradicts-part"})


@dataclass(slots=True)
class Larger:
    """``next_a``: the rating tried (None: no series tells one).  ``raised``: findings that it would raise.
    ``conductors``: (name, size) with which it would raise none; empty where none do: ``left`` stays then."""

    why_not: str = ""
    next_a: float | None = None
    raised: list[Finding] = field(default_factory=list)
    conductors: list[tuple[str, str]] = field(default_factory=list)
    left: list[Finding] = field(default_factory=list)

    @property
    def refused(self) -> bool:
        return bool(self.raised)


def larger(source: DesignSource, now: Examination, device: Device, today: datetime.date | None) -> Larger:
    """Try the next rating up, then larger conductors with it.  Examines the design some times."""
    series = ratings_of(device.device_class, device.comes_in_a)
    if device.rated_a is None:
        return Larger("its rating is not told, so there is no next one")
    # where its own series ends there are others' still, and somebody has one to hand
    standard_a = standard_ratings().fuses_a if device.kind == "fuse" else standard_ratings().breakers_a
    every_a = (*series, *ratings_of(device.device_class), *standard_a)
    own_a = [a for a in series if a > device.rated_a * (1 + 1e-9)]
    next_a = min(own_a or [a for a in every_a if a > device.rated_a * (1 + 1e-9)], default=None)
    if next_a is None:
        return Larger("no series known here has a larger one")
    every = list(rules())
    rating: _Changes = {
        ("element", device.name): {"current": (_fact("current", Quantity("CURRENT", next_a, f"{next_a:g} A")),)}
    }
    raised = _raised(source, rating, now, every, today)
    made = Larger("", next_a, raised)
    if not raised or any(f.rule in OF_THE_DEVICE for f in raised):
        made.left = [f for f in raised if f.rule in OF_THE_DEVICE]
        return made
    _with_conductors(source, made, rating, now, device, every, today)
    return made


def _fact(key: str, value: Quantity) -> Fact:
    return Fact(key, (value,), 0, 0)


def _raised(
    source: DesignSource, changes: Changes, now: Examination, every: list[Rule], today: datetime.date | None
) -> list[Finding]:
    then = examine(build(overlaid(source, changes)), every, today, before=now.study)
    return [f for f in delta(now.findings, then.findings).worse if f.severity is not Severity.ADVICE and not f.accepted]


def _with_conductors(
    source: DesignSource, made: Larger, rating: _Changes, now: Examination,
    device: Device, every: list[Rule], today: datetime.date | None,
) -> None:  # fmt: skip
    """Conductors named by what is raised, or guarded by the device, one size up at a time until nothing is."""
    elements = now.study.design.elements
    sizes: dict[str, Quantity] = {}
    left = made.raised
    asked = [r for r in every if any(f.rule == r.name for f in left)]
    for _ in range(MOST_STEPS):
        wanted = {f.subject for f in left} | {name for f in left for name in _guarded(now, device.name, f)}
        moved = False
        for name in sorted(wanted):
            element = elements.get(name)
            if not isinstance(element, Conductor) or element.size is None:
                continue
            before = sizes.get(name, element.size)
            after = next((s for s in sizes_like(before) if s.value > before.value * (1 + 1e-9)), None)
            if after is not None:
                sizes[name], moved = after, True
        if not moved:
            break
        changes: _Changes = {**rating, **{("element", n): {"area": (_fact("area", s),)} for n, s in sizes.items()}}
        left = _others(_raised(source, changes, now, asked, today), sizes)
        if not left:
            # by all rules, and not only by those that spoke before
            left = _others(_raised(source, changes, now, every, today), sizes)
            asked += [r for r in every if r not in asked and any(f.rule == r.name for f in left)]
        if not left:
            made.conductors = [(name, size.text) for name, size in sizes.items()]
            return
    made.left = left


def _others(found: list[Finding], sizes: Mapping[str, Quantity]) -> list[Finding]:
    """Without what a sheet says against another size: a conductor of another size has another sheet."""
    return [f for f in found if not (f.rule == "contradicts-part" and f.subject in sizes)]


def _guarded(now: Examination, device: str, finding: Finding) -> list[str]:
    """Where a finding is at the device itself, the conductors that it guards."""
    if finding.subject != device:
        return []
    return [name for name, made in now.study.conductors.items() if device in made.guard]
