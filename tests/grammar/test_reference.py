"""Every example of the reference runs, and the reference leaves nothing out."""

from __future__ import annotations

import json
import re
from pathlib import Path
from typing import Any

import pytest

from linter.model.build import build
from linter.model.design import Design
from linter.model.export import circuit_json
from linter.source.files import Reader
from linter.source.grammar import words
from linter.source.units import AWG_SIZES, UNITS
from linter.source.words import FITS, REPEATABLE, WRITTEN

from .reference import BLOCKS, DESIGNS, FILES, FRAGMENTS, PAGE, WRONG, Block, framed, table


def read(text: str, folder: Path) -> Design:
    for name, content in FILES.items():
        (folder / name).parent.mkdir(exist_ok=True)
        (folder / name).write_text(content, encoding="utf-8")
    (folder / "design.boat").write_text(text, encoding="utf-8")
    return build(Reader().design(str(folder / "design.boat")))


def said(design: Design) -> str:
    """The mistakes as the reference shows them."""
    lines = []
    for mistake in design.mistakes:
        lines.append(f"{mistake.span.line}:{mistake.span.column}: {mistake.message}\n")
        if mistake.mend:
            lines.append(f"    {mistake.mend}\n")
    return "".join(lines)


def test_the_page_has_blocks_of_every_sort_and_no_others() -> None:
    assert len(DESIGNS) > 2 and len(FRAGMENTS) > 20 and len(WRONG) > 1 and len(FILES) > 1
    for block in BLOCKS:
        known = {"boat", "boat frame", "boat fragment", "boat wrong", "message"}
        assert block.info in known or re.fullmatch(r"(boat|toml) file=\S+", block.info), block


@pytest.mark.parametrize("block", DESIGNS, ids=str)
def test_a_whole_design_has_no_mistake(block: Block, tmp_path: Path) -> None:
    assert said(read(block.text, tmp_path)) == ""


@pytest.mark.parametrize("block", FRAGMENTS, ids=str)
def test_a_fragment_in_its_frame_has_no_mistake(block: Block, tmp_path: Path) -> None:
    assert said(read(framed(block.text), tmp_path)) == ""


@pytest.mark.parametrize(("block", "message"), WRONG, ids=str)
def test_a_wrong_fragment_gets_the_messages_shown(block: Block, message: Block, tmp_path: Path) -> None:
    assert message.info == "message"
    assert said(read(framed(block.text), tmp_path)) == message.text


def test_a_rulebook_file_of_ones_own_is_one(tmp_path: Path) -> None:
    from linter.tables.rulebook import load, load_file

    path = tmp_path / "yard.toml"
    path.write_text(FILES["yard.toml"], encoding="utf-8")
    own, base = load_file(path), load("iso-13297")
    assert own.title == "Yard practice"
    assert own.engine_space != base.engine_space


# ---- nothing is left out


def test_every_statement_has_a_section() -> None:
    sections = re.findall(r"^### (.+)$", PAGE, re.MULTILINE)
    assert sorted(sections) == sorted([*FITS, "use", "part", "from", "to"])


def test_every_section_lists_the_facts_the_statement_takes() -> None:
    for kind, keys in FITS.items():
        section = PAGE.split(f"\n### {kind}\n", 1)[1].split("\n##", 1)[0]
        listed = re.search(r"Takes: ([^.]*)\.", section)
        assert listed is not None, kind
        assert listed[1].replace("\n", " ") == ", ".join(keys), kind


def test_the_table_of_facts_is_the_one_the_tool_goes_by() -> None:
    rows = table("Facts")
    assert [row[0] for row in rows] == list(WRITTEN)
    for key, written, on, meaning in rows:
        assert written.replace("\\|", "|") == WRITTEN[key]
        assert on == (", ".join(kind for kind in FITS if key in FITS[kind]) or "–")
        assert meaning
    assert f"but for {', '.join(k for k in WRITTEN if k in REPEATABLE)}." in PAGE


def test_every_word_of_the_grammar_is_on_the_page() -> None:
    missing = [w for w in words() if not re.search(rf"(?<![\w-]){re.escape(w)}(?![\w-])", PAGE)]
    assert missing == []


def test_every_word_of_the_grammar_stands_in_an_example() -> None:
    examples = "\n".join(b.text for b in (*DESIGNS, *FRAGMENTS) if b.info.startswith("boat"))
    missing = [w for w in words() if not re.search(rf"(?<![\w-]){re.escape(w)}(?![\w-])", examples)]
    assert missing == []


def test_the_table_of_units_is_complete() -> None:
    units = " ".join(row[0] for row in table("How a file is written"))
    shown = set(re.findall(r"`([^`]+)`", units))
    assert shown == {u.replace("\u2126", "\u03a9") for u in UNITS}
    for size in AWG_SIZES:
        assert re.search(rf"[ (]{size}[,)]", units), size


# ---- the JSON form

WHOLE = """
boat "All", 9 m, rulebook iso-13297
system DC12, 12 V
system DC24, 24 V
place P, ambient 30 °C
battery B, AGM, 12 V, 100 Ah, resistance 1 mΩ to 2 mΩ
from B
cable W1, 10 mm2, 3 m, 1 m in P, in sheath, return 2 AWG
fuse F1, blade, 10 A, comes in 5 A 10 A, breaks 1 kA at 32 V, opens at 200 % in 1 s to 2 s, breaks 9 kA at 32 V behind class T fuse 100 A, lets through 1 kA2s, carries 90 % at 60 °C
switch S1, 10 A
relay K1, 10 A
diode D1, 10 A, drops 1 V
bus A, 10 A
cable W2, 1.5 mm2, 1 m
load L, draws 1 A, 9 V to 32 V, asks slow blade fuse 5 A, asks cable at least 1.5 mm2
selector X, positions off 1 2 both
from A
to X 1
from A
converter C, 12 V to 24 V, 5 A, efficiency 90 %
from A
inverter I, 12 V, gives 5 A
scene "s", L, X at 1, for 1 h
accept protection-distance at W1, "r", by "b", until 2027-04-01
"""
SIZE = {"text", "mm2", "awg"}


def paths(value: Any, at: str = "") -> set[str]:
    """The documented form of each key: objects by a dot, members of lists by []."""
    if value == []:
        return set()  # its members, or another list of the same name, tell
    if isinstance(value, list) and isinstance(value[0], dict):
        return set().union(*(paths(v, f"{at}[]") for v in value))
    if isinstance(value, dict) and set(value) != SIZE and not at.endswith(".states"):
        inner = set().union(*(paths(v, f"{at}.{k}" if at else k) for k, v in value.items()))
        # An object that may be null has a line of its own.
        return inner | ({at} if at in {"nodes[].source", "nodes[].load"} else set())
    return {at}


def test_the_json_form_has_the_documented_keys_and_no_others(tmp_path: Path) -> None:
    design = read(WHOLE, tmp_path)
    assert said(design) == ""
    plain = json.loads(json.dumps(circuit_json(design), allow_nan=False))
    documented = {re.sub(r"`", "", row[0]) for row in table("The JSON form of a circuit")}
    assert paths(plain) == documented


def test_the_json_form_keeps_its_types(tmp_path: Path) -> None:
    plain = json.loads(json.dumps(circuit_json(read(WHOLE, tmp_path))))
    produced: dict[str, set[str]] = {}

    def note(value: Any, at: str) -> None:
        if isinstance(value, dict) and set(value) != SIZE and not at.endswith(".states"):
            for key, below in value.items():
                note(below, f"{at}.{key}" if at else key)
            if at:
                produced.setdefault(at, set()).add("object")
        elif value == []:
            pass
        elif isinstance(value, list) and isinstance(value[0], dict):
            for below in value:
                note(below, f"{at}[]")
        else:
            name = {str: "text", bool: "true, false", int: "number", float: "number", type(None): "null"}.get(
                type(value)
            )
            if name is None:
                numbers = value and isinstance(value, list) and not isinstance(value[0], str)
                name = (
                    ("[least, greatest]" if at.endswith(("_ohm", "rating_a", "range_v")) else "list of numbers")
                    if numbers
                    else "list of texts"
                )
                name = (
                    "size"
                    if isinstance(value, dict) and set(value) == SIZE
                    else "object"
                    if isinstance(value, dict)
                    else name
                )
            produced.setdefault(at, set()).add(name)

    note(plain, "")
    for key, kinds, _ in table("The JSON form of a circuit"):
        path = key.strip("`")
        for name in produced[path]:
            assert name in kinds or (name == "list of texts" and "list" in kinds), (path, name, kinds)
