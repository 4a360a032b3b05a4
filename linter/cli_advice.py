"""The command that chooses sizes and devices."""

from __future__ import annotations

import json
import sys
import time
from typing import TYPE_CHECKING, Any

import click

from linter.cli_common import FOUND, INCOMPLETE, a_date, colour, save, stop, wants_colour
from linter.progress import PATIENCE_S

if TYPE_CHECKING:
    from linter.advice.choice import Choice
    from linter.model.design import Design
    from linter.source.files import DesignSource

ENDS = """
As JSON: `chosen` (element, choice, now: what it is if that is something else, copper_kg, reason: why it is no smaller;
smaller and larger: the next option, whether it was tried, and the finding that it would break), `copper_kg`,
`proved_least`, `contradictions` (elements, demands, and without each of them the choice there would be; `given_up`:
the one, mere advice, that the choice leaves open; `proved`: whether nothing can satisfy them, or nothing was found;
`other_sheets`: with which part in place of which all is satisfied, and what doubts or advice that brings), `unmet`
(findings that no choice settles; `settled`: whether that is sure), `standing` (findings in which no choice has a say),
`asked` (figures that nobody gave), `leaning` (accepted findings at what is chosen), `left_open` (elements that stay
open).

Exit status: 0 chosen; 1 dangers or faults that no choice settles; 2 the call was wrong or the input unusable;
3 incomplete: the design could not be read in full.
"""


@click.command(epilog=ENDS)
@click.argument("design")
@click.argument("element", nargs=-1)
@click.option(
    "--write",
    is_flag=True,
    help="Put the choice into the files, changing those lines only; nothing is written where demands contradict.",
)
@click.option("--format", "form", type=click.Choice(["text", "json"]), default="text", show_default=True)
@click.option("--today", callback=a_date, metavar="DATE", help="The day by which acceptances end; default today.")
def size(design: str, element: tuple[str, ...], write: bool, form: str, today: Any) -> None:
    """Choose cable sizes and the ratings of fuses and breakers: the least that satisfies every rule at once.

    Without an ELEMENT: all that the design leaves open, as in `cable W9, size ?, 9.5 m` or `breaker Q3, ? A`.  With
    ELEMENTs: those, whatever size or rating they have now; a load stands for the cables and devices of its circuit.

    Under each choice stands why it is no smaller.  Where nothing satisfies all, the demands that contradict each other
    are numbered, with what all else asks for if one is given up, and another part sheet of the design that would do.
    """
    from linter.advice.choose import choose
    from linter.advice.clauses import MILD
    from linter.advice.options import NothingToChoose
    from linter.advice.search import TooTangled
    from linter.model.build import build
    from linter.report.text import mistake_text, plain
    from linter.source.files import Reader, Unusable

    try:
        source = Reader().design(design)
    except Unusable as problem:
        stop(str(problem))
    built = build(source)
    if not built.whole:
        for mistake in built.mistakes:
            click.echo("\n".join(mistake_text(mistake, plain)), err=True)
        stop("mend the errors in the text first; nothing is chosen for half a design", INCOMPLETE)
    names = _names(built, element)
    try:
        with _Progress() as progress:
            made = choose(source, names, today, progress.tried)
    except NothingToChoose as problem:
        stop(str(problem))
    except TooTangled:
        stop("too many open elements hang together for a choice to be found; name fewer of them, the feeders first")
    seen = made.examination
    if seen is not None and not seen.complete:
        for mistake in seen.mistakes:
            click.echo("\n".join(mistake_text(mistake, plain)), err=True)
        for rule, what in seen.broken:
            click.echo(f"{rule} broke: {what}; please report it", err=True)
        stop("not every rule could be run, so nothing is chosen", INCOMPLETE)
    if form == "json":
        from linter.advice.show import choice_data

        click.echo(json.dumps(choice_data(made, built), indent=1, ensure_ascii=False))
    else:
        from linter.advice.show import choice_text
        from linter.report.text import caution

        paint = colour if wants_colour() else plain
        click.echo("\n".join([*choice_text(made, built, paint), *caution()]), color=wants_colour())
    if write and any(c.given_up is None for c in made.contradictions):
        click.echo("nothing is written: what is chosen hangs on what cannot be", err=True)
    elif write and made.chosen:
        _write(source, made)
    if any(c.given_up is None for c in made.contradictions) or any(f.severity not in MILD for f in made.unmet):
        raise SystemExit(FOUND)


def _names(built: Design, named: tuple[str, ...]) -> list[str]:
    """The elements to choose; stops where there are none."""
    from linter.advice.circuits import circuit_of
    from linter.advice.options import left_open
    from linter.cli_common import known_element
    from linter.model.elements import Load
    from linter.study.study import study_of

    if not named:
        names = left_open(built)
        if not names:
            stop("nothing is left open; write `size ?` on a cable, `? A` on a fuse or breaker, or name elements")
        return names
    found: list[str] = []
    for name in named:
        known_element(built, name)
        if isinstance(built.elements[name], Load):
            node = next(n for n in built.circuit.nodes if n.load is built.elements[name])
            circuit = circuit_of(study_of(built), node.index)
            if not circuit:
                stop(f"{name} has no cable or device of its own to choose")
            found += circuit
        else:
            found.append(name)
    return list(dict.fromkeys(found))


class _Progress:
    """Tells how many choices have been tried, on a terminal, once it has lasted longer than a person waits unasked;
    what it wrote is gone at the end."""

    def __init__(self) -> None:
        self._began = time.monotonic()
        self._shown = False

    def tried(self, count: int) -> None:
        if sys.stderr.isatty() and time.monotonic() - self._began > PATIENCE_S:
            self._shown = True
            click.echo(f"\rtried {count} choices", nl=False, err=True)

    def __enter__(self) -> _Progress:
        return self

    def __exit__(self, *_: object) -> None:
        if self._shown:
            click.echo("\r\x1b[K", nl=False, err=True)


def _write(source: DesignSource, made: Choice) -> None:
    """Every file that changes is written, or none."""
    import os

    from linter.advice.write import NotWritten, rewritten
    from linter.report.safe import for_terminal

    texts = {}
    for file in source.files:
        try:
            with open(file.text.name, encoding="utf-8", newline="") as opened:
                texts[file.text.name] = opened.read()
        except (OSError, UnicodeDecodeError):
            stop(f"{for_terminal(file.text.name)} cannot be read again; nothing is written")
    try:
        files = rewritten(source, {c.name: c.option for c in made.chosen}, texts)
    except NotWritten as problem:
        stop(str(problem))
    for path in files:
        if not os.access(path, os.W_OK) or not os.stat(path).st_mode & 0o222:
            stop(f"{for_terminal(path)} may not be written; nothing is written")
    for path, text in files.items():
        save(path, text.encode("utf-8"), design=True)
        click.echo(f"written: {for_terminal(path)}", err=True)


COMMANDS = (size,)
