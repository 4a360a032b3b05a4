"""What a change does: elements added, removed, renamed and changed; figures and findings that are others now."""

from __future__ import annotations

import datetime
import math
import re
from collections import defaultdict
from collections.abc import Iterable
from dataclasses import dataclass, field, replace
from typing import Any

from linter.history.facts import ACCEPTANCE, WORDS, Thing, things_of, unsaid
from linter.history.figures import FIGURES, RANK
from linter.history.figures import figures as figures  # for those who show a comparison elsewhere
from linter.history.outgrown import OTHERWISE, Acceptances
from linter.history.renames import Names, renames_of
from linter.history.sides import Side
from linter.report.identity import what_of
from linter.rules.engine import Examination, examine
from linter.rules.finding import Finding

#: Figures nearer than this part are the same: the order of a text must not look like a change.
SAME = 1e-6


@dataclass(frozen=True, slots=True)
class Change:
    """One fact or figure: what it was and what it is; None where there was or is none."""

    what: str
    was: Any
    now: Any
    # by side, what counts where nothing is said: words, the fact it is taken from, its value
    unsaid: tuple[tuple[str, str, Any], ...] = ()


@dataclass(slots=True)
class Changed:
    """Something that both sides declare, with what is otherwise; ``was`` its former name."""

    name: str
    kind: str
    label: str
    changes: list[Change]
    was: str = ""

    @property
    def electrical(self) -> bool:
        return self.kind != ACCEPTANCE and any(c.what not in WORDS for c in self.changes)


@dataclass(slots=True)
class Graver:
    """A finding that both sides have and that is worse now: of graver severity, no longer accepted, or outgrown what
    was accepted."""

    was: Finding
    now: Finding


@dataclass(slots=True)
class Delta:
    """Findings matched by rule and element."""

    new: list[Finding] = field(default_factory=list)
    graver: list[Graver] = field(default_factory=list)
    gone: list[Finding] = field(default_factory=list)
    still: list[Finding] = field(default_factory=list)

    @property
    def worse(self) -> list[Finding]:
        """What the change made worse, the gravest first."""
        return sorted([*self.new, *(g.now for g in self.graver)], key=_gravity)


@dataclass(slots=True)
class Comparison:
    old: Side
    new: Side
    was: Examination
    now: Examination
    added: list[Thing] = field(default_factory=list)
    removed: list[Thing] = field(default_factory=list)
    renamed: dict[str, str] = field(default_factory=dict)
    changed: list[Changed] = field(default_factory=list)
    effects: list[Changed] = field(default_factory=list)
    findings: Delta = field(default_factory=Delta)
    text_differs: bool = False

    @property
    def complete(self) -> bool:
        return self.was.complete and self.now.complete

    @property
    def electrical(self) -> bool:
        """Whether anything is otherwise but names, words, order and what is accepted."""
        things = any(t.kind != ACCEPTANCE for t in (*self.added, *self.removed))
        return things or bool(self.effects) or any(c.electrical for c in self.changed)

    @property
    def empty(self) -> bool:
        found = self.findings
        said = found.new or found.graver or found.gone
        return not (self.electrical or self.renamed or self.changed or self.added or self.removed or said)


@dataclass(frozen=True, slots=True)
class Since:
    """What has become of a design: its findings against those it had, and the comparison; None: it is new."""

    findings: Delta
    made: Comparison | None


def examined(old: Side, new: Side, today: datetime.date | None = None) -> tuple[Examination, Examination]:
    """Both sides by all rules on the same day.  What is the same in both is reckoned once."""
    day = today or datetime.date.today()
    now = examine(new.design, None, day)
    if old.same_text(new) and now.complete and not now.mistakes:
        return replace(now, design=old.design), now
    return examine(old.design, None, day, before=now.study), now


def compared(
    old: Side, new: Side, was: Examination, now: Examination, *, figures_too: bool = True
) -> Comparison:  # fmt: skip
    """Both sides, examined by the same rules on the same day.  ``figures_too``: with what it does to figures."""
    made = Comparison(old, new, was, now, text_differs=sorted(old.texts) != sorted(new.texts))
    before, after = things_of(old), things_of(new)
    names = renames_of(before, after)
    made.renamed = dict(names.given)
    # an acceptance is known by its rule and element, and follows the element
    paired = {_renamed(key, names): thing for key, thing in before.items()}
    made.added = [t for k, t in after.items() if k not in paired]
    made.removed = [t for k, t in paired.items() if k not in after]
    for key, thing in after.items():
        if key in paired:
            changes = _facts_changed(paired[key], thing, names)
            if changes:
                former = paired[key].name if paired[key].name != thing.name else ""
                made.changed.append(Changed(thing.name, thing.kind, thing.label, changes, former))
    made.effects = _effects(was, now, names) if figures_too else []
    accepted = Acceptances(was, now, names)
    made.findings = delta(was.findings, now.findings, names, BothSides(was, now), accepted)
    made.now = accepted.applied()
    weights = {e.name: n for n, e in enumerate(made.effects)}
    made.changed.sort(key=lambda c: (not c.electrical, weights.get(c.name, len(weights))))
    return made


def _renamed(key: tuple[str, str], names: Names) -> tuple[str, str]:
    family, name = key
    if family == "element":
        return family, names.now(name)
    if family == ACCEPTANCE:
        rule, _, subject = name.partition(" at ")
        return family, f"{rule} at {names.now(subject)}"
    return key


def _facts_changed(old: Thing, new: Thing, names: Names) -> list[Change]:
    was = {k: names.translated(v) for k, v in old.facts.items()} if new.kind == "scene" else old.facts
    keys = dict.fromkeys([*was, *new.facts])
    found = [Change("label", old.label or None, new.label or None)] if old.label != new.label else []
    if old.kind != new.kind:
        found.append(Change("kind", old.kind, new.kind))
    found += [
        Change(k, was.get(k), new.facts.get(k), (unsaid(old, k), unsaid(new, k)))
        for k in keys
        if k != "label" and not alike(was.get(k), new.facts.get(k))
    ]
    ends = (old.joins(names.now), new.joins(str))
    if ends[0] != ends[1]:
        meets = [[" + ".join(e) or "nothing" for e in side] for side in ends]
        found.append(Change("between", meets[0], meets[1]))
    return found


def alike(a: Any, b: Any) -> bool:
    """Whether two values are the same, figures within rounding."""
    if isinstance(a, bool) or isinstance(b, bool):
        return a is b
    if isinstance(a, int | float) and isinstance(b, int | float):
        return math.isclose(a, b, rel_tol=SAME, abs_tol=1e-9)
    if isinstance(a, list) and isinstance(b, list):
        return len(a) == len(b) and all(alike(x, y) for x, y in zip(a, b, strict=True))
    if isinstance(a, dict) and isinstance(b, dict):
        return a.keys() == b.keys() and all(alike(v, b[k]) for k, v in a.items())
    return bool(a == b)


def _effects(was: Examination, now: Examination, names: Names) -> list[Changed]:
    """Figures of elements that both sides have, the weightiest first; among equals, what has got worse first."""
    if was.study is now.study:
        return []
    before = {names.now(k): v for k, v in figures(was).items()}
    found = []
    for name, after in figures(now).items():
        former = before.get(name)
        element = now.design.elements.get(name)
        if former is None or element is None:
            continue
        changes = []
        for key, _, _ in FIGURES:
            old, new = former.get(key), after.get(key)
            if key in {"guard", "above"}:
                old = sorted(names.now(n) for n in old or [])
                new = new or []
            if not alike(old, new):
                changes.append(Change(key, old, new))
        if changes:
            found.append(Changed(name, element.kind, element.label, changes))
    return sorted(found, key=lambda c: (RANK[c.changes[0].what], not _worse(c)))


def _worse(changed: Changed) -> bool:
    """Whether the protection of a conductor has got worse: it was proved and is not."""
    first = changed.changes[0]
    return first.what == "verdict" and first.was in {"protected", "within distance"}


_NAME = re.compile(r"[^\W\d][\w-]*")


@dataclass(frozen=True, slots=True)
class BothSides:
    """What the two examinations know of a finding beyond its sentence; nothing where there are none."""

    was: Examination | None = None
    now: Examination | None = None

    def words(self, finding: Finding, former: bool, names: Names) -> str:
        """What is wrong, without figures and labels, in present names."""
        side = self.was if former else self.now
        said = what_of(finding, side.design.elements if side is not None else {})
        return _NAME.sub(lambda m: names.now(m[0]), said) if former else said

    def worse(self, old: Finding, new: Finding) -> bool:
        """Whether a conductor is guarded less than it was."""
        shares = self._shares(old, new)
        return shares is not None and shares[1] > shares[0] * (1 + OTHERWISE)

    def no_worse(self, old: Finding, new: Finding) -> bool:
        if old.rule.startswith("acceptance-"):
            # what is said of an acceptance has its writer's own words in it
            return True
        shares = self._shares(old, new)
        return shares is not None and shares[1] <= shares[0] * (1 + OTHERWISE)

    def _shares(self, old: Finding, new: Finding) -> tuple[float, float] | None:
        """What may persist in the conductor as a share of what is allowed, before and after."""
        if self.was is None or self.now is None or old.rule != "conductor-unprotected":
            return None
        made = self.was.study.conductors.get(old.subject), self.now.study.conductors.get(new.subject)
        if made[0] is None or made[1] is None or not made[0].allowed_a or not made[1].allowed_a:
            return None
        return made[0].let_through_a / made[0].allowed_a, made[1].let_through_a / made[1].allowed_a


def _gravity(finding: Finding) -> tuple[bool, int]:
    return bool(finding.accepted), finding.severity.rank


def delta(
    was: Iterable[Finding], now: Iterable[Finding], names: Names | None = None, sides: BothSides | None = None,
    accepted: Acceptances | None = None,
) -> Delta:  # fmt: skip
    """New, graver, gone and remaining findings.  Several of one rule at one element are matched by what they say.

    What says something else is another finding, unless ``sides`` shows that it is no worse; what says the same with
    worse figures is graver.  ``accepted``: what lapsed is not accepted.
    """
    naming = names or Names()
    made = Delta()
    before: dict[tuple[str, str], list[Finding]] = defaultdict(list)
    for finding in was:
        before[finding.rule, naming.now(finding.subject)].append(finding)
    after: dict[tuple[str, str], list[Finding]] = defaultdict(list)
    for finding in now:
        after[finding.rule, finding.subject].append(finding)
    known = sides or BothSides()
    for key, found in after.items():
        left = sorted(before.get(key, []), key=_gravity)
        pairs: list[tuple[Finding, Finding]] = []
        unmatched = sorted(found, key=_gravity)
        # word for word, then but for figures and names, then what is known to be no worse
        for same in (
            lambda old, new: old.message == new.message,
            lambda old, new: known.words(old, True, naming) == known.words(new, False, naming),
            lambda old, new: (
                _gravity(new) >= _gravity(old)
                and (known.no_worse(old, new) or (accepted is not None and accepted.excused_still(old, new)))
            ),
        ):
            others = []
            for finding in unmatched:
                old = next((f for f in left if same(f, finding)), None)
                if old is None:
                    others.append(finding)
                else:
                    left.remove(old)
                    pairs.append((old, finding))
            unmatched = others
        made.new += [accepted.counted(None, f) if accepted is not None else f for f in unmatched]
        made.gone += left
        for old, found_now in pairs:
            finding = accepted.counted(old, found_now) if accepted is not None else found_now
            if _gravity(finding) < _gravity(old) or known.worse(old, finding):
                made.graver.append(Graver(old, finding))
            else:
                made.still.append(finding)
    made.gone += [f for key, left in before.items() if key not in after for f in left]
    made.new.sort(key=_gravity)
    made.gone.sort(key=_gravity)
    return made
