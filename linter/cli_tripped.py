"""The command that asks why a device has opened, and what `check --with` needs."""

from __future__ import annotations

import json
from typing import TYPE_CHECKING, Any, NoReturn

import click

from linter.cli_common import INCOMPLETE, a_date, colour, give, status_of, stop, wants_colour

if TYPE_CHECKING:
    from linter.rules.finding import Severity
    from linter.rules.registry import Rule
    from linter.source.files import DesignSource

WHENS = ("starting", "running", "at-once", "at-random")
ENDS = """
--measured takes what a person read: '41 A', '11.2 V at WINDLASS', '0.3 V across F7', '62 °C at F7', '0.4 ohm',
'0.02 ohm without load'. Readings that cannot be, or cannot both be so, are told and not counted.

Exit status: 0 told; 2 the call was wrong or the input unusable; 3 incomplete: the design could not be read in full.
"""


def _source(argument: str) -> DesignSource:
    """The one design that an argument means, as statements; stops where there is none."""
    import sys

    from linter.source.files import Reader, Unusable, decode, designs_under

    reader = Reader()
    try:
        if argument == "-":
            ok, text = decode(sys.stdin.buffer.read())
            if not ok:
                raise Unusable(f"standard input {text}")
            return reader.design_text(text)
        paths = designs_under(argument, reader)
        if len(paths) != 1:
            raise Unusable(f"{argument}: {len(paths)} designs below this folder; name one of them")
        return reader.design(paths[0])
    except Unusable as problem:
        stop(str(problem))


def _a_when(ctx: click.Context, param: click.Parameter, value: str | None) -> str | None:
    """`at once` as well as `at-once`, and the word that tells them apart: `start`, `random`."""
    del ctx, param
    word = "-".join(value.split()) if value is not None else None
    near = [w for w in WHENS if word and (w.startswith(word.casefold()) or w.endswith(word.casefold()))]
    if len(near) == 1:
        return near[0]
    if word is not None and word not in WHENS:
        raise click.BadParameter(f"{value!r} is none of {', '.join(WHENS)}")
    return word


@click.command(epilog=ENDS)
@click.argument("design")
@click.argument("device")
@click.option("--when", callback=_a_when, metavar=f"[{'|'.join(WHENS)}]",
              help="As a load starts, while all runs, at once as power is put on, or at random.")  # fmt: skip
@click.option("--measured", multiple=True, metavar="TEXT", help="What was read on board; may be repeated.")
@click.option("--all", "every", is_flag=True, help="Tell all causes in full, not only the likeliest.")
@click.option("--format", "form", type=click.Choice(["text", "json", "markdown"]), default="text", show_default=True)
@click.option("-o", "--output", metavar="FILE", help="Default: standard output.")
@click.option("--today", callback=a_date, metavar="DATE", help="The day by which acceptances end; default today.")
def tripped(
    design: str, device: str, when: str | None, measured: tuple[str, ...], every: bool, form: str, output: str | None,
    today: Any,
) -> None:  # fmt: skip
    """Say why DEVICE, a fuse or breaker of DESIGN, may have opened, the likeliest cause first, and what to measure."""
    from linter.advice.tripped.make import NotADevice, why
    from linter.advice.tripped.reading import BadReading
    from linter.advice.tripped.show import as_json, as_markdown, as_text
    from linter.model.build import build
    from linter.report.text import mistake_text, plain

    source = _source(design)
    built = build(source)
    if not built.whole:
        for mistake in built.mistakes:
            click.echo("\n".join(mistake_text(mistake, plain)), err=True)
        stop("mend the errors in the text first; nothing is said of half a circuit", INCOMPLETE)
    try:
        answer = why(source, built, device, when or "", measured, today)
    except (NotADevice, BadReading) as problem:
        stop(str(problem))
    if form == "json":
        give(json.dumps(as_json(answer), indent=1, ensure_ascii=False) + "\n", output)
    elif form == "markdown":
        give(as_markdown(answer), output)
    else:
        painted = colour if wants_colour() and output is None else plain
        give("\n".join(as_text(answer, painted, every)) + "\n", output)


def check_with(
    design: tuple[str, ...], written: tuple[str, ...], chosen: list[Rule], severities: dict[str, Severity], today: Any,
    form: str, output: str | None, fail_on: str,
) -> NoReturn:  # fmt: skip
    """`check --with`: what changes, and the status that `check` of the changed design would end with."""
    from linter.advice.what_if import BadChange, what_if
    from linter.advice.what_if_show import as_json, text
    from linter.report.text import mistake_text, plain

    if form not in {"text", "json"}:
        stop(f"--with tells what changes as text or json, not as {form}")
    if len(design) != 1:
        stop("--with changes one design; name one")
    try:
        found = what_if(_source(design[0]), written, today, chosen, severities)
    except BadChange as problem:
        for mistake in problem.mistakes:
            click.echo("\n".join(mistake_text(mistake, plain)), err=True)
        raise SystemExit(2) from None
    made = found.made
    status = status_of([made.now], fail_on)
    if form == "json":
        give(json.dumps(as_json(found) | {"status": status}, indent=1, ensure_ascii=False) + "\n", output)
    else:
        painted = colour if wants_colour() and output is None else plain
        give("\n".join(text(found, painted)) + "\n", output)
    raise SystemExit(status)


COMMANDS = (tripped,)
