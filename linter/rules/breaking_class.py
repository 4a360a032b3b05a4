"""Main and branch devices break at least what the bank's cold cranking amperes demand."""

from __future__ import annotations

from collections.abc import Iterator

from linter.rules.finding import Severity
from linter.rules.registry import Wrong, rule
from linter.rules.words import amps, apart, kiloamps, names
from linter.study.breaking import breaking_capacity
from linter.study.study import Study
from linter.study.voltage import greatest_voltage

LITHIUM = frozenset({"lithium", "lithium iron phosphate"})


@rule(
    "breaking-class",
    Severity.FAULT,
    demand="Main and branch devices break at least what the rulebook demands for the bank's cold cranking amperes.",
    reason=(
        "Where nobody knows a battery's internal resistance, its cold cranking amperes tell roughly what it can drive. "
        "The first device after the battery is the main one, each later one a branch."
    ),
    clause="ABYC E-11, interrupting capacity",
    status="second-hand",
    mend="Fit a device of the interrupting capacity that the table gives.",
    measure=(
        "Read the cold-cranking amperes off every battery of the bank and add up those in parallel; read "
        "the interrupting capacity off the main and the branch devices."
    ),
    bad="""
boat "Example", 9 m, rulebook abyc-e11
system DC12, 12 V, negative earthed
cables, insulation 105 °C, tinned
battery B, AGM, 12 V, 100 Ah, resistance 8 mΩ, cranking 700 A
from B
cable W1, 2 AWG, 0.15 m
fuse F1, ANL, 150 A, 32 V, breaks 2 kA at 32 V, opens at 135 % in 200 s to 3600 s
  opens at 500 % in 20 ms to 0.1 s
cable W2, 2 AWG, 1 m
load HEATER, draws 60 A
""",
    good="""
boat "Example", 9 m, rulebook abyc-e11
system DC12, 12 V, negative earthed
cables, insulation 105 °C, tinned
battery B, AGM, 12 V, 100 Ah, resistance 8 mΩ, cranking 700 A
from B
cable W1, 2 AWG, 0.15 m
fuse F1, part main, 150 A
cable W2, 2 AWG, 1 m
load HEATER, draws 60 A
""",
)
def RULE(study: Study) -> Iterator[Wrong]:
    books = [b for b in study.rulebooks if b.breaking]
    if not books:
        return
    circuit, faults, openings = study.design.circuit, study.faults(), study.openings()
    for edge in circuit.edges:
        system = study.system_of(edge)
        if edge.kind != "device" or system is None or not system.voltage_v:
            continue
        device = edge.device
        far = study.parts.leads_to[edge.index]
        node = study.net.other(edge.index, far) if far >= 0 else edge.u
        point = faults.points.get(node)
        feeding = {s for d in faults.alone.get(point.core_node, ()) for s in d.sources} if point else set()
        bank = [circuit.nodes[s].source for s in sorted(feeding)]
        batteries = [b for b in bank if b is not None and b.is_battery and b.chemistry not in LITHIUM]
        cca = sum(b.cranking_a for b in batteries if b.cranking_a)
        if not cca:
            continue
        # nothing opens between some battery and a main device
        first = any(
            not chain.devices or chain.devices == (edge.index,)
            for (source, _), reached in openings.core.items()
            if source in feeding and point and (chain := reached.get(point.core_node)) is not None
        )
        main = first and not openings.tree[node].devices
        known_v = greatest_voltage(study.design, system)
        volts = known_v[0] if known_v else system.voltage_v
        known = breaking_capacity(device, volts)
        for book in books:
            row = book.breaking_class(cca, system.voltage_v)
            if row is None:
                continue
            wanted_a = row.main_a if main else row.branch_a
            if known is not None and known.amps >= wanted_a * (1 - 1e-9):
                continue
            if known is None and _reckoned(study, edge.index):
                continue  # then breaking-capacity asks for it, with the current that it may have to break
            wants, breaks = kiloamps(wanted_a), f"does not say what it breaks at {volts:g} V"
            if known is not None:
                own, wants = apart(kiloamps, known.amps, wanted_a)
                breaks = f"breaks {own}"
            mend = f"one that breaks at least {wants}"
            yield Wrong(
                device,
                f"{device.title} {breaks}; as {'the main' if main else 'a branch'} device behind "
                f"{names([b.name for b in batteries if b.cranking_a])} ({amps(cca)} cold cranking) {book.name} wants "
                f"{wants}",
                mend if known is not None else f"ask its maker, or {mend}",
                span=device.where("breaks"),
                severity=None if known is not None else Severity.DOUBT,
                cite=row.cite,
            )


def _reckoned(study: Study, edge: int) -> bool:
    """Whether the prospective current through a device is known."""
    through = study.faults().to_break(edge)
    return through.amps > 0 and through.drive is not None and not through.unknown and not through.drive.unknown
