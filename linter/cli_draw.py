"""The commands that draw: the diagram, and curves of time against current."""

from __future__ import annotations

import os
from typing import TYPE_CHECKING, Any

import click

from linter.cli_common import STATUSES, a_date, finish, known_element, one_design, save, stop

if TYPE_CHECKING:
    from collections.abc import Sequence

    from linter.drawing.changes import Changes
    from linter.drawing.picture import Picture
    from linter.model.design import Design
    from linter.rules.engine import Examination


@click.command(epilog=STATUSES)
@click.argument("design")
@click.option("-o", "--output", required=True, metavar="FILE",
              help="An .svg, .pdf, .png, .html or .dot file; - is standard output, as SVG.")  # fmt: skip
@click.option("--paper", type=click.Choice(["a3", "a4"]), help="The sheets, on their side; default a3.")
@click.option("--layer", multiple=True, type=click.Choice(["plain", "ratings", "study", "findings", "changes"]),
              help="What to write at the elements; may be repeated. Default: ratings, and findings"
              " or changes.")  # fmt: skip
@click.option("--since", metavar="REVISION", help="Mark what has changed since this commit, tag or branch.")
@click.option("--against", metavar="OLD", help="Mark what is other than in this design: a file or REVISION:PATH.")
@click.option("--only", metavar="ELEMENT", help="Only the part around it, from its sources to its loads.")
@click.option("--sheet", type=click.IntRange(min=1), metavar="N", help="Only this sheet.")
@click.option("--one-sheet", is_flag=True, help="One picture as large as it must be, not divided into sheets.")
@click.option("--style", metavar="FILE", help="A yard's settings (TOML): paper, text, words, title block, symbols.")
@click.option("--plain", is_flag=True, help="Without findings.")
@click.option("--today", callback=a_date, metavar="DATE", help="The day by which acceptances end; default today.")
def draw(
    design: str, output: str, paper: str | None, layer: tuple[str, ...], only: str | None, sheet: int | None,
    one_sheet: bool, style: str | None, plain: bool, today: Any, since: str | None, against: str | None,
) -> None:  # fmt: skip
    """Draw the single-line diagram on sheets, findings marked at their elements, or what has changed.

    Several sheets become one PDF, or as many files as there are sheets: x-1.svg, x-2.svg.
    """
    form = "svg" if output == "-" else os.path.splitext(output)[1].lstrip(".").lower()
    if form not in {"svg", "pdf", "png", "html", "dot"}:
        stop(f"{output}: the name of the diagram ends in .svg, .pdf, .png, .html or .dot")
    if one_sheet and form == "html":
        stop("a page shows sheets; --one-sheet is for .svg, .pdf and .png")
    one_sheet = one_sheet or form == "dot"
    if one_sheet and (paper or layer or only or sheet or style or since or against):
        stop(
            "one picture that is not divided takes no --paper, --layer, --only, --sheet, --style, --since or --against"
        )
    if since and against:
        stop("compare with one: --since REVISION or --against OLD")
    if "changes" in layer and not (since or against):
        stop("what has changed is told by comparing: add --since REVISION or --against OLD.boat")
    settings = settings_for(style, paper)
    built = one_design(design)
    if only is not None:
        known_element(built, only)
    from linter.drawing.draw import draw as draw_diagram
    from linter.drawing.draw import file_names, left_over, write
    from linter.drawing.sheets import sheets
    from linter.rules.engine import examine

    result = examine(built, None, today)
    findings = () if plain else result.findings
    changes = compared_with(result, since, against, today) if since or against else None
    if one_sheet:
        save(output, draw_diagram(built, form, findings))  # type: ignore[arg-type]
        finish(built, result)
        return
    # Beside changes, findings would be a second series of numbers: they come where they are asked for.
    usual = ("ratings",) if changes is not None else ("ratings", "findings")
    layers = [name for name in layer or usual if not (plain and name == "findings")] or ["plain"]
    pictures = sheets(built, findings, settings, layers, result.study, only or "", changes)
    if sheet is not None:
        if sheet > len(pictures):
            stop(f"there is no sheet {sheet}: the diagram has {len(pictures)}")
        pictures = [pictures[sheet - 1]]
    if output == "-" and len(pictures) > 1:
        stop(f"the diagram has {len(pictures)} sheets; choose one with --sheet, or --one-sheet")
    if form == "html":
        from linter.drawing.page import page

        save(output, page(pictures, result.study, findings, only or ""))
        finish(built, result)
        return
    if form in {"pdf", "png"}:
        tell_boxes(pictures)
    files = write(pictures, form)  # type: ignore[arg-type]
    names = file_names(output, len(files))
    for name, data in zip(names, files, strict=True):
        save(name, data)
    if len(files) > 1:
        from linter.report.safe import for_terminal

        told = [f"{n}: {p.title}" for n, p in zip(names, pictures, strict=True)]
        click.echo("\n".join(map(for_terminal, told)))
    stale = left_over(output, names) if output != "-" and sheet is None else []
    if stale:
        from linter.report.safe import for_terminal

        said = for_terminal(", ".join(stale))
        click.echo(
            f"wireworthy: not of this drawing and left as it was: {said}; remove it if it is an old sheet", err=True
        )
    finish(built, result)


def tell_boxes(pictures: Sequence[Picture]) -> None:
    """Say once which letters cannot be drawn."""
    from linter.drawing.export import boxed

    letters = boxed(pictures)
    if letters:
        some = " ".join(letters[:12]) + (" …" if len(letters) > 12 else "")
        said = f"no font here has {some}: boxes stand in their place; install a font that has them, or draw an .svg"
        click.echo(f"wireworthy: {said}", err=True)


def compared_with(result: Examination, since: str | None, against: str | None, today: Any) -> Changes:
    """What is other than in an earlier design, which is examined by the same rules on the same day."""
    from linter.cli_changes import changes_of
    from linter.history.compare import compared
    from linter.history.sides import Sides, two_sides
    from linter.rules.engine import examine
    from linter.source.files import Unusable

    path = result.design.path
    if path == "-" and (since or not os.path.exists(against or "")):
        stop("standard input has no history; name a file, or --against a file")
    try:
        with Sides() as sides:
            if since is not None:
                before = sides.at_revision(since, path)
            elif path == "-":
                before = sides.on_disk(against or "")
            else:
                before, _ = two_sides(sides, against or "", path, None)
            was = examine(before.design, None, today, before=result.study)
            return changes_of(compared(before, sides.of(result.design), was, result))
    except Unusable as problem:
        stop(str(problem))


def settings_for(style: str | None, paper: str | None) -> Any:
    """The settings of the file, if one is named, on the paper asked for."""
    from dataclasses import replace

    from linter.drawing.sheets import Settings
    from linter.drawing.style import StyleError, read_style

    try:
        made = read_style(style) if style is not None else Settings()
    except StyleError as problem:
        stop(str(problem))
    return replace(made, paper=paper) if paper else made


@click.command(epilog=STATUSES)
@click.argument("design")
@click.argument("device", nargs=-1)
@click.option("-o", "--output", required=True, metavar="FILE",
              help="An .svg, .pdf or .png file; - is standard output, as SVG.")  # fmt: skip
@click.option("--page", type=click.Choice(["a4", "letter"]), default="a4", show_default=True, help="On its side.")
def curves(design: str, device: tuple[str, ...], output: str, page: str) -> None:
    """Plot time against current: devices, what is above and below them, and what they guard."""
    form = "svg" if output == "-" else os.path.splitext(output)[1].lstrip(".").lower()
    if form not in {"svg", "pdf", "png"}:
        stop(f"{output}: the name of the plot ends in .svg, .pdf or .png")
    built = one_design(design)
    known_devices(built, device)
    from linter.drawing.curves import draw as draw_curves
    from linter.study.study import study_of

    made = study_of(built)
    save(output, draw_curves(made, device, form, page))  # type: ignore[arg-type]
    built.mistakes.extend(made.mistakes)
    finish(built)


def known_devices(design: Design, named: tuple[str, ...]) -> None:
    """Stops where a name is no device's, none is given, or more than one plot holds."""
    from linter.drawing.curves import GREATEST_NAMED
    from linter.model.elements import Device
    from linter.source.guess import Guesser

    devices = [name for name, e in design.elements.items() if isinstance(e, Device)]
    if not named:
        some = ", ".join(devices[:3]) + (f" and {len(devices) - 3} more" if len(devices) > 3 else "")
        stop(f"name the devices to plot; the design has {some}" if devices else "the design has no device to plot")
    for name in named:
        element = design.elements.get(name)
        other = next((s for s in (design.systems, design.places, design.parts) if name in s), None)
        if element is not None and not isinstance(element, Device):
            stop(f"{name} is a {element.kind}, no fuse or breaker")
        if element is None and other is not None:
            stop(f"{name} is a {other[name].statement.kind}, no fuse or breaker")
        if element is None:
            stop(f"there is no device {name}; {Guesser().nearest(name, devices, 0.5)}".rstrip("; "))
    if len(dict.fromkeys(named)) > GREATEST_NAMED:
        stop(f"a plot holds at most {GREATEST_NAMED} devices; beside one or two, neighbours come by themselves")


COMMANDS = (draw, curves)
