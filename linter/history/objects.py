"""Files of a revision, read from git's own objects: neither checkout nor index is touched, nothing is run or fetched.

Everything is asked of one `git cat-file --batch` by its standard input, so that no name can become an option.  Only
blobs, trees, commits and tags as they are stored are read: no filter, text conversion, external comparison or hook.
"""

from __future__ import annotations

import os
import re
import subprocess
from collections.abc import Iterator
from contextlib import suppress
from dataclasses import dataclass, field
from pathlib import Path, PurePosixPath
from types import TracebackType

from linter.source.files import GREATEST_BYTES, NO_FILE, Unusable, decode

# What a repository's own configuration could make git do on reading is switched off: fetching what is missing (and the
# commands for it), a watcher of files, hooks.  The user's own configuration counts: it says which folders are trusted.
SAFE = (
    "--no-pager", "--no-optional-locks", "--no-replace-objects", "-c", "core.fsmonitor=false",
    "-c", "core.hooksPath=/dev/null", "-c", "core.sshCommand=false", "-c", "protocol.allow=never",
    "-c", "core.pager=cat", "-c", "core.askPass=",
)  # fmt: skip
# A question that reads a few small files; what takes longer is no answer (a setting that names a pipe, say).
GREATEST_WAIT_S = 60.0
GREATEST_FILES = 200_000
FOLDER, LINK, MODULE = "40000", "120000", "160000"
_CONTROL = re.compile(r"[\x00-\x1f\x7f]")
_ID = re.compile(rb"[0-9a-f]{40}(?:[0-9a-f]{24})?")


def _environment() -> dict[str, str]:
    """Ours without what would point git elsewhere."""
    kept = {k: v for k, v in os.environ.items() if not k.startswith("GIT_")}
    return kept | {
        "GIT_ALLOW_PROTOCOL": "none", "GIT_NO_LAZY_FETCH": "1", "GIT_TERMINAL_PROMPT": "0", "LC_ALL": "C",
    }  # fmt: skip


@dataclass(frozen=True, slots=True)
class Entry:
    mode: str
    id: str


@dataclass(slots=True)
class Repository:
    """An open repository; ``top`` is the root of its checkout, None where it is bare.  To be closed after use."""

    at: Path
    top: Path | None
    shallow: bool
    _process: subprocess.Popen[bytes] | None = None
    _trees: dict[str, dict[str, Entry]] = field(default_factory=dict)

    def __enter__(self) -> Repository:
        return self

    def __exit__(
        self, kind: type[BaseException] | None, problem: BaseException | None, trace: TracebackType | None
    ) -> None:
        self.close()

    def close(self) -> None:
        if self._process is not None:
            for pipe in (self._process.stdin, self._process.stdout):
                if pipe is not None:
                    with suppress(OSError):  # what it no longer reads cannot be written
                        pipe.close()
            self._process.kill()
            self._process.wait()
            self._process = None

    def commit(self, revision: str) -> str:
        """The id of the commit that a revision names.  Raises Unusable where there is none."""
        if not revision or _CONTROL.search(revision) or not revision.isprintable():
            raise Unusable(f"{revision[:80]!r} is no revision")
        try:
            # behind words of a message nothing may follow
            found = self._object(revision if revision.startswith(":/") else f"{revision}^{{commit}}")
        except UnicodeEncodeError as problem:
            raise Unusable(f"{revision[:80]!r} is no revision") from problem
        except _Dead as problem:
            # it gives up on some revisions too, as on one older than the log of a branch
            mend = "it names nothing, or the repository is damaged: `git fsck` tells"
            raise Unusable(f"git cannot find revision {revision[:80]}; {mend}") from problem
        if found is None or found[1] != "commit":
            raise Unusable(f"{revision[:80]}: no such revision; {self._mend(revision)}")
        return found[0]

    def _mend(self, revision: str) -> str:
        """What to do about a revision that is not there."""
        if ".." in revision:
            return "a range is two of them: name each, as OLD:PATH NEW:PATH"
        if revision.startswith(("^", "-")) or ":" in revision or " " in revision:
            return "name a commit, a tag or a branch"
        if re.fullmatch("[0-9a-f]{4,}", revision):
            self._object(revision)  # says so where several begin with it
        try:
            known = self._object(f"refs/remotes/origin/{revision}^{{commit}}")
        except UnicodeEncodeError:
            known = None
        if known is not None:
            return f"there is origin/{revision}"
        if self.shallow:
            return "this clone is shallow and may lack it: fetch more of the history"
        return "name a commit, a tag or a branch"

    def files(self, revision: str) -> Files:
        """The files of a revision.  Raises Unusable where there is no such revision."""
        commit = self.commit(revision)
        found = self._object(f"{commit}^{{tree}}")
        if found is None or found[1] != "tree":
            raise Unusable(f"{revision}: its files are not in this repository")
        return Files(self, revision, commit, found[0])

    def tree(self, ident: str) -> dict[str, Entry] | None:
        """What is in a folder, by name; None where the repository lacks it."""
        if ident not in self._trees:
            found = self._object(ident)
            if found is None or found[1] != "tree":
                return None
            try:
                self._trees[ident] = dict(_entries(found[2], len(ident) // 2))
            except ValueError:
                return None
        return self._trees[ident]

    def blob(self, ident: str) -> tuple[bool, str]:
        """(True, the text) or (False, why it cannot be read)."""
        try:
            found = self._object(ident)
        except _TooLarge:
            return False, f"is larger than {GREATEST_BYTES // 2**20} MiB; no boat is"
        if found is None or found[1] != "blob":
            return False, "is not in this repository (a partial clone, or damaged); fetch it"
        return decode(found[2])

    def _object(self, name: str) -> tuple[str, str, bytes] | None:
        """(id, kind, content), or None where there is no such object."""
        if self._process is None:
            command = ["git", *SAFE, "cat-file", "--batch"]
            self._process = subprocess.Popen(
                command, cwd=self.at, env=_environment(), stdin=subprocess.PIPE, stdout=subprocess.PIPE,
                stderr=subprocess.DEVNULL,
            )  # fmt: skip
        pipe_in, pipe_out = self._process.stdin, self._process.stdout
        assert pipe_in is not None and pipe_out is not None
        try:
            pipe_in.write(name.encode("utf-8") + b"\n")
            pipe_in.flush()
        except BrokenPipeError as problem:
            self.close()
            raise _Dead from problem
        head = pipe_out.readline()
        words = head.rstrip(b"\n").split(b" ")
        if len(words) != 3 or not _ID.fullmatch(words[0]) or not words[2].isdigit():
            if not head:
                self.close()
                raise _Dead
            if words[-1] == b"ambiguous":
                raise Unusable(f"{name.partition('^')[0][:80]}: several things begin so; write more of its digits")
            return None
        size = int(words[2])
        if size > GREATEST_BYTES:
            self.close()
            raise _TooLarge
        content = pipe_out.read(size + 1)
        if len(content) != size + 1:
            self.close()
            raise _Dead
        return words[0].decode(), words[1].decode(), content[:-1]


class _Dead(Unusable):
    """Git gave up in the middle of our questions."""

    def __init__(self) -> None:
        super().__init__("git cannot read this repository; `git fsck` says what is damaged")


class _TooLarge(Unusable):
    def __init__(self) -> None:
        super().__init__(f"an object is larger than {GREATEST_BYTES // 2**20} MiB")


def _entries(content: bytes, width: int) -> Iterator[tuple[str, Entry]]:
    """A stored tree: mode, blank, name, NUL and so many bytes of the id, again and again."""
    at = 0
    while at < len(content):
        blank = content.index(b" ", at)
        end = content.index(b"\0", blank)
        ident = content[end + 1 : end + 1 + width]
        name = content[blank + 1 : end].decode("utf-8", "surrogateescape")
        yield name, Entry(content[at:blank].decode("ascii", "replace"), ident.hex())
        at = end + 1 + width


@dataclass(slots=True)
class Files:
    """The files of one revision.  A path within it stands below ``root``, which is no folder of the disk."""

    repository: Repository
    revision: str
    commit: str
    tree: str

    @property
    def root(self) -> Path:
        return Path("/") / self.commit

    def read(self, real: Path) -> tuple[bool, str]:
        """As `source.files.read_text`, for a path below ``root``; symbolic links and submodules are refused."""
        if not real.is_relative_to(self.root):
            return False, "lies outside the repository"
        entry = Entry(FOLDER, self.tree)
        for part in real.relative_to(self.root).parts:
            if entry.mode == LINK:
                return False, "is a symbolic link, or behind one; those of a revision are not followed"
            if entry.mode == MODULE:
                return False, "lies in a submodule, whose history is another repository's"
            if entry.mode != FOLDER:
                return False, NO_FILE
            below = self.repository.tree(entry.id)
            if below is None:
                return False, "is not in this repository (a partial clone, or damaged); fetch it"
            found = below.get(part)
            if found is None:
                return False, NO_FILE
            entry = found
        if entry.mode == LINK:
            return False, "is a symbolic link; those of a revision are not followed"
        if entry.mode == MODULE:
            return False, "is a submodule, whose history is another repository's"
        if entry.mode == FOLDER:
            return False, "is a folder, not a file"
        return self.repository.blob(entry.id)

    def ending(self, name: str) -> list[str]:
        """The paths of all files whose names end so, sorted.  Raises Unusable where there are too many files: folders
        may hold each other so that a few of them are more than the stars."""
        found, seen = [], 0
        waiting = [(PurePosixPath(), self.tree)]
        while waiting:
            at, ident = waiting.pop()
            for part, entry in (self.repository.tree(ident) or {}).items():
                seen += 1
                if seen > GREATEST_FILES:
                    raise Unusable(f"{self.revision}: more files than can be looked through; name REVISION:PATH")
                if entry.mode == FOLDER:
                    waiting.append((at / part, entry.id))
                elif part.endswith(name) and entry.mode not in {LINK, MODULE}:
                    found.append(str(at / part))
        return sorted(found)


def _told(command: list[str], folder: Path) -> subprocess.CompletedProcess[bytes]:
    return subprocess.run(
        command, cwd=folder, env=_environment(), stdin=subprocess.DEVNULL, capture_output=True, check=False,
        timeout=GREATEST_WAIT_S,
    )  # fmt: skip


def repository_at(folder: Path) -> Repository:
    """The repository in which a folder lies.  Raises Unusable where it lies in none, or git is not there."""
    asked = ["git", *SAFE, "rev-parse", "--is-bare-repository", "--is-shallow-repository"]
    try:
        made = _told(asked, folder)
        if made.returncode:
            said = made.stderr.decode("utf-8", "replace")
            if "dubious ownership" in said:
                raise Unusable("git does not trust this repository: it belongs to somebody else (safe.directory)")
            raise Unusable(f"{folder}: lies in no git repository")
        answers = made.stdout.split()
        if len(answers) != 2:
            raise Unusable(f"{folder}: git does not say whether this is a repository; look at what `git` runs")
        bare, shallow = answers
        top = None
        if bare != b"true":
            asked = ["git", *SAFE, "rev-parse", "--show-toplevel"]
            made = _told(asked, folder)
            if made.returncode or not made.stdout.strip():
                raise Unusable(f"{folder}: lies in git's own folder, not in a checkout")
            top = Path(os.fsdecode(made.stdout.rstrip(b"\n"))).resolve()
    except FileNotFoundError as problem:
        raise Unusable("a revision needs git, which is not installed, or the folder is not there") from problem
    except OSError as problem:
        raise Unusable(f"git cannot be run: {problem.strerror or problem}") from problem
    except subprocess.TimeoutExpired as problem:
        raise Unusable(f"{folder}: git does not answer; look at the repository's settings") from problem
    return Repository(folder, top, shallow == b"true")
