"""The commands that give figures and the circuit, for people and for programs."""

from __future__ import annotations

import click

from linter.cli_common import STATUSES, finish, give, one_design


@click.command(epilog=STATUSES)
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


@click.command(epilog=STATUSES)
@click.argument("design")
@click.option("--of", type=click.Choice(["conductors", "devices", "loads", "scenes", "energy"]), default="conductors",
              show_default=True, help="What to list.")  # fmt: skip
@click.option("--format", "form", type=click.Choice(["table", "csv", "json"]), default="table", show_default=True)
@click.option("--wide", is_flag=True, help="Every column of a table, however wide; else those that the terminal holds.")
@click.option("-o", "--output", metavar="FILE", help="Default: standard output.")
def study(design: str, of: str, form: str, wide: bool, output: str | None) -> None:
    """The figures: conductors (size, capacity, let-through, guard, margin, faults, opening, heat, how much
    more resistance its guard bears), devices (rating, breaking capacity and fault currents), loads (voltage and drop in
    the worst scene and by itself), scenes (voltages and currents in each), energy (a day's, by bank)."""
    from linter.report.of import study_text
    from linter.study.study import study_of

    built = one_design(design)
    if of == "conductors":
        # a verdict is no more than what is open on it
        from linter.rules.engine import examine

        result = examine(built)
        give(study_text(result.study, of, form, result.findings, wide=wide), output)
        finish(built, result)
        return
    made = study_of(built)
    give(study_text(made, of, form, wide=wide), output)
    built.mistakes.extend(made.mistakes)
    finish(built)


COMMANDS = (graph, study)
