"""A small complete design to start from, with comments that teach."""

from __future__ import annotations

import os
import re
from importlib.resources import files

from linter.source.parser import parse
from linter.source.tidy import tidy

GREATEST_NAME = 200


def start_text(boat: str) -> str:
    """The text of a design for a boat of that name, in canonical form.

    Raises ValueError, with the reason, for a name that cannot stand in a text of the language.
    """
    if not boat.strip():
        raise ValueError("a boat has a name")
    if len(boat) > GREATEST_NAME:
        raise ValueError(f"a name has no more than {GREATEST_NAME} characters")
    template = files("linter").joinpath("source", "templates", "start.boat").read_text(encoding="utf-8")
    source = parse("start.boat", template.replace('boat "NAME"', f'boat "{boat}"', 1))
    if source.mistakes or source.statements[0].label != boat:
        raise ValueError("a name stands on one line, without double quotes and characters that cannot be seen")
    return tidy(source)


def file_for(boat: str) -> str:
    """The name of a file for a boat: small letters, digits and hyphens; nothing where the name has none."""
    name = re.sub(r"[\W_]+", "-", boat.casefold()).strip("-")[:60].rstrip("-")
    return f"{name}.boat" if name else ""


def write_new(path: str, text: str) -> None:
    """Write a file that is not yet there.  Raises FileExistsError, or OSError where it cannot be written."""
    # Made and not replaced: nobody else's file is lost, also where two do it at one time.
    handle = os.open(path, os.O_WRONLY | os.O_CREAT | os.O_EXCL, 0o666)
    try:
        with os.fdopen(handle, "wb") as file:
            file.write(text.encode("utf-8"))
    except BaseException:
        os.unlink(path)
        raise
