"""The revision in the title block: the commit a design's files are at, and whether they were changed since.

The design's folder may come from anywhere.  Git is asked only for names, listings and contents of objects; hooks,
filters, monitors and signature programs that a configuration there might name are not run, and whether a file was
changed is found by reading it here.
"""

from __future__ import annotations

import hashlib
import os
import shutil
import subprocess
from dataclasses import dataclass
from datetime import UTC, datetime
from pathlib import Path

from linter.model.design import Design

_PATIENCE_S = 20
_LEAST_DIGITS = 8
_QUIET = ("-c", "core.fsmonitor=false", "-c", "core.hooksPath=/dev/null", "-c", "protocol.allow=never",
          "--no-pager", "--no-replace-objects", "--literal-pathspecs")  # fmt: skip


@dataclass(frozen=True, slots=True)
class Revision:
    commit: str
    date: str
    changed: bool


def _git(folder: Path, *arguments: str) -> bytes | None:
    program = shutil.which("git")
    if program is None:
        return None
    kept = {k: v for k, v in os.environ.items() if not k.startswith("GIT_")}
    environment = kept | {
        "GIT_OPTIONAL_LOCKS": "0", "GIT_TERMINAL_PROMPT": "0", "GIT_NO_LAZY_FETCH": "1", "LC_ALL": "C",
    }  # fmt: skip
    try:
        done = subprocess.run(
            [program, *_QUIET, "-C", str(folder), *arguments],
            capture_output=True, timeout=_PATIENCE_S, check=False, env=environment, stdin=subprocess.DEVNULL,
        )  # fmt: skip
    except (OSError, subprocess.SubprocessError):
        return None
    return done.stdout if done.returncode == 0 else None


def files_of(design: Design) -> list[Path]:
    """The files that the design was read from."""
    named = [*design.elements.values(), *design.systems.values(), *design.places.values(), *design.parts.values()]
    names = dict.fromkeys([design.path, *(n.source.text.name for n in named)])
    return [path for name in names if (path := Path(name)).is_file()]


def revision_of(design: Design) -> Revision | None:
    """The commit and its day where the design lies in a git work tree; None elsewhere, or where git is not there."""
    first = Path(design.path)
    if not first.is_file():
        return None
    folder = first.resolve().parent
    top = _git(folder, "rev-parse", "--show-toplevel", "--verify", "HEAD^{commit}")
    if top is None or len(lines := top.decode("utf-8", "surrogateescape").splitlines()) != 2:
        return None
    root, commit = Path(lines[0]), lines[1]
    date = _date(_git(folder, "cat-file", "commit", commit))
    if date is None:
        return None
    files = files_of(design)
    changed = any(not _as_committed(root, commit, path) for path in files)
    return Revision(commit[:_LEAST_DIGITS], date, changed)


def _date(commit: bytes | None) -> str | None:
    """The day of a commit, in UTC, so that it is the same for everybody."""
    for line in (commit or b"").splitlines():
        if line.startswith(b"committer "):
            try:
                seconds = int(line.split()[-2])
                return datetime.fromtimestamp(seconds, UTC).date().isoformat()
            except (ValueError, IndexError, OverflowError, OSError):
                return None
    return None


def _as_committed(root: Path, commit: str, path: Path) -> bool:
    try:
        within = path.resolve().relative_to(root.resolve())
        data = path.read_bytes()
    except (ValueError, OSError):
        return False
    listed = _git(root, "ls-tree", "-z", "--full-tree", commit, "--", within.as_posix())
    if not listed:
        return False
    known = listed.split(b"\t", 1)[0].split()[-1].decode("ascii", "replace")
    # Git may have written line ends as the system has them.
    return known in (_name(data, known), _name(data.replace(b"\r\n", b"\n"), known))


def _name(data: bytes, like: str) -> str:
    """What git calls a file with this content."""
    made = hashlib.sha256() if len(like) == 64 else hashlib.sha1(usedforsecurity=False)
    made.update(b"blob %d\0" % len(data) + data)
    return made.hexdigest()
