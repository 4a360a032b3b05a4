"""The revision of the title block: what git says, and that nothing of the design's folder is run."""

from __future__ import annotations

import os
import subprocess
from pathlib import Path

from linter.drawing.revision import revision_of
from linter.model.build import build
from linter.source.files import Reader
from tests.drawing.designs import SMALL


def git(folder: Path, *arguments: str) -> str:
    environment = {k: v for k, v in os.environ.items() if not k.startswith("GIT_")} | {
        "GIT_AUTHOR_DATE": "2031-03-04T05:06:07Z", "GIT_COMMITTER_DATE": "2031-03-04T05:06:07Z",
        "GIT_CONFIG_GLOBAL": os.devnull,
    }  # fmt: skip
    made = subprocess.run(
        ["git", "-c", "user.name=Yard", "-c", "user.email=yard@example.org", *arguments],
        cwd=folder, env=environment, capture_output=True, text=True, check=True,
    )  # fmt: skip
    return made.stdout.strip()


def committed(folder: Path) -> Path:
    path = folder / "x.boat"
    path.write_text(SMALL, encoding="utf-8")
    git(folder, "init", "-q")
    git(folder, "add", "x.boat")
    git(folder, "commit", "-q", "-m", "first")
    return path


def test_commit_and_day(tmp_path: Path) -> None:
    path = committed(tmp_path)
    made = revision_of(build(Reader().design(str(path))))
    assert made is not None
    assert git(tmp_path, "rev-parse", "HEAD").startswith(made.commit) and len(made.commit) == 8
    assert made.date == "2031-03-04" and not made.changed
    path.write_text(SMALL + "\n", encoding="utf-8")
    changed = revision_of(build(Reader().design(str(path))))
    assert changed is not None and changed.changed


def test_outside_git_there_is_none(tmp_path: Path) -> None:
    path = tmp_path / "x.boat"
    path.write_text(SMALL, encoding="utf-8")
    assert revision_of(build(Reader().design(str(path)))) is None
    assert revision_of(build(Reader().design_text(SMALL))) is None


def test_nothing_that_the_folder_names_is_run(tmp_path: Path) -> None:
    path = committed(tmp_path)
    trap, sprung = tmp_path / "trap.sh", tmp_path / "sprung"
    trap.write_text(f"#!/bin/sh\ntouch {sprung}\ncat\n", encoding="utf-8")
    trap.chmod(0o755)
    (tmp_path / ".gitattributes").write_text("*.boat filter=trap diff=trap\n", encoding="utf-8")
    for key in ("core.fsmonitor", "filter.trap.clean", "filter.trap.smudge", "diff.trap.textconv", "gpg.program",
                "core.pager", "core.sshCommand", "alias.rev-parse"):  # fmt: skip
        git(tmp_path, "config", key, f"!{trap}" if key.startswith("alias") else str(trap))
    git(tmp_path, "config", "log.showSignature", "true")
    for name in ("post-index-change", "reference-transaction"):
        (tmp_path / ".git/hooks" / name).write_text(trap.read_text(), encoding="utf-8")
        (tmp_path / ".git/hooks" / name).chmod(0o755)
    path.write_text(SMALL + "\n", encoding="utf-8")
    made = revision_of(build(Reader().design(str(path))))
    assert made is not None and made.changed
    assert not sprung.exists()
