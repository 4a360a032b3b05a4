"""Which files belong to a design, read safely: a design reaches no file outside its own folder."""

from __future__ import annotations

import os
import re
import stat
from collections import deque
from collections.abc import Callable
from dataclasses import dataclass, field
from pathlib import Path

from linter.source.guess import Guesser
from linter.source.parser import parse
from linter.source.span import Mistake, Span, Text
from linter.source.statements import SourceFile

# More than a hundred boats in one file; what is larger is no design, and would only eat the memory.
GREATEST_BYTES = 256 * 1024 * 1024

NO_FILE = "no such file"

_BOAT_LINE = re.compile(r"^[ \t]*boat\b", re.MULTILINE)


class Unusable(Exception):
    """The input cannot be worked on at all; the message says why and what to do."""


@dataclass(slots=True)
class DesignSource:
    """A design's files, its own first, each used file once; and what went wrong while reading them."""

    path: str
    folder: Path
    files: list[SourceFile] = field(default_factory=list)
    mistakes: list[Mistake] = field(default_factory=list)
    # name of a file, as shown -> the folder in which it really lies
    folders: dict[str, Path] = field(default_factory=dict)

    @property
    def all_mistakes(self) -> list[Mistake]:
        return [m for f in self.files for m in f.mistakes] + self.mistakes


class Reader:
    """Reads and parses files, each once however many designs use it."""

    def __init__(
        self,
        progress: Callable[[float], None] | None = None,
        read: Callable[[Path], tuple[bool, str]] | None = None,
    ) -> None:
        """``progress`` is told which share of the file at hand has been read.  ``read`` stands in for `read_text`
        where files are read from elsewhere than the disk."""
        self._progress = progress
        self._read = read or read_text
        self._parsed: dict[Path, SourceFile | str] = {}

    def file(self, real: Path, shown: str) -> SourceFile | str:
        """The parsed file, or a sentence saying why it cannot be read."""
        known = self._parsed.get(real)
        if known is None:
            content = self._read(real)
            known = parse(shown, content[1], self._progress) if content[0] else content[1]
            self._parsed[real] = known
        return known

    def design(self, path: str) -> DesignSource:
        """The design in the file ``path`` with all it uses.  Raises Unusable if that file cannot be read."""
        try:
            real = Path(path).resolve()
        except (OSError, RuntimeError, ValueError) as problem:
            raise Unusable(f"{path!r}: is no file's name, or leads to itself") from problem
        first = self.file(real, path)
        if isinstance(first, str):
            raise Unusable(f"{path}: {first}")
        return self._gather(path, real.parent, first, real)

    def design_at(self, real: Path, path: str, shown_folder: str) -> DesignSource:
        """The design in the file ``real``, shown as ``path``, what it uses as below ``shown_folder``: for files that
        are not on the disk.  Raises Unusable if that file cannot be read."""
        first = self.file(real, path)
        if isinstance(first, str):
            raise Unusable(f"{path}: {first}")
        return self._gather(path, real.parent, first, real, shown_folder)

    def design_text(self, text: str, shown: str = "-") -> DesignSource:
        """A design given as text, as from standard input; what it uses is looked for in the current folder."""
        folder = Path.cwd().resolve()
        return self._gather(shown, folder, parse(shown, text), folder / shown)

    def _gather(
        self, path: str, folder: Path, first: SourceFile, real: Path, shown_folder: str | None = None
    ) -> DesignSource:
        design = DesignSource(path, folder)
        if shown_folder is None:
            shown_folder = os.path.dirname(path)
            if Path(shown_folder or ".").resolve() != folder:
                shown_folder = str(folder)  # the design was named by a link from elsewhere
        uses = _Uses(real)
        waiting = deque([(first, real)])
        while waiting:
            source, at = waiting.popleft()
            design.files.append(source)
            design.folders[source.text.name] = at.parent
            for statement in source.statements:
                if statement.kind != "use" or statement.name is None:
                    continue
                span = source.span(statement.name.start, statement.name.end)
                wanted = str(statement.name.value)
                target, problem = _confined(folder, at.parent, wanted)
                if target is None:
                    design.mistakes.append(Mistake(span, problem, _HOW_TO_USE))
                elif uses.note(at, target, span, wanted):
                    shown = os.path.join(shown_folder, os.path.relpath(target, folder))
                    found = self.file(target, shown)
                    if isinstance(found, str):
                        mend = _other_name(folder, target) if found == NO_FILE else ""
                        design.mistakes.append(Mistake(span, f"{wanted}: {found}", mend))
                    else:
                        waiting.append((found, target))
        design.mistakes.extend(uses.rings())
        return design


class _Uses:
    """Which file uses which, as far as is known."""

    def __init__(self, first: Path) -> None:
        self.first = first
        self.by_file: dict[Path, list[tuple[Path, Span, str]]] = {first: []}

    def note(self, at: Path, target: Path, span: Span, wanted: str) -> bool:
        """Whether ``target`` is used for the first time."""
        self.by_file[at].append((target, span, wanted))
        if target in self.by_file:
            return False
        self.by_file[target] = []
        return True

    def rings(self) -> list[Mistake]:
        """The `use` statements that lead back to the file they stand in."""
        found = []
        # A walk in depth without recursion: a file is open from when it is entered until all it uses is done.
        is_open = {self.first}
        entered = {self.first}
        path = [(self.first, iter(self.by_file[self.first]))]
        while path:
            at, left = path[-1]
            for target, span, wanted in left:
                if target in is_open:
                    message = f"{wanted} leads back to this file: they use one another in a ring"
                    if target == at:
                        message = f"{wanted} is this file itself"
                    found.append(Mistake(span, message, "remove one `use`"))
                elif target not in entered:
                    entered.add(target)
                    is_open.add(target)
                    path.append((target, iter(self.by_file[target])))
                    break
            else:
                is_open.discard(at)
                path.pop()
        return found


def _other_name(folder: Path, target: Path) -> str:
    """A file beside the missing one with a name much like it."""
    try:
        names = sorted(p.name for p in target.parent.iterdir()) if target.is_relative_to(folder) else []
    except OSError:
        return ""
    return Guesser().nearest(target.name, names)


_HOW_TO_USE = "a design uses files in its own folder and below it, named from the file that uses them"


def _confined(folder: Path, at: Path, wanted: str) -> tuple[Path | None, str]:
    """The file that ``wanted`` names, seen from ``at``, if it lies within ``folder``; else why not."""
    if "\0" in wanted or wanted.startswith(("/", "\\", "~")) or re.match(r"^[A-Za-z]:", wanted):
        return None, f"{wanted[:80]}: a file is named from here, not from the root"
    try:
        target = (at / wanted).resolve()
    except (OSError, RuntimeError, ValueError):
        return None, f"{wanted[:80]}: {NO_FILE}"
    if not target.is_relative_to(folder):
        return None, f"{wanted[:80]} lies outside the folder of this design"
    return target, ""


def confined_file(folder: Path, at: Path, wanted: str) -> Path:
    """As for `use`, but for any file a design names.  Raises Unusable with the reason."""
    target, problem = _confined(folder, at, wanted)
    if target is None:
        raise Unusable(problem)
    return target


def read_text(real: Path) -> tuple[bool, str]:
    """(True, the text) or (False, why it cannot be read)."""
    try:
        info = real.stat()
        if stat.S_ISDIR(info.st_mode):
            return False, "is a folder, not a file"
        if not stat.S_ISREG(info.st_mode):
            return False, "is no ordinary file"
        if info.st_size > GREATEST_BYTES:
            return False, f"is larger than {GREATEST_BYTES // 2**20} MiB; no boat is"
        return decode(real.read_bytes())
    except FileNotFoundError:
        return False, NO_FILE
    except (OSError, ValueError) as problem:
        return False, f"cannot be read: {getattr(problem, 'strerror', None) or problem}"


def decode(data: bytes) -> tuple[bool, str]:
    """(True, the text) of UTF-8 ``data``, or (False, where it stops being UTF-8)."""
    try:
        return True, data.decode("utf-8")
    except UnicodeDecodeError as problem:
        before = data[: problem.start]
        line = before.count(b"\n") + 1
        column = len(before[before.rfind(b"\n") + 1 :].decode("utf-8", "replace")) + 1
        if data.startswith((b"\xff\xfe", b"\xfe\xff")):
            return False, "is UTF-16; save it as UTF-8"
        return False, f"is not UTF-8 (line {line}, column {column}); save it as UTF-8"


def designs_under(path: str, reader: Reader) -> list[str]:
    """The designs that an argument means: itself, or every file with a `boat` statement below a folder.

    Raises Unusable where there is none.
    """
    if not os.path.isdir(path):
        return [path]
    found = []
    for folder, below, names in os.walk(path):
        below[:] = sorted(d for d in below if not d.startswith("."))
        for name in sorted(names):
            if name.endswith(".boat"):
                shown = os.path.join(folder, name)
                if not Path(shown).resolve().is_relative_to(Path(path).resolve()):
                    continue  # a link that leads out of the folder
                ok, text = read_text(Path(shown))
                # An unreadable file may be a design: let reading it say so.
                if not ok or _BOAT_LINE.search(text):
                    found.append(shown)
    if not found:
        raise Unusable(f"{path}: no design below this folder; a design is a .boat file with a `boat` statement")
    return found


def no_place() -> Span:
    """The beginning of nothing: for what has no place in any text."""
    return Span(Text("", ""), 0, 0)
