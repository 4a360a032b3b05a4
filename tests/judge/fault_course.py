"""What happens after a fault: device after device opens, and what that does to a conductor meanwhile."""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Any

import numpy as np

from .circuit import Network
from .fault_bands import Band, Flags, Floats
from .fault_currents import FaultNetwork, Question, device_edges, series_devices
from .fault_figures import FIVE_S
from .fault_heat import rise, share_of

# Faults looked at between the largest and the smallest.
GRID = 120
# Less than this is what rounding leaves.
LEAST_A = 1e-3


@dataclass(frozen=True)
class Heated:
    """A conductor: its number, area in mm², and the temperatures before and the most it stands, °C."""

    edge: int
    area_mm2: float
    before_c: float
    end_c: float


@dataclass
class Course:
    """What happened after faults of several resistances: by fault its first current, seconds until it is cleared, whether
    the curves of all devices that carried something told it, and the heat of the conductor's two pieces as far as it went
    on for five seconds: in all, and as long as all was told."""

    amps: Floats
    seconds: Floats
    told: Flags
    shares: Floats
    told_shares: Floats
    many: bool


class Courses:
    """The course of faults in a network."""

    def __init__(self, net: Network) -> None:
        self.net, self.flow = net, FaultNetwork(net)
        self.bands = {d: Band(net.edges[d], net.places) for d in device_edges(net)}
        self._series: dict[tuple[str, frozenset[str], frozenset[int]], list[int]] = {}

    def fed(self, node: str, q: Question) -> bool:
        """Whether a source that does not limit itself can feed a node."""
        return bool(self.flow.before(node, q.opened) & q.sources & self.flow.firm.keys())

    def resistances(self, q: Question, node: str, least_a: float, own_a: float) -> Floats | None:
        """Of faults from a bolted one to one that draws no more than the smallest; at the corners of curves besides."""
        flow = self.flow
        if not self.fed(node, q):
            return None
        most = float(flow.fault(q, node, np.zeros(1))[0][0])
        if not most > least_a:
            return np.zeros(1)
        wanted = list(np.geomspace(least_a, most, GRID)[:-1])
        if least_a < own_a < most:
            wanted.append(own_a)
        for d in self.chain(node, q):
            wanted += [a * f for a in self.bands[d].corners for f in (1 - 1e-7, 1 + 1e-7) if least_a < a * f < most]
        # volts behind ohms, as it looks from the bolted fault; with diodes a first guess does too
        little = float(flow.fault(q, node, np.full(1, 1e-4))[0][0])
        ohm = 1e-4 * little / (most - little) if most > little else 1e-3
        found = np.array([0.0, *(ohm * (most / a - 1) for a in wanted)])
        # a device that carries a part of the current is at a corner elsewhere: what it carries is straight in the whole
        amps, through = flow.fault(q, node, found)
        more: list[float] = []
        for d, flows in through.items():
            carried = np.abs(flows)
            if d in self.bands and carried.max() > LEAST_A:
                order = np.argsort(carried)
                inside = [a for a in self.bands[d].corners if carried.min() < a < carried.max()]
                at = [
                    float(np.interp(a * f, carried[order], amps[order])) for a in inside for f in (1 - 1e-7, 1 + 1e-7)
                ]
                more += [a for a in at if least_a < a < most]
        return np.concatenate([found, [ohm * (most / a - 1) for a in more]])

    def chain(self, node: str, q: Question) -> list[int]:
        key = node, frozenset(q.sources & self.flow.firm.keys()), q.opened
        if key not in self._series:
            self._series[key] = series_devices(self.flow, *key)
        return self._series[key]

    def follow(self, heated: Heated, node: str, q: Question, ohms: Floats, afresh: bool = True) -> Course | None:
        """Follow these faults until nothing that does not limit itself feeds them.

        ``afresh``: each device counts from the moment of the last change on, whatever it carried before.  Otherwise it
        counts from the fault, by the least current it has carried since, where that is sooner.
        """
        flow = self.flow
        if not self.fed(node, q):
            return None
        c, area = heated.edge, heated.area_mm2
        count = len(ohms)
        first = np.zeros(count)
        seconds, told = np.zeros(count), np.ones(count, bool)
        theta = np.full((2, count), heated.before_c)
        told_theta = theta.copy()
        carrying = np.zeros((2, count))
        many = False
        devices = [d for d in flow.live(node).edges.tolist() if d in self.bands]
        least_a = np.full((len(devices), count), math.inf)
        waiting: list[tuple[frozenset[int], Any]] = [(q.opened, np.arange(count))]
        while waiting:
            opened, which = waiting.pop()
            if not flow.before(node, opened) & q.sources & flow.firm.keys():
                continue
            now = Question(q.sources, opened, q.case)
            fault_a, through = flow.fault(now, node, ohms[which])
            live = fault_a > LEAST_A
            which, fault_a = which[live], fault_a[live]
            through = {i: flows[live] for i, flows in through.items()}
            if not len(which):
                continue
            if opened == q.opened:
                first[which] = fault_a
            else:
                many = True
            times = np.full((len(devices), len(which)), math.inf)
            says = np.ones_like(times, bool)
            for k, d in enumerate(devices):
                band = self.bands[d]
                if d not in through:
                    least_a[k, which] = 0.0
                    continue
                amps = np.abs(through[d])
                least_a[k, which] = np.minimum(least_a[k, which], amps)
                if d not in opened and amps.max() > LEAST_A:
                    when, so = band.slowest(amps)
                    if not afresh:
                        # from the first moment on at no less than this
                        when = np.minimum(when, np.maximum(band.slowest(least_a[k, which])[0] - seconds[which], 0.0))
                    times[k], says[k] = np.where(amps > LEAST_A, when, math.inf), so | (amps <= LEAST_A)
            least = times.min(axis=0)
            # what carries more than is told of it may open sooner; what has gone on for too long is late whatever happens
            told[which] &= says.all(axis=0) | (seconds[which] > FIVE_S * (1 + 1e-6))
            seconds[which] += least
            along = np.abs(through[c]) if c in through else np.zeros(len(which))
            beside = fault_a - along if node in self.net.ends(c) else np.zeros_like(along)
            pieces = np.array([along, beside])
            carries = pieces > LEAST_A
            carrying[:, which] += np.where(carries, least, 0.0)
            goes_on = carries & (carrying[:, which] <= FIVE_S * (1 + 1e-6))
            hotter = theta[:, which]
            if goes_on.any():
                amps, lasting = np.where(goes_on, pieces, 0.0), np.where(goes_on, least, 0.0)
                hotter = rise(hotter, amps, lasting, area)
            theta[:, which] = hotter
            told_theta[:, which] = np.where(told[which], hotter, told_theta[:, which])
            firsts = (times <= least * (1 + 1e-9)) & np.isfinite(least)
            by_pattern: dict[bytes, list[int]] = {}
            for j, pattern in enumerate(np.ascontiguousarray(firsts.T)):
                if math.isfinite(least[j]):
                    by_pattern.setdefault(pattern.tobytes(), []).append(j)
            for mine in by_pattern.values():
                waiting.append((opened | {devices[k] for k in np.flatnonzero(firsts[:, mine[0]])}, which[mine]))
        # what goes on for longer and has not been harmed before is judged by its time alone
        lasts = carrying > FIVE_S * (1 + 1e-6)
        shares, told_shares = (share_of(t, heated.before_c, heated.end_c) for t in (theta, told_theta))
        shares = np.where(lasts & (shares <= 1), 0.0, shares)
        told_shares = np.where(lasts & (told_shares <= 1), 0.0, told_shares)
        return Course(first, seconds, told, shares.max(axis=0), told_shares.max(axis=0), many)
