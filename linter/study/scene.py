"""Every scene solved: voltages at the loads, currents through everything, in each of the states the scene allows.

A load stated in A draws that current at any voltage, one stated in W that power: it draws the more the less voltage it
gets.  An inverter's and a converter's input is a constant power: a converter takes what its output gives in that scene
by its efficiency, at most what it is rated to take.

A battery is its nominal voltage behind its greatest resistance.  Any other source counts only in a scene that names
it, or where no battery can feed what is on: it holds its voltage up to its rated current and gives no more.  A
converter that is on gives at its output.  An inverter that charges as well does not charge while it is on as a load.

The drop of a load is reckoned from its source's terminals (the battery's own resistance excluded) in per cent of its
system's nominal voltage; where a battery feeds it, with the battery alone: what charges besides raises the voltage at
every load, and is not always there.
"""

from __future__ import annotations

from dataclasses import dataclass, field, replace
from typing import TYPE_CHECKING, Any

from linter.study.cases import Case
from linter.study.scene_flow import Flow, NotCarried, SceneState
from linter.study.scene_net import SceneNet, nil_words, scene_net_of
from linter.study.scene_path import LEAST_V, Piece, losses

if TYPE_CHECKING:
    from linter.study.study import Study


@dataclass(frozen=True, slots=True)
class AtLoad:
    """A load in one state: volts at it, the drop from its source's terminals, the current in A.  ``case``: number of
    the state; negative where the load is on by itself.  ``judged``: with batteries alone, as drops are judged."""

    node: int
    case: int
    title: str
    volts: float
    drop_v: float
    amps: float
    judged: bool = True


@dataclass(slots=True)
class Scenes:
    """All states of all scenes.  ``worst``: by load, where it loses most; ``lowest`` and ``highest``: where its voltage
    is so; ``alone``: by load, by itself at its rated current, in the worst allowed state."""

    study: Study
    flow: Flow
    states: list[SceneState]
    worst: dict[int, AtLoad] = field(default_factory=dict)
    lowest: dict[int, AtLoad] = field(default_factory=dict)
    highest: dict[int, AtLoad] = field(default_factory=dict)
    alone: dict[int, AtLoad] = field(default_factory=dict)
    # by load that cannot be carried by itself: what its way would lose at its rated current, from which mends follow
    beyond: dict[int, AtLoad] = field(default_factory=dict)
    not_carried: list[NotCarried] = field(default_factory=list)
    remarks: list[str] = field(default_factory=list)
    # the states in which loads were tried by themselves: a load's ``case`` there is -1 less its place in this list
    alone_cases: list[Case] = field(default_factory=list)
    # ways of loads by themselves, by state and piece; found when first asked for
    walks: dict[tuple[int, int], tuple[Any, list[int]]] = field(default_factory=dict)
    # by piece, the edges on which the current of what is beyond does not hang on their size; found when first asked for
    radial: dict[int, set[int]] = field(default_factory=dict)
    # what has gone into trying mends, in links times cases
    tried: int = 0

    @property
    def net(self) -> SceneNet:
        return self.flow.net

    def nominal_v(self, node: int) -> float | None:
        system = self.study.design.circuit.nodes[node].system
        return system.voltage_v if system is not None else None

    def percent(self, found: AtLoad) -> float | None:
        """The drop in per cent of the nominal voltage of the load's system."""
        volts = self.nominal_v(found.node)
        return 100.0 * found.drop_v / volts if volts else None

    def untold(self, found: AtLoad) -> list[str]:
        """The conductors on the way to the load whose size or length nobody tells: they count as nil, so it loses more
        than is reckoned."""
        missing = set(self.net.missing)
        if not missing:
            return []
        edges = self.study.design.circuit.edges
        return [n for e, _ in reversed(self.losses(found, -1.0)) if (n := edges[e].element.name) in missing]

    def losses(self, found: AtLoad, least_v: float = LEAST_V) -> list[tuple[int, float]]:
        """(edge, V) on the way to the load, nearest the load first; without what costs no more than ``least_v``."""
        if found.case < 0:
            from linter.study.scene_alone import alone_losses

            return alone_losses(self, found, least_v)[0]
        piece = next((p for p in self.states[found.case].pieces if found.node in p.loads), None)
        if piece is not None and found.judged:
            piece = piece.judged(found.node)
        return losses(piece, self.net, found.node, least_v) if piece is not None else []


def scenes_of(study: Study, net: SceneNet | None = None) -> Scenes:
    """Solve every case of a study, and every load by itself; with ``net`` in place of the circuit as it is.  Linear in
    the design for each case."""
    from linter.study.scene_alone import each_alone

    flow = Flow(study, net if net is not None else scene_net_of(study))
    made = Scenes(study, flow, [])
    for number, case in enumerate(study.cases):
        state = flow.solved(case)
        made.states.append(state)
        made.not_carried += [replace(n, case=number) for n in state.not_carried]
        for piece, node in state.loads():
            # the same piece in the same state, met in an earlier case, has been looked at
            if flow.first_case.setdefault(id(piece), number) != number:
                continue
            _keep(
                made,
                *(
                    _at(number, case.title, p, node, judged)
                    for p, judged in ((piece.judged(node), True), (piece, False))
                ),
            )
    made.alone = each_alone(made, flow)
    made.remarks = [*flow.remarks, *made.remarks]
    if flow.net.missing:
        made.remarks.append(nil_words(flow.net.missing))
    return made


def _at(case: int, title: str, piece: Piece, node: int, judged: bool) -> AtLoad:
    return AtLoad(node, case, title, piece.volts(node), piece.drop_v(node), piece.loads[node], judged)


def _keep(made: Scenes, judged: AtLoad, found: AtLoad) -> None:
    node = found.node
    if node not in made.worst or judged.drop_v > made.worst[node].drop_v:
        made.worst[node] = judged
    if node not in made.lowest or found.volts < made.lowest[node].volts:
        made.lowest[node] = found
    if node not in made.highest or found.volts > made.highest[node].volts:
        made.highest[node] = found


__all__ = ["AtLoad", "Flow", "NotCarried", "SceneState", "Scenes", "scenes_of"]
