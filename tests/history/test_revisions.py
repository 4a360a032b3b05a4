"""Sides read from real repositories, whole and broken, friendly and hostile."""

from __future__ import annotations

import json
import subprocess
from pathlib import Path

import pytest

from tests.history.conftest import DESIGN, Git, git_in, run

BAD = DESIGN.replace("W2, 50 mm2", "W2, 2.5 mm2")


def write(text: str, name: str = "x.boat") -> None:
    Path(name).parent.mkdir(parents=True, exist_ok=True)
    Path(name).write_text(text, encoding="utf-8")


def commit(git: Git, message: str = "more") -> None:
    git("add", "-A")
    git("commit", "-q", "-m", message)


def test_every_way_to_name_a_side(git: Git) -> None:
    git("tag", "v1")
    write(BAD)
    commit(git)
    first = git("rev-parse", "v1").strip()
    for call in (
        ("x.boat", "--since", "v1"), ("x.boat", "--since", first[:10]), ("x.boat", "--since", "HEAD~1"),
        ("v1:x.boat", "x.boat"), ("v1", "x.boat"), ("v1:x.boat", "main"), ("v1:./x.boat", "main:x.boat"),
    ):  # fmt: skip
        result = run("compare", *call, "--format", "json")
        assert result.exit_code == 0, (call, result.output)
        assert [c["element"] for c in json.loads(result.stdout)["changed"]] == ["W2"], call


def test_neither_checkout_nor_index_is_touched(git: Git) -> None:
    write(BAD)
    git("add", "x.boat")
    write(DESIGN + "# unsaved\n")
    index = Path(".git/index").read_bytes()
    status = git("status", "--porcelain")
    assert run("compare", "x.boat", "--since", "main").exit_code == 0
    assert (Path(".git/index").read_bytes(), git("status", "--porcelain")) == (index, status)
    assert Path("x.boat").read_text(encoding="utf-8").endswith("# unsaved\n")


def test_used_files_and_rulebooks_come_from_the_revision_too(git: Git) -> None:
    own = DESIGN.replace("rulebook iso-13297", "rulebook yard") + "rulebook yard, file yard.toml\nuse parts/more.boat\n"
    assert own.count("rulebook yard") == 2
    write('over = "iso-13297"\n', "yard.toml")
    write("place AFT, ambient 30 °C\n", "parts/more.boat")
    write(own)
    commit(git)
    write("place AFT, ambient 35 °C\n", "parts/more.boat")
    Path("yard.toml").unlink()
    result = run("compare", "main:x.boat", "main:x.boat", "--format", "json")
    assert result.exit_code == 0, result.output
    write('over = "iso-13297"\n# other\n', "yard.toml")
    found = json.loads(run("compare", "x.boat", "--since", "main", "--format", "json").stdout)
    assert {(c["kind"], c["element"]) for c in found["changed"]} == {("place", "AFT"), ("rulebook", "yard")}


@pytest.mark.parametrize(
    ("call", "said"),
    [
        (("x.boat", "--since", "nowhere"), "no such revision"),
        (("x.boat", "--since", "--output=stolen"), "no such revision"),
        (("x.boat", "--since", "main\nHEAD"), "is no revision"),
        (("x.boat", "--since", ""), "is no revision"),
        (("main:gone.boat", "x.boat"), "no such file"),
        (("main:../x.boat", "x.boat"), "outside the checkout"),
        (("main:a/../../x.boat", "x.boat"), "within the repository"),
        (("main:/etc/passwd", "x.boat"), "within the repository"),
        (("main", "HEAD"), "write REVISION:path"),
        (("x.boat",), "--since"),
    ],
)
def test_what_cannot_be_had_is_said(git: Git, call: tuple[str, ...], said: str) -> None:
    before = sorted(p.name for p in Path.cwd().iterdir())
    result = run("compare", *call)
    assert result.exit_code == 2 and said in result.stderr, result.output
    assert sorted(p.name for p in Path.cwd().iterdir()) == before


def test_no_repository_and_bare_and_shallow(git: Git, tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    write(BAD)
    commit(git)
    alone = tmp_path / "alone"
    alone.mkdir()
    (alone / "x.boat").write_text(DESIGN, encoding="utf-8")
    result = run("compare", str(alone / "x.boat"), "--since", "main")
    assert result.exit_code == 2 and "no git repository" in result.stderr
    here = Path.cwd()
    outside = git_in(tmp_path)
    outside("clone", "-q", "--bare", str(here), "bare")
    outside("clone", "-q", "--depth", "1", f"file://{here}", "shallow")
    monkeypatch.chdir(tmp_path / "bare")
    assert run("compare", "main~1:x.boat", "main:x.boat").exit_code == 0
    monkeypatch.chdir(tmp_path / "shallow")
    result = run("compare", "x.boat", "--since", "HEAD~1")
    assert result.exit_code == 2 and "shallow" in result.stderr


def test_moved_deleted_and_new_files(git: Git) -> None:
    git("mv", "x.boat", "y.boat")
    Path("sub").mkdir()
    git("mv", "y.boat", "sub/x.boat")
    result = run("compare", "sub/x.boat", "--since", "main")
    assert result.exit_code == 0 and "was x.boat in main" in result.stdout
    assert run("compare", "x.boat", "--since", "main").exit_code == 2
    write(BAD.replace('boat "Example"', 'boat "Another"'), "new.boat")
    assert run("check", "new.boat", "--since", "main").exit_code == 1
    assert "is not in main" in run("compare", "new.boat", "--since", "main").stderr


def test_links_and_submodules_are_refused(git: Git, tmp_path: Path) -> None:
    (tmp_path / "secret.boat").write_text("place SECRET\n", encoding="utf-8")
    Path("link.boat").symlink_to(tmp_path / "secret.boat")
    Path("folder").symlink_to(tmp_path)
    inner = Path("module")
    inner.mkdir()
    other = git_in(inner.resolve())
    other("init", "-q")
    (inner / "m.boat").write_text("place M\n", encoding="utf-8")
    other("add", ".")
    other("commit", "-q", "-m", "m")
    for used in ("link.boat", "folder/secret.boat", "module/m.boat", "../secret.boat"):
        write(DESIGN + f"use {used}\n")
        commit(git, used)
        result = run("compare", "main:x.boat", "main:x.boat")
        assert result.exit_code == 3 and "SECRET" not in result.output, used
        said = {"l": "symbolic link", "f": "symbolic link", "m": "submodule", ".": "outside the folder"}[used[0]]
        assert said in result.output, used
    assert "symbolic link" in run("compare", "main:link.boat", "x.boat").stderr


def test_the_repository_runs_nothing(git: Git, tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """Every setting by which a repository or its surroundings make git run something points to a telltale."""
    trap = tmp_path / "trap"
    trap.write_text(f"#!/bin/sh\ntouch {tmp_path}/sprung\ncat\n", encoding="utf-8")
    trap.chmod(0o755)
    for key in (
        "core.fsmonitor", "core.sshCommand", "core.pager", "core.editor", "diff.external", "diff.t.textconv",
        "filter.t.smudge", "filter.t.clean", "core.askPass", "alias.cat-file",
    ):  # fmt: skip
        git("config", key, str(trap))
    Path(".git/info/attributes").write_text("*.boat diff=t filter=t\n", encoding="utf-8")
    for hook in ("post-checkout", "post-index-change", "reference-transaction"):
        (Path(".git/hooks") / hook).parent.mkdir(exist_ok=True)
        (Path(".git/hooks") / hook).symlink_to(trap)
    monkeypatch.setenv("GIT_EXTERNAL_DIFF", str(trap))
    monkeypatch.setenv("GIT_DIR", str(tmp_path / "nowhere"))
    monkeypatch.setenv("GIT_OBJECT_DIRECTORY", str(tmp_path / "nowhere"))
    assert run("compare", "x.boat", "--since", "main").exit_code == 0
    assert not (tmp_path / "sprung").exists()


def test_a_missing_object_is_said(git: Git) -> None:
    ident = git("rev-parse", "main:x.boat").strip()
    path = Path(".git/objects") / ident[:2] / ident[2:]
    path.chmod(0o644)
    path.unlink()
    result = run("compare", "x.boat", "--since", "main")
    assert result.exit_code == 2 and "not in this repository" in result.stderr


def test_check_since_fails_on_what_got_worse_only(git: Git) -> None:
    write(BAD)
    commit(git)
    assert run("check", "x.boat").exit_code == 1
    result = run("check", "x.boat", "--since", "main")
    assert result.exit_code == 0 and "0 new" in result.stdout
    write(BAD + "battery SPARE, AGM, 12 V, 50 Ah, resistance 5 mΩ\n")
    assert run("check", "x.boat", "--since", "main", "--fail-on", "advice").exit_code == 1
    assert run("check", "x.boat", "--since", "main").exit_code == 0
    result = run("check", "x.boat", "--since", "HEAD~1", "--format", "json")
    assert result.exit_code == 1
    assert "conductor-unprotected" in {f["rule"] for f in json.loads(result.stdout)["since"]["designs"][0]["worse"]}


def test_an_acceptance_that_ends_makes_a_finding_graver(git: Git) -> None:
    accepted = BAD + 'accept conductor-unprotected at W2, "rewired in spring", by "yard", until 2027-04-01\n'
    write(accepted)
    commit(git)
    write(BAD)
    found = json.loads(run("compare", "x.boat", "--since", "main", "--format", "json").stdout)["findings"]
    assert [g["now"]["rule"] for g in found["graver"]] == ["conductor-unprotected"]
    assert run("check", "x.boat", "--since", "main").exit_code == 1


def test_check_since_is_incomplete_where_the_past_is(git: Git) -> None:
    write(DESIGN + "cabel W9\n")
    commit(git)
    write(DESIGN)
    assert run("check", "x.boat", "--since", "main").exit_code == 3
    assert run("check", "x.boat", "--since", "HEAD~1").exit_code == 0


def test_it_works_as_a_program(git: Git) -> None:
    import sys

    done = subprocess.run(
        [sys.executable, "-m", "linter.cli", "compare", "x.boat", "--since", "main"],
        capture_output=True, check=False, env={"PYTHONPATH": str(Path(__file__).resolve().parents[2]), "PATH": "/usr/bin:/bin"},
    )  # fmt: skip
    assert done.returncode == 0 and b"Nothing differs." in done.stdout
