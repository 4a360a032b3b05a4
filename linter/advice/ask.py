"""How a change is asked about: examples with names of the design at hand, and which name was probably meant."""

from __future__ import annotations

import difflib
import re
from collections.abc import Mapping

from linter.source.statements import SourceFile, Statement

#: A fact of each kind of thing, as one asks about it.
EXAMPLES = {
    "fuse": "rating 15 A", "breaker": "rating 20 A", "cable": "size 35 mm2", "load": "draws 5 A",
    "inverter": "draws 90 A",
    "battery": "resistance 4 mohm", "alternator": "90 A", "charger": "30 A", "solar": "10 A", "converter": "20 A",
    "switch": "rating 100 A", "selector": "rating 200 A", "relay": "rating 100 A", "diode": "drops 0.5 V",
    "bus": "rating 200 A", "joint": 'says "stud M8"', "place": "ambient 50 °C", "system": "least 10.5 V",
}  # fmt: skip
#: What is no fact of a thing with a name.
HOW_OTHERS = "change a copy of the design, and ask: wireworthy compare DESIGN COPY"
#: So many names are offered at most.
MOST_NAMES = 3
_LONGEST = 80
_LETTERS = re.compile(r"[^\W\d_]+")

Declared = Mapping[tuple[str, str], tuple[Statement, SourceFile]]


def example(name: str, kind: str) -> str:
    """A change of a thing of this kind that can be read."""
    return f"--with '{name} {EXAMPLES.get(kind, 'rating 15 A')}'"


def how(declared: Declared) -> str:
    """What a change looks like, with names that the design has."""
    found: dict[str, str] = {}
    for (sort, name), (statement, _) in declared.items():
        if sort == "element" and statement.kind in {"fuse", "breaker", "cable"}:
            found.setdefault("cable" if statement.kind == "cable" else "device", example(name, statement.kind))
    if not found:
        found = {sort: example(name, s.part_of or s.kind) for (sort, name), (s, _) in declared.items()}
    return "write for instance " + " or ".join(list(found.values())[:2]) if found else "the design declares nothing"


def near_names(word: str, kind: str, declared: Declared) -> str:
    """`did you mean F9 or F10?`: those of other capitals, else of such letters, else so labelled; or nothing."""
    if len(word) > _LONGEST:
        return ""
    every = [n for (sort, n), (s, _) in declared.items() if not kind or kind in {s.kind, sort}]
    every = every or [n for _, n in declared]
    low = word.casefold()
    found = [n for n in every if n.casefold() == low]
    if not found:
        letters = _LETTERS.match(word)
        if letters is not None:
            begins = letters[0].casefold()
            like = [n for n in every if (m := _LETTERS.match(n)) is not None and m[0].casefold() == begins]
            found = difflib.get_close_matches(word, like, MOST_NAMES, 0.3)
    labelled = {n: s.label for (_, n), (s, _) in declared.items() if s.label and n in every}
    if not found:
        found = [n for n, label in labelled.items() if len(low) >= MOST_NAMES and low in label.casefold()][:MOST_NAMES]
    if not found:
        found = difflib.get_close_matches(word, every, MOST_NAMES, 0.5)
    shown = [f"{n} ({labelled[n]})" if n in labelled else n for n in found]
    return f"did you mean {_or(shown)}?" if shown else ""


def _or(names: list[str]) -> str:
    return names[0] if len(names) == 1 else ", ".join(names[:-1]) + " or " + names[-1]
