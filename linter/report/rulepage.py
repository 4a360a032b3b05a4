"""What `rules` lists and `explain RULE` says: for a terminal, as data, and as pages of a site."""

from __future__ import annotations

import json
import textwrap
import tomllib
from collections.abc import Callable, Iterator
from functools import cache
from importlib.resources import files
from pathlib import Path

from linter.report.caution import CAUTION, MEASURING
from linter.report.markdown import fenced, inline
from linter.rules.registry import Rule, pages
from linter.tables.rulebook import Rulebook

_INDENT = "    "
_WIDTH = 100
INDEX = "index.md"


def rule_line(rule: Rule, width: int) -> str:
    return f"{rule.name:<{width}}  {rule.severity.value:<7}  {rule.demand}"


def _distances(book: Rulebook) -> Iterator[str]:
    tied = {"any": "from any supply point", "battery": "from a battery", "charging": "from a charging source"}
    for row in book.distances:
        if row.current != "ac":
            covered = ", covered all the way" if row.covered else ""
            yield f"{tied[row.tied]}{covered}: {row.words} [{row.cite}]"


def _least_sizes(book: Rulebook) -> Iterator[str]:
    for row in book.least_sizes:
        run = "inside a sheath" if row.run == "sheathed" else "run singly"
        longer = f", where longer than {row.longer_than_mm:g} mm" if row.longer_than_mm is not None else ""
        yield f"{run}{longer}: {row.size}{', ' + row.words if row.words else ''} [{row.cite}]"


def _device_limits(book: Rulebook) -> Iterator[str]:
    for row in book.device_limits:
        if row.current == "ac":
            continue
        volts = f"from {row.from_v:g} V" if row.from_v else "at any voltage"
        if row.below_v is not None:
            volts = f"below {row.below_v:g} V"
        more = (
            f", or the next standard rating up to {row.next_standard_up_to:.0%}"
            if row.next_standard_up_to is not None
            else ""
        )
        yield f"{volts}: a guard of at most {row.multiple:.0%} of the capacity{more} [{row.cite}]"


_FIGURES: dict[str, Callable[[Rulebook], Iterator[str]]] = {
    "protection-distance": _distances,
    "conductor-too-small": _least_sizes,
    "conductor-unprotected": _device_limits,
}


def _figures(rule: Rule) -> list[str]:
    """What the rulebooks that come with the program state for it."""
    from linter.tables.rulebook import load, names

    figures = _FIGURES.get(rule.name)
    return [f"{name}: {line}" for name in names() for line in figures(load(name))] if figures is not None else []


@cache
def families() -> dict[str, tuple[str, ...]]:
    """Rules that are read together, by the name of the family."""
    text = files("linter").joinpath("report", "families.toml").read_text(encoding="utf-8")
    return {name: tuple(members) for name, members in tomllib.loads(text)["families"].items()}


def related(rule: Rule) -> list[str]:
    """The other rules of its families, in their order."""
    found = [name for members in families().values() if rule.name in members for name in members]
    return [name for name in dict.fromkeys(found) if name != rule.name]


def _wrapped(words: str) -> list[str]:
    return textwrap.wrap(words, _WIDTH, break_on_hyphens=False)


def rule_page(rule: Rule) -> Iterator[str]:
    """A rule in full: demand, reason, clause and status, what to measure on board, mend, examples, related rules."""
    yield f"{rule.name} ({rule.severity.value})"
    for words in (rule.demand, rule.reason):
        yield ""
        yield from _wrapped(words)
    yield ""
    yield from _wrapped(f"Clause: {rule.clause}. How it is known here: {rule.status}.")
    yield from _wrapped(f"Mend: {rule.mend}")
    yield ""
    if rule.measure:
        yield from _wrapped(f"On board: {rule.measure} {MEASURING}")
        yield ""
    figures = _figures(rule)
    if figures:
        yield "Figures of the rulebooks that come with wireworthy:"
        yield from (_INDENT + line for line in figures)
        yield ""
    yield "Wrong:"
    yield from (_INDENT + line for line in rule.bad.splitlines())
    yield ""
    yield "Right:"
    yield from (_INDENT + line for line in rule.good.splitlines())
    if near := related(rule):
        yield ""
        yield from _wrapped(f"Read with it: {', '.join(near)}.")


def rule_json(rule: Rule) -> str:
    data = {
        "format": "wireworthy rule",
        "version": 1,
        "name": rule.name,
        "severity": rule.severity.value,
        "demand": rule.demand,
        "reason": rule.reason,
        "clause": rule.clause,
        "status": rule.status,
        "mend": rule.mend,
        "measure": rule.measure,
        "figures": _figures(rule),
        "bad": rule.bad,
        "good": rule.good,
        "related": related(rule),
    }
    return json.dumps(data, indent=1, ensure_ascii=False) + "\n"


def rule_markdown(rule: Rule) -> str:
    """A rule as a page of a site; the pages of related rules stand beside it."""
    lines = [f"# {rule.name}", "", f"**{rule.severity.value}.** {inline(rule.demand)}", "", inline(rule.reason), ""]
    lines += ["## Whose demand", "", f"{inline(rule.clause)}. How it is known here: {rule.status}.", ""]
    figures = _figures(rule)
    if figures:
        lines += ["Figures of the rulebooks that come with wireworthy:", ""]
        lines += [*(f"- {inline(line)}" for line in figures), ""]
    lines += ["## Wrong", "", *fenced(rule.bad, "boat"), "", "## Right", "", *fenced(rule.good, "boat"), ""]
    if rule.measure:
        lines += ["## What to measure on board", "", inline(rule.measure), "", inline(MEASURING), ""]
    lines += ["## Mend", "", inline(rule.mend), ""]
    near = [r for r in related(rule) if r in {p.name for p in pages()}]
    if near:
        lines += ["## Read with it", "", *(f"- {_link(name)}" for name in near), ""]
    lines += [f"[All rules]({INDEX})", ""]
    return "\n".join(lines)


def _link(name: str) -> str:
    return f"[{name}]({name}.md)"


def index_markdown() -> str:
    """The first page: every rule by family, with what it demands."""
    every = {rule.name: rule for rule in pages()}
    lines = ["# Rules", "", "What `wireworthy check` examines, and what it asks for.", ""]
    shown = dict(families())
    left = tuple(name for name in every if not any(name in members for members in shown.values()))
    if left:
        shown["Others"] = left
    for family, members in shown.items():
        lines += [f"## {inline(family)}", ""]
        for name in members:
            if name in every:
                lines.append(f"- {_link(name)} ({every[name].severity.value}): {inline(every[name].demand)}")
        lines.append("")
    return "\n".join([*lines, inline(CAUTION), ""])


def write_pages(folder: str) -> list[str]:
    """Write the index and a page for each rule into a folder, which is made where it is not there; each file is written
    whole, and one that would stay the same is left alone.  Gives the names.  Raises OSError."""
    from linter.whole import write_whole

    target = Path(folder)
    target.mkdir(parents=True, exist_ok=True)
    made = {f"{rule.name}.md": rule_markdown(rule) for rule in pages()} | {INDEX: index_markdown()}
    for name, text in made.items():
        path, data = target / name, text.encode("utf-8")
        if not path.is_file() or path.read_bytes() != data:
            write_whole(path, data)
    return sorted(made)
