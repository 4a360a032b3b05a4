"""The command that checks."""

from __future__ import annotations

from typing import Any

import click

from linter.cli_common import (
    SEVERITIES,
    STATUSES,
    a_date,
    chosen_rules,
    colour,
    designs_of,
    known_rule,
    status_of,
    stop,
    wants_colour,
)  # fmt: skip


def severities_of(settings: tuple[str, ...]) -> dict[str, Any]:
    from linter.rules.finding import Severity

    found = {}
    for setting in settings:
        name, equals, word = setting.partition("=")
        if not equals or word not in SEVERITIES:
            stop(f"--severity {setting}: write RULE=WORD, the word one of {', '.join(SEVERITIES)}")
        found[known_rule(name).name] = Severity(word)
    return found


@click.command(epilog=STATUSES)
@click.argument("design", nargs=-1, required=True)
@click.option("--format", "form", type=click.Choice(["text", "json"]), default="text", show_default=True)
@click.option("--fail-on", type=click.Choice([*SEVERITIES, "never"]), default="doubt", show_default=True,
              help="The mildest finding that fails.")  # fmt: skip
@click.option("--only", multiple=True, metavar="RULE", help="Run only this rule; may be repeated.")
@click.option("--without", multiple=True, metavar="RULE", help="Do not run this rule; may be repeated.")
@click.option("--severity", multiple=True, metavar="RULE=WORD", help="Take a rule's findings as graver or milder.")
@click.option("--since", metavar="REVISION", help="Fail only on what has got worse since this commit, tag or branch.")
@click.option("--today", callback=a_date, metavar="DATE", help="The day by which acceptances end; default today.")
def check(
    design: tuple[str, ...], form: str, fail_on: str, only: tuple[str, ...], without: tuple[str, ...],
    severity: tuple[str, ...], since: str | None, today: Any,
) -> None:  # fmt: skip
    """Say which conductors could burn, why, and what would mend it."""
    from linter.progress import Progress

    chosen, severities = chosen_rules(only, without), severities_of(severity)
    with Progress(len(chosen)) as progress:
        built = designs_of(design, progress.reading if progress.shown else None)
        from linter.rules.engine import examine

        results = [examine(d, chosen, today, progress.step, severities) for d in built]
    if since is not None:
        from linter.cli_history import check_since

        check_since(since, results, chosen, today, severities, form, fail_on)
    if form == "json":
        import json

        from linter.report.data import examinations_json

        click.echo(json.dumps(examinations_json(results), indent=1, ensure_ascii=False))
    else:
        from linter.report.text import caution, examination_text, plain, summary

        paint = colour if wants_colour() else plain
        lines = [line for r in results for line in examination_text(r, paint)]
        lines += [*caution(), *(line for r in results for line in summary(r, paint))]
        click.echo("\n".join(lines).lstrip("\n"), color=wants_colour())
    raise SystemExit(status_of(results, fail_on))


COMMANDS = (check,)
