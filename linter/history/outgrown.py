"""Acceptances that what they excuse has outgrown.

Somebody accepted a finding as it was.  If a change makes it graver, or makes it say something else that is not shown to
be no worse, the acceptance counts no more, unless the change renews it: its reason or its last day is another.
"""

from __future__ import annotations

import math
import re
from dataclasses import dataclass, field, replace
from typing import Any

from linter.history.figures import NEVER, UNLIMITED, figures
from linter.history.renames import Names
from linter.report.identity import without_labels
from linter.rules.engine import Examination
from linter.rules.finding import Finding

_NAME = re.compile(r"[^\W\d][\w-]*")
# By how much a share has to differ that it is another.
OTHERWISE = 1e-6
# Of a finding as it was, so many letters are quoted.
MOST_QUOTED = 300

# By rule: the figure of its element that tells how grave it is, and what that is divided by, where there is something.
SHARES: dict[str, tuple[str, str]] = {
    "conductor-unprotected": ("let_through_a", "allowed_a"),
    "conductor-overloaded": ("load_current_a", "ampacity_a"),
    "harmed-before-opening": ("heat_percent", ""),
    "not-opened-in-time": ("opens_s", ""),
    "breaking-capacity": ("prospective_a", "breaks_a"),
}


@dataclass(slots=True)
class Acceptances:
    """What was accepted before a change, and as what.  ``lapsed``: by the id of each finding of the newer side whose
    acceptance counts no more, the same as it counts."""

    was: Examination
    now: Examination
    names: Names
    lapsed: dict[int, Finding] = field(default_factory=dict)
    _figures: dict[bool, dict[str, dict[str, Any]]] = field(default_factory=dict)

    def counted(self, old: Finding | None, new: Finding) -> Finding:
        """``new`` as it counts beside what it was before (None: nothing): not accepted where its acceptance lapsed."""
        if not new.accepted or (old is not None and not (old.accepted and self._outgrown(old, new))):
            return new
        if self._renewed(new):
            return new
        what = f"{new.rule} at {new.subject}"
        if old is None:
            old = next(
                (f for f in self.was.findings if (f.rule, self.names.now(f.subject)) == (new.rule, new.subject)), None
            )
        if old is None:
            why = f"{what} was accepted before there was this finding"
        elif old.message == new.message:
            why = f"{what} was accepted as {old.severity.value}"
        else:
            quoted = old.message if len(old.message) <= MOST_QUOTED else old.message[: MOST_QUOTED - 1] + "…"
            why = f"{what} was accepted as it was: {quoted}"
        mend = f"{why}. Have it accepted anew, with another date or reason" + (f"; or {new.mend}" if new.mend else "")
        self.lapsed[id(new)] = replace(new, accepted="", mend=mend)
        return self.lapsed[id(new)]

    def excused_still(self, old: Finding, new: Finding) -> bool:
        """Whether it was accepted and is, in other words, but no worse."""
        return bool(old.accepted and new.accepted) and self.no_worse(old, new)

    def applied(self) -> Examination:
        """The newer side with each finding as it counts."""
        return replace(self.now, findings=[self.lapsed.get(id(f), f) for f in self.now.findings])

    def _renewed(self, new: Finding) -> bool:
        """Whether the acceptance is none of those that there were; a new signature alone renews nothing."""
        before = {
            (" ".join(a.reason.split()), a.until)
            for a in self.was.design.accepted
            if (a.rule, self.names.now(a.subject)) == (new.rule, new.subject)
        }
        mine = [a for a in self.now.design.accepted if (a.rule, a.subject) == (new.rule, new.subject)]
        return not any((" ".join(a.reason.split()), a.until) in before for a in mine)

    def _outgrown(self, old: Finding, new: Finding) -> bool:
        if new.severity.rank < old.severity.rank:
            return True
        if self._words(old, True) == self._words(new, False):
            return False
        return not self.no_worse(old, new)

    def no_worse(self, old: Finding, new: Finding) -> bool:
        """Whether a figure shows that it is not."""
        shares = self._share(old, True), self._share(new, False)
        return shares[0] is not None and shares[1] is not None and shares[1] <= shares[0] * (1 + OTHERWISE)

    def _words(self, finding: Finding, former: bool) -> str:
        """What is wrong, with its figures, in present names and without labels."""
        side = self.was if former else self.now
        said = without_labels(finding, side.design.elements)
        return _NAME.sub(lambda m: self.names.now(m[0]), said) if former else said

    def _share(self, finding: Finding, former: bool) -> float | None:
        """How grave it is, the more the graver; None where no single figure tells."""
        side = self.was if former else self.now
        if finding.rule == "voltage-drop":
            return _drop(side, finding.subject)
        if finding.rule not in SHARES:
            return None
        if former not in self._figures:
            self._figures[former] = figures(side)
        mine = self._figures[former].get(finding.subject, {})
        over, under = SHARES[finding.rule]
        most, least = _number(mine.get(over)), _number(mine.get(under)) if under else 1.0
        return most / least if most is not None and least and math.isfinite(least) else None


def _number(value: Any) -> float | None:
    return math.inf if value in (UNLIMITED, NEVER) else None if value is None else float(value)


def _drop(side: Examination, name: str) -> float | None:
    """The drop that is judged of a load, in per cent."""
    node = side.study.design.circuit.by_name.get(name)
    if node is None:
        return None
    scenes = side.study.scenes()
    states = (at for at in (scenes.worst.get(node.index), scenes.alone.get(node.index)) if at is not None)
    return max((p for at in states if (p := scenes.percent(at)) is not None), default=None)
