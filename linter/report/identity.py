"""What makes a finding the same finding after the text has moved: its rule, its element, and what is wrong."""

from __future__ import annotations

import hashlib
import json
import re
from collections import Counter
from collections.abc import Mapping

from linter.model.elements import Named
from linter.rules.engine import Examination
from linter.rules.finding import Finding

# A figure with its unit, but no digit that belongs to a name, as in W12: figures change with every change elsewhere,
# and the finding is still the same.
_UNITS = r"k?A²s|MA²s|[kMmµ]?(?:A|V|W|Ω|Ah|Wh)|°[CF]|%|AWG|mm2|mm²|mm|cm|m|in|ft|ms|s|min|h"
_FIGURE = re.compile(rf"(?<![\w-])[-−+±≤≥~]?\d[\d.,/]*(?:e[-+]?\d+)?(?:\s?(?:{_UNITS}))?(?![\w²-])")


_LABELLED = re.compile(r"(?<![\w-])([\w-]+) \(([^()]*)\)")


def what_of(finding: Finding, elements: Mapping[str, Named]) -> str:
    """What is wrong, in words: the sentence without figures, and without the labels of ``elements``."""
    return _FIGURE.sub("#", without_labels(finding, elements))


def without_labels(finding: Finding, elements: Mapping[str, Named]) -> str:
    """The sentence of a finding without the labels of ``elements``."""
    said = finding.message
    own = elements.get(finding.subject)
    if own is not None and own.label:
        said = said.replace(f"{own.name} ({own.label})", own.name, 1)

    def named(match: re.Match[str]) -> str:
        element = elements.get(match[1])
        return match[1] if element is not None and element.label == match[2] else match[0]

    return _LABELLED.sub(named, said)


def identities(result: Examination) -> list[tuple[str, str, str, int]]:
    """For each finding of ``result``: rule, element, what is wrong, and which of several that are alike (from 0)."""
    seen: Counter[tuple[str, str, str]] = Counter()
    found = []
    for finding in result.findings:
        key = (finding.rule, finding.subject, what_of(finding, result.design.elements))
        found.append((*key, seen[key]))
        seen[key] += 1
    return found


def fingerprint(*parts: str | int) -> str:
    """The same for the same parts, now and later: half of their SHA-256, as 32 hexadecimal digits."""
    text = json.dumps(parts, ensure_ascii=True, separators=(",", ":"))
    return hashlib.sha256(text.encode("ascii")).hexdigest()[:32]
