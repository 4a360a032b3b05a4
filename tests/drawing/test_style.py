"""A yard's settings: what they change, and what is refused with the key that is wrong."""

from __future__ import annotations

from pathlib import Path

import pytest
from click.testing import CliRunner

from linter.cli import main
from linter.drawing.language import english, gaps
from linter.drawing.picture import Arc, Stroke
from linter.drawing.sheets import sheets
from linter.drawing.style import StyleError, read_style, settings_of
from linter.drawing.symbols import KINDS
from tests.drawing.designs import SMALL, design_of
from tests.drawing.sheets_readback import sheet_collisions, sheet_disagreements, wrongly_often
from tests.drawing.test_sheets import PANEL, boat_of, check

FUSE = "M0 0H8M1 -1.3H7V1.3H1Z"
WITH_PART = SMALL.replace('fuse F1 "House main", ANL', 'fuse F1 "House main", part main-fuse') + (
    '\npart main-fuse "Main fuse, with link", fuse\n  ANL, 32 V\n'
)


def test_what_a_yard_sets_is_on_the_sheet() -> None:
    words = {"sheet": "Blatt {n} von {m}", "findings": "Befunde", "symbol-fuse": "Sicherung"}
    data = {"paper": "a4", "text-pt": 8, "title": {"Drawn by": "J. Holm"}, "words": words,
            "symbols": {"main-fuse": {"path": FUSE}}}  # fmt: skip
    design = design_of(WITH_PART)
    made = sheets(design, (), settings_of(data, "yard.toml"))
    said = " ".join(w.text for w in made[0].frame_words)
    assert f"Blatt 1 von {len(made)}" in said and "Drawn by J. Holm" in said and "Main fuse, with link" in " ".join(
        w.text for p in made for w in p.frame_words
    )  # fmt: skip
    assert made[0].width * made[0].scale == pytest.approx(297)
    # 8 points are 8/72 inch.
    assert max(t.size for d in made[0].elements for t in d.texts) * made[0].scale == pytest.approx(8 / 72 * 25.4)
    assert wrongly_often(made, design) == [] and sheet_disagreements(made, design) == []
    assert sheet_collisions(made) == []


@pytest.mark.parametrize(("paper", "size_pt"), [("a4", 7), ("a4", 9), ("a4", 12), ("letter", 11), ("a3", 12)])
def test_the_size_of_text_that_a_yard_sets_is_kept(paper: str, size_pt: int) -> None:
    design = boat_of("launch")
    made = sheets(design, (), settings_of({"paper": paper, "text-pt": size_pt}, "yard.toml"))
    for picture in made:
        sizes = [t.size * picture.scale for d in picture.elements for t in d.texts]
        # a point is 1/72 inch
        assert not sizes or max(sizes) == pytest.approx(size_pt / 72 * 25.4)
    check(design, made)
    said = {w.text for p in made for w in p.frame_words}
    assert sum(t in ("Symbols", "battery") or t.startswith("Symbols: sheet") for t in said) >= 1, "a key to the symbols"


def test_only_the_ordinary_size_is_made_smaller_to_save_a_sheet() -> None:
    design = boat_of("launch")
    usual, set_ = (sheets(design, (), settings_of({"paper": "a4"} | more, "y")) for more in ({}, {"text-pt": 7}))
    assert len(usual) < len(set_) and usual[0].scale < set_[0].scale


def test_a_long_field_leaves_the_short_ones_whole() -> None:
    fields = {"Drawn by": "J. Holm", "Job": "rewiring of everything " + "x" * 17, "Date": "2026-11-25", "No": "7"}
    more = {f"{n}": v for n, v in enumerate(("w" * 40,) * 2)}
    for title in (fields, {"Date": "2026-11-25", "No": "7"} | more):
        made = sheets(design_of(SMALL), (), settings_of({"paper": "a4", "title": title}, "yard.toml"))
        said = {w.text for w in made[0].frame_words}
        assert {v for v in title.values() if len(v) < 15} <= said
        assert sheet_collisions(made) == []


def test_words_of_a_yards_own_keep_their_capitals() -> None:
    made = sheets(design_of(SMALL), (), settings_of({"words": {"sheet": "Blatt {n} von {m}"}}, "yard.toml"))
    assert f", Blatt 1 von {len(made)}: " in made[0].title


def test_a_class_in_other_words_is_not_cut() -> None:
    words = {"class-anl": "hydraulisch-magnetisch"}
    made = sheets(design_of(SMALL), (), settings_of({"paper": "a4", "words": words}, "yard.toml"))
    said = {t.text for p in made for d in p.elements for t in d.texts}
    assert any("hydraulisch-magnetisch" in t for t in said)
    assert sheet_collisions(made) == []


def test_the_words_cover_every_symbol() -> None:
    assert {f"symbol-{k}" for k in KINDS} == {k for k in english() if k.startswith("symbol-")}


def test_a_symbol_becomes_lines_and_arcs_only() -> None:
    made = settings_of({"symbols": {"p": {"path": "M0 0H1A3 3 0 0 1 7 0L8 0"}}}, "y").symbols["p"]
    assert [type(s) for s in made.shapes] == [Stroke, Arc, Stroke]
    # Room is kept for the arc on either side of its chord.
    assert made.width == 8 and made.up == pytest.approx(3.2) and made.down == pytest.approx(3.2)


@pytest.mark.parametrize(
    ("data", "said"),
    [
        ({"papr": "a4"}, "'papr': no such setting"),
        ({"paper": "a0"}, "paper: write one of"),
        ({"text-pt": 5}, "text-pt: write a size from 7 to 12"),
        ({"text-pt": True}, "text-pt"),
        ({"title": {f"f{n}": "x" for n in range(5)}}, "title: 5 fields"),
        ({"title": {"By": "a\nb"}}, "title.By: write one line"),
        ({"title": {"By": "x" * 41}}, "at most 40"),
        ({"words": {"findigns": "x"}}, "words.findigns: no such words; did you mean findings?"),
        ({"words": {"sheet": "Blatt {n}"}}, "words.sheet: must hold {m} and {n}"),
        ({"words": {"findings": "{x}"}}, "words.findings: must hold nothing in braces"),
        ({"words": 3}, "words: write a table"),
        ({"symbols": {"fuse": {"path": FUSE}}}, "name the part sheet"),
        ({"symbols": {"p": {"svg": "<svg/>"}}}, "symbols.p: write path"),
        ({"symbols": {"p": {"path": "url(#x)"}}}, "symbols.p.path: 'url(#x)' at character 1"),
        ({"symbols": {"p": {"path": "M0 0H8\"/><script>"}}}, "at character 7"),
        ({"symbols": {"p": {"path": "M0 0C1 1 2 2 3 3"}}}, "only M, L, H, V, Z and A"),
        ({"symbols": {"p": {"path": "m0 0h8"}}}, "only M"),
        ({"symbols": {"p": {"path": "M0 0H800"}}}, "within 6 mm"),
        ({"symbols": {"p": {"path": "M0 0L8 nan"}}}, "L takes 2 figures"),
        ({"symbols": {"p": {"path": "M0 0L8"}}}, "L takes 2 figures"),
        ({"symbols": {"p": {"path": "H8"}}}, "begin each line with M"),
        ({"symbols": {"p": {"path": "M0 1H8"}}}, "nothing meets its line"),
        ({"symbols": {"p": {"path": "M0 0A1 2 0 0 1 2 0"}}}, "must be circular"),
        ({"symbols": {"p": {"path": "M0 0A1 1 0 0 1 8 0"}}}, "does not reach"),
    ],
)  # fmt: skip
def test_what_is_refused(data: dict[str, object], said: str) -> None:
    with pytest.raises(StyleError) as problem:
        settings_of(data, "yard.toml")
    assert said in str(problem.value) and str(problem.value).startswith("yard.toml: ")


def test_gaps() -> None:
    assert gaps("{n} of {m}") == ["{m}", "{n}"]


def test_a_file_that_cannot_be_read(tmp_path: Path) -> None:
    for content, said in ((b"x = [", "is not TOML"), (b"\xff", "is not UTF-8"), (None, "no such file")):
        file = tmp_path / "y.toml"
        file.unlink(missing_ok=True)
        if content is not None:
            file.write_bytes(content)
        with pytest.raises(StyleError, match=said):
            read_style(str(file))


# ---- the command


def run(*arguments: str, text: str = PANEL) -> tuple[int, str, list[str]]:
    Path("x.boat").write_text(text.replace("7 m", "7 m, rulebook iso-13297", 1), encoding="utf-8")
    result = CliRunner().invoke(main, ["draw", "x.boat", "--plain", *arguments])
    return result.exit_code, result.output, sorted(p.name for p in Path().glob("out*"))


def test_the_command_says_which_files_it_wrote(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.chdir(tmp_path)
    status, output, files = run("-o", "out.svg", "--paper", "a4")
    assert status == 0 and len(files) == 4 and files[0] == "out-1.svg"
    assert output.splitlines()[0].startswith("out-1.svg: Dunlin, sheet 1 of 4: ")
    for file in files:
        Path(file).unlink()
    assert run("-o", "out.svg", "--paper", "a4", "--sheet", "2")[2] == ["out.svg"]
    assert run("-o", "out.pdf", "--paper", "a4")[2] == ["out.pdf", "out.svg"]
    assert run("-o", "out.svg", "--one-sheet")[0] == 0
    assert "sheet 1 of 1" in run("-o", "-", text=SMALL)[1]


@pytest.mark.parametrize(
    ("arguments", "said"),
    [
        (("-o", "-", "--paper", "a4"), "has 4 sheets; choose one with --sheet"),
        (("-o", "out.svg", "--sheet", "99"), "there is no sheet 99"),
        (("-o", "out.svg", "--only", "Q7x"), "there is no element Q7x"),
        (("-o", "out.svg", "--one-sheet", "--paper", "a4"), "takes no --paper"),
        (("-o", "out.svg", "--style", "none.toml"), "none.toml: no such file"),
    ],
)
def test_a_wrong_call(arguments: tuple[str, ...], said: str, tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.chdir(tmp_path)
    status, output, files = run(*arguments)
    assert status == 2 and said in output and not files
