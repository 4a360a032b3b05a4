"""What people write from habit, and how it is written here: other units, signs, quotes, dashes, decimal commas.

A slip is looked for only where reading is stuck, so that what is right costs nothing.  Each row is tried at the place
itself; a mend is said with the figures that stand there, and never put in their place.
"""

from __future__ import annotations

import re
from collections.abc import Callable
from decimal import Decimal
from typing import NamedTuple

from linter.source.units import AWG_SIZES, MEANT, UNITS


class Slip(NamedTuple):
    """What is wrong between ``start`` and ``end`` (code points), and what to write instead."""

    start: int
    end: int
    message: str
    mend: str


Found = re.Match[str]
Said = Callable[[Found], tuple[str, str]]

DASHES = "\u2010\u2011\u2012\u2013\u2014\u2015\u2212"
_DASH = f"[-~{DASHES}]|\\.\\.+|\u2026"
_N = r"[0-9]{1,20}(?:\.[0-9]{1,20})?"
_UNIT = "|".join(re.escape(u) for u in sorted({*UNITS, *MEANT} - {"%", "in"}, key=len, reverse=True))
_END = r"(?![^\W_])"
# What a line of text may hold and nobody means by it.
_BLANKS = "\u00a0\u2000-\u200a\u202f\u205f\u3000"
#: Of ten; beyond it is no figure from a boat.
GREATEST_POWER = 9
#: Inches in a foot.
_INCHES = 12


def _unit(written: str) -> str:
    return written if written in UNITS else MEANT.get(written) or MEANT.get(written.lower()) or written


def _write(what: str) -> str:
    return f"write {what[:120]}"


def _area(found: Found) -> tuple[str, str]:
    return "square millimetres are written mm2", _write(f"{found['n']} mm2")


def _gauge(found: Found) -> tuple[str, str]:
    size = found["g"]
    if re.fullmatch("0{1,4}", size):
        size = f"{len(size)}/0"
    shown = found[0].strip()
    if size not in AWG_SIZES:
        return f"{shown}: there is no {size} AWG", f"sizes are {', '.join(AWG_SIZES)} AWG"
    return f"{shown}: a gauge is written with AWG behind it", _write(f"{size} AWG")


def _hash(found: Found) -> tuple[str, str]:
    return "# begins a comment, and the rest of the line is not read; a gauge is written with AWG behind it", _gauge(
        found
    )[1]


def _range(found: Found) -> tuple[str, str]:
    first, last = found["a"], found["b"]
    unit = _unit(found["u"])
    before = _unit(found["v"]) if found["v"] else unit
    return "a range is written with `to`, and each figure with its unit", _write(f"{first} {before} to {last} {unit}")


def _decimal(found: Found) -> tuple[str, str]:
    whole, behind = found["a"].replace(".", ""), found["b"]
    unit = f" {_unit(found['u'])}" if found["u"] else ""
    message = "a figure's decimals stand behind a point, not a comma"
    if len(behind) == 3 and whole != "0" and len(found["a"]) <= 3:
        thousand = f"{whole}{behind}"
        return f"{message}; thousands are not parted", f"write {whole}.{behind}{unit} or {thousand}{unit}, as is meant"
    return message, _write(f"{whole}.{behind}{unit}")


def _plain(message: str, form: str) -> Said:
    """``form`` with the groups of what was found; ``u`` is put as our unit."""

    def said(found: Found) -> tuple[str, str]:
        groups = {k: v or "" for k, v in found.groupdict().items()}
        if "u" in groups:
            groups["u"] = _unit(groups["u"])
        return message, _write(form.format(**groups))

    return said


def _advice(message: str, mend: str) -> Said:
    return lambda found: (message, mend)


def _power_of_ten(found: Found) -> tuple[str, str]:
    message = "figures are written out, without a power of ten"
    if int(found["e"]) > GREATEST_POWER:
        return message, "no figure from a boat is so large; write it out as 15 A"
    value = Decimal(found["n"]) * Decimal(10) ** int(found["e"])
    return message, _write(f"{value:f} {_unit(found['u'] or '')}".strip())


def _feet(found: Found) -> tuple[str, str]:
    inches = Decimal(found["f"]) * _INCHES + Decimal(found["i"])
    return "a length has one unit", _write(f"{inches.normalize():f} in")


def _thousands(found: Found) -> tuple[str, str]:
    return "the thousands of a figure are not parted", _write(f"{found['a'].replace(' ', '')} {_unit(found['u'])}")


def _hyphen(found: Found) -> tuple[str, str]:
    plain = re.sub(f"[{DASHES}]", "-", found[0])
    return "a name is written with the plain hyphen", _write(plain)


def _blank(found: Found) -> tuple[str, str]:
    message = f"a blank that is not the plain one (U+{ord(found['blank']):04X}) stands here"
    return message, "put a plain blank in its place"


def _in_quotes(found: Found) -> tuple[str, str]:
    return 'a text stands in double quotes, the straight ones: "', _write(f'"{found["text"].strip()}"')


def _rows() -> tuple[tuple[re.Pattern[str], Said], ...]:
    rows: tuple[tuple[str, Said], ...] = (
        # sizes
        (rf"(?P<n>{_N})[ \t]*(?:sq(?:uare)?\.?[ \t]*mm|mm[ \t]*\^[ \t]*2|mm[ \t]+2|mm[ \t]*sq|square[ \t]*milli\w+|"
         rf"qmm|MM2|MM|Mm2){_END}", _area),
        (r"(?:AWG|awg|Awg)[ \t]*\#?[ \t]*(?P<g>[1-4]/0|[0-9]{1,4})" + _END, _gauge),
        (r"\#[ \t]*(?P<g>[1-4]/0|[0-9]{1,4})(?:[ \t]*(?:AWG|awg|ga)(?![\w-])|(?=[ \t]*(?:,|\n|\Z)))", _hash),
        (r"(?P<g>[1-4]/0|0{2,4})[ \t]*(?:awg|Awg|ga|gauge)?(?=[ \t]*(?:,|\n|\Z))", _gauge),
        (r"(?P<g>0{1,4})[ \t]*(?:AWG|awg|ga)" + _END, _gauge),
        (r"(?P<g>[0-9]{1,2})[ \t]*(?:awg|Awg|ga|gauge)" + _END, _gauge),
        (rf"[0-9]{{1,2}}[ \t]*(?:[x×*][ \t]*{_N}|cores?{_END})",
         _advice("a cable line is one conductor", "write its size alone, and each conductor as a line of its own")),
        # ranges, decimals, signs
        (rf"(?P<a>{_N})[ \t]*(?P<v>{_UNIT})?[ \t]*(?:{_DASH})[ \t]*(?P<b>{_N})[ \t]*(?P<u>{_UNIT}){_END}", _range),
        (rf"(?P<a>{_N})(?P<v>)[ \t]*to[ \t]*(?P<b>{_N})[ \t]*(?P<u>{_UNIT}){_END}", _range),
        (rf"(?P<a>[0-9]{{1,9}}),(?P<b>[0-9]{{1,20}})(?:[ \t]*(?P<u>{_UNIT}){_END})?", _decimal),
        (rf"(?P<a>[0-9]{{1,3}}(?:\.[0-9]{{3}})+),(?P<b>[0-9]{{1,20}})(?:[ \t]*(?P<u>{_UNIT}){_END})?", _decimal),
        (rf"(?P<a>[0-9]{{1,9}})\u00b7(?P<b>[0-9]{{1,20}})(?:[ \t]*(?P<u>{_UNIT}){_END})?", _decimal),
        (rf"(?P<a>[0-9]{{1,3}}(?:[ ][0-9]{{3}})+)[ \t]*(?P<u>{_UNIT}){_END}", _thousands),
        (rf"(?P<n>\.[0-9]{{1,20}})[ \t]*(?P<u>{_UNIT}){_END}", _plain("a figure begins with a digit", "0{n} {u}")),
        (rf"(?P<n>[0-9]{{1,20}})\.[ \t]*(?P<u>{_UNIT}){_END}", _plain("nothing follows the point", "{n} {u}")),
        (rf"[-{DASHES}][ \t]*(?P<n>{_N})(?:[ \t]*(?P<u>{_UNIT}){_END})?", _advice(
            "a figure has no sign; the language knows none below nought",
            "give the figure without its sign, or leave it out")),
        (rf"\+[ \t]*(?P<n>{_N})(?:[ \t]*(?P<u>{_UNIT}){_END})?", _plain("a figure has no sign", "{n} {u}")),
        (rf"(?P<n>{_N})[eE](?P<e>\+?[0-9]{{1,2}})[ \t]*(?P<u>{_UNIT})?{_END}", _power_of_ten),
        # units
        (rf"(?P<n>{_N})[ \t]*V(?:[ \t]*DC|dc|[ \t]*AC|ac){_END}", _plain(
            "a voltage is written in V alone; AC or DC is a fact of its system", "{n} V")),
        (rf"(?P<a>{_N})[ \t]*(?P<u>{_UNIT})[ \t]*/[ \t]*(?P<b>{_N}[ \t]*(?:{_UNIT})){_END}",
         _plain("two figures are two facts, a comma between them", "{a} {u}, {b}")),
        (rf"(?P<f>{_N})[ \t]*(?:'|\u2032|\u2019|ft|feet)[ \t]*(?P<i>{_N})[ \t]*"
         rf"(?:\"|''|\u2033|\u201d|in(?:ch(?:es)?)?{_END})",
         _feet),
        (rf"(?P<n>{_N})[ \t]*(?:'|\u2032|\u2019)", _plain("feet are written ft", "{n} ft")),
        (rf"(?P<n>{_N})[ \t]*(?:\"|\u2033|\u201d)", _plain("inches are written in", "{n} in")),
        (rf"(?P<n>{_N})[ \t]*(?:deg(?:rees?|s)?\.?[ \t]*(?:C(?:elsius)?)?|"
         rf"\u00ba[ \t]*C?|\u00b0[ \t]*c?|\u00b0[ \t]+C|\u2103|"
         rf"[cC]elsius|c){_END}", _plain("degrees Celsius are written °C", "{n} °C")),
        (rf"(?P<n>{_N})[ \t]*(?:deg(?:rees?|s)?\.?[ \t]*F(?:ahrenheit)?|\u00ba[ \t]*F|\u00b0[ \t]*[fF]|\u2109|F){_END}",
         _plain("degrees Fahrenheit are written °F", "{n} °F")),
        (rf"(?P<n>{_N})[ \t]*K{_END}", lambda m: (
            "temperatures are given in °C", _write(f"{Decimal(m['n']) - Decimal('273.15'):f} °C") if
            Decimal(m["n"]) >= 274 else "0 °C is 273.15 K")),
        (rf"(?P<n>{_N})[ \t]*(?:m[ \t]+[oO]hms?|milli[ \t-]*[oO]hms?|mR|mOhms?|m[ \t]+[\u03a9\u2126]){_END}",
         _plain("milliohms are written mΩ or mohm", "{n} mohm")),
        (rf"(?P<n>{_N})[ \t]*(?:Ohms?|OHMS?|R){_END}", _plain("ohms are written Ω or ohm", "{n} ohm")),
        (rf"(?P<n>{_N})[ \t]*k?W[hH]{_END}", _advice(
            "a battery's charge is given in Ah", "divide the Wh by its voltage: 1200 Wh at 12 V is 100 Ah")),
        (r"(?P<n>[0-9]{1,4})[ \t]*(?:in[ \t]+parallel|[pP])" + _END, _plain("so many side by side", "{n} parallel")),
        (r"(?P<n>[0-9]{1,4})[ \t]*in[ \t]+series" + _END, _plain("so many one behind the other", "{n} series")),
        (r"(?P<w>parallel|series)[ \t]*(?P<n>[0-9]{1,4})" + _END, _plain("the number comes first", "{n} {w}")),
        (r"bundle[ \t]*(?P<n>[0-9]{1,4})" + _END, _plain("`of` is missing", "bundle of {n}")),
        (rf"(?P<n>{_N})[ \t]*(?P<u>ms|s|min|mins|h|hours?|hrs?)[ \t]*(?:/|per)[ \t]*(?:d|day){_END}",
         _plain("a day's time is written with `a day`", "{n} {u} a day")),
        (r"(?P<y>[0-9]{4})[/.](?P<m>[0-9]{2})[/.](?P<d>[0-9]{2})" + _END, _plain(
            "a date is written year, month, day", "{y}-{m}-{d}")),
        # quotes, dashes, signs between
        ("[\u201c\u201d\u201e\u201f\u00ab\u00bb](?P<text>[^\"\n\u201c\u201d\u201e\u201f\u00ab\u00bb]{0,80})"
         "[\u201c\u201d\u201e\u201f\u00ab\u00bb]?", _in_quotes),
        ("[\u2018\u2019\u201a\u201b'`](?P<text>[^\"'\n\u2018\u2019\u201a\u201b`]{0,80})[\u2018\u2019'`]", _in_quotes),
        (r"\((?P<text>[^()\"\n]{1,80})\)", lambda m: (
            "nothing stands in brackets", f'write a label in quotes: "{m["text"]}"; a remark behind #')),
        (rf"[^\W\d][\w-]*[{DASHES}][\w{DASHES}-]*", _hyphen),
        (r"//|--(?!\w)|/\*", _advice("a comment begins with #", "write # there")),
        (r";", _advice(
            "facts are separated by commas, statements by lines; a comment begins with #",
            "write a comma there, or take it away")),
        (r"[:=]", _advice(
            "nothing stands between a word and what it sets", "write a blank there, behind a name a comma")),
        (r"[\uff0c\u3001\u060c]", _advice("this is another script's comma", "write a plain one: ,")),
        (r"[&+]|and" + _END, _advice("facts are separated by commas", "write a comma there")),
        (r"@", _advice("`@` is written `at`", "write at there")),
        (rf"(?P<blank>[{_BLANKS}])", _blank),
        (rf"(?P<n>{_N})(?P<blank>[{_BLANKS}])", _blank),
    )  # fmt: skip
    return tuple((re.compile(pattern), said) for pattern, said in rows)


_ROWS: tuple[tuple[re.Pattern[str], Said], ...] = _rows()


def slip_at(text: str, *places: int) -> Slip | None:
    """The first slip that begins at one of the places, tried in their order."""
    for place in places:
        for pattern, said in _ROWS:
            found = pattern.match(text, place)
            if found is not None and found.end() > place:
                message, mend = said(found)
                return Slip(place, found.end(), message, mend)
    return None


def said_wrongly(word: str) -> str:
    """What to write for a word that was read as a name, AWG10 for instance; nothing where it is no slip."""
    found = slip_at(word, 0)
    return found.mend if found is not None and found.end == len(word) else ""
