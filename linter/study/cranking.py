"""What a cranking feed carries besides the cranking itself, which lasts for seconds."""

from __future__ import annotations

from dataclasses import replace

from linter.study.current import LoadCurrent, load_currents
from linter.study.study import Study


def besides_cranking(study: Study) -> dict[int, LoadCurrent]:
    """As `load_currents`, with no starter on in any case: by edge, what flows otherwise, charging included."""
    circuit = study.design.circuit
    loads = {n.index: n.load for n in circuit.nodes if n.load is not None}
    others = frozenset(n for n, load in loads.items() if not load.cranking)
    cases = [replace(case, on=others if case.on is None else case.on & others) for case in study.cases]
    return load_currents(circuit, cases)[0]
