"""Voltages on a worksheet."""

from __future__ import annotations

import math

from linter.report.worksheet.sheet import Fact, Judgement, Note, Row, Section, Step, Sum, num, qty
from linter.rules.words import names
from linter.study.scene import AtLoad, Scenes
from linter.study.scene_limit import drop_limit
from linter.study.scene_net import nil_words
from linter.study.study import ConductorStudy, Study
from linter.study.workings import lost_ways


def shown_state(title: str) -> str:
    return "by itself, at its rated current" if title == "by itself" else title


def drop_section(study: Study, made: ConductorStudy) -> Section:
    """What a conductor costs the loads behind it."""
    found = Section("Voltage lost in it")
    scenes, index = study.scenes(), made.edge.index
    if made.conductor.size is None or made.conductor.length_m is None:
        found.missing("size or length is not given: it counts as nil in every voltage")
        return found
    alone = _costliest(scenes, scenes.alone, index)
    worst = _costliest(scenes, scenes.worst, index)
    if alone is None and worst is None:
        found.note("no load draws current through it")
        return found
    nodes = study.design.circuit.nodes
    if alone is not None:
        at, volts = alone
        ohm = scenes.net.ohms[index]
        name = nodes[at.node].name
        if abs(at.amps * ohm - volts) <= 1e-6 * max(volts, 1e-9):
            found.fact("its resistance, warm, there and back", qty(ohm, "Ω"))
            found.add(Step(f"lost, {name} by itself", f"{num(at.amps)} A × {qty(ohm, 'Ω')}", volts, "V"))
        else:
            found.fact(f"lost, {name} by itself", f"{qty(volts, 'V')} (ways side by side share the current)")
        _share(study, scenes, at, volts, found)
    if worst is not None:
        at, volts = worst
        found.fact(f"lost on the way to {nodes[at.node].name}, {shown_state(at.title)}", qty(volts, "V"))
        _share(study, scenes, at, volts, found)
    return found


def _costliest(scenes: Scenes, states: dict[int, AtLoad], edge: int) -> tuple[AtLoad, float] | None:
    """Of the loads on whose way an edge is the one that loses most in it, and that voltage."""
    best: tuple[AtLoad, float] | None = None
    for at in states.values():
        for lost_in, volts in scenes.losses(at):
            if lost_in == edge and (best is None or volts > best[1]):
                best = at, volts
    return best


def _share(study: Study, scenes: Scenes, at: AtLoad, volts: float, found: Section) -> None:
    nominal = scenes.nominal_v(at.node)
    if nominal:
        found.add(
            Step("of the nominal voltage", f"100 × {num(volts)} V ÷ {num(nominal)} V", 100 * volts / nominal, "%")
        )


def load_section(study: Study, node: int) -> Section:
    """The voltages of a load in every scene, its worst drop line by line, against what is allowed and what it needs."""
    rules = frozenset(
        {"voltage-drop", "voltage-too-low", "wrong-voltage", "scene-not-carried", "scene-not-fed", "load-in-no-scene"}
    )
    found = Section("Voltage", rules=rules)
    scenes, load = study.scenes(), study.design.circuit.nodes[node].load
    assert load is not None
    limit = drop_limit(load, study.rulebooks)
    if limit is None:
        found.note("no rulebook of this boat limits its drop")
    else:
        why = f" ({limit.why})" if limit.why else ""
        found.fact("allowed drop", f"{limit.percent:g} % by {limit.rulebook.name}{why}", limit.row.cite)
    for at in (scenes.alone.get(node), scenes.worst.get(node)):
        if at is None:
            continue
        _drop(study, scenes, at, found)
        percent, why = scenes.percent(at), _untold(scenes, at, found)
        if limit is not None and percent is not None:
            whose = f"allowed by {limit.rulebook.name}"
            found.add(Judgement("drop", percent, "≤", limit.percent, "%", whose, untold=why))
    _range(study, node, found)
    return found


def _untold(scenes: Scenes, at: AtLoad, found: Section) -> str:
    """Say which conductors on its way count as nil; why it is then not known whether its drop is small enough."""
    nil = scenes.untold(at)
    if not nil:
        return ""
    note = Note(nil_words(nil), True)
    if note not in found.lines:
        found.add(note)
    return f"{names(nil)} count{'s' * (len(nil) == 1)} as nil"


def _drop(study: Study, scenes: Scenes, at: AtLoad, found: Section) -> None:
    edges = study.design.circuit.edges
    title = shown_state(at.title)
    rows = tuple(
        Row(volts, edges[e].element.name, _lost(volts, amps, scenes.net.ohms[e], scenes.net.drops[e]))
        for e, volts, amps in lost_ways(scenes, at)
    )
    if rows and abs(sum(r.value for r in rows) - at.drop_v) <= 1e-4 * max(at.drop_v, 1e-3):
        found.add(Sum(f"lost on its way, {title}", rows, at.drop_v, "V"))
    else:
        found.add(Fact(f"lost on its way, {title}", qty(at.drop_v, "V")))
    nominal = scenes.nominal_v(at.node)
    if nominal:
        percent = 100 * at.drop_v / nominal
        found.add(Step("of the nominal voltage", f"100 × {num(at.drop_v)} V ÷ {num(nominal)} V", percent, "%"))


def _lost(volts: float, amps: float, ohm: float, drop_v: float) -> str:
    if not math.isclose(amps * ohm + drop_v, volts, rel_tol=1e-4, abs_tol=1e-7):
        return ""
    return f"{num(amps)} A × {qty(ohm, 'Ω')}" + (f" + {num(drop_v)} V" if drop_v else "")


def _range(study: Study, node: int, found: Section) -> None:
    scenes, load = study.scenes(), study.design.circuit.nodes[node].load
    assert load is not None
    seen: dict[str, tuple[float, float]] = {}
    at_most: set[str] = set()
    for number, state in enumerate(scenes.states):
        for piece, index in state.loads():
            if index == node:
                volts = piece.volts(index)
                low, high = seen.get(state.case.title, (volts, volts))
                seen[state.case.title] = min(low, volts), max(high, volts)
                if scenes.untold(AtLoad(node, number, state.case.title, volts, 0.0, 0.0, judged=False)):
                    at_most.add(state.case.title)
    for title, (low, high) in seen.items():
        shown = (
            qty(low, "V") if high - low < 5e-4 else f"{qty(low, 'V')} to {qty(high, 'V')}, by position of the switches"
        )
        found.add(Fact(f"at its terminals, {title}", ("at most " if title in at_most else "") + shown))
    if not seen:
        found.add(Note("it is on in no scene that could be solved"))
    lowest, highest, range_v = scenes.lowest.get(node), scenes.highest.get(node), load.voltage_range_v
    least = max((v for v in (load.works_from_v, range_v[0] if range_v else None) if v is not None), default=None)
    if lowest is not None and least is not None:
        why = _untold(scenes, lowest, found)
        found.add(
            Judgement("lowest voltage", lowest.volts, "≥", least, "V", "from which it works", "", load.says(), why)
        )
    if highest is not None and range_v is not None:
        found.add(Judgement("highest voltage", highest.volts, "≤", range_v[1], "V", "that it takes", cite=load.says()))
    above = study.charged().get(node)
    if above is not None and range_v is not None:
        what = f"what {above.whose.name} rises to at most"
        found.add(Judgement(what, above.volts, "≤", range_v[1], "V", "that it takes", cite=load.says()))
