"""The recipes of the README, run as shell in a real repository, on a good and on a bad change."""

from __future__ import annotations

import json
import re
import subprocess
import sys
import textwrap
from typing import Any

import pytest
import yaml
from junitparser import JUnitXml

from tests.ci.conftest import Yard, recipe

#: One screen: so many lines of so many columns.
LINES, COLUMNS = 40, 120
EXPLAINED = ("danger", "nothing opens", "mend: ")


def screen(output: str) -> list[str]:
    """What is shown, wrapped as a terminal wraps it."""
    return [part for line in output.splitlines() for part in textwrap.wrap(line, COLUMNS) or [""]]


def shell_steps() -> list[str]:
    return recipe("ci-shell").splitlines()


def workflow_steps() -> list[str]:
    made: dict[str, Any] = yaml.safe_load(recipe("ci-workflow"))
    (job,) = made["jobs"].values()
    return [step["run"] for step in job["steps"] if "run" in step]


def pipeline_steps() -> list[str]:
    (job,) = yaml.safe_load(recipe("ci-pipeline")).values()
    return list(job["script"])


def run(yard: Yard, steps: list[str], **more: str) -> subprocess.CompletedProcess[str]:
    done = yard.shell("\n".join(steps), **more)
    assert done.stderr == "", done.stderr
    return done


def test_what_the_recipes_install_is_what_they_are_told_to() -> None:
    for steps in (shell_steps(), workflow_steps(), pipeline_steps()):
        installs = [s for s in steps if "pip install" in s]
        assert installs == ['python3 -m pip install -q "$WIREWORTHY"'] and steps[0] == installs[0]


def test_shell(yard: Yard) -> None:
    yard.harmless()
    good = run(yard, shell_steps())
    assert good.returncode == 0, good.stdout
    yard.git("switch", "-q", "main")
    yard.git("branch", "-q", "-D", "proposed")
    yard.harmful()
    bad = run(yard, shell_steps())
    assert bad.returncode == 1
    assert all(words in bad.stdout for words in EXPLAINED) and "W12" in bad.stdout
    assert len(screen(bad.stdout)) <= LINES, bad.stdout


def test_shell_stops_at_a_file_that_is_not_in_canonical_form(yard: Yard) -> None:
    yard.change("cable W12 ", "cable   W12 ", "Untidy")
    done = yard.shell("\n".join(shell_steps()))
    assert done.returncode == 1 and "launch.boat" in done.stdout + done.stderr


def test_workflow(yard: Yard) -> None:
    """On a proposed change GITHUB_BASE_REF is the branch it is for, otherwise it is not set."""
    assert run(yard, workflow_steps()).returncode == 0
    yard.harmless()
    assert run(yard, workflow_steps(), GITHUB_BASE_REF="main").returncode == 0
    yard.git("switch", "-q", "main")
    yard.git("branch", "-q", "-D", "proposed")
    yard.harmful()
    yard.git("checkout", "-q", "--detach")
    for more in ({"GITHUB_BASE_REF": "main"}, {}):
        done = run(yard, workflow_steps(), **more)
        assert done.returncode == 1
        shown = done.stdout.replace("%0A", "\n")
        assert all(words in shown for words in EXPLAINED)
        assert re.match(r"::error file=boats/launch\.boat,line=\d+,", done.stdout)
        assert len(screen(shown)) <= LINES, shown


def test_pipeline(yard: Yard) -> None:
    """CI_MERGE_REQUEST_DIFF_BASE_SHA is set for a merge request only."""
    assert run(yard, pipeline_steps()).returncode == 0
    base = yard.git("rev-parse", "main").strip()
    yard.harmful()
    done = run(yard, pipeline_steps(), CI_MERGE_REQUEST_DIFF_BASE_SHA=base)
    assert done.returncode == 1
    assert all(words in done.stdout for words in EXPLAINED)
    assert len(screen(done.stdout)) <= LINES, done.stdout
    (job,) = yaml.safe_load(recipe("ci-pipeline")).values()
    reports = job["artifacts"]["reports"]
    issues = json.loads((yard.folder / reports["codequality"]).read_text(encoding="utf-8"))
    assert "blocker" in {i["severity"] for i in issues}
    assert {i["location"]["path"] for i in issues} == {"boats/launch.boat"}
    assert JUnitXml.fromfile(str(yard.folder / reports["junit"])).failures > 0


def test_pipeline_is_not_ended_early_by_what_cannot_be_read(yard: Yard) -> None:
    yard.change("cable W12 ", "cabel W12 ", "A slip")
    done = run(yard, pipeline_steps(), CI_MERGE_REQUEST_DIFF_BASE_SHA="main")
    assert done.returncode == 3 and "launch.boat:117" in done.stdout


@pytest.mark.parametrize(
    ("info", "schema"), [("ci-workflow", "vendor.github-workflows"), ("ci-pipeline", "vendor.gitlab-ci")]
)
def test_the_files_are_what_their_forges_take(yard: Yard, info: str, schema: str) -> None:
    """By the schemas of the forges, which the package check-jsonschema carries."""
    (yard.folder / "file.yml").write_text(recipe(info), encoding="utf-8")
    call = [sys.executable, "-m", "check_jsonschema", "--builtin-schema", schema, "file.yml"]
    done = yard.run(call)
    assert done.returncode == 0, done.stdout + done.stderr
    (yard.folder / "file.yml").write_text(
        recipe(info).replace("script:", "scripts:").replace("steps:", "step:"), encoding="utf-8"
    )
    assert yard.run(call).returncode != 0


def test_a_record_adopts_an_old_boat(yard: Yard) -> None:
    """The commands as the README says them, on a boat that was bad before."""
    yard.harmful()
    assert yard.shell("wireworthy check boats").returncode == 1
    assert yard.shell("wireworthy check boats --record known.json").returncode == 0
    done = yard.shell("wireworthy check boats --against known.json")
    assert done.returncode == 0 and "known danger: W12" in done.stdout
    text = yard.boat.read_text(encoding="utf-8")
    (line,) = re.findall(r"^fuse F14 .*\n", text, re.MULTILINE)
    yard.boat.write_text(text.replace(line, ""), encoding="utf-8")
    done = yard.shell("wireworthy check boats --against known.json")
    assert done.returncode == 1 and done.stdout.splitlines()[0].startswith("boats/launch.boat:")
    assert "danger: W14" in done.stdout.splitlines()[0]
