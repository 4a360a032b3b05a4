"""What is truly wrong in a design: the judge's word, as (rule, element)."""

from __future__ import annotations

import math
from typing import Any

from .allowed import ampacity, carried_share, strictest
from .asked import judge_asked
from .cases import judge_cases
from .circuit import NONE, Network
from .currents import Currents, load_current, over
from .figures import CLASS_VOLTAGE, GREATEST_PER_NOMINAL, LEAST_SIZES, SERIES
from .judgement import Judgement
from .protection import Protection, declared_rightly
from .quick import QuickNetwork
from .quick_currents import quick_currents
from .ratings import Ratings

COVERED = frozenset({
    "conductor-unprotected", "protection-distance", "conductor-overloaded", "device-overloaded", "device-not-as-asked",
    "cable-less-than-asked", "rating-not-made", "device-voltage", "current-rating", "conductor-too-small",
    "cranking-misdeclared", "not-ignition-protected", "wrong-voltage", "systems-joined", "not-fed", "device-bypassed",
    "source-overloaded", "scene-not-fed",
})  # fmt: skip


def judge(data: dict[str, Any], plain: bool = False) -> Judgement:
    """Judge the JSON of a circuit; ``plain``: without any of the shortcuts, which must come to the same."""
    net: Network
    if plain:
        net = Network(data)
        currents = Currents(net)
    else:
        net = QuickNetwork(data)
        currents = quick_currents(net)
    made = Judgement()
    protection = Protection(net)
    made.conductors = protection.verdicts
    _conductors(net, protection, made)
    _loaded(net, currents, made)
    _devices(net, made)
    judge_asked(net, made)
    _places(net, made)
    _systems(net, made)
    Ratings(net, currents).judge(made)
    judge_cases(net, currents, made)
    # what nothing feeds is said as that; whether a scene that turns it on says it again the words do not say
    for rule, element in list(made.wrong):
        if rule == "not-fed" and ("scene-not-fed", element) in made.wrong:
            made.wrong.discard(("scene-not-fed", element))
            made.open.add(("scene-not-fed", element))
    _alternating(net, made)
    made.open -= made.wrong
    return made


def _alternating(net: Network, made: Judgement) -> None:
    """Alternating current is not studied: whatever the figures say of it is left open."""
    elements = {
        thing["element"]
        for thing, nodes in [(n, [n["id"]]) for n in net.nodes.values()]
        + [(e, [e["from"], e["to"]]) for e in net.edges]
        if any((net.system(n) or {}).get("current") == "AC" for n in nodes)
    }
    for key in [k for k in made.wrong if k[1] in elements]:
        made.wrong.discard(key)
        made.open.add(key)


# ---- conductors


def _conductors(net: Network, protection: Protection, made: Judgement) -> None:
    rule = {"unprotected": "conductor-unprotected", "too far": "protection-distance"}
    for c in net.conductors():
        edge = net.edges[c]
        verdict = protection.verdicts[edge["id"]]
        if verdict.verdict in rule:
            made.say(rule[verdict.verdict], edge["id"], None if verdict.others else True)
        for other in verdict.others & set(rule):
            made.say(rule[other], edge["id"], None)
        if edge["cranking"]:
            rightly = declared_rightly(net, c, protection.flows[c])
            made.say("cranking-misdeclared", edge["id"], None if rightly is None else not rightly)
        made.say("conductor-too-small", edge["id"], _too_small(net, edge))


def _too_small(net: Network, edge: dict[str, Any]) -> bool | None:
    """Of the live conductor or of its return, whichever is."""
    back_m = edge["length_m"] if edge["return_m"] is None else edge["return_m"]
    both = {_size_too_small(net, edge, edge["size"], edge["length_m"])}
    both.add(_size_too_small(net, edge, edge["return_size"], back_m))
    return True if True in both else None if None in both else False


def _size_too_small(
    net: Network, edge: dict[str, Any], size: dict[str, Any] | None, length: float | None
) -> bool | None:
    if size is None:
        return False
    answers: set[bool | None] = set()
    for book in net.rulebooks:
        if book not in LEAST_SIZES:
            continue
        single, sheathed, longer = LEAST_SIZES[book]
        in_sheath = "sheath" in edge["covering"]
        least = sheathed if in_sheath else single
        small = size["mm2"] < least * (1 - 0.005)
        if small and not in_sheath and edge["covering"] and size["mm2"] >= sheathed * 0.995:
            answers.add(None)  # a conduit or an enclosure: whether that is a sheath the sources do not say
        elif small and not in_sheath and longer and (length is None or length <= longer):
            answers.add(None if length is None else False)
        elif small and book == "cfr-183" and (length is None or length < 0.1778):
            answers.add(None)  # a pigtail is exempt; a short length of cable may be one
        else:
            answers.add(small)
    return True if True in answers else None if None in answers else False


def _loaded(net: Network, currents: Currents, made: Judgement) -> None:
    cranking = [n for n in net.nodes.values() if n.get("load") and n["load"]["cranking"]]
    starters = sum(load_current(net, n) or 0.0 for n in cranking)
    for i, edge in enumerate(net.edges):
        span = currents.spans[i]
        if edge["kind"] == "conductor":
            limit = strictest([ampacity(net, edge, book) for book in net.rulebooks])
            if limit is not None:
                wrong = over(span, limit)
                if edge["cranking"] and wrong is not False and not over(span, limit + starters):
                    # 33 CFR 183.425 does not cover cranking: what starters draw may be all that is too much
                    wrong = None if starters else wrong
                made.say("conductor-overloaded", edge["element"], wrong)
        elif edge["kind"] == "device" and edge["rated_a"] is not None:
            least, most = (share * edge["rated_a"] for share in carried_share(net, edge))
            certain = over(span, most)
            wrong = certain if certain or over(span, least) is False else None
            made.say("device-overloaded", edge["element"], wrong)


# ---- devices


def _devices(net: Network, made: Judgement) -> None:
    for i, edge in enumerate(net.edges):
        if edge["kind"] != "device":
            continue
        rated = edge["rated_a"]
        series = edge["comes_in_a"] or SERIES.get(edge["class"])
        if rated is not None and series:
            made.say("rating-not-made", edge["element"], not any(math.isclose(rated, r) for r in series))
        made.say("device-voltage", edge["element"], _voltage_too_low(net, edge))
        u, v = net.ends(i)
        if not net.in_ring(i):
            continue
        # it may be only by positions of a selector that are never closed together, or against a diode
        made.say("device-bypassed", edge["element"], None)
        for opened in net.configurations:
            gone = opened | {i}
            if v in net.reach(u, gone) or u in net.reach(v, gone):
                made.say("device-bypassed", edge["element"])


def greatest_voltages(net: Network, system: dict[str, Any]) -> tuple[float, float]:
    """The greatest voltage of a system: its own, else the usual one, and that of every source on it.  Two figures: for
    a nominal voltage that is no multiple of 12 V up to 48 V what is usual is not written down anywhere."""
    told = [
        volts
        for n in net.nodes.values()
        if n["source"] and n["system"] == system["name"]
        for volts in (n["source"]["greatest_v"], n["source"]["voltage_v"])
        if volts
    ]
    nominal = system["voltage_v"] or 0.0
    if system["greatest_v"] is not None:
        least = most = system["greatest_v"]
    else:
        most = nominal * GREATEST_PER_NOMINAL
        least = most if nominal in {12, 24, 36, 48} else nominal
    return max([least, *told]), max([most, *told])


def _voltage_too_low(net: Network, edge: dict[str, Any]) -> bool | None:
    own = edge["voltage_v"]
    volts = own if own is not None else CLASS_VOLTAGE.get(edge["class"])
    system = net.system_of(edge)
    if volts is None or system is None:
        return False
    least, most = greatest_voltages(net, system)
    return True if volts < least else None if volts < most else False


# ---- places and systems


def _places(net: Network, made: Judgement) -> None:
    petrol = {p for p, facts in net.places.items() if facts["petrol_vapour"]}
    for edge in net.edges:
        if edge["kind"] in {"device", "switch", "relay", "selector"} and edge["place"] in petrol:
            made.say("not-ignition-protected", edge["element"], not edge["ignition_protected"])
        elif edge["kind"] == "diode" and edge["place"] in petrol and not edge["ignition_protected"]:
            made.say("not-ignition-protected", edge["element"], None)
    for node in net.nodes.values():
        source, load = node["source"], node["load"]
        if node["place"] in petrol and (load or source):
            battery = source and source["kind"] == "battery"
            if not battery and not (load or source)["ignition_protected"]:
                made.say("not-ignition-protected", node["element"])


def _systems(net: Network, made: Judgement) -> None:
    for edge in net.edges:
        one, two = net.nodes[edge["from"]]["system"], net.nodes[edge["to"]]["system"]
        if one and two and one != two:
            made.say("systems-joined", edge["element"])
    fed: set[str] = set()
    for opened in net.configurations:
        for name, node in net.nodes.items():
            if node["source"]:
                fed |= net.reach(name, opened, devices=True)
    for name, node in net.nodes.items():
        if node["load"]:
            bare = name not in fed
            # an inverter that charges feeds itself; whether that is being fed the words do not say
            if node["source"]:
                others = [
                    n for n, f in net.nodes.items()
                    if f["source"] and n != name and name in net.reach(n, NONE, devices=True)
                ]  # fmt: skip
                made.say("not-fed", node["element"], None if not others else False)
            else:
                made.say("not-fed", node["element"], bare)
            made.say("wrong-voltage", node["element"], _wrong_voltage(net, node))
        elif node["element"] and name not in fed:
            made.say("not-fed", node["element"], None)
    for edge in net.edges:
        if edge["from"] not in fed:
            made.say("not-fed", edge["element"], None)


def _wrong_voltage(net: Network, node: dict[str, Any]) -> bool | None:
    """Its range holds the nominal voltage; a single figure is near it (12.8 V and 13.5 V mean a 12 V system)."""
    load, system = node["load"], net.systems.get(node["system"] or "")
    if system is None or not system["voltage_v"]:
        return False
    nominal = system["voltage_v"]
    if load["voltage_range_v"]:
        low, high = load["voltage_range_v"]
        return not low <= nominal <= high
    if load["voltage_v"] is None:
        return False
    apart = abs(load["voltage_v"] - nominal) / nominal
    return True if apart > 0.3 else None if apart > 0.15 else False


__all__ = ["COVERED", "Judgement", "judge"]
