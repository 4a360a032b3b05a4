"""The canonical form of a file: its spacing, its blank lines, and the order of the facts of each statement.

Nothing is aligned in columns: one cable is one line, and to change it must change that line only.  What is said is
never touched: figures stay as they were written, comments stay where they are, and no fact is carried past one.
"""

from __future__ import annotations

import re
from dataclasses import dataclass, field

from linter.source.scanner import Token, scan_statements
from linter.source.statements import SourceFile, Statement
from linter.source.units import BASE_UNIT
from linter.source.words import FITS

# A statement goes on in an indented line where it would be longer than this; comments are not counted.  A part sheet
# has a line for each fact, as its maker's page has, but for a device's class and speed.
WIDTH = 110
INDENT = "  "

# How a unit is written where there are several ways; the figure before it is left alone.
_UNIT = {
    "mm²": "mm2", "A²s": "A2s", "kA²s": "kA2s", "C": "°C", "ohm": "Ω", "mohm": "mΩ", "\u2126": "Ω", "m\u2126": "mΩ",
}  # fmt: skip
_QUANTITY = re.compile(r"([0-9./]+)[ \t]*(.+)")

# The statements of a run, and those of them that end it.  (How runs are laid is the model's business; here they are
# only set apart from what follows.)
_IN_RUN = frozenset({
    "from", "to", "cable", "fuse", "breaker", "switch", "relay", "diode", "battery", "alternator", "charger", "solar",
    "converter", "inverter", "bus", "joint", "load",
})  # fmt: skip
_ENDS_RUN = frozenset({"to", "load", "inverter"})
# A source may end a run; set apart from it, it is declared for itself.
_SOURCES = frozenset({"battery", "alternator", "charger", "solar"})


class NotTidied(ValueError):
    """The file has mistakes, so that its canonical form is not known."""


def tidy(source: SourceFile) -> str:
    """The canonical form of a file, every line of it ended.

    Raises NotTidied where something in the file cannot be read.  Linear in the length of the text.
    """
    if any(mistake.loses for mistake in source.mistakes):
        raise NotTidied("it has mistakes")
    text = source.text.text
    statements = [tokens[:-1] for tokens in scan_statements(text)]
    begins = [*(tokens[0].start for tokens in statements), len(text)]
    lines: list[str] = []
    _, between = _loose("\n" + text[: begins[0]] + ("" if statements else "\n"))
    between = [line.lstrip(" ") for line in between]
    in_run = is_sheet = False
    for i, (statement, tokens) in enumerate(zip(source.statements, statements, strict=True)):
        behind, below = _loose(text[tokens[-1].end : begins[i + 1]] + ("\n" if i + 1 == len(statements) else ""))
        laid = _laid(statement, tokens, text, behind)
        sheet_above, is_sheet = is_sheet, statement.kind == "part" and len(laid) > 1
        run_ended = in_run and (
            statement.kind not in _IN_RUN
            or source.statements[i - 1].kind in _ENDS_RUN
            or (statement.kind in _SOURCES and "" in between)
        )
        in_run = statement.kind == "from" or (in_run and not run_ended)
        if i > 0 and (statement.kind == "from" or run_ended or is_sheet or sheet_above):
            _set_apart(between)
        lines += between
        lines += laid
        between = below
    lines += between
    first = 1 if lines and not lines[0] else 0
    last = len(lines) - 1 if lines and not lines[-1] else len(lines)
    return "".join(line + "\n" for line in lines[first:last])


def same_reading(one: SourceFile, two: SourceFile) -> bool:
    """Whether two files say the same, statement by statement, but for the order of facts of different kinds."""
    return len(one.statements) == len(two.statements) and all(
        _reading(a) == _reading(b) for a, b in zip(one.statements, two.statements, strict=True)
    )


def _reading(statement: Statement) -> object:
    facts = sorted(((fact.key, _without_place(fact.values)) for fact in statement.facts), key=lambda fact: fact[0])
    names = _without_place((statement.name, statement.extra))
    return statement.kind, names, statement.label, statement.part_of, facts


def _without_place(value: object) -> object:
    if isinstance(value, tuple):
        return tuple(map(_without_place, value))
    return (value.type, value.value) if isinstance(value, Token) else value


# ---- what stands between two tokens: blanks, commas, comments, blank lines


def _loose(between: str) -> tuple[str, list[str]]:
    """The comment behind what stands before, and the comments and blank lines below it, up to the last line end."""
    first, *others = between.split("\n")
    at = first.find("#")
    below: list[str] = []
    for line in others[:-1]:
        comment = line.strip(" \t\r")
        if comment:
            below.append(comment if line[0] == "#" else INDENT + comment)
        elif not below or below[-1]:
            below.append("")
    return (first[at:].rstrip(" \t\r") if at >= 0 else ""), below


def _set_apart(between: list[str]) -> None:
    """Put a blank line between two statements; comments at the left edge belong to the one below them."""
    if "" not in between:
        at = len(between)
        while at and between[at - 1].startswith("#"):
            at -= 1
        between.insert(at, "")


# ---- one statement


@dataclass(slots=True)
class _Group:
    """Facts between which stands neither a comment nor a blank line, and what stands behind and below them."""

    # its place in the order, its key, how it is written
    facts: list[tuple[int, str, str]] = field(default_factory=list)
    behind: str = ""
    below: list[str] = field(default_factory=list)

    def add(self, behind: str, below: list[str]) -> None:
        if behind and (self.behind or self.below):
            self.below.append(INDENT + behind)
        elif behind:
            self.behind = behind
        self.below += [INDENT + line.lstrip(" ") if line else "" for line in below]


@dataclass(slots=True)
class _Row:
    """A line of a statement: how it begins, its facts, and the comment behind; or a comment or a blank line."""

    begin: str
    facts: list[str] = field(default_factory=list)
    behind: str = ""
    loose: bool = False

    @property
    def text(self) -> str:
        if self.begin == INDENT:
            return INDENT + ", ".join(self.facts)
        return ", ".join([self.begin, *self.facts])


def _laid(statement: Statement, tokens: list[Token], text: str, behind: str) -> list[str]:
    """The lines of a statement; ``behind`` is the comment behind the last of them."""
    head, groups = _groups(statement, tokens, text)
    groups[-1].add(behind, [])
    is_sheet = statement.kind == "part"
    row = _Row(head)
    rows = [row]
    left = sum(len(group.facts) for group in groups)
    for group in groups:
        begun = row is rows[0] and row is rows[-1] and not row.behind
        before = ""
        for _, key, fact in group.facts:
            left -= 1
            joins = begun and (not is_sheet or (before, key) == ("class", "speed"))
            if not joins or len(row.text) + 2 + len(fact) + (left > 0) > WIDTH:
                row = _Row(INDENT)
                rows.append(row)
            row.facts.append(fact)
            begun, before = True, key
        row.behind = group.behind
        rows += [_Row(line, loose=True) for line in group.below]
    final = max(i for i, r in enumerate(rows) if not r.loose)
    lines = []
    for i, r in enumerate(rows):
        line = r.begin if r.loose else r.text + ("," if i < final and not is_sheet else "")
        lines.append(f"{line}  {r.behind}" if r.behind else line)
    return lines


def _groups(statement: Statement, tokens: list[Token], text: str) -> tuple[str, list[_Group]]:
    """How a statement begins, and its facts, those of each group in their order."""
    pieces: list[list[Token]] = [[]]
    for token in tokens:
        if token.type == "_SEP":
            pieces.append([])
        else:
            pieces[-1].append(token)
    in_head = 2 if statement.kind == "part" else 1
    order = FITS.get(statement.part_of or statement.kind, ())
    groups = [_Group()]
    for i in range(1, len(pieces)):
        behind, below = _loose(text[pieces[i - 1][-1].end : pieces[i][0].start])
        if behind or below:
            groups[-1].add(behind, below)
        if i < in_head:
            continue
        if groups[-1].behind or groups[-1].below:
            groups.append(_Group())
        key = statement.facts[i - in_head].key
        place = order.index(key) if key in order else len(order)
        groups[-1].facts.append((place, key, _joined(pieces[i], text)))
    for group in groups:
        group.facts.sort(key=lambda fact: fact[0])
    return ", ".join(_joined(piece, text) for piece in pieces[:in_head]), groups


def _joined(tokens: list[Token], text: str) -> str:
    return " ".join(_written(token, text) for token in tokens)


def _written(token: Token, text: str) -> str:
    if token.type == "STRING":
        return f'"{token.value}"'
    if token.type in BASE_UNIT:
        match = _QUANTITY.fullmatch(text, token.start, token.end)
        assert match is not None
        return f"{match[1]} {_UNIT.get(match[2], match[2])}"
    return str(token.value)
