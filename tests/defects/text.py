"""Editing the text of a design as a person does: a line at a time."""

from __future__ import annotations

import re
from dataclasses import dataclass, replace
from pathlib import Path
from typing import Any

EDGES = ("cable", "fuse", "breaker", "switch", "relay", "diode")
_STATEMENT = re.compile(r"^([a-z]+)[ \t]+([^\W\d][\w-]*)")
_AMPS = re.compile(r"^([\d.]+) ?(A|kA|mA)$")
_SIZE = re.compile(r"^[\d./]+ ?(mm2|mm²|AWG)$")
_LENGTH = re.compile(r"^([\d.]+) ?(m|mm|cm|in|ft)$")
_METRES = {"m": 1.0, "mm": 0.001, "cm": 0.01, "in": 0.0254, "ft": 0.3048}
AWG = ["18", "16", "14", "12", "10", "8", "6", "4", "3", "2", "1", "1/0", "2/0", "3/0", "4/0"]
MM2 = ["0.75", "1", "1.5", "2.5", "4", "6", "10", "16", "25", "35", "50", "70", "95", "120", "150"]
RATINGS = [
    1, 2, 3, 5, 7.5, 10, 15, 20, 25, 30, 40, 50, 60, 80, 100, 125, 150, 175, 200, 225, 250, 300, 350, 400, 500, 600,
]  # fmt: skip


@dataclass(frozen=True)
class Boat:
    """A design's files as lists of lines (statements that go over several lines are one entry); the first is its own."""

    name: str
    files: dict[str, tuple[str, ...]]
    facts: dict[str, Any]

    @property
    def lines(self) -> tuple[str, ...]:
        return self.files[self.name]

    def text(self) -> str:
        return "\n".join(self.lines) + "\n"

    def with_lines(self, lines: list[str] | tuple[str, ...], more: str = "") -> Boat:
        """The boat with other lines in its own file; ``more`` is put before the first scene or at the end."""
        made = list(lines)
        if more:
            made += ["", *more.strip("\n").split("\n")]
        return replace(self, files=self.files | {self.name: tuple(made)})

    def changed(self, at: int, *lines: str, more: str = "") -> Boat:
        """The boat with line ``at`` replaced by these."""
        return self.with_lines([*self.lines[:at], *lines, *self.lines[at + 1 :]], more)

    def statements(self, *kinds: str) -> list[tuple[int, str, str]]:
        """(line, kind, name) of every statement of these kinds."""
        found = []
        for at, line in enumerate(self.lines):
            match = _STATEMENT.match(line)
            if match and match[1] in kinds:
                found.append((at, match[1], match[2]))
        return found

    def edge(self, name: str) -> dict[str, Any]:
        """What the circuit as JSON says of an edge."""
        return next(e for e in self.facts["edges"] if e["element"] == name and e["kind"] != "link")

    def node(self, name: str) -> dict[str, Any]:
        return next(n for n in self.facts["nodes"] if n["element"] == name)

    def write(self, folder: Path) -> Path:
        for name, lines in self.files.items():
            (folder / name).parent.mkdir(parents=True, exist_ok=True)
            (folder / name).write_text("\n".join(lines) + "\n", encoding="utf-8")
        return folder / self.name


def read_boat(path: Path, facts: dict[str, Any]) -> Boat:
    """A boat and all files of parts it may use; files in a folder of its own name are put in place of their `use`."""
    own = [
        part
        for line in path.read_text(encoding="utf-8").rstrip("\n").split("\n")
        for part in (
            (path.parent / line.split()[1]).read_text(encoding="utf-8").rstrip("\n").split("\n")
            if line.startswith(f"use {path.stem}/")
            else [line]
        )
    ]
    parts = sorted(path.parent.glob("parts/*.boat"))
    files = {str(p.relative_to(path.parent)): logical(p.read_text(encoding="utf-8")) for p in parts}
    return Boat(path.name, {path.name: logical("\n".join(own)), **files}, facts)


def boat_of(text: str, facts: dict[str, Any]) -> Boat:
    return Boat("little.boat", {"little.boat": logical(text)}, facts)


def logical(text: str) -> tuple[str, ...]:
    """Lines, with those that continue a statement (indented) kept in one entry with it."""
    made: list[str] = []
    for line in text.rstrip("\n").split("\n"):
        if made and line[:1] in {" ", "\t"} and line.strip() and made[-1].strip():
            made[-1] += "\n" + line
        else:
            made.append(line)
    return tuple(made)


# ---- facts of a line


def split(line: str) -> tuple[list[str], str]:
    """The parts of a statement between commas (the first holds kind, name and label), and its comment."""
    parts, quoted, start, end = [], False, 0, len(line)
    for k, letter in enumerate(line):
        if letter == '"':
            quoted = not quoted
        elif quoted:
            continue
        elif letter == "#":
            end = k
            break
        elif letter in ",\n":
            parts.append(line[start:k])
            start = k + 1
    parts.append(line[start:end])
    return [p.strip() for p in parts if p.strip()], line[end:]


def join(parts: list[str], comment: str = "") -> str:
    return ", ".join(parts) + (f"  {comment}" if comment else "")


def having(line: str, *facts: str, without: str = "") -> str:
    """The line with facts added, and with those that ``without`` (a regular expression) fits left out."""
    parts, comment = split(line)
    kept = [p for p in parts[1:] if not (without and re.search(without, p))]
    return join([parts[0], *kept, *facts], comment)


def has(line: str, pattern: str) -> bool:
    return any(re.search(pattern, p) for p in split(line)[0][1:])


def amps_of(line: str) -> float | None:
    for part in split(line)[0][1:]:
        match = _AMPS.match(part)
        if match:
            return float(match[1]) * {"A": 1.0, "kA": 1000.0, "mA": 0.001}[match[2]]
    return None


def with_amps(line: str, amps: float) -> str:
    return having(line, f"{amps:g} A", without=_AMPS.pattern)


def with_size(line: str, size: str) -> str:
    return having(line, size, without=_SIZE.pattern)


def length_of(line: str) -> float | None:
    for part in split(line)[0][1:]:
        match = _LENGTH.match(part)
        if match:
            return float(match[1]) * _METRES[match[2]]
    return None


def with_length(line: str, metres: float) -> str:
    return having(line, f"{metres:.4f} m", without=_LENGTH.pattern)


def size_steps(line_size: dict[str, Any] | None, steps: int) -> str | None:
    """The size so many steps thicker (thinner, if negative) in the same units."""
    if line_size is None:
        return None
    if line_size["awg"]:
        at = AWG.index(line_size["awg"]) + steps if line_size["awg"] in AWG else -1
        return f"{AWG[at]} AWG" if 0 <= at < len(AWG) else None
    near = min(range(len(MM2)), key=lambda k: abs(float(MM2[k]) - line_size["mm2"])) + steps
    return f"{MM2[near]} mm2" if 0 <= near < len(MM2) else None


def rating_steps(rated: float | None, steps: int) -> float | None:
    if rated is None:
        return None
    near = min(range(len(RATINGS)), key=lambda k: abs(RATINGS[k] - rated)) + steps
    return RATINGS[near] if 0 <= near < len(RATINGS) else None
