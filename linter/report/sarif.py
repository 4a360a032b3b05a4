"""Findings as SARIF 2.1.0 (OASIS Standard of 27 March 2020), which forges and editors read.

Regions are counted in code points, ends exclusive.  Files are named from the folder in which `check` was started.
"""

from __future__ import annotations

import re
from collections.abc import Sequence
from typing import Any

from linter import __version__
from linter.report.caution import CAUTION, EXAMINED
from linter.report.identity import fingerprint, identities
from linter.report.places import shown, uri
from linter.report.standing import Standing, State
from linter.rules.engine import Examination
from linter.rules.finding import Finding, Severity
from linter.rules.registry import Rule
from linter.source.span import Mistake, Span

SCHEMA = "https://docs.oasis-open.org/sarif/sarif/v2.1.0/os/schemas/sarif-schema-2.1.0.json"

LEVELS = {Severity.DANGER: "error", Severity.FAULT: "error", Severity.DOUBT: "warning", Severity.ADVICE: "note"}
BASELINE = {State.NEW: "new", State.GRAVER: "updated", State.KNOWN: "unchanged"}

#: How `check` ends where something kept it from knowing all, be it in the revision with which it compares.
INCOMPLETE = 3

#: The base of relative addresses; where it lies on this machine concerns nobody.
BASE = "FOLDER"

_LINK = re.compile(r"\[(?=[^\[\]]*\]\()")

NOTIFICATIONS = {
    "not-understood": "A part of the text could not be read or has no meaning.",
    "remark": "Something in the text that changes no verdict.",
    "rule-broke": "A rule failed while it ran; what it would have found is not known.",
    "rule-stayed-quiet": "A rule needs the whole design, and a part of it could not be read.",
}


def sarif(standings: Sequence[Standing], ran: Sequence[Rule], status: int, compared: bool = False) -> dict[str, Any]:
    """One log with one run over all designs.  ``ran``: the rules that were chosen; ``status``: how `check` ends."""
    from linter.rules.acceptance_pages import PAGES

    pages = [*ran, *PAGES]
    index = {rule.name: n for n, rule in enumerate(pages)}
    results = [s.result for s in standings]
    run = {
        "tool": {
            "driver": {
                "name": "wireworthy",
                "version": __version__,
                "fullDescription": _message(f"{EXAMINED} {CAUTION}"),
                "rules": [_rule(page) for page in pages],
                "notifications": [
                    {"id": name, "shortDescription": _message(w), "fullDescription": _message(w), "help": _message(w)}
                    for name, w in NOTIFICATIONS.items()
                ],
            }
        },
        "columnKind": "unicodeCodePoints",
        "originalUriBaseIds": {BASE: {"description": _message("the folder in which the check was started")}},
        "invocations": [
            {
                "executionSuccessful": status != INCOMPLETE and all(r.complete for r in results),
                "exitCode": status,
                "toolExecutionNotifications": [n for r in results for n in _notifications(r, index)],
            }
        ],
        "artifacts": [{"location": _file(r.design.path), "roles": ["analysisTarget"]} for r in results],
        "results": [found for s in standings for found in _results(s, index, compared)],
    }
    return {"$schema": SCHEMA, "version": "2.1.0", "runs": [run]}


def _message(text: str) -> dict[str, Any]:
    return {"text": _plain(text)}


def _plain(text: str) -> str:
    """A message string (3.11): braces doubled, since they would stand for an argument; no embedded links."""
    return _LINK.sub(r"\\[", shown(text).replace("{", "{{").replace("}", "}}"))


def _rule(rule: Rule) -> dict[str, Any]:
    clause = f"{rule.clause} ({rule.status})"
    return {
        "id": rule.name,
        "shortDescription": _message(rule.demand),
        "fullDescription": _message(rule.reason),
        "help": {
            "text": _plain(f"{rule.demand} Why: {rule.reason} Mend: {rule.mend} Clause: {clause}."),
            "markdown": f"{rule.demand}\n\n**Why:** {rule.reason}\n\n**Mend:** {rule.mend}\n\n**Clause:** {clause}\n\n"
            f"Wrong:\n\n```\n{rule.bad}\n```\n\nRight:\n\n```\n{rule.good}\n```\n\n{CAUTION}\n",
        },
        "defaultConfiguration": {"level": LEVELS[rule.severity]},
        "properties": {"severity": rule.severity.value, "clause": rule.clause, "status": rule.status},
    }


def _file(path: str) -> dict[str, Any]:
    if path == "-":
        return {"uri": "-", "description": _message("standard input")}
    address, is_relative = uri(path)
    return {"uri": address, "uriBaseId": BASE} if is_relative else {"uri": address}


def _place(span: Span) -> dict[str, Any]:
    line, column = span.text.position(span.start)
    end_line, end_column = span.text.position(max(span.end, span.start))
    region = {"startLine": line, "startColumn": column, "endLine": end_line, "endColumn": end_column}
    return {"physicalLocation": {"artifactLocation": _file(span.path), "region": region}}


def _location(span: Span) -> list[dict[str, Any]]:
    return [_place(span)] if span.path else []


def _results(standing: Standing, index: dict[str, int], compared: bool) -> list[dict[str, Any]]:
    result, found = standing.result, []
    for (finding, state), (rule, subject, what, ordinal) in zip(standing.pairs(), identities(result), strict=True):
        print_ = fingerprint(result.design.boat, rule, subject, what)
        one = _result(finding, index, result.design.boat)
        # the second is the only one that some forges look at; it has the form that they expect
        one["partialFingerprints"] = {
            "ruleElementWhat/v1": fingerprint(print_, ordinal),
            "primaryLocationLineHash": f"{print_[:16]}:{ordinal + 1}",
        }
        if compared:
            one["baselineState"] = BASELINE[state]
        found.append(one)
    return found


def _result(finding: Finding, index: dict[str, int], boat: str) -> dict[str, Any]:
    words = f"{finding.severity.value}: {finding.message}"
    if finding.mend:
        words += f"; mend: {finding.mend}"
    place = _location(finding.span)
    if place:
        place[0]["logicalLocations"] = [
            {
                "name": shown(finding.subject),
                "fullyQualifiedName": shown(f"{boat}/{finding.subject}"),
                "kind": "element",
            }
        ]
    one: dict[str, Any] = {
        "ruleId": finding.rule,
        "ruleIndex": index.get(finding.rule, -1),
        "level": LEVELS[finding.severity],
        "message": _message(words),
        "locations": place,
        "properties": {
            "severity": finding.severity.value, "element": shown(finding.subject), "mend": shown(finding.mend),
            "clause": shown(finding.clause), "status": finding.status, "guard": [shown(g) for g in finding.guard],
        },
    }  # fmt: skip
    related = [
        {"id": n, **_place(span), "message": _message(what)}
        for n, (span, what) in enumerate(finding.related, 1)
        if span.path
    ]
    if related:
        one["relatedLocations"] = related
    if finding.accepted:
        one["suppressions"] = [{"kind": "inSource", "status": "accepted", "justification": shown(finding.accepted)}]
    return one


def _notifications(result: Examination, index: dict[str, int]) -> list[dict[str, Any]]:
    found = [_mistake(m) for m in result.mistakes]
    design = [{"physicalLocation": {"artifactLocation": _file(result.design.path)}}]
    for name, problem in result.broken:
        found.append(
            {
                "descriptor": {"id": "rule-broke"}, "level": "error", "locations": design,
                "associatedRule": {"id": name, "index": index[name]} if name in index else {"id": name},
                "message": _message(f"rule {name} broke: {problem}"),
            }
        )  # fmt: skip
    if result.quiet:
        words = f"rules that need the whole design stayed quiet: {', '.join(result.quiet)}"
        found.append(
            {
                "descriptor": {"id": "rule-stayed-quiet"}, "level": "error", "locations": design,
                "message": _message(words),
            }
        )  # fmt: skip
    return found


def _mistake(mistake: Mistake) -> dict[str, Any]:
    words = mistake.message + (f"; mend: {mistake.mend}" if mistake.mend else "")
    return {
        "descriptor": {"id": "not-understood" if mistake.loses else "remark"},
        "level": "error" if mistake.loses else "note",
        "message": _message(words),
        "locations": _location(mistake.span),
    }
