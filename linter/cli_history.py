"""The command that compares, and what `check --since` needs."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any, NoReturn

import click

if TYPE_CHECKING:
    import datetime
    from collections.abc import Sequence

    from linter.history.compare import Delta
    from linter.rules.engine import Examination
    from linter.rules.finding import Severity
    from linter.rules.registry import Rule

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
@click.option("--format", "form", type=click.Choice(["text", "json", "markdown"]), default="text", show_default=True)
@click.option("-o", "--output", metavar="FILE", help="Default: standard output.")
@click.option("--today", callback=_date, metavar="DATE", help="The day by which acceptances end; default today.")
def compare(old: str, new: str | None, since: str | None, form: str, output: str | None, today: Any) -> None:
    """Say what a change does: elements, protection, figures and findings that are others.

    OLD and NEW: a design's file, REVISION:PATH, or a revision of the file that the other names.  A revision is a
    commit, tag or branch, read from git's objects: neither checkout nor index is touched.
    """
    import json

    from linter.cli_common import INCOMPLETE, colour, give, stop, wants_colour
    from linter.history.compare import compared
    from linter.history.show import as_json, markdown, text
    from linter.history.sides import Sides, two_sides
    from linter.report.text import plain
    from linter.rules.engine import examine
    from linter.source.files import Unusable

    try:
        with Sides() as sides:
            before, after = two_sides(sides, old, new, since)
            made = compared(before, after, examine(before.design, None, today), examine(after.design, None, today))
    except Unusable as problem:
        stop(str(problem))
    if form == "json":
        give(json.dumps(as_json(made), indent=1, ensure_ascii=False) + "\n", output)
    elif form == "markdown":
        give(markdown(made), output)
    else:
        painted = colour if wants_colour() and output is None else plain
        lines = "\n".join(text(made, painted)) + "\n"
        give(lines, output)
    raise SystemExit(0 if made.complete else INCOMPLETE)


def since_revision(
    revision: str,
    results: Sequence[Examination],
    chosen: Sequence[Rule],
    today: datetime.date | None,
    severities: dict[str, Severity],
) -> tuple[list[Delta], bool, list[str]]:
    """For each design, its findings against those it had in a revision; whether all could be read there; remarks.
    A design that was not there had no findings.  Raises Unusable where there is no such revision."""
    from linter.history.compare import delta
    from linter.history.facts import things_of
    from linter.history.renames import Names, renames_of
    from linter.history.sides import NotThere, Sides
    from linter.rules.engine import examine

    found, whole, remarks = [], True, []
    with Sides() as sides:
        for result in results:
            try:
                before = sides.at_revision(revision, result.design.path)
            except NotThere as problem:
                remarks.append(f"{problem}; all its findings are new")
                found.append(delta([], result.findings, Names()))
                continue
            remarks += [before.remark] if before.remark else []
            was = examine(before.design, chosen, today, None, severities)
            whole = whole and was.complete
            now = sides.of(result.design)
            found.append(delta(was.findings, result.findings, renames_of(things_of(before), things_of(now))))
            if not was.complete:
                remarks.append(f"{before.shown}: part of it could not be read, so nothing is proved of the change")
    return found, whole, remarks


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
    from linter.report.data import examinations_json, finding_json
    from linter.report.safe import for_terminal
    from linter.report.text import caution, examination_text, plain, summary
    from linter.source.files import Unusable

    if any(r.design.path == "-" for r in results):
        stop("standard input has no history; name a file for --since")
    try:
        deltas, whole, remarks = since_revision(revision, results, chosen, today, severities)
    except Unusable as problem:
        stop(str(problem))
    worse = [replace(r, findings=d.worse) for r, d in zip(results, deltas, strict=True)]
    if form == "json":
        designs = [
            {
                "path": r.design.path,
                "worse": [finding_json(f) for f in d.worse],
                "gone": [finding_json(f) for f in d.gone],
                "still": len(d.still),
            }
            for r, d in zip(results, deltas, strict=True)
        ]
        since = {"revision": revision, "complete": whole, "remarks": remarks, "designs": designs}
        click.echo(json.dumps(examinations_json(results) | {"since": since}, indent=1, ensure_ascii=False))
    else:
        paint = colour if wants_colour() else plain
        lines = [line for r in worse for line in examination_text(r, paint)]
        lines += [*caution(), *(line for r in worse for line in summary(r, paint))]
        lines += [
            for_terminal(
                f"{r.design.boat or r.design.path} since {revision}: {len(d.new)} new, {len(d.graver)} graver, "
                f"{len(d.gone)} gone, {len(d.still)} as before."
            )
            for r, d in zip(results, deltas, strict=True)
        ]
        lines += map(for_terminal, remarks)
        click.echo("\n".join(lines).lstrip("\n"), color=wants_colour())
    raise SystemExit(status_of(worse, fail_on) if whole else INCOMPLETE)


COMMANDS = (compare,)
