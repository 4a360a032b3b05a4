"""The hooks of .pre-commit-hooks.yaml: their entries in a real repository, and by the framework itself, without network."""

from __future__ import annotations

import re
import shlex
import sys
from typing import Any

import pytest
import yaml

from tests.ci.conftest import ROOT, Yard, recipe

HOOKS: dict[str, dict[str, Any]] = {
    hook["id"]: hook for hook in yaml.safe_load((ROOT / ".pre-commit-hooks.yaml").read_text(encoding="utf-8"))
}
PRE_COMMIT = [sys.executable, "-m", "pre_commit"]


def entry(yard: Yard, name: str, *files: str) -> tuple[int, str]:
    """What the framework would run: entry, arguments, and the changed files if it passes them."""
    hook = HOOKS[name]
    passed = [f for f in files if re.search(hook["files"], f)] if hook.get("pass_filenames", True) else []
    done = yard.run([*shlex.split(hook["entry"]), *hook.get("args", []), *passed])
    return done.returncode, done.stdout + done.stderr


def test_check(yard: Yard) -> None:
    assert entry(yard, "wireworthy-check", "boats/launch.boat")[0] == 0
    yard.harmful()
    status, output = entry(yard, "wireworthy-check", "boats/launch.boat")
    assert status == 1 and "danger: W12" in output


def test_check_judges_a_part_sheet_in_the_designs_that_use_it(yard: Yard) -> None:
    sheet = yard.folder / "boats" / "parts" / "protection.boat"
    text, found = re.subn(r"^part cartridge-b-6\b", "part cartridge-b-x", sheet.read_text(encoding="utf-8"), flags=re.M)
    assert found == 1
    sheet.write_text(text, encoding="utf-8")
    status, output = entry(yard, "wireworthy-check", "boats/parts/protection.boat")
    assert status == 3 and "boats/launch.boat:116" in output


def test_tidy(yard: Yard) -> None:
    files = ("boats/launch.boat", "boats/parts/protection.boat", "notes.txt")
    assert entry(yard, "wireworthy-tidy", *files)[0] == 0
    text = yard.boat.read_text(encoding="utf-8").replace("cable W12 ", "cable   W12 ")
    yard.boat.write_text(text, encoding="utf-8")
    status, output = entry(yard, "wireworthy-tidy", *files)
    assert status == 1 and "launch.boat" in output
    assert yard.boat.read_text(encoding="utf-8") == text


def test_the_manifest_and_the_recipe_are_what_the_framework_takes(yard: Yard) -> None:
    manifest = yard.run([*PRE_COMMIT, "validate-manifest", str(ROOT / ".pre-commit-hooks.yaml")])
    assert manifest.returncode == 0, manifest.stdout
    (yard.folder / "config.yaml").write_text(recipe("ci-hooks"), encoding="utf-8")
    config = yard.run([*PRE_COMMIT, "validate-config", "config.yaml"])
    assert config.returncode == 0, config.stdout
    (repository,) = yaml.safe_load(recipe("ci-hooks"))["repos"]
    assert {hook["id"] for hook in repository["hooks"]} == set(HOOKS)


@pytest.fixture
def hooked(yard: Yard) -> Yard:
    """The hooks installed as a yard's own, in the environment that is there: making one would need a network."""
    local = [{**hook, "language": "system"} for hook in HOOKS.values()]
    config = yaml.safe_dump({"repos": [{"repo": "local", "hooks": local}]})
    (yard.folder / ".pre-commit-config.yaml").write_text(config, encoding="utf-8")
    done = yard.run([*PRE_COMMIT, "install"])
    assert done.returncode == 0, done.stdout + done.stderr
    yard.git("add", ".pre-commit-config.yaml")
    yard.git("commit", "-q", "-m", "Hooks")
    return yard


def test_the_framework_lets_the_good_change_through_and_stops_the_bad_one(hooked: Yard) -> None:
    hooked.harmless()
    hooked.git("switch", "-q", "main")
    before = hooked.git("rev-parse", "HEAD")
    text = hooked.boat.read_text(encoding="utf-8")
    hooked.boat.write_text("".join(re.split(r"^fuse F12 .*\n", text, flags=re.MULTILINE)), encoding="utf-8")
    done = hooked.run(["git", "commit", "-a", "-m", "Take the fuse out"])
    said = done.stdout + done.stderr
    assert done.returncode == 1 and hooked.git("rev-parse", "HEAD") == before
    assert "danger: W12" in said and "wireworthy-check" in said
    hooked.boat.write_text(text.replace("cable W12 ", "cable   W12 "), encoding="utf-8")
    done = hooked.run(["git", "commit", "-a", "-m", "Untidy"])
    assert done.returncode == 1 and "wireworthy-tidy" in done.stdout + done.stderr


def test_the_framework_runs_nothing_where_no_design_changed(hooked: Yard) -> None:
    (hooked.folder / "notes.txt").write_text("x\n", encoding="utf-8")
    hooked.git("add", "notes.txt")
    done = hooked.run(["git", "commit", "-m", "Notes"])
    assert done.returncode == 0 and "no files to check" in done.stdout + done.stderr
