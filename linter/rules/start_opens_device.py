"""What a load takes at starting does not open its devices."""

from __future__ import annotations

from collections.abc import Iterator

from linter.rules.finding import Severity
from linter.rules.registry import Wrong, rule
from linter.rules.words import amps, apart, seconds
from linter.study.cases import draws_a
from linter.study.starting import start_shares
from linter.study.study import Study


@rule(
    "start-opens-device",
    Severity.FAULT,
    demand="What a load takes at starting, for as long as it lasts, does not open any device on its way.",
    reason=(
        "A device that opens when a motor starts teaches people to fit a larger one, which then no longer guards the "
        "conductor. The surroundings count: what holds at 25 °C may open beside a hot engine."
    ),
    clause="common practice",
    status="common practice",
    mend="A device that opens more slowly, of the rating that the maker asks for.",
    measure=(
        "Catch the starting current with a clamp meter that holds the greatest value (inrush), and its "
        "length with a recording meter or an oscilloscope; measure the surroundings of the device with the "
        "engine hot."
    ),
    bad="""
from B
cable W1, 50 mm2, 0.15 m
fuse F1, part main, 150 A
cable W2, 50 mm2, 1 m
bus POS, 250 A
from POS
breaker Q3, hydraulic-magnetic, 15 A, 32 V, breaks 5 kA at 32 V, opens at 135 % in 8 s to 100 s
  opens at 400 % in 0.3 s to 2 s, opens at 1000 % in 5 ms to 20 ms, lets through 20 kA2s
cable W3, 4 mm2, 3 m
load PUMP, motor, draws 8 A, starts 60 A for 0.6 s
""",
    good="""
from B
cable W1, 50 mm2, 0.15 m
fuse F1, part main, 150 A
cable W2, 50 mm2, 1 m
bus POS, 250 A
from POS
breaker Q3, hydraulic-magnetic, 15 A, 32 V, breaks 5 kA at 32 V, opens at 135 % in 8 s to 100 s
  opens at 400 % in 0.8 s to 4 s, opens at 1000 % in 8 ms to 20 ms, lets through 20 kA2s
cable W3, 4 mm2, 3 m
load PUMP, motor, draws 8 A, starts 60 A for 0.6 s
""",
)
def RULE(study: Study) -> Iterator[Wrong]:
    circuit, openings = study.design.circuit, study.openings()
    for node in circuit.nodes:
        load = node.load
        if load is None or not load.starts_a or load.starts_s is None:
            continue
        running_a = draws_a(load, node) or 0.0
        for edge, share in start_shares(study, node.index).items():
            device, curve = circuit.edges[edge].device, openings.curve(edge)
            if curve is None or device.rated_a is None:
                continue
            worst = study.loads.get(edge)
            # what else is drawn through it at the worst time, and the start on top; what charges a bank flows the
            # other way, or comes from elsewhere
            beside_a = max((worst.drawn_a if worst is not None else 0.0) - running_a, 0.0)
            amps_ = load.starts_a * share + beside_a
            held_s = curve.fastest(amps_)
            if held_s > load.starts_s * (1 + 1e-9):
                continue
            part = "" if share > 1 - 1e-6 else f", of which it carries {amps(load.starts_a * share)}"
            beside = f" beside {amps(beside_a)} of other loads" if beside_a > 0 else ""
            rated = f"{amps(device.rated_a)}"
            if curve.rated_a < device.rated_a * (1 - 1e-9):
                rated += f" ({amps(curve.rated_a)} where it stands)"
            beyond = not curve.fast or amps_ > curve.fast[-1][0] * (1 + 1e-9)
            # it has opened by now, whoever says when; else none opens later at a larger current than at the last told
            surely_s = curve.slowest(amps_).seconds
            already_a, already_s = (amps_, surely_s) if surely_s <= load.starts_s or not curve.fast else curve.fast[-1]
            if beyond and already_s <= load.starts_s * (1 + 1e-9):
                opens, lasts = apart(seconds, already_s, load.starts_s)
                at = "" if already_a == amps_ else " already"
                yield Wrong(
                    device,
                    f"{device.title}, {rated}, {'may open' if at else 'opens'} after {opens} at {amps(already_a)}{at}; "
                    f"{load.name} starts with {amps(load.starts_a)} for {lasts}{part}{beside}",
                    f"one that carries {amps(amps_)} for more than {lasts}, slower and not larger "
                    "than the maker of the load asks for",
                    span=device.where("current"),
                    related=((load.stated("starts"), "the start"),),
                )
            elif beyond:
                yield Wrong(
                    device,
                    f"{device.title}, {rated}: {load.name} starts with {amps(load.starts_a)} for "
                    f"{seconds(load.starts_s)}{part}{beside}, and nobody says how long it carries {amps(amps_)}",
                    "ask its maker for the time-current curve, and write down its points (`opens at`)",
                    span=device.where("opens", "class", "current"),
                    severity=Severity.DOUBT,
                    related=((load.stated("starts"), "the start"),),
                )
            else:
                opens, lasts = apart(seconds, held_s, load.starts_s)
                yield Wrong(
                    device,
                    f"{device.title}, {rated}, may open after {opens} at {amps(amps_)}; {load.name} starts "
                    f"with {amps(load.starts_a)} for {lasts}{part}{beside}",
                    f"one that carries {amps(amps_)} for more than {lasts}, slower and not larger "
                    "than the maker of the load asks for",
                    span=device.where("current"),
                    related=((load.stated("starts"), "the start"),),
                )
