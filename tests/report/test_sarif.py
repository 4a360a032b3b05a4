"""`check --format sarif` against the published schema, against a reader that was not written here, and by what it says.

The schema and where it is from: schemas/README.md.  What no schema can say is quoted from the OASIS Standard SARIF
Version 2.1.0 (27 March 2020), from memory, by its section.
"""

from __future__ import annotations

import json
from pathlib import Path
from typing import Any
from urllib.parse import unquote, urlsplit

import pytest
from jsonschema import Draft4Validator, FormatChecker
from sarif_pydantic import Sarif

from linter.model.build import build
from linter.report.places import LONGEST
from linter.report.sarif import sarif
from linter.report.standing import Standing
from linter.rules.engine import examine
from linter.rules.registry import pages, rules
from linter.source.files import Reader
from tests.report.conftest import ACCEPTED, BAD, GOOD, HOSTILE, LOST, check, checked, hostile

SCHEMA = json.loads((Path(__file__).parent / "schemas" / "sarif-2.1.0-rtm.5.json").read_text(encoding="utf-8"))
LAUNCH = "tests/broken/launch-as-found.boat"

pytestmark = pytest.mark.usefixtures("yard")


def valid(text: str) -> dict[str, Any]:
    """The run, after the schema and a foreign reader have taken the log."""
    log = json.loads(text)
    problems = list(Draft4Validator(SCHEMA, format_checker=FormatChecker()).iter_errors(log))
    assert problems == [], [(list(p.absolute_path), p.message[:200]) for p in problems[:5]]
    read = Sarif.model_validate(log)
    (run,) = log["runs"]
    assert [r.rule_id for r in read.runs[0].results or []] == [r["ruleId"] for r in run["results"]]
    return run  # type: ignore[no-any-return]


def run(text: str, *options: str) -> dict[str, Any]:
    return valid(check(text, "--format", "sarif", *options).stdout)


def prints(made: dict[str, Any]) -> list[str]:
    return [r["partialFingerprints"]["ruleElementWhat/v1"] for r in made["results"]]


def test_the_schema_refuses_what_is_no_log() -> None:
    log = json.loads(check(BAD, "--format", "sarif").stdout)
    log["runs"][0]["results"][0]["locations"][0]["physicalLocation"]["region"]["startLine"] = 0
    log["runs"][0]["results"][0]["severity"] = "danger"
    assert len(list(Draft4Validator(SCHEMA).iter_errors(log))) == 2


def test_the_launch_as_found(request: pytest.FixtureRequest, monkeypatch: pytest.MonkeyPatch) -> None:
    """All that `check` finds there, at the same places."""
    monkeypatch.chdir(request.config.rootpath)
    made = valid(checked(LAUNCH, "--format", "sarif").stdout)
    plain = json.loads(checked(LAUNCH, "--format", "json").stdout)["designs"][0]["findings"]
    assert len(made["results"]) == len(plain) > 20
    for result, finding in zip(made["results"], plain, strict=True):
        place = result["locations"][0]["physicalLocation"]
        at, region = finding["at"], place["region"]
        assert unquote(place["artifactLocation"]["uri"]) == at["path"] == LAUNCH
        assert [region[k] for k in ("startLine", "startColumn", "endLine", "endColumn")] == [
            at["line"], at["column"], at["end_line"], at["end_column"],
        ]  # fmt: skip
        assert result["ruleId"] == finding["rule"] == made["tool"]["driver"]["rules"][result["ruleIndex"]]["id"]
        assert result["properties"]["severity"] == finding["severity"]
        related = result.get("relatedLocations", [])
        assert [r["message"]["text"] for r in related] == [r["what"] for r in finding["related"]]
        assert [r["physicalLocation"]["region"]["startLine"] for r in related] == [
            r["at"]["line"] for r in finding["related"]
        ]
        assert finding["message"] in result["message"]["text"] and finding["mend"] in result["message"]["text"]
    assert len(set(prints(made))) == len(made["results"])
    assert made["invocations"][0]["executionSuccessful"] is True and made["invocations"][0]["exitCode"] == 1


def test_every_rule_has_its_help() -> None:
    described = {r["id"]: r for r in run(GOOD)["tool"]["driver"]["rules"]}
    assert set(described) == {p.name for p in pages()}
    for page in pages():
        one = described[page.name]
        assert one["shortDescription"]["text"] == page.demand
        for words in (page.demand, page.reason, page.mend, page.clause, page.status):
            assert words in one["help"]["text"].replace("{{", "{").replace("}}", "}"), page.name
            assert words in one["help"]["markdown"]
        assert page.bad in one["help"]["markdown"] and page.good in one["help"]["markdown"]


@pytest.mark.parametrize(
    ("severity", "level"), [("danger", "error"), ("fault", "error"), ("doubt", "warning"), ("advice", "note")]
)
def test_levels(severity: str, level: str) -> None:
    made = run(BAD, "--only", "conductor-unprotected", "--severity", f"conductor-unprotected={severity}")
    assert [r["level"] for r in made["results"]] == [level]
    assert made["tool"]["driver"]["rules"][0]["id"] == "conductor-unprotected"


def test_columns_are_code_points() -> None:
    """3.14.17 columnKind; the boat before the finding is one code point, and two UTF-16 code units."""
    text = GOOD + 'battery S2 "\U0001f6e5\U0001f6e5", 12 V, 50 Ah\n'
    made = run(text)
    assert made["columnKind"] == "unicodeCodePoints"
    (doubt,) = [r for r in made["results"] if r["ruleId"] == "source-resistance"]
    region = doubt["locations"][0]["physicalLocation"]["region"]
    line = text.splitlines()[region["startLine"] - 1]
    assert line[region["startColumn"] - 1 : region["endColumn"] - 1] == "12 V"
    assert line.encode("utf-16-le").index("12 V".encode("utf-16-le")) // 2 + 1 == region["startColumn"] + 2


def test_fingerprints_survive_moved_lines_and_other_figures() -> None:
    before = run(BAD)
    moved = BAD.replace("cable W1", "# a remark\n" * 40 + "\n  \ncable   W1")
    after = run(moved)
    assert prints(before) == prints(after) and len(before["results"]) == 2
    lines = [
        [r["locations"][0]["physicalLocation"]["region"]["startLine"] for r in m["results"]] for m in (before, after)
    ]
    assert lines[0] != lines[1]
    assert prints(
        run(BAD.replace("150 A, 125", "175 A, 125").replace("cable W2,", 'cable W2 "To the heater",'))
    ) == prints(before)
    assert not set(prints(run(BAD.replace("W2", "W9")))) & set(prints(before))


def test_of_two_that_are_alike_each_has_its_own() -> None:
    result = examine(build(Reader().design_text(BAD)))
    once = [prints(sarif([Standing(result)], rules(), 1)["runs"][0])]
    result.findings += list(result.findings)
    twice = prints(sarif([Standing(result)], rules(), 1)["runs"][0])
    assert len(set(twice)) == 4 and twice[:2] == once[0]


def test_an_accepted_finding_is_suppressed_with_its_reason() -> None:
    """3.35: inSource, accepted, with a justification."""
    results = run(ACCEPTED)["results"]
    assert {r["properties"]["severity"] for r in results} == {"danger"}
    assert [r.get("suppressions") for r in results] == [
        [{"kind": "inSource", "status": "accepted",
          "justification": "rewired in spring; isolated till then (J. Holm, until 2027-04-01)"}],
        None,
    ]  # fmt: skip


def test_an_incomplete_run_is_not_called_successful() -> None:
    """3.20.14 executionSuccessful; 3.20.21 toolExecutionNotifications."""
    result = check(LOST, "--format", "sarif")
    (invocation,) = valid(result.stdout)["invocations"]
    assert result.exit_code == invocation["exitCode"] == 3 and invocation["executionSuccessful"] is False
    notes = invocation["toolExecutionNotifications"]
    assert [(n["descriptor"]["id"], n["level"]) for n in notes] == [
        ("not-understood", "error"),
        ("rule-stayed-quiet", "error"),
    ]
    assert notes[0]["locations"][0]["physicalLocation"]["region"]["startLine"] == LOST.count("\n")
    assert "conductor-unprotected" in notes[1]["message"]["text"]


def test_a_rule_that_breaks_is_a_notification() -> None:
    result = examine(build(Reader().design_text(BAD)))
    result.broken.append(("not-fed", "ZeroDivisionError: {0}"))
    made = valid(json.dumps(sarif([Standing(result)], rules(), 3)))
    (note,) = made["invocations"][0]["toolExecutionNotifications"]
    assert (
        note["associatedRule"]["id"]
        == "not-fed"
        == made["tool"]["driver"]["rules"][note["associatedRule"]["index"]]["id"]
    )
    assert note["message"]["text"].endswith("ZeroDivisionError: {{0}}")


@pytest.mark.parametrize("name", ["a b/ä#1%25?.boat", "c:d.boat", "-x/+&=;@.boat", "[y]{z}^`|.boat"])
def test_addresses_are_relative_and_percent_encoded(name: str) -> None:
    """RFC 3986: read by the standard library they lead back to the file."""
    made = valid(check(BAD, "--format", "sarif", name=f"./{name}").stdout)
    place = made["results"][0]["locations"][0]["physicalLocation"]["artifactLocation"]
    parts = urlsplit(place["uri"])
    assert (parts.scheme, parts.netloc, parts.query, parts.fragment) == ("", "", "", "")
    assert unquote(parts.path) == name and place["uri"].isascii() and " " not in place["uri"]
    assert place["uriBaseId"] in made["originalUriBaseIds"]
    assert str(Path.cwd()) not in json.dumps(made)


def test_a_file_outside_the_folder_has_its_full_address(yard: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    (yard / "in").mkdir()
    check(BAD)
    monkeypatch.chdir(yard / "in")
    made = valid(checked("../x.boat", "--format", "sarif").stdout)
    place = made["results"][0]["locations"][0]["physicalLocation"]["artifactLocation"]
    assert place == {"uri": (yard / "x.boat").as_uri()}
    absolute = valid(checked(str(yard / "in" / ".." / "x.boat"), "--format", "sarif").stdout)
    assert absolute["results"][0]["locations"][0]["physicalLocation"]["artifactLocation"] == place


def test_several_designs_and_what_they_use_in_one_run() -> None:
    Path("parts").mkdir()
    Path("parts/p.boat").write_text("part tea, load\n  draws 3 A\n", encoding="utf-8")
    check(BAD, name="a.boat")
    check(GOOD, name="b.boat")
    made = valid(checked(".", "--format", "sarif").stdout)
    assert [a["location"]["uri"] for a in made["artifacts"]] == ["a.boat", "b.boat"]
    assert {r["locations"][0]["physicalLocation"]["artifactLocation"]["uri"] for r in made["results"]} == {"a.boat"}


@pytest.mark.parametrize("label", HOSTILE.values(), ids=HOSTILE.keys())
def test_hostile_labels(label: str) -> None:
    result = check(hostile(label), "--format", "sarif")
    assert result.exit_code in {1, 3}
    made = valid(result.stdout)
    notes = made["invocations"][0]["toolExecutionNotifications"]
    assert made["results"] or notes
    for text in [r["message"]["text"] for r in [*made["results"], *notes]]:
        assert len(text) < 2 * LONGEST + 100
        assert all(c.isprintable() for c in text), [c for c in text if not c.isprintable()][:5]
        # 3.11.5: a brace by itself would stand for an argument; 3.11.6: a bracket before (…) would be a link
        assert "{" not in text.replace("{{", "") and "}" not in text.replace("}}", "")
        assert "[a](" not in text.replace("\\[a](", "") and "[c](" not in text.replace("\\[c](", "")
    for result_ in made["results"]:
        for suppression in result_.get("suppressions", []):
            assert all(c.isprintable() for c in suppression["justification"])


def test_against_a_record_each_has_its_baseline_state() -> None:
    """3.27.24 baselineState."""
    check(ACCEPTED, "--record", "known.json")
    both = check(BAD + "load LOST, draws 1 A\n", "--against", "known.json", "--format", "sarif")
    made = valid(both.stdout)
    states = {(r["ruleId"], r["baselineState"]) for r in made["results"]}
    assert states >= {("conductor-unprotected", "updated"), ("conductor-overloaded", "unchanged"), ("not-fed", "new")}
    assert both.exit_code == 1 == made["invocations"][0]["exitCode"]


def test_to_a_file_with_the_text_here() -> None:
    result = check(BAD, "--format", "sarif", "-o", "out.sarif")
    assert result.exit_code == 1 and "danger: W2" in result.stdout
    assert len(valid(Path("out.sarif").read_text(encoding="utf-8"))["results"]) == 2
