"""`check --format junit` against the schema of a widespread CI server, read by a library that was not written here."""

from __future__ import annotations

import xml.etree.ElementTree as ET
from pathlib import Path

import pytest
import xmlschema
from junitparser import Error, Failure, JUnitXml, Skipped, TestCase, TestSuite

from linter.model.build import build
from linter.report.junit import junit
from linter.report.standing import Standing
from linter.rules.engine import examine
from linter.rules.registry import pages, rules
from linter.source.files import Reader
from tests.report.conftest import ACCEPTED, ADVICE, BAD, GOOD, HOSTILE, LOST, check, checked, hostile

SCHEMA = xmlschema.XMLSchema(Path(__file__).parent / "schemas" / "junit-10.xsd")

pytestmark = pytest.mark.usefixtures("yard")


def valid(data: bytes) -> list[TestSuite]:
    """The suites, after the schema and a foreign reader have taken the file, the counts counted again."""
    text = data.decode("utf-8")
    root = ET.fromstring(text)
    assert [str(e)[:300] for e in SCHEMA.iter_errors(root)] == []
    suites = list(JUnitXml.fromstring(data))
    for suite in suites:
        cases = list(suite)
        kinds = [[type(r) for r in c.result] for c in cases]
        assert all(len(k) <= 1 for k in kinds)
        assert suite.tests == len(cases) == len({(c.classname, c.name) for c in cases})
        for kind, count in ((Failure, suite.failures), (Error, suite.errors), (Skipped, suite.skipped)):
            assert count == sum(k == [kind] for k in kinds)
    for key in ("tests", "failures", "errors"):
        assert int(root.get(key, "-1")) == sum(getattr(s, key) for s in suites)
    return suites


def run(text: str, *options: str, name: str = "x.boat") -> TestSuite:
    (suite,) = valid(check(text, "--format", "junit", *options, name=name).stdout_bytes)
    return suite


def cases(suite: TestSuite) -> dict[str, TestCase]:
    return {c.name: c for c in suite}


def test_the_schema_refuses_what_is_no_report() -> None:
    text = check(GOOD, "--format", "junit").stdout
    assert list(SCHEMA.iter_errors(ET.fromstring(text.replace("<testcase classname", "<testcase file=''  classname"))))
    assert list(SCHEMA.iter_errors(ET.fromstring(text.replace('tests="', 'test="'))))


def test_a_design_without_findings_is_a_case_a_rule_all_passed() -> None:
    suite = run(GOOD)
    assert set(cases(suite)) == {"text-read-in-full"} | {p.name for p in pages()}
    assert all(c.is_passed for c in suite)
    assert (suite.failures, suite.errors, suite.skipped) == (0, 0, 0)


def test_a_finding_is_a_case_of_its_own_with_all_that_is_said() -> None:
    suite = run(BAD)
    failed = {n: c for n, c in cases(suite).items() if c.is_failure}
    assert set(failed) == {"conductor-unprotected at W2", "conductor-overloaded at W2"}
    assert "conductor-unprotected" not in cases(suite)
    (why,) = failed["conductor-unprotected at W2"].result
    assert why.type == "danger" and "150 A can persist" in why.message
    for words in ("x.boat:9:7: danger: W2", "mend: at most 35 A for F1", "clause: ISO 13297", "x.boat:7:19: its guard"):
        assert words in why.text


def test_cases_keep_their_names_when_lines_move() -> None:
    moved = BAD.replace("cable W1", "# a remark\n" * 40 + "cable   W1")
    assert set(cases(run(BAD))) == set(cases(run(moved)))


def test_what_is_accepted_is_skipped_with_the_reason() -> None:
    suite = run(ACCEPTED)
    case = cases(suite)["conductor-unprotected at W2"]
    assert case.is_skipped and not case.is_failure
    (why,) = case.result
    assert "accepted danger" in why.message and "rewired in spring; isolated till then (J. Holm" in why.message


def test_what_fails_is_what_makes_check_fail() -> None:
    assert run(ADVICE).failures == 0 and check(ADVICE).exit_code == 0
    assert run(ADVICE, "--fail-on", "advice").failures == 1
    assert run(BAD, "--fail-on", "never").failures == 0
    passed = cases(run(BAD, "--fail-on", "never"))["conductor-unprotected at W2"]
    assert passed.is_passed and "danger: W2" in (passed.system_out or "")


def test_a_text_that_cannot_be_read_is_an_error_and_no_pass() -> None:
    result = check(LOST, "--format", "junit")
    assert result.exit_code == 3
    (suite,) = valid(result.stdout_bytes)
    case = cases(suite)["text-read-in-full"]
    assert case.is_error and "x.boat:11:1" in case.result[0].text
    quiet = cases(suite)["conductor-unprotected"]
    assert quiet.is_skipped and "could not be read in full" in quiet.result[0].message


def test_a_rule_that_breaks_is_an_error() -> None:
    result = examine(build(Reader().design_text(BAD)))
    result.broken.append(("not-fed", "ZeroDivisionError: \x00 \ud800"))
    (suite,) = valid(junit([Standing(result)], rules(), "never"))
    (why,) = cases(suite)["not-fed"].result
    assert isinstance(why, Error) and why.text == "ZeroDivisionError: [U+0000] [U+D800]"


def test_only_the_rules_that_ran_are_cases() -> None:
    found = set(cases(run(GOOD, "--only", "not-fed")))
    assert "not-fed" in found and "conductor-unprotected" not in found


def test_suites_are_named_after_their_files() -> None:
    check(BAD, name="boats/tern.2.boat")
    check(GOOD, name="boats/a.boat")
    suites = valid(checked("boats", "--format", "junit").stdout_bytes)
    assert [s.name for s in suites] == ["boats/a.boat", "boats/tern.2.boat"]
    assert {c.classname for c in suites[1]} == {"boats.tern_2"}


def test_what_a_record_knows_is_skipped() -> None:
    check(BAD, "--record", "known.json")
    suite = run(BAD + "load LOST, draws 1 A\n", "--against", "known.json")
    known = cases(suite)["conductor-unprotected at W2"]
    assert known.is_skipped and known.result[0].message.startswith("known danger: W2")
    assert [c.name for c in suite if c.is_failure] == ["not-fed at LOST"]


@pytest.mark.parametrize("label", HOSTILE.values(), ids=HOSTILE.keys())
def test_hostile_labels(label: str) -> None:
    """XML 1.0, 2.2: most controls may not stand in a document at all, not even as references."""
    result = check(hostile(label), "--format", "junit")
    assert result.exit_code in {1, 3}
    (suite,) = valid(result.stdout_bytes)
    assert suite.failures + suite.errors > 0
    assert len(result.stdout_bytes) < 100_000
    for element in ET.fromstring(result.stdout).iter():
        for text in (element.text or "", *element.attrib.values()):
            assert all(c.isprintable() for c in text.replace("\n", "")), ascii(text)[:200]
    assert {e.tag for e in ET.fromstring(result.stdout).iter()} <= {
        "testsuites", "testsuite", "properties", "property", "testcase", "failure", "error", "skipped", "system-out",
    }  # fmt: skip
