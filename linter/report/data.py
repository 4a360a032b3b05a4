"""Findings and studies as data: JSON, and rows for tables and CSV."""

from __future__ import annotations

import csv
import io
import math
from typing import TYPE_CHECKING, Any

from linter.report.caution import CAUTION, EXAMINED
from linter.report.safe import for_csv
from linter.report.text import counts, remembered
from linter.rules.engine import Examination
from linter.rules.finding import Finding, Severity
from linter.source.span import Mistake, Span
from linter.study.study import ConductorStudy, Study

if TYPE_CHECKING:
    from linter.study.opening import Clears, Heat, Moment


def examinations_json(results: list[Examination]) -> dict[str, Any]:
    """What `check --format json` prints.  Positions are counted from 1, columns in code points."""
    return {
        "format": "wireworthy findings",
        "version": 1,
        "examined": EXAMINED,
        "caution": CAUTION,
        "designs": [_examination(r) for r in results],
    }


def _examination(result: Examination) -> dict[str, Any]:
    open_, accepted = counts(result)
    return {
        "path": result.design.path,
        "boat": result.design.boat,
        "rulebooks": [b.name for b in result.study.rulebooks],
        "complete": result.complete,
        "counts": {s.value: open_[s] for s in Severity} | {"accepted": accepted},
        "errors": [_mistake(m) for m in result.mistakes],
        "findings": [finding_json(f) for f in result.findings],
        "quiet_rules": result.quiet,
        "broken_rules": [{"rule": r, "problem": p} for r, p in result.broken],
        "remarks": [*result.study.remarks, *remembered(result)],
    }


def _span(span: Span) -> dict[str, Any]:
    line, column = span.text.position(span.start)
    end_line, end_column = span.text.position(span.end)
    return {"path": span.path, "line": line, "column": column, "end_line": end_line, "end_column": end_column}


def _related(related: tuple[tuple[Span, str], ...]) -> list[dict[str, Any]]:
    return [{"at": _span(s), "what": w} for s, w in related]


def _mistake(mistake: Mistake) -> dict[str, Any]:
    return {
        "at": _span(mistake.span), "message": mistake.message, "mend": mistake.mend, "loses": mistake.loses,
        "related": _related(mistake.related),
    }  # fmt: skip


def finding_json(finding: Finding) -> dict[str, Any]:
    return {
        "rule": finding.rule,
        "severity": finding.severity.value,
        "element": finding.subject,
        "at": _span(finding.span),
        "message": finding.message,
        "mend": finding.mend,
        "clause": finding.clause,
        "status": finding.status,
        "guard": list(finding.guard),
        "related": _related(finding.related),
        "accepted": finding.accepted or None,
    }


def _finite(value: float | None) -> float | None:
    """JSON knows no infinity: null stands for unlimited where the key says so."""
    return None if value is None or math.isinf(value) else round(value, 6)


def study_json(study: Study) -> dict[str, Any]:
    """What `study --format json` prints: every conductor with its reckoning."""
    return {
        "format": "wireworthy study",
        "version": 1,
        "boat": study.design.boat,
        "rulebooks": [b.name for b in study.rulebooks],
        "complete": not any(m.loses for m in [*study.design.mistakes, *study.mistakes]),
        "caution": CAUTION,
        "conductors": [_conductor(study, c) for c in study.conductors.values()],
    }


def _conductor(study: Study, made: ConductorStudy) -> dict[str, Any]:
    circuit = study.design.circuit
    stretch = made.stretch
    return {
        "id": made.conductor.name,
        "label": made.conductor.label,
        "from": circuit.nodes[made.edge.u].name,
        "to": circuit.nodes[made.edge.v].name,
        "size": made.conductor.size.text if made.conductor.size else None,
        "length_m": made.conductor.length_m,
        "ampacity_a": _finite(made.ampacity_a),
        "allowed_a": _finite(made.allowed_a),
        "let_through_a": _finite(made.let_through_a),
        "let_through_unlimited": math.isinf(made.let_through_a),
        "guard": list(made.guard),
        "margin_a": _finite(made.margin_a),
        "verdict": made.verdict.value,
        "distance_m": _finite(made.distance_m),
        "problem": stretch.problem if stretch else "",
        "load_current_a": _finite(made.load.amps) if made.load else 0.0,
        "load_case": made.load.case if made.load else "",
        "prospective": _prospective(study, made),
        "clearing": [_clearing(study, way) for way in study.clears(made)],
        "reckoning": [
            {
                "rulebook": c.rulebook.name,
                "row": c.row,
                "column_c": c.column_c,
                "table_a": c.table_a,
                "factors": [{"value": round(f.value, 6), "why": f.why, "clause": str(f.cite)} for f in c.factors],
                "ampacity_a": _finite(c.ampacity_a),
                "allowed_a": _finite(c.allowed_a),
                "status": c.status,
                "missing": list(c.missing),
            }
            for c in made.capacities
        ],
    }


def _prospective(study: Study, made: ConductorStudy) -> dict[str, Any]:
    """Fault currents at a conductor's ends, in A; null where nothing says what a source's resistance is."""
    faults = study.faults()
    ends = (made.edge.u, made.edge.v)
    largest = [faults.largest(n) for n in ends]
    smallest = [s for n in ends if (s := faults.smallest(n)) is not None]
    least = min(smallest, key=lambda p: p.amps, default=None)
    drives = [p.drive for p in (*largest, *smallest) if p.drive is not None]
    unknown = any(d.unknown for d in drives)
    return {
        "largest_from_a": None if unknown else _finite(largest[0].amps),
        "largest_to_a": None if unknown else _finite(largest[1].amps),
        "smallest_a": None if unknown or least is None else _finite(least.amps),
        "unknown": unknown,
        "leans_on": sorted({words for d in drives for words in d.leans_on}),
    }


def _clearing(study: Study, way: Clears) -> dict[str, Any]:
    """How a fault is cleared by one way a conductor is fed: the smallest fault, and the worst heat; ``told``: the curve
    of the nearest device reaches so far.  ``beyond`` that the heat is a bound."""
    circuit = study.design.circuit

    def moment(at: Moment) -> dict[str, Any]:
        return {
            "current_a": _finite(at.amps),
            "opens_s": _finite(at.seconds),
            "opened_by": circuit.edges[at.by].element.name if at.by >= 0 else None,
            "told": at.told,
        }

    def heated(heat: Heat | None) -> dict[str, Any] | None:
        if heat is None:
            return None
        return {
            **moment(heat.moment),
            "let_through_a2s": _finite(heat.a2s),
            "withstand_a2s": _finite(heat.withstand.a2s),
            "k": _finite(heat.withstand.k),
            "from_c": _finite(heat.withstand.initial_c),
            "to_c": _finite(heat.withstand.final_c),
        }

    return {
        "sources": [e.name for s in way.sources if (e := circuit.nodes[s].element) is not None],
        "devices": [circuit.edges[e].element.name for e in way.chain],
        "unknown": way.unknown,
        "leans_on": list(way.leans_on),
        "smallest": moment(way.first),
        "largest_a": _finite(way.largest_a),
        "worst_heat": heated(way.heat),
        "worst_heat_beyond": heated(way.beyond),
    }


COLUMNS = (
    "conductor", "from", "to", "size", "length m", "rulebook", "table A", "factors", "capacity A", "allowed A",
    "let-through A", "guard", "margin A", "load A", "largest fault A", "smallest fault A", "opens in s", "heat %",
    "verdict",
)  # fmt: skip


def study_rows(study: Study) -> list[list[str]]:
    """One row a conductor, for a table; figures as text, empty where a figure is not known."""
    circuit = study.design.circuit
    rows = []
    for made in study.conductors.values():
        governing = made.governing
        factors = " × ".join(f"{f.value:.3g}" for f in governing.factors if f.value != 1.0) if governing else ""
        verdict = made.verdict.value
        if made.distance_m is not None:
            verdict += f" ({made.distance_m:.3g} m)"
        rows.append(
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
                verdict,
            ]
        )
    return rows


def _faults_shown(study: Study, made: ConductorStudy) -> tuple[str, str]:
    """Largest and smallest prospective current; ? where nothing says what a source's resistance is, ~ before a figure
    that leans on a rough one."""
    figures = _prospective(study, made)
    if figures["unknown"]:
        return "?", "?"
    rough = "~" if figures["leans_on"] else ""
    largest = max(figures["largest_from_a"] or 0.0, figures["largest_to_a"] or 0.0)
    smallest = figures["smallest_a"]
    return f"{rough}{_figure(largest)}", "" if smallest is None else f"{rough}{_figure(smallest)}"


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


def _figure(value: float | None) -> str:
    if value is None:
        return ""
    if math.isinf(value):
        return "unlimited" if value > 0 else "none"
    return f"{value:.4g}"


def study_csv(study: Study) -> str:
    out = io.StringIO()
    writer = csv.writer(out, lineterminator="\r\n")
    writer.writerow(COLUMNS)
    writer.writerows([[_csv(cell) for cell in row] for row in study_rows(study)])
    return out.getvalue()


def _csv(cell: str) -> str:
    """A figure stays a figure, also a negative one; what is no figure is guarded."""
    try:
        float(cell)
    except ValueError:
        return for_csv(cell)
    return cell
