"""The ways to break a boat.  Each takes a sound boat and yields (what was done, the boat broken).

Whether a case is truly wrong is not decided here: the judge says so.
"""

from __future__ import annotations

import itertools
from collections.abc import Callable, Iterator

from .text import (
    Boat,
    amps_of,
    has,
    having,
    length_of,
    rating_steps,
    size_steps,
    split,
    with_amps,
    with_length,
    with_size,
)

Cases = Iterator[tuple[str, Boat]]
BREAKS: dict[str, Callable[[Boat], Cases]] = {}


def kind(name: str) -> Callable[[Callable[[Boat], Cases]], Callable[[Boat], Cases]]:
    def keep(function: Callable[[Boat], Cases]) -> Callable[[Boat], Cases]:
        BREAKS[name] = function
        return function

    return keep


def devices(boat: Boat) -> list[tuple[int, str, str]]:
    return boat.statements("fuse", "breaker")


@kind("device removed")
def _removed(boat: Boat) -> Cases:
    for at, _, name in devices(boat):
        yield name, boat.changed(at)


def _bridged(boat: Boat, way: str) -> Cases:
    for at, _, name in devices(boat):
        before, after = "joint BRIDGED-A", "joint BRIDGED-B"
        yield name, boat.changed(at, before, boat.lines[at], after, more=f"from BRIDGED-A\n{way}to BRIDGED-B")


@kind("device bridged by a cable")
def _bridged_by_cable(boat: Boat) -> Cases:
    yield from _bridged(boat, "cable BRIDGE, 10 mm2, 0.1 m\n")


@kind("device bridged by a link")
def _bridged_by_link(boat: Boat) -> Cases:
    yield from _bridged(boat, "")


@kind("second device beside a device")
def _beside(boat: Boat) -> Cases:
    for at, _, name in devices(boat):
        rated = boat.edge(name)["rated_a"]
        if rated:
            yield from (
                (f"{name} and {amps:g} A", case)
                for amps in (rated, rated / 2)
                for case in [
                    boat.changed(
                        at, "joint BESIDE-A", boat.lines[at], "joint BESIDE-B",
                        more=f"from BESIDE-A\nfuse BESIDE, {amps:g} A\nto BESIDE-B",
                    )
                ]
            )  # fmt: skip


@kind("device too large")
def _larger(boat: Boat) -> Cases:
    for at, _, name in devices(boat):
        for steps in (1, 2, 4):
            amps = rating_steps(boat.edge(name)["rated_a"], steps)
            if amps:
                yield f"{name} {amps:g} A", boat.changed(at, with_amps(boat.lines[at], amps))


@kind("device too small")
def _smaller(boat: Boat) -> Cases:
    for at, _, name in devices(boat):
        for steps in (-1, -3):
            amps = rating_steps(boat.edge(name)["rated_a"], steps)
            if amps:
                yield f"{name} {amps:g} A", boat.changed(at, with_amps(boat.lines[at], amps))


@kind("fuse for breaker, breaker for fuse")
def _other_kind(boat: Boat) -> Cases:
    for at, sort, name in devices(boat):
        edge = boat.edge(name)
        other, of = ("breaker", "thermal") if sort == "fuse" else ("fuse", "blade")
        parts, _ = split(boat.lines[at])
        kept = [p for p in parts[1:] if p.startswith("in ")]
        guarded = ["ignition protected"] if edge["ignition_protected"] else []
        rated = f"{edge['rated_a'] or 10:g} A"
        yield name, boat.changed(at, ", ".join([f"{other} {name}", of, rated, "32 V", *kept, *guarded]))


@kind("another class")
def _other_class(boat: Boat) -> Cases:
    for at, sort, name in devices(boat):
        for of in ("ANL", "class T") if sort == "fuse" else ("hydraulic-magnetic",):
            if boat.edge(name)["class"] != of.lower().replace(" ", "-"):
                words = r"^(blade|miniature blade|large blade|bolt-down strip|ANL|class T|cartridge|gG|thermal)$"
                yield f"{name} {of}", boat.changed(at, having(boat.lines[at], of, without=words))


@kind("another speed")
def _other_speed(boat: Boat) -> Cases:
    for at, _, name in devices(boat):
        speed = "fast" if boat.edge(name)["speed"] == "slow" else "slow"
        yield f"{name} {speed}", boat.changed(at, having(boat.lines[at], speed, without=r"^(slow|fast)$"))


@kind("conductor too thin")
def _thinner(boat: Boat) -> Cases:
    for at, _, name in boat.statements("cable"):
        for steps in (-1, -2, -4):
            size = size_steps(boat.edge(name)["size"], steps)
            if size:
                yield f"{name} {size}", boat.changed(at, with_size(boat.lines[at], size))


@kind("conductor longer")
def _longer(boat: Boat) -> Cases:
    for at, _, name in boat.statements("cable"):
        metres = length_of(boat.lines[at])
        for more in (0.05, 0.3, 2.0):
            if metres is not None and metres < 2:
                yield f"{name} {metres + more:g} m", boat.changed(at, with_length(boat.lines[at], metres + more))


@kind("device at the far end of its cable")
def _far_end(boat: Boat) -> Cases:
    lines = boat.lines
    for at, _, name in devices(boat):
        if at + 1 < len(lines) and lines[at + 1].startswith("cable "):
            yield name, boat.with_lines([*lines[:at], lines[at + 1], lines[at], *lines[at + 2 :]])


@kind("device moved back along the run")
def _moved_back(boat: Boat) -> Cases:
    lines = boat.lines
    for at, _, name in devices(boat):
        if lines[at - 1].startswith("cable "):
            yield name, boat.with_lines([*lines[: at - 1], lines[at], lines[at - 1], *lines[at + 1 :]])


@kind("unprotected source on a bus")
def _source_added(boat: Boat) -> Cases:
    for _, _, name in boat.statements("bus", "joint"):
        system = next(s for s in boat.facts["systems"] if s["name"] == boat.node(name)["system"])
        volts = f"{system['voltage_v']:g} V, on {system['name']}"
        battery = f"battery ADDED, AGM, {volts}, 100 Ah\n"
        yield f"battery at {name}", boat.with_lines(boat.lines, f"{battery}from ADDED\nto {name}")
        cable = "cable ADDED-W, 25 mm2, 0.15 m\n"
        yield f"battery with cable at {name}", boat.with_lines(boat.lines, f"{battery}from ADDED\n{cable}to {name}")
        charger = f"charger ADDED, {volts}, 40 A, self-limiting\n"
        yield f"charger at {name}", boat.with_lines(boat.lines, f"{charger}from ADDED\n{cable}to {name}")


@kind("source limits itself no more")
def _unlimited(boat: Boat) -> Cases:
    for file, lines in boat.files.items():
        for at, line in enumerate(lines):
            if "self-limiting" in line and not line.startswith("#"):
                kept = [row for row in line.split("\n") if not row.strip().startswith("self-limiting")]
                changed = having("\n".join(kept), without=r"^self-limiting") if len(kept) == 1 else "\n".join(kept)
                files = boat.files | {file: (*lines[:at], changed, *lines[at + 1 :])}
                yield line.split("\n")[0], Boat(boat.name, files, boat.facts)


@kind("conductor through a hot engine space")
def _hot(boat: Boat) -> Cases:
    for at, _, name in boat.statements("cable"):
        for ambient in ("50", "70", "95"):
            place = f"place HOT-BOX, ambient {ambient} °C, engine space"
            yield f"{name} {ambient} °C", boat.changed(at, having(boat.lines[at], "0 m in HOT-BOX"), more=place)


@kind("poorer insulation")
def _insulation(boat: Boat) -> Cases:
    for at, _, name in boat.statements("cable"):
        for heat in ("75", "60"):
            yield (
                f"{name} {heat}",
                boat.changed(at, having(boat.lines[at], f"insulation {heat} °C", without="^insulation")),
            )


@kind("load of another voltage")
def _voltage(boat: Boat) -> Cases:
    for at, _, name in boat.statements("load"):
        nominal = next((s["voltage_v"] for s in boat.facts["systems"] if s["name"] == boat.node(name)["system"]), 12)
        other = 24 if nominal == 12 else 12
        without = r"^[\d.]+ V( to .*)?$"
        yield f"{name} {other} V", boat.changed(at, having(boat.lines[at], f"{other} V", without=without))
        span = f"{other * 0.8:g} V to {other * 1.3:g} V"
        yield f"{name} {span}", boat.changed(at, having(boat.lines[at], span, without=without))


@kind("load fed from another system")
def _other_system(boat: Boat) -> Cases:
    buses = [(n["element"], n["system"]) for n in boat.facts["nodes"] if n["kind"] == "bus"]
    for at, line in enumerate(boat.lines):
        if line.startswith("from ") and len(line.split()) == 2:
            system = next((s for b, s in buses if b == line.split()[1]), None)
            other = next((b for b, s in buses if system and s and s != system), None)
            if other:
                yield f"{line} -> {other}", boat.changed(at, f"from {other}")


@kind("two systems joined")
def _joined(boat: Boat) -> Cases:
    buses = [(n["element"], n["system"]) for n in boat.facts["nodes"] if n["kind"] == "bus"]
    for k, (one, system) in enumerate(buses):
        for two, other in buses[k + 1 :]:
            if system and other and system != other:
                yield f"{one} {two}", boat.with_lines(boat.lines, f"from {one}\ncable JOIN, 6 mm2, 1 m\nto {two}")
                break


@kind("load draws more")
def _more_current(boat: Boat) -> Cases:
    for at, _, name in boat.statements("load"):
        load = boat.node(name)["load"]
        amps = load["draws_a"] or (load["draws_w"] or 0) / 12 or 5
        for factor in (1.5, 3, 10):
            drawn = f"draws {amps * factor:.6g} A"
            yield f"{name} {drawn}", boat.changed(at, having(boat.lines[at], drawn, without="^draws"))


@kind("a rating nobody makes")
def _odd_rating(boat: Boat) -> Cases:
    for at, _, name in devices(boat):
        rated = boat.edge(name)["rated_a"]
        if rated:
            odd = rated - 1.3 if rated > 3 else rated + 0.7
            yield f"{name} {odd:g} A", boat.changed(at, with_amps(boat.lines[at], odd))


@kind("device of too low a voltage")
def _low_voltage(boat: Boat) -> Cases:
    for at, _, name in devices(boat):
        for volts in ("6 V", "12 V", "14.5 V"):
            yield f"{name} {volts}", boat.changed(at, having(boat.lines[at], volts, without=r"^[\d.]+ V$"))


@kind("not ignition protected in petrol vapour")
def _ignition(boat: Boat) -> Cases:
    for at, sort, name in boat.statements(
        "fuse", "breaker", "switch", "relay", "selector", "load", "alternator", "charger"
    ):
        line = boat.lines[at]
        if has(line, "^ignition protected$"):
            yield f"{name} without", boat.changed(at, having(line, without="^ignition protected$"))
        vapour = having(line, "in VAPOUR-BOX", without=r"^in (?!sheath|conduit|enclosure)")
        yield f"{sort} {name} there", boat.changed(at, vapour, more="place VAPOUR-BOX, petrol vapour")


@kind("a feed declared cranking")
def _cranking(boat: Boat) -> Cases:
    for at, _, name in boat.statements("cable"):
        if not boat.edge(name)["cranking"]:
            yield name, boat.changed(at, having(boat.lines[at], "cranking"))


@kind("a cranking feed not declared")
def _not_cranking(boat: Boat) -> Cases:
    for at, _, name in boat.statements("cable"):
        if has(boat.lines[at], "^cranking$"):
            yield name, boat.changed(at, having(boat.lines[at], without="^cranking$"))


@kind("bus, switch, relay or holder too small")
def _low_rating(boat: Boat) -> Cases:
    for at, _, name in boat.statements("bus", "switch", "relay", "selector"):
        for amps in (5, 40):
            yield f"{name} {amps} A", boat.changed(at, with_amps(boat.lines[at], amps))
    for at, _, name in devices(boat):
        rated = boat.edge(name)["rated_a"]
        if rated:
            yield (
                f"holder of {name}",
                boat.changed(at, having(boat.lines[at], f"holder {rated / 2:g} A", without="^holder")),
            )


@kind("a feed removed")
def _not_fed(boat: Boat) -> Cases:
    for at, line in enumerate(boat.lines):
        if line.startswith("from "):
            yield line, boat.changed(at, "from ISLAND", more="joint ISLAND")


@kind("covering removed")
def _bare(boat: Boat) -> Cases:
    for at, _, name in boat.statements("cable"):
        if has(boat.lines[at], r"^in (sheath|conduit|enclosure)$"):
            yield name, boat.changed(at, having(boat.lines[at], without=r"^in (sheath|conduit|enclosure)$"))


@kind("thin branch off a thick conductor")
def _branch(boat: Boat) -> Cases:
    for at, _, name in boat.statements("cable"):
        taken = "from TAP\ncable TAP-W, 1 mm2, 2 m\nload TAP-L, draws 1 A"
        yield name, boat.changed(at, boat.lines[at], "joint TAP", more=taken)
        guarded = "from TAP\ncable TAP-W, 1 mm2, 0.6 m\nfuse TAP-F, blade, 5 A\ncable TAP-V, 1 mm2, 1 m\nload TAP-L, draws 1 A"
        yield f"{name} fused late", boat.changed(at, boat.lines[at], "joint TAP", more=guarded)


@kind("device of another rating in a panel feeder")
def _swapped(boat: Boat) -> Cases:
    """Two devices change places, as when a panel is labelled wrongly."""
    found = [(at, name) for at, _, name in devices(boat) if amps_of(boat.lines[at])]
    for (at, one), (to, two) in itertools.pairwise(found):
        a, b = amps_of(boat.lines[at]), amps_of(boat.lines[to])
        if a and b and a != b:
            changed = boat.changed(at, with_amps(boat.lines[at], b))
            yield f"{one} {two}", changed.changed(to, with_amps(boat.lines[to], a))
