"""A design as facts that can be compared: by element, whatever order and words the text has."""

from __future__ import annotations

import dataclasses
import hashlib
from collections.abc import Callable
from typing import Any

from linter.history.sides import Side
from linter.model.circuit import Node
from linter.model.design import Design
from linter.model.elements import Asks, Element, Named
from linter.rules.words import amps, class_words
from linter.source.units import Quantity

# What a fact is called is its field's name; these say where it stands in a text and are no facts.
_NO_FACTS = frozenset({"name", "statement", "source", "facts", "kind", "span", "fact", "owner"})
# Words for people: they change no current and no voltage.
WORDS = frozenset({"label", "part", "colour", "name"})
ACCEPTANCE = "acceptance"

Facts = dict[str, Any]
Naming = Callable[[str], str]


@dataclasses.dataclass(slots=True)
class Thing:
    """An element, or something else that a design declares: ``kind`` and all it says.  ``between``: for what lies
    between others, what it meets at each end; ``ordered`` if it matters which is which."""

    name: str
    kind: str
    label: str
    facts: Facts
    between: tuple[tuple[str, ...], ...] = ()
    ordered: bool = False
    is_element: bool = True

    def joins(self, naming: Naming) -> tuple[tuple[str, ...], ...]:
        """``between`` with names as ``naming`` gives them, in an order that is the same however it was written."""
        ends = [tuple(sorted(naming(n) for n in end)) for end in self.between]
        return tuple(ends if self.ordered else sorted(ends))


def plain(value: Any) -> Any:
    """A value as plain lists, figures and words; infinity is the word unlimited."""
    if isinstance(value, Quantity):
        # 6 mm2 written otherwise is 6 mm2: the figure counts
        return f"{value.awg} AWG" if value.awg else f"{value.value:g} mm²" if value.kind == "AREA" else value.value
    if isinstance(value, Named):
        return facts_of(value) if type(value).__name__ == "Source" else value.name
    if isinstance(value, Asks):
        return _asked(value)
    if dataclasses.is_dataclass(value) and not isinstance(value, type):
        return facts_of(value)
    if isinstance(value, list | tuple):
        return [plain(v) for v in value]
    if isinstance(value, dict):
        return {k: plain(v) for k, v in sorted(value.items())}
    if isinstance(value, float):
        return "unlimited" if value == float("inf") else round(value, 9) if value % 1 else int(value)
    return value


def _asked(asks: Asks) -> str:
    """What a maker asks for as the language writes it: `thermal breaker 80 A`, `cable at least 35 mm²`."""
    if asks.cable is not None:
        return f"cable at least {plain(asks.cable)}"
    rating = ""
    if asks.rating_a is not None:
        least, greatest = asks.rating_a
        rating = amps(least) if least == greatest else f"{amps(least)} to {amps(greatest)}"
    words = (asks.speed, class_words(asks.device_class), asks.device_kind, rating)
    return " ".join(w for w in words if w)


#: What counts of a cable's return where nothing is said of it -> the fact of the cable itself that does.
RETURNS = {"return_m": ("as long as the cable", "length_m"), "return_size": ("as the cable", "size")}


def unsaid(thing: Thing, key: str) -> tuple[str, str, Any]:
    """(what counts where a fact is not said, the fact it is then taken from, its value); nothing where nothing does."""
    words, whose = RETURNS.get(key, ("", ""))
    return words, whose, thing.facts.get(whose)


def facts_of(thing: Any) -> Facts:
    """What is said of something, its part sheet included; what is not said is left out."""
    found: Facts = {}
    for field in dataclasses.fields(thing):
        if field.name not in _NO_FACTS:
            value = plain(getattr(thing, field.name))
            if value not in (None, "", [], False):
                found[field.name] = value
    return found


def things_of(side: Side) -> dict[tuple[str, str], Thing]:
    """All that a design declares, by family (``element``, or its kind) and name."""
    design = side.design
    ends = _ends(design)
    found: dict[tuple[str, str], Thing] = {}
    for element in design.elements.values():
        between, ordered = ends.get(element.name, ((), False))
        found["element", element.name] = Thing(
            element.name, element.kind, element.label, facts_of(element), between, ordered
        )

    def put(kind: str, name: str, facts: Facts, label: str = "") -> None:
        title, number = name, 1
        while (kind, title) in found:  # two scenes of one title
            number += 1
            title = f"{name} ({number})"
        found[kind, title] = Thing(title, kind, label, facts, is_element=False)

    put("boat", "boat", {"name": design.boat, "length_m": design.length_m})
    for choice in design.rulebooks:
        text = side.rulebooks.get(choice.name)
        digest = hashlib.sha256(bytes.fromhex(text)).hexdigest()[:12] if text else ""
        put("rulebook", choice.name, {"file": choice.shown, "content": digest} if choice.file else {})
    for system in design.systems.values():
        put("system", system.name, facts_of(system), system.label)
    for place in design.places.values():
        put("place", place.name, facts_of(place), place.label)
    for scene in design.scenes:
        on = sorted(e.name for e in scene.on)
        put("scene", scene.title, {"on": on, "states": plain(scene.states), "duration_s": plain(scene.duration_s)})
    for accepted in design.accepted:
        facts = {"reason": accepted.reason, "by": accepted.by, "until": accepted.until}
        put(ACCEPTANCE, f"{accepted.rule} at {accepted.subject}", facts)
    return found


def _ends(design: Design) -> dict[str, tuple[tuple[tuple[str, ...], ...], bool]]:
    """By element: what it meets at each end.  A point that nobody named is called by what else meets there, as its own
    name hangs on the order in which the run is written."""
    circuit = design.circuit

    def meets(node: Node, element: Element) -> tuple[str, ...]:
        if node.element is not None and node.kind != "end" and node.element is not element:
            return (node.name,)
        others = {circuit.edges[i].element.name for i in node.edges} - {element.name}
        return tuple(sorted(others))

    found: dict[str, list[tuple[str, ...]]] = {}
    ordered = set()
    for edge in circuit.edges:
        u, v = circuit.nodes[edge.u], circuit.nodes[edge.v]
        ends = [meets(u, edge.element), meets(v, edge.element)]
        if edge.position:
            ends = [(edge.position, *e) for e in ends]
        found.setdefault(edge.element.name, []).extend(ends)
        if edge.one_way:
            ordered.add(edge.element.name)
    return {name: (tuple(ends), name in ordered) for name, ends in found.items()}
