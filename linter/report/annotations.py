"""Findings as notes at the lines of a change: as workflow commands in a log, and as a code quality report.

`annotations`: lines `::error file=…,line=…,col=…,title=…::message`, which forges with workflow commands put beside the
text.  `code-quality`: a JSON list of issues, which forges that take it as a report show in a change.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from typing import Any

from linter.report.identity import fingerprint, identities
from linter.report.places import relative, shown
from linter.report.standing import Standing, State
from linter.rules.engine import Examination
from linter.rules.finding import Finding, Severity
from linter.source.span import Mistake, Span

COMMANDS = {Severity.DANGER: "error", Severity.FAULT: "error", Severity.DOUBT: "warning", Severity.ADVICE: "notice"}
WEIGHTS = {Severity.DANGER: "blocker", Severity.FAULT: "critical", Severity.DOUBT: "minor", Severity.ADVICE: "info"}


def command_lines(standings: Sequence[Standing]) -> Iterator[str]:
    """One line each; the gravest first, since forges show only so many.  Nothing from a design begins a line."""
    results = [s.result for s in standings]
    for result in results:
        for mistake in result.mistakes:
            yield _mistake(mistake)
        for name, problem in result.broken:
            yield _command("error", _at(result.design.path), "rule broke", f"rule {name} broke: {problem}")
        if result.quiet:
            words = f"{len(result.quiet)} rules that need the whole design stayed quiet; mend the errors first"
            yield _command("error", _at(result.design.path), "incomplete", words)
    found = [pair for s in standings for pair in s.pairs()]
    found.sort(key=lambda p: (bool(p[0].accepted), p[1] is State.KNOWN, p[0].severity.rank))
    for finding, state in found:
        yield _finding(finding, state)
    open_ = sum(not f.accepted and s is not State.KNOWN for f, s in found)
    accepted = sum(bool(f.accepted) for f, _ in found)
    yield (
        f"wireworthy: {len(results)} design{'s' * (len(results) != 1)}, {open_} finding{'s' * (open_ != 1)}, "
        f"{accepted} accepted, {len(found) - open_ - accepted} known"
        + ("" if all(r.complete for r in results) else "; incomplete")
    )


def _finding(finding: Finding, state: State) -> str:
    word, command = finding.severity.value, COMMANDS[finding.severity]
    lines = [finding.message]
    if finding.accepted:
        word, command = f"accepted {word}", "notice"
        lines.append(f"accepted: {finding.accepted}")
    elif state is State.KNOWN:
        word = f"known {word}"
        command = "warning" if finding.severity is Severity.DANGER else "notice"
    lines += [f"mend: {finding.mend}"] if finding.mend else []
    lines += [f"clause: {finding.clause} ({finding.status})"] if finding.clause else []
    lines += [f"{span}: {what}" for span, what in finding.related]
    return _command(command, _region(finding.span), f"{word} [{finding.rule}]", *lines)


def _mistake(mistake: Mistake) -> str:
    command, title = ("error", "error in the text") if mistake.loses else ("notice", "remark")
    lines = [mistake.message, *([f"mend: {mistake.mend}"] if mistake.mend else [])]
    return _command(command, _region(mistake.span), title, *lines)


def _at(path: str) -> dict[str, str]:
    return {"file": shown(relative(path) or path)} if path not in {"", "-"} else {}


def _region(span: Span) -> dict[str, str]:
    """Columns are for one line only."""
    at = _at(span.path)
    if not at:
        return {}
    (line, column), (end_line, end_column) = span.text.position(span.start), span.text.position(span.end)
    at |= {"line": str(line), "endLine": str(end_line)}
    return at | ({"col": str(column), "endColumn": str(end_column)} if line == end_line else {})


def _command(command: str, at: dict[str, str], title: str, *lines: str) -> str:
    properties = ",".join(f"{key}={_property(value)}" for key, value in (at | {"title": title}).items())
    return f"::{command} {properties}::{'%0A'.join(_data(line) for line in lines)}"


def _data(text: str) -> str:
    return shown(text).replace("%", "%25").replace("\r", "%0D").replace("\n", "%0A")


def _property(text: str) -> str:
    return _data(text).replace(":", "%3A").replace(",", "%2C")


def code_quality(standings: Sequence[Standing]) -> list[dict[str, Any]]:
    """One issue a finding, and one for each thing that kept us from finding more."""
    found = []
    for standing in standings:
        result = standing.result
        path = _path(result.design.path)
        found += _incomplete(result, path)
        for (finding, state), key in zip(standing.pairs(), identities(result), strict=True):
            words = f"{finding.severity.value}: {finding.message}"
            weight = WEIGHTS[finding.severity]
            if finding.accepted:
                words, weight = f"accepted {words} (accepted: {finding.accepted})", "info"
            elif state is State.KNOWN:
                words = f"known {words}"
            words += f"; mend: {finding.mend}" if finding.mend else ""
            found.append(_issue(words, finding.rule, fingerprint(path, *key), weight, finding.span, path))
    return found


def _incomplete(result: Examination, path: str) -> list[dict[str, Any]]:
    found = []
    for number, mistake in enumerate(m for m in result.mistakes if m.loses):
        words = f"error in the text: {mistake.message}" + (f"; mend: {mistake.mend}" if mistake.mend else "")
        key = fingerprint(path, "not-understood", mistake.message, number)
        found.append(_issue(words, "not-understood", key, "blocker", mistake.span, path))
    for name, problem in result.broken:
        words = f"rule {name} broke: {problem}"
        found.append(_issue(words, "rule-broke", fingerprint(path, "rule-broke", name), "blocker", None, path))
    if result.quiet:
        words = f"rules that need the whole design stayed quiet: {', '.join(result.quiet)}"
        found.append(_issue(words, "rule-stayed-quiet", fingerprint(path, "quiet"), "blocker", None, path))
    return found


def _path(path: str) -> str:
    return relative(path) or path if path != "-" else "-"


def _issue(words: str, name: str, key: str, weight: str, span: Span | None, path: str) -> dict[str, Any]:
    begins, ends = (1, 1) if span is None else (span.line, span.text.position(span.end)[0])
    where = _path(span.path) if span is not None and span.path else path
    return {
        "description": shown(words),
        "check_name": name,
        "fingerprint": key,
        "severity": weight,
        "location": {"path": shown(where), "lines": {"begin": begins, "end": ends}},
    }
