"""What is tried in place of what is written: findings quote the words of what is tried."""

from __future__ import annotations

import datetime

from linter.advice.choose import choose
from linter.advice.overlay import overlaid, trying
from linter.advice.tripped.larger import larger
from linter.model.build import build
from linter.model.elements import Device
from linter.rules.engine import examine
from linter.source.files import Reader
from linter.source.scanner import Token
from linter.source.units import Quantity

TODAY = datetime.date(2026, 1, 1)
BOAT = """boat "X", 9 m, rulebook iso-13297
system DC12, 12 V, negative earthed
cables, insulation 105 °C, tinned
part thin, cable
  1 mm2
part main, fuse
  class T, 15 A, 125 V, breaks 20 kA at 125 V
battery B1, AGM, 12 V, 100 Ah, resistance 6 mΩ
from B1
fuse F1, part main
cable W1, part thin, 3 m
load L1, draws 12 A
"""


def quoted_in(messages: list[str]) -> list[str]:
    return [m.partition("says '")[2].partition("'")[0] for m in messages if "says '" in m]


def test_a_size_that_is_tried_is_quoted_where_it_contradicts_its_sheet() -> None:
    source = Reader().design_text(BOAT)
    made = choose(source, ["W1"], TODAY)
    messages = [f.message for c in made.contradictions for f in c.demands if f.rule == "contradicts-part"]
    assert messages
    for message, words in zip(messages, quoted_in(messages), strict=True):
        assert words.endswith(" mm²") and float(words.split()[0]) != 1.0, message


def test_a_rating_and_a_part_that_are_tried_are_quoted() -> None:
    source = Reader().design_text(BOAT)
    facts = {"current": (trying("current", Quantity("CURRENT", 20.0, "20 A")),)}
    found = examine(build(overlaid(source, {("element", "F1"): facts})), None, TODAY).findings
    assert quoted_in([f.message for f in found if f.rule == "contradicts-part"]) == ["20 A"]
    assert trying("part", Token("NAME", "main", 0, 0), "part main").said.text.text == "part main"


def test_the_next_rating_up_is_quoted_and_not_what_is_fitted() -> None:
    source = Reader().design_text(BOAT)
    now = examine(build(source), None, TODAY)
    device = now.design.elements["F1"]
    assert isinstance(device, Device)
    found = larger(source, now, device, TODAY)
    assert found.next is not None
    messages = [f.message for f in found.raised if f.rule == "contradicts-part"]
    assert quoted_in(messages) == [f"{found.next.rating_a:g} A"]
