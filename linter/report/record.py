"""A record of today's findings, so that an old boat can take up the tool: only what is new or graver fails.

The file is JSON: ``format`` "wireworthy record", ``version`` 1, ``caution``, and ``designs``: by the design's file,
seen from the folder of the record, a list of ``rule``, ``element``, ``severity``, ``accepted`` (whether somebody did
then), ``fingerprint`` and ``said`` (for people; not compared).  It is sorted, and the same however the text moves.
What is said of acceptances that are not in order is never recorded: they must not be silenced by a second file.
"""

from __future__ import annotations

import json
import os
from collections import defaultdict
from collections.abc import Collection, Sequence
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any

from linter.report.identity import fingerprint, identities
from linter.report.places import below, shown
from linter.report.standing import Standing, State
from linter.rules.acceptance import NAMES
from linter.rules.engine import Examination
from linter.rules.finding import Finding, Severity

FORMAT, VERSION = "wireworthy record", 1
KNOWN_IS_NOT_SAFE = "What is recorded here is known, not safe: each finding is still to be mended."

#: A large boat with every conductor wrong is a tenth of it.
GREATEST_BYTES = 64 * 1024 * 1024


class BadRecord(Exception):
    """The file is no record; the message says why."""


@dataclass(frozen=True, slots=True)
class Known:
    """One finding of a record."""

    rule: str
    element: str
    severity: Severity
    accepted: bool
    fingerprint: str
    said: str = ""


@dataclass(slots=True)
class Record:
    designs: dict[str, list[Known]] = field(default_factory=dict)


def _folder(path: str) -> Path:
    return Path(os.path.abspath(path)).parent


def _known(result: Examination) -> list[tuple[int, Known]]:
    """What a record holds of a design, each with its place among the findings."""
    found = []
    for number, (finding, key) in enumerate(zip(result.findings, identities(result), strict=True)):
        if finding.rule not in NAMES:
            known = Known(
                finding.rule, finding.subject, finding.severity, bool(finding.accepted), fingerprint(*key),
                shown(finding.message),
            )  # fmt: skip
            found.append((number, known))
    return found


def recorded(results: Sequence[Examination], path: str) -> bytes:
    """The record of ``results`` as it is to stand in the file ``path``."""
    designs = {}
    for result in results:
        known = sorted((k for _, k in _known(result)), key=lambda k: (k.rule, k.element, k.fingerprint))
        designs[below(result.design.path, _folder(path))] = [
            {
                "rule": k.rule, "element": k.element, "severity": k.severity.value, "accepted": k.accepted,
                "fingerprint": k.fingerprint, "said": k.said,
            }
            for k in known
        ]  # fmt: skip
    made = {
        "format": FORMAT,
        "version": VERSION,
        "caution": KNOWN_IS_NOT_SAFE,
        "designs": dict(sorted(designs.items())),
    }
    return (json.dumps(made, indent=1, ensure_ascii=False) + "\n").encode("utf-8", "backslashreplace")


def read(path: str) -> Record:
    """The record in the file ``path``.  Raises BadRecord where there is none, or it is not one in full."""
    try:
        if not Path(path).is_file():
            raise BadRecord("is a folder or no ordinary file" if Path(path).exists() else "no such file")
        if Path(path).stat().st_size > GREATEST_BYTES:
            raise BadRecord(f"is larger than {GREATEST_BYTES // 2**20} MiB")
        text = Path(path).read_bytes().decode("utf-8")
    except (OSError, ValueError) as problem:
        if isinstance(problem, UnicodeDecodeError):
            raise BadRecord("is not UTF-8") from None
        raise BadRecord(f"cannot be read: {getattr(problem, 'strerror', None) or problem}") from None
    try:
        made = json.loads(text)
    except json.JSONDecodeError as problem:
        raise BadRecord(f"line {problem.lineno}, column {problem.colno}: is not JSON: {problem.msg}") from None
    except (RecursionError, ValueError):
        raise BadRecord("is not JSON that a record could be") from None
    if not isinstance(made, dict) or made.get("format") != FORMAT:
        raise BadRecord(f'is no record: "format" is not "{FORMAT}"')
    if made.get("version") != VERSION:
        raise BadRecord(f"has version {str(made.get('version'))[:20]}; this program knows version {VERSION}")
    designs = made.get("designs")
    if not isinstance(designs, dict):
        raise BadRecord('is no record: "designs" is missing')
    record = Record()
    for name, entries in designs.items():
        if not isinstance(entries, list):
            raise BadRecord(f"designs, {name[:80]}: is no list")
        record.designs[name] = [_entry(one, f"designs, {name[:80]}, entry {n}") for n, one in enumerate(entries, 1)]
    return record


def _sayable(text: str) -> str:
    """Without half characters, as JSON can escape them: they could be written nowhere."""
    return text.encode("utf-8", "replace").decode("utf-8")


def _entry(made: Any, where: str) -> Known:
    if not isinstance(made, dict):
        raise BadRecord(f"{where}: is no finding")
    for key in ("rule", "element", "severity", "fingerprint"):
        if not isinstance(made.get(key), str):
            raise BadRecord(f'{where}: "{key}" is missing or no text')
    if not isinstance(made.get("accepted"), bool):
        raise BadRecord(f'{where}: "accepted" is neither true nor false')
    try:
        severity = Severity(made["severity"])
    except ValueError:
        words = ", ".join(s.value for s in Severity)
        raise BadRecord(f'{where}: "severity" is none of {words}') from None
    said = made.get("said", "")
    return Known(
        _sayable(made["rule"]), _sayable(made["element"]), severity, made["accepted"], made["fingerprint"],
        _sayable(said) if isinstance(said, str) else "",
    )  # fmt: skip


def against(results: Sequence[Examination], record: Record, path: str, ran: Collection[str]) -> list[Standing]:
    """Each design beside what ``record``, from the file ``path``, holds of it.  ``ran``: the rules that were chosen;
    of others, and of a design that could not be read in full, nothing is called gone."""
    found = []
    for result in results:
        before: dict[str, list[Known]] = defaultdict(list)
        for known in record.designs.get(below(result.design.path, _folder(path)), []):
            before[known.fingerprint].append(known)
        standing = Standing(result, [State.NEW] * len(result.findings))
        for number, now in _known(result):
            if before[now.fingerprint]:
                was = before[now.fingerprint].pop(0)
                graver = _gravity(now) < _gravity(was)
                standing.states[number] = State.GRAVER if graver else State.KNOWN
                if was.severity is not now.severity:
                    standing.was[number] = f"{was.severity.value}: {was.said}"
                elif was.accepted and not now.accepted:
                    standing.was[number] = f"accepted: {was.said}"
                elif was.said and was.said != now.said:
                    standing.was[number] = was.said
        left = [k for several in before.values() for k in several]
        if result.complete:
            standing.gone = [f"{k.rule} at {k.element}: {k.said}" for k in sorted(left, key=_order) if k.rule in ran]
        # the same rule at the same element, but other words: new, and it helps to see what was known there
        said = {(k.rule, k.element): k.said for k in left}
        for number, finding in enumerate(result.findings):
            if standing.states[number] is State.NEW and (was_said := said.get((finding.rule, finding.subject))):
                standing.was[number] = was_said
        found.append(standing)
    return found


def vanished(record: Record, path: str) -> list[str]:
    """The designs of ``record``, from the file ``path``, whose files are not there any more."""
    return [name for name in record.designs if not os.path.lexists(_folder(path) / name.replace("\0", ""))]


def _gravity(known: Known) -> tuple[bool, int]:
    return known.accepted, known.severity.rank


def _order(known: Known) -> tuple[int, str, str, str]:
    return known.severity.rank, known.rule, known.element, known.fingerprint


def by_revision(result: Examination, new: list[Finding], graver: list[Finding], gone: list[Finding]) -> Standing:
    """The same from a comparison with a revision; ``new`` and ``graver`` are findings of ``result`` themselves."""
    states = {id(f): State.NEW for f in new} | {id(f): State.GRAVER for f in graver}
    return Standing(
        result, [states.get(id(f), State.KNOWN) for f in result.findings],
        [f"{f.rule} at {f.subject}: {f.message}" for f in gone],
    )  # fmt: skip
