"""lark's LALR tables, driven by hand.

lark works the tables out and says what each reduction calls.  Its own driver hashes a rule at every reduction and
throws an exception at every token that does not fit; a large boat has millions of reductions, and a file under the
pen thousands of wrong tokens.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator
from dataclasses import dataclass, field
from typing import Any

from linter.source.scanner import Token

# What to do in a state at a terminal: shift to the state of that number, or reduce: how many values, by what (None:
# the one value stays as it is), and to which state from the one that lies below.
Reduction = tuple[int, Callable[[list[Any]], Any] | None, dict[int, int]]
Actions = dict[int, dict[str, int | Reduction]]

# What a row of terminals does from given states: each reduction with how many of the terminals are shifted before it,
# and the states in the end.
Steps = tuple[tuple[tuple[int, int, Callable[[list[Any]], Any]], ...], tuple[int, ...]]
# A longer row, or more rows than this, are not remembered: most statements are alike, and few are long.
GREATEST_ROW = 60
GREATEST_ROWS = 5000


@dataclass(frozen=True, slots=True)
class Automaton:
    """The tables; they never change, and any number of parses may share them."""

    start: int
    end: int
    actions: Actions
    # which terminals fit, by the states passed through; there is no nesting, so there are few such stacks
    known_fitting: dict[tuple[int, ...], frozenset[str]] = field(default_factory=dict)
    # what rows of terminals do, by the states passed through before
    known_steps: dict[tuple[tuple[int, ...], tuple[str, ...]], Steps] = field(default_factory=dict)

    def fitting(self, stack: list[int]) -> frozenset[str]:
        """The terminals that may come next."""
        key = tuple(stack)
        found = self.known_fitting.get(key)
        if found is None:
            choices = self.actions[stack[-1]]
            found = self.known_fitting[key] = frozenset(t for t in choices if self._fits(list(stack), t))
        return found

    def steps(self, states: tuple[int, ...], row: tuple[str, ...]) -> Steps | None:
        """What a row of terminals does; None if one of them does not fit."""
        found = self.known_steps.get((states, row))
        if found is not None:
            return found
        stack = list(states)
        made: list[tuple[int, int, Callable[[list[Any]], Any]]] = []
        for shifted, terminal in enumerate(row):
            while not isinstance(action := self.actions[stack[-1]].get(terminal), int):
                if action is None:
                    return None
                size, reduce, onward = action
                if size:
                    del stack[-size:]
                stack.append(onward[stack[-1]])
                if reduce is not None:
                    made.append((shifted, size, reduce))
            stack.append(action)
        found = tuple(made), tuple(stack)
        if len(row) <= GREATEST_ROW and len(self.known_steps) < GREATEST_ROWS:
            self.known_steps[states, row] = found
        return found

    def follow(self, states: tuple[int, ...], row: tuple[str, ...]) -> tuple[int, ...] | None:
        """The states behind a row of terminals; None if one of them does not fit.  Nothing is remembered."""
        stack = list(states)
        for terminal in row:
            while not isinstance(action := self.actions[stack[-1]].get(terminal), int):
                if action is None:
                    return None
                size, _, onward = action
                if size:
                    del stack[-size:]
                stack.append(onward[stack[-1]])
            stack.append(action)
        return tuple(stack)

    def in_fact(self, state: int) -> bool:
        """Whether a fact may begin in this state."""
        # Where a statement may begin, so may the word "boat"; where a fact may, it may not.
        row = self.actions[state]
        return "PARKED" in row and "BOAT" not in row

    def _fits(self, stack: list[int], terminal: str) -> bool:
        while stack[-1] != self.end:
            action = self.actions[stack[-1]].get(terminal)
            if action is None:
                return False
            if isinstance(action, int):
                return True
            size, _, onward = action
            if size:
                del stack[-size:]
            stack.append(onward[stack[-1]])
        return True


@dataclass(slots=True)
class Run:
    """One pass over one text: the stacks, and what was read last."""

    automaton: Automaton
    states: list[int]
    values: list[Any] = field(default_factory=list)
    # the first token of the statement that is being read, and the one shifted last
    first: Token | None = None
    before: Token | None = None

    def take_whole(self, statement: list[Token]) -> bool:
        """Shift a whole statement, its ``_NL`` included, if all of it fits; whether it did.

        Which actions follow depends on the terminals alone: they are looked up once for all statements alike.
        """
        found = self.automaton.steps(tuple(self.states), tuple([token.type for token in statement]))
        if found is None:
            return False
        steps, after = found
        values = self.values
        at = 0
        for shifted, size, reduce in steps:
            if shifted > at:
                values += statement[at:shifted]
                at = shifted
            if size:
                values[-size:] = [reduce(values[-size:])]
            else:
                values.append(reduce([]))
        values += statement[at:]
        self.states = list(after)
        self.before, self.first = statement[-1], None
        return True

    def take(self, tokens: Iterator[Token]) -> Token | None:
        """Shift tokens up to the first that does not fit, which is given back; None when all are read."""
        states, values, actions = self.states, self.values, self.automaton.actions
        push_state, push_value = states.append, values.append
        pop_state, pop_value = states.pop, values.pop
        before, first = self.before, self.first
        stuck = None
        for token in tokens:
            terminal = token.type
            if first is None:
                first = token
            while True:
                action = actions[states[-1]].get(terminal)
                if action.__class__ is tuple:
                    size, reduce, onward = action
                    if reduce is None:
                        pop_state()
                    elif size == 1:
                        pop_state()
                        push_value(reduce([pop_value()]))
                    elif size:
                        del states[-size:]
                        made = reduce(values[-size:])
                        del values[-size:]
                        push_value(made)
                    else:
                        push_value(reduce([]))
                    push_state(onward[states[-1]])
                    continue
                break
            if action is None:
                stuck = token
                break
            push_state(action)  # type: ignore[arg-type]
            push_value(token)
            before = token
            if terminal == "_NL":
                first = None
        self.before, self.first = before, first
        return stuck

    def fitting(self) -> frozenset[str]:
        return self.automaton.fitting(self.states)

    def in_fact(self) -> bool:
        """Whether a fact is being read."""
        return any(self.automaton.in_fact(state) for state in self.states)

    def unwound(self) -> tuple[tuple[int, ...], bool]:
        """The states that `unwind` would leave, and whether those are where a fact begins."""
        tables, states = self.automaton, list(self.states)
        while "PARKED" not in tables.actions[states[-1]]:
            states.pop()
        return tuple(states), tables.in_fact(states[-1])

    def unwind(self) -> bool:
        """Drop what was begun until a PARKED would fit; whether that is in place of a fact (else of a whole line)."""
        tables, states = self.automaton, self.states
        while "PARKED" not in tables.actions[states[-1]]:
            states.pop()
            if self.values:
                self.values.pop()
        return tables.in_fact(states[-1])

    def finish(self) -> Any:
        """What the whole text gives, once a statement's end has been read."""
        states, values, actions = self.states, self.values, self.automaton.actions
        while states[-1] != self.automaton.end:
            action = actions[states[-1]]["$END"]
            assert not isinstance(action, int)
            size, reduce, onward = action
            parts = values[len(values) - size :]
            if size:
                del states[-size:], values[-size:]
            values.append(reduce(parts) if reduce is not None else parts[0])
            states.append(onward[states[-1]])
        return values[-1]


def automaton(tables: dict[str, Any], builder: object) -> Automaton:
    """The automaton of LALR tables (see `lalr.tables`), whose reductions call methods of ``builder``."""
    calls = [_call(builder, *call) for call in tables["calls"]]
    onward = {rule: {int(state): to for state, to in leads.items()} for rule, leads in tables["onward"].items()}
    reductions: list[Reduction] = [
        (size, calls[call] if call >= 0 else None, onward[rule]) for size, rule, call in tables["reductions"]
    ]
    actions: Actions = {
        state: {symbol: to if to >= 0 else reductions[-1 - to] for symbol, to in row.items()}
        for state, row in enumerate(tables["rows"])
    }
    return Automaton(0, tables["end"], actions)


def _call(builder: object, name: str, takes: list[Any] | None, single: bool) -> Callable[[list[Any]], Any]:
    """What a reduction calls: a method, or for a rule whose values stand in the place of it, those values."""
    made: Callable[[list[Any]], Any] = _as_they_are if name.startswith("_") else getattr(builder, name)
    if single:
        made = _single(made)
    return made if takes is None else _taking(made, takes[:-1], takes[-1])


def _as_they_are(parts: list[Any]) -> list[Any]:
    return parts


def _single(made: Callable[[list[Any]], Any]) -> Callable[[list[Any]], Any]:
    return lambda parts: parts[0] if len(parts) == 1 else made(parts)


def _taking(made: Callable[[list[Any]], Any], takes: list[list[int]], behind: int) -> Callable[[list[Any]], Any]:
    def call(parts: list[Any]) -> Any:
        given: list[Any] = []
        for index, inline, nothing in takes:
            if nothing:
                given += [None] * nothing
            if not inline:
                given.append(parts[index])
            elif given:
                given += parts[index]
            else:
                # a list that grows by one at its end is not copied each time
                given = parts[index]
        if behind:
            given += [None] * behind
        return made(given)

    return call
