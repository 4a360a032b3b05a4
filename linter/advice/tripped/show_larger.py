"""The answer to the tempting question in words: no, and why, or under which change of conductor."""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from linter.advice.tripped.asked import Asked
from linter.advice.tripped.make import Answer
from linter.advice.tripped.series import made_within
from linter.model.elements import Accepted
from linter.rules.finding import Finding
from linter.rules.words import amps, class_words, names

MOST_FINDINGS = 4


def larger_lines(answer: Answer) -> Iterator[str]:
    """Lines; those of findings begin with two spaces."""
    found = answer.larger
    device = answer.circuit.seen.device
    if found.next is None:
        yield f"Not to be asked: {found.why_not}."
        yield from _as_asked(answer)
        return
    rating = f"{amps(found.next.rating_a)} ({found.next.of})"
    after = _no_cure(answer)
    if found.raised:
        no = "No" if found.refused else "Not proved"
        yield f"{no}. {rating} would raise {len(found.raised)} finding{'s' * (len(found.raised) != 1)}:"
        yield from _findings(found.raised)
        yield from _under_which(answer)
        return
    standing = found.tried.standing
    if found.refused:
        yield f"No. {rating} would raise nothing new, and yet leave what is wrong with {device.name} already:"
        yield from _findings(standing)
        yield from _as_asked(answer)
        return
    if found.answer == "not proved" and not standing:
        yield f"Not proved. {rating}: not every rule could be run. {after}"
        return
    if found.answer == "not proved":
        yield f"Not proved. {rating} would raise nothing new, but a figure is missing:"
        yield from _findings(standing)
        yield after
        return
    if found.tried.leans_on:
        yield f"Not by itself. {rating} raises no new finding, but {_leaning(answer, found.tried.leans_on)}. {after}"
        return
    yield f"{rating} raises no finding: it would still guard its conductors{_within(answer)}. {after}"


def _within(answer: Answer) -> str:
    """What makers ask for and the next rating keeps to."""
    found = answer.larger
    asked = [a for a in found.asked if found.next_a is not None and a.allows(found.next_a)]
    if not asked:
        return "" if found.asked else "; no maker of what is behind it asks for a rating"
    each = "; ".join(f"{a.load.name}: {a.words}" for a in asked[:3])
    return f" and be within what makers ask for ({each}{f'; and {len(asked) - 3} more' if len(asked) > 3 else ''})"


def _no_cure(answer: Answer) -> str:
    """Why a larger one cures nothing; but one that is smaller than its load's maker asks for is a fault by itself."""
    found, device = answer.larger, answer.circuit.seen.device
    rated_a, next_a = device.rated_a or 0.0, found.next_a or 0.0
    short = [a for a in found.asked if a.allows(next_a) and rated_a < (a.least_a or 0.0) / (1 + 1e-9)]
    if short:
        each = "; ".join(f"{a.load.name}: {a.words}" for a in short[:3])
        return (
            f"The {amps(rated_a)} fitted is less than what is asked for ({each}), which is a fault of the design. Mend "
            f"that, and look for the cause all the same."
        )
    return f"It is no cure all the same: what made {device.name} open would go on, with more current behind it."


def _findings(findings: Sequence[Finding]) -> Iterator[str]:
    for finding in findings[:MOST_FINDINGS]:
        yield f"  {finding.severity.value}: {finding.message} [{finding.rule}]"
    if len(findings) > MOST_FINDINGS:
        yield f"  and {len(findings) - MOST_FINDINGS} more; --format json has all"


def _leaning(answer: Answer, accepted: Sequence[Accepted]) -> str:
    """On whose word it stands; given for what is fitted now."""
    each = " and ".join(f"of {a.rule} at {a.subject} by {a.by}, until {a.until}" for a in accepted[:3])
    more = f" and of {len(accepted) - 3} more" if len(accepted) > 3 else ""
    rated_a = answer.circuit.seen.device.rated_a
    fitted = "" if rated_a is None else f" with {amps(rated_a)} fitted"
    one = len(accepted) == 1
    return (
        f"leans on the acceptance{'s' * (not one)} {each}{more}, given{fitted}: ask who gave "
        f"{'it' if one else 'them'} before you count on {'it' if one else 'them'}"
    )


def _under_which(answer: Answer) -> Iterator[str]:
    found = answer.larger
    if found.conductors:
        sizes = _sizes(found.conductors)
        yield f"It would be allowed with other conductors ({sizes}): a change of the circuit, and no cure of the cause."
        if found.conductors_lean_on:
            yield f"That {_leaning(answer, found.conductors_lean_on)}."
        return
    rules = {f.rule for f in found.left}
    if "device-not-as-asked" in rules:
        yield from _as_asked(answer)
        return
    left = names(list(dict.fromkeys(f.rule for f in found.left)))
    if rules <= {f.rule for f in found.raised} and not found.grown:
        yield f"No conductor changes that ({left})."
    elif rules <= {f.rule for f in found.raised}:
        yield f"Larger conductors were tried, up to {_sizes(found.grown)}, and do not change that ({left})."
    else:
        first = next(f for f in found.left if f.rule in rules)
        yield (
            f"Larger conductors were tried, up to {_sizes(found.grown)}; they bring more current with them, and then "
            f"there is {left}: {first.message}."
        )


def _sizes(sizes: Sequence[tuple[str, str]]) -> str:
    shown = ", ".join(f"{name} {size}" for name, size in sizes[:4])
    return shown + (f" and {len(sizes) - 4} more" if len(sizes) > 4 else "")


def _as_asked(answer: Answer) -> Iterator[str]:
    """What the makers would have, and whether something between what is fitted and their limit is made."""
    found = answer.larger
    next_a = found.next_a
    which = [a for a in found.asked if next_a is None or not a.allows(next_a)]
    broken = any(f.rule == "device-not-as-asked" for f in (*found.raised, *found.tried.standing))
    if not which or not broken:
        return
    alike: dict[tuple[str, tuple[tuple[float, float], ...]], list[Asked]] = {}
    for asked in which:
        alike.setdefault((asked.words, asked.ranges), []).append(asked)
    each = "; ".join(_allowed(answer, group) for group in list(alike.values())[:3])
    more = f"; so too for {len(alike) - 3} more, --format json has all" if len(alike) > 3 else ""
    yield f"No conductor changes that: {each}{more}."


def _allowed(answer: Answer, alike: list[Asked]) -> str:
    """What makers who ask the same would allow beside what is fitted."""
    device, asked = answer.circuit.seen.device, alike[0]
    loads = names([a.load.name for a in alike])
    maker = f"the maker{'s' * (len(alike) > 1)} of {loads} ask{'s' * (len(alike) == 1)} for {asked.words}"
    most_a, least_a, rated_a = asked.greatest_a, asked.least_a, device.rated_a
    if most_a is None or least_a is None or rated_a is None:
        kind = f"{class_words(device.device_class)} {device.kind}".strip()
        return f"{maker}, which a {kind} is not, whatever its rating" if not asked.ranges else maker
    if rated_a < least_a / (1 + 1e-9):
        return f"{maker}, and the {amps(rated_a)} fitted is less: fit what is asked for"
    if rated_a > most_a * (1 + 1e-9):
        return f"{maker}, and the {amps(rated_a)} fitted is more already: fit what is asked for"
    if most_a <= rated_a * (1 + 1e-9):
        return f"{maker}, and the {amps(rated_a)} fitted is the most that is allowed"
    made = made_within(answer.circuit.seen.study.design, device, least_a, most_a)
    room = f"{maker}, so more than the {amps(rated_a)} fitted would do, up to {amps(most_a)}"
    if not made:
        return f"{room}; but no series known here has a rating between"
    each = ", ".join(f"{amps(rating)} is {whose}" for rating, whose in made[:2])
    return f"{room}: {each}; that is another device, with a curve and a breaking capacity of its own"


__all__ = ["larger_lines"]
