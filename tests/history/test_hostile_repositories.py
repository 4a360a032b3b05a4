"""Repositories that are damaged, odd or out to harm: a clear word, exit status 2, and nothing run."""

from __future__ import annotations

import itertools
import os
import shutil
import subprocess
import sys
from pathlib import Path

import pytest

from tests.history.conftest import DESIGN, Git, git_in, run

BAD = DESIGN.replace("W2, 50 mm2", "W2, 2.5 mm2")


def refused(*call: str) -> str:
    """What is said on the error stream of a call that must end with status 2."""
    result = run(*call)
    assert result.exit_code == 2, result.output
    assert result.stdout == "" and "Traceback" not in result.stderr
    assert len(result.stderr.splitlines()) == 1 and result.stderr.startswith("wireworthy: ")
    return result.stderr


def object_path(git: Git, what: str) -> Path:
    ident = git("rev-parse", what).strip()
    path = Path(".git/objects") / ident[:2] / ident[2:]
    path.chmod(0o644)
    return path


@pytest.mark.parametrize("what", ["main:x.boat", "main^{tree}", "main"])
@pytest.mark.parametrize("how", ["gone", "empty", "garbage", "cut"])
def test_a_damaged_object(git: Git, what: str, how: str) -> None:
    path = object_path(git, what)
    content = path.read_bytes()
    if how == "gone":
        path.unlink()
    else:
        path.write_bytes({"empty": b"", "garbage": b"\x78\x9c garbage", "cut": content[: len(content) // 2]}[how])
    said = refused("compare", "x.boat", "--since", "main")
    assert any(w in said for w in ("damaged", "no such revision", "not in this repository")), said
    refused("check", "x.boat", "--since", "main")


def test_a_damaged_pack(git: Git) -> None:
    Path("x.boat").write_text(BAD, encoding="utf-8")
    git("commit", "-q", "-a", "-m", "more")
    git("gc", "-q", "--prune=now")
    (pack,) = Path(".git/objects/pack").glob("*.pack")
    pack.chmod(0o644)
    content = bytearray(pack.read_bytes())
    content[12:-20] = bytes(len(content) - 32)
    pack.write_bytes(bytes(content))
    refused("compare", "x.boat", "--since", "HEAD~1")


@pytest.mark.parametrize("name", ["HEAD", "config", "objects", "refs"])
def test_a_broken_git_folder(git: Git, name: str) -> None:
    path = Path(".git") / name
    if path.is_dir():
        shutil.rmtree(path)
    else:
        path.write_bytes(b"\0\xff[not git\n")
    refused("compare", "x.boat", "--since", "main")


def test_a_git_file_that_leads_nowhere(git: Git) -> None:
    shutil.rmtree(".git")
    Path(".git").write_text("gitdir: /nowhere/at/all\n", encoding="utf-8")
    assert "no git repository" in refused("compare", "x.boat", "--since", "main")


def test_an_empty_repository(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    git_in(tmp_path)("init", "-q")
    monkeypatch.chdir(tmp_path)
    Path("x.boat").write_text(DESIGN, encoding="utf-8")
    assert "no such revision" in refused("compare", "x.boat", "--since", "HEAD")


def test_a_worktree_and_a_file_named_from_elsewhere(git: Git, tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    git("worktree", "add", "-q", "-b", "side", str(tmp_path / "side"))
    design = tmp_path / "side" / "x.boat"
    design.write_text(BAD, encoding="utf-8")
    monkeypatch.chdir(tmp_path)
    assert run("check", str(design), "--since", "main").exit_code == 1
    monkeypatch.chdir(tmp_path / "side")
    assert "1 changed (W2)" in run("compare", "x.boat", "--since", "side").stdout
    alone = tmp_path / "alone"
    alone.mkdir()
    (alone / "x.boat").write_text(DESIGN, encoding="utf-8")
    assert "no git repository" in refused("compare", str(alone / "x.boat"), "--since", "main")


def test_bare_and_inside_git(git: Git, tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    git_in(tmp_path)("clone", "-q", "--bare", str(Path.cwd()), "bare")
    shutil.copy("x.boat", tmp_path / "bare" / "x.boat")
    shutil.copy("x.boat", ".git/x.boat")
    assert "checkout" in refused("compare", ".git/x.boat", "--since", "main")
    monkeypatch.chdir(tmp_path / "bare")
    assert "checkout" in refused("compare", "x.boat", "--since", "main")
    assert run("compare", "main:x.boat", "main:x.boat").exit_code == 0


def test_a_shallow_clone_says_so(git: Git, tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    Path("x.boat").write_text(BAD, encoding="utf-8")
    git("commit", "-q", "-a", "-m", "more")
    git_in(tmp_path)("clone", "-q", "--depth", "1", f"file://{Path.cwd()}", "shallow")
    monkeypatch.chdir(tmp_path / "shallow")
    assert run("compare", "x.boat", "--since", "HEAD").exit_code == 0
    assert "shallow" in refused("check", "x.boat", "--since", "HEAD~1")


def test_a_branch_that_only_the_remote_has_is_named(git: Git, tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """As checked out for a proposal in continuous integration."""
    git("branch", "proposal")
    git_in(tmp_path)("clone", "-q", "-b", "proposal", str(Path.cwd()), "clone")
    monkeypatch.chdir(tmp_path / "clone")
    assert "there is origin/main" in refused("compare", "x.boat", "--since", "main")
    assert run("compare", "x.boat", "--since", "origin/main").exit_code == 0


def test_a_design_in_a_submodule_has_its_own_history(git: Git, tmp_path: Path) -> None:
    inner = tmp_path / "inner"
    inner.mkdir()
    other = git_in(inner)
    other("init", "-q", "-b", "main")
    (inner / "m.boat").write_text(DESIGN, encoding="utf-8")
    other("add", ".")
    other("commit", "-q", "-m", "m")
    git("-c", "protocol.file.allow=always", "submodule", "--quiet", "add", str(inner), "module")
    git("commit", "-q", "-m", "with a module")
    assert run("compare", "module/m.boat", "--since", "HEAD").exit_code == 0
    assert "submodule" in refused("compare", "HEAD:module/m.boat", "x.boat")
    assert "submodule" in refused("compare", "HEAD:module", "x.boat")


def test_no_git(git: Git, tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setenv("PATH", str(tmp_path))
    assert "needs git, which is not installed" in refused("compare", "x.boat", "--since", "main")
    # without a revision none is needed
    assert run("compare", "x.boat", "x.boat").exit_code == 0


def wrapped_git(tmp_path: Path, monkeypatch: pytest.MonkeyPatch, lines: str) -> None:
    """Puts a script before git that does something and goes on with it."""
    real = shutil.which("git")
    folder = tmp_path / "bin"
    folder.mkdir()
    (folder / "git").write_text(f'#!/bin/sh\n{lines}\nexec {real} "$@"\n', encoding="utf-8")
    (folder / "git").chmod(0o755)
    monkeypatch.setenv("PATH", f"{folder}{os.pathsep}{os.environ['PATH']}")


def test_somebody_elses_repository(git: Git, tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setenv("HOME", str(tmp_path))
    monkeypatch.delenv("XDG_CONFIG_HOME", raising=False)
    # git's own switch for its tests: nothing belongs to us
    wrapped_git(tmp_path, monkeypatch, "GIT_TEST_ASSUME_DIFFERENT_OWNER=1; export GIT_TEST_ASSUME_DIFFERENT_OWNER")
    assert "safe.directory" in refused("compare", "x.boat", "--since", "main")


def test_git_that_dies_or_is_silent(git: Git, tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    wrapped_git(tmp_path, monkeypatch, 'case "$*" in *cat-file*) exit 7;; esac')
    assert "damaged" in refused("compare", "x.boat", "--since", "main")
    (tmp_path / "bin" / "git").write_text("#!/bin/sh\nexit 0\n", encoding="utf-8")
    refused("compare", "x.boat", "--since", "main")


def trap_at(tmp_path: Path) -> Path:
    trap = tmp_path / "trap"
    trap.write_text(f"#!/bin/sh\ntouch {tmp_path}/sprung\ncat\n", encoding="utf-8")
    trap.chmod(0o755)
    return trap


def test_a_partial_clone_fetches_nothing_and_runs_nothing(git: Git, tmp_path: Path) -> None:
    """What is missing would be fetched by a command of the repository's choice."""
    trap = trap_at(tmp_path)
    for key, value in (
        ("core.repositoryFormatVersion", "1"), ("extensions.partialClone", "far"),
        ("remote.far.url", f"ext::{trap} %S"), ("remote.far.promisor", "true"), ("remote.far.uploadpack", str(trap)),
        ("protocol.ext.allow", "always"), ("protocol.allow", "always"),
    ):  # fmt: skip
        git("config", key, value)
    object_path(git, "main:x.boat").unlink()
    assert "not in this repository" in refused("compare", "x.boat", "--since", "main")
    git("config", "remote.far.url", str(tmp_path / "yard" / ".git"))
    refused("compare", "x.boat", "--since", "main")
    assert not (tmp_path / "sprung").exists()


def test_settings_and_attributes_run_nothing(git: Git, tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """Settings that are included, attributes in the tree, drivers, alternates, a watcher: none has anything to run."""
    trap = trap_at(tmp_path)
    more = tmp_path / "more"
    more.write_text(
        f"[core]\n\tfsmonitor = {trap}\n\talternateRefsCommand = {trap}\n\teditor = {trap}\n\tgitProxy = {trap}\n"
        f'[diff "t"]\n\ttextconv = {trap}\n\tcommand = {trap}\n[filter "t"]\n\tsmudge = {trap}\n\tclean = {trap}\n'
        f'\tprocess = {trap}\n\trequired = true\n[merge "t"]\n\tdriver = {trap}\n[gpg]\n\tprogram = {trap}\n'
        f'[log]\n\tshowSignature = true\n[credential]\n\thelper = "!{trap}"\n[pager]\n\tcat-file = {trap}\n'
        f'[alias]\n\tcat-file = "!{trap}"\n\trev-parse = "!{trap}"\n',
        encoding="utf-8",
    )
    attributes = "*.boat diff=t filter=t merge=t ident working-tree-encoding=UTF-16\n"
    Path(".gitattributes").write_text(attributes, encoding="utf-8")
    git("add", ".gitattributes")
    git("commit", "-q", "-m", "attributes")
    git("config", "include.path", str(more))
    other = git_in(tmp_path)
    other("init", "-q", "other")
    Path(".git/objects/info").mkdir(exist_ok=True)
    Path(".git/objects/info/alternates").write_text(f"{tmp_path}/other/.git/objects\n/nowhere\n", encoding="utf-8")
    for name in ("GIT_EXTERNAL_DIFF", "GIT_PAGER", "GIT_SSH_COMMAND", "GIT_ASKPASS", "GIT_EDITOR"):
        monkeypatch.setenv(name, str(trap))
    result = run("compare", "x.boat", "--since", "main")
    assert result.exit_code == 0 and "Nothing differs." in result.stdout, result.output
    assert run("check", "x.boat", "--since", "main").exit_code == 0
    assert not (tmp_path / "sprung").exists()


def test_a_checkout_that_is_said_to_be_elsewhere(git: Git, tmp_path: Path) -> None:
    elsewhere = tmp_path / "elsewhere"
    elsewhere.mkdir()
    git("config", "core.worktree", str(elsewhere))
    assert "outside the checkout" in refused("compare", "x.boat", "--since", "main")


def test_no_reading_through_replacements_or_grafts(git: Git) -> None:
    """`git replace` would show another past than the one that was committed."""
    first = git("rev-parse", "main:x.boat").strip()
    Path("other").write_text(BAD, encoding="utf-8")
    git("replace", first, git("hash-object", "-w", "other").strip())
    assert "Nothing differs." in run("compare", "x.boat", "--since", "main").stdout


def test_links_on_the_way_to_a_design(git: Git, tmp_path: Path) -> None:
    """A link is what it leads to: another name for a design, or something outside."""
    Path("link.boat").symlink_to("x.boat")
    assert "Nothing differs." in run("compare", "link.boat", "--since", "main").stdout
    (tmp_path / "away.boat").write_text(DESIGN, encoding="utf-8")
    Path("away.boat").symlink_to(tmp_path / "away.boat")
    assert "no git repository" in refused("compare", "away.boat", "--since", "main")
    Path("ring.boat").symlink_to("ring.boat")
    refused("compare", "ring.boat", "--since", "main")


def test_renamed_and_new_and_ambiguous(git: Git) -> None:
    git("mv", "x.boat", "y.boat")
    result = run("compare", "y.boat", "--since", "main")
    assert result.exit_code == 0 and "y.boat was x.boat in main" in result.stdout
    assert run("check", "y.boat", "--since", "main").exit_code == 0
    Path("y.boat").write_text(DESIGN.replace('boat "Example"', 'boat "Another"'), encoding="utf-8")
    assert "y.boat: is not in main" in refused("compare", "y.boat", "--since", "main")
    git("checkout", "-q", "main", "--", "x.boat")
    shutil.copy("x.boat", "a.boat")
    git("add", ".")
    git("commit", "-q", "-m", "two of one boat")
    git("mv", "-f", "x.boat", "z.boat")
    Path("a.boat").unlink()
    said = refused("compare", "z.boat", "--since", "main")
    assert "main:a.boat" in said and "main:x.boat" in said


def test_folders_that_hold_each_other(git: Git) -> None:
    """Ten folders in each other, ten times each: ten thousand million paths from ten objects."""

    def tree(lines: str) -> str:
        made = subprocess.run(["git", "mktree"], input=lines.encode(), check=True, capture_output=True)
        return made.stdout.decode().strip()

    blob = git("rev-parse", "main:x.boat").strip()
    ident = tree(f"100644 blob {blob}\tz.txt\n")
    for _ in range(10):
        ident = tree("".join(f"040000 tree {ident}\tf{n}\n" for n in range(10)))
    commit = git("commit-tree", ident, "-m", "bomb").strip()
    assert "more files than" in refused("compare", "x.boat", "--since", commit)


def test_an_abbreviation_of_several(git: Git) -> None:
    """Commits are made until two begin with the same four digits: some hundreds of 65536 are enough."""
    lines = []
    for number in range(1, 1200):
        lines.append(f"commit refs/heads/many\ncommitter a <a@invalid> {number} +0000\ndata 1\nx\n")
    subprocess.run(["git", "fast-import", "--quiet"], input="".join(lines).encode(), check=True)
    every = sorted(git("rev-list", "many").split())
    twins = [a[:4] for a, b in itertools.pairwise(every) if a[:4] == b[:4]]
    assert twins
    assert "more of its digits" in refused("compare", "x.boat", "--since", twins[0])
    assert "is not in" in refused("compare", "x.boat", "--since", every[0][:12])


@pytest.mark.parametrize("revision", ["main..HEAD", "main...HEAD", "HEAD^..HEAD"])
def test_a_range_is_two_revisions(git: Git, revision: str) -> None:
    assert "name each" in refused("compare", "x.boat", "--since", revision)


@pytest.mark.parametrize("revision", ["HEAD~9", "v9", "-h", "--all", "^main", "main:", "HEAD^2", "@{9}", "\x1b[2J"])
def test_revisions_that_are_none(git: Git, revision: str) -> None:
    said = refused("compare", "x.boat", "--since", revision)
    assert "revision" in said and "\x1b" not in said


def test_nothing_is_left_running(git: Git) -> None:
    """Not even after a refusal halfway."""
    code = (
        "import subprocess, sys; from linter.history.sides import Sides\n"
        "with Sides() as s:\n"
        "    s.at_revision('main', 'x.boat')\n"
        "    process = next(iter(s._repositories.values()))._process\n"
        "    assert process.poll() is None\n"
        "assert process.poll() is not None\n"
    )
    environment = os.environ | {"PYTHONPATH": str(Path(__file__).parents[2])}
    subprocess.run([sys.executable, "-c", code], check=True, env=environment)
