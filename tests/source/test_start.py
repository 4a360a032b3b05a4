"""The design to start from: complete, clean, in canonical form, and never in place of another file."""

from __future__ import annotations

from pathlib import Path

import pytest
from click.testing import CliRunner, Result

from linter.cli import main
from linter.model.build import build
from linter.rules.engine import examine
from linter.source.files import Reader
from linter.source.parser import parse
from linter.source.start import file_for, start_text
from linter.source.tidy import tidy


@pytest.fixture(autouse=True)
def _elsewhere(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.chdir(tmp_path)


def run(*arguments: str) -> Result:
    return CliRunner().invoke(main, arguments)


def test_it_is_complete_and_without_any_finding() -> None:
    result = examine(build(Reader().design_text(start_text("Tern"))))
    assert result.complete and result.findings == [] and result.design.mistakes == []
    assert result.design.boat == "Tern" and len(result.study.conductors) >= 5


@pytest.mark.parametrize("name", ["Tern", "Bluebird of Chelsea 2", "Étoile", "x" * 200, "#1"])
def test_it_is_in_canonical_form(name: str) -> None:
    text = start_text(name)
    assert tidy(parse("t", text)) == text
    assert sum(line.startswith("#") for line in text.splitlines()) > 20


@pytest.mark.parametrize("name", ["", " ", 'a"b', 'x", 3 m #', "a\nb", "\u202eevil", "x" * 201, "\0"])
def test_names_that_cannot_be(name: str) -> None:
    with pytest.raises(ValueError, match="name"):
        start_text(name)
    assert run("new", "-o", "a.boat", "--", name).exit_code == 2
    assert not Path("a.boat").exists()


def test_files_are_named_by_the_boat() -> None:
    assert file_for("Bluebird of Chelsea") == "bluebird-of-chelsea.boat"
    assert file_for("../../etc/passwd") == "etc-passwd.boat"
    assert file_for("---") == ""


def test_the_command_writes_once_and_check_is_content() -> None:
    assert run("new", "Tern").exit_code == 0
    text = Path("tern.boat").read_text(encoding="utf-8")
    assert text == start_text("Tern")
    assert run("check", "--fail-on", "advice", "tern.boat").exit_code == 0
    assert run("tidy", "--check", "tern.boat").exit_code == 0
    Path("tern.boat").write_text("mine\n")
    again = run("new", "Tern")
    assert again.exit_code == 2 and "not overwritten" in again.output
    assert Path("tern.boat").read_text() == "mine\n"


def test_a_link_to_nothing_is_not_followed() -> None:
    Path("tern.boat").symlink_to("elsewhere.boat")
    assert run("new", "Tern").exit_code == 2
    assert not Path("elsewhere.boat").exists()


def test_other_places() -> None:
    assert run("new", "Tern", "-o", "-").output == start_text("Tern")
    assert run("new", "Tern", "-o", "no/such/folder.boat").exit_code == 2
    assert run("new", "---").exit_code == 2
