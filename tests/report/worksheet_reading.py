"""Read a printed worksheet as a person would, and reckon every step again from what is printed: a small calculator of
its own, which knows units, brackets, ², ^, √, ln, min and max, and nothing of the program."""

from __future__ import annotations

import math
import re
from collections.abc import Callable, Iterator
from dataclasses import dataclass

# Figures are printed to five digits; of a difference or a long product less is left.
TOLERANCE = 1e-3

UNITS = {
    "mΩ": 1e-3, "mΩ/m": 1e-3, "A": 1.0, "V": 1.0, "W": 1.0, "m": 1.0, "s": 1.0, "ms": 1e-3, "%": 1.0, "°C": 1.0,
    "A²s": 1.0, "kA²s": 1e3, "MA²s": 1e6, "A√s/mm²": 1.0, "mm²": 1.0, "h": 1.0, "Ah": 1.0,
}  # fmt: skip
_UNIT = "|".join(sorted(map(re.escape, UNITS), key=len, reverse=True))
_TOKEN = re.compile(rf"\s*(?:(\d+(?:\.\d+)?)(?:\s({_UNIT})(?![\w/²√]))?|(ln|min|max|√)|([-−+×÷^²(),]))")


class NotReckoned(AssertionError):
    pass


def reckon(expression: str) -> float:
    """The value of an expression in base units."""
    tokens: list[str | float] = []
    at = 0
    while at < len(expression.rstrip()):
        found = _TOKEN.match(expression, at)
        if found is None:
            raise NotReckoned(f"cannot read {expression[at:]!r} in {expression!r}")
        number, unit, name, sign = found.groups()
        tokens.append(float(number) * UNITS[unit or "A"] if number else name or sign)
        at = found.end()
    value, rest = _sum(tokens, 0)
    if rest != len(tokens):
        raise NotReckoned(f"left over: {tokens[rest:]} of {expression!r}")
    return value


def _sum(tokens: list[str | float], at: int) -> tuple[float, int]:
    value, at = _product(tokens, at)
    while at < len(tokens) and tokens[at] in ("+", "−", "-"):
        sign = tokens[at]
        more, at = _product(tokens, at + 1)
        value = value + more if sign == "+" else value - more
    return value, at


def _product(tokens: list[str | float], at: int) -> tuple[float, int]:
    value, at = _power(tokens, at)
    while at < len(tokens) and tokens[at] in ("×", "÷"):
        sign = tokens[at]
        more, at = _power(tokens, at + 1)
        value = value * more if sign == "×" else value / more
    return value, at


def _power(tokens: list[str | float], at: int) -> tuple[float, int]:
    value, at = _one(tokens, at)
    while at < len(tokens) and tokens[at] in ("²", "^"):
        if tokens[at] == "²":
            value, at = value**2, at + 1
        else:
            more, at = _one(tokens, at + 1)
            value = value**more
    return value, at


def _one(tokens: list[str | float], at: int) -> tuple[float, int]:
    token = tokens[at]
    if isinstance(token, float):
        return token, at + 1
    if token in ("−", "-"):
        value, at = _one(tokens, at + 1)
        return -value, at
    functions: dict[str, Callable[..., float]] = {"ln": math.log, "√": math.sqrt, "min": min, "max": max}
    function = functions.get(token)
    if function is not None:
        at += 1
    if tokens[at] != "(":
        raise NotReckoned(f"expected a bracket in {tokens}")
    values = []
    while tokens[at] in ("(", ","):
        value, at = _sum(tokens, at + 1)
        values.append(value)
    if tokens[at] != ")":
        raise NotReckoned(f"unclosed bracket in {tokens}")
    if function is None:
        (value,) = values
        return value, at + 1
    return function(*values), at + 1


@dataclass(slots=True)
class Read:
    """What was reckoned again: how many steps, sums and judgements, and what did not agree."""

    steps: int = 0
    sums: int = 0
    judgements: int = 0
    wrong: list[str] | None = None


_VALUE = rf"(-?\d+(?:\.\d+)?)(?: ({_UNIT}))?"
_CITE = r"(?: \[[^\]]*\])?"
_STEP = re.compile(rf"  (?! )[^=]*?: (?P<expression>[\d(√mlE][^=:]*) = {_VALUE}{_CITE}")
_ROW = re.compile(rf"    (?P<sign>[+−]) {_VALUE}  (?P<what>[^=\[]*?)(?: = (?P<expression>[^=\[]+?))?{_CITE}")
_TOTAL = re.compile(rf"    = {_VALUE}")
_LIMIT = rf"(?:{_VALUE}|unlimited|never)"
_JUDGEMENT = re.compile(
    rf"  (?! ).*: (?P<left>{_LIMIT}) (?P<sign>[≤≥]) (?P<right>{_LIMIT}) \(.*\)\? (?P<said>yes|NO|not known)\b.*"
)


def _value(number: str, unit: str | None) -> float:
    return float(number) * UNITS[unit or "A"]


def close(one: float, two: float, slack: float = 0.0) -> bool:
    return math.isclose(one, two, rel_tol=TOLERANCE, abs_tol=max(slack, 1e-9))


def _amount(text: str) -> float:
    if text in ("unlimited", "never"):
        return math.inf
    number, _, unit = text.partition(" ")
    return _value(number, unit or None)


def read_again(lines: list[str]) -> Read:
    """Reckon all that is printed; ``lines`` are unbroken."""
    made, wrong = Read(), list[str]()
    made.wrong = wrong
    rows: list[float] = []
    for line in lines:
        if row := _ROW.fullmatch(line):
            value = _value(row[2], row[3]) * (-1 if row["sign"] == "−" else 1)
            rows.append(value)
            if row["expression"]:
                made.steps += 1
                if not close(abs(value), abs(reckon(row["expression"])), 2e-7):
                    wrong.append(line)
        elif total := _TOTAL.fullmatch(line):
            made.sums += 1
            # each row is rounded for itself
            if not close(sum(rows), _value(total[1], total[2]), 1e-4 * max(map(abs, rows), default=0.0)):
                wrong.append(f"{rows} {line}")
            rows = []
        elif judgement := _JUDGEMENT.fullmatch(line):
            made.judgements += 1
            left, right = _amount(judgement["left"]), _amount(judgement["right"])
            holds = left <= right if judgement["sign"] == "≤" else left >= right
            # two figures that are printed alike may differ behind the last digit
            if holds == (judgement["said"] == "NO") and left != right:
                wrong.append(line)
        elif step := _STEP.fullmatch(line):
            made.steps += 1
            if not close(reckon(step["expression"]), _value(step[2], step[3])):
                wrong.append(line)
        elif line.startswith("    +") or re.match(r"  (?! )[^!?]*: .* = [\d-]", line):
            wrong.append(f"not read: {line}")
    return made


def unbroken(text: str) -> Iterator[str]:
    """A worksheet's lines, those that were broken put together again: what goes on is indented by eight."""
    held: str | None = None
    for line in text.splitlines():
        if line.startswith(" " * 8) and held is not None:
            held += " " + line.strip()
            continue
        if held is not None:
            yield held
        held = line
    if held is not None:
        yield held
