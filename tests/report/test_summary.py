"""What a report says at its end, and that one missing figure is asked for once."""

from __future__ import annotations

import json
import re

import pytest
from click.testing import CliRunner

from linter.cli import main
from linter.report.text import MOST_NAMED

HEAD = """boat "S", 9 m, rulebook iso-13297
system DC12, 12 V, negative earthed
cables, insulation 105 °C, tinned
battery B, AGM, 12 V, 100 Ah, resistance 4 mΩ
from B
fuse F1, ANL, 150 A, 32 V, breaks 5 kA at 32 V
cable W1, 50 mm2, 1 m
bus POS, 250 A
"""
BRANCH = "from POS\nfuse {f}, {what}\ncable {w}, 16 mm2, 2 m\nload {l}, draws 10 A\n"
SHEET = "part limiter, fuse\n  ANL, 32 V, breaks 5 kA at 32 V\n"


def check(text: str, *arguments: str) -> str:
    return CliRunner().invoke(main, ["check", "-", "--today", "2026-01-01", *arguments], input=text).output


def waiting(count: int, what: str) -> str:
    return HEAD + "".join(BRANCH.format(f=f"F{n}", what=what, w=f"X{n}", l=f"L{n}") for n in range(10, 10 + count))


def test_one_sheet_without_a_curve_is_one_finding_that_names_all_it_matters_for() -> None:
    text = waiting(5, "part limiter, 60 A") + SHEET
    output = check(text)
    shown = [line for line in output.splitlines() if re.match(r"-:\d+:\d+: doubt: .*not-opened-in-time", line)]
    # of F1 alone, before W1; and of it and the sheet, before all the others
    assert len(shown) == 2
    (also,) = [line for line in output.splitlines() if "is missing for these too" in line]
    assert "part limiter" in also and [f"X{n}" in also for n in range(10, 15)] == [False, True, True, True, True]
    # nothing is taken from the data, and each can be accepted
    data = json.loads(check(text, "--format", "json"))["designs"][0]
    late = [f for f in data["findings"] if f["rule"] == "not-opened-in-time"]
    assert len(late) == 6 and {f["missing"] for f in late} == {"the curve of F1", "the curve of F1 and part limiter"}
    accepted = 'accept not-opened-in-time at X10, "its maker was asked in May", by "J. Holm", until 2030-01-01\n'
    output = check(text + accepted)
    (also,) = [line for line in output.splitlines() if "is missing for these too" in line]
    assert "X10" not in also and "X11" not in also and "X12" in also


@pytest.mark.parametrize("count", [0, 1, 2, MOST_NAMED, MOST_NAMED + 3])
def test_the_summary_names_the_gravest_with_their_lines(count: int) -> None:
    text = HEAD
    # a conductor that is not guarded is a danger; a lamp that draws nothing known is a doubt
    for n in range(count):
        text += f"from POS\ncable X{n}, 1 mm2, 2 m\nload L{n}, draws 1 A\n"
    text += BRANCH.format(f="F2", what="ANL, 60 A, 32 V, breaks 5 kA at 32 V", w="D1", l="DL")
    output = check(text)
    said = " ".join(line.strip() for line in output.partition("S: ")[2].splitlines())
    if count == 0:
        assert "The doubts first: " in said
        return
    first = re.search(r"The dangers? first: (.*?)\.(?: |$)", said)
    assert first is not None
    lines = {f"X{n}": text[: text.index(f"cable X{n},")].count("\n") + 1 for n in range(count)}
    for n in range(min(count, MOST_NAMED)):
        assert f"X{n} [conductor-unprotected] line {lines[f'X{n}']}" in first[1]
    assert ("and 3 more" in first[1]) == (count == MOST_NAMED + 3)


def test_a_finding_alone_is_not_named_again() -> None:
    text = waiting(0, "")
    assert "first:" in check(text) and "first:" not in check(text, "--only", "not-opened-in-time")


def test_the_count_of_the_protected_says_how_many_have_a_finding_open() -> None:
    assert "(1 of them with a finding open)" in check(waiting(0, ""))
