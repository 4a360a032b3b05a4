"""The conductors of a study as rows, for the terminal and for CSV."""

from __future__ import annotations

import math
from collections.abc import Iterable

from linter.report.data import prospective
from linter.report.rows import Rows
from linter.report.text import open_findings
from linter.rules.finding import Finding, Severity
from linter.study.bears import bears_ohm
from linter.study.study import ConductorStudy, Study, Verdict

COLUMNS = (
    "conductor", "from", "to", "size", "length m", "rulebook", "table A", "factors", "capacity A", "allowed A",
    "let-through A", "guard", "margin A", "load A", "largest fault A", "smallest fault A", "opens in s", "heat %",
    "bears mΩ", "verdict", "distance m", "open findings",
)  # fmt: skip

# What a person looks for first: is it guarded, by what, and how near it is to being not.
FIRST = (
    "conductor", "verdict", "guard", "size", "allowed A", "let-through A", "opens in s", "heat %", "load A",
    "capacity A", "from", "to", "bears mΩ", "length m", "smallest fault A", "largest fault A", "margin A",
)  # fmt: skip
FIGURES = frozenset(c for c in COLUMNS if c.endswith((" m", " A", " s", " %", " mΩ")))
MARKS = {
    "?": "protected?  by its ratings, but a figure is missing for it, its guard or a source: `check` says which.",
    "!": "protected!  by its ratings, but a danger or fault is open on it or its guard: `check` says which.",
}


def conductor_rows(study: Study, findings: Iterable[Finding] = ()) -> Rows:
    """One row a conductor; figures as text, empty where a figure is not known.

    ``bears mΩ``: how much more resistance the loop of its smallest fault bears before its guard no longer opens in
    time.  ``findings``: those that nobody accepted mark a verdict that ratings alone would not.
    """
    circuit = study.design.circuit
    found = open_findings(study, findings)
    cells, marks = [], set()
    for made in study.conductors.values():
        governing = made.governing
        factors = " × ".join(f"{f.value:.3g}" for f in governing.factors if f.value != 1.0) if governing else ""
        mine = found.get(made.conductor.name, ())
        mark = marked(made, mine, any(way.unknown or way.leans_on for way in study.clears(made)))
        marks.add(mark)
        cells.append(
            [
                made.conductor.name,
                circuit.nodes[made.edge.u].name,
                circuit.nodes[made.edge.v].name,
                made.conductor.size.text if made.conductor.size else "",
                f"{made.conductor.length_m:g}" if made.conductor.length_m is not None else "",
                governing.rulebook.name if governing else "",
                f"{governing.table_a:g}" if governing else "",
                factors or "1",
                _figure(governing.ampacity_a if governing else None),
                _figure(made.allowed_a),
                _figure(made.let_through_a),
                " + ".join(made.guard) if made.guard else "none" if made.let_through_a else "",
                _figure(made.margin_a),
                _figure(made.load.amps if made.load else 0.0),
                *_faults_shown(study, made),
                *_clearing_shown(study, made),
                _bears_shown(study, made),
                made.verdict.value + mark,
                f"{made.distance_m:.3g}" if made.distance_m is not None else "",
                " ".join(dict.fromkeys(f.rule for f in mine)),
            ]
        )
    legend = tuple(words for mark, words in MARKS.items() if mark in marks)
    return Rows(COLUMNS, FIGURES, cells, FIRST, legend)


def marked(made: ConductorStudy, mine: Iterable[Finding], leans: bool = False) -> str:
    """What stands behind the word of a verdict that ratings alone would give.  ``leans``: its fault currents rest on a
    source whose figures nobody stated."""
    graves = {f.severity for f in mine}
    if made.verdict is not Verdict.PROTECTED or not (graves or leans):
        return ""
    return "!" if graves & {Severity.DANGER, Severity.FAULT} else "?"


def _faults_shown(study: Study, made: ConductorStudy) -> tuple[str, str]:
    """Largest and smallest prospective current; ? where a figure that decides it is missing, ~ before one that leans on
    a rough one, ≤ before a largest that counts a conductor of unknown size or length as nil."""
    figures = prospective(study, made)
    rough = "~" if figures["leans_on"] else ""
    ends = (figures["largest_from_a"], figures["largest_to_a"])
    smallest = figures["smallest_a"]
    least = "?" if figures["smallest_unknown"] else "" if smallest is None else f"{rough}{_figure(smallest)}"
    if None in ends:
        return "?", least
    return f"{'≤' if figures['largest_at_most'] else ''}{rough}{_figure(max(ends))}", least


def _clearing_shown(study: Study, made: ConductorStudy) -> tuple[str, str]:
    """In how many s the smallest fault opens a device at the latest, and the worst heat, per cent of what the conductor
    stands; ? where a source's figure is missing, ≤ where the curve ends sooner and the figure is only a bound."""
    ways = study.clears(made)
    if not ways:
        return "", ""
    if any(w.unknown for w in ways):
        return "?", "?"
    late = max(ways, key=lambda w: w.first.seconds)
    opens = "never" if math.isinf(late.first.seconds) else f"{late.first.seconds:.3g}"
    hot = max((h for w in ways for h in (w.heat, w.beyond) if h is not None), key=lambda h: h.share, default=None)
    heat = "" if hot is None else f"{hot.share * 100:.3g}"
    return (opens if late.first.told else f"≤{opens}"), (heat if hot is None or hot.moment.told else f"≤{heat}")


def _bears_shown(study: Study, made: ConductorStudy) -> str:
    ohm = bears_ohm(study, made)
    return "" if ohm is None else f"{ohm * 1000:.3g}"


def _figure(value: float | None) -> str:
    if value is None:
        return ""
    if math.isinf(value):
        return "unlimited" if value > 0 else "none"
    return f"{value:.0f}" if abs(value) >= 1000 else f"{value:.4g}"
