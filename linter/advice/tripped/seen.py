"""What a device should see, by the model: currents in each scene, at the start of loads and at low voltage; faults."""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass, field, replace

from linter.advice.tripped.motors import is_motor
from linter.advice.tripped.warmth import limit_c
from linter.model.circuit import Edge, Node
from linter.model.elements import Conductor, Converter, Device, Load, Place
from linter.study.cases import Case, draws_a
from linter.study.curve import Curve, shares, stated_ambient_c
from linter.study.scene_flow import Flow, SceneState
from linter.study.study import Study

# In a mesh nobody can say which loads it feeds: of those with the largest starting currents so many are tried.
MOST_STARTS = 4


@dataclass(frozen=True, slots=True)
class Start:
    """A load that starts while all else of a scene runs: the current through the device in A, and for how long in s
    (None: not stated).  ``motor``: the load is one."""

    load: str
    amps: float
    seconds: float | None
    motor: bool = True


@dataclass(slots=True)
class InScene:
    """A scene: least and greatest current through the device in A over the positions that the scene leaves open, the
    greatest at the system's least voltage (None: not told, or not carried), and what starts in it."""

    title: str
    least_a: float
    steady_a: float
    low_a: float | None = None
    not_carried: bool = False
    starts: list[Start] = field(default_factory=list)


@dataclass(frozen=True, slots=True)
class Fault:
    """A fault at a point: the smallest current in A (None: only sources that limit themselves reach it) and the
    largest; the device may open after ``least_s`` at the largest and has opened by ``most_s`` at the smallest."""

    node: int
    smallest_a: float | None
    largest_a: float
    least_s: float | None
    most_s: float | None
    leans_on: tuple[str, ...] = ()
    unknown: bool = False


@dataclass(slots=True)
class Seen:
    """A device and what it sees.  ``near`` and ``far``: its nodes towards and away from the sources; ``behind``: nodes
    beyond it, empty in a mesh.  ``far_fault``: the smallest that it has to clear itself."""

    study: Study
    edge: Edge
    near: int
    far: int
    meshed: bool
    behind: list[int]
    loads: list[Node]
    runs: list[Conductor]
    curve: Curve | None
    carries_a: float | None
    place_c: float | None
    scenes: list[InScene] = field(default_factory=list)
    least_v: float | None = None
    # by node of a load behind it: the least voltage that it has as one of them starts, V
    start_volts: dict[int, float] = field(default_factory=dict)
    near_fault: Fault | None = None
    far_fault: Fault | None = None
    missing: list[str] = field(default_factory=list)

    @property
    def device(self) -> Device:
        return self.edge.device

    @property
    def unfed(self) -> bool:
        """Whether no source reaches it."""
        return not (self.study.fed(self.near) or self.study.fed(self.far))

    @property
    def steady(self) -> InScene | None:
        """The scene with the greatest current; None where no current flows in any."""
        best = max(self.scenes, key=lambda s: s.steady_a, default=None)
        return best if best is not None and best.steady_a > 0 else None

    @property
    def start(self) -> tuple[InScene, Start] | None:
        """The start that the device bears least: by how long it lasts against how long that is borne."""
        return max(self.starts, key=lambda pair: (self.strain(pair[1]), pair[1].amps), default=None)

    @property
    def starts(self) -> list[tuple[InScene, Start]]:
        return [(scene, start) for scene in self.scenes for start in scene.starts]

    @property
    def stall(self) -> tuple[InScene, Start] | None:
        """The start of a motor with the largest current."""
        return max((p for p in self.starts if p[1].motor), key=lambda p: p[1].amps, default=None)

    @property
    def stall_a(self) -> float | None:
        """The largest current with a motor locked, A: what it takes as it starts (common practice)."""
        return self.stall[1].amps if self.stall is not None else None

    @property
    def low(self) -> InScene | None:
        """The scene with the greatest current at the least voltage."""
        return max((s for s in self.scenes if s.low_a is not None), key=lambda s: s.low_a or 0.0, default=None)

    def bears(self, start: Start) -> bool:
        """Whether it carries so much for ever: by its curve, or where that does not tell, by its rating."""
        least_s, _ = self.band(start.amps)
        if least_s:
            return least_s == math.inf
        return self.carries_a is not None and start.amps <= self.carries_a

    def strain(self, start: Start) -> float:
        """The time that a start lasts as a share of the least time to open; nil where it is told of neither."""
        if self.curve is None or start.seconds is None:
            return 0.0
        least_s = self.curve.fastest(start.amps)
        return math.inf if least_s == 0 else start.seconds / least_s

    def band(self, amps: float) -> tuple[float | None, float | None]:
        """(may open after, has opened by) in s at a current; infinite: it need not open; None: nothing is promised."""
        if self.curve is None or not (self.curve.slow or self.curve.fast):
            return None, None
        least = self.curve.fastest(amps)
        most = self.curve.slowest(amps)
        # beyond the curve the fast edge promises nothing; nil is what it may be
        return least, most.seconds if most.told or most.seconds < math.inf else None

    @property
    def limit_c(self) -> float | None:
        """The temperature from which on it carries less than it should; None: not told, or hotter than a place is, or
        it carries so much nowhere."""
        return None if self.steady is None or self.never_carries else limit_c(self.device, self.steady.steady_a)

    @property
    def never_carries(self) -> bool:
        """Whether it should carry more than its maker says it does at any temperature."""
        device, steady = self.device, self.steady
        if steady is None or device.rated_a is None or not device.carries:
            return False
        return max(share for _, share in device.carries) * device.rated_a < steady.steady_a * (1 - 1e-9)


class Tried(Flow):
    """Scenes solved with a load starting, or with batteries at another voltage; nothing of the study is changed."""

    def __init__(self, study: Study, starting: int = -1, volts: Mapping[int, float] | None = None) -> None:
        super().__init__(study, study.scenes().net)
        self.starting = starting
        for node, least_v in (volts or {}).items():
            self.sources[node] = replace(self.sources[node], volts=least_v)

    def fixed(self, node: Node) -> tuple[float | None, float | None]:
        if node.index == self.starting and node.load is not None and node.load.starts_a:
            return node.load.starts_a, None
        return super().fixed(node)


def seen_of(study: Study, edge: Edge) -> Seen:
    """All of it.  Linear in the design for each scene, and for each load behind the device that starts."""
    circuit = study.design.circuit
    far = study.parts.leads_to[edge.index]
    meshed = far < 0
    near = edge.u if meshed else study.net.other(edge.index, far)
    far = edge.v if meshed else far
    behind = [] if meshed else beyond(study, edge.index, far)
    loads = [circuit.nodes[n] for n in behind if circuit.nodes[n].load is not None]
    runs = _runs(study, behind)
    device = edge.device
    curve = study.openings().curve(edge.index)
    hot, _ = shares(device)
    place_c = stated_ambient_c(device.place) if isinstance(device.place, Place) else None
    carries_a = None if device.rated_a is None else device.rated_a * hot
    made = Seen(study, edge, near, far, meshed, behind, loads, runs, curve, carries_a, place_c)
    if meshed:
        # a load at the end of its row, such as an inverter that also charges, is its own alone
        row = set(same_current(made))
        made.loads = [n for n in circuit.nodes if n.load is not None and n.name in row]
    _what_lacks(made)
    _scenes(made)
    _faults(made)
    return made


def beyond(study: Study, edge: int, far: int, devices: bool = True) -> list[int]:
    """The nodes that hang from a bridge; without ``devices`` as far as the next device that would open before."""
    nodes, edges = study.design.circuit.nodes, study.design.circuit.edges
    found, seen = [far], {far}
    for node in found:
        for index in nodes[node].edges:
            other = edges[index].v if edges[index].u == node else edges[index].u
            if index != edge and other not in seen and (devices or edges[index].kind != "device"):
                seen.add(other)
                found.append(other)
    return found


def _runs(study: Study, behind: list[int]) -> list[Conductor]:
    """The conductors beyond the device, the nearest first."""
    nodes, edges = study.design.circuit.nodes, study.design.circuit.edges
    inside = set(behind)
    found = dict.fromkeys(
        i
        for n in behind
        for i in nodes[n].edges
        if edges[i].kind == "conductor" and edges[i].u in inside and edges[i].v in inside
    )
    return [edges[i].conductor for i in found]


def _what_lacks(made: Seen) -> None:
    device = made.device
    if device.rated_a is None:
        made.missing.append(f"{device.name} has no rating: write down what is printed on it")
    elif made.curve is None or not (made.curve.slow or made.curve.fast):
        sheet = f"in part {device.part.name}" if device.part is not None else "on its line"
        made.missing.append(
            f"{device.name} has no time-current curve, so when it opens is not told: ask its maker, write its points "
            f"{sheet} (opens at 200 % in 1 s to 15 s)"
        )
    if device.place is None:
        made.missing.append(f"nobody says where {device.name} stands, so its temperature is not told (in PLACE)")
    elif made.place_c is None:
        made.missing.append(f"{device.place.name} has no temperature (ambient 40 °C)")
    if not device.carries:
        made.missing.append(
            f"nobody says what {device.name} carries when warm (carries 92 % at 50 °C); its rating is taken"
        )
    if made.unfed:
        made.missing.append(f"nothing feeds {device.name} in this design: name its source, and run it from there")
    elif made.meshed:
        made.missing.append(
            f"{device.name} stands in a mesh of sources or in a ring: what is behind it is not of its own alone"
        )
    for run in made.runs:
        lacks = [word for word, given in (("length", run.length_m), ("size", run.area_mm2)) if given is None]
        if lacks:
            made.missing.append(f"{run.name} has no {' and no '.join(lacks)}: no fault beyond it is told")
    for node in made.loads:
        load = node.load
        if load is not None and draws_a(load, node) is None:
            made.missing.append(f"{load.name} does not say what it draws")


def _through(state: SceneState, made: Seen) -> float:
    return abs(state.currents(made.study.scenes().net).get(made.edge.index, 0.0))


def _scenes(made: Seen) -> None:
    study = made.study
    scenes = study.scenes()
    volts = _least_volts(made)
    low = Tried(study, volts=volts) if volts else None
    starters = _starters(made)
    flows = {node.index: Tried(study, node.index) for node in starters}
    by_title: dict[str, InScene] = {}
    for state in scenes.states:
        case = state.case
        if not made.meshed and not any(case.has_on(n.index) for n in made.loads):
            continue
        amps = _through(state, made)
        row = by_title.get(case.title)
        if row is None:
            row = by_title[case.title] = InScene(case.title, amps, amps)
        row.least_a, row.steady_a = min(row.least_a, amps), max(row.steady_a, amps)
        if low is not None:
            _at_low(made, row, low, case)
        for node in starters:
            if node.load is not None and case.has_on(node.index):
                _starting(made, row, flows[node.index].solved(case), node.load, amps)
    made.scenes = [row for row in by_title.values() if row.steady_a > 1e-6 or row.starts]


def _at_low(made: Seen, row: InScene, low: Tried, case: Case) -> None:
    """Batteries alone, at their least: what charges would hold the voltage up."""
    nodes = made.study.design.circuit.nodes
    charging = {n for n in low.sources if n not in low.batteries and n not in low.input_of and nodes[n].source}
    state = low.solved(replace(case, off=case.off | frozenset(charging)))
    if any(set(n.loads) & {m.index for m in made.loads} for n in state.not_carried):
        row.not_carried = True
        return
    amps = _through(state, made)
    row.low_a = amps if row.low_a is None else max(row.low_a, amps)


def _starting(made: Seen, row: InScene, state: SceneState, load: Load, running_a: float) -> None:
    behind = {n.index for n in made.loads}
    for piece, node in state.loads():
        if node in behind:
            volts = piece.volts(node)
            made.start_volts[node] = min(volts, made.start_volts.get(node, volts))
    amps = _through(state, made)
    if amps <= running_a * (1 + 1e-6):
        return
    known = next((s for s in row.starts if s.load == load.name), None)
    if known is None or amps > known.amps:
        row.starts = [s for s in row.starts if s is not known] + [Start(load.name, amps, load.starts_s, is_motor(load))]


def _starters(made: Seen) -> list[Node]:
    nodes = made.study.design.circuit.nodes if made.meshed else made.loads
    found = [n for n in nodes if n.load is not None and n.load.starts_a]
    if not made.meshed:
        return found
    return sorted(found, key=lambda n: -(n.load.starts_a or 0.0) if n.load else 0.0)[:MOST_STARTS]


def _least_volts(made: Seen) -> dict[int, float]:
    """By node of a battery, the least voltage of its system."""
    nodes = made.study.design.circuit.nodes
    system = nodes[made.far].system or nodes[made.near].system
    if system is None or system.least_v is None:
        made.missing.append(
            "the system does not say its least voltage (least 10.5 V), so what low voltage does is not told"
        )
        return {}
    made.least_v = system.least_v
    flow = made.study.scenes().flow
    found = {n: system.least_v for n in flow.batteries if nodes[n].system is system}
    if not found:
        made.missing.append(f"no battery stands on {system.name}, so what its low voltage would do is not told")
    return found


def _faults(made: Seen) -> None:
    faults = made.study.faults()
    made.near_fault = _fault(made, made.far, faults.through(made.edge.index).amps)
    if made.meshed:
        return
    # beyond the next device it is that one which should open
    points = [n for n in beyond(made.study, made.edge.index, made.far, devices=False) if n in faults.points]
    found = [f for n in points if (f := _fault(made, n, faults.largest(n).amps)) is not None]
    made.far_fault = min(
        (f for f in found if f.smallest_a is not None and not f.unknown), key=lambda f: f.smallest_a or 0.0,
        default=None,
    )  # fmt: skip


def _fault(made: Seen, node: int, largest_a: float) -> Fault | None:
    faults = made.study.faults()
    smallest = faults.smallest(node) if not made.meshed else None
    if largest_a <= 0:
        return None
    least_s = made.band(largest_a)[0]
    if smallest is None:
        return Fault(node, None, largest_a, least_s, made.band(largest_a)[1])
    leans = smallest.drive.leans_on if smallest.drive is not None else ()
    return Fault(node, smallest.amps, largest_a, least_s, made.band(smallest.amps)[1], leans, smallest.unknown)


def power_loads(made: Seen) -> list[Load]:
    """The loads behind it whose current grows as their voltage falls: those stated in W, inverters and converters."""
    return [
        n.load
        for n in made.loads
        if n.load is not None and (isinstance(n.load, Converter) or (n.load.draws_a is None and n.load.draws_w))
    ]


def same_current(seen: Seen) -> list[str]:
    """The elements in one row with the device, those behind it first: no branch between, so they carry what it does."""
    nodes, edges = seen.study.design.circuit.nodes, seen.study.design.circuit.edges
    found = [seen.device.name]
    for start in (seen.far, seen.near):
        node, came = start, seen.edge.index
        while len(nodes[node].edges) == 2 and nodes[node].load is None and nodes[node].source is None:
            came = next(i for i in nodes[node].edges if i != came)
            if edges[came].element.name in found:
                break
            found.append(edges[came].element.name)
            node = edges[came].v if edges[came].u == node else edges[came].u
        if len(nodes[node].edges) == 1:
            found += [nodes[node].name, nodes[node].name.partition(".")[0]]
    return found
