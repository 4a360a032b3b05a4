"""The commands `binder` and `spares`: what they write, what they refuse, and how they end."""

from __future__ import annotations

import csv
import io
import json
import subprocess
import sys
from pathlib import Path

import pytest
from click.testing import CliRunner, Result

from linter.cli import main
from linter.cli_binder import PARTS
from tests.binder.making import SMALL, pages_of


@pytest.fixture
def boat(tmp_path: Path) -> Path:
    path = tmp_path / "dunlin.boat"
    path.write_text(SMALL, encoding="utf-8")
    return path


def run(*words: object) -> Result:
    return CliRunner().invoke(main, [str(w) for w in words])


@pytest.mark.parametrize("part", PARTS)
def test_every_part_as_csv(boat: Path, part: str) -> None:
    made = run("binder", boat, "--part", part, "--today", "2026-06-01")
    assert made.exit_code == 0, made.output
    rows = list(csv.reader(io.StringIO(made.stdout, newline="")))
    assert rows[0][-1] == "marks" and len(set(rows[0])) == len(rows[0])
    assert len(rows) > 1 and all(len(r) == len(rows[0]) for r in rows)
    assert not any(cell[:1] in "=+@" for row in rows for cell in row if cell)


def test_pdf_and_page_are_written(boat: Path, tmp_path: Path) -> None:
    few = ("--with", "conductors", "--with", "cover", "--today", "2026-06-01")
    made = run("binder", boat, "-o", tmp_path / "x.pdf", *few)
    assert made.exit_code == 0, made.output
    assert "Conductor schedule" in " ".join(pages_of((tmp_path / "x.pdf").read_bytes()))
    assert run("binder", boat, "-o", tmp_path / "x.html", *few).exit_code == 0
    text = (tmp_path / "x.html").read_text(encoding="utf-8")
    assert "part-conductors" in text and "part-devices" not in text and "<iframe" not in text
    assert run("binder", boat, "-o", tmp_path / "x.csv", "--part", "parts").exit_code == 0
    assert (tmp_path / "x.csv").read_bytes().startswith(b"part,kind,")
    assert sorted(p.name for p in tmp_path.iterdir()) == ["dunlin.boat", "x.csv", "x.html", "x.pdf"]


@pytest.mark.parametrize(
    ("words", "said"),
    [((), "--part"), (("-o", "x.txt"), ".pdf or .html"), (("-o", "x.pdf", "--part", "parts"), "--part gives one table"),
     (("-o", "x.csv"), "--part"), (("-o", "x.pdf", "--with", "cover", "--without", "parts"), "not both"),
     (("-o", "x.pdf", "--label-sheet", "a9"), "no sheet of labels"), (("-o", "x.pdf", "--rule", "no.toml"), "no such file"),
     (("-o", "x.pdf", "--with", "everything"), "everything"), (("-o", "x.pdf", "--paper", "a5"), "a5"),
     (("-o", "x.pdf", "--fonts", "nowhere"), "nowhere"), (("-o", "x.pdf", "--today", "soon"), "no date"),
     (("-o", "no/such/folder/x.pdf", "--with", "cover"), "cannot be written")],
)  # fmt: skip
def test_a_wrong_call_ends_with_2_and_says_why(boat: Path, words: tuple[str, ...], said: str) -> None:
    made = run("binder", boat, *words)
    assert made.exit_code == 2
    assert said in made.output and "Traceback" not in made.output


def test_without_every_part_nothing_is_left(boat: Path) -> None:
    words = [w for p in PARTS for w in ("--without", p)]
    made = run("binder", boat, "-o", "x.pdf", *words)
    assert made.exit_code == 2 and "no part is left" in made.output


def test_an_incomplete_design_is_told_as_such_everywhere(boat: Path, tmp_path: Path) -> None:
    boat.write_text(SMALL + "\ncabel W9, 6 mm2\n", encoding="utf-8")
    made = run("binder", boat, "-o", tmp_path / "x.pdf", "--with", "cover", "--with", "conductors")
    assert made.exit_code == 3 and "incomplete" in made.output
    pages = pages_of((tmp_path / "x.pdf").read_bytes())
    assert "INCOMPLETE" in pages[0]
    assert all("incomplete" in p for p in pages)
    assert run("spares", boat).exit_code == 3
    assert run("binder", boat, "--part", "devices").exit_code == 3


def test_what_stood_there_is_left_where_the_work_fails(boat: Path, tmp_path: Path) -> None:
    old = tmp_path / "x.pdf"
    old.write_bytes(b"old")
    assert run("binder", tmp_path / "none.boat", "-o", old).exit_code == 2
    assert old.read_bytes() == b"old"
    old.chmod(0o444)
    assert run("binder", boat, "-o", old, "--with", "glossary").exit_code == 2
    assert old.read_bytes() == b"old"


def test_findings_do_not_fail_a_binder(boat: Path, tmp_path: Path) -> None:
    boat.write_text(SMALL.replace('fuse F3 "Pump", part blade-30, 25 A, in LOCKER\n', ""), encoding="utf-8")
    made = run("binder", boat, "-o", tmp_path / "x.pdf", "--with", "cover")
    assert made.exit_code == 0
    assert "DANGERS ARE OPEN" in pages_of((tmp_path / "x.pdf").read_bytes())[0]


def test_the_revision_and_changes_not_committed(boat: Path, tmp_path: Path) -> None:
    def git(*words: str) -> str:
        who = ("-c", "user.name=A", "-c", "user.email=a@example.org", "-c", "commit.gpgsign=false")
        done = subprocess.run(["git", *who, "-C", str(tmp_path), *words], capture_output=True, text=True, check=True)
        return done.stdout.strip()

    git("init", "-q")
    git("add", "dunlin.boat")
    git("commit", "-q", "-m", "as built")
    commit = git("rev-parse", "HEAD")[:8]
    few = ("--with", "cover", "--with", "glossary")
    run("binder", boat, "-o", tmp_path / "x.pdf", *few)
    first = (tmp_path / "x.pdf").read_bytes()
    assert all(commit in p and "uncommitted" not in p for p in pages_of(first))
    run("binder", boat, "-o", tmp_path / "y.pdf", *few)
    assert (tmp_path / "y.pdf").read_bytes() == first
    boat.write_text(SMALL + "# a word\n", encoding="utf-8")
    run("binder", boat, "-o", tmp_path / "x.pdf", *few)
    assert all(commit in p and "with uncommitted changes" in p for p in pages_of((tmp_path / "x.pdf").read_bytes()))


def test_spares_as_table_csv_and_json(boat: Path) -> None:
    table = run("spares", boat)
    assert table.exit_code == 0 and "Fuses that could be confused" in table.stdout and "coastal" in table.stdout
    rows = list(csv.DictReader(io.StringIO(run("spares", boat, "--format", "csv").stdout, newline="")))
    assert [(r["kind"], r["rated A"], r["fitted"], r["carry"]) for r in rows] == [
        ("fuse", "3", "1", "2"), ("fuse", "5", "1", "2"), ("fuse", "25", "1", "2"), ("fuse", "150", "1", "1"),
        ("breaker", "10", "1", "0"),
    ]  # fmt: skip
    made = json.loads(run("spares", boat, "--format", "json", "--voyage", "ocean").stdout)
    assert made["voyage"] == "ocean" and [f["carry"] for f in made["fuses"]] == [4, 4, 4, 2]


def test_other_commands_do_not_read_the_binder() -> None:
    program = (
        "import sys, linter.cli; "
        "sys.argv = ['wireworthy', 'check', 'boats/launch.boat']\n"
        "try: linter.cli.run()\nexcept SystemExit: pass\n"
        "assert not [m for m in sys.modules if m.startswith(('linter.binder', 'typst'))]"
    )
    subprocess.run([sys.executable, "-c", program], check=True, capture_output=True)
