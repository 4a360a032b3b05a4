"""The command line: each command a few lines over the rooms below.  Heavy imports are made where they are used."""

from __future__ import annotations

import gc
import os
import sys
from collections.abc import Callable
from typing import TYPE_CHECKING, Any, NoReturn

import click

from linter import __version__
from linter.cli_history import COMMANDS as HISTORY
from linter.cli_source import COMMANDS

if TYPE_CHECKING:
    from linter.model.design import Design
    from linter.rules.engine import Examination
    from linter.rules.registry import Rule

FOUND, WRONG_CALL, INCOMPLETE = 1, 2, 3

SEVERITIES = ("danger", "fault", "doubt", "advice")
COLOURS: dict[str, dict[str, Any]] = {
    "danger": {"fg": "red", "bold": True}, "fault": {"fg": "yellow", "bold": True}, "doubt": {"fg": "cyan"},
    "advice": {"fg": "blue"}, "error": {"fg": "red", "bold": True}, "mend": {"fg": "green"}, "mark": {"bold": True},
    "clean": {"fg": "green", "bold": True}, "accepted": {"dim": True},
}  # fmt: skip

STATUSES = """
Exit status: 0 nothing at or above the threshold; 1 findings; 2 the call was wrong or the input unusable;
3 incomplete: a file could not be read in full, or a rule broke.
"""


class Group(click.Group):
    """Commands in the order in which one meets them."""

    def list_commands(self, ctx: click.Context) -> list[str]:
        return list(self.commands)


@click.group(cls=Group, context_settings={"help_option_names": ["-h", "--help"], "max_content_width": 100})
@click.version_option(__version__, prog_name="wireworthy")
def main() -> None:
    """A boat's wiring as text: its protection proved, its diagram drawn.

    A design is a .boat file; a folder means every design below it; - is standard input.
    """


for command in (*COMMANDS, *HISTORY):
    main.add_command(command)


def run() -> None:
    """The program: the commands, and what to say where even saying is not possible."""
    # One command, one process: what it makes stays until the end, and the collector would only look in vain.
    gc.disable()
    try:
        main()
    except BrokenPipeError:
        # whoever read our words has stopped; the interpreter must not try to write the rest
        os.dup2(os.open(os.devnull, os.O_WRONLY), sys.stdout.fileno())
        raise SystemExit(WRONG_CALL) from None
    except OSError as problem:
        os.dup2(os.open(os.devnull, os.O_WRONLY), sys.stdout.fileno())
        stop(f"cannot write: {problem.strerror or problem}")
    finally:
        # the interpreter collects once more as it ends, which takes seconds with a large boat: nothing is left for it
        gc.freeze()


def stop(message: str, status: int = WRONG_CALL) -> NoReturn:
    from linter.report.safe import for_terminal

    click.echo(f"wireworthy: {for_terminal(message)}", err=True)
    raise SystemExit(status)


def designs_of(arguments: tuple[str, ...], report: Callable[[float], None] | None = None) -> list[Design]:
    """The designs that the arguments mean; stops with status 2 where one cannot be read at all."""
    from linter.model.build import build
    from linter.source.files import Reader, Unusable, decode, designs_under

    reader = Reader(report)
    found = []
    try:
        for argument in arguments:
            if argument == "-":
                ok, text = decode(sys.stdin.buffer.read())
                if not ok:
                    raise Unusable(f"standard input {text}")
                found.append(build(reader.design_text(text)))
            else:
                found += [build(reader.design(path)) for path in designs_under(argument, reader)]
    except Unusable as problem:
        stop(str(problem))
    return found


def one_design(argument: str) -> Design:
    found = designs_of((argument,))
    if len(found) != 1:
        stop(f"{argument}: {len(found)} designs below this folder; name one of them")
    return found[0]


def colour(text: str, kind: str) -> str:
    return click.style(text, **COLOURS.get(kind, {}))


def wants_colour() -> bool:
    return sys.stdout.isatty() and not os.environ.get("NO_COLOR")


def chosen_rules(only: tuple[str, ...], without: tuple[str, ...]) -> list[Rule]:
    from linter.rules.registry import rules

    every = {r.name: r for r in rules()}
    for name in (*only, *without):
        known_rule(name)
    names = only or tuple(every)
    left = [every[n] for n in every if n in names and n not in without]
    if not left:
        stop("no rule is left to run")
    return left


def known_rule(name: str) -> Rule:
    import difflib

    from linter.rules.registry import rules

    every = {r.name: r for r in rules()}
    if name not in every:
        near = difflib.get_close_matches(name, every, n=1)
        stop(f"there is no rule {name}" + (f"; did you mean {near[0]}?" if near else "; `wireworthy rules` lists them"))
    return every[name]


def a_date(ctx: click.Context, param: click.Parameter, value: str | None) -> Any:
    import datetime

    del ctx, param
    if value is None:
        return None
    try:
        return datetime.date.fromisoformat(value)
    except ValueError:
        raise click.BadParameter(f"{value} is no date; write 2027-04-01") from None


def severities_of(settings: tuple[str, ...]) -> dict[str, Any]:
    from linter.rules.finding import Severity

    found = {}
    for setting in settings:
        name, equals, word = setting.partition("=")
        if not equals or word not in SEVERITIES:
            stop(f"--severity {setting}: write RULE=WORD, the word one of {', '.join(SEVERITIES)}")
        found[known_rule(name).name] = Severity(word)
    return found


@main.command(epilog=STATUSES)
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


def status_of(results: list[Examination], fail_on: str) -> int:
    """The exit status; incomplete is never silenced."""
    if not all(r.complete for r in results):
        return INCOMPLETE
    if fail_on == "never":
        return 0
    worst = min((w.rank for r in results if (w := r.worst()) is not None), default=len(SEVERITIES))
    return FOUND if worst <= SEVERITIES.index(fail_on) else 0


@main.command(epilog=STATUSES)
@click.argument("design")
@click.option("-o", "--output", required=True, metavar="FILE",
              help="An .svg, .pdf, .png, .html or .dot file; - is standard output, as SVG.")  # fmt: skip
@click.option("--paper", type=click.Choice(["a3", "a4"]), help="The sheets, on their side; default a3.")
@click.option("--layer", multiple=True, type=click.Choice(["plain", "ratings", "study", "findings"]),
              help="What to write at the elements; may be repeated. Default: ratings and findings.")  # fmt: skip
@click.option("--only", metavar="ELEMENT", help="Only the part around it, from its sources to its loads.")
@click.option("--sheet", type=click.IntRange(min=1), metavar="N", help="Only this sheet.")
@click.option("--one-sheet", is_flag=True, help="One picture as large as it must be, not divided into sheets.")
@click.option("--style", metavar="FILE", help="A yard's settings (TOML): paper, text, words, title block, symbols.")
@click.option("--plain", is_flag=True, help="Without findings.")
@click.option("--today", callback=a_date, metavar="DATE", help="The day by which acceptances end; default today.")
def draw(
    design: str, output: str, paper: str | None, layer: tuple[str, ...], only: str | None, sheet: int | None,
    one_sheet: bool, style: str | None, plain: bool, today: Any,
) -> None:  # fmt: skip
    """Draw the single-line diagram on sheets, findings marked at their elements.

    Several sheets become one PDF, or as many files as there are sheets: x-1.svg, x-2.svg.
    """
    form = "svg" if output == "-" else os.path.splitext(output)[1].lstrip(".").lower()
    if form not in {"svg", "pdf", "png", "html", "dot"}:
        stop(f"{output}: the name of the diagram ends in .svg, .pdf, .png, .html or .dot")
    if one_sheet and form == "html":
        stop("a page shows sheets; --one-sheet is for .svg, .pdf and .png")
    one_sheet = one_sheet or form == "dot"
    if one_sheet and (paper or layer or only or sheet or style):
        stop("one picture that is not divided takes no --paper, --layer, --only, --sheet or --style")
    settings = settings_for(style, paper)
    built = one_design(design)
    if only is not None:
        known_element(built, only)
    from linter.drawing.draw import draw as draw_diagram
    from linter.drawing.draw import file_names, write
    from linter.drawing.sheets import sheets
    from linter.rules.engine import examine

    result = examine(built, None, today)
    findings = () if plain else result.findings
    if one_sheet:
        save(output, draw_diagram(built, form, findings))  # type: ignore[arg-type]
        finish(built, result)
        return
    layers = [name for name in layer or ("ratings", "findings") if not (plain and name == "findings")] or ["plain"]
    pictures = sheets(built, findings, settings, layers, result.study, only or "")
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
    files = write(pictures, form)  # type: ignore[arg-type]
    names = file_names(output, len(files))
    for name, data in zip(names, files, strict=True):
        save(name, data)
    if len(files) > 1:
        from linter.report.safe import for_terminal

        told = [f"{n}: {p.title}" for n, p in zip(names, pictures, strict=True)]
        click.echo("\n".join(map(for_terminal, told)))
    finish(built, result)


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


def known_element(design: Design, name: str) -> None:
    from linter.source.guess import Guesser

    if name not in design.elements:
        near = Guesser().nearest(name, list(design.elements), 0.5)
        stop(f"there is no element {name}; {near}".rstrip("; "))


@main.command(epilog=STATUSES)
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


@main.command(epilog=STATUSES)
@click.argument("design")
@click.option("--format", "form", type=click.Choice(["json", "graphml", "dot"]), default="json", show_default=True)
@click.option("-o", "--output", metavar="FILE", help="Default: standard output.")
def graph(design: str, form: str, output: str | None) -> None:
    """Give the circuit as a graph, for other programs."""
    import json

    from linter.model.export import circuit_json, dot, graphml

    built = one_design(design)
    if form == "json":
        text = json.dumps(circuit_json(built), indent=1, ensure_ascii=False) + "\n"
    else:
        text = graphml(built) if form == "graphml" else dot(built)
    give(text, output)
    finish(built)


@main.command(epilog=STATUSES)
@click.argument("design")
@click.option("--of", type=click.Choice(["conductors", "devices", "loads", "scenes", "energy"]), default="conductors",
              show_default=True, help="What to list.")  # fmt: skip
@click.option("--format", "form", type=click.Choice(["table", "csv", "json"]), default="table", show_default=True)
@click.option("-o", "--output", metavar="FILE", help="Default: standard output.")
def study(design: str, of: str, form: str, output: str | None) -> None:
    """The figures: conductors (size, capacity, let-through, guard, margin, faults, opening, heat), devices (rating,
    breaking capacity and fault currents), loads (voltage and drop in the worst scene
    and by itself), scenes (voltages and currents in each), energy (a day's, by bank)."""
    from linter.report.of import study_text
    from linter.study.study import study_of

    built = one_design(design)
    made = study_of(built)
    give(study_text(made, of, form), output)
    built.mistakes.extend(made.mistakes)
    finish(built)


@main.command()
def rules() -> None:
    """List the rules."""
    from linter.report.rulepage import rule_line
    from linter.rules.registry import pages as every

    width = max(len(r.name) for r in every())
    click.echo("\n".join(rule_line(r, width) for r in every()))


@main.command()
@click.argument("rule")
def explain(rule: str) -> None:
    """Say what a rule demands, why, whose clause it is, and what mends a breach."""
    from linter.report.rulepage import rule_page
    from linter.rules.registry import pages

    page = next((r for r in pages() if r.name == rule), None) or known_rule(rule)
    click.echo("\n".join(rule_page(page)))


def save(path: str, data: bytes) -> None:
    from linter.report.safe import write_whole

    try:
        if path == "-":
            sys.stdout.buffer.write(data)
            sys.stdout.buffer.flush()
        else:
            write_whole(path, data)
    except OSError as problem:
        stop(f"{path}: cannot be written: {problem.strerror or problem}")


def give(text: str, output: str | None) -> None:
    if output is None:
        click.echo(text, nl=False)
    else:
        save(output, text.encode("utf-8"))


def finish(design: Design, result: Examination | None = None) -> None:
    """Say on standard error what could not be read, and end with status 3 if something was lost."""
    from linter.report.text import mistake_text, plain

    mistakes = result.mistakes if result is not None else design.mistakes
    for mistake in mistakes:
        click.echo("\n".join(mistake_text(mistake, plain)), err=True)
    if any(m.loses for m in mistakes) or (result is not None and not result.complete):
        click.echo("wireworthy: incomplete: part of the design could not be read", err=True)
        raise SystemExit(INCOMPLETE)


if __name__ == "__main__":
    run()
