"""The answer as text, Markdown and JSON.

JSON: format "wireworthy tripped", version 1; ``device``, ``when``, ``circuit`` (rated_a, carries_a, place_c, meshed,
loads[], runs[], between), ``scenes[]`` (title, least_a, steady_a, low_a, starts[]: load, amps, seconds, opens_s),
``faults`` (near, far: smallest_a, largest_a, opens_s), ``missing[]``, ``readings[]`` (written, verdict, says, counted),
``conflicts[]`` (readings[]: two that cannot both be so; says; counted: which is all the same, or null),
``causes[]`` (name, title, score, weights[]: by, why, measured; measure, where, expect, trouble, caution;
one that cannot be here, such as a stall without a motor, is left out),
``larger`` (next_a, series, answer,
raises[], stays[], leans_on[], asked[], conductors[], left[]).  ``opens_s``: [may open after, has opened by]; a time may
be "never", null is not told.
"""

from __future__ import annotations

import math
import textwrap
from collections.abc import Iterator
from typing import Any

from linter.advice.tripped.figures import band_words, spot
from linter.advice.tripped.make import Answer, Suspect
from linter.advice.tripped.measured import value_words
from linter.advice.tripped.seen import Fault, InScene, Seen
from linter.advice.tripped.show_larger import larger_lines
from linter.advice.tripped.table import table
from linter.advice.tripped.together import Conflict
from linter.report.caution import CAUTION, MEASURING
from linter.report.data import finding_json
from linter.report.safe import for_terminal
from linter.report.text import Paint, plain
from linter.rules.finding import Finding
from linter.rules.words import amps, article, kiloamps, seconds

WIDE = 100
#: So many causes are told in full, and those as likely as the last of them; of the others a line.
MOST_TOLD = 4
MOST_SCENES = 8
#: So little flows in no conductor that matters, A.
NOTHING_A = 1e-6
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
    found = [f"It is {article(words['fitted'])}, between {words['near']} and {words['far']}."]
    if seen.carries_a is not None:
        at = f" in {words['place']} at {words['place_c']}" if seen.place_c is not None else ""
        found.append(f"It carries {words['carries']}{at} (rated {words['rated']}).")
    if seen.unfed:
        found.append("Nothing feeds it in this design.")
    elif seen.meshed:
        at_end = f" {' and '.join(n.name for n in seen.loads)} stands at its end." if seen.loads else ""
        found.append(f"It stands in a mesh: sources or conductors on both sides share its current.{at_end}")
    else:
        loads = ", ".join(n.name for n in seen.loads) or "no load"
        runs = ", ".join(r.name for r in seen.runs) or "no conductor"
        found.append(f"Behind it: {loads}; by {runs}.")
    return found


def scene_lines(seen: Seen) -> Iterator[str]:
    """What it carries in each scene; scenes with the same figures in one line."""
    told: dict[tuple[str, ...], list[str]] = {}
    for row in sorted(seen.scenes, key=lambda s: -s.steady_a):
        told.setdefault(tuple(_scene(seen, row)), []).append(row.title)
    groups = list(told.items())
    for (first, *others), titles in groups[:MOST_SCENES]:
        yield f"{_scenes(titles)}: {first}"
        yield from others
    left = sum(len(titles) for _, titles in groups[MOST_SCENES:])
    if left:
        yield f"and {left} scene{'s' * (left > 1)} with less; --format json has all"
    if not groups:
        yield "no current flows through it in any scene"


def _scenes(titles: list[str]) -> str:
    """One scene by its title; of several each in quotes, as titles have commas of their own."""
    if len(titles) == 1:
        return titles[0]
    quoted = [f'"{t}"' for t in titles]
    return f"in scenes {', '.join(quoted[:-1])} and {quoted[-1]}"


def _scene(seen: Seen, row: InScene) -> Iterator[str]:
    least = f"{amps(row.least_a)} to " if row.least_a < row.steady_a * 0.999 else ""
    yield f"{least}{amps(row.steady_a)}; {_opens(seen, row.steady_a)}"
    if row.not_carried:
        yield f"  at {seen.least_v:g} V, batteries alone: its loads cannot all be carried"
    elif row.low_a is not None and seen.least_v is not None:
        low = f"{amps(row.low_a)}; {_opens(seen, row.low_a)}"
        if row.low_a <= NOTHING_A < row.steady_a:
            low = "nothing, as what charges is off"
        elif amps(row.low_a) == amps(row.steady_a):
            low = "the same"
        yield f"  at {seen.least_v:g} V, batteries alone: {low}"
    by_figures: dict[str, list[str]] = {}
    for start in row.starts:
        lasts = "for a time that nobody states" if start.seconds is None else f"for {seconds(start.seconds)}"
        by_figures.setdefault(f"{amps(start.amps)} {lasts}; {_opens(seen, start.amps)}", []).append(start.load)
    for figures, loads in by_figures.items():
        which = f"{loads[0]} starts" if len(loads) == 1 else f"{' or '.join(loads)} starts"
        yield f"  as {which}: {figures}"


def _opens(seen: Seen, current_a: float) -> str:
    least_s, most_s = seen.band(current_a)
    if least_s is None and most_s is None:
        over = seen.carries_a is not None and current_a > seen.carries_a
        return "more than its rating, and its curve is not told" if over else "its curve is not told"
    return f"it {band_words(least_s, most_s)}"


def fault_lines(seen: Seen) -> Iterator[str]:
    if seen.unfed:
        yield "not told: nothing feeds it in this design"
        return
    for what, fault in (("right behind it", seen.near_fault), (_far_words(seen), seen.far_fault)):
        if fault is None or (fault is seen.far_fault and seen.near_fault and fault.node == seen.near_fault.node):
            continue
        where = spot(seen.study, fault.node)
        if fault.unknown:
            yield f"a short {what}, {where}: not told, as a figure on its way is missing; `wireworthy check` names it"
            continue
        band = band_words(fault.least_s, fault.most_s)
        leans = f" (leans on {' and '.join(fault.leans_on)})" if fault.leans_on else ""
        if fault.smallest_a is None:
            why = "others share it" if seen.meshed else "its sources limit themselves"
            most = f"at most {kiloamps(fault.largest_a)}{leans}, at which it {band}"
            yield f"a short {what}, {where}: {most}; the least is not told, as {why}"
            continue
        yield f"a short {what}, {where}: {kiloamps(fault.smallest_a)} to {kiloamps(fault.largest_a)}{leans}; it {band}"


def measured_lines(answer: Answer) -> Iterator[str]:
    """What each reading says, and which two cannot both be so."""
    yield from (h.says for h in answer.heard)
    for found in answer.conflicts:
        yield f"These two cannot both be so: {found.says}. {_counted(answer, found)}"
    if any(found.kept >= 0 for found in answer.conflicts):
        yield (
            "Settle that without power first: isolate, take the load off, and read the resistance of the run again; "
            "the load, or something else, may still have been connected."
        )
    elif answer.conflicts:
        yield (
            "Read both again at the same moment, with the same loads on; see that each probe or clamp is where it "
            "should be, and on the right range. What is right then counts."
        )


def _counted(answer: Answer, found: Conflict) -> str:
    if found.kept < 0:
        return "Neither is counted."
    kept = value_words(answer.heard[found.kept].reading)
    why = "as it would be a short or damage"
    return f"{kept} is counted, {why}, the other is not: leave the circuit dead till it is known."


def _far_words(seen: Seen) -> str:
    """The far end, or where the next device takes over."""
    edges, nodes = seen.study.design.circuit.edges, seen.study.design.circuit.nodes
    others = any(edges[i].kind == "device" and i != seen.edge.index for n in seen.behind for i in nodes[n].edges)
    return "at the far end of what no other device guards" if others else "at the far end"


def working(suspect: Suspect) -> str:
    """The score with its factors."""
    factors = " × ".join(f"{w.by:g}" for w in suspect.weights)
    return f"score {suspect.score:.3g}" + (f" = {factors}" if len(suspect.weights) > 1 else "")


def told(answer: Answer) -> tuple[list[Suspect], list[Suspect], list[Suspect]]:
    """(told in full, only named, hardly)."""
    best = answer.suspects[0].score
    likely = [s for s in answer.suspects if s.score >= best * EXCLUDED_SHARE]
    unlikely = [s for s in answer.suspects if s.score < best * EXCLUDED_SHARE]
    # one as likely as the last that is told, by the figure that a reader sees, is told too
    last = f"{likely[:MOST_TOLD][-1].score:.3g}"
    most = sum(1 for n, s in enumerate(likely) if n < MOST_TOLD or f"{s.score:.3g}" == last)
    return likely[:most], likely[most:], unlikely


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
            lines += _wrapped(item, "  ", "      ")
    if seen.missing:
        lines += ["", *_painted("What is not told", "doubt", paint)]
        for item in seen.missing:
            lines += _wrapped(item, "  ")
    if answer.heard:
        lines += ["", *_painted("What was measured", "mark", paint)]
        for item in measured_lines(answer):
            lines += _wrapped(item, "  ")
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
        ("What is not told", iter(seen.missing)), ("What was measured", measured_lines(answer)),
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
        "readings": [
            {"written": h.reading.written, "verdict": h.verdict, "says": h.says, "counted": h.counted}
            for h in answer.heard
        ],
        "conflicts": [
            {"readings": [answer.heard[n].reading.written for n in (c.one, c.other)], "says": c.says,
             "counted": answer.heard[c.kept].reading.written if c.kept >= 0 else None}
            for c in answer.conflicts
        ],
        "causes": [_cause(s) for s in answer.suspects],
        "larger": {
            "next_a": found.next_a, "why_not": found.why_not, "answer": found.answer,
            "series": found.next.of if found.next is not None else None,
            "raises": [finding_json(f) for f in found.raised],
            "stays": [finding_json(f) for f in found.tried.standing],
            "leans_on": [
                {"rule": a.rule, "at": a.subject, "by": a.by, "until": a.until, "reason": a.reason}
                for a in (found.tried.leans_on or found.conductors_lean_on)
            ],
            "asked": [{"load": a.load.name, "asks": a.words, "ranges_a": list(a.ranges)} for a in found.asked],
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
