"""The tool's findings on faults beside the judge's word: every difference as a sentence."""

from __future__ import annotations

from linter.model.design import Design
from linter.model.export import circuit_json
from linter.rules.engine import examine
from linter.rules.registry import rules

from .fault_judge import FAULT_RULES, FaultJudge, FaultWord, Memory

RANK = ["", "advice", "doubt", "fault", "danger"]


def fault_differences(
    design: Design, memory: Memory | None = None
) -> tuple[list[str], FaultWord, dict[tuple[str, str], str]]:
    """(what the two do not agree on, the judge's word, the tool's)"""
    examination = examine(design, [r for r in rules() if r.name in FAULT_RULES])
    said: dict[tuple[str, str], str] = {}
    for finding in examination.findings:
        key = finding.rule, finding.subject
        said[key] = max(said.get(key, ""), finding.severity.value, key=RANK.index)
    word = FaultJudge(circuit_json(design), memory=memory).judge()
    found = [f"broken: {name}: {problem}" for name, problem in examination.broken]
    for key in sorted(said.keys() | word.said.keys()):
        ours, theirs = word.said.get(key, {""}), said.get(key, "")
        if theirs not in ours:
            expected = " or ".join(sorted(ours, key=RANK.index)).strip() or "nothing"
            found.append(f"{key[0]} at {key[1]}: {theirs or 'nothing'}, judge {expected}")
    return found, word, said
