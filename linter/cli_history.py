"""The command that compares, and what `check --since` needs."""

from __future__ import annotations

import os
from typing import TYPE_CHECKING, Any, NoReturn

import click

if TYPE_CHECKING:
    import datetime
    from collections.abc import Sequence

    from linter.history.compare import Comparison, Since
    from linter.rules.engine import Examination
    from linter.rules.finding import Severity
    from linter.rules.registry import Rule

PICTURES = frozenset({"svg", "pdf", "png", "html"})
# Of what got worse, so many findings with their lines of the file and what would mend them, that all fits on a screen.
MOST_EXPLAINED = 3
ENDS = """
Exit status: 0 compared; 2 the call was wrong or a side unusable; 3 incomplete: a side could not be read in full.
"""


def _date(ctx: click.Context, param: click.Parameter, value: str | None) -> Any:
    from linter.cli_common import a_date

    return a_date(ctx, param, value)


@click.command(epilog=ENDS)
@click.argument("old")
@click.argument("new", required=False)
@click.option("--since", metavar="REVISION", help="Compare the one design with what it was in this revision.")
@click.option("--format", "form", type=click.Choice(["text", "json", "markdown"]), help="Default: text.")
@click.option("-o", "--output", metavar="FILE",
              help="Default: standard output. An .svg, .pdf, .png or .html: the diagram, changes marked.")  # fmt: skip
@click.option("--today", callback=_date, metavar="DATE", help="The day by which acceptances end; default today.")
def compare(
    old: str, new: str | None, since: str | None, form: str | None, output: str | None, today: Any
) -> None:  # fmt: skip
    """Say what a change does: elements, protection, figures and findings that are others.

    OLD and NEW: a design's file, REVISION:PATH, or a revision of the file that the other names.  A revision is a
    commit, tag or branch, read from git's objects: neither checkout nor index is touched.
    """
    from linter.cli_common import INCOMPLETE, stop
    from linter.history.compare import compared, examined
    from linter.history.sides import Sides, two_sides
    from linter.source.files import Unusable

    ending = os.path.splitext(output or "")[1].lower().lstrip(".")
    if ending in PICTURES and form is not None:
        stop(f"{output}: --format is for text; the name of a file says how a diagram is drawn")
    try:
        with Sides() as sides:
            before, after = two_sides(sides, old, new, since)
            made = compared(before, after, *examined(before, after, today))
    except Unusable as problem:
        stop(str(problem))
    if output is not None and ending in PICTURES:
        drawn(made, output, ending)
    else:
        told(made, form or "text", output)
    raise SystemExit(0 if made.complete else INCOMPLETE)


def told(made: Comparison, form: str, output: str | None) -> None:
    """The comparison as text, JSON or Markdown."""
    import json

    from linter.cli_common import colour, give, wants_colour
    from linter.history.markdown import markdown
    from linter.history.show import as_json, text
    from linter.report.text import plain

    if form == "json":
        give(json.dumps(as_json(made), indent=1, ensure_ascii=False) + "\n", output)
    elif form == "markdown":
        give(markdown(made), output)
    else:
        painted = colour if wants_colour() and output is None else plain
        give("\n".join(text(made, painted)) + "\n", output)


def drawn(made: Comparison, output: str, ending: str) -> None:
    """The diagram of the later design with what has changed marked; what could not be read is said beside it."""
    from linter.cli_changes import changes_of
    from linter.cli_common import save
    from linter.drawing.draw import file_names, write
    from linter.drawing.sheets import Settings, sheets
    from linter.history.show import summary
    from linter.report.safe import for_terminal
    from linter.report.text import mistake_text, plain

    for side in (made.was, made.now):
        for mistake in side.mistakes:
            click.echo("\n".join(mistake_text(mistake, plain)), err=True)
    pictures = sheets(made.new.design, (), Settings(), ("ratings",), made.now.study, "", changes_of(made))
    if ending == "html":
        from linter.drawing.page import page

        save(output, page(pictures, made.now.study, (), ""))
    else:
        files = write(pictures, ending)  # type: ignore[arg-type]
        names = file_names(output, len(files))
        for name, data in zip(names, files, strict=True):
            save(name, data)
        if len(files) > 1:
            click.echo("\n".join(for_terminal(f"{n}: {p.title}") for n, p in zip(names, pictures, strict=True)))
    click.echo(for_terminal(summary(made)))


def since_revision(
    revision: str,
    results: Sequence[Examination],
    chosen: Sequence[Rule],
    today: datetime.date | None,
    severities: dict[str, Severity],
) -> tuple[list[Since], list[Examination], bool, list[str]]:
    """For each design, what has become of it since a revision; the designs as examined, where an acceptance lapsed not
    accepted; whether all could be read there; remarks.  A design that was not there had no findings.  Raises Unusable
    where there is no such revision."""
    from linter.history.compare import Since, compared, delta
    from linter.history.sides import NotThere, Sides
    from linter.rules.engine import examine

    found, whole, remarks = [], True, []
    counted: list[Examination] = []
    with Sides() as sides:
        for result in results:
            try:
                before = sides.at_revision(revision, result.design.path)
            except NotThere as problem:
                remarks.append(f"{problem}; all its findings are new")
                found.append(Since(delta([], result.findings), None))
                counted.append(result)
                continue
            remarks += [before.remark] if before.remark else []
            was = examine(before.design, chosen, today, None, severities, result.study)
            whole = whole and was.complete
            made = compared(before, sides.of(result.design), was, result, figures_too=False)
            found.append(Since(made.findings, made))
            counted.append(made.now)
            if not was.complete:
                remarks.append(f"{before.shown}: part of it could not be read, so nothing is proved of the change")
    return found, counted, whole, remarks


def check_since(
    revision: str,
    results: list[Examination],
    chosen: list[Rule],
    today: datetime.date | None,
    severities: dict[str, Severity],
    form: str,
    fail_on: str,
) -> NoReturn:
    """`check --since`: what has got worse is shown and decides the exit status; the rest is counted.

    As JSON: what `check` prints, and ``since``: ``revision``, ``remarks``, ``complete``, ``designs[]``: path,
    ``worse[]`` and ``gone[]`` (findings), ``still`` (how many).
    """
    import json
    from dataclasses import replace

    from linter.cli_common import INCOMPLETE, colour, status_of, stop, wants_colour
    from linter.history.show import finding_words, since_lines
    from linter.report.data import examinations_json, finding_json
    from linter.report.safe import for_terminal
    from linter.report.text import caution, examination_text, plain
    from linter.source.files import Unusable

    if any(r.design.path == "-" for r in results):
        stop("standard input has no history; name a file for --since")
    try:
        found, results, whole, remarks = since_revision(revision, results, chosen, today, severities)
    except Unusable as problem:
        stop(str(problem))
    worse = [replace(r, findings=s.findings.worse) for r, s in zip(results, found, strict=True)]
    if form == "json":
        designs = [
            {
                "path": r.design.path,
                "worse": [finding_json(f) for f in s.findings.worse],
                "gone": [finding_json(f) for f in s.findings.gone],
                "still": len(s.findings.still),
            }
            for r, s in zip(results, found, strict=True)
        ]
        since = {"revision": revision, "complete": whole, "remarks": remarks, "designs": designs}
        click.echo(json.dumps(examinations_json(results) | {"since": since}, indent=1, ensure_ascii=False))
    else:
        paint = colour if wants_colour() else plain
        lines: list[str] = []
        left = MOST_EXPLAINED
        for one_worse in worse:
            lines += examination_text(replace(one_worse, findings=one_worse.findings[:left]), paint)
            lines += [for_terminal(f"{f.span}: {finding_words(f)}") for f in one_worse.findings[left:]]
            left = max(left - len(one_worse.findings), 0)
        lines += caution()
        for result, one in zip(results, found, strict=True):
            lines += since_lines(revision, result, one, paint)
        lines += map(for_terminal, remarks)
        click.echo("\n".join(lines).lstrip("\n"), color=wants_colour())
    raise SystemExit(status_of(worse, fail_on) if whole else INCOMPLETE)


COMMANDS = (compare,)
