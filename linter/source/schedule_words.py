"""What the words in a cable schedule stand for, where that is sure: terminals by name, devices, colours."""

from __future__ import annotations

import re
from dataclasses import dataclass
from functools import cache

from linter.source.schedule_table import BadCell, figure, plain, vocabulary
from linter.source.words import FLAGS

COLOURS = frozenset(value for key, value in FLAGS.values() if key == "colour")


@dataclass(frozen=True, slots=True)
class Device:
    """A fuse or breaker as a schedule tells it; what it does not tell is an empty text."""

    kind: str = ""
    sort: str = ""
    speed: str = ""
    rating: str = ""
    curve: str = ""
    # the rating stands without a unit
    bare: bool = False


def _words(text: str) -> list[str]:
    return re.findall(r"\w+", text.casefold().replace("_", " "))


def is_return(name: str) -> bool:
    """Whether a terminal is on the side that the language does not write down."""
    marked = (
        re.search(r"(?:^|[\s(])[-−–]ve\b|\([-−–]\)$|[^\s-][-−–]$|\s[-−–]$", name.strip(), re.IGNORECASE) is not None
    )
    return marked or not set(_words(name)).isdisjoint(vocabulary()["passed_over"]["return"])


def kind_of(name: str, arriving: int, leaving: int) -> str:
    """What a terminal is, by the last words of its name and by how many cables arrive at it and leave it.

    A joint where that is not sure: a joint claims nothing but that its cables meet.
    """
    behind = vocabulary()["passed_over"]["behind"]
    left = _words(name)
    while len(left) > 1 and (left[-1] in behind or left[-1].isdecimal() or len(left[-1]) == 1):
        left.pop()
    kind = ""
    for length in range(4, 0, -1):
        kind = kind or _terminals().get(" ".join(left[-length:]) if len(left) >= length else "", "")
    only_leaves, only_arrives = arriving == 0, leaving == 0
    sure = {
        "battery": True,
        "alternator": True,
        "bus": True,
        # one with an input as well would join two circuits here that it keeps apart
        "charger": only_leaves,
        "converter": not only_leaves and not only_arrives,
        "inverter": only_arrives,
        "load": only_arrives,
    }
    return kind if sure.get(kind, False) else "joint"


def colour_of(cell: str) -> str:
    """The colour of the language that a cell names; nothing where it names another, or several."""
    word = cell.strip().casefold()
    word = "grey" if word == "gray" else word
    return word if word in COLOURS else ""


def says_none(cell: str) -> bool:
    """Whether a cell is empty, or says that there is no device."""
    text = " ".join(cell.casefold().split())
    return not text or text in vocabulary()["devices"]["none"]


def device_of(cell: str, kind: str, column_unit: str) -> Device:
    """The device that a cell describes; ``kind`` is fuse or breaker where the header says it, or nothing.

    Raises BadCell where a word of it is not known: it might say that there is no such device.
    """
    text = " ".join(cell.split())
    unsure = BadCell(f"{plain(text, 40)}: not sure what this is; for instance: blade fuse 10 A")
    number = re.search(
        r"(?<![\w.,])\d[\d.,]*(?: ?(?:amperes?|amps?|[km]?a)\b)?(?![\w/])", text, re.IGNORECASE | re.ASCII
    )
    rating = curve = ""
    # the mark of a breaker's curve and rating in one: C16
    marked = re.search(r"(?<!\S)([BCD])(\d+)(?!\S)", text)
    if number is None and marked is not None:
        rating, curve = f"{marked[2]} A", marked[1]
        text = f"{text[: marked.start()]} {text[marked.end() :]}"
    if number is not None:
        rating = figure(number[0].rstrip(".,"), "CURRENT", column_unit)
        text = f"{text[: number.start()]} {text[number.end() :]}"
    left = re.findall(r"[^\s,;()]+", text.casefold())
    said = {"kind": set[str](), "sort": set[str](), "speed": set[str]()}
    while left:
        for length in (3, 2, 1):
            meant = _device_words().get(" ".join(left[:length]))
            if meant is not None and len(left) >= length:
                break
        else:
            raise unsure
        del left[:length]
        for what, word in meant:
            said[what].add(word)
    # what the cell says of itself goes before its header
    said["kind"] = said["kind"] or {kind} - {""}
    if not any(said.values()):
        raise BadCell(f"{plain(cell, 40)}: a fuse, or a breaker? For instance: blade fuse 10 A")
    if any(len(words) > 1 for words in said.values()) or not said["kind"]:
        raise unsure
    one = {what: next(iter(words), "") for what, words in said.items()}
    if curve and one["kind"] != "breaker":
        raise unsure
    bare = number is not None and re.search(r"[A-Za-z]", number[0]) is None
    return Device(one["kind"], one["sort"], one["speed"], rating, curve, bare)


@cache
def _terminals() -> dict[str, str]:
    return {word: kind for kind, words in vocabulary()["terminals"].items() for word in words}


@cache
def _device_words() -> dict[str, tuple[tuple[str, str], ...]]:
    """Word or words -> what they say of a device."""
    known = vocabulary()
    found: dict[str, tuple[tuple[str, str], ...]] = dict.fromkeys(known["devices"]["idle"], ())
    for kind in ("fuse", "breaker"):
        found |= dict.fromkeys(known["devices"][kind], (("kind", kind),))
        for sort, words in known["classes"][kind].items():
            found |= dict.fromkeys(words, (("kind", kind), ("sort", sort)))
    for speed, words in known["speeds"].items():
        found |= dict.fromkeys(words, (("speed", speed),))
    return found
