"""What several commands need: messages, designs, exit statuses, output.  Heavy imports are made where they are used."""

from __future__ import annotations

import os
import sys
from collections.abc import Callable
from typing import TYPE_CHECKING, Any, NoReturn

import click

if TYPE_CHECKING:
    from linter.model.design import Design
    from linter.rules.engine import Examination
    from linter.rules.registry import Rule

FOUND, WRONG_CALL, INCOMPLETE = 1, 2, 3

SEVERITIES = ("danger", "fault", "doubt", "advice")
COLOURS: dict[str, dict[str, Any]] = {
    "danger": {"fg": "red", "bold": True}, "fault": {"fg": "yellow", "bold": True}, "doubt": {"fg": "cyan"},
    "advice": {"fg": "blue"}, "error": {"fg": "red", "bold": True}, "mend": {"fg": "green"}, "mark": {"bold": True},
    "clean": {"fg": "green", "bold": True}, "accepted": {"dim": True},
}  # fmt: skip

STATUSES = """
Exit status: 0 nothing at or above the threshold; 1 findings; 2 the call was wrong or the input unusable;
3 incomplete: a file could not be read in full, or a rule broke.
"""


def stop(message: str, status: int = WRONG_CALL) -> NoReturn:
    from linter.report.safe import for_terminal

    click.echo(f"wireworthy: {for_terminal(message)}", err=True)
    raise SystemExit(status)


def designs_of(arguments: tuple[str, ...], report: Callable[[float], None] | None = None) -> list[Design]:
    """The designs that the arguments mean; stops with status 2 where one cannot be read at all."""
    from linter.model.build import build
    from linter.source.files import Reader, Unusable, decode, designs_under

    reader = Reader(report)
    found = []
    try:
        for argument in arguments:
            if argument == "-":
                ok, text = decode(sys.stdin.buffer.read())
                if not ok:
                    raise Unusable(f"standard input {text}")
                found.append(build(reader.design_text(text)))
            else:
                found += [build(reader.design(path)) for path in designs_under(argument, reader)]
    except Unusable as problem:
        stop(str(problem))
    return found


def one_design(argument: str, report: Callable[[float], None] | None = None) -> Design:
    found = designs_of((argument,), report)
    if len(found) != 1:
        stop(f"{argument}: {len(found)} designs below this folder; name one of them")
    return found[0]


def colour(text: str, kind: str) -> str:
    return click.style(text, **COLOURS.get(kind, {}))


def wants_colour() -> bool:
    return sys.stdout.isatty() and not os.environ.get("NO_COLOR")


def chosen_rules(only: tuple[str, ...], without: tuple[str, ...]) -> list[Rule]:
    from linter.rules.registry import rules

    every = {r.name: r for r in rules()}
    for name in (*only, *without):
        known_rule(name)
    names = only or tuple(every)
    left = [every[n] for n in every if n in names and n not in without]
    if not left:
        stop("no rule is left to run")
    return left


def known_rule(name: str) -> Rule:
    import difflib

    from linter.rules.registry import rules

    every = {r.name: r for r in rules()}
    if name not in every:
        near = difflib.get_close_matches(name, every, n=1)
        stop(f"there is no rule {name}" + (f"; did you mean {near[0]}?" if near else "; `wireworthy rules` lists them"))
    return every[name]


def a_date(ctx: click.Context, param: click.Parameter, value: str | None) -> Any:
    import datetime

    del ctx, param
    if value is None:
        return None
    try:
        return datetime.date.fromisoformat(value)
    except ValueError:
        raise click.BadParameter(f"{value} is no date; write 2027-04-01") from None


def status_of(results: list[Examination], fail_on: str) -> int:
    """The exit status; incomplete is never silenced."""
    if not all(r.complete for r in results):
        return INCOMPLETE
    if fail_on == "never":
        return 0
    worst = min((w.rank for r in results if (w := r.worst()) is not None), default=len(SEVERITIES))
    return FOUND if worst <= SEVERITIES.index(fail_on) else 0


def known_element(design: Design, name: str) -> None:
    from linter.source.guess import Guesser

    if name not in design.elements:
        near = Guesser().nearest(name, list(design.elements), 0.5)
        stop(f"there is no element {name}; {near}".rstrip("; "))


def save(path: str, data: bytes, design: bool = False) -> None:
    """Write ``data`` to a file, whole or not at all; to standard output where ``path`` is a dash.

    What is no ``design`` is not written over one, nor over a rulebook or the settings of a yard.
    """
    from linter.whole import write_whole

    if not design and path.lower().endswith((".boat", ".toml")):
        stop(f"{path}: this is the name of a design or of settings; give the output another")
    try:
        if path == "-":
            sys.stdout.buffer.write(data)
            sys.stdout.buffer.flush()
        else:
            write_whole(path, data)
    except OSError as problem:
        stop(f"{path}: cannot be written: {problem.strerror or problem}")


def give(text: str, output: str | None) -> None:
    if output is None:
        click.echo(text, nl=False)
    else:
        save(output, text.encode("utf-8"))


def finish(design: Design, result: Examination | None = None) -> None:
    """Say on standard error what could not be read, and end with status 3 if something was lost."""
    from linter.report.text import mistake_text, plain

    mistakes = result.mistakes if result is not None else design.mistakes
    for mistake in mistakes:
        click.echo("\n".join(mistake_text(mistake, plain)), err=True)
    broken = result.broken if result is not None else []
    if broken:
        from linter.report.safe import for_terminal

        rules = for_terminal("; ".join(f"rule {name} broke: {problem}" for name, problem in broken))
        click.echo(f"wireworthy: incomplete: {rules}", err=True)
    lost = any(m.loses for m in mistakes)
    if lost:
        click.echo("wireworthy: incomplete: part of the design could not be read", err=True)
    if lost or (result is not None and not result.complete):
        raise SystemExit(INCOMPLETE)
