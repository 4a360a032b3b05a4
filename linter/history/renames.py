"""Elements that only got another name: everything said of them is the same, and so are their neighbours."""

from __future__ import annotations

import json
from collections import defaultdict
from dataclasses import dataclass, field
from typing import Any

from linter.history.facts import Thing


@dataclass(slots=True)
class Names:
    """Former name -> present name of what was renamed."""

    given: dict[str, str] = field(default_factory=dict)

    def now(self, name: str) -> str:
        return self.given.get(name, name)

    def translated(self, value: Any) -> Any:
        """A list of names, or a dictionary by name, with present names, sorted."""
        if isinstance(value, list):
            return sorted(self.now(v) if isinstance(v, str) else v for v in value)
        if isinstance(value, dict):
            return dict(sorted((self.now(k), v) for k, v in value.items()))
        return value


def renames_of(old: dict[tuple[str, str], Thing], new: dict[tuple[str, str], Thing]) -> Names:
    """Pairs what is gone with what is new where facts and neighbours agree and no other is as like.

    Neighbours that are gone or new themselves count as alike until they are paired, so a whole run may be renamed.
    What lies side by side between the same two points is paired as written: nothing tells it apart, and nothing need.
    """
    names = Names()
    gone = {t.name: t for key, t in old.items() if t.is_element and key not in new}
    fresh = {t.name: t for key, t in new.items() if t.is_element and key not in old}
    meets_old, meets_new = _neighbours(old), _neighbours(new)
    while gone and fresh:

        def known(name: str) -> str:
            return "?" if name in gone else names.now(name)

        def known_new(name: str) -> str:
            return "?" if name in fresh else name

        left: dict[str, list[str]] = defaultdict(list)
        right: dict[str, list[str]] = defaultdict(list)
        for name, thing in gone.items():
            left[_likeness(thing, [known(n) for n in meets_old[name]], known)].append(name)
        for name, thing in fresh.items():
            right[_likeness(thing, [known_new(n) for n in meets_new[name]], known_new)].append(name)
        pairs: list[tuple[str, str]] = []
        for likeness, mine in left.items():
            theirs = right.get(likeness, [])
            if len(mine) == len(theirs) == 1 or (len(mine) == len(theirs) and '"?"' not in likeness):
                pairs += zip(mine, theirs, strict=True)
        if not pairs:
            break
        for was, now in pairs:
            names.given[was] = now
            del gone[was], fresh[now]
    return names


def _neighbours(things: dict[tuple[str, str], Thing]) -> dict[str, set[str]]:
    found: dict[str, set[str]] = defaultdict(set)
    for thing in things.values():
        for end in thing.between:
            for name in end:
                found[thing.name].add(name)
                found[name].add(thing.name)
    return found


def _likeness(thing: Thing, neighbours: list[str], naming: Any) -> str:
    facts = {k: v for k, v in thing.facts.items() if k != "label"}
    return json.dumps(
        [thing.kind, facts, sorted(neighbours), thing.joins(naming)], sort_keys=True, ensure_ascii=False, default=str
    )
