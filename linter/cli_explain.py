"""The commands that explain: rules, and the worksheet of one element."""

from __future__ import annotations

from typing import TYPE_CHECKING

import click

from linter.cli_common import STATUSES, finish, give, known_element, known_rule, one_design, stop

if TYPE_CHECKING:
    from linter.rules.registry import Rule


@click.command()
def rules() -> None:
    """List the rules."""
    from linter.report.rulepage import rule_line
    from linter.rules.registry import pages as every

    width = max(len(r.name) for r in every())
    click.echo("\n".join(rule_line(r, width) for r in every()))


@click.command(epilog=STATUSES)
@click.argument("what", nargs=-1, metavar="RULE | DESIGN ELEMENT")
@click.option("--all", "every", is_flag=True, help="Every rule, as pages of a site: --format markdown -o FOLDER.")
@click.option("--format", "form", type=click.Choice(["text", "markdown", "json"]), default="text", show_default=True)
@click.option("-o", "--output", metavar="FILE", help="Default: standard output; with --all the folder of the pages.")
def explain(what: tuple[str, ...], every: bool, form: str, output: str | None) -> None:
    """Say what a rule demands, why, whose clause it is, what to measure on board and what mends a breach.

    With a design and the name of one of its elements: that element's worksheet, every figure step by step.
    """
    if every:
        if what or form != "markdown" or output is None:
            stop("all rules are written as pages: explain --all --format markdown -o FOLDER")
        _pages(output)
    elif len(what) == 1:
        _rule(what[0], form, output)
    elif len(what) == 2:
        _worksheet(*what, form, output)
    else:
        stop("explain one rule (explain RULE) or one element of a design (explain DESIGN ELEMENT)")


def _known(name: str) -> Rule:
    from linter.rules.registry import pages

    found = next((r for r in pages() if r.name == name), None)
    if found is None and (name.endswith(".boat") or "/" in name or name == "-"):
        stop(f"{name} is no rule; of a design name an element as well: explain {name} ELEMENT")
    return found or known_rule(name)


def _rule(name: str, form: str, output: str | None) -> None:
    from linter.report.rulepage import rule_json, rule_markdown, rule_page

    rule = _known(name)
    if form == "json":
        give(rule_json(rule), output)
    elif form == "markdown":
        give(rule_markdown(rule), output)
    else:
        give("".join(f"{line}\n" for line in rule_page(rule)), output)


def _pages(folder: str) -> None:
    from linter.report.rulepage import write_pages

    try:
        names = write_pages(folder)
    except OSError as problem:
        stop(f"{folder}: cannot be written: {problem.strerror or problem}")
    except ValueError:
        stop(f"{folder!r}: is no folder's name")
    click.echo(f"{len(names)} pages")


def _worksheet(design: str, element: str, form: str, output: str | None) -> None:
    from linter.report.worksheet.make import NoElement, worksheet_of
    from linter.report.worksheet.show import as_json, as_markdown, as_text
    from linter.rules.engine import examine

    built = one_design(design)
    known_element(built, element)
    result = examine(built)
    try:
        sheet = worksheet_of(result, element)
    except NoElement:
        stop(f"{element} has no worksheet: name a conductor, device or load")
    give({"text": as_text, "markdown": as_markdown, "json": as_json}[form](sheet), output)
    finish(built, result)


COMMANDS = (rules, explain)
