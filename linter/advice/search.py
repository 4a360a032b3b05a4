"""The choice that costs least among those that nothing found so far rules out.

It is an integer program: one yes-or-no for each option, exactly one yes for each element, and for each finding not all
of what it names.  HiGHS, in scipy, solves it exactly.
Before it what is settled by itself is
taken away, and where little is left all of it is looked at.
"""

from __future__ import annotations

import math
import os
import sys
from collections.abc import Iterator, Mapping, Sequence
from contextlib import contextmanager
from dataclasses import dataclass, field
from typing import Any, Protocol, TypeVar

from linter.advice.clauses import Ruled
from linter.advice.narrow import Cut, Options, cut_of, listed, mask_of, narrowed
from linter.advice.options import Open

# Branches after which the search is given up as too tangled to be proved; a boat's circuits take a handful.
GREATEST_BRANCHES = 500
# Only against a program that hangs: whatever is given up sooner is given up by what was done, so that the same design
# has the same answer on a slow machine.
PATIENCE_S = 120.0

# copper in mg, so that sums are exact; then ratings, and which sheet
Cost = tuple[int, float]
# of each option of each element
Costs = Mapping[int, Sequence[Cost]]


class TooTangled(Exception):
    """The search did not end within its bounds: nothing is proved."""


@dataclass(slots=True)
class Solved:
    """What has been solved: a group's elements and its findings, the least choice, or None where there is none; and
    the work of it, about ms of one processor."""

    known: dict[tuple[tuple[int, ...], frozenset[Ruled]], dict[int, int] | None] = field(default_factory=dict)
    work: float = 0.0


def least(
    opens: Sequence[Open], ruled: Sequence[Ruled], solved: Solved | None = None
) -> tuple[list[int] | None, list[Ruled]]:
    """The least choice, as an option's index for each open element; or None, and a group of findings that leave none.

    Least is: the least copper in all, then the least ratings.  ``solved`` keeps what need not be solved again.
    Raises TooTangled.
    """
    solved = solved if solved is not None else Solved()
    known = solved.known
    choice = [0] * len(opens)
    for members, clauses in tied(range(len(opens)), ruled):
        key = tuple(members), frozenset(clauses)
        if key not in known:
            known[key] = _solve(members, opens, clauses, solved)
        found = known[key]
        if found is None:
            return None, clauses
        for variable, option in found.items():
            choice[variable] = option
    return choice, []


class Ties(Protocol):
    """What names elements."""

    @property
    def variables(self) -> set[int]: ...


T = TypeVar("T", bound=Ties)


def tied(members: Sequence[int], ties: Sequence[T]) -> list[tuple[list[int], list[T]]]:
    """Elements in groups that something ties together, each with what ties it."""
    root = {v: v for v in members}

    def find(i: int) -> int:
        while root[i] != i:
            root[i] = root[root[i]]
            i = root[i]
        return i

    for tie in ties:
        first, *others = tie.variables
        for variable in others:
            root[find(variable)] = find(first)
    made: dict[int, tuple[list[int], list[T]]] = {}
    for variable in members:
        made.setdefault(find(variable), ([], []))[0].append(variable)
    for tie in ties:
        made[find(next(iter(tie.variables)))][1].append(tie)
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


def _solve(
    members: Sequence[int], opens: Sequence[Open], clauses: Sequence[Ruled], solved: Solved
) -> dict[int, int] | None:
    """The least choice of these elements under these findings; None where there is none."""
    options = {v: (1 << len(opens[v].options)) - 1 for v in members}
    costs = {v: [cost_of(opens[v], option) for option in range(len(opens[v].options))] for v in members}
    return _searched(options, [cut_of(c) for c in clauses], costs, solved)


def _searched(
    options: Mapping[int, Options], cuts: Sequence[Cut], costs: Costs, solved: Solved
) -> dict[int, int] | None:
    """The least of what is left of the options, element by element where nothing ties them together."""
    left = narrowed(options, cuts, costs)
    solved.work += 0.003 * sum(len(cut.within) for cut in cuts)
    if left is None:
        return None
    made: dict[int, int] = {}
    for members, some in tied(list(left.options), left.cuts):
        each = {v: listed(left.options[v]) for v in members}
        if not some:
            found: dict[int, int] | None = {v: min(each[v], key=lambda o, v=v: costs[v][o]) for v in members}  # type: ignore[misc]
        elif (combinations := math.prod(map(len, each.values()))) <= LOOKED_AT:
            solved.work += 1e-5 * combinations + 0.02 * len(some)
            found = _looked_at(each, some, costs)
        else:
            found = _programmed(each, some, costs, solved)
        if found is None:
            return None
        made.update(found)
    return made


def _looked_at(each: Mapping[int, list[int]], cuts: Sequence[Cut], costs: Costs) -> dict[int, int] | None:
    """The least by looking at every combination of what ``each`` element may be."""
    import numpy as np

    members = list(each)
    axis = {v: i for i, v in enumerate(members)}
    place = {v: {option: i for i, option in enumerate(each[v])} for v in members}
    shape = [len(each[v]) for v in members]
    copper, ratings = np.zeros(shape, np.int64), np.zeros(shape)
    for v, i in axis.items():
        along = [1] * len(shape)
        along[i] = shape[i]
        copper += np.array([costs[v][option][0] for option in each[v]], np.int64).reshape(along)
        ratings += np.array([costs[v][option][1] for option in each[v]]).reshape(along)
    fit = np.ones(shape, bool)
    for cut in cuts:
        at = [list(range(n)) for n in shape]
        for v, options in cut.within:
            at[axis[v]] = [place[v][o] for o in listed(options)]
        if not cut.parts:
            fit[np.ix_(*at)] = False
            continue
        summed = np.zeros([1] * len(shape))
        for v, figures in cut.parts:
            along = [1] * len(shape)
            along[axis[v]] = len(at[axis[v]])
            summed = summed + np.array([figures[each[v][i]] for i in at[axis[v]]]).reshape(along)
        fit[np.ix_(*at)] &= summed <= cut.above
    left = np.flatnonzero(fit)
    if not len(left):
        return None
    flat, second = copper.ravel()[left], ratings.ravel()[left]
    left, second = left[flat == flat.min()], second[flat == flat.min()]
    picked = np.unravel_index(left[int(np.argmin(np.round(second, 6)))], shape)
    return {v: each[v][int(picked[i])] for v, i in axis.items()}


def _programmed(
    each: Mapping[int, list[int]], cuts: Sequence[Cut], costs: Costs, solved: Solved
) -> dict[int, int] | None:
    """The same by an integer program: the least copper, and with those conductors the least ratings."""
    import numpy as np
    from scipy.sparse import coo_array

    column: dict[tuple[int, int], int] = {}
    for v, options in each.items():
        for option in options:
            column[v, option] = len(column)
    rows: list[int] = []
    columns: list[int] = []
    entries: list[float] = []
    least_of: list[float] = []
    greatest_of: list[float] = []
    for v, options in each.items():
        rows += [len(least_of)] * len(options)
        columns += [column[v, option] for option in options]
        entries += [1.0] * len(options)
        least_of.append(1.0)
        greatest_of.append(1.0)
    for cut in cuts:
        entered, most = _row(cut, each)
        for v, option, entry in entered:
            rows.append(len(least_of))
            columns.append(column[v, option])
            entries.append(entry)
        least_of.append(-np.inf)
        greatest_of.append(most)
    copper = np.array([costs[v][option][0] for v, option in column], float)
    no_copper = not copper.any()
    if no_copper:
        copper = np.array([costs[v][option][1] for v, option in column], float)
    table = coo_array((entries, (rows, columns)), shape=(len(least_of), len(column)))
    solved.work += 10 + 0.04 * len(entries)
    picked = _integer(copper, table, least_of, greatest_of)
    if picked is None:
        return None
    made = {v: max(options, key=lambda o, v=v: picked[column[v, o]]) for v, options in each.items()}  # type: ignore[misc]
    if no_copper:
        return made
    fixed = {v: mask_of([made[v]] if any(c[0] for c in costs[v]) else options) for v, options in each.items()}
    return _searched(fixed, cuts, costs, solved) or made


def _row(cut: Cut, each: Mapping[int, list[int]]) -> tuple[list[tuple[int, int, float]], float]:
    """A cut as a row of the program: (element, option, figure), and the most that they may add up to.

    Of parts that add up, one alone that is too much counts no more than that.  Each of the other options that the
    finding names holds back so much that without it the parts may be what they like.
    """
    if not cut.parts:
        return [(v, option, 1.0) for v, options in cut.within for option in listed(options)], len(cut.within) - 1.0
    # the program keeps its rows to 1e-6 or so: what lies so near is left for the trial to tell
    most = cut.most * (1 + 1e-5)
    capped = [(v, {o: min(figures[o] / most, 1.001) for o in each[v]}) for v, figures in cut.parts]
    weight = max(0.0, sum(max(figures.values()) for _, figures in capped) - 1.0)
    row = [(v, option, figure) for v, figures in capped for option, figure in figures.items()]
    row += [(v, option, weight) for v, options in cut.within for option in listed(options)]
    return row, 1.0 + weight * len(cut.within)


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
