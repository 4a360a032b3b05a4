"""What a change does: elements added, removed, renamed and changed; figures and findings that are others now."""

from __future__ import annotations

import math
from collections import Counter, defaultdict
from collections.abc import Iterable
from dataclasses import dataclass, field
from typing import Any

from linter.history.facts import WORDS, Thing, things_of
from linter.history.renames import Names, renames_of
from linter.history.sides import Side
from linter.report.data import study_json
from linter.report.devices import devices_json
from linter.report.loads import loads_json
from linter.rules.engine import Examination
from linter.rules.finding import Finding

#: Figures nearer than this part are the same: the order of a text must not look like a change.
SAME = 1e-6

#: What is compared of conductors, devices and loads, the weightiest first: key, words, unit.
FIGURES = (
    ("verdict", "verdict", ""), ("guard", "guard", ""), ("let_through_a", "let-through", "A"),
    ("allowed_a", "may be guarded by", "A"), ("margin_a", "margin", "A"), ("ampacity_a", "capacity", "A"),
    ("opens_s", "opens in", "s"), ("heat_percent", "heat, of what it stands", "%"),
    ("breaks_a", "breaks", "A"), ("prospective_a", "largest fault to break", "A"), ("largest_a", "largest fault", "A"),
    ("smallest_a", "smallest fault", "A"), ("above", "device above it", ""), ("volts_v", "voltage at its lowest", "V"),
    ("drop_percent", "voltage drop at its worst", "%"), ("load_current_a", "load current", "A"),
)  # fmt: skip
RANK = {key: rank for rank, (key, _, _) in enumerate(FIGURES)}
UNLIMITED, NEVER = "unlimited", "never"


@dataclass(frozen=True, slots=True)
class Change:
    """One fact or figure: what it was and what it is; None where there was or is none."""

    what: str
    was: Any
    now: Any


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
        return any(c.what not in WORDS for c in self.changes)


@dataclass(slots=True)
class Graver:
    """A finding that both sides have and that is worse now: of graver severity, or no longer accepted."""

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
        """Whether anything but names, words and order is otherwise."""
        found = self.findings
        return bool(
            self.added or self.removed or self.effects or found.new or found.graver or found.gone
            or any(c.electrical for c in self.changed)
        )  # fmt: skip

    @property
    def empty(self) -> bool:
        return not (self.electrical or self.renamed or self.changed)


def compared(old: Side, new: Side, was: Examination, now: Examination) -> Comparison:
    """Both sides, examined by the same rules on the same day."""
    made = Comparison(old, new, was, now, text_differs=old.texts != new.texts)
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
    made.effects = _effects(was, now, names)
    made.findings = delta(was.findings, now.findings, names)
    weights = {e.name: n for n, e in enumerate(made.effects)}
    made.changed.sort(key=lambda c: (not c.electrical, weights.get(c.name, len(weights))))
    return made


def _renamed(key: tuple[str, str], names: Names) -> tuple[str, str]:
    family, name = key
    if family == "element":
        return family, names.now(name)
    if family == "acceptance":
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
        Change(k, was.get(k), new.facts.get(k))
        for k in keys
        if k != "label" and not alike(was.get(k), new.facts.get(k))
    ]
    ends = (old.joins(names.now), new.joins(str))
    if ends[0] != ends[1]:
        found.append(Change("between", *([" + ".join(e) or "nothing" for e in side] for side in ends)))
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


def figures(made: Examination) -> dict[str, dict[str, Any]]:
    """By element, the figures of FIGURES that a study has of it; absent where not known."""
    found: dict[str, dict[str, Any]] = defaultdict(dict)
    for row in study_json(made.study)["conductors"]:
        fault, ways = row["prospective"], row["clearing"]
        mine = found[row["id"]]
        mine |= {k: row[k] for k in ("verdict", "ampacity_a", "allowed_a", "margin_a", "load_current_a")}
        mine["guard"] = sorted(row["guard"])
        mine["let_through_a"] = UNLIMITED if row["let_through_unlimited"] else row["let_through_a"]
        if not fault["unknown"]:
            mine["largest_a"] = max(fault["largest_from_a"] or 0.0, fault["largest_to_a"] or 0.0)
            mine["smallest_a"] = fault["smallest_a"]
        if ways and not any(w["unknown"] for w in ways):
            late = [w["smallest"]["opens_s"] for w in ways]
            mine["opens_s"] = NEVER if None in late else max(late)
            heats = [h for w in ways for h in (w["worst_heat"], w["worst_heat_beyond"]) if h is not None]
            if heats:
                endless = any(h["let_through_a2s"] is None for h in heats)
                shares = [100.0 * h["let_through_a2s"] / h["withstand_a2s"] for h in heats if not endless]
                mine["heat_percent"] = UNLIMITED if endless else max(shares)
    for row in devices_json(made.study)["devices"]:
        found[row["id"]] |= {k: row[k] for k in ("prospective_a", "breaks_a")} | {"above": sorted(row["above"])}
    for row in loads_json(made.study)["loads"]:
        mine = found[row["id"]]
        if row["lowest"]:
            mine["volts_v"] = row["lowest"]["volts_v"]
        worst = row["worst"] or row["alone"]
        if worst:
            mine["drop_percent"] = worst["drop_percent"]
    return found


def _effects(was: Examination, now: Examination, names: Names) -> list[Changed]:
    """Figures of elements that both sides have, the weightiest first; among equals, what has got worse first."""
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


def _gravity(finding: Finding) -> tuple[bool, int]:
    return bool(finding.accepted), finding.severity.rank


def delta(was: Iterable[Finding], now: Iterable[Finding], names: Names | None = None) -> Delta:
    """New, graver, gone and remaining findings.  Several of one rule at one element are matched by what they say, then
    gravest with gravest."""
    naming = names or Names()
    made = Delta()
    before: dict[tuple[str, str], list[Finding]] = defaultdict(list)
    for finding in was:
        before[finding.rule, naming.now(finding.subject)].append(finding)
    after: dict[tuple[str, str], list[Finding]] = defaultdict(list)
    for finding in now:
        after[finding.rule, finding.subject].append(finding)
    for key, found in after.items():
        left = sorted(before.get(key, []), key=_gravity)
        said = Counter(f.message for f in left)
        pairs: list[tuple[Finding, Finding]] = []
        unmatched = []
        for finding in sorted(found, key=_gravity):
            if said[finding.message] > 0:
                said[finding.message] -= 1
                old = next(f for f in left if f.message == finding.message)
                left.remove(old)
                pairs.append((old, finding))
            else:
                unmatched.append(finding)
        pairs += zip(left, unmatched, strict=False)
        made.new += unmatched[len(left) :]
        made.gone += left[len(unmatched) :]
        for old, finding in pairs:
            if _gravity(finding) < _gravity(old):
                made.graver.append(Graver(old, finding))
            else:
                made.still.append(finding)
    made.gone += [f for key, left in before.items() if key not in after for f in left]
    made.new.sort(key=_gravity)
    made.gone.sort(key=_gravity)
    return made
