"""What a finding most likely rules out: far more than what is sure, so that a search needs few trials.

By rule, which way each element pulls.  Where nothing is left in this way, or where it is to be proved that a choice is
the least, what is sure has the last word.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from typing import NamedTuple

from linter.advice.clauses import Lesson, Ruled, from_, series, up_to
from linter.advice.options import Open
from linter.advice.sums import loop_sum, voltage_sum
from linter.study.study import Study

Pull = Callable[[Open, int], frozenset[int]]


class Pulls(NamedTuple):
    """The options with which a finding stays: of the element itself, of a conductor on the way, of a device that
    guards, of another device; None where it has no say."""

    own: Pull | None
    conductor: Pull | None
    guard: Pull | None
    device: Pull | None


_VOLTAGES = Pulls(None, up_to, series, series)
# the thicker the conductor and the smaller its device, the better
_GUARDED = Pulls(up_to, None, from_, from_)
# what a device has to break grows with the conductors before it, and with what a device before it lets through
_BREAKS = Pulls(series, from_, from_, from_)

PULLS = {
    "voltage-drop": _VOLTAGES,
    "voltage-too-low": _VOLTAGES,
    "conductor-unprotected": _GUARDED,
    "return-unprotected": _GUARDED,
    "protection-distance": _GUARDED,
    "overload-condition": _GUARDED,
    "harmed-before-opening": Pulls(up_to, None, from_, None),
    "not-opened-in-time": Pulls(up_to, up_to, from_, None),
    # what can persist in a bus, switch or relay is told by the devices that lead to it
    "current-rating": Pulls(None, None, from_, from_),
    # a larger device above, a smaller one below; a conductor that makes the current so small is hardly ever the cure
    "not-coordinated": Pulls(up_to, None, from_, None),
    # a larger one of its series; what the conductors do to the current is little
    "start-opens-device": Pulls(up_to, None, None, None),
    # what its sheet does not say it says of none of its series
    "figure-missing": Pulls(series, None, None, None),
    "breaking-capacity": _BREAKS,
    "breaking-class": _BREAKS,
}


def likely(lesson: Lesson, choice: Sequence[int], opens: Sequence[Open], study: Study) -> list[Ruled]:
    """What is most likely ruled out with what a finding at a choice rules out; ``study`` is that choice's."""
    near, finding = lesson.near, lesson.near.finding
    pulls = PULLS.get(finding.rule)
    if pulls is None:
        return [near]
    within = tuple((v, pull(opens[v], choice[v])) for v, pull in _pulled(lesson, pulls, opens))
    if not within:
        return [near]
    made = _ruled(lesson, Ruled(near.demand, within, finding), pulls, choice, opens, study)
    return [ruled for ruled in made if ruled.variables] or [near]


def best_place(lesson: Lesson, choice: Sequence[int], opens: Sequence[Open]) -> tuple[list[int], Ruled] | None:
    """The choice at which a demand that is broken at a choice is most likely met, and what is ruled out if even there
    it is not.  None where it is not known which way things pull."""
    pulls = PULLS.get(lesson.near.finding.rule)
    if pulls is None:
        return None
    at, within = [*choice], []
    for variable, pull in _pulled(lesson, pulls, opens):
        one = opens[variable]
        alike = series(one, choice[variable])
        within.append((variable, alike))
        if pull is not series:
            best = max if pull is up_to else min
            at[variable] = best(alike, key=lambda i, one=one: one.options[i].figure)  # type: ignore[misc]
    if at == [*choice]:
        return None
    return at, Ruled(lesson.near.demand, tuple(within), lesson.near.finding)


def _pulled(lesson: Lesson, pulls: Pulls, opens: Sequence[Open]) -> list[tuple[int, Pull]]:
    """Which way each element pulls that has a say."""
    finding = lesson.near.finding
    # of devices not coordinated with one above, the one at hand
    guards = (lesson.subject,) if finding.rule == "not-coordinated" else finding.guard
    found: list[tuple[int, Pull]] = []
    # what lies in rings has a say in currents and voltages; who guards what is told by what stands on the way
    for variable, _ in (lesson.near if pulls is _GUARDED else lesson.sound).within:
        one = opens[variable]
        if one.name == finding.subject:
            pull = pulls.own
        elif one.conductor:
            pull = pulls.conductor
        else:
            pull = pulls.guard if one.name in guards else pulls.device
        if pull is not None:
            found.append((variable, pull))
    return found


def _ruled(
    lesson: Lesson, box: Ruled, pulls: Pulls, choice: Sequence[int], opens: Sequence[Open], study: Study
) -> list[Ruled]:
    if pulls is _VOLTAGES:
        return voltage_sum(box, choice, opens, study)
    if box.finding.rule == "not-opened-in-time":
        return loop_sum(box, {v for v, _ in lesson.near.within}, choice, opens, study)
    return [box]
