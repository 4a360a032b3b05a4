"""The layer of changes: marks, bands and list, from plain data; and what a comparison makes of two designs."""

from __future__ import annotations

import re
import subprocess
from dataclasses import replace
from pathlib import Path

import pytest
from click.testing import CliRunner

from linter.cli import main
from linter.cli_changes import changes_of
from linter.drawing.changes import KINDS, Change, Changes
from linter.drawing.draw import write
from linter.drawing.picture import Marker, Picture, Stroke
from linter.drawing.sheets import Settings, sheets
from linter.drawing.svg import SEVERITY_COLOURS
from linter.history.compare import compared
from linter.history.sides import Side
from linter.model.design import Design
from linter.rules.engine import examine
from tests.drawing.designs import SMALL, by_chance, design_of
from tests.drawing.readback import bands
from tests.drawing.test_sheets import BOATS, boat_of, check

BOOK = SMALL.replace("7 m", "7 m, rulebook iso-13297").replace("W3, 35 mm2", "W3, 95 mm2")


def changes_for(design: Design) -> Changes:
    """Every third element changed, in one of the four ways, some several times; and some of no element."""
    names = list(design.elements)
    lines = ("size 10 mm² → 6 mm²", "length 0.4 m → 0.9 m")
    rows = [
        Change(KINDS[n % 4], name, (name, *names[n : n + 2 * (n % 4 == 1)]), "What it is", lines[: n % 3],
               ("verdict protected → unprotected; " * (n % 5 + 1),) * (n % 2))
        for n, name in enumerate(names)
        for _ in range(1 + 3 * (n % 11 == 0))
        if n % 3 == 0
    ]  # fmt: skip
    return Changes("v1.0", (*rows, Change("removed", "scene Night")), "That is all.")


@pytest.mark.parametrize("paper", ["a3", "a4"])
@pytest.mark.parametrize("name", BOATS)
def test_a_boat_with_changes(name: str, paper: str) -> None:
    design = boat_of(name)
    made = sheets(design, settings=Settings(paper), layers=("ratings",), changes=changes_for(design))
    check(design, made)
    listed_once(made, changes_for(design))


def listed_once(made: list[Picture], changes: Changes) -> None:
    """Each number stands once in the list, and at each element it concerns."""
    assert listed_numbers(made) == [*range(1, len(changes.rows) + 1)]
    drawn = {(d.name, m.number, m.severity) for p in made for d in p.elements for m, _ in d.markers}
    assert drawn == {(a, n, c.kind) for n, c in enumerate(changes.rows, 1) for a in c.at}


def listed_numbers(made: list[Picture]) -> list[int]:
    """The numbers in the lists; the marks of keys have none."""
    return sorted(s.number for p in made for s in p.frame if isinstance(s, Marker) and s.number)


@pytest.mark.parametrize("seed", range(6))
def test_a_boat_made_by_chance_with_changes(seed: int) -> None:
    design = design_of(by_chance(seed, 12 + seed, 20, tree=seed % 2 == 0))
    check(design, sheets(design, settings=Settings("a4"), changes=changes_for(design)))


def test_what_is_new_or_otherwise_is_hatched_each_its_own_way() -> None:
    design = design_of(SMALL)
    rows = (Change("added", "W1", ("W1",)), Change("changed", "W2", ("W2",)), Change("affected", "W3", ("W3",)))
    made = sheets(design, changes=Changes("v1", rows))
    by_name = {d.name: d for p in made for d in p.elements}
    assert [len(bands(by_name[n])) for n in ("W1", "W2", "W3", "W4")] == [1, 1, 0, 0]

    def slants(name: str) -> set[bool]:
        lines = [s for s in by_name[name].shapes if isinstance(s, Stroke) and s.colour and not s.closed]
        assert len(lines) > 5
        return {abs(s.points[0][0] - s.points[1][0]) > 0.1 for s in lines}

    assert slants("W1") == {True} and slants("W2") == {False}
    (svg,) = write(made, "svg")
    shapes = {
        k: re.search(rf'<g class="mark {k}">(.*?)<text', svg.decode())[1] for k in ("added", "changed", "affected")
    }  # type: ignore[index]
    bare = {k: re.sub(r'"[^"]*"', "", s) for k, s in shapes.items()}
    assert bare["added"] != bare["changed"] and shapes["changed"] != shapes["affected"]
    assert len({SEVERITY_COLOURS[k] for k in KINDS}) == len(KINDS)


def test_nothing_differs() -> None:
    made = sheets(design_of(SMALL), changes=Changes("v1"))
    said = " ".join(w.text for w in made[-1].frame_words).replace("\u00a0", " ")
    assert "Nothing differs." in said and "Changes since v1" in said and "Compared with v1" in said


def test_the_part_around_an_element_has_its_changes_with_their_numbers() -> None:
    rows = (Change("changed", "W4", ("W4",)), Change("added", "W3", ("W3",)), Change("removed", "scene x"))
    made = sheets(design_of(SMALL), only="WINDLASS", changes=Changes("v1", rows))
    assert listed_numbers(made) == [2]
    assert "W4" not in " ".join(w.text for p in made for w in p.frame_words)


# ---- of a comparison


def of_texts(old: str, new: str) -> Changes:
    was, now = design_of(old), design_of(new)
    sides = Side("old.boat", was, [old]), Side("new.boat", now, [new])
    return changes_of(compared(*sides, examine(was), examine(now)))


def row(changes: Changes, kind: str) -> Change:
    (found,) = [c for c in changes.rows if c.kind == kind]
    return found


def test_a_thinner_cable_says_what_was_and_what_it_does() -> None:
    made = of_texts(BOOK, BOOK.replace("W3, 95 mm2", "W3, 4 mm2"))
    one = row(made, "changed")
    assert one.at == ("W3",) and one.head == "W3"
    assert any("95 mm²" in line and "→ 4 mm²" in line for line in one.lines)
    assert any("new danger: W3" in line for line in one.protection)
    assert any("verdict protected → unprotected" in line for line in one.protection)


def test_a_branch_that_is_gone_is_marked_where_it_was() -> None:
    branch = BOOK.index("from POS\nbreaker Q1"), BOOK.index("from POS\nfuse F2")
    without = BOOK[: branch[0]] + BOOK[branch[1] :]
    gone = row(of_texts(BOOK, without), "removed")
    assert gone.head == "Q1, W3, WINDLASS" and gone.at == ("POS",)
    assert gone.lines[0].startswith("breaker Q1 thermal 100 A (Windlass)")
    new = row(of_texts(without, BOOK), "added")
    assert new.at == ("Q1", "W3", "WINDLASS")
    assert any(line.startswith("W3: protected; guard Q1") for line in new.protection)


def test_a_thing_out_of_the_middle_is_marked_on_both_sides() -> None:
    gone = row(of_texts(BOOK, BOOK.replace('switch S1 "Isolator", 300 A\n', "")), "removed")
    assert gone.head == "S1" and set(gone.at) == {"F1", "POS"}


def test_a_larger_fuse_marks_the_cable_it_guards() -> None:
    made = of_texts(BOOK, BOOK.replace('Q1 "Windlass", thermal, 100 A', 'Q1 "Windlass", thermal, 120 A'))
    assert row(made, "changed").at == ("Q1",)
    other = row(made, "affected")
    assert other.at == ("W3",) and any("let-through 100 A → 120 A" in line for line in other.protection)


def test_another_name_and_what_is_no_element() -> None:
    text = BOOK + '\nplace BOW "Bow"\n'
    made = of_texts(text, text.replace("W6", "W66").replace('"Bow"', '"Forepeak"'))
    named = next(c for c in made.rows if c.head == "W66")
    assert named.kind == "changed" and named.lines == ("W6 → W66",) and named.at == ("W66",)
    place = next(c for c in made.rows if "BOW" in c.head)
    assert place.at == () and any("Forepeak" in line for line in place.lines)


def test_a_side_that_is_torn_says_that_nothing_is_proved() -> None:
    assert "INCOMPLETE" in of_texts(BOOK, BOOK + "fuze F9\n").remark
    assert of_texts(BOOK, BOOK) == replace(of_texts(BOOK, BOOK), rows=(), remark="")


# ---- the command


@pytest.fixture
def repository(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    monkeypatch.chdir(tmp_path)
    for name in ("GIT_CONFIG_GLOBAL", "GIT_CONFIG_SYSTEM"):
        monkeypatch.setenv(name, "/dev/null")
    subprocess.run(["git", "init", "-q"], check=True)
    Path("x.boat").write_text(BOOK, encoding="utf-8")
    subprocess.run(["git", "add", "x.boat"], check=True)
    who = ["-c", "user.name=J. Holm", "-c", "user.email=holm@example.org"]
    subprocess.run(["git", *who, "commit", "-qm", "as built"], check=True)
    Path("old.boat").write_text(BOOK, encoding="utf-8")
    Path("x.boat").write_text(BOOK.replace("W3, 95 mm2", "W3, 4 mm2"), encoding="utf-8")
    return tmp_path


@pytest.mark.parametrize("how", [("--since", "HEAD"), ("--against", "old.boat"), ("--against", "HEAD:x.boat")])
def test_the_command_draws_changes(how: tuple[str, str], repository: Path) -> None:
    result = CliRunner().invoke(main, ["draw", "x.boat", "-o", "out.svg", *how])
    assert result.exit_code == 0, result.output
    said = "".join(p.read_text(encoding="utf-8") for p in repository.glob("out*.svg"))
    assert 'class="mark changed"' in said and "new danger: W3" in said
    assert 'class="mark danger"' not in said
    both = CliRunner().invoke(
        main, ["draw", "x.boat", "-o", "out.svg", "--layer", "changes", "--layer", "findings", *how]
    )
    assert both.exit_code == 0
    said = "".join(p.read_text(encoding="utf-8") for p in repository.glob("out*.svg"))
    assert 'class="mark changed"' in said and 'class="mark danger"' in said


@pytest.mark.parametrize(
    ("arguments", "said"),
    [
        (("--layer", "changes"), "add --since REVISION or --against"),
        (("--since", "HEAD", "--against", "old.boat"), "compare with one"),
        (("--since", "nowhere"), "nowhere"),
        (("--against", "none.boat"), "none.boat"),
        (("--since", "HEAD", "--one-sheet"), "takes no"),
    ],
)
def test_a_wrong_call(arguments: tuple[str, ...], said: str, repository: Path) -> None:
    result = CliRunner().invoke(main, ["draw", "x.boat", "-o", "out.svg", *arguments])
    assert result.exit_code == 2 and said in result.output and not list(repository.glob("out*"))
