"""Devices and switches state their resistance where a verdict hangs on it."""

from __future__ import annotations

from collections.abc import Iterator

from linter.model.elements import Element
from linter.rules.finding import Severity
from linter.rules.registry import Wrong, rule
from linter.rules.voltage_drop import shown
from linter.rules.words import amps, apart, kiloamps, names
from linter.source.span import Span
from linter.study.contacts import Bound, Dim, Hangs, Turned, bounds_of, hanging
from linter.study.opening import Clears
from linter.study.study import Study
from linter.tables.conductors import fault_opening


@rule(
    "contact-resistance",
    Severity.DOUBT,
    demand=(
        "A fuse, breaker, switch or relay states its resistance where the verdict on a guard, or the voltage at a "
        "load, hangs on it."
    ),
    reason=(
        "What states none counts as nil. That is the safe side for what a device must break; but less current flows "
        "into a far fault than is then reckoned, so that it may not open its device in time, and less voltage reaches "
        "the load. Only what would turn is told: each verdict is tried with what an element of its kind may lose at "
        "its rated current (`contacts.toml`, or `[[contact_drop]]` in a rulebook of your own). Where only a rulebook's "
        "limit of voltage drop turns it is advice, as rulebooks reckon that by the conductors alone. `study` tells "
        "how much more resistance each guard bears."
    ),
    clause="drop of contacts and fuses at rated current",
    status="common practice",
    mend="Ask its maker for the resistance, or measure what it loses at a known current, and write it down.",
    measure=(
        "With a known steady current flowing, measure the voltage across the device or switch, from "
        "terminal to terminal: by the current that is its resistance."
    ),
    bad="""
from B
cable W1, 50 mm2, 0.15 m
fuse F1, part main, 150 A
cable W2, 50 mm2, 1 m
bus POS, 250 A
from POS
breaker Q3, part sluggish, 10 A
cable W3, 2.5 mm2, 5 m
load LAMP, draws 1 A
part sluggish, breaker
  thermal, 32 V, breaks 5 kA at 32 V, opens at 135 % in 10 s to 3600 s, opens at 1000 % in 20 ms to 4 s
  opens at 2000 % in 5 ms to 0.2 s, lets through 40 kA2s
""",
    good="""
from B
cable W1, 50 mm2, 0.15 m
fuse F1, part main, 150 A
cable W2, 50 mm2, 1 m
bus POS, 250 A
from POS
breaker Q3, part sluggish, 10 A, resistance 5 mΩ to 8 mΩ
cable W3, 2.5 mm2, 5 m
load LAMP, draws 1 A
part sluggish, breaker
  thermal, 32 V, breaks 5 kA at 32 V, opens at 135 % in 10 s to 3600 s, opens at 1000 % in 20 ms to 4 s
  opens at 2000 % in 5 ms to 0.2 s, lets through 40 kA2s
""",
)
def RULE(study: Study) -> Iterator[Wrong]:
    bounds = bounds_of(study)
    for found in hanging(study, bounds):
        yield _wrong(study, bounds, found)


def _wrong(study: Study, bounds: dict[int, Bound], found: Hangs) -> Wrong:
    edges = study.design.circuit.edges
    element, bound = edges[found.edge].element, bounds[found.edge]
    works = [dim for dim in found.dim if dim.works]
    drops = [dim for dim in found.dim if not dim.works]
    said = [*_guards(study, found.turned), *_loads(study, works), *_loads(study, drops)]
    return Wrong(
        element,
        f"{element.title} states no resistance and counts as nil; it may lose {bound.drop.volts:g} V at its "
        f"{amps(bound.rated_a)}, {_at_most(bound, found.turned)}: {'; '.join(said)}",
        _mend(study, bounds, found),
        severity=None if found.turned or works else Severity.ADVICE,
        cite=bound.drop.cite,
        related=_related(study, found),
    )


def _milliohms(ohm: float, more: int = 0) -> str:
    return f"{ohm * 1000:.{3 + more}g} mΩ"


def _spare(volts: float, more: int = 0) -> str:
    return f"{volts:.{2 + more}g} V"


def _at_most(bound: Bound, turned: list[Turned]) -> str:
    """What it may have, beside what the guard that turns first bears."""
    worst = min(turned, key=lambda t: t.bears_ohm, default=None)
    return _milliohms(bound.ohm) if worst is None else apart(_milliohms, bound.ohm, worst.bears_ohm)[0]


def _guards(study: Study, turned: list[Turned]) -> Iterator[str]:
    """The guards that turn, the one that bears least first."""
    if not turned:
        return
    edges = study.design.circuit.edges
    worst = min(turned, key=lambda t: t.bears_ohm)
    ways = [way for way in study.clears(worst.made) if way.smallest_a > 0]
    least_a = min((way.smallest_a for way in ways), default=0.0)
    with_others = [edges[e].element.name for e in list(worst.shares)[1:]]
    bears, added = apart(_milliohms, worst.bears_ohm, worst.added_ohm)
    together = f"; with {names(with_others)} it may be {added} in all" if with_others else ""
    turns = f"no device need open within {fault_opening().greatest_s:g} s" if worst.late else "it may be harmed"
    told = f"a short at the end of {worst.made.conductor.title} draws {kiloamps(least_a)}, and its loop of "
    told += f"{_loop(ways)} bears {bears} more before {turns}{together}"
    rest = [t.made.conductor.name for t in sorted(turned, key=lambda t: t.bears_ohm) if t is not worst]
    yield told + (f" (so too {names(rest)})" if rest else "")


def _loop(ways: list[Clears]) -> str:
    way = min(ways, key=lambda w: w.smallest_a, default=None)
    return _milliohms(way.smallest_ohm) if way is not None else "resistance"


def _loads(study: Study, dims: list[Dim]) -> Iterator[str]:
    if not dims:
        return
    nodes = study.design.circuit.nodes
    worst = min(dims, key=lambda d: d.spare_v)
    load = nodes[worst.node].load
    assert load is not None
    what = "before it no longer works" if worst.works else "before its drop is beyond what its rulebook allows"
    rest = [str(x.name) for d in dims if d is not worst and (x := nodes[d.node].load) is not None]
    spare, lost = apart(_spare, worst.spare_v, worst.lost_v)
    told = f"{load.title} can lose {spare} more {what}, and loses up to {lost} so "
    yield told + shown(worst.title) + (f" (so too {names(rest)})" if rest else "")


def _mend(study: Study, bounds: dict[int, Bound], found: Hangs) -> str:
    """The figure to ask for, and what a voltmeter must show for the verdicts to hold."""
    edges = study.design.circuit.edges
    element, bound = edges[found.edge].element, bounds[found.edge]
    enough = [t.bears_ohm - (t.added_ohm - t.shares[found.edge]) for t in found.turned]
    enough += [(d.spare_v - d.lost_v + d.shares[found.edge]) / d.amps for d in found.dim if d.amps > 0]
    ohm = min(enough, default=0.0)
    shares = [*(t.shares for t in found.turned), *(d.shares for d in found.dim)]
    others = dict.fromkeys(e for share in shares for e in share if e != found.edge)
    ask = f"ask the maker of {element.name} for its `resistance`"
    if ohm <= 0:
        of = names([edges[e].element.name for e in others])
        return f"{ask}, and those of {of}; or measure on board what each loses at a known current (mV / A = mΩ)"
    load = study.loads.get(found.edge)
    at_a = min(load.amps, bound.rated_a) if load is not None and load.amps > 0 else bound.rated_a / 2
    most_mv = f"{ohm * at_a * 1000:.3g} mV at {amps(at_a)}"
    return f"{ask}: up to {_milliohms(ohm)} is enough; or measure on board what it loses: up to {most_mv}"


def _related(study: Study, found: Hangs) -> tuple[tuple[Span, str], ...]:
    related: list[tuple[Span, str]] = []
    for turned in sorted(found.turned, key=lambda t: t.bears_ohm)[:4]:
        related.append((turned.made.conductor.span, f"bears {_milliohms(turned.bears_ohm)} more"))
    for dim in found.dim[:4]:
        load: Element | None = study.design.circuit.nodes[dim.node].load
        if load is not None:
            related.append((load.span, f"can lose {dim.spare_v:.2g} V more"))
    return tuple(related)
