"""What a finding at one choice rules out: the choices at which it would be found too.

Each is sound for every choice of what it does not name.  Where larger is never worse for a demand, all smaller choices
are ruled out together with the one tried.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from linter.advice.options import Open
from linter.advice.relation import Behind, Relation
from linter.rules.finding import Finding

# (rule, element): one demand
Demand = tuple[str, str]

# The element's own size or rating alone decides.
_OWN = frozenset({
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
# The larger any conductor on the way, the better.
_LARGER_BETTER = frozenset({"not-opened-in-time"})
# Hangs on voltages, besides what stands on the way.
_ALSO_VOLTAGE = frozenset({"contact-resistance", "source-resistance"})
# What stands behind the subject has no say: a fault there draws nothing through it.
_UPWARD = frozenset({
    "harmed-before-opening", "not-opened-in-time", "breaking-capacity", "breaking-class", "overload-condition",
    "start-opens-device",
})  # fmt: skip
# What stands behind has a say as far as the next devices.
_TO_DEVICES = frozenset({"conductor-unprotected", "return-unprotected", "protection-distance"})


@dataclass(frozen=True, slots=True, eq=False)
class Ruled:
    """``demand`` fails wherever every open element named in ``within`` takes one of the options given for it."""

    demand: Demand
    within: tuple[tuple[int, frozenset[int]], ...]
    finding: Finding

    def bars(self, choice: Sequence[int]) -> bool:
        return all(choice[variable] in options for variable, options in self.within)


@dataclass(frozen=True, slots=True)
class Lesson:
    """What one finding teaches.  ``sound`` holds for every choice of what it does not name.  ``near`` names only what
    stands on the way, so that a search comes to its end soon; what it passes over has to be proved."""

    sound: Ruled
    near: Ruled


def lessons(finding: Finding, choice: Sequence[int], opens: Sequence[Open], relation: Relation) -> list[Lesson]:
    """What the finding at this choice rules out; nothing where no open element has a say in it."""
    found = []
    # said at once of several devices, each of which alone would be found: those not coordinated with the one above,
    # and those before a load that are not what its maker asks
    each = finding.guard if finding.rule in {"not-coordinated", "device-not-as-asked"} else ()
    for subject in each or (finding.subject,):
        sound, near = [], []
        for variable, (one, chosen) in enumerate(zip(opens, choice, strict=True)):
            options = _options(finding.rule, subject, one, chosen, relation)
            if options is None:
                continue
            sound.append((variable, options))
            if one.name in finding.guard or relation.has_say(one.name, subject, _behind(finding.rule), rings=False):
                near.append((variable, _likely(finding.rule, subject, one, chosen, options)))
        if sound:
            demand = finding.rule, finding.subject
            made = Ruled(demand, tuple(sound), finding)
            found.append(Lesson(made, Ruled(demand, tuple(near), finding) if near else made))
    return found


def grows_with_voltage(clause: Ruled) -> bool:
    """Whether larger conductors elsewhere can only help: then one trial with all of them at their largest proves it."""
    return clause.demand[0] in _VOLTAGE


def _behind(rule: str) -> Behind:
    return "nothing" if rule in _UPWARD or rule in _VOLTAGE else "to devices" if rule in _TO_DEVICES else "all"


def _options(rule: str, subject: str, one: Open, chosen: int, relation: Relation) -> frozenset[int] | None:
    """The options of one open element with which the finding stays for sure; None where it has no say."""
    own, only = one.name == subject, frozenset({chosen})
    if rule in _VOLTAGE:
        if not relation.has_say(one.name, subject, "nothing") and not relation.feeds_power(one.name):
            return None
        # of ways side by side a larger one may draw a load's current through what another load shares; and where too
        # much voltage is wrong too, larger is not better
        sure = one.conductor and relation.bridge(one.name) and not relation.takes_at_most(subject)
        return _up_to(one, chosen) if sure and rule != "scene-not-carried" else only
    if (rule in _OWN and not own) or (rule in _DEVICES and one.conductor):
        return None
    if not relation.has_say(one.name, subject, _behind(rule)):
        return only if rule in _ALSO_VOLTAGE and relation.feeds_power(one.name) else None
    if own and rule in _OWN_LARGER:
        return _up_to(one, chosen)
    if not own and one.conductor and rule in _LARGER_BETTER and relation.bridge(one.name):
        return _up_to(one, chosen)
    return only


def _likely(rule: str, subject: str, one: Open, chosen: int, sure: frozenset[int]) -> frozenset[int]:
    """The same with which it most likely stays."""
    larger = one.conductor and (rule in _VOLTAGE or rule in _LARGER_BETTER)
    return _up_to(one, chosen) if larger or (one.name == subject and rule in _OWN_MOSTLY_LARGER) else sure


def _up_to(one: Open, chosen: int) -> frozenset[int]:
    """The options of the same series that are no larger."""
    at = one.options[chosen]
    return frozenset(
        i for i, o in enumerate(one.options) if o.series == at.series and o.figure <= at.figure * (1 + 1e-9)
    )
