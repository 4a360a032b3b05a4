"""A comparison as text for a terminal, as JSON, and as Markdown for a review comment; what matters most comes first.

JSON: format "wireworthy comparison", version 1; ``old`` and ``new`` (path, boat, complete,
errors[]: at, message, loses; broken_rules[]); ``complete``;
``electrical`` (false: names, words and order at most); ``text_differs``; ``summary`` (one sentence); ``remarks``;
``findings``: ``new``, ``gone``, ``still`` (as `check --format json` has them) and ``graver`` (was, now);
``effects[]``: element, kind, label, changes[] (what, words, unit, was, now; null: none or not known); ``added[]``,
``removed[]``: name, kind, label, facts; ``renamed[]``: was, now; ``changed[]``: as effects, with ``former_name`` or
null.  ``what`` of an effect: verdict, guard, let_through_a ("unlimited": nothing would open), allowed_a, margin_a,
ampacity_a, opens_s ("never"), heat_percent, breaks_a, prospective_a, largest_a, smallest_a, above, volts_v,
drop_percent, load_current_a.
"""

from __future__ import annotations

import re
from collections.abc import Iterator
from typing import Any

from linter.history.compare import FIGURES, Change, Changed, Comparison
from linter.history.facts import Thing
from linter.history.sides import Side
from linter.report.caution import CAUTION
from linter.report.data import finding_json
from linter.report.safe import for_terminal
from linter.report.text import Paint, mistake_text, plain
from linter.rules.engine import Examination
from linter.rules.finding import Finding

WORDS = {key: words for key, words, _ in FIGURES}
EFFECTS = "What it does"
#: So many elements are listed on a terminal, that the whole fits on one screen.
MOST_EFFECTS = 12
UNITS = {key: unit for key, _, unit in FIGURES}


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
    for count, words in (
        (len(found.new), "new"), (len(found.graver), "graver"), (len(found.gone), "gone"),
    ):  # fmt: skip
        if count:
            parts.append(f"{count} finding{'s' if count != 1 else ''} {words}")
    for count, words in (
        (len(made.added), "added"), (len(made.removed), "removed"), (len(made.changed), "changed"),
        (len(made.renamed), "renamed"),
    ):  # fmt: skip
        if count:
            parts.append(f"{count} {words}")
    if made.effects:
        parts.append(f"figures of {len(made.effects)} elements are others")
    said = "; ".join(parts) + "."
    return said if made.electrical else f"{said} Nothing electrical changes."


def shown(value: Any) -> str:
    """A value in words, figures to four places."""
    if value is None or value == []:
        return "none"
    if value is True:
        return "yes"
    if isinstance(value, float):
        return f"{value:.4g}"
    if isinstance(value, dict):
        return ", ".join(f"{k} {shown(v)}" for k, v in value.items()) or "none"
    if isinstance(value, list):
        return ", ".join(f"({shown(v)})" if isinstance(v, list | dict) else shown(v) for v in value)
    return str(value)


def change_words(change: Change) -> str:
    words, unit = WORDS.get(change.what, ""), UNITS.get(change.what, "")
    if not words:
        words = re.sub(r"_(a|v|w|ohm|m|c|s|ah)$", "", change.what).replace("_", " ")
        ending = re.search(r"_(a|v|w|ohm|m|c|s|ah)$", change.what)
        symbols = {"a": "A", "v": "V", "w": "W", "ohm": "Ω", "m": "m", "c": "°C", "s": "s", "ah": "Ah"}
        unit = symbols[ending[1]] if ending else ""

    def with_unit(value: Any) -> str:
        if value is None and change.what in WORDS:
            return "not known"
        figure = isinstance(value, int | float) and not isinstance(value, bool)
        return f"{shown(value)} {unit}" if unit and figure else shown(value)

    was, now = with_unit(change.was), with_unit(change.now)
    if was == now and isinstance(change.was, int | float) and isinstance(change.now, int | float):
        was, now = f"{change.was:.9g} {unit}".rstrip(), f"{change.now:.9g} {unit}".rstrip()
    return f"{words} {was} → {now}"


def title(name: str, label: str) -> str:
    return f"{name} ({label})" if label else name


def changed_words(changed: Changed) -> str:
    former = f" (was {changed.was})" if changed.was else ""
    return f"{title(changed.name, changed.label)}{former}: " + "; ".join(map(change_words, changed.changes))


def thing_words(thing: Thing) -> str:
    said = "; ".join(f"{k.replace('_', ' ')} {shown(v)}" for k, v in thing.facts.items() if k != "label")
    return f"{thing.kind} {title(thing.name, thing.label)}" + (f": {said}" if said else "")


def finding_words(finding: Finding) -> str:
    accepted = "accepted " if finding.accepted else ""
    return f"{accepted}{finding.severity.value}: {finding.message} [{finding.rule}]"


def remarks(made: Comparison) -> list[str]:
    return [r for r in (made.old.remark, made.new.remark) if r]


def _sections(made: Comparison) -> Iterator[tuple[str, list[tuple[str, str]]]]:
    """(heading, [(kind of colour, line)]), the weightiest first."""
    found = made.findings
    yield "New findings", [(f.severity.value, f"{f.span}: {finding_words(f)}") for f in found.new]
    yield (
        "Graver findings",
        [
            (g.now.severity.value, f"{g.now.span}: {finding_words(g.now)}; was {finding_words(g.was)}")
            for g in found.graver
        ],
    )
    yield "Findings gone", [("clean", finding_words(f)) for f in found.gone]
    yield EFFECTS, [("mark", changed_words(e)) for e in made.effects]
    yield "Changed", [("mark", changed_words(c)) for c in made.changed]
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
    yield for_terminal(f"{boat}: {made.old.shown} → {made.new.shown}")
    for heading, lines in _sections(made):
        if lines:
            yield ""
            yield paint(heading, "mark")
            most = MOST_EFFECTS if heading == EFFECTS else len(lines)
            yield from (f"  {_painted(kind, line, paint)}" for kind, line in lines[:most])
            if len(lines) > most:
                yield f"  and {len(lines) - most} more of less weight; --format json or markdown has all."
    yield ""
    if made.findings.still:
        yield f"{len(made.findings.still)} finding{'s' if len(made.findings.still) != 1 else ''} as before."
    yield from map(for_terminal, remarks(made))
    yield paint(summary(made), "mark")


def _painted(kind: str, line: str, paint: Paint) -> str:
    """The first word of a line, or what stands before its colon, in colour."""
    head, colon, rest = for_terminal(line).partition(": ")
    return f"{paint(head, kind)}{colon}{rest}"


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


_MARKUP = re.compile(r"([\\`*_{}\[\]()#+\-.!|~>:@&<$])")
_ENTITIES = {"&": "&amp;", "<": "&lt;", ">": "&gt;", "@": "&#64;", "#": "&#35;"}


def escaped(words: str) -> str:
    """Words of a design that a reader of Markdown takes for nothing but words: no markup, no link, nobody called."""
    safe = for_terminal(words).replace("\n", " ")
    return _MARKUP.sub(lambda m: _ENTITIES.get(m[0], f"\\{m[0]}" if m[0] != ":" else "&#58;"), safe)


def markdown(made: Comparison) -> str:
    """A comment for a review: what got worse and what it does are open, the rest is folded."""
    lines = [
        f"### {escaped(made.new.design.boat or made.old.design.boat)}: "
        f"{escaped(made.old.shown)} → {escaped(made.new.shown)}",
        "",
        f"**{escaped(summary(made))}**",
        "",
    ]
    for side in (made.was, made.now):
        lines += [f"- **error**: {escaped(f'{m.span}: {m.message}')}" for m in side.mistakes if m.loses]
        lines += [f"- **broken**: {escaped(f'rule {rule}: {problem}')}" for rule, problem in side.broken]
    for heading, found in _sections(made):
        if not found:
            continue
        items = [f"- {escaped(line)}" for _, line in found]
        if heading in {"New findings", "Graver findings"}:
            lines += [f"**{heading}**", "", *items, ""]
        else:
            lines += [f"<details><summary>{heading} ({len(items)})</summary>", "", *items, "", "</details>", ""]
    if made.findings.still:
        lines += [f"{len(made.findings.still)} findings as before.", ""]
    lines += [*(f"{escaped(r)}\n" for r in remarks(made)), escaped(CAUTION), ""]
    return "\n".join(lines)
