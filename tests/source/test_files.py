"""Which files belong to a design, and which may not."""

from __future__ import annotations

import os
from pathlib import Path

import pytest

import linter.source.files as files
from linter.source.files import DesignSource, Reader, Unusable, confined_file, decode, designs_under

BOAT = 'boat "T", 9 m\nsystem S, 12 V\n'


@pytest.fixture
def folder(tmp_path: Path) -> Path:
    """A folder with a secret beside it."""
    (tmp_path / "secret.boat").write_text('battery SECRET, 12 V\n"')
    made = tmp_path / "design"
    (made / "parts").mkdir(parents=True)
    return made


def read(folder: Path, text: str, **others: str) -> DesignSource:
    (folder / "d.boat").write_text(text, encoding="utf-8")
    for name, content in others.items():
        path = folder / f"{name.replace('__', '/')}.boat"
        path.parent.mkdir(parents=True, exist_ok=True)
        path.write_text(content, encoding="utf-8")
    return Reader().design(str(folder / "d.boat"))


def said(design: DesignSource) -> list[str]:
    return [f"{os.path.basename(m.span.path)}:{m.span.line}:{m.span.column}: {m.message}" for m in design.all_mistakes]


def names(design: DesignSource) -> list[str]:
    return [os.path.relpath(f.text.name, os.path.dirname(design.path)) for f in design.files]


def test_files_are_named_from_the_file_that_uses_them(folder: Path) -> None:
    design = read(folder, BOAT + "use parts/a.boat\n", parts__a="use b.boat\n", parts__b="use ../c.boat\n", c="bus C\n")
    assert said(design) == []
    assert names(design) == ["d.boat", "parts/a.boat", "parts/b.boat", "c.boat"]


@pytest.mark.parametrize(
    "wanted",
    [
        "../secret.boat",
        "parts/../../secret.boat",
        "./../secret.boat",
        '"/etc/passwd"',
        '"~/x.boat"',
        '"C:/x.boat"',
        '"\\\\x"',
    ],
)
def test_nothing_outside_the_folder_is_read(folder: Path, wanted: str) -> None:
    design = read(folder, BOAT + f"use {wanted}\n")
    (mistake,) = said(design)
    assert mistake.startswith("d.boat:3:5: ")
    assert "outside the folder" in mistake or "not from the root" in mistake
    assert names(design) == ["d.boat"]


def test_not_by_a_link_either(folder: Path) -> None:
    (folder / "link.boat").symlink_to(folder.parent / "secret.boat")
    (folder / "out").symlink_to(folder.parent)
    design = read(folder, BOAT + "use link.boat\nuse out/secret.boat\n")
    assert [m.split(": ")[1].split(" lies")[0] for m in said(design)] == ["link.boat", "out/secret.boat"]
    assert len(design.files) == 1


def test_a_link_that_stays_inside_is_the_file_itself(folder: Path) -> None:
    (folder / "link.boat").symlink_to(folder / "parts" / "a.boat")
    design = read(folder, BOAT + "use link.boat\nuse parts/a.boat\n", parts__a="bus A\n")
    assert said(design) == [] and len(design.files) == 2


def test_a_link_that_leads_to_itself(folder: Path) -> None:
    (folder / "loop.boat").symlink_to(folder / "loop.boat")
    (mistake,) = said(read(folder, BOAT + "use loop.boat\n"))
    assert mistake.startswith("d.boat:3:5: loop.boat")
    with pytest.raises(Unusable, match="loop"):
        Reader().design(str(folder / "loop.boat"))


def test_a_design_named_by_a_link_has_the_folder_of_the_file(folder: Path) -> None:
    read(folder, BOAT + "use parts/a.boat\n", parts__a="cabel\n")
    link = folder.parent / "link.boat"
    link.symlink_to(folder / "d.boat")
    design = Reader().design(str(link))
    assert [os.path.exists(f.text.name) for f in design.files] == [True, True]


@pytest.mark.parametrize(
    ("texts", "message"),
    [
        ({"d": "use d.boat\n"}, "d.boat:3:5: d.boat is this file itself"),
        (
            {"d": "use a.boat\n", "a": "use d.boat\n"},
            "a.boat:1:5: d.boat leads back to this file: they use one another in a ring",
        ),
        (
            {"d": "use a.boat\nuse b.boat\n", "a": "use b.boat\n", "b": "use a.boat\n"},
            "b.boat:1:5: a.boat leads back to this file: they use one another in a ring",
        ),
    ],
)
def test_a_ring_is_told_once(folder: Path, texts: dict[str, str], message: str) -> None:
    others = {k: v for k, v in texts.items() if k != "d"}
    design = read(folder, BOAT + texts["d"], **others)
    assert said(design) == [message]
    assert len(design.files) == len(texts)


def test_a_file_used_twice_is_read_once(folder: Path) -> None:
    design = read(
        folder,
        BOAT + "use a.boat\nuse b.boat\nuse c.boat\nuse c.boat\n",
        a="use c.boat\n",
        b="use c.boat\n",
        c="bus C\n",
    )
    assert said(design) == []
    assert names(design) == ["d.boat", "a.boat", "b.boat", "c.boat"]


def test_what_is_missing_is_told_with_the_name_that_was_meant(folder: Path) -> None:
    design = read(folder, BOAT + "use Protection.boat\nuse nowhere/x.boat\n", protection="bus C\n")
    assert said(design) == ["d.boat:3:5: Protection.boat: no such file", "d.boat:4:5: nowhere/x.boat: no such file"]
    assert [m.mend for m in design.all_mistakes] == ["did you mean protection.boat?", ""]


def test_what_is_no_ordinary_file(folder: Path) -> None:
    os.mkfifo(folder / "pipe.boat")
    (folder / "null.boat").symlink_to("/dev/null")
    design = read(folder, BOAT + "use parts/\nuse pipe.boat\nuse null.boat\n")
    assert [m.split(": ", 1)[1] for m in said(design)] == [
        "parts/: is a folder, not a file",
        "pipe.boat: is no ordinary file",
        "null.boat lies outside the folder of this design",
    ]
    for path, why in (("pipe.boat", "no ordinary file"), ("parts", "folder"), ("none.boat", "no such file")):
        with pytest.raises(Unusable, match=why):
            Reader().design(str(folder / path))
    with pytest.raises(Unusable):
        Reader().design("a\0b")
    with pytest.raises(Unusable):
        Reader().design(str(folder / ("x" * 5000)))


@pytest.mark.parametrize(
    ("data", "said"),
    [
        (b"bus A\nbus \xff", "is not UTF-8 (line 2, column 5); save it as UTF-8"),
        ("b\u00fcs \u00e9".encode("latin-1"), "is not UTF-8 (line 1, column 2); save it as UTF-8"),
        ("bus A".encode("utf-16"), "is UTF-16; save it as UTF-8"),
        (b"\xff", "is not UTF-8 (line 1, column 1); save it as UTF-8"),
        ("ä\n\u00f6".encode() + b"\xc3", "is not UTF-8 (line 2, column 2); save it as UTF-8"),
    ],
)
def test_what_is_not_utf8(folder: Path, data: bytes, said: str) -> None:
    assert decode(data) == (False, said)
    (folder / "x.boat").write_bytes(data)
    (mistake,) = read(folder, BOAT + "use x.boat\n").mistakes
    assert mistake.message == f"x.boat: {said}"


def test_a_byte_order_mark_and_other_line_ends(folder: Path) -> None:
    (folder / "d.boat").write_bytes(b"\xef\xbb\xbf" + BOAT.replace("\n", "\r\n").encode())
    design = Reader().design(str(folder / "d.boat"))
    assert said(design) == [] and [s.kind for s in design.files[0].statements] == ["boat", "system"]
    (folder / "d.boat").write_bytes(BOAT.replace("\n", "\r").encode())
    mistakes = Reader().design(str(folder / "d.boat")).all_mistakes
    assert any("U+000D" in m.message for m in mistakes)


def test_an_empty_file_is_read(folder: Path) -> None:
    assert said(read(folder, BOAT + "use empty.boat\n", empty="")) == []


def test_what_is_too_large_is_not_read(folder: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(files, "GREATEST_BYTES", 100)
    (mistake,) = said(read(folder, BOAT + "use large.boat\n", large="#" * 101))
    assert "is larger than" in mistake


def test_a_chain_of_three_thousand_files(folder: Path) -> None:
    count = 3000
    for i in range(count):
        (folder / f"f{i}.boat").write_text(f"use f{i + 1}.boat\n" if i < count - 1 else "use f0.boat\n")
    design = read(folder, BOAT + "use f0.boat\n")
    assert len(design.files) == count + 1
    assert said(design) == [f"f{count - 1}.boat:1:5: f0.boat leads back to this file: they use one another in a ring"]


def test_mistakes_of_all_files_in_one_run(folder: Path) -> None:
    design = read(folder, BOAT + "cabel\nuse a.boat\nuse none.boat\n", a="cabel\n\nuse ../secret.boat\n")
    assert {m.rsplit(": ", 1)[0].split(": ")[0] for m in said(design)} == {
        "d.boat:3:1",
        "a.boat:1:1",
        "d.boat:5:5",
        "a.boat:3:5",
    }


def test_a_file_is_parsed_once_however_many_designs_use_it(folder: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    read(folder, BOAT + "use a.boat\n", e=BOAT + "use a.boat\n", a="bus A\n")
    parsed: list[str] = []
    original = files.parse
    monkeypatch.setattr(files, "parse", lambda name, *more: parsed.append(name) or original(name, *more))
    reader = Reader()
    reader.design(str(folder / "d.boat"))
    reader.design(str(folder / "e.boat"))
    assert [os.path.basename(p) for p in parsed] == ["d.boat", "a.boat", "e.boat"]


def test_designs_below_a_folder(folder: Path) -> None:
    read(folder, BOAT, a="bus A\n", sub__e="\n  boat\n", sub__f='# boat\nscene "boat"\n')
    (folder / ".hidden").mkdir()
    (folder / ".hidden" / "h.boat").write_text(BOAT)
    found = [os.path.relpath(p, folder) for p in designs_under(str(folder), Reader())]
    assert found == ["d.boat", "sub/e.boat"]
    assert designs_under(str(folder / "a.boat"), Reader()) == [str(folder / "a.boat")]
    with pytest.raises(Unusable, match="no design below"):
        designs_under(str(folder / "parts"), Reader())


def test_a_design_as_text_uses_the_current_folder(folder: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    read(folder, BOAT, a="bus A\n")
    monkeypatch.chdir(folder)
    design = Reader().design_text(BOAT + "use a.boat\nuse ../secret.boat\n")
    assert [f.text.name for f in design.files] == ["-", "a.boat"]
    assert len(design.mistakes) == 1


def test_any_file_a_design_names_is_confined(folder: Path) -> None:
    assert confined_file(folder, folder / "parts", "../x.toml") == folder / "x.toml"
    with pytest.raises(Unusable, match="outside"):
        confined_file(folder, folder / "parts", "../../x.toml")
