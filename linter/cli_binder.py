"""The commands for the owner's papers: the as-built binder, and the spares box."""

from __future__ import annotations

import os
from typing import TYPE_CHECKING, Any

import click

from linter.cli_common import STATUSES, a_date, finish, give, one_design, save, stop

if TYPE_CHECKING:
    from linter.binder.spare_rule import SpareRule
    from linter.binder.subject import Choice, Subject
    from linter.progress import Progress
    from linter.rules.engine import Examination

# What there is to choose from stands here too, so that no command's help reads the binder; a test compares the two.
PARTS = (
    "cover", "reading", "diagram", "conductors", "devices", "panels", "loads", "batteries", "energy", "curves",
    "findings", "spares", "parts", "commissioning", "labels", "glossary",
)  # fmt: skip
VOYAGES = ("harbour", "coastal", "ocean")


@click.command(epilog=STATUSES)
@click.argument("design")
@click.option("-o", "--output", metavar="FILE",
              help="A .pdf or .html file, or a .csv file of one part; - is standard output, as CSV.")  # fmt: skip
@click.option("--part", type=click.Choice(PARTS), metavar="PART",
              help="One part as a table: CSV, on standard output without -o.")  # fmt: skip
@click.option("--with", "with_", multiple=True, type=click.Choice(PARTS), metavar="PART",
              help="Only this part; may be repeated.")  # fmt: skip
@click.option("--without", multiple=True, type=click.Choice(PARTS), metavar="PART",
              help="All but this part; may be repeated.")  # fmt: skip
@click.option("--paper", type=click.Choice(["a4", "letter"]), default="a4", show_default=True)
@click.option("--voyage", type=click.Choice(VOYAGES), default="coastal", show_default=True,
              help="For how many spare fuses to carry.")  # fmt: skip
@click.option("--rule", metavar="FILE", help="Your own numbers of spare fuses (TOML).")
@click.option(
    "--label-sheet", metavar="NAME", default="", help="Sheets of labels: a name, or your own measures (TOML)."
)
@click.option("--fonts", metavar="FOLDER", multiple=True, type=click.Path(exists=True, file_okay=False),
              help="More fonts for the PDF, for scripts that its own do not have.")  # fmt: skip
@click.option("--today", callback=a_date, metavar="DATE", help="The day by which acceptances end; default today.")
def binder(
    design: str, output: str | None, part: str | None, with_: tuple[str, ...], without: tuple[str, ...], paper: str,
    voyage: str, rule: str | None, label_sheet: str, fonts: tuple[str, ...], today: Any,
) -> None:  # fmt: skip
    """Make the as-built binder: what is on board, how it is wired, what protects what.

    Its parts: cover, reading, diagram, conductors, devices, panels, loads, batteries, energy, curves, findings, spares,
    parts, commissioning, labels, glossary. The same design at the same revision gives the same bytes.
    """
    form = "csv" if output in (None, "-") else os.path.splitext(output or "")[1].lstrip(".").lower()
    if form not in {"pdf", "html", "csv"}:
        stop(f"{output}: the name of the binder ends in .pdf or .html, of one part's table in .csv")
    if form == "csv" and part is None:
        stop("name a file with -o x.pdf or -o x.html, or one part for its table with --part")
    if part is not None and (form != "csv" or with_ or without):
        stop("--part gives one table as CSV; for a PDF or HTML of some parts use --with or --without")
    if with_ and without:
        stop("give --with or --without, not both")
    chosen = [p for p in PARTS if (p in with_ if with_ else p not in without)]
    if not chosen:
        stop("no part is left to make")
    from linter.binder.subject import Choice
    from linter.progress import Progress

    choice = Choice(paper, voyage, rule_of(rule), label_sheet, today.isoformat() if today else "")
    known_sheet(label_sheet, paper)
    with Progress(STEPS + len(chosen)) as progress:
        subject, result = subject_of(design, choice, today, progress)
        if part is not None:
            from linter.binder.contents import one_part
            from linter.binder.rows import as_csv

            text = as_csv(one_part(subject, part).data)
        else:
            made = _made(subject, chosen, form, fonts, progress)
    if part is not None:
        give(text, None if output == "-" else output)
    else:
        save(output or "-", made)
    finish(result.design, result)


# Beside the parts: the study with its rules, and the typesetting.
STEPS = 2


def subject_of(
    design: str, choice: Choice, today: Any, progress: Progress | None = None
) -> tuple[Subject, Examination]:  # fmt: skip
    """The design examined, and its revision."""
    from linter.binder.subject import Subject
    from linter.drawing.revision import revision_of
    from linter.rules.engine import examine

    built = one_design(design, progress.reading if progress is not None else None)
    result = examine(built, None, today)
    if progress is not None:
        progress.step("examining")
    return Subject(result, revision_of(built), choice), result


def _made(subject: Subject, chosen: list[str], form: str, fonts: tuple[str, ...], progress: Progress) -> bytes:
    from linter.binder.contents import document

    made = document(subject, chosen, progress.step)
    if form == "html":
        from linter.binder.web import page
        from linter.drawing.page import page as diagram_page

        progress.step("page")
        inner = b""
        if subject.pictures:
            inner = diagram_page(subject.pictures, subject.study, subject.result.findings)
        return page(made, inner)
    from linter.binder.typeset import TypesetError, pdf

    try:
        return pdf(made, fonts, progress.step)
    except TypesetError as problem:
        stop(f"the binder cannot be typeset: {problem}")


def rule_of(path: str | None) -> SpareRule | None:
    if path is None:
        return None
    from linter.binder.spare_rule import RulebookError
    from linter.binder.spare_rule import rule_of as read

    try:
        return read(path)
    except RulebookError as problem:
        stop(str(problem))


def known_sheet(name: str, paper: str) -> None:
    """Stops where there is no such sheet of labels."""
    if not name:
        return
    from linter.binder.grids import grid_of
    from linter.tables.reading import RulebookError

    try:
        grid_of(name, paper)
    except RulebookError as problem:
        stop(str(problem))


@click.command(epilog=STATUSES)
@click.argument("design")
@click.option("--voyage", type=click.Choice(VOYAGES), default="coastal", show_default=True)
@click.option("--rule", metavar="FILE", help="Your own numbers to carry (TOML).")
@click.option("--format", "form", type=click.Choice(["table", "csv", "json"]), default="table", show_default=True)
@click.option("-o", "--output", metavar="FILE", help="Default: standard output.")
def spares(design: str, voyage: str, rule: str | None, form: str, output: str | None) -> None:
    """The spares box: every fuse by class and rating, how many are fitted and how many to carry, breakers that reset
    instead, and fuses that could be confused."""
    from linter.binder.spare_list import spare_list, spares_json
    from linter.binder.spare_rule import shipped_rule
    from linter.study.study import study_of

    chosen = rule_of(rule) or shipped_rule()
    built = one_design(design)
    study = study_of(built)
    made = spare_list(study, chosen, voyage)
    if form == "json":
        import json

        text = json.dumps(spares_json(study, made), indent=1, ensure_ascii=False) + "\n"
    elif form == "csv":
        from linter.binder.parts.spares import data_table
        from linter.binder.rows import as_csv

        text = as_csv(data_table(made))
    else:
        from linter.binder.parts.spares import in_words

        text = in_words(made)
    give(text, output)
    built.mistakes.extend(study.mistakes)
    finish(built)


COMMANDS = (binder, spares)
