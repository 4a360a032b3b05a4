"""Letters that the typesetter's font lacks: found out, drawn with a font of the machine, or told."""

from __future__ import annotations

import struct
from pathlib import Path

import pytest
from click.testing import CliRunner

from linter.cli import main
from linter.drawing import export
from linter.drawing.draw import write
from linter.drawing.fonts import having, lacking, nowhere
from linter.drawing.sheets import sheets
from tests.drawing.designs import SMALL, design_of

CHINESE = SMALL.replace('"House bank"', '"蓄电池"')


def font(ranges: list[tuple[int, int]], form: int) -> bytes:
    """The least of a font: a directory with one table, cmap, as the OpenType specification lays it out."""
    if form == 12:
        groups = b"".join(struct.pack(">III", a, b, 1) for a, b in ranges)
        sub = struct.pack(">HHIII", 12, 0, 16 + len(groups), 0, len(ranges)) + groups
    else:
        some = [*ranges, (0xFFFF, 0xFFFF)]
        ends = b"".join(struct.pack(">H", b) for _, b in some)
        starts = b"".join(struct.pack(">H", a) for a, _ in some)
        deltas = b"".join(struct.pack(">H", (1 - a) & 0xFFFF if a < 0xFFFF else 1) for a, _ in some)
        offsets = bytes(2 * len(some))
        body = struct.pack(">HHHH", 2 * len(some), 0, 0, 0) + ends + b"\0\0" + starts + deltas + offsets
        sub = struct.pack(">HHH", 4, 6 + len(body), 0) + body
    cmap = struct.pack(">HHHHI", 0, 1, 3, 10 if form == 12 else 1, 12) + sub
    head = b"\0\1\0\0" + struct.pack(">HHHH", 1, 16, 0, 0)
    return head + struct.pack(">4sIII", b"cmap", 0, 28, len(cmap)) + cmap


@pytest.mark.parametrize("form", [4, 12])
def test_what_a_font_has(form: int) -> None:
    made = font([(0x41, 0x5A), (0x5D0, 0x5EA)], form)
    assert having(made, set("AZaאת漢")) == set("AZאת")


def test_a_collection_and_a_torn_file(tmp_path: Path) -> None:
    inner = font([(0x4E00, 0x9FFF)], 12)
    # a collection's header of 16 bytes, then the font; offsets count from the beginning of the file
    moved = inner[:12] + struct.pack(">4sIII", b"cmap", 0, 44, len(inner) - 28) + inner[28:]
    made = b"ttcf" + struct.pack(">III", 0x10000, 1, 16) + moved
    assert having(made, set("蓄x")) == {"蓄"}
    (tmp_path / "a.ttf").write_bytes(b"\0\1\0\0\0\xff")
    (tmp_path / "b.ttc").write_bytes(made)
    (tmp_path / "c.txt").write_bytes(font([(0x41, 0x41)], 4))
    assert nowhere(set("蓄A"), [tmp_path, tmp_path / "none"]) == ["A"]


def test_what_the_own_font_lacks() -> None:
    assert lacking("Äïß ½ Ω → Καλημέρα Привет سلام") == set()
    assert lacking("a蓄🚤") == {"蓄", "🚤"}


def test_letters_of_no_font_are_told_once(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.chdir(tmp_path)
    monkeypatch.setattr("linter.drawing.fonts.folders", lambda: [tmp_path])
    Path("x.boat").write_text(CHINESE, encoding="utf-8")
    result = CliRunner().invoke(main, ["draw", "x.boat", "-o", "x.pdf"])
    assert result.stderr.count("no font here has") == 1 and all(c in result.stderr for c in "蓄电池")
    assert Path("x.pdf").read_bytes().startswith(b"%PDF")
    result = CliRunner().invoke(main, ["draw", "x.boat", "-o", "x.svg"])
    assert "no font" not in result.stderr and "蓄电池" in Path("x.svg").read_text(encoding="utf-8")
    (tmp_path / "own.otf").write_bytes(font([(0x4E00, 0x9FFF)], 12))
    assert "no font" not in CliRunner().invoke(main, ["draw", "x.boat", "-o", "x.pdf"]).stderr


def test_the_machine_is_asked_only_where_it_must_be(monkeypatch: pytest.MonkeyPatch) -> None:
    import typst

    asked: list[bool] = []
    real = typst.compile

    def compile_(*given: object, **named: object) -> object:
        asked.append(bool(named["ignore_system_fonts"]))
        return real(*given, **named)  # type: ignore[arg-type]

    monkeypatch.setattr(typst, "compile", compile_)
    for text in (SMALL, CHINESE):
        write(sheets(design_of(text)), "pdf")
        write(sheets(design_of(text)), "png")
    assert asked == [True, True, False, False]
    assert export.boxed(sheets(design_of(SMALL))) == []
