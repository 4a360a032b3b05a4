"""Runs to the graph: `from` a terminal, along conductors and devices, to the next terminal."""

from __future__ import annotations

from itertools import pairwise

from linter.model.circuit import Circuit, Node
from linter.model.design import Design
from linter.model.elements import Converter, Element, Switch
from linter.model.facts import Report, span_of
from linter.source.guess import Guesser
from linter.source.scanner import Token
from linter.source.span import Mistake
from linter.source.statements import SourceFile, Statement

EDGES = {
    "cable": "conductor", "fuse": "device", "breaker": "device", "switch": "switch", "relay": "relay",
    "diode": "diode",
}  # fmt: skip
NODES = frozenset({
    "battery", "alternator", "charger", "solar", "converter", "inverter", "selector", "bus", "joint", "load",
})  # fmt: skip


class _Runs:
    def __init__(self, design: Design, guess: Guesser, report: Report) -> None:
        self.design = design
        self.circuit: Circuit = design.circuit
        self.guess = guess
        self.report = report
        # where each edge element ends, made when first needed: a run may begin there before the run is read
        self.end_of: dict[str, Node] = {}
        self.touching: set[tuple[int, int]] = set()

    def terminals(self) -> None:
        """The nodes of everything that is a terminal by itself."""
        for element in self.design.elements.values():
            kind, name = element.kind, element.name
            if kind not in NODES:
                continue
            if kind == "converter" and isinstance(element, Converter):
                self.circuit.add_node(f"{name}.in", "converter input", element)
                self.circuit.add_node(f"{name}.out", "converter output", element.output)
                continue
            node = self.circuit.add_node(name, kind, element)
            if kind == "inverter" and isinstance(element, Converter):
                node.source = element.output
            if isinstance(element, Switch):
                for position in element.positions:
                    if position != "both":
                        terminal = self.circuit.add_node(f"{name}.{position}", "selector terminal", element)
                        self.circuit.add_edge(terminal, node, "selector", element, position=position)

    def point(self, statement: Statement, file: SourceFile, arriving: bool, quiet: bool = False) -> Node | None:
        """The node that `from X` or `to X` names; None, and a mistake reported, where there is none."""
        token, position = statement.name, statement.extra
        assert token is not None
        name = str(token.value)
        element = self.design.elements.get(name)
        if element is None:
            if not quiet:
                mend = self.guess.nearest(name, self.design.elements) or "declare it, or correct the name"
                self.report(Mistake(span_of(token, file), f"nothing is called {name}", mend))
            return None
        if position is not None:
            found = self.circuit.by_name.get(f"{name}.{position.value}") if element.kind == "selector" else None
            if found is None and not quiet:
                terminals = [p for p in element.positions if p != "both"] if isinstance(element, Switch) else []
                mend = f"its terminals are {', '.join(terminals)}" if terminals else f"write {name} alone"
                self.report(Mistake(span_of(position, file), f"{name} has no terminal {position.value}", mend))
            return found
        if element.kind in EDGES:
            if not arriving:
                return self.end(element)
            if not quiet:
                message = f"{name} is a {element.kind}, which a run passes through; a run goes to a terminal"
                self.report(Mistake(span_of(token, file), message, "put a `joint` there and go to that"))
            return None
        if element.kind == "converter" and not arriving:
            return self.circuit.by_name[f"{name}.out"]
        return self._arrival(element)

    def end(self, element: Element) -> Node:
        """Where an edge element ends when nothing that is declared stands there."""
        node = self.end_of.get(element.name)
        if node is None:
            node = self.end_of[element.name] = self.circuit.add_node(f"{element.name}.out", "end")
        return node

    def fuse_ends(self, files: list[SourceFile]) -> None:
        """An edge element that is followed by a terminal ends in that terminal."""
        for file in files:
            for before, statement in pairwise(file.statements):
                if before.kind not in EDGES or (statement.kind != "to" and statement.kind not in NODES):
                    continue
                edge = self._declared(before)
                if edge is None:
                    continue
                if statement.kind == "to":
                    node = self.point(statement, file, arriving=True, quiet=True)
                else:
                    element = self._declared(statement)
                    node = self._arrival(element) if element is not None and element.kind != "selector" else None
                if node is not None:
                    self.end_of[edge.name] = node

    def _arrival(self, element: Element) -> Node:
        """Where a run arrives at a terminal: a converter's input, the one point of anything else."""
        return self.circuit.by_name[f"{element.name}.in" if element.kind == "converter" else element.name]

    def _touch(self, u: Node, v: Node, element: Element) -> None:
        """Two terminals that touch; saying so twice adds nothing."""
        if u is not v and (u.index, v.index) not in self.touching:
            self.touching.add((u.index, v.index))
            self.circuit.add_edge(u, v, "link", element)

    def _declared(self, statement: Statement) -> Element | None:
        """The element this very statement declares; not one of the same name declared elsewhere."""
        if statement.name is None:
            return None
        element = self.design.elements.get(statement.name.value)
        return element if element is not None and element.statement is statement else None

    def lay(self, files: list[SourceFile]) -> None:
        for file in files:
            at: Node | None = None  # where the run has come to
            why = "a run begins with `from`"
            lost = False  # the run's beginning is unknown, and has been reported
            moved = False  # an edge or `from` stands between the last terminal and here
            for statement in file.statements:
                kind = statement.kind
                if kind == "from":
                    at, moved = self.point(statement, file, arriving=False), True
                    lost, why = at is None, "a run begins with `from`"
                elif kind == "to":
                    arrived = self._arrive(statement, file, at, moved, lost, why)
                    at, moved, lost = None, False, not arrived
                    why = "the run ended with `to`"
                elif kind in EDGES:
                    element = self._declared(statement)
                    if element is None:
                        # declared twice: the run goes on as if it had another name
                        continue
                    if at is None:
                        if not lost:
                            mend = f"{why}; say where this {kind} begins: from NAME"
                            self.report(Mistake(element.span, f"{kind} {element.name} begins nowhere", mend))
                        at = self.circuit.add_node(f"{element.name}.start", "end")
                        lost = True
                    after = self.end(element)
                    self.circuit.add_edge(at, after, EDGES[kind], element, one_way=kind == "diode")
                    at, moved = after, True
                elif kind in NODES:
                    at, moved, why, lost = self._terminal(statement, at, moved, lost)
                elif kind == "unread":
                    at, moved, lost = None, False, True
                else:
                    at, moved, lost, why = None, False, False, f"the run ended at the line `{kind}`"

    def _arrive(
        self, statement: Statement, file: SourceFile, at: Node | None, moved: bool, lost: bool, why: str
    ) -> bool:
        node = self.point(statement, file, arriving=True)
        if node is None:
            return False
        if at is None or not moved:
            if not lost:
                span = file.span(statement.start, statement.end)
                self.report(Mistake(span, f"nothing goes to {node.name} here", f"{why}; write from NAME first"))
            return False
        token = statement.name
        element = self.design.elements.get(str(token.value)) if token else None
        if element is not None:
            self._touch(at, node, element)
        return True

    def _terminal(
        self, statement: Statement, at: Node | None, moved: bool, lost: bool
    ) -> tuple[Node | None, bool, str, bool]:
        """A bus, joint, load, source or converter: joined to the run if a conductor, device or `from` leads to it."""
        element = self._declared(statement)
        if element is None:
            return None, False, "", True
        if element.kind == "selector":
            if at is not None and moved:
                mend = f"declare it before the runs, and end the run with: to {element.name} 1"
                self.report(
                    Mistake(element.span, f"the run does not say to which terminal of {element.name} it goes", mend)
                )
            return None, False, f"{element.name} stands by itself", False
        joined = at is not None and moved
        if at is not None and moved:
            self._touch(at, self._arrival(element), element)
        if element.kind in {"load", "inverter"}:
            return None, False, f"the run ended at {element.name}", False
        if joined:
            leaving = f"{element.name}.out" if element.kind == "converter" else element.name
            # What is declared next to it does not touch it: only a conductor, a device or `from` leads on.
            return self.circuit.by_name[leaving], False, f"the run has come to {element.name}", False
        # Standing alone it is declared, not begun from: the next line must say `from`.
        return None, False, f"{element.name} was declared, not begun from", lost


def lay_runs(design: Design, files: list[SourceFile], guess: Guesser, report: Report) -> None:
    """Make the circuit's nodes and edges from the runs of all files."""
    runs = _Runs(design, guess, report)
    runs.terminals()
    runs.fuse_ends(files)
    runs.lay(files)


__all__ = ["Token", "lay_runs"]
