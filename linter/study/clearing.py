"""What happens after a fault, step by step: which device opens, what flows then, which opens next.

Devices that feed a fault side by side share its current; when one opens the others take over its part.  In series,
the first to open ends it.  Each device takes the greatest time it may, counted from the
moment a state begins, or from when it began to carry, at the least current since: what it has heated up before only
makes it open sooner.  Only what hangs together with the fault is looked at.

The order is that of the greatest times.  A device that is quicker than it must be can leave less current for another;
that is no worse than the sources that are then left alone, so ask for each source by itself as well.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace

from linter.study.course import Carried, Devices, OneByOne, Step
from linter.study.feeding import Case, Cut, Feeding, Unsettled, flowing, flowing_in, way_to
from linter.study.mesh import LEAST_A
from linter.study.prospective import Faults
from linter.study.sparse import TooDense


@dataclass(frozen=True, slots=True)
class Clearing:
    """``seconds`` until no source that does not limit itself feeds the fault (infinite: never); the device edges in the
    order in which they open; the steps.

    ``remains_a``: what sources that limit themselves can still give then, A.
    ``unknown``: the resistance of a source or of a conductor on the way is missing, and the figures are worth nothing.
    """

    seconds: float
    opened: tuple[int, ...] = ()
    steps: tuple[Step, ...] = ()
    remains_a: float = 0.0
    unknown: bool = False


def clearing(
    faults: Faults,
    node: int,
    sources: tuple[int, ...],
    opened: Cut,
    slowest: Callable[[int, float], float] | None,
    *,
    largest: bool = False,
    more_ohm: float = 0.0,
) -> Clearing:
    """Clear a fault at ``node`` behind ``more_ohm``, fed by ``sources`` (nodes) only, with the edges ``opened`` open.

    ``slowest(edge, amps)``: the greatest time in s after which a device has opened; infinite: it may never.  None: no
    device opens.
    ``largest``: voltages and resistances of the largest case instead of the smallest.  Sources that limit themselves
    add all their limit allows while another source holds the voltage.
    """
    question = Question(faults, node, sources, opened, largest)
    made = question.clear(None if slowest is None else OneByOne(slowest), more_ohm)
    return replace(made, remains_a=question.remains_a(made))


class Question:
    """A fault at a node, its sources, and what is open (see `clearing`), to be asked behind any resistance."""

    def __init__(self, faults: Faults, node: int, sources: tuple[int, ...], opened: Cut, largest: bool) -> None:
        self.opened = opened
        way = way_to(faults, node)
        self.case: Case | None = None
        if way is not None and opened.isdisjoint(way.bridges):
            self.case = Case(faults, way, sources, largest)
            self.before = [e for e in reversed(way.bridges) if faults.net.is_device[e]]
            self.unknown = self.case.unknown(opened)

    def first_a(self, more_ohm: float) -> float:
        """What flows into the fault before any device opens, A; nil where that is unknown."""
        if self.case is None or self.unknown:
            return 0.0
        try:
            step = self.case.step(self.opened, more_ohm)
        except (TooDense, Unsettled):
            return 0.0
        return 0.0 if step is None else step[0]

    def clear(self, devices: Devices | None, more_ohm: float, kept: Sequence[int] | None = None) -> Clearing:
        """The course of events.  ``kept``: the edges of which the steps say what they carry; None: all of them.  What
        remains is not reckoned."""
        if self.case is None:
            return Clearing(0.0)
        if self.unknown:
            return Clearing(math.inf, unknown=True)
        order, steps, seconds = list[int](), list[Step](), 0.0
        cut, carried = self.opened, None if devices is None else Carried(devices)
        try:
            while (step := self.case.step(cut, more_ohm)) is not None:
                fault_a, meshes = step
                amps = flowing(fault_a, meshes) if kept is None else flowing_in(kept, fault_a, meshes)
                if carried is None:
                    steps.append(Step(math.inf, fault_a, amps))
                    seconds = math.inf
                    break
                least, first, beyond = carried.next(self._through_devices(fault_a, meshes), seconds)
                steps.append(Step(least, fault_a, amps, beyond))
                seconds += least
                if least == math.inf:
                    break
                order += first
                cut = cut.union(first)
        except (TooDense, Unsettled):
            return Clearing(math.inf, tuple(order), tuple(steps), unknown=True)
        return Clearing(seconds, tuple(order), tuple(steps))

    def _through_devices(self, fault_a: float, meshes: tuple[Feeding, ...]) -> dict[int, float]:
        """By device on the way and of some meshes: what flows, A."""
        assert self.case is not None
        now = dict.fromkeys(self.before, fault_a)
        for mesh in meshes:
            for edge, still, share in mesh.devices(self.case.net):
                flow = abs(still + share * fault_a)
                if flow > LEAST_A:
                    now[edge] = flow
        return now

    def remains_a(self, made: Clearing) -> float:
        """The most that sources which limit themselves can still give after it, A."""
        return 0.0 if self.case is None or made.unknown else self.case.remains_a(self.opened.union(made.opened))
