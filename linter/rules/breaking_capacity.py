"""A device can break the largest fault current that may flow through it."""

from __future__ import annotations

from collections.abc import Iterator, Mapping

from linter.model.elements import System
from linter.rules.finding import Severity
from linter.rules.registry import Wrong, rule
from linter.rules.words import apart, kiloamps, kiloamps_at_least, leaning
from linter.study.breaking import BreakingCapacity, backs, breaking_capacity
from linter.study.study import Study
from linter.study.voltage import greatest_voltage
from linter.tables.cite import Cite


@rule(
    "breaking-capacity",
    Severity.DANGER,
    demand="A device can break the largest fault current that may flow through it, at the voltage of its system.",
    reason=(
        "A device that meets more than it can break bursts, or draws an arc that goes on burning: it is then the "
        "source of the fire that it was to prevent. Large banks, lithium ones above all, drive many kiloamperes. The "
        "current is reckoned from 1.05 times each source's nominal voltage, or from its own `greatest` where that is "
        "more, behind 0.9 times its least resistance (IEC 61660-1, from memory), with conductors at 20 °C out and "
        "back. A source that limits itself counts with what its maker says it gives into a short circuit, where "
        "that is more: its electronics take some time to act."
    ),
    clause="33 CFR 183.455",
    status="read",
    mend="Fit a device of a higher breaking capacity, or one further from the source, behind more resistance.",
    measure=(
        "Read the breaking capacity and the voltage it holds at off the device; count the batteries that "
        "stay connected together and read their type; measure the length and size of what lies between them"
        " and the device."
    ),
    bad="""
from B
cable W1, 50 mm2, 0.15 m
fuse F1, part main, 150 A
cable W2, 50 mm2, 1 m
bus POS, 250 A
from POS
fuse F3, blade, 15 A, breaks 1 kA at 32 V, lets through 2 kA2s
cable W3, 2.5 mm2, 3 m
load LAMP, draws 3 A
""",
    good="""
from B
cable W1, 50 mm2, 0.15 m
fuse F1, part main, 150 A
cable W2, 50 mm2, 1 m
bus POS, 250 A
from POS
fuse F3, part branch, 15 A
cable W3, 2.5 mm2, 3 m
load LAMP, draws 3 A
""",
)
def RULE(study: Study) -> Iterator[Wrong]:
    faults, circuit = study.faults(), study.design.circuit
    greatest = {name: greatest_voltage(study.design, s) for name, s in study.design.systems.items()}
    american = any(b.name == "cfr-183" for b in study.rulebooks)
    for edge in circuit.edges:
        if edge.kind != "device":
            continue
        device, system = edge.device, study.system_of(edge)
        through = faults.to_break(edge.index)
        at_least = through.unknown or (through.drive is not None and through.drive.unknown)
        if at_least:
            # a source of unknown resistance only adds to what the others give
            through = faults.to_break_at_least(edge.index)
        drive = through.drive
        if through.amps <= 0 or drive is None or drive.unknown or system is None:
            continue
        volts = _volts(greatest, system)
        known = breaking_capacity(device, volts)
        doubt = leaning(drive.leans_on)
        if known is not None and known.amps >= through.amps * (1 - 1e-9):
            continue
        if _backed(study, edge.index, volts, through.amps):
            continue
        stronger = f"one that breaks at least {kiloamps_at_least(through.amps)} at {volts:g} V"
        if known is None:
            stated = ", ".join(f"{kiloamps(a)} at {v:g} V" for a, v in device.breaks if v is not None)
            told = f"only {stated}" if stated else "nothing"
            yield Wrong(
                device,
                f"{device.title} may have to break {kiloamps(through.amps)} at {volts:g} V, and nobody says that it "
                f"can: stated is {told}{doubt}",
                f"ask its maker, or {stronger}",
                span=device.where("breaks"),
                severity=Severity.DOUBT,
                cite=None if american else GENERAL,
            )
            continue
        breaks, flows = apart(kiloamps, known.amps, through.amps)
        if at_least:
            flows = f"at least {flows}"
        yield Wrong(
            device,
            f"{device.title} breaks {breaks}{_whose(known)}, but {flows} can flow through it{doubt}",
            stronger,
            span=device.where("breaks"),
            cite=known.cite if not known.whose.startswith("its maker") else None if american else GENERAL,
        )


# Where the boat is not judged by the law that the rule is taken from.
GENERAL = Cite("IEC 60364-4-43, 434: breaking capacity at least the prospective current", "from memory")


def _volts(greatest: Mapping[str, tuple[float, str, object] | None], system: System) -> float:
    known = greatest.get(system.name)
    return known[0] if known is not None else system.voltage_v or 0.0


def _whose(known: BreakingCapacity) -> str:
    at = f" at {known.voltage_v:g} V" if known.voltage_v is not None else ""
    return f"{at} ({known.whose})"


def _backed(study: Study, edge: int, volts: float, amps: float) -> bool:
    """Whether a device before it, on every way, is one with which its maker has it break so much."""
    circuit, openings = study.design.circuit, study.openings()
    device = circuit.edges[edge].device
    if not device.backed:
        return False
    far = study.parts.leads_to[edge]
    node = study.net.other(edge, far) if far >= 0 else study.net.u[edge]
    before = [circuit.edges[e].device for e in openings.before(node) if e != edge]
    # what backs it up must itself break the current
    strong = [d for d in before if (own := breaking_capacity(d, volts)) is not None and own.amps >= amps * (1 - 1e-9)]
    return any(b.current_a >= amps and backs(b, d, volts) for b in device.backed for d in strong)
