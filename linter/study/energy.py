"""What a day takes from each bank, and the load total by groups A and B.

Time at work is what the load says it runs a day; of one that is always on, 24 h; else the time of the scenes that name
it, at most 24 h.  A load for which nothing says how long it runs is listed, and no time is guessed.
"""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import TYPE_CHECKING

from linter.model.elements import Converter, Load
from linter.study.cases import draws_a, is_continuous
from linter.study.scene import Flow, Scenes
from linter.study.scene_net import Link, SceneNet
from linter.study.scene_path import Piece
from linter.tables.cite import Cite
from linter.tables.rulebook import load as load_rulebook

if TYPE_CHECKING:
    from linter.study.study import Study

HOUR_S = 3600.0
DAY_S = 24 * HOUR_S


@dataclass(frozen=True, slots=True)
class Use:
    """What one load takes from its bank in a day.  ``seconds`` None: nothing says how long it runs.  ``basis``: runs,
    always on or scenes.  ``by``: converters on the way; their losses are in."""

    load: str
    label: str
    seconds: float | None
    basis: str
    wh: float | None
    ah: float | None
    by: tuple[str, ...] = ()


@dataclass(slots=True)
class Bank:
    """Batteries that every state of the boat joins.  Volts nominal; charge in Ah, None where a battery does not say."""

    batteries: tuple[str, ...]
    volts: float
    charge_ah: float | None
    uses: list[Use] = field(default_factory=list)
    # (scene, its seconds, Ah that it takes; less than nothing: the bank is charged)
    scenes: list[tuple[str, float, float]] = field(default_factory=list)

    @property
    def wh(self) -> float:
        return sum(u.wh for u in self.uses if u.wh is not None)

    @property
    def ah(self) -> float:
        return sum(u.ah for u in self.uses if u.ah is not None)

    @property
    def unknown(self) -> list[str]:
        return [u.load for u in self.uses if u.wh is None]


@dataclass(slots=True)
class LoadTotal:
    """All of group A, and of group B the larger of a part of all and of its largest item; A, for one system."""

    system: str
    continuous: list[tuple[str, float]]
    intermittent: list[tuple[str, float]]
    part: float
    cite: Cite

    @property
    def group_a(self) -> float:
        return sum(a for _, a in self.continuous)

    @property
    def group_b(self) -> float:
        return sum(a for _, a in self.intermittent)

    @property
    def largest_b(self) -> float:
        return max((a for _, a in self.intermittent), default=0.0)

    @property
    def total_a(self) -> float:
        return self.group_a + max(self.part * self.group_b, self.largest_b)


@dataclass(slots=True)
class Energy:
    banks: list[Bank]
    # loads that no bank feeds
    elsewhere: list[Use]
    totals: list[LoadTotal]
    remarks: list[str]


def energy_of(study: Study) -> Energy:
    """Reckon a day, from the study's solved scenes."""
    scenes = study.scenes()
    nodes = study.design.circuit.nodes
    banks, bank_of = _banks(scenes.flow)
    remarks: list[str] = []
    fed_by = _feeding(scenes)
    elsewhere: list[Use] = []
    for node in nodes:
        load = node.load
        if load is None or node.index in scenes.flow.converters or (node.system and node.system.alternating):
            continue
        seconds, basis = seconds_a_day(study, load)
        battery, by, loss = _bank_behind(scenes.flow, fed_by, node.index)
        bank = bank_of.get(battery) if battery is not None else None
        wh = ah = None
        fixed_a, fixed_w = scenes.flow.fixed(node)
        volts = bank.volts if bank is not None else node.system.voltage_v if node.system else None
        if by:
            # what is stated in A flows at the converter's output voltage
            volts_there: float | None = _output_v(scenes.flow, fed_by, node.index)
        else:
            volts_there = volts
        power = fixed_w if fixed_w is not None else fixed_a * volts_there if fixed_a and volts_there else None
        if seconds is not None and power is not None and volts:
            wh = power * seconds / HOUR_S / loss
            ah = wh / volts
        use = Use(load.name, load.label, seconds, basis, wh, ah, by)
        (bank.uses if bank is not None else elsewhere).append(use)
    _scene_charge(scenes, bank_of)
    total_s = sum(s.duration_s for s in study.design.scenes if s.duration_s is not None)
    if total_s > DAY_S:
        remarks.append(
            f"the scenes last {total_s / HOUR_S:.3g} h together and are no single day: a load that says nothing of its "
            "own counts the time of all scenes that name it, at most 24 h"
        )
    for converter, out in scenes.flow.converters.values():
        if out >= 0 and not converter.efficiency:
            remarks.append(f"{converter.name} does not say its efficiency; what it loses is left out")
    return Energy(banks, elsewhere, load_totals(study), remarks)


def seconds_a_day(study: Study, load: Load) -> tuple[float | None, str]:
    """(time at work in a day in s or None, on what it rests)."""
    if load.runs_s_a_day is not None:
        return load.runs_s_a_day, "runs"
    if load.always_on:
        return DAY_S, "always on"
    times = [
        s.duration_s for s in study.design.scenes if s.duration_s is not None and any(e.name == load.name for e in s.on)
    ]
    return (min(DAY_S, sum(times)), "scenes") if times else (None, "")


def _banks(flow: Flow) -> tuple[list[Bank], dict[int, Bank]]:
    """Batteries in one bank are joined in every state, and not over a diode."""
    nodes = flow.study.design.circuit.nodes
    seen: dict[int, list[int]] = {battery: [] for battery in flow.batteries}
    for opened in dict.fromkeys(c.opened for c in flow.study.cases):
        group = _joined(flow.net, flow.batteries, opened)
        for battery in seen:
            seen[battery].append(group[battery])
    together: dict[tuple[int, ...], list[int]] = {}
    for battery in sorted(seen):
        together.setdefault(tuple(seen[battery]) or (battery,), []).append(battery)
    banks, bank_of = [], {}
    for members in together.values():
        sources = [s for n in members if (s := nodes[n].source) is not None]
        charges = [s.charge_ah for s in sources]
        volts = flow.sources[members[0]].volts
        charge = None if None in charges else sum(c for c in charges if c is not None)
        bank = Bank(tuple(s.name for s in sources), volts, charge)
        banks.append(bank)
        bank_of.update(dict.fromkeys(members, bank))
    return banks, bank_of


def _joined(net: SceneNet, batteries: set[int], opened: frozenset[int]) -> dict[int, int]:
    shut = {net.link_of[e] for e in opened}
    group: dict[int, int] = {}
    for start in sorted(batteries):
        if start in group:
            continue
        group[start] = start
        waiting = [start]
        while waiting:
            node = waiting.pop()
            for index in net.meeting.get(node, ()):
                other = net.links[index].other(node)
                if index not in shut and not net.links[index].one_way and other not in group:
                    group[other] = start
                    waiting.append(other)
    return {battery: group[battery] for battery in batteries}


# by load node: (node of the battery that feeds it, or of the converter's output, or of another source)
_Feeding = dict[int, int]


def _feeding(scenes: Scenes) -> _Feeding:
    """What feeds each load for the longest time of all scenes; without times, in most states."""
    durations: dict[str, float] = {}
    for scene in scenes.study.design.scenes:
        durations[scene.title] = max(durations.get(scene.title, 0.0), scene.duration_s or 0.0)
    weight: dict[int, dict[int, float]] = {}
    known: dict[int, dict[int, int]] = {}
    for state in scenes.states:
        seconds = 1.0 + durations.get(state.case.title, 0.0)
        for piece in state.pieces:
            if id(piece) not in known:
                known[id(piece)] = _origins(piece, scenes.net, set(scenes.flow.input_of))
            for node, origin in known[id(piece)].items():
                found = weight.setdefault(node, {})
                found[origin] = found.get(origin, 0.0) + seconds
    return {node: max(found, key=found.__getitem__) for node, found in weight.items()}


def _origins(piece: Piece, net: SceneNet, outputs: set[int]) -> dict[int, int]:
    """By load, the battery from which it is fed, or which is charged beside it; without a battery, the source."""
    ends: dict[int, int] = {}
    made: dict[int, int] = {}
    nearest: dict[int, int] = {}
    for load in piece.loads:
        row, node = {load: None}, load
        while node not in ends and piece.via[piece.number[node]] >= 0:
            node = net.links[piece.links[piece.via[piece.number[node]]]].other(node)
            if node in row:
                break
            row[node] = None
        end = ends.get(node, node)
        ends.update(dict.fromkeys(row, end))
        if end not in piece.feeds or (piece.batteries and end not in piece.batteries and end not in outputs):
            if end not in nearest:
                nearest[end] = _nearest(piece, net, end)
            end = nearest[end]
        made[load] = end
    return made


def _nearest(piece: Piece, net: SceneNet, start: int) -> int:
    """The battery at the least resistance from a node, or, in a piece without, the source."""
    import heapq

    wanted = piece.batteries or set(piece.feeds)
    meeting: dict[int, list[Link]] = {}
    for index in piece.links:
        link = net.links[index]
        meeting.setdefault(link.u, []).append(link)
        meeting.setdefault(link.v, []).append(link)
    heap, seen = [(0.0, start)], set()
    while heap:
        ohm, node = heapq.heappop(heap)
        if node in seen:
            continue
        if node in wanted:
            return node
        seen.add(node)
        for link in meeting.get(node, ()):
            if link.other(node) not in seen:
                heapq.heappush(heap, (ohm + link.ohm, link.other(node)))
    return start


def _bank_behind(flow: Flow, fed_by: _Feeding, node: int) -> tuple[int | None, tuple[str, ...], float]:
    """(battery, converters on the way, their efficiencies multiplied); no battery where none feeds the load."""
    by: list[str] = []
    loss = 1.0
    origin = fed_by.get(node)
    while origin is not None and origin in flow.input_of:
        feeding = flow.input_of[origin]
        converter: Converter = flow.converters[feeding][0]
        if converter.name in by:
            return None, tuple(by), loss
        by.append(converter.name)
        loss *= converter.efficiency or 1.0
        origin = fed_by.get(feeding)
    return (origin if origin in flow.batteries else None), tuple(by), loss


def _output_v(flow: Flow, fed_by: _Feeding, node: int) -> float | None:
    origin = fed_by.get(node)
    return flow.sources[origin].volts if origin is not None and origin in flow.sources else None


def _scene_charge(scenes: Scenes, bank_of: dict[int, Bank]) -> None:
    """What each scene with a time takes from each bank, in the state of it that takes most."""
    for scene in scenes.study.design.scenes:
        if scene.duration_s is None:
            continue
        most: dict[int, float] = {}
        banks: dict[int, Bank] = {}
        for state in scenes.states:
            if state.case.title != scene.title:
                continue
            here: dict[int, float] = {}
            for piece in state.pieces:
                for node in piece.batteries:
                    bank = bank_of[node]
                    banks[id(bank)] = bank
                    here[id(bank)] = here.get(id(bank), 0.0) + piece.feeds.get(node, 0.0)
            for key, amps in here.items():
                most[key] = max(most.get(key, amps), amps)
        for key, amps in most.items():
            banks[key].scenes.append((scene.title, scene.duration_s, amps * scene.duration_s / HOUR_S))


def load_totals(study: Study) -> list[LoadTotal]:
    """By system.  Group A: loads that are continuous or always on; group B: the others.  Cranking motors are left out:
    their feed is their own.  (ABYC E-11, load calculation; from memory.)"""
    clause = load_rulebook("abyc-e11").clause("dc-load-total")
    percent = clause.figure("intermittent_percent") if clause is not None else None
    if clause is None or percent is None:
        return []
    found: dict[str, LoadTotal] = {}
    for node in study.design.circuit.nodes:
        load, system = node.load, node.system
        if load is None or system is None or system.alternating or load.cranking:
            continue
        amps = draws_a(load, node)
        if amps:
            total = found.setdefault(system.name, LoadTotal(system.name, [], [], percent / 100.0, clause.cite))
            group = total.continuous if is_continuous(load) or load.always_on else total.intermittent
            group.append((load.name, amps))
    return list(found.values())
