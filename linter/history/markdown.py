"""A comparison as Markdown for a review comment: one screen, what got worse first; what is long is folded.

Tables and folding (`<details>`) are as forges render them; everything from a design is words and nothing else.
"""

from __future__ import annotations

import re
from collections.abc import Iterator, Sequence

from linter.history.compare import Changed, Comparison
from linter.history.show import grouped, remarks, sections, summary, thing_words
from linter.history.wording import change_parts, shortened
from linter.report.caution import CAUTION
from linter.report.safe import for_terminal
from linter.rules.finding import Finding

#: So many rows of a table are open; the rest is folded.
MOST_FINDINGS, MOST_ROWS, MOST_CHANGED = 4, 10, 6
#: A cell is not longer than this.
LONGEST = 400
#: All of a folded list, but for what nobody would read: a comment has a greatest length at any forge.
MOST_FOLDED = 100

# Nothing that is seen, but it parts a sign from what it would make a link, a mention or a reference of.
APART = "&#8203;"
_MARKUP = re.compile(r"[\\`*_\[\]<>|~&$^]")
_ENTITIES = {"&": "&amp;", "<": "&lt;", ">": "&gt;"}
_CALLS = re.compile(
    r"[@#!%$~^&](?=[\w\"'{])|GH-(?=\d)|www(?=\.)|:(?=//)|:(?=(?:100|1234|[a-z][\w+-]*):)", re.IGNORECASE
)
_STARTS = re.compile(r"^([-+](?=\s|$)|[=#]|\d+(?=[.)](?:\s|$)))")


def escaped(words: str) -> str:
    """Words of a design that a reader of Markdown takes for nothing but words: no markup, no link, nobody called."""
    safe = shortened(for_terminal(words).replace("\n", " "), LONGEST).strip()
    apart = _CALLS.sub(lambda m: f"{m[0]}\0", safe)
    plain = _MARKUP.sub(lambda m: _ENTITIES.get(m[0], f"\\{m[0]}"), apart)
    started = _STARTS.sub(lambda m: f"{m[0]}\\" if m[0].isdigit() else f"\\{m[0]}", plain)
    return started.replace("\0", APART)


def markdown(made: Comparison) -> str:
    """A comment for a review: what got worse and what it does are open, the rest is folded."""
    boat = made.new.design.boat or made.old.design.boat
    lines = [f"### {escaped(boat)}", "", f"**{escaped(summary(made))}**", ""]
    for side in (made.was, made.now):
        lines += [f"- **error**: {escaped(f'{m.span}: {m.message}')}" for m in side.mistakes if m.loses]
        lines += [f"- **broken**: {escaped(f'rule {rule}: {problem}')}" for rule, problem in side.broken]
    if lines[-1]:
        lines.append("")
    found = made.findings
    rows = [_finding(f) for f in found.new]
    rows += [_finding(g.now, f"{_severity(g.was)} → {_severity(g.now)}") for g in found.graver]
    lines += _table("Worse", ("", "finding", "mend", "at"), rows, MOST_FINDINGS)
    lines += _table("Changed", ("element", "fact", "was", "is"), _rows(made.changed), MOST_CHANGED)
    for heading, things in (("Added", made.added), ("Removed", made.removed)):
        lines += _table(heading, (heading.lower(),), [(thing_words(t),) for t in things], MOST_CHANGED)
    lines += _table("What it does", ("element", "figure", "was", "is"), _rows(made.effects), MOST_ROWS)
    for heading, items in sections(made):
        if heading in {"Findings gone", "Renamed"} and items:
            lines += _folded(f"{heading} ({len(items)})", [f"- {escaped(line)}" for _, line in items[:MOST_FOLDED]])
    still = len(found.still)
    last = [f"{still} finding{'s' if still != 1 else ''} as before."] if still else []
    last += [f"{made.old.shown} → {made.new.shown}.", *remarks(made)]
    lines += [*(f"{escaped(r)}  " for r in last), f"*{CAUTION}*", ""]
    return "\n".join(lines)


def _severity(finding: Finding) -> str:
    return f"accepted {finding.severity.value}" if finding.accepted else finding.severity.value


def _finding(finding: Finding, severity: str = "") -> tuple[str, ...]:
    said = f"{finding.message} [{finding.rule}]"
    return severity or _severity(finding), said, finding.accepted or finding.mend, str(finding.span)


def _rows(changed: Sequence[Changed]) -> list[tuple[str, ...]]:
    found: list[tuple[str, ...]] = []
    for name, changes in grouped(changed):
        found += [(name if not n else "", *change_parts(c)) for n, c in enumerate(changes)]
    return found


def _table(heading: str, columns: tuple[str, ...], rows: Sequence[tuple[str, ...]], most: int) -> Iterator[str]:
    """A heading and a table; what is more than ``most`` rows in a second one, folded."""
    if not rows:
        return
    # a few more rows take no more room than the fold would; and what is of one element stays together
    first = len(rows) if len(rows) <= most + 2 else most
    while first < len(rows) and not rows[first][0] and first > most // 2:
        first -= 1
    yield from (f"**{heading}**", "")
    yield from _cells(columns, rows[:first])
    yield ""
    if rows[first:]:
        kept = rows[first : first + MOST_FOLDED]
        if kept and not kept[0][0]:
            name = next(row[0] for row in reversed(rows[:first]) if row[0])
            kept = [(name, *kept[0][1:]), *kept[1:]]
        more = [*_cells(columns, kept)]
        if len(rows) - first > MOST_FOLDED:
            more += ["", f"and {len(rows) - first - MOST_FOLDED} more: `--format json` has all."]
        yield from _folded(f"{len(rows) - first} more rows", more)


def _cells(columns: tuple[str, ...], rows: Sequence[tuple[str, ...]]) -> Iterator[str]:
    yield f"| {' | '.join(columns)} |"
    yield f"|{' --- |' * len(columns)}"
    yield from (f"| {' | '.join(map(escaped, row))} |" for row in rows)


def _folded(words: str, lines: Sequence[str]) -> list[str]:
    return [f"<details><summary>{words}</summary>", "", *lines, "", "</details>", ""]
