"""Text from a design, made safe for where it is shown, and files written whole or not at all."""

from __future__ import annotations

import os
import re
import tempfile
from pathlib import Path

# Controls, and marks that turn the direction of writing: on a terminal they could hide or fake what is said.
_HIDDEN = re.compile(r"[\x00-\x08\x0a-\x1f\x7f-\x9f\u200b-\u200f\u2028-\u202e\u2060-\u2069\ufeff\ud800-\udfff]")


def for_terminal(text: str) -> str:
    """``text`` without anything that a terminal acts upon; such characters are shown by their number."""
    return _HIDDEN.sub(lambda m: f"\\u{{{ord(m[0]):x}}}", text).replace("\t", " ")


def for_csv(text: str) -> str:
    """``text`` that no spreadsheet takes for a formula."""
    return "'" + text if text[:1] in {"=", "+", "-", "@", "\t", "\r"} else text


def write_whole(path: str, data: bytes) -> None:
    """Write ``data`` to ``path`` by way of a new file beside it, so that a broken run leaves no half of one.

    A link is followed; what is no ordinary file (a pipe, a device) is written to as it is; a file that may not be
    written is left alone.  Raises OSError where that cannot be done.
    """
    target = Path(path).resolve()
    if target.exists():
        if not os.access(target, os.W_OK) or not target.stat().st_mode & 0o222:
            raise PermissionError(13, "the file there may not be written")
        if not target.is_file():
            target.write_bytes(data)
            return
    handle, name = tempfile.mkstemp(dir=target.parent, prefix=f".{target.name}.")
    try:
        with os.fdopen(handle, "wb") as file:
            file.write(data)
        mask = os.umask(0)
        os.umask(mask)
        os.chmod(name, 0o666 & ~mask)
        os.replace(name, target)
    except BaseException:
        Path(name).unlink(missing_ok=True)
        raise
