"""The choice that costs least among those that nothing found so far rules out.

It is an integer program: one yes-or-no for each option, exactly one yes for each element, and for each finding not all
of what it names.  HiGHS, in scipy, solves it exactly.
"""

from __future__ import annotations

import math
import os
import sys
from collections.abc import Iterator, Sequence
from contextlib import contextmanager
from typing import Any

from linter.advice.clauses import Ruled
from linter.advice.options import Open

# Branches after which the search is given up as too tangled to be proved; a boat's circuits take a handful.
GREATEST_BRANCHES = 20_000
# Nor longer than this for one program: who waits had better name fewer elements.
PATIENCE_S = 4.0

# copper in mg, so that sums are exact; then ratings, and which sheet
Cost = tuple[int, float]


class TooTangled(Exception):
    """The search did not end within its bounds: nothing is proved."""


# What has been solved: a group's elements and its findings -> the least choice, or None where there is none.
Solved = dict[tuple[tuple[int, ...], frozenset[Ruled]], "dict[int, int] | None"]


def least(
    opens: Sequence[Open], ruled: Sequence[Ruled], solved: Solved | None = None
) -> tuple[list[int] | None, list[Ruled]]:
    """The least choice, as an option's index for each open element; or None, and a group of findings that leave none.

    Least is: the least copper in all, then the least ratings.  ``solved`` keeps what need not be solved again.
    Raises TooTangled.
    """
    known = solved if solved is not None else {}
    choice = [0] * len(opens)
    for members, clauses in groups(len(opens), ruled):
        key = tuple(members), frozenset(clauses)
        if key not in known:
            known[key] = _solve(members, opens, clauses)
        found = known[key]
        if found is None:
            return None, clauses
        for variable, option in found.items():
            choice[variable] = option
    return choice, []


def groups(count: int, ruled: Sequence[Ruled]) -> list[tuple[list[int], list[Ruled]]]:
    """The open elements in groups that some finding ties together, each with its findings."""
    root = list(range(count))

    def find(i: int) -> int:
        while root[i] != i:
            root[i] = root[root[i]]
            i = root[i]
        return i

    for clause in ruled:
        first, *others = clause.variables
        for variable in others:
            root[find(variable)] = find(first)
    made: dict[int, tuple[list[int], list[Ruled]]] = {}
    for variable in range(count):
        made.setdefault(find(variable), ([], []))[0].append(variable)
    for clause in ruled:
        made[find(next(iter(clause.variables)))][1].append(clause)
    return list(made.values())


def cost_of(one: Open, option: int) -> Cost:
    """What an option costs: copper, then, for a device, its rating in A and a little for each sheet further down."""
    made = one.options[option]
    return round(made.copper_kg * 1e6), 0.0 if one.conductor else made.rank[0] + made.rank[1] / 1000


def cost_in_all(opens: Sequence[Open], choice: Sequence[int]) -> Cost:
    """What a choice costs."""
    costs = [cost_of(one, option) for one, option in zip(opens, choice, strict=True)]
    return sum(c[0] for c in costs), round(sum(c[1] for c in costs), 6)


# Up to so many combinations each is looked at, which is quicker than the program.
LOOKED_AT = 60_000


def _solve(members: Sequence[int], opens: Sequence[Open], clauses: Sequence[Ruled]) -> dict[int, int] | None:
    """The least choice of these elements under these findings; None where there is none."""
    if not clauses:
        return {v: min(range(len(opens[v].options)), key=lambda o, v=v: cost_of(opens[v], o)) for v in members}  # type: ignore[misc]
    if math.prod(len(opens[v].options) for v in members) <= LOOKED_AT:
        return _looked_at(members, opens, clauses)
    return _programmed(members, opens, clauses)


def _looked_at(members: Sequence[int], opens: Sequence[Open], clauses: Sequence[Ruled]) -> dict[int, int] | None:
    """The same by looking at every combination."""
    import numpy as np

    axis = {v: i for i, v in enumerate(members)}
    shape = [len(opens[v].options) for v in members]
    copper, ratings = np.zeros(shape, np.int64), np.zeros(shape)
    for v, i in axis.items():
        along = [1] * len(shape)
        along[i] = shape[i]
        costs = [cost_of(opens[v], option) for option in range(shape[i])]
        copper += np.array([c[0] for c in costs], np.int64).reshape(along)
        ratings += np.array([c[1] for c in costs]).reshape(along)
    fit = np.ones(shape, bool)
    for clause in clauses:
        at = [list(range(n)) for n in shape]
        for v, options in clause.within:
            at[axis[v]] = sorted(options)
        if not clause.parts:
            fit[np.ix_(*at)] = False
            continue
        summed = np.zeros([1] * len(shape))
        for v, figures in clause.parts:
            along = [1] * len(shape)
            along[axis[v]] = len(at[axis[v]])
            summed = summed + np.array(figures)[at[axis[v]]].reshape(along)
        fit[np.ix_(*at)] &= summed <= clause.above
    left = np.flatnonzero(fit)
    if not len(left):
        return None
    flat, second = copper.ravel()[left], ratings.ravel()[left]
    left, second = left[flat == flat.min()], second[flat == flat.min()]
    picked = np.unravel_index(left[int(np.argmin(np.round(second, 6)))], shape)
    return {v: int(picked[i]) for v, i in axis.items()}


def _programmed(members: Sequence[int], opens: Sequence[Open], clauses: Sequence[Ruled]) -> dict[int, int] | None:
    """The same by an integer program."""
    import numpy as np
    from scipy.sparse import coo_array

    first: dict[int, int] = {}
    count = 0
    for v in members:
        first[v] = count
        count += len(opens[v].options)
    rows: list[int] = []
    columns: list[int] = []
    entries: list[float] = []
    least_of: list[float] = []
    greatest_of: list[float] = []
    for v in members:
        rows += [len(least_of)] * len(opens[v].options)
        columns += range(first[v], first[v] + len(opens[v].options))
        entries += [1.0] * len(opens[v].options)
        least_of.append(1.0)
        greatest_of.append(1.0)
    for clause in clauses:
        each, most = _row(clause)
        for v, option, entry in each:
            rows.append(len(least_of))
            columns.append(first[v] + option)
            entries.append(entry)
        least_of.append(-np.inf)
        greatest_of.append(most)
    costs = [cost_of(opens[v], option) for v in members for option in range(len(opens[v].options))]
    copper = np.array([c[0] for c in costs], float)
    if not copper.any():
        copper = np.array([c[1] for c in costs], float)
    table = coo_array((entries, (rows, columns)), shape=(len(least_of), count))
    picked = _integer(copper, table, least_of, greatest_of)
    if picked is None:
        return None
    made = {v: max(range(len(opens[v].options)), key=lambda o, at=first[v]: picked[at + o]) for v in members}  # type: ignore[misc]
    return _least_ratings(made, opens, clauses)


def _least_ratings(made: dict[int, int], opens: Sequence[Open], clauses: Sequence[Ruled]) -> dict[int, int]:
    """The least ratings with these conductors."""
    devices = [v for v in made if not opens[v].conductor]
    left: list[Ruled] = []
    for clause in clauses:
        others = [(v, options) for v, options in clause.within if opens[v].conductor]
        if any(made[v] not in options for v, options in others):
            continue
        if clause.parts and sum(figures[made[v]] for v, figures in clause.parts) <= clause.above:
            continue
        within = tuple((v, options) for v, options in clause.within if not opens[v].conductor)
        if within:
            left.append(Ruled(clause.demand, within, clause.finding))
    found = dict(made)
    for members, some in groups(len(opens), left):
        mine = [v for v in members if v in made and not opens[v].conductor]
        if mine:
            small = math.prod(len(opens[v].options) for v in mine) <= LOOKED_AT
            picked = _solve(mine, opens, some) if small or not some else None
            found.update(picked or {v: made[v] for v in mine})
    assert devices or found == made
    return found


def _row(clause: Ruled) -> tuple[list[tuple[int, int, float]], float]:
    """A finding as a row of the program: (element, option, figure), and the most that they may add up to.

    Of parts that add up, one alone that is too much counts no more than that.  Each of the other options that the
    finding names holds back so much that without it the parts may be what they like.
    """
    if not clause.parts:
        return [(v, option, 1.0) for v, options in clause.within for option in options], len(clause.within) - 1.0
    # the program keeps its rows to 1e-6 or so: what lies so near is left for the trial to tell
    most = clause.most * (1 + 1e-5)
    capped = [(v, [min(figure / most, 1.001) for figure in figures]) for v, figures in clause.parts]
    weight = max(0.0, sum(max(figures) for _, figures in capped) - 1.0)
    row = [(v, option, figure) for v, figures in capped for option, figure in enumerate(figures)]
    row += [(v, option, weight) for v, options in clause.within for option in options]
    return row, 1.0 + weight * len(clause.within)


def _integer(cost: Any, table: Any, least_of: Sequence[float], greatest_of: Sequence[float]) -> Any:
    """The yes-or-noes of least cost within the rows' bounds; None where there are none.  Raises TooTangled."""
    import numpy as np
    from scipy.optimize import Bounds, LinearConstraint, milp

    rows = LinearConstraint(table, least_of, greatest_of)
    with _silent():
        found = milp(
            cost, integrality=np.ones(len(cost)), bounds=Bounds(0, 1), constraints=rows,
            options={"mip_rel_gap": 0.0, "node_limit": GREATEST_BRANCHES, "time_limit": PATIENCE_S},
        )  # fmt: skip
    if found.status == 2:
        return None
    if found.status != 0:
        raise TooTangled
    return np.round(found.x)


@contextmanager
def _silent() -> Iterator[None]:
    """HiGHS writes remarks of its own to the standard output, past Python, where the answer is to stand."""
    sys.stdout.flush()
    kept, nowhere = os.dup(1), os.open(os.devnull, os.O_WRONLY)
    os.dup2(nowhere, 1)
    try:
        yield
    finally:
        os.dup2(kept, 1)
        os.close(kept)
        os.close(nowhere)
