"""The canonical form: the same design, in the same words, and nothing left to change."""

from __future__ import annotations

import os
import random
import re
import stat
from itertools import pairwise
from pathlib import Path

import pytest
from click.testing import CliRunner, Result
from hypothesis import example, given, settings
from hypothesis import strategies as st

from linter.cli import main
from linter.model.export import circuit_json
from linter.source.parser import parse
from linter.source.scanner import scan_statements
from linter.source.span import Mistake
from linter.source.tidy import WIDTH, NotTidied, tidy
from linter.source.tidy_files import difference, files_under, tidied_file, tidied_text
from linter.source.words import FITS
from linter.whole import write_whole

from ..judge.random_networks import network
from ..model.designs import design_of
from ..model.test_fuzz import ALPHABET, PIECES, TEXTS, WHOLE, mutants, read_of


def tidied(text: str) -> str:
    source = parse("t", text)
    assert source.mistakes == []
    return tidy(source)


def comments(text: str) -> list[str]:
    """The comments of a text, found another way than by the formatter: what is left of each line beside its tokens."""
    text = text.removeprefix("\ufeff").replace("\r\n", "\n")
    hidden = list(text)
    for statement in scan_statements(text):
        for token in statement:
            if token.type not in {"_SEP", "_NL"}:
                hidden[token.start : token.end] = " " * (token.end - token.start)
    left = "".join(hidden).splitlines()
    return [line[line.index("#") :].rstrip() for line in left if "#" in line]


def facts_sorted(text: str) -> list[object]:
    """Statement by statement; of the facts only the order of those of one kind counts."""
    return [(*head, sorted(facts, key=lambda f: f[0])) for *head, facts in read_of(text)]  # type: ignore[misc]


def verify(text: str) -> str:
    once = tidied(text)
    again = parse("t", once)
    assert again.mistakes == []
    assert tidy(again) == once
    assert facts_sorted(once) == facts_sorted(text)
    assert comments(once) == comments(text)
    assert circuit_json(design_of(once)) == circuit_json(design_of(text))
    assert sorted(m.message for m in design_of(once).mistakes) == sorted(m.message for m in design_of(text).mistakes)
    lines = once.split("\n")
    assert lines[-1] == "" and lines[:1] != [""] if once else True
    assert not any(line != line.rstrip(" \t") for line in lines)
    assert "\n\n\n" not in once and not once.endswith("\n\n")
    return once


@pytest.mark.parametrize("text", TEXTS)
def test_every_boat_part_sheet_and_example(text: str) -> None:
    verify(text)


def laid_out_anyhow(text: str, rnd: random.Random) -> str:
    """The same text with other blanks, line ends, comments, and commas turned into joints."""
    laid = []
    for line in text.splitlines():
        if rnd.random() < 0.3:
            laid.append(rnd.choice(["", "   ", '# a comment, "with" things', "  # an indented one", "\t", "\t# tab"]))
        if '"' not in line and "#" not in line:
            joints = [",", " ,  ", ",\n    ", "\n\t", ",  # and\n  ", ", ", "\n\n  ", " # x\n# y\n  # z\n\n "]
            line = "".join(piece if i == 0 else rnd.choice(joints) + piece for i, piece in enumerate(line.split(", ")))
        if "#" not in line and rnd.random() < 0.5:
            line += rnd.choice(["   ", "\t", " # behind", "  #"])
        laid.append(line)
    end = rnd.choice(["\n", "\r\n"])
    return rnd.choice(["", "\ufeff"]) + end.join("\n".join(laid).split("\n")) + rnd.choice(["", end, end * 3])


@given(st.sampled_from(WHOLE), st.randoms(use_true_random=False))
@settings(max_examples=80, deadline=None)
def test_however_a_design_is_laid_out(text: str, rnd: random.Random) -> None:
    verify(laid_out_anyhow(text, rnd))


@given(st.sampled_from(WHOLE), st.randoms(use_true_random=False))
@settings(max_examples=40, deadline=None)
def test_there_is_one_form_of_a_design_without_comments(text: str, rnd: random.Random) -> None:
    bare = "".join(
        line.split("  #")[0] + "\n" for line in tidied(text).split("\n") if not line.lstrip().startswith("#")
    )
    bare = "\n".join(line for line in bare.split("\n") if line)
    blanks = "".join(
        line.replace(", ", rnd.choice([",", " , ", ",\n   ", "\n\t"])) + "\n" if '"' not in line else line + "\n"
        for line in bare.split("\n")
    )
    assert tidied(blanks) == tidied(bare)


@given(st.integers(0, 2**32))
@settings(max_examples=40, deadline=None)
def test_random_networks(seed: int) -> None:
    verify(network(random.Random(seed)))


@given(st.one_of(mutants(), st.text(ALPHABET, max_size=150), st.lists(PIECES, max_size=40).map(" ".join)))
@example("#\r")
@settings(max_examples=250, deadline=None)
def test_any_text_is_tidied_or_refused(text: str) -> None:
    source = parse("t", text)
    if any(m.loses for m in source.mistakes):
        with pytest.raises(NotTidied):
            tidy(source)
    else:
        once = tidy(source)
        assert facts_sorted(once) == facts_sorted(text)
        assert tidy(parse("t", once)) == once


@pytest.mark.parametrize("kind", [k for k in FITS if k in {"cable", "fuse", "battery", "load"}])
def test_facts_stand_in_the_order_of_the_table(kind: str) -> None:
    for text in TEXTS:
        for s in parse("t", tidied(text)).statements:
            if (s.part_of or s.kind) == kind and not comments(text):
                places = [FITS[kind].index(f.key) for f in s.facts]
                assert places == sorted(places)


@pytest.mark.parametrize(
    ("before", "after"),
    [
        ("cable  W1,red , 9m,35mm²\n", "cable W1, 35 mm2, 9 m, red\n"),
        ("place P,engine   space,ambient 50C", "place P, ambient 50 °C, engine space\n"),
        ("battery B, resistance 2mohm to 0.003 \u2126", "battery B, resistance 2 mΩ to 0.003 Ω\n"),
        ("fuse F, lets through 3kA²s at 2.50kA", "fuse F, lets through 3 kA2s at 2.50 kA\n"),
        ("converter C, efficiency 90%", "converter C, efficiency 90 %\n"),
        ("cable W, 2/0AWG, 012.50 in in P", "cable W, 2/0 AWG, 012.50 in in P\n"),
        ("bus A\n\n\n\nbus B\n\n", "bus A\n\nbus B\n"),
        ("from A\nto B\nfrom B\nto C", "from A\nto B\n\nfrom B\nto C\n"),
        ("from A\nto B\n# of C\nfrom C\nto D", "from A\nto B\n\n# of C\nfrom C\nto D\n"),
        ("from A\n  # of A\nto B\nplace P", "from A\n  # of A\nto B\n\nplace P\n"),
        ("part p, load\n  draws 5 A, motor\nbus B", "part p, load\n  motor\n  draws 5 A\n\nbus B\n"),
        ("part p, fuse, fast, blade, 32 V", "part p, fuse\n  blade, fast\n  32 V\n"),
        ("cable W, red, # c\n  3 m, 6 mm2", "cable W, red,  # c\n  6 mm2, 3 m\n"),
        ("cable W, red, 3 m # c", "cable W, 3 m, red  # c\n"),
        ("# only\n\n\n  # comments", "# only\n\n# comments\n"),
        (
            "cable W, in P, in sheath, 3 m, red, return 2 m, 6 mm2",
            "cable W, 6 mm2, 3 m, return 2 m, red, in sheath, in P\n",
        ),
        ("solar S, 120 W, 14.4 V, greatest 14.6 V", "solar S, 14.4 V, greatest 14.6 V, 120 W\n"),
        ('scene "X", for 2 h, S at 1, L, K closed', 'scene "X", L, K closed, S at 1, for 2 h\n'),
        ("from A\nbus P\n\nbattery B\nselector S", "from A\nbus P\n\nbattery B\nselector S\n"),
        ("from A\nbattery B\nselector S", "from A\nbattery B\n\nselector S\n"),
        ("bus B #x", "bus B  #x\n"),
        ("part p  # one\n  , load # two", None),
        ("part p,  # one\n  load # two", "part p, load  # one\n  # two\n"),
        ("", ""),
        ("\n \n", ""),
        ("\ufeffbus B\r\n", "bus B\n"),
    ],
)
def test_examples(before: str, after: str | None) -> None:
    if after is None:
        assert parse("t", before).mistakes
    else:
        assert tidied(before) == after


def test_a_long_statement_goes_on_and_a_short_one_does_not() -> None:
    names = [f"LOAD-{i}" for i in range(60)]
    text = tidied('scene "All",\n  ' + ",\n  ".join(names) + ", for 2 h")
    lines = text.splitlines()
    assert len(lines) > 4 and all(len(line) <= WIDTH for line in lines)
    assert all(line.endswith(",") for line in lines[:-1]) and all(line.startswith("  ") for line in lines[1:])
    assert all(len(line) + len(after.split(",")[0]) > WIDTH - 2 for line, after in pairwise(lines))
    assert tidied("cable W1,\n  6 mm2,\n  3 m") == "cable W1, 6 mm2, 3 m\n"


ROOT = Path(__file__).parents[2]
# A comma where none is needed, and a comment behind it, are what this example is about.
SHOWS_ANOTHER_LAYOUT = "the comma is not needed here"


@pytest.mark.parametrize("folder", ["boats", "linter/source/templates"])
def test_our_own_boats_are_tidy(folder: str) -> None:
    paths = files_under(str(ROOT / folder))
    assert paths
    for path in paths:
        found = tidied_file(path)
        assert not found.mistakes and not found.changes, "\n".join(difference(found))


def test_the_examples_of_the_reference_are_tidy() -> None:
    text = (ROOT / "grammar" / "README.md").read_text(encoding="utf-8")
    blocks = re.findall(r"^```boat[^\n]*\n(.*?)^```", text, re.M | re.S)
    assert len(blocks) > 20
    for block in blocks:
        found = tidied_text("README.md", block)
        if not found.mistakes and SHOWS_ANOTHER_LAYOUT not in block:
            assert not found.changes, "\n".join(difference(found))


# ---- the command


GOOD = "bus   B\n"
BAD = "bus B\ncabel W\n"


def run(*arguments: str, stdin: str | bytes | None = None) -> Result:
    return CliRunner().invoke(main, ["tidy", *arguments], input=stdin)


def test_a_file_is_rewritten_and_keeps_its_mode(tmp_path: Path) -> None:
    path, link = tmp_path / "a.boat", tmp_path / "link.boat"
    path.write_bytes(b"bus   B\r\n")
    path.chmod(0o640)
    link.symlink_to(path)
    result = run(str(link))
    assert (result.exit_code, path.read_bytes()) == (0, b"bus B\n")
    assert stat.S_IMODE(path.stat().st_mode) == 0o640 and link.is_symlink()
    assert sorted(p.name for p in tmp_path.iterdir()) == ["a.boat", "link.boat"]
    before = path.stat()
    assert run(str(path)).output == ""
    assert path.stat().st_mtime_ns == before.st_mtime_ns and path.stat().st_ino == before.st_ino


def test_check_and_diff_write_nothing(tmp_path: Path) -> None:
    path = tmp_path / "a.boat"
    path.write_text(GOOD)
    assert run("--check", str(path)).exit_code == 1
    shown = run("--diff", str(path))
    assert shown.exit_code == 0 and shown.output.splitlines()[-2:] == ["-bus   B", "+bus B"]
    assert run("--check", "--diff", str(path)).exit_code == 1
    assert path.read_text() == GOOD
    run(str(path))
    assert run("--check", str(path)).exit_code == 0 and run("--diff", str(path)).output == ""


def test_a_file_with_mistakes_is_left_and_the_others_are_not(tmp_path: Path) -> None:
    (tmp_path / "bad.boat").write_text(BAD)
    (tmp_path / "good.boat").write_text(GOOD)
    (tmp_path / ".hidden").mkdir()
    (tmp_path / ".hidden" / "h.boat").write_text(GOOD)
    result = run(str(tmp_path))
    assert result.exit_code == 3
    assert "bad.boat:2:1" in result.output and "left as it was" in result.output
    assert (tmp_path / "bad.boat").read_text() == BAD
    assert (tmp_path / "good.boat").read_text() == "bus B\n"
    assert (tmp_path / ".hidden" / "h.boat").read_text() == GOOD


def test_a_pipe() -> None:
    assert run("-", stdin=GOOD).output == "bus B\n"
    refused = run("-", stdin=BAD)
    assert refused.exit_code == 3 and refused.stdout == ""
    assert run("-", stdin=b"\xff").exit_code == 2


def test_only_the_file_named_and_nothing_outside_a_folder(tmp_path: Path) -> None:
    outside, folder = tmp_path / "outside.boat", tmp_path / "design"
    folder.mkdir()
    for path in (outside, folder / "used.boat"):
        path.write_text(GOOD)
    (folder / "d.boat").write_text("use   used.boat\n")
    (folder / "l.boat").symlink_to(outside)
    assert run(str(folder / "d.boat")).exit_code == 0
    assert (folder / "d.boat").read_text() == "use used.boat\n" and (folder / "used.boat").read_text() == GOOD
    assert [os.path.basename(p) for p in files_under(str(folder))] == ["d.boat", "used.boat"]
    assert run(str(folder)).exit_code == 0
    assert outside.read_text() == GOOD and (folder / "used.boat").read_text() == "bus B\n"


@pytest.mark.parametrize("name", ["none.boat", "empty", "latin.boat"])
def test_what_cannot_be_read(tmp_path: Path, name: str) -> None:
    (tmp_path / "empty").mkdir()
    (tmp_path / "latin.boat").write_bytes(b'bus B "caf\xe9"\n')
    result = run(str(tmp_path / name))
    assert result.exit_code == 2 and "Traceback" not in result.output


def test_a_broken_write_leaves_the_file(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    path = tmp_path / "a.boat"
    path.write_text(GOOD)

    def broken(*_: object) -> None:
        raise OSError(28, "No space left on device")

    monkeypatch.setattr(os, "replace", broken)
    with pytest.raises(OSError, match="No space"):
        write_whole(str(path), b"bus B\n")
    assert path.read_text() == GOOD and [p.name for p in tmp_path.iterdir()] == ["a.boat"]


def test_a_form_that_says_something_else_is_never_written(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr("linter.source.tidy_files.tidy", lambda _: "bus C\n")
    found = tidied_text("t", GOOD)
    assert found.after == GOOD and isinstance(found.mistakes[0], Mistake)
