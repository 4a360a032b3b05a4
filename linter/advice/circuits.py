"""What a person means by naming a load: the cables and devices of its circuit."""

from __future__ import annotations

from linter.model.elements import Conductor, Device
from linter.study.study import Study


def circuit_of(study: Study, node: int) -> list[str]:
    """The cables and devices from a load's node back to the bus, joint of several ways, or source that it hangs from;
    the nearest to that first.  Only the one way it is fed by: a ring ends it."""
    circuit, parts = study.design.circuit, study.parts
    found: list[str] = []
    at = node
    while True:
        block = parts.block_of[at]
        bridge = parts.bridge_to[at]
        if block < 0 or bridge < 0 or len(parts.blocks[block].nodes) > 1:
            break
        element = circuit.edges[bridge].element
        if isinstance(element, Conductor | Device):
            found.append(element.name)
        at = study.net.other(bridge, at)
        if len(circuit.nodes[at].edges) > 2 or circuit.nodes[at].kind == "bus" or circuit.nodes[at].source is not None:
            break
    return found[::-1]
