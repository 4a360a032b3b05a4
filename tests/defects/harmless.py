"""Changes that a sound boat should survive, and that nothing may be said of which the judge does not say."""

from __future__ import annotations

import re
from collections.abc import Callable, Iterator

from .text import (
    Boat,
    amps_of,
    has,
    having,
    length_of,
    rating_steps,
    size_steps,
    split,
    with_amps,
    with_length,
    with_size,
)

Cases = Iterator[tuple[str, Boat]]
HARMLESS: dict[str, Callable[[Boat], Cases]] = {}


def kind(name: str) -> Callable[[Callable[[Boat], Cases]], Callable[[Boat], Cases]]:
    def keep(function: Callable[[Boat], Cases]) -> Callable[[Boat], Cases]:
        HARMLESS[name] = function
        return function

    return keep


def blocks(lines: tuple[str, ...]) -> list[list[str]]:
    """What stands between blank lines."""
    made: list[list[str]] = [[]]
    for line in lines:
        if line.strip():
            made[-1].append(line)
        elif made[-1]:
            made.append([])
    return [b for b in made if b]


def _is_run(block: list[str]) -> bool:
    words = [line.split()[0] for line in block if not line.startswith("#")]
    return bool(words) and words[0] == "from"


@kind("runs in another order")
def _reordered(boat: Boat) -> Cases:
    made = blocks(boat.lines)
    runs = [k for k, b in enumerate(made) if _is_run(b)]
    for step in (1, 2, 5):
        if len(runs) > step:
            turned = list(made)
            for k, at in enumerate(runs):
                turned[at] = made[runs[(k + step) % len(runs)]]
            yield f"turned by {step}", boat.with_lines([line for b in turned for line in [*b, ""]])
    backwards = list(made)
    for at, of in zip(runs, reversed(runs), strict=True):
        backwards[at] = made[of]
    yield "backwards", boat.with_lines([line for b in backwards for line in [*b, ""]])


@kind("an element renamed")
def _renamed(boat: Boat) -> Cases:
    sorts = ("cable", "fuse", "breaker", "bus", "load", "joint", "switch", "battery", "relay", "alternator")
    for _, _, name in boat.statements(*sorts):
        pattern = re.compile(rf'(?<![\w-]){re.escape(name)}(?![\w-])(?=(?:[^"]*"[^"]*")*[^"]*$)', re.M)
        yield (
            name,
            boat.with_lines(
                [pattern.sub("RENAMED", line) if not line.startswith("#") else line for line in boat.lines]
            ),
        )


@kind("comments added")
def _comments(boat: Boat) -> Cases:
    for step in (1, 3):
        yield (
            f"every {step}",
            boat.with_lines(
                [
                    f"{row}  # noted" if k % step == 0 and row and "\n" not in row and "#" not in row else row
                    for k, row in enumerate(boat.lines)
                ]
            ),
        )
    yield "blank lines", boat.with_lines([row for line in boat.lines for row in ("", "# ----", line)])


@kind("a cable shorter")
def _shorter(boat: Boat) -> Cases:
    for at, _, name in boat.statements("cable"):
        metres = length_of(boat.lines[at])
        if metres:
            yield name, boat.changed(at, with_length(boat.lines[at], metres * 0.7))


@kind("a cable one size thicker")
def _thicker(boat: Boat) -> Cases:
    for at, _, name in boat.statements("cable"):
        size = size_steps(boat.edge(name)["size"], 1)
        if size:
            yield f"{name} {size}", boat.changed(at, with_size(boat.lines[at], size))


@kind("a run split by a joint")
def _split(boat: Boat) -> Cases:
    for at, _, name in boat.statements("cable"):
        metres = length_of(boat.lines[at])
        if metres:
            first = with_length(boat.lines[at], metres / 2)
            parts, _ = split(first)
            second = ", ".join([f"cable {name}-REST", *parts[1:]])
            yield name, boat.changed(at, first, "joint SPLIT", second)


_UNITS = {
    "A": ("mA", 1000.0), "mA": ("A", 0.001), "m": ("mm", 1000.0), "mm": ("m", 0.001), "V": ("mV", 1000.0),
    "W": ("kW", 0.001), "in": ("mm", 25.4), "ft": ("in", 12.0), "kA": ("A", 1000.0),
}  # fmt: skip


@kind("the same figure in another unit")
def _units(boat: Boat) -> Cases:
    figure = re.compile(r'(?<![\w.-])([\d.]+) (A|mA|m|mm|V|W|in|ft|kA)(?![\w-])(?=(?:[^"]*"[^"]*")*[^"]*$)')

    def other(match: re.Match[str]) -> str:
        unit, factor = _UNITS[match[2]]
        return f"{float(match[1]) * factor:.10g} {unit}" if float(match[1]) * factor >= 1e-4 else match[0]

    changed = [line if line.startswith("#") else figure.sub(other, line.split("#")[0].rstrip()) for line in boat.lines]
    yield "all", boat.with_lines(changed)
    for at, line in enumerate(boat.lines):
        if line != changed[at]:
            yield line.split("\n")[0][:40], boat.changed(at, changed[at])


@kind("a spare circuit added")
def _spare(boat: Boat) -> Cases:
    for _, _, name in boat.statements("bus"):
        yield (
            name,
            boat.with_lines(
                boat.lines,
                f"from {name}\nfuse SPARE, blade, 5 A, 32 V\ncable SPARE-W, 4 mm2, 1 m, insulation 105 °C\nload SPARE-L, draws 1 A",
            ),
        )


@kind("a smaller main device")
def _smaller_main(boat: Boat) -> Cases:
    for at, _, name in boat.statements("fuse", "breaker"):
        rated = amps_of(boat.lines[at])
        less = rating_steps(rated, -1)
        if rated and rated >= 60 and less:
            yield f"{name} {less:g} A", boat.changed(at, with_amps(boat.lines[at], less))


@kind("better insulation")
def _insulation(boat: Boat) -> Cases:
    for at, _, name in boat.statements("cable"):
        yield name, boat.changed(at, having(boat.lines[at], "insulation 125 °C", without="^insulation"))


@kind("a covering added")
def _covered(boat: Boat) -> Cases:
    for at, _, name in boat.statements("cable"):
        if not has(boat.lines[at], r"^in (sheath|conduit|enclosure)$"):
            yield name, boat.changed(at, having(boat.lines[at], "in conduit"))


@kind("ignition protection added")
def _protected(boat: Boat) -> Cases:
    for at, _, name in boat.statements("fuse", "breaker", "switch", "load"):
        if not has(boat.lines[at], "^ignition protected$"):
            yield name, boat.changed(at, having(boat.lines[at], "ignition protected"))


@kind("a joint that nothing leaves")
def _joint(boat: Boat) -> Cases:
    for at, _, name in boat.statements("fuse", "breaker", "switch"):
        yield name, boat.changed(at, boat.lines[at], "joint BETWEEN")


@kind("a load that draws less")
def _less(boat: Boat) -> Cases:
    for at, _, name in boat.statements("load"):
        load = boat.node(name)["load"]
        if load["draws_a"]:
            yield name, boat.changed(at, having(boat.lines[at], f"draws {load['draws_a'] / 2:.6g} A", without="^draws"))
