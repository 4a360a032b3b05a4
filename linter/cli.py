"""The command line: which commands there are, and how the program ends.  Heavy imports are made where they are used."""

from __future__ import annotations

import gc
import os
import sys

import click

from linter import (
    __version__,
    cli_advice,
    cli_binder,
    cli_check,
    cli_draw,
    cli_explain,
    cli_history,
    cli_source,
    cli_study,
    cli_tripped,
)
from linter.cli_common import WRONG_CALL, stop


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


for family in (
    cli_source,
    cli_history,
    cli_check,
    cli_draw,
    cli_study,
    cli_advice,
    cli_tripped,
    cli_binder,
    cli_explain,
):
    for command in family.COMMANDS:
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


if __name__ == "__main__":
    run()
