"""`check --record` and `--against`: an old boat takes up the tool, and only what is new or graver fails."""

from __future__ import annotations

import json
import os
import stat
from pathlib import Path
from typing import Any

import pytest

from linter.report.record import GREATEST_BYTES
from tests.report.conftest import ACCEPT, ACCEPTED, BAD, GOOD, HOSTILE, LOST, check, checked, hostile

pytestmark = pytest.mark.usefixtures("yard")

RECORD = "known.json"
UNFED = "load LOST, draws 1 A\n"


def recorded(text: str, *options: str) -> dict[str, Any]:
    result = check(text, "--record", RECORD, *options)
    assert result.exit_code == 0, result.output
    made: dict[str, Any] = json.loads(Path(RECORD).read_text(encoding="utf-8"))
    return made


def against(text: str, *options: str) -> tuple[int, str]:
    result = check(text, "--against", RECORD, *options)
    return result.exit_code, result.stdout


def test_what_is_recorded() -> None:
    made = recorded(BAD)
    assert (made["format"], made["version"]) == ("wireworthy record", 1) and "still to be mended" in made["caution"]
    assert [(k["rule"], k["element"], k["severity"], k["accepted"]) for k in made["designs"]["x.boat"]] == [
        ("conductor-overloaded", "W2", "danger", False), ("conductor-unprotected", "W2", "danger", False),
    ]  # fmt: skip


def test_a_record_is_the_same_however_the_text_moves() -> None:
    recorded(BAD)
    first = Path(RECORD).read_bytes()
    recorded(BAD.replace("from B\n", "# a remark\n" * 40 + "from   B\n"))
    assert Path(RECORD).read_bytes() == first
    result = check(BAD, "--record", "again.json")
    assert Path("again.json").read_bytes() == first and "2 findings recorded in again.json" in result.stderr


def test_recording_says_what_it_found_all_the_same() -> None:
    result = check(BAD, "--record", RECORD)
    assert result.exit_code == 0 and "danger: W2" in result.stdout and "2 dangers" in result.stdout


def test_known_findings_do_not_fail_but_a_known_danger_is_shown_each_time() -> None:
    recorded(BAD + UNFED)
    status, output = against("# moved\n\n" + BAD + UNFED)
    assert status == 0
    assert "x.boat:11:7: known danger: W2" in output and "mend: at most 35 A for F1" in output
    assert "known fault: no source feeds LOST" in output
    assert "0 new, 0 graver, 3 known, 0 gone" in output and "known, not safe" in output
    assert "no findings" not in output and "nothing new; 2 known dangers, 3 known in all" in output


def test_only_what_is_new_fails() -> None:
    recorded(BAD)
    status, output = against(BAD + UNFED)
    assert status == 1
    assert "fault: no source feeds LOST" in output.splitlines()[0] and "1 new, 0 graver, 2 known" in output
    assert against(BAD + UNFED, "--fail-on", "danger")[0] == 0


def test_a_second_of_the_same_kind_at_another_element_is_new() -> None:
    recorded(BAD + UNFED)
    assert against(BAD + UNFED.replace("LOST", "OTHER"))[0] == 1


def test_graver_fails() -> None:
    recorded(BAD, "--severity", "conductor-unprotected=advice")
    status, output = against(BAD)
    assert status == 1 and "1 graver" in output
    assert "was recorded as advice: W2" in output


def test_milder_does_not() -> None:
    recorded(BAD)
    assert against(BAD, "--severity", "conductor-unprotected=advice")[0] == 0


def test_the_same_rule_in_other_words_is_new_and_says_what_was_known() -> None:
    """A guard that was too large is one thing, no guard at all another, though rule and element are the same."""
    recorded(BAD)
    bare = BAD.replace("fuse F1, class T, 150 A, 125 V, lets through 60 kA2s at 20 kA\n", "switch F1, 300 A\n")
    bare = "".join(line for line in bare.splitlines(True) if not line.startswith("  opens"))
    status, output = against(bare)
    assert status == 1
    assert "conductor-unprotected at W2 was recorded as W2, 2.5 mm², is allowed a guard of 35 A, but 150 A" in output


def test_other_figures_are_known_and_are_said() -> None:
    recorded(BAD)
    status, output = against(BAD.replace("draws 40 A", "draws 39 A"))
    assert status == 0 and "when recorded: W2, 2.5 mm², has a capacity of 35 A (iso-13297) and carries 40 A" in output


def test_what_is_gone_is_said_with_how_to_record_again() -> None:
    recorded(BAD)
    status, output = against(GOOD)
    assert status == 0 and "2 gone" in output
    assert "gone: conductor-unprotected at W2: W2, 2.5 mm²" in output
    assert f"wireworthy check x.boat --record {RECORD}" in output
    recorded(GOOD)
    assert "gone:" not in against(GOOD)[1]


def test_a_design_that_is_not_there_any_more_is_said() -> None:
    check(BAD, name="old.boat")
    check(GOOD)
    assert checked(".", "--record", RECORD).exit_code == 0
    assert "no such file" not in against(GOOD)[1]
    Path("old.boat").unlink()
    status, output = against(GOOD)
    assert status == 0 and "old.boat is in the record, and there is no such file" in output and "--record" in output


def test_a_rule_that_did_not_run_has_nothing_gone() -> None:
    recorded(BAD)
    assert "0 gone" in against(GOOD, "--only", "not-fed")[1]


def test_an_acceptance_that_is_taken_out_fails_and_one_that_comes_does_not() -> None:
    recorded(ACCEPTED)
    status, output = against(BAD)
    assert status == 1 and "was recorded as accepted: W2" in output
    recorded(BAD)
    status, output = against(ACCEPTED)
    assert status == 0
    assert "known accepted danger" in output and "isolated till then (J. Holm, until 2027-04-01)" in output


def test_acceptances_that_are_not_in_order_are_never_recorded() -> None:
    expired = BAD + ACCEPT.replace("2027-04-01", "2026-11-24")
    result = check(expired, "--record", RECORD)
    assert "not recorded and go on failing" in result.stderr
    assert "acceptance" not in Path(RECORD).read_text(encoding="utf-8")
    status, output = against(expired)
    assert status == 1 and "[acceptance-expired]" in output


def test_incomplete_stays_incomplete() -> None:
    result = check(LOST, "--record", RECORD)
    assert result.exit_code == 3 and "not written" in result.stderr and not Path(RECORD).exists()
    recorded(BAD)
    before = Path(RECORD).read_bytes()
    status, output = against(LOST)
    assert status == 3 and "0 gone" in output
    assert check(LOST, "--record", RECORD).exit_code == 3 and Path(RECORD).read_bytes() == before


def test_designs_are_known_by_their_place_beside_the_record(yard: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    check(BAD, name="boats/a.boat")
    check(BAD, name="boats/b.boat")
    assert checked("boats/a.boat", "--record", "boats/known.json").exit_code == 0
    assert list(json.loads(Path("boats/known.json").read_text(encoding="utf-8"))["designs"]) == ["a.boat"]
    assert checked("boats", "--against", "boats/known.json").exit_code == 1
    monkeypatch.chdir(yard / "boats")
    assert checked("../boats/a.boat", "--against", "known.json").exit_code == 0
    assert checked("b.boat", "--against", "known.json").exit_code == 1


def test_in_json_each_finding_has_its_state() -> None:
    recorded(BAD)
    status, output = against(BAD.replace("40 A", "30 A") + UNFED, "--format", "json")
    design = json.loads(output)["designs"][0]
    assert status == 1
    assert {f["rule"]: f["state"] for f in design["findings"]} == {"conductor-unprotected": "known", "not-fed": "new"}
    assert len(design["gone"]) == 1 and design["gone"][0].startswith("conductor-overloaded at W2")


@pytest.mark.parametrize(
    ("content", "said"),
    [
        (b"", "line 1, column 1: is not JSON"),
        (b'{"format": "wireworthy record",\n "version" 1}', "line 2, column 12: is not JSON"),
        (b"[]", "is no record"), (b"null", "is no record"), (b'{"format": "wireworthy findings"}', "is no record"),
        (b'{"format": "wireworthy record", "version": 2}', "has version 2"),
        (b'{"format": "wireworthy record", "version": 1}', '"designs" is missing'),
        (b'{"format": "wireworthy record", "version": 1, "designs": []}', '"designs" is missing'),
        (b'{"format": "wireworthy record", "version": 1, "designs": {"x.boat": {}}}', "x.boat: is no list"),
        (b'{"format": "wireworthy record", "version": 1, "designs": {"x.boat": [1]}}', "entry 1: is no finding"),
        (b'{"format": "wireworthy record", "version": 1, "designs": {"x.boat": [{"rule": 1}]}}', '"rule" is missing'),
        (b'{"format": "wireworthy record", "version": 1, "designs": {"x.boat": [{"rule": "a", "element": "b", '
         b'"severity": "grim", "accepted": false, "fingerprint": "c"}]}}', '"severity" is none of'),
        (b'{"format": "wireworthy record", "version": 1, "designs": {"x.boat": [{"rule": "a", "element": "b", '
         b'"severity": "fault", "accepted": 0, "fingerprint": "c"}]}}', '"accepted" is neither'),
        (b"\xff\xfe\x00", "is not UTF-8"), (b"[" * 100_000, "is not JSON"), (b"9" * 5000, "is not JSON"),
        ("{\"format\": \"\x1b[31m\u202e\"}".encode(), "is no"),
    ],
)  # fmt: skip
def test_a_bad_record_is_refused_clearly(content: bytes, said: str) -> None:
    Path(RECORD).write_bytes(content)
    result = check(GOOD, "--against", RECORD)
    assert result.exit_code == 2 and result.stdout == ""
    assert result.stderr.startswith(f"wireworthy: {RECORD}: ") and said in result.stderr
    assert "Traceback" not in result.stderr and "\x1b" not in result.stderr
    # nor is it written over: it may be something else
    again = check(GOOD, "--record", RECORD)
    assert again.exit_code == 2 and Path(RECORD).read_bytes() == content


def test_a_record_that_is_no_file_is_refused() -> None:
    assert "no such file" in check(GOOD, "--against", "nowhere.json").stderr
    Path("folder").mkdir()
    os.mkfifo("pipe")
    for name in ("folder", "pipe", "\0"):
        assert check(GOOD, "--against", name).exit_code == 2
    assert check(GOOD, "--record", "folder").exit_code == 2
    assert check(GOOD, "--record", "nowhere/known.json").exit_code == 2
    with open("large.json", "wb") as file:
        file.truncate(GREATEST_BYTES + 1)
    assert "is larger than" in check(GOOD, "--against", "large.json").stderr


def test_a_design_is_not_written_over() -> None:
    result = check(BAD, "--record", "x.boat")
    assert result.exit_code == 2 and "name another file" in result.stderr
    assert Path("x.boat").read_text(encoding="utf-8") == BAD


def test_it_is_written_whole_or_not_at_all(monkeypatch: pytest.MonkeyPatch) -> None:
    recorded(GOOD)
    before = Path(RECORD).read_bytes()

    def broken(*_: object) -> None:
        raise OSError(28, "No space left on device")

    monkeypatch.setattr(os, "replace", broken)
    result = check(BAD, "--record", RECORD)
    assert result.exit_code == 2 and "No space left" in result.stderr
    assert Path(RECORD).read_bytes() == before and sorted(os.listdir(".")) == [RECORD, "x.boat"]


def test_it_may_be_read_by_others() -> None:
    recorded(GOOD)
    mask = os.umask(0)
    os.umask(mask)
    assert stat.S_IMODE(Path(RECORD).stat().st_mode) == 0o666 & ~mask


def test_options_that_exclude_one_another() -> None:
    recorded(BAD)
    for options in (("--record", RECORD, "--against", RECORD), ("--since", "main", "--against", RECORD)):
        result = check(BAD, *options)
        assert result.exit_code == 2 and "one of them at a time" in result.stderr


@pytest.mark.parametrize("label", HOSTILE.values(), ids=HOSTILE.keys())
def test_hostile_labels(label: str) -> None:
    text = hostile(label)
    if check(text).exit_code == 3:
        text = hostile("calm").replace("calm", "".join(c for c in label if c.isprintable() and c != '"'))
    result = check(text, "--record", RECORD)
    assert result.exit_code == 0, result.output
    raw = Path(RECORD).read_text(encoding="utf-8")
    assert all(c.isprintable() for c in raw.replace("\n", "")) and len(raw) < 100_000
    status, output = against(text)
    # the line's end and what rich text may hold
    assert status == 0 and "0 new, 0 graver" in output
    assert not {c for c in output if not c.isprintable()} - {
        "\n",
        "\xad",
        "\u061c",
        "\u180e",
        "\ufffe",
        "\uffff",
        "\U000e0041",
    }
