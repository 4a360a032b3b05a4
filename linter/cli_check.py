"""The command that checks, and the forms in which continuous integration reads what it found."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any, NoReturn

import click

from linter.cli_common import (
    INCOMPLETE,
    SEVERITIES,
    STATUSES,
    a_date,
    chosen_rules,
    colour,
    designs_of,
    give,
    known_rule,
    save,
    status_of,
    stop,
    wants_colour,
)

if TYPE_CHECKING:
    from collections.abc import Sequence

    from linter.report.standing import Standing
    from linter.rules.engine import Examination
    from linter.rules.registry import Rule

FORMS = ("text", "json", "sarif", "junit", "annotations", "code-quality")

FORMATS = """
Formats: text for people; json, with all figures; sarif, version 2.1.0, for forges and editors; junit, XML for test
dashboards: a passing case a rule, a failing case an element; annotations, workflow commands (::error file=…) that a
forge puts beside the lines of a change; code-quality, a JSON list of issues for forges that read such a report.
"""


def severities_of(settings: tuple[str, ...]) -> dict[str, Any]:
    from linter.rules.finding import Severity

    found = {}
    for setting in settings:
        name, equals, word = setting.partition("=")
        if not equals or word not in SEVERITIES:
            stop(f"--severity {setting}: write RULE=WORD, the word one of {', '.join(SEVERITIES)}")
        found[known_rule(name).name] = Severity(word)
    return found


@click.command(epilog=f"{FORMATS}\n{STATUSES}")
@click.argument("design", nargs=-1, required=True)
@click.option("--format", "form", type=click.Choice(FORMS), default="text", show_default=True)
@click.option("-o", "--output", metavar="FILE", help="Write the format there, and say in text here what was found.")
@click.option("--fail-on", type=click.Choice([*SEVERITIES, "never"]), default="doubt", show_default=True,
              help="The mildest finding that fails.")  # fmt: skip
@click.option("--only", multiple=True, metavar="RULE", help="Run only this rule; may be repeated.")
@click.option("--without", multiple=True, metavar="RULE", help="Do not run this rule; may be repeated.")
@click.option("--severity", multiple=True, metavar="RULE=WORD", help="Take a rule's findings as graver or milder.")
@click.option("--since", metavar="REVISION", help="Fail only on what has got worse since this commit, tag or branch.")
@click.option("--record", metavar="FILE", help="Write today's findings there, to fail later only on what is new.")
@click.option("--against", metavar="FILE", help="Fail only on what is new or graver than in this record.")
@click.option("--with", "changes", multiple=True, metavar="CHANGE",
              help="Write nothing; say what another fact changes: 'fuse F7 rating 15 A'. Repeatable. Ends as check "
                   "of the changed design would; 2 where the change cannot be read.")  # fmt: skip
@click.option("--today", callback=a_date, metavar="DATE", help="The day by which acceptances end; default today.")
def check(
    design: tuple[str, ...], form: str, output: str | None, fail_on: str, only: tuple[str, ...],
    without: tuple[str, ...], severity: tuple[str, ...], since: str | None, record: str | None, against: str | None,
    changes: tuple[str, ...], today: Any,
) -> None:  # fmt: skip
    """Say which conductors could burn, why, and what would mend it."""
    from linter.progress import Progress

    if sum(option is not None for option in (since, record, against)) > 1:
        stop("--since, --record and --against: give one of them at a time")
    chosen, severities = chosen_rules(only, without), severities_of(severity)
    if changes:
        from linter.cli_tripped import check_with

        if any(option is not None for option in (since, record, against)):
            stop("--with is compared with the design as it is; leave --since, --record and --against out")
        check_with(design, changes, chosen, severities, today, form, output, fail_on)
    known = _read_record(against) if against is not None else None
    _may_be_recorded(record)
    with Progress(len(chosen)) as progress:
        built = designs_of(design, progress.reading if progress.shown else None)
        from linter.rules.engine import examine

        results = [examine(d, chosen, today, progress.step, severities) for d in built]
    if since is not None:
        _since(since, results, chosen, today, severities, form, output, fail_on)
    if against is not None:
        _against(known, against, design, results, chosen, form, output, fail_on)
    status = status_of(results, fail_on)
    if form != "text":
        from linter.report.standing import Standing

        _give(form, [Standing(r) for r in results], chosen, fail_on, status, output)
    if form == "text" or output is not None:
        from linter.report.text import caution, examination_text, plain, summary

        paint = colour if wants_colour() and output is None else plain
        lines = [line for r in results for line in examination_text(r, paint)]
        lines += [*caution(), *(line for r in results for line in summary(r, paint))]
        _say(lines, output if form == "text" else None)
    if record is not None:
        status = _write_record(record, results)
    raise SystemExit(status)


def _say(lines: list[str], output: str | None = None) -> None:
    text = "\n".join(lines).lstrip("\n")
    if output is not None:
        save(output, (text + "\n").encode("utf-8"))
    else:
        click.echo(text, color=wants_colour())


def _give(
    form: str, standings: Sequence[Standing], chosen: Sequence[Rule], fail_on: str, status: int, output: str | None,
    compared: bool = False,
) -> None:  # fmt: skip
    """Findings in a form for programs, to ``output`` or standard output."""
    import json

    made: Any
    if form == "junit":
        from linter.report.junit import junit

        save(output or "-", junit(standings, chosen, fail_on))
        return
    if form == "annotations":
        from linter.report.annotations import command_lines

        give("".join(f"{line}\n" for line in command_lines(standings)), output)
        return
    if form == "sarif":
        from linter.report.sarif import sarif

        made = sarif(standings, chosen, status, compared)
    elif form == "code-quality":
        from linter.report.annotations import code_quality

        made = code_quality(standings)
    else:
        from linter.report.data import examinations_json

        made = examinations_json([s.result for s in standings])
        if compared:
            for one, standing in zip(made["designs"], standings, strict=True):
                one["gone"] = standing.gone
                for finding, (_, state) in zip(one["findings"], standing.pairs(), strict=True):
                    finding["state"] = state.value
    give(json.dumps(made, indent=1, ensure_ascii=False) + "\n", output)


def _since(
    revision: str, results: list[Examination], chosen: list[Rule], today: Any, severities: dict[str, Any], form: str,
    output: str | None, fail_on: str,
) -> NoReturn:  # fmt: skip
    from linter.cli_history import check_since, since_revision

    if output is None and form in {"text", "json"}:
        check_since(revision, results, chosen, today, severities, form, fail_on)
    if any(r.design.path == "-" for r in results):
        stop("standard input has no history; name a file for --since")
    if form == "text":
        stop("--since says its text on standard output; leave -o out, or name another format")
    from linter.report.record import by_revision
    from linter.report.safe import for_terminal
    from linter.source.files import Unusable

    try:
        found, counted, whole, remarks = since_revision(revision, results, chosen, today, severities)
    except Unusable as problem:
        stop(str(problem))
    standings = [
        by_revision(r, s.findings.new, [g.now for g in s.findings.graver], s.findings.gone)
        for r, s in zip(counted, found, strict=True)
    ]
    status = status_of([s.failing() for s in standings], fail_on) if whole else INCOMPLETE
    _give(form, standings, chosen, fail_on, status, output, compared=True)
    if output is not None:
        check_since(revision, results, chosen, today, severities, "text", fail_on)
    for remark in remarks:
        click.echo(f"wireworthy: {for_terminal(remark)}", err=True)
    raise SystemExit(status)


def _read_record(path: str) -> Any:
    from linter.report.record import BadRecord, read

    try:
        return read(path)
    except BadRecord as problem:
        stop(f"{path}: {problem}; `wireworthy check DESIGN --record {path}` writes a record")


def _may_be_recorded(path: str | None) -> None:
    """A slip must not write a record over a design."""
    import os

    if path is None or not os.path.exists(path):
        return
    from linter.report.record import BadRecord, read

    try:
        read(path)
    except BadRecord as problem:
        stop(f"{path}: is there, and no record that could be written anew ({problem}); name another file or remove it")


def _write_record(path: str, results: list[Examination]) -> int:
    """Write it if all is known; 3 if not, since what was not found now would come as new."""
    from linter.report.record import recorded
    from linter.report.safe import for_terminal
    from linter.rules.acceptance import NAMES

    if any(r.design.path == "-" for r in results):
        stop("standard input has no name by which it could be known again; name a file for --record")
    if not all(r.complete for r in results):
        stop(f"{path}: not written: a record of a design that could not be read in full is none", INCOMPLETE)
    save(path, recorded(results, path))
    count = sum(f.rule not in NAMES for r in results for f in r.findings)
    click.echo(f"wireworthy: {count} finding{'s' * (count != 1)} recorded in {for_terminal(path)}", err=True)
    if any(f.rule in NAMES for r in results for f in r.findings):
        click.echo("wireworthy: acceptances that are not in order are not recorded and go on failing", err=True)
    return 0


def _against(
    known: Any, path: str, arguments: tuple[str, ...], results: list[Examination], chosen: list[Rule], form: str,
    output: str | None, fail_on: str,
) -> NoReturn:  # fmt: skip
    from linter.report.record import against, vanished
    from linter.report.text import plain

    standings = against(results, known, path, {r.name for r in chosen})
    status = status_of([s.failing() for s in standings], fail_on)
    if form != "text":
        _give(form, standings, chosen, fail_on, status, output, compared=True)
    if form == "text" or output is not None:
        import shlex

        from linter.report.record_text import standings_text

        again = f"wireworthy check {shlex.join(arguments)} --record {shlex.quote(path)}"
        paint = colour if wants_colour() and output is None else plain
        _say(
            list(standings_text(standings, path, again, vanished(known, path), paint)),
            output if form == "text" else None,
        )
    raise SystemExit(status)


COMMANDS = (check,)
