"""A comparison as text for a terminal and as JSON; what matters most comes first.

JSON: format "wireworthy comparison", version 1; ``old`` and ``new`` (path, boat, complete,
errors[]: at, message, loses; broken_rules[]); ``complete``; ``text_differs``; ``remarks``;
``electrical`` (false: names, words, order and acceptances at most); ``summary`` (one sentence);
``findings``: ``new``, ``gone``, ``still`` (as `check --format json` has them) and ``graver`` (was, now);
``effects[]``: element, kind, label, changes[] (what, words, unit, was, now; null: none or not known); ``added[]``,
``removed[]``: name, kind, label, facts; ``renamed[]``: was, now; ``changed[]``: as effects, with ``former_name`` or
null.  ``what`` of an effect: verdict, guard, let_through_a ("unlimited": nothing would open), allowed_a, margin_a,
ampacity_a, opens_s ("never"), heat_percent, breaks_a, prospective_a, largest_a, smallest_a, above, volts_v,
drop_percent, load_current_a.
"""

from __future__ import annotations

import textwrap
from collections import Counter
from collections.abc import Iterable, Iterator
from typing import Any

from linter.history.compare import Change, Changed, Comparison, Since
from linter.history.facts import Thing
from linter.history.sides import Side
from linter.history.wording import UNITS, WORDS, fact_words, shortened
from linter.history.wording import change_words as change_words  # for those who show a comparison elsewhere
from linter.report.caution import CAUTION
from linter.report.data import finding_json
from linter.report.safe import for_terminal
from linter.report.text import Paint, mistake_text, plain
from linter.rules.engine import Examination
from linter.rules.finding import Finding

EFFECTS, NEW, GRAVER = "What it does", "New findings", "Graver findings"
#: So many lines of these, and of anything else, are shown on a terminal, that the whole fits on one screen.
MOST_EFFECTS, MOST_FOUND, MOST_LINES = 12, 10, 6
WIDE = 110
#: So many elements that change alike are named together.
MOST_TOGETHER = 12
#: A label may be as long as a book; a line is not.
LONGEST = 600


def summary(made: Comparison) -> str:
    """The whole comparison in one sentence."""
    if not made.complete:
        return "Incomplete: part of a design could not be read, so nothing is proved of the change."
    if made.empty:
        if made.text_differs:
            return "Only order or wording of the text differs: nothing electrical changes."
        return "Nothing differs."
    parts = []
    found = made.findings
    for findings, words in (
        (found.new, "new"), ([g.now for g in found.graver], "graver"), (found.gone, "gone"),
    ):  # fmt: skip
        if findings:
            parts.append(f"{len(findings)} finding{'s' if len(findings) != 1 else ''} {words}{of_severities(findings)}")
    for names, words in (
        ([t.name for t in made.added], "added"), ([t.name for t in made.removed], "removed"),
        ([c.name for c in made.changed], "changed"), (list(made.renamed), "renamed"),
    ):  # fmt: skip
        if names:
            parts.append(
                f"{len(names)} {words}" + (f" ({', '.join(map(shortened, names))})" if len(names) <= 3 else "")
            )
    if len(made.effects) == 1:
        parts.append(f"figures of {shortened(made.effects[0].name)} change")
    elif made.effects:
        parts.append(f"figures of {len(made.effects)} elements change")
    said = "; ".join(parts) + "."
    return said if made.electrical else f"{said} Nothing electrical changes."


def of_severities(findings: list[Finding]) -> str:
    """How many of each severity, in brackets; nothing where there are none."""
    counted = Counter(f"accepted {f.severity.value}" if f.accepted else f.severity.value for f in findings)
    words = {"advice": "pieces of advice", "accepted advice": "accepted pieces of advice"}
    said = [f"{n} {s if n == 1 else words.get(s, s + 's')}" for s, n in counted.items()]
    return f" ({', '.join(said)})" if said else ""


def title(name: str, label: str) -> str:
    return f"{name} ({label})" if label else name


def grouped(changed: Iterable[Changed]) -> Iterator[tuple[str, list[Change]]]:
    """(who, what is otherwise), those with the same change together: one part sheet may be in many places."""
    groups: dict[tuple[str, ...], list[Changed]] = {}
    for one in changed:
        alone = f"\0{one.name}" if one.was or any(c.what in {"label", "between"} for c in one.changes) else ""
        groups.setdefault((alone, *map(change_words, one.changes)), []).append(one)
    for group in groups.values():
        first = group[0]
        if len(group) == 1:
            yield title(first.name, first.label) + (f" (was {first.was})" if first.was else ""), first.changes
        else:
            more = f" and {len(group) - MOST_TOGETHER} more" if len(group) > MOST_TOGETHER else ""
            yield ", ".join(shortened(c.name) for c in group[:MOST_TOGETHER]) + more, first.changes


def changed_words(changed: Iterable[Changed]) -> Iterator[str]:
    for who, changes in grouped(changed):
        yield f"{who}: " + "; ".join(map(change_words, changes))


def thing_words(thing: Thing) -> str:
    said = "; ".join(" ".join(fact_words(k, v)) for k, v in thing.facts.items() if k != "label")
    return f"{thing.kind} {title(thing.name, thing.label)}" + (f": {said}" if said else "")


def finding_words(finding: Finding) -> str:
    accepted = "accepted " if finding.accepted else ""
    return f"{accepted}{finding.severity.value}: {finding.message} [{finding.rule}]"


def remarks(made: Comparison) -> list[str]:
    found = [r for r in (made.old.remark, made.new.remark) if r]
    common = made.new.design.elements.keys() & {made.renamed.get(n, n) for n in made.old.design.elements}
    if not common and made.old.design.elements and made.new.design.elements:
        found.append("The two have no element in common: are they the same boat?")
    return found


def _lines_of(finding: Finding, more: str) -> Iterator[tuple[str, str]]:
    yield f"at {finding.severity.value}", f"{finding.span}: {finding_words(finding)}{more}"
    if finding.accepted or finding.mend:
        yield "at mend", f"    {'accepted' if finding.accepted else 'mend'}: {finding.accepted or finding.mend}"


def sections(made: Comparison) -> Iterator[tuple[str, list[tuple[str, str]]]]:
    """(heading, [(kind of colour, line)]), the weightiest first; ``at`` before the kind: a place leads the line."""
    found = made.findings
    yield NEW, [line for f in found.new for line in _lines_of(f, "")]
    yield GRAVER, [line for g in found.graver for line in _lines_of(g.now, f"; was {finding_words(g.was)}")]
    yield "Findings gone", [("clean", finding_words(f)) for f in found.gone]
    yield EFFECTS, [("mark", line) for line in changed_words(made.effects)]
    yield "Changed", [("mark", line) for line in changed_words(made.changed)]
    yield "Added", [("mend", thing_words(t)) for t in made.added]
    yield "Removed", [("danger", thing_words(t)) for t in made.removed]
    yield "Renamed", [("mark", f"{was} → {now}") for was, now in made.renamed.items()]


def text(made: Comparison, paint: Paint = plain) -> Iterator[str]:
    """Lines for a terminal."""
    for side in (made.was, made.now):
        for mistake in side.mistakes:
            yield from mistake_text(mistake, paint)
        for rule, problem in side.broken:
            yield for_terminal(f"{side.design.path}: rule {rule} broke: {problem}")
    boat = made.new.design.boat or made.old.design.boat
    yield for_terminal(shortened(f"{boat}: {made.old.shown} → {made.new.shown}", LONGEST))
    for heading, items in sections(made):
        if not items:
            continue
        yield ""
        yield paint(heading, "mark")
        most = {EFFECTS: MOST_EFFECTS, NEW: MOST_FOUND, GRAVER: MOST_FOUND}.get(heading, MOST_LINES)
        shown_lines = 0
        for number, (kind, line) in enumerate(items):
            lines = [shortened(for_terminal(line), LONGEST)]
            if not kind.startswith("at "):
                lines = textwrap.wrap(lines[0], WIDE, subsequent_indent="    ", break_on_hyphens=False)
            if number and shown_lines + len(lines) > most:
                left = sum(k != "at mend" for k, _ in items[number:])
                yield f"  and {left} more of less weight; --format json or markdown has all."
                break
            shown_lines += len(lines)
            yield from _painted(kind.removeprefix("at "), lines, paint)
    yield ""
    if made.findings.still:
        yield f"{len(made.findings.still)} finding{'s' if len(made.findings.still) != 1 else ''} as before."
    yield from map(for_terminal, remarks(made))
    yield from textwrap.wrap(CAUTION, WIDE)
    yield paint(for_terminal(summary(made)), "mark")


#: Of a change that made something worse, so many elements are named.
MOST_NAMED = 6


def since_lines(revision: str, result: Examination, since: Since, paint: Paint = plain) -> Iterator[str]:
    """What has become of a design since a revision: a line, and, where something got worse, what was changed."""
    found, made = since.findings, since.made
    boat = shortened(result.design.boat or result.design.path)
    if not result.complete:
        errors = sum(m.loses for m in result.mistakes)
        yield paint(
            for_terminal(f"{boat}: incomplete: {errors} errors in the text, {len(result.broken)} rules broke"), "danger"
        )
    parts = [f"{len(found.new)} new{of_severities(found.new)}"]
    if found.graver:
        parts.append(f"{len(found.graver)} graver{of_severities([g.now for g in found.graver])}")
    parts += [f"{len(found.gone)} gone", f"{len(found.still)} as before"]
    yield paint(
        for_terminal(f"{boat} since {revision}: findings: {', '.join(parts)}."), "mark" if found.worse else "clean"
    )
    if made is None or not found.worse:
        return
    items = [line for heading, lines in sections(made) if heading in {"Changed", "Added", "Removed"}
             for line in (f"{heading.lower()} {text}" for _, text in lines)]  # fmt: skip
    for item in items[:MOST_NAMED]:
        yield f"  {shortened(for_terminal(item), 2 * WIDE)}"
    if len(items) > MOST_NAMED:
        yield f"  and {len(items) - MOST_NAMED} more"
    yield for_terminal(f"  What it does to every figure: wireworthy compare {result.design.path} --since {revision}")


def _painted(kind: str, lines: list[str], paint: Paint) -> Iterator[str]:
    """What stands before the first colon in colour; further lines as they are."""
    head, colon, rest = lines[0].partition(": ")
    yield f"  {paint(head, kind)}{colon}{rest}"
    yield from (f"  {line}" for line in lines[1:])


def _changes(changed: Changed) -> dict[str, Any]:
    return {
        "element": changed.name,
        "kind": changed.kind,
        "label": changed.label,
        "changes": [
            {"what": c.what, "words": WORDS.get(c.what, c.what), "unit": UNITS.get(c.what, ""),
             "was": c.was, "now": c.now}
            for c in changed.changes
        ],
    }  # fmt: skip


def _thing(thing: Thing) -> dict[str, Any]:
    return {"name": thing.name, "kind": thing.kind, "label": thing.label, "facts": thing.facts}


def _side(side: Side, made: Examination) -> dict[str, Any]:
    return {
        "path": side.shown,
        "boat": side.design.boat,
        "complete": made.complete,
        "errors": [{"at": str(m.span), "message": m.message, "loses": m.loses} for m in made.mistakes],
        "broken_rules": [{"rule": rule, "problem": problem} for rule, problem in made.broken],
    }


def as_json(made: Comparison) -> dict[str, Any]:
    """See the beginning of this module."""
    found = made.findings
    return {
        "format": "wireworthy comparison",
        "version": 1,
        "caution": CAUTION,
        "old": _side(made.old, made.was),
        "new": _side(made.new, made.now),
        "complete": made.complete,
        "electrical": made.electrical,
        "text_differs": made.text_differs,
        "summary": summary(made),
        "remarks": remarks(made),
        "findings": {
            "new": [finding_json(f) for f in found.new],
            "graver": [{"was": finding_json(g.was), "now": finding_json(g.now)} for g in found.graver],
            "gone": [finding_json(f) for f in found.gone],
            "still": [finding_json(f) for f in found.still],
        },
        "effects": [_changes(e) for e in made.effects],
        "added": [_thing(t) for t in made.added],
        "removed": [_thing(t) for t in made.removed],
        "renamed": [{"was": was, "now": now} for was, now in made.renamed.items()],
        "changed": [_changes(c) | {"former_name": c.was or None} for c in made.changed],
    }
