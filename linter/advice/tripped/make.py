"""Why a device opened: the circuit, the causes in order with the working of each score, and the tempting question."""

from __future__ import annotations

import datetime
from collections.abc import Sequence
from dataclasses import dataclass, field

from linter.advice.tripped.figures import Circuit, circuit_of
from linter.advice.tripped.larger import Larger, larger
from linter.advice.tripped.measured import Heard, all_heard
from linter.advice.tripped.named import NotADevice, device_of
from linter.advice.tripped.reading import examples_of, read
from linter.advice.tripped.seen import seen_of
from linter.advice.tripped.table import Cause, table
from linter.advice.tripped.together import Conflict, conflicts, without_conflicts
from linter.model.design import Design
from linter.rules.engine import examine
from linter.rules.finding import Finding
from linter.source.files import DesignSource


@dataclass(frozen=True, slots=True)
class Weight:
    """One factor of a score: ``why`` in words, ``by`` how much; ``measured``: a reading says so."""

    by: float
    why: str
    measured: bool = False


@dataclass(slots=True)
class Suspect:
    """A cause with its score, the product of its weights; texts filled with the circuit's figures."""

    cause: Cause
    title: str
    weights: list[Weight]
    measure: str
    where: str
    expect: str
    trouble: str
    caution: str

    @property
    def score(self) -> float:
        product = 1.0
        for weight in self.weights:
            product *= weight.by
        return product


@dataclass(slots=True)
class Answer:
    circuit: Circuit
    when: str
    suspects: list[Suspect]
    larger: Larger
    heard: list[Heard] = field(default_factory=list)
    # pairs of readings that cannot both be so; neither is counted
    conflicts: list[Conflict] = field(default_factory=list)
    findings: list[Finding] = field(default_factory=list)
    complete: bool = True


def why(
    source: DesignSource, design: Design, name: str, when: str = "", measured: Sequence[str] = (),
    today: datetime.date | None = None,
) -> Answer:  # fmt: skip
    """The answer for one device of a whole design.  Raises NotADevice, BadReading."""
    device, edge = device_of(design, name)
    names = {*design.elements, *design.places}
    readings = [read(text, names, lambda: examples_of(design, edge)) for text in measured]
    now = examine(design, None, today)
    findings = [f for f in now.findings if f.subject == device.name or device.name in f.guard]
    circuit = circuit_of(seen_of(now.study, edge), findings)
    told = all_heard(circuit, readings, when or "unknown")
    against = conflicts(circuit, told, when or "unknown")
    told = without_conflicts(told, against)
    tempting = larger(source, now, device, today, circuit.asked)
    suspects = ranked(circuit, when or "unknown", told)
    return Answer(circuit, when or "unknown", suspects, tempting, told, against, findings, now.complete)


def ranked(circuit: Circuit, when: str, told: Sequence[Heard]) -> list[Suspect]:
    """Every cause that can be one here with its score, the likeliest first; equals as the table has them."""
    known = table()
    found = []
    for cause in known.causes:
        if any(name in circuit.holds for name in cause.never):
            continue
        weights = [Weight(cause.when[when], f"it opens {known.when[when]}")]
        weights += [
            Weight(by, circuit.holds[name])
            for name, by in cause.weighs.items()
            if name in circuit.holds and cause.unless.get(name) not in circuit.holds
        ]
        weights += [
            Weight(one.weighs.weighs[cause.name], one.says, True)
            for one in told
            if cause.name in one.weighs.weighs
        ]  # fmt: skip
        texts = (cause.title, cause.measure, cause.where, cause.expect, cause.trouble, cause.caution)
        title, measure, where, expect, trouble, caution = (t.format_map(circuit.words) for t in texts)
        found.append(
            Suspect(
                cause, title, weights,
                measure, where, expect, trouble, caution,
            )
        )  # fmt: skip
    return sorted(found, key=lambda s: -s.score)


__all__ = ["Answer", "NotADevice", "Suspect", "Weight", "ranked", "why"]
