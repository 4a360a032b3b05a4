"""Findings that somebody accepts: with a reason, a name and a date, and for exactly one element."""

from __future__ import annotations

import datetime
import re
from collections.abc import Collection, Iterator
from dataclasses import dataclass, replace

from linter.model.design import Design
from linter.model.elements import Accepted
from linter.rules.finding import Finding, Severity
from linter.source.span import Mistake

EXPIRED, UNEXPLAINED = "acceptance-expired", "acceptance-unexplained"
TOO_WIDE, UNUSED = "acceptance-too-wide", "acceptance-unused"

# Not switched off by `--without`: an acceptance that is not in order is never silent.
NAMES = (EXPIRED, TOO_WIDE, UNEXPLAINED, UNUSED)

#: Common practice: a boat is laid up and fitted out every year, and a danger is looked at again then at the latest;
#: insurers ask for a survey about every five years, and nothing is accepted past the next one.
DANGER_YEARS, YEARS = 1, 5

#: "booked for spring" says something; "ok" and "see above" do not.
LEAST_WORDS, LEAST_LETTERS, LEAST_LETTERS_OF_A_NAME = 3, 10, 2
#: Of scripts that part no words: Chinese, Japanese, Thai, Lao, Khmer, Burmese.
_UNPARTED = re.compile("[\u0e00-\u0eff\u1000-\u109f\u1780-\u17ff\u3040-\u30ff\u3400-\u9fff\uf900-\ufaff]")
LEAST_UNPARTED = 6


@dataclass(frozen=True, slots=True)
class Flaw:
    """What is wrong with an acceptance: it excuses nothing."""

    rule: str
    severity: Severity
    message: str
    mend: str


def apply_acceptances(
    findings: list[Finding],
    design: Design,
    known: Collection[str],
    ran: Collection[str],
    today: datetime.date | None,
    mistakes: list[Mistake],
) -> None:
    """Mark the findings that are accepted; add findings for acceptances that are not in order."""
    day = today or datetime.date.today()
    names = _names(design) | {f.subject for f in findings}
    first: dict[tuple[str, str], Accepted] = {}
    for accepted in design.accepted:
        if accepted.rule not in known:
            import difflib

            near = difflib.get_close_matches(accepted.rule, list(known), n=1)
            mend = f"did you mean {near[0]}?" if near else "`wireworthy rules` lists them"
            mistakes.append(Mistake(accepted.span, f"there is no rule {accepted.rule}", mend))
            continue
        key = (accepted.rule, accepted.subject)
        matching = [i for i, f in enumerate(findings) if (f.rule, f.subject) == key]
        flaw = next(_flaws(accepted, day, names, [findings[i].severity for i in matching]), None)
        if flaw is None and key in first:
            message = f"{_what(accepted)} is accepted already, by {first[key].by}"
            flaw = Flaw(UNUSED, Severity.ADVICE, message, "take one of the two lines out")
        if flaw is None and not matching:
            if accepted.rule not in ran:
                continue
            message = f"{_what(accepted)} is accepted but there is no such finding"
            flaw = Flaw(UNUSED, Severity.ADVICE, message, "take the line out")
        if flaw is not None:
            findings.append(
                Finding(
                    flaw.rule, flaw.severity, accepted.subject, accepted.span, flaw.message, flaw.mend,
                    "accepted findings", "common practice",
                )
            )  # fmt: skip
            continue
        first[key] = accepted
        words = f"{accepted.reason} ({accepted.by}, until {accepted.until})"
        for index in matching:
            findings[index] = replace(findings[index], accepted=words)


def _flaws(accepted: Accepted, day: datetime.date, names: Collection[str], excused: list[Severity]) -> Iterator[Flaw]:
    """What is wrong with it by itself, the weightiest first.  ``names``: of all that a finding may be about;
    ``excused``: how grave what it would excuse is."""
    what = _what(accepted)
    lacking = [
        words
        for words, given in (("a reason", accepted.reason), ("a name", accepted.by), ("an end", accepted.until))
        if not given.strip()
    ]
    if lacking:
        message = f"{what} is accepted without {' and '.join(lacking)}"
        yield Flaw(UNEXPLAINED, Severity.FAULT, message, 'for instance: "why", by "name", until 2027-04-01')
        return
    if not explains(accepted):
        message = f"{what} is accepted for a reason that explains nothing: {accepted.reason.strip()[:60]}"
        mend = "say in a few words why it may stay so, and what is done meanwhile"
        yield Flaw(UNEXPLAINED, Severity.FAULT, message, mend)
    if _letters(accepted.by) < LEAST_LETTERS_OF_A_NAME:
        message = f"{what} is accepted by {accepted.by.strip()[:60]}, which names nobody"
        yield Flaw(UNEXPLAINED, Severity.FAULT, message, 'who answers for it: by "name"')
    until = datetime.date.fromisoformat(accepted.until)
    if until < day:
        message = f"{what} was accepted until {accepted.until}"
        yield Flaw(EXPIRED, Severity.FAULT, message, "mend what it excuses, or have it accepted anew")
    if accepted.subject not in names:
        message = f"{what} is accepted, which is no single element, scene or system"
        yield Flaw(TOO_WIDE, Severity.FAULT, message, "one line for each element, as the finding names it")
    danger = Severity.DANGER in excused
    years = DANGER_YEARS if danger else YEARS
    latest = _later(day, years)
    if until > latest:
        word = f"{years} year{'s' * (years > 1)}"
        message = f"{what} is accepted until {accepted.until}; a {'danger' if danger else 'finding'} for {word} at most"
        yield Flaw(TOO_WIDE, Severity.FAULT, message, f"until {latest} at the latest, and then look at it again")


def explains(accepted: Accepted) -> bool:
    """Whether the reason is a sentence's worth of words that do not merely repeat what is accepted."""
    if len(_UNPARTED.findall(accepted.reason)) >= LEAST_UNPARTED:
        return True
    said = {w for w in re.findall(r"\w+", accepted.reason.casefold()) if _letters(w)}
    repeated = set(re.findall(r"\w+", f"{accepted.rule} {accepted.subject}".casefold()))
    return len(said - repeated) >= LEAST_WORDS and _letters("".join(said)) >= LEAST_LETTERS


def _letters(text: str) -> int:
    return sum(c.isalpha() for c in text)


def _what(accepted: Accepted) -> str:
    return f"{accepted.rule} at {accepted.subject}"


def _names(design: Design) -> set[str]:
    """All that a finding may be about."""
    return {
        design.boat, *design.systems, *design.places, *design.parts, *design.elements, *(s.title for s in design.scenes)
    }  # fmt: skip


def _later(day: datetime.date, years: int) -> datetime.date:
    """The same day so many years later; of the 29th of February the day after."""
    if day.year + years > datetime.MAXYEAR:
        return datetime.date.max
    try:
        return day.replace(year=day.year + years)
    except ValueError:
        return datetime.date(day.year + years, 3, 1)
