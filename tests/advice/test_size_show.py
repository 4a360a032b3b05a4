"""The text of `size`: a reason for every choice, demands that are referred to by number, no word twice."""

from __future__ import annotations

import random
from pathlib import Path

import pytest
from click.testing import CliRunner

from linter.advice.choice import Choice, Chosen, Contradiction, Neighbour
from linter.advice.choose import choose
from linter.advice.options import left_open, open_element
from linter.advice.show import choice_data, choice_text
from linter.cli import main
from linter.model.build import build
from linter.model.design import Design
from linter.report.text import plain
from linter.rules.engine import examine
from linter.rules.finding import Finding, Severity
from linter.source.files import Reader
from tests.advice.small_boats import SHEETS, boat

HEAD = """boat "Example", 9 m, rulebook abyc-e11
system DC12, 12 V, negative earthed
cables, insulation 105 °C, tinned
battery B, AGM, 12 V, 100 Ah, resistance 4 mΩ
"""
RUN = "from B\nfuse F1, {fuse}\ncable W1, size ?, 2 m\nload LAMP, {load}\n"


def shown(folder: Path, text: str, *names: str) -> str:
    path = folder / "small.boat"
    path.write_text(text, encoding="utf-8")
    result = CliRunner().invoke(main, ["size", str(path), *names])
    assert result.exception is None or isinstance(result.exception, SystemExit), result.exception
    return result.output


def words(text: str) -> str:
    return " ".join(text.split())


def blocks(lines: list[str]) -> dict[str, list[str]]:
    """What stands under each element chosen."""
    found: dict[str, list[str]] = {}
    for line in lines:
        if not line.strip():
            break
        if line.startswith(" "):
            found[list(found)[-1]].append(line.strip())
        else:
            found[line.split(":")[0].split(" ")[0]] = []
    return found


def design_of(text: str) -> Design:
    return build(Reader().design_text(text))


REASONS = ("would not do: ", "the least rating in which", "the only rating known", "the least that the rulebooks' tables",
           "the least rating of its class", "the least of these ratings")  # fmt: skip


@pytest.mark.parametrize("number", [0, 1, 3, 4, 5, 7, 9, 11, 16, 19])
def test_every_choice_has_a_reason(number: int, tmp_path: Path) -> None:
    """In text and as data; no choice but the least is made."""
    path = tmp_path / "small.boat"
    path.write_text(boat(random.Random(number), 60), encoding="utf-8")
    source = Reader().design(str(path))
    design = build(source)
    made = choose(source, left_open(design))
    if not made.chosen:
        pytest.skip("nothing could be chosen in this one")
    told = blocks(list(choice_text(made, design, plain)))
    data = {c["element"]: c["reason"] for c in choice_data(made, design)["chosen"]}
    for one in made.chosen:
        assert any(reason in " ".join(told[one.name]) for reason in REASONS), told[one.name]
        assert any(reason in data[one.name] for reason in REASONS), data[one.name]


def test_which_reason(tmp_path: Path) -> None:
    for fuse, load, reason in (
        ("part branch, ? A", "draws 4 A", "F1: 5 A the least rating in which part branch is made"),
        ("part branch, ? A", "draws 8 A", "F1: 10 A 5 A would not do: F1 is rated 5 A and is to carry 8 A"),
    ):
        assert reason in words(shown(tmp_path, HEAD + RUN.format(fuse=fuse, load=load) + SHEETS))
    single = "part one, fuse\n  cartridge, 125 V, 10 A, breaks 10 kA at 125 V, opens at 135 % in 10 s to 3600 s\n"
    single += "  opens at 1000 % in 8 ms to 50 ms, lets through 3 kA2s, resistance 2 mΩ\n"
    assert "F1: 10 A the only rating known" in words(
        shown(tmp_path, HEAD + RUN.format(fuse="part one, ? A", load="draws 4 A") + single)
    )


def test_the_least_of_a_sheet_is_told_with_what_a_smaller_one_of_another_would_break(tmp_path: Path) -> None:
    """60 A is the least of its sheet; 30 A of the other sheet carry no 50 A."""
    text = words(shown(tmp_path, HEAD + RUN.format(fuse="? A", load="draws 50 A, light") + SHEETS))
    assert "F1: part main, 60 A the least rating in which part main is made; part branch, 30 A would not do: F1 is rated " \
        "30 A and is to carry 50 A" in text  # fmt: skip


FINDING = Finding("device-overloaded", Severity.FAULT, "F1", design_of(HEAD).elements["B"].span, "too small")


def _choice(smaller: Neighbour | None, raised: bool = False) -> tuple[Choice, Design]:
    design = design_of(HEAD + RUN.format(fuse="part branch, ? A", load="draws 8 A") + SHEETS)
    (least, here, *_) = open_element(design, "F1").options
    assert smaller is None or smaller.option == least
    return Choice([Chosen("F1", here, smaller, None, raised=raised)], proved=False), design


def test_a_smaller_one_that_was_not_found_wanting_is_told() -> None:
    """What is not known is not made up."""
    least = open_element(_choice(None)[1], "F1").options[0]
    for smaller, raised, reason in (
        (Neighbour(least, None, True), False, "5 A was tried too and breaks nothing more: the least was not found"),
        (Neighbour(least, None, False), False, "5 A was not tried: too much is chosen at once"),
        (Neighbour(least, FINDING, False), False, "5 A would not do: with other choices it broke this demand at F1"),
        (Neighbour(least, None, True), True, "larger than any rule asks, so that it is rated no less than"),
    ):
        made, design = _choice(smaller, raised)
        assert reason in words(" ".join(choice_text(made, design, plain)))
        data = choice_data(made, design)["chosen"][0]
        assert reason in data["reason"] and data["smaller"]["tried"] is smaller.exact


def test_demands_are_referred_to_by_number(tmp_path: Path) -> None:
    text = shown(tmp_path, HEAD + RUN.format(fuse="part branch, ? A", load="draws 18 A, asks fuse 10 A") + SHEETS)
    lines = [line.strip() for line in text.splitlines()]
    assert sum(line.startswith("1. ") for line in lines) == sum(line.startswith("2. ") for line in lines) == 1
    assert any(line.startswith("if 1 is given up, all else asks for F1 ") for line in lines)
    assert any(line.startswith("if 2 is given up, all else asks for F1 ") for line in lines)
    # a person has seen the element's name in the sentence
    assert "F1: F1" not in text and "LAMP: the maker of LAMP" not in text


def test_one_demand_alone_has_no_number(tmp_path: Path) -> None:
    text = shown(tmp_path, HEAD + RUN.format(fuse="part branch, ? A", load="draws 50 A, light") + SHEETS)
    assert "F1: nothing satisfies this:" in text and "1. " not in text


def test_the_text_begins_with_what_it_says(tmp_path: Path) -> None:
    """Where nothing can be chosen no empty line stands before it."""
    text = HEAD + "from B\nfuse F1, part branch, ? A\ncable W1, 10 AWG, 2 m\nload LAMP, draws 50 A\n" + SHEETS
    assert shown(tmp_path, text).startswith("F1: nothing satisfies this:")


def test_what_is_there_now_is_told_where_it_is_something_else(tmp_path: Path) -> None:
    text = HEAD + RUN.format(fuse="part branch, 20 A", load="draws 8 A, asks fuse 10 A") + SHEETS
    told = shown(tmp_path, text, "F1")
    assert told.startswith("F1: 10 A; now 20 A\n")
    # the next smaller and the next larger break the same demand: it is told once
    assert told.count("the maker of LAMP asks for") == 1
    assert "nor would 20 A, by the same demand" in told
    assert shown(tmp_path, text.replace("branch, 20 A", "branch, 10 A"), "F1").startswith("F1: 10 A\n")


def test_the_gravest_stands_first_and_is_counted() -> None:
    made, design = _choice(None)
    mild = Finding("load-in-no-scene", Severity.ADVICE, "LAMP", FINDING.span, "LAMP stands in no scene")
    made.standing = [mild, FINDING]
    lines = [line.strip() for line in choice_text(made, design, plain)]
    assert lines.index("fault: F1: too small [device-overloaded]") < lines.index(
        f"advice: {mild.message} [{mild.rule}]"
    )
    assert lines[-1].endswith("; 1 danger or fault stays")
    made.standing = [mild]
    assert "stay" not in list(choice_text(made, design, plain))[-1]


def test_what_is_not_sure_is_told_so() -> None:
    made, design = _choice(None)
    made.unmet = [FINDING]
    assert "No choice that satisfies all else mends these" in " ".join(choice_text(made, design, plain))
    made.settled = False
    assert "No choice was found that" in " ".join(choice_text(made, design, plain))
    assert choice_data(made, design)["settled"] is False
    made.contradictions = [Contradiction(("F1",), (FINDING,), (), proved=False)]
    assert "F1: nothing was found that satisfies this:" in list(choice_text(made, design, plain))


def test_a_reason_is_no_longer_than_a_terminal_is_wide(tmp_path: Path) -> None:
    text = shown(tmp_path, HEAD + RUN.format(fuse="part branch, ? A", load="draws 18 A, asks fuse 10 A") + SHEETS)
    said = text.split("Examined:")[0].splitlines()
    assert max(map(len, said)) <= 100


def test_help_says_what_a_reader_sees() -> None:
    told = words(CliRunner().invoke(main, ["size", "--help"]).output)
    keys = choice_data(*_choice(None))
    for key in (*keys, *keys["chosen"][0]):
        if key not in ("format", "boat"):
            assert key in told, key


def test_the_least_carries_no_finding_of_its_own(tmp_path: Path) -> None:
    """What is told as the least is clean by an examination of its own."""
    text = HEAD + RUN.format(fuse="part branch, ? A", load="draws 8 A") + SHEETS
    path = tmp_path / "small.boat"
    path.write_text(text, encoding="utf-8")
    made = {c.name: c.option.written for c in choose(Reader().design(str(path)), ["F1", "W1"]).chosen}
    written = text.replace("? A", made["F1"]).replace("size ?", made["W1"])
    assert not [f for f in examine(design_of(written)).findings if f.subject in made]


def test_nothing_is_offered_that_rests_on_a_danger(tmp_path: Path) -> None:
    """5 kA may flow where the fuse breaks 0.1 kA: giving that up is no choice, whatever rating would be left."""
    sheet = "part feeble, fuse\n  cartridge, 125 V, breaks 0.1 kA at 125 V, comes in 5 A 10 A\n"
    text = HEAD + RUN.format(fuse="part feeble, ? A", load="draws 4 A") + sheet
    said = words(shown(tmp_path, text))
    assert "danger: F1 breaks 100 A" in said
    assert "this is a danger, and not to be given up" in said
    assert "if this is given up" not in said
    source = Reader().design(str(tmp_path / "small.boat"))
    design = build(source)
    data = choice_data(choose(source, left_open(design)), design)
    dangers = [w for k in data["contradictions"] for w in k["without"] if w["severity"] == "danger"]
    assert dangers and all(w["choice"] is None for w in dangers)
