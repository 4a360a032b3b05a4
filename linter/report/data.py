"""Findings and studies as data: JSON."""

from __future__ import annotations

import math
from collections.abc import Iterable
from typing import TYPE_CHECKING, Any

from linter.report.caution import CAUTION, EXAMINED
from linter.report.rows import rounded
from linter.report.text import counts, open_findings, remembered
from linter.rules.engine import Examination
from linter.rules.finding import Finding, Severity
from linter.source.span import Mistake, Span
from linter.study.bears import bears_ohm
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
        "missing": finding.missing or None,
        "related": _related(finding.related),
        "accepted": finding.accepted or None,
    }


def study_json(study: Study, findings: Iterable[Finding] = ()) -> dict[str, Any]:
    """What `study --format json` prints: every conductor with its reckoning.  ``findings``: of the same design; those
    open on a conductor or its guard stand beside its verdict."""
    found = open_findings(study, findings)
    return {
        "format": "wireworthy study",
        "version": 1,
        "boat": study.design.boat,
        "rulebooks": [b.name for b in study.rulebooks],
        "complete": not any(m.loses for m in [*study.design.mistakes, *study.mistakes]),
        "caution": CAUTION,
        "conductors": [_conductor(study, c, found.get(n, [])) for n, c in study.conductors.items()],
    }


def _conductor(study: Study, made: ConductorStudy, open_: list[Finding]) -> dict[str, Any]:
    circuit = study.design.circuit
    stretch = made.stretch
    return {
        "id": made.conductor.name,
        "label": made.conductor.label,
        "from": circuit.nodes[made.edge.u].name,
        "to": circuit.nodes[made.edge.v].name,
        "size": made.conductor.size.text if made.conductor.size else None,
        "length_m": made.conductor.length_m,
        "ampacity_a": rounded(made.ampacity_a),
        "allowed_a": rounded(made.allowed_a),
        "let_through_a": rounded(made.let_through_a),
        "let_through_unlimited": math.isinf(made.let_through_a),
        "guard": list(made.guard),
        "margin_a": rounded(made.margin_a),
        "verdict": made.verdict.value,
        "open_findings": [{"rule": f.rule, "element": f.subject, "severity": f.severity.value} for f in open_],
        "distance_m": rounded(made.distance_m),
        "problem": stretch.problem if stretch else "",
        "load_current_a": rounded(made.load.amps) if made.load else 0.0,
        "load_case": made.load.case if made.load else "",
        "prospective": prospective(study, made),
        "clearing": [_clearing(study, way) for way in study.clears(made)],
        "bears_ohm": rounded(bears_ohm(study, made)),
        "reckoning": [
            {
                "rulebook": c.rulebook.name,
                "row": c.row,
                "column_c": c.column_c,
                "table_a": c.table_a,
                "factors": [{"value": round(f.value, 6), "why": f.why, "clause": str(f.cite)} for f in c.factors],
                "ampacity_a": rounded(c.ampacity_a),
                "allowed_a": rounded(c.allowed_a),
                "status": c.status,
                "missing": list(c.missing),
            }
            for c in made.capacities
        ],
    }


def prospective(study: Study, made: ConductorStudy) -> dict[str, Any]:
    """Fault currents at a conductor's ends, in A; null where a figure that decides them is missing (``unknown``: one
    of them is), or where only sources that limit themselves reach it (``smallest_a``, ``smallest_unknown`` not set).

    ``largest_at_most``: a conductor on the way is of unknown size or length and counts as nil, so the largest is a
    bound.
    """
    faults = study.faults()
    ends = (made.edge.u, made.edge.v)
    largest = [faults.largest(n) for n in ends]
    smallest = [s for n in ends if (s := faults.smallest(n)) is not None]
    least = min(smallest, key=lambda p: p.amps, default=None)
    drives = [p.drive for p in (*largest, *smallest) if p.drive is not None]
    # nothing is told of a source: then no figure here is worth anything
    untold = any(d.unknown for d in drives)
    no_largest = [untold or p.unknown for p in largest]
    no_smallest = untold or any(p.unknown for p in smallest)
    return {
        "largest_from_a": None if no_largest[0] else rounded(largest[0].amps),
        "largest_to_a": None if no_largest[1] else rounded(largest[1].amps),
        "largest_at_most": not any(no_largest) and any(at_most(study, n) for n in ends),
        "smallest_a": None if no_smallest or least is None else rounded(least.amps),
        "smallest_unknown": no_smallest,
        "unknown": no_smallest or any(no_largest),
        "leans_on": sorted({words for d in drives for words in d.leans_on}),
    }


def at_most(study: Study, node: int) -> bool:
    """Whether the largest fault current at a node is a bound: a conductor of unknown size or length on the way to it,
    or in the rings that feed it, counts as nil."""
    faults = study.faults()
    point = faults.points.get(node)
    if point is None:
        return False
    piece = faults.piece_of.get(point.core_node)
    key = ("counted as nil", id(piece))
    if piece is not None and key not in faults.solved:
        faults.solved[key] = any(math.isinf(faults.edges[e].greatest_ohm) for e in piece.edges)
    return math.isinf(point.greatest_ohm) or bool(faults.solved.get(key))


def _clearing(study: Study, way: Clears) -> dict[str, Any]:
    """How a fault is cleared by one way a conductor is fed: the smallest fault, and the worst heat; ``told``: the
    curves of all devices that carry the current reach so far.  ``beyond`` that the heat is a bound.  Where a figure
    that decides the currents is missing (``unknown``) they, the times and the heat are null."""
    circuit = study.design.circuit

    def moment(at: Moment) -> dict[str, Any]:
        if way.unknown:
            return {"current_a": None, "opens_s": None, "opened_by": None, "told": False}
        return {
            "current_a": rounded(at.amps),
            "opens_s": rounded(at.seconds),
            "opened_by": circuit.edges[at.by].element.name if at.by >= 0 else None,
            "told": at.told,
        }

    def heated(heat: Heat | None) -> dict[str, Any] | None:
        if heat is None or way.unknown:
            return None
        return {
            **moment(heat.moment),
            "let_through_a2s": rounded(heat.a2s),
            "withstand_a2s": rounded(heat.withstand.a2s),
            "k": rounded(heat.withstand.k),
            "from_c": rounded(heat.withstand.initial_c),
            "to_c": rounded(heat.withstand.final_c),
        }

    return {
        "sources": [e.name for s in way.sources if (e := circuit.nodes[s].element) is not None],
        "devices": [circuit.edges[e].element.name for e in way.chain],
        "unknown": way.unknown,
        "leans_on": list(way.leans_on),
        "smallest": moment(way.first),
        "largest_a": None if way.unknown else rounded(way.largest_a),
        "worst_heat": heated(way.heat),
        "worst_heat_beyond": heated(way.beyond),
    }
