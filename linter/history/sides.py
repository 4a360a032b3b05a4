"""The two sides of a comparison: a design on the disk, or the same in a revision."""

from __future__ import annotations

import os
import re
import tempfile
from contextlib import ExitStack
from dataclasses import dataclass, field
from pathlib import Path

from linter.history.objects import Files, Repository, repository_at
from linter.model.build import build
from linter.model.design import Design
from linter.source.files import NO_FILE, DesignSource, Reader, Unusable, designs_under, read_text
from linter.source.span import Mistake
from linter.tables.reading import RulebookError
from linter.tables.rulebook import load_file

_TITLE = re.compile(r'^[ \t]*boat[ \t]+("[^"\n]*")', re.MULTILINE)
# A review names few files that are gone; of more, these are told.
MOST_NAMED = 3
# Of more than so many, none is read to see which boat it was.
MOST_READ = 500


@dataclass(slots=True)
class Side:
    """A design as it is or was, and the texts of its files in the order in which they are used."""

    shown: str
    design: Design
    texts: list[str]
    # content of the rulebooks in files of the design's own
    rulebooks: dict[str, str] = field(default_factory=dict)
    remark: str = ""

    def same_text(self, other: Side) -> bool:
        """Whether every file of both reads the same, so that the designs are the same but for where they stand."""
        return bool(self.texts) and self.texts == other.texts and self.rulebooks == other.rulebooks


class Sides:
    """Opens sides, and keeps what they need until closed."""

    def __init__(self) -> None:
        self._stack = ExitStack()
        self._repositories: dict[Path, Repository] = {}
        self._disk = Reader()

    def __enter__(self) -> Sides:
        return self

    def __exit__(self, *problem: object) -> None:
        self._stack.close()

    def on_disk(self, path: str) -> Side:
        """The design in a file of the working tree.  Raises Unusable if it cannot be read."""
        source = self._disk.design(path)
        made = self.of(build(source))
        made.texts = _texts(source)
        return made

    def of(self, design: Design) -> Side:
        """A design of the working tree that has been read already; its texts are left out."""
        books = {}
        for choice in design.rulebooks:
            if choice.file is not None:
                ok, text = read_text(choice.file)
                books[choice.name] = text.encode("utf-8").hex() if ok else ""
        return Side(design.path, design, [], books)

    def at_revision(self, revision: str, path: str) -> Side:
        """The design that ``path``, of the working tree, was in a revision; a file that has been moved since is found
        by its name.  Raises Unusable where there is no such revision or file."""
        try:
            real = Path(path).resolve()
        except (OSError, RuntimeError, ValueError) as problem:
            raise Unusable(f"{path!r}: is no file's name, or leads to itself") from problem
        files = self._files(revision, _existing(real.parent))
        top = files.repository.top
        if top is None or not real.is_relative_to(top):
            raise Unusable(f"{path}: lies outside the checkout of that repository")
        inside = real.relative_to(top).as_posix()
        found = files.read(files.root / inside)
        remark = ""
        if found == (False, NO_FILE):
            gone = [p for p in files.ending(".boat") if not os.path.lexists(top / p)]
            moved = [p for p in gone if p.rpartition("/")[2] == real.name] or _same_boat(files, gone, real)
            if len(moved) == 1:
                remark = f"{inside} was {moved[0]} in {revision}"
                inside = moved[0]
            elif moved:
                which = ", ".join(f"{revision}:{p}" for p in moved[:MOST_NAMED])
                raise Unusable(f"{path}: is not in {revision}; name what it was, as {which}")
            else:
                raise NotThere(f"{path}: is not in {revision}")
        return self._side(files, inside, remark)

    def named(self, revision: str, inside: str) -> Side:
        """What `REVISION:path` names: the path from the root of the repository, or from here if it begins with ./"""
        here = Path.cwd()
        files = self._files(revision, here)
        if inside.startswith(("./", "../")):
            top = files.repository.top
            target = Path(os.path.normpath(here.resolve() / inside))
            if top is None or not target.is_relative_to(top):
                raise Unusable(f"{revision}:{inside}: lies outside the checkout of that repository")
            inside = target.relative_to(top).as_posix()
        whole = os.path.normpath("/" + inside).lstrip("/")
        if not inside or inside.startswith("/") or "\0" in inside or whole != os.path.normpath(inside):
            raise Unusable(f"{revision}:{inside[:80]}: name a file within the repository, from its root")
        return self._side(files, whole, "")

    def _files(self, revision: str, folder: Path) -> Files:
        if folder not in self._repositories:
            self._repositories[folder] = self._stack.enter_context(repository_at(folder))
        return self._repositories[folder].files(revision)

    def _side(self, files: Files, inside: str, remark: str) -> Side:
        real = files.root / inside
        shown = f"{files.revision}:{inside}"
        folder, _, _ = inside.rpartition("/")
        source = Reader(read=files.read).design_at(real, shown, f"{files.revision}:{folder or '.'}")
        design = build(source)
        return Side(shown, design, _texts(source), self._own_rulebooks(design, files), remark)

    def _own_rulebooks(self, design: Design, files: Files) -> dict[str, str]:
        """A rulebook in a file of the design's own is read from the revision too, and laid where a study finds it."""
        found = {}
        for choice in list(design.rulebooks):
            if choice.file is None:
                continue
            ok, text = files.read(choice.file)
            problem = "" if ok else f"{choice.shown}: {text}"
            if ok:
                try:
                    load_file(Path(choice.shown), text)
                except RulebookError as wrong:
                    problem = str(wrong)
            if problem:
                design.rulebooks.remove(choice)
                design.mistakes.append(Mistake(choice.span, problem, ""))
                continue
            folder = Path(self._stack.enter_context(tempfile.TemporaryDirectory()))
            found[choice.name] = text.encode("utf-8").hex()
            choice.file = folder / choice.file.name
            choice.file.write_text(text, encoding="utf-8")
        return found


class NotThere(Unusable):
    """The design did not exist in that revision."""


def _same_boat(files: Files, gone: list[str], real: Path) -> list[str]:
    """Of designs that are gone since, those of the boat that the file now holds."""
    ok, text = read_text(real)
    title = _TITLE.search(text) if ok else None
    if title is None:
        return []
    found = []
    for inside in gone[:MOST_READ]:
        there, was = files.read(files.root / inside)
        before = _TITLE.search(was) if there else None
        if before is not None and before[1] == title[1]:
            found.append(inside)
    return found


def _existing(folder: Path) -> Path:
    """The folder, or the nearest above it that is there: its own may be gone."""
    while not folder.is_dir() and folder != folder.parent:
        folder = folder.parent
    return folder


def _texts(source: DesignSource) -> list[str]:
    return [f.text.text for f in source.files]


def the_design(path: str) -> str:
    """The path itself, or that of the one design below a folder.  Raises Unusable where there are several."""
    found = designs_under(path, Reader())
    if len(found) > 1:
        some = ", ".join(found[:MOST_NAMED]) + (" …" if len(found) > MOST_NAMED else "")
        raise Unusable(f"{path}: {len(found)} designs below this folder; name one of them: {some}")
    return found[0]


def two_sides(sides: Sides, old: str, new: str | None, since: str | None) -> tuple[Side, Side]:
    """What `compare` was called with: a path and ``since``, or two of: a path, `REVISION:path`, a revision (of the file
    that the other side names).  Raises Unusable where a side is not to be had."""
    if since is not None:
        if new is not None:
            raise Unusable("--since takes one design; without it name two")
        path = the_design(old)
        return sides.at_revision(since, path), sides.on_disk(path)
    if new is None:
        raise Unusable("name two designs, or one and --since REVISION")
    old, new = (the_design(word) if os.path.isdir(word) else word for word in (old, new))
    paths = [_is_path(old), _is_path(new)]
    if not any(paths) and ":" not in old and ":" not in new:
        raise Unusable(f"neither {old[:80]} nor {new[:80]} is a design; write REVISION:path for one of them")
    return _one(sides, old, new, paths[0]), _one(sides, new, old, paths[1])


def _is_path(word: str) -> bool:
    return os.path.exists(word) or (word.endswith(".boat") and ":" not in word)


def _one(sides: Sides, word: str, other: str, is_path: bool) -> Side:
    if is_path:
        return sides.on_disk(word)
    # a revision may hold a colon in `:/words of its message`; a path within a repository follows the last one
    revision, colon, inside = word.rpartition(":")
    if colon and revision:
        return sides.named(revision, inside)
    _, other_colon, other_inside = other.rpartition(":")
    if other_colon and not _is_path(other):
        return sides.named(word, other_inside)
    return sides.at_revision(word, other)
