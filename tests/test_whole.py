"""Files written whole or not at all."""

from __future__ import annotations

import os
import stat
from pathlib import Path

import pytest

from linter.whole import write_whole


def test_a_new_file_has_the_mode_of_any_other(tmp_path: Path) -> None:
    (tmp_path / "by-hand").write_bytes(b"")
    write_whole(tmp_path / "new", b"1")
    assert (tmp_path / "new").read_bytes() == b"1"
    modes = {stat.S_IMODE((tmp_path / n).stat().st_mode) for n in ("by-hand", "new")}
    assert len(modes) == 1


def test_a_file_keeps_its_mode_and_a_link_stays_one(tmp_path: Path) -> None:
    path, link = tmp_path / "a", tmp_path / "link"
    path.write_bytes(b"1")
    path.chmod(0o640)
    link.symlink_to("a")
    write_whole(str(link), b"2")
    assert (path.read_bytes(), stat.S_IMODE(path.stat().st_mode), link.is_symlink()) == (b"2", 0o640, True)
    assert sorted(p.name for p in tmp_path.iterdir()) == ["a", "link"]


def test_what_may_not_be_written_is_left(tmp_path: Path) -> None:
    path = tmp_path / "a"
    path.write_bytes(b"1")
    path.chmod(0o440)
    with pytest.raises(PermissionError):
        write_whole(path, b"2")
    assert path.read_bytes() == b"1"
    with pytest.raises(OSError):
        write_whole(tmp_path, b"2")
    with pytest.raises(OSError):
        write_whole(tmp_path / "no" / "folder", b"2")


def test_a_broken_run_leaves_no_half(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    path = tmp_path / "a"
    path.write_bytes(b"1")

    def broken(*_: object) -> None:
        raise OSError(28, "No space left on device")

    monkeypatch.setattr(os, "replace", broken)
    with pytest.raises(OSError, match="No space"):
        write_whole(path, b"2")
    assert path.read_bytes() == b"1" and [p.name for p in tmp_path.iterdir()] == ["a"]


def test_a_pipe_is_written_to() -> None:
    write_whole("/dev/null", b"1")
    assert stat.S_ISCHR(os.stat("/dev/null").st_mode)
