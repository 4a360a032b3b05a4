"""The tempting question: would the next rating up still guard the conductor and be what the maker asks for?

Answered by the same rules over the same design with that one fact changed; never as a cure.
"""

from __future__ import annotations

import datetime
import re
from collections.abc import Collection, Mapping
from dataclasses import dataclass, field

from linter.advice.overlay import Changes, overlaid, trying
from linter.advice.tripped.asked import Asked, asked_of
from linter.advice.tripped.series import Next, next_up
from linter.history.compare import BothSides, delta
from linter.history.renames import Names
from linter.model.build import build
from linter.model.elements import Accepted, Conductor, Device
from linter.rules.engine import Examination, examine
from linter.rules.finding import Finding, Severity
from linter.rules.registry import Rule, rules
from linter.source.files import DesignSource
from linter.source.statements import Fact
from linter.source.units import Quantity
from linter.study.choice import sizes_like

#: So many times the conductors are made one size larger before it is given up.
MOST_STEPS = 4
_Changes = dict[tuple[str, str], dict[str, tuple[Fact, ...]]]
#: What no conductor mends: the device would be another than its maker, its holder or its series allows.
OF_THE_DEVICE = frozenset({"device-not-as-asked", "rating-not-made", "current-rating", "contradicts-part"})
_NAME = re.compile(r"[^\W\d][\w-]*")


@dataclass(slots=True)
class Tried:
    """What the rules say of the design with a change: findings that it would raise, those at the device that stand
    already and would stay, and acceptances without which there would be more."""

    raised: list[Finding] = field(default_factory=list)
    standing: list[Finding] = field(default_factory=list)
    leans_on: list[Accepted] = field(default_factory=list)
    complete: bool = True


@dataclass(slots=True)
class Larger:
    """``next``: the rating tried and of which series (None: ``why_not`` says why there is none).  ``conductors``:
    (name, size) with which it would raise none; empty where none do: ``grown`` is then the last sizes that were tried
    and ``left`` what they leave.  ``asked``: what makers of loads behind it ask for."""

    why_not: str = ""
    next: Next | None = None
    tried: Tried = field(default_factory=Tried)
    conductors: list[tuple[str, str]] = field(default_factory=list)
    conductors_lean_on: list[Accepted] = field(default_factory=list)
    grown: list[tuple[str, str]] = field(default_factory=list)
    left: list[Finding] = field(default_factory=list)
    asked: list[Asked] = field(default_factory=list)

    @property
    def next_a(self) -> float | None:
        return self.next.rating_a if self.next is not None else None

    @property
    def raised(self) -> list[Finding]:
        return self.tried.raised

    @property
    def refused(self) -> bool:
        """Whether the answer is no: it breaks something, or leaves something broken."""
        return any(f.severity is not Severity.DOUBT for f in (*self.raised, *self.tried.standing))

    @property
    def answer(self) -> str:
        """In a few words, for machines too."""
        if self.next is None:
            return "not asked"
        if self.refused:
            return "no"
        if not self.tried.complete or self.tried.standing or self.raised:
            return "not proved"
        return f"{'leans on an acceptance' if self.tried.leans_on else 'raises nothing'}, and cures nothing"


def larger(
    source: DesignSource, now: Examination, device: Device, today: datetime.date | None,
    asked: list[Asked] | None = None,
) -> Larger:  # fmt: skip
    """Try the next rating up, then larger conductors with it.  Examines the design some times.  ``asked``: what makers
    ask for, where it is known already."""
    asked = asked_of(now.study, device) if asked is None else asked
    if device.rated_a is None:
        return Larger("its rating is not told, so there is no next one", asked=asked)
    unseen = _unseen(now, device)
    if unseen:
        return Larger(unseen, asked=asked)
    found = next_up(now.design, device)
    if found is None:
        return Larger("no series known here has a larger one", asked=asked)
    every = list(rules())
    facts: dict[str, tuple[Fact, ...]] = {
        "current": (trying("current", Quantity("CURRENT", found.rating_a, f"{found.rating_a:g} A")),)
    }
    if found.part:
        facts["part"] = (_part_fact(now, found.part),)
    rating: _Changes = {("element", device.name): facts}
    made = Larger("", found, _tried(source, rating, now, device, every, today), asked=asked)
    raised = made.raised
    if not raised or any(f.rule in OF_THE_DEVICE for f in raised):
        made.left = [f for f in raised if f.rule in OF_THE_DEVICE]
        return made
    _with_conductors(source, made, rating, now, device, every, today)
    return made


def _unseen(now: Examination, device: Device) -> str:
    """Why no rule can tell whether a larger one would still guard; nothing where they can."""
    edge = now.design.circuit.edge_of.get(device.name)
    if edge is None or not (now.study.fed(edge.u) or now.study.fed(edge.v)):
        return "nothing feeds it in this design, so nothing tells whether a larger one would guard its conductor"
    return ""


def _part_fact(now: Examination, part: str) -> Fact:
    """Another sheet by its name, as it is declared."""
    token = now.design.parts[part].statement.name
    assert token is not None
    return trying("part", token, f"part {part}")


def _tried(
    source: DesignSource, changes: Changes, now: Examination, device: Device, every: list[Rule],
    today: datetime.date | None,
) -> Tried:  # fmt: skip
    then = examine(build(overlaid(source, changes)), every, today, before=now.study)
    asked = {r.name for r in every}
    before = [f for f in now.findings if f.rule in asked]
    worse = delta(before, then.findings, Names(), BothSides(now, then)).worse
    raised = [f for f in worse if _counts(f)]
    guarded = {name for name, made in then.study.conductors.items() if device.name in made.guard}
    # of a conductor behind it only what is not told: that it is guarded is then not proved
    at_it = [
        f for f in then.findings if _about(f, device.name) or (f.severity is Severity.DOUBT and f.subject in guarded)
    ]
    leaning = [f for f in then.findings if f.accepted and (_about(f, device.name) or f in worse)]
    standing = sorted((f for f in at_it if _counts(f) and f not in raised), key=lambda f: f.severity.rank)
    return Tried(raised, standing, _acceptances(now, leaning), then.complete)


def _counts(finding: Finding) -> bool:
    return finding.severity is not Severity.ADVICE and not finding.accepted


def _about(finding: Finding, device: str) -> bool:
    return finding.subject == device or device in finding.guard or device in _NAME.findall(finding.message)


def _acceptances(now: Examination, findings: Collection[Finding]) -> list[Accepted]:
    keys = {(f.rule, f.subject) for f in findings}
    return [a for a in now.design.accepted if (a.rule, a.subject) in keys]


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
        changes: _Changes = {**rating, **{("element", n): {"area": (trying("area", s),)} for n, s in sizes.items()}}
        tried = _tried(source, changes, now, device, asked, today)
        left = _others(tried.raised, sizes)
        if not left:
            # by all rules, and not only by those that spoke before
            tried = _tried(source, changes, now, device, every, today)
            left = _others(tried.raised, sizes)
            asked += [r for r in every if r not in asked and any(f.rule == r.name for f in left)]
        if not left:
            made.conductors = [(name, size.text) for name, size in sizes.items()]
            made.conductors_lean_on = tried.leans_on
            return
    made.grown = [(name, size.text) for name, size in sizes.items()]
    made.left = left


def _others(found: list[Finding], sizes: Mapping[str, Quantity]) -> list[Finding]:
    """Without what a sheet says against another size: a conductor of another size has another sheet."""
    return [f for f in found if not (f.rule == "contradicts-part" and f.subject in sizes)]


def _guarded(now: Examination, device: str, finding: Finding) -> list[str]:
    """Where a finding is at the device itself, the conductors that it guards."""
    if finding.subject != device:
        return []
    return [name for name, made in now.study.conductors.items() if device in made.guard]
