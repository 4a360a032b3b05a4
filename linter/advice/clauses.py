"""What a finding at one choice rules out: the choices at which it would be found too.

Each is sound for every choice of what it does not name.  Where larger is never worse for a demand, all smaller choices
are ruled out together with the one tried.
"""

from __future__ import annotations

import math
from collections.abc import Collection, Sequence
from dataclasses import dataclass
from typing import NamedTuple

from linter.advice.options import Open
from linter.advice.relation import Behind, Relation
from linter.rules.finding import Finding, Severity

# Findings that ask for a figure or for good practice, and do not say that something is wrong.
MILD = frozenset({Severity.DOUBT, Severity.ADVICE})


class Demand(NamedTuple):
    """One demand: that a rule finds nothing at an element.  ``mild``: not even a doubt or advice."""

    rule: str
    subject: str
    mild: bool = False


def demand_of(finding: Finding) -> Demand:
    """What a finding breaks."""
    return Demand(finding.rule, finding.subject, finding.severity in MILD)


def breaks(found: Demand, demand: Demand) -> bool:
    """Whether what was found breaks a demand: what is wrong leaves no room for mere advice either."""
    return found[:2] == demand[:2] and (demand.mild or not found.mild)


def left_out(demand: Demand, without: Collection[Demand]) -> bool:
    """Whether a demand is given up: who lives with what is wrong lives with advice about it."""
    return demand in without or (demand.mild and demand._replace(mild=False) in without)


# Neither sizes nor ratings have a say.
_NEVER = frozenset({"load-in-no-scene", "feeds-nothing", "not-fed", "scene-not-fed", "wrong-voltage", "systems-joined",
                    "relay-never-closed", "not-ignition-protected"})  # fmt: skip
# The element's own size or rating alone decides.
OWN = frozenset({
    "contradicts-part", "cable-less-than-asked", "device-not-as-asked", "conductor-overloaded", "conductor-too-small",
    "device-overloaded", "device-voltage", "rating-not-made", "figure-missing",
})  # fmt: skip
# The larger its own size or rating (of one series), the better.
_OWN_LARGER = frozenset({
    "conductor-overloaded", "conductor-too-small", "device-overloaded", "start-opens-device", "conductor-unprotected",
    "cable-less-than-asked",
})  # fmt: skip
# So too, but not for sure: a smaller conductor may be looked at in another way, as a stretch before its guard, or it is
# another demand that it breaks.
_OWN_MOSTLY_LARGER = frozenset({"protection-distance", "harmed-before-opening", "overload-condition",
                                "not-opened-in-time", "scene-not-carried"})  # fmt: skip
# Only devices have a say.
_DEVICES = frozenset({"start-opens-device"})
# Solved over the whole boat: every conductor has a say, and the larger the better.
_VOLTAGE = frozenset({"voltage-drop", "voltage-too-low", "scene-not-carried"})
# The larger any conductor on the way, the better, and the smaller any device.
_SMALLEST_FAULT = frozenset({"not-opened-in-time"})
# The larger a conductor on the way, the worse, as is a smaller device above.
_LARGEST_FAULT = frozenset({"not-coordinated"})
# No conductor but the element itself has a say, if no ring shares its current.
_GUARDED = frozenset({"conductor-unprotected", "return-unprotected", "protection-distance", "overload-condition"})
# The smaller its devices, the better: a larger one guards no more.
_UNGUARDED = frozenset({"conductor-unprotected", "return-unprotected"})
# Hangs on voltages, besides what stands on the way.
_ALSO_VOLTAGE = frozenset({"contact-resistance", "source-resistance"})
# What stands behind the subject has no say: a fault there draws nothing through it.
_UPWARD = frozenset({
    "harmed-before-opening", "not-opened-in-time", "breaking-capacity", "breaking-class", "overload-condition",
    "start-opens-device", "not-coordinated",
})  # fmt: skip
# What stands behind has a say as far as the next devices.
_TO_DEVICES = frozenset({"conductor-unprotected", "return-unprotected", "protection-distance"})


@dataclass(frozen=True, slots=True, eq=False)
class Ruled:
    """``demand`` fails wherever every open element named in ``within`` takes one of the options given for it and,
    where there are ``parts``, what they add up to, a figure for each option of each element, is above ``most``."""

    demand: Demand
    within: tuple[tuple[int, frozenset[int]], ...]
    finding: Finding
    parts: tuple[tuple[int, tuple[float, ...]], ...] = ()
    most: float = -math.inf

    @property
    def variables(self) -> set[int]:
        return {v for v, _ in self.within} | {v for v, _ in self.parts}

    @property
    def above(self) -> float:
        """What parts that add up to too much are above: so little more than ``most`` that it means nothing, and enough
        for a program that keeps to its bounds within 1e-6 to bar it, too."""
        return self.most * (1 + 3e-5)

    def bars(self, choice: Sequence[int]) -> bool:
        if not all(choice[variable] in options for variable, options in self.within):
            return False
        return not self.parts or sum(figures[choice[variable]] for variable, figures in self.parts) > self.above


@dataclass(frozen=True, slots=True)
class Lesson:
    """What one finding teaches.  ``sound`` holds for every choice of what it does not name.  ``near`` names only what
    stands on the way, so that a search comes to its end soon; what it passes over has to be proved.  ``subject``: where
    it is found; of devices that are found wanting with another, that other."""

    sound: Ruled
    near: Ruled
    subject: str


def lessons(finding: Finding, choice: Sequence[int], opens: Sequence[Open], relation: Relation) -> list[Lesson]:
    """What the finding at this choice rules out; nothing where no open element has a say in it."""
    found: list[Lesson] = []
    if finding.rule in _NEVER:
        return found
    # said at once of several devices, each of which alone would be found: those not coordinated with the one above,
    # and those before a load that are not what its maker asks
    each = finding.guard if finding.rule in {"not-coordinated", "device-not-as-asked"} else ()
    for subject in each or (finding.subject,):
        sound, near = [], []
        for variable, (one, chosen) in enumerate(zip(opens, choice, strict=True)):
            options = _options(finding, subject, one, chosen, relation)
            if options is None:
                continue
            sound.append((variable, options))
            if one.name in finding.guard or relation.has_say(one.name, subject, _behind(finding.rule), rings=False):
                near.append((variable, _likely(finding.rule, subject, one, chosen, options)))
        if sound:
            demand = demand_of(finding)
            made = Ruled(demand, tuple(sound), finding)
            found.append(Lesson(made, Ruled(demand, tuple(near), finding) if near else made, subject))
    return found


def grows_with_voltage(clause: Ruled) -> bool:
    """Whether larger conductors elsewhere can only help: then one trial with all of them at their largest proves it."""
    return clause.demand[0] in _VOLTAGE


def _behind(rule: str) -> Behind:
    return "nothing" if rule in _UPWARD or rule in _VOLTAGE else "to devices" if rule in _TO_DEVICES else "all"


def _options(finding: Finding, subject: str, one: Open, chosen: int, relation: Relation) -> frozenset[int] | None:
    """The options of one open element with which the finding stays for sure; None where it has no say."""
    rule, own, only = finding.rule, one.name == subject, frozenset({chosen})
    if rule in _VOLTAGE:
        if not relation.has_say(one.name, subject, "nothing") and not relation.feeds_power(one.name):
            return None
        # of ways side by side a larger one may draw a load's current through what another load shares; and where too
        # much voltage is wrong too, larger is not better
        sure = one.conductor and relation.bridge(one.name) and not relation.takes_at_most(subject)
        if not one.conductor:
            # what a device adds to the loop its sheet says, or the design, for all ratings alike
            return series(one, chosen)
        return up_to(one, chosen) if sure and rule != "scene-not-carried" else only
    if (rule in OWN and not own) or (rule in _DEVICES and one.conductor):
        return None
    if not relation.has_say(one.name, subject, _behind(rule)):
        return only if rule in _ALSO_VOLTAGE and relation.feeds_power(one.name) else None
    if own and rule in _OWN_LARGER:
        return up_to(one, chosen)
    if own or not relation.bridge(one.name):
        return only
    if rule in _GUARDED and one.conductor:
        return None
    if rule in _UNGUARDED:
        return from_(one, chosen)
    if rule in _SMALLEST_FAULT:
        return up_to(one, chosen) if one.conductor else from_(one, chosen)
    if rule in _LARGEST_FAULT:
        return from_(one, chosen) if one.conductor else up_to(one, chosen) if one.name == finding.subject else only
    return only


def _likely(rule: str, subject: str, one: Open, chosen: int, sure: frozenset[int]) -> frozenset[int]:
    """The same with which it most likely stays."""
    larger = one.conductor and (rule in _VOLTAGE or rule in _SMALLEST_FAULT)
    return up_to(one, chosen) if larger or (one.name == subject and rule in _OWN_MOSTLY_LARGER) else sure


def series(one: Open, chosen: int) -> frozenset[int]:
    """The options of the same series."""
    return frozenset(i for i, o in enumerate(one.options) if o.series == one.options[chosen].series)


def from_(one: Open, chosen: int) -> frozenset[int]:
    """The options of the same series that are no smaller."""
    at = one.options[chosen].figure * (1 - 1e-9)
    return frozenset(i for i in series(one, chosen) if one.options[i].figure >= at)


def up_to(one: Open, chosen: int) -> frozenset[int]:
    """The options of the same series that are no larger."""
    at = one.options[chosen].figure * (1 + 1e-9)
    return frozenset(i for i in series(one, chosen) if one.options[i].figure <= at)
