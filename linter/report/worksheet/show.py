"""Worksheets as text for a terminal, as Markdown, and as data."""

from __future__ import annotations

import json
import re
import textwrap
from collections.abc import Callable, Iterator
from typing import Any

from linter.report.caution import CAUTION
from linter.report.data import finding_json
from linter.report.markdown import inline
from linter.report.safe import for_terminal
from linter.report.worksheet.sheet import Fact, Found, Judgement, Line, Note, Sheet, Step, Sum, qty

WIDTH = 100
Paint = Callable[[str, str], str]


def _cited(cite: str) -> str:
    return f" [{cite}]" if cite else ""


def step_text(line: Step) -> str:
    return f"{line.what}: {line.expression} = {qty(line.value, line.unit).rstrip()}{_cited(line.cite)}"


def sum_rows(line: Sum) -> Iterator[str]:
    for row in line.rows:
        reckoned = f" = {row.expression}" if row.expression else ""
        sign = "−" if row.value < 0 else "+"
        yield f"{sign} {qty(abs(row.value), line.unit)}  {row.what}{reckoned}{_cited(row.cite)}"
    yield f"= {qty(line.value, line.unit)}"


def judgement_text(line: Judgement) -> str:
    value, limit = qty(line.value, line.unit), qty(line.limit, line.unit)
    said = "yes" if line.holds else f"NO{': ' + line.otherwise if line.otherwise else ''}"
    said = said if line.known else f"not known: {line.untold}"
    return f"{line.what}: {value} {line.sign} {limit} ({line.limit_what})? {said}{_cited(line.cite)}"


def line_text(line: Line) -> list[str]:
    """A line of a worksheet in words; a sum in several, a finding in up to four."""
    if isinstance(line, Fact):
        return [f"{line.what}: {line.value}{_cited(line.cite)}"]
    if isinstance(line, Step):
        return [step_text(line)]
    if isinstance(line, Sum):
        return [f"{line.what}:", *sum_rows(line)]
    if isinstance(line, Judgement):
        return [judgement_text(line)]
    if isinstance(line, Note):
        return [("? missing: " if line.missing else "") + line.text]
    return _finding(line)


def _finding(line: Found) -> list[str]:
    finding = line.finding
    word = f"accepted {finding.severity.value}" if finding.accepted else finding.severity.value
    said = [f"! {word}: {finding.message} [{finding.rule}]"]
    if finding.accepted:
        said.append(f"accepted: {finding.accepted}")
    elif finding.mend:
        said.append(f"mend: {finding.mend}")
    if finding.clause:
        said.append(f"clause: {finding.clause} ({finding.status})")
    return said


def _wrapped(text: str, first: str, then: str) -> list[str]:
    safe = for_terminal(text)
    if len(first) + len(safe) <= WIDTH:
        return [first + safe]
    return textwrap.wrap(
        safe, WIDTH, initial_indent=first, subsequent_indent=then, break_long_words=True, break_on_hyphens=False
    )  # fmt: skip


def as_text(sheet: Sheet) -> str:
    """Headings numbered; each line indented by two, what it goes on with by eight."""
    lines = _wrapped(f"{sheet.title}: worksheet", "", "  ")
    lines += _wrapped(
        f"{sheet.kind} of {sheet.boat}, judged by {', '.join(sheet.rulebooks) or 'no rulebook'}", "", "  "
    )
    if not sheet.complete:
        lines.append("INCOMPLETE: part of the design could not be read, or a rule broke.")
    for number, section in enumerate(sheet.sections, 1):
        lines += ["", *_wrapped(f"{number}. {section.title}", "", "   ")]
        for line in section.lines:
            first, *others = line_text(line)
            lines += _wrapped(first, "  ", "        ")
            for other in others:
                lines += _wrapped(other, "    ", "        ")
    lines += ["", *_wrapped(CAUTION, "", "")]
    return "".join(f"{line.rstrip()}\n" for line in lines)


def as_markdown(sheet: Sheet) -> str:
    lines = [f"# {inline(sheet.title)}: worksheet", ""]
    lines += [inline(f"{sheet.kind} of {sheet.boat}, judged by {', '.join(sheet.rulebooks) or 'no rulebook'}.")]
    if not sheet.complete:
        lines += ["", "**Incomplete: part of the design could not be read, or a rule broke.**"]
    for number, section in enumerate(sheet.sections, 1):
        lines += ["", f"## {number}. {inline(section.title)}", ""]
        for line in section.lines:
            first, *others = line_text(line)
            strong = isinstance(line, Found) or (isinstance(line, Judgement) and not (line.holds and line.known))
            lines.append(f"- **{inline(first)}**" if strong else f"- {inline(first)}")
            lines += [f"    - {inline(other)}" for other in others]
    lines += ["", inline(CAUTION)]
    return "".join(f"{line}\n" for line in lines)


def as_data(sheet: Sheet) -> dict[str, Any]:
    """``sections[].lines[]``: kind fact (what, value, clause), step (what, expression, value, unit, clause), sum (what,
    rows[] of value, what, expression, clause; value, unit), judgement (what, value, sign, limit, unit, limit_what,
    holds: null where a figure that nobody tells may make it worse, otherwise, clause), note (text, missing) or finding
    (as `check --format json` has it).  Values are in base units."""
    return {
        "format": "wireworthy worksheet",
        "version": 1,
        "boat": sheet.boat,
        "element": sheet.name,
        "title": sheet.title,
        "kind": sheet.kind,
        "rulebooks": sheet.rulebooks,
        "complete": sheet.complete,
        "caution": CAUTION,
        "sections": [{"title": s.title, "lines": [_line(x) for x in s.lines]} for s in sheet.sections],
    }


def as_json(sheet: Sheet) -> str:
    return json.dumps(as_data(sheet), indent=1, ensure_ascii=False, allow_nan=False) + "\n"


def _finite(value: float) -> float | None:
    return value if abs(value) < float("inf") else None


def _line(line: Line) -> dict[str, Any]:
    if isinstance(line, Fact):
        return {"kind": "fact", "what": line.what, "value": line.value, "clause": line.cite}
    if isinstance(line, Step):
        return {
            "kind": "step", "what": line.what, "expression": line.expression, "value": _finite(line.value),
            "unit": line.unit, "clause": line.cite,
        }  # fmt: skip
    if isinstance(line, Sum):
        rows = [
            {"value": _finite(r.value), "what": r.what, "expression": r.expression, "clause": r.cite} for r in line.rows
        ]
        return {"kind": "sum", "what": line.what, "rows": rows, "value": _finite(line.value), "unit": line.unit}
    if isinstance(line, Judgement):
        return {
            "kind": "judgement", "what": line.what, "value": _finite(line.value), "sign": line.sign,
            "limit": _finite(line.limit), "unit": line.unit, "limit_what": line.limit_what,
            "holds": line.holds if line.known else None,
            "otherwise": line.otherwise if line.known else line.untold, "clause": line.cite,
        }  # fmt: skip
    if isinstance(line, Note):
        return {"kind": "note", "text": line.text, "missing": line.missing}
    return {"kind": "finding"} | finding_json(line.finding)


def unwrapped(text: str) -> list[str]:
    """The lines of `as_text` as they were before they were broken."""
    made: list[str] = []
    for line in text.splitlines():
        if re.match(r" {8}\S", line) and made:
            made[-1] += " " + line.strip()
        else:
            made.append(line)
    return made
