"""The commands that write designs: a new one, one from a cable schedule, and the canonical form."""

from __future__ import annotations

import sys

import click

ENDS = """
Exit status: 0 done; 1 a file is not in canonical form (--check); 2 the call was wrong or a file unusable;
3 incomplete: a file has mistakes and was left as it was, or a part of the schedule was not taken over.
"""


@click.command(epilog=ENDS)
@click.argument("name")
@click.option(
    "-o", "--output", metavar="FILE", help="Default: the name in small letters, with .boat; - is standard output."
)
def new(name: str, output: str | None) -> None:
    """Write a small complete design to start from, with comments that teach.  Nothing is overwritten."""
    from linter.cli_common import stop
    from linter.source.start import file_for, start_text

    try:
        text = start_text(name)
    except ValueError as problem:
        stop(f"{name[:80]}: {problem}")
    path = output or file_for(name)
    if not path:
        stop(f"{name}: no file can be called so; say -o FILE")
    _put(path, text)
    if path != "-":
        click.echo(f"{_shown(path)}: written; next: wireworthy check {_shown(path)}")


@click.command("import", epilog=ENDS)
@click.argument("csv")
@click.option("-o", "--output", metavar="FILE", help="A .boat file that is not yet there.  Default: standard output.")
@click.option("--boat", metavar="NAME", help="The boat's name.  Default: that of the schedule's file.")
@click.option(
    "--voltage", metavar="VOLTAGE", default="", help='Nominal voltage of her one system, for instance "12 V".'
)
def import_(csv: str, output: str | None, boat: str | None, voltage: str) -> None:
    """Make a first design from a cable schedule: from, to, size, length, device, rating, label.

    A - is standard input.  What the schedule does not say is marked "to do"; nothing is invented.
    """
    from pathlib import Path

    from linter.cli_common import INCOMPLETE, stop
    from linter.source.files import Unusable, decode, read_text
    from linter.source.schedule import import_schedule

    try:
        ok, text = decode(sys.stdin.buffer.read()) if csv == "-" else read_text(Path(csv))
        if not ok:
            raise Unusable(text)
        made = import_schedule(text, boat or ("Unnamed" if csv == "-" else Path(csv).stem), voltage)
    except (Unusable, ValueError) as problem:
        stop(f"{csv}: {problem}")
    _put(output or "-", made.text)
    for found in made.problems:
        click.echo(f"{_shown(csv)}:{_shown(str(found))}", err=True)
    counts = [f"{n} {what}{'s' * (n != 1)}" for n, what in ((made.rows, "row"), (made.conductors, "conductor"))]
    marks = f'{made.to_do} mark{"s" * (made.to_do != 1)} "to do"'
    click.echo(f"{_shown(csv)}: {', '.join([*counts, marks])}", err=True)
    if made.problems:
        raise SystemExit(INCOMPLETE)


@click.command(epilog=ENDS)
@click.argument("design", nargs=-1, required=True)
@click.option("--check", is_flag=True, help="Write nothing; status 1 if a file would change.")
@click.option("--diff", "show", is_flag=True, help="Write nothing; show what would change.")
def tidy(design: tuple[str, ...], check: bool, show: bool) -> None:
    """Put files in their canonical form.

    A file means that file only, not what it uses; a folder every .boat file below it; - reads standard input and
    writes standard output.  A file with mistakes is left as it was.
    """
    from linter.cli_common import FOUND, INCOMPLETE, WRONG_CALL
    from linter.report.text import mistake_text, plain
    from linter.source.files import Unusable
    from linter.source.tidy_files import difference, files_under, tidied_bytes, tidied_file
    from linter.whole import write_whole

    statuses = {0}

    def complain(message: str, status: int) -> None:
        click.echo(f"wireworthy: {_shown(message)}", err=True)
        statuses.add(status)

    paths: list[str] = []
    for argument in design:
        try:
            paths += ["-"] if argument == "-" else files_under(argument)
        except Unusable as problem:
            complain(str(problem), WRONG_CALL)
    for path in dict.fromkeys(paths):
        try:
            found = tidied_bytes("-", sys.stdin.buffer.read()) if path == "-" else tidied_file(path)
            if found.mistakes:
                for mistake in found.mistakes:
                    click.echo("\n".join(mistake_text(mistake, plain)), err=True)
                complain(f"{path}: left as it was", INCOMPLETE)
                continue
            if show:
                for line in difference(found):
                    click.echo("\t".join(map(_shown, line.split("\t"))))
            elif check:
                if found.changes:
                    click.echo(f"{_shown(path)}: not in canonical form")
            elif path == "-":
                _put("-", found.after)
            elif found.changes:
                write_whole(path, found.after.encode("utf-8"))
                click.echo(f"{_shown(path)}: tidied")
            if check and found.changes:
                statuses.add(FOUND)
        except Unusable as problem:
            complain(str(problem), WRONG_CALL)
        except OSError as problem:
            complain(f"{path}: cannot be written: {problem.strerror or problem}", WRONG_CALL)
    # what could not be done weighs more than what is merely untidy
    raise SystemExit(next(s for s in (WRONG_CALL, INCOMPLETE, FOUND, 0) if s in statuses))


def _shown(text: str) -> str:
    from linter.report.safe import for_terminal

    return for_terminal(text)


def _put(path: str, text: str) -> None:
    """Write a file that is not yet there, or to standard output; stops where it is there already."""
    from linter.cli_common import save, stop
    from linter.source.start import write_new

    if path == "-":
        save(path, text.encode("utf-8"), design=True)
        return
    try:
        write_new(path, text)
    except FileExistsError:
        stop(f"{path}: is there already, and is not overwritten; name another file with -o")
    except OSError as problem:
        stop(f"{path}: cannot be written: {problem.strerror or problem}")
    except ValueError:
        stop(f"{path!r}: is no file's name")


COMMANDS = (new, import_, tidy)
