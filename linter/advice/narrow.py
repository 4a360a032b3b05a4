"""What findings rule out, made small before a search: options that cannot be, and those that another is always as good
as, are taken away, and what is settled by that is forgotten.

All of it is exact: the least choice of what is left is the least of all.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass

from linter.advice.clauses import Ruled

# A set of options is the bits of a number: bit 3 is option 3.
Options = int


@dataclass(frozen=True, slots=True)
class Cut:
    """Not all of ``within`` at once, while what ``parts`` add up to (a figure an option) is above ``above``, and above
    ``most`` for a program, which keeps its rows less exactly."""

    within: tuple[tuple[int, Options], ...]
    parts: tuple[tuple[int, tuple[float, ...]], ...]
    above: float
    most: float

    @property
    def variables(self) -> set[int]:
        return {v for v, _ in self.within} | {v for v, _ in self.parts}


@dataclass(slots=True)
class Narrowed:
    """What is left of each element's options, and the cuts that still say something."""

    options: dict[int, Options]
    cuts: list[Cut]


def cut_of(clause: Ruled) -> Cut:
    return Cut(tuple((v, mask_of(o)) for v, o in clause.within), clause.parts, clause.above, clause.most)


def mask_of(options: Iterable[int]) -> Options:
    return sum(1 << o for o in options)


def listed(options: Options) -> list[int]:
    """The options of a set, in order."""
    found = []
    while options:
        lowest = options & -options
        found.append(lowest.bit_length() - 1)
        options ^= lowest
    return found


def narrowed(
    options: Mapping[int, Options], cuts: Sequence[Cut], costs: Mapping[int, Sequence[object]]
) -> Narrowed | None:
    """What is left to search; None where nothing is.  ``costs``: of each option of each element, comparable."""
    left = Narrowed(dict(options), list(cuts))
    while True:
        if not _applied(left):
            return None
        if not _without_dominated(left, costs):
            return left


def _applied(left: Narrowed) -> bool:
    """Each cut with what is left of the options, until nothing more follows; False where no choice is left."""
    changed = True
    while changed:
        changed, kept = False, []
        for cut in left.cuts:
            made = _of_what_is_left(cut, left.options)
            if made is None:
                continue
            if not made.within and not made.parts:
                return False
            if len(made.within) == 1 and not made.parts:
                ((variable, barred),) = made.within
                left.options[variable] &= ~barred
                changed = True
                continue
            if not made.within and _too_much_alone(made, left.options):
                changed = True
                if not all(left.options[v] for v, _ in made.parts):
                    return False
            kept.append(made)
        left.cuts = kept
    return True


def _of_what_is_left(cut: Cut, options: Mapping[int, Options]) -> Cut | None:
    """A cut without what goes without saying; None where it bars nothing any more."""
    within, same = [], True
    for variable, barred in cut.within:
        inside = barred & options[variable]
        if not inside:
            return None
        if inside != options[variable]:
            within.append((variable, inside))
        same = same and inside == barred
    parts = cut.parts
    if parts:
        at = [[figures[o] for o in listed(options[v])] for v, figures in parts]
        if sum(map(max, at)) <= cut.above:
            return None
        if sum(map(min, at)) > cut.above:
            parts = ()
    if same and len(within) == len(cut.within) and parts is cut.parts:
        return cut
    return Cut(tuple(within), parts, cut.above, cut.most)


def _too_much_alone(cut: Cut, options: dict[int, Options]) -> bool:
    """Takes away what is too much with the least of all the others; whether there was any."""
    least = {v: min(figures[o] for o in listed(options[v])) for v, figures in cut.parts}
    in_all, found = sum(least.values()), False
    for variable, figures in cut.parts:
        barred = mask_of(o for o in listed(options[variable]) if in_all - least[variable] + figures[o] > cut.above)
        # the sum in another order may differ in its last digit
        if barred and barred != options[variable]:
            options[variable] &= ~barred
            found = True
    return found


def _without_dominated(left: Narrowed, costs: Mapping[int, Sequence[object]]) -> bool:
    """Takes away each option than which another of the same element costs no more and is barred by nothing else;
    whether there was any."""
    barred: dict[int, dict[int, int]] = {v: dict.fromkeys(listed(o), 0) for v, o in left.options.items()}
    summed = {v for cut in left.cuts for v, _ in cut.parts}
    for at, cut in enumerate(left.cuts):
        for variable, options in cut.within:
            by = barred[variable]
            for option in listed(options):
                by[option] |= 1 << at
    found = False
    for variable, by in barred.items():
        if variable in summed or len(by) == 1:
            continue
        kept: list[int] = []
        cost = costs[variable]
        for option in sorted(by, key=lambda o, cost=cost: (cost[o], o)):  # type: ignore[misc]
            if all(by[other] & ~by[option] for other in kept):
                kept.append(option)
        if len(kept) < len(by):
            left.options[variable] = mask_of(kept)
            found = True
    return found
