"""The smallest part of a text that still shows something: lines, then facts, are left out one after the other."""

from __future__ import annotations

from collections.abc import Callable


def smallest(text: str, shows: Callable[[str], bool]) -> str:
    """``text`` with all left out that can be without ``shows`` becoming false."""
    lines = text.rstrip("\n").split("\n")
    size = max(1, len(lines) // 2)
    while size:
        at, shorter = 0, False
        while at < len(lines):
            tried = lines[:at] + lines[at + size :]
            if tried and shows("\n".join(tried) + "\n"):
                lines, shorter = tried, True
            else:
                at += size
        if not shorter:
            size //= 2
    changed = True
    while changed:
        changed = False
        for k, line in enumerate(lines):
            facts = line.split(", ")
            for at in range(len(facts) - 1, 0, -1):
                tried = [*lines[:k], ", ".join(facts[:at] + facts[at + 1 :]), *lines[k + 1 :]]
                if shows("\n".join(tried) + "\n"):
                    lines, changed = tried, True
                    break
    return "\n".join(lines) + "\n"
