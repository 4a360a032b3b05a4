"""Which conductors, made how large, would keep a load's drop within its limit."""

from __future__ import annotations

import math
from collections.abc import Collection

from linter.model.elements import Conductor
from linter.source.units import Quantity
from linter.study.choice import sizes_like
from linter.study.scene import Scenes, scenes_of
from linter.study.scene_alone import alone_losses, alone_source
from linter.study.scene_elimination import Elimination, Way
from linter.study.scene_net import Resistances, warm_c, with_sizes
from linter.study.scene_path import Piece, losses

# A single conductor is made so many times larger at most before others on the way are made larger too.
GREATEST_STEP = 4.0
# How often all is solved again for one mend, and how much in all for one design, in links times cases: some five
# seconds.  Beyond it no size is named.
GREATEST_ROUNDS = 8
GREATEST_TRIED = 200_000
# By so much the rule lets a drop pass its limit: what rounding leaves.
SLACK = 1e-9


def larger_conductors(
    scenes: Scenes, node: int, allowed_v: float, wanted: Collection[str] = ()
) -> list[tuple[Conductor, Quantity]] | None:
    """Sizes with which the load at a node loses no more than ``allowed_v`` in any state; None where no size is known
    to do.  A size is for conductor and return, whichever is thinner: see `thinner`.

    The largest contributor alone if that does with at most four times its size; else, step by step, whichever loses
    most, each in the sizes it is made in.  Currents are taken as they are: they fall as the voltage rises, and what is
    cooler for being larger is counted as hot as before, so that what is named here does.  Only conductors outside rings
    and behind all sources are made larger: elsewhere current would move over to them.

    Where some loads cannot be fed as it is, currents rise: what is larger may feed them.  There the sizes are put in,
    all is solved again, and what it still loses too much asks for more.

    ``wanted``: names of conductors of which one alone is made larger, however much, where that does.
    """
    chosen = _larger(scenes, node, allowed_v, {}, wanted)
    again, rounds = scenes, 0
    while chosen and scenes.not_carried:
        scenes.tried += len(scenes.study.cases) * len(scenes.net.links)
        if scenes.tried > GREATEST_TRIED or rounds == GREATEST_ROUNDS:
            return None
        again, rounds = scenes_of(scenes.study, with_sizes(scenes.study, scenes.net, chosen)), rounds + 1
        states = (at for at in (again.worst.get(node), again.alone.get(node)) if at is not None)
        if all(at.drop_v <= allowed_v * (1 + SLACK) for at in states):
            break
        more = _larger(again, node, allowed_v, chosen, wanted)
        chosen = more if more != chosen else None
    if chosen is None:
        return None
    conductors = scenes.study.conductors
    return [(conductors[name].conductor, size) for name, size in chosen.items()]


def _larger(
    scenes: Scenes, node: int, allowed_v: float, present: dict[str, Quantity], wanted: Collection[str]
) -> dict[str, Quantity] | None:
    """The sizes by the currents as they are, ``present`` among them: those with which the scenes were solved."""
    chosen = dict(present)
    resistances = Resistances()
    judged = (p.judged(node) for state in scenes.states for p in state.pieces if node in p.loads)
    pieces = {id(piece): piece for piece in judged}
    states = [
        _State(
            scenes, piece.drop_v(node), losses(piece, scenes.net, node), _radial(scenes, piece), resistances, present
        )
        for piece in pieces.values()
        if piece.drop_v(node) > allowed_v
    ]
    alone = scenes.alone.get(node) or scenes.beyond.get(node)
    if alone is not None and alone.drop_v > allowed_v:
        states.append(_State(scenes, alone.drop_v, *alone_losses(scenes, alone), resistances, present))
    if any(node in broken.loads for state in scenes.states for broken in state.not_carried):
        drawn = _drawn(scenes, node, allowed_v)
        if drawn is None:
            return None
        states.append(_State(scenes, *drawn, resistances, present))
    for state in sorted(states, key=lambda s: -s.total_v):
        if not state.alone(chosen, allowed_v, wanted) and not state.mend(chosen, allowed_v):
            return None
    return chosen


def thinner(conductor: Conductor) -> Quantity | None:
    """The size of a conductor or of its return, whichever is thinner."""
    size, back = conductor.size, conductor.return_size
    return back if size is not None and back is not None and back.value < size.value else size


def _drawn(scenes: Scenes, node: int, allowed_v: float) -> tuple[float, list[tuple[int, float]], set[int]] | None:
    """(V, V by edge, the edges of its only way) that the way to a load would lose where all that is on with it cannot
    be fed, as it is: every edge with all that loads ever draw through it, at the voltage that is to be left when the
    source gives as much.  None where no way is known, or the source itself keeps nothing of its voltage then."""
    alone, nominal = scenes.alone.get(node) or scenes.beyond.get(node), scenes.nominal_v(node)
    if alone is None or not nominal:
        return None
    lost, only = alone_losses(scenes, alone)
    loads = scenes.study.loads
    drawn = {e: max(loads[e].drawn_a if e in loads else 0.0, alone.amps) for e, _ in lost}
    source_v, ohm = alone_source(scenes, alone)
    # P = U · I at the load, U = source_v - allowed_v - ohm · I: the larger of the two voltages that do
    open_v, watts = source_v - allowed_v, nominal * max(drawn.values(), default=alone.amps)
    root = open_v * open_v - 4.0 * ohm * watts
    if open_v <= 0 or root < 0:
        return None
    more = 2.0 * nominal / (open_v + math.sqrt(root))
    edges = scenes.study.design.circuit.edges
    found = [(e, v if edges[e].kind == "diode" else v * drawn[e] / alone.amps * more) for e, v in lost]
    return sum(v for _, v in found), found, only


class _State:
    """One state's losses on the way to a load; only those on its only way can be mended by size."""

    def __init__(
        self, scenes: Scenes, total_v: float, lost: list[tuple[int, float]], only: set[int], resistances: Resistances,
        present: dict[str, Quantity],
    ) -> None:  # fmt: skip
        self.conductors = scenes.study.conductors
        self.present = present
        self.resistances = resistances
        self.total_v = total_v
        edges = scenes.study.design.circuit.edges
        self.lost_v = {edges[e].element.name: v for e, v in lost if edges[e].kind == "conductor" and e in only}

    def _at(self, name: str, size: Quantity | None) -> float:
        """What a conductor would lose with a size, V."""
        made = self.conductors[name]
        warm = warm_c(made)
        now = self.resistances.at(made.conductor, warm, self.present.get(name))
        then = self.resistances.at(made.conductor, warm, size)
        return self.lost_v[name] * then / now if now and then is not None else self.lost_v[name]

    def _larger(self, name: str, than: Quantity | None) -> list[Quantity]:
        return [s for s in sizes_like(than) if s.value > than.value * (1 + 1e-9)] if than is not None else []

    def _loses_v(self, sizes: dict[str, Quantity]) -> float:
        return self.total_v + sum(self._at(n, sizes[n]) - v for n, v in self.lost_v.items() if n in sizes)

    def alone(self, chosen: dict[str, Quantity], allowed_v: float, names: Collection[str]) -> bool:
        """Make one of those named larger, if that does, what loses most first; whether it did."""
        for name in sorted(self.lost_v.keys() & set(names), key=lambda n: -self.lost_v[n]):
            present = chosen.get(name, thinner(self.conductors[name].conductor))
            for size in [present, *self._larger(name, present)]:
                if size is not None and self._loses_v({**chosen, name: size}) <= allowed_v:
                    if size is not present:
                        chosen[name] = size
                    return True
        return False

    def mend(self, chosen: dict[str, Quantity], allowed_v: float) -> bool:
        """Add to the sizes what this state needs; whether there are such sizes."""
        if not chosen and self.lost_v:
            most = max(self.lost_v, key=self.lost_v.__getitem__)
            present = thinner(self.conductors[most].conductor)
            for size in self._larger(most, present):
                if present is not None and size.value > present.value * GREATEST_STEP:
                    break
                if self._loses_v({most: size}) <= allowed_v:
                    chosen[most] = size
                    return True
        now_v = {n: self._at(n, chosen.get(n)) for n in self.lost_v}
        # those that are made no larger
        largest: set[str] = set()
        while self.total_v + sum(now_v[n] - v for n, v in self.lost_v.items() if n in chosen) > allowed_v:
            name = max((n for n in now_v if n not in largest), key=now_v.__getitem__, default=None)
            if name is None:
                return False
            above = self._larger(name, chosen.get(name, thinner(self.conductors[name].conductor)))
            if above:
                chosen[name] = above[0]
                now_v[name] = self._at(name, above[0])
            else:
                largest.add(name)
        return True


def _radial(scenes: Scenes, piece: Piece) -> set[int]:
    """Edges behind which no source stands and that are in no ring: their current is that of the loads beyond, whatever
    their size."""
    known = scenes.radial.get(id(piece))
    if known is not None:
        return known
    feeding = set(piece.feeds)
    number = dict.fromkeys(feeding, 0)
    ways: list[Way] = []
    for index in piece.links:
        link = scenes.net.links[index]
        u, v = (number.setdefault(n, len(number) - len(feeding) + 1) for n in (link.u, link.v))
        ways.append(Way(u, v, link.ohm))
    within = [place for place, way in enumerate(ways) if way.u != way.v]
    single: list[int] = []
    if within:
        walk = Elimination(max(max(w.u, w.v) for w in ways) + 1, [ways[p] for p in within], last=0)
        single = [between[0] for _, _, between in walk.leaves if len(between) == 1]
    made = {edge for i in single for edge, _ in scenes.net.links[piece.links[within[i]]].edges}
    scenes.radial[id(piece)] = made
    return made
