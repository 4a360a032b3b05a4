"""One case of a design solved: which sources feed which pieces, what converters take for what they give."""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import dataclass
from typing import TYPE_CHECKING

from linter.model.circuit import Node
from linter.model.elements import Converter, Source
from linter.study.cases import Case
from linter.study.impedance import nominal_v, source_pairs
from linter.study.scene_net import SceneNet
from linter.study.scene_path import Piece
from linter.study.scene_solve import Feed, greatest_share
from linter.study.scene_state import Asked, SwitchState, pruned, reached, solved_piece, switch_state

if TYPE_CHECKING:
    from linter.study.study import Study

# Converters that feed one another in a ring are gone round so often at most.
ROUNDS = 40


@dataclass(frozen=True, slots=True)
class NotCarried:
    """A piece whose loads together find no voltage at which all of them are fed: ``share`` of what they ask can be
    carried; ``node`` is the load whose voltage falls first, at ``volts`` when it does; ``watts`` and ``amps`` what it
    asks."""

    case: int
    title: str
    node: int
    share: float
    volts: float
    watts: float | None
    amps: float | None
    loads: tuple[int, ...]


@dataclass(slots=True)
class SceneState:
    """One state of a scene, solved: its pieces, and what could not be carried or is fed by nothing."""

    case: Case
    pieces: list[Piece]
    not_carried: list[NotCarried]
    not_fed: list[int]

    def loads(self) -> Iterator[tuple[Piece, int]]:
        for piece in self.pieces:
            for node in sorted(piece.loads):
                yield piece, node

    def currents(self, net: SceneNet) -> dict[int, float]:
        """By edge, the current in A from u to v; edges without are left out."""
        found: dict[int, float] = {}
        for piece in self.pieces:
            for index, amps in zip(piece.links, piece.balance.ways_a, strict=True):
                for edge, forwards in net.links[index].edges:
                    found[edge] = amps if forwards else -amps
        return found


class Flow:
    """What solving the cases of one study needs; pieces alike in several cases are solved once."""

    def __init__(self, study: Study, net: SceneNet) -> None:
        self.study = study
        self.net = net
        self.remarks: dict[str, None] = {}
        self.first_case: dict[int, int] = {}
        nodes = study.design.circuit.nodes
        self.loads = [n.index for n in nodes if n.load is not None]
        self.sources: dict[int, Feed] = {}
        self.batteries: set[int] = set()
        for node in nodes:
            if node.source is not None and not (node.system is not None and node.system.alternating):
                self._source(node, node.source)
        # input node -> (converter, node of its output or -1)
        self.converters: dict[int, tuple[Converter, int]] = {}
        self.input_of: dict[int, int] = {}
        for node in nodes:
            load = node.load
            if isinstance(load, Converter) and load.kind == "converter":
                out = study.design.circuit.by_name.get(f"{load.name}.out")
                index = out.index if out is not None and out.index in self.sources and out.edges else -1
                self.converters[node.index] = load, index
                if index >= 0:
                    self.input_of[index] = node.index
        self._states: dict[frozenset[int], SwitchState] = {}
        self._solved: dict[tuple[object, ...], Piece | NotCarried] = {}
        self._reach: dict[tuple[int, ...], set[int]] = {}
        self._asked: dict[int, Asked] = {}
        named: dict[str, set[str]] = {}
        for scene in study.design.scenes:
            named.setdefault(scene.title, set()).update(e.name for e in scene.on)
        self._named = named
        # what a battery can feed in some position of the switches
        self.from_battery = reached(net, self.switched(frozenset()), self.batteries)

    def _source(self, node: Node, source: Source) -> None:
        system_v = node.system.voltage_v if node.system is not None else None
        volts = nominal_v(source, system_v)
        if volts <= 0.0:
            return
        if source.is_battery:
            pair = source_pairs(source, system_v)[1]
            ohm = pair.resistance_ohm
            if pair.unknown:
                ohm = 0.0
                self._remark(f"nothing says what {source.name}'s resistance is; it counts as nil")
            elif pair.leans_on:
                self._remark(f"{source.name}'s resistance leans on {pair.leans_on}")
            self.batteries.add(node.index)
            self.sources[node.index] = Feed(node.index, volts, ohm, source.limit_a)
            return
        limit_a = min(source.limit_a, source.rated_a if source.rated_a is not None else math.inf)
        ohm = source.resistance_ohm[1] if source.resistance_ohm else 0.0
        self.sources[node.index] = Feed(node.index, volts, ohm, limit_a, takes=False)

    def _remark(self, text: str) -> None:
        self.remarks.setdefault(text)

    def switched(self, opened: frozenset[int]) -> SwitchState:
        found = self._states.get(opened)
        if found is None:
            nodes = self.study.design.circuit.nodes
            alone = (n.index for n in nodes if n.load is not None or n.source is not None)
            found = self._states[opened] = switch_state(self.net, opened, alone)
        return found

    def fixed(self, node: Node) -> tuple[float | None, float | None]:
        """(A, W) that a load draws, one of them None; both None where nobody says."""
        load = node.load
        assert load is not None
        volts = load.voltage_v or (node.system.voltage_v if node.system else None)
        if isinstance(load, Converter):
            return None, rated_w(load, volts)
        if load.draws_a is not None:
            return load.draws_a, None
        return None, load.draws_w

    def solved(self, case: Case) -> SceneState:
        """One case.  Pieces behind converters first, then those that feed them."""
        state = self.switched(case.opened)
        named = self._named.get(case.title, set())
        on: dict[int, list[int]] = {}
        for index in self.loads:
            if case.has_on(index):
                on.setdefault(state.piece_of[index], []).append(index)
        by_piece: dict[int, list[int]] = {}
        for index in self.sources:
            if index not in case.off:
                by_piece.setdefault(state.piece_of[index], []).append(index)
        active: dict[int, list[int]] = {}
        unfed: dict[int, set[int]] = {}
        waiting = sorted({*on, *by_piece})
        while waiting:
            piece = waiting.pop()
            active[piece], unfed[piece] = self._active(case, state, piece, on.get(piece, []), by_piece, named)
            for index in active[piece]:
                # a converter that gives takes, though nobody named it
                feeding = self.input_of.get(index)
                if feeding is not None:
                    there = on.setdefault(state.piece_of[feeding], [])
                    if feeding not in there:
                        there.append(feeding)
                        if state.piece_of[feeding] not in waiting:
                            waiting.append(state.piece_of[feeding])
        return self._balanced(case, state, on, active, unfed)

    def _active(
        self, case: Case, state: SwitchState, piece: int, on: list[int], by_piece: dict[int, list[int]], named: set[str]
    ) -> tuple[list[int], set[int]]:
        """The sources that feed a piece, and the loads in it that none can."""
        nodes, here = self.study.design.circuit.nodes, by_piece.get(piece, [])
        batteries = [n for n in here if n in self.batteries]
        others = [n for n in here if n not in self.batteries and n not in on]
        given = [n for n in others if self._gives(case, nodes[n], named)]
        active = batteries + given
        if not state.one_way[piece]:
            missed = set() if active else set(on)
        else:
            missed = set(on) - self._reached(state, active)
        if missed:
            # a charging source that nobody named does not stand in for a battery that the scene has cut off
            stand_in = others if missed - self.from_battery else [n for n in others if n in self.input_of]
            able = reached(self.net, state, missed, backwards=True)
            active += [n for n in stand_in if n in able and n not in active]
            missed -= self._reached(state, active)
        return active, missed

    def _reached(self, state: SwitchState, active: list[int]) -> set[int]:
        key = id(state), *active
        found = self._reach.get(key)
        if found is None:
            found = self._reach[key] = reached(self.net, state, active)
        return found

    def _gives(self, case: Case, node: Node, named: set[str]) -> bool:
        feeding = self.input_of.get(node.index)
        if feeding is not None:
            return case.has_on(feeding)
        return node.source is not None and node.source.name in named

    def _balanced(
        self, case: Case, state: SwitchState, on: dict[int, list[int]], active: dict[int, list[int]],
        unfed: dict[int, set[int]],
    ) -> SceneState:  # fmt: skip
        inputs = [
            (state.piece_of[n], state.piece_of[self.converters[n][1]], n)
            for n in self.converters
            if self.converters[n][1] >= 0 and n in on.get(state.piece_of[n], ())
        ]
        feeds: dict[int, list[int]] = {}
        for into, out, _ in inputs:
            feeds.setdefault(into, []).append(out)
        order = _outputs_first(sorted(active), feeds)
        found: dict[int, Piece | NotCarried] = {}
        watts: dict[int, float] = {}
        for _ in range(ROUNDS):
            for piece in order:
                loads = [n for n in on.get(piece, []) if n not in unfed[piece]]
                solved = self._one(case, state, piece, loads, active[piece], watts)
                if solved is not None:
                    found[piece] = solved
            moved = False
            for _, out, node in inputs:
                taken = self._input_w(node, found.get(out))
                moved = moved or not math.isclose(taken, watts.get(node, -1.0), rel_tol=1e-9, abs_tol=1e-9)
                watts[node] = taken
            if not moved:
                break
        else:
            self._remark(f"converters that feed one another do not come to rest in {case.title}")
        pieces = [p for p in found.values() if isinstance(p, Piece)]
        for made in pieces:
            if made.resting is None and made.batteries and len(made.feeds) > len(made.batteries):
                made.resting = self._by_batteries(state, made)
        return SceneState(
            case,
            pieces,
            [p for p in found.values() if isinstance(p, NotCarried)],
            sorted(n for missed in unfed.values() for n in missed),
        )

    def _by_batteries(self, state: SwitchState, piece: Piece) -> Piece | None:
        """A piece without the sources that charge, and without the loads that only those can feed; None where the
        batteries alone cannot carry it."""
        asked, fed = self._asked[id(piece)], self._reached(state, sorted(piece.batteries))
        amps = {n: a for n, a in asked.amps.items() if n in fed}
        watts = {n: w for n, w in asked.watts.items() if n in fed}
        if not amps and not watts:
            return None
        alone = Asked([f for f in asked.feeds if f.node in piece.batteries], asked.batteries, amps, watts)
        links = pruned(self.net, piece.links, {*piece.batteries, *amps, *watts})
        key = (tuple(links), *alone.signature())
        if key not in self._solved:
            made = solved_piece(self.net, links, alone)[0]
            if made is None:
                return None
            self._solved[key] = made
            self._asked[id(made)] = alone
        found = self._solved[key]
        return found if isinstance(found, Piece) else None

    def _input_w(self, node: int, behind: Piece | NotCarried | None) -> float:
        """What a converter takes, W: what it gives by its efficiency, at most its rated input."""
        converter, out = self.converters[node]
        system = self.study.design.circuit.nodes[node].system
        rated = rated_w(converter, converter.voltage_v or (system.voltage_v if system else None))
        if isinstance(behind, Piece):
            gives_w = behind.feeds.get(out, 0.0) * behind.volts(out) if out in behind.number else 0.0
            if not converter.efficiency:
                self._remark(f"{converter.name} does not say its efficiency; what it loses is left out")
            taken = max(0.0, gives_w) / (converter.efficiency or 1.0)
            return taken if rated is None else min(taken, rated)
        return 0.0 if behind is None else rated or 0.0

    def _one(
        self, case: Case, state: SwitchState, piece: int, loads: list[int], active: list[int], watts: dict[int, float]
    ) -> Piece | NotCarried | None:
        """A piece solved, or why it cannot be; None where nothing happens in it."""
        if not active or (not loads and len(active) < 2):
            return None
        nodes = self.study.design.circuit.nodes
        asked = Asked([self.sources[n] for n in active], self.batteries & set(active), {}, {})
        for node in loads:
            amps, power = self.fixed(nodes[node])
            if node in self.converters and self.converters[node][1] >= 0:
                power = watts.get(node, 0.0)
            if amps:
                asked.amps[node] = amps
            elif power:
                asked.watts[node] = power
        ends = {*active, *asked.amps, *asked.watts}
        links = pruned(self.net, state.links[piece], ends)
        key = (tuple(links), *asked.signature())
        found = self._solved.get(key)
        if found is None:
            made, problem, number = solved_piece(self.net, links, asked)
            found = made
            if made is None:
                share, at_limit = greatest_share(problem)
                found = self._not_carried(case, asked, number, share, at_limit.volts if at_limit else None)
            assert found is not None
            self._solved[key] = found
            self._asked[id(found)] = asked
        return found

    def _not_carried(
        self, case: Case, asked: Asked, number: dict[int, int], share: float, volts: list[float] | None
    ) -> NotCarried:
        loads = [*asked.watts, *asked.amps]
        nominal = {n: max((f.volts for f in asked.feeds), default=1.0) for n in loads}
        worst = min(loads, key=lambda n: volts[number[n]] / nominal[n]) if volts else loads[0]
        return NotCarried(
            -1, case.title, worst, share, volts[number[worst]] if volts else 0.0,
            asked.watts.get(worst), asked.amps.get(worst), tuple(loads),
        )  # fmt: skip


def _outputs_first(pieces: list[int], feeds: dict[int, list[int]]) -> list[int]:
    """Pieces, those behind a converter before those that feed it; in a ring one comes first anyhow."""
    order: list[int] = []
    seen: set[int] = set()
    for start in pieces:
        stack = [(start, iter(feeds.get(start, ())))] if start not in seen else []
        seen.add(start)
        while stack:
            piece, rest = stack[-1]
            after = next((p for p in rest if p not in seen), None)
            if after is None:
                order.append(piece)
                stack.pop()
            else:
                seen.add(after)
                stack.append((after, iter(feeds.get(after, ()))))
    wanted = set(pieces)
    return [p for p in order if p in wanted]


def rated_w(load: Converter, volts: float | None) -> float | None:
    """The most an inverter or a converter takes, W; None where no figure says so."""
    if load.draws_w is not None:
        return load.draws_w
    if load.draws_a is not None:
        return load.draws_a * volts if volts else None
    out = load.output
    if load.kind == "converter" and out is not None and out.rated_a is not None and out.voltage_v and load.efficiency:
        return out.rated_a * out.voltage_v / load.efficiency
    return None
