"""A yard's repository, made with git itself, and the recipes of the README as a shell would run them."""

from __future__ import annotations

import os
import re
import shutil
import subprocess
import sys
from dataclasses import dataclass
from pathlib import Path

import pytest

ROOT = Path(__file__).resolve().parents[2]

#: What a child process may not do: open a connection.  Python reads it as it starts.
NO_NETWORK = """import socket
def refused(*_, **__): raise OSError("no network here")
socket.socket.connect = socket.getaddrinfo = socket.create_connection = refused
"""


def recipe(info: str) -> str:
    """The one block of the README that is marked so."""
    text = (ROOT / "README.md").read_text(encoding="utf-8")
    found = re.findall(rf"^```\w+ {re.escape(info)}\n(.*?)^```$", text, re.MULTILINE | re.DOTALL)
    assert len(found) == 1, f"README.md has {len(found)} blocks marked {info}"
    return str(found[0])


@dataclass(slots=True)
class Yard:
    """A clone with a launch in it; ``origin`` is a bare repository whose main holds the launch as she is in boats/."""

    folder: Path
    environment: dict[str, str]

    @property
    def boat(self) -> Path:
        return self.folder / "boats" / "launch.boat"

    def git(self, *arguments: str) -> str:
        return self.run(["git", *arguments], check=True).stdout

    def run(self, command: list[str], check: bool = False, **more: str) -> subprocess.CompletedProcess[str]:
        return subprocess.run(
            command, cwd=self.folder, env=self.environment | more, text=True, encoding="utf-8", capture_output=True,
            check=check,
        )  # fmt: skip

    def shell(self, script: str, **more: str) -> subprocess.CompletedProcess[str]:
        """As both forges run a step: stop at the first command that fails."""
        return self.run(["bash", "-eo", "pipefail", "-c", script], **more)

    def change(self, was: str, now: str, message: str) -> None:
        """A branch with one commit."""
        text = self.boat.read_text(encoding="utf-8")
        assert text.count(was) == 1
        self.git("switch", "-q", "-c", "proposed")
        self.boat.write_text(text.replace(was, now), encoding="utf-8")
        self.git("commit", "-q", "-a", "-m", message)

    def harmless(self) -> None:
        """Words, a remark, a figure that makes the pump's way better."""
        self.change(
            'cable W12 "To float switch", 14 AWG,',
            '# renewed with the floor up\ncable W12 "Float switch feed", 12 AWG,',
            "A thicker feed for the bilge pump",
        )

    def harmful(self) -> None:
        text = self.boat.read_text(encoding="utf-8")
        (line,) = re.findall(r"^fuse F12 .*\n", text, re.MULTILINE)
        self.change(line, "", "The bilge pump's fuse keeps blowing: take it out")


@pytest.fixture
def yard(tmp_path: Path) -> Yard:
    bin_, folder = tmp_path / "bin", tmp_path / "yard"
    bin_.mkdir()
    (bin_ / "sitecustomize.py").write_text(NO_NETWORK, encoding="utf-8")
    programs = {
        "wireworthy": f'exec "{sys.executable}" -c "from linter.cli import run; run()" "$@"',
        # the installation needs a network; it is only written down, and .ci/run makes a real one
        "python3": 'echo "$@" >> "$HOME/installed"',
    }
    for name, line in programs.items():
        (bin_ / name).write_text(f"#!/bin/sh\n{line}\n", encoding="utf-8")
        (bin_ / name).chmod(0o755)
    environment = {
        k: v for k, v in os.environ.items() if not k.startswith(("GIT_", "PYTHON", "PRE_COMMIT", "CI", "PIP_"))
    }
    environment |= {
        "PATH": f"{bin_}{os.pathsep}{environment['PATH']}", "PYTHONPATH": f"{bin_}{os.pathsep}{ROOT}",
        "HOME": str(tmp_path), "XDG_CACHE_HOME": str(tmp_path / "cache"), "PRE_COMMIT_HOME": str(tmp_path / "hooks"),
        "GIT_CONFIG_GLOBAL": os.devnull, "GIT_CONFIG_NOSYSTEM": "1", "GIT_AUTHOR_NAME": "a",
        "GIT_AUTHOR_EMAIL": "a@invalid", "GIT_COMMITTER_NAME": "a", "GIT_COMMITTER_EMAIL": "a@invalid",
        "WIREWORTHY": "git+https://invalid/wireworthy.git", "LC_ALL": "C.UTF-8", "PYTHONDONTWRITEBYTECODE": "1",
    }  # fmt: skip
    folder.mkdir()
    made = Yard(folder, environment)
    made.git("init", "-q", "-b", "main")
    (folder / "boats").mkdir()
    shutil.copytree(ROOT / "boats" / "parts", folder / "boats" / "parts")
    shutil.copy(ROOT / "boats" / "launch.boat", made.boat)
    made.git("add", ".")
    made.git("commit", "-q", "-m", "The launch as she is")
    made.git("init", "-q", "--bare", "-b", "main", str(tmp_path / "origin.git"))
    made.git("remote", "add", "origin", str(tmp_path / "origin.git"))
    made.git("push", "-q", "-u", "origin", "main")
    return made
