"""What a change does, for a terminal: what was asked, findings new, worse, better and gone, figures that are others.

Figures that hardly move are counted and not shown; the JSON of a comparison has every one.
"""

from __future__ import annotations

import math
import re
import textwrap
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from typing import Any

from linter.advice.what_if import WhatIf
from linter.history.compare import Change, Changed
from linter.history.show import as_json as comparison_json
from linter.history.show import changed_words, finding_words, of_severities, remarks
from linter.history.wording import shortened
from linter.report.caution import CAUTION
from linter.report.data import finding_json
from linter.report.identity import what_of
from linter.report.safe import for_terminal
from linter.report.text import Paint, mistake_text, plain
from linter.rules.finding import Finding

WIDE = 100
#: So many findings of a sort, and lines of figures, are shown, that the whole can be read.
MOST_FOUND, MOST_FIGURES = 10, 16
#: Figures that differ by less than this part are only counted.
HARDLY = 0.01
#: A label may be as long as a book; a line is not.
LONGEST = 600
#: The blank between a figure and its unit, where no line ends.
_FIGURE = re.compile(r"(?<=[0-9]) (?=(?:[mk]?A|m?V|%|mm²|m?m|m?s|min|h|°C|AWG|m?Ω|Ah|W)(?![\w²]))")
#: So many elements are named of those whose figures hardly move.
MOST_NAMED = 6
#: By rule: the figures of its element that tell how grave it is, and whether more is worse.
GRAVITY: dict[str, tuple[tuple[str, bool], ...]] = {
    "voltage-drop": (("drop_percent", True),), "conductor-unprotected": (("margin_a", False),),
    "conductor-overloaded": (("ampacity_a", False), ("load_current_a", True)),
    "harmed-before-opening": (("heat_percent", True),), "not-opened-in-time": (("opens_s", True),),
    "breaking-capacity": (("prospective_a", True), ("breaks_a", False)),
    "load-undervolted": (("volts_v", False),),
}  # fmt: skip


@dataclass(frozen=True, slots=True)
class Stays:
    """A finding that there is with the change and without, in other words: with other figures."""

    was: Finding
    now: Finding
    # 1: worse, -1: better, 0: no single figure tells
    way: int


def staying(answer: WhatIf) -> list[Stays]:
    """The findings that stay with other figures; none where the design says so already, in other words at most."""
    if answer.already:
        return []
    made = answer.made
    before = made.was.design.elements
    left = {id(f): f for f in made.was.findings}
    figures = {e.name: {c.what: c for c in e.changes} for e in made.effects}
    found = []
    same_words = {(f.rule, f.subject, f.message) for f in made.was.findings}
    for finding in made.findings.still:
        if (finding.rule, finding.subject, finding.message) in same_words:
            continue
        said = what_of(finding, made.now.design.elements)
        like = [f for f in left.values() if (f.rule, f.subject) == (finding.rule, finding.subject)]
        like.sort(key=lambda f: what_of(f, before) != said)
        if like:
            left.pop(id(like[0]))
            way = _way(finding.rule, figures.get(finding.subject, {}))
            found.append(Stays(like[0], finding, way))
    return found


def _way(rule: str, changes: dict[str, Change]) -> int:
    ways = set()
    for key, more_is_worse in GRAVITY.get(rule, ()):
        was, now = (_number(getattr(changes.get(key), side, None)) for side in ("was", "now"))
        if was is not None and now is not None and was != now:
            ways.add(1 if (now > was) == more_is_worse else -1)
    return ways.pop() if len(ways) == 1 else 0


def _number(value: object) -> float | None:
    if value in ("unlimited", "never"):
        return math.inf
    return float(value) if isinstance(value, int | float) and not isinstance(value, bool) else None


def text(found: WhatIf, paint: Paint = plain) -> Iterator[str]:
    """Lines for a terminal."""
    made = found.made
    told: set[tuple[str, str]] = set()
    for side in (made.was, made.now):
        for mistake in side.mistakes:
            known = (str(mistake.span), mistake.message)
            if known not in told:
                told.add(known)
                yield from mistake_text(mistake, paint)
        for rule, problem in side.broken:
            yield for_terminal(f"{side.design.path}: rule {rule} broke: {problem}")
    boat = made.new.design.boat or made.old.design.boat or made.new.design.path
    yield paint(for_terminal(shortened(f"{boat}, if {'; '.join(found.written)}", LONGEST)), "mark")
    for line in changed_words(made.changed):
        yield from _wrapped(line, paint, "mark")
    stays = staying(found)
    graver = [(g.now, g.was) for g in made.findings.graver]
    sections = (
        ("New", [(f, None) for f in made.findings.new]),
        ("Worse", [*graver, *((s.now, s.was) for s in stays if s.way > 0)]),
        ("Better", [(s.now, s.was) for s in stays if s.way < 0]),
        ("With other figures", [(s.now, s.was) for s in stays if not s.way]),
    )  # fmt: skip
    for heading, findings in sections:
        yield from _findings(heading, findings, paint)
    yield from _gone(made.findings.gone, paint)
    yield from _figures(found, paint)
    yield ""
    yield from map(for_terminal, remarks(made))
    yield from textwrap.wrap(CAUTION, WIDE)
    yield from (paint(line, "mark") for line in textwrap.wrap(for_terminal(summary(found, stays)), WIDE))
    yield "Nothing is written."


def summary(answer: WhatIf, stays: Sequence[Stays]) -> str:
    """The whole answer in a sentence or two; that nothing changes is said plainly."""
    made = answer.made
    if not made.complete:
        return "Incomplete: part of the design could not be read, so nothing is proved of the change."
    found = made.findings
    worse = len(found.graver) + sum(s.way > 0 for s in stays)
    counts = [
        (len(found.new), "new" + of_severities(found.new)), (worse, "worse"), (sum(s.way < 0 for s in stays), "better"),
        (len(found.gone), "gone" + of_severities(found.gone)),
        (sum(not s.way for s in stays), "with other figures"),
    ]  # fmt: skip
    parts = [f"{n} {words}" for n, words in counts if n]
    as_before = len(found.still) - len(stays)
    if not parts and not made.effects:
        why = "but the fact itself: no finding and no figure"
        if answer.already:
            why = ": the design says so already"
        elif answer.unused and set(answer.unused) == set(answer.asked):
            why = f": nothing in this design refers to part {' or '.join(map(shortened, answer.unused))}"
        return f"Nothing changes{'' if why[0] == ':' else ' '}{why}. {_findings_as_before(as_before)}"
    figures = len(made.effects)
    said = f"Figures of {figures} element{'s' if figures != 1 else ''} change. " if figures else "No figure changes. "
    if not parts:
        return f"{said}{'No finding changes. ' if as_before else ''}{_findings_as_before(as_before)}"
    if as_before:
        parts.append(f"{as_before} as before")
    return f"Findings: {', '.join(parts)}. {said}".rstrip()


WAYS = {1: "worse", -1: "better", 0: "not told"}


def as_json(found: WhatIf) -> dict[str, Any]:
    """A comparison (see `linter/history/show.py`) and what was asked: ``with``; ``findings.otherwise``: those of
    ``still`` whose figures are others: was, now, way (worse, better, not told); ``answer``: the last sentence."""
    told = comparison_json(found.made)
    stays = staying(found)
    told["findings"]["otherwise"] = [
        {"was": finding_json(s.was), "now": finding_json(s.now), "way": WAYS[s.way]} for s in stays
    ]
    return told | {"with": list(found.written), "answer": summary(found, stays)}


def _findings_as_before(count: int) -> str:
    return f"{count} finding{'s' if count != 1 else ''} as before." if count else "There are no findings."


def _findings(heading: str, findings: Sequence[tuple[Finding, Finding | None]], paint: Paint) -> Iterator[str]:
    if not findings:
        return
    yield ""
    yield paint(f"{heading}: {_count(len(findings))}", "mark")
    for finding, was in findings[:MOST_FOUND]:
        yield from _wrapped(f"{finding.span}: {finding_words(finding)}", paint, finding.severity.value)
        if was is not None:
            yield from _wrapped(f"was: {finding_words(was)}", plain, "mark", "    ")
        if finding.accepted or finding.mend:
            words = f"accepted: {finding.accepted}" if finding.accepted else f"mend: {finding.mend}"
            yield from _wrapped(words, paint, "mend", "    ")
    yield from _more(len(findings) - MOST_FOUND)


def _gone(findings: Sequence[Finding], paint: Paint) -> Iterator[str]:
    if not findings:
        return
    yield ""
    yield paint(f"Gone: {_count(len(findings))}", "mark")
    for finding in findings[:MOST_FOUND]:
        yield from _wrapped(finding_words(finding), paint, "clean")
    yield from _more(len(findings) - MOST_FOUND)


def _figures(found: WhatIf, paint: Paint) -> Iterator[str]:
    """What is asked about first, then what moves most; what hardly moves is counted."""
    moved = [m for e in found.made.effects if (m := _moved(e)) is not None]
    hardly = [e.name for e in found.made.effects if _moved(e) is None]
    if not found.made.effects:
        return
    moved.sort(key=lambda e: e.name not in found.asked)
    yield ""
    yield paint("Figures, as they are and as they would be", "mark")
    shown = 0
    lines = [list(_wrapped(words, paint, "mark")) for words in changed_words(moved)]
    for number, one in enumerate(lines):
        if number and shown + len(one) > MOST_FIGURES:
            left = len(lines) - number
            yield f"  and {left} more line{'s' if left != 1 else ''} like these; --format json has all."
            break
        shown += len(one)
        yield from one
    if hardly:
        names = ", ".join(map(shortened, hardly[:MOST_NAMED])) + (" …" if len(hardly) > MOST_NAMED else "")
        words = f"{len(hardly)}{' more' if moved else ''} by less than {100 * HARDLY:g} %: {names}"
        yield from _wrapped(words, plain, "mark")


def _moved(effect: Changed) -> Changed | None:
    """The changes of an element that are worth a line; None if none is."""
    changes = [c for c in effect.changes if not _hardly(c)]
    return replace(effect, changes=changes) if changes else None


def _hardly(change: Change) -> bool:
    was, now = _number(change.was), _number(change.now)
    if was is None or now is None or math.isinf(was) or math.isinf(now):
        return False
    return abs(now - was) < HARDLY * max(abs(was), abs(now))


def _count(number: int) -> str:
    return f"{number} finding{'s' if number != 1 else ''}"


def _more(left: int) -> Iterator[str]:
    if left > 0:
        yield f"  and {left} more; --format json has all."


def _wrapped(words: str, paint: Paint, kind: str, indent: str = "  ") -> Iterator[str]:
    """Lines of at most WIDE characters, the head in colour, no figure parted from its unit."""
    line = _FIGURE.sub("\u00a0", shortened(for_terminal(words), LONGEST)).replace(" → ", "\u00a0→\u00a0")
    lines = textwrap.wrap(line, WIDE - len(indent), subsequent_indent="    ", break_on_hyphens=False) or [""]
    lines = [one.replace("\u00a0", " ") for one in lines]
    head, colon, rest = lines[0].partition(": ")
    yield f"{indent}{paint(head, kind)}{colon}{rest}" if colon else f"{indent}{lines[0]}"
    yield from (f"{indent}{more}" for more in lines[1:])
