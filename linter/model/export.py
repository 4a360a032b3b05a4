"""The circuit as data for other programs: JSON (documented in grammar/README.md, stable), GraphML and DOT.

The JSON form holds all that a verdict needs, so that somebody else's program can check ours.
"""

from __future__ import annotations

from typing import Any

from linter.model.circuit import Circuit, Edge, Node
from linter.model.design import Design
from linter.model.elements import (
    Asks,
    Bus,
    Conductor,
    Converter,
    Device,
    Diode,
    Element,
    Load,
    Source,
    Switch,
)

FORMAT = "wireworthy circuit"
VERSION = 1


def circuit_json(design: Design) -> dict[str, Any]:
    """The design as plain lists, dictionaries, numbers and strings; a figure nobody gave is null."""
    return {
        "format": FORMAT,
        "version": VERSION,
        "boat": {
            "name": design.boat, "length_m": design.length_m, "rulebooks": [r.name for r in design.rulebooks],
        },
        "complete": design.whole,
        "systems": [
            {
                "name": s.name, "label": s.label, "voltage_v": s.voltage_v, "current": "AC" if s.alternating else "DC",
                "least_v": s.least_v, "greatest_v": s.greatest_v, "earthing": s.earthing,
            }
            for s in design.systems.values()
        ],
        "places": [
            {
                "name": p.name, "label": p.label, "ambient_c": p.ambient_c, "engine_space": p.engine_space,
                "petrol_vapour": p.petrol_vapour,
            }
            for p in design.places.values()
        ],
        "nodes": [node_facts(n) for n in design.circuit.nodes],
        "edges": [edge_facts(e, design.circuit) for e in design.circuit.edges],
        "selectors": [
            {"name": e.name, "positions": list(e.positions), "one_at_a_time": "both" not in e.positions}
            for e in design.elements.values()
            if isinstance(e, Switch) and e.kind == "selector"
        ],
        "scenes": [
            {"title": s.title, "on": [e.name for e in s.on], "states": s.states, "duration_s": s.duration_s}
            for s in design.scenes
        ],
        "accepted": [
            {"rule": a.rule, "element": a.subject, "reason": a.reason, "by": a.by, "until": a.until}
            for a in design.accepted
        ],
    }  # fmt: skip


def node_facts(node: Node) -> dict[str, Any]:
    """One node: id, kind, element, system, and what its source and its load say of themselves."""
    element = node.element
    facts: dict[str, Any] = {
        "id": node.name,
        "kind": node.kind,
        "element": element.name if element else None,
        "label": element.label if element else "",
        "system": node.system.name if node.system else None,
        "place": element.place.name if element and element.place else None,
        "source": _source(node.source) if node.source else None,
        "load": _load(node.load) if node.load else None,
    }
    if isinstance(element, Bus):
        facts |= {"rated_a": element.rated_a, "voltage_v": element.voltage_v}
    return facts


def _source(source: Source) -> dict[str, Any]:
    return {
        "kind": source.kind,
        "voltage_v": source.voltage_v,
        "greatest_v": source.greatest_v,
        "rated_a": source.rated_a,
        # null: nothing limits it
        "limit_a": source.limit_a if source.self_limiting else None,
        "resistance_ohm": source.resistance_ohm,
        "short_circuit_a": source.short_circuit_a,
        "cranking_a": source.cranking_a,
        "charge_ah": source.charge_ah,
        "chemistry": source.chemistry,
        "series": source.series,
        "parallel": source.parallel,
        "ignition_protected": source.ignition_protected,
    }


def _load(load: Load) -> dict[str, Any]:
    facts: dict[str, Any] = {
        "draws_a": load.draws_a, "draws_w": load.draws_w, "voltage_v": load.voltage_v,
        "voltage_range_v": load.voltage_range_v, "starts_a": load.starts_a, "starts_s": load.starts_s,
        "works_from_v": load.works_from_v, "continuous": load.continuous, "vital": load.vital,
        "always_on": load.always_on, "cranking": load.cranking, "runs_s_a_day": load.runs_s_a_day, "sort": load.sort,
        "on": load.on.name if load.on else None, "ignition_protected": load.ignition_protected,
        "asks": [_asks(a) for a in load.asks],
    }  # fmt: skip
    if isinstance(load, Converter):
        facts["efficiency"] = load.efficiency
        facts["output"] = f"{load.name}.out" if load.kind == "converter" else None
    return facts


def _asks(ask: Asks) -> dict[str, Any]:
    if ask.cable is not None:
        return {"cable": _size(ask.cable)}
    return {
        "device": ask.device_kind, "class": ask.device_class, "speed": ask.speed, "rating_a": ask.rating_a,
    }  # fmt: skip


def _size(size: Any) -> dict[str, Any] | None:
    return {"text": size.text, "mm2": size.value, "awg": size.awg or None} if size is not None else None


def edge_facts(edge: Edge, circuit: Circuit) -> dict[str, Any]:
    """One edge: id, its ends, kind, element, and the figures of its kind."""
    element: Element = edge.element
    u, v = circuit.nodes[edge.u].name, circuit.nodes[edge.v].name
    ident = {"link": f"{u}~{v}", "selector": f"{element.name}.{edge.position}"}.get(edge.kind, element.name)
    facts: dict[str, Any] = {
        "id": ident, "from": u, "to": v, "kind": edge.kind, "element": element.name, "label": element.label,
        "one_way": edge.one_way, "position": edge.position or None,
        "place": element.place.name if element.place and edge.kind != "link" else None,
    }  # fmt: skip
    if edge.kind == "link":
        return facts
    facts["ignition_protected"] = element.ignition_protected
    if isinstance(element, Conductor):
        facts |= {
            "size": _size(element.size), "length_m": element.length_m, "insulation_c": element.insulation_c,
            "stranding": element.stranding, "tinned": element.tinned, "covering": list(element.covering),
            "route": [{"length_m": length, "place": place.name} for length, place in element.route],
            "bundle": element.bundle, "colour": element.colour, "return_m": element.return_m,
            "return_size": _size(element.return_size), "cranking": element.cranking,
        }  # fmt: skip
    elif isinstance(element, Device):
        facts |= {
            "device": element.kind, "class": element.device_class, "speed": element.speed, "rated_a": element.rated_a,
            "voltage_v": element.voltage_v, "holder_a": element.holder_a, "comes_in_a": list(element.comes_in_a),
            "breaks": [{"current_a": a, "at_v": v} for a, v in element.breaks], "curve": element.curve,
            "opens": [{"multiple": m, "least_s": a, "greatest_s": b} for m, a, b in element.opens],
            "automatic_reset": element.automatic_reset, "resistance_ohm": element.resistance_ohm,
            "backed": [
                {
                    "current_a": b.current_a, "at_v": b.voltage_v, "device": b.device_kind, "class": b.device_class,
                    "speed": b.speed, "rating_a": b.rating_a,
                }
                for b in element.backed
            ],
            "lets_through": [{"a2s": e, "at_a": a} for e, a in element.lets_through],
            "carries": [{"ambient_c": t, "share": s} for t, s in element.carries],
        }  # fmt: skip
    elif isinstance(element, Switch):
        facts |= {
            "rated_a": element.rated_a, "voltage_v": element.voltage_v, "normally_open": element.normally_open,
            "combining": element.combining, "resistance_ohm": element.resistance_ohm,
        }  # fmt: skip
    elif isinstance(element, Diode):
        facts |= {"rated_a": element.rated_a, "voltage_v": element.voltage_v, "drops_v": element.drops_v}
    return facts


def graphml(design: Design) -> str:
    """GraphML by networkx; values that are no plain figure or word are written as JSON."""
    import io
    import json

    import networkx as nx  # type: ignore[import-untyped, unused-ignore]

    graph = design.circuit.networkx()
    for attributes in (*(d for _, d in graph.nodes(data=True)), *(d for _, _, d in graph.edges(data=True))):
        for key, value in list(attributes.items()):
            if value is None or key == "span":
                attributes[key] = str(value) if key == "span" and value is not None else ""
            elif isinstance(value, list | tuple | dict):
                attributes[key] = json.dumps(value, ensure_ascii=False)
        for key in [k for k, v in attributes.items() if v == ""]:
            del attributes[key]
    out = io.BytesIO()
    nx.write_graphml(graph, out, encoding="utf-8")
    return out.getvalue().decode("utf-8")


def dot(design: Design) -> str:
    """The bare graph in DOT, unpainted; `draw` makes the diagram."""
    import graphviz  # type: ignore[import-untyped, unused-ignore]

    made = graphviz.Digraph(design.boat or "boat")
    quote = graphviz.escape
    ids = {node.index: f"n{node.index}" for node in design.circuit.nodes}
    for node in design.circuit.nodes:
        made.node(ids[node.index], label=quote(node.name), tooltip=quote(node.kind))
    for edge in design.circuit.edges:
        made.edge(
            ids[edge.u], ids[edge.v], label=quote(edge.element.name), arrowhead="normal" if edge.one_way else "none"
        )
    return str(made.source)
