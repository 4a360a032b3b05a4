"""Throw-away repositories, made with git itself."""

from __future__ import annotations

import os
import subprocess
from collections.abc import Callable
from pathlib import Path

import pytest
from click.testing import CliRunner, Result

from linter.cli import main
from linter.rules.registry import PRELUDE

DESIGN = (
    PRELUDE
    + """from B
cable W1, 50 mm2, 0.15 m
fuse F1, class T, 150 A, 125 V, lets through 60 kA2s at 20 kA
  opens at 135 % in 200 s to 3600 s, opens at 500 % in 40 ms to 0.2 s, opens at 1000 % in 5 ms to 12 ms
cable W2, 50 mm2, 1 m
load HEATER "Cabin heater", draws 40 A
"""
)
Git = Callable[..., str]


def git_in(folder: Path) -> Git:
    def git(*arguments: str) -> str:
        environment = {k: v for k, v in os.environ.items() if not k.startswith("GIT_")} | {
            "GIT_CONFIG_GLOBAL": os.devnull, "GIT_CONFIG_NOSYSTEM": "1", "HOME": str(folder),
            "GIT_AUTHOR_NAME": "a", "GIT_AUTHOR_EMAIL": "a@invalid", "GIT_COMMITTER_NAME": "a",
            "GIT_COMMITTER_EMAIL": "a@invalid",
        }  # fmt: skip
        done = subprocess.run(["git", *arguments], cwd=folder, env=environment, capture_output=True, check=True)
        return done.stdout.decode()

    return git


@pytest.fixture
def git(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Git:
    """A repository with DESIGN as x.boat, committed on main; the working folder is its root."""
    folder = tmp_path / "yard"
    folder.mkdir()
    monkeypatch.chdir(folder)
    made = git_in(folder)
    made("init", "-q", "-b", "main")
    (folder / "x.boat").write_text(DESIGN, encoding="utf-8")
    made("add", ".")
    made("commit", "-q", "-m", "first")
    return made


def run(*arguments: str) -> Result:
    result = CliRunner().invoke(main, [*arguments, "--today", "2026-11-25"])
    assert result.exception is None or isinstance(result.exception, SystemExit), result.exception
    return result
