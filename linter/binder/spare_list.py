"""The fuses on board by class and rating: how many are fitted, how many to carry, and which could be confused."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

from linter.binder.spare_rule import SpareRule
from linter.binder.words import short
from linter.model.circuit import Edge
from linter.model.elements import Device, Element
from linter.report.loads import head
from linter.rules.words import class_words
from linter.study.study import Study
from linter.tables.devices import classes


@dataclass(frozen=True, slots=True)
class Spare:
    """Fuses of one class, speed, rating and part.  ``rated_a`` None: nobody states it, so no number to carry either."""

    device_class: str
    speed: str
    rated_a: float | None
    voltage_v: float | None
    part: str
    used: tuple[str, ...]
    carry: int | None

    @property
    def fitted(self) -> int:
        return len(self.used)


@dataclass(frozen=True, slots=True)
class Resets:
    """Breakers of one kind and rating: closed again by hand, none to carry.  ``by_itself`` of those, close again so."""

    device_class: str
    rated_a: float | None
    part: str
    used: tuple[str, ...]
    by_itself: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class Confusable:
    """A fuse in whose holder larger ones on board fit.  ``larger``: (fuse, its rating) of those; ``beside``: those of
    them in the same place; ``harmed``: conductors that the largest would no longer guard, with what each allows;
    ``against``: loads whose maker asks for less than the largest."""

    name: str
    feeds: tuple[str, ...]
    rated_a: float
    holder_a: float | None
    larger: tuple[tuple[str, float], ...]
    beside: tuple[str, ...]
    harmed: tuple[tuple[str, float], ...]
    against: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class SpareList:
    voyage: str
    rule: SpareRule
    fuses: tuple[Spare, ...]
    breakers: tuple[Resets, ...]
    confusable: tuple[Confusable, ...]


def spare_list(study: Study, rule: SpareRule, voyage: str) -> SpareList:
    devices = [e.device for e in study.design.circuit.edges if e.kind == "device"]
    return SpareList(voyage, rule, _fuses(devices, rule, voyage), _breakers(devices), _confusable(study))


def part_of(device: Device) -> str:
    return (device.part.label or device.part.name) if device.part is not None else ""


def _fuses(devices: list[Device], rule: SpareRule, voyage: str) -> tuple[Spare, ...]:
    groups: dict[tuple[str, str, float | None, str], list[Device]] = {}
    for one in devices:
        if one.kind == "fuse":
            groups.setdefault((one.device_class, one.speed, one.rated_a, part_of(one)), []).append(one)
    made = []
    for (device_class, speed, rated_a, part), found in groups.items():
        volts = next((d.voltage_v for d in found if d.voltage_v is not None), None)
        carry = rule.amount(voyage, device_class).of(len(found)) if rated_a is not None else None
        made.append(Spare(device_class, speed, rated_a, volts, part, tuple(d.name for d in found), carry))
    return tuple(sorted(made, key=lambda s: (s.device_class, s.rated_a or 0.0, s.speed, s.part)))


def _breakers(devices: list[Device]) -> tuple[Resets, ...]:
    groups: dict[tuple[str, float | None, str], list[Device]] = {}
    for one in devices:
        if one.kind == "breaker":
            groups.setdefault((one.device_class, one.rated_a, part_of(one)), []).append(one)
    made = [
        Resets(key[0], key[1], key[2], tuple(d.name for d in found), tuple(d.name for d in found if d.automatic_reset))
        for key, found in groups.items()
    ]
    return tuple(sorted(made, key=lambda r: (r.device_class, r.rated_a or 0.0, r.part)))


def _confusable(study: Study) -> tuple[Confusable, ...]:
    edges = [e for e in study.design.circuit.edges if e.kind == "device" and e.device.kind == "fuse"]
    families: dict[str, list[Edge]] = {}
    for edge in edges:
        if edge.device.rated_a is not None and edge.device.device_class:
            families.setdefault(edge.device.device_class, []).append(edge)
    guarded: dict[str, list[str]] = {}
    for name, made in study.conductors.items():
        for member in made.guard:
            guarded.setdefault(member, []).append(name)
    found: list[Confusable] = []
    for family in families.values():
        by_rating = sorted(family, key=lambda e: e.device.rated_a or 0.0)
        found += [c for e in family if (c := _one(study, e, by_rating, guarded)) is not None]
    return tuple(found)


def _one(study: Study, edge: Edge, family: list[Edge], guarded: dict[str, list[str]]) -> Confusable | None:
    device, rated_a = edge.device, edge.device.rated_a or 0.0
    # the largest of each rating that goes in; of many alike the first is named, one beside this fuse before others
    nearest: dict[float, Edge] = {}
    for other in family:
        amps = other.device.rated_a or 0.0
        if amps <= rated_a or (device.holder_a is not None and amps > device.holder_a):
            continue
        before = nearest.get(amps)
        if before is None or (_beside(device, other.device) and not _beside(device, before.device)):
            nearest[amps] = other
    if not nearest:
        return None
    worst_a = max(nearest)
    harmed = []
    for name in guarded.get(device.name, ()):
        made = study.conductors[name]
        if made.allowed_a is not None and made.let_through_a - rated_a + worst_a > made.allowed_a * (1 + 1e-9):
            harmed.append((name, made.allowed_a))
    fed = fed_by(study, edge)
    against = tuple(
        e.name for e in fed
        if any(a.rating_a is not None and a.rating_a[1] < worst_a for a in getattr(e, "asks", ()))
    )  # fmt: skip
    beside = tuple(e.device.name for e in nearest.values() if _beside(device, e.device))
    larger = tuple((e.device.name, a) for a, e in sorted(nearest.items()))
    return Confusable(
        device.name, tuple(short(e) for e in fed), rated_a, device.holder_a, larger, beside, tuple(harmed), against
    )


def _beside(one: Device, other: Device) -> bool:
    return one.place is not None and one.place is other.place


def fed_by(study: Study, edge: Edge) -> list[Element]:
    """The loads that a device feeds, and the next buses; of one on the way from a source, that source."""
    from linter.binder.beyond import beyond

    circuit = study.design.circuit
    found = beyond(circuit, edge.u, edge)
    back = beyond(circuit, edge.v, edge) if not found.loads and not found.buses else found
    return list(dict.fromkeys([*found.loads, *(found.buses or back.sources)]))


def title_of(device_class: str, kind: str) -> str:
    """The class in words; that nobody states it is said."""
    if not device_class:
        return f"{kind}, class not stated"
    known = classes().get(device_class)
    return known.title if known is not None and known.title else f"{class_words(device_class)} {kind}"


def spares_json(study: Study, made: SpareList) -> dict[str, Any]:
    """What `spares --format json` prints: format "wireworthy spares", version 1; boat, rulebooks, complete, caution;
    voyage; rule (title, clause, status, amounts by voyage and class; "" is any other class); ``fuses[]``: class, speed,
    rated_a, voltage_v, part, fitted, carry (null: not known), used[]; ``breakers[]``: class, rated_a, part, fitted,
    used[], closes_by_itself[]; ``confusable[]``: fuse, feeds[], rated_a, holder_a (null: not told), larger[] (fuse,
    rated_a), beside[], no_longer_guarded[] (conductor, allowed_a), against_maker[]."""
    return head(study, "spares") | {
        "voyage": made.voyage,
        "rule": {
            "title": made.rule.title, "clause": made.rule.clause, "status": made.rule.status,
            "amounts": {
                v: {c: {"share": a.share, "least": a.least, "most": a.most} for c, a in by.items()}
                for v, by in made.rule.amounts.items()
            },
        },
        "fuses": [
            {
                "class": s.device_class, "speed": s.speed, "rated_a": s.rated_a, "voltage_v": s.voltage_v,
                "part": s.part, "fitted": s.fitted, "carry": s.carry, "used": list(s.used),
            }
            for s in made.fuses
        ],
        "breakers": [
            {
                "class": r.device_class, "rated_a": r.rated_a, "part": r.part, "fitted": len(r.used),
                "used": list(r.used), "closes_by_itself": list(r.by_itself),
            }
            for r in made.breakers
        ],
        "confusable": [
            {
                "fuse": c.name, "feeds": list(c.feeds), "rated_a": c.rated_a, "holder_a": c.holder_a,
                "larger": [{"fuse": n, "rated_a": a} for n, a in c.larger], "beside": list(c.beside),
                "no_longer_guarded": [{"conductor": n, "allowed_a": round(a, 3)} for n, a in c.harmed],
                "against_maker": list(c.against),
            }
            for c in made.confusable
        ],
    }  # fmt: skip
