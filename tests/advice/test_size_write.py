"""`size --write` changes the lines of what was left open, and nothing else."""

from __future__ import annotations

import json
from pathlib import Path

import pytest
from click.testing import CliRunner

from linter.cli import main
from linter.model.build import build
from linter.rules.engine import examine
from linter.source.files import Reader
from linter.source.parser import parse
from linter.source.tidy import tidy
from tests.advice.small_boats import SHEETS

HEAD = """# a boat of our own
boat "Example", 9 m, rulebook abyc-e11
system DC12, 12 V, negative earthed
cables, insulation 105 °C, tinned
battery B, AGM, 12 V, 100 Ah, resistance 4 mΩ

"""
OPEN = """from B   # not tidy, and it stays so
fuse F1,   ? A     # for the lamp
cable W1 "Lamp", size ? AWG,
  2 m,   red   # by hand
load LAMP,draws 4 A
"""


def run(*arguments: str) -> tuple[int, str]:
    result = CliRunner().invoke(main, ["size", *arguments])
    assert result.exception is None or isinstance(result.exception, SystemExit), result.exception
    return result.exit_code, result.output


def a_boat(folder: Path, text: str = OPEN, end: str = "\n") -> Path:
    path = folder / "small.boat"
    path.write_bytes((HEAD + text + SHEETS).replace("\n", end).encode())
    return path


def shown(output: str) -> dict[str, str]:
    return {c["element"]: c["choice"] for c in json.loads(output)["chosen"]}


@pytest.mark.parametrize("end", ["\n", "\r\n"])
def test_only_those_lines_change(end: str, tmp_path: Path) -> None:
    path = a_boat(tmp_path, end=end)
    before = path.read_bytes().decode().split(end)
    _, told = run(str(path), "--format", "json")
    assert path.read_bytes().decode().split(end) == before
    status, _ = run(str(path), "--write")
    assert status == 0
    after = path.read_bytes().decode()
    assert after.count("\r\n") == (after.count("\n") if end == "\r\n" else 0)
    lines = after.split(end)
    changed = [line for line in before if line not in lines]
    assert len(changed) <= 3
    assert all(line.startswith(("fuse F1", "cable W1", "  2 m")) for line in changed)
    assert "for the lamp" in after
    assert "by hand" in after
    choice = shown(told)
    design = build(Reader().design(str(path)))
    fuse, cable = design.elements["F1"], design.elements["W1"]
    assert str(cable.facts["area"].values[0]) == choice["W1"]
    assert str(fuse.facts["current"].values[0]) == choice["F1"].split(", ")[-1]
    assert not [f for f in examine(design).findings if not f.accepted]


def test_what_is_left_open_in_a_file_that_is_used_is_written_there(tmp_path: Path) -> None:
    (tmp_path / "lamp.boat").write_text(OPEN, encoding="utf-8")
    path = a_boat(tmp_path, "use lamp.boat\n")
    before = path.read_bytes()
    assert run(str(path), "--write")[0] == 0
    assert path.read_bytes() == before
    assert "?" not in (tmp_path / "lamp.boat").read_text(encoding="utf-8")


def test_a_file_that_may_not_be_written_stays(tmp_path: Path) -> None:
    path = a_boat(tmp_path)
    before = path.read_bytes()
    path.chmod(0o444)
    status, output = run(str(path), "--write")
    assert status == 2
    assert "may not be written" in output
    assert path.read_bytes() == before
    assert list(tmp_path.iterdir()) == [path]


def test_no_file_is_written_where_one_of_them_cannot_be(tmp_path: Path) -> None:
    (tmp_path / "lamp.boat").write_text(OPEN.replace("size ? AWG", "10 AWG"), encoding="utf-8")
    more = "\nfrom B\nfuse F2, part branch, 10 A\ncable W2, size ?, 2 m\nload FAN, draws 3 A\n"
    path = a_boat(tmp_path, "use lamp.boat\n" + more)
    before = path.read_bytes()
    (tmp_path / "lamp.boat").chmod(0o444)
    status, _ = run(str(path), "--write")
    assert status == 2
    assert path.read_bytes() == before


def test_messages(tmp_path: Path) -> None:
    closed = OPEN.replace("size ? AWG", "10 AWG").replace("? A", "part branch, 5 A")
    for text, arguments, status, words in (
        (closed, (), 2, "nothing is left open"),
        (OPEN, ("W9",), 2, "W9"),
        (OPEN, ("B",), 2, "B is a battery"),
        (OPEN.replace("  2 m,", " "), (), 2, "W1 has no length"),
        (OPEN + "fuse F9, ? A, nonsense\n", (), 3, "mend the errors"),
        (OPEN, ("LAMP",), 0, "W1"),
    ):
        got, output = run(str(a_boat(tmp_path, text)), *arguments)
        assert (got, words in output) == (status, True), output
        assert "Traceback" not in output


def test_contradiction_is_status_1_and_hostile_words_do_no_harm(tmp_path: Path) -> None:
    text = OPEN.replace('"Lamp"', '"[bold]Lamp</b>\\x1b"').replace("draws 4 A", "draws 4 A, asks fuse 2 A")
    status, output = run(str(a_boat(tmp_path, text)))
    assert status == 1
    assert "\u202e" not in output
    assert "nothing satisfies" in output
    status, output = run(str(a_boat(tmp_path, text)), "--format", "json")
    assert status == 1
    assert json.loads(output)["contradictions"]


def test_nothing_is_chosen_where_a_rule_cannot_run(tmp_path: Path) -> None:
    path = a_boat(tmp_path)
    path.write_text(path.read_text(encoding="utf-8").replace("rulebook abyc-e11", "rulebook nowhere"), encoding="utf-8")
    before = path.read_bytes()
    status, output = run(str(path), "--write")
    assert status == 3
    assert "nothing is chosen" in output
    assert path.read_bytes() == before


ROUTED = """from B
fuse F1, ? A
cable W1, {size}, 5 m, {facts}
load LAMP, draws 4 A
"""


@pytest.mark.parametrize(
    "facts", ["in sheath, 2 m in HOT, 3 m in COOL, bundle of 4", "2 m in HOT,3 m in COOL, in sheath, bundle of 4"]
)
def test_of_the_line_no_more_is_moved_than_tidy_moves(facts: str, tmp_path: Path) -> None:
    """A line in canonical form keeps every other fact as it stands; any other becomes what `tidy` makes of it."""
    places = "place HOT, ambient 40 °C\nplace COOL\n"
    path = a_boat(tmp_path, places + ROUTED.format(size="size ?", facts=facts))
    before = path.read_text(encoding="utf-8")
    assert run(str(path), "--write")[0] == 0
    size = str(build(Reader().design(str(path))).elements["W1"].facts["area"].values[0]).replace("mm²", "mm2")
    line = next(s for s in before.splitlines() if s.startswith("cable W1"))
    alone = tidy(parse("", line + "\n"))
    written = next(s for s in path.read_text(encoding="utf-8").splitlines() if s.startswith("cable W1"))
    assert written + "\n" == alone.replace("size ?", size)
    if facts.startswith("in sheath"):
        assert written == line.replace("size ?", size)
