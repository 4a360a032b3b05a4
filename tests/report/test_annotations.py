"""Notes at the lines of a change: as workflow commands, and as a code quality report.

The escapes of workflow commands are as their forge documents them (from memory): % CR LF in a message, and : , as well in
a property.  The reader below takes a line apart as such a runner does; it is written anew and shares nothing.
"""

from __future__ import annotations

import json
import re
from pathlib import Path
from typing import Any

import pytest

from linter.model.build import build
from linter.report.annotations import command_lines
from linter.report.standing import Standing
from linter.rules.engine import examine
from linter.source.files import Reader
from tests.report.conftest import ACCEPTED, ADVICE, BAD, GOOD, HOSTILE, LOST, check, checked, hostile

pytestmark = pytest.mark.usefixtures("yard")

_ESCAPES = {"%25": "%", "%0D": "\r", "%0A": "\n", "%3A": ":", "%2C": ","}


def unescaped(text: str) -> str:
    return re.sub("%(?:25|0D|0A|3A|2C)", lambda m: _ESCAPES[m[0]], text)


def read(output: str) -> list[tuple[str, dict[str, str], str]]:
    """The commands that a runner would see: a command begins its line; other lines are the log."""
    found = []
    for line in output.splitlines():
        match = re.fullmatch(r"::([a-z-]+)(?: ([^:]*))?::(.*)", line.lstrip())
        if match:
            properties = dict(p.split("=", 1) for p in (match[2] or "").split(","))
            found.append((match[1], {k: unescaped(v) for k, v in properties.items()}, unescaped(match[3])))
        else:
            assert "::" not in line and "##[" not in line, line
    return found


def run(text: str, *options: str) -> list[tuple[str, dict[str, str], str]]:
    return read(check(text, "--format", "annotations", *options).stdout)


def test_a_finding_stands_at_its_place_with_all_that_is_said() -> None:
    (command, at, message), second = run(BAD)
    assert command == "error" == second[0]
    assert at == {"file": "x.boat", "line": "9", "endLine": "9", "col": "7", "endColumn": "9",
                  "title": "danger [conductor-unprotected]"}  # fmt: skip
    lines = message.split("\n")
    assert lines[0].startswith("W2, 2.5 mm²,") and lines[1].startswith("mend: at most 35 A for F1")
    assert lines[2].startswith("clause: ISO 13297") and lines[3] == "x.boat:7:19: its guard"


@pytest.mark.parametrize(
    ("severity", "command"), [("danger", "error"), ("fault", "error"), ("doubt", "warning"), ("advice", "notice")]
)
def test_commands_by_severity(severity: str, command: str) -> None:
    found = run(BAD, "--only", "conductor-unprotected", "--severity", f"conductor-unprotected={severity}")
    assert [c for c, _, _ in found] == [command]


def test_the_gravest_comes_first() -> None:
    """A forge shows only the first few of a step."""
    text = "battery SPARE, AGM, 12 V, 50 Ah, resistance 5 mΩ\n"
    assert ADVICE.endswith(text)
    found = run(ACCEPTED.replace("from B\n", f"{text}from B\n", 1) + "load LOST, draws 1 A\n")
    assert [at["title"].split(" [")[0] for _, at, _ in found] == ["danger", "fault", "advice", "accepted danger"]


def test_nothing_found_says_so_in_the_log() -> None:
    output = check(GOOD, "--format", "annotations").stdout
    assert output == "wireworthy: 1 design, 0 findings, 0 accepted, 0 known\n"


def test_an_accepted_danger_is_noted_with_its_reason() -> None:
    (found,) = [f for f in run(ACCEPTED) if "conductor-unprotected" in f[1]["title"]]
    assert found[0] == "notice" and found[1]["title"] == "accepted danger [conductor-unprotected]"
    assert "accepted: rewired in spring; isolated till then (J. Holm, until 2027-04-01)" in found[2]


def test_a_known_danger_is_a_warning_each_time() -> None:
    check(BAD, "--record", "known.json")
    found = run(BAD, "--against", "known.json")
    assert [(c, at["title"]) for c, at, _ in found] == [
        ("warning", "known danger [conductor-unprotected]"), ("warning", "known danger [conductor-overloaded]"),
    ]  # fmt: skip


def test_what_kept_us_from_finding_more_is_an_error() -> None:
    result = check(LOST, "--format", "annotations")
    found = read(result.stdout)
    assert result.exit_code == 3 and result.stdout.splitlines()[-1].endswith("; incomplete")
    assert ("error", "error in the text") in [(c, at["title"]) for c, at, _ in found]
    assert ("error", "incomplete") in [(c, at["title"]) for c, at, _ in found]
    broken = examine(build(Reader().design_text(GOOD, "x.boat")))
    broken.broken.append(("not-fed", "KeyError: '::x'\n::error::y"))
    ((command, at, message),) = read("\n".join(command_lines([Standing(broken)])))
    assert (command, at["title"]) == ("error", "rule broke") and "KeyError" in message and "\n" not in message


def test_file_names_are_escaped() -> None:
    for name in ("a,b=c.boat", "50%.boat", "a%3Ab.boat", "x:1::y.boat"):
        output = check(BAD, "--format", "annotations", name=f"./{name}").stdout
        assert {at["file"] for _, at, _ in read(output)} == {name}


def test_standard_input_has_no_file() -> None:
    from click.testing import CliRunner

    from linter.cli import main

    output = CliRunner().invoke(main, ["check", "-", "--format", "annotations"], input=BAD).stdout
    assert [set(at) for _, at, _ in read(output)] == [{"title"}, {"title"}]


@pytest.mark.parametrize("label", HOSTILE.values(), ids=HOSTILE.keys())
def test_hostile_labels_begin_no_command(label: str) -> None:
    calm = [(c, at["title"]) for c, at, _ in run(hostile("calm"))]
    result = check(hostile(label), "--format", "annotations")
    found = read(result.stdout)
    if result.exit_code == 1:
        assert [(c, at["title"]) for c, at, _ in found] == calm
    else:
        assert result.exit_code == 3 and found
    assert max(map(len, result.stdout.splitlines())) < 20_000
    assert all(c.isprintable() for c in result.stdout.replace("\n", ""))


# --- the code quality report


def issues(text: str, *options: str) -> list[dict[str, Any]]:
    """With what its forge documents as needed (from memory): description, check_name, fingerprint, location.path,
    location.lines.begin, severity of five; a path without ./ and below the repository; fingerprints all different."""
    found: list[dict[str, Any]] = json.loads(check(text, "--format", "code-quality", *options).stdout)
    for one in found:
        assert set(one) == {"description", "check_name", "fingerprint", "severity", "location"}
        assert one["severity"] in {"info", "minor", "major", "critical", "blocker"}
        assert one["description"] and re.fullmatch(r"[0-9a-f]{32}", one["fingerprint"])
        begin, end = one["location"]["lines"]["begin"], one["location"]["lines"]["end"]
        assert 1 <= begin <= end and not one["location"]["path"].startswith(("/", "./"))
    assert len({one["fingerprint"] for one in found}) == len(found)
    return found


def test_the_report_of_a_bad_design() -> None:
    first, second = issues(BAD)
    assert first["location"] == {"path": "x.boat", "lines": {"begin": 9, "end": 9}}
    assert (first["check_name"], first["severity"]) == ("conductor-unprotected", "blocker")
    assert first["description"].startswith("danger: W2") and "; mend: at most 35 A for F1" in first["description"]
    assert second["check_name"] == "conductor-overloaded"
    assert issues(GOOD) == []


def test_fingerprints_survive_moved_lines_and_tell_designs_apart() -> None:
    moved = BAD.replace("cable W1", "# a remark\n" * 40 + "cable   W1")
    assert [i["fingerprint"] for i in issues(BAD)] == [i["fingerprint"] for i in issues(moved)]
    check(BAD, name="boats/a.boat")
    check(BAD, name="boats/b.boat")
    found = json.loads(checked("boats", "--format", "code-quality").stdout)
    assert len({i["fingerprint"] for i in found}) == len(found) == 4


def test_accepted_is_information_and_incomplete_a_blocker() -> None:
    accepted = {i["check_name"]: i for i in issues(ACCEPTED)}["conductor-unprotected"]
    assert accepted["severity"] == "info" and "isolated till then (J. Holm" in accepted["description"]
    lost = [(i["check_name"], i["severity"]) for i in issues(LOST)]
    assert ("not-understood", "blocker") in lost and ("rule-stayed-quiet", "blocker") in lost


@pytest.mark.parametrize("label", HOSTILE.values(), ids=HOSTILE.keys())
def test_hostile_labels_in_the_report(label: str) -> None:
    found = issues(hostile(label))
    assert found
    for one in found:
        assert len(one["description"]) < 25_000 and all(c.isprintable() for c in one["description"])
        # what a spreadsheet makes of an exported list: no cell begins as a formula
        assert one["description"][0].isalpha()
    assert Path("x.boat").exists()
