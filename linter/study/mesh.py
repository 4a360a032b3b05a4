"""A mesh of resistances solved by its nodal matrix, one-way elements conducting only where they are driven forwards."""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

from linter.study.impedance import NIL_OHM, EdgeResistance
from linter.study.net import Block, Net

if TYPE_CHECKING:
    import numpy as np
    from numpy.typing import NDArray

    Matrix = NDArray[np.float64]

# What the solver leaves where nothing flows is below this.
LEAST_A = 1e-3


def laplacian(net: Net, edges: list[int], number: dict[int, int], ohms: dict[int, float], size: int) -> Matrix:
    """Conductances in siemens between the nodes of a block; edges of infinite resistance are left out."""
    import numpy as np

    made: Matrix = np.zeros((size, size))
    for edge in edges:
        ohm = ohms[edge]
        if ohm == math.inf:
            continue
        u, v, siemens = number[net.u[edge]], number[net.v[edge]], 1.0 / max(ohm, NIL_OHM)
        made[u, u] += siemens
        made[v, v] += siemens
        made[u, v] -= siemens
        made[v, u] -= siemens
    return made


@dataclass(slots=True)
class Settled:
    """A fault in a mesh: the current into it in A, every node's voltage by number, and what the rest of the mesh is for
    it while the one-way elements stay as they are: volts behind ohm."""

    amps: float
    at_v: Any
    volts: float
    ohm: float


@dataclass(slots=True)
class Mesh:
    """A block with the resistances of one case."""

    net: Net
    piece: Block
    number: dict[int, int]
    ohms: dict[int, float]
    edges: list[EdgeResistance]

    @property
    def one_way(self) -> list[int]:
        return [e for e in self.piece.edges if self.net.circuit.edges[e].one_way and self.ohms[e] < math.inf]


def settled(mesh: Mesh, volts: list[tuple[int, float, float]], amps: list[tuple[int, float]], at: int) -> Settled:
    """A fault at node number ``at``; one-way elements are turned, one at a time,
    until those that conduct do so forwards and those that do not would be driven backwards."""
    import numpy as np

    net, number = mesh.net, mesh.number
    size = len(number)
    open_ways: set[int] = set()
    into_fault, found, matrix, injected = 0.0, np.zeros(size), np.eye(size), np.zeros(size)
    for _ in range(4 * len(mesh.one_way) + 4):
        now = {e: (math.inf if e in open_ways else o) for e, o in mesh.ohms.items()}
        matrix = laplacian(net, mesh.piece.edges, number, now, size)
        injected = np.zeros(size)
        for edge in mesh.one_way:
            drop_v = mesh.edges[edge].drop_v
            if edge not in open_ways and drop_v:
                siemens = 1.0 / max(mesh.ohms[edge], NIL_OHM)
                injected[number[net.u[edge]]] += drop_v * siemens
                injected[number[net.v[edge]]] -= drop_v * siemens
        for node, source_v, ohm in volts:
            siemens = 1.0 / max(ohm, NIL_OHM)
            matrix[node, node] += siemens
            injected[node] += source_v * siemens
        for node, source_a in amps:
            injected[node] += source_a
        # what nothing ties to any voltage is held at none
        matrix[np.diag_indices(size)] += 1e-9
        rest = [i for i in range(size) if i != at]
        found = np.zeros(size)
        found[rest] = np.linalg.solve(matrix[np.ix_(rest, rest)], injected[rest])
        into_fault = float(injected[at] - matrix[at] @ found)
        wrong = _wrong_way(mesh, found, open_ways)
        if wrong is None:
            break
        open_ways ^= {wrong}
    inverse = np.linalg.inv(matrix)
    return Settled(into_fault, found, float(inverse[at] @ injected), float(inverse[at, at]))


def _wrong_way(mesh: Mesh, volts: Any, open_ways: set[int]) -> int | None:
    """A one-way element that conducts backwards, or is open though the voltage would drive current forwards."""
    for edge in mesh.one_way:
        ahead_v = float(volts[mesh.number[mesh.net.u[edge]]] - volts[mesh.number[mesh.net.v[edge]]])
        ahead_v -= mesh.edges[edge].drop_v
        if (edge not in open_ways) != (ahead_v > 0) and abs(ahead_v) > 1e-9:
            return edge
    return None


def reached_from(net: Net, piece: Block, start: int, ohms: dict[int, float]) -> set[int]:
    inside: dict[int, list[int]] = {}
    for edge in piece.edges:
        if ohms[edge] < math.inf:
            inside.setdefault(net.u[edge], []).append(edge)
            inside.setdefault(net.v[edge], []).append(edge)
    reached, waiting = {start}, [start]
    while waiting:
        node = waiting.pop()
        for edge in inside.get(node, ()):
            other = net.other(edge, node)
            if other not in reached:
                reached.add(other)
                waiting.append(other)
    return reached


def from_entry(net: Net, block: Block, ohms: dict[int, float], edges: list[EdgeResistance]) -> dict[int, float]:
    """By node of a block: the resistance in ohm that current meets from the entry to a fault there.  Infinite where
    none comes.  The drop of a one-way element inside is left out."""
    import numpy as np

    number = {n: i for i, n in enumerate(block.nodes)}
    without_drop = [EdgeResistance(e.least_ohm, e.greatest_ohm) for e in edges]
    mesh = Mesh(net, block, number, ohms, without_drop)
    found = dict.fromkeys(block.nodes, math.inf)
    found[block.entry] = 0.0
    if mesh.one_way:
        for node in block.nodes:
            if node != block.entry:
                amps = settled(mesh, [(number[block.entry], 1.0, NIL_OHM)], [], number[node]).amps
                found[node] = 1.0 / amps - NIL_OHM if amps > LEAST_A else math.inf
        return found
    reached = reached_from(net, block, block.entry, ohms)
    matrix = laplacian(net, block.edges, number, ohms, len(number))
    matrix[number[block.entry], number[block.entry]] += 1.0 / NIL_OHM
    for node, i in number.items():
        if node not in reached:
            matrix[i, i] += 1.0
    inverse = np.linalg.inv(matrix)
    for node in reached:
        if node != block.entry:
            i = number[node]
            found[node] = max(float(inverse[i, i]) - NIL_OHM, 0.0)
    return found
