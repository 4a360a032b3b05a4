"""The answer as text, Markdown and JSON.

JSON: format "wireworthy tripped", version 1; ``device``, ``when``, ``circuit`` (rated_a, carries_a, place_c, meshed,
loads[], runs[], between), ``scenes[]`` (title, least_a, steady_a, low_a, starts[]: load, amps, seconds, opens_s),
``faults`` (near, far: smallest_a, largest_a, opens_s), ``missing[]``, ``readings[]`` (written, verdict, says),
``causes[]`` (name, title, score, weights[]: by, why, measured; measure, where, expect, trouble, caution),
``larger`` (next_a, answer, raises[], conductors[], left[]).  ``opens_s``: [may open after, has opened by]; a time may
be "never", null is not told.
"""

from __future__ import annotations

import math
import textwrap
from collections.abc import Iterator
from typing import Any

from linter.advice.tripped.figures import band_words, spot
from linter.advice.tripped.larger import Larger
from linter.advice.tripped.make import Answer, Suspect
from linter.advice.tripped.seen import Fault, InScene, Seen
from linter.advice.tripped.table import table
from linter.report.caution import CAUTION, MEASURING
from linter.report.data import finding_json
from linter.report.safe import for_terminal
from linter.report.text import Paint, plain
from linter.rules.finding import Finding
from linter.rules.words import amps, kiloamps, seconds

WIDE = 100
#: So many causes are told in full; of the others a line.
MOST_TOLD = 4
MOST_SCENES = 8
#: Less likely than this share of the likeliest, a cause is hardly one.
EXCLUDED_SHARE = 0.03

NEVER = (
    "Never bypass a device, and never fit a larger one to silence it: it is the first thing in its circuit to give "
    "way, and then the conductor is. A short near a battery drives thousands of amperes: isolate before you touch."
)


# ---- what both forms say ---------------------------------------------------------------------------------------------


def head(answer: Answer) -> list[str]:
    """What it is and what it should see."""
    seen = answer.circuit.seen
    words = answer.circuit.words
    found = [f"It is a {words['fitted']}, between {words['near']} and {words['far']}."]
    if seen.carries_a is not None:
        at = f" in {words['place']} at {words['place_c']}" if seen.place_c is not None else ""
        found.append(f"It carries {words['carries']}{at} (rated {words['rated']}).")
    if seen.meshed:
        found.append("It stands in a mesh: sources or conductors on both sides share its current.")
    else:
        loads = ", ".join(n.name for n in seen.loads) or "no load"
        runs = ", ".join(r.name for r in seen.runs) or "no conductor"
        found.append(f"Behind it: {loads}; by {runs}.")
    return found


def scene_lines(seen: Seen) -> Iterator[str]:
    rows = sorted(seen.scenes, key=lambda s: -s.steady_a)
    for row in rows[:MOST_SCENES]:
        yield from _scene(seen, row)
    if len(rows) > MOST_SCENES:
        yield f"and {len(rows) - MOST_SCENES} scenes with less; --format json has all"
    if not rows:
        yield "no current flows through it in any scene"


def _scene(seen: Seen, row: InScene) -> Iterator[str]:
    least = f"{amps(row.least_a)} to " if row.least_a < row.steady_a * 0.999 else ""
    yield f"{row.title}: {least}{amps(row.steady_a)}; {_opens(seen, row.steady_a)}"
    if row.not_carried:
        yield f"  at {seen.least_v:g} V, batteries alone: its loads cannot all be carried"
    elif row.low_a is not None and seen.least_v is not None:
        yield f"  at {seen.least_v:g} V, batteries alone: {amps(row.low_a)}; {_opens(seen, row.low_a)}"
    for start in row.starts:
        lasts = "for a time that nobody states" if start.seconds is None else f"for {seconds(start.seconds)}"
        yield f"  as {start.load} starts: {amps(start.amps)} {lasts}; {_opens(seen, start.amps)}"


def _opens(seen: Seen, current_a: float) -> str:
    least_s, most_s = seen.band(current_a)
    if least_s is None and most_s is None:
        over = seen.carries_a is not None and current_a > seen.carries_a
        return "more than its rating, and its curve is not told" if over else "its curve is not told"
    return f"it {band_words(least_s, most_s)}"


def fault_lines(seen: Seen) -> Iterator[str]:
    for what, fault in (("right behind it", seen.near_fault), ("at the far end", seen.far_fault)):
        if fault is None:
            continue
        where = spot(seen.study, fault.node)
        none = "a share that is not told" if seen.meshed else "what its sources limit themselves to, not told,"
        small = none if fault.smallest_a is None else kiloamps(fault.smallest_a)
        leans = f" (leans on {' and '.join(fault.leans_on)})" if fault.leans_on else ""
        doubt = " (a figure is missing: worth nothing)" if fault.unknown else ""
        band = band_words(fault.least_s, fault.most_s)
        yield f"a short {what}, {where}: {small} to {kiloamps(fault.largest_a)}{leans}{doubt}; it {band}"


def larger_lines(answer: Answer) -> Iterator[str]:
    found = answer.larger
    device = answer.circuit.seen.device
    if found.next_a is None:
        yield f"Not to be asked: {found.why_not}."
        return
    rating = amps(found.next_a)
    if not found.raised:
        yield (
            f"{rating} raises no finding: it would still guard its conductors and be what the maker asks for. It is no "
            f"cure all the same: what made {device.name} open would go on, with more current behind it."
        )
        return
    yield f"No. {rating} would raise {len(found.raised)} finding{'s' * (len(found.raised) != 1)}:"
    for finding in found.raised[:4]:
        yield f"  {finding.severity.value}: {finding.message} [{finding.rule}]"
    if len(found.raised) > 4:
        yield f"  and {len(found.raised) - 4} more; --format json has all"
    yield _under_which(found)


def _under_which(found: Larger) -> str:
    if found.conductors:
        sizes = ", ".join(f"{name} {size}" for name, size in found.conductors)
        return (
            f"It would be allowed with other conductors ({sizes}): a change of the circuit, and no cure of the cause."
        )
    if any(f.rule == "device-not-as-asked" for f in found.left):
        return "No conductor changes that: the maker of the load asks for what is fitted, or for less."
    left = ", ".join(dict.fromkeys(f.rule for f in found.left))
    return f"Larger conductors were tried and do not change that ({left})."


def working(suspect: Suspect) -> str:
    """The score with its factors."""
    factors = " × ".join(f"{w.by:g}" for w in suspect.weights)
    return f"score {suspect.score:.3g}" + (f" = {factors}" if len(suspect.weights) > 1 else "")


def told(answer: Answer) -> tuple[list[Suspect], list[Suspect], list[Suspect]]:
    """(told in full, only named, hardly)."""
    best = answer.suspects[0].score
    likely = [s for s in answer.suspects if s.score >= best * EXCLUDED_SHARE]
    unlikely = [s for s in answer.suspects if s.score < best * EXCLUDED_SHARE]
    return likely[:MOST_TOLD], likely[MOST_TOLD:], unlikely


# ---- text ------------------------------------------------------------------------------------------------------------


def as_text(answer: Answer, paint: Paint = plain, every: bool = False) -> list[str]:
    """Lines of at most 100 columns."""
    seen = answer.circuit.seen
    title = f"{seen.device.title} opens {table().when[answer.when]}"
    lines = [*_painted(title, "mark", paint)]
    for one in head(answer):
        lines += _wrapped(one)
    for heading, items in (("What it should carry", scene_lines(seen)), ("What faults drive", fault_lines(seen))):
        lines += ["", *_painted(heading, "mark", paint)]
        for item in items:
            lines += _wrapped(item, "  ")
    if seen.missing:
        lines += ["", *_painted("What is not told", "doubt", paint)]
        for item in seen.missing:
            lines += _wrapped(item, "  ")
    if answer.heard:
        lines += ["", *_painted("What was measured", "mark", paint)]
        for one_heard in answer.heard:
            lines += _wrapped(one_heard.says, "  ")
    lines += ["", *_painted(f"Likely causes, the likeliest first (weights: {table().status})", "mark", paint)]
    full, named, unlikely = told(answer)
    full, named = ([*full, *named], []) if every else (full, named)
    for number, suspect in enumerate(full, 1):
        lines += _painted(f"{number}. {suspect.title}", "fault", paint)
        lines += _wrapped(f"why: {working(suspect)}", "   ")
        lines += [line for w in suspect.weights for line in _wrapped(f"{w.by:g}  {w.why}", "     ", "        ")]
        for word, text in (
            ("measure", suspect.measure), ("where", suspect.where), ("expect", suspect.expect),
            ("trouble", suspect.trouble), ("mind", suspect.caution),
        ):  # fmt: skip
            lines += _wrapped(f"{word}: {text}", "   ", "     ")
    if named:
        lines += _wrapped("less likely: " + "; ".join(f"{s.title} ({s.score:.3g})" for s in named))
    if unlikely:
        lines += _wrapped("hardly, by these figures: " + "; ".join(f"{s.title} ({s.score:.2g})" for s in unlikely))
    lines += ["", *_painted("And the next rating up?", "mark", paint)]
    for item in larger_lines(answer):
        lines += _wrapped(item.strip(), "    " if item.startswith("  ") else "  ")
    lines.append("")
    for text in (NEVER, MEASURING, CAUTION):
        lines += _wrapped(text)
    return lines


def _wrapped(text: str, indent: str = "", more: str | None = None) -> list[str]:
    lead = len(text) - len(text.lstrip(" "))
    start = indent + " " * lead
    return textwrap.wrap(
        for_terminal(text.strip()), WIDE, initial_indent=start, subsequent_indent=more or f"{start}  ",
        break_on_hyphens=False,
    )  # fmt: skip


def _painted(text: str, kind: str, paint: Paint) -> list[str]:
    return [paint(line, kind) for line in _wrapped(text)]


# ---- Markdown --------------------------------------------------------------------------------------------------------


def as_markdown(answer: Answer) -> str:
    """The same for a page; what a design says stays text, and never becomes markup."""
    seen = answer.circuit.seen
    lines = [f"# {_md(seen.device.title)} opens {table().when[answer.when]}", ""]
    lines += [f"{_md(' '.join(head(answer)))}", ""]
    for heading, items in (
        ("What it should carry", scene_lines(seen)), ("What faults drive", fault_lines(seen)),
        ("What is not told", iter(seen.missing)), ("What was measured", (h.says for h in answer.heard)),
    ):  # fmt: skip
        rows = [f"{'  ' if i.startswith('  ') else ''}- {_md(i.strip())}" for i in items]
        lines += [f"## {heading}", "", *rows, ""] if rows else []
    lines += ["## Likely causes", "", f"The likeliest first; weights are {table().status}.", ""]
    full, named, unlikely = told(answer)
    for number, suspect in enumerate([*full, *named], 1):
        lines += [f"### {number}. {_md(suspect.title)}", "", f"{_md(working(suspect))}", ""]
        lines += [f"- {w.by:g}: {_md(w.why)}" for w in suspect.weights]
        lines += ["", "| | |", "|---|---|"]
        lines += [
            f"| {word} | {_md(text)} |"
            for word, text in (
                ("measure", suspect.measure), ("where", suspect.where), ("expect", suspect.expect),
                ("trouble", suspect.trouble), ("mind", suspect.caution),
            )
        ]  # fmt: skip
        lines.append("")
    if unlikely:
        lines += [f"Hardly, by these figures: {_md('; '.join(s.title for s in unlikely))}.", ""]
    lines += ["## And the next rating up?", ""]
    lines += [f"{'- ' if i.startswith('  ') else ''}{_md(i.strip())}\n" for i in larger_lines(answer)]
    return "\n".join([*lines, NEVER, "", MEASURING, "", CAUTION, ""])


def _md(text: str) -> str:
    from linter.history.markdown import escaped

    return escaped(for_terminal(text))


# ---- JSON ------------------------------------------------------------------------------------------------------------


def as_json(answer: Answer) -> dict[str, Any]:
    """See the beginning of this module."""
    seen, found = answer.circuit.seen, answer.larger
    return {
        "format": "wireworthy tripped",
        "version": 1,
        "caution": CAUTION,
        "device": seen.device.name,
        "label": seen.device.label,
        "when": answer.when,
        "circuit": {
            "rated_a": seen.device.rated_a, "carries_a": seen.carries_a, "place_c": seen.place_c,
            "carries_it_up_to_c": seen.limit_c, "meshed": seen.meshed, "loads": [n.name for n in seen.loads],
            "runs": [r.name for r in seen.runs], "between": [spot(seen.study, n) for n in (seen.near, seen.far)],
            "least_v": seen.least_v,
        },
        "scenes": [
            {
                "title": s.title, "least_a": s.least_a, "steady_a": s.steady_a, "low_a": s.low_a,
                "not_carried_at_least_v": s.not_carried, "opens_s": _band(seen, s.steady_a),
                "starts": [
                    {"load": x.load, "amps": x.amps, "seconds": x.seconds, "opens_s": _band(seen, x.amps)}
                    for x in s.starts
                ],
            }
            for s in seen.scenes
        ],
        "faults": {"near": _fault(seen, seen.near_fault), "far": _fault(seen, seen.far_fault)},
        "missing": list(seen.missing),
        "readings": [{"written": h.reading.written, "verdict": h.verdict, "says": h.says} for h in answer.heard],
        "causes": [_cause(s) for s in answer.suspects],
        "larger": {
            "next_a": found.next_a, "why_not": found.why_not, "answer": "no" if found.refused else
            ("not asked" if found.next_a is None else "raises nothing, and cures nothing"),
            "raises": [finding_json(f) for f in found.raised],
            "conductors": [{"name": n, "size": s} for n, s in found.conductors],
            "left": _rules(found.left),
        },
        "findings": [finding_json(f) for f in answer.findings],
        "complete": answer.complete,
    }  # fmt: skip


def _rules(findings: list[Finding]) -> list[str]:
    return list(dict.fromkeys(f.rule for f in findings))


def _cause(suspect: Suspect) -> dict[str, Any]:
    return {
        "name": suspect.cause.name, "title": suspect.title, "score": suspect.score,
        "weights": [{"by": w.by, "why": w.why, "measured": w.measured} for w in suspect.weights],
        "measure": suspect.measure, "where": suspect.where, "expect": suspect.expect, "trouble": suspect.trouble,
        "caution": suspect.caution,
    }  # fmt: skip


def _time(value: float | None) -> float | str | None:
    return "never" if value == math.inf else value


def _band(seen: Seen, current_a: float) -> list[float | str | None]:
    return [_time(t) for t in seen.band(current_a)]


def _fault(seen: Seen, fault: Fault | None) -> dict[str, Any] | None:
    if fault is None:
        return None
    return {
        "at": spot(seen.study, fault.node), "smallest_a": fault.smallest_a, "largest_a": fault.largest_a,
        "opens_s": [_time(fault.least_s), _time(fault.most_s)], "leans_on": list(fault.leans_on),
        "unknown": fault.unknown,
    }  # fmt: skip
