"""The diagram read back from its lines: all of it is there, joined as in the design, and nothing lies on anything."""

from __future__ import annotations

from collections import Counter
from pathlib import Path

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from linter.drawing.draw import picture
from linter.drawing.picture import Picture
from linter.model.build import build
from linter.model.design import Design
from linter.rules.finding import Finding, Severity
from linter.source.files import Reader
from tests.drawing.designs import CORNERS, HEAD, SMALL, TWO_SYSTEMS, by_chance, design_of
from tests.drawing.readback import collisions, disagreements

BOATS = sorted((Path(__file__).parents[2] / "boats").glob("*.boat"))


def findings_for(design: Design, every: int = 3) -> list[Finding]:
    severities = list(Severity)
    return [
        Finding(
            "some-rule", severities[n % 4], e.name, e.span, f"{e.name} carries 130 A and is good for 100 A " * (n % 4 + 1),
            accepted="potted; re-lead booked, by yard" if n % 5 == 0 else "",
        )
        for n, e in enumerate(design.elements.values())
        for _ in range(1 + (n % 7 == 0) * 4)
        if n % every == 0
    ]  # fmt: skip


def check(design: Design, made: Picture) -> None:
    drawn = Counter(d.name for d in made.elements if d.name)
    assert drawn == Counter(design.elements.keys()), "every element once"
    assert disagreements(made, design.circuit) == []
    assert collisions(made) == []


@pytest.mark.parametrize("path", BOATS, ids=lambda p: p.stem)
def test_a_whole_boat(path: Path) -> None:
    design = build(Reader().design(str(path)))
    check(design, picture(design, findings_for(design)))


@pytest.mark.parametrize("text", [SMALL, TWO_SYSTEMS], ids=["one system", "two systems"])
def test_a_small_boat(text: str) -> None:
    design = design_of(text)
    assert not design.mistakes
    check(design, picture(design))


@pytest.mark.parametrize("name", CORNERS)
def test_a_corner_case(name: str) -> None:
    design = design_of(HEAD + CORNERS[name])
    check(design, picture(design, findings_for(design, 1)))


@settings(max_examples=60, deadline=None)
@given(seed=st.integers(0, 10**9), nodes=st.integers(1, 14), runs=st.integers(0, 22), tree=st.booleans())
def test_boats_made_by_chance(seed: int, nodes: int, runs: int, tree: bool) -> None:
    design = design_of(by_chance(seed, nodes, runs, tree))
    check(design, picture(design, findings_for(design, 4)))


def test_sources_stand_left_of_what_they_feed_and_loads_right() -> None:
    made = {d.name: d for d in picture(design_of(SMALL)).elements}
    bus = made["POS"].symbol
    assert max(made["HOUSE"].symbol.x1, made["ALT"].symbol.x1) < bus.x0
    assert bus.x1 < min(made["WINDLASS"].symbol.x0, made["BOW-LIGHT"].symbol.x0)


def test_a_chain_is_one_straight_row_and_a_bar_is_as_long_as_what_hangs_on_it() -> None:
    made = {d.name: d for d in picture(design_of(SMALL)).elements}
    assert len({made[n].terminals[0][1][1] for n in ("Q1", "W3", "WINDLASS")}) == 1
    assert len({made[n].terminals[0][1][1] for n in ("HOUSE", "W1", "F1", "S1")}) == 1
    heights = [y for _, (_, y) in made["POS"].terminals]
    assert made["POS"].symbol.y0 == pytest.approx(min(heights) - 2)
    assert made["POS"].symbol.y1 == pytest.approx(max(heights) + 2)


def test_devices_cables_and_loads_of_one_bus_stand_below_each_other() -> None:
    runs = "".join(f"from P\nfuse F{i}, blade, 5 A\ncable W{i}, 2.5 mm2, 1 m\nload L{i}, draws 1 A\n" for i in range(6))
    made = {d.name: d for d in picture(design_of(HEAD + "bus P\n" + runs)).elements}
    for letter in "FWL":
        assert len({made[f"{letter}{i}"].symbol.x0 for i in range(6)}) == 1
    steps = {round(made[f"L{i + 1}"].symbol.y0 - made[f"L{i}"].symbol.y0, 3) for i in range(5)}
    assert len(steps) == 1, "evenly spaced"


def test_what_is_written() -> None:
    made = {
        d.name: " ".join(t.text for t in d.texts).replace("\u00a0", " ") for d in picture(design_of(SMALL)).elements
    }
    assert made["W3"] == "W3 35 mm² 9.5 m"
    assert made["Q1"] == "Q1 thermal 100 A Windlass"
    assert made["HOUSE"] == "HOUSE House bank 12.7 V 200 Ah"
    assert made["WINDLASS"] == "WINDLASS 75 A Anchor windlass"
    assert made["POS"] == "POS Positive bus 250 A"


def test_a_figure_nobody_gave_is_a_question_mark() -> None:
    made = picture(design_of(HEAD + "bus P\nfrom P\nfuse F1\ncable W1\nload L\n"))
    texts = {d.name: " ".join(t.text for t in d.texts).replace("\u00a0", " ") for d in made.elements}
    assert texts["F1"] == "F1 ? A"
    assert texts["W1"] == "W1 ? mm² ? m"
    assert texts["L"] == "L ? A"
