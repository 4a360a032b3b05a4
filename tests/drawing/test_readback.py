"""The reading back itself: a spoilt drawing does not pass."""

from __future__ import annotations

from dataclasses import replace

from linter.drawing.draw import picture
from linter.drawing.picture import Picture, Wire
from tests.drawing.designs import SMALL, design_of
from tests.drawing.readback import collisions, disagreements

DESIGN = design_of(SMALL)


def fresh() -> Picture:
    return picture(DESIGN)


def test_a_missing_dot_is_noticed() -> None:
    text = SMALL + "from LAMPS\ncable W9, 1.5 mm2, 2 m\nload MID-LIGHT, light, draws 1 A\n"
    design = design_of(text)
    made = picture(design)
    assert disagreements(made, design.circuit) == []
    assert made.dots
    made.dots.clear()
    assert any("without a dot" in w for w in disagreements(made, design.circuit))


def test_a_missing_line_is_noticed() -> None:
    for number in range(len(fresh().wires)):
        made = fresh()
        del made.wires[number]
        assert disagreements(made, DESIGN.circuit), f"line {number}"


def test_a_line_too_many_is_noticed() -> None:
    made = fresh()
    by_name = {d.name: d for d in made.elements}
    (_, a), (_, b) = by_name["WINDLASS"].terminals[0], by_name["BOW-LIGHT"].terminals[0]
    made.wires.append(Wire((a, (a[0], b[1]), b), 0))
    assert any("is drawn joined to" in w for w in disagreements(made, DESIGN.circuit))


def test_a_line_on_a_line_is_noticed() -> None:
    made = fresh()
    made.wires.append(made.wires[0])
    assert any("on each other" in w for w in disagreements(made, DESIGN.circuit))


def test_a_text_moved_onto_something_is_noticed() -> None:
    made = fresh()
    row = next(d for d in made.elements if d.name == "W3")
    for down in (1.5, -0.4 + (row.symbol.y0 - row.texts[0].box.y1)):
        moved = [replace(t, y=t.y + down) for t in row.texts]
        spoilt = fresh()
        next(d for d in spoilt.elements if d.name == "W3").texts = moved
        assert bool(collisions(spoilt)) is (down > 1)


def test_a_symbol_on_another_is_noticed() -> None:
    made = fresh()
    one, two = made.elements[0], made.elements[-1]
    one.symbol = two.symbol
    assert any("symbol" in w for w in collisions(made))
