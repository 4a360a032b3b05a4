"""Placing without Graphviz: layers by longest paths, order by the mean place of the neighbours."""

from __future__ import annotations

from collections.abc import Sequence

Thing = tuple[str, int]
# a thing in a column, by the column's number
Place = tuple[int, Thing]
SWEEPS = 6


def longest_paths(pairs: Sequence[tuple[int, int]]) -> dict[int, float]:
    """The layer of each hub: one more than the greatest of those left of it.  The pairs have no ring."""
    after: dict[int, list[int]] = {}
    waiting: dict[int, int] = {}
    for a, b in pairs:
        after.setdefault(a, []).append(b)
        waiting[b] = waiting.get(b, 0) + 1
        waiting.setdefault(a, 0)
    layer = dict.fromkeys(waiting, 0.0)
    ready = [h for h, count in waiting.items() if not count]
    while ready:
        here = ready.pop()
        for there in after.get(here, ()):
            layer[there] = max(layer[there], layer[here] + 1)
            waiting[there] -= 1
            if not waiting[there]:
                ready.append(there)
    return layer


def by_means(columns: Sequence[Sequence[Thing]], edges: Sequence[tuple[Place, Place]]) -> list[list[Thing]]:
    """Each column ordered by the mean place of what its things are joined to in the next, to and fro."""
    left: dict[Place, list[Place]] = {}
    right: dict[Place, list[Place]] = {}
    for a, b in edges:
        right.setdefault(a, []).append(b)
        left.setdefault(b, []).append(a)
    made = [list(c) for c in columns]
    at = {(k, thing): float(n) for k, column in enumerate(made) for n, thing in enumerate(column)}
    for sweep in range(SWEEPS):
        near = right if sweep % 2 else left
        for k in range(len(made) - 1, -1, -1) if sweep % 2 else range(len(made)):
            means = {}
            for thing in made[k]:
                joined = near.get((k, thing))
                means[thing] = sum(at[j] for j in joined) / len(joined) if joined else at[k, thing]
            made[k].sort(key=means.__getitem__)
            at.update({(k, thing): float(n) for n, thing in enumerate(made[k])})
    return made
