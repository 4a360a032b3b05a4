"""The commands that explain rules."""

from __future__ import annotations

import click

from linter.cli_common import known_rule


@click.command()
def rules() -> None:
    """List the rules."""
    from linter.report.rulepage import rule_line
    from linter.rules.registry import pages as every

    width = max(len(r.name) for r in every())
    click.echo("\n".join(rule_line(r, width) for r in every()))


@click.command()
@click.argument("rule")
def explain(rule: str) -> None:
    """Say what a rule demands, why, whose clause it is, and what mends a breach."""
    from linter.report.rulepage import rule_page
    from linter.rules.registry import pages

    page = next((r for r in pages() if r.name == rule), None) or known_rule(rule)
    click.echo("\n".join(rule_page(page)))


COMMANDS = (rules, explain)
