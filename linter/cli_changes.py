"""What a comparison found, as the plain data that a drawing's layer of changes takes."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Sequence
from typing import TYPE_CHECKING, Any

from linter.drawing.changes import Change, Changes, Kind
from linter.drawing.labels import facts as figures_of
from linter.drawing.text import NBSP
from linter.model.circuit import Circuit, Node
from linter.model.elements import Element

if TYPE_CHECKING:
    from linter.history.compare import Changed, Comparison
    from linter.history.facts import Thing
    from linter.rules.finding import Finding

#: Of what was not edited, these figures put a mark on the drawing: who guards it, and what that lets through.
MARKED = frozenset({"verdict", "guard", "let_through_a", "allowed_a"})


def changes_of(made: Comparison) -> Changes:
    """All that differs: what is otherwise, what is new, what is gone, then what is only fed or guarded otherwise."""
    said = _Said(made)
    rows = [said.changed(c) for c in made.changed]
    told = {c.name for c in made.changed}
    rows += [said.renamed(was, now) for was, now in made.renamed.items() if now not in told]
    rows += [*_added(made, said), *_removed(made, said)]
    quiet = 0
    for effect in made.effects:
        if effect.name in said.done:
            continue
        if any(c.what in MARKED for c in effect.changes) or said.findings(effect.name):
            rows.append(
                Change("affected", effect.name, (effect.name,), effect.label, (), said.protection([effect.name]))
            )
        else:
            quiet += 1
    rows += [said.found_at(name) for name in said.left()]
    remark = ""
    if quiet:
        remark = (
            f"Currents, voltages or times of {quiet} more elements are others too; the comparison as text has them."
        )
    if not made.complete:
        remark = f"INCOMPLETE: part of a design could not be read, so nothing is proved of the change. {remark}".strip()
    return Changes(made.old.shown, tuple(rows), remark)


def _added(made: Comparison, said: _Said) -> list[Change]:
    new = made.new.design
    names = {t.name for t in made.added if t.is_element}
    rows = []
    for group, _ in _groups(new.circuit, new.elements, names):
        lines = tuple(_told(new.elements[n]) for n in group)
        rows.append(Change("added", ", ".join(group), tuple(group), "", lines, said.added(group)))
    return rows + [_other("added", t) for t in made.added if not t.is_element]


def _removed(made: Comparison, said: _Said) -> list[Change]:
    """What is gone, marked at what it was joined to and is still there."""
    old, still = made.old.design, made.new.design.elements
    names = {t.name for t in made.removed if t.is_element}
    rows = []
    for group, beside in _groups(old.circuit, old.elements, names):
        at = tuple(n for n in dict.fromkeys(made.renamed.get(b, b) for b in beside) if n in still)
        lines = tuple(_told(old.elements[n]) for n in group)
        rows.append(Change("removed", ", ".join(group), at, "", lines, said.gone(group)))
    return rows + [_other("removed", t) for t in made.removed if not t.is_element]


def _other(kind: Kind, thing: Thing) -> Change:
    """A row for what is no element: a scene, a place, an acceptance."""
    from linter.history.show import thing_words

    return Change(kind, f"{thing.kind} {thing.name}", (), thing.label, (thing_words(thing),))


class _Said:
    """What a change does to the protection of elements, each told once."""

    def __init__(self, made: Comparison) -> None:
        self.made = made
        self.effects = {e.name: e for e in made.effects}
        self.found: dict[str, list[str]] = {}
        self.done: set[str] = set()
        self._now: dict[str, dict[str, Any]] | None = None
        delta = made.findings
        for finding in delta.new:
            self._note(finding.subject, "new", finding)
        for graver in delta.graver:
            self._note(graver.now.subject, "graver", graver.now)
        for finding in delta.gone:
            self._note(made.renamed.get(finding.subject, finding.subject), "gone", finding)

    def _note(self, name: str, word: str, finding: Finding) -> None:
        from linter.history.show import finding_words

        self.found.setdefault(name, []).append(f"{word} {finding_words(finding)}")

    def findings(self, name: str) -> list[str]:
        return self.found.get(name, [])

    def changed(self, changed: Changed) -> Change:
        """A row for what both have, with other facts."""
        from linter.history.show import change_words

        lines = [f"{changed.was} → {changed.name}"] if changed.was else []
        lines += [change_words(c) for c in changed.changes]
        here = changed.name in self.made.new.design.elements
        at = (changed.name,) if here else ()
        head = changed.name if here else f"{changed.kind} {changed.name}"
        return Change("changed", head, at, changed.label, tuple(lines), self.protection(at))

    def renamed(self, was: str, now: str) -> Change:
        """A row for what has another name and is as it was."""
        element = self.made.new.design.elements.get(now)
        label = element.label if element is not None else ""
        at = (now,) if element is not None else ()
        return Change("changed", now, at, label, (f"{was} → {now}",), self.protection(at))

    def found_at(self, name: str) -> Change:
        """A row for findings at something that is as it was."""
        element = self.made.new.design.elements.get(name)
        at = (name,) if element is not None else ()
        label = element.label if element is not None else ""
        return Change("affected", name or self.made.new.design.boat, at, label, (), tuple(self.findings(name)))

    def protection(self, names: Iterable[str]) -> tuple[str, ...]:
        """Findings that came, went or grew, and figures that are others now."""
        group = list(names)
        self.done |= set(group)
        lines = [line for name in group for line in self.findings(name)]
        return (*lines, *(self.figures(self.effects[n]) for n in group if n in self.effects))

    def figures(self, effect: Changed) -> str:
        from linter.history.show import change_words

        return "; ".join(change_words(c) for c in effect.changes)

    def added(self, names: Sequence[str]) -> tuple[str, ...]:
        """How each new conductor is guarded, and the findings at what is new."""
        found = [self._guarded(n) for n in names if n in self.made.now.study.conductors]
        return (*self.protection(names), *found)

    def _guarded(self, name: str) -> str:
        row = self.now()[name]
        guard = ", ".join(row.get("guard") or ()) or "none"
        allowed = row.get("allowed_a")
        may = f", may be guarded by {allowed:.4g} A" if isinstance(allowed, float) else ""
        return f"{name}: {row.get('verdict')}; guard {guard}{may}"

    def now(self) -> dict[str, dict[str, Any]]:
        from linter.history.compare import figures

        if self._now is None:
            self._now = figures(self.made.now)
        return self._now

    def gone(self, names: Sequence[str]) -> tuple[str, ...]:
        """The findings that went with elements."""
        self.done |= set(names)
        return tuple(line for name in names for line in self.findings(name))

    def left(self) -> list[str]:
        """Elements with findings that no row has told yet; of the removed, all is told with them."""
        return [name for name in self.found if name not in self.done]


def _told(element: Element) -> str:
    """One line: what it is, its name, its figures, what it is for."""
    figures = " ".join(figures_of(element)).replace(NBSP, " ")
    label = f" ({element.label})" if element.label else ""
    return f"{element.kind} {element.name} {figures}".rstrip() + label


def _owner(node: Node) -> str:
    if node.kind == "converter output":
        return node.name.removesuffix(".out")
    return node.element.name if node.element is not None and node.kind != "end" else ""


def _groups(circuit: Circuit, order: Iterable[str], names: set[str]) -> list[tuple[list[str], list[str]]]:
    """``names`` in groups that hang together, each with what it joins outside; what branches stands by itself."""
    near: dict[str, dict[str, None]] = {name: {} for name in names}
    branches: dict[str, int] = {}
    for node in circuit.nodes:
        owner = _owner(node)
        met = dict.fromkeys(circuit.edges[i].element.name for i in node.edges)
        branches[owner] = max(branches.get(owner, 0), len(met))
        # at a post or stud everything joins what it belongs to; where nothing is named, each other
        pairs = [(owner, m) for m in met] if owner else [(a, b) for a in met for b in met if a != b]
        for a, b in pairs:
            if a in near:
                near[a][b] = None
            if b in near:
                near[b][a] = None
    alone = {n for n in names if branches.get(n, 0) > 2}
    return _gathered([n for n in order if n in names], near, lambda a, b: b in names and not {a, b} & alone)


def _gathered(
    order: Sequence[str], near: dict[str, dict[str, None]], together: Callable[[str, str], bool]
) -> list[tuple[list[str], list[str]]]:
    found, seen = [], set[str]()
    rank = {name: n for n, name in enumerate(order)}
    for first in order:
        if first in seen:
            continue
        seen.add(first)
        group, outside = [first], dict[str, None]()
        for name in group:
            for other in near[name]:
                if together(name, other):
                    if other not in seen:
                        seen.add(other)
                        group.append(other)
                elif other not in rank and other != name:
                    outside[other] = None
        found.append((sorted(group, key=rank.__getitem__), list(outside)))
    return found
