"""The diagram divided into groups, each of which fits a sheet: cut at panels and buses.

First whatever is too large by itself is divided: a chain too wide is broken, a bus with more branches than fit is
continued.  Then groups that are joined grow together, the smallest first, for as long as the whole of them fits.
"""

from __future__ import annotations

import heapq
from collections.abc import Callable, Iterable, Sequence
from dataclasses import dataclass, field

from linter.drawing.cut import Cut
from linter.drawing.picture import Picture
from linter.drawing.schematic import Schematic

# A joint with at most so many branches is drawn where it is fed from.
MOST_RIDING = 6
# Neighbours that are tried before a group is left as it is.
MOST_TRIED = 4
# Room that the row of a reference may take (mm).
REFERENCE_ROW = 10.0
# What a group may take of a sheet's area at most before it is measured.
MOST_FILLED = 1.25


@dataclass(slots=True, eq=False)
class Group:
    """Hubs, and chains that hang on none, drawn together; ``picture`` has its upper left corner at (0, 0)."""

    hubs: set[int]
    loose: set[int]
    picture: Picture = field(default_factory=Picture)
    # groups it is led on to or from
    near: set[int] = field(default_factory=set)

    @property
    def area(self) -> float:
        return self.picture.width * self.picture.height

    @property
    def key(self) -> tuple[int, int]:
        """For an order that does not change: its first hub, then its first chain."""
        return min(self.hubs, default=1 << 30), min(self.loose, default=1 << 30)


Measure = Callable[[Schematic], Picture]


class _Partition:
    def __init__(self, cut: Cut, measure: Measure, room: tuple[float, float]) -> None:
        self.cut, self.measure_piece = cut, measure
        self.room = room
        self.riders: dict[int, set[int]] = {}
        # what rides -> with whom
        self.feeder: dict[int, int] = {}
        # hubs whose chains were broken
        self.touched: set[int] = set()

    def measured(self, hubs: Iterable[int], loose: Iterable[int] = ()) -> Picture:
        return self.measure_piece(self.cut.piece(hubs, loose))

    def fits(self, picture: Picture) -> bool:
        return picture.width <= self.room[0] + 1e-6 and picture.height <= self.room[1] + 1e-6

    # ---- what rides with its feeder

    def ride(self) -> None:
        """Joints with few branches go with what feeds them, the last first."""
        cut = self.cut
        ridden = self.feeder
        waiting = [h.index for h in cut.hubs if self._light(h.index)]
        while waiting:
            still = []
            for hub in waiting:
                feeders = [n for n in cut.neighbours(hub) if ridden.get(n) != hub]
                if len(feeders) == 1 and len(self.riders.get(feeders[0], ())) < MOST_RIDING * 8:
                    ridden[hub] = feeders[0]
                    self.riders.setdefault(feeders[0], set()).add(hub)
                else:
                    still.append(hub)
            if len(still) == len(waiting):
                break
            waiting = still

    def _light(self, hub: int) -> bool:
        made = self.cut.hubs[hub]
        return made.kind in ("joint", "junction") and len(self.cut.at.get(hub, ())) <= MOST_RIDING

    def with_riders(self, hub: int) -> set[int]:
        found, waiting = {hub}, [hub]
        while waiting:
            for rider in self.riders.get(waiting.pop(), ()):
                if rider not in found:
                    found.add(rider)
                    waiting.append(rider)
        return found

    def unride(self, hub: int) -> bool:
        """Set down what rides with a hub; False if nothing does."""
        riders = self.riders.pop(hub, None)
        if not riders:
            return False
        for rider in riders:
            del self.feeder[rider]
        return True

    # ---- what is too large by itself

    def root(self, hub: int) -> int:
        while hub in self.feeder:
            hub = self.feeder[hub]
        return hub

    def groups(self) -> list[Group]:
        self.ride()
        done: dict[int, Group] = {}
        waiting = [h.index for h in self.cut.hubs if h.index not in self.feeder]
        while waiting:
            hub = waiting.pop(0)
            riding = set(self.feeder)
            for group in self._hub(hub):
                done[self.root(min(group.hubs))] = group
            waiting += sorted(riding - set(self.feeder))
            # A chain that was broken has changed what is drawn at its other end.
            for other in sorted({self.root(h) for h in self.touched} - {hub}):
                if done.pop(other, None) is not None:
                    waiting.append(other)
            self.touched.clear()
        made = list(done.values())
        loose: list[int] = sorted(self.cut.family)
        while loose:
            index = loose.pop(0)
            picture = self.measured((), (index,))
            known = len(self.cut.chains)
            if picture.width > self.room[0] and self._break_widest([index]):
                loose[:0] = [index, *range(known, len(self.cut.chains))]
                continue
            made.append(Group(set(), {index}, picture))
        return made

    def _hub(self, hub: int) -> list[Group]:
        """The groups of one hub, divided until each fits or nothing more can be divided."""
        while True:
            hubs = self.with_riders(hub)
            picture = self.measured(hubs)
            if picture.width <= self.room[0] + 1e-6:
                break
            if self.unride(hub):
                continue
            if not self._break_widest(self.cut.at.get(hub, ())):
                break
        if self.fits(picture):
            return [Group(hubs, set(), picture)]
        divided = self._divided(hub, picture.height)
        if divided:
            return divided
        if self.unride(hub):
            return self._hub(hub)
        return [Group(hubs, set(), picture)]

    def _break_widest(self, chains: Sequence[int]) -> bool:
        """Break the chain that takes most room near its middle; False if none can be broken."""
        best: tuple[float, int, int] | None = None
        for index in chains:
            chain = self.cut.chains[index]
            places = self.cut.breakable(chain)
            if places:
                weight = float(sum(1 for i in chain.items if i.kind != "terminal"))
                half = len(chain.items) / 2
                middle = min((abs(k - half), k) for k in places)[1]
                if best is None or weight > best[0]:
                    best = weight, index, middle
        if best is None:
            return False
        broken = self.cut.chains[best[1]]
        self.touched |= {e.hub for e in (broken.left, broken.right) if e is not None}
        self.cut.split_chain(best[1], best[2])
        return True

    def _divided(self, hub: int, height: float) -> list[Group]:
        """The hub continued on further sheets; nothing where that does not help."""
        cut = self.cut
        if cut.hubs[hub].kind == "selector" or cut.hubs[hub].node < 0:
            return []
        chains = list(cut.at.get(hub, ()))
        into = [c for c in chains if (e := cut.chains[c].right) is not None and e.hub == hub]
        out = [c for c in chains if c not in into]
        loops = [c for c in chains if cut.is_loop(c)]
        count = max(int(height / self.room[1]) + 1, 2)
        most = max(len(out), len(into))
        if most < 2:
            return []
        while count <= most:
            for shares in _shares(into, out, count):
                if loops and not set(loops) <= set(shares[0]):
                    continue
                pictures = [self._share(hub, share, n, count) for n, share in enumerate(shares)]
                if all(p.height <= self.room[1] for p in pictures):
                    return self._divide(hub, shares)
            count += 1
        if len(chains) - len(loops) < 2:
            return []
        # Some branch is too high by itself: every branch its own part, which is divided further by its riders.
        if self.riders.get(hub):
            self.unride(hub)
            return self._hub(hub)
        return []

    def _share(self, hub: int, share: Sequence[int], number: int, count: int) -> Picture:
        """How large a part of a hub would become."""
        cut = self.cut
        kept = list(cut.at[hub])
        hubs = {hub}
        cut.at[hub] = list(share)
        try:
            for index in share:
                chain = cut.chains[index]
                for end in (chain.left, chain.right):
                    if end is not None and end.hub in self.riders.get(hub, ()):
                        hubs |= self.with_riders(end.hub)
            picture = self.measured(hubs)
        finally:
            cut.at[hub] = kept
        # A reference to the part before and to the part after takes room too.
        picture.height += REFERENCE_ROW * ((number > 0) + (number + 1 < count))
        return picture

    def _divide(self, hub: int, shares: Sequence[Sequence[int]]) -> list[Group]:
        cut = self.cut
        riders = self.riders.pop(hub, set())
        groups = []
        for part in cut.split_hub(hub, shares):
            near = {n for n in cut.neighbours(part) if n in riders}
            if near:
                self.riders[part] = near
                self.feeder.update(dict.fromkeys(near, part))
            hubs = self.with_riders(part)
            groups.append(Group(hubs, set(), self.measured(hubs)))
        return groups

    # ---- growing together

    def merge(self, groups: list[Group]) -> list[Group]:
        """Join groups that belong together while they fit, the smallest first."""
        alive: dict[int, Group] = dict(enumerate(groups))
        of_hub = {h: n for n, g in alive.items() for h in g.hubs}
        heap = [(g.area, n) for n, g in alive.items()]
        heapq.heapify(heap)
        by_family: dict[int, list[int]] = {}
        for n, g in alive.items():
            for c in g.loose:
                by_family.setdefault(self.cut.family[c], []).append(n)
        of_loose = {c: n for n, g in alive.items() for c in g.loose}
        while heap:
            area, number = heapq.heappop(heap)
            one = alive.get(number)
            if one is None or one.area != area:
                continue
            for other in self._candidates(one, number, alive, of_hub, of_loose, by_family):
                two = alive[other]
                joined = self._joined(one, two)
                if joined is None:
                    continue
                del alive[other]
                alive[number] = joined
                of_hub.update(dict.fromkeys(joined.hubs, number))
                of_loose.update(dict.fromkeys(joined.loose, number))
                heapq.heappush(heap, (joined.area, number))
                break
        for number, group in alive.items():
            group.near = {of_hub[n] for h in group.hubs for n in self.cut.neighbours(h)} - {number}
        self._lead(alive)
        places = {n: k for k, n in enumerate(alive)}
        for group in alive.values():
            group.near = {places[n] for n in group.near}
        return list(alive.values())

    def _lead(self, alive: dict[int, Group]) -> None:
        """Groups that references join are near each other."""
        ends: dict[int, list[int]] = {}
        for number, group in alive.items():
            for drawn in group.picture.elements:
                if drawn.reference >= 0:
                    ends.setdefault(drawn.reference, []).append(number)
        for pair in ends.values():
            for a in pair:
                alive[a].near |= set(pair) - {a}

    def _candidates(
        self, one: Group, number: int, alive: dict[int, Group], of_hub: dict[int, int], of_loose: dict[int, int],
        by_family: dict[int, list[int]],
    ) -> list[int]:  # fmt: skip
        joins: dict[int, int] = {}
        for hub in one.hubs:
            for n in self.cut.neighbours(hub):
                joins[of_hub[n]] = joins.get(of_hub[n], 0) + 1
        for chain in one.loose:
            for n in by_family.get(self.cut.family[chain], ()):
                joins[n] = joins.get(n, 0) + 1
        joins.pop(number, None)
        found = [n for n in joins if n in alive]
        if one.loose:
            # of pieces of one chain the next along it first, so that they stay in their order
            apart = {n: self._apart(one, alive[n]) for n in found}
            found.sort(key=lambda n: (-joins[n], apart[n], alive[n].area, n))
        else:
            found.sort(key=lambda n: (-joins[n], alive[n].area, n))
        return found[:MOST_TRIED]

    def _apart(self, one: Group, two: Group) -> int:
        """How far apart two groups' pieces of a broken chain are along it; nought where they are of none together."""
        spans: list[dict[int, tuple[int, int]]] = []
        for group in (one, two):
            span: dict[int, tuple[int, int]] = {}
            for chain in group.loose:
                whole, along = self.cut.begins.get(chain, (chain, 0))
                low, high = span.get(whole, (along, along))
                span[whole] = min(low, along), max(high, along)
            spans.append(span)
        first, second = spans
        return min((max(first[w][0] - second[w][1], second[w][0] - first[w][1], 0) for w in first if w in second),
                   default=0)  # fmt: skip

    def _joined(self, one: Group, two: Group) -> Group | None:
        if one.area + two.area > MOST_FILLED * self.room[0] * self.room[1]:
            return None
        hubs, loose = one.hubs | two.hubs, one.loose | two.loose
        picture = self.measured(hubs, loose)
        return Group(hubs, loose, picture) if self.fits(picture) else None


def _even(things: Sequence[int], count: int) -> list[list[int]]:
    size, more = divmod(len(things), count)
    made, at = [], 0
    for n in range(count):
        step = size + (n < more)
        made.append(list(things[at : at + step]))
        at += step
    return made


def _shares(into: Sequence[int], out: Sequence[int], count: int) -> list[list[list[int]]]:
    """Ways to divide what comes in and what goes out: all that comes in at the first part, or both evenly."""
    outs, ins = _even(out, count), _even(into, count)
    made = [[*a, *b] for a, b in zip(ins, outs, strict=True)]
    first = [[*into, *outs[0]], *outs[1:]]
    return [way for way in (first, made) if all(way)]


def partition(cut: Cut, measure: Measure, room: tuple[float, float]) -> list[Group]:
    """Groups of the whole that each fit into ``room``; one that cannot be divided further may be larger."""
    work = _Partition(cut, measure, room)
    whole = work.measured((h.index for h in cut.hubs), cut.family)
    if work.fits(whole):
        return [Group({h.index for h in cut.hubs}, set(cut.family), whole)]
    return work.merge(work.groups())
