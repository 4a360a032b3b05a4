"""Statements to a design: declarations first, in any order and from any file, then the runs."""

from __future__ import annotations

import datetime
from dataclasses import dataclass, field
from typing import Any

from linter.model.design import Design, RulebookChoice
from linter.model.elements import (
    Accepted,
    Conductor,
    Converter,
    Device,
    Element,
    Load,
    Named,
    Part,
    Place,
    Scene,
    Source,
    Switch,
    System,
)
from linter.model.facts import Facts, checked, span_of
from linter.model.make import Context, make
from linter.model.runs import EDGES, NODES, lay_runs
from linter.model.systems import assign_systems
from linter.source.collector import collector_at_rest
from linter.source.files import DesignSource, Unusable, confined_file
from linter.source.guess import Guesser
from linter.source.scanner import Token
from linter.source.span import Mistake
from linter.source.statements import Fact, SourceFile, Statement
from linter.source.words import WRITTEN

ELEMENTS = NODES | frozenset(EDGES)


@dataclass(slots=True)
class _Work:
    source: DesignSource
    design: Design
    guess: Guesser = field(default_factory=Guesser)
    # (kind of name, name) -> where it was declared first
    first: dict[tuple[str, str], tuple[Token, SourceFile]] = field(default_factory=dict)
    usual: dict[str, Fact] = field(default_factory=dict)
    damaged: bool = False

    def report(self, mistake: Mistake) -> None:
        self.design.mistakes.append(mistake)

    def declare(self, sort: str, token: Token, file: SourceFile) -> bool:
        """Whether this is the first declaration of the name."""
        key = (sort, token.value)
        first = self.first.setdefault(key, (token, file))
        if first[0] is token:
            return True
        message = f"{sort} {token.value} is declared twice"
        related = ((span_of(*first), "first here"),)
        self.report(Mistake(span_of(token, file), message, "give one of the two another name", related))
        return False

    def resolve(self, fact: Fact | None, pool: dict[str, Any], sort: str, file: SourceFile) -> Any:
        """What a fact's name refers to; reports a name that nothing has."""
        if fact is None:
            return None
        token: Token = fact.values[0]
        found = pool.get(str(token.value))
        if found is None:
            self.unknown(token, file, sort, pool)
        return found

    def unknown(self, token: Token, file: SourceFile, sort: str, pool: Any) -> None:
        mend = self.guess.nearest(str(token.value), pool) or "declare it, or correct the name"
        self.report(Mistake(span_of(token, file), f"there is no {sort} {token.value}", mend))


def build(source: DesignSource) -> Design:
    """The design that a set of files describes.  Never raises: what makes no sense is among its mistakes."""
    work = _Work(source, Design(source.path))
    work.design.mistakes.extend(source.all_mistakes)
    with collector_at_rest():
        statements = [(s, f) for f in source.files for s in f.statements]
        _declarations(work, statements)
        _parts(work, statements)
        _elements(work, statements)
        lay_runs(work.design, source.files, work.guess, work.report)
        _after(work, statements)
        assign_systems(work.design, work.report)
    work.design.mistakes.sort(key=lambda m: (m.span.path != source.path, m.span.path, m.span.start))
    return work.design


Pairs = list[tuple[Statement, SourceFile]]


def _declarations(work: _Work, statements: Pairs) -> None:
    """The boat, its systems and places, and what is usual for its cables."""
    design = work.design
    for statement, file in statements:
        kind = statement.kind
        if kind == "boat":
            _boat(work, statement, file)
        elif kind in {"system", "place"}:
            own = checked(statement, kind, file, work.report, work.guess)
            token = statement.name
            assert token is not None
            if not work.declare(kind, token, file):
                continue
            facts, name, label = Facts(own, None), str(token.value), statement.label or ""
            if kind == "place":
                design.places[name] = Place(
                    name, label, statement, file, own,
                    ambient_c=facts.value("ambient"),
                    engine_space=facts.has("engine space"),
                    petrol_vapour=facts.has("petrol vapour"),
                )  # fmt: skip
            else:
                design.systems[name] = System(
                    name, label, statement, file, own,
                    voltage_v=facts.value("voltage"),
                    alternating=facts.word("current kind") == "AC",
                    greatest_v=facts.value("greatest"),
                    least_v=facts.value("least"),
                    earthing=facts.word("earthing"),
                )  # fmt: skip
                if not facts.value("voltage"):
                    work.report(Mistake(span_of(token, file), f"system {name} has no voltage", "for instance: 12 V"))
        elif kind == "cables":
            own = checked(statement, kind, file, work.report, work.guess)
            for key, fact in own.items():
                if key in work.usual:
                    work.report(
                        Mistake(file.span(fact.start, fact.end), "`cables` says this a second time", "keep one")
                    )
                work.usual.setdefault(key, fact)
    if design.boat_span is None and not any(m.loses for m in design.mistakes):
        span = work.source.files[0].span(0, 0)
        work.report(Mistake(span, "this file has no `boat` statement, so it is no design", 'begin: boat "Name", 9 m'))


def _boat(work: _Work, statement: Statement, file: SourceFile) -> None:
    design = work.design
    span = span_of(statement.extra or Token("", "", statement.start, statement.end), file)
    if design.boat_span is not None:
        related = ((design.boat_span, "the first"),)
        work.report(Mistake(span, "a second `boat` statement", "a design is one boat; keep one", related))
        return
    own = checked(statement, "boat", file, work.report, work.guess)
    design.boat, design.boat_span = statement.label or "", span
    design.length_m = Facts(own, None).value("length")
    for fact in statement.facts:
        if fact.key == "rulebook":
            token = fact.values[0]
            if any(r.name == token.value for r in design.rulebooks):
                work.report(Mistake(span_of(token, file), f"rulebook {token.value} is named twice", "name it once"))
            else:
                design.rulebooks.append(RulebookChoice(str(token.value), span_of(token, file)))


# What is so of one installation only; a maker cannot know it.
_NOT_IN_A_SHEET = frozenset({"part", "place", "on", "route", "open current", "open size"})


def _parts(work: _Work, statements: Pairs) -> None:
    for statement, file in statements:
        if statement.kind == "part" and statement.name is not None:
            own = checked(statement, statement.part_of, file, work.report, work.guess)
            for key in sorted(own.keys() & _NOT_IN_A_SHEET):
                fact = own.pop(key)
                message = f"a part sheet does not take {WRITTEN[key]}"
                mend = f"say it where the {statement.part_of} stands in the design"
                work.report(Mistake(file.span(fact.start, fact.end), message, mend))
            if work.declare("part", statement.name, file):
                name = str(statement.name.value)
                work.design.parts[name] = Part(name, statement.label or "", statement, file, own, statement.part_of)


def _elements(work: _Work, statements: Pairs) -> None:
    design = work.design
    context = Context(design.places, design.systems, work.usual)
    for statement, file in statements:
        kind = statement.kind
        if kind not in ELEMENTS or statement.name is None:
            continue
        if not work.declare("element", statement.name, file):
            continue
        own = checked(statement, kind, file, work.report, work.guess) if statement.facts else {}
        part: Part | None = None
        if "part" in own:
            part = work.resolve(own["part"], design.parts, "part", file)
            if part is not None and part.part_of != kind:
                token = own["part"].values[0]
                message = f"part {part.name} is the sheet of a {part.part_of}, not of a {kind}"
                work.report(Mistake(span_of(token, file), message, "", ((part.span, "the sheet"),)))
                part = None
        if "place" in own:
            work.resolve(own["place"], design.places, "place", file)
        if "on" in own:
            work.resolve(own["on"], design.systems, "system", file)
        element = make(statement, file, own, part, context)
        if isinstance(element, Conductor):
            _route(work, element)
        _limit(work, element)
        if kind == "selector" and not element.positions:  # type: ignore[attr-defined]
            work.report(
                Mistake(
                    element.span,
                    f"selector {element.name} does not say its positions",
                    "for instance: positions off 1 2 both",
                )
            )
        design.elements[element.name] = element


def _limit(work: _Work, element: Element) -> None:
    """What a source limits itself to is no less than what it is rated to give."""
    source = element.output if isinstance(element, Converter) else element
    if isinstance(source, Source) and source.rated_a is not None and source.limit_a < source.rated_a * (1 - 1e-9):
        gives = f"{source.rated_a:g} A that it is rated to give"
        message = f"{element.name} limits itself to {source.limit_a:g} A, less than the {gives}"
        work.report(Mistake(element.where("self-limiting"), message, "correct one of the two"))


def _route(work: _Work, cable: Conductor) -> None:
    """The stretches of a cable through places; together they are no longer than the cable."""
    stretches = [f for f in cable.statement.facts if f.key == "route"]
    if not stretches:
        return
    for fact in stretches:
        place = work.design.places.get(str(fact.values[1].value))
        if place is None:
            work.unknown(fact.values[1], cable.source, "place", work.design.places)
        else:
            cable.route.append((fact.values[0].value, place))
    total_m = sum(f.values[0].value for f in stretches)
    if cable.length_m is not None and total_m > cable.length_m * (1 + 1e-9):
        span = cable.source.span(stretches[0].start, stretches[-1].end)
        message = f"the stretches of {cable.name} add up to {total_m:.4g} m, but it is {cable.length_m:.4g} m long"
        work.report(Mistake(span, message, "correct the length or the stretches"))


def _after(work: _Work, statements: Pairs) -> None:
    """Rulebooks from files, scenes, and what is accepted: they speak of elements that are known by now."""
    design = work.design
    for statement, file in statements:
        if statement.kind == "rulebook" and statement.name is not None:
            _rulebook(work, statement, file)
        elif statement.kind == "scene":
            _scene(work, statement, file)
        elif statement.kind == "accept" and statement.name is not None and statement.extra is not None:
            own = checked(statement, "accept", file, work.report, work.guess)
            facts = Facts(own, None)
            until = str(own["until"].values[0]) if "until" in own else ""
            if until and not _is_date(until):
                work.report(
                    Mistake(file.span(own["until"].start, own["until"].end), f"{until} is no date", "write 2027-04-01")
                )
                until = ""
            subject = str(statement.extra.value)
            if subject not in design.elements and statement.extra.type == "NAME":
                work.unknown(statement.extra, file, "element", design.elements)
            design.accepted.append(
                Accepted(
                    str(statement.name.value), subject, facts.word("text"), facts.word("by"), until,
                    span_of(statement.name, file),
                )
            )  # fmt: skip


def _is_date(text: str) -> bool:
    try:
        datetime.date.fromisoformat(text)
    except ValueError:
        return False
    return True


def _rulebook(work: _Work, statement: Statement, file: SourceFile) -> None:
    assert statement.name is not None
    own = checked(statement, "rulebook", file, work.report, work.guess)
    name, span = str(statement.name.value), span_of(statement.name, file)
    if not work.declare("rulebook", statement.name, file):
        return
    chosen = next((r for r in work.design.rulebooks if r.name == name), None)
    if chosen is None:
        message = f"rulebook {name} is declared but the boat does not name it"
        work.report(Mistake(span, message, f"add to the boat statement: rulebook {name}", loses=False))
        return
    if "file" not in own:
        work.report(
            Mistake(span, f"rulebook {name} does not say in which file it stands", "for instance: file yard.toml")
        )
        return
    fact = own["file"]
    wanted = str(getattr(fact.values[0], "value", fact.values[0]))
    at = work.source.folders.get(file.text.name, work.source.folder)
    try:
        chosen.file = confined_file(work.source.folder, at, wanted)
        chosen.shown = wanted
    except Unusable as problem:
        work.report(
            Mistake(file.span(fact.start, fact.end), str(problem), "a design reads files in its own folder only")
        )


def _scene(work: _Work, statement: Statement, file: SourceFile) -> None:
    design = work.design
    checked(statement, "scene", file, work.report, work.guess)
    token = statement.extra
    assert token is not None
    scene = Scene(statement.label or "", span_of(token, file))
    for fact in statement.facts:
        if fact.key == "duration":
            scene.duration_s = fact.values[0].value
            continue
        if fact.key not in {"on item", "at item", "state item"}:
            continue
        name: Token = fact.values[0]
        element = design.elements.get(str(name.value))
        if element is None:
            work.unknown(name, file, "element", design.elements)
            continue
        problem = _wrong_in_scene(element, fact)
        if problem:
            work.report(Mistake(file.span(fact.start, fact.end), *problem))
        elif fact.key == "on item":
            scene.on.append(element)
        else:
            scene.states[element.name] = str(fact.values[1])
    design.scenes.append(scene)


def _wrong_in_scene(element: Element, fact: Fact) -> tuple[str, str] | None:
    """Why an element cannot be so in a scene, and what can be said of it instead."""
    kind, name = element.kind, element.name
    if isinstance(element, Switch) and kind == "selector":
        positions = (*element.positions, "off")
        instead = "its positions are " + ", ".join(positions)
        if fact.key == "on item":
            return f"the scene does not say in which position {name} is", f"{name} at {positions[0]}; {instead}"
        state = str(fact.values[1])
        if fact.key == "state item" and state != "off":
            return f"a selector cannot be {state}", instead
        return None if state in positions else (f"{name} has no position {state}", instead)
    if isinstance(element, Load | Source):
        states: tuple[str, ...] = ("off",)
    elif isinstance(element, Device | Switch):
        states = ("closed", "open")
    else:
        return f"{name} is a {kind}; a scene names loads, sources, switches and devices", "leave it out"
    instead = " or ".join(f"{name} {state}" for state in states)
    if fact.key == "on item":
        if states == ("off",):
            return None
        return f"the scene does not say whether {name} is open or closed", instead
    if fact.key == "at item":
        return f"{name} is a {kind} and has no positions", instead
    return None if fact.values[1] in states else (f"a {kind} cannot be {fact.values[1]}", instead)


__all__ = ["Named", "build"]
