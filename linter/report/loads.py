"""Voltages at the loads, and the scenes solved: JSON, and rows for tables and CSV.

``study --of loads --format json``: format "wireworthy loads", version 1; boat, rulebooks, complete, caution, remarks;
``loads[]``: id, label, system, nominal_v, draws_a, draws_w (as stated; null where not), limit_percent, limit_rulebook,
limit_why (vital, electronics, light, or empty), guard (names of the nearest devices towards the sources), works_from_v,
bears_ohm (how much more resistance its way bears; null: no limit, or beyond it already), and two states, ``worst`` (of
all scenes) and ``alone`` (by itself at its rated current), each null or: title, volts_v, drop_v, drop_percent,
current_a, untold[] (conductors on its way whose size or length nobody tells: they count as nil, so the drop is at least
so large); ``worst`` also lost[] (element, volts_v; nearest the load first); ``lowest``: title, volts_v, untold[].
With any of them untold ``bears_ohm`` is null.

``--of scenes``: format "wireworthy scenes", version 1; boat, complete, caution, remarks; ``states[]``: title, positions
(by selector), open (names of what is open in it), loads[] (id, volts_v, current_a, drop_v: with batteries alone
where there are any, as it is judged; untold[] as above), currents[] (id, from, to,
current_a from `from` to `to`; only where some flows), sources[] (id, current_a given, less than nothing: taken),
not_carried[] (load, share, volts_v, loads), not_fed[] (names).
"""

from __future__ import annotations

from typing import Any

from linter.model.elements import Switch
from linter.report.caution import CAUTION
from linter.report.rows import Rows, figure, fixed, rounded
from linter.rules.words import upstream
from linter.study.scene import AtLoad, Scenes, SceneState
from linter.study.scene_limit import drop_limit
from linter.study.scene_path import LEAST_A
from linter.study.study import Study


def head(study: Study, name: str) -> dict[str, Any]:
    return {
        "format": f"wireworthy {name}",
        "version": 1,
        "boat": study.design.boat,
        "rulebooks": [b.name for b in study.rulebooks],
        "complete": not any(m.loses for m in [*study.design.mistakes, *study.mistakes]),
        "caution": CAUTION,
    }


def loads_json(study: Study) -> dict[str, Any]:
    scenes = study.scenes()
    nodes = study.design.circuit.nodes
    loads = [_load(study, scenes, n.index) for n in nodes if n.load is not None]
    return head(study, "loads") | {"remarks": scenes.remarks, "loads": loads}


def _load(study: Study, scenes: Scenes, index: int) -> dict[str, Any]:
    node = study.design.circuit.nodes[index]
    load = node.load
    assert load is not None
    limit = drop_limit(load, study.rulebooks)
    lowest = scenes.lowest.get(index)
    return {
        "id": load.name,
        "label": load.label,
        "system": node.system.name if node.system else None,
        "nominal_v": rounded(scenes.nominal_v(index)),
        "draws_a": rounded(load.draws_a),
        "draws_w": rounded(load.draws_w),
        "limit_percent": limit.percent if limit else None,
        "limit_rulebook": limit.rulebook.name if limit else None,
        "limit_why": limit.why if limit else "",
        "guard": guard(study, index),
        "works_from_v": rounded(load.works_from_v),
        "worst": _state(scenes, scenes.worst.get(index)),
        "alone": _state(scenes, scenes.alone.get(index)),
        "lowest": _lowest(scenes, lowest) if lowest else None,
        "bears_ohm": rounded(bears_ohm(study, index)),
    }


def bears_ohm(study: Study, node: int) -> float | None:
    """How much more resistance the way of a load bears, ohm, at the current that it draws then: before its drop passes
    what its rulebook allows, or its voltage falls below that from which it works.  None where neither is given, it does
    so already, or a conductor on its way is of unknown size or length."""
    scenes, load = study.scenes(), study.design.circuit.nodes[node].load
    assert load is not None
    found: list[float] = []
    limit, volts = drop_limit(load, study.rulebooks), scenes.nominal_v(node)
    if limit is not None and volts:
        at_most = limit.percent * volts / 100.0
        states = [at for w in (scenes.worst, scenes.alone) if (at := w.get(node)) is not None and at.amps > 0]
        found += [(at_most - at.drop_v) / at.amps for at in states]
    lowest = scenes.lowest.get(node)
    if lowest is not None and lowest.amps > 0 and load.works_from_v is not None:
        found.append((lowest.volts - load.works_from_v) / lowest.amps)
    ways = [w.get(node) for w in (scenes.worst, scenes.alone, scenes.lowest)]
    if any(at is not None and scenes.untold(at) for at in ways):
        return None
    ohm = min(found, default=None)
    return ohm if ohm is not None and ohm >= 0 else None


def _lowest(scenes: Scenes, found: AtLoad) -> dict[str, Any]:
    return {"title": found.title, "volts_v": rounded(found.volts), "untold": scenes.untold(found)}


def guard(study: Study, node: int) -> list[str]:
    """The nearest devices towards the sources."""
    edges = study.design.circuit.edges
    return sorted({edges[e].element.name for e in upstream(study, node).devices})


def _state(scenes: Scenes, found: AtLoad | None) -> dict[str, Any] | None:
    if found is None:
        return None
    made: dict[str, Any] = {
        "title": found.title,
        "volts_v": rounded(found.volts),
        "drop_v": rounded(found.drop_v),
        "drop_percent": rounded(scenes.percent(found)),
        "current_a": rounded(found.amps),
        "untold": scenes.untold(found),
    }
    if found.case >= 0:
        edges = scenes.study.design.circuit.edges
        made["lost"] = [{"element": edges[e].element.name, "volts_v": rounded(v)} for e, v in scenes.losses(found)]
    return made


LOAD_COLUMNS = (
    "load", "label", "system", "draws", "guard", "worst scene", "volts then V", "drop then V", "drop then %",
    "volts alone V", "drop alone %", "limit %", "rulebook", "lowest volts V", "lowest in", "works from V", "bears mΩ",
)  # fmt: skip
LOAD_FIRST = (
    "load", "drop then %", "limit %", "volts then V", "worst scene", "lowest volts V", "works from V", "guard",
    "drop alone %", "draws", "bears mΩ", "label", "lowest in",
)  # fmt: skip


def load_rows(study: Study) -> Rows:
    """One row a load: where it loses most (``then``), by itself (``alone``), and the lowest voltage it ever gets; ≥ and
    ≤ before what is a bound, as a conductor of unknown size or length on its way counts as nil."""
    scenes = study.scenes()

    def at_least(found: AtLoad | None, cell: str) -> str:
        return f"≥{cell}" if cell and found is not None and scenes.untold(found) else cell

    def at_most(found: AtLoad | None, cell: str) -> str:
        return f"≤{cell}" if cell and found is not None and scenes.untold(found) else cell

    cells = []
    for node in study.design.circuit.nodes:
        load = node.load
        if load is None:
            continue
        worst, alone, lowest = (w.get(node.index) for w in (scenes.worst, scenes.alone, scenes.lowest))
        limit = drop_limit(load, study.rulebooks)
        draws = f"{load.draws_a:.4g} A" if load.draws_a else f"{load.draws_w:.4g} W" if load.draws_w else ""
        cells.append(
            [
                load.name,
                load.label,
                node.system.name if node.system else "",
                draws,
                " + ".join(guard(study, node.index)),
                worst.title if worst else "",
                at_most(worst, fixed(worst.volts if worst else None)),
                at_least(worst, fixed(worst.drop_v if worst else None, 3)),
                at_least(worst, fixed(scenes.percent(worst) if worst else None)),
                at_most(alone, fixed(alone.volts if alone else None)),
                at_least(alone, fixed(scenes.percent(alone) if alone else None)),
                figure(limit.percent if limit else None),
                limit.rulebook.name if limit else "",
                at_most(lowest, fixed(lowest.volts if lowest else None)),
                lowest.title if lowest else "",
                figure(load.works_from_v),
                figure(None if (ohm := bears_ohm(study, node.index)) is None else ohm * 1000, 3),
            ]
        )
    figures = frozenset(c for c in LOAD_COLUMNS if c.endswith((" V", " %", " mΩ"))) | {"draws"}
    return Rows(LOAD_COLUMNS, figures, cells, LOAD_FIRST)


def scenes_json(study: Study) -> dict[str, Any]:
    scenes = study.scenes()
    return head(study, "scenes") | {
        "remarks": scenes.remarks,
        "states": [_scene(study, scenes, number) for number in range(len(scenes.states))],
    }


def _positions(study: Study, state: SceneState) -> tuple[dict[str, str], list[str]]:
    """Selectors with the position each is in, and what else is open."""
    circuit = study.design.circuit
    closed: dict[str, list[str]] = {}
    opened: list[str] = []
    for edge in circuit.edges:
        if edge.position and isinstance(edge.element, Switch):
            here = closed.setdefault(edge.element.name, [])
            if edge.index not in state.case.opened:
                here.append(edge.position)
        elif edge.index in state.case.opened:
            opened.append(edge.element.name)
    names = {}
    for name, positions in closed.items():
        names[name] = "off" if not positions else positions[0] if len(positions) == 1 else "both"
    return names, opened


def _scene(study: Study, scenes: Scenes, number: int) -> dict[str, Any]:
    state, circuit = scenes.states[number], study.design.circuit
    nodes, edges = circuit.nodes, circuit.edges
    positions, opened = _positions(study, state)
    currents = state.currents(scenes.net)
    return {
        "title": state.case.title,
        "positions": positions,
        "open": opened,
        "loads": [
            {
                "id": _name(nodes[n]),
                "volts_v": rounded(p.volts(n)),
                "drop_v": rounded(p.judged(n).drop_v(n)),
                "current_a": rounded(p.loads[n]),
                "untold": scenes.untold(AtLoad(n, number, "", 0.0, 0.0, 0.0)),
            }
            for p, n in state.loads()
        ],
        "currents": [
            {
                "id": edges[e].element.name,
                "from": nodes[edges[e].u].name,
                "to": nodes[edges[e].v].name,
                "current_a": rounded(currents[e]),
            }
            for e in sorted(currents)
            if edges[e].kind != "link" and abs(currents[e]) > LEAST_A
        ],
        "sources": [
            {"id": _name(nodes[n]), "current_a": rounded(amps)} for p in state.pieces for n, amps in p.feeds.items()
        ],
        "not_carried": [
            {
                "load": _name(nodes[f.node]),
                "share": rounded(f.share),
                "volts_v": rounded(f.volts),
                "loads": [_name(nodes[n]) for n in f.loads],
            }
            for f in state.not_carried
        ],
        "not_fed": [_name(nodes[n]) for n in state.not_fed],
    }


def _name(node: Any) -> str:
    return str(node.element.name if node.element is not None else node.name)


SCENE_COLUMNS = ("scene", "positions", "load", "volts V", "drop V", "drop %", "current A", "remark")


def scene_rows(study: Study) -> Rows:
    """One row a load and state; a state that changes nothing for the loads is not repeated.  ≥ and ≤ before a bound."""
    scenes = study.scenes()
    nodes = study.design.circuit.nodes
    cells: list[list[str]] = []
    seen: set[tuple[tuple[str, ...], ...]] = set()
    for number, state in enumerate(scenes.states):
        rows = []
        for piece, node in state.loads():
            at = AtLoad(node, number, "", 0.0, piece.judged(node).drop_v(node), 0.0)
            least, most = ("≥", "≤") if scenes.untold(at) else ("", "")
            percent = fixed(scenes.percent(at))
            rows.append(
                [
                    _name(nodes[node]),
                    most + fixed(piece.volts(node)),
                    least + fixed(at.drop_v, 3),
                    least + percent if percent else "",
                    figure(piece.loads[node]),
                    "",
                ]
            )
        for found in state.not_carried:
            rows += [[_name(nodes[n]), "", "", "", "", "cannot be carried"] for n in found.loads]
        rows += [[_name(nodes[n]), "", "", "", "", "not fed"] for n in state.not_fed]
        key = ((state.case.title,), *map(tuple, rows))
        if key in seen:
            continue
        seen.add(key)
        shown = ", ".join(f"{name} at {at}" for name, at in _positions(study, state)[0].items())
        cells += [[state.case.title, shown, *row] for row in rows]
    first = ("scene", "load", "volts V", "drop %", "current A", "remark", "drop V", "positions")
    return Rows(SCENE_COLUMNS, frozenset(c for c in SCENE_COLUMNS if c.endswith((" V", " %", " A"))), cells, first)
