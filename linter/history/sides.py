"""The two sides of a comparison: a design on the disk, or the same in a revision."""

from __future__ import annotations

import os
import tempfile
from contextlib import ExitStack
from dataclasses import dataclass, field
from pathlib import Path

from linter.history.objects import Files, Repository, repository_at
from linter.model.build import build
from linter.model.design import Design
from linter.source.files import NO_FILE, DesignSource, Reader, Unusable, read_text
from linter.source.span import Mistake
from linter.tables.reading import RulebookError
from linter.tables.rulebook import load_file


@dataclass(slots=True)
class Side:
    """A design as it is or was, and the texts of its files."""

    shown: str
    design: Design
    texts: list[str]
    # content of the rulebooks in files of the design's own
    rulebooks: dict[str, str] = field(default_factory=dict)
    remark: str = ""


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
        real = Path(path).resolve()
        files = self._files(revision, _existing(real.parent))
        top = files.repository.top
        if top is None or not real.is_relative_to(top):
            raise Unusable(f"{path}: lies outside the checkout of that repository")
        inside = real.relative_to(top).as_posix()
        found = files.read(files.root / inside)
        remark = ""
        if found == (False, NO_FILE):
            moved = [p for p in files.named(real.name) if not (top / p).exists()]
            if len(moved) == 1:
                remark = f"{inside} was {moved[0]} in {revision}"
                inside = moved[0]
            elif moved:
                raise Unusable(f"{path}: is not in {revision}; name one: {', '.join(f'{revision}:{p}' for p in moved)}")
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


def _existing(folder: Path) -> Path:
    """The folder, or the nearest above it that is there: its own may be gone."""
    while not folder.is_dir() and folder != folder.parent:
        folder = folder.parent
    return folder


def _texts(source: DesignSource) -> list[str]:
    return sorted(f.text.text for f in source.files)


def two_sides(sides: Sides, old: str, new: str | None, since: str | None) -> tuple[Side, Side]:
    """What `compare` was called with: a path and ``since``, or two of: a path, `REVISION:path`, a revision (of the file
    that the other side names).  Raises Unusable where a side is not to be had."""
    if since is not None:
        if new is not None:
            raise Unusable("--since takes one design; without it name two")
        return sides.at_revision(since, old), sides.on_disk(old)
    if new is None:
        raise Unusable("name two designs, or one and --since REVISION")
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
