"""What `rules` lists and `explain RULE` says."""

from __future__ import annotations

from collections.abc import Iterator

from linter.rules.registry import Rule

_INDENT = "    "


def rule_line(rule: Rule, width: int) -> str:
    return f"{rule.name:<{width}}  {rule.severity.value:<7}  {rule.demand}"


def rule_page(rule: Rule) -> Iterator[str]:
    """A rule in full: demand, reason, clause and status, mend, and the two examples."""
    yield f"{rule.name} ({rule.severity.value})"
    yield ""
    yield rule.demand
    yield ""
    yield rule.reason
    yield ""
    yield f"Clause: {rule.clause}. How it is known here: {rule.status}."
    yield f"Mend: {rule.mend}"
    yield ""
    yield "Wrong:"
    yield from (_INDENT + line for line in rule.bad.splitlines())
    yield ""
    yield "Right:"
    yield from (_INDENT + line for line in rule.good.splitlines())
