"""Files written whole or not at all."""

from __future__ import annotations

import os
import tempfile
from pathlib import Path


def write_whole(path: str | os.PathLike[str], data: bytes) -> None:
    """Write ``data`` to ``path`` by way of a new file beside it, so that a broken run leaves no half of one.

    A link is followed and stays one; a file that is there keeps its mode, and is left alone where it may not be
    written; what is no ordinary file (a pipe, a device) is written to as it is.  Raises OSError where that cannot be
    done.
    """
    target = Path(path).resolve()
    mode: int | None = None
    if target.exists():
        mode = target.stat().st_mode & 0o7777
        if not os.access(target, os.W_OK) or not mode & 0o222:
            raise PermissionError(13, "the file there may not be written")
        if not target.is_file():
            target.write_bytes(data)
            return
    handle, name = tempfile.mkstemp(dir=target.parent, prefix=f".{target.name}.")
    try:
        with os.fdopen(handle, "wb") as file:
            file.write(data)
        if mode is None:
            mask = os.umask(0)
            os.umask(mask)
            mode = 0o666 & ~mask
        os.chmod(name, mode)
        os.replace(name, target)
    except BaseException:
        Path(name).unlink(missing_ok=True)
        raise
