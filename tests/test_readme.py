"""What the README promises is what happens."""

from __future__ import annotations

import re
from pathlib import Path

from click.testing import CliRunner

from linter.cli import main
from linter.model.build import build
from linter.rules.engine import examine
from linter.source.files import Reader

ROOT = Path(__file__).resolve().parents[1]
README = (ROOT / "README.md").read_text(encoding="utf-8")


def blocks(info: str) -> list[str]:
    return re.findall(rf"^```{re.escape(info)}\n(.*?)^```$", README, re.MULTILINE | re.DOTALL)


def test_there_are_two_commands_to_set_up() -> None:
    (commands,) = blocks("sh set-up")
    assert len(commands.splitlines()) == 2
    assert "pytest" in commands.splitlines()[1]


def test_the_findings_shown_are_those_of_the_launch_as_found() -> None:
    (shown,) = blocks("text")
    output = CliRunner().invoke(main, ["check", "--fail-on", "never", "tests/broken/launch-as-found.boat"])
    assert output.exit_code == 0, output.output
    lines = shown.splitlines()
    assert len(lines) > 10
    assert [line for line in lines if line != "…" and line not in output.output.splitlines()] == []


def test_the_first_design_shown_is_free_of_findings() -> None:
    design, accepted = blocks("boat")
    result = examine(build(Reader().design_text(design)))
    assert result.complete
    assert result.findings == []
    assert accepted.startswith("accept protection-distance at ")


def test_the_three_boats_are_free_of_findings_that_nobody_accepts() -> None:
    sizes = {"launch": 30, "cutter": 100, "motor-yacht": 200}
    for boat, conductors in sizes.items():
        result = examine(build(Reader().design(str(ROOT / "boats" / f"{boat}.boat"))))
        assert result.complete
        assert [f.rule for f in result.findings if not f.accepted] == []
        assert abs(len(result.study.conductors) - conductors) <= conductors / 10
