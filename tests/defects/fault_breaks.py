"""What is broken on a boat where faults are concerned: what a device may break, what a bank gives, how long a run is, how
slow a device is, what a start draws."""

from __future__ import annotations

from collections.abc import Callable, Iterator

from .text import Boat, having, length_of, with_length

Case = tuple[str, Boat]


def _lines(which: Boat, *kinds: str) -> Iterator[tuple[int, str]]:
    for at, _, name in which.statements(*kinds):
        yield at, name


def breaking_reduced(which: Boat) -> Iterator[Case]:
    for at, name in _lines(which, "fuse", "breaker"):
        yield name, which.changed(at, having(which.lines[at], "breaks 300 A at 250 V", without="^breaks"))


def bank_doubled(which: Boat) -> Iterator[Case]:
    for at, name in _lines(which, "battery"):
        line = which.lines[at]
        yield name, which.changed(at, having(line, "resistance 0.4 mΩ to 0.6 mΩ", without="^resistance|^short-circuit"))


def run_lengthened(which: Boat) -> Iterator[Case]:
    for at, name in _lines(which, "cable"):
        metres = length_of(which.lines[at])
        if metres is not None:
            yield name, which.changed(at, with_length(which.lines[at], metres * 12))


def resistance_dropped(which: Boat) -> Iterator[Case]:
    for at, name in _lines(which, "battery"):
        yield name, which.changed(at, having(which.lines[at], "resistance 40 mΩ to 400 mΩ", without="^resistance"))


def slow_device(which: Boat) -> Iterator[Case]:
    points = "opens at 135 % in 100 s to 3600 s, opens at 1000 % in 2 s to 4.9 s, opens at 20000 % in 1 s to 4.8 s"
    for at, name in _lines(which, "fuse", "breaker"):
        # its own points take the place of its sheet's
        yield name, which.changed(at, having(which.lines[at], points, without="^opens|^lets through"))


def start_raised(which: Boat) -> Iterator[Case]:
    for at, name in _lines(which, "load"):
        yield name, which.changed(at, having(which.lines[at], "starts 400 A for 30 s", without="^starts"))


def rating_forgotten(which: Boat) -> Iterator[Case]:
    for at, name in _lines(which, "fuse", "breaker"):
        yield name, which.changed(at, having(which.lines[at], without=r"^[\d.]+ A$"))


# kind -> (what it must break somewhere, how)
FAULT_BREAKS: dict[str, tuple[str, Callable[[Boat], Iterator[Case]]]] = {
    "breaking capacity reduced": ("breaking-capacity", breaking_reduced),
    "bank far stronger": ("breaking-capacity", bank_doubled),
    "run twelve times as long": ("not-opened-in-time", run_lengthened),
    "bank far weaker": ("not-opened-in-time", resistance_dropped),
    "slow device": ("harmed-before-opening", slow_device),
    "start raised": ("start-opens-device", start_raised),
    "rating of a device forgotten": ("", rating_forgotten),
}
