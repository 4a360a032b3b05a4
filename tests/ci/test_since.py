"""`check --since` in the forms for programs: every finding is there, and each says whether the change brought it."""

from __future__ import annotations

import json
import re

import pytest

from tests.ci.conftest import Yard


@pytest.fixture
def changed(yard: Yard) -> Yard:
    """Bad before, and a second danger brought by the last commit."""
    yard.harmful()
    text = yard.boat.read_text(encoding="utf-8")
    text, found = re.subn(r"^fuse F14 .*\n", "", text, flags=re.MULTILINE)
    assert found == 1
    yard.boat.write_text(text, encoding="utf-8")
    yard.git("commit", "-q", "-a", "-m", "Worse")
    return yard


def test_sarif(changed: Yard) -> None:
    done = changed.shell("wireworthy check boats --since HEAD~1 --format sarif")
    assert done.returncode == 1, done.stderr
    found = {
        (r["properties"]["element"], r["ruleId"]): r["baselineState"]
        for r in json.loads(done.stdout)["runs"][0]["results"]
    }
    assert found["W12", "conductor-unprotected"] == "unchanged" and found["W14", "conductor-unprotected"] == "new"
    assert changed.shell("wireworthy check boats --since HEAD --format sarif").returncode == 0


def test_junit_fails_only_what_is_new(changed: Yard) -> None:
    done = changed.shell("wireworthy check boats --since HEAD~1 --format junit -o new.xml")
    assert done.returncode == 1 and "danger: W14" in done.stdout and "danger: W12" not in done.stdout
    made = (changed.folder / "new.xml").read_text(encoding="utf-8")
    assert '<failure message="danger: W14' in made and '<skipped message="known danger: W12' in made


def test_annotations_and_issues(changed: Yard) -> None:
    lines = changed.shell("wireworthy check boats --since HEAD~1 --format annotations").stdout.splitlines()
    assert lines[0].startswith("::error file=boats/launch.boat") and "W14" in lines[0]
    assert [line for line in lines if "known danger" in line and line.startswith("::warning ") and "W12" in line]
    issues = json.loads(changed.shell("wireworthy check boats --since HEAD~1 --format code-quality").stdout)
    assert {i["description"].split(",")[0] for i in issues} >= {"known danger: W12 (To float switch)"}


@pytest.mark.parametrize(
    ("command", "said"),
    [
        ("check boats --since nowhere --format sarif", "no such revision"),
        ("check - --since HEAD --format junit < boats/launch.boat", "standard input has no history"),
        ("check boats --since HEAD -o text.txt", "name another format"),
        ("check - --record known.json < boats/launch.boat", "standard input"),
    ],
)
def test_calls_that_cannot_be_done(changed: Yard, command: str, said: str) -> None:
    done = changed.shell(f"wireworthy {command}")
    assert done.returncode == 2 and said in done.stderr and "Traceback" not in done.stderr


def test_a_revision_that_could_not_be_read_is_incomplete(changed: Yard) -> None:
    text = changed.boat.read_text(encoding="utf-8")
    changed.boat.write_text(text + "cabel W99\n", encoding="utf-8")
    changed.git("commit", "-q", "-a", "-m", "A slip")
    changed.boat.write_text(text, encoding="utf-8")
    for form in ("sarif", "junit", "annotations", "code-quality"):
        done = changed.shell(f"wireworthy check boats --since HEAD --format {form}")
        assert done.returncode == 3 and "part of it could not be read" in done.stderr
        if form == "sarif":
            assert json.loads(done.stdout)["runs"][0]["invocations"][0]["executionSuccessful"] is False
