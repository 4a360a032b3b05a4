"""A lasting overload opens the device before it is half as much again as the conductor's capacity."""

from __future__ import annotations

from collections.abc import Iterator

from linter.rules.finding import Severity
from linter.rules.registry import Wrong, rule
from linter.rules.words import amps, apart, guard_spans
from linter.study.study import Study, Verdict
from linter.tables.devices import overload_condition


@rule(
    "overload-condition",
    Severity.ADVICE,
    demand=(
        "A lasting overload opens a device: its conventional operating current, at which it is promised to open at "
        "last, is at most 1.45 times the conductor's capacity."
    ),
    reason=(
        "A rating is a current that a device carries for ever; it is promised to open only well above it, and after "
        "an hour. In between the conductor is cooked slowly. Rulebooks for boats allow ratings of up to one and a half "
        "times the capacity, for which this condition of general practice is not met."
    ),
    clause="IEC 60364-4-43, 433.1",
    status="from memory",
    mend="A smaller rating, a class that opens nearer to its rating, or a larger conductor.",
    measure=(
        "Read class and rating off the device. Its opening current is not tried out on board: it is in the "
        "maker's curve."
    ),
    bad="""
boat "Example", 9 m, rulebook abyc-e11
system DC12, 12 V, negative earthed
cables, insulation 105 °C, tinned
battery B, AGM, 12 V, 100 Ah, resistance 4 mΩ
from B
fuse F1, part link, 125 A
cable W1, 6 AWG, 2 m
load HEATER, draws 60 A
part link, fuse
  gG, 250 V, breaks 20 kA at 250 V, opens at 160 % in 60 s to 7200 s, opens at 500 % in 0.1 s to 2 s
  opens at 1500 % in 5 ms to 20 ms, lets through 100 kA2s
""",
    good="""
boat "Example", 9 m, rulebook abyc-e11
system DC12, 12 V, negative earthed
cables, insulation 105 °C, tinned
battery B, AGM, 12 V, 100 Ah, resistance 4 mΩ
from B
fuse F1, part link, 100 A
cable W1, 6 AWG, 2 m
load HEATER, draws 60 A
part link, fuse
  gG, 250 V, breaks 20 kA at 250 V, opens at 160 % in 60 s to 7200 s, opens at 500 % in 0.1 s to 2 s
  opens at 1500 % in 5 ms to 20 ms, lets through 100 kA2s
""",
)
def RULE(study: Study) -> Iterator[Wrong]:
    multiple, cite = overload_condition().operating_multiple, overload_condition().cite
    openings = study.openings()
    for made in study.conductors.values():
        capacity_a = made.ampacity_a
        if made.verdict is not Verdict.PROTECTED or not capacity_a or len(made.guard) != 1:
            continue
        edge = study.design.circuit.edge_of.get(made.guard[0])
        if edge is None or edge.kind != "device":
            continue
        curve = openings.curve(edge.index)
        if curve is None or not curve.slow or curve.operating_a <= multiple * capacity_a * (1 + 1e-9):
            continue
        device, times = edge.device, curve.operating_a / capacity_a
        opens, may = apart(amps, curve.operating_a, multiple * capacity_a)
        yield Wrong(
            made.conductor,
            f"{made.conductor.title} carries {amps(capacity_a)}; {device.name} ({amps(device.rated_a or 0.0)}) is "
            f"promised to open from {opens} on, {apart(_times, times, multiple)[0]} times as much",
            f"a device that opens at {may}, {multiple:g} times the capacity, or a larger conductor",
            cite=cite,
            related=guard_spans(study, made.guard),
            guard=made.guard,
        )


def _times(value: float, more: int = 0) -> str:
    return f"{value:.{2 + more}f}"
